"""The columns of the roadmap table: a head in trade words, its unit, and how a cell is read and written.

Nothing is guessed: a length is in the unit of the head or in its own, a year has four digits, a share is 0
to 1, and what could be read in two ways is refused with its mend. A column reads one cell alone; how cells
fit together is `roadmap_checks`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any, cast

from app.project import edits
from app.project.edits import Kind
from app.project.project import Fitment
from app.units import LengthUnit, MassUnit, UnitsError, parse_length_mm, parse_mass_kg, parse_number

Cell = str | int | float | None

#: Sheets may be in these units of length and mass; the head says which.
LENGTH_UNITS, MASS_UNITS = ("mm", "in"), ("kg", "lb")

#: Names of a group of columns, in their order.
NEED, HUB, PLAN, GIVE_UP = "need", "hub and brake", "programme", "compromise"
GROUPS = (NEED, HUB, PLAN, GIVE_UP)

#: A text of a cell, and a name.
_LONGEST_TEXT = 2000
#: Stands for a yes of this column, in any case of its letters.
_MUST = MappingProxyType({"must": True, "want": False})

_WHOLE = re.compile(r"[0-9]+(?:[.,]0{1,2})?")
#: A number that can hold a thousands mark or three decimals.
_TWO_WAYS = re.compile(r"[+\-−–]?[0-9]{1,3}[.,][0-9]{3}")


class CellError(ValueError):
    """A cell that cannot be taken: what is wrong with it and how to mend it."""


@dataclass(frozen=True)
class Column:
    """One column of the table.

    Attributes:
        key: the field of the fitment; behind a point, of its compromise.
        name: the head without its unit.
        unit: of lengths "mm", of masses "kg", else empty.
        group: what it is shown with.
        tip: what it means.
        read: a text that is not empty, and the unit of the sheet, to the value. Raises CellError, UnitsError.
        kind: of the part that it names, or None.
        words: what may be typed, where that is a closed list.
    """

    key: str
    name: str
    group: str
    tip: str
    read: Callable[[str, str], object]
    unit: str = ""
    kind: Kind[Any] | None = None
    words: tuple[str, ...] = ()

    @property
    def head(self) -> str:
        """The head with its unit."""
        return f"{self.name}, {self.unit}" if self.unit else self.name

    @property
    def is_number(self) -> bool:
        """True where its cells hold numbers."""
        return self.read not in (_text, _name, _flange, _must, _part)

    def value(self, fitment: Fitment) -> object:
        """Return the fitment's value, None where it is not known."""
        owner, _, field = self.key.rpartition(".")
        holder: object = fitment.compromise if owner else fitment
        return None if holder is None else getattr(holder, field)

    def cell(self, fitment: Fitment) -> Cell:
        """Return what stands in a fitment's cell."""
        value = self.value(fitment)
        if self.key == "must":
            return None if value is None else "must" if value else "want"
        return cast(Cell, value) if value != "" else None

    def text(self, fitment: Fitment) -> str:
        """Return what stands in a fitment's cell as text that is read back to the same value."""
        return cell_text(self.cell(fitment))


def cell_text(cell: Cell) -> str:
    """Return a cell as text; a number in its shortest exact form, never in powers of ten.

    Three decimals behind up to three digits get a zero: 1.250 can be a thousand.
    """
    if cell is None:
        return ""
    if isinstance(cell, float):
        if cell.is_integer():
            return str(int(cell))
        text = format(Decimal(repr(cell)), "f")
        return f"{text}0" if _TWO_WAYS.fullmatch(text) else text
    return str(cell)


def _text(text: str, _unit: str) -> object:
    if len(text) > _LONGEST_TEXT:
        raise CellError(f"has {len(text)} characters; {_LONGEST_TEXT} at most")
    odd = next((c for c in text if not c.isprintable() and c not in "\n\t"), None)
    if odd is not None:
        raise CellError(f"holds {odd!r}, which cannot be printed; type it anew")
    return unicodedata.normalize("NFC", text)


def _name(text: str, unit: str) -> object:
    if "\n" in text or "\t" in text:
        raise CellError("holds a line break or a tab; a name stands on one line")
    return _text(text, unit)


def _flange(text: str, _unit: str) -> object:
    if not re.fullmatch(r"[A-Za-z]{1,3}", text):
        raise CellError(f"{text!r} is no flange; write its letters, as J or JJ")
    return text.upper()


def _must(text: str, _unit: str) -> object:
    found = _MUST.get(text.casefold())
    if found is None:
        words = set(re.findall(r"[a-z]+", text.casefold()))
        both = "says both; keep one of" if {"must", "want"} <= words else f"{text!r} is neither; write"
        raise CellError(f"{both} must or want, or leave it empty")
    return found


def _within(value: float, least: float, most: float, what: str, unit: str, other: str = "") -> float:
    if not least <= value <= most:
        size = "small" if value < least else "large"
        shown = f"{value:.6g} {unit}".strip()
        span = f"{least:g} to {most:g} {unit}".strip()
        raise CellError(f"{shown} is too {size} for {what}: {span}{other}")
    return value


def _length(least: float, most: float, what: str) -> Callable[[str, str], object]:
    def read(text: str, unit: str) -> object:
        value = parse_length_mm(text, cast(LengthUnit, unit or "mm"))
        other = ""
        if not least <= value <= most and not re.search(r"[a-z\"″”']", text, re.IGNORECASE):
            instead = "in" if unit != "in" else "mm"
            as_other = value * 25.4 if instead == "in" else value / 25.4
            if least <= as_other <= most:
                other = f"; if {text} {instead} is meant ({as_other:.2f} mm), write the unit behind it"
        return _within(value, least, most, what, "mm", other)

    return read


def _mass(text: str, unit: str) -> object:
    value = parse_mass_kg(text, cast(MassUnit, unit or "kg"))
    return _within(value, 50.0, 6000.0, "the load of a wheel", "kg")


def _code(least: float, most: float, what: str) -> Callable[[str, str], object]:
    def read(text: str, _unit: str) -> object:
        try:
            value = parse_number(text)
        except UnitsError as error:
            if re.search(r"x|×", text, re.IGNORECASE):
                raise CellError(
                    f"{text!r} is a whole size; diameter, width and flange have a column each"
                ) from None
            raise CellError(f"{error}; a code is a plain number, as {least:g}") from None
        inches = value / 25.4
        mend = f"; {value:g} mm would be {inches:.4g}: write the code" if least <= inches <= most else ""
        return _within(value, least, most, what, "", mend)

    return read


def _count(least: int, most: int, what: str) -> Callable[[str, str], object]:
    def read(text: str, _unit: str) -> object:
        if not _WHOLE.fullmatch(text):
            if re.fullmatch(r"[-−–]\s*[0-9]+(?:[.,]0{1,2})?", text):
                raise CellError(f"{text} is negative; {what} is {least} or more")
            if re.fullmatch(r"[0-9]{1,3}(?:[.,' \u00a0\u202f][0-9]{3})+", text):
                bare = re.sub(r"[^0-9]", "", text)
                raise CellError(
                    f"{text!r} can be {bare} or a fraction; write thousands without a mark: {bare}"
                )
            raise CellError(f"{text!r} is not a whole number; write digits alone, as {max(least, 1)}")
        if len(text) > 12:
            raise CellError(f"{text[:12]}... is too large for {what}: {most} at most")
        return int(_within(int(re.split(r"[.,]", text)[0]), least, most, what, ""))

    return read


def _year(text: str, unit: str) -> object:
    if re.fullmatch(r"[0-9]{2}", text):
        raise CellError(f"{text} is no year; write all four digits, as 20{text}")
    if re.search(r"[0-9][-/.][0-9]", text) and not _WHOLE.fullmatch(text):
        raise CellError(f"{text!r} is a date; write the year alone, with four digits")
    return _count(1990, 2200, "a year")(text, unit)


def _share(what: str) -> Callable[[str, str], object]:
    def read(text: str, _unit: str) -> object:
        per_cent = text.endswith("%")
        try:
            value = parse_number(text.rstrip("%").strip())
        except UnitsError as error:
            raise CellError(f"{error}; write a number from 0 to 1") from None
        if not per_cent and 0.0 <= value <= 1.0:
            return value
        if 0.0 < value <= 100.0 and (per_cent or value > 1.0):
            raise CellError(
                f"{text} is not {what} from 0 to 1; for {value:g} per cent write {value / 100.0:g}"
            )
        raise CellError(f"{text} is not {what}; write a number from 0 to 1")

    return read


def _money(least: float, what: str) -> Callable[[str, str], object]:
    def read(text: str, _unit: str) -> object:
        if _TWO_WAYS.fullmatch(text):
            bare = re.sub(r"[.,]", "", text)
            as_it_is = text.replace(",", ".")
            raise CellError(f"{text!r} can be {bare} or {as_it_is}; write {bare}, or {as_it_is}0")
        try:
            value = parse_number(text)
        except UnitsError as error:
            raise CellError(f"{error}; write the number alone, in the project's currency") from None
        if value < least:
            raise CellError(f"{value:g} is negative; {what} is {least:g} or more")
        return value

    return read


def _part(text: str, unit: str) -> object:
    return _name(text, unit)


_ANY = -1e9
#: Wider than what can be drawn: such a row is not known to a plan, but no typing error.
_SIZE = (_code(10.0, 30.0, "a diameter code"), _code(3.0, 18.0, "a width code"))
_INSET, _LIP = _length(-250.0, 250.0, "an inset"), _length(1.0, 80.0, "a lip")
_BOLTS, _YEARLY = _count(1, 20, "a number of bolts"), _count(0, 1_000_000, "a number of wheels")


def _column(
    key: str, name: str, group: str, tip: str, read: Callable[[str, str], object], unit: str = ""
) -> Column:
    return Column(key, name, group, tip, read, unit)


def _names(key: str, name: str, group: str, tip: str, kind: Kind[Any]) -> Column:
    return Column(key, name, group, tip, _part, kind=kind)


COLUMNS: tuple[Column, ...] = (
    _column(
        "name", "Name", NEED, "One row, one name; a name that the project has is the same fitment", _name
    ),
    _column("customer", "Customer or plan", NEED, "Who asks for it", _text),
    _column("car", "Car", NEED, "Car that it goes on", _text),
    _column("car_class", "Car class", NEED, "As you sort cars", _text),
    _column("axle", "Axle", NEED, "front, rear or both", _text),
    _column("use", "Use", NEED, "road, track or both", _text),
    _column("diameter_code", "Diameter code", NEED, "Of the size, as 18", _SIZE[0]),
    _column("width_code", "Width code", NEED, "Of the size, as 10 or 9 1/2", _SIZE[1]),
    _column("flange", "Flange", NEED, "Letters of the flange; J where none are given", _flange),
    _column("inset_low_mm", "Inset from", NEED, "Least inset of the window; + outboard", _INSET, "mm"),
    _column(
        "inset_high_mm",
        "Inset to",
        NEED,
        "Greatest inset of the window; the same for one inset",
        _INSET,
        "mm",
    ),
    _column("tyre", "Tyre", NEED, "As 265/35R18", _text),
    _column("load_kg", "Wheel load", NEED, "On one wheel", _mass, "kg"),
    _column("lip_mm", "Least inner lip", NEED, "Least metal of the inner lip", _LIP, "mm"),
    _column(
        "spoke_mm",
        "Least spoke depth",
        NEED,
        "Least depth of the spokes",
        _length(1.0, 250.0, "a spoke"),
        "mm",
    ),
    _column("bolt_count", "Bolts", HUB, "Number of bolts; 1 for a centre nut", _BOLTS),
    _column(
        "bolt_circle_mm",
        "Bolt circle",
        HUB,
        "Diameter of the bolt circle",
        _length(50.0, 500.0, "a bolt circle"),
        "mm",
    ),
    _column("bore_mm", "Bore", HUB, "Diameter of the bore", _length(20.0, 400.0, "a bore"), "mm"),
    _names("shape", "Brake", HUB, "Stay-out shape of the project", edits.SHAPE),
    _names("rules", "Rule set", HUB, "Rule set of the project", edits.RULE_SET),
    _names("wheel", "Wheel that serves it", HUB, "Wheel of the project", edits.WHEEL),
    Column("must", "Must or want", PLAN, "A must row has to be served", _must, words=("must", "want")),
    _column("certainty", "Certainty, 0 to 1", PLAN, "That it comes, as 0.8", _share("a certainty")),
    _column("first_year", "First year", PLAN, "First year with wheels", _year),
    _column("last_year", "Last year", PLAN, "Last year with wheels", _year),
    _column("volume_low", "Wheels a year, low", PLAN, "Fewest that are thought of", _YEARLY),
    _column("volume_likely", "Wheels a year, likely", PLAN, "The most likely number", _YEARLY),
    _column("volume_high", "Wheels a year, high", PLAN, "Most that are thought of", _YEARLY),
    _column(
        "contribution",
        "Contribution per wheel",
        PLAN,
        "Price less everything but blank and machining",
        _money(_ANY, "a contribution"),
    ),
    _column(
        "multi_piece_price",
        "Multi-piece price",
        PLAN,
        "Of a wheel made of several pieces without dies; empty where none is offered",
        _money(0.0, "a price"),
    ),
    _column("compromise.words", "Compromise", GIVE_UP, "What is given up, as told to the customer", _text),
    _column("compromise.width_code", "Compromise width code", GIVE_UP, "Empty keeps the need's", _SIZE[1]),
    _column(
        "compromise.inset_low_mm", "Compromise inset from", GIVE_UP, "Empty keeps the need's", _INSET, "mm"
    ),
    _column(
        "compromise.inset_high_mm", "Compromise inset to", GIVE_UP, "Empty keeps the need's", _INSET, "mm"
    ),
    _column("compromise.lip_mm", "Compromise inner lip", GIVE_UP, "Empty keeps the need's", _LIP, "mm"),
    _names("compromise_shape", "Compromise brake", GIVE_UP, "The smaller brake", edits.SHAPE),
    _column(
        "compromise.share",
        "Compromise share, 0 to 1",
        GIVE_UP,
        "Share of the volume that would still sell, as 0.7",
        _share("a share"),
    ),
    _column(
        "compromise.contribution",
        "Compromise contribution",
        GIVE_UP,
        "Per wheel, of the compromise",
        _money(_ANY, "a contribution"),
    ),
)

BY_KEY: Mapping[str, Column] = MappingProxyType({column.key: column for column in COLUMNS})
HEADS = tuple(column.head for column in COLUMNS)

#: The fields of a compromise that have a column.
GIVEN_UP = tuple(c.key for c in COLUMNS if c.key.startswith("compromise."))
