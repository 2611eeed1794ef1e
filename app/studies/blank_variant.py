"""Variants of one die set: whether the tools of another blank make this one, limit by limit (practice 18)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from app.project import edits
from app.project.project import Project
from app.studies.usable_blank import drawn_path
from geometry.errors import GeometryError
from geometry.forging.composite import DENSITY_KG_M3
from geometry.forging.variants import MATCH_MM, Made, Misfit, made_with
from geometry.shape.blank import Blank, ToolLimits
from geometry.shape.curve import Path
from geometry.shape.outline import Corner

#: A corner this near to the axle, or to the hole, lies on it, mm.
_ON_AXLE_MM = 1e-6


class Answer(StrEnum):
    """What a forge's limits say of one thing."""

    WITHIN = "within"
    OUTSIDE = "outside"
    ASKED = "asked"


@dataclass(frozen=True)
class ToolCheck:
    """One thing that a variant asks of the tools.

    Attributes:
        what: charge, closing height, disc, inserts or outside wall.
        answer: outside where the tools cannot make it; asked where the forge has not given the limit.
        value: kg of the charge, else mm; of inserts and outside wall how far the outline is off them.
        low, high: the forge's limits, None where it gave none or there is none.
        beyond: how far it is outside, in the same unit; 0 where it is not.
        at: place (z, r) in the variant's own frame, None for the whole of it.
    """

    what: str
    answer: Answer
    value: float
    low: float | None = None
    high: float | None = None
    beyond: float = 0.0
    at: tuple[float, float] | None = None


@dataclass(frozen=True)
class VariantCheck:
    """A blank held against the tools of another one.

    Attributes:
        ring_mm: how much longer its ring is than that of the tools' own blank; it follows the charge.
    """

    blank: str
    of: str
    ring_mm: float
    checks: tuple[ToolCheck, ...]

    @property
    def answer(self) -> Answer:
        """Outside where one is, asked where one is, else within."""
        found = {c.answer for c in self.checks}
        return next(a for a in (Answer.OUTSIDE, Answer.ASKED, Answer.WITHIN) if a in found)


def variant_check(project: Project, name: str, density_kg_m3: float = DENSITY_KG_M3) -> VariantCheck | None:
    """Return a blank held against the tools that it says it is made with; None where it has its own.

    Raises:
        EditError: a blank that the project does not hold.
        GeometryError: an outline is not one, or the tools go round in a circle.
    """
    blank: Blank = edits.find(project, edits.BLANK, name)
    if blank.variant_of is None:
        return None
    owner = tools_of(project, blank)
    return check_outline(drawn_path(blank), name, owner, density_kg_m3)


def tools_of(project: Project, blank: Blank) -> Blank:
    """Return the blank whose own tools yield this one, over however many variants of variants.

    Raises:
        EditError: the project does not hold it.
        GeometryError: they go round in a circle.
    """
    seen = {blank.name}
    while blank.variant_of is not None:
        blank = edits.find(project, edits.BLANK, blank.variant_of)
        if blank.name in seen:
            raise GeometryError(
                f"The tools of '{blank.name}' are its own variant's: name in its details, as 'Variant of', "
                "a blank with its own dies, or none."
            )
        seen.add(blank.name)
    return blank


def check_outline(path: Path, name: str, owner: Blank, density_kg_m3: float = DENSITY_KG_M3) -> VariantCheck:
    """Return an outline held against the tools of a blank, each as it left the dies, before it was pierced.

    Args:
        path: closed outline of the variant, mm.
        name: of the variant.
        owner: whose tools they are.
        density_kg_m3: of the metal.

    Raises:
        GeometryError: an outline is not one.
    """
    path = before_piercing(path)
    made = _made(path, owner.corners)
    limits = owner.tools or ToolLimits()
    charge = made.charge_mm3 * density_kg_m3 * 1e-9
    return VariantCheck(
        name,
        owner.name,
        made.ring_mm,
        (
            _between("charge", charge, limits.charge_low_kg, limits.charge_high_kg),
            _between("closing height", made.closing_mm, limits.closing_low_mm, limits.closing_high_mm, 0.0),
            _between(
                "disc",
                made.disc_mm,
                limits.disc_low_mm,
                limits.disc_high_mm,
                at=(_middle(path, made.disc_r_mm), made.disc_r_mm),
            ),
            _inserts(made.inserts, limits.inserts),
            _off("outside wall", made.wall, Answer.OUTSIDE),
        ),
    )


def _between(
    what: str,
    value: float,
    low: float | None,
    high: float | None,
    own: float | None = None,
    at: tuple[float, float] | None = None,
) -> ToolCheck:
    """Return one limit checked; `own` is what the tools' own blank has, which needs no answer."""
    beyond = max(0.0, (low - value) if low is not None else 0.0, (value - high) if high is not None else 0.0)
    if beyond > 1e-6:
        answer = Answer.OUTSIDE
    elif own is not None and abs(value - own) <= MATCH_MM:
        answer = Answer.WITHIN
    else:
        # Of a side that was not given nothing is known.
        answer = Answer.ASKED if low is None or high is None else Answer.WITHIN
    return ToolCheck(what, answer, value, low, high, beyond if beyond > 1e-6 else 0.0, at)


def _inserts(off: Misfit, inserts: bool | None) -> ToolCheck:
    if inserts:
        return ToolCheck("inserts", Answer.WITHIN, off.by_mm, at=off.at)
    return _off("inserts", off, Answer.ASKED if inserts is None else Answer.OUTSIDE)


def _off(what: str, off: Misfit, otherwise: Answer) -> ToolCheck:
    """Return surfaces checked that must be those of the tools; `otherwise` where they are not."""
    if off.by_mm <= MATCH_MM:
        return ToolCheck(what, Answer.WITHIN, off.by_mm, at=off.at)
    beyond = off.by_mm if otherwise is Answer.OUTSIDE else 0.0
    return ToolCheck(what, otherwise, off.by_mm, beyond=beyond, at=off.at)


def _middle(path: Path, r: float) -> float:
    """Return the height of the middle of a closed outline at a radius."""
    rows = path.flattened(0.05)
    following = [*rows[1:], rows[0]]
    crossed = [
        a[0] + (b[0] - a[0]) * (r - a[1]) / (b[1] - a[1])
        for a, b in zip(rows, following, strict=True)
        if (a[1] - r) * (b[1] - r) <= 0.0 and a[1] != b[1]
    ]
    return float((min(crossed) + max(crossed)) / 2.0) if crossed else 0.0


def _made(path: Path, owner: tuple[Corner, ...]) -> Made:
    return made_with(path, _owner_path(owner))


@lru_cache(16)
def _owner_path(corners: tuple[Corner, ...]) -> Path:
    return before_piercing(drawn_path(Blank("tools", corners)))


def before_piercing(path: Path) -> Path:
    """Return an outline with a plain hole in its hub filled to the axle; the path itself without one.

    The faces of the hub go on straight, square to the axle.
    """
    path = path.counterclockwise()
    hole = float(path.points[:, 1].min())
    rows = path.rows()
    if hole <= _ON_AXLE_MM:
        return path
    found: list[tuple[float, float, float]] = []
    for k, (z, r, bulge) in enumerate(rows):
        after = rows[(k + 1) % len(rows)]
        found.append((z, r, bulge))
        if bulge == 0.0 and r - hole <= _ON_AXLE_MM and after[1] - hole <= _ON_AXLE_MM:
            found += [(z, 0.0, 0.0), (after[0], 0.0, 0.0)]
    return Path.closed(found)
