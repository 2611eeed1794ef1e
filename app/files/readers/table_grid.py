"""The rows of a table before anybody knows what its columns mean.

Words:
    head    a row above the numbers: a title, names of columns, units
    row     a row of numbers; text may stand beside them
    mark    the decimal mark, a point or a comma, one kind to a table
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from app.files.readers.answer import ReadError, plain
from app.files.readers.limits import LARGEST_COORDINATE

Array = NDArray[np.float64]

NUMBER = re.compile(r"[+\-−]?([0-9]+[.,]?[0-9]*|[.,][0-9]+)([eE][+-]?[0-9]+)?")
#: What was meant as a number, well written or not.
NUMBER_LIKE = re.compile(r"[+\-−]?[0-9.,]+.*|[+-]?nan|[+-]?inf(inity)?")


@dataclass(frozen=True)
class Row:
    """One row: where it stands, for messages, and its cells."""

    place: str
    cells: Sequence[str]

    @property
    def is_of_numbers(self) -> bool:
        """True where two cells or more are numbers."""
        return sum(NUMBER.fullmatch(cell) is not None for cell in self.cells) > 1

    @property
    def has_number(self) -> bool:
        """True where a cell was meant as a number."""
        return any(NUMBER_LIKE.fullmatch(cell.lower()) for cell in self.cells)


class Grid(Protocol):
    """A table: heads, notes (comments), and as many columns of cells."""

    heads: list[Row]
    notes: list[Row]
    width: int
    skipped: dict[str, int]

    def numbers(self, columns: Sequence[int]) -> Array:
        """Return (n, k) finite numbers of the named columns.

        Raises:
            ReadError: a cell is no number; says where.
        """

    def first_cells(self, column: int) -> list[str]:
        """Return the cells of a column in its first rows of numbers."""


#: Rows that tell what a column without a name is like.
FIRST_ROWS = 200


class Exact(str):
    """A number that a program wrote out of its own: its point is no choice of the table's author."""


@dataclass
class Numbers:
    """Reads cells of one table, whose decimal marks must agree."""

    marks: set[str] = field(default_factory=set)

    def read(self, text: str, place: str) -> float:
        """Return the number in a cell.

        Raises:
            ReadError: it is none, is not finite, or has another decimal mark than those before.
        """
        if not text:
            raise ReadError(f"{place}: a number is missing; fill the cell or delete the row")
        mark = set() if isinstance(text, Exact) else {c for c in text if c in ".,"}
        if not NUMBER.fullmatch(text):
            raise ReadError(
                f"{place}: {plain(text)!r} is no plain number; write it without unit, space or groups"
            )
        self.marks |= mark
        if len(self.marks) > 1:
            raise ReadError(f"{place}: {plain(text)!r}: the table mixes decimal commas and points")
        number = float(text.replace("−", "-").replace(",", "."))
        if abs(number) > LARGEST_COORDINATE:
            raise ReadError(f"{place}: {plain(text)!r} is too large; check the row")
        return number


def fitted(cells: Sequence[str], width: int, may_lack_last: bool = False) -> Sequence[str]:
    """Return cells without blank ones beyond a width, and with a blank last one where it may be lacking."""
    while len(cells) > width and not cells[-1]:
        cells = cells[:-1]
    return [*cells, ""] if may_lack_last and len(cells) == width - 1 else cells


def in_rows(rows: Iterable[Row], columns: Sequence[int], width: int, may_lack_last: bool) -> Array:
    """Return the numbers of the named columns, cell by cell.

    Args:
        rows: to be read.
        columns: by their numbers.
        width: cells that belong to a row.
        may_lack_last: a row may lack its last cell: that column holds text, or nothing.

    Raises:
        ReadError: a row has another number of cells, or a cell is no number; says where.
    """
    reader = Numbers()
    found: list[list[float]] = []
    for row in rows:
        cells = fitted(row.cells, width, may_lack_last)
        if len(cells) != width:
            raise ReadError(
                f"{row.place}: {len(row.cells)} cells where {width} belong ({plain(' '.join(row.cells))!r}); "
                "mend the row, or delete what is not part of the table"
            )
        found.append([reader.read(cells[k], row.place) for k in columns])
    return np.array(found, dtype=float).reshape(-1, len(columns))


def refuse_first(row: Row) -> None:
    """Refuse a row above the numbers in which every cell was meant as a number, or a single one is left.

    Raises:
        ReadError: it is one.
    """
    filled = [cell for cell in row.cells if cell]
    if len(filled) == 1 < len(row.cells) and NUMBER.fullmatch(filled[0]):
        raise ReadError(
            f"{row.place}: a number is missing beside {filled[0]}; fill the cell or delete the row"
        )
    if len(filled) > 1 and all(NUMBER_LIKE.fullmatch(cell.lower()) for cell in filled):
        raise ReadError(
            f"{row.place} holds {plain(' '.join(filled))!r}, which is neither names nor numbers; write plain "
            "numbers without unit, space or groups"
        )
