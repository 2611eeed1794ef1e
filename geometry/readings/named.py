"""Readings by the names engineers use: lips, spokes, valve land, weight bands, how far the face stands proud.

A reading that the section does not have is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.readings.chords import Span, along_r, along_z, spans
from geometry.readings.places import RimPlaces
from geometry.readings.rows import NamedReading, Place
from geometry.readings.solid import SpokeRegion, moments_of_area
from geometry.readings.valve import valve_land
from geometry.shape.curve import Array, Flags, Path
from geometry.shape.cut import parts
from geometry.shape.section import ZONES, Outline, Side, Zone

#: The heel is read this far from the flange face: where the largest usual heel fillet ends.
HEEL_MM = 6.5
#: Spoke depth is read at every such step of r.
SPOKE_STEP_MM = 25.0
#: Spokes end this far inside the cut to the rim, before its fillets.
END_MM = 1.0
#: Spoke depth is searched at this step for its least, then nearer and nearer.
SEARCH_MM = 2.0
#: A leap of the depth is read this far beside it.
BESIDE_MM = 1e-6
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
        half_r = (rim.diameter_mm + rim.flange_height_mm) / 2.0
        beyond = along_z(outline.path, half_r)
        rows += _lip(outline.path, rim, half_r, beyond, inner=True)
        rows += _lip(outline.path, rim, half_r, beyond, inner=False)
    if spokes is not None:
        rows += _spoke_depths(outline.path, spokes)
    rows += valve_land(outline, rim)
    rows += _weight_bands(outline, shapes)
    rows += _face_proud(outline)
    return tuple(rows)


def _lip(path: Path, rim: RimPlaces, half_r: float, metal: list[Span], *, inner: bool) -> list[NamedReading]:
    """The readings of one lip; metal is what lies on the line at half flange height."""
    word, key = ("Inner lip", "inner_lip") if inner else ("Outer lip", "outer_lip")
    face = rim.inner_face_z if inner else rim.outer_face_z
    outward = -1.0 if inner else 1.0
    seat_r = rim.diameter_mm / 2.0
    rows: list[NamedReading] = []
    beyond = [s for s in metal if outward * ((s[0] + s[1]) / 2.0 - face) > 0.0]
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
        part = min(found, key=lambda p: outward * -p.points[:, 0].mean())
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
    high = min(spokes.shoulder_cut[1], spokes.lip_cut[1]) - END_MM
    if high - low < END_MM:
        return []
    between = np.arange(np.ceil((low + 1.0) / SPOKE_STEP_MM) * SPOKE_STEP_MM, high - 1.0, SPOKE_STEP_MM)
    rows = [
        NamedReading(key, f"Spoke depth {where}", depth, "mm", (z, r), note="Along the axle.")
        for (key, where), (depth, z, r) in zip(
            [
                ("spoke_depth_hub", "at the hub circle"),
                *((f"spoke_depth_r{r:g}", f"at r {r:g}") for r in between.tolist()),
                ("spoke_depth_rim", "at the rim"),
            ],
            _depths(path, np.concatenate([[low], between, [high]])),
            strict=True,
        )
        if depth > 0.0
    ]
    least = _least_depth(path, low, high)
    if least is not None:
        depth, z, r = least
        rows.insert(
            0,
            NamedReading(
                "spoke_depth_least", "Spoke depth, least", depth, "mm", (z, r), note="Along the axle."
            ),
        )
    return rows


def _depths(path: Path, radii: Array) -> list[tuple[float, float, float]]:
    """Return depth, middle z and r of the longest stretch of metal at each radius, depth 0 without one."""
    out = []
    for r, found in zip(radii.tolist(), spans(path, radii, 0), strict=True):
        z0, z1 = max(found, key=lambda s: s[1] - s[0], default=(0.0, 0.0))
        out.append((z1 - z0, (z0 + z1) / 2.0, r))
    return out


def _least_depth(path: Path, low: float, high: float) -> tuple[float, float, float] | None:
    """Return the least depth, its middle z and its r: at a joint, or inside a stretch, there to 1e-5 mm.

    A joint is read on both sides, for the depth may leap there.
    """
    joints = path.points[(path.points[:, 1] > low) & (path.points[:, 1] < high), 1]
    near = np.concatenate([joints, joints - BESIDE_MM, np.arange(low, high, SEARCH_MM), [high]])
    least, half = None, SEARCH_MM
    for _ in range(3):
        found = [d for d in _depths(path, near) if d[0] > 0.0]
        least = min([*found, *([least] if least else [])], default=None)
        if least is None:
            return None
        near = np.clip(np.linspace(least[2] - half, least[2] + half, 25), low, high)
        half /= 12.0
    return least


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
    tip, end = _outermost(outline.path, face), _outermost(outline.path, lip)
    note = "Along the axle."
    return [NamedReading("face_proud", "Face proud of outer lip", tip[0] - end[0], "mm", tip, note=note)]


def _outermost(path: Path, of: Flags) -> Place:
    """Return the place of greatest z on the named pieces, on arcs too."""
    pieces = np.flatnonzero(of)
    arcs = pieces[path.is_arc[pieces]]
    arcs = arcs[path.on_sweep(arcs, np.zeros(len(arcs)))]
    crest = path.centres[arcs] + np.column_stack([path.radii[arcs], np.zeros(len(arcs))])
    places = np.concatenate([path.points[pieces], path.ends[pieces], crest])
    z, r = places[int(np.argmax(places[:, 0]))].tolist()
    return z, r
