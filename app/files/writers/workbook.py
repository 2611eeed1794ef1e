"""Several tables as one workbook: a sheet each, texts harmless, the same bytes for the same tables."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import datetime

from app.files.writers.table import Cell, guarded

#: What a workbook says of its making, so that equal tables are equal files.
_MADE = datetime(2000, 1, 1)
#: The library writes the time of saving into this element.
_SAVED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*")
_ZIPPED = (2000, 1, 1, 0, 0, 0)
#: A sheet's name may be no longer.
_LONGEST_NAME = 31


def workbook_bytes(tables: Iterable[tuple[str, Sequence[str], Iterable[Sequence[Cell]]]]) -> bytes:
    """Return an .xlsx of tables (name, heads, rows): heads bold and kept in sight, numbers as numbers."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    book.remove(book.active)
    for name, heads, rows in tables:
        sheet = book.create_sheet(name[:_LONGEST_NAME])
        sheet.append([guarded(head) for head in heads])
        for row in rows:
            sheet.append([guarded(cell) if isinstance(cell, str) else cell for cell in row])
        for cell in sheet[1]:
            cell.font = Font(bold=True)
        sheet.freeze_panes = "A2"
    book.properties.created = _MADE
    out = io.BytesIO()
    book.save(out)
    return _without_times(out.getvalue())


def _without_times(data: bytes) -> bytes:
    """Return a package whose members carry no time of writing."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for item in old.infolist():
            content = _SAVED.sub(rb"\g<1>2000-01-01T00:00:00Z", old.read(item))
            new.writestr(zipfile.ZipInfo(item.filename, _ZIPPED), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
