"""How long a match takes; the budget is 4 s for 100 wheels against 100 brakes in one process."""

import time

import numpy as np
import pytest

from app.studies.match import match
from tests.properties.test_match import random_project

pytestmark = pytest.mark.timing


def test_a_hundred_wheels_against_a_hundred_brakes() -> None:
    whole = random_project(np.random.default_rng(31), 100, 100, deepest_mm=90.0)
    match(whole, wheels=["w0"])
    taken = []
    for _ in range(3):
        start = time.perf_counter()
        found = match(whole)
        taken.append(time.perf_counter() - start)
    read = sum(not pair.is_paper_only for pair in found.pairs)
    print(f"\n{len(found.pairs)} pairs, {read} with the worst state: {sorted(taken)[1]:.2f} s")
    assert len(found.pairs) == 10_000
