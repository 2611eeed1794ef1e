"""Rows of a roadmap table: from texts to fitments and back, with every problem of every row.

A row with a problem makes no fitment; what a row merely leaves open is not known, and is listed. A row whose
name the project has stands for that fitment: columns that the table lacks, and notes, stay as they are.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from app.project.edits import EditError
from app.project.project import Compromise, Fitment, Project
from app.project.roadmap_checks import Said, contradictions, open_points
from app.project.roadmap_columns import BY_KEY, COLUMNS, GIVEN_UP, Cell, CellError, Column
from app.project.roadmap_heads import TITLE_ROWS, has_heads, heads, short
from app.project.wheel import Wheel
from app.units import UnitsError

Texts = Mapping[str, str]

#: Rows of one table.
MOST_ROWS = 20_000
#: Names that are looked for one by one where they are not found; beyond that only the fault is said.
_MOST_LOOKED_FOR = 300
#: So many insets that are all no larger than this are likely inches.
_FEW, _TINY_MM = 4, 3.0
#: What a kind of part is called in the table.
_WORDS = {"shape": "brake"}


@dataclass(frozen=True)
class Problem:
    """What is wrong in one cell: row of the sheet from 1, head, and what, where and how to mend it."""

    row: int
    column: str
    words: str
    key: str = ""

    def __str__(self) -> str:
        return (
            f"row {self.row}, {self.column}: {self.words}" if self.column else f"row {self.row}: {self.words}"
        )


@dataclass(frozen=True)
class ReadRow:
    """One row of the table.

    Attributes:
        fitment: None where it has problems.
        replaces: name of the fitment that it stands for; None for a new one.
        open: what it leaves open, in words.
        emptied: heads of what the fitment stated before and the row does not.
    """

    number: int
    name: str
    fitment: Fitment | None
    replaces: str | None = None
    problems: tuple[Problem, ...] = ()
    open: tuple[str, ...] = ()
    emptied: tuple[str, ...] = ()


@dataclass(frozen=True)
class ReadTable:
    """A table as it was read.

    Attributes:
        problems: of the heads: nothing is taken before they are mended.
        left_out: heads of columns that are no part of the table.
        said: of how it was read, one sentence each.
    """

    rows: tuple[ReadRow, ...]
    problems: tuple[Problem, ...] = ()
    left_out: tuple[str, ...] = ()
    said: tuple[str, ...] = ()

    @property
    def all_problems(self) -> tuple[Problem, ...]:
        """Every problem, those of the heads first."""
        return (*self.problems, *(p for row in self.rows for p in row.problems))

    @property
    def sound(self) -> tuple[ReadRow, ...]:
        """Rows that can be taken."""
        return () if self.problems else tuple(row for row in self.rows if row.fitment is not None)


class Reader:
    """Reads rows against one project; names are found at once."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.wheels: dict[str, Wheel] = {w.name: w for w in project.wheels}
        self.fitments: dict[str, Fitment] = {f.name: f for f in project.fitments}
        self._names = {c.key: dict.fromkeys(c.kind.names(project)) for c in COLUMNS if c.kind is not None}
        self._near: dict[tuple[str, str], str] = {}

    def row(
        self, texts: Texts, units: Mapping[str, str], number: int, base: Fitment | None = None
    ) -> ReadRow:
        """Return one row.

        Args:
            texts: by key; what is absent stays as `base` has it, an empty text is not known.
            units: of the sheet, by key, where they are not the column's.
            number: of the row in the sheet.
            base: the fitment that the row stands for, None for a new one.
        """
        made, found = self._made(texts, units, base)
        replaces = base.name if base else None
        if found:
            problems = tuple(_problem(number, said.keys[0], said.words) for said in found)
            return ReadRow(number, made.name, None, replaces, problems)
        left_open = open_points(made, self.wheels.get(made.wheel or ""))
        if base is None and made.width_code is not None and not texts.get("flange", "").strip():
            left_open.append("flange (taken as J)")
        return ReadRow(number, made.name, made, replaces, (), tuple(left_open), _emptied(base, made))

    def edited(self, base: Fitment, texts: Texts) -> tuple[Fitment, tuple[Said, ...]]:
        """Return a fitment with cells typed anew, and what is wrong that was not wrong before."""
        before = set(contradictions(self.project, base, self.wheels.get(base.wheel or "")))
        made, found = self._made(texts, {}, base)
        if made.name != base.name and made.name in self.fitments:
            words = f"there is a fitment '{short(made.name)}' already; choose another name"
            found.append(Said(("name",), words))
        return made, tuple(said for said in found if said not in before)

    def contradictions(self, fitment: Fitment) -> tuple[Said, ...]:
        """Return what in a fitment cannot be meant."""
        return tuple(contradictions(self.project, fitment, self.wheels.get(fitment.wheel or "")))

    def open_points(self, fitment: Fitment) -> list[str]:
        """Return what a fitment leaves open, in words."""
        return open_points(fitment, self.wheels.get(fitment.wheel or ""))

    def _made(
        self, texts: Texts, units: Mapping[str, str], base: Fitment | None
    ) -> tuple[Fitment, list[Said]]:
        """Return the fitment of the cells that can be read, and everything that is wrong."""
        found: list[Said] = []
        values: dict[str, Any] = {}
        for key, text in texts.items():
            try:
                values[key] = self._cell(BY_KEY[key], text.strip(), units.get(key, ""))
            except (CellError, UnitsError) as error:
                found.append(Said((key,), str(error).removesuffix(".")))
        name = str(values.get("name") or (base.name if base and "name" not in texts else ""))
        made, lacks = _made(values, base, name)
        wrong = {key for said in found for key in said.keys}
        wheel = self.wheels.get(made.wheel or "")
        together = [*lacks, *contradictions(self.project, made, wheel)]
        return made, [*found, *(said for said in together if wrong.isdisjoint(said.keys))]

    def _cell(self, column: Column, text: str, unit: str) -> object:
        if not text:
            if column.key == "name":
                raise CellError("is missing; give every row a name of its own")
            return None
        value = column.read(text, unit)
        if column.kind is not None and value not in self._names[column.key]:
            raise CellError(self._unknown(column, str(value)))
        return value

    def _unknown(self, column: Column, name: str) -> str:
        assert column.kind is not None
        known, word = self._names[column.key], _WORDS.get(column.kind.word, column.kind.word)
        if not known:
            return f"the project has no {word} '{short(name)}', nor any other; make it first"
        near = self._near.get((column.key, name))
        if near is None:
            near = _nearest(name, known) if len(self._near) < _MOST_LOOKED_FOR else ""
            self._near[column.key, name] = near
        mend = f"the nearest is '{near}'" if near else f"make it first, or name one of its {len(known)}"
        return f"the project has no {word} '{short(name)}'; {mend}"


def read_table(grid: Sequence[Sequence[str]], project: Project, first: int = 1) -> ReadTable:
    """Return the rows of a table; its heads stand in the first filled row, or below a few rows of titles.

    Args:
        grid: texts, row by row; blank rows are passed over.
        project: whose brakes, rule sets, wheels and fitments the rows name.
        first: number of the grid's first row in its sheet.
    """
    filled = [k for k, row in enumerate(grid) if any(cell.strip() for cell in row)]
    at = next((k for k in filled[:TITLE_ROWS] if has_heads(grid[k])), filled[0] if filled else None)
    if at is None:
        return ReadTable(
            (), (Problem(first, "", "the table is empty; give it a row of heads and rows below"),)
        )
    keys, units, faults, left_out = heads(grid[at], grid[at + 1 :])
    problems = [Problem(first + at, column, words, key) for column, words, key in faults]
    if "name" not in keys.values():
        return ReadTable((), tuple(problems), tuple(left_out))
    width = len(grid[at])
    given: list[tuple[int, Texts, Problem | None]] = []
    for k, row in enumerate(grid[at + 1 :], start=first + at + 1):
        if not any(cell.strip() for cell in row):
            continue
        texts = {key: row[i] if i < len(row) else "" for i, key in keys.items()}
        given.append((k, texts, _too_wide(k, row, width)))
    if not given:
        empty = Problem(first + at, "", "there is no row below the heads; fill some")
        return ReadTable((), (*problems, empty), tuple(left_out))
    if len(given) > MOST_ROWS:
        words = f"the table has {len(given)} rows; {MOST_ROWS} at most are read: part it"
        return ReadTable((), (Problem(first + at, "", words),), tuple(left_out))
    rows = read_rows([(k, texts, None) for k, texts, _ in given], project, units, by_name=True)
    wide = {k: problem for k, _, problem in given if problem is not None}
    rows = [_refused(row, (wide[row.number],)) if row.number in wide else row for row in rows]
    above = [str(first + k) for k in filled if k < at]
    said = [f"above the heads, row {', '.join(above)} is passed over"] if above else []
    return ReadTable(tuple(rows), tuple(problems), tuple(left_out), (*said, *_looks_like_inches(rows)))


def _looks_like_inches(rows: Sequence[ReadRow]) -> list[str]:
    """Return a doubt where every inset is tiny and some have decimals, as of a sheet in inches."""
    read = [f for row in rows if (f := row.fitment) is not None]
    insets = [x for f in read for x in (f.inset_low_mm, f.inset_high_mm) if x is not None]
    if len(insets) < _FEW or max(map(abs, insets)) > _TINY_MM or all(x.is_integer() for x in insets):
        return []
    mend = "if they are inches, call the columns 'Inset from, in' and 'Inset to, in'"
    return [f"every inset lies within {_TINY_MM:g} mm of zero; {mend}"]


def read_rows(
    given: Iterable[tuple[int, Texts, Fitment | None]],
    project: Project,
    units: Mapping[str, str] | None = None,
    *,
    by_name: bool = False,
) -> list[ReadRow]:
    """Return rows as they were read, doubles among them refused.

    Args:
        given: number in the sheet, texts by key, and the fitment that the row stands for.
        project: that they belong to.
        units: of the sheet, by key.
        by_name: a row stands for the project's fitment of its name.
    """
    reader = Reader(project)
    rows: list[ReadRow] = []
    for number, texts, base in given:
        if by_name:
            base = reader.fitments.get(unicodedata.normalize("NFC", texts.get("name", "").strip()))
        rows.append(reader.row(texts, units or {}, number, base))
    return _without_doubles(rows, reader)


def _without_doubles(rows: list[ReadRow], reader: Reader) -> list[ReadRow]:
    """Return the rows, those refused whose name another row or another fitment of the project has."""
    first: dict[str, int] = {}
    twice: dict[str, int] = {}
    for row in rows:
        if row.name and first.setdefault(row.name, row.number) != row.number:
            twice.setdefault(row.name, row.number)
    leaving = {row.replaces for row in rows if row.fitment is not None and row.name != row.replaces}
    found = []
    for row in rows:
        words = ""
        if row.name in twice:
            other = first[row.name] if row.number != first[row.name] else twice[row.name]
            words = f"'{short(row.name)}' stands in row {other} as well; give each row its own name"
        elif row.name in reader.fitments and row.name != row.replaces and row.name not in leaving:
            words = f"the project has a fitment '{short(row.name)}' already; choose another name"
        found.append(_refused(row, (_problem(row.number, "name", words),)) if words else row)
    return found


def _refused(row: ReadRow, problems: tuple[Problem, ...]) -> ReadRow:
    return replace(row, fitment=None, problems=(*problems, *row.problems))


def _too_wide(number: int, row: Sequence[str], width: int) -> Problem | None:
    more = [cell for cell in row[width:] if cell.strip()]
    if not more:
        return None
    words = f"has {len(row)} cells where {width} belong; a comma within a cell needs quotes round the cell"
    return Problem(number, "", words)


def _made(values: dict[str, Any], base: Fitment | None, name: str) -> tuple[Fitment, list[Said]]:
    """Return the fitment of read cells, and what it lacks to be one."""
    own = {key: value for key, value in values.items() if "." not in key}
    plain: dict[str, Any] = {
        key: ("J" if key == "flange" else "") if value is None and isinstance(_DEFAULTS[key], str) else value
        for key, value in own.items()
    }
    made = replace(base, **plain) if base is not None else Fitment(**({"name": name} | plain))
    given = {key.partition(".")[2]: values[key] for key in GIVEN_UP if key in values}
    if not given:
        return made, []
    if base is not None and base.compromise is not None:
        given = {field: given.get(field, getattr(base.compromise, field)) for field in _COMPROMISE}
    filled = {key: value for key, value in given.items() if value not in (None, "")}
    if not filled:
        return replace(made, compromise=None), []
    if "share" not in filled:
        words = "is missing; a compromise needs the share of the volume that would still sell, from 0 to 1"
        return made, [Said(("compromise.share",), words)]
    return replace(made, compromise=Compromise(**filled)), []


def _emptied(base: Fitment | None, made: Fitment) -> tuple[str, ...]:
    """Return the heads of what was stated and is not any more."""
    if base is None:
        return ()
    return tuple(c.head for c in COLUMNS if c.cell(base) is not None and c.cell(made) is None)


_DEFAULTS: dict[str, object] = {
    "name": "",
    **{n: f.default for n, f in Fitment.__dataclass_fields__.items() if n != "name"},
}
_COMPROMISE = tuple(Compromise.__dataclass_fields__)


def _nearest(name: str, known: Iterable[str]) -> str:
    """Return the known name nearest to another, or nothing."""
    folded = {other.casefold(): other for other in known}
    whole = name.casefold()
    within = [other for key, other in folded.items() if whole in key or key in whole]
    if within:
        return min(within, key=lambda other: abs(len(other) - len(name)))
    near = difflib.get_close_matches(name.casefold()[:100], folded, 1, 0.5)
    return folded[near[0]] if near else ""


def _problem(number: int, key: str, words: str) -> Problem:
    return Problem(number, BY_KEY[key].head, words, key)


def open_words(left: Sequence[str]) -> str:
    """Return what is said of what a row leaves open, or nothing."""
    return f"not stated: {', '.join(left)}" if left else ""


def emptied_words(heads: Sequence[str]) -> str:
    """Return what is said of what a row takes away from its fitment, or nothing."""
    return f"no longer stated, the cell is empty: {', '.join(heads)}" if heads else ""


def taken(project: Project, table: ReadTable) -> Project:
    """Return the project with the sound rows of a table: in the place of their fitments, or at the end.

    Raises:
        EditError: two fitments would have one name.
    """
    in_place = {row.replaces: row.fitment for row in table.sound if row.replaces is not None}
    new = [row.fitment for row in table.sound if row.replaces is None and row.fitment is not None]
    kept = tuple(in_place.get(f.name) or f for f in project.fitments)
    names = Counter(f.name for f in (*kept, *new))
    twice = next((name for name, count in names.items() if count > 1), None)
    if twice is not None:
        raise EditError(
            f"Two fitments would be called '{twice}'; mend the rows that keep it from being renamed."
        )
    return replace(project, fitments=(*kept, *new))


def cells_of(fitment: Fitment) -> tuple[Cell, ...]:
    """Return a fitment's cells in the order of the columns."""
    return tuple(column.cell(fitment) for column in COLUMNS)
