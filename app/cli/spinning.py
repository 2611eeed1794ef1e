"""What `blankwright blank --spun` asks and says of a forged-and-spun blank."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from app.cli import told
from app.cli.terminal import printed
from app.project.project import Project
from app.project.shop import ShopRates
from app.reports.blank_masses import spun_ladder
from app.reports.numbers import Numbers, unit_of
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.machining import WheelMachining
from app.studies.spun import (
    GRAIN,
    ORDER,
    SOURCES,
    THIN,
    Comparison,
    SpunBlank,
    SpunSettings,
    compared,
    spun_blank,
    spun_machining,
)
from app.units import UnitsError, parse_angle_deg, parse_length_mm, parse_number
from geometry.errors import GeometryError
from geometry.forging.spinning import Spinning

#: Flag, unit, and what it is; all but --spun itself need it.
_FLAGS = (
    (
        "--reduction",
        "TOTAL[:PASS]",
        "greatest reduction of the wall, in per cent, in all and in one pass with a colon between them; "
        "starting values 50:30",
    ),
    ("--spun-wall", "MM", "least wall as spun; starting value 10"),
    ("--mandrel", "DEG", "draft of the mandrel, opening towards the inner end; starting value 1"),
    ("--rollers", "DEG[:NOSE]", "steepest flank outside, and nose radius in mm; starting values 30:10"),
    ("--back-flow", "MM", "wall kept beside the disc's root; starting value 10"),
    ("--spin-trim", "MM", "cut off the end after spinning; starting value 10"),
    ("--ring-wall", "MM", "of the forged ring at its end; as thick as the thickest spun wall if not given"),
    ("--spin-from", "Z", "where spinning begins; the disc's root if not given"),
    ("--mandrel-price", "PRICE", "of the mandrel for this diameter and bore; asked until given"),
    ("--spinning-price", "PRICE", "of one piece; asked until given"),
)


@dataclass(frozen=True)
class Drawn:
    """A spun blank, what cutting takes from it, and its money beside the turned one's."""

    blank: SpunBlank
    cut: tuple[WheelMachining, ...]
    compared: tuple[Comparison, ...]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what a spun blank takes."""
    parser.add_argument("--spun", action="store_true", help="also find it forged and spun, beside the turned")
    for flag, unit, words in _FLAGS:
        parser.add_argument(flag, metavar=unit, help=f"with --spun: {words}")


def _given(args: argparse.Namespace, flag: str) -> str | None:
    text: str | None = getattr(args, flag.removeprefix("--").replace("-", "_"))
    return text


def settings_of(args: argparse.Namespace) -> SpunSettings | None:
    """Return the settings of spinning that the arguments ask for; None without --spun.

    Raises:
        GeometryError: a value is not a number or out of bounds, or one is given without --spun.
        UnitsError: a length that cannot be read.
    """
    given = {flag: text for flag, _, _ in _FLAGS if (text := _given(args, flag)) is not None}
    if not args.spun:
        if given:
            raise GeometryError(f"{', '.join(given)}: only with --spun; add it or leave that out")
        return None
    start = Spinning()
    shares = _shares(given)
    rollers = _read(given, "--rollers", parse_angle_deg, parse_length_mm)

    def one(flag: str, read: Callable[[str], float]) -> float | None:
        return next(iter(_read(given, flag, read)), None)

    def length(flag: str, else_mm: float) -> float:
        found = one(flag, parse_length_mm)
        return else_mm if found is None else found

    mandrel = one("--mandrel", parse_angle_deg)
    by = Spinning(
        reduction=shares[0] / 100.0 if shares else start.reduction,
        per_pass=shares[1] / 100.0 if len(shares) > 1 else start.per_pass,
        wall_mm=length("--spun-wall", start.wall_mm),
        mandrel_deg=start.mandrel_deg if mandrel is None else mandrel,
        roller_deg=rollers[0] if rollers else start.roller_deg,
        nose_mm=rollers[1] if len(rollers) > 1 else start.nose_mm,
        back_flow_mm=length("--back-flow", start.back_flow_mm),
        trim_mm=length("--spin-trim", start.trim_mm),
        ring_wall_mm=one("--ring-wall", parse_length_mm),
        root_mm=one("--spin-from", parse_length_mm),
    )
    return SpunSettings(by, one("--mandrel-price", parse_number), one("--spinning-price", parse_number))


def _shares(given: dict[str, str]) -> list[float]:
    """Return the reductions in per cent, in all and in one pass.

    Raises:
        GeometryError: a comma in one number alone, which would be a mark where two numbers may be meant.
    """
    text = given.get("--reduction", "")
    if text.count(",") == 1 and ":" not in text:
        two, one = text.replace(",", ":"), text.replace(",", ".")
        raise GeometryError(
            f"--reduction {text}: write {two} for the reductions in all and in one pass, or {one}"
        )
    return _read(given, "--reduction", parse_number, parse_number)


def _read(given: dict[str, str], flag: str, *how: Callable[[str], float]) -> list[float]:
    """Return the numbers of a flag, a colon between them, since a comma may be a decimal mark."""
    if flag not in given:
        return []
    parts = given[flag].split(":")
    if len(parts) > len(how):
        numbers = "one number" if len(how) == 1 else f"{len(how)} numbers at most, with a colon between them"
        raise GeometryError(f"{flag} {given[flag]}: give {numbers}")
    try:
        return [read(part) for read, part in zip(how, parts, strict=False)]
    except UnitsError as error:
        raise GeometryError(f"{flag} {given[flag]}: {error}") from error


def found(
    project: Project,
    turned: Composite,
    settings: ForgingSettings,
    spinning: SpunSettings,
    cut: Sequence[WheelMachining],
    rates: ShopRates,
) -> Drawn:
    """Return the spun blank of a turned one's wheels and what it is against it.

    Raises:
        GeometryError: no spun blank exists; says why.
    """
    blank = spun_blank(project, turned, settings, spinning)
    spun_cut = spun_machining(project, blank, rates)
    return Drawn(blank, spun_cut, compared(cut, spun_cut, spinning))


def as_json(project: Project, drawn: Drawn) -> dict[str, Any]:
    """Return what was found, as documented in DEVELOPERS.md; money of the ladder at the project's rates."""
    money = spun_ladder(project, drawn.blank).money
    blank, spun, density = drawn.blank, drawn.blank.found, drawn.blank.spun_kg / drawn.blank.found.volume_mm3
    return {
        "mass_kg": blank.mass_kg,
        "forged_kg": blank.forged.mass_kg,
        "spun_kg": blank.spun_kg,
        "turned_kg": blank.turned_kg,
        "outline": [list(row) for row in spun.path.rows()],
        "preform": [list(row) for row in spun.preform.path.rows()],
        "root": list(spun.root),
        "end_mm": spun.end_mm,
        "ring": {
            "wall_mm": spun.ring_wall_mm,
            "root_wall_mm": spun.thickest_mm,
            "height_mm": spun.ring_height_mm,
        },
        "wall_mm": spun.wall_mm,
        "lip_mm": spun.lip_mm,
        "barrel_mm": spun.barrel_mm,
        "widened_mm": spun.widened_mm,
        "mandrel_mm": [2.0 * r for r in spun.mandrel_ends_mm],
        "reduction": spun.reduction,
        "passes": spun.passes,
        "parts_kg": {name: volume * density for name, volume in asdict(spun.volumes).items()},
        "settings": asdict(blank.settings.by),
        "sources": dict(SOURCES),
        "ladder": [
            {"words": words, "mass_kg": mass, "money": None if money is None else money[k]}
            for k, (words, mass) in enumerate(blank.ladder)
        ],
        "plan": [
            {
                "step": s.name,
                "load_mn": [s.low_mn, s.high_mn],
                "fits": str(s.fits),
                "refused": s.refused_words(Numbers("mm").long) or None,
            }
            for s in blank.steps
        ],
        "wheels": [
            {
                "name": w.name,
                "chips_kg": w.chips_kg,
                "cutting_minutes": cut.cutting_minutes,
                "turned_net": c.turned,
                "spun_net": c.spun,
                "saving": c.saving,
                "mandrel_price": c.mandrel_price,
                "spinning_price": c.spinning_price,
                "pays_from": c.pays_from,
            }
            for w, cut, c in zip(blank.wheels, drawn.cut, drawn.compared, strict=True)
        ],
        "notes": [ORDER, GRAIN, THIN],
    }


def as_text(project: Project, drawn: Drawn) -> str:
    """Return the result for a person: masses, walls, ladder, wheels and money beside the turned blank."""
    numbers, blank, spun = Numbers(unit_of(project)), drawn.blank, drawn.blank.found
    of, unit = numbers.length, told.mass_unit(numbers)
    lines = [
        f"Forged and spun: {numbers.mass(blank.forged.mass_kg)} as forged; usable "
        f"{numbers.mass(blank.mass_kg)} forged, {numbers.mass(blank.spun_kg)} as spun; "
        f"turned {numbers.mass(blank.turned_kg)}, so {told.added_mass(numbers, -blank.saves_kg)} {unit}",
        f"  forged ring {of(spun.ring_wall_mm)} thick at its end, {of(spun.thickest_mm)} at its root, "
        f"{of(spun.ring_height_mm)} high; drawn out to {of(spun.barrel_mm)}",
        f"  spun wall {of(spun.wall_mm)} at least, {of(spun.lip_mm)} at the inner lip; greatest reduction "
        f"{spun.reduction:.1%} of {blank.settings.by.reduction:.0%} in {blank.passes_words}",
        f"  {blank.mandrel_in(of)}; the ring's end is widened by {of(spun.widened_mm)} in radius",
        *told.ladder_lines(numbers, spun_ladder(project, blank)),
        "",
        f"  {'wheel':<24} {'chips ' + unit:>9} {'turned':>9} {'spun':>9}  net of chips, without dies",
    ]
    for w, c in zip(blank.wheels, drawn.compared, strict=True):
        chips = told.bare_mass(numbers, w.chips_kg)
        lines.append(f"  {w.name:<24} {chips:>9} {c.turned:>9.2f} {c.spun:>9.2f}  {c.words}")
    last = blank.steps[-1]
    lines += [
        "",
        f"  log {of(blank.log.diameter_mm)} x {of(blank.log.length_mm)}, "
        f"last press {told.load_words(last.low_mn, last.high_mn)}",
        *(f"  {warning}" for warning in blank.warnings),
    ]
    for note in (ORDER, GRAIN, THIN):
        lines += textwrap.wrap(note, 98, initial_indent="  ", subsequent_indent="  ")
    return printed(lines)
