"""What no family of new blanks can better, whichever groups it is made of.

Take any family. In each of its groups two members are the pair of greatest least mass, by a fixed order of
all pairs; call them the leaders. The group's blank is no lighter than that of the pair, since a blank that
holds more is never lighter, so every member pays at least what its wheel costs from a blank of that mass; and
no member makes a pair of higher order with a leader. So the family costs no less than the best choice of
pairs of leaders, each pair paid for like a die, in which every fitment goes to a pair that it does not come
before: facility location, solved exactly or bounded by its relaxation.

What is known of more than two tightens it: a follower pays for the blank of itself and both leaders where
that was tried. The groups that an answer uses are tried next, and it is asked again; the order of the pairs
stays, so that the bound can only rise. Two leaders whose holders differ are taken to need none.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Option, Programme
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.roadmap.family_choice import Candidate, Costs, Group, NewDie, option_of, with_options

#: Leaders of equal order may lead each other's followers: masses are compared within this, kg.
_EQUAL_KG = 1e-9


@dataclass(frozen=True)
class Led:
    """The choice of leaders as options.

    Attributes:
        options: a pair of leaders each, or one fitment alone.
        arcs: follower -> option -> least cost of its wheel beside the option's piece.
        leaders: by option.
    """

    options: tuple[Option, ...]
    arcs: Mapping[str, Mapping[str, float]]
    leaders: Mapping[str, Group]


def least_of_any(
    programme: Programme,
    known: Mapping[Group, Candidate | None],
    look: Callable[[Iterable[Group]], int],
    costs: Costs,
    dies: Callable[[Group], NewDie],
    *,
    best: float,
    most_rounds: int = 6,
    time_limit_s: float = 60.0,
    solver: Solver,
) -> float:
    """Return an objective that no family of any groups is below; minus infinity where none is known.

    Args:
        programme: rows with the blanks that are there.
        known: groups that were tried, all single fitments among them; None for one that cannot be had.
        look: tries groups, so that they are known; returns how many were new.
        costs: of a wheel from a blank of a mass; where a heavier blank costs less, nothing is proven.
        dies: what a group's dies cost.
        best: objective of the best family found: no more is asked for once it is reached.
        most_rounds: of asking.
        time_limit_s: for all of them.
        solver: to be used.
    """
    end = time.monotonic() + time_limit_s
    order = _order(known)
    reached = float("-inf")
    if not _is_rising(known, costs):
        return reached
    for _ in range(most_rounds):
        led = leaders(known, order, costs, dies)
        asked = with_options(programme, led.options, led.arcs)
        left = end - time.monotonic()
        if left <= 0.0:
            break
        plan = solve(asked, time_limit_s=left, most_runners_up=0, solver=solver)
        reached = max(reached, plan.bound)
        if not plan.is_found or reached >= best - 1e-9 * abs(best):
            break
        if time.monotonic() >= end or not look(_used(plan, led)):
            break
    return reached


def leaders(
    known: Mapping[Group, Candidate | None],
    order: Mapping[Group, float],
    costs: Costs,
    dies: Callable[[Group], NewDie],
) -> Led:
    """Return every pair that may lead, and whom; see the head of this module.

    Args:
        known: groups that were tried.
        order: of each pair that may stand in one group, and of each fitment alone.
        costs: of a wheel from a blank of a mass.
        dies: what a group's dies cost.
    """
    names = sorted(next(iter(g)) for g in order if len(g) == 1)
    options: list[Option] = []
    arcs: dict[str, dict[str, float]] = {}
    led: dict[str, Group] = {}
    for group in sorted(order, key=lambda g: (len(g), sorted(g))):
        masses = dict(_followers(group, names, known, order))
        least = min(masses.values())
        name = f"led by {', '.join(sorted(group))}"
        price = costs.price(least)
        options.append(option_of(name, _die(group, dies), price))
        led[name] = group
        for follower, mass in masses.items():
            cost = costs.price(mass) - price + costs.beside(follower, mass)
            arcs.setdefault(follower, {})[name] = cost
    return Led(tuple(options), arcs, led)


def _is_rising(known: Mapping[Group, Candidate | None], costs: Costs) -> bool:
    """Return True where no wheel costs less from a heavier blank, at the masses that were met."""
    masses = sorted(c.least_kg for c in known.values() if c is not None)
    names = {name for group in known for name in group}
    looked = masses[:1] + masses[len(masses) // 2 :: max(len(masses) // 2, 1)] + masses[-1:]
    for name in names:
        found = [costs.price(m) + costs.beside(name, m) for m in looked]
        if any(later < before - 1e-9 * abs(before) for before, later in pairwise(found)):
            return False
    prices = [costs.price(m) for m in looked]
    return all(later >= before for before, later in pairwise(prices))


def _order(known: Mapping[Group, Candidate | None]) -> dict[Group, float]:
    """Return the least mass of each pair and single fitment, kg; pairs that cannot be had are left out.

    A pair that was not tried weighs no less than the heavier of its two.
    """
    found = {g: c.least_kg for g, c in known.items() if c is not None and len(g) == 1}
    for one, other in combinations(sorted(found, key=min), 2):
        pair = one | other
        candidate = known.get(pair)
        if pair not in known or candidate is not None:
            of_parts = max(found[one], found[other])
            found[pair] = of_parts if candidate is None else max(of_parts, candidate.least_kg)
    return found


def _followers(
    group: Group,
    names: Iterable[str],
    known: Mapping[Group, Candidate | None],
    order: Mapping[Group, float],
) -> Iterator[tuple[str, float]]:
    """Yield whom leaders may lead, themselves included, with the least mass of a blank for all three, kg."""
    own = _least(group, known, order[group])
    if own is None:
        own = order[group]
    for name in names:
        if name in group:
            yield name, own
        elif len(group) == 2:
            pairs = [frozenset((name, leader)) for leader in group]
            if all(order.get(pair, float("inf")) <= order[group] + _EQUAL_KG for pair in pairs):
                masses = [_least(pair, known, order[pair]) for pair in pairs]
                masses.append(_least(group | {name}, known, own))
                if None not in masses:
                    yield name, max(own, *(m for m in masses if m is not None))


def _least(group: Group, known: Mapping[Group, Candidate | None], otherwise: float) -> float | None:
    """Return the least mass of a group's blank; None where it was tried and cannot be had."""
    if group not in known:
        return otherwise
    candidate = known[group]
    return None if candidate is None else max(otherwise, candidate.least_kg)


def _die(group: Group, dies: Callable[[Group], NewDie]) -> NewDie:
    die = dies(group)
    holders = {dies(frozenset({name})).holder for name in group}
    return die if len(holders) == 1 else replace(die, holder=None)


def _used(plan: Plan, led: Led) -> set[Group]:
    """Return the pairs, the triples and the whole groups that an answer uses."""
    served: dict[str, set[str]] = {}
    for each in plan.served:
        if each.option in led.leaders:
            served.setdefault(each.option, set()).add(each.row)
    found: set[Group] = set()
    for name, rows in served.items():
        group = led.leaders[name]
        found |= {group, *(group | {row} for row in rows), group | rows}
    return found
