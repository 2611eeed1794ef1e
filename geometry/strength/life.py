"""Life by a published curve of plain specimens: a mean, a lower estimate, and refusals outside its data.

Stress is turned into an equivalent pair of greatest stress and ratio: amplitude by von Mises of the range of
all components, mean by von Mises with the sign of its trace (a usual screening rule, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.strength.harmonic import von_mises
from geometry.strength.metals import MPA_PER_KSI, SnCurve, SnTable

#: One in twenty lies below the mean by so many standard errors (one-sided normal).
_ONE_IN_TWENTY = 1.645
#: Data hold for stress ratios within this of their own.
SAME_RATIO = 0.05
#: A trace within this share of the mean's von Mises stress has no sign.
_NO_SIGN = 1e-6


@dataclass(frozen=True)
class Factors:
    """What divides the strength of a plain specimen; 1.0 is 'not included', and is printed so.

    Attributes:
        surface, size: of finish and section. forging: direction of the grain. temperature: brake heat.
        coating: anodising or paint.
    """

    surface: float = 1.0
    size: float = 1.0
    forging: float = 1.0
    temperature: float = 1.0
    coating: float = 1.0

    @property
    def all(self) -> float:
        """Product of the factors.

        Raises:
            GeometryError: one of them is not above 0 and up to 1.
        """
        given = vars(self)
        for name, value in given.items():
            if not 0.0 < value <= 1.0:
                raise GeometryError(
                    f"The {name} factor {value:g} is not above 0 and up to 1; 1 leaves it out."
                )
        return float(math.prod(given.values()))


@dataclass(frozen=True)
class Life:
    """Cycles at a stress.

    Attributes:
        mean: of plain specimens; None where the data do not reach.
        lower: 95 % of them last longer; None with the mean.
        equivalent_mpa: Smax (1 - R) ^ exponent after the factors.
        note: why there is no number, or what limits it; empty otherwise.
    """

    mean: float | None
    lower: float | None
    equivalent_mpa: float
    note: str = ""


def cycles_words(cycles: float) -> str:
    """Return a number of cycles as it is written everywhere, two digits and a power of ten: '2.0e5'."""
    if not math.isfinite(cycles):
        return f"{cycles}"
    mantissa, power = f"{cycles:.1e}".split("e")
    return f"{mantissa}e{int(power)}"


def life(curve: SnCurve | SnTable, greatest_mpa: float, ratio: float, factors: Factors = Factors()) -> Life:
    """Return the cycles at a greatest stress and a stress ratio (least over greatest).

    Outside the data there is no number: a stress ratio outside the curve's, a life shorter than its shortest.
    Beyond its longest life the answer is that bound, and says so.

    Raises:
        GeometryError: stress or ratio is not a number, or the ratio is 1 or more.
    """
    if not (math.isfinite(greatest_mpa) and math.isfinite(ratio)) or ratio >= 1.0:
        raise GeometryError(f"Stress {greatest_mpa:g} MPa with ratio {ratio:g} is no cycle.")
    if isinstance(curve, SnTable):
        return _by_table(curve, greatest_mpa / factors.all, ratio)
    low, high = curve.ratios
    greatest = greatest_mpa / factors.all / MPA_PER_KSI
    equivalent = greatest * (1.0 - ratio) ** curve.exponent
    mpa = equivalent * MPA_PER_KSI
    beyond = f"beyond the data: at least {cycles_words(curve.lives[1])}"
    if not low - 1e-9 <= ratio <= high + 1e-9:
        return Life(None, None, mpa, f"stress ratio {ratio:.2f} is outside the data ({low:g} to {high:g})")
    if equivalent <= curve.offset_ksi or greatest <= 0.0:
        return Life(curve.lives[1], curve.lives[1], mpa, beyond)
    log_mean = curve.intercept - curve.slope * math.log10(equivalent - curve.offset_ksi)
    if log_mean < math.log10(curve.lives[0]):
        return Life(None, None, mpa, f"shorter than the data ({cycles_words(curve.lives[0])} cycles)")
    lower = log_mean - _ONE_IN_TWENTY * curve.standard_error
    note = "" if curve.range_read else "range of the data not read; that of 6061-T6 taken"
    longest = math.log10(curve.lives[1])
    if log_mean > longest:
        note = beyond
    return Life(10.0 ** min(log_mean, longest), 10.0 ** min(lower, longest), mpa, note)


def _by_table(table: SnTable, greatest_mpa: float, ratio: float) -> Life:
    """Return the mean life by a table; it says nothing of scatter, so that no lower estimate is given."""
    fewest, most = table.lives
    if abs(ratio - table.ratio) > SAME_RATIO:
        return Life(None, None, greatest_mpa, f"stress ratio {ratio:.2f} is not the table's, {table.ratio:g}")
    cycles, stress = np.log10(np.array(table.points)).T
    if greatest_mpa > table.points[0][1]:
        return Life(None, None, greatest_mpa, f"shorter than the data ({cycles_words(fewest)} cycles)")
    if greatest_mpa <= table.points[-1][1]:
        return Life(most, None, greatest_mpa, f"beyond the data: at least {cycles_words(most)}")
    log_mean = float(np.interp(-math.log10(greatest_mpa), -stress, cycles))
    return Life(10.0**log_mean, None, greatest_mpa, "a table without scatter: mean life alone")


def stress_for(curve: SnCurve | SnTable, cycles: float, ratio: float) -> float:
    """Return the greatest stress in MPa with that mean life.

    Raises:
        GeometryError: cycles or ratio lie outside the data, by how much.
    """
    if not curve.lives[0] <= cycles <= curve.lives[1]:
        fewest, most = map(cycles_words, curve.lives)
        raise GeometryError(
            f"{cycles_words(cycles)} cycles are outside the data of the curve ({fewest} to {most}); a"
            " rotating-beam figure at 5.0e8 is another test and is not mixed in."
        )
    if isinstance(curve, SnTable):
        log_cycles, stress = np.log10(np.array(curve.points)).T
        return float(10.0 ** np.interp(math.log10(cycles), log_cycles, stress))
    low, high = curve.ratios
    if not low - 1e-9 <= ratio <= high + 1e-9:
        raise GeometryError(f"Stress ratio {ratio:g} is outside the data ({low:g} to {high:g}).")
    equivalent = curve.offset_ksi + 10.0 ** ((curve.intercept - math.log10(cycles)) / curve.slope)
    return float(equivalent / (1.0 - ratio) ** curve.exponent * MPA_PER_KSI)


def cycle_of(stress: Array) -> tuple[Array, Array]:
    """Return (n,) greatest equivalent stress in MPa and ratio of the worst cycle at each node over a turn.

    Args:
        stress: (a, n, 6) at angles that go once round.
    """
    half, middle = half_and_mean(stress)
    greatest = middle + half
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(greatest > 0.0, (middle - half) / greatest, -np.inf)
    return greatest, ratio


def half_and_mean(stress: Array) -> tuple[Array, Array]:
    """Return (n,) half of the greatest range over a turn at each node, and its mean with sign, MPa.

    Args:
        stress: (a, n, 6) at angles that go once round.
    """
    count, places = stress.shape[0], np.arange(stress.shape[1])
    # Rows whose length is the von Mises stress: ranges are then distances.
    zz, rr, tt = stress[..., 0], stress[..., 1], stress[..., 2]
    rows = math.sqrt(3.0) * np.stack([(zz - rr) / 2.0, *np.moveaxis(stress[..., 3:], -1, 0)])
    rows = np.concatenate([rows, ((zz + rr) / 2.0 - tt)[None]])
    best, of = np.full(len(places), -1.0), np.zeros((2, len(places)), dtype=np.intp)
    for k in range(1, count):
        away = rows[:, k:] - rows[:, :-k]
        square = np.einsum("can,can->an", away, away)
        at = square.argmax(axis=0)
        better = square[at, places] > best
        best[better] = square[at, places][better]
        of[:, better] = at[better], at[better] + k
    best = np.sqrt(np.maximum(best, 0.0)) / 2.0
    mean = (stress[of[0], places] + stress[of[1], places]) / 2.0
    # A mean without sign, pure shear, counts as pull: that is the safe side.
    level, trace = von_mises(mean), mean[:, :3].sum(axis=1)
    return best, np.where(trace >= -_NO_SIGN * level, level, -level)
