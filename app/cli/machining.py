"""What `blankwright blank` says of chips, time and money."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Sequence
from dataclasses import asdict, replace
from functools import partial
from typing import Any

from app.cli import told
from app.cli.terminal import printed
from app.project.project import Project
from app.project.rate_words import RATE_WORDS
from app.project.shop import LOG_PRICE, ShopRates
from app.reports.numbers import Numbers, unit_of
from app.studies.machining import Operation, WheelMachining
from geometry.errors import GeometryError

#: Arguments, the rate that each sets, and what it is.
_ARGUMENTS = (
    ("--log-price", "log_price_kg", "PRICE/KG", "of forging stock"),
    ("--forging-price", "forging_price", "PRICE", "of one forged piece"),
    ("--hour-price", "hour_price", "PRICE", "of an hour at the machine"),
    ("--turning-rate", "turning_cm3_min", "CM3/MIN", "average rate of removal while turning"),
    ("--bought-price", "bought_price", "PRICE", "of a bought blank, in place of log, forging and treatment"),
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the rates that are most often another shop's."""
    start = ShopRates()
    for flag, rate, unit, words in _ARGUMENTS:
        value = getattr(start, rate)
        ends = "" if value is None else f"; invented starting value {value:g}"
        parser.add_argument(flag, metavar=unit, help=words + ends)


def rates_of(args: argparse.Namespace, project: Project) -> ShopRates:
    """Return the project's rates, those that the arguments give in their place.

    Args:
        args: as parsed.
        project: whose rates they start from.

    Raises:
        GeometryError: a value is not a number, or out of bounds.
    """
    given: dict[str, Any] = {}
    for flag, rate, _, _ in _ARGUMENTS:
        text = getattr(args, flag.removeprefix("--").replace("-", "_"))
        if text is None:
            continue
        try:
            given[rate] = float(text.replace(",", "."))
        except ValueError as error:
            raise GeometryError(f"{flag} {text}: give a number, as 4.60") from error
    return replace(project.rates, **given)


def as_json(project: Project, rates: ShopRates, wheels: Sequence[WheelMachining]) -> dict[str, Any]:
    """Return the rates and what each wheel takes, as documented in DEVELOPERS.md."""
    return {
        "rates": {**asdict(rates), "currency": project.currency},
        "starting_values": list(rates.starting),
        "wheels": [
            {
                "name": w.name,
                "blank_kg": w.blank_kg,
                "log_kg": w.log_kg if rates.bought_price is None else None,
                "wheel_kg": w.wheel_kg,
                "operations": [asdict(o) for o in w.operations],
                "volume_mm3": w.volume_mm3,
                "chips_kg": w.chips_kg,
                "slug_kg": w.slug_kg,
                "cutting_minutes": w.cutting_minutes,
                "setup_minutes": w.setup_minutes,
                "energy_kwh": w.energy_kwh,
                "money": {
                    **asdict(w.money),
                    "metal": w.money.metal,
                    "metal_and_cutting": w.money.metal_and_cutting,
                    "net": w.money.net,
                },
                "missing_mm3": w.missing_mm3,
                "missing_at": None if w.missing_at is None else list(w.missing_at),
                "is_whole": w.is_whole,
            }
            for w in wheels
        ],
    }


def as_text(project: Project, rates: ShopRates, wheels: Sequence[WheelMachining]) -> str:
    """Return the section for a person: operations, totals and sums, and what still is a starting value."""
    numbers = Numbers(unit_of(project))
    lines, chips = ["", "  chips, time, money"], f"chips {told.mass_unit(numbers)}"
    for w in wheels:
        lines += ["", f"    {w.name:<22} {'volume':>14} {chips:>9} {'minutes':>8} {'kWh':>6}"]
        if not w.is_whole:
            lines.append(
                f"    It cannot be cut from this blank: {numbers.volume(w.missing_mm3)} of it lie outside, "
                f"the most at {numbers.place(w.missing_at)}."
            )
        for o in w.operations:
            if o.volume_mm3 > 0.5:
                lines.append(_row(numbers, f"  {o.name}", o))
        lines.append(_row(numbers, "all cutting", w))
        lines.append(f"    {f'{rates.setups} set-ups':<22} {'':>14} {'':>9} {w.setup_minutes:>8.1f}")
        lines += _sums(numbers, rates, w, project.currency)
    lines += [
        "",
        "    Without dies, set-up of the forge, transport, proof and coating.",
    ]
    if rates.starting:
        named = "; ".join(RATE_WORDS[name] for name in rates.starting)
        words = f"Invented or usual starting values, not the shop's own: {named}."
        lines += textwrap.wrap(words, 100, initial_indent="    ", subsequent_indent="    ")
    return printed(lines)


def _row(numbers: Numbers, name: str, of: Operation | WheelMachining) -> str:
    minutes = of.minutes if isinstance(of, Operation) else of.cutting_minutes
    volume, chips = numbers.volume(of.volume_mm3), told.bare_mass(numbers, of.chips_kg)
    return f"    {name:<22} {volume:>14} {chips:>9} {minutes:>8.1f} {of.energy_kwh:>6.2f}"


def _sums(numbers: Numbers, rates: ShopRates, w: WheelMachining, currency: str) -> list[str]:
    m, unit = w.money, f" {currency}" if currency else ""
    at = partial(told.price_a_mass, numbers)
    if rates.bought_price is None:
        metal = [
            (
                f"log, {numbers.mass(w.log_kg, 1)} with {rates.loss:.0%} loss at {at(rates.log_price_kg)}",
                m.log,
            ),
            ("forging", m.forging),
            (f"treatment at {at(rates.treatment_price_kg)}", m.treatment),
        ]
    else:
        metal = [("blank, bought", m.bought)]
    base = rates.log_price_kg if rates.chip_price_kg is None else rates.chip_price_kg
    name = LOG_PRICE if rates.chip_price_kg is None else rates.chip_price_name
    rows = [
        *metal,
        (f"cutting at {rates.hour_price:.2f} an hour", m.cutting),
        (f"less chips at {rates.chip_share:.0%} of the {name} ({at(base)})", -m.chips),
        *(
            [(f"less the slug, {numbers.mass(w.slug_kg)} solid at {rates.slug_share:.0%} of it", -m.slug)]
            if w.slug_kg
            else []
        ),
        ("metal and cutting, net of chips", m.metal_and_cutting),
        ("set-ups", m.setting),
        ("all", m.net),
    ]
    wide = max(58, *(len(words) for words, _ in rows))
    return [f"    {words:<{wide}} {value:>9.2f}{unit}" for words, value in rows]
