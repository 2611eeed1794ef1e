"""Text cut into a table: encoding, comments, what separates the columns, quotes, decimal marks.

The numbers decide on the separator. A comma is a decimal comma wherever something else separates, and within
quotes. Large tables are read in one go where nothing in them is out of the ordinary.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from app.files.readers.answer import ReadError, plain
from app.files.readers.limits import LARGEST_COORDINATE, TABLE
from app.files.readers.table_grid import (
    FIRST_ROWS,
    NUMBER,
    NUMBER_LIKE,
    Array,
    Row,
    fitted,
    in_rows,
    refuse_first,
)

_TWO = re.compile(r"[+\-−]?[0-9.,]+\s+[+\-−]?[0-9.,]+")
_WHOLE = re.compile(r"[+\-−]?[0-9]+")
_BEHIND = ("#", "//", "!")
_COMMENTS = ("#", "%", "//", "!")
#: A remark behind the numbers of a row, with the separator before it.
_REMARK = re.compile(r"\s*[,;|\t]?\s*(?:#|//|(?<=\s)!).*")
_FIGURES = re.compile(r"[0-9]+")
#: A number with its unit, and the units that may stand behind it, longest first.
_AND_UNIT = re.compile(r'(?<=[0-9.,])[ \t]*(mm|inch|in|cm|″|"")(?="?[ \t]*(?:[;,|\t ]|$))', re.IGNORECASE)
#: What a line without any cell is made of.
_BLANK = " \t;,|\"'"

#: What separates columns, in order of trial; None is any run of blanks.
_SEPARATORS = (";", "\t", "|", ",", None)

#: Rows that decide on the separator; tables longer than this are read in one go first.
_SAMPLE, _LONG = 40, 20_000

#: Characters of a line.
_LONGEST_LINE = 20_000

#: Comments that are looked at for names and units.
_NOTES = 1000

#: Share of the sample over which rows must agree on the number of cells.
_AGREE = 0.5

_EXPECTED = "name the columns z_mm, r_mm (or z_in, r_in) and, for arcs, bulge"


@dataclass
class TextGrid:
    """A table of text; `lines` are the rows of numbers as they stand, with their numbers in the file."""

    heads: list[Row]
    notes: list[Row]
    width: int
    separator: str | None
    lines: list[str]
    at: list[int]
    skipped: dict[str, int] = field(default_factory=dict)

    def numbers(self, columns: Sequence[int]) -> Array:
        """Return (n, k) finite numbers of the named columns; see Grid."""
        odd: list[int] = []
        if len(self.lines) > _LONG:
            found, odd = _in_one_go(self.lines, self.separator, self.width, columns)
            if found is not None:
                return found
        last_is_text = not any(map(NUMBER_LIKE.fullmatch, self.first_cells(self.width - 1)))
        # What is odd first, so that a fault is found at once.
        for rows in (odd, range(len(self.lines))) if odd else (range(len(self.lines)),):
            read = (Row(f"line {self.at[k]}", cells(self.lines[k], self.separator)) for k in rows)
            numbers = in_rows(read, columns, self.width, last_is_text)
        return numbers

    def first_cells(self, column: int) -> list[str]:
        """Return the cells of a column in its first rows; see Grid."""
        first = [cells(text, self.separator) for text in self.lines[:FIRST_ROWS]]
        return [row[column] for row in first if len(row) > column]


def _in_one_go(
    lines: Sequence[str], separator: str | None, width: int, columns: Sequence[int]
) -> tuple[Array | None, list[int]]:
    """Return the numbers of a table without any oddity; else None, and the number of an odd line if known."""
    text = "\n".join(lines)
    if '"' in text or (separator != "," and "," in text and "." in text):
        return None, []
    odd = _uneven(text, separator, width)
    if len(odd):
        return None, [int(odd[0])]
    text = text.replace("−", "-")
    if separator != ",":
        text = text.replace(",", ".")
    try:
        found = np.loadtxt(
            text.split("\n"), delimiter=separator, usecols=tuple(columns), comments=None, ndmin=2
        )
    except ValueError as error:
        row = re.search(r"at row ([0-9]+)", str(error))
        return None, [int(row[1])] if row and int(row[1]) < len(lines) else []
    wrong = np.flatnonzero(~np.all(np.abs(found) <= LARGEST_COORDINATE, axis=1))
    return (None, [int(wrong[0])]) if len(wrong) else (found, [])


def _uneven(text: str, separator: str | None, width: int) -> NDArray[np.intp]:
    """Return the numbers of the lines that have not as many cells as belong."""
    letters = np.frombuffer(text.encode("latin-1", "replace"), dtype=np.uint8)
    ends = np.flatnonzero(np.append(letters, 10) == 10)
    if separator is None:
        blank = np.isin(letters, (9, 10, 32))
        begins = ~blank & np.concatenate([[True], blank[:-1]])
        want = width
    else:
        begins, want = letters == ord(separator), width - 1
    total = np.concatenate([[0], np.cumsum(begins)])
    return np.flatnonzero(np.diff(np.concatenate([[0], total[ends]])) != want)


def text_grid(data: bytes, names: int) -> TextGrid:
    """Return the table in the bytes of a text file.

    Args:
        data: the file.
        names: how many columns the user named, 0 for none.

    Raises:
        ReadError: it is no table, or can be read in two ways.
    """
    text = _decoded(data)
    lines: list[str] = []
    at: list[int] = []
    notes: list[str] = []
    remarks = 0
    may_have_remarks = any(mark in text for mark in _BEHIND)
    for number, line in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), start=1):
        stripped = line.strip(" \f\v\0\x1a\ufeff")
        if not stripped.strip(_BLANK):
            continue
        if len(stripped) > _LONGEST_LINE:
            raise ReadError(
                f"line {number} is longer than {_LONGEST_LINE} characters; it is no table of points"
            )
        if stripped.lstrip("\"'").startswith(_COMMENTS):
            notes.append(stripped.lstrip("\"'").lstrip("#%/!").strip())
        else:
            bare = _without_remark(stripped) if may_have_remarks else stripped
            remarks += len(bare) < len(stripped)
            lines.append(bare)
            at.append(number)
    if not lines:
        raise ReadError("the table is empty")
    if len(lines) > TABLE.entities:
        raise ReadError(f"more than {TABLE.entities} rows; thin the points out")
    lines, units = _without_units(lines)
    grid = _cut(lines, at, [*notes[:_NOTES], *units], names)
    if remarks:
        grid.skipped["remarks behind rows"] = remarks
    return grid


def _without_remark(line: str) -> str:
    """Return a line without the remark behind its numbers, whole where no two numbers stand before that."""
    match = next((m for m in _REMARK.finditer(line) if m[0].strip(" ,;|\t")), None)
    if match is None or len(_FIGURES.findall(line, 0, match.start())) < 2:
        return line
    return line[: match.start()]


def _without_units(lines: list[str]) -> tuple[list[str], list[str]]:
    """Return lines without the unit behind each number, and notes that state it.

    Raises:
        ReadError: they have different units.
    """
    step = max(len(lines) // _SAMPLE, 1)
    if sum(len(_AND_UNIT.findall(line)) > 1 for line in lines[::step]) <= _AGREE * len(lines[::step]):
        return lines, []
    stated: set[str] = set()
    bare: list[str] = []
    for line in lines:
        units = {unit.lower().replace('""', '"') for unit in _AND_UNIT.findall(line)}
        stated |= units
        bare.append(_AND_UNIT.sub("", line) if units else line)
    stated = {"in" if unit in ("inch", "″", '"') else unit for unit in stated}
    if len(stated) > 1:
        raise ReadError(f"numbers are followed by different units ({', '.join(sorted(stated))}); use one")
    return bare, [f"unit {unit}" for unit in stated]


def _cut(lines: list[str], at: list[int], notes: list[str], names: int) -> TextGrid:
    separator, width = _separator(lines, at, names)
    first = 0
    heads: list[Row] = []
    while first < len(lines):
        row = Row(f"line {at[first]}", fitted(cells(lines[first], separator), width, may_lack_last=True))
        if row.is_of_numbers and len(row.cells) == width:
            break
        # A count of the points stands alone on its line.
        is_alone = len(lines[first].split(separator)) == 1
        if len(row.cells) == width and not is_alone:
            refuse_first(row)
        heads.append(row)
        first += 1
    last = len(lines)
    while last > first and not Row("", cells(lines[last - 1], separator)).has_number:
        last -= 1
    if first == last:
        raise ReadError(f"line {at[-1]}: {plain(lines[-1])!r} is no row of numbers; {_EXPECTED}")
    said = [Row("a note", cells(note, separator)) for note in notes]
    grid = TextGrid(heads, said, width, separator, lines[first:last], at[first:last])
    if last < len(lines):
        grid.skipped["lines of text"] = len(lines) - last
    return grid


def _decoded(data: bytes) -> str:
    encoding = "utf-8-sig"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif b"\0" in data[:4096]:
        # UTF-16 without its mark: figures and separators have a zero in every other byte.
        head = data[: min(len(data), 4096) // 2 * 2]
        zeros = head[0::2].count(0), head[1::2].count(0)
        if len(head) < 8 or min(zeros) > 0 or max(zeros) < len(head) / 4:
            raise ReadError("not a table of points (binary data); save it as CSV text")
        encoding = "utf-16-be" if zeros[0] else "utf-16-le"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        if encoding.startswith("utf-16"):
            raise ReadError("the table is damaged or cut off (broken UTF-16); save it again as CSV") from None
        return data.decode("latin-1")


def _refuse_open_quote(text: str, separator: str) -> None:
    """Refuse a line in which a quotation mark opens a cell and none closes it: it would swallow the rest."""
    opened = re.search(rf'(?:^|{re.escape(separator)})\s*"[^"]*$', text)
    if opened:
        raise ReadError(f"a quotation mark opens at {plain(opened[0].strip()[:20])!r} and never closes")


def cells(text: str, separator: str | None) -> list[str]:
    """Return the cells of a line, without quotes and the blanks round them."""
    if '"' in text and separator is not None:
        _refuse_open_quote(text, separator)
        try:
            parts = next(csv.reader([text], delimiter=separator, skipinitialspace=True))
        except (csv.Error, StopIteration):
            parts = text.split(separator)
    else:
        parts = text.split(separator)
    return [part.strip().strip('"').strip() for part in parts]


def _separator(lines: list[str], at: list[int], names: int) -> tuple[str | None, int]:
    """Return what separates the columns, and how many there are.

    The first separator is taken that splits most of the sample into the same number of cells, two or more of
    them numbers, and leaves no two numbers in one cell.
    """
    below = lines[1:] or lines
    step = max(len(below) // _SAMPLE, 1)
    sample = below[::step][: 2 * _SAMPLE] + below[-_SAMPLE // 2 :]
    for separator in _SEPARATORS:
        split = [cells(text, separator) for text in sample]
        of_numbers = [row for row in split if Row("", row).is_of_numbers]
        if not of_numbers:
            continue
        width, count = Counter(map(len, of_numbers)).most_common(1)[0]
        if width < 2 or count <= _AGREE * len(of_numbers) or len(of_numbers) < len(split) / 4:
            continue
        if any(_TWO.fullmatch(cell) for row in of_numbers for cell in row):
            continue
        if separator == "," and width > 2 and width != names:
            _refuse_two_ways(lines, at, width)
        return separator, width
    raise ReadError(f"line {at[-1]}: {plain(lines[-1])!r} is no row of numbers; {_EXPECTED}")


def _refuse_two_ways(lines: list[str], at: list[int], width: int) -> None:
    """Refuse numbers with decimal commas between commas: no cell has a fraction then.

    Raises:
        ReadError: it can be so, and no row of names tells how many columns there are.
    """
    for text, number in zip(lines, at, strict=True):
        row = cells(text, ",")
        is_named = len(row) == width and not any(NUMBER_LIKE.fullmatch(cell.lower()) for cell in row)
        if is_named or ('"' in text and Row("", row).is_of_numbers):
            return
        if Row("", row).is_of_numbers and not all(_WHOLE.fullmatch(c) for c in row if NUMBER.fullmatch(c)):
            return
        if number > at[0] + _LONG:
            break
    text, number = next(
        (t, n) for t, n in zip(lines, at, strict=True) if Row("", cells(t, ",")).is_of_numbers
    )
    words = {
        3: "two numbers, one with a decimal comma, or three",
        4: "two numbers with a decimal comma or four",
    }
    raise ReadError(
        f"line {number}: {plain(text)!r} can be {words.get(width, 'numbers with decimal commas or not')}; "
        "save with semicolons, or say what each column is with --columns"
    )
