"""Properties of wheel metals, each with its source and how far that is confirmed.

S1 is MIL-HDBK-5J (31 January 2003), read in a public text copy, not in the scanned original. Handbook
units are ksi; MPa here, except in the fatigue equations, which are printed for ksi and read so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

MPA_PER_KSI = 6.894757293168361
MM_PER_INCH = 25.4

#: Up to this thickness at heat treatment the die-forging row of 6061-T6 holds, mm (table 3.6.2.0(e): 4 in).
DIE_FORGING_MM = 101.6


@dataclass(frozen=True)
class SnCurve:
    """Mean life of unnotched specimens: log10 N = intercept - slope log10(Seq - offset).

    Seq = Smax (1 - R) ^ exponent; Smax in ksi.

    Attributes:
        standard_error: of log10 N. ratios, lives: ranges of R and N that the data cover.
        range_read: False where the ranges are not the source's own but taken from 6061-T6.
    """

    intercept: float
    slope: float
    exponent: float
    standard_error: float
    source: str
    offset_ksi: float = 0.0
    ratios: tuple[float, float] = (-1.0, 0.5)
    lives: tuple[float, float] = (1e3, 1e8)
    range_read: bool = True


@dataclass(frozen=True)
class SnTable:
    """Mean life by a table of the user's own at one stress ratio, straight between its points in log and log.

    Attributes:
        points: (cycles, greatest stress in MPa), rising cycles, falling stress, at least two.
        ratio: of stress, least over greatest.
    """

    points: tuple[tuple[float, float], ...]
    ratio: float
    source: str
    standard_error: float = 0.0
    range_read: bool = True

    @property
    def ratios(self) -> tuple[float, float]:
        """The one ratio, twice."""
        return self.ratio, self.ratio

    @property
    def lives(self) -> tuple[float, float]:
        """Fewest and most cycles of the table."""
        return self.points[0][0], self.points[-1][0]


@dataclass(frozen=True)
class Metal:
    """A wheel metal in its temper.

    Attributes:
        yield_mpa, ultimate_mpa: least values along the grain; elongation in per cent.
        thickest_mm: at heat treatment, up to which the row holds; infinite where it is the user's own.
        sn: of plain specimens, None where no curve is at hand.
    """

    name: str
    elastic_mpa: float
    poisson: float
    density_kg_m3: float
    yield_mpa: float
    ultimate_mpa: float
    elongation: float
    source: str
    sn: SnCurve | SnTable | None = None
    thickest_mm: float = math.inf


def _ksi(value: float) -> float:
    return value * MPA_PER_KSI


SN_6061 = SnCurve(
    20.68,
    9.84,
    0.63,
    0.48,
    "S1, figure 3.6.2.2.8: unnotched 6061-T6, rod and bar, not forgings; axial, mean of the data, R2 83 %",
)
_SN_2014 = SnCurve(
    21.49,
    9.44,
    0.67,
    0.51,
    "S1, figure 3.2.1.1.8(a): unnotched 2014-T6, hand and die forgings among them; mean of the data",
    range_read=False,
)
_SN_7075 = SnCurve(
    18.22,
    7.77,
    0.62,
    0.626,
    "S1, figure 3.7.6.1.8(a): unnotched 7075-T6 (not T73); mean of the data",
    offset_ksi=10.15,
    range_read=False,
)

_E_6061, _NU = _ksi(9900.0), 0.33

#: Rows by name. The first is what a wheel has that names nothing else.
METALS: tuple[Metal, ...] = (
    Metal(
        "6061-T6 die forging",
        _E_6061,
        _NU,
        2712.63,
        _ksi(35.0),
        _ksi(38.0),
        7.0,
        "S1, table 3.6.2.0(e), die forging T6, up to 4 in thick at heat treatment, S-basis",
        SN_6061,
        thickest_mm=4 * MM_PER_INCH,
    ),
    Metal(
        "6061-T6 hand forging, 2 to 4 in",
        _E_6061,
        _NU,
        2712.63,
        _ksi(35.0),
        _ksi(38.0),
        10.0,
        "S1, table 3.6.2.0(f), hand forging T6, 2.001 to 4.000 in",
        SN_6061,
        thickest_mm=4 * MM_PER_INCH,
    ),
    Metal(
        "6061-T6 hand forging, 4 to 8 in",
        _E_6061,
        _NU,
        2712.63,
        _ksi(34.0),
        _ksi(37.0),
        8.0,
        "S1, table 3.6.2.0(f), hand forging T6, 4.001 to 8.000 in",
        SN_6061,
        thickest_mm=8 * MM_PER_INCH,
    ),
    Metal(
        "2014-T6 die forging",
        _ksi(10500.0),
        _NU,
        2796.0,
        _ksi(55.0),
        _ksi(63.0),
        6.0,
        "S1, table 3.2.1.0(e), die forging T6, 3 to 4 in, S-basis; elongation of the thinnest row",
        _SN_2014,
        thickest_mm=4 * MM_PER_INCH,
    ),
    Metal(
        "7075-T73 die forging",
        _ksi(10000.0),
        _NU,
        2796.0,
        _ksi(55.0),
        _ksi(64.0),
        7.0,
        "S1, table 3.7.6.0(e2), die forging T73, 3 to 4 in, A-basis; fatigue curve is of T6",
        _SN_7075,
        thickest_mm=4 * MM_PER_INCH,
    ),
    Metal(
        "7075-T73 die forging, 4 to 5 in",
        _ksi(10000.0),
        _NU,
        2796.0,
        _ksi(53.0),
        _ksi(62.0),
        7.0,
        "S1, table 3.7.6.0(e2), die forging T73, 4 to 5 in, S-basis; fatigue curve is of T6",
        _SN_7075,
        thickest_mm=5 * MM_PER_INCH,
    ),
    Metal(
        "ZK60A-T5 die forging",
        _ksi(6500.0),
        0.35,
        1824.0,
        _ksi(26.0),
        _ksi(42.0),
        7.0,
        "S1, table 4.2.3.0(c), die forging T5, up to 3 in; elongation secondary; no fatigue equation",
        thickest_mm=3 * MM_PER_INCH,
    ),
)


def metal(name: str) -> Metal | None:
    """Return the row of that name, or None."""
    return next((m for m in METALS if m.name == name), None)


def row_for(name: str, thickest_mm: float | None = None) -> Metal | None:
    """Return the row for a material's plain name and the thickest place at heat treatment.

    '6061-T6' is the die-forging row up to 4 in and the hand-forging row over it, which is lower; so is
    '7075-T73' by its rows of 3 to 4 and 4 to 5 in. An exact row's name stands for itself.

    Args:
        name: as the wheel names its material.
        thickest_mm: None where it is not known; then the row up to 4 in.
    """
    thick = thickest_mm is not None and thickest_mm > DIE_FORGING_MM
    plain = {
        "6061-T6": "6061-T6 hand forging, 4 to 8 in" if thick else "6061-T6 die forging",
        "2014-T6": "2014-T6 die forging",
        "7075-T73": "7075-T73 die forging, 4 to 5 in" if thick else "7075-T73 die forging",
        "ZK60A-T5": "ZK60A-T5 die forging",
    }
    return metal(plain.get(name.strip(), name.strip()))
