"""Published numbers of 5 degree drop-centre rims, each with its source and how far it is confirmed.

Nothing here replaces a bought copy of the standard. JIS D 4218:2021, Contours of rims, is a modified adoption
of ISO 4000-2:2013; its Table 3 and the notes of its figure 1 were read. Specified diameters come from a
public listing that quotes a paper's tables, the place of the hump from one of tyre formulas (weak).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from geometry.errors import GeometryError


class Status(StrEnum):
    """How far a number is confirmed, best first."""

    READ = "read"
    SECONDARY = "secondary"
    MEMORY = "from memory"
    ASSUMPTION = "assumption"


@dataclass(frozen=True)
class Number:
    """A number with the place it comes from; mm or degrees as its name says."""

    value: float
    source: str
    status: Status


@dataclass(frozen=True)
class FlangeRow:
    """Limits of one row of the published table, mm; `published` is False for a combination it does not hold.

    Attributes:
        b_min: flange width. g, g_tolerance: flange height. p_min, p1_min: seat widths.
        h_min: well depth. h_min_near: the depth that is enough where M is at most m_near; equal to h_min
            where the table has no such note. l_min: well width. m_max: place of the well. r2_min: flange
            radius.
        b_usual: flange width as the trade draws it.
        notes: what a user must be told about this row.
    """

    name: str
    b_min: Number
    g: Number
    g_tolerance: float
    p_min: Number
    p1_min: Number
    h_min: Number
    h_min_near: float
    m_near: float
    l_min: Number
    m_max: Number
    r2_min: Number
    b_usual: Number
    published: bool
    notes: tuple[str, ...] = ()


LEAST_WIDTH_CODE, GREATEST_WIDTH_CODE = 4.5, 13.0
LEAST_DIAMETER_CODE, GREATEST_DIAMETER_CODE = 13, 22
FLANGES = ("J", "B", "JJ")

_TABLE = "JIS D 4218:2021 Table 3"
_TRADE = "a steel-wheel maker's table as quoted by an encyclopaedia"

#: Numbers that no published row gives: the drawing's own, each a parameter of the contour.
BEAD_SEAT_DEG = Number(5.0, "5 degree drop-centre rim; tolerance +-1 from memory", Status.MEMORY)
HEEL_RADIUS = Number(6.5, "greatest heel fillet", Status.MEMORY)
HUMP_PLACE = Number(21.0, "a public listing of tyre formulas, weak: E = 21", Status.SECONDARY)
HUMP_DIAMETER = Number(
    0.0, "a public listing of tyre formulas, weak: hump diameter equals D; crest over D / 2", Status.SECONDARY
)
WELL_DEPTH_OVER_MIN = Number(2.7, "drawn well depth over the least", Status.ASSUMPTION)


def specified_diameter_mm(code: float) -> float:
    """Return the specified diameter D of a rim diameter code, mm.

    D = 25.4 n - 0.8 up to code 16 and 25.4 n + 4.8 from code 17 on; the rule gives every entry of a
    public listing of specified rim diameters (secondary). From 16 to 17 the diameter jumps 31.0 mm, not 25.4.

    Raises:
        GeometryError: the code is not a whole number from 10 to 26.
    """
    if not 10 <= code <= 26 or code != int(code):
        raise GeometryError(f"Diameter code {code:g} is not a whole number from 10 to 26.")
    return round(25.4 * code - 0.8 if code <= 16 else 25.4 * code + 4.8, 1)


@lru_cache(256)
def width_mm(code: float) -> float:
    """Return the width A between the flange faces of a rim width code, mm.

    A = 25.4 x code, rounded to 0.5 (from memory: the standard's own formula was cut off in the copy read).

    Raises:
        GeometryError: the code is not a multiple of a half from 3 to 20.
    """
    if not 3.0 <= code <= 20.0 or code * 2 != int(code * 2):
        raise GeometryError(f"Width code {code:g} is not a multiple of 1/2 from 3 to 20.")
    return round(25.4 * code * 2) / 2.0


@lru_cache(256)
def flange_row(diameter_code: float, flange: str) -> FlangeRow:
    """Return the limits for a diameter code and a flange letter, width code 4 1/2 and wider.

    A combination without a published row gets the nearest row's numbers and `published` False.

    Raises:
        GeometryError: the flange letter is not J, JJ or B.
    """
    specified_diameter_mm(diameter_code)
    if flange == "B":
        return _row_b(published=diameter_code <= 13)
    if flange not in FLANGES:
        raise GeometryError(f"Flange {flange!r} is not known; choose J, JJ or B.")
    return _row_j(diameter_code, flange)


def _read(value: float) -> Number:
    return Number(value, _TABLE, Status.READ)


NOT_IN_TABLE = "not in the table: every number unconfirmed"


def _row_b(published: bool) -> FlangeRow:
    note = f"B flange above code 13 is {NOT_IN_TABLE}; the row of codes 10 to 13 is used."
    return FlangeRow(
        name="10 to 13, 4 1/2 B and wider",
        b_min=_read(10.0),
        g=_read(14.5),
        g_tolerance=1.0,
        p_min=_read(19.5),
        p1_min=_read(19.5),
        h_min=_read(15.0),
        h_min_near=15.0,
        m_near=45.0,
        l_min=_read(22.0),
        m_max=_read(45.0),
        r2_min=_read(7.5),
        b_usual=Number(10.0, _TRADE, Status.SECONDARY),
        published=published,
        notes=() if published else (note,),
    )


def _row_j(diameter_code: float, flange: str) -> FlangeRow:
    high = diameter_code >= 22
    notes: list[str] = []
    if diameter_code < 14:
        notes.append(f"J flange below code 14 is {NOT_IN_TABLE}; the row of codes 14 to 21 is used.")
    if high:
        notes.append("Least well depth 22.0 carries a note that was cut off in the copy read.")
    g, r2 = _read(17.5), _read(9.5)
    if flange == "JJ":
        notes.append(f"JJ is read as J with G 18.0 and R 9.0 (secondary); it is {NOT_IN_TABLE}.")
        g, r2 = Number(18.0, _TRADE, Status.SECONDARY), Number(9.0, _TRADE, Status.SECONDARY)
    return FlangeRow(
        name="22 and up, 4 1/2 J and wider" if high else "14 to 21, 4 1/2 J and wider",
        b_min=_read(11.0),
        g=g,
        g_tolerance=1.0,
        p_min=_read(19.5),
        p1_min=_read(19.5),
        h_min=_read(22.0 if high else 17.3),
        h_min_near=22.0 if high else 17.0,
        m_near=45.0 if high else 43.0,
        l_min=_read(22.0),
        m_max=_read(45.0),
        r2_min=r2,
        b_usual=Number(13.0, _TRADE, Status.SECONDARY),
        published=flange == "J" and diameter_code >= 14,
        notes=tuple(notes),
    )
