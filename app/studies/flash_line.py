"""Where the flash was cut and the grain ends: which finished skin lies in that band."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.stage_words import Finding
from geometry.shape.section import ZONES, Outline, Side, Zone, build

#: Half height of the band about the parting line (practice 21: +-10, from memory).
BAND_MM = 10.0
#: Skin that must not have grain ending on it (practice 21, from memory).
WATCHED = (
    Zone.OUTER_SEAT,
    Zone.INNER_SEAT,
    Zone.OUTER_LIP,
    Zone.INNER_LIP,
)


#: The outermost so much of spoke face, spoke back and shoulder is the spoke's root, mm; common practice, no
#: source.
ROOT_MM = 15.0
_SPOKE = (Zone.SHOULDER, Zone.SPOKE_BACK, Zone.SPOKE_FACE)


def flash_line_finding(project: Project, wheel: Wheel) -> Finding | None:
    """Return a warning where end grain of the flash line reaches seats, humps, lip or spoke roots; else None.

    The flash runs square to the axle from the parting line inwards: finished skin that lies within the band
    may show its grain. Nothing is said of a blank whose parting line is not known. Ejector marks are not
    looked at: no blank says where they are.
    """
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    built = build(wheel.section)
    if blank is None or blank.parting_mm is None or not isinstance(built, Outline):
        return None
    at = blank.parting_mm + wheel.seat_mm
    tyre = built.skin & (built.side == tuple(Side).index(Side.TYRE))
    met = [str(zone) for zone in WATCHED if _reaches(built, tyre & _of(built, (zone,)), at)]
    if any(_reaches(built, built.skin & _of(built, (zone,)), at, ROOT_MM) for zone in _SPOKE):
        met.append("spoke root")
    if not met:
        return None
    where = ", ".join(met)
    text = f"flash line at z {{0}} ± {{1}}: end grain may show at {where}; move the parting line if you can"
    return Finding(text, (at, BAND_MM))


def _of(outline: Outline, zones: tuple[Zone, ...]) -> NDArray[np.bool_]:
    return np.isin(outline.zone, [ZONES.index(zone) for zone in zones])


def _reaches(outline: Outline, mine: NDArray[np.bool_], at: float, deep_mm: float = math.inf) -> bool:
    """Return whether these edges lie within the band, of their outermost `deep_mm` of radius alone."""
    if not mine.any():
        return False
    ends = np.stack([outline.path.points[mine], outline.path.ends[mine]], axis=1)
    least = float(ends[:, :, 1].max()) - deep_mm
    ends = ends[ends[:, :, 1].max(axis=1) >= least]
    low, high = ends[:, :, 0].min(axis=1), ends[:, :, 0].max(axis=1)
    if np.isfinite(least):
        # Of an edge that goes on below the root, the part above: chords stand for arcs.
        (z0, r0), (z1, r1) = ends[:, 0].T, ends[:, 1].T
        cut = np.minimum(r0, r1) < least
        share = (least - r0) / np.where(cut, r1 - r0, 1.0)
        crossed = z0 + share * (z1 - z0)
        upper = np.where(r0 > r1, z0, z1)
        low = np.where(cut, np.minimum(crossed, upper), low)
        high = np.where(cut, np.maximum(crossed, upper), high)
    return bool(((low <= at + BAND_MM) & (high >= at - BAND_MM)).any())
