"""Which option may serve which row in which year, and which rows nothing can serve."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from app.studies.programme.inputs import Mode, Option, Programme, Question, Row


@dataclass(frozen=True)
class Uncovered:
    """A row that cannot be served, whatever is paid, and why."""

    row: str
    is_must: bool
    why: str


class Supply:
    """A programme with rows and options in the order of their names, so that no result hangs on their order.

    Attributes:
        rows, options: sorted by name.
        option: by name.
    """

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        self.rows: tuple[Row, ...] = tuple(
            replace(row, modes=tuple(sorted(row.modes, key=lambda m: (m.is_compromise, m.name))))
            for row in sorted(programme.rows, key=lambda r: r.name)
        )
        self.options: tuple[Option, ...] = tuple(sorted(programme.options, key=lambda o: o.name))
        self.option = {option.name: option for option in self.options}
        self.years = programme.years

    @cached_property
    def first_year(self) -> dict[str, int]:
        """Option -> the first year in which it, and the dies it needs, can be there."""
        start = self.programme.start

        def own(option: Option) -> int:
            after_lead = math.ceil(start + option.lead_years - 1e-9)
            return max(after_lead, start if option.earliest is None else option.earliest)

        return {o.name: max(own(n) for n in self.needed(o)) for o in self.options}

    def needed(self, option: Option) -> Iterator[Option]:
        """Yield an option and the dies it is a variant of."""
        yield option
        while option.variant_of is not None:
            option = self.option[option.variant_of]
            yield option

    def modes(self, row: Row) -> tuple[Mode, ...]:
        """Return the modes that the question allows and that are served in every year with wheels."""
        return tuple(m for m in self.allowed(row) if all(self.servers(m, y) for y in years_of(row)))

    def allowed(self, row: Row) -> tuple[Mode, ...]:
        """Return the modes that the question allows."""
        by_compromise = self.programme.question is Question.GREATEST_VALUE
        return tuple(m for m in row.modes if by_compromise or not m.is_compromise)

    def servers(self, mode: Mode, year: int) -> tuple[str, ...]:
        """Return the options that can serve a mode in a year, by name."""
        return tuple(n for n in sorted(mode.costs) if self.first_year[n] <= year)

    @cached_property
    def uncovered(self) -> tuple[Uncovered, ...]:
        """Rows with wheels that no option serves in some year."""
        return tuple(
            Uncovered(row.name, row.is_must, self._why(row))
            for row in self.rows
            if years_of(row) and not self.modes(row)
        )

    def _why(self, row: Row) -> str:
        allowed = self.allowed(row)
        if not any(m.costs for m in allowed):
            others = [m.name for m in row.modes if m not in allowed and m.costs]
            if others:
                return f"no blank serves it in full; by compromise only: {', '.join(others)}"
            return "no blank serves it"
        mode = max(allowed, key=lambda m: sum(bool(self.servers(m, y)) for y in years_of(row)))
        gone = [y for y in years_of(row) if not self.servers(mode, y)]
        first = min(sorted(mode.costs), key=lambda n: self.first_year[n])
        return (
            f"nothing serves it in {', '.join(map(str, gone))}: the first that could, '{first}', "
            f"is not there before {self.first_year[first]}"
        )


def years_of(row: Row) -> tuple[int, ...]:
    """Return the years in which a row has wheels, in order."""
    return tuple(sorted(year for year, wheels in row.volumes.items() if wheels > 0.0))
