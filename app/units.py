"""Typed numbers in, shown numbers out: the only place that knows units other than the project's own.

What people type is read by a small grammar of our own; pint holds the table of units and is loaded on
first use of a unit other than the project's::

    sum     = [sign] term {sign term}
    term    = (number | whole "/" whole | whole whole "/" whole) [unit]
    number  = digits [mark digits] | mark digits          mark = "," or "."
    sign    = "+" | "-" | typographic minus or dash

There is no thousands mark, no exponent, no bracket and no product. Sums are exact: they are added as
fractions and rounded once, so 12.7 + 3 is 15.7 to the last bit.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Literal, NoReturn

from geometry.tolerances import LARGEST_MM

LengthUnit = Literal["mm", "in"]
MassUnit = Literal["kg", "lb"]
ForceUnit = Literal["MN", "short ton"]

#: Units of length that a number without one may be in.
LENGTHS: tuple[LengthUnit, ...] = ("mm", "in")
#: Longest text that is read at all; nobody types more for one number.
LONGEST_TEXT = 100
LARGEST_DEG = 360.0
LARGEST_KG = 10_000.0
LARGEST_NUMBER = 1e9
LARGEST_PLACE_MM = 1e9


class UnitsError(ValueError):
    """A typed text that is not one number of the wanted kind.

    Attributes:
        text: What was typed.
        position: Index of the offending character in `text`, counted from 0.
    """

    def __init__(self, reason: str, text: str, position: int) -> None:
        super().__init__(f"{reason} (at character {position + 1} of {text!r})")
        self.text = text
        self.position = position


@dataclass(frozen=True)
class Quantity:
    """A kind of number: its own unit, the unit words that may follow it (with pint's names), its limit."""

    name: str
    unit: str
    words: Mapping[str, str]
    largest: float
    example: str


def _table(**words: str) -> dict[str, str]:
    return {word: unit for unit, text in words.items() for word in text.split()}


LENGTH = Quantity(
    "length",
    "mm",
    MappingProxyType(_table(millimeter="mm", centimeter="cm", meter="m", inch="in inch inches \" ″ ” ''")),
    LARGEST_MM,
    "12,5 or 5 1/2 in",
)
#: Where something lies in a foreign drawing, whose origin may be anywhere.
PLACE = replace(LENGTH, name="place", largest=LARGEST_PLACE_MM)
ANGLE = Quantity(
    "angle", "deg", MappingProxyType(_table(degree="deg ° degree degrees")), LARGEST_DEG, "7,5 or 7.5 deg"
)
MASS = Quantity(
    "mass",
    "kg",
    MappingProxyType(_table(kilogram="kg", gram="g", pound="lb lbs")),
    LARGEST_KG,
    "11,2 kg or 24.7 lb",
)
NUMBER = Quantity("number", "", MappingProxyType({}), LARGEST_NUMBER, "5 or 2,5")

_SHOWN_AS = MappingProxyType(
    {
        "mm": "millimeter",
        "in": "inch",
        "deg": "degree",
        "kg": "kilogram",
        "lb": "pound",
        "MN": "meganewton",
        "short ton": "force_ton",
    }
)


def parse_length_mm(text: str, default_unit: LengthUnit = "mm") -> float:
    """Return the typed length in mm; a number without a unit word is in `default_unit`.

    Raises:
        UnitsError: The text is not one length within 10,000 mm; says where and how to mend it.
    """
    return _parse(text, LENGTH, default_unit)


def parse_place_mm(text: str, default_unit: LengthUnit = "mm") -> float:
    """Return a typed coordinate of a foreign drawing in mm, read as lengths are.

    Raises:
        UnitsError: The text is not one length within 1,000,000 m.
    """
    return _parse(text, PLACE, default_unit)


def parse_angle_deg(text: str) -> float:
    """Return the typed angle in degrees, within 360 either way.

    Raises:
        UnitsError: The text is not one angle.
    """
    return _parse(text, ANGLE, "deg")


def parse_mass_kg(text: str, default_unit: MassUnit = "kg") -> float:
    """Return the typed mass in kg; a number without a unit word is in `default_unit`.

    Raises:
        UnitsError: The text is not one mass within 10,000 kg.
    """
    return _parse(text, MASS, default_unit)


def parse_number(text: str) -> float:
    """Return the typed plain number (a count, a ratio, a density), without a unit word.

    Raises:
        UnitsError: The text is not one number within 1e9.
    """
    return _parse(text, NUMBER, "")


def in_own_unit(quantity: Quantity, word: str) -> Fraction:
    """Return what one unit, by a word that may follow a number, is in the quantity's own unit, exactly."""
    return _factor(quantity.words[word], _SHOWN_AS[quantity.unit])


def length_in(length_mm: float, unit: LengthUnit) -> float:
    """Return the length, given in mm, in `unit`."""
    return length_mm / _in_own(unit, "millimeter")


def format_length(
    length_mm: float, unit: LengthUnit = "mm", decimals: int | None = None, *, with_unit: bool = True
) -> str:
    """Return the length as text: two decimals in mm, three in inches unless `decimals` says otherwise."""
    if decimals is None:
        decimals = 2 if unit == "mm" else 3
    return _length(length_mm, unit, decimals, with_unit)


@functools.lru_cache(4096)  # in a drag most lengths of most steps are those of the step before
def _length(length_mm: float, unit: LengthUnit, decimals: int, with_unit: bool) -> str:
    return _shown(length_in(length_mm, unit), decimals, unit if with_unit else "")


def format_mass(mass_kg: float, unit: MassUnit = "kg", decimals: int = 2, *, with_unit: bool = True) -> str:
    """Return the mass, given in kg, as text in `unit`."""
    return _shown(mass_kg / _in_own(unit, "kilogram"), decimals, unit if with_unit else "")


def format_force(
    force_mn: float, unit: ForceUnit = "MN", decimals: int = 1, *, with_unit: bool = True
) -> str:
    """Return the force, given in MN, as text in MN or short tons (2,000 pounds-force each)."""
    return _shown(force_mn / _in_own(unit, "meganewton"), decimals, unit if with_unit else "")


def format_angle(angle_deg: float, decimals: int = 1) -> str:
    """Return the angle as text with its degree sign."""
    return f"{_shown(angle_deg, decimals, '')}°"


def _shown(value: float, decimals: int, unit: str) -> str:
    text = f"{value:.{decimals}f}"
    if text[0] == "-" and not text.strip("-0."):
        text = text[1:]  # a rounded zero has no sign
    return f"{text} {unit}" if unit else text


#: Exact by agreement (international yard and pound, 1959); the window starts without loading pint for them.
_EXACT = MappingProxyType(
    {
        ("inch", "millimeter"): Fraction(254, 10),
        ("pound", "kilogram"): Fraction(45_359_237, 100_000_000),
    }
)


@functools.cache
def _factor(unit: str, wanted: str) -> Fraction:
    """Return what one `unit` is in `wanted`, exactly; both are pint's names."""
    if unit == wanted:
        return Fraction(1)
    if (unit, wanted) in _EXACT:
        return _EXACT[unit, wanted]
    return Fraction(_registry().convert(Fraction(1), unit, wanted))


@functools.cache
def _in_own(unit: str, own: str) -> float:
    """Return what one of a shown unit is in its quantity's own, by pint's name."""
    return float(_factor(_SHOWN_AS[unit], own))


@functools.cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)


_TOKEN = re.compile(
    r"""(?P<space>\s+)
      | (?P<number>[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)
      | (?P<sign>[-+−–])
      | (?P<slash>[/⁄])
      | (?P<word>[A-Za-z]+|''|["″”°])""",
    re.VERBOSE,
)


@dataclass(frozen=True)
class _Token:
    kind: str
    text: str
    start: int

    @property
    def end(self) -> int:
        return self.start + len(self.text)

    @property
    def whole(self) -> bool:
        return self.kind == "number" and self.text.isdigit()


def _tokens(text: str) -> list[_Token]:
    found: list[_Token] = []
    place = 0
    while place < len(text):
        match = _TOKEN.match(text, place)
        before = found[-1] if found else None
        touches_number = before is not None and before.kind == "number" and before.end == place
        if touches_number and text[place] in ".,":
            reason = "a number has one decimal mark with digits after it and no thousands mark: write 1234.5"
            raise UnitsError(reason, text, place)
        if match is None:
            reason = f"{text[place]!r} has no meaning here: write a number, a fraction or a sum"
            raise UnitsError(reason, text, place)
        if match.lastgroup != "space":
            found.append(_Token(match.lastgroup or "", match.group(), place))
        place = match.end()
    return found


@dataclass(frozen=True)
class _Term:
    value: Fraction
    unit: str | None
    start: int


class _Reader:
    """Reads the tokens of one text by the grammar above."""

    def __init__(self, text: str, quantity: Quantity) -> None:
        self.text = text
        self.quantity = quantity
        self.tokens = _tokens(text)
        self.next = 0

    def terms(self) -> list[_Term]:
        found = [self._term(self._sign() if self._kind() == "sign" else 1)]
        while self._kind():
            if self._kind() != "sign":
                self._refuse("two numbers follow each other: put + or - between them")
            self._refuse_trade_hyphen()
            found.append(self._term(self._sign()))
        return found

    def _kind(self, ahead: int = 0) -> str:
        place = self.next + ahead
        return self.tokens[place].kind if place < len(self.tokens) else ""

    def _take(self) -> _Token:
        self.next += 1
        return self.tokens[self.next - 1]

    def _refuse(self, reason: str) -> NoReturn:
        start = self.tokens[self.next].start if self._kind() else len(self.text)
        raise UnitsError(reason, self.text, start)

    def _sign(self) -> int:
        return 1 if self._take().text == "+" else -1

    def _refuse_trade_hyphen(self) -> None:
        """Refuse 5-1/2, which a drawing means as five and a half and arithmetic as four and a half."""
        after = self.tokens[self.next + 1 : self.next + 3]
        sign = self.tokens[self.next]
        is_fraction = len(after) == 2 and after[0].whole and after[1].kind == "slash"
        follows_whole = self.next > 0 and self.tokens[self.next - 1].whole
        if sign.text != "+" and follows_whole and is_fraction and after[0].start == sign.end:
            self._refuse("this can mean a half more or a half less: write 5 1/2, or 5 - 1/2 with spaces")

    def _term(self, sign: int) -> _Term:
        if self._kind() != "number":
            self._refuse(f"a number is missing: write for example {self.quantity.example}")
        start = self.tokens[self.next].start
        value = self._number()
        unit = self._unit() if self._kind() == "word" else None
        return _Term(sign * value, unit, start)

    def _number(self) -> Fraction:
        if self._kind(1) == "slash":
            return self._fraction()
        first = self._take()
        value = Fraction(first.text.replace(",", "."))
        if self._kind() == "number" and self._kind(1) == "slash":
            if not first.whole:
                self._refuse("only a whole number can stand before a fraction")
            value += self._fraction()
        return value

    def _fraction(self) -> Fraction:
        above = self._whole()
        self._take()
        below = self._whole()
        if below == 0:
            self.next -= 1
            self._refuse("nothing can be divided by zero")
        if self._kind() == "slash":
            self._refuse("a fraction has one stroke")
        return Fraction(above, below)

    def _whole(self) -> int:
        if self._kind() != "number" or not self.tokens[self.next].whole:
            self._refuse("a fraction has whole numbers above and below, as in 5 1/2")
        return int(self._take().text)

    def _unit(self) -> str:
        word = self.tokens[self.next].text
        unit = self.quantity.words.get(word.lower())
        if unit is None:
            known = ", ".join(self.quantity.words)
            mend = f"use {known}" if known else "leave it out"
            self._refuse(f"{word!r} is not a unit of {self.quantity.name}: {mend}")
        self.next += 1
        return unit


def _parse(text: str, quantity: Quantity, default_unit: str) -> float:
    if len(text) > LONGEST_TEXT:
        raise UnitsError(f"longer than {LONGEST_TEXT} characters", text[:LONGEST_TEXT], LONGEST_TEXT)
    terms = _Reader(text, quantity).terms()
    default = _SHOWN_AS.get(default_unit, "")
    own = _SHOWN_AS.get(quantity.unit, "")
    units = {term.unit for term in terms}
    if None in units and units - {None, default}:
        bare = next(term for term in terms if term.unit is None)
        raise UnitsError("write the unit behind every number of the sum", text, bare.start)
    total = Fraction(0)
    for term in terms:
        total += term.value * _factor(term.unit or default, own)
        if abs(total) > quantity.largest:
            limit = f"{quantity.largest:,.0f} {quantity.unit}".rstrip().replace(",", " ")
            raise UnitsError(f"larger than any {quantity.name} here: at most {limit}", text, term.start)
    return float(total)
