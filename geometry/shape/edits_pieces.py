"""Open chains of straight lines and arcs, as edits of an outline take them apart and put them together.

Places are complex numbers z + i r in mm; a chain runs from its first piece to its last, and left is to the
left of its travel.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from geometry.shape.curve import Path
from geometry.tolerances import STRAIGHT_BULGE

#: Ends of pieces nearer than this are one place, mm.
SAME_MM = 1e-6
#: A part of a parallel curve may lie this much nearer than asked: rounding of crossings, mm.
_NEARER_MM = 1e-7
#: Crossings this far beyond a piece's end, as a length in mm, are its end.
_END_MM = 1e-9
#: Neighbours whose directions differ by less run on into each other, rad.
TANGENT_RAD = 1e-7
#: Sharp corners that turn by more are not drawn out to a point but rounded.
_MITRE_RAD = math.radians(120.0)


@dataclass(frozen=True)
class Piece:
    """A line or an arc of at most 180 degrees; bulge as in geometry.shape.curve."""

    start: complex
    end: complex
    bulge: float = 0.0

    @property
    def is_arc(self) -> bool:
        """True for an arc."""
        return abs(self.bulge) >= STRAIGHT_BULGE

    @property
    def sweep(self) -> float:
        """Signed angle of an arc, rad; 0 for a line."""
        return 4.0 * math.atan(self.bulge) if self.is_arc else 0.0

    @cached_property
    def centre(self) -> complex:
        """Centre of an arc."""
        chord = self.end - self.start
        return (self.start + self.end) / 2.0 + chord * 1j * (1.0 - self.bulge**2) / (4.0 * self.bulge)

    @cached_property
    def radius(self) -> float:
        """Radius of an arc, mm."""
        return abs(self.end - self.start) * (1.0 + self.bulge**2) / (4.0 * abs(self.bulge))

    @cached_property
    def length(self) -> float:
        """Length along the curve, mm."""
        return abs(self.sweep) * self.radius if self.is_arc else abs(self.end - self.start)

    def at(self, share: float) -> complex:
        """Return the place at a fraction of the length; beyond 0 and 1 the piece is prolonged."""
        if share in (0.0, 1.0):
            return self.end if share else self.start
        if not self.is_arc:
            return self.start + (self.end - self.start) * share
        return self.centre + (self.start - self.centre) * cmath.exp(1j * self.sweep * share)

    def direction(self, share: float) -> complex:
        """Return the unit direction of travel at a fraction of the length."""
        if not self.is_arc:
            return (self.end - self.start) / abs(self.end - self.start)
        out = (self.start - self.centre) / self.radius * cmath.exp(1j * self.sweep * share)
        return out * 1j * math.copysign(1.0, self.bulge)

    def part(self, low: float, high: float) -> Piece:
        """Return what lies between two fractions of the length."""
        return Piece(self.at(low), self.at(high), math.tan(self.sweep * (high - low) / 4.0))

    def reversed(self) -> Piece:
        """Return the piece run the other way."""
        return Piece(self.end, self.start, -self.bulge)

    def share_of(self, place: complex) -> float:
        """Return the fraction at which the prolonged piece passes a place on it; of an arc within a turn."""
        if not self.is_arc:
            along = (place - self.start) / (self.end - self.start)
            return along.real
        turn = cmath.phase((place - self.centre) / (self.start - self.centre)) / self.sweep
        whole = math.tau / abs(self.sweep)
        # Of all turns that lead there, the one whose middle is nearest the arc's.
        return (turn - 0.5 + whole / 2.0) % whole + 0.5 - whole / 2.0

    def nearest(self, place: complex) -> tuple[float, float]:
        """Return the distance of a place, mm, and the fraction at which the piece is nearest to it."""
        if self.is_arc and abs(place - self.centre) <= 1e-12:
            return self.radius, 0.0
        share = self.share_of(place)
        if 0.0 < share < 1.0:
            return abs(place - self.at(share)), share
        ends = abs(place - self.start), abs(place - self.end)
        return (ends[0], 0.0) if ends[0] <= ends[1] else (ends[1], 1.0)

    def parallel(self, left_mm: float) -> Piece | None:
        """Return the piece shifted to its left; None for an arc whose radius that uses up."""
        starts, ends = self.direction(0.0) * 1j * left_mm, self.direction(1.0) * 1j * left_mm
        if self.is_arc and self.radius - math.copysign(left_mm, left_mm * self.bulge) <= SAME_MM:
            return None
        return replace(self, start=self.start + starts, end=self.end + ends)


def pieces_of(path: Path) -> list[Piece]:
    """Return the pieces of a closed path."""
    points = [complex(z, r) for z, r in path.points.tolist()]
    ends = (*points[1:], points[0])
    return [Piece(a, b, bulge) for a, b, bulge in zip(points, ends, path.bulges.tolist(), strict=True)]


def meetings(a: Piece, b: Piece, prolonged: bool = False) -> list[tuple[float, float]]:
    """Return the fractions of two pieces at which they meet; pieces that overlap lengthwise meet nowhere.

    `prolonged` takes the whole line or circle that `a` lies on, at the fraction nearest to the piece.
    """
    found = []
    for place in _carriers_meet(a, b):
        share_a, share_b = a.share_of(place), b.share_of(place)
        slack_a, slack_b = _END_MM / a.length, _END_MM / b.length
        on_a = prolonged or -slack_a <= share_a <= 1.0 + slack_a
        if on_a and -slack_b <= share_b <= 1.0 + slack_b:
            found.append((share_a if prolonged else min(max(share_a, 0.0), 1.0), min(max(share_b, 0.0), 1.0)))
    return found


def _carriers_meet(a: Piece, b: Piece) -> list[complex]:
    """Return where the whole lines and circles of two pieces meet."""
    if a.is_arc and b.is_arc:
        return _circles_meet(a, b)
    if a.is_arc or b.is_arc:
        line, arc = (b, a) if a.is_arc else (a, b)
        way = line.direction(0.0)
        foot = line.start + way * ((arc.centre - line.start) / way).real
        half = arc.radius**2 - abs(foot - arc.centre) ** 2
        if half < -1e-12 * arc.radius**2:
            return []
        half = math.sqrt(max(half, 0.0))
        return [foot + way * half, foot - way * half]
    u, v = a.direction(0.0), b.direction(0.0)
    turn = (u.conjugate() * v).imag
    if abs(turn) < 1e-12:
        return []
    return [a.start + u * ((b.start - a.start).conjugate() * v).imag / turn]


def _circles_meet(a: Piece, b: Piece) -> list[complex]:
    apart = abs(b.centre - a.centre)
    if apart <= 1e-9:
        return []
    along = (apart**2 + a.radius**2 - b.radius**2) / (2.0 * apart)
    half = a.radius**2 - along**2
    if half < -1e-12 * a.radius**2:
        return []
    half = math.sqrt(max(half, 0.0))
    way = (b.centre - a.centre) / apart
    return [a.centre + way * complex(along, half), a.centre + way * complex(along, -half)]


def distance(chain: Sequence[Piece], place: complex) -> tuple[float, int, float]:
    """Return the distance from a place to a chain, mm, and piece and fraction of the nearest place."""
    best, piece, share = math.inf, -1, 0.0
    for k, each in enumerate(chain):
        # An arc of at most 180 degrees stays within its chord's length of its start.
        if abs(place - each.start) - abs(each.end - each.start) > best + SAME_MM:
            continue
        d, s = each.nearest(place)
        if d < best:
            best, piece, share = d, k, s
    return best, piece, share


def stretch(
    chain: Sequence[Piece], start: tuple[int, float], end: tuple[int, float]
) -> list[tuple[int, Piece]]:
    """Return what of a closed chain lies from one place forward to another, with the piece it is of."""
    n = len(chain)
    steps = (end[0] - start[0]) % n
    if steps == 0 and end[1] < start[1]:
        steps = n
    found = []
    for i in range(steps + 1):
        k = (start[0] + i) % n
        low, high = start[1] if i == 0 else 0.0, end[1] if i == steps else 1.0
        if (high - low) * chain[k].length > _END_MM:
            found.append((k, chain[k].part(low, high)))
    return found


def length_between(chain: Sequence[Piece], start: tuple[int, float], end: tuple[int, float]) -> float:
    """Return the length of a closed chain from one place forward to another, mm."""
    return sum(piece.length for _, piece in stretch(chain, start, end))


def run_on(chain: Sequence[Piece], place: tuple[int, float], forward_mm: float) -> tuple[int, float]:
    """Return the place on a closed chain so far forward of another, or back with a negative length."""
    k, share = place
    left = abs(forward_mm)
    for _ in range(2 * len(chain)):
        length = chain[k].length
        room = (1.0 - share if forward_mm > 0.0 else share) * length
        if left <= room:
            return k, share + math.copysign(left / length, forward_mm)
        left -= room
        k = (k + (1 if forward_mm > 0.0 else -1)) % len(chain)
        share = 0.0 if forward_mm > 0.0 else 1.0
    return k, share


def parallel(chain: Sequence[Piece], left_mm: float, pointed: bool = False) -> list[list[Piece]]:
    """Return the curve at a distance to the left of an open chain (right if negative), in connected runs.

    Every place on it lies exactly so far from the nearest place of the chain, but for corners drawn out to a
    point with `pointed`; what would lie nearer is left out. One run unless the chain leaves no room.
    """
    if not left_mm:
        return [list(chain)]
    return _joined(_apart(_shifted(chain, left_mm, pointed), chain, abs(left_mm)))


def grown(loops: Sequence[Sequence[Piece]], by_mm: float) -> list[Piece]:
    """Return the pieces of the line at a distance outside closed counterclockwise loops, in no order."""
    every = [piece for loop in loops for piece in loop]
    raw = [piece for loop in loops for piece in _shifted([loop[-1], *loop], -by_mm, False)[1:]]
    return _apart(raw, every, by_mm)


def _shifted(chain: Sequence[Piece], left_mm: float, pointed: bool) -> list[Piece]:
    """Return the pieces shifted, with arcs about corners that open; they may cross one another."""
    found: list[Piece] = []
    for k, piece in enumerate(chain):
        if k and found:
            found += _opened(chain[k - 1], piece, left_mm, pointed)
        shifted = piece.parallel(left_mm)
        if shifted is not None:
            found.append(shifted)
    return found


def _opened(before: Piece, after: Piece, left_mm: float, pointed: bool) -> list[Piece]:
    """Return what closes the gap between two shifted neighbours at a corner that opens to that side."""
    u, v, corner = before.direction(1.0), after.direction(0.0), after.start
    turn = cmath.phase(v / u)
    if turn * left_mm >= 0.0 or abs(turn) < TANGENT_RAD:
        return []
    start, end = corner + u * 1j * left_mm, corner + v * 1j * left_mm
    if pointed and abs(turn) <= _MITRE_RAD:
        tip = start + u * abs(left_mm) * math.tan(abs(turn) / 2.0)
        return [Piece(start, tip), Piece(tip, end)]
    return [Piece(start, end, math.tan(turn / 4.0))]


def _apart(raw: Sequence[Piece], chain: Sequence[Piece], least_mm: float) -> list[Piece]:
    """Return the parts of raw pieces, cut where they meet, that lie at least so far from a chain."""
    found: list[Piece] = []
    for i, piece in enumerate(raw):
        if piece.length <= _END_MM:
            continue
        cuts = {0.0, 1.0}
        for j, other in enumerate(raw):
            if j != i and other.length > _END_MM and _may_meet(piece, other):
                cuts.update(share for share, _ in meetings(piece, other))
        shares = _spread(sorted(cuts), SAME_MM / piece.length)
        low = None
        for a, b in pairwise(shares):
            away = distance(chain, piece.at((a + b) / 2.0))[0]
            if away >= least_mm - _NEARER_MM:
                low = a if low is None else low
            elif low is not None:
                found.append(piece.part(low, a))
                low = None
        if low is not None:
            found.append(piece.part(low, 1.0))
    return found


def _may_meet(a: Piece, b: Piece) -> bool:
    middle = abs((a.start + a.end) - (b.start + b.end)) / 2.0
    return middle <= (abs(a.end - a.start) + abs(b.end - b.start)) / 2.0 * (1.0 + 1e-9) + SAME_MM


def _spread(shares: list[float], least: float) -> list[float]:
    """Return rising fractions less those too near to the one before; both ends stay."""
    kept = [shares[0]]
    for share in shares[1:-1]:
        if share - kept[-1] > least and shares[-1] - share > least:
            kept.append(share)
    return [*kept, shares[-1]]


def _joined(pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Return pieces in order as runs whose neighbours share their ends bit for bit."""
    runs: list[list[Piece]] = []
    for piece in pieces:
        if runs and abs(runs[-1][-1].end - piece.start) <= SAME_MM:
            runs[-1].append(replace(piece, start=runs[-1][-1].end))
        else:
            runs.append([piece])
    return runs
