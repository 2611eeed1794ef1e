"""The inside of a rim: straight walls at given thicknesses under a tyre-side contour, with corner radii.

The contour is read as lines and the arcs between them. Each line is moved into the metal by the wall of its
zone; neighbours meet in a corner whose radius is that of the arc, larger or smaller by the wall, so that the
wall stays even round the bend. The two lips hang at the ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Path
from geometry.shape.section import AnchorR, AnchorZ, Vertex, Zone

#: A fillet in a corner is at least this, mm.
LEAST_FILLET_MM = 2.5
#: Fillet where the wall under a bead seat meets the next wall, mm.
SEAT_ROOT_MM = 3.6
#: The wall under a seat ends below the hump's crest where that leaves so much to the next bend, mm.
LEAST_SEAT_MM = 1.0
#: Corner radii of a lip, mm: at its free edge, and at its foot.
LIP_EDGE_MM, LIP_FOOT_MM = 1.6, 3.5


@dataclass(frozen=True)
class Walls:
    """Wall thickness by zone, mm; lips along the axle at half flange height."""

    barrel_mm: float = 3.8
    well_mm: float = 4.0
    seat_mm: float = 5.5
    inner_lip_mm: float = 6.5
    outer_lip_mm: float = 6.0

    def under(self, zone: Zone) -> float:
        """Return the wall under a zone of the tyre side."""
        if zone in (Zone.OUTER_SEAT, Zone.INNER_SEAT):
            return self.seat_mm
        return self.well_mm if zone is Zone.WELL else self.barrel_mm


@dataclass(frozen=True)
class _Line:
    """A straight stretch of the tyre side: place and direction of travel, which pieces it spans."""

    at: Array
    way: Array
    zone: Zone
    first: int
    last: int

    def moved(self, left_mm: float) -> _Line:
        return replace(self, at=self.at + left_mm * np.array([-self.way[1], self.way[0]]))


def inside(contour: Sequence[Vertex], walls: Walls) -> tuple[Vertex, ...]:
    """Return the rim's inside from below the inboard flange edge to below the outboard one.

    Args:
        contour: tyre-side vertices, outboard flange edge first.
        walls: thicknesses.

    Returns:
        Vertices that run outboard: three of the inner lip, the walls, three of the outer lip.

    Raises:
        GeometryError: the contour has no straight bead seats.
    """
    path = Path(np.array([(v.z, v.r) for v in contour]), np.array([v.bulge for v in contour[:-1]] + [0.0]))
    lines = _lines(contour, path)
    if not lines or lines[0].zone is not Zone.OUTER_SEAT or lines[-1].zone is not Zone.INNER_SEAT:
        raise GeometryError("The tyre side has no straight bead seats; a wall cannot be laid under it.")
    moved = [line.moved(walls.under(line.zone)) for line in lines]
    corners: list[Vertex] = []
    for k in range(len(lines) - 1):
        place = _crossing(moved[k], moved[k + 1])
        wall = max(walls.under(lines[k].zone), walls.under(lines[k + 1].zone))
        radius = _corner_radius(path, lines[k].last + 1, lines[k + 1].first, wall)
        follows = contour[lines[k].last + 1].anchor_z
        # Run backwards, the edge that leaves this corner lies under the line before it.
        corners.append(_vertex(place, radius, lines[k].zone, follows))
    outer = _lip(path, contour, moved[0], walls.outer_lip_mm, outboard=True)
    inner = _lip(path, contour, moved[-1], walls.inner_lip_mm, outboard=False)
    under_inner = _seat_end(contour, moved[-1], Zone.INNER_SEAT, lines[-2].zone)
    under_outer = _seat_end(contour, moved[0], Zone.OUTER_SEAT, Zone.OUTER_SEAT)
    if under_outer.z > corners[0].z + LEAST_SEAT_MM:
        corners[0] = replace(corners[0], zone=lines[1].zone)
        outer = (under_outer, *outer)
    if under_inner.z < corners[-1].z - LEAST_SEAT_MM:
        inner = (*inner, under_inner)
    return (*inner, *reversed(corners), *outer)


def _seat_end(contour: Sequence[Vertex], seat: _Line, zone: Zone, beyond: Zone) -> Vertex:
    """Return the place on the wall under a seat where the seat ends on the tyre side: at its hump's crest."""
    ends = [i for i, v in enumerate(contour) if v.zone is zone]
    crest = contour[ends[-1] + 1] if zone is Zone.OUTER_SEAT else contour[ends[0]]
    place = seat.at + seat.way * ((crest.z - seat.at[0]) / seat.way[0])
    return _vertex(place, 0.0, beyond, crest.anchor_z)


def _vertex(place: Array, radius: float, zone: Zone, follows: AnchorZ) -> Vertex:
    return Vertex(float(place[0]), float(place[1]), radius, 0.0, zone, follows, AnchorR.BEAD_SEAT)


def _lines(contour: Sequence[Vertex], path: Path) -> list[_Line]:
    """Return the straight stretches from seat to seat; two arcs that meet count as one of no length."""
    out: list[_Line] = []
    bare = (Zone.WELL, Zone.BARREL)
    for i in range(len(contour) - 1):
        v = contour[i]
        start = path.tangents(np.array([i]), np.array([0.0]))[0]
        if not path.is_arc[i]:
            if v.zone in (*bare, Zone.OUTER_SEAT, Zone.INNER_SEAT):
                out.append(_Line(path.points[i], start, v.zone, i, i))
            continue
        apart = i > 0 and path.is_arc[i - 1] and np.hypot(*(path.centres[i] - path.centres[i - 1])) > 1e-6
        if apart and v.zone in bare and contour[i - 1].zone in bare:
            out.append(_Line(path.points[i], start, v.zone, i, i - 1))
    return out


def _crossing(a: _Line, b: _Line) -> Array:
    cross = a.way[0] * b.way[1] - a.way[1] * b.way[0]
    w = b.at - a.at
    return np.asarray(a.at + a.way * ((w[0] * b.way[1] - w[1] * b.way[0]) / cross))


def _corner_radius(path: Path, first: int, last: int, wall: float) -> float:
    """Return the inside radius of the bend made by the arcs first to last - 1 of the tyre side."""
    centres = path.centres[first:last]
    if np.ptp(centres, axis=0).max() > 1e-6:
        return SEAT_ROOT_MM
    radius = float(path.radii[first])
    return radius + wall if path.bulges[first] < 0.0 else max(radius - wall, LEAST_FILLET_MM)


def flange(path: Path, contour: Sequence[Vertex], outboard: bool) -> tuple[float, float, float]:
    """Return where a flange face lies, its distance from z = 0 outward; highest r; and flange radius, mm.

    The flange is the largest convex arc of its lip; its face touches it along the axle, its top along r.
    """
    zone = Zone.OUTER_LIP if outboard else Zone.INNER_LIP
    arcs = [
        i for i, v in enumerate(contour[:-1]) if v.zone is zone and path.is_arc[i] and path.bulges[i] > 0.0
    ]
    largest = max(arcs, key=lambda i: float(path.radii[i]))
    z, r = path.centres[largest].tolist()
    radius = float(path.radii[largest])
    return (z if outboard else -z) - radius, r + radius, radius


def _lip(
    path: Path, contour: Sequence[Vertex], seat: _Line, thick: float, outboard: bool
) -> tuple[Vertex, ...]:
    """Return the lip's back: foot on the wall under the seat, fillet under the flange, free edge.

    The back lies `thick` outside the flange face and as far under the flange's highest point.
    """
    sign = 1.0 if outboard else -1.0
    edge = contour[0] if outboard else contour[-1]
    zone = Zone.OUTER_LIP if outboard else Zone.INNER_LIP
    face, top, flange_radius = flange(path, contour, outboard)
    back, under = sign * (face + thick), top - thick
    foot = seat.at + seat.way * ((back - seat.at[0]) / seat.way[0])
    fillet = max(flange_radius - thick, LEAST_FILLET_MM)
    vertices = (
        _vertex(np.array([edge.z, under]), LIP_EDGE_MM, zone, edge.anchor_z),
        _vertex(np.array([back, under]), fillet, zone, edge.anchor_z),
        _vertex(foot, LIP_FOOT_MM, Zone.INNER_SEAT, edge.anchor_z),
    )
    if not outboard:
        return vertices
    return tuple(replace(v, zone=zone) for v in reversed(vertices))
