"""`blankwright blank`: the smallest forgeable blank of a group of wheels."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from app.cli import machining
from app.cli.wheel import load_or_new
from app.files.project_file import save
from app.files.writers.dxf import BLANK, WHEEL, Drawing, Layer, write_dxf
from app.files.writers.table import write_table
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.studies.composite import Composite, as_blank
from app.studies.forging_needs import ForgingSettings
from app.units import parse_length_mm
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable

#: Kinds of file that the outline is written to.
KINDS = (".dxf", ".csv", ".blankwright")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    start = ForgingSettings()
    add = parser.add_argument
    add("--wheel", action="append", required=True, metavar="NAME", help="of the group; may be repeated")
    add("--stock", metavar="MM", help="metal left on everywhere; else the rule set of each wheel, by zone")
    add(
        "--draft",
        metavar="OUT,IN",
        help="degrees on walls that look away from the axle and towards it; starting values "
        f"{start.how.outside_deg:g},{start.how.inside_deg:g}, from memory",
    )
    add(
        "--fillet",
        metavar="MM",
        help=f"least radius of hollows; starting value {start.how.fillet_mm:g}, from memory",
    )
    add(
        "--as-drawn",
        action="store_true",
        help="keep all mounting faces in line; else the best seats are found",
    )
    add("--web", metavar="MM", help="least height of the blank; none if not given")
    add("--trim", metavar="MM", help="ring end that is turned off beyond the inner lip; none if not given")
    add("--grip", metavar="MM", help="length of ring kept for the chuck there; none if not given")
    add(
        "--log",
        metavar="MM,MM...",
        help="log diameters that the forge holds; starting values are common practice, no source",
    )
    machining.add_arguments(parser)
    add("--json", action="store_true", help="print JSON, lengths in mm")
    add(
        "--out",
        type=Path,
        metavar="FILE.(dxf|csv|blankwright)",
        help="write the outline, or add it as a blank",
    )
    add("--name", metavar="NAME", help="of the blank in the project")


def settings_of(args: argparse.Namespace) -> ForgingSettings:
    """Return the settings that the arguments ask for.

    Raises:
        GeometryError: a value is out of bounds, or not as many numbers as asked for.
        UnitsError: a length that cannot be read.
    """
    start = ForgingSettings()
    outside, inside = start.how.outside_deg, start.how.inside_deg
    if args.draft is not None:
        try:
            outside, inside = (float(part) for part in args.draft.split(","))
        except ValueError as error:
            raise GeometryError(
                f"--draft {args.draft}: give two numbers of degrees, as 1,2 (outside, inside)"
            ) from error
    fillet = start.how.fillet_mm if args.fillet is None else parse_length_mm(args.fillet)
    logs = start.log_diameters_mm
    if args.log is not None:
        logs = tuple(parse_length_mm(part) for part in args.log.split(","))
    return ForgingSettings(
        how=Forgeable(outside, inside, fillet, 0.0 if args.web is None else parse_length_mm(args.web)),
        stock_mm=None if args.stock is None else parse_length_mm(args.stock),
        trim_mm=0.0 if args.trim is None else parse_length_mm(args.trim),
        grip_mm=0.0 if args.grip is None else parse_length_mm(args.grip),
        log_diameters_mm=logs,
    )


def check_out(out: Path | None) -> None:
    """Refuse a kind of file that nothing is written to, before anything is computed.

    Raises:
        GeometryError: it is none of KINDS.
    """
    if out is not None and out.suffix.lower() not in KINDS:
        raise GeometryError(f"{out.name}: a blank is written as {', '.join(KINDS[:-1])} or {KINDS[-1]}")


def as_json(result: Composite) -> dict[str, Any]:
    """Return what was found, as documented in DEVELOPERS.md."""
    path = result.found.blank.path
    rows = zip(path.points.tolist(), path.bulges.tolist(), strict=True)
    low, high = result.press_mn
    return {
        "format": 1,
        "mass_kg": result.found.mass_kg,
        "bound_kg": result.found.bound_kg,
        "is_proven": result.found.is_proven,
        "outline": [[z, r, bulge] for (z, r), bulge in rows],
        "log": {
            "diameter_mm": result.log.diameter_mm,
            "length_mm": result.log.length_mm,
            "mass_kg": result.log.mass_kg,
            "may_buckle": result.log.may_buckle,
        },
        "press_mn": [low, high],
        "flow_mn": result.flow_mn,
        "fill_mn": list(result.fill_mn),
        "web_mm": result.web_mm,
        "parting": list(result.parting_mm),
        "ladder": [{"words": words, "mass_kg": mass} for words, mass in result.ladder],
        "wheels": [
            {
                "name": w.name,
                "seat_mm": w.seat_mm,
                "mass_kg": w.mass_kg,
                "chips_kg": w.chips_kg,
                "costs_others_kg": w.costs_others_kg,
                "decides": w.decides,
            }
            for w in result.wheels
        ],
    }


def as_text(project: Project, result: Composite, settings: ForgingSettings) -> str:
    """Return the result for a person: mass and proof, wheels, ladder of kilograms, log and press."""
    numbers, found = Numbers(unit_of(project)), result.found
    proof = "proven" if found.is_proven else "not proven"
    z, r = result.parting_mm
    lines = [
        f"Smallest forgeable blank of {len(result.wheels)} wheels: {found.mass_kg:.2f} kg"
        if len(result.wheels) > 1
        else f"Smallest forgeable blank of {result.wheels[0].name}: {found.mass_kg:.2f} kg",
        f"  without fillets {found.draft_mass_kg:.2f} kg, no lighter than {found.bound_kg:.2f} ({proof})",
        f"  greatest diameter {numbers.length(2.0 * r)}, dies meet at z {numbers.length(z)}, "
        f"least web {numbers.length(result.web_mm)}",
        "",
        f"  {'wheel':<24} {'seat':>8} {'wheel kg':>9} {'chips kg':>9} {'costs the others kg':>20}",
    ]
    for w in result.wheels:
        costs = "" if w.costs_others_kg is None else f"{w.costs_others_kg:.2f}" if w.decides else "nothing"
        seat = numbers.length(w.seat_mm)
        lines.append(f"  {w.name:<24} {seat:>8} {w.mass_kg:>9.2f} {w.chips_kg:>9.2f} {costs:>20}")
    lines += ["", "  where the kilograms are"]
    before: float | None = None
    for words, mass in result.ladder:
        added = "" if before is None else f"{mass - before:+.2f}"
        lines.append(f"    {words:<58} {mass:>7.2f} {added:>8}")
        before = mass
    log = result.log
    buckles = ", longer than three diameters: it may buckle" if log.may_buckle else ""
    lines += [
        "",
        f"  log {numbers.length(log.diameter_mm)} x {numbers.length(log.length_mm)}, {log.mass_kg:.1f} kg "
        f"with {settings.loss:.0%} loss, {log.slenderness:.2f} diameters long{buckles}",
        f"  last press: {result.flow_mn:.0f} MN to move the metal, {result.fill_mn[0]:.0f} to "
        f"{result.fill_mn[1]:.0f} MN to fill corners against flash",
        "  The outline is the usable one: closure, mismatch and corner radii of the dies come on top. Draft, "
        "fillets, loss,",
        "  flash, temperature and press speed are starting values until they are the shop's own.",
    ]
    return "\n".join(lines)


def write(out: Path, project: Project, result: Composite, settings: ForgingSettings, name: str | None) -> str:
    """Write the outline and return what was done, in words.

    Raises:
        SaveError: the file could not be written.
    """
    words = name or f"blank of {', '.join(w.name for w in result.wheels)}"
    if out.suffix.lower() == ".csv":
        write_table(out, result.found.blank.path)
        return f"  written to {out}, lines and arcs exact"
    if out.suffix.lower() == ".dxf":
        write_dxf(out, _drawing(words, result, settings))
        return f"  written to {out}: outline in full, finished wheels chain-dotted"
    held = load_or_new(out)
    free = edits.free_name(held, edits.BLANK, words)
    save(edits.add(held, edits.BLANK, as_blank(result, free, settings)), out)
    return f"  added to {out} as blank '{free}'"


def _drawing(name: str, result: Composite, settings: ForgingSettings) -> Drawing:
    how, (z, r) = settings.how, result.parting_mm
    wheels = tuple(
        Layer(f"{WHEEL} {words}", (path,), color=8, chain_dotted=True) for words, path in result.held
    )
    parting = Layer("PARTING", lines=(((z, r - 10.0), (z, r + 20.0)),), color=1, chain_dotted=True)
    notes = (
        name,
        f"draft {how.outside_deg:g} deg outside, {how.inside_deg:g} inside, fillets R{how.fillet_mm:g} least",
        f"parting line at z {z:.2f}, r {r:.2f}; {result.found.mass_kg:.2f} kg as drawn",
        "usable outline: closure, mismatch, wear and corner radii come on top",
        *(f"{w.name}: mounting face at z {w.seat_mm:.2f}" for w in result.wheels),
        CAUTION,
    )
    return Drawing((Layer(BLANK, (result.found.blank.path,)), *wheels, parting), notes)
