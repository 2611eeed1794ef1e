"""Formulas reckoned with their units; how they are written stands in formula_tree.py."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import NoReturn

from app.project.formula_tree import LONGEST_NAME, FormulaError, Node, Value, parse
from app.units import LENGTH, LENGTHS, in_own_unit

#: Largest power of mm or degrees that may come up on the way.
LARGEST_DIMENSION = 8
#: Largest number on the way; nothing of a wheel comes near.
LARGEST = 1e12
#: Exact numbers longer than this go on as floating point.
_LONGEST_BITS = 256

Number = Fraction | float

#: What a parameter is by its unit: words, powers of length and angle.
KINDS: Mapping[str, tuple[str, int, int]] = {
    "mm": ("a length", 1, 0),
    "in": ("a length", 1, 0),
    "deg": ("an angle", 0, 1),
    "": ("a plain number", 0, 0),
}


def reckon(text: str, unit: str, known: Callable[[str], Value | None]) -> float:
    """Return what a formula gives: mm for a unit of length, degrees, or a plain number.

    Args:
        text: the formula.
        unit: a key of KINDS.
        known: value of a name; None where there is no such name, LookupError where it has no value.

    Raises:
        FormulaError: it cannot be read, or is of another kind than its unit says, or a number has no value.
    """
    return float(value_of(text, unit, known).number)


def value_of(text: str, unit: str, known: Callable[[str], Value | None]) -> Value:
    """Return what a formula gives, as `reckon` does, with its dimension."""
    tree = parse(text)
    found = _Reckoner(text, unit, known).of(tree)
    words, length, angle = KINDS[unit]
    if found.bare:
        factor = in_own_unit(LENGTH, unit) if length else Fraction(1)
        return Value(found.number * factor, length, angle)
    if (found.length, found.angle) != (length, angle):
        raise FormulaError(f"this gives {found.words}, where {words} is needed", text, tree.at)
    return found


#: What is exact of tangents and of doubled sines, by degrees.
_TANGENTS: Mapping[Fraction, int] = {
    Fraction(d): t for d, t in ((0, 0), (45, 1), (135, -1), (180, 0), (225, 1), (315, -1))
}
_DOUBLE_SINES: Mapping[Fraction, int] = {
    Fraction(d): s for d, s in ((0, 0), (30, 1), (90, 2), (150, 1), (180, 0), (210, -1), (270, -2), (330, -1))
}


class _Reckoner:
    """Reckons the tree of one formula."""

    def __init__(self, text: str, unit: str, known: Callable[[str], Value | None]) -> None:
        self.text, self.unit, self.known = text, unit, known
        self.units: set[str] = set()

    def of(self, node: Node) -> Value:
        self._gather(node)
        return self._of(node)

    def _gather(self, node: Node) -> None:
        if node.kind == "number" and node.value.length:
            self.units.add(node.name)
        for part in node.parts:
            self._gather(part)

    def _of(self, node: Node) -> Value:
        if node.kind == "number":
            return self._kept(node.value, node)
        if node.kind == "name":
            try:
                found = self.known(node.name)
            except LookupError as reason:
                self._refuse(str(reason), node)
            if found is None:
                self._refuse(f"there is no parameter called {node.name[:LONGEST_NAME]}", node)
            return found
        values = [self._of(part) for part in node.parts]
        try:
            return self._kept(self._made(node, values), node)
        except ZeroDivisionError:
            self._refuse("nothing can be divided by zero", node)
        except OverflowError:
            self._refuse("the number becomes too large", node)

    def _refuse(self, reason: str, node: Node) -> NoReturn:
        raise FormulaError(reason, self.text, node.at)

    def _kept(self, value: Value, node: Node) -> Value:
        """Return a value within bounds, as floating point where its exact number becomes long."""
        number = value.number
        if not abs(float(number)) <= LARGEST:
            self._refuse("the number becomes too large", node)
        if max(abs(value.length), abs(value.angle)) > LARGEST_DIMENSION:
            self._refuse(f"{value.words} is no measure of a wheel", node)
        if isinstance(number, Fraction) and _bits(number) > _LONGEST_BITS:
            return Value(float(number), value.length, value.angle, value.bare)
        return value

    def _made(self, node: Node, values: list[Value]) -> Value:
        kind, first = node.kind, values[0]
        if kind in "+-":
            return self._sum(node, first, values[1])
        if kind in "*/":
            second, way = values[1], 1 if kind == "*" else -1
            number = _times(first.number, second.number) if way > 0 else _over(first.number, second.number)
            length, angle = first.length + way * second.length, first.angle + way * second.angle
            return Value(number, length, angle, first.bare and second.bare)
        if kind == "negative":
            return Value(_times(first.number, -1), first.length, first.angle, first.bare)
        if kind == "^":
            power = int(node.value.number)
            return Value(_power(first.number, power), first.length * power, first.angle * power, first.bare)
        if kind in ("min", "max"):
            return self._extreme(node, values)
        if kind == "abs":
            number = first.number if first.number >= 0 else _times(first.number, -1)
            return Value(number, first.length, first.angle, first.bare)
        if kind == "sqrt":
            return self._root(node, first)
        return self._turned(node, first)

    def _alike(self, node: Node, first: Value, second: Value) -> tuple[Value, Value]:
        """Return two values of one kind: a number without a unit is of the kind of the other.

        Raises:
            FormulaError: they are of two kinds.
        """
        if first.bare != second.bare:
            bare, other = (first, second) if first.bare else (second, first)
            if (other.length, other.angle) == (1, 0):
                bare = self._as_length(node, bare)
            elif (other.length, other.angle) in ((0, 1), (0, 0)):
                bare = Value(bare.number, 0, other.angle)
            first, second = (bare, other) if first.bare else (other, bare)
        if (first.length, first.angle) != (second.length, second.angle):
            self._refuse(f"{first.words} and {second.words} do not go together here", node)
        return first, second

    def _as_length(self, node: Node, bare: Value) -> Value:
        if self.unit not in LENGTHS:
            self._refuse("write the unit behind the number that stands beside a length", node)
        if self.units - {LENGTH.words[self.unit]}:
            self._refuse(f"write the unit behind every number: there are others than {self.unit} here", node)
        return Value(bare.number * in_own_unit(LENGTH, self.unit), 1)

    def _sum(self, node: Node, first: Value, second: Value) -> Value:
        first, second = self._alike(node, first, second)
        number = first.number + second.number if node.kind == "+" else first.number - second.number
        return Value(number, first.length, first.angle, first.bare)

    def _extreme(self, node: Node, values: list[Value]) -> Value:
        best = values[0]
        for value in values[1:]:
            a, b = self._alike(node, best, value)
            first = a.number <= b.number if node.kind == "min" else a.number >= b.number
            best = a if first else b
        return best

    def _root(self, node: Node, value: Value) -> Value:
        if value.length % 2 or value.angle % 2:
            self._refuse(f"{value.words} has no square root; an area has one", node)
        if value.number < 0:
            self._refuse("a negative number has no square root", node)
        number = value.number
        if isinstance(number, Fraction):
            above, below = math.isqrt(number.numerator), math.isqrt(number.denominator)
            exact = Fraction(above, below)
            if exact * exact == number:
                return Value(exact, value.length // 2, value.angle // 2)
        return Value(math.sqrt(number), value.length // 2, value.angle // 2)

    def _turned(self, node: Node, value: Value) -> Value:
        if not value.bare and (value.length, value.angle) != (0, 1):
            self._refuse(f"{node.kind} is of an angle, and this is {value.words}", node)
        degrees = Fraction(value.number) % 360
        if node.kind == "tan":
            if degrees % 180 == 90:
                self._refuse("tan has no value at 90 degrees", node)
            exact = _TANGENTS.get(degrees)
            return Value(Fraction(exact) if exact is not None else math.tan(math.radians(float(degrees))))
        sine = degrees if node.kind == "sin" else (degrees + 90) % 360
        doubled = _DOUBLE_SINES.get(sine)
        if doubled is not None:
            return Value(Fraction(doubled, 2))
        radians = math.radians(float(degrees))
        return Value(math.sin(radians) if node.kind == "sin" else math.cos(radians))


def _times(a: Number, b: Number) -> Number:
    return a * b


def _over(a: Number, b: Number) -> Number:
    return a / b


def _power(a: Number, power: int) -> Number:
    return a**power


def _bits(number: Fraction) -> int:
    return max(number.numerator.bit_length(), number.denominator.bit_length())
