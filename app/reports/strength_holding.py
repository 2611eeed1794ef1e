"""Small drawings of how each test holds the wheel and where its load acts, on its own half-section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.reports.drawing import Canvas, Contour, Frame, Pen, Point, Type, arrow, line, wrapped
from app.reports.look import AXLE, BODY_BOLD, INK, SMALL, WHEEL
from app.reports.page import Area
from app.reports.strength_words import held_words
from app.studies.strength.cases import has_stress
from app.studies.strength.run import Screening
from geometry.shape.curve import Array
from geometry.shape.section import Side, Zone
from geometry.strength.loads import Clamp, Kind, TestLoad
from geometry.strength.wheel import Body

_THIN, _FORCE, _RIGID = Pen(0.2, INK), Pen(0.3, INK), Pen(0.9, INK)
_HELD = Pen(0.2, INK)
_TICK, _ARROW = 1.8, 6.0


@dataclass(frozen=True)
class Holding:
    """One way of holding and loading: the kind of test, an example of it, and all cases that are so."""

    kind: Kind
    clamp: Clamp
    cases: tuple[TestLoad, ...]

    @property
    def words(self) -> str:
        """Which cases, by name."""
        return "; ".join(case.name for case in self.cases)


def holdings(found: Screening) -> list[Holding]:
    """Return the ways of holding and loading that the cases in use have, in their order."""
    by: dict[tuple[Kind, Clamp], list[TestLoad]] = {}
    for case in found.cases:
        if has_stress(case):
            by.setdefault((case.kind, case.clamp), []).append(case)
    return [Holding(kind, clamp, tuple(cases)) for (kind, clamp), cases in by.items()]


def draw_holdings(canvas: Canvas, found: Screening, area: Area) -> None:
    """Draw the ways of holding side by side."""
    ways = holdings(found)
    body = next(iter(found.solved.values())).body if found.solved else None
    if not ways or body is None:
        return
    width = min(area.width / len(ways), area.width / 3.0)
    for k, way in enumerate(ways):
        left = area.left + k * width
        _holding(canvas, found, body, way, Area(left, area.bottom, left + width - 4.0, area.top))


def _holding(canvas: Canvas, found: Screening, body: Body, way: Holding, area: Area) -> None:
    y = area.top - 2.5
    (name,) = wrapped(canvas, way.kind.value, BODY_BOLD, area.width, 1)
    canvas.text((area.left, y), name, BODY_BOLD)
    for text, most in ((held_words(way.cases[0]), 2), (way.words, 3)):
        for words in wrapped(canvas, text, SMALL, area.width, most):
            y -= 2.8
            canvas.text((area.left, y), words, SMALL)
    z0, z1, _, r1 = found.ready.outline.path.bounds
    box = Area(area.left + 3.0, area.bottom + 2.0, area.right - 3.0, min(y, area.top - 10.8) - 6.5)
    scale = max((z1 - z0) / box.width, r1 / box.height)
    frame = Frame(box.left - z0 / scale, box.bottom, scale)
    canvas.path([frame.contour(found.ready.outline.path)], _THIN, WHEEL)
    (xa, ya), (xb, _) = frame.at((z0, 0.0)), frame.at((z1, 0.0))
    line(canvas, (xa - 2.0, ya), (xb + 2.0, ya), AXLE)
    _held(canvas, body, way.clamp, frame)
    _load(canvas, body, way, frame)


def _held(canvas: Canvas, body: Body, clamp: Clamp, frame: Frame) -> None:
    """Draw ticks along what is held; a hub pad that carries a moment is a thick line, a rigid plate."""
    pad = _line_of(body.mesh.points[body.pad])
    if clamp is Clamp.HUB_PAD:
        _ticks(canvas, [frame.at(p) for p in pad], (-1.0, 0.0))
        return
    canvas.path([Contour.polyline([frame.at(p) for p in pad])], _RIGID)
    lip = Zone.INNER_LIP if clamp is Clamp.INNER_FLANGE else Zone.OUTER_LIP
    nodes = body.mesh.points[body.flange(lip)]
    way = -1.0 if lip is Zone.INNER_LIP else 1.0
    # The ring grips the flange's outer half: drawn beside it, from its foot to its top.
    low, high = float(nodes[:, 1].min()), float(nodes[:, 1].max())
    z = float(nodes[:, 0].min() if way < 0.0 else nodes[:, 0].max())
    _ticks(canvas, [frame.at((z, low)), frame.at((z, high))], (way, 0.0))
    top = [frame.at((float(nodes[:, 0].min()), high)), frame.at((float(nodes[:, 0].max()), high))]
    _ticks(canvas, top, (0.0, 1.0))


def _line_of(points: Array) -> list[Point]:
    at = points[np.argsort(points[:, 1])]
    return [(float(z), float(r)) for z, r in (at[0], at[-1])]


def _ticks(canvas: Canvas, ends: Sequence[Point], away: Point) -> None:
    """Draw a line with ticks on its far side, as a fixed support is drawn."""
    (xa, ya), (xb, yb) = ends
    canvas.path([Contour.polyline(list(ends))], Pen(0.45, INK))
    length = math.hypot(xb - xa, yb - ya)
    count = max(3, round(length / 1.3))
    for k in range(count + 1):
        x, y = xa + (xb - xa) * k / count, ya + (yb - ya) * k / count
        slant = (abs(away[1]), abs(away[0]))
        to = (x + _TICK * (away[0] - 0.5 * slant[0]), y + _TICK * (away[1] - 0.5 * slant[1]))
        line(canvas, (x, y), to, _HELD)


def _load(canvas: Canvas, body: Body, way: Holding, frame: Frame) -> None:
    case = way.cases[0]
    if case.moment_nm is not None:
        _moment(canvas, frame.at(_middle(body.mesh.points[body.pad])))
    if case.force_n is not None:
        for zone in (Zone.OUTER_SEAT, Zone.INNER_SEAT):
            seat = body.edges(zone, side=Side.TYRE)
            if len(seat):
                _push(canvas, frame.at(_middle(body.mesh.points[body.mesh.edges[seat, 2]])), (0.0, -1.0))
    if case.lateral_n is not None:
        lip = body.mesh.points[np.unique(body.mesh.edges[body.edges(Zone.INNER_LIP)])]
        _push(canvas, frame.at((float(lip[:, 0].max()), float(lip[:, 1].max()) - 3.0)), (-1.0, 0.0))
    if case.pressure_mpa is not None:
        inside = body.edges(Zone.WELL, Zone.BARREL, side=Side.TYRE)
        at = body.mesh.points[body.mesh.edges[inside, 2]]
        places = np.linspace(at[:, 0].min(), at[:, 0].max(), 9).tolist() if len(at) else []
        for k in {int(np.abs(at[:, 0] - z).argmin()) for z in places}:
            _push(canvas, frame.at((float(at[k, 0]), float(at[k, 1]))), (0.0, -1.0), 3.0, 2.0)
    if case.torque_nm is not None:
        for zone in (Zone.OUTER_SEAT, Zone.INNER_SEAT):
            seat = body.edges(zone, side=Side.TYRE)
            x, y = frame.at(_middle(body.mesh.points[body.mesh.edges[seat, 2]]))
            # A circle with a point is an arrow that comes out of the paper: along the arc.
            canvas.path([Contour.circle((x, y + 2.2), 1.2)], _FORCE)
            canvas.path([Contour.circle((x, y + 2.2), 0.35)], None, INK)


def _middle(points: Array) -> Point:
    low, high = points.min(axis=0), points.max(axis=0)
    z, r = ((low + high) / 2.0).tolist()
    return (float(z), float(r))


def _push(canvas: Canvas, tip: Point, way: Point, length: float = _ARROW, head: float = 3.0) -> None:
    """Draw an arrow that ends on the metal."""
    start = (tip[0] - way[0] * length, tip[1] - way[1] * length)
    line(canvas, start, tip, _FORCE if length == _ARROW else _THIN)
    arrow(canvas, tip, start, INK, head)


def _moment(canvas: Canvas, at: Point) -> None:
    """Draw a turning arrow about a place, and its letter."""
    radius, centre = 4.2, (at[0] - 6.2, at[1])
    angles = np.radians(np.linspace(60.0, 300.0, 25))
    points = [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]
    canvas.path([Contour.polyline(points)], _FORCE)
    arrow(canvas, points[-1], points[-3], INK, 3.0)
    style = Type(3.0, True, INK)
    canvas.text((centre[0] - 1.2, centre[1] - 1.1), "M", style)
