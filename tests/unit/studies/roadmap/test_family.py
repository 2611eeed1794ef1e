"""The family of new blanks against every partition, and its bound."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import pytest

from app.studies.programme.highs import Solver
from app.studies.programme.inputs import AT_FIRST_USE, Kind, Mode, Option, Programme, Row
from app.studies.roadmap.family import WHOLE, Candidate, Family, Group, NewDie, design

FIXED = 38_000.0
#: In this process: a child for each of so many small problems would take longer than they do.
SOLVER = Solver(own_process=False)


class Invented:
    """Fitments as points of four sizes: a blank holds the greatest of each, so more never weighs less."""

    def __init__(self, seed: int, count: int) -> None:
        rng = np.random.default_rng(seed)
        self.names = [f"R{k}" for k in range(count)]
        self.sizes = {n: rng.uniform(0.0, 6.0, 4) for n in self.names}
        self.wheels = {n: int(rng.integers(20, 300)) for n in self.names}
        self.bought = {n: float(rng.uniform(480.0, 700.0)) for n in self.names if rng.random() < 0.6}
        self.asked = 0

    def mass(self, group: Group) -> float:
        return 40.0 + float(np.max([self.sizes[n] for n in group], axis=0).sum())

    def evaluate(self, groups: Sequence[Group]) -> list[Candidate | None]:
        self.asked += len(groups)
        found: list[Candidate | None] = []
        for group in groups:
            mass = self.mass(group)
            costs = dict.fromkeys(group, 40.0 + mass)
            too_large = mass > 60.0
            price = 6.0 * mass
            found.append(None if too_large else Candidate(group, mass, mass, price, costs, price, costs))
        return found

    def programme(self) -> Programme:
        rows = tuple(
            Row(
                n,
                {2030: float(self.wheels[n])},
                (Mode({f"bought {n}": self.bought[n]} if n in self.bought else {}),),
            )
            for n in self.names
        )
        options = tuple(Option(f"bought {n}", Kind.BOUGHT) for n in self.bought)
        return Programme(rows, options)

    def cost(self, parts: Sequence[Group], bought: Sequence[str]) -> float:
        total = sum(self.bought[n] * self.wheels[n] for n in bought)
        for part in parts:
            mass = self.mass(part)
            if mass > 60.0:
                return float("inf")
            total += FIXED + sum(self.wheels[n] * (6.0 * mass + 40.0 + mass) for n in part)
        return float(total)


def partitions(names: Sequence[str]) -> Iterator[list[Group]]:
    """Every way to part the names into groups."""
    if not names:
        yield []
        return
    first, rest = names[0], list(names[1:])
    for size in range(len(rest) + 1):
        for others in combinations(rest, size):
            left = [n for n in rest if n not in others]
            for parts in partitions(left):
                yield [frozenset((first, *others)), *parts]


def designed(made: Invented) -> Family:
    die = NewDie(FIXED, AT_FIRST_USE)
    return design(made.programme(), made.names, made.evaluate, lambda group: die, solver=SOLVER)


@pytest.mark.parametrize("seed", range(30))
def test_few_fitments_are_parted_as_all_partitions_say(seed: int) -> None:
    """Brute force over who is bought, and over every partition of the others."""
    made = Invented(seed, 3 + seed % 4)
    best = float("inf")
    can = list(made.bought)
    for size in range(len(can) + 1):
        for bought in combinations(can, size):
            rest = [n for n in made.names if n not in bought]
            best = min([best, *(made.cost(parts, bought) for parts in partitions(rest))])
    found = designed(made)
    served = {u.row for u in found.plan.uncovered}
    if best == float("inf"):
        assert served
        return
    assert found.plan.verdict == "proven"
    assert found.plan.objective == pytest.approx(best, rel=1e-9)
    assert found.is_whole
    assert found.bound <= found.plan.objective * (1.0 + 1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_the_bound_of_a_larger_family_is_below_the_best_and_the_search_near_it(seed: int) -> None:
    """Nine fitments: the same search with every group tried is the best there is."""
    made = Invented(100 + seed, 9)
    found = designed(made)
    assert len(made.names) > WHOLE
    assert not found.is_whole
    every = [frozenset(g) for size in range(1, 10) for g in combinations(made.names, size)]
    known = dict(zip(every, made.evaluate(every), strict=True))
    best = best_of(made, known)
    assert found.bound <= best * (1.0 + 1e-9)
    assert found.plan.objective >= best * (1.0 - 1e-9)
    assert found.plan.objective <= best * 1.05
    assert found.tried < len(every)


def best_of(made: Invented, known: dict[Group, Candidate | None]) -> float:
    """Least cost over all sets of groups, by taking the lowest name still to be served first."""
    order = {n: k for k, n in enumerate(made.names)}
    cost = {0: 0.0}
    bit = {n: 1 << k for n, k in order.items()}
    own = {sum(bit[n] for n in g): made.cost([g], []) for g, c in known.items() if c is not None}
    for n, price in made.bought.items():
        own[bit[n]] = min(own.get(bit[n], float("inf")), price * made.wheels[n])
    whole = (1 << len(made.names)) - 1
    for mask in range(1, whole + 1):
        low = mask & -mask
        least, part = float("inf"), mask
        while part:
            if part & low and part in own:
                least = min(least, own[part] + cost[mask ^ part])
            part = (part - 1) & mask
        cost[mask] = least
    return cost[whole]


def test_a_group_that_cannot_be_forged_is_not_tried_with_more() -> None:
    made = Invented(3, 6)
    heavy = made.names[0]
    made.sizes[heavy] = np.full(4, 9.0)
    found = designed(made)
    assert all(heavy not in c.members for c in found.chosen)
    tried = made.asked
    assert tried < 2**6 - 1


def test_the_order_of_the_rows_changes_nothing() -> None:
    one, other = Invented(7, 9), Invented(7, 9)
    other.names.reverse()
    a, b = designed(one), designed(other)
    assert a.plan.objective == pytest.approx(b.plan.objective, rel=1e-9)
    assert [c.members for c in a.chosen] == [c.members for c in b.chosen]
