"""Readings by the names engineers use: lips, spokes, valve land, weight bands, how far the face stands proud.

A reading that the section does not have is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from geometry.compiled import compiled
from geometry.readings.chords import Span, along_z, metal_ends
from geometry.readings.places import RimPlaces
from geometry.readings.rows import NamedReading, Place, reading
from geometry.readings.solid import SpokeRegion, moments_of_area
from geometry.readings.valve import valve_land
from geometry.shape.curve import CR, CZ, R0, R1, RADIUS, SWEEP, Z0, Z1, Array, Indices, Path
from geometry.shape.cut import ALONG_R, U0, U1, extent, parted, runs_across
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
#: So many steps are searched among the same runs.
_TOGETHER = 5
#: A leap of the depth is read this far beside it.
BESIDE_MM = 1e-6
#: A straight stretch of the barrel's brake side within this slope takes stick-on weights.
FLAT_DEG = 3.0
LEAST_FLAT_MM = 10.0

#: The room over a weight band is read along so many radial lines, ends included.
ROOM_LINES = 40

_BRAKE = tuple(Side).index(Side.BRAKE)
_UNDER_WEIGHTS = (ZONES.index(Zone.BARREL), ZONES.index(Zone.WELL), ZONES.index(Zone.INNER_SEAT))
_SPOKE_FACE, _OUTER_LIP = ZONES.index(Zone.SPOKE_FACE), ZONES.index(Zone.OUTER_LIP)
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


def _lip(
    path: Path, rim: RimPlaces, half_r: float, metal: list[Span], *, inner: bool
) -> tuple[NamedReading, ...]:
    """The readings of one lip; metal is what lies on the line at half flange height."""
    face = rim.inner_face_z if inner else rim.outer_face_z
    outward = -1.0 if inner else 1.0
    beyond = [s for s in metal if outward * ((s[0] + s[1]) / 2.0 - face) > 0.0]
    heel_z = face - outward * HEEL_MM
    under_low, under_high, end = _under_heel(path.table, heel_z, outward)
    under = (under_low, under_high) if under_high > under_low else None
    return _lip_rows(
        inner,
        half_r,
        rim.diameter_mm / 2.0,
        heel_z,
        (beyond[0] if inner else beyond[-1]) if beyond else None,
        under,
        end if under else None,
    )


@lru_cache(maxsize=64)
def _lip_rows(
    inner: bool,
    half_r: float,
    seat_r: float,
    heel_z: float,
    beyond: Span | None,
    under: Span | None,
    end: LipEnd | None,
) -> tuple[NamedReading, ...]:
    """Return the readings of a lip from the metal along the axle, under the heel and of its end."""
    word, key = ("Inner lip", "inner_lip") if inner else ("Outer lip", "outer_lip")
    rows: list[NamedReading] = []
    if beyond is not None:
        low, high = beyond
        place = ((low + high) / 2.0, half_r)
        note = "Along the axle at half flange height."
        rows.append(reading(f"{key}_axial", f"{word}, axial", high - low, place, note))
    if under is not None:
        low, high = under
        note = f"Along r, {HEEL_MM:g} mm from the flange face."
        place = (heel_z, (low + high) / 2.0)
        rows.append(reading(f"{key}_under_heel", f"{word}, under the heel", high - low, place, note))
    if end is not None and end[0] > 0.0:
        area, second, top, *at = end
        place = (at[0], at[1])
        cut = f"Beyond the cut {HEEL_MM:g} mm from the flange face"
        about = f"{cut}, about its own axis parallel to the axle."
        rows += [
            reading(f"{key}_height", f"{word}, seat to end", top - seat_r, place, "Along r from D / 2."),
            reading(f"{key}_area", f"{word}, area", area, place, f"{cut}.", "mm2"),
            reading(f"{key}_second_moment", f"{word}, second moment", second, place, about, "mm4"),
        ]
    return tuple(rows)


#: Of what lies beyond the cut under the heel: area, second moment, greatest r, and z and r of its top joint.
LipEnd = tuple[float, float, float, float, float]


@compiled
def _under_heel(t: Array, heel_z: float, outward: float) -> tuple[float, float, LipEnd]:
    """Return the outermost stretch of metal on a cut along r, 0 and 0 without one, and what _end does."""
    low = high = 0.0
    ends = metal_ends(runs_across(t, 1.0, 0.0, 0.0, 1.0), heel_z)
    for k in range(0, len(ends), 2):
        if ends[k + 1] > ends[k]:
            low, high = ends[k], ends[k + 1]
    return low, high, _end(t, heel_z, outward)


@compiled
def _end(t: Array, heel_z: float, outward: float) -> LipEnd:
    """Return what lies outward (+ or - z) of a cut along r; area 0 where it does not part the section."""
    _, high = extent(runs_across(t, 0.0, 1.0, 1.0, 0.0))
    part, other = parted(t, heel_z, 0.0, heel_z, high + 1.0)
    if not len(part):
        return 0.0, 0.0, 0.0, 0.0, 0.0
    if outward * part[:, Z0].mean() < outward * other[:, Z0].mean():
        part = other
    _, top = extent(runs_across(part, 0.0, 1.0, 1.0, 0.0))
    at = part[:, R0].argmax()
    area, _, second = moments_of_area(part)
    return area, second, top, part[at, Z0], part[at, R0]


def _spoke_depths(path: Path, spokes: SpokeRegion) -> list[NamedReading]:
    """Axial depth between spoke back and face from the hub circle to where the cut to the rim starts."""
    low = spokes.hub_circle_mm
    high = min(spokes.shoulder_cut[1], spokes.lip_cut[1]) - END_MM
    if high - low < END_MM:
        return []
    words, radii = _depths_read(low, high)
    return [
        reading(key, name, depth, (z, r), "Along the axle.")
        for (key, name), (depth, z, r) in zip(words, _depths(path.table, radii).tolist(), strict=True)
        if depth > 0.0
    ]


@lru_cache(maxsize=16)
def _depths_read(low: float, high: float) -> tuple[tuple[tuple[str, str], ...], Array]:
    """Return key and name of each depth read between two radii, the least first, and the others' radii."""
    first = math.ceil((low + 1.0) / SPOKE_STEP_MM)
    last = math.ceil((high - 1.0) / SPOKE_STEP_MM)
    between = [k * SPOKE_STEP_MM for k in range(first, last)]
    words = (
        ("spoke_depth_least", "Spoke depth, least"),
        ("spoke_depth_hub", "Spoke depth at the hub circle"),
        *((f"spoke_depth_r{r:g}", f"Spoke depth at r {r:g} mm") for r in between),
        ("spoke_depth_rim", "Spoke depth at the rim"),
    )
    return words, np.array([low, *between, high])


@compiled
def _depths(t: Array, radii: Array) -> Array:
    """Return (m + 1, 3) depth, middle z and r: the least from the first radius to the last, then at each."""
    out = np.empty((len(radii) + 1, 3))
    lines = runs_across(t, 0.0, 1.0, 1.0, 0.0)
    out[0, 0], out[0, 1], out[0, 2] = _least_depth(t, lines, radii[0], radii[-1])
    for k in range(len(radii)):
        out[k + 1, 0], out[k + 1, 1], out[k + 1, 2] = _depth(lines, radii[k])
    return out


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
    steps = math.ceil((high - low) / SEARCH_MM)
    for first in range(0, steps, _TOGETHER):
        start, end = low + SEARCH_MM * first, low + SEARCH_MM * (first + _TOGETHER)
        near = _about(lines, start, end)
        for k in range(first, min(first + _TOGETHER, steps)):
            least = _less_deep(least, near, low + SEARCH_MM * k)
        for k in range(len(t)):
            if start <= t[k, R0] < end and low < t[k, R0] < high:
                least = _less_deep(_less_deep(least, near, t[k, R0]), near, t[k, R0] - BESIDE_MM)
    half = SEARCH_MM
    for _ in range(2):
        middle = least[2]
        near = _about(lines, middle - half, middle + half)
        for k in range(-12, 13):
            least = _less_deep(least, near, min(max(middle + half * k / 12.0, low), high))
        half /= 12.0
    return least


@compiled
def _about(lines: Array, low: float, high: float) -> Array:
    """Return the runs that cross any level from low, or just below it, to high."""
    out = np.empty_like(lines)
    n = 0
    for k in range(len(lines)):
        least, most = min(lines[k, U0], lines[k, U1]), max(lines[k, U0], lines[k, U1])
        if least <= high + BESIDE_MM and most >= low - 2.0 * BESIDE_MM:
            out[n] = lines[k]
            n += 1
    return out[:n]


def _weight_bands(outline: Outline, shapes: Sequence[Path]) -> list[NamedReading]:
    """Straight stretches of the barrel's brake side where stick-on weights hold, with the room under them."""
    path = outline.path
    rows: list[NamedReading] = []
    lines = [_radial_lines(shape) for shape in shapes]
    for k in _bands(path.table, outline.zone, outline.side).tolist():
        z0, r0, z1, r1 = path.table[k, : R1 + 1].tolist()
        room = min([_room_under(path.table, k, of) for of in lines], default=math.inf)
        rows += _band_rows(len(rows), z0, r0, z1, r1, room)
    return rows


# A shape stands still while the wheel is dragged.
@lru_cache(maxsize=64)
def _radial_lines(shape: Path) -> Array:
    return runs_across(shape.table, *ALONG_R)


@lru_cache(maxsize=64)
def _band_rows(
    number: int, z0: float, r0: float, z1: float, r1: float, room: float
) -> tuple[NamedReading, ...]:
    """Return the readings of a weight band from end to end; room is infinite where no shape lies under it."""
    place = ((z0 + z1) / 2.0, (r0 + r1) / 2.0)
    name, key = f"Weight band at z {place[0]:.0f} mm", f"weight_band_{number}"
    flat = reading(f"{key}_flat", f"{name}, flat width", abs(z1 - z0), place)
    if room == math.inf:
        return (flat,)
    return flat, reading(f"{key}_room", f"{name}, radial room", room, place, "To the shapes.")


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
    tip = _outermost(outline.path.table, outline.zone, _SPOKE_FACE)
    end = _outermost(outline.path.table, outline.zone, _OUTER_LIP)
    if min(tip[0], end[0]) == -math.inf:
        return []
    return [reading("face_proud", "Face proud of outer lip", tip[0] - end[0], tip, "Along the axle.")]


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
