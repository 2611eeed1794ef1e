"""The command line: arguments, one line on standard error for bad input, and exit codes."""

from __future__ import annotations

import argparse
import contextlib
import json
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from app.cli import blank as forging
from app.cli import blank_command as forged
from app.cli import check as checking
from app.cli import design as designed
from app.cli import desktop, first_off, outline, paper, roadmap, run, sheet, terminal
from app.cli import limits as limited
from app.cli import plan as planned
from app.cli import stages as staged
from app.cli import strength_arguments as screening
from app.cli.prepare import prepare_once
from app.cli.refused import refused_words
from app.files import licences, system
from app.files.atomic import SaveError
from app.files.project_file import EditedOutside, ProjectFileError, bytes_of, open_file, save
from app.files.readers.answer import JOIN_MM, ReadError
from app.files.salvage import salvage
from app.language import LANGUAGES, speaking
from app.project.caution import CAUTION
from app.project.edits import EditError
from app.project.project import Project
from app.project.release import troubles
from app.project.size_text import parse_size
from app.project.wheel import Wheel
from app.reports.variant_words import variant_json
from app.studies.cuttable import what_would_cut
from app.studies.extremes import still_to_be_had
from app.studies.limits import in_blank
from app.studies.limits_against import against, sitting, variants_of
from app.studies.limits_table import against_json, mend_json, still_json
from app.studies.limits_table import as_json as limits_json
from app.studies.match import as_json
from app.studies.roadmap.family_words import as_json as family_json
from app.units import UnitsError, parse_length_mm
from geometry.errors import GeometryError


class CommandError(Exception):
    """Bad input; the message is the one line shown."""


BAD_INPUT = (CommandError, ProjectFileError, SaveError, ReadError, EditError, UnitsError, GeometryError)


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
    except BAD_INPUT as error:
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

    check = _command(commands, "check", "print every reading and rule", _check)
    check.add_argument("--wheel", action="append", metavar="NAME", help="only this wheel; may be repeated")
    check.add_argument(
        "--recover",
        type=Path,
        metavar="FILE.blankwright",
        help="write what can be read of a damaged PROJECT to a new file, list what is lost, and check that",
    )
    check.add_argument("--json", action="store_true", help="print JSON, lengths in mm")

    report = _command(commands, "report", "write the scaled section report as a PDF", _report, has_pages=True)
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
        commands, "sheet", "write, release or reprint a wheel's section sheet", _sheet, has_pages=True
    )
    sheet.add_arguments(section_sheet)

    export = _command(commands, "export", "write the section for others: .dxf or .csv", _export)
    export.add_argument("--wheel", required=True, metavar="NAME")
    export.add_argument("--out", required=True, type=Path, metavar="FILE.(dxf|csv)")

    matching = _command(commands, "match", "hold every wheel against every brake", _match)
    matching.add_argument("--wheel", action="append", metavar="NAME", help="only this wheel; may be repeated")
    matching.add_argument("--shape", action="append", metavar="NAME", help="only this brake; may be repeated")
    matching.add_argument("--csv", type=Path, metavar="FILE", help="write the table")
    matching.add_argument("--json", action="store_true", help="print JSON, lengths in mm")
    matching.add_argument("--insets", action="store_true", help="find the window of inset that clears")
    matching.add_argument(
        "--cores", type=int, default=1, metavar="N", help="processes that share the work, 0 for all cores"
    )

    limiting = _command(
        commands, "limits", "map widths and insets that a blank can be cut to", _limits, has_pages=True
    )
    limited.add_arguments(limiting)

    blank = _command(
        commands, "blank", "find the smallest forgeable blank of a group of wheels", _blank, has_pages=True
    )
    forging.add_arguments(blank)

    planning = _command(
        commands, "plan", "plan the dies of the roadmap, with coverage and proof", _plan, has_pages=True
    )
    planned.add_arguments(planning)
    designed.add_arguments(planning)

    staging = _command(
        commands, "stages", "follow a wheel through its blank, stage by stage", _stages, has_pages=True
    )
    staged.add_arguments(staging)

    measuring = _command(
        commands,
        "first-off",
        "hold measured points of a wheel against its section",
        _first_off,
        has_pages=True,
    )
    first_off.add_arguments(measuring)

    strength = _command(
        commands,
        "strength",
        "screen a wheel under the loads of the published tests",
        _strength,
        has_pages=True,
    )
    screening.add_arguments(strength)

    table = _command(
        commands, "roadmap", "list the fitments, write them as a table, take a table in", _roadmap
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
    wheel.set_defaults(run=_wheel_from_drawing)
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


def _load(args: argparse.Namespace) -> Project:
    try:
        found = open_file(args.project, ignore_digest=args.ignore_digest)
    except EditedOutside as question:
        if question.errors:
            raise CommandError(f"{question}{_recovery(args.project)}") from question
        raise CommandError(f"{question} The option --ignore-digest opens it as it is.") from question
    except ProjectFileError as damaged:
        raise CommandError(f"{damaged}{_recovery(args.project)}") from damaged
    if args.ignore_digest:
        print("blankwright: the digest was not checked (--ignore-digest)", file=sys.stderr)
    for words in [found.heading, *found.changes] if found.changes else []:
        print(f"blankwright: {words}", file=sys.stderr)
    for words in troubles(found.project.releases):
        print(f"blankwright: {words}", file=sys.stderr)
    return found.project


def _recovery(path: Path) -> str:
    """Return how parts of a file that cannot be opened are had, or nothing where none can be read."""
    try:
        found = salvage(bytes_of(path))
    except ProjectFileError:
        return ""
    return (
        f" Of its parts these can be read: {'; '.join(found.kept)}; "
        "'check PROJECT --recover NEW.blankwright' makes a project of them."
    )


def _wheel(project: Project, name: str) -> Wheel:
    found = next((w for w in project.wheels if w.name == name), None)
    if found is None:
        there = ", ".join(f"'{w.name}'" for w in project.wheels) or "none"
        raise CommandError(f"no wheel '{name}' in the project; it holds {there}")
    return found


def _recovered(args: argparse.Namespace) -> Project:
    """Return what can be read of a damaged project, written to a file of its own and listed."""
    if args.recover.exists():
        raise CommandError(f"{args.recover}: there is a file already; name a new one to recover into")
    found = salvage(bytes_of(args.project))
    save(found.project, args.recover)
    for words in (f"recovered to {args.recover}; nothing of it is confirmed", *found.lines):
        print(f"blankwright: {words}", file=sys.stderr)
    return found.project


def _check(args: argparse.Namespace) -> int:
    project = _load(args) if args.recover is None else _recovered(args)
    prepare_once()
    wheels = tuple(_wheel(project, name) for name in args.wheel) if args.wheel else project.wheels
    result = checking.check(project, wheels)
    if args.json:
        print(json.dumps(result, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(checking.as_text(project, wheels) if wheels else "The project holds no wheel.")
        print(f"\n{CAUTION}")
    return checking.exit_code(result)


def _match(args: argparse.Namespace) -> int:
    from app.cli import match as matching

    project = _load(args)
    if args.cores < 0:
        raise CommandError(f"--cores {args.cores}: a number of processes, or 0 for all cores")
    prepare_once()
    result = matching.found(project, args.wheel, args.shape, args.cores, args.insets)
    if args.csv is not None:
        matching.write(result, args.csv)
    if args.json:
        print(json.dumps(as_json(result), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(matching.as_text(project, result))
        print(f"\n{CAUTION}")
    return 0


def _roadmap(args: argparse.Namespace) -> int:
    roadmap.check_arguments(args)
    said, code = roadmap.run(_load(args), args)
    if isinstance(said, dict):
        print(json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False))
    elif said:
        print(said)
    return code


def _limits(args: argparse.Namespace) -> int:
    limited.check_out(args.out)
    project = _load(args)
    limited.check_against(project, args)
    limited.check_quotes(project, args)
    prepare_once()
    result = limited.found(project, args, args.blank)
    held = None
    if args.against is not None:
        held = against(project, result, limited.found(project, args, args.against), args.pieces)
    variants = variants_of(project, result, held)
    still = still_to_be_had(project, sitting(project, args.wheel, args.blank))
    mended = None
    if args.mend:
        mended = what_would_cut(project, in_blank(project, args.wheel, args.blank))
    if args.csv is not None:
        limited.write(result, held, args.csv)
    if args.quotes is not None:
        limited.write_quoted(project, args)
    if args.out is not None:
        limited.write_pages(project, result, still, held, args.out)
    if args.json:
        values = limits_json(result)
        values["still"] = still_json(still)
        if variants:
            values["variants"] = [variant_json(each) for each in variants]
        if held is not None:
            values["against"] = against_json(held)
        if mended is not None:
            values["mend"] = mend_json(mended)
        print(json.dumps(values, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(limited.as_text(project, result))
        if variants:
            print(f"\n{limited.variant_text(project, variants)}")
        print(f"\n{limited.still_text(project, still)}")
        if held is not None:
            print(f"\n{limited.against_text(project, held)}")
        if mended is not None:
            print(f"\n{limited.mend_text(project, args.wheel, mended)}")
        print(f"\n{CAUTION}")
    return 0


def _blank(args: argparse.Namespace) -> int:
    return forged.run(args, _load(args))


def _plan(args: argparse.Namespace) -> int:
    from app.studies.programme.inputs import ProgrammeError

    wanted = planned.wanted_of(args)
    designed.check_arguments(args)
    project = planned.asked_project(_load(args), args, wanted)
    prepare_once()
    try:
        result = planned.found(project, args, wanted)
    except ProgrammeError as error:
        raise CommandError(f"the roadmap cannot be planned: {error}") from error
    made = None
    if args.design or args.add_blanks is not None or args.briefs is not None:
        made = designed.found(project, args, result.planned.coverage, wanted.question)
    if made is not None and args.add_blanks is not None:
        designed.write(project, made, args.add_blanks)
    if made is not None and args.briefs is not None:
        said = designed.write_briefs(project, result.planned.coverage, made, args.briefs)
        print(said, file=sys.stderr)
    if args.csv is not None:
        planned.write_csv(project, result, args.csv)
    if args.xlsx is not None:
        planned.write_xlsx(project, result, args.xlsx)
    if args.out is not None:
        planned.write_paper(project, result, args.out)
    if args.json:
        values = planned.as_json(project, result)
        if made is not None:
            values["design"] = family_json(made)
        print(json.dumps(values, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        new = [] if made is None else [designed.as_text(project, made)]
        print("\n\n".join([planned.as_text(project, result), *new, CAUTION]))
    return planned.exit_code(result)


def _stages(args: argparse.Namespace) -> int:
    from app.studies.stages import follow

    settings = staged.settings_of(args)
    project = _load(args)
    prepare_once()
    found = follow(project, args.wheel, settings)
    shown = staged.chosen(found, args)
    if args.json:
        print(json.dumps(staged.as_json(found, shown), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(staged.as_text(project, found, shown))
    if args.dxf is not None:
        said = staged.write(args.dxf, found, shown)
        print(said, file=sys.stderr if args.json else sys.stdout)
    if args.pdf is not None:
        print(staged.write_pages(args.pdf, project, found), file=sys.stderr if args.json else sys.stdout)
    if not args.json:
        print(f"\n{CAUTION}")
    return staged.exit_code(found)


def _first_off(args: argparse.Namespace) -> int:
    project = _load(args)
    prepare_once()
    said = first_off.run(project, _wheel(project, args.wheel), args)
    if isinstance(said, dict):
        print(json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(f"{said}\n{CAUTION}")
    return 0


def _strength(args: argparse.Namespace) -> int:
    from app.cli import strength as screened

    screening.check_out(args.out)
    project = _load(args)
    said, code = screened.run(project, _wheel(project, args.wheel), args)
    print(json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False) if isinstance(said, dict) else said)
    return code


def _report(args: argparse.Namespace) -> int:
    out = args.out or args.is_current
    if out.suffix.lower() != ".pdf":
        raise CommandError(f"{out}: a report is a PDF; name a file that ends in .pdf")
    try:
        asked = paper.asked(args)
        project = _load(args)
        wheel = _wheel(project, args.wheel)
        prepare_once()
        if args.is_current is not None:
            return paper.say_whether_current(project, wheel, args.is_current)
        return paper.write(project, wheel, args.out, asked)
    except ValueError as error:
        raise CommandError(str(error)) from error


def _sheet(args: argparse.Namespace) -> int:
    try:
        sheet.check_arguments(args)
        project = _load(args)
        wheel = _wheel(project, args.wheel)
        prepare_once()
        return sheet.run(project, wheel, args)
    except ValueError as error:
        raise CommandError(str(error)) from error


def _export(args: argparse.Namespace) -> int:
    from app.reports.outputs import export_section

    project = _load(args)
    export_section(project, _wheel(project, args.wheel), args.out)
    return 0


def _wheel_from_drawing(args: argparse.Namespace) -> int:
    from app.cli.wheel import Options, take_over
    from app.cli.wheel_folder import take_over_folder

    size = None if args.size is None else parse_size(args.size)
    inset_mm = None if args.inset is None else parse_length_mm(args.inset)
    how = Options(
        unit=args.unit,
        layers=tuple(args.layer),
        face_z=None if args.face is None else parse_length_mm(args.face),
        body=args.body,
        join_mm=JOIN_MM if args.join is None else parse_length_mm(args.join),
        name=args.name,
    )
    if args.drawing.is_dir():
        if args.name is not None:
            raise CommandError("--name is of one wheel; those of a folder are called as their files")
        said, count = take_over_folder(args.drawing, size, inset_mm, args.out, how)
        print(said)
        if not count:
            raise CommandError(f"{args.drawing}: no drawing was taken; {args.out} is as it was")
        return 0
    if size is None or inset_mm is None:
        what = "--size" if size is None else "--inset"
        raise CommandError(f"{args.drawing}: {what} is missing; a single drawing needs --size and --inset")
    print(take_over(args.drawing, size, inset_mm, args.out, how))
    return 0
