"""What is missing for a full answer; while anything is, the wheel's state is 'not known'."""

from __future__ import annotations

import numpy as np

from geometry.readings.places import RimPlaces
from geometry.readings.rows import GapRow, Held, StockRow, WallRow
from geometry.shape.section import ZONES, Outline, Zone

#: The mounting face is drawn at its place within this.
FACE_MM = 0.05

#: Flange height and width of a rim as drawn lie within these of its size: published limits and then some.
FLANGE_OFF_MM = 2.5
LEAST_LIP_MM = 6.0
MOST_LIP_MM = 20.0

#: No wall is asked for here: the hub is judged by seat land and hub fit.
_HUB = (str(Zone.HUB_PAD), str(Zone.BORE), str(Zone.HUB_FACE))


def questions(
    outline: Outline,
    held: Held,
    gap: tuple[GapRow, ...],
    wall: tuple[WallRow, ...],
    stock: tuple[StockRow, ...],
) -> tuple[str, ...]:
    """Return plain sentences: no shape or rule set, readings without a rule, a hub not drawn in place."""
    out: list[str] = []
    if not held.shapes:
        out.append("No stay-out shape: choose what the wheel must clear.")
    if held.envelope is not True:
        out.append("Does the section hold the envelope of the spoke backs (ribs, bosses, pocket edges)?")
    out += _far_off(outline, held)
    if held.rim is not None:
        out += _rim_as_drawn(outline, held.rim)
    if held.hub is not None:
        out += _hub_as_drawn(outline, held)
    if held.rules is None:
        return (*out, "No rule set: choose one.")
    for shape, _ in held.shapes:
        zones = [row.zone for row in gap if row.shape == shape.name and row.required_mm is None]
        if zones:
            out.append(f"No gap rule for a {shape.kind} at {_listed(zones)}: add one to the rule set.")
    zones = [row.zone for row in wall if row.required_mm is None and row.zone not in _HUB]
    if zones:
        out.append(f"No wall rule for {_listed(zones)}: add one to the rule set.")
    zones = [row.zone for row in stock if row.required_mm is None]
    if zones:
        out.append(f"No stock rule for {_listed(zones)}: add one to the rule set.")
    return tuple(out)


def _listed(zones: list[str]) -> str:
    return ", ".join(dict.fromkeys(zones))


def _far_off(outline: Outline, held: Held) -> list[str]:
    """Shapes that lie wholly inside the bore or outside the wheel: a unit or a place that is wrong."""
    radii = outline.path.points[outline.skin][:, 1]
    least, most = float(radii.min()), float(radii.max())
    out = []
    for shape, positions in held.shapes:
        low, high = min(p.bounds[2] for p in positions), max(p.bounds[3] for p in positions)
        if high < least:
            out.append(f"{shape.name} lies wholly inside the bore (r up to {high:.1f}): is its unit right?")
        elif low > most:
            out.append(f"{shape.name} lies wholly outside the wheel (r from {low:.1f}): is its unit right?")
    return out


def _rim_as_drawn(outline: Outline, rim: RimPlaces) -> list[str]:
    """The lips must stand where size and inset put them; an unlocked section may be of another size."""
    top = float(outline.path.points[outline.skin][:, 1].max())
    wanted = rim.diameter_mm / 2.0 + rim.flange_height_mm
    if abs(top - wanted) > FLANGE_OFF_MM:
        return [f"The section reaches r {top:.1f}, its size code asks for {wanted:.1f}: which size is it?"]
    for zone, face, outward in (
        (Zone.OUTER_LIP, rim.outer_face_z, 1.0),
        (Zone.INNER_LIP, rim.inner_face_z, -1.0),
    ):
        lip = outline.path.points[outline.zone == ZONES.index(zone)][:, 0]
        beyond = float((outward * (lip - face)).max()) if len(lip) else 0.0
        if not LEAST_LIP_MM <= beyond <= MOST_LIP_MM:
            return [
                f"The {zone} ends {beyond:.1f} mm outside the flange face of its size and inset, which no "
                "flange does: which size and inset is it?"
            ]
    return []


def _hub_as_drawn(outline: Outline, held: Held) -> list[str]:
    """The mounting face must lie where the wheel is seated, and bore and hub pad must be named."""
    out = [
        f"The section has no edge named {zone}: name it, so that the hub can be judged."
        for zone in (Zone.HUB_PAD, Zone.BORE)
        if not np.any(outline.zone == ZONES.index(zone))
    ]
    pad = outline.zone == ZONES.index(Zone.HUB_PAD)
    if pad.any():
        z = float(outline.path.points[pad][:, 0].min())
        if abs(z - held.spacer_mm) > FACE_MM:
            out.append(
                f"The section's mounting face lies at z {z - held.spacer_mm:.2f} instead of 0: move it there."
            )
    return out
