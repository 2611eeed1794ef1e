"""The blank of a group is that of a set: neither the order of its wheels nor one that is free changes it."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from app.studies.composite import DECIDES_KG, composite
from app.studies.forging_needs import ForgingSettings
from geometry.forging.composite import Forgeable, Need, need
from geometry.forging.seats import moment_and_slopes, seated
from tests.unit.geometry_forging.test_composite import random_group, random_wheel
from tests.unit.studies.test_composite import group

HOW = Forgeable(1.0, 2.0, 15.0)
#: Searches that end at different places of a flat valley may differ by this; a wheel decides over 0.01 kg.
SAME_KG = 1e-3


def larger(seed: int, count: int) -> Any:
    """Return a group that takes seconds; the small ones are tried in every run."""
    return pytest.param(seed, count, marks=pytest.mark.long)


def random_needs(seed: int, count: int) -> list[Need]:
    rng = np.random.default_rng(seed)
    wheels = [random_wheel(rng) for _ in range(count)]
    return [need(f"w{k}", wheel, np.full(len(wheel), 4.0), HOW) for k, wheel in enumerate(wheels)]


@pytest.mark.parametrize(("seed", "count"), [(0, 3), (9, 4), larger(6, 5), larger(7, 6)])
def test_the_order_of_wheels_changes_neither_mass_nor_seats(seed: int, count: int) -> None:
    needs, rng = random_needs(seed, count), np.random.default_rng(seed)
    first = seated(needs, HOW)
    for _ in range(4):
        order = rng.permutation(count).tolist()
        other = seated([needs[k] for k in order], HOW)
        assert other.mass_kg == pytest.approx(first.mass_kg, rel=1e-9)
        seats = np.array(first.seats_mm)[order]
        assert other.seats_mm == pytest.approx(seats - seats[0], abs=1e-9)


@pytest.mark.parametrize(("seed", "count"), [(2, 5), (14, 5), larger(10, 5), larger(11, 6)])
def test_a_wheel_that_decides_nothing_can_be_dropped(seed: int, count: int) -> None:
    """Each of these groups holds such a wheel; leaving out any of the others makes the blank lighter."""
    needs = random_needs(seed, count)
    mass = seated(needs, HOW).mass_kg
    saved = [mass - seated(needs[:k] + needs[k + 1 :], HOW).mass_kg for k in range(count)]
    assert min(saved) > -SAME_KG
    assert sum(abs(kg) < SAME_KG for kg in saved) == 1
    assert sum(kg > DECIDES_KG for kg in saved) == count - 1


@pytest.mark.parametrize("seed", [6, 7])
def test_no_seats_thrown_nearby_are_lighter(seed: int) -> None:
    """With fillets nothing is proven: places thrown about the one found, single seats and all at once."""
    needs, rng = random_needs(seed, 4), np.random.default_rng(seed)
    found = seated(needs, HOW)
    for reach in (0.05, 0.5, 3.0):
        for _ in range(60):
            step = rng.uniform(-reach, reach, len(needs))
            if rng.random() < 0.5:
                step *= np.arange(len(needs)) == rng.integers(1, len(needs))
            step[0] = 0.0
            there = seated(needs, HOW, seats_mm=(np.array(found.seats_mm) + step).tolist())
            assert there.mass_kg > found.mass_kg - SAME_KG


@pytest.mark.parametrize("seed", range(6))
def test_slopes_with_fillets_are_those_of_the_mass(seed: int) -> None:
    _, _, needs, _ = random_group(seed)
    seats = np.random.default_rng(seed).uniform(-8.0, 8.0, 3)
    value, slopes = moment_and_slopes(needs, seats.tolist(), 15.0)
    for k, step in itertools.product(range(3), (1e-4, -1e-4)):
        moved = seats.copy()
        moved[k] += step
        there, _ = moment_and_slopes(needs, moved.tolist(), 15.0)
        assert (there - value) / step == pytest.approx(slopes[k], rel=1e-2, abs=20.0)


@pytest.mark.parametrize("web", [0.0, 40.0])
def test_who_decides_does_not_hang_on_the_order_of_names(web: float) -> None:
    project, settings = group(), ForgingSettings(how=Forgeable(1.0, 2.0, 15.0, web))
    names = [w.name for w in project.wheels]
    results = [composite(project, order, settings) for order in (names, names[::-1], names[1:] + names[:1])]
    costs = {w.name: w.costs_others_kg for w in results[0].wheels}
    for result in results:
        assert result.mass_kg == pytest.approx(results[0].mass_kg, rel=1e-9)
        for each in result.wheels:
            assert each.costs_others_kg == pytest.approx(costs[each.name], abs=1e-6)
    free = [w.name for w in results[0].wheels if not w.decides]
    assert 0 < len(free) < len(names)
    for name in free:
        rest = composite(project, [n for n in names if n != name], settings)
        assert rest.mass_kg == pytest.approx(results[0].mass_kg, abs=DECIDES_KG)
