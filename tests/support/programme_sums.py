"""A die programme added up and searched by hand: shares no code with the model, only its inputs' fields."""

import itertools
import math
from collections.abc import Iterator
from functools import cache

import numpy as np
from scipy.optimize import linprog

from app.studies.programme.inputs import Mode, Option, Payment, Programme, Question, Row
from app.studies.programme.plans import Plan


def base_year(programme: Programme) -> int:
    """The year to which money is discounted."""
    if programme.base_year is not None:
        return programme.base_year
    return min(y for r in programme.rows for y, v in r.volumes.items() if v > 0)


def factor(programme: Programme, year: int) -> float:
    """Present worth of 1 in a year, by the definition."""
    return 1.0 / (1.0 + programme.rate) ** (year - base_year(programme))


def spread(amount: float, payments: tuple[Payment, ...], year: int) -> Iterator[tuple[int, float]]:
    """Calendar year and amount of each step."""
    for payment in payments:
        yield year - payment.years_before, amount * payment.share


def added(programme: Programme, plan: Plan) -> tuple[float, float]:
    """Present values (cost, contribution) of a plan, from its lists; asserts that it keeps all rules."""
    option = {o.name: o for o in programme.options}
    row = {r.name: r for r in programme.rows}
    opened = {c.option: c.year for c in plan.commitments}
    holders = dict(plan.holders)
    cost = contribution = 0.0
    invested: dict[int, float] = {}
    things = [(option[n].fixed, option[n].payments, y) for n, y in opened.items()]
    things += [(h.cost, h.payments, holders[h.name]) for h in programme.holders if h.name in holders]
    for amount, payments, year in things:
        for paid, part in spread(amount, payments, year):
            invested[paid] = invested.get(paid, 0.0) + part
            cost += part * factor(programme, paid)
    used: dict[tuple[str, int], float] = {}
    by_row: dict[str, set[str]] = {}
    wheels: dict[tuple[str, int], float] = {}
    for served in plan.served:
        assert there(programme, option[served.option], served.year, opened, holders), served
        mode = next(m for m in row[served.row].modes if m.name == served.mode)
        by_row.setdefault(served.row, set()).add(served.mode)
        key = (served.row, served.year)
        wheels[key] = wheels.get(key, 0.0) + served.wheels / mode.share
        worth = factor(programme, served.year) * served.wheels
        cost += worth * mode.costs[served.option]
        contribution += worth * mode.contribution
        used[served.option, served.year] = used.get((served.option, served.year), 0.0) + served.wheels
    for name, modes in by_row.items():
        assert len(modes) == 1
        for year, volume in row[name].volumes.items():
            assert math.isclose(wheels.get((name, year), 0.0), volume, rel_tol=1e-6, abs_tol=1e-6)
    hours: dict[int, float] = {}
    left = {(o.option, o.year): o.left_over for o in plan.orders}
    for (name, year), pieces in used.items():
        over = left[name, year]
        cost += factor(programme, year) * running(option[name], pieces, over)
        hours[year] = hours.get(year, 0.0) + option[name].hours_per_run
        hours[year] += option[name].hours_per_piece * (pieces + over)
    limits = programme.limits
    if limits.most_dies is not None:
        assert sum(option[n].is_die for n in opened) <= limits.most_dies
    if limits.budget is not None:
        assert sum(invested.values()) <= limits.budget * (1 + 1e-9) + 1e-6
    for year, most in limits.budget_by_year.items():
        assert invested.get(year, 0.0) <= most * (1 + 1e-9) + 1e-6
    for year, most in limits.press_hours.items():
        assert hours.get(year, 0.0) <= most * (1 + 1e-6) + 1e-6
    return cost, contribution


def running(option: Option, pieces: float, over: float) -> float:
    """Set-up, pieces and what is left over of one year, undiscounted."""
    assert pieces + over >= option.least_run * (1 - 1e-6) - 1e-6
    price = option.price
    for step in option.steps:
        if pieces + over >= step.pieces * (1 - 1e-6):
            price = step.price
    return (
        option.set_up
        + pieces * price
        + over * (price if option.left_over_cost is None else option.left_over_cost)
    )


def there(
    programme: Programme, option: Option, year: int, opened: dict[str, int], holders: dict[str, int]
) -> bool:
    """Whether an option may be used in a year, given what is opened when."""
    if year < base_year(programme) + option.lead_years - 1e-9:
        return False
    if option.earliest is not None and year < option.earliest:
        return False
    if option.is_opened and opened.get(option.name, 10**9) > year:
        return False
    if option.holder is not None and holders.get(option.holder, 10**9) > year:
        return False
    if option.variant_of is not None:
        parent = next(o for o in programme.options if o.name == option.variant_of)
        return there(programme, parent, year, opened, holders)
    return True


def least(programme: Programme) -> float | None:
    """The least objective by trying everything; None where nothing keeps the limits.

    Every year of opening of every option and holder, every mode of every row, every set of options used in a
    year and every price step; what remains is who serves how many wheels, a small linear programme, or
    plainly the cheapest where wheels share nothing.
    """
    years = sorted({y for r in programme.rows for y, v in r.volumes.items() if v > 0})
    dies = [o for o in programme.options if o.is_opened]
    by_value = programme.question is Question.GREATEST_VALUE
    choices: list[list[Mode | None]] = []
    for row in programme.rows:
        full = [m for m in row.modes if by_value or not m.is_compromise]
        if row.is_must:
            choices.append(list(full))
        else:
            choices.append([None, *full] if by_value else [None])

    @cache
    def year_cost(year: int, modes: tuple[int, ...], names: frozenset[str]) -> float:
        asked = [
            (row.volumes[year] * mode.share, mode)
            for row, k, modes_of in zip(programme.rows, modes, choices, strict=True)
            if (mode := modes_of[k]) is not None and row.volumes.get(year, 0.0) > 0
        ]
        return _year(programme, year, asked, [o for o in programme.options if o.name in names])

    best = None
    for when in itertools.product([None, *years], repeat=len(dies)):
        opened = {o.name: y for o, y in zip(dies, when, strict=True) if y is not None}
        first = {
            h.name: [opened[o.name] for o in dies if o.holder == h.name and o.name in opened]
            for h in programme.holders
        }
        # A holder may be paid earlier than it is used where a budget asks for it.
        early = years if programme.limits.budget_by_year else []
        options = [[y for y in early if y < min(ys)] + [min(ys)] if ys else [None] for ys in first.values()]
        for held in itertools.product(*options):
            holders = {n: y for n, y in zip(first, held, strict=True) if y is not None}
            once = _paid_once(programme, opened, holders)
            if once is None:
                continue
            available = {
                y: frozenset(o.name for o in programme.options if there(programme, o, y, opened, holders))
                for y in years
            }
            for modes in itertools.product(*(range(len(c)) for c in choices)):
                total = once + math.fsum(year_cost(y, modes, available[y]) for y in years)
                if by_value:
                    total -= _contribution(programme, choices, modes)
                if math.isfinite(total) and (best is None or total < best):
                    best = total
    return best


def _contribution(programme: Programme, choices: list[list[Mode | None]], modes: tuple[int, ...]) -> float:
    total = 0.0
    for row, k, modes_of in zip(programme.rows, modes, choices, strict=True):
        if (mode := modes_of[k]) is not None:
            total += sum(
                mode.contribution * mode.share * v * factor(programme, y) for y, v in row.volumes.items()
            )
    return total


def _paid_once(programme: Programme, opened: dict[str, int], holders: dict[str, int]) -> float | None:
    option = {o.name: o for o in programme.options}
    for name in opened:
        if option[name].variant_of is not None and option[name].variant_of not in opened:
            return None
    limits = programme.limits
    if limits.most_dies is not None and sum(option[n].is_die for n in opened) > limits.most_dies:
        return None
    paid = [p for n, y in opened.items() for p in spread(option[n].fixed, option[n].payments, y)]
    paid += [
        p for h in programme.holders if h.name in holders for p in spread(h.cost, h.payments, holders[h.name])
    ]
    if limits.budget is not None and sum(a for _, a in paid) > limits.budget + 1e-6:
        return None
    for year, most in limits.budget_by_year.items():
        if sum(a for y, a in paid if y == year) > most + 1e-6:
            return None
    return sum(a * factor(programme, y) for y, a in paid)


def _year(programme: Programme, year: int, asked: list[tuple[float, Mode]], there_are: list[Option]) -> float:
    """The least running cost of a year, discounted; infinite where a wheel finds nothing."""
    worth, best = factor(programme, year), math.inf
    most = programme.limits.press_hours.get(year)
    for count in range(len(there_are) + 1):
        for used in itertools.combinations(there_are, count):
            steps = [
                [(o.least_run, o.price), *((max(s.pieces, o.least_run), s.price) for s in o.steps)]
                for o in used
            ]
            for taken in itertools.product(*steps):
                best = min(best, _given(asked, used, taken, most))
    return worth * best


def _given(
    asked: list[tuple[float, Mode]],
    used: tuple[Option, ...],
    taken: tuple[tuple[float, float], ...],
    most: float | None,
) -> float:
    set_ups = sum(o.set_up for o in used)
    if not asked:
        return set_ups if not used else math.inf
    cost = np.array(
        [[m.costs.get(o.name, np.inf) + p for o, (_, p) in zip(used, taken, strict=True)] for _, m in asked]
    )
    if not used or not np.isfinite(cost).any(axis=1).all():
        return math.inf
    wheels = np.array([w for w, _ in asked])
    if most is None and all(least == 0.0 for least, _ in taken):
        return set_ups + float((wheels * cost.min(axis=1)).sum())
    rows, options = cost.shape
    over = [
        p if o.left_over_cost is None else o.left_over_cost for o, (_, p) in zip(used, taken, strict=True)
    ]
    objective = np.concatenate([np.where(np.isfinite(cost), cost, 0.0).ravel(), over])
    bounds = [(0.0, None if c < np.inf else 0.0) for c in cost.ravel()] + [(0.0, None)] * options
    serve = np.zeros((rows, objective.size))
    for i in range(rows):
        serve[i, i * options : (i + 1) * options] = 1.0
    order = np.zeros((options, objective.size))
    hours = np.zeros(objective.size)
    for j, o in enumerate(used):
        order[j, [*range(j, rows * options, options), rows * options + j]] = -1.0
        hours -= o.hours_per_piece * order[j]
    above, high = order, [-least for least, _ in taken]
    if most is not None:
        above, high = np.vstack([order, hours]), [*high, most - sum(o.hours_per_run for o in used)]
    found = linprog(objective, A_ub=above, b_ub=high, A_eq=serve, b_eq=wheels, bounds=bounds)
    return set_ups + float(found.fun) if found.status == 0 else math.inf


def random_programme(seed: int) -> Programme:
    """A small programme with some of years, holders, variants, runs, steps, limits, compromises."""
    from app.studies.programme.inputs import Holder, Kind, Limits, PriceStep

    rng = np.random.default_rng(seed)
    coupled = seed % 3 == 2
    years = [2030, 2031, 2032][: 2 if coupled else int(rng.integers(1, 4))]
    count = 3 if coupled else int(rng.integers(3, 5))
    names = [f"d{k}" for k in range(count)]
    halves = (Payment(0.25, 1), Payment(0.75, 0))
    options = []
    for k, name in enumerate(names):
        is_variant = k == 1 and rng.random() < 0.5
        options.append(
            Option(
                name,
                Kind.VARIANT if is_variant else Kind.OWN_DIE,
                price=float(rng.integers(250, 350)),
                fixed=float(rng.integers(5, 60)) * (300.0 if is_variant else 1000.0),
                payments=halves if rng.random() < 0.5 else (Payment(),),
                lead_years=float(rng.choice([0.5, 1.0])) if rng.random() < 0.6 else 1.0,
                holder=None if is_variant or rng.random() < 0.4 else "h",
                variant_of="d0" if is_variant else None,
                set_up=float(rng.choice([0.0, 4000.0])),
                least_run=float(rng.choice([0.0, 150.0])) if coupled else 0.0,
                left_over_cost=float(rng.integers(40, 300)) if rng.random() < 0.5 else None,
                hours_per_piece=0.1,
                hours_per_run=8.0,
            )
        )
    steps = (PriceStep(100.0, 380.0), PriceStep(250.0, 330.0)) if coupled and rng.random() < 0.7 else ()
    options.append(Option("buy", Kind.BOUGHT, price=420.0, steps=steps, least_run=20.0 if coupled else 0.0))
    by_value = rng.random() < 0.5
    rows = []
    for i in range(2 if coupled else int(rng.integers(2, 4))):
        served = [n for n in names if rng.random() < 0.6]
        if rng.random() < 0.8 or not served:
            served.append("buy")
        costs = {n: float(rng.integers(20, 160)) for n in served}
        modes = [Mode(costs, float(rng.integers(350, 700)))]
        if rng.random() < 0.5:
            narrower = {n: float(rng.integers(20, 160)) for n in [*served, "buy"]}
            modes.append(Mode(narrower, float(rng.integers(350, 600)), "narrower", 0.6, is_compromise=True))
        volumes = {y: float(rng.integers(0, 300)) for y in years if rng.random() < 0.85}
        rows.append(
            Row(
                f"r{i}",
                {**volumes, years[-1]: float(rng.integers(30, 300))},
                tuple(modes),
                bool(rng.random() < 0.6),
            )
        )
    limits = Limits(
        most_dies=int(rng.integers(1, 3)) if rng.random() < 0.3 else None,
        budget=float(rng.integers(40, 150)) * 1000.0 if rng.random() < 0.3 else None,
        budget_by_year={years[0]: float(rng.integers(20, 90)) * 1000.0} if rng.random() < 0.3 else {},
        press_hours={years[-1]: float(rng.integers(20, 70))} if coupled and rng.random() < 0.6 else {},
    )
    return Programme(
        tuple(rows),
        tuple(options),
        (Holder("h", float(rng.integers(10, 50)) * 1000.0),),
        limits,
        Question.GREATEST_VALUE if by_value else Question.LEAST_COST,
        rate=float(rng.choice([0.0, 0.1])),
        base_year=2029,
    )
