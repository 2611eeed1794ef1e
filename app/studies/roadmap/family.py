"""The family of blanks that nobody has yet: groups of fitments, each with a blank of its own, chosen exactly.

Groups are tried in rounds: single fitments and pairs of neighbours, then what is got from the chosen groups
by one more fitment, one less, or two groups in one. After each round the programme chooses among all groups
found so far and the blanks that are there; the search ends where no new group is left to try, or none that
was tried is chosen. Of few fitments every group is tried, and the choice is then proven. How far any other
family could be better is bounded by `family_bound.py`, whose own groups are tried as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from itertools import combinations

from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Option, Programme
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.roadmap.family_bound import least_of_any
from app.studies.roadmap.family_choice import Candidate, Costs, Group, NewDie, option_of, with_options

#: Of so many fitments every group is tried.
WHOLE = 8
#: What the solver may be off by, relative.
_PROVEN = 1e-7


@dataclass(frozen=True)
class Family:
    """The answer.

    Attributes:
        plan: with the new dies among its options.
        chosen: candidates of the new dies that it takes, by name.
        tried: how many groups were tried, those that cannot be forged with them.
        bound: no family of any groups, with the blanks that are there, has a lower objective.
        is_whole: every group was tried, so the plan's own proof is the family's.
        rounds: of the search.

    Every group was tried or not, no family is better than a plan that its bound reaches.
    """

    plan: Plan
    chosen: tuple[Candidate, ...]
    tried: int
    bound: float
    is_whole: bool
    rounds: int

    @property
    def gap(self) -> float:
        """By how much a better family may still beat it, over its own objective."""
        return max(self.plan.objective - self.bound, 0.0) / max(abs(self.plan.objective), 1e-9)

    @property
    def is_proven(self) -> bool:
        """True where no family is better."""
        if self.is_whole:
            return self.plan.verdict == "proven"
        return self.plan.is_found and self.gap <= _PROVEN


#: Returns the candidates of groups, None for one that cannot be had.
Evaluate = Callable[[Sequence[Group]], Sequence[Candidate | None]]


def design(
    programme: Programme,
    names: Sequence[str],
    evaluate: Evaluate,
    dies: Callable[[Group], NewDie],
    costs: Costs,
    *,
    near: Callable[[str, str], bool] = lambda one, other: True,
    most_rounds: int = 12,
    time_limit_s: float = 60.0,
    progress: Callable[[str], bool] | None = None,
    solver: Solver | None = None,
) -> Family:
    """Return the best family found, and a bound on any.

    Args:
        programme: rows with the blanks that are there.
        names: rows that new dies may serve.
        evaluate: returns the candidates of groups.
        dies: what a group's dies cost; the same for a group and its parts, but for holders of diameters.
        costs: of a wheel from a blank of a mass, as the candidates have them.
        near: which pairs are neighbours, so that their group is tried at all.
        most_rounds: of the search.
        time_limit_s: for each choice, and for the bound.
        progress: told in words what goes on; False ends the search with what there is.
        solver: to be used again; a new one where None.

    Raises:
        ProgrammeError: what cannot be planned.
    """
    known: dict[Group, Candidate | None] = {}

    def look(groups: Iterable[Group]) -> int:
        # A part that cannot be forged makes the whole impossible.
        never = [g for g, candidate in known.items() if candidate is None]
        new = {g for g in groups if g not in known and not any(part < g for part in never)}
        in_order = sorted(new, key=lambda g: (len(g), sorted(g)))
        known.update(zip(in_order, evaluate(in_order), strict=True))
        return len(in_order)

    singles = [frozenset({name}) for name in sorted(names)]
    pairs = [frozenset(p) for p in combinations(sorted(names), 2) if near(*p)]
    is_whole = len(singles) <= WHOLE
    look(singles)
    look(pairs)
    if is_whole:
        for size in range(3, len(singles) + 1):
            look(frozenset(g) for g in combinations(sorted(names), size))
    with nullcontext(solver) if solver is not None else Solver() as running:
        search = _Search(programme, sorted(names), known, look, dies, costs, near, time_limit_s, running)
        return search.whole() if is_whole else search.family(most_rounds, progress)


@dataclass(frozen=True, eq=False)
class _Search:
    programme: Programme
    names: Sequence[str]
    known: Mapping[Group, Candidate | None]
    look: Callable[[Iterable[Group]], int]
    dies: Callable[[Group], NewDie]
    costs: Costs
    near: Callable[[str, str], bool]
    time_limit_s: float
    solver: Solver

    def whole(self) -> Family:
        """Return the family where every group was tried."""
        plan = self._best()
        return Family(plan, _taken(plan, self.known), len(self.known), plan.bound, True, 0)

    def family(self, most_rounds: int, progress: Callable[[str], bool] | None) -> Family:
        """Return the family that no round betters, and its bound."""
        plan, rounds = self._best(), 0
        while rounds < most_rounds:
            rounds += 1
            taken = _taken(plan, self.known)
            said = f"{len(self.known)} groups tried, {len(taken)} new dies"
            if progress is not None and not progress(said):
                break
            if not self.look(_neighbours(taken, self.names, self.near)):
                break
            better = self._best()
            if plan.is_found and not _is_better(better, plan):
                break
            plan = better
        tried = len(self.known)
        bound = least_of_any(
            self.programme,
            self.known,
            self.look,
            self.costs,
            self.dies,
            best=plan.objective if plan.is_found else math.inf,
            time_limit_s=self.time_limit_s,
            solver=self.solver,
        )
        if len(self.known) > tried:
            better = self._best()
            plan = better if _is_better(better, plan) else plan
        return Family(
            plan, _taken(plan, self.known), len(self.known), min(bound, plan.objective), False, rounds
        )

    def _best(self) -> Plan:
        asked = with_options(self.programme, *_choice(self.known, self.dies))
        return solve(asked, time_limit_s=self.time_limit_s, most_runners_up=0, solver=self.solver)


def _is_better(one: Plan, other: Plan) -> bool:
    if not (one.is_found and other.is_found):
        return one.is_found and not other.is_found
    return one.objective < other.objective - 1e-9 * abs(other.objective)


def _neighbours(
    chosen: Sequence[Candidate], names: Sequence[str], near: Callable[[str, str], bool]
) -> Iterable[Group]:
    """Yield what is got from the chosen groups by one more, one less, or two in one."""
    groups = [c.members for c in chosen]
    for group in groups:
        for name in names:
            if name not in group and any(near(min(name, m), max(name, m)) for m in group):
                yield group | {name}
        if len(group) > 1:
            yield from (group - {name} for name in group)
    for one, other in combinations(groups, 2):
        if any(near(min(a, b), max(a, b)) for a in one for b in other):
            yield one | other


def _taken(plan: Plan, known: Mapping[Group, Candidate | None]) -> tuple[Candidate, ...]:
    by_name = {c.name: c for c in known.values() if c is not None}
    return tuple(by_name[name] for name in plan.opened if name in by_name)


_Asked = tuple[list[Option], dict[str, dict[str, float]]]


def _choice(known: Mapping[Group, Candidate | None], dies: Callable[[Group], NewDie]) -> _Asked:
    """Return all groups as options, and what they serve."""
    found = [c for c in known.values() if c is not None]
    options = [option_of(c.name, dies(c.members), c.price) for c in found]
    arcs: dict[str, dict[str, float]] = {}
    for candidate in found:
        for name, cost in candidate.costs.items():
            arcs.setdefault(name, {})[candidate.name] = cost
    return options, arcs
