"""What `blankwright strength` takes; the study itself is loaded when it is run, since it takes a second."""

from __future__ import annotations

import argparse
from pathlib import Path

from app.project.strength import CASES
from geometry.errors import GeometryError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    add = parser.add_argument
    add("--wheel", required=True, metavar="NAME", help="the wheel to be screened")
    add(
        "--against",
        metavar="NAME",
        help="a reference wheel of the project, best one that passed its tests; else the wheel's own",
    )
    add(
        "--family",
        action="append",
        default=[],
        metavar="NAME",
        help="a further version of the same design, for the list of tests; may be repeated",
    )
    add(
        "--per-mm",
        metavar="CASE",
        help=f"what 1 mm more metal on a zone does under a case: {', '.join(CASES)}",
    )
    add("--json", action="store_true", help="print JSON, lengths in mm")
    add("--csv", type=Path, metavar="FILE", help="write case x zone as a table")
    add("--out", type=Path, metavar="FILE.pdf", help="write loads, verdicts, stress and lips on pages")


def check_out(out: Path | None) -> None:
    """Refuse what is no PDF before anything is computed.

    Raises:
        GeometryError: it is not.
    """
    if out is not None and out.suffix.lower() != ".pdf":
        raise GeometryError(f"{out.name}: the pages are written as a PDF; name a file that ends in .pdf")
