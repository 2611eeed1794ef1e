"""A table whose cells are the same for a person, for pages, and for a spreadsheet."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

Cell = str | float | int | None
#: A number that is written as nothing but zeros has no sign.
_ZERO = re.compile(r"[-+]0(\.0*)?")


@dataclass(frozen=True)
class Head:
    """A column.

    Attributes:
        key: in files. words: on the screen and on paper. form: how numbers are written.
        share: of a page's width; 0 for a column that stands in files and on the screen alone.
    """

    key: str
    words: str
    form: str = ""
    share: float = 2.0

    def shown(self, cell: Cell) -> str:
        """Return a cell in words."""
        if cell is None:
            return ""
        if not self.form or isinstance(cell, str):
            return str(cell)
        said = format(cell, self.form)
        return said[1:] if _ZERO.fullmatch(said) else said


@dataclass(frozen=True)
class Sheet:
    """A table.

    Attributes:
        key: name of its file and of its sheet.
        notes: lines below it.
    """

    key: str
    title: str
    heads: tuple[Head, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...] = ()

    def for_pages(self) -> Sheet:
        """Return the columns that stand on pages; none of a table for files and the screen alone."""
        kept = [k for k, head in enumerate(self.heads) if head.share > 0.0]
        heads = tuple(self.heads[k] for k in kept)
        return replace(self, heads=heads, rows=tuple(tuple(row[k] for k in kept) for row in self.rows))
