"""What each kind of DXF entity draws, in the plane of its block.

Arcs, circles and polylines lie in a plane of their own, given by its normal: +z is the drawing's plane, -z
the same plane seen from behind (x reversed); any other is left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from app.files.readers.answer import ReadError
from app.files.readers.curves import bspline, through
from app.files.readers.limits import POLYLINE_POINTS
from app.files.readers.pieces import Piece, Point, arc, bulged
from app.files.readers.placing import Placing
from app.files.readers.tags import Entity, number_in

#: Bits of group code 70 of a polyline and of its vertices.
_CLOSED, _IN_SPACE, _MESH, _POLYFACE = 1, 8, 16, 64
_FRAME_POINT = 16

#: Degrees of a spline that are read; design programs write 2 to 5.
_GREATEST_DEGREE = 10

_BEHIND = Placing.scaled(-1.0, 1.0)
_HIGH = "leave the drawing plane; their heights are dropped"
_WIDE = "are drawn with a width; their middle is read"
_THROUGH = (
    "are splines given only by points on them, drawn as cubics by chord length; the sender's curve may "
    "differ between the points"
)
_TILTED = "tilted out of the drawing plane"
_POINTLIKE = "circles or arcs of radius 0"


@dataclass
class Drawn:
    """What one entity draws.

    Attributes:
        pieces: its lines and arcs.
        curve, breaks: a curve that is neither, with the parameters between which it is smooth.
        is_closed: the pieces are a ring of their own.
        notes: what is to be said of it, after "entities".
    """

    pieces: list[Piece] = field(default_factory=list)
    curve: Callable[[float], Point] | None = None
    breaks: Sequence[float] = ()
    is_closed: bool = False
    notes: tuple[str, ...] = ()


def draw(entity: Entity) -> Drawn | str:
    """Return what an entity draws, or why it is left out.

    Raises:
        ReadError: one of its numbers is missing, not finite or impossible.
    """
    drawer = _DRAWERS.get(entity.kind)
    return entity.kind if drawer is None else drawer(entity)


def plane(entity: Entity) -> Placing | None:
    """Return the map from an entity's own plane to the drawing, None for a tilted one."""
    x, y, z = entity.number(210, 0.0), entity.number(220, 0.0), entity.number(230, 1.0)
    if math.hypot(x, y) > 1e-9 * abs(z) or z == 0.0:
        return None
    return Placing() if z > 0.0 else _BEHIND


def _line(entity: Entity) -> Drawn | str:
    start, end = (entity.number(10), entity.number(20)), (entity.number(11), entity.number(21))
    has_height = entity.number(30, 0.0) != 0.0 or entity.number(31, 0.0) != 0.0
    return Drawn([Piece(start, end)], notes=(_HIGH,) if has_height else ())


def _in_plane(entity: Entity, pieces: list[Piece], is_closed: bool, is_wide: bool = False) -> Drawn | str:
    placing = plane(entity)
    if placing is None:
        return _TILTED
    return Drawn(placing.pieces(pieces, "0"), is_closed=is_closed, notes=(_WIDE,) if is_wide else ())


def _circle(entity: Entity) -> tuple[Point, float]:
    centre, radius = (entity.number(10), entity.number(20)), entity.number(40)
    if radius < 0.0:
        raise ReadError(f"{entity.where} has the radius {radius:g}; mend or delete it")
    return centre, radius


def _full_circle(entity: Entity) -> Drawn | str:
    centre, radius = _circle(entity)
    # Drafting programs leave such behind as they leave lines without length: there is nothing to read.
    return _in_plane(entity, arc(centre, radius, 0.0, 360.0), is_closed=True) if radius else _POINTLIKE


def _arc(entity: Entity) -> Drawn | str:
    centre, radius = _circle(entity)
    start, end = entity.number(50), entity.number(51)
    return _in_plane(entity, arc(centre, radius, start, end), is_closed=False) if radius else _POINTLIKE


def _light_polyline(entity: Entity) -> Drawn | str:
    corners: list[list[float]] = []
    if sum(code == 10 for code, _ in entity.pairs) > POLYLINE_POINTS:
        raise ReadError(f"{entity.where} has more than {POLYLINE_POINTS} points; thin it out")
    for code, value in entity.pairs:
        if code == 10:
            corners.append([entity.read(value), math.nan, 0.0])
        elif code in (20, 42) and corners:
            corners[-1][1 if code == 20 else 2] = entity.read(value)
    if any(math.isnan(y) for _, y, _ in corners):
        raise ReadError(f"{entity.where} has a vertex without y; the file is damaged")
    is_wide = any(code in (40, 41, 43) and number_in(value) > 0.0 for code, value in entity.pairs)
    return _in_plane(entity, *_polyline_pieces(corners, entity.flags()), is_wide)


def _old_polyline(entity: Entity) -> Drawn | str:
    flags = entity.flags()
    if flags & (_MESH | _POLYFACE):
        return "POLYLINE that is a mesh"
    vertices = [v for v in entity.vertices if not v.flags() & _FRAME_POINT]
    corners = [[v.number(10), v.number(20), v.number(42, 0.0)] for v in vertices]
    pieces, is_closed = _polyline_pieces(corners, flags)
    if flags & _IN_SPACE:
        has_height = any(v.number(30, 0.0) for v in vertices)
        return Drawn(pieces, is_closed=is_closed, notes=(_HIGH,) if has_height else ())
    is_wide = any(number_in(e.text(code)) > 0.0 for e in (entity, *vertices) for code in (40, 41))
    return _in_plane(entity, pieces, is_closed, is_wide)


def _polyline_pieces(corners: list[list[float]], flags: int) -> tuple[list[Piece], bool]:
    is_closed = bool(flags & _CLOSED)
    following = corners[1:] + corners[:1] if is_closed else corners[1:]
    pieces: list[Piece] = []
    for (x, y, bulge), (next_x, next_y, _) in zip(corners, following, strict=False):
        pieces += bulged((x, y), (next_x, next_y), bulge)
    return pieces, is_closed


def _ellipse(entity: Entity) -> Drawn | str:
    placing = plane(entity)
    if placing is None:
        return _TILTED
    x, y, major_x, major_y = (entity.number(code) for code in (10, 20, 11, 21))
    ratio = entity.number(40)
    if not 0.0 < ratio <= 1.0 or math.hypot(major_x, major_y) == 0.0:
        raise ReadError(f"{entity.where} has no size (ratio of its axes {ratio:g}); mend or delete it")
    # The ellipse runs counterclockwise about its plane's normal; centre and axis are in the drawing's frame.
    turn = -ratio if placing.mirrors else ratio
    first, last = entity.number(41, 0.0), entity.number(42, 2.0 * math.pi)
    sweep = (last - first) % (2.0 * math.pi) or 2.0 * math.pi
    if abs(last - first - 2.0 * math.pi) < 1e-9:
        sweep = 2.0 * math.pi

    def point(share: float) -> Point:
        t = first if share == 1.0 and sweep == 2.0 * math.pi else first + sweep * share
        cos, sin = math.cos(t), math.sin(t) * turn
        return x + major_x * cos - major_y * sin, y + major_y * cos + major_x * sin

    return Drawn(curve=point, breaks=[k / 4.0 for k in range(5)])


def _spline(entity: Entity) -> Drawn | str:
    degree = int(entity.number(71, 3.0))
    knots, weights = entity.numbers(40), entity.numbers(41)
    control = list(zip(entity.numbers(10), entity.numbers(20), strict=False))
    if not control:
        return _spline_through(entity)
    weights = weights or [1.0] * len(control)
    sound = (
        1 <= degree <= _GREATEST_DEGREE
        and len(control) > degree
        and len(knots) == len(control) + degree + 1
        and len(weights) == len(control)
        and min(weights) > 0.0
        and all(a <= b for a, b in pairwise(knots))
    )
    domain = sorted(set(knots[degree : len(control) + 1])) if sound else []
    if len(domain) < 2:
        raise ReadError(f"{entity.where} has an unsound degree, knots or weights; export it as a polyline")
    notes = (_HIGH,) if any(entity.numbers(30)) else ()
    return Drawn(curve=bspline(degree, knots, control, weights), breaks=domain, notes=notes)


def _spline_through(entity: Entity) -> Drawn | str:
    """Return the curve of a spline that is given by points on it alone."""
    xs, ys = entity.numbers(11), entity.numbers(21)
    places = [p for k, p in enumerate(zip(xs, ys, strict=False)) if k == 0 or p != (xs[k - 1], ys[k - 1])]
    if len(xs) != len(ys) or len(places) < 2:
        raise ReadError(
            f"{entity.where} has neither control points nor points on it; export it as a polyline"
        )
    if len(places) > POLYLINE_POINTS:
        raise ReadError(f"{entity.where} has more than {POLYLINE_POINTS} points; thin it out")
    is_closed = bool(entity.flags() & _CLOSED)
    ends = [_direction(entity, 12, 22), _direction(entity, 13, 23)]
    curve, breaks = through(places, is_closed, ends[0], ends[1])
    notes = (_THROUGH, _HIGH) if any(entity.numbers(31)) else (_THROUGH,)
    return Drawn(curve=curve, breaks=breaks, notes=notes)


def _direction(entity: Entity, code_x: int, code_y: int) -> Point | None:
    """Return the unit direction at an end of a spline, None where it states none."""
    x, y = entity.number(code_x, 0.0), entity.number(code_y, 0.0)
    size = math.hypot(x, y)
    return (x / size, y / size) if size else None


_DRAWERS: dict[str, Callable[[Entity], Drawn | str]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _full_circle,
    "LWPOLYLINE": _light_polyline,
    "POLYLINE": _old_polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}

#: Kinds of entity that are read; every other one is counted and left out.
DRAWN_KINDS = frozenset(_DRAWERS)
