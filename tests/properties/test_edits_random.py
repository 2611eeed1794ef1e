"""Walls and reliefs on random sections, held against areas and distances taken by shapely on polygons."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.edits_offset import walled
from geometry.shape.edits_relief import relieved
from geometry.shape.edits_stretch import Spot
from geometry.shape.section import Outline, Section, Zone, build
from tests.support.sections import random_section, random_shape

FLAT_MM = 1e-4


def polygon(path: Path) -> shapely.Polygon:
    return shapely.Polygon(path.flattened(FLAT_MM))


def outline(section: Section) -> Outline:
    built = build(section)
    assert isinstance(built, Outline)
    return built


@pytest.mark.parametrize("seed", range(5))
def test_a_relief_takes_exactly_what_lies_within_the_gap(seed: int) -> None:
    """What is left is the metal less the shape grown by the gap, area for area, and no nearer."""
    rng = np.random.default_rng(seed)
    done = 0
    for _ in range(60):
        section = random_section(rng)
        before = outline(section)
        # A shape near some place of the brake side, so that most of them reach into the skin a little.
        at = before.path.points[int(rng.choice(np.flatnonzero(before.side == 1)))]
        size = float(rng.uniform(8.0, 25.0))
        z, r = at[0] - rng.uniform(5.0, 30.0), max(at[1] - rng.uniform(5.0, 30.0), size + 8.0)
        shape = random_shape(rng, (z, r), size)
        gap = float(rng.uniform(0.5, 5.0))
        metal, body = polygon(before.path), polygon(shape)
        left = metal.difference(body.buffer(gap, quad_segs=400))
        try:
            after, cuts = relieved(section, [shape], gap)
        except GeometryError:
            continue  # it would part the metal, or reach the axle: refused in words
        cut = polygon(outline(after).path)
        parts = [p for p in getattr(left, "geoms", [left]) if p.area > 0.05]
        assert len(parts) == 1, "metal was parted and that was not refused"
        assert shapely.distance(cut, body) >= gap - 1e-3
        assert cut.symmetric_difference(parts[0]).area < 0.02
        assert (cuts == 0) == (metal.area - left.area < 1e-4)
        done += cuts > 0
        if done == 4:
            return
    pytest.fail("too few reliefs could be cut")


@pytest.mark.parametrize("seed", range(5))
def test_every_new_place_stands_the_wall_off_the_skin_across(seed: int) -> None:
    """Along the middle of the stretch the moved skin is as far from the old skin across as was asked."""
    rng = np.random.default_rng(100 + seed)
    done = 0
    for _ in range(60):
        section = random_section(rng)
        vertices = section.vertices
        edges = [
            k for k, v in enumerate(vertices) if v.zone in (Zone.BARREL, Zone.SPOKE_BACK) and not v.bulge
        ]
        edge = int(rng.choice(edges))
        v, w = vertices[edge], vertices[(edge + 1) % len(vertices)]
        ends = [np.array([v.z + (w.z - v.z) * t, v.r + (w.r - v.r) * t]) for t in (0.3, 0.7)]
        before = outline(section)
        old = polygon(before.path)
        middle = (ends[0] + ends[1]) / 2.0
        # The skin across: what is left of the outline when the edge's own surroundings are taken away.
        own = shapely.LineString([(v.z, v.r), (w.z, w.r)]).buffer(0.5)
        across = old.exterior.difference(own)
        now = shapely.distance(shapely.Point(middle), across)
        if np.hypot(w.z - v.z, w.r - v.r) < 3.0 * now:
            continue  # too short to say which skin is across it
        wanted = float(now * rng.uniform(0.7, 1.3))
        try:
            moved = walled(section, Spot(*ends[0]), Spot(*ends[1]), wanted)
        except GeometryError:
            continue
        path = outline(moved.section).path
        new = shapely.LineString([*path.flattened(FLAT_MM), path.flattened(FLAT_MM)[0]])
        # Places of the new skin that lie off the old one, and face the middle half of the stretch.
        along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
        half = np.linalg.norm(ends[1] - ends[0]) / 2.0
        steps = shapely.line_interpolate_point(new, np.arange(0.0, new.length, 0.2))
        x = shapely.get_coordinates(steps)
        facing = np.abs((x - middle) @ along) < 0.5 * half
        near = np.abs((x - middle) @ np.array([-along[1], along[0]])) < abs(wanted - now) + 3.0
        off = shapely.distance(steps, old.exterior) > 0.02
        places = steps[facing & near & off]
        if len(places) < 5:
            continue
        distances = shapely.distance(places, across)
        assert distances == pytest.approx(wanted, abs=2e-3)
        done += 1
        if done == 4:
            return
    pytest.fail("too few walls could be made")
