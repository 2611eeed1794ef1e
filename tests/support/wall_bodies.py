"""Bodies that are hard on walls: equal radii and steps, arcs of any kind, small kinks, metal on the axle."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.section import Outline, Section, Vertex, Zone, build
from tests.support.sections import Rng, random_outline, random_section

Corners = tuple[list[tuple[float, float]], list[float], list[float]]


def _ledges(rng: Rng) -> Corners:
    """Steps and corner radii of whole millimetres: discs with many contacts, arcs on one circle."""
    count = int(rng.integers(2, 6))
    z = np.cumsum(rng.integers(4, 12, count + 1)).tolist()
    low, high = (100 + rng.integers(-4, 3, count)).tolist(), (100 + rng.integers(6, 12, count)).tolist()
    points = [(z[k + e], low[k]) for k in range(count) for e in (0, 1)]
    points += [(z[k + e], high[k]) for k in reversed(range(count)) for e in (1, 0)]
    points = [p for k, p in enumerate(points) if p != points[k - 1]]
    return points, rng.integers(0, 4, len(points)).tolist(), [0.0] * len(points)


def _star(rng: Rng) -> Corners:
    """Straight and round edges of any bulge between corners round a centre."""
    count = int(rng.integers(4, 14))
    turns, reach = np.sort(rng.uniform(0.0, 2.0 * np.pi, count)), rng.uniform(5.0, 30.0, count)
    points = [(d * float(np.cos(a)), 100.0 + d * float(np.sin(a))) for d, a in zip(reach, turns, strict=True)]
    bulge = rng.uniform(-1.0, 1.0, count) * rng.choice([1.0, 0.3, 0.05])
    round_ = rng.uniform(size=count) < 0.5
    radii = np.where(rng.uniform(size=count) < 0.4, rng.uniform(0.0, 5.0, count), 0.0)
    return points, radii.tolist(), np.where(round_, bulge, 0.0).tolist()


def _polygon(rng: Rng) -> Corners:
    """A smooth blob drawn with many short edges, as a scan gives it."""
    count = int(rng.integers(40, 120))
    a = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    reach = 20.0 + sum(rng.uniform(0.0, 4.0) * np.cos(k * a + rng.uniform(0.0, 6.0)) for k in range(1, 6))
    points = list(zip((3.0 * reach * np.cos(a)).tolist(), (100.0 + reach * np.sin(a)).tolist(), strict=True))
    return points, [0.0] * count, [0.0] * count


def _solid_hub(rng: Rng) -> Corners:
    """Metal down to the axle line, faces leaning either way."""
    count = int(rng.integers(2, 6))
    r = np.linspace(0.0, 100.0, count).tolist()
    points = [(float(40.0 + rng.uniform(-10.0, 30.0)), x) for x in r]
    points += [(float(rng.uniform(-20.0, 5.0)), x) for x in reversed(r)]
    free = np.array([x > 0.0 for _, x in points])
    radii = np.where(free & (rng.uniform(size=len(points)) < 0.5), rng.uniform(0.0, 8.0, len(points)), 0.0)
    bulge = np.where(rng.uniform(size=len(points)) < 0.3, rng.uniform(-0.2, 0.2, len(points)), 0.0)
    bulge[-1] = 0.0
    return points, radii.tolist(), bulge.tolist()


def _flat_arcs(rng: Rng) -> Corners:
    """A wheel whose every edge is an arc, up to radii of some hundred metres."""
    vertices = random_section(rng).vertices
    bulge = rng.choice([-1.0, 1.0], len(vertices)) * 10.0 ** rng.uniform(-4.0, -1.5, len(vertices))
    return [(v.z, v.r) for v in vertices], [v.radius for v in vertices], bulge.tolist()


KINDS: dict[str, Callable[[Rng], Corners]] = {
    "ledges": _ledges,
    "star": _star,
    "polygon": _polygon,
    "solid hub": _solid_hub,
    "flat arcs": _flat_arcs,
}


def random_body(rng: Rng, kind: str) -> Outline:
    """Return a random valid outline of the kind, 'wheel' or one of KINDS, its edges in random zones."""
    if kind == "wheel":
        return random_outline(rng)
    for _ in range(1000):
        points, radii, bulges = KINDS[kind](rng)
        zones = rng.choice(np.array(list(Zone), dtype=object), len(points))
        try:
            section = Section(
                tuple(
                    Vertex(float(z), float(r), float(radius), float(bulge), zone)
                    for (z, r), radius, bulge, zone in zip(points, radii, bulges, zones, strict=True)
                )
            )
            body = build(section)
        except GeometryError:
            continue
        if isinstance(body, Outline):
            return body
    raise AssertionError(f"no valid body of kind {kind} in 1000 tries")
