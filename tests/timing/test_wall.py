"""How long walls take; the budget is about 1.2 ms of one frame for some 76 pieces, 3 ms for 400 stations."""

import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

import numpy as np
import pytest

from geometry.readings.wall import wall_at, walls
from geometry.shape.section import Outline, build
from tests.support.example import wheel

pytestmark = pytest.mark.timing


def milliseconds(work: Callable[[], object]) -> tuple[float, float]:
    """Return median and least of 300 runs."""
    taken = []
    for _ in range(300):
        start = time.perf_counter()
        work()
        taken.append(1e3 * (time.perf_counter() - start))
    return median(taken), min(taken)


def test_walls_and_band() -> None:
    outline = build(wheel().section)
    assert isinstance(outline, Outline)
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
    print(f"\n{len(outline.path)} pieces, median (least): walls {zones[0]:.2f} ({zones[1]:.2f}) ms")
    print(f"400 stations {band[0]:.2f} ({band[1]:.2f}) ms")
