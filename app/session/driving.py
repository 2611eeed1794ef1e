"""What a number typed into a driving dimension does to the project; one number, one clear meaning."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from app.language import spoken, tr
from app.project import edits
from app.project.constraining import NotHeldError, rows_of
from app.project.holding import held
from app.project.numbering import constraint_words
from app.project.project import Project
from app.project.wheel import Wheel
from app.project.wheel_edits import inset_from_backspace, with_inset, with_width
from app.session import drag
from app.session.dimensions import LEAST_MM, Dimension, Measure, Wanted, found, hub_face
from app.session.edited import EditError, find, outline_of, with_asked, with_section
from app.session.shown import Shown
from app.studies.fit import measure_wheel
from app.units import LengthUnit, format_angle, format_length
from geometry.errors import GeometryError
from geometry.shape.edits import with_bulge, with_radius, with_vertex_at
from geometry.shape.edits_lines import together
from geometry.shape.edits_offset import walled
from geometry.shape.edits_stretch import Spot
from geometry.shape.held import Constraint, Hold
from geometry.shape.published import width_mm
from geometry.shape.section import Section

#: A typed width within this of a code's own is that code: codes lie 12.7 mm apart.
_SAME_WIDTH_MM = 0.6
#: A dimension within this of what was typed is that, mm or degrees.
_TYPED = 1e-3
_ASKED = {
    Measure.ALONG_Z: Hold.ALONG_Z,
    Measure.ALONG_R: Hold.ALONG_R,
    Measure.STRAIGHT: Hold.DISTANCE,
    Measure.EDGE: Hold.DISTANCE,
    Measure.ARC: Hold.RADIUS,
    Measure.RADIUS: Hold.RADIUS,
}
_CODES = [k / 2.0 for k in range(6, 41)]


@dataclass(frozen=True)
class Driven:
    """A new project, the name of its step, and what a person must know of it beside; empty for nothing."""

    project: Project
    step: str
    words: str = ""


def with_value(project: Project, dimension: Dimension, value: float) -> Driven:
    """Return the project with a dimension at a value, in mm or degrees, and all that follows in its place.

    What was typed wins: where constraints and formulas leave another value, it is refused.

    Raises:
        EditError: it is only for reference, or the value cannot be had; says why and how to mend it.
    """
    made = _alone(project, dimension, value)
    outline = outline_of(project, dimension.wanted.of)
    if outline is None or not (outline.constraints or outline.parameters):
        return made
    reason = ""
    for asked in (made.project, _asking(made.project, dimension.wanted, value)):
        try:
            following = held(project, asked, exact=True)
        except NotHeldError as refused:
            reason = reason or spoken(str(refused))
            continue
        # What was asked for this once is asked no more.
        kept = with_asked(following.project, dimension.wanted.of, constraints=outline.constraints)
        if _has(kept, dimension.wanted, value):
            return replace(made, project=kept)
        if following.refused:
            return made  # what is driven is offered to be released when it is committed
    beside = "; ".join(constraint_words(c, project.display_unit) for c in outline.constraints)
    reason = reason or tr("It is held otherwise by: {beside}.", beside=beside or tr("its formulas"))
    raise EditError(
        tr(
            "{name} cannot be {value}. {reason}",
            name=dimension.name,
            value=_shown(project, dimension, value),
            reason=reason,
        )
    )


def _shown(project: Project, dimension: Dimension, value: float) -> str:
    """Return a dimension's value as text with its unit."""
    if dimension.is_angle:
        return format_angle(value)
    return format_length(value, "in" if project.display_unit == "in" else "mm")


def _asking(project: Project, wanted: Wanted, value: float) -> Project:
    """Return the project with a dimension of two vertices asked for as a constraint."""
    outline = outline_of(project, wanted.of)
    kind = _ASKED.get(wanted.measure)
    if outline is None or kind is None:
        return project
    rows = rows_of(outline)
    end = (wanted.a + 1) % len(rows) if wanted.measure in (Measure.EDGE, Measure.ARC) else wanted.b
    vertices = (wanted.a + 1,) if wanted.measure is Measure.RADIUS else (wanted.a + 1, end + 1)
    if kind in (Hold.ALONG_Z, Hold.ALONG_R):
        column = 0 if kind is Hold.ALONG_Z else 1
        value = math.copysign(value, rows[end, column] - rows[wanted.a, column])
    asked = Constraint(kind, vertices, value)
    return with_asked(project, wanted.of, constraints=(*outline.constraints, asked))


def _has(project: Project, wanted: Wanted, value: float) -> bool:
    """Return whether a dimension measures what was typed."""
    thing = find(project, wanted.of)
    wheel = thing if isinstance(thing, Wheel) else None
    measured = None if wheel is None else measure_wheel(project, wheel)
    if measured is None:
        shown = Shown(project, None, None, (), None, None, edited=wanted.of)
    else:
        shown = Shown(
            project, wheel, measured.outline, measured.faults, measured.measurements, None, edited=wanted.of
        )
    now = found(shown, wanted)
    # A faulty outline has no wall to be measured; it says so itself.
    return now is None or abs(now.value - value) <= _TYPED


def _alone(project: Project, dimension: Dimension, value: float) -> Driven:
    """Return the project with a dimension at a value, whatever its constraints say."""
    if not dimension.drives:
        raise EditError(dimension.why_not)
    wanted, name = dimension.wanted, dimension.name
    if value < 0.0 and wanted.measure is not Measure.INSET:
        shown = _shown(project, dimension, value)
        raise EditError(tr("{name}: it is 0 or more, not {value}.", name=name, value=shown))
    of_wheel = _OF_WHEEL.get(wanted.measure)
    try:
        if of_wheel is None:
            made = drag.changed(
                project, wanted.of, lambda s: _OF_SECTION[wanted.measure](s, dimension, value)
            )
            project = with_section(project, wanted.of, made)
            return Driven(
                project,
                tr("Type {lower}{name}", lower=name[:1].lower(), name=name[1:]),
                _TOLD.get(wanted.measure, ""),
            )
        wheel = find(project, wanted.of)
        if not isinstance(wheel, Wheel):
            raise EditError(tr("There is no wheel called {name}.", name=wanted.of.name))
        made_wheel, words = of_wheel(wheel, value, "in" if project.display_unit == "in" else "mm")
    except GeometryError as refused:
        raise EditError(spoken(str(refused))) from refused
    project = edits.replaced(project, edits.WHEEL, wheel.name, made_wheel)
    return Driven(project, tr("Type {lower}{name}", lower=name[:1].lower(), name=name[1:]), words)


def _width(wheel: Wheel, value: float, unit: LengthUnit) -> tuple[Wheel, str]:
    code = min(_CODES, key=lambda c: abs(width_mm(c) - value))
    if abs(width_mm(code) - value) > _SAME_WIDTH_MM:
        say = partial(format_length, unit=unit)
        near = sorted(sorted(_CODES, key=lambda c: abs(width_mm(c) - value))[:2])
        words = tr(" or ").join(tr("{length} ({c:g})", length=say(width_mm(c)), c=c) for c in near)
        raise EditError(
            tr(
                "Rim widths go by half inches: nearest to {length} are {words}.",
                length=say(value),
                words=words,
            )
        )
    made = with_width(wheel, code)
    return made, tr("Now {size}: both flanges moved by half, the inset is kept.", size=made.size)


def _inset(wheel: Wheel, value: float, _unit: LengthUnit) -> tuple[Wheel, str]:
    return with_inset(wheel, value), ""


def _backspace(wheel: Wheel, value: float, _unit: LengthUnit) -> tuple[Wheel, str]:
    inset = inset_from_backspace(wheel, value)
    return with_inset(wheel, inset), tr("The inset is now {inset:.2f} mm.", inset=inset).replace("-", "−")


def _hub_face(wheel: Wheel, value: float, _unit: LengthUnit) -> tuple[Wheel, str]:
    section, plane = wheel.section, hub_face(wheel)
    if not value > 0.0:
        raise EditError(tr("The hub's face lies outboard of the mounting face: more than 0."))
    dz = value - section.vertices[plane[0]].z
    return wheel.with_section(together(section, plane, dz, 0.0)), ""


def _edge(section: Section, dimension: Dimension, value: float) -> Section:
    start, end = dimension.wanted.a, (dimension.wanted.a + 1) % len(section.vertices)
    if not value > 0.0:
        raise EditError(tr("{name}: it is more than 0.", name=dimension.name))
    return _set_apart(section, start, end, value, 1.0 + 1.0j)


def _apart(section: Section, dimension: Dimension, value: float) -> Section:
    wanted = dimension.wanted
    ways = {Measure.ALONG_Z: 1.0 + 0.0j, Measure.ALONG_R: 1.0j}
    return _set_apart(section, wanted.a, wanted.b, value, ways.get(wanted.measure, 1.0 + 1.0j))


def _set_apart(section: Section, a: int, b: int, value: float, along: complex) -> Section:
    """Move b off a, or a off b where b is locked, along the axes whose parts of `along` are not 0."""
    if b < section.locked:
        a, b = b, a
    v, w = section.vertices[a], section.vertices[b]
    apart = complex((w.z - v.z) * along.real, (w.r - v.r) * along.imag)
    if abs(apart) < LEAST_MM:
        raise EditError(tr("Both lie at one place this way: drag one of them, and its side is known."))
    shift = apart * (value / abs(apart)) - apart
    if w.r + shift.imag < 0.0:
        raise EditError(tr("Vertex {b} would lie below the axle line.", b=b + 1))
    # Rounded, so that what is typed there and back comes back.
    z, r = w.z + shift.real, w.r + shift.imag
    return with_vertex_at(section, b, round(z, 9) if shift.real else w.z, round(r, 9) if shift.imag else w.r)


def _arc(section: Section, dimension: Dimension, value: float) -> Section:
    """Bend an edge to a radius between its ends, the lesser arc: bulge = tan(asin(chord / 2R) / 2)."""
    edge = dimension.wanted.a
    v, w = section.vertices[edge], section.vertices[(edge + 1) % len(section.vertices)]
    half = math.hypot(w.z - v.z, w.r - v.r) / 2.0
    if value < half:
        least = math.ceil(half * 100.0) / 100.0
        raise EditError(
            tr(
                "{name}: between its ends the least radius is {least:.2f} mm.",
                name=dimension.name,
                least=least,
            )
        )
    return with_bulge(section, edge, math.copysign(math.tan(math.asin(half / value) / 2.0), v.bulge))


def _radius(section: Section, dimension: Dimension, value: float) -> Section:
    return with_radius(section, dimension.wanted.a, value)


def _angle(section: Section, dimension: Dimension, value: float) -> Section:
    """Turn the edge after a vertex about it, or the one before where that is locked; its length stays."""
    n, at = len(section.vertices), dimension.wanted.a
    before, after = (at - 1) % n, (at + 1) % n
    if not 0.0 < value <= 180.0:
        raise EditError(tr("{name}: it is more than 0 and at most 180 degrees.", name=dimension.name))
    moved, kept = (after, before) if after >= section.locked else (before, after)
    v = complex(section.vertices[at].z, section.vertices[at].r)
    leg = complex(section.vertices[moved].z, section.vertices[moved].r) - v
    other = complex(section.vertices[kept].z, section.vertices[kept].r) - v
    now = cmath.phase(leg / other)
    place = v + other / abs(other) * cmath.rect(abs(leg), math.copysign(math.radians(value), now))
    if place.imag < 0.0:
        raise EditError(tr("Vertex {moved} would lie below the axle line.", moved=moved + 1))
    return with_vertex_at(section, moved, round(place.real, 9), round(place.imag, 9))


def _wall(section: Section, dimension: Dimension, value: float) -> Section:
    """Make a wall along a whole edge: the edge moves, or the skin across where the edge is locked."""
    edge = dimension.wanted.a
    end = (edge + 1) % len(section.vertices)
    v, w = section.vertices[edge], section.vertices[end]
    a, b = Spot(v.z, v.r, edge), Spot(w.z, w.r, end)
    return walled(section, a, b, value, across=edge < section.locked).section


_OF_WHEEL: dict[Measure, Callable[[Wheel, float, LengthUnit], tuple[Wheel, str]]] = {
    Measure.WIDTH: _width,
    Measure.INSET: _inset,
    Measure.BACKSPACE: _backspace,
    Measure.HUB_FACE: _hub_face,
}
_OF_SECTION: dict[Measure, Callable[[Section, Dimension, float], Section]] = {
    Measure.EDGE: _edge,
    Measure.ALONG_Z: _apart,
    Measure.ALONG_R: _apart,
    Measure.STRAIGHT: _apart,
    Measure.ARC: _arc,
    Measure.RADIUS: _radius,
    Measure.ANGLE: _angle,
    Measure.WALL: _wall,
}
_TOLD = {Measure.WALL: tr("The wall is that along the whole edge.")}
