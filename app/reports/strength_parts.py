"""Spokes, bolts, lips and a reference wheel in words; the same for page and text."""

from __future__ import annotations

from dataclasses import dataclass

from app.reports.numbers import Numbers
from app.reports.strength_words import OPEN_SIGN, SPOKE_PLACES, VERDICT_SIGNS, Verdict
from app.studies.strength.agree import SAME_LOAD, Sum
from app.studies.strength.run import Screening
from app.studies.strength.spoked import Spoked
from geometry.shape.section import Zone
from geometry.strength.lip import Lip
from geometry.strength.loads import TestLoad
from geometry.strength.spokes import Root

#: What a figure reads that single spokes have no part in.
SMEARED_SAID = "Stress by the section alone, its spokes smeared: what single spokes add is not in it."
#: Stands before a difference that is none of rounding.
FLAG = VERDICT_SIGNS[Verdict.OVER]
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


def spoked_cases(found: Screening) -> list[tuple[TestLoad, Spoked]]:
    """Return the cases that load spokes, with their spokes and bolts."""
    by_name = {s.case: s for s in found.spoked}
    return [(c, by_name[c.name]) for c in found.cases if c.name in by_name]


#: Said of a load that crosses all spokes.
SUM_SAID = (
    "What all spokes hand over together, each model by its own forces: by equilibrium the load itself,"
    " whichever way single spokes share it."
)


def sum_cells(one: Sum) -> tuple[str, str, str, str]:
    """Return what all spokes carry along and across the axle in N, as moment and as torque in N m.

    The section's figure, then that of the beams.
    """
    pairs = (
        (one.section.axial_n, one.beams.axial_n, 0),
        (one.section.across_n, one.beams.across_n, 0),
        (one.section.moment_nmm / 1000.0, one.beams.moment_nmm / 1000.0, 1),
        (one.section.torque_nmm / 1000.0, one.beams.torque_nmm / 1000.0, 1),
    )
    a, b, c, d = (f"{plain(x, digits)} / {plain(y, digits)}" for x, y, digits in pairs)
    return a, b, c, d


def plain(value: float, digits: int) -> str:
    """Return a figure without the sign of a zero."""
    return f"{round(value, digits) + 0.0:.{digits}f}"


#: Figures of one spoke in the order of a table: factor to what is printed, decimals.
ROOT_FIGURES: dict[str, tuple[float, int]] = {
    "axial_n": (1.0, 0),
    "radial_n": (1.0, 0),
    "moment_nmm": (1e-3, 1),
    "bending_mpa": (1.0, 1),
    "shear_mpa": (1.0, 1),
    "twist_mpa": (1.0, 1),
    "equivalent_mpa": (1.0, 1),
}


def root_figure(root: Root, name: str) -> str:
    """Return a figure of one spoke with its mark where it moves with the mesh; no twist is left empty."""
    factor, digits = ROOT_FIGURES[name]
    words = plain(factor * float(getattr(root, name)), digits)
    if name == "twist_mpa" and not float(words):
        return ""
    return f"{OPEN_SIGN} {words}" if name in root.moving else words


def off_words(one: Sum) -> str:
    """Return by how much both models' sums differ, as a share of the load."""
    off = 100.0 * one.off
    said = f"{off:.2g} %" if off >= 0.001 else "< 0.001 %"
    return said if one.agrees else f"{FLAG} {said}"


def sum_words(one: Sum) -> str:
    """Return what all spokes carry together at one place, and whether both models agree on it."""
    axial, across, moment, torque = sum_cells(one)
    told = (
        f"all spokes, section / beams, {SPOKE_PLACES[one.place]}: {axial} N along the axle, {across} N across"
        f" it, {moment} N m moment, {torque} N m torque"
    )
    agreed = "the same load" if one.agrees else "NOT the same load"
    return f"{told}: {agreed}, they differ by {off_words(one)}"


def sums_agree(found: Screening) -> str:
    """Return in a line whether both models carry the same load in every case; empty without spokes."""
    sums = [one for spoked in found.spoked for one in spoked.sums]
    if not sums:
        return ""
    most, limit = max(sums, key=lambda one: one.off), f"{100.0 * SAME_LOAD:g} %"
    cases = len({s.case for s in found.spoked if s.sums})
    if most.agrees:
        return (
            f"smeared section and single beams carry the same load through all spokes in {cases} of {cases}"
            f" cases, at hub and rim: they differ by {off_words(most)} of it at most ({limit} allowed)"
        )
    apart = [s.case for s in found.spoked if any(not one.agrees for one in s.sums)]
    return (
        "smeared section and single beams do NOT carry the same load through all spokes in"
        f" {', '.join(apart)}: they differ by {off_words(most)} of it ({limit} allowed)"
    )


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
