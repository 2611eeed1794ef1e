"""What the kilograms of a blank's ladder cost: metal, treatment and cutting, less what the chips bring."""

from __future__ import annotations

from collections.abc import Sequence

from app.project.shop import ShopRates
from app.studies.machining import money

#: What a ladder's money is, said under it.
TURNED_MONEY = (
    "Money: log with its loss and heat treatment, and the time to cut it off again less its chips; windows "
    "at the rate of milling, all else at that of turning. The first line has the price of forging a piece, "
    "and nothing cut."
)
SPUN_MONEY = (
    "Money of a kilogram: log with its loss, and heat treatment. The first line has the price of forging."
)
BOUGHT_MONEY = "The blank is bought: what a kilogram of it costs is not known."


def turned_money(
    ladder: Sequence[tuple[str, float]], density_kg_m3: float, rates: ShopRates, slug_kg: float = 0.0
) -> tuple[float, ...] | None:
    """Return the money reached at each rung of a turned blank's ladder, in the currency of the rates.

    The first rung is the finished wheel, the second the same without windows; all else is turned off. The
    last is so the blank's metal and cutting less chips, without set-ups, as `Money.metal_and_cutting`.

    Args:
        ladder: words and mass reached, kg.
        density_kg_m3: of the metal.
        rates: of the shop.
        slug_kg: pierced out of the hub at the last rung.

    Returns:
        None for a bought blank, whose price has no share a kilogram.
    """
    if rates.bought_price is not None or not ladder:
        return None
    wheel_kg, minutes, found = ladder[0][1], 0.0, list[float]()
    before = wheel_kg
    for k, (_, mass) in enumerate(ladder):
        rate = rates.milling_cm3_min if k == 1 else rates.turning_cm3_min
        minutes += (mass - before) / density_kg_m3 * 1e6 / rate
        slug = slug_kg if k == len(ladder) - 1 else 0.0
        found.append(money(mass, mass - wheel_kg, minutes, rates, slug).metal_and_cutting)
        before = mass
    return tuple(found)


def spun_money(ladder: Sequence[tuple[str, float]], rates: ShopRates) -> tuple[float, ...] | None:
    """Return the price of the metal at each rung of a spun blank's ladder; None for a bought blank."""
    if rates.bought_price is not None:
        return None
    return tuple(money(mass, 0.0, 0.0, rates).metal for _, mass in ladder)
