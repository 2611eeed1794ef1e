"""Bodies in space whose swept area in (z, r) is known in closed form, as triangles.

Frame: the axle is z, r = hypot(x, y), mm. Profiles are convex polygons (z, height over the axle),
counterclockwise.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tests.corpus.shapes import FIT, Chain, Point, arcs_along
from tests.corpus.truth import Place

Face = tuple[int, int, int]


@dataclass(frozen=True)
class Body:
    """Places and triangles; normals point outwards."""

    places: list[Place]
    faces: list[Face]

    def mapped(self, to: Callable[[Place], Place]) -> "Body":
        """The body with every place moved."""
        return Body([to(place) for place in self.places], self.faces)

    def scaled(self, factor: float) -> "Body":
        """The body grown about the origin."""
        return self.mapped(lambda p: (p[0] * factor, p[1] * factor, p[2] * factor))

    def moved(self, by: Place) -> "Body":
        """The body moved."""
        return self.mapped(lambda p: (p[0] + by[0], p[1] + by[1], p[2] + by[2]))

    def __add__(self, other: "Body") -> "Body":
        count = len(self.places)
        return Body(
            self.places + other.places,
            self.faces + [(a + count, b + count, c + count) for a, b, c in other.faces],
        )

    def triangles(self) -> list[tuple[Place, Place, Place]]:
        """The corners of every triangle."""
        return [(self.places[a], self.places[b], self.places[c]) for a, b, c in self.faces]

    def volume(self) -> float:
        """Signed volume of a closed body: sum of a . (b x c) / 6."""
        total = 0.0
        for a, b, c in self.triangles():
            total += a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2])
            total += a[2] * (b[0] * c[1] - b[1] * c[0])
        return total / 6.0


def _sides(count: int, rings: int, around: bool) -> list[Face]:
    """Triangles between neighbouring copies of a profile of `count` places."""
    faces = []
    for ring in range(rings if around else rings - 1):
        here, there = ring * count, (ring + 1) % rings * count
        for i in range(count):
            j = (i + 1) % count
            faces += [(here + i, here + j, there + j), (here + i, there + j, there + i)]
    return faces


def _caps(count: int, rings: int) -> list[Face]:
    last = (rings - 1) * count
    first_cap = [(0, i + 1, i) for i in range(1, count - 1)]
    return first_cap + [(last, last + i, last + i + 1) for i in range(1, count - 1)]


def block(profile: Sequence[Point], half_length: float, capped: bool = True) -> Body:
    """The profile pushed along the tangent from -half_length to half_length, flat-topped."""
    places = [(x, height, z) for x in (half_length, -half_length) for z, height in profile]
    return Body(places, _sides(len(profile), 2, False) + (_caps(len(profile), 2) if capped else []))


def block_area(profile: Sequence[Point], half_length: float) -> Chain:
    """Swept area of `block`: at height h the places reach from r = h (middle) to hypot(h, half_length) (end).

    The lower edge is the profile's own; the upper edge is a hyperbola for every slanting edge.
    """
    lower, upper = edges(profile)
    chain: Chain = [(z, r, 0.0) for z, r in lower[:-1]]
    chain.append((*lower[-1], 0.0))
    for start, end in pairwise(upper):
        if start[1] == end[1]:
            chain.append((start[0], math.hypot(start[1], half_length), 0.0))
        else:
            chain += arcs_along(_hyperbola(start, end, half_length), 0.0, 1.0, FIT)[:-1]
    last = upper[-1]
    return [*chain, (last[0], math.hypot(last[1], half_length), 0.0)]


def _hyperbola(start: Point, end: Point, half_length: float) -> Callable[[float], Point]:
    def at(t: float) -> Point:
        z, height = (a + t * (b - a) for a, b in zip(start, end, strict=True))
        return (z, math.hypot(height, half_length))

    return at


def turned(profile: Sequence[Point], half_angle_deg: float, steps: int) -> Body:
    """The profile turned about the axle by flat facets, 12 o'clock in the middle; 180 makes a ring."""
    ring = half_angle_deg == 180.0
    count = steps if ring else steps + 1
    angles = [math.radians(90.0 - half_angle_deg + 2.0 * half_angle_deg * i / steps) for i in range(count)]
    places = [(r * math.cos(a), r * math.sin(a), z) for a in angles for z, r in profile]
    faces = _sides(len(profile), count, ring)
    return Body(places, faces if ring else faces + _caps(len(profile), count))


def turned_area(profile: Sequence[Point], half_angle_deg: float, steps: int) -> Chain:
    """Swept area of `turned`: facets sag to r cos(half a step), so much lower is the lower edge."""
    sag = math.cos(math.radians(half_angle_deg / steps))
    lower, upper = edges(profile)
    return [(z, r * sag, 0.0) for z, r in lower] + [(z, r, 0.0) for z, r in upper]


def edges(profile: Sequence[Point]) -> tuple[list[Point], list[Point]]:
    """Lower edge from left to right and upper edge from right to left of a convex polygon."""
    n = len(profile)
    left = min(range(n), key=lambda i: profile[i])
    turned_round = [*profile[left:], *profile[:left]]
    right = max(range(n), key=lambda i: (turned_round[i][0], -turned_round[i][1]))
    lower, upper = turned_round[: right + 1], turned_round[right:]
    # A side that is not upright belongs to one edge only; its end then serves both.
    upper = upper[1:] if len(upper) > 1 and upper[1][0] == lower[-1][0] else upper
    return lower, upper if upper[-1][0] == lower[0][0] and len(upper) > 1 else [*upper, lower[0]]
