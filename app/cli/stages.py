"""`blankwright stages`: a wheel followed through its blank, for a person, a program, or the lathe."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

from app.cli.terminal import printed
from app.files.atomic import save_bytes
from app.files.writers.dxf import write_dxf
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.stage_drawing import stage_drawing
from app.reports.stage_pages import stages_pdf
from app.studies.stage_words import Finding
from app.studies.stages import SOURCES, Followed, StageReading, StageSettings
from app.units import parse_length_mm
from geometry.errors import GeometryError
from geometry.forging.arcs import OFF_MM
from geometry.forging.stages import Route, StageName
from geometry.readings.measure import StockRow


def _in_mm(value: float) -> str:
    return f"{value:g} mm"


def _source(name: str) -> str:
    """Return what a setting starts with and rests on, in mm."""
    return SOURCES[name].words(_in_mm)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    add = parser.add_argument
    add("--wheel", required=True, metavar="NAME", help="the wheel, in the blank that it stands in")
    add("--pierced", metavar="MM", help="diameter of the hole in the hub; not pierced if not given")
    add("--rough", metavar="MM", help="stock left by rough turning; treated as forged if not given")
    add("--movement", metavar="MM", help=f"of the ring: {_source('movement_mm')}")
    add("--finishing", metavar="MM", help="stock left after both sides; the movement if not given")
    add("--jaws", metavar="MM", help=f"length that the jaws hold: {_source('jaw_mm')}")
    add("--first", choices=("brake", "street"), default="brake", help=_source("brake_first"))
    add("--stage", metavar="NAME", help=f"only this one: {', '.join(StageName)}")
    add(
        "--dxf",
        type=Path,
        metavar="FILE.dxf|FOLDER",
        help="write the outline of --stage, or of every stage into a folder",
    )
    add("--pdf", type=Path, metavar="FILE.pdf", help="write all stages on pages: drawings and a table")
    add("--json", action="store_true", help="print JSON, lengths in mm")


def settings_of(args: argparse.Namespace) -> StageSettings:
    """Return the settings that the arguments ask for.

    Raises:
        UnitsError: a length that cannot be read.
        GeometryError: a file to write without the stage that goes into it.
    """
    if args.dxf is not None and args.dxf.suffix.lower() == ".dxf" and args.stage is None:
        raise GeometryError(f"{args.dxf.name}: name its --stage, or give a folder for all of them")
    if args.pdf is not None and args.pdf.suffix.lower() != ".pdf":
        raise GeometryError(f"{args.pdf.name}: pages are a PDF; name a file that ends in .pdf")
    start, route = StageSettings(), Route()

    def read(text: str | None) -> float | None:
        return None if text is None else parse_length_mm(text)

    moves, finishing, jaws = read(args.movement), read(args.finishing), read(args.jaws)
    movement = start.movement_mm if moves is None else moves
    return StageSettings(
        Route(
            pierced_mm=read(args.pierced),
            rough_mm=read(args.rough),
            finishing_mm=movement if finishing is None else finishing,
            brake_first=args.first == "brake",
            jaw_mm=route.jaw_mm if jaws is None else jaws,
        ),
        movement,
    )


def chosen(found: Followed, args: argparse.Namespace) -> tuple[StageReading, ...]:
    """Return the stages that the arguments ask for.

    Raises:
        GeometryError: there is no stage of that name on the route.
    """
    return found.stages if args.stage is None else (found.stage(args.stage),)


def exit_code(found: Followed) -> int:
    """Return 1 where there is something to look at, else 0."""
    return 1 if found.warnings else 0


def as_json(found: Followed, shown: tuple[StageReading, ...]) -> dict[str, Any]:
    """Return the stages, as documented in DEVELOPERS.md."""
    route, treated = found.settings.route, found.treated
    return {
        "format": 1,
        "wheel": found.wheel,
        "blank": found.blank,
        "settings": {
            **vars(route),
            "movement_mm": found.settings.movement_mm,
            "sources": {name: _source(name) for name in SOURCES},
        },
        "outline_off_mm": OFF_MM,
        "stages": [_stage_json(stage) for stage in shown],
        "treated": {
            "thickest_mm": treated.thickest_mm,
            "at": list(treated.at),
            "row": treated.row,
            "forged_mm": treated.forged_mm,
            "ratio": treated.ratio,
        },
        "wheel_kg": found.wheel_kg,
        "opened_kg": found.opened_kg,
        "missing_mm3": found.missing_mm3,
        "missing_at": None if found.missing_at is None else list(found.missing_at),
        "warnings": [_finding_json(finding) for finding in found.warnings],
        "notes": [note.words(_in_mm) for note in found.notes],
    }


def _stage_json(stage: StageReading) -> dict[str, Any]:
    length, held = Numbers("mm").length, stage.holding
    return {
        "name": str(stage.name),
        "outline": [list(row) for row in stage.path.rows()],
        "datum": None if held is None else held.datum_words(length),
        "grip": None if held is None else held.grip_words(length),
        "grip_mm": None if held is None or held.grip is None else held.grip.length_mm,
        "jaws": None if held is None or held.jaws is None else asdict(held.jaws),
        "least": None if stage.least is None else _row_json(stage.least),
        "stock": [_row_json(row) for row in stage.stock],
        "mass_kg": stage.mass_kg,
        "chips_kg": stage.chips_kg,
        "warnings": [_finding_json(finding) for finding in stage.warnings],
    }


def _row_json(row: StockRow) -> dict[str, Any]:
    return {"zone": row.zone, "side": row.side, "least_mm": row.least_mm, "at": list(row.at)}


def _finding_json(finding: Finding) -> dict[str, Any]:
    at = None if finding.at is None else list(finding.at)
    return {"text": finding.words(Numbers("mm").length), "at": at}


def as_text(project: Project, found: Followed, shown: tuple[StageReading, ...]) -> str:
    """Return the stages for a person: a table, and below it how each is held and what to look at."""
    numbers = Numbers(unit_of(project))
    length = numbers.length
    lines = [
        f"{found.wheel} in blank {found.blank}; lengths: {numbers.unit}, z from the mounting face",
        "",
        f"  {'stage':<32} {'mass':>22} {'chips':>22}  least stock",
    ]
    for stage in shown:
        row = stage.least
        least = "" if row is None else f"{length(row.least_mm)}: {row.zone}, {row.side} side"
        at = "" if row is None else f", {numbers.place(row.at)}"
        mass, chips = numbers.mass(stage.mass_kg), numbers.mass(stage.chips_kg)
        lines.append(f"  {stage.name:<32} {mass:>22} {chips:>22}  {least}{at}")
    kg = f"{numbers.mass(found.wheel_kg)}; they take {numbers.mass(found.opened_kg)}"
    treated = found.treated
    lines += [
        f"  with windows and holes {kg}",
        "",
        "at heat treatment",
        f"  thickest place {length(treated.thickest_mm)} at {numbers.place(treated.at)}: {treated.row}",
        f"  as forged {length(treated.forged_mm)}, {treated.ratio:.2f} times that (at most 2)",
        "",
        "how each is held",
    ]
    for stage in shown:
        if stage.holding is not None:
            lines.append(f"  {stage.name}: {stage.holding.datum_words(length)}")
            lines.append(f"  {'':<{len(stage.name)}}  {stage.holding.grip_words(length)}")
            if stage.holding.jaws is not None:
                lines.append(f"  {'':<{len(stage.name)}}  {stage.holding.jaws.words(length)}")
    lines += ["", "to look at" if found.warnings else "nothing to look at"]
    for stage in found.stages:
        lines += [f"  {stage.name}: {finding.words(length, numbers.mass)}" for finding in stage.warnings]
    exact = partial(numbers.length, with_unit=True)
    return printed([*lines, "", *(f"  {note.words(exact)}" for note in found.notes)])


def write_pages(out: Path, project: Project, found: Followed) -> str:
    """Write all stages on pages; return what was done.

    Raises:
        SaveError: the file could not be written.
    """
    save_bytes(out, stages_pdf(project, found))
    return f"  {len(found.stages)} stages written to {out}"


def write(out: Path, found: Followed, shown: tuple[StageReading, ...]) -> str:
    """Write one stage into a file, or each into a folder that is made if need be; return what was done.

    Raises:
        SaveError: a file could not be written.
        GeometryError: the folder is a file.
    """
    if out.suffix.lower() == ".dxf":
        write_dxf(out, stage_drawing(found, shown[0]))
        return f"  {shown[0].name} written to {out}"
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise GeometryError(
            f"{out}: cannot be a folder ({error.strerror}); name a file that ends in .dxf"
        ) from error
    for stage in shown:
        number = 1 + [each.name for each in found.stages].index(stage.name)
        write_dxf(out / f"{number} {stage.name}.dxf", stage_drawing(found, stage))
    return f"  {len(shown)} stages written into {out}"
