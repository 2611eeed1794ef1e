"""What each command does: its project is opened, its result printed or written, its exit code returned."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from app.cli import blank_command as forged
from app.cli import check as checking
from app.cli import design as designed
from app.cli import first_off, paper, roadmap, sheet
from app.cli import limits as limited
from app.cli import plan as planned
from app.cli import stages as staged
from app.cli import strength_arguments as screening
from app.cli.prepare import prepare_once
from app.files.atomic import SaveError
from app.files.project_file import EditedOutside, ProjectFileError, bytes_of, open_file, save
from app.files.readers.answer import JOIN_MM, ReadError
from app.files.salvage import salvage
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


def run_check(args: argparse.Namespace) -> int:
    """Print the readings and rules of the wheels; 1 where a rule is missed or not known."""
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


def run_match(args: argparse.Namespace) -> int:
    """Hold every wheel against every brake."""
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


def run_roadmap(args: argparse.Namespace) -> int:
    """List the fitments, write them as a table, or take a table in."""
    roadmap.check_arguments(args)
    said, code = roadmap.run(_load(args), args)
    if isinstance(said, dict):
        print(json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False))
    elif said:
        print(said)
    return code


def run_limits(args: argparse.Namespace) -> int:
    """Map the widths and insets that a blank can be cut to."""
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


def run_blank(args: argparse.Namespace) -> int:
    """Find the smallest forgeable blank of a group of wheels."""
    return forged.run(args, _load(args))


def run_plan(args: argparse.Namespace) -> int:
    """Plan the dies of the roadmap; 1 where a fitment stays uncovered."""
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


def run_stages(args: argparse.Namespace) -> int:
    """Follow a wheel through its blank; 1 where there is something to look at."""
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


def run_first_off(args: argparse.Namespace) -> int:
    """Hold measured points of a wheel against its section."""
    project = _load(args)
    prepare_once()
    said = first_off.run(project, _wheel(project, args.wheel), args)
    if isinstance(said, dict):
        print(json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(f"{said}\n{CAUTION}")
    return 0


def run_strength(args: argparse.Namespace) -> int:
    """Screen a wheel under the loads of the published tests."""
    from app.cli import strength as screened

    screening.check_out(args.out)
    project = _load(args)
    said, code = screened.run(project, _wheel(project, args.wheel), args)
    print(json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False) if isinstance(said, dict) else said)
    return code


def run_report(args: argparse.Namespace) -> int:
    """Write the section report, or say whether a stored one is current (0) or stale (1)."""
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


def run_sheet(args: argparse.Namespace) -> int:
    """Write, release or reprint a wheel's section sheet."""
    try:
        sheet.check_arguments(args)
        project = _load(args)
        wheel = _wheel(project, args.wheel)
        prepare_once()
        return sheet.run(project, wheel, args)
    except ValueError as error:
        raise CommandError(str(error)) from error


def run_export(args: argparse.Namespace) -> int:
    """Write the section for others."""
    from app.reports.outputs import export_section

    project = _load(args)
    export_section(project, _wheel(project, args.wheel), args.out)
    return 0


def run_wheel_from_drawing(args: argparse.Namespace) -> int:
    """Take a drawing, or a folder of them, over as wheels."""
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
