"""How long walls take: budgets are 0.35 ms for 87 pieces, 0.4 for 400 stations, 0.6 for a profile."""

import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

import numpy as np
import pytest

from app.studies.fit import hold
from geometry.readings.profile import profile
from geometry.readings.rows import Held
from geometry.readings.wall import wall_at, walls
from geometry.shape.section import Outline, build
from tests.support.example import project

pytestmark = pytest.mark.timing


def milliseconds(work: Callable[[], object]) -> tuple[float, float]:
    """Return median and least of 300 runs."""
    taken = []
    for _ in range(300):
        start = time.perf_counter()
        work()
        taken.append(1e3 * (time.perf_counter() - start))
    return median(taken), min(taken)


def test_walls_band_and_profile() -> None:
    held_for = project()
    wheel = held_for.wheels[0]
    outline, held = build(wheel.section), hold(held_for, wheel)
    assert isinstance(outline, Outline)
    assert isinstance(held, Held)
    # As in a running window: memory that was once given back in large parts is kept by the allocator.
    del_me = np.ones(4_000_000)
    del del_me
    rng = np.random.default_rng(1)
    piece = rng.choice(np.flatnonzero(outline.skin), 400)
    t = rng.uniform(size=400)
    assert walls(outline)
    # A copy is another outline: nothing prepared for an earlier one helps.
    zones = milliseconds(lambda: walls(replace(outline)))
    band = milliseconds(lambda: wall_at(replace(outline), piece, t))
    strip = milliseconds(lambda: profile(replace(outline), held))
    print(f"\n{len(outline.path)} pieces, median (least): walls {zones[0]:.3f} ({zones[1]:.3f}) ms")
    print(f"400 stations {band[0]:.3f} ({band[1]:.3f}) ms")
    print(f"profile of {len(profile(outline, held).z)} stations {strip[0]:.3f} ({strip[1]:.3f}) ms")
