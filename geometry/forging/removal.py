"""What is cut off a blank, parted by the operation that reaches it.

Metal of the blank outside the wheel's full body of revolution is turned; each place (z, r) of it belongs to
the first of these that holds:

    bore      it lies within the wheel's least radius
    outside   it lies beyond the wheel's greatest radius; or, looking out from it square to the axle, there is
              no more of the wheel, while between the axle and it there is
    face      looking outboard along the axle there is no more of the wheel
    inside    looking inboard along the axle there is no more of the wheel
    pocket    looking in towards the axle there is no more of the wheel: it counts as face or inside, by the
              side of the wheel's innermost place on which that line passes
    undercut  none of these: metal of the wheel lies before it on all four sides

Windows and holes are what the finished wheel lacks of its full body; they are milled and drilled.

Volumes are sums over lines of constant r. Between two radii at which anything can change (ends and quarter
points of pieces, meetings of both outlines, and where a piece passes an end of the wheel along the axle) the
lengths on such a line are smooth but for roots at the ends, which the points' spacing takes away; 12 Gauss
points then give them to rounding. Every result carries what its sum is off the volumes by Green's theorem.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.errors import GeometryError
from geometry.readings.chords import Span, spans
from geometry.readings.solid import BoltHoles, SpokeRegion, solid, volume_mm3
from geometry.shape.curve import CR, CZ, R0, R1, RADIUS, START, SWEEP, Z0, Z1, Array, Path
from geometry.shape.faults import meeting_points

#: (12,) share of a strip at which a line lies, and its weight: Gauss points of t in r = (1 - cos(pi t)) / 2.
_T, _W = np.polynomial.legendre.leggauss(12)
_SHARE = (1.0 - np.cos(math.pi * (_T + 1.0) / 2.0)) / 2.0
_WEIGHT = _W / 2.0 * math.pi / 2.0 * np.sin(math.pi * (_T + 1.0) / 2.0)

#: Narrower strips between two radii are rounding, mm.
_LEAST_MM = 1e-10

# Columns of a table of quarters: r and z at the lower and the upper end in r; centre; radius, + where z is
# greater than the centre's, 0 for a line.
_LOW_R, _LOW_Z, _HIGH_R, _HIGH_Z, _AT_Z, _AT_R, _BEND = range(7)


@dataclass(frozen=True)
class Turned:
    """Volumes turned off a blank, mm3; what each word means stands at the head of this module.

    Attributes:
        missing_mm3: of the wheel, where the blank has no metal: this wheel cannot be cut from it.
        missing_at: (z, r) amid the longest stretch of it along the axle; None where nothing is missing.
        error_mm3: the sum less (blank - wheel + missing), both volumes by Green's theorem.
    """

    bore_mm3: float
    outside_mm3: float
    face_mm3: float
    inside_mm3: float
    undercut_mm3: float
    missing_mm3: float
    missing_at: tuple[float, float] | None
    error_mm3: float

    @property
    def total_mm3(self) -> float:
        """All that is turned."""
        return self.bore_mm3 + self.outside_mm3 + self.face_mm3 + self.inside_mm3 + self.undercut_mm3


def turned(blank: Path, wheel: Path) -> Turned:
    """Return what is turned off a blank down to a wheel's full body of revolution.

    Args:
        blank: closed section, counterclockwise; it may reach the axle.
        wheel: closed section of the wheel with windows and holes filled, counterclockwise, in the same frame.

    Raises:
        GeometryError: a section is not counterclockwise, or lies below the axle line.
    """
    for name, path in (("blank", blank), ("wheel", wheel)):
        if not path.area > 0.0:
            raise GeometryError(
                f"The section of the {name} runs clockwise; turn its order of vertices round."
            )
        z_low, _, r_low, _ = path.bounds
        if r_low < -1e-9:
            raise GeometryError(
                f"The section of the {name} lies {-r_low:g} mm below the axle.", (z_low, r_low)
            )
    sight = _Sight(wheel)
    found = np.zeros(6)
    longest, missing_at = 0.0, None
    for low, high in pairwise(_radii(blank, wheel, sight)):
        if high - low <= _LEAST_MM:
            continue
        r = low + (high - low) * _SHARE
        rows = zip(r.tolist(), _WEIGHT.tolist(), spans(blank, r, 0), spans(wheel, r, 0), strict=True)
        for at, weight, metal, kept in rows:
            parts, missing = sight.parted(at, metal, kept)
            lengths = [*parts, sum(b - a for a, b in missing)]
            found += 2.0 * math.pi * at * weight * (high - low) * np.array(lengths)
            for a, b in missing:
                if b - a > longest:
                    longest, missing_at = b - a, ((a + b) / 2.0, at)
    error = float(found[:5].sum()) - (volume_mm3(blank) - volume_mm3(wheel) + float(found[5]))
    bore, outside, face, inside, undercut, lacking = found.tolist()
    return Turned(bore, outside, face, inside, undercut, lacking, missing_at, error)


def opened_mm3(wheel: Path, spokes: SpokeRegion | None, holes: tuple[BoltHoles, ...]) -> tuple[float, float]:
    """Return what is milled for windows and drilled for holes, out of a wheel's full body, mm3.

    Raises:
        GeometryError: as `geometry.readings.solid.solid`.
    """
    full = volume_mm3(wheel)
    spoked = solid(wheel, 1.0, spokes).volume_mm3
    return full - spoked, spoked - solid(wheel, 1.0, spokes, holes).volume_mm3


class _Sight:
    """What stands before a place of a wheel's surroundings, on each of the four sides."""

    def __init__(self, wheel: Path) -> None:
        self.quarters = _quarters(wheel)
        self.z_low, self.z_high, self.r_low, self.r_high = wheel.bounds
        lower, upper = self.quarters[:, [_LOW_R, _LOW_Z]], self.quarters[:, [_HIGH_R, _HIGH_Z]]
        ends = np.vstack([lower, upper])
        self.innermost_z = float(ends[np.argmin(ends[:, 0]), 1])

    def parted(
        self, r: float, metal: Sequence[Span], kept: Sequence[Span]
    ) -> tuple[tuple[float, float, float, float, float], list[Span]]:
        """Return the lengths on a line of constant r, by operation, and the stretches that are missing."""
        free, missing = _less(metal, kept), _less(kept, metal)
        if r <= self.r_low:
            return (_length(free), 0.0, 0.0, 0.0, 0.0), missing
        if r >= self.r_high or not kept:
            return (0.0, _length(free), 0.0, 0.0, 0.0), missing
        within = [(self.z_low, self.z_high)]
        outside = _both(free, _less(within, self._beyond(r)))
        rest = _less(free, outside)
        face = _both(rest, [(kept[-1][1], math.inf)])
        inside = _both(rest, [(-math.inf, kept[0][0])])
        between = _both(rest, [(kept[0][0], kept[-1][1])])
        undercut = between
        outboard = inboard = 0.0
        if between:
            undercut = _both(between, self._within(r))
            pocket = _less(between, undercut)
            outboard = _length(_both(pocket, [(self.innermost_z, math.inf)]))
            inboard = _length(_both(pocket, [(-math.inf, self.innermost_z)]))
        lengths = _length(outside), _length(face) + outboard, _length(inside) + inboard, _length(undercut)
        return (0.0, *lengths), missing

    def _beyond(self, r: float) -> list[Span]:
        """Return the stretches of the axle along which the wheel has metal beyond a radius."""
        q = self.quarters[self.quarters[:, _HIGH_R] > r]
        return _joined(np.where(q[:, _LOW_R] < r, _heights(q, r), q[:, _LOW_Z]), q[:, _HIGH_Z])

    def _within(self, r: float) -> list[Span]:
        """Return the stretches of the axle along which the wheel has metal within a radius."""
        q = self.quarters[self.quarters[:, _LOW_R] < r]
        return _joined(q[:, _LOW_Z], np.where(q[:, _HIGH_R] > r, _heights(q, r), q[:, _HIGH_Z]))


# Pieces


def _stations(path: Path) -> Array:
    """Return (n, 7) the pieces of a path, arcs parted at quarter turns: z and r only rise or only fall.

    Columns as of quarters, but the start in place of the lower end and the end in place of the upper one.
    """
    rows = []
    for t in path.table:
        if t[SWEEP] == 0.0:
            rows.append((t[R0], t[Z0], t[R1], t[Z1], 0.0, 0.0, 0.0))
            continue
        start, stop = t[START], t[START] + t[SWEEP]
        quarters = [k * math.pi / 2.0 for k in range(-8, 9)]
        angles = [start, *sorted(a for a in quarters if min(start, stop) < a < max(start, stop)), stop]
        if t[SWEEP] < 0.0:
            angles[1:-1] = angles[-2:0:-1]
        places = [(t[CR] + t[RADIUS] * math.sin(a), t[CZ] + t[RADIUS] * math.cos(a)) for a in angles]
        places[0], places[-1] = (t[R0], t[Z0]), (t[R1], t[Z1])
        for (a, b), (p, q) in zip(pairwise(angles), pairwise(places), strict=True):
            rows.append((*p, *q, t[CZ], t[CR], math.copysign(t[RADIUS], math.cos((a + b) / 2.0))))
    return np.array(rows)


def _quarters(path: Path) -> Array:
    """Return (n, 7) the stations of a path, each from its lower to its upper end in r."""
    q = _stations(path)
    falls = q[:, _LOW_R] > q[:, _HIGH_R]
    q[falls, :4] = q[falls][:, [_HIGH_R, _HIGH_Z, _LOW_R, _LOW_Z]]
    return q


def _heights(q: Array, r: float) -> Array:
    """Return (n,) z of quarters at a radius; of no meaning where a quarter does not reach it."""
    rise = q[:, _HIGH_R] - q[:, _LOW_R]
    share = (r - q[:, _LOW_R]) / np.where(rise > 0.0, rise, 1.0)
    straight = q[:, _LOW_Z] + share * (q[:, _HIGH_Z] - q[:, _LOW_Z])
    bent = np.sqrt(np.maximum(q[:, _BEND] ** 2 - (r - q[:, _AT_R]) ** 2, 0.0))
    return np.asarray(np.where(q[:, _BEND] == 0.0, straight, q[:, _AT_Z] + np.copysign(bent, q[:, _BEND])))


def _radii(blank: Path, wheel: Path, sight: _Sight) -> list[float]:
    """Return the radii, rising, between which nothing on a line along the axle changes its kind."""
    both = np.vstack([_quarters(blank), sight.quarters])
    found = [*both[:, _LOW_R].tolist(), *both[:, _HIGH_R].tolist()]
    for i in range(len(blank)):
        for j in range(len(wheel)):
            found += meeting_points(blank, i, wheel, j)[:, 1].tolist()
    for level in _turns(wheel):
        found += _passed(both, level)
    return sorted(set(found))


def _turns(path: Path) -> list[float]:
    """Return z at which an outline turns round along the axle: where what stands before a place changes."""
    q = _stations(path)
    way = np.sign(q[:, _HIGH_Z] - q[:, _LOW_Z])
    turns: list[float] = q[way != np.roll(way, 1), _LOW_Z].tolist()
    return turns


def _passed(q: Array, level: float) -> list[float]:
    """Return the radii at which quarters pass a place along the axle."""
    low, high = np.minimum(q[:, _LOW_Z], q[:, _HIGH_Z]), np.maximum(q[:, _LOW_Z], q[:, _HIGH_Z])
    found = []
    for row in q[(low < level) & (level < high)]:
        if row[_BEND] == 0.0:
            share = (level - row[_LOW_Z]) / (row[_HIGH_Z] - row[_LOW_Z])
            found.append(float(row[_LOW_R] + share * (row[_HIGH_R] - row[_LOW_R])))
        else:
            up = math.sqrt(max(row[_BEND] ** 2 - (level - row[_AT_Z]) ** 2, 0.0))
            above = row[_LOW_R] + row[_HIGH_R] >= 2.0 * row[_AT_R]
            found.append(float(row[_AT_R] + (up if above else -up)))
    return found


# Stretches


def _joined(ends: Array, others: Array) -> list[Span]:
    """Return stretches between pairs of ends, joined where they meet, rising."""
    low, high = np.minimum(ends, others), np.maximum(ends, others)
    order = np.argsort(low)
    found: list[Span] = []
    for a, b in zip(low[order].tolist(), high[order].tolist(), strict=True):
        if found and a <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], b)
        else:
            found.append((a, b))
    return found


def _both(some: Iterable[Span], others: Sequence[Span]) -> list[Span]:
    return [(max(a, c), min(b, d)) for a, b in some for c, d in others if min(b, d) > max(a, c)]


def _less(some: Iterable[Span], others: Sequence[Span]) -> list[Span]:
    """Return what is left of rising stretches without others, rising too."""
    found = []
    for a, b in some:
        for c, d in others:
            if d <= a or c >= b:
                continue
            if c > a:
                found.append((a, c))
            a = max(a, d)
        if b > a:
            found.append((a, b))
    return found


def _length(some: Iterable[Span]) -> float:
    return sum(b - a for a, b in some)
