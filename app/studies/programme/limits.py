"""Limits of a die programme as rows of its model: number of dies, budgets, hours of the press."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from app.studies.programme.inputs import Holder, Option

if TYPE_CHECKING:
    from app.studies.programme.model import Model

_Terms = list[tuple[int, float]]


@dataclass(frozen=True)
class Slack:
    """A column that measures by how much a relaxed limit is passed.

    Attributes:
        kind: 'dies', 'budget' or 'press'.
        year: that the limit is of, None for one of all years.
        most: the limit.
    """

    column: int
    kind: str
    year: int | None
    most: float


def add_limits(model: Model) -> list[Slack]:
    """Add the limits, and return the columns that measure by how much the relaxed ones are passed."""
    limits, slacks = model.programme.limits, []
    found: list[tuple[str, int | None, _Terms, float]] = []
    if limits.most_dies is not None:
        dies = [(int(c), 1.0) for c in np.flatnonzero(model.dies)]
        found.append(("dies", None, dies, float(limits.most_dies)))
    if limits.budget is not None:
        found.append(("budget", None, _paid(model, None), limits.budget))
    for year, most in sorted(limits.budget_by_year.items()):
        found.append(("budget", year, _paid(model, year), most))
    for year, most in sorted(limits.press_hours.items()):
        found.append(("press", year, _pressed(model, year), most))
    for kind, of, terms, most in found:
        if kind in model.relaxed and terms:
            slacks.append(Slack(model.columns.column(upper=math.inf), kind, of, most))
            terms = [*terms, (slacks[-1].column, -1.0)]
        if terms:
            model.columns.row(terms, high=most)
    return slacks


def _paid(model: Model, year: int | None) -> _Terms:
    """Return what is paid once, in a calendar year or in all, by column."""
    paid: dict[int, float] = {}
    for thing, columns in _paid_once(model):
        amount = thing.fixed if isinstance(thing, Option) else thing.cost
        before: int | None = None
        for opened, column in sorted(columns.items()):
            for payment in thing.payments:
                if year is None or opened - payment.years_before == year:
                    paid[column] = paid.get(column, 0.0) + amount * payment.share
                    if before is not None:
                        paid[before] = paid.get(before, 0.0) - amount * payment.share
            before = column
    return [(column, factor) for column, factor in paid.items() if factor != 0.0]


def _paid_once(model: Model) -> Iterator[tuple[Option | Holder, dict[int, int]]]:
    for name, columns in model.opening.items():
        yield model.supply.option[name], columns
    for name, columns in model.holder.items():
        yield model.holder_of(name), columns


def _pressed(model: Model, year: int) -> _Terms:
    """Return hours of the press in a year, by column."""
    terms: _Terms = []
    for (name, used_in), wheels in sorted(model.wheels.items()):
        option = model.supply.option[name]
        if used_in == year:
            terms += [(column, option.hours_per_piece * number) for column, number in wheels]
            terms += [(left, option.hours_per_piece) for (_, _, left), _ in model.steps.get((name, year), ())]
            if (use := model.use.get((name, year))) is not None:
                terms.append((use, option.hours_per_run))
    return [(column, factor) for column, factor in terms if factor != 0.0]
