"""Corner radii: a chain of straight or arc edges becomes an exact outline with fillets.

The centre of a corner arc is the crossing of the offset curves of its two edges nearest the vertex
(parallel line, concentric circle); the touching points must lie on the edges.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array, Path
from geometry.shape.distance import cross, dot
from geometry.shape.faults import Fault
from geometry.tolerances import LEAST_EDGE_MM, LEAST_TURN_DEG, STRAIGHT_BULGE


@dataclass(frozen=True)
class Piece:
    """One piece of a rounded outline.

    Attributes:
        start: (2,) place where it starts.
        bulge: of the piece.
        vertex: index of the vertex whose edge or corner it belongs to.
        arriving: True for the half of a corner arc that belongs to the edge before the vertex.
    """

    start: Array
    bulge: float
    vertex: int
    arriving: bool = False


def rounded(
    path: Path, radii: Sequence[float], halved: Sequence[bool] = ()
) -> list[Piece] | tuple[Fault, ...]:
    """Return the pieces of a closed chain with its corner radii (mm, 0 for sharp), or its faults.

    A corner arc is one piece, or comes in two halves where `halved` says so for its vertex.

    Faults: an edge of no length, a radius that does not fit (the largest that fits is named), radii that
    overlap on a common edge, a radius on a vertex that hardly turns.
    """
    faults = _edge_faults(path)
    if faults:
        return faults
    corners: dict[int, _Corner] = {}
    found: list[Fault] = []
    turns = _turns(path)
    for i, radius in enumerate(radii):
        if radius > 0.0:
            corner = _corner(path, i, radius, turns[i])
            if isinstance(corner, Fault):
                found.append(corner)
            else:
                corners[i] = corner
    found += _shared_edges(path, corners)
    return tuple(found) if found else _pieces(path, corners, {i for i, half in enumerate(halved) if half})


@dataclass(frozen=True)
class _Corner:
    start: Array  # touching point on the edge that arrives
    end: Array  # touching point on the edge that leaves
    bulge: float
    middle: Array
    before: float  # fraction of the arriving edge that is left, 0 to 1
    after: float  # fraction of the leaving edge that is cut off


def _edge_faults(path: Path) -> tuple[Fault, ...]:
    short = np.flatnonzero(path.lengths < LEAST_EDGE_MM)
    return tuple(
        Fault(
            "edge without length",
            f"Vertices {i + 1} and {(i + 1) % len(path) + 1} lie on the same place; delete one.",
            (float(path.points[i, 0]), float(path.points[i, 1])),
            (int(i),),
        )
        for i in short
    )


def _turns(path: Path) -> list[float]:
    """Return the angle by which the chain turns at each vertex, rad, + to the left."""
    every = np.arange(len(path))
    leave = path.tangents(every, np.zeros(len(path)))
    arrive = np.roll(path.tangents(every, np.ones(len(path))), 1, axis=0)
    turns: list[float] = np.arctan2(cross(arrive, leave), dot(arrive, leave)).tolist()
    return turns


def _corner(path: Path, i: int, radius: float, turn: float) -> _Corner | Fault:
    """Return the corner arc at vertex i, or the fault that it does not fit."""
    before = (i - 1) % len(path)
    place = (float(path.points[i, 0]), float(path.points[i, 1]))
    if abs(np.degrees(turn)) < LEAST_TURN_DEG:
        return Fault(
            "radius without corner",
            f"Vertex {i + 1} turns less than {LEAST_TURN_DEG} degrees; a corner radius has no place there.",
            place,
            (i,),
        )
    if path.is_arc[before] or path.is_arc[i]:
        corner = _fit(path, before, i, radius, turn)
    else:
        corner = _fit_straight(path, before, i, radius, turn)
    if corner is not None:
        return corner
    largest = _largest_fit(path, before, i, radius, turn)
    return Fault(
        "radius does not fit",
        f"Vertex {i + 1}: radius {radius:g} mm runs past the end of an edge; at most {largest:.3f} mm fits.",
        place,
        (i,),
    )


def _fit_straight(path: Path, before: int, after: int, radius: float, turn: float) -> _Corner | None:
    """Return the arc between two straight edges, in plain numbers: it touches radius tan(turn / 2) off."""
    (z, r), (z0, r0) = path.points[after].tolist(), path.points[before].tolist()
    z1, r1 = path.ends[after].tolist()
    arriving, leaving = math.hypot(z - z0, r - r0), math.hypot(z1 - z, r1 - r)
    reach = radius * math.tan(abs(turn) / 2.0)
    if reach > arriving * (1.0 + 1e-12) or reach > leaving * (1.0 + 1e-12):
        return None
    az, ar = (z - z0) / arriving, (r - r0) / arriving
    start = (z - reach * az, r - reach * ar)
    end = (z + reach * (z1 - z) / leaving, r + reach * (r1 - r) / leaving)
    side = math.copysign(radius, turn)
    half = turn / 2.0
    # From the centre the arc's middle lies half the turn on from its start.
    uz, ur = side * ar, -side * az
    cz, cr = start[0] - uz, start[1] - ur
    middle = (
        cz + uz * math.cos(half) - ur * math.sin(half),
        cr + uz * math.sin(half) + ur * math.cos(half),
    )
    before_t, after_t = max(1.0 - reach / arriving, 0.0), min(reach / leaving, 1.0)
    return _Corner(np.array(start), np.array(end), math.tan(turn / 4.0), np.array(middle), before_t, after_t)


def _fit(path: Path, before: int, after: int, radius: float, turn: float) -> _Corner | None:
    """Return the arc of `radius` between two edges; its centre is where their offset curves cross."""
    left = 1.0 if turn > 0.0 else -1.0
    vertex = path.points[after]
    a, b = _offset(path, before, radius * left), _offset(path, after, radius * left)
    if a is None or b is None:
        return None
    centre = _nearest_crossing(a, b, vertex)
    if centre is None:
        return None
    t_before, start = _foot(path, before, centre)
    t_after, end = _foot(path, after, centre)
    slack = 1e-12
    if not (-slack <= t_before <= 1.0 + slack and -slack <= t_after <= 1.0 + slack):
        return None
    u, w = start - centre, end - centre
    sweep = float(np.arctan2(u[0] * w[1] - u[1] * w[0], u @ w))
    if sweep * left <= 0.0:
        return None
    half = sweep / 2.0
    turned = np.array([u[0] * np.cos(half) - u[1] * np.sin(half), u[0] * np.sin(half) + u[1] * np.cos(half)])
    return _Corner(
        start,
        end,
        float(np.tan(sweep / 4.0)),
        centre + turned,
        min(max(t_before, 0.0), 1.0),
        max(t_after, 0.0),
    )


def _largest_fit(path: Path, before: int, after: int, radius: float, turn: float) -> float:
    """Return the largest radius that fits, by bisection (to 1e-4 mm, rounded down)."""
    low, high = 0.0, radius
    while high - low > 1e-4:
        middle = (low + high) / 2.0
        if not low < middle < high:  # absurd radii: neighbouring numbers lie farther apart than that
            break
        if _fit(path, before, after, middle, turn) is None:
            high = middle
        else:
            low = middle
    return float(np.floor(low * 1000.0) / 1000.0)


def _offset(path: Path, i: int, left_mm: float) -> tuple[str, Array, float | Array] | None:
    """Return the curve parallel to piece i, left_mm to its left: a line (point, direction) or a circle."""
    if not path.is_arc[i]:
        d = path.ends[i] - path.points[i]
        d = d / np.hypot(*d)
        return "line", path.points[i] + left_mm * np.array([-d[1], d[0]]), d
    sign = 1.0 if path.bulges[i] > 0.0 else -1.0
    radius = float(path.radii[i]) - sign * left_mm
    return None if radius <= 0.0 else ("circle", path.centres[i], radius)


def _nearest_crossing(
    a: tuple[str, Array, float | Array], b: tuple[str, Array, float | Array], vertex: Array
) -> Array | None:
    """Return the crossing of two offset curves nearest the vertex, or None."""
    if a[0] == "line" and b[0] == "line":
        d, e = np.asarray(a[2]), np.asarray(b[2])
        cross = d[0] * e[1] - d[1] * e[0]
        if abs(cross) < 1e-15:
            return None
        w = b[1] - a[1]
        return np.asarray(a[1] + d * ((w[0] * e[1] - w[1] * e[0]) / cross))
    if a[0] == "circle" and b[0] == "circle":
        ra, rb = float(a[2]), float(b[2])
        w = b[1] - a[1]
        dist = float(np.hypot(*w))
        if dist < 1e-12:
            return None
        along = (dist * dist + ra * ra - rb * rb) / (2.0 * dist)
        height2 = ra * ra - along * along
        u = w / dist
        foot = a[1] + along * u
        normal = np.array([-u[1], u[0]])
    else:
        line, circle = (a, b) if a[0] == "line" else (b, a)
        d = np.asarray(line[2])
        radius = float(circle[2])
        foot = line[1] + d * float((circle[1] - line[1]) @ d)
        height2 = radius * radius - float(np.sum((foot - circle[1]) ** 2))
        normal = d
    if height2 < 0.0:
        return None
    step = normal * np.sqrt(height2)
    pair = (foot + step, foot - step)
    return np.asarray(min(pair, key=lambda p: float(np.hypot(*(p - vertex)))))


def _foot(path: Path, i: int, centre: Array) -> tuple[float, Array]:
    """Return the fraction along piece i, and the place, where a circle round `centre` touches it."""
    if not path.is_arc[i]:
        d = path.ends[i] - path.points[i]
        t = float((centre - path.points[i]) @ d / (d @ d))
        return t, path.points[i] + t * d
    w = centre - path.centres[i]
    length = float(np.hypot(*w))
    u = w / length if length > 0.0 else np.array([1.0, 0.0])
    angle = float(np.arctan2(u[1], u[0]))
    sweep = float(path.sweeps[i])
    turn = (np.sign(sweep) * (angle - path.start_angles[i]) + np.pi) % (2.0 * np.pi) - np.pi
    if turn < -1e-9 and abs(sweep) > np.pi / 2.0 and turn + 2.0 * np.pi <= abs(sweep) + 1e-9:
        turn += 2.0 * np.pi
    return float(turn / abs(sweep)), path.centres[i] + path.radii[i] * u


def _shared_edges(path: Path, corners: dict[int, _Corner]) -> list[Fault]:
    """Return a fault for every edge that is too short for the corner arcs at both its ends."""
    faults = []
    n = len(path)
    for i in range(n):
        j = (i + 1) % n
        if i in corners and j in corners and corners[i].after > corners[j].before + 1e-12:
            place = path.at(np.array([i]), np.array([0.5]))[0]
            length = float(path.lengths[i])
            over = (corners[i].after - corners[j].before) * length
            faults.append(
                Fault(
                    "radii overlap",
                    f"The corner radii at vertices {i + 1} and {j + 1} overlap by {over:.3f} mm on their "
                    f"common edge of {length:.3f} mm; make one smaller.",
                    (float(place[0]), float(place[1])),
                    (i, j),
                )
            )
    return faults


def _pieces(path: Path, corners: dict[int, _Corner], halved: set[int]) -> list[Piece]:
    out: list[Piece] = []
    n = len(path)
    for i in range(n):
        start, first = path.points[i], 0.0
        corner = corners.get(i)
        if corner is not None and i not in halved:
            out.append(Piece(corner.start, corner.bulge, i))
            start, first = corner.end, corner.after
        elif corner is not None:
            half = float(np.tan(np.arctan(corner.bulge) / 2.0))
            out.append(Piece(corner.start, half, i, arriving=True))
            out.append(Piece(corner.middle, half, i))
            start, first = corner.end, corner.after
        after = corners.get((i + 1) % n)
        last = after.before if after is not None else 1.0
        if (last - first) * path.lengths[i] <= 1e-9:
            continue
        sweep = float(path.sweeps[i]) * (last - first)
        if abs(sweep) > np.pi + 1e-12:
            middle = path.at(np.array([i]), np.array([(first + last) / 2.0]))[0]
            half = float(np.tan(sweep / 8.0))
            out += [Piece(start, half, i), Piece(middle, half, i)]
        else:
            straight = abs(path.bulges[i]) < STRAIGHT_BULGE
            out.append(Piece(start, 0.0 if straight else float(np.tan(sweep / 4.0)), i))
    return out
