"""Dimensions of a wheel's section, read from its outline: what a section sheet calls out, and where."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.project.wheel import Fixing, SingleNut, Wheel
from app.reports.callouts import Callout, End, Rail
from app.reports.numbers import Numbers
from geometry.readings.measure import Measurements, Place
from geometry.shape.curve import Indices
from geometry.shape.section import ZONES, Outline, Side, Vertex, Zone

_SIDES = tuple(Side)

#: A flange face counts as upright, and a seat as straight, within this.
_UPRIGHT_DEG = 1.0

#: Walls that a section sheet calls out; all of them stand in the table.
_WALLS = ("barrel", "well")

#: Lips are called out by their axial thickness, the number that engineers have for them.
_LIPS = {"inner_lip_axial": "inner lip, axial", "outer_lip_axial": "outer lip, axial"}


@dataclass(frozen=True)
class Dimensions:
    """Callouts of a section with its datums and bolt axis; None where the section has no such part."""

    callouts: tuple[Callout, ...]
    datum_a: Place | None
    datum_b: Place | None
    bolt_line: tuple[Place, Place] | None


def face_of(wheel: Wheel) -> float:
    """Return z of the wheel's mounting face in the hub's frame, mm."""
    return wheel.spacer_mm


def dimension_callouts(wheel: Wheel, outline: Outline, found: Measurements, numbers: Numbers) -> Dimensions:
    """Return what is called out on the drawing of a wheel without faults."""
    vertices, face = wheel.section.vertices, face_of(wheel)
    pad, bore = _hub_pad(vertices), _bore(vertices)
    callouts = [*_rim(outline, numbers), *_walls(found, numbers)]
    if pad is not None:
        callouts.append(_diameter("hub pad", (face, pad), Rail.LEFT, numbers))
    datum_a = datum_b = None
    if bore is not None:
        z_low, z_high, r = bore[0] + face, bore[1] + face, bore[2]
        callouts.append(_diameter("bore", (z_low, r), Rail.LEFT, numbers))
        datum_b = ((z_low + z_high) / 2.0, r)
        datum_a = None if pad is None else (face, (r + pad) / 2.0)
    fixing = _fixing(wheel, outline, numbers)
    bolt_line = None
    if fixing is not None:
        callouts.append(fixing[0])
        bolt_line = fixing[1]
    return Dimensions(tuple(callouts), datum_a, datum_b, bolt_line)


def _diameter(name: str, place: Place, rail: Rail, numbers: Numbers, weight: int = 7) -> Callout:
    return Callout(place, rail, name, f"Ø {numbers.length(2.0 * place[1])}", End.LINE, weight=weight)


def _pieces(outline: Outline, zone: Zone, side: Side) -> Indices:
    return np.flatnonzero((outline.zone == ZONES.index(zone)) & (outline.side == _SIDES.index(side)))


def _places(outline: Outline, pieces: Indices) -> list[Place]:
    """Return ends and extreme places of the pieces; the least and greatest z and r are exactly among them."""
    path = outline.path
    found = [path.points[pieces], path.ends[pieces]]
    arcs = pieces[path.is_arc[pieces]]
    for angle in (0.0, math.pi / 2.0, math.pi, -math.pi / 2.0):
        on = arcs[path.on_sweep(arcs, np.full(len(arcs), angle))]
        step = np.array([round(math.cos(angle)), round(math.sin(angle))])
        found.append(path.centres[on] + path.radii[on][:, None] * step)
    return [(float(z), float(r)) for z, r in np.vstack(found)]


def edges(outline: Outline) -> tuple[Place, Place]:
    """Return the inmost and the outmost place along the axle; of several, the one nearest the axle."""
    every = _places(outline, np.arange(len(outline.path)))
    return min(every), max(every, key=lambda p: (p[0], -p[1]))


def flange_faces(outline: Outline) -> tuple[Place, Place] | None:
    """Return the lower ends of the inner and the outer flange face, or None where one is not upright."""
    inner, outer = _upright(outline, Zone.INNER_LIP), _upright(outline, Zone.OUTER_LIP)
    return None if inner is None or outer is None else (inner, outer)


def _longest(outline: Outline, pieces: Indices, level: bool) -> int | None:
    """Return the longest straight piece that runs more along the axle (level) or more away from it."""
    path = outline.path
    run = np.abs(path.ends[pieces] - path.points[pieces])
    right_way = (
        run[:, 0] > run[:, 1] if level else run[:, 0] <= math.tan(math.radians(_UPRIGHT_DEG)) * run[:, 1]
    )
    fits = pieces[right_way & ~path.is_arc[pieces]]
    return int(fits[np.argmax(path.lengths[fits])]) if len(fits) else None


def _upright(outline: Outline, zone: Zone) -> Place | None:
    piece = _longest(outline, _pieces(outline, zone, Side.TYRE), level=False)
    if piece is None:
        return None
    ends = (outline.path.points[piece], outline.path.ends[piece])
    z, r = min(ends, key=lambda p: float(p[1]))
    return float(z), float(r)


def seat_corner(outline: Outline, seat: Zone, face_z: float) -> Place | None:
    """Return where the straight bead seat meets the plane of its flange face: the specified diameter's place.

    The definition is from memory: the diameter of the 5 degree seat line in the flange face plane.
    """
    piece = _longest(outline, _pieces(outline, seat, Side.TYRE), level=True)
    if piece is None:
        return None
    (z0, r0), (z1, r1) = outline.path.points[piece], outline.path.ends[piece]
    return face_z, float(r0 + (r1 - r0) * (face_z - z0) / (z1 - z0))


def _rim(outline: Outline, numbers: Numbers) -> Iterator[Callout]:
    """Yield diameters of flanges, seats, barrel (its longest stretch inside) and well, and the well depth."""
    faces = flange_faces(outline)
    seat_r = None
    for side, lip, seat, rail in (
        (0, Zone.INNER_LIP, Zone.INNER_SEAT, Rail.LEFT),
        (1, Zone.OUTER_LIP, Zone.OUTER_SEAT, Rail.RIGHT),
    ):
        name = "inner" if side == 0 else "outer"
        lips = _places(outline, _pieces(outline, lip, Side.TYRE))
        if lips:
            yield _diameter(f"{name} flange", max(lips, key=lambda p: p[1]), rail, numbers)
        corner = seat_corner(outline, seat, faces[side][0]) if faces is not None else None
        if corner is not None:
            seat_r = corner[1] if seat_r is None else seat_r
            yield _diameter(f"{name} seat", corner, rail, numbers)
    barrel = _longest(outline, _pieces(outline, Zone.BARREL, Side.BRAKE), level=True)
    if barrel is not None:
        ends = [(float(z), float(r)) for z, r in (outline.path.points[barrel], outline.path.ends[barrel])]
        yield _diameter("barrel inside", min(ends, key=lambda p: (p[1], p[0])), Rail.LEFT, numbers, weight=6)
    inside = _places(outline, _pieces(outline, Zone.WELL, Side.BRAKE))
    if inside:
        least = min(inside, key=lambda p: (p[1], p[0]))
        yield _diameter("well, least inside", least, Rail.LEFT, numbers, weight=6)
    floor = _places(outline, _pieces(outline, Zone.WELL, Side.TYRE))
    if floor and seat_r is not None:
        low = min(r for _, r in floor)
        level = [z for z, r in floor if r < low + 1e-6]
        place = ((min(level) + max(level)) / 2.0, low)
        yield Callout(place, Rail.TOP, "well depth", numbers.length(seat_r - low), End.ARROW, weight=6)


def _walls(found: Measurements, numbers: Numbers) -> Iterator[Callout]:
    """Yield the least walls of barrel and well and the axial thickness of the lips."""
    for reading in found.lip:
        value, _, _ = numbers.named(reading)
        if reading.key in _LIPS and reading.place is not None and value:
            yield Callout(reading.place, Rail.TOP, _LIPS[reading.key], value, End.DOT, weight=7)
    for row in found.wall:
        if row.zone in _WALLS:
            middle = ((row.at[0] + row.across[0]) / 2.0, (row.at[1] + row.across[1]) / 2.0)
            yield Callout(
                middle, Rail.TOP, f"{row.zone} wall", f"min {numbers.length(row.least_mm)}", End.DOT, weight=7
            )


def spoke_backs(outline: Outline, count: int) -> list[Place]:
    """Return places on the spoke back at evenly spread radii, its ends left out; none where there is none."""
    pieces = _pieces(outline, Zone.SPOKE_BACK, Side.BRAKE)
    if not len(pieces):
        return []
    radii = [r for _, r in _places(outline, pieces)]
    low, high = min(radii), max(radii)
    wanted = [round(low + (high - low) * k / (count + 1)) for k in range(1, count + 1)]
    found = (_inmost_at(outline, pieces, float(r)) for r in wanted)
    return [place for place in found if place is not None]


def _inmost_at(outline: Outline, pieces: Indices, r: float) -> Place | None:
    """Return the inmost place of pieces at a radius, exact on lines and arcs; None where there is none."""
    path, found = outline.path, []
    for piece in pieces:
        one = np.array([piece])
        (z0, r0), (z1, r1) = path.points[piece], path.ends[piece]
        if not path.is_arc[piece]:
            if min(r0, r1) <= r <= max(r0, r1) and r0 != r1:
                found.append(float(z0 + (r - r0) / (r1 - r0) * (z1 - z0)))
            continue
        centre_z, centre_r = path.centres[piece]
        half = float(path.radii[piece]) ** 2 - (r - centre_r) ** 2
        for z in (-math.sqrt(half), math.sqrt(half)) if half >= 0.0 else ():
            if path.on_sweep(one, np.array([math.atan2(r - centre_r, z)]))[0]:
                found.append(float(centre_z + z))
    return (min(found), r) if found else None


def bore_depth(wheel: Wheel) -> float | None:
    """Return the length of the bore along the axle, corners as drawn; None where it is not drawn."""
    bore = _bore(wheel.section.vertices)
    return None if bore is None else bore[1] - bore[0]


def _hub_pad(vertices: tuple[Vertex, ...]) -> float | None:
    """Return the largest r of the mounting face's corners, as drawn before they are rounded."""
    flat = [
        max(v.r, w.r)
        for v, w in zip(vertices, (*vertices[1:], vertices[0]), strict=True)
        if v.zone is Zone.HUB_PAD and abs(v.z) < 1e-6 and abs(w.z) < 1e-6
    ]
    return max(flat, default=None)


def _bore(vertices: tuple[Vertex, ...]) -> tuple[float, float, float] | None:
    """Return z low, z high and r of the bore's longest level edge, corners as drawn, in the wheel's frame."""
    level = [
        (min(v.z, w.z), max(v.z, w.z), v.r)
        for v, w in zip(vertices, (*vertices[1:], vertices[0]), strict=True)
        if v.zone is Zone.BORE and abs(v.r - w.r) < 1e-6 and v.r > 0.0
    ]
    return max(level, key=lambda e: e[1] - e[0], default=None)


def _fixing(wheel: Wheel, outline: Outline, numbers: Numbers) -> tuple[Callout, tuple[Place, Place]] | None:
    """Return the callout of the holes and the axis of one across the metal."""
    if isinstance(wheel.fixing, Fixing) and wheel.fixing.count:
        count, circle, hole = wheel.fixing.count, wheel.fixing.circle_mm, wheel.fixing.hole_mm
        name = f"{count} holes Ø {numbers.length(hole)}, {wheel.fixing.seat.value}, on"
    elif isinstance(wheel.fixing, SingleNut) and wheel.fixing.pins:
        count, circle, hole = wheel.fixing.pins, wheel.fixing.pin_circle_mm, wheel.fixing.pin_hole_mm
        name = f"{count} pin holes Ø {numbers.length(hole)}, on"
    else:
        return None
    metal = _metal_at(outline, circle / 2.0)
    if metal is None:
        return None
    axis = ((metal[0], circle / 2.0), (metal[1], circle / 2.0))
    return _diameter(name, axis[1], Rail.RIGHT, numbers, weight=5), axis


def _metal_at(outline: Outline, r: float) -> tuple[float, float] | None:
    """Return the least and greatest z of the metal at a radius, within 0.01 mm."""
    ring = outline.path.flattened(0.01)
    z0, r0 = ring[:, 0], ring[:, 1]
    z1, r1 = np.roll(z0, -1), np.roll(r0, -1)
    crossed = (r0 <= r) != (r1 <= r)
    if not crossed.any():
        return None
    z = z0[crossed] + (r - r0[crossed]) / (r1[crossed] - r0[crossed]) * (z1[crossed] - z0[crossed])
    return float(z.min()), float(z.max())
