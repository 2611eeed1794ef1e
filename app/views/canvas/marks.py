"""What the overlay says about a state: the tightest place, faults, planes, cuts, holes, names, extents."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor

from app.language import spoken, tr
from app.project.wheel import Fixing, SingleNut, Wheel
from app.reports.numbers import Numbers
from app.reports.rows import AnyRow, place_of, required_of, value_of, worst_three
from app.reports.sentences import SIGNS, needs
from app.session.shown import Shown
from app.units import LengthUnit, format_length
from app.views.canvas.band import COLOURS, THICK_MM, THIN_MM, ramp
from app.views.canvas.content import Bracket, Callout, Legend, Mark, Plane, Ring, Stroke, Words
from app.views.readings_text import minus, open_words
from app.views.theme import Theme
from geometry.readings.measure import GapRow, Measurements, NamedReading, WallRow
from geometry.readings.rules import GapRule, RuleSet
from geometry.readings.stack import StackRow
from geometry.shape.blank import Blank
from geometry.shape.outline import Grade, StayOut
from geometry.shape.section import Zone

Place = tuple[float, float]


def planes(wheel: Wheel | None, unit: LengthUnit) -> list[Plane]:
    """Return the planes across the axle: the hub's face, the wheel's mounting face, the rim centre."""
    if wheel is None:
        return [Plane(0.0, tr("hub face"))]
    inset = minus(format_length(wheel.inset_mm, unit, 1 if unit == "mm" else 2))
    face = wheel.spacer_mm
    result = [
        Plane(face, tr("mounting face")),
        Plane(face - wheel.inset_mm, tr("rim centre plane, inset {inset}", inset=inset)),
    ]
    if face:
        result.append(Plane(0.0, tr("hub face")))
    return result


def reaches(wheel: Wheel) -> tuple[Place, Place]:
    """Return the least and greatest z, mm, of the metal at the hub circle, and at the circle of the holes.

    In the wheel's own frame; (inf, -inf) where there is no metal, or no such circle.
    """
    hub = wheel.spokes.hub_circle_mm if wheel.spokes is not None else 0.0
    return _stretch(wheel, hub), _stretch(wheel, _holes(wheel)[1] / 2.0)


def wheel_marks(wheel: Wheel, hub: Place, holes: Place, unit: LengthUnit) -> list[Mark]:
    """Return spoke cuts, hub circle and bolt holes as thin lines; `hub` and `holes` are the `reaches`."""
    result: list[Mark] = []
    dz = wheel.spacer_mm
    if wheel.spokes is not None and wheel.spokes.count:
        s = wheel.spokes
        cut = ((s.shoulder_cut[0] + dz, s.shoulder_cut[1]), (s.lip_cut[0] + dz, s.lip_cut[1]))
        result.append(Stroke(cut, "quiet", style=Qt.PenStyle.DashLine, ticks_px=4.0))
        if hub[0] <= hub[1]:
            ends = ((hub[0] + dz, s.hub_circle_mm), (hub[1] + dz, s.hub_circle_mm))
            result.append(Stroke(ends, "quiet", style=Qt.PenStyle.DashLine, ticks_px=4.0))
    result += _hole_marks(wheel, holes, unit)
    for ring in wheel.rings:
        box = [(ring.z_low, ring.r_low), (ring.z_high, ring.r_low), (ring.z_high, ring.r_high)]
        box += [(ring.z_low, ring.r_high), (ring.z_low, ring.r_low)]
        result.append(Stroke(tuple((z + dz, r) for z, r in box), "ink"))
        result.append(Words((ring.z_low + dz, ring.r_low), ring.name, (0.0, 14.0), 1, "ink"))
    return result


def _holes(wheel: Wheel) -> tuple[int, float, list[tuple[float, float, float]]]:
    """Return how many holes lie on a circle, its diameter, and their parts: diameter, from z, to z."""
    fixing = wheel.fixing
    if isinstance(fixing, SingleNut) and fixing.pins:
        return fixing.pins, fixing.pin_circle_mm, [(fixing.pin_hole_mm, -math.inf, math.inf)]
    if isinstance(fixing, Fixing) and fixing.count:
        socket, land = max(fixing.socket_mm, fixing.hole_mm), fixing.seat_land_mm
        parts = [(fixing.hole_mm, -math.inf, land), (socket, land, math.inf)]
        return fixing.count, fixing.circle_mm, parts
    return 0, 0.0, []


def _hole_marks(wheel: Wheel, reach: Place, unit: LengthUnit) -> list[Mark]:
    dz, (count, circle, holes) = wheel.spacer_mm, _holes(wheel)
    if reach[0] > reach[1] or not holes:
        return []
    result: list[Mark] = []
    for hole, low, high in holes:
        z0, z1 = max(reach[0], low) + dz, min(reach[1], high) + dz
        if z1 > z0:
            for side in (-0.5, 0.5):
                r = circle / 2.0 + side * hole
                result.append(Stroke(((z0, r), (z1, r)), "quiet"))
    centre = ((reach[0] + dz - 4.0, circle / 2.0), (reach[1] + dz + 4.0, circle / 2.0))
    result.append(Stroke(centre, "quiet", style=Qt.PenStyle.DashDotLine))
    text = tr(
        "{count} × ⌀{coarse} on ⌀{coarse_2}",
        count=count,
        coarse=_coarse(holes[0][0], unit),
        coarse_2=_coarse(circle, unit),
    )
    result.append(Words(centre[1], text, (8.0, 4.0), 1, "quiet"))
    return result


def _stretch(wheel: Wheel, r: float) -> Place:
    """Return the least and greatest z of the metal at a radius, by the section's straight edges."""
    rows = wheel.section.rows
    if r <= 0.0 or not len(rows):
        return math.inf, -math.inf
    closed = np.concatenate([rows, rows[:1]])[:, :2]
    within = closed[:, 1] <= r
    found = []
    for i in np.flatnonzero(within[1:] != within[:-1]).tolist():
        (z0, r0), (z1, r1) = closed[i : i + 2].tolist()
        found.append(z0 + (z1 - z0) * (r - r0) / (r1 - r0))
    return (min(found), max(found)) if len(found) > 1 else (math.inf, -math.inf)


def shape_marks(
    shape: StayOut, low: float, high: float, r_low: float, r_high: float, unit: LengthUnit
) -> list[Mark]:
    """Return the name of a shape and the bracket of its known extent; the box is that of its outlines."""
    extent = shape.extent
    z0 = low if extent.z_low is None else extent.z_low
    z1 = high if extent.z_high is None else extent.z_high
    known = tr("known from z {coarse} to {coarse_2}", coarse=_coarse(z0, unit), coarse_2=_coarse(z1, unit))
    if not extent.confirmed_by:
        known += tr(", not confirmed")
    centre, room = (low + high) / 2.0, 0.9 * (high - low)
    count = len(shape.open_questions())
    note = tr("\nnot known: {open_words}", open_words=open_words(count)) if count else ""
    # Inside the shape where it fits, else a short form above it.
    above = Words(
        (centre, r_high),
        tr("{name}, not known", name=shape.name) if count else shape.name,
        (0.0, -20.0),
        0,
        "shape_edge",
    )
    middle = (centre, (r_low + r_high) / 2.0)
    inside = Words(middle, _wrapped(shape.name) + note, role="shape_edge", room_mm=room, less=above)
    return [inside, Bracket(z0, z1, r_low, extent.ends_inboard, extent.ends_outboard, known)]


def _coarse(value_mm: float, unit: LengthUnit) -> str:
    text = format_length(value_mm, unit, 1 if unit == "mm" else 2, with_unit=False)
    return text.replace("-", "−")


def _wrapped(name: str, width: int = 18) -> str:
    lines: list[str] = []
    for word in name.split():
        if lines and len(lines[-1]) + len(word) < width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return "\n".join(lines)


def required(shape: StayOut, rules: RuleSet | None, zone: str | None) -> GapRule | None:
    """Return the gap rule whose line is drawn round a shape: the zone's, else the largest of its kind."""
    if rules is None:
        return None
    if zone is not None and zone in set(Zone):
        return rules.for_gap(shape.kind, Zone(zone))
    return rules.largest_gap(shape.kind)


def required_words(shape: StayOut, rule: GapRule, unit: LengthUnit, place: Place) -> Words:
    """Return the label of the required-gap line: the rule, and what of it is the shape's error or gap."""
    digits = 1 if unit == "mm" else 3
    parts = [tr("needs {paper_mm}", paper_mm=format_length(rule.paper_mm, unit, digits))]
    if shape.card.error_mm:
        parts.append(
            tr(
                "+ error {error_mm}",
                error_mm=format_length(shape.card.error_mm, unit, digits, with_unit=False),
            )
        )
    if shape.card.included_gap_mm:
        parts.append(
            tr(
                "− included {included_gap_mm}",
                included_gap_mm=format_length(shape.card.included_gap_mm, unit, digits, with_unit=False),
            )
        )
    return Words(place, " ".join(parts), (-6.0, 4.0), -1, "shape_edge")


def tightest(found: Measurements | None) -> AnyRow | None:
    """Return the reading that is marked: the worst of the three that has a number and a place."""
    rows = worst_three(found) if found is not None else []
    return next((row for row in rows if place_of(row) and math.isfinite(value_of(row))), None)


def tightest_marks(row: AnyRow | None, theme: Theme, unit: LengthUnit) -> list[Mark]:
    """Return the mark of the tightest reading, if there is one: what is measured, and its number."""
    if row is None:
        return []
    a, b = witnesses(row)
    colour = theme.state_colour(row.state)
    grade = row.grade if isinstance(row, GapRow | StackRow) else Grade.DRAWING

    def words(value_mm: float) -> str:
        return Numbers(unit).length(value_mm, grade).replace("-", "−")

    value, required = value_of(row), required_of(row)
    sign = SIGNS[row.state] if row.state is not None else ""
    needed = ""
    if required is not None:
        kept = words(required) if isinstance(row, NamedReading) else needs(row, Numbers(unit))
        needed = tr(", needs {kept}", kept=kept)
    return [
        Stroke((a, b), colour=colour, width=2.0, ticks_px=5.0),
        Callout(b, f"{sign} {words(value)}", f"{_what(row)}{needed}", _away(a, b, value < 0.0), colour),
    ]


def _away(a: Place, b: Place, inside: bool) -> tuple[float, float]:
    """Return the direction, in pixels, from the wheel's skin to where there is room for a number."""
    dz, dr = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dz, dr)
    if length < 1e-9:
        return 0.7, -0.7
    sign = -1.0 if inside else 1.0
    return sign * dz / length, -sign * dr / length


def witnesses(row: AnyRow) -> tuple[Place, Place]:
    """Return the two places that a row was measured between, the wheel's first; a single one twice."""
    if isinstance(row, GapRow | StackRow):
        return row.at_wheel, row.at_shape
    if isinstance(row, NamedReading):
        place = row.place or (0.0, 0.0)
        return place, place
    return row.at, row.across if isinstance(row, WallRow) else row.at_blank


def _what(row: AnyRow) -> str:
    if isinstance(row, NamedReading):
        return spoken(row.name.lower())
    if isinstance(row, GapRow | StackRow):
        state = tr(" in the worst state") if isinstance(row, StackRow) else ""
        return tr("gap at {body}{state}", body=row.body or row.zone, state=state)
    return tr(
        "{isinstance} at {zone}",
        isinstance=tr("wall") if isinstance(row, WallRow) else tr("stock"),
        zone=row.zone,
    )


def fault_marks(shown: Shown, theme: Theme, unit: LengthUnit) -> list[Mark]:
    """Return a ring with its words at the place of each fault that has one."""
    colour = theme.colour("short")
    result: list[Mark] = []
    for fault in shown.faults:
        if fault.place is not None:
            result.append(Ring(fault.place, 9.0, colour, cross=True))
            where = Numbers(unit).place(fault.place).replace("-", "−")
            result.append(
                Words(fault.place, f"{spoken(fault.kind)}\n{where}", (14.0, -10.0), 1, colour=colour)
            )
    return result


def blank_words(blank: Blank, shift: float, role: str) -> Words:
    """Return the name of a blank, over its inboard end."""
    place = (min(c.z for c in blank.corners) + shift, max(c.r for c in blank.corners))
    return Words(place, tr("blank {name}", name=blank.name), (0.0, -6.0), 1, role)


def tyre_words(size: str, place: Place) -> Words:
    """Return the size of a tyre, over the foot of its ring."""
    return Words(place, tr("tyre {size}", size=size), (8.0, -8.0), 1, "quiet")


def legend(theme: Theme, unit: LengthUnit) -> Legend:
    """Return the scale of the wall band."""
    colours = tuple(QColor(*c) for c in ramp(COLOURS, theme.dark).tolist())
    digits = 0 if unit == "mm" else 2
    low = tr("wall {thin_mm}", thin_mm=format_length(THIN_MM, unit, digits, with_unit=False))
    return Legend(colours, low, format_length(THICK_MM, unit, digits))


EMPTY_WORDS = tr(
    "Nothing here yet. Make a wheel with Project, New wheel; open a project or a sample; "
    "or drop a drawing of a wheel, a blank or a brake on this sheet."
)


def hints(shown: Shown) -> list[str]:
    """Return what to do next where something is missing."""
    wheel: Wheel | None = shown.wheel
    if wheel is None:
        return [tr("No wheel: make one with Project, New wheel.")] if shown.project.shapes else []
    result = []
    if wheel.blank is None:
        result.append(tr("No blank: choose or draw one."))
    if not wheel.clears:
        result.append(tr("No stay-out shape: choose what this wheel must clear."))
    if wheel.rules is None:
        result.append(tr("No rule set: choose one."))
    return result
