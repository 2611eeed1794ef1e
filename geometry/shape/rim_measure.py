"""What one side of a tyre side has: flange, seat, hump, and how wide the well is at a depth.

Measured on exact lines and arcs, whatever drew them. A path here runs from the outboard flange edge to the
inboard one; its last piece only closes it and is not read.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Path

#: A flange face runs along r, or nearly: within this of it.
FACE_DEG = 10.0
#: A bead seat is a straight piece that falls inward between these, at least so long, so near the flange top.
SEAT_DEG, SEAT_LENGTH_MM, SEAT_REACH_MM = (1.0, 12.0), 3.0, 45.0


@dataclass(frozen=True)
class Half:
    """One side of a tyre side, measured as if it were the outer one; None where a part was not found.

    Attributes:
        edge_z, top_z, top_r: flange edge (greatest z) and highest point. face_z: flange face.
        flange_radius, edge_radius: least convex radius inward and outward of the highest point.
        edge_turn_deg: sharpest joint outward of the highest point.
        seat_deg, seat_r: slope of the straight bead seat, and its r at the flange face.
        seat_end_s: from the flange face to the hump crest, or to the end of the straight seat.
        hump: True where a crest stands above the seat's end.
    """

    edge_z: float
    top_z: float
    top_r: float
    face_z: float | None
    flange_radius: float | None
    edge_radius: float | None
    edge_turn_deg: float
    seat_deg: float | None = None
    seat_r: float | None = None
    seat_end_s: float | None = None
    hump: bool = False


@dataclass(frozen=True)
class _Station:
    """A joint or an extreme of an arc: piece, place and direction of travel there."""

    piece: int
    z: float
    r: float
    dz: float
    dr: float


def measured_half(path: Path) -> Half:
    """Return what the outboard half of a tyre side has."""
    low, high, _, _ = path.bounds
    count = max(int(np.argmax(np.append(path.points[:-1, 0], -np.inf) <= (low + high) / 2.0)), 1)
    stations = _stations(path, range(count))
    top = max(range(len(stations)), key=lambda k: stations[k].r)
    peak = stations[top]
    seat = _seat(path, range(peak.piece + 1, count), peak.z)
    face_z = _face(x for x in stations[top:] if seat is None or x.piece < seat)
    inward = range(peak.piece, count if seat is None else seat)
    flange = Half(
        edge_z=max(x.z for x in stations[: top + 1]),
        top_z=peak.z,
        top_r=peak.r,
        face_z=face_z,
        flange_radius=_least_convex(path, (i for i in inward if path.ends[i, 0] < peak.z - 1e-9)),
        edge_radius=_least_convex(
            path, (i for i in range(peak.piece + 1) if path.points[i, 0] > peak.z + 1e-9)
        ),
        edge_turn_deg=_sharpest(path, range(1, peak.piece + 1)),
    )
    if seat is None or face_z is None:
        return flange
    a, b = path.points[seat], path.ends[seat]
    slope = float((b[1] - a[1]) / (b[0] - a[0]))
    crest = _crest([x for x in stations if x.piece > seat], float(b[1]))
    return Half(
        flange.edge_z,
        flange.top_z,
        flange.top_r,
        face_z,
        flange.flange_radius,
        flange.edge_radius,
        flange.edge_turn_deg,
        seat_deg=math.degrees(math.atan(slope)),
        seat_r=float(a[1] + slope * (face_z - a[0])),
        seat_end_s=face_z - (float(b[0]) if crest is None else crest.z),
        hump=crest is not None,
    )


def mirrored(path: Path) -> Path:
    """Return the path with inner and outer side changed over; its last piece still closes it."""
    return Path(path.points[::-1] * np.array([-1.0, 1.0]), np.append(path.bulges[-2::-1], 0.0))


def free_spans(path: Path, level_r: float) -> list[tuple[float, float]]:
    """Return the stretches along z, mm, over which no part of the tyre side stands above level_r."""
    blocked = sorted(span for i in range(len(path) - 1) for span in _above(path, i, level_r))
    free: list[tuple[float, float]] = []
    reached = math.inf
    for low, high in blocked:
        if low > reached:
            free.append((reached, low))
        reached = high if math.isinf(reached) else max(reached, high)
    return free


def _stations(path: Path, pieces: range) -> list[_Station]:
    """Return start, extremes along z and r, and end of each piece, in order along the path."""
    piece: list[int] = []
    fraction: list[float] = []
    for i in pieces:
        at = [0.0, 1.0]
        if path.is_arc[i]:
            at += [t for t in _turns(path, i, (k * math.pi / 2.0 for k in range(4))) if 1e-9 < t < 1.0 - 1e-9]
        piece += [i] * len(at)
        fraction += sorted(at)
    which, t = np.array(piece), np.array(fraction)
    rows = np.column_stack([path.at(which, t), path.tangents(which, t)]).tolist()
    return [_Station(i, *row) for i, row in zip(piece, rows, strict=True)]


def _turns(path: Path, i: int, angles: Iterable[float]) -> list[float]:
    """Return where on arc i, as a fraction of its sweep, directions from its centre lie; over 1 is off it."""
    sweep, start = float(path.sweeps[i]), float(path.start_angles[i])
    return [(math.copysign(1.0, sweep) * (a - start)) % (2.0 * math.pi) / abs(sweep) for a in angles]


def _seat(path: Path, pieces: range, top_z: float) -> int | None:
    """Return the longest straight piece that falls inward as a bead seat does, or None."""
    best, longest = None, SEAT_LENGTH_MM
    for i in pieces:
        dz, dr = (path.ends[i] - path.points[i]).tolist()
        falls = math.degrees(math.atan2(-dr, -dz))
        if (
            path.is_arc[i]
            or not SEAT_DEG[0] <= falls <= SEAT_DEG[1]
            or path.points[i, 0] < top_z - SEAT_REACH_MM
        ):
            continue
        if path.lengths[i] >= longest:
            best, longest = i, float(path.lengths[i])
    return best


def _face(stations: Iterable[_Station]) -> float | None:
    """Return z where the outline, going down, runs most nearly along r, or None where it never does."""
    best = min((x for x in stations if x.dr < 0.0), key=lambda x: abs(x.dz), default=None)
    return best.z if best is not None and abs(best.dz) <= math.sin(math.radians(FACE_DEG)) else None


def _crest(stations: list[_Station], seat_end_r: float) -> _Station | None:
    """Return the first highest point after the seat, if it stands above the seat's end."""
    risen = False
    for before, x in itertools.pairwise(stations):
        if risen and x.r < before.r - 1e-9:
            return before if before.r > seat_end_r + 1e-6 else None
        risen = risen or x.r > before.r + 1e-9
    return None


def _least_convex(path: Path, pieces: Iterable[int]) -> float | None:
    """Return the least radius of the arcs with metal inside, or None without one."""
    return min(
        (float(path.radii[i]) for i in pieces if path.is_arc[i] and path.bulges[i] > 0.0), default=None
    )


def _sharpest(path: Path, joints: range) -> float:
    """Return the largest turn at the starts of the given pieces, degrees; 0 without one."""
    turns = [0.0]
    for i in joints:
        t = path.tangents(np.array([i - 1, i]), np.array([1.0, 0.0]))
        turns.append(abs(math.degrees(math.atan2(t[0, 0] * t[1, 1] - t[0, 1] * t[1, 0], t[0] @ t[1]))))
    return max(turns)


def _above(path: Path, i: int, level_r: float) -> list[tuple[float, float]]:
    """Return the z stretches of piece i above level_r."""
    (za, ra), (zb, rb) = path.points[i].tolist(), path.ends[i].tolist()
    cuts = [0.0, 1.0]
    if path.is_arc[i]:
        centre_r, radius = float(path.centres[i, 1]), float(path.radii[i])
        if centre_r + radius <= level_r:
            return []
        angles = [k * math.pi / 2.0 for k in range(4)]
        if centre_r - radius < level_r:
            across = math.asin((level_r - centre_r) / radius)
            angles += [across, math.pi - across]
        cuts += _turns(path, i, angles)
    elif ra <= level_r and rb <= level_r:
        return []
    elif ra > level_r and rb > level_r:
        return [(min(za, zb), max(za, zb))]
    else:
        cuts.append((level_r - ra) / (rb - ra))
    t = np.array(sorted(c for c in cuts if 0.0 <= c <= 1.0))
    which = np.full(len(t), i)
    ends = path.at(which, t)[:, 0].tolist()
    middles = path.at(which[1:], (t[1:] + t[:-1]) / 2.0)[:, 1].tolist()
    return [
        (min(a, b), max(a, b))
        for (a, b), r in zip(itertools.pairwise(ends), middles, strict=True)
        if r > level_r
    ]
