"""Tables for spreadsheets and other programs: an outline as z_mm, r_mm, bulge, or any rows of cells."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path as FilePath
from typing import BinaryIO

from app.files.atomic import save_bytes
from app.project.cells import no_formula
from geometry.shape.curve import Path

Cell = str | int | float | None


def write_table(
    target: FilePath | BinaryIO, path: Path, *, chord_error_mm: float | None = None, side: str = "on"
) -> None:
    """Write a closed outline as a table, to a file whole or not at all, or to a stream of bytes.

    Args:
        target: file or stream.
        path: the outline, mm.
        chord_error_mm: None keeps lines and arcs exact, with a bulge column; a number writes a polygon that
            lies within it.
        side: where the polygon's corners lie: "on" the arcs, "outward" or "inward" of the area.

    Raises:
        SaveError: the file could not be written.
    """
    if chord_error_mm is None:
        content = table_bytes(("z_mm", "r_mm", "bulge"), path.rows())
    else:
        corners = path.flattened(chord_error_mm, side).tolist()
        # Back to the first row: a long last side would else look like an end that is missing.
        content = table_bytes(("z_mm", "r_mm"), [*corners, corners[0]])
    if isinstance(target, FilePath):
        save_bytes(target, content)
    else:
        target.write(content)


def table_bytes(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return comma-separated UTF-8 text with numbers in their shortest exact form and texts made harmless."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([no_formula(name) for name in header])
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def _cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return no_formula(cell)
    return repr(cell + 0.0) if isinstance(cell, float) else str(cell)
