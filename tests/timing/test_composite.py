"""How long the smallest blank takes: 12 wheels with proven seats 0.3 s, one group at given seats 10 ms."""

import time
from statistics import median

import numpy as np
import pytest

from geometry.forging.composite import Forgeable, need
from geometry.forging.seats import seated
from tests.unit.geometry_forging.test_composite import random_wheel

pytestmark = pytest.mark.timing


def test_twelve_wheels() -> None:
    rng, how = np.random.default_rng(3), Forgeable(1.0, 2.0, 15.0)
    wheels = [random_wheel(rng) for _ in range(12)]
    needs = [need(f"w{k}", w, np.full(len(w), 4.0), how) for k, w in enumerate(wheels)]
    seated(needs, how)
    proven, given = [], []
    for _ in range(9):
        start = time.perf_counter()
        found = seated(needs, how)
        proven.append(time.perf_counter() - start)
        start = time.perf_counter()
        fresh = [need(f"w{k}", w, np.full(len(w), 4.0), how) for k, w in enumerate(wheels)]
        seated(fresh, how, seats_mm=found.seats_mm)
        given.append(time.perf_counter() - start)
    proven_s, given_ms = median(proven), 1e3 * median(given)
    print(f"\nproven, {found.planes} planes: {proven_s:.3f} s; at given seats {given_ms:.1f} ms")
    assert found.is_proven
