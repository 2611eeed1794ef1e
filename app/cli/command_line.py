"""The command line: arguments, one line on standard error for bad input, and exit codes."""

from __future__ import annotations

import argparse
import contextlib
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from app.cli import blank as forging
from app.cli import commands as done
from app.cli import design as designed
from app.cli import desktop, first_off, outline, paper, roadmap, run, sheet, terminal
from app.cli import limits as limited
from app.cli import plan as planned
from app.cli import stages as staged
from app.cli import strength_arguments as screening
from app.cli.refused import refused_words
from app.files import licences, system
from app.language import LANGUAGES, speaking
from app.project.caution import CAUTION


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message}; see '{self.prog} --help'\n")


def _with_values(argv: Sequence[str]) -> list[str]:
    """Return the arguments, one that begins with a minus and a digit joined to the option before it.

    Else '-38,5' and '-1,2' would be taken for options.
    """
    found: list[str] = []
    for each in argv:
        before = found[-1] if found else ""
        if re.match(r"-[\d.,]*\d", each) and before.startswith("--") and "=" not in before:
            found[-1] = f"{before}={each}"
        else:
            found.append(each)
    return found


def main(argv: Sequence[str]) -> int:
    """Run one command and return its exit code: 0 well, 1 a rule missed or not known, 2 bad input."""
    parser = _parser()
    args = parser.parse_args(_with_values(argv))
    if args.version or args.licences:
        with contextlib.suppress(BrokenPipeError):  # who looks at the first lines alone has seen enough
            print("\n".join(_about(args)), flush=True)
        return 0
    if "run" not in args:
        parser.error(
            "a command is missing" if not args.verbose else "--verbose goes with --version or --licences"
        )
    if "script" in args:  # what a script prints is its own
        return _done(args)
    with terminal.shown(is_json=getattr(args, "json", False)):
        return _done(args)


def _done(args: argparse.Namespace) -> int:
    try:
        with speaking(getattr(args, "language", "en")):
            return int(args.run(args))
    except done.BAD_INPUT as error:
        print(f"blankwright: {refused_words(args, error)}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        return 2


def _about(args: argparse.Namespace) -> list[str]:
    if args.licences:
        return licences.lines(with_texts=args.verbose)
    return [*system.lines(), *system.folder_lines()] if args.verbose else system.lines()[:1]


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="blankwright",
        description="Cross-section editor for forged wheels. Without a command it opens the window.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action="store_true", help="print the version and exit")
    parser.add_argument(
        "--licences",
        action="store_true",
        help="list the parts that it stands on with their licences, and exit",
    )
    parser.add_argument(
        "--verbose",
        action="store_true",
        help="with --version: what a report of a fault needs; with --licences: their texts",
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    check = _command(commands, "check", "print every reading and rule", done.run_check)
    check.add_argument("--wheel", action="append", metavar="NAME", help="only this wheel; may be repeated")
    check.add_argument(
        "--recover",
        type=Path,
        metavar="FILE.blankwright",
        help="write what can be read of a damaged PROJECT to a new file, list what is lost, and check that",
    )
    check.add_argument("--json", action="store_true", help="print JSON, lengths in mm")

    report = _command(
        commands, "report", "write the scaled section report as a PDF", done.run_report, has_pages=True
    )
    report.add_argument("--wheel", required=True, metavar="NAME")
    report.add_argument("--shape", action="append", metavar="NAME", help="only this shape; may be repeated")
    target = report.add_mutually_exclusive_group(required=True)
    target.add_argument("--out", type=Path, metavar="FILE.pdf")
    target.add_argument(
        "--is-current",
        type=Path,
        metavar="FILE.pdf",
        help="write nothing: say whether a stored report or gauge of this wheel is current (exit code 0) or "
        "stale (1)",
    )
    paper.add_arguments(report)

    section_sheet = _command(
        commands, "sheet", "write, release or reprint a wheel's section sheet", done.run_sheet, has_pages=True
    )
    sheet.add_arguments(section_sheet)

    export = _command(commands, "export", "write the section for others: .dxf or .csv", done.run_export)
    export.add_argument("--wheel", required=True, metavar="NAME")
    export.add_argument("--out", required=True, type=Path, metavar="FILE.(dxf|csv)")

    matching = _command(commands, "match", "hold every wheel against every brake", done.run_match)
    matching.add_argument("--wheel", action="append", metavar="NAME", help="only this wheel; may be repeated")
    matching.add_argument("--shape", action="append", metavar="NAME", help="only this brake; may be repeated")
    matching.add_argument("--csv", type=Path, metavar="FILE", help="write the table")
    matching.add_argument("--json", action="store_true", help="print JSON, lengths in mm")
    matching.add_argument("--insets", action="store_true", help="find the window of inset that clears")
    matching.add_argument(
        "--cores", type=int, default=1, metavar="N", help="processes that share the work, 0 for all cores"
    )

    limiting = _command(
        commands,
        "limits",
        "map widths and insets that a blank can be cut to",
        done.run_limits,
        has_pages=True,
    )
    limited.add_arguments(limiting)

    blank = _command(
        commands,
        "blank",
        "find the smallest forgeable blank of a group of wheels",
        done.run_blank,
        has_pages=True,
    )
    forging.add_arguments(blank)

    planning = _command(
        commands,
        "plan",
        "plan the dies of the roadmap, with coverage and proof",
        done.run_plan,
        has_pages=True,
    )
    planned.add_arguments(planning)
    designed.add_arguments(planning)

    staging = _command(
        commands,
        "stages",
        "follow a wheel through its blank, stage by stage",
        done.run_stages,
        has_pages=True,
    )
    staged.add_arguments(staging)

    measuring = _command(
        commands,
        "first-off",
        "hold measured points of a wheel against its section",
        done.run_first_off,
        has_pages=True,
    )
    first_off.add_arguments(measuring)

    strength = _command(
        commands,
        "strength",
        "screen a wheel under the loads of the published tests",
        done.run_strength,
        has_pages=True,
    )
    screening.add_arguments(strength)

    table = _command(
        commands, "roadmap", "list the fitments, write them as a table, take a table in", done.run_roadmap
    )
    roadmap.add_arguments(table)

    outline.add_parser(commands, CAUTION)
    run.add_parser(commands, CAUTION)
    desktop.add_parser(commands, CAUTION)

    wheel = commands.add_parser(
        "wheel",
        help="take a foreign half-section, or a folder of them, over as wheels",
        description="Take a foreign half-section (DXF, CSV) over as a wheel and say what does not agree. "
        "Of a folder, every .dxf and .csv becomes a wheel with the same --size and --inset, or with its own "
        "where a wheels.csv in the folder (columns file, size, inset_mm, face_z_mm) gives it; the output "
        "ends with what needs a look and which files could not be read. Exit code 0 if at least one was "
        "taken, else 2.",
        epilog=CAUTION,
    )
    wheel.add_argument("drawing", type=Path, metavar="FILE|FOLDER")
    wheel.add_argument("--size", metavar="'18 x 10 J'", help="needed unless wheels.csv gives it")
    wheel.add_argument(
        "--inset", metavar="MM", help="a length; '1.5 in' is read too; needed unless wheels.csv gives it"
    )
    wheel.add_argument(
        "--out", required=True, type=Path, metavar="FILE.blankwright", help="made, or added to"
    )
    wheel.add_argument("--unit", choices=("mm", "in"), help="of the drawing, where it states none")
    wheel.add_argument("--layer", action="append", default=[], metavar="NAME", help="may be repeated")
    wheel.add_argument("--face", metavar="Z", help="z of the mounting face in the drawing")
    wheel.add_argument("--body", type=int, metavar="N", help="which of several closed outlines")
    wheel.add_argument("--join", metavar="MM", help="gaps up to this are joined")
    wheel.add_argument(
        "--name", metavar="NAME", help="of the wheel; the file's name otherwise, as always of a folder"
    )
    wheel.set_defaults(run=done.run_wheel_from_drawing)
    return parser


def _command(
    commands: argparse._SubParsersAction[_Parser],
    name: str,
    text: str,
    run: Callable[[argparse.Namespace], int],
    *,
    has_pages: bool = False,
) -> argparse.ArgumentParser:
    sentence = f"{text[0].upper()}{text[1:]}."
    parser = commands.add_parser(name, help=text, description=sentence, epilog=CAUTION)
    parser.add_argument("project", type=Path, metavar="PROJECT")
    parser.add_argument("--ignore-digest", action="store_true", help="open a file that was edited outside")
    if has_pages:
        parser.add_argument(
            "--language",
            choices=tuple(LANGUAGES),
            default="en",
            help="of the pages; what is printed here, tables and drawings stay English",
        )
    parser.set_defaults(run=run)
    return parser
