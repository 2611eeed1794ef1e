"""Tyre sizes: read from text, approved rims, and the widths, diameters and loads that follow from a size.

Nothing here replaces the tyre makers' or the tyre and rim organisations' own tables. Approved rim widths are
from memory except where a public page was found to agree; formulas say with each where they come from.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from geometry.shape.published import Status

_INCH = 25.4
#: Width changes by 0.4 mm for each mm of rim width: UN Regulation 30, 6.1.1.1 (read).
_PER_RIM_MM = 0.4

_FORM = re.compile(
    r"""\s*P?\s*(?P<width>\d{2,4})\s*/\s*(?P<aspect>\d{1,3})\s*(?P<make>ZR|RF|R)\s*(?P<rim>\d{1,2}(?:[.,]\d)?)
    \s*(?:\(?\s*(?P<index>\d{2,3})\s*(?P<speed>[A-Z]\d?)?\s*\)?)?\s*(?:XL|RF|REINFORCED|EXTRA\s+LOAD)?\s*""",
    re.VERBOSE | re.IGNORECASE,
)
_ANOTHER_MAKE = re.compile(r"\s*P?\s*\d{2,4}\s*/\s*\d{1,3}\s*(?:-|[BD]\s*\d)", re.IGNORECASE)


class TyreError(ValueError):
    """A text that is no tyre size; the message says what is wrong and how it is written."""


@dataclass(frozen=True)
class TyreSize:
    """A radial tyre's size as marked on its side.

    Attributes:
        width_mm: section width by name, on the measuring rim.
        aspect: section height over section width, per cent.
        rim_code: diameter of the rim it fits, code.
        load_index, speed: as marked; None and empty where the text does not say.
    """

    width_mm: int
    aspect: int
    rim_code: float
    load_index: int | None = None
    speed: str = ""

    def __str__(self) -> str:
        return f"{self.width_mm}/{self.aspect}R{self.rim_code:g}"

    @property
    def height_mm(self) -> float:
        """Section height by design: width by name x aspect / 100."""
        return self.width_mm * self.aspect / 100.0


@dataclass(frozen=True)
class ApprovedRims:
    """Rim widths, as codes, that a size may be mounted on, and how far that is confirmed."""

    low: float
    high: float
    status: Status


@lru_cache(256)
def parse_tyre(text: str) -> TyreSize:
    """Return the size of a text such as '265/35R18', '265/35 R 18 97Y' or '245/40ZR18 (93Y) XL'.

    Raises:
        TyreError: it is not of that form, or one of its numbers is none that a car tyre has.
    """
    form = _FORM.fullmatch(text)
    if form is None:
        if re.match(r"\s*LT", text, re.IGNORECASE) or _ANOTHER_MAKE.match(text):
            raise TyreError(
                f"'{text.strip()}' is no car tyre of radial make (R, ZR): only those are known here."
            )
        raise TyreError(
            f"'{text.strip()}' is not a tyre size: write width/aspect R rim and the load index, "
            "as in 265/35R18 97Y."
        )
    width, aspect = int(form["width"]), int(form["aspect"])
    rim = float(form["rim"].replace(",", "."))
    _refuse(text, "the section width", width, 125, 405, "ends in 5", width % 10 == 5)
    _refuse(text, "the aspect", aspect, 20, 85, "is a multiple of 5", aspect % 5 == 0)
    _refuse(text, "the rim diameter", rim, 10, 26, "is a whole code", rim == int(rim))
    index = None if form["index"] is None else int(form["index"])
    return TyreSize(width, aspect, rim, index, (form["speed"] or "").upper())


def _refuse(text: str, what: str, value: float, low: int, high: int, rule: str, holds: bool) -> None:
    if not (low <= value <= high and holds):
        raise TyreError(
            f"'{text.strip()}' is not a tyre size: {what} is {value:g}, but lies between {low} and {high} "
            f"and {rule}."
        )


# Formulas


def exact_section_width_mm(size: TyreSize, rim_width_code: float) -> float:
    """Return the section width on a rim: S1 + 0.4 (A - A1), not rounded.

    UN R30, 6.1.1.1 and its footnote 5 (read): A = rim width code x 25.4, A1 = x S1. That x is 0.70 from
    aspect 50 on and 0.85 below is from a public listing of tyre formulas (secondary).
    """
    share = 0.70 if size.aspect >= 50 else 0.85
    return size.width_mm + _PER_RIM_MM * (rim_width_code * _INCH - share * size.width_mm)


def section_width_mm(size: TyreSize, rim_width_code: float) -> float:
    """Return the section width on a rim, rounded to 1 mm as UN R30 has it."""
    return math.floor(exact_section_width_mm(size, rim_width_code) + 0.5)


#: Measuring rim over section width, from this aspect on: public listing of tyre formulas (secondary).
_MEASURING = ((70, 0.70), (60, 0.75), (50, 0.80), (45, 0.85), (30, 0.90), (0, 0.92))


def measuring_rim_code(size: TyreSize) -> float:
    """Return the rim width code on which the section width is measured: K2 S1 / 25.4, to the nearest 0.5."""
    k2 = next(k for least, k in _MEASURING if size.aspect >= least)
    return math.floor(2.0 * k2 * size.width_mm / _INCH + 0.5) / 2.0


def overall_diameter_mm(size: TyreSize, growth: float = 1.0) -> float:
    """Return 25.4 x code + 2 H (from memory, after UN R30); the tyre's 25.4 x code is not the rim's D."""
    return _INCH * size.rim_code + 2.0 * size.height_mm * growth


def static_loaded_radius_mm(size: TyreSize) -> float:
    """Return 12.7 x code + 0.78 H: an estimate, +-5 mm (public listing of tyre formulas, secondary)."""
    return _INCH / 2.0 * size.rim_code + 0.78 * size.height_mm


#: Load of one tyre by load index, from 80 on, kg: load-index table (secondary).
_FIRST_INDEX = 80
_LOADS_KG = (
    *(450, 462, 475, 487, 500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690),
    *(710, 730, 750, 775, 800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, 1060),
)


def load_of_index_kg(index: int) -> float | None:
    """Return the load that a tyre of this index carries; None for an index the table does not hold."""
    at = index - _FIRST_INDEX
    return float(_LOADS_KG[at]) if 0 <= at < len(_LOADS_KG) else None


def least_index(load_kg: float) -> int | None:
    """Return the smallest load index of the table that carries a load; None where none does."""
    return next((_FIRST_INDEX + k for k, kg in enumerate(_LOADS_KG) if kg >= load_kg), None)


# The table of common sizes

#: Approved rim widths; an asterisk marks what a public page agrees with, all else is from memory.
_TABLE = """
185/60R14 5.0-6.5   195/50R15 5.5-7.0   195/65R15 5.5-7.0*  205/50R15 5.5-7.5   205/50R16 5.5-7.5
205/55R16 5.5-7.5   225/50R16 6.0-8.0   205/45R17 6.5-7.5   215/40R17 7.0-8.5   215/45R17 7.0-8.0
225/45R17 7.0-8.5   225/50R17 6.0-8.0   225/65R17 6.0-8.0*  235/45R17 7.5-9.0   245/40R17 8.0-9.5
255/40R17 8.5-10.0  225/40R18 7.5-9.0   225/45R18 7.0-8.5   235/40R18 8.0-9.5   245/40R18 8.0-9.5
245/45R18 7.5-9.0   255/35R18 8.5-10.0  255/40R18 8.5-10.0  265/35R18 9.0-10.5  275/35R18 9.0-11.0
285/30R18 9.5-10.5  295/30R18 10.0-11.0 235/35R19 8.0-9.5   245/35R19 8.0-9.5   255/35R19 8.5-10.0
265/35R19 9.0-10.5  275/30R19 9.0-10.0  285/35R19 9.5-11.0  305/30R19 10.5-11.5 245/35R20 8.0-9.5
285/30R20 9.5-10.5  305/30R20 10.5-11.5
"""


@lru_cache(1)
def common_sizes() -> dict[TyreSize, ApprovedRims]:
    """Return the table: common sizes, without load index, and their approved rim widths."""
    words = _TABLE.split()
    table = {}
    for name, rims in zip(words[::2], words[1::2], strict=True):
        low, high = (float(code) for code in rims.rstrip("*").split("-"))
        status = Status.SECONDARY if rims.endswith("*") else Status.MEMORY
        table[parse_tyre(name)] = ApprovedRims(low, high, status)
    return table


def approved_rims(size: TyreSize) -> ApprovedRims | None:
    """Return the approved rim widths of a size; None for a size the table does not hold."""
    return common_sizes().get(TyreSize(size.width_mm, size.aspect, size.rim_code))


def sizes_of_width(width_mm: int, rim_code: float) -> tuple[TyreSize, ...]:
    """Return the table's sizes of one section width for a rim diameter code."""
    return tuple(s for s in common_sizes() if s.width_mm == width_mm and s.rim_code == rim_code)


#: Fewer sizes of a width than this is few to choose from; common practice, no source.
_FEW = 2


def is_few(width_mm: int, rim_code: float) -> bool:
    """Return whether the table holds so few sizes of a width for a rim diameter that choosing one is hard."""
    return len(sizes_of_width(width_mm, rim_code)) < _FEW


def choice_words(width_mm: int, rim_code: float) -> str:
    """Return how many of the table's sizes have a width and fit a rim diameter: '1 in 19 (265/35R19)'."""
    sizes = sizes_of_width(width_mm, rim_code)
    named = f" ({', '.join(map(str, sizes))})" if sizes else ""
    return f"{len(sizes) or 'none'} in {rim_code:g}{named}"
