"""Invented roadmaps for the die programme."""

import numpy as np

from app.studies.programme.inputs import Kind, Mode, Option, Payment, Programme, Row

_HALVES = (Payment(0.5, 1), Payment(0.5, 0))


def family(seed: int, rows: int, dies: int, years: int = 1, rate: float = 0.0) -> Programme:
    """A roadmap as it is: a row needs a width, a depth and a brake, a die is the composite of some
    neighbours.

    A die serves about a tenth of the rows, the dearer the more metal is cut away; a bought blank serves every
    row. Rows come and go. Money is that of practice 23 in size.
    """
    rng = np.random.default_rng(seed)
    need = rng.random((rows, 3))
    gives = np.array([_composite(rng, need) for _ in range(dies)])
    found = []
    for i in range(rows):
        over = gives - need[i]
        served = np.flatnonzero((over >= 0.0).all(axis=1) & (over.max(axis=1) < 0.45))
        cost = 330.0 + over[served] @ (108.0, 72.0, 45.0) + rng.random(served.size)
        costs = {f"die {j:04}": float(c) for j, c in zip(served, cost, strict=True)}
        costs["bought"] = float(rng.uniform(480.0, 760.0))
        first = int(rng.integers(0, max(1, years - 2)))
        last = int(rng.integers(min(years, first + 2), years + 1))
        wheels = float(rng.integers(20, 400))
        volumes = {2031 + t: wheels for t in range(first, last)}
        found.append(Row(f"row {i:03}", volumes, (Mode(costs),)))
    return Programme(tuple(found), _options(dies), rate=rate, base_year=2030)


def scattered(seed: int, rows: int, dies: int, years: int = 1, rate: float = 0.0) -> Programme:
    """The same without any order in what a die serves and at what cost: far harder than a roadmap."""
    rng = np.random.default_rng(seed)
    found = []
    for i in range(rows):
        served = np.flatnonzero(rng.random(dies) < 0.1)
        cost = rng.uniform(300.0, 500.0, served.size)
        costs = {f"die {j:04}": float(c) for j, c in zip(served, cost, strict=True)}
        costs["bought"] = float(rng.uniform(500.0, 800.0))
        volumes = {2031 + t: float(w) for t, w in enumerate(rng.integers(20, 400, years))}
        found.append(Row(f"row {i:03}", volumes, (Mode(costs),)))
    return Programme(tuple(found), _options(dies), rate=rate, base_year=2030)


def _composite(rng: np.random.Generator, need: np.ndarray) -> np.ndarray:
    first = rng.integers(len(need))
    near = np.argsort(np.abs(need - need[first]).sum(axis=1))[: rng.integers(2, max(3, len(need) // 4))]
    picked = rng.choice(near, size=min(near.size, int(rng.integers(2, 6))), replace=False)
    made: np.ndarray = need[[first, *picked]].max(axis=0) + rng.uniform(0.0, 0.02, 3)
    return made


def _options(dies: int) -> tuple[Option, ...]:
    own = (Option(f"die {j:04}", fixed=100_000.0, payments=_HALVES, lead_years=1.0) for j in range(dies))
    return (Option("bought", Kind.BOUGHT), *own)
