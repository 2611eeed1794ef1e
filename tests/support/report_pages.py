"""Pictures of every page of the samples' reports: `python -m tests.support.report_pages OUTDIR`.

Each sample's wheels are drawn on its own paper in its own unit; with --all also on the other paper and in the
other unit. The pictures are for looking at: no test compares them.
"""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pdfplumber

from app import resources
from app.files.project_file import load
from app.project.project import Project
from app.reports.content import build_content
from app.reports.pdf import write_pdf
from app.studies.fit import measure_wheel

DPI = 110


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the pictures and name them on standard output."""
    parser = argparse.ArgumentParser(prog="python -m tests.support.report_pages", description=__doc__)
    parser.add_argument("folder", type=Path, metavar="OUTDIR")
    parser.add_argument("--all", action="store_true", help="both papers and both units")
    options = parser.parse_args(arguments)
    options.folder.mkdir(parents=True, exist_ok=True)
    for path in resources.samples():
        project = load(path)
        for variant, suffix in variants(project, options.all):
            digest = sha256(path.read_bytes()).hexdigest()
            for picture in pictures(variant, digest, options.folder, f"{path.stem}{suffix}"):
                print(picture)
    return 0


def variants(project: Project, every: bool) -> Iterator[tuple[Project, str]]:
    """Yield the project as it is, or on both papers and in both units, with a suffix for its files."""
    if not every:
        yield project, ""
        return
    for paper in ("A4", "Letter"):
        for unit in ("mm", "in"):
            yield replace(project, paper=paper, display_unit=unit), f"-{paper.lower()}-{unit}"


def pictures(project: Project, digest: str, folder: Path, name: str) -> Iterator[Path]:
    """Write the reports of all wheels of a project as PDF and PNG; yield the pictures' files."""
    for number, wheel in enumerate(project.wheels, start=1):
        content = build_content(project, wheel, measure_wheel(project, wheel))
        data = write_pdf(content, input_sha256=digest)
        stem = f"{name}-wheel-{number}"
        (folder / f"{stem}.pdf").write_bytes(data)
        with pdfplumber.open(io.BytesIO(data)) as document:
            for page in document.pages:
                path = folder / f"{stem}-page-{page.page_number}.png"
                page.to_image(resolution=DPI, antialias=True).original.save(path)
                yield path


if __name__ == "__main__":
    sys.exit(main())
