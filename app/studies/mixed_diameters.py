"""What it costs that wheels of several diameters share one blank."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.units import MassUnit, format_mass
from geometry.forging.composite import Forgeable, Need
from geometry.forging.seats import seated


@dataclass(frozen=True)
class OneDiameter:
    """The wheels of one diameter in a group of several.

    Attributes:
        diameter_code: inch.
        alone_kg: the smallest blank of these wheels and their windows alone, as the group's without corners.
        more_kg: by how much each of these wheels' blanks is heavier because the group shares one.
    """

    diameter_code: float
    alone_kg: float
    more_kg: float


def mixed_diameters(
    needs: Sequence[tuple[float, Need, float | None]],
    how: Callable[[int], Forgeable],
    mass_kg: float,
    density_kg_m3: float,
) -> tuple[OneDiameter, ...]:
    """Return each diameter's own blank against the shared one, the smallest first; empty for one diameter.

    Args:
        needs: diameter code, what must be held, and the seat where it is given; windows after wheels.
        how: draft, fillets, least web in the frame of the need of that number.
        mass_kg: of the shared blank, without corner radii.
        density_kg_m3: of the metal.
    """
    codes = sorted({code for code, _, _ in needs})
    if len(codes) < 2:
        return ()
    found = []
    for code in codes:
        own = [(need, seat) for one, need, seat in needs if one == code]
        kept = [seat for _, seat in own if seat is not None]
        seats = kept if len(kept) == len(own) else None
        mine = how(next(k for k, (one, _, _) in enumerate(needs) if one == code))
        alone = seated([need for need, _ in own], mine, seats_mm=seats, density_kg_m3=density_kg_m3).mass_kg
        found.append(OneDiameter(code, alone, max(mass_kg - alone, 0.0)))
    return tuple(found)


def mixed_words(found: Sequence[OneDiameter], unit: MassUnit = "kg") -> str:
    """Return the price of sharing in words, masses in one unit; empty for one diameter."""
    if not found:
        return ""
    each = "; ".join(
        f"{d.diameter_code:g} in {format_mass(d.alone_kg, unit)}, "
        f"+{format_mass(d.more_kg, unit)} a wheel here"
        for d in found
    )
    return f"Wheels of {len(found)} diameters share this blank. Alone, usable: {each}."
