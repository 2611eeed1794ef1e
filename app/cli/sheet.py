"""Section sheets by command: a draft, a release, a release printed again, and what was released."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path

from app.files.atomic import save_bytes
from app.files.kept import save_over
from app.project.project import Project
from app.project.release import of_wheel, troubles
from app.project.wheel import Wheel


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of a section sheet."""
    parser.add_argument("--wheel", required=True, metavar="NAME")
    parser.add_argument("--out", type=Path, metavar="FILE.pdf")
    parser.add_argument(
        "--paper",
        choices=("A3", "A4", "Tabloid", "Letter"),
        help="of a draft or a release; without it what the project's settings ask for",
    )
    what = parser.add_mutually_exclusive_group()
    what.add_argument(
        "--release",
        action="store_true",
        help="freeze the wheel and all that it rests on as its next revision, kept in the project",
    )
    what.add_argument(
        "--reprint", metavar="REV", help="write a released sheet again, byte for byte as it went out"
    )
    what.add_argument(
        "--list",
        action="store_true",
        dest="listed",
        help="print the wheel's releases, and whether it is still as released (exit code 0) or not (1)",
    )
    parser.add_argument("--drawn-by", metavar="NAME", help="of a release")
    parser.add_argument("--checked-by", metavar="NAME", help="of a release: somebody else")
    parser.add_argument("--note", metavar="TEXT", help="of a release: what changed since the revision before")
    parser.add_argument("--on", metavar="YYYY-MM-DD", help="date of issue of a release; today without it")


def check_arguments(args: argparse.Namespace) -> None:
    """Raise where options do not fit together.

    Raises:
        ValueError: they do not; the message says which.
    """
    of_release = {
        "--drawn-by": args.drawn_by,
        "--checked-by": args.checked_by,
        "--note": args.note,
        "--on": args.on,
    }
    given = [name for name, value in of_release.items() if value is not None]
    if given and not args.release:
        raise ValueError(f"{given[0]} is of a release: add --release")
    if args.release and (args.drawn_by is None or args.checked_by is None):
        raise ValueError("a release needs --drawn-by and --checked-by, two different people")
    if args.paper is not None and (args.listed or args.reprint is not None):
        raise ValueError("--paper is of a draft or a release; a released sheet stays on its own")
    if args.listed and args.out is not None:
        raise ValueError("--list prints only: leave --out away")
    if args.out is None and not args.listed and not args.release:
        raise ValueError("--out is missing: name the PDF to write")
    if args.out is not None and args.out.suffix.lower() != ".pdf":
        raise ValueError(f"{args.out}: a section sheet is a PDF; name a file that ends in .pdf")


def run(project: Project, wheel: Wheel, args: argparse.Namespace) -> int:
    """Do what the options ask for and return the exit code: 0 well, 1 held back, edited or damaged.

    Raises:
        ValueError: people, date, note or revision are not as they must be.
    """
    if args.listed:
        return _list(project, wheel)
    if args.reprint is not None:
        return _reprint(project, wheel, args.reprint, args.out)
    if args.release:
        return _release(project, wheel, args)
    return _draft(project, wheel, args)


def _draft(project: Project, wheel: Wheel, args: argparse.Namespace) -> int:
    from app.reports.releases import draft

    pdf, reasons = draft(project, wheel, args.paper)
    save_bytes(args.out, pdf)
    for reason in reasons:
        print(f"blankwright: keeps it from release: {reason}", file=sys.stderr)
    return 1 if reasons else 0


def _release(project: Project, wheel: Wheel, args: argparse.Namespace) -> int:
    from dataclasses import replace

    from app.reports.releases import Facts, HeldBackError, release, reprint

    on = date.today().isoformat() if args.on is None else args.on
    facts = Facts(on, args.drawn_by, args.checked_by, args.note or "")
    try:
        record = release(project, wheel, facts, args.paper)
    except HeldBackError as error:
        for reason in error.reasons:
            print(f"blankwright: not released: {reason}", file=sys.stderr)
        return 1
    project = replace(project, releases=(*project.releases, record))
    save_over(project, args.project)
    if args.out is not None:
        save_bytes(args.out, reprint(project, record))
    print(f"{record.words}: released on {record.on}, sha256 {record.input_sha256}.")
    return 0


def _reprint(project: Project, wheel: Wheel, revision: str, out: Path) -> int:
    from app.project.release import DamagedReleaseError
    from app.reports.releases import find_release, reprint

    record = find_release(project, wheel.name, revision)
    try:
        save_bytes(out, reprint(project, record))
    except DamagedReleaseError as error:
        print(f"blankwright: not written: {error}", file=sys.stderr)
        return 1
    return 0


def _list(project: Project, wheel: Wheel) -> int:
    from app.reports.releases import results_differ, standing
    from app.reports.section_sheet import judge

    own = of_wheel(project.releases, wheel.name)
    for record in own:
        print(
            f"{record.revision}  {record.on}  drawn by {record.drawn_by}, checked by {record.checked_by}, "
            f"{record.paper}: {record.change}\n   sha256 {record.input_sha256}"
        )
    found = standing(project, wheel)
    print(f"{wheel.name}: {found.words}.")
    if not found.is_current:
        return 1
    assert found.release is not None
    if results_differ(judge(project, wheel), found.release):
        print(f"{wheel.name}: this program reads it otherwise than version {found.release.version} did.")
        return 1
    return 1 if troubles(own) else 0
