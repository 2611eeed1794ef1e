"""Budget of bodies in space: a clean million triangles to the outline in at most 1 s after reading.

Figures only, no verdict; on a quiet machine: python -m pytest -m timing -s tests/timing/test_envelope.py
"""

from __future__ import annotations

import math
import os
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from app.files.readers.answer import Request
from app.files.readers.mesh import Bodies, swept_outline
from app.files.readers.mesh_formats import load
from app.files.readers.read import read_outline
from geometry.shape.axle_fit import fit_axle
from geometry.shape.curve import Array
from geometry.shape.envelope import swept
from geometry.shape.mesh import surface_of
from tests.support.mesh_text import stl
from tests.support.meshes import block, caliper, lump, turned

pytestmark = pytest.mark.timing

REPEATS = 9


def shuffled(triangles: Array) -> Array:
    """The same triangles in no order at all: none lies in memory by its neighbours."""
    return np.ascontiguousarray(triangles[np.random.default_rng(0).permutation(len(triangles))])


#: A section of 162 vertices with a wavy bore.
WAVES = [(-40.0 + 0.5 * k, 50.0 + 5.0 * math.sin(k / 9.0)) for k in range(160)]
WAVES += [(40.0, 150.0), (-40.0, 150.0)]
HUB = [(-30.0, 32.0), (0.0, 32.0), (0.0, 74.0), (-45.0, 80.0), (-45.0, 165.0), (-57.0, 165.0), (-57.0, 70.0)]

BODIES: dict[str, Callable[[], Array]] = {
    "like a caliper": lambda: caliper(1200, 404),
    "like a caliper, shuffled": lambda: shuffled(caliper(1200, 404)),
    "smooth lump": lambda: lump(708),
    "turned, 2880 steps": lambda: turned(WAVES, 2880),
    "a block": lambda: block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0)),
}


def brake() -> Array:
    """A clean brake of a million triangles in three bodies: a caliper over its disc, and two brake pads."""
    pads = [(z, z + 12.0) for z in (-13.5, -3.5)]
    return np.concatenate(
        [caliper(1200, 360), *(divided(block(z, (-55.0, 55.0), (120.0, 172.0)), 6) for z in pads)]
    )


def divided(triangles: Array, times: int) -> Array:
    """The same surface in 4^times as many triangles."""
    for _ in range(times):
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        p, q, r = (a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0
        corners = ((a, p, r), (p, b, q), (r, q, c), (p, q, r))
        triangles = np.concatenate([np.stack(each, axis=1) for each in corners])
    return triangles


def fixed_work() -> None:
    """The same work in every run, to compare runs on a machine that others use: 4 million numbers sorted."""
    np.random.default_rng(0).random(4_000_000).sort()


def median_s(work: Callable[[], object], repeats: int = REPEATS, warm: bool = True) -> float:
    if warm:
        work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def load_average() -> str:
    return f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores" if hasattr(os, "getloadavg") else ""


def test_budget_of_a_brake_after_reading() -> None:
    """All that comes after reading: soundness, bodies, outline. At most 1 s on a quiet machine."""
    bodies = Bodies(brake().astype(np.float32).astype(float), "mm")
    request = Request(".stl", axle_named=True)
    found = swept_outline(bodies, request, "")
    assert len(found.bodies) == 3
    assert found.warnings == ("3 bodies",)
    work, fixed = [], []
    for _ in range(5):
        work.append(median_s(lambda: swept_outline(bodies, request, ""), 1, warm=False))
        fixed.append(median_s(fixed_work, 1, warm=False))
    took, other = statistics.median(work), statistics.median(fixed)
    print(
        f"\nbrake, {len(bodies.triangles)} triangles after reading: {sum(map(len, found.loops))} vertices, "
        f"{found.tolerance_mm:.4f} mm outside at most, median {took:.2f} s (least {min(work):.2f}), "
        f"{took / other:.1f} times the fixed work of {other:.2f} s; {load_average()}"
    )


@pytest.mark.parametrize("name", BODIES)
def test_outline(name: str) -> None:
    body = BODIES[name]()
    found = swept(body)
    took = median_s(lambda: swept(body))
    print(
        f"\n{name}, {len(body)} triangles: outline of {sum(map(len, found.outlines))} vertices, "
        f"{found.tolerance_mm:.4f} mm outside at most, median {took:.2f} s; {load_average()}"
    )


def test_soundness() -> None:
    body = caliper(1200, 404).astype(np.float32).astype(float)
    took = median_s(lambda: surface_of(body))
    print(f"\nsoundness of {len(body)} triangles: median {took:.2f} s; {load_average()}")


def test_fitted_axle() -> None:
    body = np.concatenate([turned(HUB, 2880), caliper(1200, 404)])
    took = median_s(lambda: fit_axle(body), 3)
    print(f"\naxle fitted to {len(body)} triangles: median {took:.2f} s; {load_average()}")


def test_the_largest_file_through_the_child(tmp_path: Path) -> None:
    body = caliper(2400, 400)
    path = tmp_path / "large.stl"
    path.write_bytes(stl(body))
    data = path.read_bytes()
    loading = median_s(lambda: load(data, ".stl"), 3)
    took = median_s(lambda: read_outline(path, unit="mm"), 3)
    print(
        f"\n{len(body)} triangles, {len(data) / 1e6:.0f} MB of binary STL: loaded in {loading:.2f} s, "
        f"child from start to answer {took:.2f} s; {load_average()}"
    )
