"""Several tables in one file: a workbook with a sheet for each, or text with a section for each."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from app.files.writers.table import Cell, table_bytes

#: Title, heads and rows.
Sheet = tuple[str, Sequence[str], Sequence[Sequence[Cell]]]
#: Signs that no sheet's name may hold, and its greatest length (from memory).
_NOT_IN_NAMES, _LONGEST = "[]:*?/\\", 31
_WIDEST = 48
#: What a workbook says of its making, so that equal tables are equal files.
_MADE = datetime(2000, 1, 1)
#: The library writes the time of saving into this element.
_SAVED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*")
_ZIPPED = (2000, 1, 1, 0, 0, 0)


def sections_csv(sheets: Sequence[Sheet]) -> bytes:
    """Return comma-separated UTF-8 text: each table under a line with its title, an empty line after it."""
    parts = [table_bytes((title,), ()) + table_bytes(heads, rows) for title, heads, rows in sheets]
    # The mark at the start is what spreadsheets know the coding by.
    return b"\xef\xbb\xbf" + b"\n".join(parts)


def sections_xlsx(sheets: Sequence[Sheet]) -> bytes:
    """Return a workbook with a sheet for each table: numbers as numbers, texts as texts, heads in sight.

    The same tables give the same bytes.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.properties.creator = "Blankwright"
    book.remove(book.active)
    names: list[str] = []
    for title, heads, rows in sheets:
        names.append(_name(title, names))
        _fill(book.create_sheet(names[-1]), heads, rows)
    book.properties.created = _MADE
    out = io.BytesIO()
    book.save(out)
    return _without_times(out.getvalue())


def _name(title: str, taken: Sequence[str]) -> str:
    """Return a name for a sheet that no other one has, whatever their case."""
    plain = "".join(" " if c in _NOT_IN_NAMES or not c.isprintable() else c for c in title).strip("' ")
    plain = plain[:_LONGEST] or "Table"
    found, number = plain, 2
    while found.casefold() in {name.casefold() for name in taken}:
        end = f" {number}"
        found, number = plain[: _LONGEST - len(end)] + end, number + 1
    return found


def _fill(sheet: Any, heads: Sequence[str], rows: Sequence[Sequence[Cell]]) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    for r, row in enumerate([heads, *rows], start=1):
        for c, value in enumerate(row, start=1):
            if value is not None:
                _put(sheet.cell(r, c), value)
    for c, head in enumerate(heads, start=1):
        cell = sheet.cell(1, c)
        cell.font, cell.alignment = Font(bold=True), Alignment(wrap_text=True, vertical="top")
        longest = max((len(_text(row[c - 1])) for row in rows), default=0)
        width = max(max(map(len, head.split()), default=0), longest) + 2
        sheet.column_dimensions[get_column_letter(c)].width = min(width, _WIDEST)
    sheet.freeze_panes = "B2"


def _text(value: Cell) -> str:
    return "" if value is None else f"{value:.2f}" if isinstance(value, float) else str(value)


def _put(cell: Any, value: Cell) -> None:
    if isinstance(value, str):
        # A workbook holds no signs that cannot be printed, and no text of a cell is a formula.
        cell.value = "".join(c if c.isprintable() else " " for c in value)
        cell.data_type = "s"
    else:
        cell.value = value
        if isinstance(value, float):
            cell.number_format = "#,##0.00"


def _without_times(data: bytes) -> bytes:
    """Return a package whose members carry no time of writing."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for item in old.infolist():
            content = _SAVED.sub(rb"\g<1>2000-01-01T00:00:00Z", old.read(item))
            new.writestr(zipfile.ZipInfo(item.filename, _ZIPPED), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
