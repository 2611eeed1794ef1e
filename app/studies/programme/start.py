"""A good plan to begin with, by opening, closing and exchanging dies one at a time.

Textbook local search of facility location, for the plain case alone: least cost, no limits, no holders,
variants or runs, one year or no discount. It proves nothing; it spares the exact search from beginning with a
bad plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from app.studies.programme.core import Objective
from app.studies.programme.inputs import Limits, Question

if TYPE_CHECKING:
    from app.studies.programme.model import Model

_MOST_MOVES = 400
_EPSILON = 1e-9


def start(model: Model) -> Objective | None:
    """Return the columns of a plan that no single move betters; None outside the plain case."""
    if not _is_plain(model):
        return None
    places = {c: k for k, columns in enumerate(model.opening.values()) for c in columns.values()}
    rows = {key: i for i, key in enumerate(dict.fromkeys((arc.row, arc.years) for arc in model.arcs))}
    if not places or not rows:
        return None
    cost, free = np.full((len(rows), len(places)), np.inf), np.full(len(rows), np.inf)
    objective = model.cost
    for arc in model.arcs:
        i = rows[arc.row, arc.years]
        for name in arc.options:
            link = model.link(model.supply.option[name], arc.years[0])
            if link is None:
                free[i] = min(free[i], objective[arc.column])
            else:
                cost[i, places[link]] = min(cost[i, places[link]], objective[arc.column])
    is_open = _searched(cost, free, objective[list(places)])
    return _columns(model, objective, rows, {c for c, k in places.items() if is_open[k]})


def _is_plain(model: Model) -> bool:
    programme = model.programme
    return (
        programme.question is Question.LEAST_COST
        and programme.limits == Limits()
        and not (model.holder or model.use or model.mode)
        and all(len(columns) == 1 for columns in model.opening.values())
        and all(option.variant_of is None for option in programme.options)
    )


def _searched(cost: Objective, free: Objective, fixed: Objective) -> np.ndarray:
    """Return which dies are open where no opening, closing or exchange saves anything.

    Args:
        cost: of each row from each die, infinite where it cannot serve.
        free: of each row from what is always there.
        fixed: of each die.
    """
    # What nothing serves costs more than all else together.
    much = (
        2.0 * float(fixed.sum() + np.where(np.isfinite(cost), cost, 0.0).max(axis=1, initial=0.0).sum()) + 1.0
    )
    cost, free = np.minimum(cost, much), np.minimum(free, much)
    is_open = np.zeros(fixed.size, dtype=bool)
    least = _EPSILON * much
    for _ in range(_MOST_MOVES):
        there = np.column_stack([free, np.where(is_open, cost, np.inf)])
        best = there.argmin(axis=1)
        now = there[np.arange(best.size), best]
        there[np.arange(best.size), best] = np.inf
        second = np.minimum(there.min(axis=1), much)
        opened = np.maximum(now[:, None] - cost, 0.0).sum(axis=0) - fixed
        opened[is_open] = -np.inf
        serves = np.equal.outer(np.flatnonzero(is_open) + 1, best).astype(float)
        closed = fixed[is_open] - serves @ (second - now)
        # Exchange: what the closed one served goes to the new one or to the second best.
        over = np.maximum(np.minimum(second[:, None], cost) - now[:, None], 0.0)
        exchanged = opened[None, :] + fixed[is_open][:, None] - serves @ over
        gains = [opened.max(), closed.max(initial=-np.inf), exchanged.max(initial=-np.inf)]
        if max(gains) <= least:
            break
        if gains[0] == max(gains):
            is_open[opened.argmax()] = True
        elif gains[1] == max(gains):
            is_open[np.flatnonzero(is_open)[closed.argmax()]] = False
        else:
            out, new = np.unravel_index(exchanged.argmax(), exchanged.shape)
            is_open[np.flatnonzero(is_open)[out]] = False
            is_open[new] = True
    return is_open


def _columns(
    model: Model, objective: Objective, rows: dict[tuple[str, tuple[int, ...]], int], opened: set[int]
) -> Objective | None:
    """Return the columns of a set of open dies; None where it leaves a row."""
    made = np.zeros(objective.size)
    made[list(opened)] = 1.0
    cheapest: dict[int, int] = {}
    for arc in model.arcs:
        links = {model.link(model.supply.option[name], arc.years[0]) for name in arc.options}
        if None in links or links & opened:
            i = rows[arc.row, arc.years]
            if i not in cheapest or objective[arc.column] < objective[cheapest[i]]:
                cheapest[i] = arc.column
    made[list(cheapest.values())] = 1.0
    return made if len(cheapest) == len(rows) else None
