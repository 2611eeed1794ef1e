"""Budgets of the live readings: `measure` in one call, and the kernel against OpenCASCADE in the same run.

Figures only, no verdict; on a quiet machine: python -m pytest -m timing -s tests/timing/test_measure.py
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from app.files.project_file import load
from app.resources import sample
from app.studies.fit import hold
from geometry.readings.gap import gaps
from geometry.readings.measure import Held, measure
from geometry.readings.solid import solid
from geometry.shape.curve import Path
from geometry.shape.section import Outline, build
from tests.support import occ

pytestmark = pytest.mark.timing

REPEATS = 60


def median_ms(work: Callable[[], object]) -> float:
    """Median wall time of one call after a first, untimed one."""
    # As in a running window: memory that was once given back in large parts is kept by the allocator.
    np.ones(4_000_000)
    work()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1e3 * statistics.median(times)


def caliper(reach_mm: float) -> Path:
    """A brake envelope of 155 straight pieces with the given reach."""
    turns = np.linspace(0.0, 2.0 * np.pi, 155, endpoint=False)
    z, r = -14.0 + 58.0 * np.cos(turns), reach_mm - 43.0 + 43.0 * np.sin(turns)
    return Path.closed(np.column_stack([z, r]))


def blank(of: Path) -> Path:
    """The sample's blank with its straight edges halved until it has 104 pieces or more."""
    rows = of.rows()
    while len(rows) < 104:
        k = max(
            (i for i, row in enumerate(rows) if row[2] == 0.0),
            key=lambda i: np.hypot(*(np.array(rows[(i + 1) % len(rows)][:2]) - rows[i][:2])),
        )
        p, q = np.array(rows[k][:2]), np.array(rows[(k + 1) % len(rows)][:2])
        rows.insert(k + 1, (*((p + q) / 2.0).tolist(), 0.0))
    return Path.closed(rows)


def subject() -> tuple[Outline, Held]:
    project = load(sample("1-track-18-own-blank"))
    wheel = project.wheels[0]
    outline, held = build(wheel.section), hold(project, wheel)
    assert isinstance(outline, Outline)
    assert isinstance(held, Held)
    assert held.blank is not None
    return outline, replace(held, blank=blank(held.blank))


def blank_of(held: Held) -> Path:
    assert held.blank is not None
    return held.blank


@pytest.mark.parametrize(("word", "reach"), [("clear", 203.0), ("touching", 222.0)])
def test_measure(word: str, reach: float) -> None:
    outline, held = subject()
    (shape, _), *_ = held.shapes
    held = replace(held, shapes=((shape, (caliper(reach),)),))
    count = len(blank_of(held))
    touching = any(row.least_mm < 0.0 for row in measure(outline, held).gap)
    assert touching == (word == "touching")
    took = median_ms(lambda: measure(outline, held))
    print(
        f"\nmeasure, {word}: {len(outline.path)} pieces, shape {len(caliper(reach))}, "
        f"blank {count}: median {took:.2f} ms"
    )


def test_kernel_against_opencascade() -> None:
    occ.needs_occ()
    project = load(sample("1-track-18-own-blank"))
    section, shape = project.wheels[0].section, caliper(203.0)

    def ours() -> None:
        outline = build(section)
        assert isinstance(outline, Outline)
        gaps(outline.path, outline.zone, outline.skin, shape)
        solid(outline.path, 2712.6)

    outline = build(section)
    assert isinstance(outline, Outline)
    path = outline.path

    def theirs() -> None:
        occ.solid_properties(occ.revolve(path))
        occ.distance(path, shape)

    mine, other = median_ms(ours), median_ms(theirs)
    print(f"\nbuild + gap + solid {mine:.2f} ms, OpenCASCADE {other:.1f} ms: {other / mine:.0f} times")
