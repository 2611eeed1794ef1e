"""The cells of one sheet of a workbook as texts, read in the child process.

Of a formula the value is taken that the program which wrote the file has stored, and that is said; a formula
without one is refused where it stands.
"""

from __future__ import annotations

import io
import json
import re
import sys
import zipfile
from collections.abc import Callable, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

import msgspec
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from app.files.readers.answer import ReadError, one_line, plain
from app.files.readers.limits import CELL_COLUMNS, CELL_ROWS, WORKBOOK, Limits
from app.files.readers.roadmap_file import Cells
from app.files.readers.xlsx import check_cells, check_package, safely
from app.project.roadmap_columns import cell_text

#: Columns and rows that are looked at.
MOST_COLUMNS, MOST_ROWS = CELL_COLUMNS, CELL_ROWS
_SHOWN = 12


def main(argv: Sequence[str], limit: Callable[[Limits], None]) -> int:
    """Read standard input, write its cells as JSON, return 0, or 2 for an error.

    Args:
        argv: nothing that is looked at: the first sheet that holds anything is read.
        limit: sets the limits of this process.
    """
    limit(WORKBOOK)
    try:
        found = workbook_cells(sys.stdin.buffer.read(WORKBOOK.size_bytes + 1))
        answer = msgspec.json.encode(found)
    except ReadError as error:
        answer = _failed(str(error))
    except MemoryError:
        answer = _failed("the workbook asks for more memory than a reader may take; save the sheet as CSV")
    sys.stdout.buffer.write(answer)
    sys.stdout.buffer.flush()
    return 2 if answer.startswith(b'{"error"') else 0


def _failed(message: str) -> bytes:
    return json.dumps({"error": one_line(message)}).encode()


def workbook_cells(data: bytes) -> Cells:
    """Return the cells of the first sheet that holds any, in this process.

    Raises:
        ReadError: it is damaged, locked or would burst, or holds nothing.
    """
    if len(data) > WORKBOOK.size_bytes:
        size = WORKBOOK.size_bytes // 1_000_000
        raise ReadError(f"the workbook is larger than {size} MB; save the sheet as CSV")
    check_package(data)
    check_cells(data)
    found: Cells = safely(lambda: _cells(data))
    return found


def _cells(data: bytes) -> Cells:
    book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
    names = [sheet.title for sheet in book.worksheets]
    there = ", ".join(map(plain, names[:_SHOWN])) or "none"
    said: list[str] = []
    for name in names:
        rows = _filled(book[name])
        if not rows:
            continue
        if len(names) > 1:
            said.append(f"read from sheet {plain(name)!r}; the workbook has {there}")
        texts = [_trimmed([_text(cell) for cell in row]) for row in rows]
        if _has_formulas(data):
            said += _formulas(data, name, texts)
        return Cells(texts, said)
    raise ReadError(f"no sheet holds a cell; sheets: {there}")


def _filled(sheet: Any) -> list[tuple[Any, ...]]:
    """Return the rows of a sheet from its first, without blank ones at the end."""
    sheet.reset_dimensions()
    rows: list[tuple[Any, ...]] = []
    for number, row in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS, values_only=True), start=1):
        if any(cell is not None and str(cell).strip() for cell in row):
            if number > MOST_ROWS:
                raise ReadError(
                    f"row {number} holds cells; {MOST_ROWS} rows at most are read: part the table"
                )
            rows += [()] * (number - 1 - len(rows))
            rows.append(row)
    return rows


def _trimmed(row: list[str]) -> list[str]:
    """Return cells without blank ones at the end."""
    used = next((k for k in range(len(row), 0, -1) if row[k - 1]), 0)
    return row[:used]


def _text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, (int, float)):
        return cell_text(float(cell))
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time(0) else cell.isoformat(" ")
    if isinstance(cell, (date, time, timedelta)):
        return str(cell)
    return str(cell)


def _has_formulas(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        sheets = [n for n in package.namelist() if re.match(r"/?xl/worksheets/[^/]*\.xml$", n)]
        return any(re.search(rb"<(?:\w+:)?f[\s>/]", package.read(name)) for name in sheets)


def _formulas(data: bytes, name: str, texts: list[list[str]]) -> list[str]:
    """Return what is said of the formulas of a sheet.

    Raises:
        ReadError: one has no stored value.
    """
    sheet = load_workbook(io.BytesIO(data), read_only=True, keep_links=False)[name]
    sheet.reset_dimensions()
    places: list[str] = []
    bare: list[str] = []
    rows = sheet.iter_rows(max_col=MOST_COLUMNS, max_row=len(texts), values_only=True)
    for r, row in enumerate(rows):
        for c, cell in enumerate(row):
            stored = texts[r][c] if c < len(texts[r]) else ""
            # A text that only looks like a formula is stored as its own value.
            is_formula = isinstance(cell, str) and cell.startswith("=") and stored != cell
            if is_formula or type(cell).__name__.endswith("Formula"):
                (places if stored else bare).append(f"{get_column_letter(c + 1)}{r + 1}")
    if bare:
        raise ReadError(
            f"{len(bare)} formulas have no stored value ({_some(bare)}); let a spreadsheet program compute "
            "and save them, or put numbers in their place"
        )
    count = len(places)
    words = (
        "the stored value of a formula is taken"
        if count == 1
        else f"the stored values of {count} formulas are taken"
    )
    return [f"{words} ({_some(places)})"] if places else []


def _some(places: list[str]) -> str:
    more = f", and {len(places) - _SHOWN} more" if len(places) > _SHOWN else ""
    return ", ".join(places[:_SHOWN]) + more
