"""Readings by the names engineers use: lips, spokes, valve land, weight bands, how far the face stands proud.

A reading that the section does not have is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometry.compiled import compiled
from geometry.readings.chords import Span, along_r, along_z, metal_ends
from geometry.readings.places import RimPlaces
from geometry.readings.rows import NamedReading, Place
from geometry.readings.solid import SpokeRegion, moments_of_area
from geometry.readings.valve import valve_land
from geometry.shape.curve import CR, CZ, R0, R1, RADIUS, SWEEP, Z0, Z1, Array, Indices, Path
from geometry.shape.cut import ALONG_R, ALONG_Z, extent, parts, runs_across
from geometry.shape.distance import points_at_arc
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

#: The room over a weight band is read along so many radial lines, ends included.
ROOM_LINES = 40

_BRAKE = tuple(Side).index(Side.BRAKE)
_UNDER_WEIGHTS = (ZONES.index(Zone.BARREL), ZONES.index(Zone.WELL), ZONES.index(Zone.INNER_SEAT))
_STEEP = math.tan(math.radians(FLAT_DEG))


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
    _, r_high = extent(runs_across(path.table, *ALONG_Z))
    found = parts(path, (heel_z, 0.0), (heel_z, r_high + 1.0))
    if found is not None and under:
        part = min(found, key=lambda p: outward * -p.points[:, 0].mean())
        _, top = extent(runs_across(part.table, *ALONG_Z))
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
    first = math.ceil((low + 1.0) / SPOKE_STEP_MM)
    last = math.ceil((high - 1.0) / SPOKE_STEP_MM)
    between = [k * SPOKE_STEP_MM for k in range(first, last)]
    lines = runs_across(path.table, *ALONG_Z)
    found = [
        ("spoke_depth_least", ", least", *_least_depth(path.table, lines, low, high)),
        ("spoke_depth_hub", " at the hub circle", *_depth(lines, low)),
        *((f"spoke_depth_r{r:g}", f" at r {r:g}", *_depth(lines, r)) for r in between),
        ("spoke_depth_rim", " at the rim", *_depth(lines, high)),
    ]
    return [
        NamedReading(key, f"Spoke depth{where}", depth, "mm", (z, r), note="Along the axle.")
        for key, where, depth, z, r in found
        if depth > 0.0
    ]


#: Depth, middle z and r.
Depth = tuple[float, float, float]


@compiled
def _depth(lines: Array, r: float) -> Depth:
    """Return depth, middle z and r of the longest stretch of metal at a radius, depth 0 without one."""
    longest = (0.0, 0.0, r)
    ends = metal_ends(lines, r)
    for k in range(0, len(ends), 2):
        if ends[k + 1] - ends[k] > longest[0]:
            longest = (ends[k + 1] - ends[k], (ends[k] + ends[k + 1]) / 2.0, r)
    return longest


@compiled
def _less_deep(least: Depth, lines: Array, r: float) -> Depth:
    """Return the lesser of what is known, depth 0 for nothing, and the depth at r."""
    found = _depth(lines, r)
    return found if found[0] > 0.0 and (least[0] == 0.0 or found < least) else least


@compiled
def _least_depth(t: Array, lines: Array, low: float, high: float) -> Depth:
    """Return the least depth, its middle z and its r: at a joint, or inside a stretch, there to 1e-5 mm.

    A joint is read on both sides, for the depth may leap there. Without metal the depth is 0.
    """
    least = _less_deep((0.0, 0.0, low), lines, high)
    for k in range(len(t)):
        if low < t[k, R0] < high:
            least = _less_deep(_less_deep(least, lines, t[k, R0]), lines, t[k, R0] - BESIDE_MM)
    for k in range(math.ceil((high - low) / SEARCH_MM)):
        least = _less_deep(least, lines, low + SEARCH_MM * k)
    half = SEARCH_MM
    for _ in range(2):
        middle = least[2]
        for k in range(-12, 13):
            least = _less_deep(least, lines, min(max(middle + half * k / 12.0, low), high))
        half /= 12.0
    return least


def _weight_bands(outline: Outline, shapes: Sequence[Path]) -> list[NamedReading]:
    """Straight stretches of the barrel's brake side where stick-on weights hold, with the room under them."""
    path = outline.path
    rows: list[NamedReading] = []
    lines = [runs_across(shape.table, *ALONG_R) for shape in shapes]
    for k in _bands(path.table, outline.zone, outline.side).tolist():
        (z0, r0), (z1, r1) = path.points[k].tolist(), path.ends[k].tolist()
        place = ((z0 + z1) / 2.0, (r0 + r1) / 2.0)
        name = f"Weight band at z {place[0]:.0f}"
        key = f"weight_band_{len(rows)}"
        rows.append(NamedReading(f"{key}_flat", f"{name}, flat width", abs(z1 - z0), "mm", place))
        room = min((_room_under(path.table, k, of) for of in lines), default=math.inf)
        if room < math.inf:
            rows.append(
                NamedReading(f"{key}_room", f"{name}, radial room", room, "mm", place, note="To the shapes.")
            )
    return rows


@compiled
def _bands(t: Array, zone: Indices, side: Indices) -> Indices:
    """Return the straight pieces of the barrel's brake side that take stick-on weights."""
    out = np.empty(len(t), dtype=np.intp)
    n = 0
    for k in range(len(t)):
        width, rise = abs(t[k, Z1] - t[k, Z0]), abs(t[k, R1] - t[k, R0])
        flat = t[k, SWEEP] == 0.0 and width >= LEAST_FLAT_MM and rise <= width * _STEEP
        if flat and side[k] == _BRAKE and zone[k] in _UNDER_WEIGHTS:
            out[n] = k
            n += 1
    return out[:n]


@compiled
def _room_under(t: Array, k: int, lines: Array) -> float:
    """Return the least radial room from straight piece k down to a shape, infinite without a shape there."""
    z0, r0, z1, r1 = t[k, Z0], t[k, R0], t[k, Z1], t[k, R1]
    room = np.inf
    for i in range(ROOM_LINES):
        share = i / (ROOM_LINES - 1.0)
        r = r0 + (r1 - r0) * share
        ends = metal_ends(lines, z0 + (z1 - z0) * share)
        for m in range(0, len(ends), 2):
            if ends[m] < ends[m + 1] <= r + 1e-6:
                room = min(room, r - ends[m + 1])
    return room


def _face_proud(outline: Outline) -> list[NamedReading]:
    """How far the spokes stand outboard of the outer lip; negative when the lip stands farther out."""
    tip = _outermost(outline.path.table, outline.zone, ZONES.index(Zone.SPOKE_FACE))
    end = _outermost(outline.path.table, outline.zone, ZONES.index(Zone.OUTER_LIP))
    if min(tip[0], end[0]) == -math.inf:
        return []
    note = "Along the axle."
    return [NamedReading("face_proud", "Face proud of outer lip", tip[0] - end[0], "mm", tip, note=note)]


@compiled
def _outermost(t: Array, zone: Indices, of: int) -> Place:
    """Return the place of greatest z in a zone, on arcs too; z is minus infinity without a piece of it."""
    best = (-np.inf, 0.0)
    for k in range(len(t)):
        if zone[k] != of:
            continue
        if t[k, Z0] > best[0]:
            best = (t[k, Z0], t[k, R0])
        if t[k, Z1] > best[0]:
            best = (t[k, Z1], t[k, R1])
        if t[k, SWEEP] != 0.0 and t[k, CZ] + t[k, RADIUS] > best[0] and points_at_arc(t, k, 1.0, 0.0):
            best = (t[k, CZ] + t[k, RADIUS], t[k, CR])
    return best
