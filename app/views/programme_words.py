"""What the die programme's pictures say: short money, and all there is to say of a cell of the coverage."""

from __future__ import annotations

import math

from app.project.project import Fitment
from app.reports.numbers import Numbers
from app.reports.sentences import SIGNS
from app.studies.roadmap.coverage import CoverCell, CoverRow
from app.studies.roadmap.plan_words import compromise_name
from app.views.readings_text import minus

_MILLION = 1e6
UNPROVED_WORDS = "not tried out"


def money(value: float | None, currency: str = "") -> str:
    """Return money to three figures or whole, as '3.43 million EUR' or '88,400 EUR'; a dash for none."""
    if value is None or not math.isfinite(value):
        return "–"
    words = f"{value / _MILLION:.2f} million" if abs(value) >= _MILLION else f"{value:,.0f}"
    return f"{'0' if words == '-0' else words} {currency}".rstrip()


def cell_words(fitment: Fitment, row: CoverRow, cell: CoverCell, numbers: Numbers, currency: str = "") -> str:
    """Return all there is to say of a cell: state, deciding zone, miss, inset, windows, cost, doubts."""
    mode = f" by compromise ({compromise_name(fitment)})" if cell.compromise else ""
    head = f"{cell.fitment}{mode} in {cell.blank}: {SIGNS[cell.state]} {cell.word}"
    said = [f"{head}, {cell.what}" if cell.what else head]
    if cell.spare_mm is not None:
        amount = numbers.length(abs(cell.spare_mm), with_unit=True)
        said[0] += f": {amount} {'short' if cell.spare_mm < 0.0 else 'to spare'}"
    if cell.inset_mm is not None:
        said[0] += f" at ET {cell.inset_mm:g}"
    if cell.of_wheel and row.own is not None:
        said.append("the wheel by itself decides, in whatever blank")
    asked = row.need.insets
    if asked:
        windows = " and ".join(f"ET {low:.1f} to {high:.1f}" for low, high in cell.insets)
        window = f"ET {asked[0]:g}" if len(asked) == 1 else f"ET {asked[0]:g} to {asked[-1]:g}"
        said.append(f"asked {window}, its stock allows {windows or 'none of it'}")
    if cell.cost is not None and cell.blank_cost is not None:
        each = f"{cell.cost + cell.blank_cost:,.0f} {currency}".rstrip()
        said.append(f"{each} a wheel, {cell.blank_cost:,.0f} of it the blank")
    if cell.chips_kg is not None and cell.wheel_kg is not None:
        said.append(f"{cell.chips_kg:.1f} kg of chips, wheel {numbers.mass(cell.wheel_kg)}")
    if cell.unproved:
        said.append("nobody has tried this blank out")
    more = [f"What it takes to know: {' '.join(row.unknown)}"] if len(row.unknown) > 1 else []
    return minus("; ".join(said) + "." + "".join(f"\n{line}" for line in more + list(row.need.notes)))
