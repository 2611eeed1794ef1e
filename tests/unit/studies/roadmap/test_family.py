"""The family of new blanks against every partition, and its bound."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

from app.studies.programme.highs import Solver
from app.studies.programme.inputs import AT_FIRST_USE, Holder, Kind, Mode, Option, Programme, Question, Row
from app.studies.roadmap.family import WHOLE, Family, design
from app.studies.roadmap.family_bound import least_of_any
from app.studies.roadmap.family_choice import Candidate, Group, NewDie
from tests.support.one_of import one_of

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
            costs = {name: self.beside(name, mass) for name in group}
            too_large = mass > 60.0
            found.append(None if too_large else Candidate(group, mass, mass, self.price(mass), costs))
        return found

    def price(self, mass_kg: float) -> float:
        return 6.0 * mass_kg

    def beside(self, name: str, mass_kg: float) -> float:
        return 40.0 + mass_kg

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
    return design(made.programme(), made.names, made.evaluate, lambda group: die, made, solver=SOLVER)


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


class Valued(Invented):
    """Want rows with contributions, two diameters with a holder each, runs by year, masses proven from below.

    A family is added up here by hand: it shares nothing with the model but the fields of the inputs.
    """

    YEARS = (2030, 2031)
    SET_UP, LEAST, HOLDER, LEFT = 2_000.0, 60.0, 20_000.0, 0.5

    def __init__(self, seed: int, count: int) -> None:
        super().__init__(seed, count)
        rng = np.random.default_rng(1000 + seed)
        self.brings = {n: float(rng.uniform(250.0, 900.0)) for n in self.names}
        self.must = {n for n in self.names if rng.random() < 0.2 and n in self.bought}
        self.code = {n: int(rng.integers(18, 20)) for n in self.names}

    def mass(self, group: Group) -> float:
        # Another diameter in the group costs metal.
        return super().mass(group) + (4.0 if len({self.code[n] for n in group}) > 1 else 0.0)

    def evaluate(self, groups: Sequence[Group]) -> list[Candidate | None]:
        found = super().evaluate(groups)
        return [None if c is None else replace(c, least_kg=c.mass_kg - 0.2) for c in found]

    def die(self, group: Group) -> NewDie:
        holder = f"{self.code[min(group)]}"
        return NewDie(FIXED, AT_FIRST_USE, holder, 0.0, self.SET_UP, self.LEAST, self.LEFT)

    def question(self, question: Question) -> Programme:
        plain = self.programme()
        rows = tuple(
            replace(
                row,
                volumes=dict.fromkeys(self.YEARS, float(self.wheels[row.name])),
                modes=tuple(replace(m, contribution=self.brings[row.name]) for m in row.modes),
                is_must=question is Question.LEAST_COST or row.name in self.must,
            )
            for row in plain.rows
        )
        holders = tuple(Holder(str(code), self.HOLDER) for code in (18, 19))
        return Programme(rows, plain.options, holders, question=question)

    def die_cost(self, group: Group) -> float:
        """Cost of a group's die and its wheels, without the holder; infinite where it cannot be had."""
        mass = self.mass(group)
        if mass > 60.0:
            return float("inf")
        pieces = sum(self.wheels[n] for n in group)
        over = max(self.LEAST - pieces, 0.0)
        yearly = self.SET_UP + over * self.LEFT * self.price(mass)
        yearly += sum(self.wheels[n] * (self.price(mass) + self.beside(n, mass)) for n in group)
        return FIXED + len(self.YEARS) * yearly

    def objective(self, parts: Sequence[Group], bought: Sequence[str], counts: bool) -> float:
        cost = sum(map(self.die_cost, parts)) + self.HOLDER * len({self.code[min(p)] for p in parts})
        cost += len(self.YEARS) * sum(self.bought[n] * self.wheels[n] for n in bought)
        served = [*bought, *(n for p in parts for n in p)]
        brings = len(self.YEARS) * sum(self.brings[n] * self.wheels[n] for n in served)
        return cost - brings if counts else cost

    def best(self, question: Question) -> float:
        """Every way to refuse, buy, and part the others; groups of one option serve whole rows here."""
        counts = question is Question.GREATEST_VALUE
        found = float("inf")
        for how in product("rbo", repeat=len(self.names)):
            refused = [n for n, h in zip(self.names, how, strict=True) if h == "r"]
            bought = [n for n, h in zip(self.names, how, strict=True) if h == "b"]
            if any(n not in self.bought for n in bought):
                continue
            if refused and (not counts or any(n in self.must for n in refused)):
                continue
            own = [n for n, h in zip(self.names, how, strict=True) if h == "o"]
            found = min([found, *(self.objective(parts, bought, counts) for parts in partitions(own))])
        return found


@pytest.mark.parametrize("question", [Question.LEAST_COST, Question.GREATEST_VALUE])
@pytest.mark.parametrize("seed", one_of(2, range(30)))
def test_no_partition_is_below_the_bound(seed: int, question: Question) -> None:
    """The bound that larger roadmaps get, from singles and pairs alone, against every partition."""
    made = Valued(seed, 3 + seed % 3)
    best = made.best(question)
    known: dict[Group, Candidate | None] = {}

    def look(groups: Iterable[Group]) -> int:
        new = sorted({g for g in groups if g not in known}, key=sorted)
        known.update(zip(new, made.evaluate(new), strict=True))
        return len(new)

    pairs = [frozenset(p) for p in combinations(made.names, 2)]
    look([frozenset({n}) for n in made.names])
    # Pairs of two diameters are not tried before the bound asks for them.
    look(p for p in pairs if len({made.code[n] for n in p}) == 1)
    bounds = [
        least_of_any(
            made.question(question), known, look, made, made.die, best=best, most_rounds=rounds, solver=SOLVER
        )
        for rounds in (1, 8)
    ]
    if best < float("inf"):
        assert max(bounds) <= best + 1e-6 * abs(best)
        assert bounds[0] > float("-inf")
    found = design(made.question(question), made.names, made.evaluate, made.die, made, solver=SOLVER)
    if found.plan.is_found and not found.plan.must_uncovered:
        assert found.plan.objective <= best + 1e-6 * abs(best)
        assert found.bound <= found.plan.objective + 1e-6
        assert max(bounds) <= found.plan.objective + 1e-6 * abs(best)


def test_a_heavier_blank_that_costs_less_proves_nothing() -> None:
    made = Invented(5, 4)
    known = {frozenset({n}): made.evaluate([frozenset({n})])[0] for n in made.names}

    class Falling(Invented):
        def beside(self, name: str, mass_kg: float) -> float:
            return 1000.0 - 9.0 * mass_kg

    falling = Falling(5, 4)
    found = least_of_any(
        made.programme(),
        known,
        lambda groups: 0,
        falling,
        lambda group: NewDie(FIXED, AT_FIRST_USE),
        best=0.0,
        solver=SOLVER,
    )
    assert found == float("-inf")
