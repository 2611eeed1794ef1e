"""Where the flash was cut and the grain ends: which finished skin lies in that band."""

from __future__ import annotations

import numpy as np

from app.project.project import Project
from app.project.wheel import Wheel
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


def flash_line_warning(project: Project, wheel: Wheel) -> str:
    """Return a warning where end grain of the flash line reaches seats, humps or lip roots; else nothing.

    The flash runs square to the axle from the parting line inwards: what of the tyre side lies within the
    band may show its grain. Nothing is said of a blank whose parting line is not known.
    """
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    built = build(wheel.section)
    if blank is None or blank.parting_mm is None or not isinstance(built, Outline):
        return ""
    at = blank.parting_mm + wheel.seat_mm
    tyre = built.skin & (built.side == tuple(Side).index(Side.TYRE))
    met = []
    for zone in WATCHED:
        mine = np.flatnonzero(tyre & (built.zone == ZONES.index(zone)))
        if not len(mine):
            continue
        z = np.concatenate([built.path.points[mine, 0], built.path.ends[mine, 0]])
        if z.min() <= at + BAND_MM and z.max() >= at - BAND_MM:
            met.append(str(zone))
    if not met:
        return ""
    where = f"z {at:.1f} ± {BAND_MM:g}"
    return f"Flash line at {where}: end grain may show at {', '.join(met)}; move the parting line if you can."
