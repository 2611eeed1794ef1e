"""Every reader with its caps on size, count, depth and time; over one of them it says one clear line.

The numbers stand in `readers/limits.py`, or with what is capped where no file is read.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.files.readers import limits
from app.files.readers.limits import Limits
from app.project import formula_tree, release, roadmap_rows


@dataclass(frozen=True)
class Cap:
    """What one reader takes at most, in words; a dash where there is nothing to cap.

    Attributes:
        what: is read. size: of the file. count: of its entities, and of what it hands back.
        depth: of things within each other. time: of clock and processor. memory: of its process.
    """

    what: str
    size: str
    count: str
    depth: str = "-"
    time: str = "in the program itself: bounded by size"
    memory: str = "-"


def _mb(size: float) -> str:
    return f"{size / 1e6:g} MB"


def _foreign(what: str, of: Limits, entities: str, points: str = "points", more: str = "") -> Cap:
    counts = f"{of.entities:,} {entities}; {of.points:,} {points}{more}"
    depth = f"{of.nesting}" if of.nesting > 1 else "-"
    memory = f"{of.memory_bytes / 2**30:g} GiB"
    return Cap(what, _mb(of.size_bytes), counts, depth, f"{of.seconds:g} s, then killed", memory)


_PACKED = f"; unpacked {_mb(limits.UNPACKED_BYTES)}, {limits.UNPACKED_RATIO} times its size"

CAPS: tuple[Cap, ...] = (
    _foreign("DXF", limits.DRAWING, "entities", more=f"; {limits.POLYLINE_POINTS:,} in one polyline"),
    _foreign("SVG", limits.DRAWING, "elements"),
    _foreign("CSV and other text tables", limits.TABLE, "rows"),
    _foreign("XLSX", limits.WORKBOOK, "rows", more=_PACKED),
    _foreign("STL, OBJ, PLY", limits.MESH, "triangles"),
    _foreign("3MF", limits.MESH, "triangles", more=_PACKED),
    _foreign("STEP", limits.STEP, "triangles"),
    _foreign("PDF and pictures", limits.PICTURE, "pixels of the file", "pixels handed back"),
    Cap(
        "roadmap table, text",
        _mb(limits.ROADMAP_BYTES),
        f"{roadmap_rows.MOST_ROWS:,} rows",
    ),
    Cap(
        "roadmap table, XLSX",
        _mb(limits.WORKBOOK.size_bytes),
        f"{limits.CELL_ROWS:,} rows, {limits.CELL_COLUMNS} columns{_PACKED}",
        "-",
        f"{limits.WORKBOOK.seconds:g} s, then killed",
        f"{limits.WORKBOOK.memory_bytes / 2**30:g} GiB",
    ),
    Cap(
        "project, older format, damaged file, earlier state",
        _mb(limits.PROJECT_BYTES),
        f"{limits.PROJECT_ITEMS:,} in one list",
        f"{limits.PROJECT_DEPTH}",
    ),
    Cap("record of a release", _mb(limits.PROJECT_BYTES), f"unpacked {_mb(release.LARGEST_BYTES)}"),
    Cap(
        "journal of unsaved work",
        f"written to {_mb(limits.JOURNAL_BYTES)}, read to {_mb(limits.JOURNAL_READ)}",
        f"unpacked {_mb(limits.PROJECT_BYTES)} a record, then as a project",
        f"{limits.PROJECT_DEPTH}",
    ),
    Cap("earlier states kept", _mb(limits.KEPT_BYTES) + " of all files", f"{limits.KEPT_STATES} of one file"),
    Cap(
        "formula",
        f"{formula_tree.LONGEST_FORMULA} characters",
        f"names of {formula_tree.LONGEST_NAME} characters, {formula_tree.MOST_DIGITS} digits a number",
        f"{formula_tree.DEEPEST}",
    ),
)


def table() -> str:
    """Return all of it as a Markdown table."""
    rows = [("read", "size", "count", "depth", "time", "memory"), ("---",) * 6]
    rows += [(c.what, c.size, c.count, c.depth, c.time, c.memory) for c in CAPS]
    return "".join(f"| {' | '.join(row)} |\n" for row in rows)
