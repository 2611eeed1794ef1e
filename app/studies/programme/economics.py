"""Money over time: capital recovery, present value, payback, break-even, learning.

Formulas: handbook/forging-and-money.md 5 (engineering economy, textbook). Rates are per year, 0.1 for 10 %;
payments of a year count at its end, the first of a list is paid today.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.studies.programme.inputs import ProgrammeError

NOT_BY_SAVING = "this die is not paid by cheaper blanks"


@dataclass(frozen=True)
class BreakEven:
    """When a die pays, in both senses.

    Attributes:
        wheels: a year, from which the saving per wheel pays the die; None where there is no saving.
        contribution: per wheel, from which wheels that could not be sold otherwise pay it at their volume;
            None without wheels.
        words: both in one sentence.
    """

    wheels: float | None
    contribution: float | None
    words: str

    @property
    def whole_wheels(self) -> int | None:
        """The first whole number of wheels a year that pays the die."""
        return None if self.wheels is None else math.ceil(self.wheels - 1e-9)


def capital_recovery(rate: float, years: int) -> float:
    """Return A/P: the yearly payment over n years that is worth 1 today; 1/n without a rate."""
    _check(rate, years)
    if rate == 0.0:
        return 1.0 / years
    # expm1 and log1p keep the digits of small rates.
    return rate / -math.expm1(-years * math.log1p(rate))


def present_worth(rate: float, years: int) -> float:
    """Return P/A: what 1 a year over n years is worth today."""
    return 1.0 / capital_recovery(rate, years)


def net_present_value(rate: float, flows: Sequence[float]) -> float:
    """Return what payments are worth today, the first of today, the next in a year, and so on."""
    return math.fsum(flow / (1.0 + rate) ** k for k, flow in enumerate(flows))


def payback_year(flows: Sequence[float], rate: float = 0.0) -> float | None:
    """Return after how many years the sum of payments stays at 0 or above; None where it ends below.

    Within a year payments are spread evenly; with a rate the payments are discounted first.
    """
    sums, total = [], 0.0
    for k, flow in enumerate(flows):
        total += flow / (1.0 + rate) ** k
        sums.append(total)
    if not sums or sums[-1] < 0.0:
        return None
    below = [k for k, value in enumerate(sums) if value < 0.0]
    if not below:
        return 0.0
    last = below[-1]
    return last + sums[last] / (sums[last] - sums[last + 1])


def cost_per_wheel(fixed: float, rate: float, years: int, wheels: float) -> float:
    """Return the share of a die in each wheel, wheels a year, with capital recovery."""
    if not wheels > 0.0:
        raise ProgrammeError(f"{wheels:g} wheels a year cannot carry a die; give more than 0")
    return fixed * capital_recovery(rate, years) / wheels


def break_even(fixed: float, rate: float, years: int, saving: float, wheels: float) -> BreakEven:
    """Return when a die pays, own against bought, and by wheels that exist only because of it (practice 23).

    Args:
        fixed: what the die costs in all.
        rate: of discount a year.
        years: over which it is used.
        saving: per wheel against the bought blank, machining and chips included; below 0 where own is dearer.
        wheels: a year that would not be sold without the die.
    """
    yearly = fixed * capital_recovery(rate, years)
    pays_at = yearly / saving if saving > 0.0 else None
    needs = yearly / wheels if wheels > 0.0 else None
    whole = BreakEven(pays_at, needs, "").whole_wheels
    said = [NOT_BY_SAVING if whole is None else f"pays by cheaper blanks from {counted_wheels(whole)} a year"]
    if needs is not None:
        each = f"{needs:,.2f} of contribution a wheel"
        said.append(f"pays by its own wheels from {each} at {wheels:,.4g} a year")
    return BreakEven(pays_at, needs, "; ".join(said))


def counted_wheels(wheels: int) -> str:
    """Return '1 wheel', '1,250 wheels'."""
    return f"{wheels:,} wheel{'s' * (wheels != 1)}"


def tooling_break_even(
    fixed: tuple[float, float],
    set_up: tuple[float, float],
    unit: tuple[float, float],
    batch: float = math.inf,
) -> float | None:
    """Return from how many pieces the dearer of two toolings pays; None where it never does.

    Q = (C_hard - C_soft) / ((s_soft - s_hard) / b + (c_soft - c_hard)), each pair given as (soft, hard):
    fixed cost, set-up of a batch of b pieces, cost of a piece.
    """
    saving = (set_up[0] - set_up[1]) / batch + unit[0] - unit[1]
    return (fixed[1] - fixed[0]) / saving if saving > 0.0 else None


def learning_factor(rate: float, number: float) -> float:
    """Return the cost of the n-th unit over that of the first: n ** log2(rate).

    The unit form of the curve: each doubling of the number brings the cost of that unit, not the mean, to
    `rate` of what it was.
    """
    if not 0.0 < rate <= 1.0:
        raise ProgrammeError(f"a learning rate of {rate:g} is no share; give 0.8 for 80 %")
    if number < 1.0:
        raise ProgrammeError(f"unit {number:g} is before the first; count from 1")
    return float(number ** math.log2(rate))


def learning_sum(rate: float, units: int) -> float:
    """Return the cost of the first n units over that of the first, unit form."""
    return math.fsum(learning_factor(rate, k) for k in range(1, units + 1))


def _check(rate: float, years: int) -> None:
    if not (math.isfinite(rate) and rate >= 0.0):
        raise ProgrammeError(f"the rate of discount is {rate!r}; give 0.1 for 10 %")
    if years < 1:
        raise ProgrammeError(f"{years} years are too few to recover a cost; give 1 or more")
