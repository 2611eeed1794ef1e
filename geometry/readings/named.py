"""Readings by the names engineers use: lips, spokes, weight bands, how far the face stands proud.

A reading that the section does not have is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.readings.chords import along_r, along_z, spans
from geometry.readings.places import RimPlaces
from geometry.readings.rows import NamedReading
from geometry.readings.solid import SpokeRegion, moments_of_area
from geometry.shape.curve import Array, Path
from geometry.shape.cut import parts
from geometry.shape.section import ZONES, Outline, Side, Zone

#: The heel is read this far from the flange face: where the largest usual heel fillet ends.
HEEL_MM = 6.5
#: Spoke depth is read at every such step of r.
SPOKE_STEP_MM = 25.0
#: Spoke depth is searched at this step for its least.
SEARCH_MM = 1.0
#: A straight stretch of the barrel's brake side within this slope takes stick-on weights.
FLAT_DEG = 3.0
LEAST_FLAT_MM = 10.0

_BRAKE = tuple(Side).index(Side.BRAKE)


def named_readings(
    outline: Outline, rim: RimPlaces | None, spokes: SpokeRegion | None, shapes: Sequence[Path] = ()
) -> tuple[NamedReading, ...]:
    """Return the readings by name, lips first."""
    rows: list[NamedReading] = []
    if rim is not None:
        rows += _lip(outline.path, rim, inner=True)
        rows += _lip(outline.path, rim, inner=False)
    if spokes is not None:
        rows += _spoke_depths(outline.path, spokes)
    rows += _weight_bands(outline, shapes)
    rows += _face_proud(outline)
    return tuple(rows)


def _lip(path: Path, rim: RimPlaces, *, inner: bool) -> list[NamedReading]:
    word, key = ("Inner lip", "inner_lip") if inner else ("Outer lip", "outer_lip")
    face = rim.inner_face_z if inner else rim.outer_face_z
    outward = -1.0 if inner else 1.0
    seat_r = rim.diameter_mm / 2.0
    rows: list[NamedReading] = []
    half_r = seat_r + rim.flange_height_mm / 2.0
    beyond = [s for s in along_z(path, half_r) if outward * ((s[0] + s[1]) / 2.0 - face) > 0.0]
    if beyond:
        low, high = beyond[0] if inner else beyond[-1]
        place = ((low + high) / 2.0, half_r)
        note = "Along the axle at half flange height."
        rows.append(NamedReading(f"{key}_axial", f"{word}, axial", high - low, "mm", place, note=note))
    heel_z = face - outward * HEEL_MM
    under = along_r(path, heel_z)
    if under:
        low, high = under[-1]
        note = f"Along r, {HEEL_MM:g} mm from the flange face."
        place = (heel_z, (low + high) / 2.0)
        rows.append(
            NamedReading(f"{key}_under_heel", f"{word}, under the heel", high - low, "mm", place, note=note)
        )
    found = parts(path, (heel_z, 0.0), (heel_z, path.bounds[3] + 1.0))
    if found is not None and under:
        part = min(found, key=lambda p: p.bounds[0]) if inner else max(found, key=lambda p: p.bounds[1])
        top = part.bounds[3]
        end = part.points[int(np.argmax(part.points[:, 1]))]
        area, _, second = moments_of_area(part)
        place = (float(end[0]), float(end[1]))
        cut = f"Beyond the cut {HEEL_MM:g} mm from the flange face"
        rows += [
            NamedReading(
                f"{key}_height", f"{word}, seat to end", top - seat_r, "mm", place, note="Along r from D / 2."
            ),
            NamedReading(f"{key}_area", f"{word}, area", area, "mm2", place, note=f"{cut}."),
            NamedReading(
                f"{key}_second_moment",
                f"{word}, second moment",
                second,
                "mm4",
                place,
                note=f"{cut}, about its own axis parallel to the axle.",
            ),
        ]
    return rows


def _spoke_depths(path: Path, spokes: SpokeRegion) -> list[NamedReading]:
    """Axial depth between spoke back and face from the hub circle to where the cut to the rim starts."""
    low = spokes.hub_circle_mm
    high = min(spokes.shoulder_cut[1], spokes.lip_cut[1])
    if high - low < SEARCH_MM:
        return []
    chosen = np.arange(np.ceil((low + 1.0) / SPOKE_STEP_MM) * SPOKE_STEP_MM, high - 1.0, SPOKE_STEP_MM)
    fine = np.arange(low + 0.5, high - 0.5, SEARCH_MM)
    every = spans(path, np.concatenate([chosen, fine]), 0)
    rows: list[NamedReading] = []
    least: tuple[float, float, float] | None = None
    for k, (r, found) in enumerate(zip([*chosen.tolist(), *fine.tolist()], every, strict=True)):
        if not found:
            continue
        z0, z1 = max(found, key=lambda s: s[1] - s[0])
        if k < len(chosen):
            key, name = f"spoke_depth_r{r:g}", f"Spoke depth at r {r:g}"
            rows.append(NamedReading(key, name, z1 - z0, "mm", ((z0 + z1) / 2.0, r), note="Along the axle."))
        if least is None or z1 - z0 < least[0]:
            least = (z1 - z0, (z0 + z1) / 2.0, r)
    if least is not None:
        note = f"Along the axle, searched every {SEARCH_MM:g} mm of r."
        first = NamedReading("spoke_depth_least", "Spoke depth, least", least[0], "mm", least[1:], note=note)
        rows.insert(0, first)
    return rows


def _weight_bands(outline: Outline, shapes: Sequence[Path]) -> list[NamedReading]:
    """Straight stretches of the barrel's brake side where stick-on weights hold, with the room under them."""
    path = outline.path
    rows: list[NamedReading] = []
    barrel = [ZONES.index(z) for z in (Zone.BARREL, Zone.WELL, Zone.INNER_SEAT)]
    pick = np.flatnonzero((outline.side == _BRAKE) & np.isin(outline.zone, barrel) & ~path.is_arc)
    for k in pick.tolist():
        (z0, r0), (z1, r1) = path.points[k].tolist(), path.ends[k].tolist()
        width = abs(z1 - z0)
        if width < LEAST_FLAT_MM or abs(r1 - r0) > width * np.tan(np.radians(FLAT_DEG)):
            continue
        place = ((z0 + z1) / 2.0, (r0 + r1) / 2.0)
        name = f"Weight band at z {place[0]:.0f}"
        key = f"weight_band_{len(rows)}"
        rows.append(NamedReading(f"{key}_flat", f"{name}, flat width", width, "mm", place))
        room = _room_under(np.linspace(min(z0, z1), max(z0, z1), 40), (r0, r1), (z0, z1), shapes)
        if room is not None:
            rows.append(
                NamedReading(f"{key}_room", f"{name}, radial room", room, "mm", place, note="To the shapes.")
            )
    return rows


def _room_under(
    z: Array, r: tuple[float, float], ends: tuple[float, float], shapes: Sequence[Path]
) -> float | None:
    at = r[0] + (z - ends[0]) * (r[1] - r[0]) / (ends[1] - ends[0])
    room: list[float] = []
    for shape in shapes:
        for level, found in zip(at.tolist(), spans(shape, z, 1), strict=True):
            room += [level - high for _, high in found if high <= level + 1e-6][-1:]
    return min(room) if room else None


def _face_proud(outline: Outline) -> list[NamedReading]:
    """How far the spokes stand outboard of the outer lip; negative when the lip stands farther out."""
    face = outline.zone == ZONES.index(Zone.SPOKE_FACE)
    lip = outline.zone == ZONES.index(Zone.OUTER_LIP)
    if not face.any() or not lip.any():
        return []
    ends = [np.vstack([outline.path.points[of], outline.path.ends[of]]) for of in (face, lip)]
    tip = ends[0][int(np.argmax(ends[0][:, 0]))]
    proud = float(tip[0] - ends[1][:, 0].max())
    place = (float(tip[0]), float(tip[1]))
    return [NamedReading("face_proud", "Face proud of outer lip", proud, "mm", place, note="Along the axle.")]
