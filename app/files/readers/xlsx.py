"""Workbooks: a sheet of cells cut into a table.

The directory of the package is checked before anything is unpacked. Of formulas the values are read that the
program which wrote the file has computed.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from openpyxl import load_workbook

from app.files.readers.answer import ReadError, ReadOutline, Request, plain
from app.files.readers.limits import UNPACKED_BYTES, UNPACKED_RATIO, WORKBOOK
from app.files.readers.table import outline_of
from app.files.readers.table_grid import FIRST_ROWS, Array, Exact, Row, in_rows, refuse_first

#: Columns that are looked at; a table of points has a handful.
_MOST_COLUMNS = 64
#: Sheets named in a message.
_SHOWN_SHEETS = 12
#: A package this small is no bomb, however tightly it is packed.
_SMALL_BYTES = 1_000_000

#: The last row of a sheet (ECMA-376, and what spreadsheet programs hold to).
_LAST_ROW = 1_048_576
#: Where a row or a cell says it stands.
_PLACED = re.compile(rb"""<(?:\w+:)?(?:row|c)\b[^>]*?\br\s*=\s*["']([^"']*)["']""")
_PLACE = re.compile(rb"[A-Za-z]{0,3}([0-9]{1,7})")

_DATE = "a date or a time"


@dataclass
class CellGrid:
    """A table out of a sheet; see Grid."""

    heads: list[Row]
    width: int
    rows: list[Row]
    notes: list[Row] = field(default_factory=list)
    skipped: dict[str, int] = field(default_factory=dict)

    def numbers(self, columns: Sequence[int]) -> Array:
        """Return (n, k) finite numbers of the named columns; see Grid."""
        try:
            return in_rows(self.rows, columns, self.width, may_lack_last=False)
        except ReadError as error:
            if "a number is missing" not in str(error):
                raise
            raise ReadError(
                f"{error}; a formula counts once a spreadsheet program has computed and saved it"
            ) from None

    def first_cells(self, column: int) -> list[str]:
        """Return the cells of a column in its first rows; see Grid."""
        return [row.cells[column] for row in self.rows[:FIRST_ROWS]]


def read_xlsx(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the outline of a table of points in a workbook.

    Raises:
        ReadError: it is damaged, locked or would burst, the sheet is missing, or it holds no table of points.
    """
    check_package(data)
    check_cells(data)
    grid, sheets, said = safely(lambda: _grid(data, request.sheet))
    found = outline_of(grid, request, sha256)
    return replace(found, sheets=sheets, warnings=(*said, *found.warnings))


def check_package(data: bytes) -> None:
    """Refuse a package that would burst or leads elsewhere, by its directory alone.

    Raises:
        ReadError: says what and by how much.
    """
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise ReadError(
            "the workbook is locked with a password, or of an old kind; save it as .xlsx without one"
        )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            members = package.infolist()
    except (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, ValueError):
        raise ReadError("not a workbook: the package is damaged or cut off; save it again as .xlsx") from None
    names = [member.filename for member in members]
    if len(set(names)) < len(names):
        raise ReadError("the workbook holds two members of one name; save it again as .xlsx")
    for member in members:
        name = member.filename
        if name.startswith(("/", "\\")) or ":" in name or ".." in name.replace("\\", "/").split("/"):
            raise ReadError(f"the workbook's member {plain(name)!r} leads out of it; save it again as .xlsx")
        if member.flag_bits & 1:
            raise ReadError("the workbook is locked with a password; save it without one")
        if member.file_size > max(_SMALL_BYTES, UNPACKED_RATIO * member.compress_size):
            raise ReadError(
                f"the workbook's member {plain(name)!r} unpacks to more than {UNPACKED_RATIO} times its size"
                "; export the table as CSV"
            )
    total = sum(member.file_size for member in members)
    if total > UNPACKED_BYTES:
        raise ReadError(
            f"the workbook unpacks to {total / 1e6:.0f} MB, more than the {UNPACKED_BYTES / 1e6:.0f} that are"
            " read; export the table as CSV"
        )
    if "xl/workbook.xml" not in names:
        raise ReadError("the package holds no workbook (xl/workbook.xml); save it as .xlsx")


def check_cells(data: bytes) -> None:
    """Refuse sheets whose cells lie beyond any sheet: the library would fill up all rows before them.

    Raises:
        ReadError: says which cell.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        sheets = [name for name in package.namelist() if re.match(r"/?xl/worksheets/[^/]*\.xml$", name)]
        for name in sheets:
            try:
                text = package.read(name)
            except Exception:  # the package promises no class of errors for damaged members
                raise ReadError("the workbook is damaged; save it again as .xlsx") from None
            for match in _PLACED.finditer(text):
                place = _PLACE.fullmatch(match[1])
                if place is None or int(place[1]) > _LAST_ROW:
                    named = plain(match[1].decode("utf-8", "replace")[:20])
                    raise ReadError(f"the workbook is damaged: {named!r} is no place in a sheet")


def safely(work: Callable[[], Any]) -> Any:
    """Return what is read out of a workbook; whatever its library raises on damage becomes one line."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return work()
    except (ReadError, MemoryError):
        raise
    except Exception:  # the library promises no class of errors for damaged files
        raise ReadError("the workbook is damaged; save it again as .xlsx, or the table as CSV") from None


def _grid(data: bytes, wanted: str) -> tuple[CellGrid, tuple[str, ...], list[str]]:
    """Return the table of the sheet asked for, else of the first that holds one, and all sheets' names."""
    book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
    sheets = {sheet.title: sheet for sheet in book.worksheets}
    names = tuple(map(plain, sheets))
    if wanted:
        if wanted not in sheets:
            have = ", ".join(names[:_SHOWN_SHEETS]) or "none"
            raise ReadError(f"there is no sheet {plain(wanted)!r}; the workbook has {have}")
        return _cut(_filled_rows(sheets[wanted]), wanted), names, []
    for name, sheet in sheets.items():
        rows = _filled_rows(sheet)
        if sum(Row("", _texts(cells)).is_of_numbers for _, cells in rows) > 1:
            said = [f"read from sheet {plain(name)!r}, the first of {len(names)} that holds numbers"]
            return _cut(rows, name), names, said if len(names) > 1 else []
    raise ReadError(f"no sheet holds a table of points; sheets: {', '.join(names[:_SHOWN_SHEETS]) or 'none'}")


def _filled_rows(sheet: Any) -> list[tuple[int, tuple[Any, ...]]]:
    """Return the rows of a sheet that hold anything, with their numbers.

    Raises:
        ReadError: there are too many.
    """
    # The size that a sheet states may be made up.
    sheet.reset_dimensions()
    found: list[tuple[int, tuple[Any, ...]]] = []
    for number, cells in enumerate(_rows(sheet), start=1):
        if any(cell is not None and str(cell).strip() for cell in cells):
            found.append((number, cells))
            if len(found) > WORKBOOK.entities:
                raise ReadError(f"more than {WORKBOOK.entities} rows in a sheet; export the table as CSV")
    return found


def _rows(sheet: Any) -> Iterator[tuple[Any, ...]]:
    rows: Iterable[tuple[Any, ...]] = sheet.iter_rows(max_col=_MOST_COLUMNS, values_only=True)
    yield from rows


def _texts(cells: Sequence[Any]) -> list[str]:
    """Return cells as they would stand in a table of text."""
    return ["" if c is None else _text(c) for c in cells]


def _text(cell: Any) -> str:
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, (date, datetime, time, timedelta)):
        return _DATE
    if isinstance(cell, (int, float)):
        return Exact(repr(cell))
    return str(cell).replace("\n", " ").strip()


def _cut(rows: list[tuple[int, tuple[Any, ...]]], name: str) -> CellGrid:
    width = max((len(cells) for _, cells in rows), default=0)
    texts = [
        Row(f"sheet {plain(name)}, row {n}", _texts(cells) + [""] * (width - len(cells))) for n, cells in rows
    ]
    first = next((k for k, row in enumerate(texts) if row.is_of_numbers), len(texts))
    last = len(texts)
    while last > first and not texts[last - 1].has_number:
        last -= 1
    if first == last:
        raise ReadError(f"sheet {plain(name)!r} holds no row of numbers; choose another with --sheet")
    used = [k for k in range(width) if any(row.cells[k] for row in texts[first:last])]
    narrow = [Row(row.place, [row.cells[k] for k in used]) for row in texts]
    if first:
        refuse_first(narrow[first - 1])
    grid = CellGrid(narrow[:first], len(used), narrow[first:last])
    if last < len(texts):
        grid.skipped["lines of text"] = len(texts) - last
    return grid
