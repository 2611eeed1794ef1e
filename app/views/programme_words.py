"""What the die programme's pictures say: short money, and all there is to say of a cell of the coverage."""

from __future__ import annotations

import math

from app.language import parted, spoken, tr
from app.project.project import Fitment
from app.reports.numbers import Numbers
from app.reports.sentences import SIGNS
from app.studies.roadmap.coverage import CoverCell, CoverRow
from app.studies.roadmap.plan_words import compromise_name
from app.views.readings_text import minus

_MILLION = 1e6
UNPROVED_WORDS = tr("not tried out")


def money(value: float | None, currency: str = "") -> str:
    """Return money to three figures or whole, as '3.43 million EUR' or '88,400 EUR'; a dash for none."""
    if value is None or not math.isfinite(value):
        return "–"
    words = (
        tr("{value:.2f} million", value=value / _MILLION)
        if abs(value) >= _MILLION
        else parted(f"{value:,.0f}")
    )
    return f"{'0' if words == '-0' else words} {currency}".rstrip()


def cell_words(fitment: Fitment, row: CoverRow, cell: CoverCell, numbers: Numbers, currency: str = "") -> str:
    """Return all there is to say of a cell: state, deciding zone, miss, inset, windows, cost, doubts."""
    mode = (
        tr(" by compromise ({compromise_name})", compromise_name=compromise_name(fitment))
        if cell.compromise
        else ""
    )
    head = tr(
        "{fitment}{mode} in {blank}: {sign} {word}",
        fitment=cell.fitment,
        mode=mode,
        blank=cell.blank,
        sign=SIGNS[cell.state],
        word=cell.word,
    )
    said = [f"{head}, {spoken(cell.what)}" if cell.what else head]
    if cell.spare_mm is not None:
        amount = numbers.length(abs(cell.spare_mm), with_unit=True)
        said[0] += (
            tr(": {amount} short", amount=amount)
            if cell.spare_mm < 0.0
            else tr(": {amount} to spare", amount=amount)
        )
    if cell.inset_mm is not None:
        said[0] += tr(" at ET {inset_mm:g}", inset_mm=cell.inset_mm)
    if cell.of_wheel and row.own is not None:
        said.append(tr("the wheel by itself decides, in whatever blank"))
    asked = row.need.insets
    if asked:
        windows = tr(" and ").join(
            tr("ET {low:.1f} to {high:.1f}", low=low, high=high) for low, high in cell.insets
        )
        window = (
            tr("ET {asked:g}", asked=asked[0])
            if len(asked) == 1
            else tr("ET {asked:g} to {asked_2:g}", asked=asked[0], asked_2=asked[-1])
        )
        said.append(
            tr(
                "asked {window}, its stock allows {windows}",
                window=window,
                windows=windows or tr("none of it"),
            )
        )
    if cell.cost is not None and cell.blank_cost is not None:
        each = parted(f"{cell.cost + cell.blank_cost:,.0f} {currency}").rstrip()
        said.append(
            tr("{each} a wheel, {blank_cost:,.0f} of it the blank", each=each, blank_cost=cell.blank_cost)
        )
    if cell.chips_kg is not None and cell.wheel_kg is not None:
        said.append(
            tr(
                "{chips_kg:.1f} kg of chips, wheel {wheel_kg}",
                chips_kg=cell.chips_kg,
                wheel_kg=numbers.mass(cell.wheel_kg),
            )
        )
    if cell.unproved:
        said.append(tr("nobody has tried this blank out"))
    more = (
        [tr("What it takes to know: {unknown}", unknown=" ".join(row.unknown))]
        if len(row.unknown) > 1
        else []
    )
    return minus("; ".join(said) + "." + "".join(f"\n{line}" for line in more + list(row.need.notes)))
