"""Columns and rows of a mixed-integer programme while it is put together."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from app.studies.programme.core import Objective, Problem


class Columns:
    """Columns and rows of a linear programme while it is put together."""

    def __init__(self) -> None:
        self.upper: list[float] = []
        self.integer: list[bool] = []
        self.low: list[float] = []
        self.high: list[float] = []
        self._rows: list[int] = []
        self._columns: list[int] = []
        self._data: list[float] = []

    def column(self, *, integer: bool = False, upper: float = 1.0) -> int:
        """Add a column from 0 to `upper` and return its number."""
        self.upper.append(upper)
        self.integer.append(integer)
        return len(self.upper) - 1

    def row(self, terms: Iterable[tuple[int, float]], low: float = -math.inf, high: float = math.inf) -> None:
        """Add low <= sum of factor x column <= high."""
        number = len(self.low)
        for column, factor in terms:
            self._rows.append(number)
            self._columns.append(column)
            self._data.append(factor)
        self.low.append(low)
        self.high.append(high)

    def problem(self, objective: Objective, is_whole: bool, chains: tuple[tuple[int, ...], ...]) -> Problem:
        """Return the whole with an objective; `is_whole` where every column up to 1 is whole at its best."""
        rows = np.array(self._rows, dtype=np.intp)
        integer, upper = np.array(self.integer, dtype=bool), np.array(self.upper)
        return Problem(
            objective,
            integer,
            integer | (upper == 1.0) if is_whole else integer,
            chains,
            np.zeros(len(self.upper)),
            upper,
            np.array(self._data, dtype=float),
            np.array(self._columns, dtype=np.intp),
            np.searchsorted(rows, np.arange(len(self.low) + 1)),
            np.array(self.low),
            np.array(self.high),
        )
