"""`blankwright outline`: reads an arriving outline or scan and says what it found, joined and dropped."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

import numpy as np

from app.cli.terminal import printed
from app.cli.wheel import load_or_new
from app.files.kept import save_over
from app.files.readers.answer import (
    AXLES,
    JOIN_MM,
    NOT_KNOWN,
    POINTS,
    UNITS,
    Loop,
    ReadError,
    ReadOutline,
    above_axle,
)
from app.files.readers.imported import at_first, findings, sizes, stay_out, unit_words
from app.files.readers.read import SUFFIXES, Options, read_outline
from app.files.writers.table import write_table
from app.project import edits
from app.units import parse_length_mm, parse_number, parse_place_mm
from geometry.shape.curve import Path as Outline
from geometry.shape.outline import Grade, ShapeKind, StayOut
from geometry.shape.placing import Placement

#: A table of straight lines holds the outline within this, mm, on its outside.
FLAT_MM = 0.005

FORMAT = 1

_KINDS = {"drawing": "drawing", "mesh": "mesh", "points": "cloud of points", "table": "table"}


@dataclass(frozen=True)
class Placed:
    """An outline as read, and its loops in the hub's frame; none while the unit or the outline is unclear."""

    found: ReadOutline
    loops: tuple[Loop, ...]
    trouble: str


def add_parser(parser: Any, epilog: str) -> None:
    """Add the command's arguments to the commands."""
    outline: argparse.ArgumentParser = parser.add_parser(
        "outline",
        help="read an arriving outline or scan and say what it holds",
        description="Read a brake outline as it arrived (" + ", ".join(SUFFIXES) + "), say what was found, "
        "joined and dropped, and write it as a table or into a project. Exit code 0 where the outline can be "
        "used, 2 where it cannot be read, its unit is not known, or it is open.",
        epilog=epilog,
    )
    add = outline.add_argument
    add("file", type=Path, metavar="FILE")
    add("--unit", choices=tuple(UNITS), help="of the file, where it states none or a wrong one")
    add("--layer", action="append", default=[], metavar="NAME", help="read only this layer; may be repeated")
    add("--colour", action="append", default=[], metavar="NAME", help="read only this colour")
    add("--only", action="append", default=[], metavar="KIND", help="read only this kind of entity, as LINE")
    add("--join", metavar="MM", help="gaps up to this are joined")
    add("--close", action="store_true", help="close a single open outline by a straight line")
    add("--mirror", action="store_true", help="complete a half-drawn outline by its image at its two ends")
    add("--drop-open", action="store_true", help="leave open chains out beside closed outlines")
    add("--inner", action="store_true", help="keep outlines that lie within others")
    add("--loop", type=int, action="append", default=[], metavar="N", help="take only this outline, from 1")
    add("--turn", type=int, choices=(90, 180, 270), default=0, help="turn the drawing to the left, degrees")
    add("--flip", action="store_true", help="reverse z, after the turn")
    add("--origin", metavar="Z,R", help="place in the drawing, as turned, that becomes zero: --origin=-5,0")
    add(
        "--axle",
        choices=AXLES,
        help="coordinate that runs along the axle, for bodies in space; else x, and said so",
    )
    add("--axle-at", metavar="A,B", help="the axle's place in the two other coordinates, in the file's unit")
    add("--body", type=int, action="append", default=[], metavar="N", help="take only this body, from 1")
    add("--points", choices=POINTS, default="auto", help="rows as they follow each other, or in any order")
    add("--columns", metavar="Z,R", help="what unnamed columns are: z, r, x, y or nothing, with commas")
    add("--sheet", default="", metavar="NAME", help="of a workbook")
    add("--ball", metavar="MM", help="radius of the probe ball whose centres the points are")
    add("--share", metavar="0.95", help="share of the points that the outline must hold")
    add("--json", action="store_true", help="print JSON, lengths in mm")
    add("--out", type=Path, metavar="FILE.(csv|blankwright)", help="write a table, or add to a project")
    add("--name", metavar="NAME", help="of the shape in the project; the file's name otherwise")
    add("--kind", choices=[str(k) for k in ShapeKind], default=str(ShapeKind.CALIPER), help="of the shape")
    add("--grade", choices=[str(g) for g in Grade], help="of the shape, no better than the file allows")
    outline.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Read, say and write; return the exit code.

    Raises:
        ReadError: the file gives nothing, or what was found cannot be used and would be written.
    """
    placed = read_placed(args)
    if args.json:
        print(json.dumps(as_json(args, placed), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(as_text(args, placed))
    if placed.trouble:
        raise ReadError(placed.trouble)
    if args.out is not None:
        said = _write(args, placed)
        if not args.json:
            print(said)
    return 0


def read_placed(args: argparse.Namespace) -> Placed:
    """Return the outline of a file, placed as asked."""
    how: Options = {
        "unit": args.unit,
        "side": "outward",
        "layers": tuple(args.layer),
        "colours": tuple(args.colour),
        "kinds": tuple(kind.upper() for kind in args.only),
        "join_mm": JOIN_MM if args.join is None else parse_length_mm(args.join),
        "close": args.close,
        "mirror": args.mirror,
        "drop_open": args.drop_open,
        "axle": args.axle or "x",
        "axle_named": args.axle is not None,
        "axle_at": (0.0, 0.0) if args.axle_at is None else _pair(args.axle_at, "--axle-at", parse_number),
        "bodies": tuple(_from_one(n, "--body") for n in args.body),
        "points": args.points,
        "columns": () if args.columns is None else tuple(c.strip() for c in args.columns.split(",")),
        "sheet": args.sheet,
        "ball_mm": 0.0 if args.ball is None else parse_length_mm(args.ball),
        "quantile": 1.0 if args.share is None else parse_number(args.share),
    }
    found = read_outline(args.file, **how)
    placement = Placement(args.turn // 90, args.flip)
    if args.origin is not None:
        z, r = _pair(args.origin, "--origin", parse_place_mm)
        placement = Placement(args.turn // 90, args.flip, -z, -r)
    try:
        usable = found.usable_loops_mm()
        chosen = _chosen(args, found, usable)
        loops = above_axle(tuple(_laid(placement, loop) for loop in chosen), found.file_name)
    except ReadError as error:
        return Placed(found, (), str(error))
    return Placed(found, loops, "")


def _laid(placement: Placement, loop: Loop) -> Loop:
    # Not Path.closed, which checks sizes: a drawing may lie far off its own origin, and is judged as placed.
    rows = np.array(loop)
    return tuple(placement.path(Outline(rows[:, :2], rows[:, 2])).rows())


def _chosen(args: argparse.Namespace, found: ReadOutline, loops: tuple[Loop, ...]) -> tuple[Loop, ...]:
    if not args.loop:
        taken = set(range(len(loops))) - set(found.frames) if args.inner else set(at_first(found))
        return tuple(loop for k, loop in enumerate(loops) if k in taken)
    missing = [n for n in args.loop if not 1 <= n <= len(loops)]
    if missing:
        raise ReadError(f"{found.file_name}: there is no outline {missing[0]}; it holds {len(loops)}")
    return tuple(loops[n - 1] for n in args.loop)


def _from_one(number: int, option: str) -> int:
    if number < 1:
        raise ReadError(f"{option} {number}: counted from 1")
    return number - 1


def _pair(text: str, option: str, parse: Callable[[str], float]) -> tuple[float, float]:
    """Return two numbers; a semicolon may part them where commas are decimal."""
    parts = text.split(";") if ";" in text else text.split(",")
    if len(parts) != 2:
        _refuse_pair(text, option)
    return parse(parts[0]), parse(parts[1])


def _refuse_pair(text: str, option: str) -> NoReturn:
    raise ReadError(f"{option} {text!r}: two numbers with a comma, or with a semicolon, are meant")


# What is said


def open_questions(placed: Placed) -> list[str]:
    """Return what must be settled before a reading against the outline is more than 'not known'."""
    found = placed.found
    asked = list(_shape(placed, "").open_questions())
    return [f"Which unit is it in? {unit_words(found)}", *asked] if found.unit == NOT_KNOWN else asked


def _shape(placed: Placed, name: str, **how: Any) -> StayOut:
    return stay_out(placed.found, placed.loops, name, **how)


def as_json(args: argparse.Namespace, placed: Placed) -> dict[str, Any]:
    """Return what was found, as documented in DEVELOPERS.md."""
    found = placed.found
    bounds = _bounds(placed)
    return {
        "format": FORMAT,
        "file": found.file_name,
        "kind": found.kind,
        "unit": found.unit,
        "unit_doubt": found.unit_doubt,
        "loops": len(placed.loops or found.loops),
        "vertices": sum(map(len, placed.loops or found.loops)),
        "bounds": {"z": list(bounds[:2]), "r": list(bounds[2:])},
        "joined": found.joined,
        "largest_join_mm": found.largest_join_mm,
        "doubles": found.doubles,
        "skipped": found.skipped,
        "layers": found.layers,
        "colours": found.colours,
        "kinds": found.kinds,
        "off": list(found.off),
        "curve_error_mm": found.curve_error_mm,
        "tolerance_mm": found.tolerance_mm,
        "outside_points": found.outside_count,
        "open_questions": open_questions(placed),
        "trouble": placed.trouble,
        "warnings": list(found.warnings),
    }


def _bounds(placed: Placed) -> tuple[float, float, float, float]:
    """Return the bounds of what is taken, as placed; as drawn while nothing can be taken."""
    if not placed.loops:
        return placed.found.bounds
    each = [Outline.closed(loop).bounds for loop in placed.loops]
    return min(b[0] for b in each), max(b[1] for b in each), min(b[2] for b in each), max(b[3] for b in each)


def as_text(args: argparse.Namespace, placed: Placed) -> str:
    """Return what was found in lines for a person."""
    found = placed.found
    loops = placed.loops or found.loops
    outlines = "1 closed outline" if len(loops) == 1 else f"{len(loops)} closed outlines"
    lines = [f"{found.file_name}: {outlines}, {sum(map(len, loops))} vertices, from a {_KINDS[found.kind]}"]
    if found.unit == NOT_KNOWN:
        lines.append(f"  unit: not known ({unit_words(found)})")
        lines += [f"    if {unit}: {size}" for unit, size in sizes(found).items()]
    else:
        z0, z1, r0, r1 = _bounds(placed)
        lines.append(f"  unit: {unit_words(found)}")
        lines.append(f"  spans z {z0:.3f} to {z1:.3f}, r {r0:.3f} to {r1:.3f} mm")
    lines += [f"  {sentence}" for sentence in findings(found)]
    if found.layers:
        lines.append("  layers: " + ", ".join(f"{name} ({n})" for name, n in found.layers.items()))
    lines.append("  not known until settled:")
    return printed([*lines, *(f"    {question}" for question in open_questions(placed))])


# What is written


def _write(args: argparse.Namespace, placed: Placed) -> str:
    out: Path = args.out
    if out.suffix.lower() == ".csv":
        if len(placed.loops) != 1:
            raise ReadError(
                f"{out}: a table holds one outline, not {len(placed.loops)}; choose it with --loop N"
            )
        write_table(out, Outline.closed(placed.loops[0]), chord_error_mm=FLAT_MM, side="outward")
        return f"  written to {out}, straight lines on the outside within {FLAT_MM:g} mm"
    if out.suffix.lower() == ".blankwright":
        project = load_or_new(out)
        name = edits.free_name(project, edits.SHAPE, args.name or args.file.stem)
        by = "the person who gave --unit" if args.unit is not None else ""
        grade = None if args.grade is None else Grade(args.grade)
        shape = _shape(placed, name, kind=ShapeKind(args.kind), grade=_no_better(grade, placed), unit_by=by)
        save_over(edits.add(project, edits.SHAPE, shape), out)
        return f"  added to {out} as stay-out shape '{name}'; its source card is open"
    raise ReadError(f"{out}: an outline is written as .csv, or added to a .blankwright project")


def _no_better(grade: Grade | None, placed: Placed) -> Grade | None:
    """Return the grade asked for, but none better than such a file can have."""
    from app.files.readers.imported import usual_grade

    order = list(Grade)
    best = usual_grade(placed.found)
    return None if grade is None or order.index(grade) < order.index(best) else grade
