"""Named parameters of an outline: reckoned one from the other, and put into what they drive.

What has an error drives nothing, and leaves what it drives as it was; the error stands beside its row.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from app.project.formula import KINDS, value_of
from app.project.formula_tree import FormulaError, Node, Value, name_trouble, names_in, parse
from geometry.shape.held import DRIVEN_COUNTS, Drive, Driven, Parameter
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex
from geometry.tolerances import LARGEST_MM

V = TypeVar("V", bound=Vertex | Corner)

#: Parameters of one outline.
MOST_PARAMETERS = 100
#: What a parameter drives takes its value to this, mm.
_SAME_MM = 1e-6
#: An inset beyond this is none of a wheel, mm.
_LARGEST_INSET_MM = 1000.0


@dataclass(frozen=True)
class Row:
    """What a parameter gives: its value (mm, degrees or a plain number), or why it has none."""

    value: float | None
    error: str = ""


@dataclass(frozen=True)
class Given:
    """One number that a parameter gives to an outline.

    Attributes:
        by: name of the parameter. row: its place among them, from 0.
    """

    by: str
    row: int
    drive: Drive
    value: float

    @property
    def words(self) -> str:
        """What is driven: 'z of vertex 12'."""
        return drive_words(self.drive)


def drive_words(drive: Drive) -> str:
    """Return in words what a drive drives."""
    if drive.what is Driven.INSET:
        return "inset"
    numbers = [str(n) for n in drive.vertices]
    if drive.what is not Driven.WALL:
        what = "radius" if drive.what is Driven.RADIUS else drive.what
        return f"{what} of vertex {numbers[0]}"
    if len(numbers) == 2:
        return f"wall from vertex {numbers[0]} to vertex {numbers[1]}"
    return f"wall from vertex {numbers[0]} to edge {numbers[1]} to {numbers[2]}"


def reckoned(parameters: Sequence[Parameter]) -> tuple[Row, ...]:
    """Return what each parameter gives, in their order; none raises."""
    return _Sheet(parameters).rows()


class _Sheet:
    """Reckons parameters, each after those that its formula names."""

    def __init__(self, parameters: Sequence[Parameter]) -> None:
        self.parameters = parameters
        self.values: dict[int, Value] = {}
        self.errors: dict[int, str] = {}
        self.at: dict[str, int] = {}
        for k, p in enumerate(parameters):
            trouble = name_trouble(p.name, self.at)
            if k >= MOST_PARAMETERS:
                trouble = f"an outline has at most {MOST_PARAMETERS} parameters"
            if p.unit not in KINDS:
                trouble = "the unit is mm, in or deg, or none"
            if trouble:
                self.errors[k] = trouble
            self.at.setdefault(p.name, k)

    def rows(self) -> tuple[Row, ...]:
        for k in range(len(self.parameters)):
            self._reckon(k, [])
        return tuple(
            Row(None, self.errors[k]) if k in self.errors else Row(float(self.values[k].number))
            for k in range(len(self.parameters))
        )

    def _reckon(self, k: int, above: list[int]) -> None:
        """Reckon a parameter, with those that it names before it; `above` are those that wait for it."""
        if k in self.values or k in self.errors:
            return
        p = self.parameters[k]
        try:
            names = list(dict.fromkeys(names_in(parse(p.formula))))
            for name in names:
                other = self.at.get(name)
                if other is None:
                    continue
                if other == k or other in above:
                    self._close_circle([*above, k], other)
                    return
                self._reckon(other, [*above, k])
                if k in self.errors:  # it lies on a circle that was found below
                    return
            self.values[k] = value_of(p.formula, p.unit, self._known)
        except FormulaError as error:
            self.errors[k] = str(error)

    def _close_circle(self, above: list[int], first: int) -> None:
        circle = above[above.index(first) :]
        path = " → ".join(self.parameters[i].name for i in (*circle, first))
        for i in circle:
            self.errors[i] = f"goes round in a circle: {path}"

    def _known(self, name: str) -> Value | None:
        other = self.at.get(name)
        if other is None:
            near = [n for n in self.at if n.lower() == name.lower()]
            if near:
                raise LookupError(f"{name} is written {near[0]}")
            return None
        if other in self.errors:
            raise LookupError(f"{name} has no value: mend that first")
        return self.values[other]


def given(parameters: Sequence[Parameter]) -> tuple[tuple[Given, ...], dict[int, str]]:
    """Return what sound parameters give to their outline, and the errors of the others by their place."""
    rows = reckoned(parameters)
    errors = {k: row.error for k, row in enumerate(rows) if row.error}
    found: list[Given] = []
    taken: dict[tuple[Driven, int], str] = {}
    for k, (parameter, row) in enumerate(zip(parameters, rows, strict=True)):
        for drive in parameter.drives:
            if k in errors or row.value is None:
                break
            trouble = _drive_trouble(drive, parameter, row.value) or _taken(drive, parameter, taken)
            if trouble:
                errors[k] = trouble
            else:
                found.append(Given(parameter.name, k, drive, row.value))
    return tuple(g for g in found if g.row not in errors), errors


def _drive_trouble(drive: Drive, parameter: Parameter, value: float) -> str:
    words = drive_words(drive) if len(drive.vertices) in DRIVEN_COUNTS[drive.what] else str(drive.what)
    if len(drive.vertices) not in DRIVEN_COUNTS[drive.what] or len(set(drive.vertices)) < len(drive.vertices):
        return f"{words}: it names {len(drive.vertices)} vertices, or one twice"
    if parameter.unit not in ("mm", "in"):
        return f"{words} is a length, and {parameter.name} is {KINDS[parameter.unit][0]}"
    least, most = {
        Driven.Z: (-LARGEST_MM, LARGEST_MM),
        Driven.INSET: (-_LARGEST_INSET_MM, _LARGEST_INSET_MM),
    }.get(drive.what, (0.0, LARGEST_MM))
    if not least <= value <= most or (drive.what is Driven.WALL and value == 0.0):
        return f"{words} cannot be {value:g} mm: it lies from {least:g} to {most:g}"
    return ""


def _taken(drive: Drive, parameter: Parameter, taken: dict[tuple[Driven, int], str]) -> str:
    """Note what a drive gives; return what is wrong where another gives it already."""
    moving = drive.vertices[1:] if drive.what is Driven.WALL else drive.vertices or (0,)
    kinds = (Driven.Z, Driven.R) if drive.what is Driven.WALL else (drive.what,)
    for number in moving:
        for kind in kinds:
            other = taken.get((kind, number))
            if other is not None:
                what = "the inset" if number == 0 else f"{kind} of vertex {number}"
                return f"{what} is driven by {other} already: release it there first"
            taken[kind, number] = parameter.name
    return ""


def applied(
    vertices: Sequence[V], locked: int, parameters: Sequence[Parameter]
) -> tuple[tuple[V, ...], dict[int, str]]:
    """Return the vertices with every driven number in place, and the errors of parameters by their place.

    Args:
        vertices: of the whole outline, the `locked` ones first.
        locked: how many leading vertices are not to be moved.
        parameters: of the outline; an inset is no matter of vertices, and passed over.
    """
    every, errors = given(parameters)
    result = list(vertices)
    for g in every:
        trouble = _out_of_reach(g, len(result), locked)
        if trouble:
            errors.setdefault(g.row, trouble)
    sound = [g for g in every if g.row not in errors]
    for g in sound:
        i = g.drive.vertices[0] - 1 if g.drive.vertices else 0
        if g.drive.what is Driven.Z:
            result[i] = replace(result[i], z=g.value)
        elif g.drive.what is Driven.R:
            result[i] = replace(result[i], r=g.value)
        elif g.drive.what is Driven.RADIUS:
            result[i] = replace(result[i], radius=g.value)
    for g in sound:
        if g.drive.what is Driven.WALL:
            trouble = _set_wall(result, g.drive.vertices, g.value)
            if trouble:
                errors.setdefault(g.row, f"{g.words}: {trouble}")
    for g in sound:
        is_wall = g.drive.what is Driven.WALL and g.row not in errors
        if is_wall and abs(wall_mm(result, g.drive.vertices) - g.value) > _SAME_MM:
            errors[g.row] = f"{g.words} cannot be kept: another parameter moves what it is measured from"
    return tuple(result), errors


def _out_of_reach(g: Given, count: int, locked: int) -> str:
    for n in g.drive.vertices:
        if n > count:
            return f"{g.words}: the outline has no vertex {n}; it has {count}"
    moving = g.drive.vertices[1:] if g.drive.what is Driven.WALL else g.drive.vertices
    for n in moving:
        if n <= locked:
            return (
                f"{g.words}: vertex {n} belongs to the locked rim contour, which follows from the size code"
            )
    return ""


def wall_mm(vertices: Sequence[Vertex | Corner], numbers: Sequence[int]) -> float:
    """Return the distance between two vertices, or of the first from the line through the other two."""
    a, *others = (complex(vertices[n - 1].z, vertices[n - 1].r) for n in numbers)
    if len(others) == 1:
        return abs(others[0] - a)
    along = others[1] - others[0]
    return abs((along.conjugate() * (a - others[0])).imag) / abs(along) if along else 0.0


def _set_wall(vertices: list[V], numbers: Sequence[int], value: float) -> str:
    """Move the far vertex, or the far edge square to itself, to a distance; return why it cannot be done."""
    a, *others = (complex(vertices[n - 1].z, vertices[n - 1].r) for n in numbers)
    if len(others) == 1:
        across = others[0] - a
        if abs(across) < _SAME_MM:
            return "both lie at one place, so that there is no direction"
        shift = across / abs(across) * (value - abs(across))
    else:
        along = others[1] - others[0]
        if abs(along) < _SAME_MM:
            return "the edge has no length"
        across = along / abs(along) * 1j
        away = (across.conjugate() * (others[0] - a)).real
        if abs(away) < _SAME_MM:
            return "the vertex lies on the edge, so that there is no side to go to"
        shift = across * (math.copysign(value, away) - away)
    if abs(shift) < 1e-12:
        return ""
    for n in numbers[1:]:
        v = vertices[n - 1]
        if v.r + shift.imag < 0.0:
            return "it would lie below the axle line"
        vertices[n - 1] = replace(v, z=v.z + shift.real, r=v.r + shift.imag)
    return ""


def with_parameter(parameters: Sequence[Parameter], parameter: Parameter) -> tuple[Parameter, ...]:
    """Return parameters with one in place of the one of its name, or added behind them."""
    if any(p.name == parameter.name for p in parameters):
        return tuple(parameter if p.name == parameter.name else p for p in parameters)
    return (*parameters, parameter)


def released(parameters: Sequence[Parameter], drive: Drive) -> tuple[Parameter, ...]:
    """Return parameters of which none gives what a drive names; what it gave stays as it is."""
    return tuple(replace(p, drives=tuple(d for d in p.drives if d != drive)) for p in parameters)


def renamed(parameters: Sequence[Parameter], names: Mapping[str, str]) -> tuple[Parameter, ...]:
    """Return parameters under other names, with their formulas following."""
    result = []
    for p in parameters:
        text = p.formula
        try:
            tree = parse(text)
        except FormulaError:
            tree = None
        if tree is not None:
            for at, old in sorted(_names_at(tree), reverse=True):
                text = text[:at] + names.get(old, old) + text[at + len(old) :]
        result.append(replace(p, name=names.get(p.name, p.name), formula=text))
    return tuple(result)


def _names_at(node: Node) -> list[tuple[int, str]]:
    own = [(node.at, node.name)] if node.kind == "name" else []
    return own + [found for part in node.parts for found in _names_at(part)]
