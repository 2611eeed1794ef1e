"""Invented caliper outlines and the plain arithmetic of chains of lines and arcs.

A chain is a list of (z, r, bulge): a place and the bulge of the piece that leaves it, bulge = tan(quarter of
the arc's angle), positive when the arc turns to the left. A closed chain returns to its first place; an open
one ends at its last, whose bulge is 0. Closed outlines run counterclockwise. All lengths are mm.

Nothing here uses the program: the corpus must stay a second opinion.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]
Node = tuple[float, float, float]
Chain = list[Node]
Corner = tuple[float, float, float]
"""(z, r, corner radius)"""

FIT = 5e-5
"""Arcs that stand for another curve stay this close to it, in mm."""


def rounded(corners: Sequence[Corner]) -> Chain:
    """The closed outline through sharp corners, each rounded by its radius with an arc tangent to both edges.

    The cut length on both edges is radius * tan(turn / 2), the bulge tan(turn / 4), turn being the change of
    direction at the corner (elementary geometry).
    """
    chain: Chain = []
    for before, (z, r, radius), after in zip(
        [corners[-1], *corners[:-1]], corners, [*corners[1:], corners[0]], strict=True
    ):
        if radius == 0.0:
            chain.append((z, r, 0.0))
            continue
        inward = math.atan2(r - before[1], z - before[0])
        outward = math.atan2(after[1] - r, after[0] - z)
        turn = math.remainder(outward - inward, 2.0 * math.pi)
        cut = radius * math.tan(abs(turn) / 2.0)
        chain.append((z - cut * math.cos(inward), r - cut * math.sin(inward), math.tan(turn / 4.0)))
        chain.append((z + cut * math.cos(outward), r + cut * math.sin(outward), 0.0))
    return chain


FOUR_PISTON = (
    (-67.4, 121.3, 5.5),
    (-24.6, 97.6, 3.2),
    (41.9, 101.4, 4.8),
    (58.3, 126.7, 7.5),
    (55.1, 188.2, 11.3),
    (31.7, 203.7, 14.6),
    (-48.9, 201.2, 9.4),
    (-67.4, 176.5, 12.2),
)
STEPPED = (
    (-71.3, 133.8, 4.1),
    (-33.5, 110.9, 2.7),
    (38.6, 108.2, 3.3),
    (49.7, 139.4, 6.6),
    (49.7, 171.9, 4.2),
    (27.2, 178.3, 3.7),
    (21.4, 196.9, 8.7),
    (-52.7, 193.1, 8.4),
    (-71.3, 168.8, 9.9),
)
REAR = (
    (-43.7, 87.2, 3.9),
    (29.3, 84.6, 5.1),
    (37.8, 141.2, 9.3),
    (-12.4, 158.6, 13.7),
    (-43.7, 149.9, 7.1),
)
SHARP = (
    (-58.1, 103.7, 0.0),
    (12.9, 95.3, 0.0),
    (47.3, 112.8, 0.0),
    (51.6, 164.2, 0.0),
    (18.4, 182.9, 0.0),
    (-58.1, 179.3, 0.0),
)
EVEN = (
    (-53.9, 117.1, 6.1),
    (-21.7, 99.4, 4.7),
    (21.7, 99.4, 4.7),
    (53.9, 117.1, 6.1),
    (53.9, 174.3, 10.3),
    (33.1, 191.7, 13.9),
    (-33.1, 191.7, 13.9),
    (-53.9, 174.3, 10.3),
)
"""The same on both sides of z = 0, so that half of it can be drawn."""


def circle(centre: Point, radius: float) -> Chain:
    """A full circle as two half arcs."""
    return [(centre[0] - radius, centre[1], 1.0), (centre[0] + radius, centre[1], 1.0)]


def box(z0: float, r0: float, z1: float, r1: float) -> Chain:
    """A rectangle with straight edges."""
    return [(z0, r0, 0.0), (z1, r0, 0.0), (z1, r1, 0.0), (z0, r1, 0.0)]


@dataclass(frozen=True)
class Piece:
    """A line, or an arc of less than a full turn."""

    start: Point
    end: Point
    bulge: float

    @property
    def centre(self) -> Point:
        """Centre of the arc: left of the chord by (1 - b^2) / (4 b) chord lengths."""
        (z0, r0), (z1, r1) = self.start, self.end
        aside = (1.0 - self.bulge**2) / (4.0 * self.bulge)
        return ((z0 + z1) / 2.0 - aside * (r1 - r0), (r0 + r1) / 2.0 + aside * (z1 - z0))

    @property
    def radius(self) -> float:
        """Radius of the arc."""
        return math.dist(self.centre, self.start)

    @property
    def sweep(self) -> float:
        """Signed angle of the arc in radians."""
        return 4.0 * math.atan(self.bulge)

    def at(self, share: float) -> Point:
        """The place at a share (0 to 1) of the way."""
        (z0, r0), (z1, r1) = self.start, self.end
        if self.bulge == 0.0:
            return (z0 + share * (z1 - z0), r0 + share * (r1 - r0))
        cz, cr = self.centre
        angle = math.atan2(r0 - cr, z0 - cz) + share * self.sweep
        return (cz + self.radius * math.cos(angle), cr + self.radius * math.sin(angle))

    def length(self) -> float:
        """Length of the line or arc."""
        return abs(self.sweep) * self.radius if self.bulge else math.dist(self.start, self.end)

    def distance(self, place: Point) -> float:
        """Least distance from a place to the piece."""
        ends = min(math.dist(place, self.start), math.dist(place, self.end))
        if self.bulge == 0.0:
            (z0, r0), (z1, r1) = self.start, self.end
            along = ((place[0] - z0) * (z1 - z0) + (place[1] - r0) * (r1 - r0)) / math.dist(
                self.start, self.end
            ) ** 2
            return math.dist(place, self.at(along)) if 0.0 <= along <= 1.0 else ends
        cz, cr = self.centre
        start = math.atan2(self.start[1] - cr, self.start[0] - cz)
        turned = (math.atan2(place[1] - cr, place[0] - cz) - start) * math.copysign(1.0, self.bulge)
        if turned % (2.0 * math.pi) <= abs(self.sweep):
            return abs(math.dist(place, (cz, cr)) - self.radius)
        return ends


def pieces(chain: Chain, closed: bool = True) -> list[Piece]:
    """The lines and arcs of a chain in order."""
    following = [*chain[1:], chain[0]] if closed else chain[1:]
    return [Piece(a[:2], b[:2], a[2]) for a, b in zip(chain, following, strict=False)]


def area(chain: Chain) -> float:
    """Signed area of a closed chain: shoelace sum, and for each arc its segment R^2 (t - sin t) / 2."""
    total = 0.0
    for piece in pieces(chain):
        (z0, r0), (z1, r1) = piece.start, piece.end
        total += (z0 * r1 - z1 * r0) / 2.0
        if piece.bulge:
            total += piece.radius**2 * (piece.sweep - math.sin(piece.sweep)) / 2.0
    return total


def counterclockwise(chain: Chain) -> Chain:
    """The closed chain, turned round if it runs clockwise."""
    return chain if area(chain) > 0.0 else backwards(chain)


def backwards(chain: Chain, closed: bool = True) -> Chain:
    """The same chain walked the other way."""
    turned = [(piece.end[0], piece.end[1], -piece.bulge) for piece in reversed(pieces(chain, closed))]
    return turned if closed else [*turned, (chain[0][0], chain[0][1], 0.0)]


def moved(chain: Chain, dz: float, dr: float) -> Chain:
    """The chain moved."""
    return [(z + dz, r + dr, bulge) for z, r, bulge in chain]


def scaled(chain: Chain, factor: float) -> Chain:
    """The chain grown about (0, 0)."""
    return [(z * factor, r * factor, bulge) for z, r, bulge in chain]


def turned(chain: Chain, degrees: float) -> Chain:
    """The chain turned to the left about (0, 0)."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [(c * z - s * r, s * z + c * r, bulge) for z, r, bulge in chain]


def flipped(chain: Chain) -> Chain:
    """The chain mirrored in z: places in the old order, arcs turning the other way."""
    return [(-z, r, -bulge) for z, r, bulge in chain]


def flattened(chain: Chain, chord_mm: float, closed: bool = True) -> list[Point]:
    """Places on the chain, arcs replaced by chords that leave them by at most chord_mm."""
    places: list[Point] = []
    for piece in pieces(chain, closed):
        count = 1
        if piece.bulge:
            step = 2.0 * math.acos(1.0 - chord_mm / piece.radius)
            count = max(1, math.ceil(abs(piece.sweep) / step))
        places += [piece.at(i / count) for i in range(count)]
    return places if closed else [*places, chain[-1][:2]]


def polygon(places: Sequence[Point]) -> Chain:
    """A chain of straight edges."""
    return [(z, r, 0.0) for z, r in places]


def spaced(chain: Chain, step_mm: float, closed: bool = True) -> list[Point]:
    """Places along a chain, at most step_mm apart; joints are among them."""
    places: list[Point] = []
    for piece in pieces(chain, closed):
        count = max(1, math.ceil(piece.length() / step_mm))
        places += [piece.at(i / count) for i in range(count)]
    return places if closed else [*places, chain[-1][:2]]


def distance(chain: Chain, place: Point, closed: bool = True) -> float:
    """Least distance from a place to the chain."""
    return min(piece.distance(place) for piece in pieces(chain, closed))


def bounds(chain: Chain, closed: bool = True) -> tuple[float, float, float, float]:
    """Least and greatest z, least and greatest r, to about 0.001."""
    places = flattened(chain, 0.001, closed)
    return (
        min(p[0] for p in places),
        max(p[0] for p in places),
        min(p[1] for p in places),
        max(p[1] for p in places),
    )


def contains(chain: Chain, place: Point) -> bool:
    """Whether a place lies inside a closed chain (even-odd rule on the outline flattened to 0.001)."""
    inside = False
    outline = flattened(chain, 0.001)
    for (z0, r0), (z1, r1) in zip(outline, [*outline[1:], outline[0]], strict=True):
        if (r0 > place[1]) != (r1 > place[1]) and place[0] < z0 + (place[1] - r0) / (r1 - r0) * (z1 - z0):
            inside = not inside
    return inside


def arcs_along(curve: Callable[[float], Point], start: float, end: float, within_mm: float) -> Chain:
    """An open chain of arcs through a curve, halved until each stays within a distance of the curve."""

    def halve(a: float, b: float) -> Chain:
        first, middle, last = curve(a), curve((a + b) / 2.0), curve(b)
        piece = Piece(first, last, _bulge_through(first, middle, last))
        if all(piece.distance(curve(a + (b - a) * share / 8.0)) <= within_mm for share in range(1, 8)):
            return [(first[0], first[1], piece.bulge)]
        return halve(a, (a + b) / 2.0) + halve((a + b) / 2.0, b)

    # Thirds first, so that a curve symmetric about its middle is not taken for one arc.
    third = (end - start) / 3.0
    chain = [node for i in range(3) for node in halve(start + i * third, start + (i + 1) * third)]
    return [*chain, (*curve(end), 0.0)]


def _bulge_through(first: Point, middle: Point, last: Point) -> float:
    """Bulge of the arc through three places, by the inscribed angle at the middle one."""
    to_first = math.atan2(first[1] - middle[1], first[0] - middle[0])
    to_last = math.atan2(last[1] - middle[1], last[0] - middle[0])
    inscribed = (to_first - to_last) % (2.0 * math.pi)
    bulge = math.tan((math.pi - inscribed) / 2.0)
    return 0.0 if abs(bulge) < 1e-9 else bulge


def joined(*chains: Chain) -> Chain:
    """Open chains put end to end; where one ends the next begins."""
    whole: Chain = []
    for chain in chains:
        whole += chain[:-1]
    return [*whole, chains[-1][-1]]


def closing(chain: Chain) -> Chain:
    """An open chain whose last place is its first, as a closed one."""
    assert math.dist(chain[0][:2], chain[-1][:2]) < 1e-6
    return chain[:-1]
