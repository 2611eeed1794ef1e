"""`blankwright roadmap`: the fitments of a project as a table, and tables taken into a project."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from app.cli.terminal import printed
from app.files.kept import save_over
from app.files.readers.answer import ReadError
from app.files.readers.roadmap_file import read_roadmap
from app.files.writers.roadmap import write_roadmap
from app.project.project import Fitment, Project
from app.project.roadmap_checks import open_points
from app.project.roadmap_columns import COLUMNS
from app.project.roadmap_rows import Problem, ReadTable, emptied_words, open_words, taken

#: Of what a row leaves open, so many are named in the list.
_SHOWN = 3


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    add = parser.add_argument
    add("--csv", type=Path, metavar="FILE.csv", help="write the table")
    add("--xlsx", type=Path, metavar="FILE.xlsx", help="write the table as a workbook")
    add(
        "--add",
        type=Path,
        metavar="FILE.(csv|xlsx)",
        help="take a table in; rows whose name the project has replace that fitment",
    )
    add("--out", type=Path, metavar="FILE.blankwright", help="where the project goes with the table's rows")
    add("--sound-only", action="store_true", help="take the rows without a problem, leave the others out")
    add("--json", action="store_true", help="print JSON, lengths in mm")


def check_arguments(args: argparse.Namespace) -> None:
    """Refuse what does not fit together, before anything is read.

    Raises:
        ReadError: says what and how to mend it.
    """
    for path, suffix in ((args.csv, ".csv"), (args.xlsx, ".xlsx"), (args.out, ".blankwright")):
        if path is not None and path.suffix.lower() != suffix:
            raise ReadError(f"{path}: name a file that ends in {suffix}")
    if (args.add is None) != (args.out is None):
        raise ReadError("--add and --out belong together: a table to take in, and where the project goes")
    if args.sound_only and args.add is None:
        raise ReadError("--sound-only is said of a table that is taken in with --add")


def run(project: Project, args: argparse.Namespace) -> tuple[str | dict[str, object], int]:
    """Do what the arguments ask for and return what is to be printed, and the exit code.

    Raises:
        ReadError: the table cannot be read. SaveError: a file cannot be written.
    """
    table: ReadTable | None = None
    code = 0
    if args.add is not None:
        table = read_roadmap(args.add, project)
        code = _said(args.add, table, args.sound_only)
        if code == 0:
            project = taken(project, table)
            save_over(project, args.out)
    if code == 0:
        for path in (args.csv, args.xlsx):
            if path is not None:
                write_roadmap(path, project.fitments)
    if args.json:
        return as_json(project, table), code
    words = _counts(table, args.out) if table is not None and code == 0 else ""
    return "\n".join(filter(None, (as_text(project), words))) if code == 0 else "", code


def _said(path: Path, table: ReadTable, sound_only: bool) -> int:
    """Say on standard error what is to be said of a table; return the exit code, 0 where rows are taken."""
    for words in table.said:
        print(f"{path.name}: {words}", file=sys.stderr)
    for problem in table.all_problems:
        print(f"{path.name}: {problem}", file=sys.stderr)
    for head in table.left_out:
        print(f"{path.name}: column '{head}' is no part of the table and is left out", file=sys.stderr)
    for row in table.rows:
        for words in filter(None, (emptied_words(row.emptied), open_words(row.open))):
            print(f"{path.name}: row {row.number}, {row.name}: {words}", file=sys.stderr)
    problems, sound, of = len(table.all_problems), len(table.sound), len(table.rows)
    if problems and not (sound_only and sound):
        takes = f"; --sound-only takes the {_counted(sound, 'row')} without a problem"
        mend = "" if sound_only or not sound else takes
        are = "is" if sound == 1 else "are"
        words = (
            f"{_counted(problems, 'problem')}; of {_counted(of, 'row')} {sound} {are} sound, "
            f"and none was taken{mend}"
        )
        print(f"blankwright: {path}: {words}", file=sys.stderr)
        return 2
    return 0


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'s' * (number != 1)}"


def _counts(table: ReadTable, out: Path) -> str:
    new = sum(row.replaces is None for row in table.sound)
    old = len(table.sound) - new
    left = len(table.rows) - len(table.sound)
    more = f", {left} left out" if left else ""
    place = "a fitment" if old == 1 else "fitments"
    return f"{out}: {new} new, {old} in the place of {place} of the same name{more}"


def as_text(project: Project) -> str:
    """Return the fitments, one line each, in the project's order, and what they leave open."""
    if not project.fitments:
        return (
            "The project holds no fitment: take a table in with --add FILE --out FILE. "
            "--csv FILE writes the heads to be filled."
        )
    heads = ("fitment", "need", "inset", "brake", "must / want", "years", "wheels a year", "not stated")
    rows = [heads, *(_line(project, f) for f in project.fitments)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(heads))]
    lines = ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in rows]
    return printed([*lines, "", _counted(len(project.fitments), "fitment")])


def _line(project: Project, f: Fitment) -> tuple[str, ...]:
    wheel = next((w for w in project.wheels if w.name == f.wheel), None)
    size = f"{_number(f.diameter_code)} x {_number(f.width_code)} {f.flange}"
    left = open_points(f, wheel)
    more = f" (+{len(left) - _SHOWN})" if len(left) > _SHOWN else ""
    return (
        f.name,
        "-" if f.diameter_code is None and f.width_code is None else size,
        _span(f.inset_low_mm, f.inset_high_mm),
        f.shape or "-",
        "-" if f.must is None else "must" if f.must else "want",
        _span(f.first_year, f.last_year),
        " / ".join(map(_number, (f.volume_low, f.volume_likely, f.volume_high))),
        ", ".join(left[:_SHOWN]) + more,
    )


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:.6g}"


def _span(low: float | None, high: float | None) -> str:
    if low == high:
        return _number(low)
    return f"{_number(low)} to {_number(high)}"


def as_json(project: Project, table: ReadTable | None) -> dict[str, object]:
    """Return the fitments by the keys of their columns and, of a table that was read, its problems."""
    wheels = {w.name: w for w in project.wheels}
    fitments = [
        {column.key: column.value(f) for column in COLUMNS}
        | {"not_stated": open_points(f, wheels.get(f.wheel or ""))}
        for f in project.fitments
    ]
    found: dict[str, object] = {"format": 1, "fitments": fitments}
    if table is not None:
        found["problems"] = [_problem(p) for p in table.all_problems]
        found["left_out"] = list(table.left_out)
        found["said"] = list(table.said)
        found["rows"] = len(table.rows)
        found["sound"] = len(table.sound)
    return found


def _problem(problem: Problem) -> dict[str, object]:
    return {"row": problem.row, "column": problem.column, "words": problem.words}
