"""`blankwright plan`: coverage and die programme of a roadmap, for a person, for programs, and on pages."""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from app.cli.terminal import printed
from app.files.atomic import save_bytes
from app.files.writers.table import table_bytes
from app.files.writers.table_book import sections_xlsx
from app.project.project import Project
from app.reports.sentences import SIGNS
from app.studies.executor import CORES, SERIAL, Progress
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import CoverCell
from app.studies.roadmap.dossier import Dossier, Wanted, dossier
from app.studies.roadmap.plan_tables import sheets
from app.studies.roadmap.plan_words import (
    asked_words,
    hanging_sentence,
    miss_words,
    near_sentences,
    need_words,
    verdict_sentence,
)
from app.studies.roadmap.sheet import Sheet
from geometry.errors import GeometryError
from geometry.readings.rules import State

QUESTIONS = {
    "cost": Question.LEAST_COST,
    "value": Question.GREATEST_VALUE,
    "fewest": Question.FEWEST_DIES,
    "cover": Question.BEST_COVER,
}
#: The signs of a coverage in words.
SIGNS_SAID = (
    f"{SIGNS[State.CLEAR]} cuttable, {SIGNS[State.TIGHT]} tight, {SIGNS[State.SHORT]} not, "
    f"{SIGNS[State.NOT_KNOWN]} not known; * a blank that is not tried out"
)
#: Said with every plan.
AS_DRAWN = (
    "Cuttable: the fitment's wheel clears its brake, holds its rules and can be cut at every inset of its "
    "window. Money rests on the settings, many of which are starting values."
)
#: Widest column of a table on a terminal.
_WIDEST = 60


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    add = parser.add_argument
    add(
        "--question",
        choices=tuple(QUESTIONS),
        default="cost",
        help="cost: least cost of all must rows (the default); value: greatest present value, want rows "
        "weighed; fewest: fewest own dies; cover: most wheels within the limits",
    )
    add("--most-dies", type=int, metavar="N", help="own dies at most; else the programme's setting")
    add("--budget", type=float, metavar="MONEY", help="for all that is paid once, over all years")
    add("--cores", type=int, default=1, metavar="N", help="processes that share the work, 0 for all cores")
    add("--cluster", metavar="ADDRESS", help="of a running Dask scheduler, as tcp://127.0.0.1:8786")
    add("--time-limit", type=float, default=60.0, metavar="S", help="seconds for each choice (60)")
    add("--curve", action="store_true", help="best plan over the number of new own dies")
    add("--worth", action="store_true", help="what each die is worth, and what changed inputs change")
    add("--scenarios", action="store_true", help="what may come, regrets, and rules relaxed")
    add(
        "--metal-follows",
        action="append",
        metavar="BLANK",
        help="a bought blank whose price follows metal; may be repeated. Where none is named, both ways are "
        "looked at",
    )
    add(
        "--known-from",
        type=int,
        metavar="YEAR",
        help="when it is known what comes: tools ordered later may still change. Where it is not given, all "
        "tools of a set are ordered before (a late die is known by its own season)",
    )
    add(
        "--enquiry",
        action="append",
        default=[],
        metavar="FITMENT",
        help="covered, nearly or not, what it would take, and what it does to the plan; may be repeated",
    )
    add("--csv", type=Path, metavar="FOLDER", help="write every table as CSV")
    add("--xlsx", type=Path, metavar="FILE", help="write every table as one workbook")
    add("--out", type=Path, metavar="FILE.pdf", help="write the board paper, with curve, worth and scenarios")
    add("--json", action="store_true", help="print JSON, lengths in mm")


def wanted_of(args: argparse.Namespace) -> Wanted:
    """Return what the arguments ask for.

    Raises:
        GeometryError: an argument that cannot be.
    """
    for name, value in (("--most-dies", args.most_dies), ("--budget", args.budget), ("--cores", args.cores)):
        if value is not None and not (math.isfinite(value) and value >= 0):
            raise GeometryError(f"{name} {value:g}: give a number from 0")
    if not (math.isfinite(args.time_limit) and args.time_limit > 0.0):
        raise GeometryError(f"--time-limit {args.time_limit:g}: give seconds above 0")
    if args.cluster is not None and args.cores != 1:
        raise GeometryError("--cluster and --cores: the work runs in one place; give one of the two")
    for option, path, suffix in (("--out", args.out, ".pdf"), ("--xlsx", args.xlsx, ".xlsx")):
        if path is not None and path.suffix.lower() != suffix:
            raise GeometryError(f"{option} {path.name}: name a file that ends in {suffix}")
    if args.csv is not None and args.csv.exists() and not args.csv.is_dir():
        raise GeometryError(f"--csv {args.csv.name}: it is a file; name a folder")
    paper = args.out is not None
    made = Wanted(
        QUESTIONS[args.question],
        args.budget,
        args.curve or paper,
        args.worth or paper,
        args.scenarios or paper,
        enquiries=tuple(args.enquiry),
    )
    if args.metal_follows:
        made = replace(made, settings=replace(made.settings, metal_carried_here=tuple(args.metal_follows)))
    if args.known_from is not None:
        if not 1900 <= args.known_from <= 2200:
            raise GeometryError(f"--known-from {args.known_from}: give a calendar year")
        made = replace(made, settings=replace(made.settings, known_from=args.known_from))
    return made


def asked_project(project: Project, args: argparse.Namespace, wanted: Wanted) -> Project:
    """Return the project with the arguments' limit of dies.

    Raises:
        GeometryError: a blank that is named is not bought, or not there.
    """
    bought = {b.name for b in project.blanks if b.supply == "bought"}
    for name in wanted.settings.metal_carried_here or ():
        if name not in bought:
            there = ", ".join(sorted(bought)) or "none"
            raise GeometryError(f"--metal-follows {name}: no bought blank is called so; there are {there}")
    if args.most_dies is None:
        return project
    return replace(project, programme=replace(project.programme, most_dies=args.most_dies))


def found(project: Project, args: argparse.Namespace, wanted: Wanted) -> Dossier:
    """Return the die programme; on a terminal the progress stands on standard error.

    Raises:
        GeometryError: an empty roadmap, or a cluster that does not answer.
        ProgrammeError: what cannot be planned with.
    """
    shows = sys.stderr.isatty()

    def tell(words: str) -> Progress | None:
        def said(done: int, of: int) -> bool:
            end = "" if done < of else "\r"
            print(f"\r{done} of {of} {words}   ", end=end, file=sys.stderr, flush=True)
            return True

        return said if shows else None

    where = args.cluster or (SERIAL if args.cores == 1 else CORES)
    return dossier(
        project,
        wanted,
        where=where,
        count=args.cores or None,
        time_limit_s=args.time_limit,
        tell=tell,
    )


def tables_of(project: Project, result: Dossier) -> list[Sheet]:
    """Return every table of the answer."""
    return list(sheets(project, result))


def exit_code(result: Dossier) -> int:
    """Return 1 where a must row is uncovered or something of a row is not known, else 0."""
    return 1 if result.must_uncovered else 0


# For a person


def as_text(project: Project, result: Dossier) -> str:
    """Return the answer first, then what it rests on."""
    tables = {sheet.key: page for sheet in tables_of(project, result) if (page := sheet.for_pages()).heads}
    lines = [
        verdict_sentence(result, project.currency),
        f"Asked: {asked_words(result.wanted.question)}. {hanging_sentence(result)}",
        *near_sentences(result),
        "",
        *coverage_lines(project, result),
    ]
    for key, sheet in tables.items():
        if key not in ("coverage", "served") and sheet.rows:
            lines += ["", *table_lines(sheet)]
    if tables["served"].rows:
        lines += ["", *table_lines(tables["served"])]
    return printed([*lines, "", AS_DRAWN])


def coverage_lines(project: Project, result: Dossier) -> Iterator[str]:
    """Yield the coverage: rows fitments, columns blanks, each with sign and what it has or lacks in mm."""
    cover = result.planned.coverage
    must = {f.name: f.must for f in project.fitments}
    rows = [["coverage, mm", "need", *cover.blanks, "by"]]
    served = result.planned.served_by
    for row in cover.rows:
        name = f"{row.fitment}, by compromise" if row.compromise else row.fitment
        by = "" if row.compromise else served.get(row.fitment, "")
        rows.append([name, need_words(must[row.fitment]), *map(cell_words, row.cells), by])
    yield from _aligned(rows, set())
    yield SIGNS_SAID


def cell_words(cell: CoverCell) -> str:
    """Return sign, spare or miss, and a star where the blank is not tried out."""
    spare = "" if cell.spare_mm is None else f" {miss_words(cell.spare_mm)}"
    star = "*" if cell.unproved and cell.is_covered else ""
    return f"{SIGNS[cell.state]}{spare}{star}"


def table_lines(sheet: Sheet) -> Iterator[str]:
    """Yield a table for a terminal, title first."""
    yield sheet.title
    if sheet.rows:
        shown = [[h.shown(c) for h, c in zip(sheet.heads, row, strict=True)] for row in sheet.rows]
        numbers = {
            k
            for k in range(len(sheet.heads))
            if all(isinstance(row[k], int | float | None) for row in sheet.rows)
        }
        for line in _aligned([[h.words for h in sheet.heads], *shown], numbers):
            yield f"  {line}"
    yield from (f"  {note}" for note in sheet.notes)


def _aligned(rows: list[list[str]], numbers: set[int]) -> Iterator[str]:
    # The last column may be as long as it is.
    last = len(rows[0]) - 1
    sizes = [min(max(len(row[k]) for row in rows), _WIDEST) for k in range(last + 1)]
    for row in rows:
        cells = [
            text.rjust(size) if k in numbers else text if k == last else text.ljust(size)
            for k, (text, size) in enumerate(zip(row, sizes, strict=True))
        ]
        yield "  ".join(cells).rstrip()


# For programs


def as_json(project: Project, result: Dossier) -> dict[str, Any]:
    """Return the contract of the command with its further keys."""
    plan = result.planned.plan
    is_proven = plan.verdict in ("proven", "impossible")
    values: dict[str, Any] = {
        "format": 1,
        "result": "proven" if is_proven else "gap",
        "cost": _number(plan.cost),
        "bound": _number(plan.bound),
        "chosen": list(plan.opened),
        "uncovered": list(result.uncovered),
        "served_by": result.planned.served_by,
        "must_uncovered": list(result.must_uncovered),
        "verdict": plan.verdict,
        "impossible": list(plan.impossible),
        "question": {v: k for k, v in QUESTIONS.items()}[result.wanted.question],
        "objective": _number(plan.objective),
        "gap": _number(plan.gap),
        "contribution": plan.contribution if plan.is_found else None,
        "value": _number(plan.value),
        "dies": plan.dies,
        "hanging": list(plan.hanging),
        "runners_up": [
            {"chosen": list(r.opened), "worse": r.dearer, "tie": r.is_tie} for r in plan.runners_up
        ],
        "currency": project.currency,
    }
    if result.regrets is not None:
        least = result.regrets.least_bad
        values["least_bad"] = None if least is None else dict(least.candidate.opened)
    values["tables"] = {sheet.key: _records(sheet) for sheet in tables_of(project, result)}
    return values


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _records(sheet: Sheet) -> list[dict[str, Any]]:
    keys = [head.key for head in sheet.heads]
    return [dict(zip(keys, row, strict=True)) for row in sheet.rows]


def write_paper(project: Project, result: Dossier, path: Path) -> None:
    """Write the board paper.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
    """
    from app.reports.board_paper import write_board_paper

    save_bytes(path, write_board_paper(project, result))


def write_csv(project: Project, result: Dossier, folder: Path) -> None:
    """Write every table as a file of its own, and make the folder where it is not there.

    Raises:
        SaveError: one cannot be written; what was there is as it was.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for sheet in tables_of(project, result):
        heads = [head.key for head in sheet.heads]
        save_bytes(folder / f"{sheet.key}.csv", table_bytes(heads, sheet.rows))


def write_xlsx(project: Project, result: Dossier, path: Path) -> None:
    """Write every table on a sheet of its own.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
    """
    tables = [(s.key, [head.key for head in s.heads], s.rows) for s in tables_of(project, result)]
    save_bytes(path, sections_xlsx(tables))
