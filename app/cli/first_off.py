"""`blankwright first-off`: measured points of a wheel against its nominal section."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from app.cli.terminal import printed
from app.files.atomic import save_bytes
from app.files.readers.answer import UNITS
from app.files.readers.measured import MeasuredPoints, read_points
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.first_off_page import first_off_pdf, result_words
from app.reports.numbers import Numbers, unit_of
from app.studies.first_off import LIMITS, FirstOffSettings, Measured, measured
from app.units import parse_length_mm
from geometry.errors import GeometryError
from geometry.readings.first_off import Deviation

FORMAT = 1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    add = parser.add_argument
    add("--wheel", required=True, metavar="NAME", help="the wheel that was measured, as drawn")
    add("--points", required=True, type=Path, metavar="FILE", help="measured places: z and r, as a table")
    add("--unit", choices=tuple(UNITS), help="of the points, where the file states none")
    add("--columns", metavar="Z,R", help="what unnamed columns are: z, r, x, y or nothing, with commas")
    add("--sheet", default="", metavar="NAME", help="of a workbook")
    add("--face", metavar="Z", help="z of the mounting face in the points; 0 if not given")
    add("--flip", action="store_true", help="z of the points runs inboard")
    add("--ball", metavar="MM", help="radius of the probe ball whose centres the points are")
    add("--reach", metavar="MM", help="points farther from the nominal skin are left out; 3 if not given")
    add("--json", action="store_true", help="print JSON, lengths in mm")
    add("--out", type=Path, metavar="FILE.pdf", help="write it on a page")


def run(project: Project, wheel: Wheel, args: argparse.Namespace) -> str | dict[str, Any]:
    """Return what the command prints, text or plain values; write the page where one is asked for.

    Raises:
        ReadError: the points cannot be read.
        UnitsError: a length cannot be read.
        GeometryError: the wheel has a fault, or too few points lie near it.
        SaveError: the page cannot be written.
    """
    if args.out is not None and args.out.suffix.lower() != ".pdf":
        raise GeometryError(f"{args.out.name}: a page is a PDF; name a file that ends in .pdf")

    def read(text: str | None, otherwise: float) -> float:
        return otherwise if text is None else parse_length_mm(text)

    start = FirstOffSettings()
    settings = FirstOffSettings(
        read(args.face, start.face_z_mm),
        args.flip,
        read(args.reach, start.reach_mm),
        read(args.ball, start.ball_mm),
    )
    columns = () if args.columns is None else tuple(c.strip().lower() for c in args.columns.split(","))
    points = read_points(args.points, args.unit, columns, args.sheet)
    found = measured(wheel, points.places, settings, points.file_name)
    if args.out is not None:
        save_bytes(args.out, first_off_pdf(project, found, points.sha256))
    if args.json:
        return as_json(found, points)
    return as_text(found, points, Numbers(unit_of(project)))


def as_json(measured: Measured, points: MeasuredPoints) -> dict[str, Any]:
    """Return plain values, as documented in DEVELOPERS.md."""
    found = measured.found
    return {
        "format": FORMAT,
        "wheel": measured.wheel,
        "file": points.file_name,
        "said": list(points.said),
        "settings": vars(measured.settings),
        "points": len(found.points),
        "left_out": found.left_out,
        "not_measured": list(found.not_measured),
        "dz_mm": None if "z" in found.not_determined else found.dz_mm,
        "dr_mm": None if "r" in found.not_determined else found.dr_mm,
        "measured": _deviation(found.measured),
        "shifted": _deviation(found.shifted),
        "limits": LIMITS,
    }


def _deviation(of: Deviation) -> dict[str, Any]:
    return {
        "form_mm": of.form_mm,
        "rms_mm": of.rms_mm,
        "zones": [
            {
                **{k: v for k, v in vars(zone).items() if not k.endswith("_at")},
                "least_at": list(zone.least_at),
                "greatest_at": list(zone.greatest_at),
            }
            for zone in of.zones
        ],
    }


def as_text(measured: Measured, points: MeasuredPoints, numbers: Numbers) -> str:
    """Return it for a person: a line for each zone, then shift and form."""
    from app.reports.first_off_page import zone_table

    table = zone_table(measured, numbers)
    heads = [column.head for column in table.columns]
    rows = [heads, *([*row.cells] for row in table.rows)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(heads))]
    lines = [f"{measured.wheel} against {measured.source}"]
    for row in rows:
        first, *others = (
            cell.ljust(width) if k == 0 else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        lines.append(f"  {first}  {'  '.join(others)}".rstrip())
    lines += ["", *(f"  {note}" for note in table.notes)]
    lines += [f"  {words}" for words in result_words(measured, numbers)]
    lines += [f"  {words}" for words in points.said]
    return printed([*lines, "", LIMITS])
