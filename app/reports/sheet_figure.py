"""The drawing of a section sheet: the report's dimensions with tolerances, and what a maker must keep."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from app.project.sheet import SheetSettings
from app.project.wheel import Fixing, Seat, SingleNut, Wheel
from app.reports.callouts import Callout, End, Rail
from app.reports.dimensions import bore_depth, edges, face_of, spoke_backs
from app.reports.figure import AxialSpan, Figure, axial_spans, build_figure
from app.reports.numbers import Numbers
from app.studies.fit import Measured
from app.units import length_in
from geometry.readings.measure import Held, Measurements, WallRow
from geometry.shape.section import Outline

#: Printed wherever a value is missing.
NOT_STATED = "not stated"
#: Of a last printed digit: 0.3 is not quite 3 tenths in a machine.
_SAME = 1e-6
#: Radii at which the place of the spoke back is given.
_BACKS = 3
#: Signs of ISO 1101 that the shipped font holds: circular run-out and flatness. From memory.
RUN_OUT, FLATNESS = "↗", "⏥"


def allowed(value_mm: float, numbers: Numbers) -> str:
    """Return what may at most be: rounding never makes it wider; an inch has four decimals."""
    shown, digits = length_in(value_mm, numbers.unit), 4 if numbers.unit == "in" else 2
    return f"{math.floor(shown * 10**digits + _SAME) / 10**digits:.{digits}f}"


def needed(value_mm: float, numbers: Numbers) -> str:
    """Return what must at least be: rounding never makes it less."""
    shown, digits = length_in(value_mm, numbers.unit), 3 if numbers.unit == "in" else 2
    return f"{math.ceil(shown * 10**digits - _SAME) / 10**digits:.{digits}f}"


def either_way(value_mm: float | None, numbers: Numbers) -> str:
    """Return a tolerance either way as printed: '±0.20'."""
    return "± " + NOT_STATED if value_mm is None else f"±{allowed(value_mm, numbers)}"


def over(value_mm: float | None, numbers: Numbers) -> str:
    """Return a tolerance over a nominal, with nothing under it, as printed: '+0.10/0'."""
    return "+ " + NOT_STATED if value_mm is None else f"+{allowed(value_mm, numbers)}/0"


def at_most(value_mm: float | None, numbers: Numbers) -> str:
    """Return a limit as printed: '0.10'."""
    return NOT_STATED if value_mm is None else allowed(value_mm, numbers)


def angle_either_way(value_deg: float | None) -> str:
    """Return a tolerance of an angle as printed: '±0.5°'."""
    return "± " + NOT_STATED if value_deg is None else f"±{value_deg:g}°"


def sheet_figure(
    wheel: Wheel, measured: Measured, held: Held | None, settings: SheetSettings, numbers: Numbers
) -> Figure:
    """Return the drawing: wheel, ring bodies and blank with every dimension, without brake and gaps."""
    plain = None if held is None else replace(held, shapes=())
    bare = replace(measured.measurements, gap=(), stock=()) if measured.measurements is not None else None
    figure = build_figure(wheel, replace(measured, measurements=bare), plain, numbers)
    outline, found = measured.outline, measured.measurements
    if outline is None or found is None or figure.outline is None:
        return figure
    callouts = [_toleranced(c, wheel, found, settings, numbers) for c in figure.callouts]
    callouts += _form(figure, settings, numbers)
    callouts += _seats(wheel, settings, numbers)
    callouts += _backs(wheel, outline, settings, numbers)
    spans, width = axial_spans(wheel, outline, numbers)
    inset = numbers.length(wheel.inset_mm)
    signed = f"{'+' if wheel.inset_mm > 0.0 else ''}{inset}"
    words = f"inset {signed} {either_way(settings.inset_mm, numbers)}"
    inner, outer = edges(outline)
    whole = AxialSpan(inner, outer, f"overall {numbers.length(outer[0] - inner[0])}")
    if width is not None:
        width = replace(width, words=f"{width.words} {either_way(settings.width_mm, numbers)}")
    return replace(
        figure,
        callouts=tuple(callouts),
        spans=(replace(spans[0], words=words), *spans[1:], whole),
        width=width,
    )


def wall_words(row: WallRow, numbers: Numbers) -> str:
    """Return a wall as a maker must keep it: its least, which is the rule's and not the drawn one."""
    return f"min {NOT_STATED if row.required_mm is None else needed(row.required_mm, numbers)}"


def _toleranced(
    callout: Callout, wheel: Wheel, found: Measurements, settings: SheetSettings, numbers: Numbers
) -> Callout:
    """Return a dimension of the report with its tolerance, where it has one of its own."""
    name, number = callout.name, callout.number
    if name in ("inner seat", "outer seat"):
        return replace(callout, number=f"{number} {either_way(settings.seat_diameter_mm, numbers)}", weight=8)
    if name == "bore":
        depth = bore_depth(wheel)
        said = "bore" if depth is None else f"bore, {numbers.length(depth)} deep"
        said += f", chamfer {numbers.length(wheel.hub.chamfer_mm)}" if wheel.hub.chamfer_mm else ""
        return replace(callout, name=said, number=f"{number} {over(settings.bore_mm, numbers)}", weight=8)
    if name.endswith(", on") and wheel.fixing is not None:
        return replace(callout, name=f"{_holes(wheel.fixing, settings, numbers)}, on", weight=8)
    for row in found.wall:
        if name == f"{row.zone} wall":
            drawn = f"{name}, drawn {numbers.length(row.least_mm)}"
            return replace(callout, name=drawn, number=wall_words(row, numbers), weight=8)
    return callout


def _holes(fixing: Fixing | SingleNut, settings: SheetSettings, numbers: Numbers) -> str:
    if isinstance(fixing, SingleNut):
        count, hole, word = fixing.pins, fixing.pin_hole_mm, "pin holes"
    else:
        count, hole, word = fixing.count, fixing.hole_mm, "holes"
    return f"{count} {word} Ø {numbers.length(hole)} {over(settings.hole_mm, numbers)}"


def _form(figure: Figure, settings: SheetSettings, numbers: Numbers) -> Iterator[Callout]:
    """Yield run-out of both bead seats to A-B, flatness of the mounting face, and position of the holes."""
    both = f"{at_most(settings.radial_run_out_mm, numbers)} / {at_most(settings.axial_run_out_mm, numbers)}"
    for callout in figure.callouts:
        if callout.name in ("inner seat", "outer seat"):
            name = f"{callout.name} to A-B, run-out radial / axial"
            z, r = callout.place
            place = (z, r - 0.01)  # its label stands under the seat's own
            yield Callout(place, callout.rail, name, f"{RUN_OUT} {both}", End.ARROW, weight=8)
    if figure.datum_a is not None:
        words = f"{FLATNESS} {at_most(settings.flatness_mm, numbers)}"
        yield Callout(figure.datum_a, Rail.LEFT, "mounting face", words, End.ARROW, weight=8)
    if figure.bolt_line is not None:
        words = f"Ø {at_most(settings.hole_position_mm, numbers)} A-B"
        z, r = figure.bolt_line[1]
        yield Callout((z, r - 0.01), Rail.RIGHT, "position of the holes", words, End.LINE, weight=8)


def seat_name(fixing: Fixing | SingleNut, settings: SheetSettings, numbers: Numbers) -> str:
    """Return the bolt seat's shape with its angle or radius: '60 degree cone ±0.5°'."""
    angle = angle_either_way(settings.seat_angle_deg)
    if isinstance(fixing, SingleNut):
        return f"cone {fixing.cone_deg:g}° {angle}, Ø {numbers.length(fixing.seat_diameter_mm)}"
    if fixing.seat is Seat.CONE_60:
        return f"60° cone {angle}"
    if fixing.seat is Seat.BALL:
        return f"ball R {numbers.length(fixing.ball_radius_mm)}"
    return f"flat, square to the hole {angle}"


def _seats(wheel: Wheel, settings: SheetSettings, numbers: Numbers) -> Iterator[Callout]:
    """Yield the bolt seat: how far its inner edge lies from A, its shape, and the socket bore."""
    fixing, face = wheel.fixing, face_of(wheel)
    if fixing is None:
        return
    number = f"{numbers.length(fixing.seat_land_mm)} {either_way(settings.seat_land_mm, numbers)}"
    name = f"bolt seat, {seat_name(fixing, settings, numbers)}, from A"
    if isinstance(fixing, SingleNut):
        edge = wheel.hub.bore_mm / 2.0
    else:
        edge = (fixing.circle_mm + fixing.hole_mm) / 2.0
    yield Callout((face + fixing.seat_land_mm, edge), Rail.RIGHT, name, number, End.DOT, weight=8)
    if isinstance(fixing, Fixing) and fixing.socket_mm > fixing.hole_mm:
        place = (face + fixing.seat_land_mm, (fixing.circle_mm + fixing.socket_mm) / 2.0)
        number = f"Ø {numbers.length(fixing.socket_mm)}"
        yield Callout(place, Rail.RIGHT, "socket bore, down to the seat", number, End.DOT, weight=6)


def _backs(wheel: Wheel, outline: Outline, settings: SheetSettings, numbers: Numbers) -> Iterator[Callout]:
    for z, r in spoke_backs(outline, _BACKS):
        name = f"spoke back from A, at Ø {numbers.length(2.0 * r)}"
        number = f"{numbers.length(z - face_of(wheel))} {either_way(settings.surface_mm, numbers)}"
        yield Callout((z, r), Rail.LEFT, name, number, End.DOT, weight=7)
