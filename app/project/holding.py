"""What an edit leaves: parameters put into what they drive, and numbers of vertices followed.

Wheels, blanks and the outlines of stay-out shapes carry their parameters themselves. An edit is held against
what was there before: it may add and take away vertices, but what is driven keeps its value.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

from app.project.constraining import (
    NotHeldError,
    Thing,
    locked_in,
    vertices_in,
    with_held,
    with_readable,
    with_vertices,
)
from app.project.numbering import constraint_words, dimensions_followed, followed, renumbered
from app.project.parameters import Given, applied, given, wall_mm
from app.project.project import Project
from app.project.wheel import Wheel
from app.project.wheel_edits import with_inset
from app.units import format_length
from geometry.shape.blank import Blank
from geometry.shape.held import Driven, Hold
from geometry.shape.outline import Grade, NamedOutline, StayOut

T = TypeVar("T")
P = TypeVar("P", Wheel, Blank, StayOut)

#: A driven number that an edit changes by less was not meant, mm.
_SAME_MM = 1e-9


@dataclass(frozen=True)
class Refusal:
    """Something driven that an edit would have moved: it stays."""

    name: str
    given: Given

    @property
    def words(self) -> str:
        """A sentence on it."""
        g = self.given
        what = g.words[:1].upper() + g.words[1:]
        return f"{what} is driven by {g.by}: change that, or release it."


@dataclass(frozen=True)
class Held:
    """A project as it may stand after an edit.

    Attributes:
        said: sentences on what was dropped.
        refused: what is driven and was not moved.
    """

    project: Project
    said: tuple[str, ...] = ()
    refused: tuple[Refusal, ...] = ()


def settled(thing: Thing) -> tuple[Thing, dict[int, str]]:
    """Return an outline with its parameters put into what they drive, and their errors by their place."""
    if not thing.parameters:
        return thing, {}
    if isinstance(thing, Wheel):
        for g in given(thing.parameters)[0]:
            if g.drive.what is Driven.INSET and g.value != thing.inset_mm:
                thing = with_inset(thing, g.value)
    before = vertices_in(thing)
    vertices, errors = applied(before, locked_in(thing), thing.parameters)
    for k, p in enumerate(thing.parameters):
        if not isinstance(thing, Wheel) and any(d.what is Driven.INSET for d in p.drives):
            errors.setdefault(k, "a wheel alone has an inset")
    return (thing if vertices == before else with_vertices(thing, vertices)), errors


def with_settled(project: Project) -> Project:
    """Return the project with every parameter put into what it drives; what has errors stays as it is."""
    return _with_things(project, lambda _old, new, _name: settled(new)[0], Project(project.name))


def held(before: Project, after: Project, exact: bool = False) -> Held:
    """Return what an edit leaves of a project, from what stood before it.

    With `exact` each number that the edit changed stays as it is, as one that was typed.

    Raises:
        NotHeldError: constraints could not be held; names those that do not go together.
    """
    things: list[Thing] = [*after.wheels, *after.blanks, *(o for s in after.shapes for o in s.outlines)]
    if not any(map(_asks, things)):
        return Held(after)
    said: list[str] = []
    refused: list[Refusal] = []
    unit = after.display_unit

    def one(old: Thing | None, new: Thing, name: str) -> Thing:
        if not _asks(new):
            return new
        if old is new:
            return new if before.shapes is after.shapes else _with_other_shapes(after, new, said)
        made, words, kept = _held(old, new, name, unit)
        made, gone = with_readable(made, unit)
        words += gone
        if made.constraints:
            raw, made = made, with_held(after, old, made, exact)
            words += _given_way(old, raw, made, unit)
        if made.dimensions and old is not None:
            made, gone = _with_dimensions(old, made)
            words += gone
        said.extend(words)
        refused.extend(kept)
        return made

    made = _with_things(after, one, before)
    return Held(made, tuple(said), tuple(refused))


def _asks(thing: Thing) -> bool:
    """Return True where an outline asks anything of its vertices, or has measured between them."""
    return bool(thing.parameters or thing.constraints or thing.dimensions)


def _with_things(
    project: Project, change: Callable[[Thing | None, Thing, str], Thing], before: Project
) -> Project:
    """Return the project with every outline changed, given what it was before; the same if none changed."""
    wheels = tuple(
        _only(change(old, new, new.name), Wheel) for old, new in _pairs(before.wheels, project.wheels)
    )
    blanks = tuple(
        _only(change(old, new, new.name), Blank) for old, new in _pairs(before.blanks, project.blanks)
    )
    shapes = []
    for old, new in _pairs(before.shapes, project.shapes):
        was = old.outlines if old is not None and len(old.outlines) == len(new.outlines) else ()
        outlines = tuple(
            _only(change(was[k] if was else None, o, new.name), NamedOutline)
            for k, o in enumerate(new.outlines)
        )
        shapes.append(_with_outlines(new, outlines))
    made, there = (*wheels, *blanks, *shapes), (*project.wheels, *project.blanks, *project.shapes)
    if all(a is b for a, b in zip(made, there, strict=True)):
        return project
    return replace(project, wheels=wheels, blanks=blanks, shapes=tuple(shapes))


def _held(old: Thing | None, new: Thing, name: str, unit: str) -> tuple[Thing, list[str], list[Refusal]]:
    said: list[str] = []
    if old is not None:
        a, b = vertices_in(old), vertices_in(new)
        if len(a) != len(b):
            numbers = followed(a, b, (locked_in(old), locked_in(new)))
            parameters, constraints, said = renumbered(new.parameters, new.constraints, numbers, len(b), unit)
            new = replace(new, parameters=parameters, constraints=constraints)
    made, _ = settled(new)
    refused = [] if old is None else [Refusal(name, g) for g in _moved(old, new)]
    return made, said, refused


def _with_dimensions(old: Thing, new: Thing) -> tuple[Thing, list[str]]:
    """Return an outline whose added dimensions follow their vertices, with a sentence on what went."""
    a, b = vertices_in(old), vertices_in(new)
    if a == b:
        return new, []
    numbers = followed(a, b, (locked_in(old), locked_in(new)))
    dimensions, said = dimensions_followed(new.dimensions, a, b, numbers)
    return (new if dimensions == new.dimensions else replace(new, dimensions=dimensions)), said


def _with_other_shapes(project: Project, wheel: Thing, said: list[str]) -> Thing:
    """Return a wheel as it keeps clear of shapes that were changed; it stays where it cannot."""
    clear, unit = [c for c in wheel.constraints if c.kind is Hold.CLEAR], project.display_unit
    if not clear:
        return wheel
    try:
        made = with_held(project, wheel, wheel)
    except NotHeldError:
        said.append(f"No longer held: {constraint_words(clear[0], unit)}. The shape has come too near.")
        return wheel
    if vertices_in(made) == vertices_in(wheel):
        return made
    if isinstance(wheel, Wheel) and wheel.locked:
        said.append(f"{wheel.name} is locked and stays. No longer held: {constraint_words(clear[0], unit)}.")
        return wheel
    if isinstance(wheel, Wheel):
        said.append(f"{wheel.name} keeps clear of the changed shape.")
    return made


def _given_way(old: Thing | None, raw: Thing, made: Thing, unit: str) -> list[str]:
    """Return a sentence where what the edit moved does not lie where it was put."""
    was, put, now = (vertices_in(thing) if thing is not None else () for thing in (old, raw, made))
    if not len(was) == len(put) == len(now):
        return []
    apart = [
        (math.hypot(c.z - b.z, c.r - b.r), i)
        for i, (a, b, c) in enumerate(zip(was, put, now, strict=True))
        if (a.z, a.r) != (b.z, b.r)
    ]
    most, i = max(apart, default=(0.0, 0))
    if most < 0.005:
        return []
    off = format_length(most, "in" if unit == "in" else "mm")
    return [f"Vertex {i + 1} is held {off} from where it was put."]


def _moved(old: Thing, new: Thing) -> Iterator[Given]:
    """Yield what is driven alike before and after an edit, and was moved by it."""
    if old.parameters != new.parameters or len(vertices_in(old)) != len(vertices_in(new)):
        return
    every, _ = given(new.parameters)
    for g in every:
        now, was = (_number(thing, g) for thing in (new, old))
        if now is not None and was is not None and abs(now - was) > _SAME_MM:
            yield g


def _number(thing: Thing, g: Given) -> float | None:
    """Return what a drive names, as it stands in an outline; None where it is not there."""
    vertices, what = vertices_in(thing), g.drive.what
    if what is Driven.INSET:
        return thing.inset_mm if isinstance(thing, Wheel) else None
    if any(n > len(vertices) for n in g.drive.vertices):
        return None
    if what is Driven.WALL:
        return wall_mm(vertices, g.drive.vertices)
    v = vertices[g.drive.vertices[0] - 1]
    return {Driven.Z: v.z, Driven.R: v.r}.get(what, v.radius)


def _pairs(before: tuple[P, ...], after: tuple[P, ...]) -> Iterator[tuple[P | None, P]]:
    """Yield what is after an edit with what it was: by its name, or by its place where it was renamed."""
    named = {part.name: part for part in before}
    for k, new in enumerate(after):
        old = named.get(new.name)
        if old is None and len(before) == len(after) and before[k].name not in {p.name for p in after}:
            old = before[k]
        yield old, new


def _with_outlines(shape: StayOut, outlines: tuple[NamedOutline, ...]) -> StayOut:
    if all(a is b for a, b in zip(outlines, shape.outlines, strict=True)):
        return shape
    moved = [o.corners for o in outlines] != [o.corners for o in shape.outlines]
    shape = replace(shape, outlines=outlines)
    return redrawn(shape) if moved else shape


def redrawn(shape: StayOut) -> StayOut:
    """Return a shape whose outline was changed by hand: no trial fit proves it, and nobody has confirmed it.

    What its source says of unit, zero and gap still holds; where its body ends and whether the whole sweep is
    in it are to be confirmed anew.
    """
    card, extent = shape.card, shape.extent
    if card.grade is Grade.PROVED:
        card = replace(card, grade=Grade.TRACING)
    return replace(shape, card=card, extent=replace(extent, confirmed_by=""))


def _only(thing: Thing, kind: type[T]) -> T:
    assert isinstance(thing, kind)
    return thing
