"""Tables of points: one outline as rows of z, r and, if there is one, the bulge of the edge that leaves.

Columns are told by their names (z_mm, r_mm, bulge; also z_in, or the unit in brackets). Without names, two
columns are taken as z and r, and said to be. The numbers decide on the separator; a comma is a decimal
comma wherever a semicolon, tab or space separates.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

from app.files.readers.answer import NOT_KNOWN, UNITS, ReadError, ReadOutline, Request, Row, plain
from app.files.readers.chains import chained
from app.files.readers.limits import LARGEST_COORDINATE, TABLE
from app.files.readers.outlines import bounds_of, rows_of, size_doubt
from app.files.readers.pieces import Piece, bulged

_NUMBER = re.compile(r"[+\-−]?([0-9]+[.,]?[0-9]*|[.,][0-9]+)([eE][+-]?[0-9]+)?")
_TWO = re.compile(r"[+\-−]?[0-9.,]+\s+[+\-−]?[0-9.,]+")
_NAME = re.compile(r"\s*([a-z]+)\s*(?:[_ ]?[(\[]?\s*(mm|in|inch|inches)\s*[)\]]?)?\s*")
_MEANING = {
    **dict.fromkeys(("z", "x", "axial"), "z"),
    **dict.fromkeys(("r", "y", "radial", "radius"), "r"),
    "bulge": "bulge",
}
_EXPECTED = "name the columns z_mm, r_mm (or z_in, r_in) and, for arcs, bulge"

#: In order of trial: what separates columns, and whether a comma can then be a decimal comma.
_SEPARATORS = ((";", True), ("\t", True), (",", False), (None, True))


@dataclass(frozen=True)
class _Line:
    number: int
    text: str


def read_table(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the outline of a table of points, closed from its last row to its first.

    Raises:
        ReadError: it is no table, a cell is not a number, the columns are not clear, or the outline reaches
            below the axle line.
    """
    lines = [
        _Line(i, text)
        for i, text in enumerate(re.split(r"\r\n|\n|\r", _decoded(data)), start=1)
        if text.strip() and not text.lstrip().startswith("#")
    ]
    if not lines:
        raise ReadError("the table is empty")
    if len(lines) > TABLE.entities:
        raise ReadError(f"more than {TABLE.entities} rows; thin the points out")
    separator, decimal_comma = _separator(lines)
    columns, stated, warnings = _columns(_cells(lines[0].text, separator))
    body = lines[1:] if columns else lines
    columns = columns or ["z", "r"]
    if request.unit is not None and stated not in (NOT_KNOWN, request.unit):
        warnings.append(f"the header states {stated}; read as {request.unit}, as asked")
    unit = request.unit or stated
    rows = _rows(body, separator, decimal_comma, columns, UNITS.get(unit, 1.0))
    return _outline(rows, request, unit, warnings, len(body), sha256)


def _outline(
    rows: list[Row], request: Request, unit: str, warnings: list[str], count: int, sha256: str
) -> ReadOutline:
    closing = math.dist(rows[-1][:2], rows[0][:2]) if rows else 0.0
    edges = [math.dist(a[:2], b[:2]) for a, b in pairwise(rows)]
    if edges and closing > max(edges) and rows[-1][2] == 0.0:
        warnings.append(f"the last point is joined to the first by a straight line of {closing:.3f}")
    ring: list[Piece] = []
    for a, b in zip(rows, [*rows[1:], *rows[:1]], strict=True):
        ring += bulged(a[:2], b[:2], a[2])
    found = chained([], [ring], request.join_mm)
    loops = tuple(rows_of(r, request.side) for r in found.rings)
    if not loops:
        raise ReadError(
            f"the {len(rows)} points enclose no area; an outline needs three that are not on one line"
        )
    bounds = bounds_of(loops)
    doubt = size_doubt(bounds, unit) if unit != NOT_KNOWN else ""
    repeated = found.empty - (closing == 0.0)
    return ReadOutline(
        kind="table",
        unit=unit,
        loops=loops,
        bounds=bounds,
        skipped={"repeated points": repeated} if repeated > 0 else {},
        unit_doubt=doubt if request.unit is None else "",
        warnings=(*warnings, doubt) if doubt and request.unit is not None else tuple(warnings),
        sha256=sha256,
    )


def _decoded(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif b"\0" in data[:4096]:
        raise ReadError("not a table of points (binary data); save it as CSV text")
    else:
        encoding = "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        if encoding == "utf-16":
            raise ReadError("the table is damaged or cut off (broken UTF-16); save it again as CSV") from None
        return data.decode("latin-1")


def _cells(text: str, separator: str | None) -> list[str]:
    cells = text.split(separator)
    if separator is not None and len(cells) > 1 and not cells[-1].strip():
        cells = cells[:-1]  # a separator at the end of the line
    return [cell.strip().strip('"').strip() for cell in cells]


def _separator(lines: list[_Line]) -> tuple[str | None, bool]:
    """Return what separates the columns, and whether a comma is a decimal comma.

    The first separator is taken that splits most of the last rows into the same number of cells, some row
    into two or more numbers, and leaves no two numbers in one cell.
    """
    sample = lines[1:][-20:] or lines
    for separator, decimal_comma in _SEPARATORS:
        split = [_cells(line.text, separator) for line in sample]
        width = Counter(map(len, split)).most_common(1)[0][0]
        if separator == "," and width == 4 and all(_looks_whole(cells) for cells in split):
            raise ReadError(
                f"line {sample[0].number}: {plain(sample[0].text)!r} can be two numbers with a decimal comma "
                "or four; save with semicolons"
            )
        numbers = max(sum(bool(_NUMBER.fullmatch(c)) for c in cells) for cells in split)
        if width > 1 and numbers > 1 and not any(_TWO.fullmatch(c) for cells in split for c in cells):
            return separator, decimal_comma
    raise ReadError(f"line {sample[0].number}: {plain(sample[0].text)!r} is no row of numbers; {_EXPECTED}")


def _looks_whole(cells: list[str]) -> bool:
    """True where no cell has a fraction, as when decimal commas were taken for separators."""
    return all(re.fullmatch(r"[+\-−]?[0-9]+", cell) for cell in cells)


def _columns(cells: list[str]) -> tuple[list[str], str, list[str]]:
    """Return the columns' names, the unit they state and warnings; no names if row 1 holds numbers."""
    if all(_NUMBER.fullmatch(cell) for cell in cells):
        if len(cells) != 2:
            raise ReadError(f"{len(cells)} columns without names; {_EXPECTED}")
        return [], NOT_KNOWN, ["no column names: the first column is taken as z, the second as r"]
    if all(re.fullmatch(r"[+\-−]?[0-9.,]+.*|nan|inf(inity)?", cell.lower()) for cell in cells):
        raise ReadError(f"the first row holds {plain(' '.join(cells))!r}, which is neither names nor numbers")
    matches = [_NAME.fullmatch(cell.lower()) for cell in cells]
    names = [_MEANING.get(m[1], "") if m else "" for m in matches]
    if any(names.count(name) != 1 for name in ("z", "r")) or names.count("bulge") > 1:
        raise ReadError(f"the columns are named {plain(', '.join(cells))!r}; {_EXPECTED}")
    units = {
        "mm" if m[2] == "mm" else "in"
        for m, name in zip(matches, names, strict=True)
        if m and m[2] and name in ("z", "r")
    }
    if len(units) > 1:
        raise ReadError("z and r are named with different units; convert one of them")
    spare = [cell for cell, name in zip(cells, names, strict=True) if not name]
    warnings = [f"columns left out: {', '.join(map(plain, spare[:6]))}"] if spare else []
    return names, units.pop() if units else NOT_KNOWN, warnings


def _rows(
    lines: list[_Line], separator: str | None, decimal_comma: bool, columns: list[str], factor: float
) -> list[Row]:
    at = {name: columns.index(name) for name in ("z", "r", "bulge") if name in columns}
    marks: set[str] = set()
    rows: list[Row] = []
    for line in lines:
        cells = _cells(line.text, separator)
        if len(cells) != len(columns):
            raise ReadError(
                f"line {line.number}: {len(cells)} cells where {len(columns)} belong ({plain(line.text)!r}); "
                "mend the row, or delete what is not part of the table"
            )
        z, r = (_number(cells[at[name]], line, decimal_comma, marks) * factor for name in ("z", "r"))
        bulge = _number(cells[at["bulge"]], line, decimal_comma, marks) if "bulge" in at else 0.0
        rows.append((z, r, bulge))
    return rows


def _number(text: str, line: _Line, decimal_comma: bool, marks: set[str]) -> float:
    """Return the finite number in a cell; `marks` gathers the decimal marks of the table."""
    mark = {c for c in text if c in ".,"}
    marks |= mark
    if _NUMBER.fullmatch(text) and (decimal_comma or "," not in mark):
        number = float(text.replace("−", "-").replace(",", "."))
        if len(marks) > 1:
            raise ReadError(f"line {line.number}: {plain(text)!r}: the table mixes decimal commas and points")
        if abs(number) <= LARGEST_COORDINATE:
            return number
        raise ReadError(f"line {line.number}: {plain(text)!r} is too large; check the row")
    raise ReadError(
        f"line {line.number}: {plain(text)!r} is no plain number; write it without unit, space or groups"
    )
