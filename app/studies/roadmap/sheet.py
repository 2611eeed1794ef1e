"""A table whose cells are the same for a person, for pages, and for a spreadsheet."""

from __future__ import annotations

from dataclasses import dataclass

Cell = str | float | int | None


@dataclass(frozen=True)
class Head:
    """A column: key in files, words on paper, how numbers are written, share of a page's width."""

    key: str
    words: str
    form: str = ""
    share: float = 2.0

    def shown(self, cell: Cell) -> str:
        """Return a cell in words."""
        if cell is None:
            return ""
        return format(cell, self.form) if self.form and not isinstance(cell, str) else str(cell)


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
