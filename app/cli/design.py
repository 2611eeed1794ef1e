"""`blankwright plan --design`: the blanks that a roadmap should have beside those there are."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

from app.cli.terminal import printed
from app.files.atomic import save_bytes
from app.files.kept import save_over
from app.files.writers.dxf import write_dxf
from app.files.writers.table import table_bytes
from app.project.project import Project
from app.reports.blank_drawing import blank_drawing
from app.reports.outputs import blank_pdf
from app.studies.executor import CORES, SERIAL
from app.studies.forging_needs import ForgingSettings, presses_at_hand
from app.studies.programme.inputs import Question
from app.studies.roadmap.briefs import brief_of
from app.studies.roadmap.coverage import Coverage
from app.studies.roadmap.family_words import HEADS, head_words, row_of, taken_over
from app.studies.roadmap.new_blanks import FamilyPlan, FamilySettings, design_family
from geometry.errors import GeometryError

_START = FamilySettings()


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what designing new blanks takes."""
    add = parser.add_argument_group("new blanks").add_argument
    add("--design", action="store_true", help="which groups of fitments should get a blank of their own")
    add("--stock", type=float, metavar="MM", help="metal left on everywhere; else each wheel's rule set")
    for name, value, words in (
        ("--die-cost", _START.die_cost, "inserts of a new blank"),
        ("--proof-cost", _START.proof_cost, "its tryout and proof"),
        ("--holder-cost", _START.holder_cost, "holder of a diameter that the programme names none for"),
        ("--run-setup", _START.run_setup, "set-up of a forging run"),
        ("--lead-weeks", _START.lead_weeks, "from the order to the first forging"),
    ):
        add(name, type=float, default=value, metavar="X", help=f"{words} ({value:g}, a starting value)")
    add("--least-run", type=int, default=_START.least_run, metavar="N", help=f"pieces ({_START.least_run})")
    add("--add-blanks", type=Path, metavar="FILE.blankwright", help="write the project with the new blanks")
    add(
        "--briefs",
        type=Path,
        metavar="FOLDER",
        help="write of every new blank a brief for the forge (PDF, no money) and its outline (DXF), and a "
        "table of all for the house",
    )


def found(project: Project, args: argparse.Namespace, cover: Coverage, question: Question) -> FamilyPlan:
    """Return the family that the arguments ask for; on a terminal the progress stands on standard error.

    Raises:
        GeometryError: an argument that cannot be.
    """
    for name in ("stock", "die_cost", "proof_cost", "holder_cost", "run_setup", "lead_weeks", "least_run"):
        value = getattr(args, name)
        if value is not None and not 0.0 <= value < 1e12:
            raise GeometryError(f"--{name.replace('_', '-')} {value:g}: give a number from 0")
    shows = sys.stderr.isatty()

    def tell(words: str) -> bool:
        if shows:
            print(f"\r{words}   ", end="", file=sys.stderr, flush=True)
        return True

    settings = FamilySettings(
        ForgingSettings(stock_mm=args.stock, presses=presses_at_hand(project)),
        args.die_cost,
        args.proof_cost,
        args.holder_cost,
        args.run_setup,
        args.least_run,
        args.lead_weeks,
    )
    where = args.cluster or (SERIAL if args.cores == 1 else CORES)
    made = design_family(
        project, cover, settings, question, where=where, time_limit_s=args.time_limit, progress=tell
    )
    if shows:
        print("\r", end="", file=sys.stderr)
    return made


def check_arguments(args: argparse.Namespace) -> None:
    """Refuse what cannot be written, before anything is computed.

    Raises:
        GeometryError: says what and how to mend it.
    """
    if args.briefs is not None and args.briefs.exists() and not args.briefs.is_dir():
        raise GeometryError(f"--briefs {args.briefs.name}: it is a file; name a folder")


def as_text(project: Project, made: FamilyPlan) -> str:
    """Return the new blanks for a person."""
    return printed(["new blanks beside those there are", head_words(project, made), *_rows(made)])


def _rows(made: FamilyPlan) -> Iterator[str]:
    for new in made.blanks:
        cells = dict(zip(HEADS, row_of(new), strict=True))
        yield f"  {cells['Blank']}: {cells['kg']} kg, {cells['a piece']} a piece; for {cells['for']}"
        yield f"    log {cells['log']} mm, press {cells['press, MN']} MN"
        yield f"    carries more than its own blank would: {cells[HEADS[4]]} kg"
        if new.excluded:
            yield f"    not for {cells['not for']}"


def write_briefs(project: Project, cover: Coverage, made: FamilyPlan, folder: Path) -> str:
    """Write what the forge is asked of every new blank, and the house's table; return what was written.

    Raises:
        GeometryError: a wheel of a group cannot be forged. SaveError: a file cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for new in made.blanks:
        brief = brief_of(project, cover, made, new)
        pdf = blank_pdf(brief.project, brief.result, brief.settings, (), brief.name, for_forge=True)
        save_bytes(folder / f"{brief.name}.pdf", pdf)
        write_dxf(folder / f"{brief.name}.dxf", blank_drawing(brief.name, brief.result, brief.settings))
    save_bytes(folder / "new blanks.csv", table_bytes(list(HEADS), [row_of(new) for new in made.blanks]))
    count = len(made.blanks)
    return f"{folder}: {count} brief{'s' * (count != 1)} for the forge as PDF and DXF, and new blanks.csv"


def write(project: Project, made: FamilyPlan, path: Path) -> None:
    """Write the project with the new blanks as ideas.

    Raises:
        SaveError, ProjectFileError: it cannot be written.
    """
    save_over(taken_over(project, made), path)
