"""Formulas of named parameters, read by a small grammar of our own and reckoned with their units.

A formula touches nothing but numbers: it is split into tokens, read into a tree, and the tree is reckoned::

    sum      = product {("+" | "-") product}
    product  = signed {("*" | "/") signed}
    signed   = ["+" | "-"] power
    power    = atom ["^" ["-"] whole]
    atom     = number [unit] | fraction [unit] | name | function "(" sum {";" sum} ")" | "(" sum ")"
    number   = digits [mark digits] | mark digits         mark = "," or "."
    fraction = whole whole "/" whole, or whole "/" whole with a unit behind it

Numbers and units are those of typed lengths (app/units.py); since a comma is a decimal mark, values of a
function are parted by semicolons. A number without a unit is what stands beside it: in a sum with a length,
that many of the parameter's own unit. Sums of lengths are exact, as typed ones are.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NoReturn

from app.units import ANGLE, LENGTH, in_own_unit

#: Longest formula and name that are read, characters.
LONGEST_FORMULA, LONGEST_NAME = 200, 40
#: Parentheses and functions within each other.
DEEPEST = 20
#: Digits of one number.
MOST_DIGITS = 20
LARGEST_POWER = 8


class FormulaError(ValueError):
    """A formula that cannot be read or reckoned.

    Attributes:
        reason: without the place.
        position: of the character, from 0.
    """

    def __init__(self, reason: str, text: str, position: int) -> None:
        super().__init__(f"{reason} (at character {position + 1} of {text!r})")
        self.reason, self.text, self.position = reason, text, position


@dataclass(frozen=True)
class Value:
    """A number with its dimension.

    Attributes:
        number: in mm and degrees.
        length, angle: powers of length and angle in it.
        bare: a number that was typed without a unit, and so may still be a length, an angle or neither.
    """

    number: Fraction | float
    length: int = 0
    angle: int = 0
    bare: bool = False

    @property
    def words(self) -> str:
        """What it is, in words."""
        if self.length == self.angle == 0:
            return "a plain number"
        if self.angle == 0 and self.length in (1, 2, 3):
            return ("a length", "an area", "a volume")[self.length - 1]
        if self.length == 0 and self.angle == 1:
            return "an angle"
        parts = [f"{unit}^{power}" for unit, power in (("mm", self.length), ("deg", self.angle)) if power]
        return " ".join(parts)


FUNCTIONS = ("min", "max", "abs", "sqrt", "sin", "cos", "tan")
_UNITS = {**dict.fromkeys(LENGTH.words, LENGTH), **dict.fromkeys(ANGLE.words, ANGLE)}
_RESERVED = {*FUNCTIONS, *_UNITS, "pi"}

_TOKEN = re.compile(
    r"""(?P<space>\s+)
      | (?P<number>[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)
      | (?P<word>[^\W\d_]\w*|''|["″”°])
      | (?P<sign>[-+−–])
      | (?P<times>[*×·/⁄÷])
      | (?P<mark>[()^;,])""",
    re.VERBOSE,
)
_MINUS, _OVER = "-−–", "/⁄÷"


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


@dataclass(frozen=True)
class Node:
    """One step of a formula: a number, a name, an operation or a function, with the place it stands at."""

    kind: str
    at: int
    parts: tuple[Node, ...] = ()
    name: str = ""
    value: Value = Value(0)


def name_trouble(name: str, others: Mapping[str, object] | None = None) -> str:
    """Return what is wrong with a name of a parameter, empty if nothing is.

    `others` are the names that there are besides.
    """
    if not name:
        return "a parameter needs a name: letters, digits and _"
    if len(name) > LONGEST_NAME:
        return f"a name has at most {LONGEST_NAME} characters"
    found = _TOKEN.fullmatch(name)
    if found is None or found.lastgroup != "word" or not name[0].isalpha():
        return "a name begins with a letter and holds letters, digits and _ alone: lip_height"
    if name.lower() in _RESERVED:
        return f"{name} is a unit or a function: choose another name"
    same = [other for other in others or () if other.lower() == name.lower()]
    return f"there is already a parameter called {same[0]}" if same else ""


def parse(text: str) -> Node:
    """Return the tree of a formula.

    Raises:
        FormulaError: it does not follow the grammar, or is longer or deeper than allowed; says where.
    """
    if len(text) > LONGEST_FORMULA:
        raise FormulaError(
            f"longer than {LONGEST_FORMULA} characters", text[:LONGEST_FORMULA], LONGEST_FORMULA
        )
    return _Reader(text).whole()


def names_in(node: Node) -> Iterator[str]:
    """Yield the names that a formula uses, from left to right."""
    if node.kind == "name":
        yield node.name
    for part in node.parts:
        yield from names_in(part)


class _Reader:
    """Reads the tokens of one text by the grammar."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = list(self._split())
        self.next = 0
        self.depth = 0

    def _split(self) -> Iterator[_Token]:
        place, before = 0, None
        while place < len(self.text):
            match = _TOKEN.match(self.text, place)
            touches = before is not None and before.kind == "number" and before.end == place
            if touches and self.text[place] in ".,":
                self._refuse("a number has one decimal mark with digits behind it; ; parts two values", place)
            if match is None:
                self._refuse(f"{self.text[place]!r} has no meaning in a formula", place)
            token = _Token(match.lastgroup or "", match.group(), place)
            if token.kind == "number" and len(token.text) > MOST_DIGITS:
                self._refuse(f"a number has at most {MOST_DIGITS} digits", place)
            if token.kind != "space":
                yield token
                before = token
            place = match.end()

    def _refuse(self, reason: str, at: int | None = None) -> NoReturn:
        if at is None:
            at = self.tokens[self.next].start if self.next < len(self.tokens) else len(self.text)
        raise FormulaError(reason, self.text, at)

    def whole(self) -> Node:
        if not self.tokens:
            self._refuse("a formula is missing: a number will do", 0)
        node = self._sum()
        if self.next < len(self.tokens):
            token = self.tokens[self.next]
            if self._is_comma():
                self._refuse("a comma is a decimal mark: put ; between two values")
            if token.text in (")", ";"):
                self._refuse(f"{token.text} without ( before it")
            self._refuse("two values follow each other: put + - * or / between them")
        return node

    def _is(self, kind: str, among: str = "", ahead: int = 0) -> bool:
        place = self.next + ahead
        if place >= len(self.tokens):
            return False
        token = self.tokens[place]
        return token.kind == kind and (not among or token.text in among)

    def _take(self) -> _Token:
        self.next += 1
        return self.tokens[self.next - 1]

    def _sum(self) -> Node:
        self.depth += 1
        if self.depth > DEEPEST:
            self._refuse(f"more than {DEEPEST} parentheses within each other")
        node = self._product()
        while self._is("sign"):
            self._refuse_trade_hyphen()
            sign = self._take()
            node = Node("-" if sign.text in _MINUS else "+", sign.start, (node, self._product()))
        self.depth -= 1
        return node

    def _refuse_trade_hyphen(self) -> None:
        """Refuse 5-1/2, which a drawing means as five and a half and arithmetic as four and a half."""
        sign, after = self.tokens[self.next], self.tokens[self.next + 1 : self.next + 4]
        is_fraction = len(after) >= 3 and after[0].whole and after[1].text in "/⁄" and after[2].whole
        if (
            sign.text != "+"
            and self.tokens[self.next - 1].whole
            and is_fraction
            and after[0].start == sign.end
        ):
            self._refuse("this can mean a half more or a half less: write 5 1/2, or 5 - 1/2 with spaces")

    def _product(self) -> Node:
        node = self._signed()
        while self._is("times"):
            sign = self._take()
            over = sign.text in _OVER
            if over and self._is_fraction():
                self._refuse("a fraction behind / can be read in two ways: put it in parentheses")
            node = Node("/" if over else "*", sign.start, (node, self._signed()))
        return node

    def _signed(self) -> Node:
        if not self._is("sign"):
            return self._power()
        sign = self._take()
        node = self._power()
        return Node("negative", sign.start, (node,)) if sign.text in _MINUS else node

    def _power(self) -> Node:
        node = self._atom()
        if not self._is("mark", "^"):
            return node
        at = self._take().start
        negative = self._is("sign", _MINUS)
        if negative:
            self._take()
        if self.next >= len(self.tokens) or not self.tokens[self.next].whole:
            self._refuse("a power is a whole number, such as ^2; sqrt( ) takes a root")
        power = int(self._take().text)
        if power > LARGEST_POWER:
            self._refuse(f"the largest power is {LARGEST_POWER}", self.tokens[self.next - 1].start)
        if self._is("mark", "^"):
            self._refuse("a power of a power: put parentheses")
        return Node("^", at, (node,), value=Value(Fraction(-power if negative else power)))

    def _atom(self) -> Node:
        if self._is("number"):
            return self._number()
        if self._is("word"):
            return self._word()
        if self._is("mark", "("):
            at = self._take().start
            node = self._sum()
            self._close(at)
            return node
        self._refuse("a value is missing: a number, a name or ( )")

    def _close(self, opened: int) -> None:
        if self._is_comma():
            self._refuse("a comma is a decimal mark: put ; between two values")
        if not self._is("mark", ")"):
            what = (
                "two values follow each other, or ) is missing"
                if self.next < len(self.tokens)
                else ") is missing"
            )
            self._refuse(f"{what}: the ( stands at character {opened + 1}")
        self._take()

    def _is_comma(self) -> bool:
        return self.next < len(self.tokens) and self.tokens[self.next].text.startswith(",")

    def _word(self) -> Node:
        token = self._take()
        lower = token.text.lower()
        if lower in FUNCTIONS:
            if not self._is("mark", "("):
                self._refuse(f"( is missing behind {lower}")
            opened = self._take().start
            parts = [self._sum()]
            while self._is("mark", ";"):
                self._take()
                parts.append(self._sum())
            self._close(opened)
            if lower not in ("min", "max") and len(parts) > 1:
                self._refuse(f"{lower} takes one value", token.start)
            return Node(lower, token.start, tuple(parts))
        if lower == "pi":
            return Node("number", token.start, value=Value(math.pi))
        if lower in _UNITS:
            self._refuse(f"the unit {token.text} stands behind a number", token.start)
        if self._is("mark", "("):
            near = difflib.get_close_matches(lower[:LONGEST_NAME], FUNCTIONS, 1)
            mend = f"perhaps {near[0]} is meant" if near else f"there are {', '.join(FUNCTIONS)}"
            self._refuse(f"there is no function {token.text[:LONGEST_NAME]}: {mend}", token.start)
        return Node("name", token.start, name=token.text)

    def _is_fraction(self) -> bool:
        """Return whether whole / whole with a unit behind it comes next."""
        return (
            self.next + 3 < len(self.tokens)
            and self.tokens[self.next].whole
            and self._is("times", "/⁄", 1)
            and self.tokens[self.next + 2].whole
            and self._is_unit(3)
        )

    def _is_unit(self, ahead: int = 0) -> bool:
        place = self.next + ahead
        return self._is("word", ahead=ahead) and self.tokens[place].text.lower() in _UNITS

    def _number(self) -> Node:
        at = self.tokens[self.next].start
        if self._is_fraction():
            value = self._fraction()
        else:
            first = self._take()
            value = Fraction(first.text.replace(",", "."))
            if self._is("number") and self._is("times", "/⁄", 1):
                if not first.whole or not self.tokens[self.next].whole:
                    self._refuse("only a whole number can stand before a fraction of whole numbers")
                value += self._fraction()
        unit = None
        if self._is("word") and self._is_unit():
            unit = self._take().text.lower()
        elif self._is("word"):
            self._refuse(f"{self.tokens[self.next].text[:LONGEST_NAME]!r} is not a unit; put * before a name")
        if unit is None:
            return Node("number", at, value=Value(value, bare=True))
        quantity = _UNITS[unit]
        value *= in_own_unit(quantity, unit)
        is_length = quantity is LENGTH
        return Node(
            "number", at, name=quantity.words[unit], value=Value(value, int(is_length), int(not is_length))
        )

    def _fraction(self) -> Fraction:
        above = int(self._take().text)
        self._take()
        if self.next >= len(self.tokens) or not self.tokens[self.next].whole:
            self._refuse("a fraction has whole numbers above and below, as in 5 1/2")
        below = int(self._take().text)
        if below == 0:
            self._refuse("nothing can be divided by zero", self.tokens[self.next - 1].start)
        return Fraction(above, below)
