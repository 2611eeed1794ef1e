"""The roadmap table for spreadsheets: as CSV, as a workbook, and with tabs for the clipboard."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from app.files.atomic import SaveError, save_bytes
from app.files.readers.roadmap_file import as_text, guarded
from app.project.project import Fitment
from app.project.roadmap_columns import COLUMNS, HEADS, Cell, cell_text

#: Characters of the widest column of the workbook.
_WIDEST = 32


def write_roadmap(path: Path, fitments: Sequence[Fitment]) -> None:
    """Write fitments as a table that reads back to the same, whole or not at all.

    Raises:
        SaveError: the file is neither .csv nor .xlsx, or could not be written.
    """
    suffix = path.suffix.lower()
    if suffix not in (".csv", ".xlsx"):
        raise SaveError(path, "a roadmap table is .csv or .xlsx", "Name the file so.")
    save_bytes(path, roadmap_csv(fitments) if suffix == ".csv" else roadmap_xlsx(fitments))


def roadmap_csv(fitments: Sequence[Fitment]) -> bytes:
    """Return the table as comma-separated UTF-8 with its mark, by which spreadsheets know it."""
    return b"\xef\xbb\xbf" + as_text([HEADS, *map(texts_of, fitments)], ",").encode()


def texts_of(fitment: Fitment) -> tuple[str, ...]:
    """Return a fitment's cells as texts that no spreadsheet takes for a formula."""
    cells = (column.cell(fitment) for column in COLUMNS)
    return tuple(guarded(cell) if isinstance(cell, str) else cell_text(cell) for cell in cells)


def roadmap_xlsx(fitments: Sequence[Fitment]) -> bytes:
    """Return the table as a workbook: numbers as numbers, texts as texts, heads and names in sight."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    book.properties.creator = "Blankwright"
    sheet = book.active
    sheet.title = "Roadmap"
    rows: list[Sequence[Cell]] = [HEADS, *(tuple(c.cell(f) for c in COLUMNS) for f in fitments)]
    for r, row in enumerate(rows, start=1):
        for c, value in enumerate(row, start=1):
            if value is not None:
                _put(sheet.cell(r, c), value)
    for c, head in enumerate(HEADS, start=1):
        cell = sheet.cell(1, c)
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
        longest = max((len(cell_text(row[c - 1])) for row in rows[1:]), default=0)
        width = max(max(map(len, head.split())), longest) + 3
        sheet.column_dimensions[get_column_letter(c)].width = min(width, _WIDEST)
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(HEADS))}{len(rows)}"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _put(cell: Any, value: Cell) -> None:
    if isinstance(value, str):
        # A workbook holds no signs that cannot be printed, and no text of a cell is a formula.
        cell.value = "".join(c if c.isprintable() or c in "\n\t" else " " for c in value)
        cell.data_type = "s"
    else:
        # As text of a number: the library would write a float with 16 digits, which some doubles outrun.
        cell.value = repr(value)
        cell.data_type = "n"
