"""The depth of every zone that a shape enters, against places sampled along both outlines (shapely)."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from geometry.readings.gap import gaps
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, outline_path
from tests.support.sections import random_outline, random_shape

FLAT_MM = 1e-4
STEP_MM = 0.02


def _sampled(path: Path) -> tuple[np.ndarray, np.ndarray]:
    """Return places every 0.02 mm along a path, and the piece of each."""
    counts = np.maximum(np.ceil(path.lengths / STEP_MM), 1.0).astype(int)
    piece = np.repeat(np.arange(len(path)), counts + 1)
    share = np.concatenate([np.linspace(0.0, 1.0, n + 1) for n in counts])
    return path.at(piece, share), piece


@pytest.mark.parametrize("seed", range(6))
def test_depth_of_every_zone_is_that_of_its_deepest_place(seed: int) -> None:
    rng = np.random.default_rng(seed)
    compared = 0
    while compared < 4:
        outline = random_outline(rng)
        z, r = rng.uniform(-130.0, 120.0), rng.uniform(60.0, 190.0)
        shape = random_shape(rng, (z, r), rng.uniform(8.0, 45.0))
        found = gaps(outline.path, outline.zone, outline.skin, shape)
        if not found.touching:
            continue
        metal, body = (shapely.Polygon(p.flattened(FLAT_MM)) for p in (outline.path, shape))
        deepest: dict[int, float] = {}

        def offer(zones: np.ndarray, depths: np.ndarray, deepest: dict[int, float] = deepest) -> None:
            for q in np.unique(zones).tolist():
                deepest[q] = max(deepest.get(q, 0.0), float(depths[zones == q].max()))

        # Skin inside the shape, each for its own zone.
        x, piece = _sampled(outline.path)
        inside = shapely.contains_xy(body, x) & outline.skin[piece]
        offer(outline.zone[piece[inside]], shapely.distance(body.exterior, shapely.points(x[inside])))
        # The shape's outline in the metal, for the zone of the nearest piece that it crosses.
        x, _ = _sampled(shape)
        x = x[shapely.contains_xy(metal, x)]
        if len(x):
            lines, every = _pieces(outline.path), np.flatnonzero(outline.skin).tolist()
            edge = shapely.LineString(np.vstack([shape.flattened(FLAT_MM), shape.points[:1]]))
            # A shape that lies wholly in the metal crosses none.
            crossed = [k for k in every if lines[k].intersects(edge)] or every
            skin = shapely.MultiLineString([lines[k] for k in every])
            away = np.vstack([shapely.distance(lines[k], shapely.points(x)) for k in crossed])
            depth = np.asarray(shapely.distance(skin, shapely.points(x)))
            for q in np.unique(outline.zone[crossed]).tolist():
                of_zone = away[outline.zone[crossed] == q].min(axis=0) <= away.min(axis=0)
                if of_zone.any():
                    deepest[q] = max(deepest.get(q, 0.0), float(depth[of_zone].max()))
        for f in found.findings:
            if f.least_mm < 0.0 or deepest.get(f.zone, 0.0) > 0.01:
                assert -f.least_mm == pytest.approx(deepest[f.zone], abs=0.02)
                compared += 1


def _pieces(path: Path) -> list[shapely.LineString]:
    """Return each piece as a line string, arcs in steps finer than the flattening."""
    share = np.linspace(0.0, 1.0, 400)
    return [
        shapely.LineString(path.at(np.full(len(share), k), share))
        if path.is_arc[k]
        else shapely.LineString([path.points[k], path.ends[k]])
        for k in range(len(path))
    ]


def test_a_joint_of_two_zones_is_deep_for_both() -> None:
    """A square corner of a shape that enters through a joint: nearest to the joint, so to both its zones."""
    metal = Path.closed([(0.0, 100.0), (40.0, 100.0), (80.0, 100.0), (80.0, 140.0), (0.0, 140.0)])
    shape = outline_path((Corner(30.0, 60.0), Corner(50.0, 60.0), Corner(50.0, 108.0), Corner(30.0, 108.0)))
    assert isinstance(shape, Path)
    zone = np.array([0, 1, 2, 3, 4])
    found = {f.zone: f.least_mm for f in gaps(metal, zone, np.ones(5, dtype=bool), shape).findings}
    # Under its top edge at r 108, the least distance to the skin at r 100.
    assert found[0] == pytest.approx(-8.0, abs=0.01)
    assert found[1] == pytest.approx(-8.0, abs=0.01)
