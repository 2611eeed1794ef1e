"""Which rows of a coverage are shown, and in which order."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from app.language import tr
from app.project.project import Fitment, Project
from app.studies.roadmap.coverage import Coverage, CoverRow


class Order(StrEnum):
    """Orders of the rows."""

    ENTERED = "as entered"
    NAME = tr("by fitment")
    SPARE = "least spare first"


class Which(StrEnum):
    """Rows by what they must."""

    ALL = "must and want"
    MUST = "must rows"
    WANT = "want rows"


@dataclass(frozen=True)
class MapRow:
    """One row of the map: a fitment in full or, below it, by its compromise.

    Attributes:
        is_unserved: a row in full that no blank covers, or of which something is not known.
    """

    fitment: Fitment
    row: CoverRow
    is_unserved: bool


def map_rows(
    project: Project,
    found: Coverage,
    order: Order = Order.ENTERED,
    which: Which = Which.ALL,
    *,
    uncovered_only: bool = False,
) -> tuple[MapRow, ...]:
    """Return the rows of the map; a compromise stays under its fitment.

    Rows of which nobody said whether they must count as must rows.
    """
    fitments = {f.name: f for f in project.fitments}
    groups: dict[str, list[CoverRow]] = {}
    for row in found.rows:
        if row.fitment in fitments:
            groups.setdefault(row.fitment, []).append(row)
    kept = []
    for name, rows in groups.items():
        is_want = fitments[name].must is False
        if which is Which.ALL or is_want == (which is Which.WANT):
            covered = any(row.is_covered for row in rows if not row.compromise)
            if not (uncovered_only and covered):
                kept.append((name, rows, not covered))
    if order is Order.NAME:
        kept.sort(key=lambda k: _natural(k[0]))
    elif order is Order.SPARE:
        kept.sort(key=lambda k: (not k[2], _best(k[1][0]), _natural(k[0])))
    return tuple(
        MapRow(fitments[name], row, unserved and not row.compromise)
        for name, rows, unserved in kept
        for row in rows
    )


def _best(row: CoverRow) -> float:
    """Return the greatest spare over the blanks that cover it, else the smallest miss."""
    good = [c.spare_mm for c in row.cells if c.is_covered and c.spare_mm is not None]
    found = good or [c.spare_mm for c in row.cells if c.spare_mm is not None]
    return max(found, default=-math.inf)


def _natural(name: str) -> list[tuple[int, int, str]]:
    """Return a key by which R-2 comes before R-10."""
    return [
        (0, int(part), "") if part.isdigit() else (1, 0, part.casefold())
        for part in re.split(r"(\d+)", name)
        if part
    ]
