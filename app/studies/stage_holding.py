"""How each stage of a wheel lies in the machine: datum, wall for the jaws, what soft jaws are turned to."""

from __future__ import annotations

import math

import numpy as np

from app.studies.stage_words import Holding, SoftJaws
from geometry.forging.arcs import OFF_MM
from geometry.forging.grip import Grip, inside_grip, outside_grip
from geometry.forging.stages import Route, Stage, StageName
from geometry.readings.chords import along_r, along_z
from geometry.shape.curve import Path
from geometry.shape.section import ZONES, Outline, Zone

#: Length that jaws hold until the shop says its own (source: `SOURCES` of the stages), mm.
JAW_MM = Route().jaw_mm
#: Stock is less than wanted, or a face no longer raw, where it misses it by more, mm.
SLACK_MM = 2.0 * OFF_MM
#: Places along the jaws at which a part is measured, and how far within its end the first one lies, mm.
_JAW_PLACES, _IN_MM = 9, 0.01


def chucked(path: Path, jaw_mm: float) -> Holding:
    """Return how a forging is held for its first clamping, brake side first: at its outboard end."""
    return _in_the_chuck(path, path, jaw_mm, outboard=True)


def holding_of(outline: Outline, stage: Stage, route: Route, blank: Path) -> Holding | None:
    """Return how a stage is held while it is cut to this, measured on what the cut leaves."""
    if stage.name in (StageName.FORGED, StageName.SPUN, StageName.TREATED):
        return None
    early = stage.name in (StageName.PIERCED, StageName.ROUGH_FIRST, StageName.FIRST)
    if not early and route.brake_first:
        return _on_the_hub(outline, stage.path, route.jaw_mm)
    # The brake side is cut from inboard, so the outboard end lies in the chuck; and the other way round.
    outboard = route.brake_first if early else True
    return _in_the_chuck(stage.path, blank, route.jaw_mm, outboard=outboard)


def _in_the_chuck(path: Path, blank: Path, jaw_mm: float, *, outboard: bool) -> Holding:
    """Return how a part is held on its outside, one end against the chuck."""
    z_low, z_high, _, r_high = path.bounds
    face, raw = (z_high, blank.bounds[1]) if outboard else (z_low, blank.bounds[0])
    grip = outside_grip(path, jaw_mm, outboard=outboard)
    return Holding(
        face="outboard end" if outboard else "inboard end",
        face_mm=face,
        face_r_mm=end_radii(path, outboard),
        is_raw=abs(face - raw) <= SLACK_MM,
        bore_mm=None,
        grip=grip,
        is_outside=True,
        outboard=outboard,
        largest_mm=2.0 * r_high,
        jaws=_jaws(path, grip, jaw_mm, outboard=outboard, outside=True),
    )


def _jaws(path: Path, grip: Grip | None, jaw_mm: float, *, outboard: bool, outside: bool) -> SoftJaws | None:
    """Return what soft jaws are turned to at one end of a part; None where no metal is within their reach.

    They hold the wall of a grip, else the outline from the end on.
    """
    z_low, z_high, _, _ = path.bounds
    inwards = -1.0 if outboard else 1.0
    end = z_high if outboard else z_low
    length = jaw_mm
    if grip is not None:
        end = grip.z_high if outboard else grip.z_low
        length = min(jaw_mm, grip.length_mm)
    if length <= 2.0 * _IN_MM:
        return None
    places, found = np.linspace(_IN_MM, length - _IN_MM, _JAW_PLACES), []
    for depth in places:
        metal = along_r(path, end + inwards * float(depth))
        if not metal:
            return None
        found.append(2.0 * (metal[-1][1] if outside else metal[-1][0]))
    straight = np.linspace(found[0], found[-1], len(found))
    # The middle one of the slopes: a rounded end is no lean.
    opens = float(np.median(np.diff(found))) / float(places[1] - places[0]) * (1.0 if outside else -1.0)
    return SoftJaws(
        z_near=end,
        z_far=end + inwards * length,
        near_mm=found[0],
        far_mm=found[-1],
        most_mm=max(found) if outside else min(found),
        off_mm=float(np.abs(np.array(found) - straight).max()) / 2.0,
        pushes_deg=max(math.degrees(math.atan(opens / 2.0)), 0.0) + 0.0,
        is_outside=outside,
    )


def end_radii(path: Path, outboard: bool) -> tuple[float, float]:
    """Return the least and greatest radius of the end of an outline, within 0.5 mm of it."""
    rows = path.flattened(0.05)
    z_low, z_high, _, _ = path.bounds
    at = rows[rows[:, 0] >= z_high - 0.5 if outboard else rows[:, 0] <= z_low + 0.5, 1]
    return float(at.min()), float(at.max())


def _on_the_hub(outline: Outline, path: Path, jaw_mm: float) -> Holding:
    """Return how the second side is held: on the mounting face and the bore, jaws in the ring."""
    pad = outline.path.points[outline.zone == ZONES.index(Zone.HUB_PAD)]
    r_low, r_high = path.bounds[2], path.bounds[2] + 20.0
    if len(pad):
        r_low, r_high = float(pad[:, 1].min()), float(pad[:, 1].max())
    metal = along_z(path, (r_low + r_high) / 2.0)
    face = metal[0][0] if metal else path.bounds[0]
    within = along_r(path, face + 10.0)
    bore = 2.0 * within[0][0] if within and within[0][0] > 0.0 else None
    grip = inside_grip(path, jaw_mm, outboard=False)
    return Holding(
        face="mounting face",
        face_mm=face,
        face_r_mm=(r_low, r_high),
        is_raw=False,
        bore_mm=bore,
        grip=grip,
        is_outside=False,
        outboard=False,
        largest_mm=2.0 * path.bounds[3],
        jaws=_jaws(path, grip, jaw_mm, outboard=False, outside=False),
    )
