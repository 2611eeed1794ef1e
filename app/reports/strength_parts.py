"""Spokes, bolts, lips and a reference wheel in words; the same for page and text."""

from __future__ import annotations

from dataclasses import dataclass

from app.reports.numbers import Numbers
from app.reports.strength_words import OPEN_SIGN
from app.studies.strength.run import Screening
from app.studies.strength.spoked import Spoked
from geometry.shape.section import Zone
from geometry.strength.lip import Lip
from geometry.strength.loads import Kind, TestLoad

#: What a figure reads that single spokes have no part in.
SMEARED_SAID = "Stress by the section alone, its spokes smeared: what single spokes add is not in it."
RATIO_SAID = "Ratios compare two drawings under the same model; they are no promise of what either holds."

#: What is read of a lip: words, unit, attribute, decimals.
_LIP = (
    ("stiffness", "N/mm", "stiffness_n_mm", 0),
    ("load to first yield", "N", "yield_n", 0),
    ("energy to first yield", "J", "yield_j", 2),
    ("energy to a dent of {0}, estimate", "J", "dent_j", 1),
)
#: Of them, those that rest on the peak of stress, which may still move with the mesh.
_OF_PEAK = ("yield_n", "yield_j")


@dataclass(frozen=True)
class LipFigure:
    """One figure of a lip beside that of the reference."""

    lip: Zone
    words: str
    unit: str
    value: str
    reference: str
    ratio: str


def lip_figures(found: Screening, against: Screening | None, numbers: Numbers) -> list[LipFigure]:
    """Return the figures of the lips, each beside the reference where there is one."""
    out: list[LipFigure] = []
    for lip in found.lips:
        other = None if against is None else next((x for x in against.lips if x.lip is lip.lip), None)
        moving = (lip.lip in found.moving_lips, against is not None and lip.lip in against.moving_lips)
        for words, unit, key, digits in _LIP:
            mark, their_mark = (f"{OPEN_SIGN} " if open_ and key in _OF_PEAK else "" for open_ in moving)
            mine, theirs = _of(lip, key), None if other is None else _of(other, key)
            out.append(
                LipFigure(
                    lip.lip,
                    words.format(numbers.length(lip.dent_mm, with_unit=True)),
                    unit,
                    f"{mark}{mine:.{digits}f}",
                    "" if theirs is None else f"{their_mark}{theirs:.{digits}f}",
                    f"{mark or their_mark}{ratio_words(mine / theirs)}" if theirs else "",
                )
            )
    return out


def _of(lip: Lip, key: str) -> float:
    return float(vars(lip)[key])


def use_ratio(found: Screening, against: Screening, case: TestLoad, zone: Zone) -> str:
    """Return the use of a zone as a share of the reference's under the same case; empty without both."""
    mine, theirs = found.zone(case.name, zone), against.zone(case.name, zone)
    if mine is None or theirs is None or mine.use is None or not theirs.use:
        return ""
    words = f"{mine.use / theirs.use:.2f}"
    return words if mine.converged and theirs.converged else f"{OPEN_SIGN} {words}"


def ratio_words(ratio: float | None) -> str:
    """Return a ratio as it is always said: '1.32 of the reference'."""
    return "" if ratio is None else f"{ratio:.2f} of the reference"


def bending_cases(found: Screening) -> list[tuple[TestLoad, Spoked]]:
    """Return the bending cases with their spokes and bolts."""
    by_name = {s.case: s for s in found.spoked}
    return [(c, by_name[c.name]) for c in found.cases if c.kind is Kind.BENDING and c.name in by_name]


def carried_words(spoked: Spoked, moment_nm: float) -> str:
    """Return how much of the moment both models of the spokes carry."""
    if spoked.beams is None or spoked.smeared_nmm is None:
        return ""
    smeared, beams = (x / 1000.0 for x in (spoked.smeared_nmm, spoked.beams.carried_nmm))
    return f"smeared section carries {smeared:.1f}, beams {beams:.1f} of {moment_nm:.1f} N m"


def smeared_words(found: Screening) -> list[str]:
    """Return under which cases spokes are judged by the section alone, and why."""
    names = [c.name for c in found.cases if c.force_n is not None and c.name in found.solved]
    if found.ready.spokes is None or not names:
        return []
    return [
        f"spokes under {', '.join(names)} are judged by the smeared section alone: single spokes are"
        " worked out for a moment on the hub and a torque, where all share a load in proportion; a load on an"
        " arc of the rim is handed from spoke to spoke by the rim as it bends between them, which beams on a"
        " rim that turns as a whole do not hold. Under a moment the section misses the twist of spokes, and"
        " up to a fifth of the hub's moment at their rim roots"
    ]


def turned_words(found: Screening) -> list[str]:
    """Return what a torque does to spokes and drive pins, a line each."""
    lines: list[str] = []
    for one in found.turned:
        if one.spokes is not None:
            hub, rim = one.spokes.root_mpa
            lines.append(
                f"{one.case}, spokes as beams: {one.spokes.force_n:.0f} N along the arc on one, bending of "
                f"its width {hub:.1f} MPa at the hub, {rim:.1f} at the rim"
            )
        if one.pin_n is not None and one.pin_mpa is not None:
            lines.append(
                f"{one.case}, drive pins: {one.pin_n:.0f} N on one, {one.pin_mpa:.1f} MPa pressure on the "
                "wheel"
            )
        if one.note:
            lines.append(f"{one.case}: {one.note}")
    return lines
