"""Where an outline meets itself, against shapely on random rings of both sizes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from app.files.readers.crossing import chords, self_crossing


@pytest.mark.parametrize("seed", range(60))
def test_small_rings_agree_with_shapely(seed: int) -> None:
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0.0, 2.0 * math.pi, rng.integers(4, 12)))
    reach = rng.uniform(5.0, 40.0, len(turn))
    ring = np.column_stack([reach * np.cos(turn), 150.0 + reach * np.sin(turn)])
    if seed % 2:
        rng.shuffle(ring)
    if seed % 3 == 0:
        ring = np.rint(ring / 10.0) * 10.0  # corners that touch, and sides that lie on each other
    ring = ring[np.any(ring != np.roll(ring, 1, axis=0), axis=1)]
    found = self_crossing([(z, r) for z, r in ring.tolist()])
    if len(ring) < 4:
        assert found is None
        return
    line = shapely.LinearRing(ring)
    assert (found is None) == line.is_simple
    if found is not None:
        # Where it is said to meet itself, two sides that are no neighbours, or that fold back, come together.
        sides = [shapely.LineString([a, b]) for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True)]
        assert sum(side.distance(shapely.Point(found)) < 1e-9 for side in sides) >= 2


def test_a_large_ring_is_looked_through_as_well() -> None:
    turn = np.linspace(0.0, 2.0 * math.pi, 5000, endpoint=False)
    ring = [(40.0 * math.cos(t), 150.0 + 40.0 * math.sin(t)) for t in turn]
    assert self_crossing(ring) is None
    ring[10], ring[2000] = ring[2000], ring[10]
    assert self_crossing(ring) is not None


def test_chords_lie_on_the_circle_of_their_arc() -> None:
    places = chords(((0.0, 100.0, 0.0), (30.0, 100.0, 1.0), (30.0, 130.0, 0.0)))
    on = np.array(places[1:-1])
    assert np.hypot(on[:, 0] - 30.0, on[:, 1] - 115.0) == pytest.approx(np.full(len(on), 15.0))
    assert on[:, 0].max() == pytest.approx(45.0, abs=0.01)  # bulge 1 lies to the right of the way
