"""The row of heads of a roadmap table: which column is which, in which unit, and what is wrong with it."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from typing import NamedTuple

from app.project.roadmap_columns import BY_KEY, COLUMNS, LENGTH_UNITS, MASS_UNITS

#: The heads may stand below so many filled rows of titles, less one.
TITLE_ROWS = 20
_SHOWN = 40


class Fault(NamedTuple):
    """What is wrong with a head: its text, words, and the key where it is known."""

    column: str
    words: str
    key: str = ""


def heads(
    cells: Sequence[str], below: Sequence[Sequence[str]]
) -> tuple[dict[int, str], dict[str, str], list[Fault], list[str]]:
    """Return keys by place, units of the sheet by key, what is wrong, and heads that are left out."""
    keys: dict[int, str] = {}
    units: dict[str, str] = {}
    problems: list[Fault] = []
    left_out: list[str] = []
    for i, cell in enumerate(cells):
        text = cell.strip()
        found = find_head(text)
        if found is not None and found[0] not in keys.values():
            keys[i], units[found[0]] = found
        elif found is not None:
            words = "stands twice in the row of heads; keep one of the two columns"
            problems.append(Fault(short(text), words, found[0]))
        elif text or any(i < len(row) and row[i].strip() for row in below):
            near = _nearest_head(text)
            if not text:
                where = f"column {i + 1}"
                problems.append(Fault(where, "has cells but no head; give it one, or delete it"))
            elif near:
                problems.append(Fault(short(text), f"is not a head of this table; {near}"))
            else:
                left_out.append(text)
    if "name" not in keys.values():
        there = ", ".join(short(c.strip()) for c in cells[:3] if c.strip())
        words = f"there is no column Name in the row of heads ({there} ...); the first row names the columns"
        problems.insert(0, Fault("", words))
    return keys, units, problems, left_out


def find_head(text: str) -> tuple[str, str] | None:
    """Return the key and the unit of a head, None where it is none; it may name another unit of its kind."""
    return _HEADS.get(_plain(text))


def has_heads(cells: Sequence[str]) -> bool:
    """Return True where a row holds the name's head, or two others."""
    found = [head for cell in cells if (head := find_head(cell)) is not None]
    return len(found) > 1 or any(key == "name" for key, _ in found)


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace(",", " , ").split())


def _known_heads() -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    for column in COLUMNS:
        units = {"mm": LENGTH_UNITS, "kg": MASS_UNITS}.get(column.unit, ("",))
        for unit in units:
            found[_plain(f"{column.name}, {unit}" if unit else column.name)] = (column.key, unit)
    return found


_HEADS = _known_heads()


def _nearest_head(text: str) -> str:
    """Return what is said of a head that is nearly one, or nothing."""
    plain = _plain(text)
    bare = next((c for c in COLUMNS if c.unit and _plain(c.name) == plain.split(" , ")[0]), None)
    if bare is not None:
        other = "in" if bare.unit == "mm" else "lb"
        return f"it needs its unit: '{bare.head}' or '{bare.name}, {other}'"
    near = difflib.get_close_matches(plain, _HEADS, 1, 0.75)
    return f"'{BY_KEY[_HEADS[near[0]][0]].head}' is the nearest" if near else ""


def short(text: str) -> str:
    """Return a text out of a table on one line and not too long for a message."""
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if len(line) <= _SHOWN else f"{line[: _SHOWN - 1]}…"
