"""The family of blanks that nobody has yet: groups of fitments, each with a blank of its own, chosen exactly.

Groups are tried in rounds: single fitments and pairs of neighbours, then what is got from the chosen groups
by one more fitment, one less, or two groups in one. After each round the programme chooses among all groups
found so far and the blanks that are there; the search ends where no new group is left to try, or none that
was tried is chosen. Of few fitments every group is tried, and the choice is then proven.

The bound. In any partition give each group one of its members as its leader. A member costs no less than it
would with the blank of itself and the leader alone, since a blank that holds more is never lighter. So no
plan costs less than the best choice of leaders, each paid for like a die, in which every fitment takes the
blank of the pair: another facility location, solved exactly. Of a pair's blank the mass proven from below is
taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace
from itertools import combinations

from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Kind, Mode, Option, Payment, Programme, Row
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve

#: Of so many fitments every group is tried.
WHOLE = 8
Group = frozenset[str]


@dataclass(frozen=True)
class Candidate:
    """A group's blank as far as the choice needs it.

    Attributes:
        members: fitments.
        mass_kg: of the blank. least_kg: no blank of the group is lighter.
        price: of a piece. costs: of a member's wheel beside the blank, by fitment.
        least_price, least_costs: the same of the least mass.
    """

    members: Group
    mass_kg: float
    least_kg: float
    price: float
    costs: Mapping[str, float]
    least_price: float
    least_costs: Mapping[str, float]

    @property
    def name(self) -> str:
        """As 'new die for R-10, R-12'."""
        return f"new die for {', '.join(sorted(self.members))}"


@dataclass(frozen=True)
class NewDie:
    """What a new set of dies costs, whatever the blank; money in the project's currency.

    Attributes:
        fixed: inserts, tryout and proof. holder: name of the holder by fitment's diameter, None for none.
        lead_years, set_up, least_run: as of an option.
        left_over_share: of the piece price, for what a run leaves.
    """

    fixed: float
    payments: tuple[Payment, ...]
    holder: str | None = None
    lead_years: float = 0.0
    set_up: float = 0.0
    least_run: float = 0.0
    left_over_share: float = 0.65


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


#: Returns the candidates of groups, None for one that cannot be had.
Evaluate = Callable[[Sequence[Group]], Sequence[Candidate | None]]


def design(
    programme: Programme,
    names: Sequence[str],
    evaluate: Evaluate,
    dies: Callable[[Group], NewDie],
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
        dies: what a group's dies cost; the same for a group and its parts.
        near: which pairs are neighbours, so that their group is tried at all.
        most_rounds: of the search.
        time_limit_s: for each choice.
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
        return _searched(
            programme, names, known, look, dies, near, is_whole, most_rounds, time_limit_s, progress, running
        )


def _searched(
    programme: Programme,
    names: Sequence[str],
    known: Mapping[Group, Candidate | None],
    look: Callable[[Iterable[Group]], int],
    dies: Callable[[Group], NewDie],
    near: Callable[[str, str], bool],
    is_whole: bool,
    most_rounds: int,
    time_limit_s: float,
    progress: Callable[[str], bool] | None,
    solver: Solver,
) -> Family:
    def best(options: Sequence[Option], arcs: Mapping[str, Mapping[str, float]]) -> Plan:
        asked = _with(programme, options, arcs)
        return solve(asked, time_limit_s=time_limit_s, most_runners_up=0, solver=solver)

    plan, rounds = best(*_choice(known, dies)), 0
    while rounds < most_rounds and not is_whole:
        rounds += 1
        taken = _taken(plan, known)
        if progress is not None and not progress(f"{len(known)} groups tried, {len(taken)} new dies"):
            break
        if not look(_neighbours(taken, names, near)):
            break
        better = best(*_choice(known, dies))
        if plan.is_found and not (
            better.is_found and better.objective < plan.objective - 1e-9 * abs(plan.objective)
        ):
            break
        plan = better
    bound = plan.bound if is_whole else best(*_led(known, dies)).bound
    return Family(plan, _taken(plan, known), len(known), min(bound, plan.objective), is_whole, rounds)


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
    options = [_option(c.name, dies(c.members), c.price) for c in found]
    arcs: dict[str, dict[str, float]] = {}
    for candidate in found:
        for name, cost in candidate.costs.items():
            arcs.setdefault(name, {})[candidate.name] = cost
    return options, arcs


def _led(known: Mapping[Group, Candidate | None], dies: Callable[[Group], NewDie]) -> _Asked:
    """Return leaders as options, and what they serve; no family costs less: see the head of this module.

    A pair that was not tried, since its fitments are no neighbours, is taken to cost no more than the dearer
    of its two.
    """
    single = {next(iter(g)): c for g, c in known.items() if len(g) == 1 and c is not None}
    options: list[Option] = []
    arcs: dict[str, dict[str, float]] = {}
    for leader, alone in single.items():
        name = f"led by {leader}"
        options.append(_option(name, replace(dies(alone.members), left_over_share=0.0), 0.0))
        for follower, own in single.items():
            group = frozenset({leader, follower})
            if group in known and known[group] is None:
                continue
            pair = known.get(group)
            if pair is not None:
                cost = pair.least_price + pair.least_costs[follower]
            else:
                cost = max(own.least_price, alone.least_price) + own.least_costs[follower]
            arcs.setdefault(follower, {})[name] = cost
    return options, arcs


def _option(name: str, die: NewDie, price: float) -> Option:
    return Option(
        name,
        Kind.OWN_DIE,
        price,
        fixed=die.fixed,
        payments=die.payments,
        holder=die.holder,
        lead_years=die.lead_years,
        least_run=die.least_run,
        left_over_cost=price * die.left_over_share,
        set_up=die.set_up,
    )


def _with(
    programme: Programme, options: Sequence[Option], arcs: Mapping[str, Mapping[str, float]]
) -> Programme:
    """Return the programme with more options, which serve rows in full."""
    rows = tuple(_more(row, arcs.get(row.name, {})) for row in programme.rows)
    return replace(programme, rows=rows, options=(*programme.options, *options))


def _more(row: Row, costs: Mapping[str, float]) -> Row:
    modes = tuple(
        mode if mode.is_compromise else replace(mode, costs={**mode.costs, **costs}) for mode in row.modes
    )
    if costs and all(mode.is_compromise for mode in row.modes):
        modes = (Mode(dict(costs)), *modes)
    return replace(row, modes=modes)
