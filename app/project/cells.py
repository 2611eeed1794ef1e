"""Texts for the cells of a spreadsheet, in a file or off the clipboard."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

#: Signs that a spreadsheet takes a formula from, also as wide as a sign of Chinese or Japanese.
FORMULA_SIGNS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")

_NUMBER = re.compile(r"[-+]?[0-9][0-9.,\u202f]*(e[-+]?[0-9]+)?")


def no_formula(text: str) -> str:
    """Return a text on one line that no spreadsheet takes for a formula: ' goes before = + - @."""
    line = "".join(c if c.isprintable() else " " for c in text)
    return f"'{line}" if line.lstrip().startswith(FORMULA_SIGNS) else line


def tabbed(rows: Iterable[Sequence[str]]) -> str:
    """Return rows of cells as the clipboard hands them to a spreadsheet; numbers stay numbers."""

    def cell(text: str) -> str:
        number = text.replace("\u2212", "-")  # shown so, and a text to a spreadsheet
        return number if _NUMBER.fullmatch(number) else no_formula(text)

    return "".join("\t".join(map(cell, row)) + "\n" for row in rows)
