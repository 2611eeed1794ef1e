"""What of a drawn blank can be relied on: the outline less all metal that may be missing, by direction.

Dies that do not close leave metal, and so does wear: those are surplus, and count in mass and chips alone.
What may be missing is taken off by its own direction:

    die closure             axially, off the upper die's side: the two dies came nearer than drawn
    size within one die     half of it all round
    mismatch of the dies    half of it radially
    ring end not filled     off the inboard end
    corners not filled      the radius that convex corners are rounded to
    out of round            half of it radially
    out of flat             half of it axially, either side
    dents, coarse grain     square to the skin
    centring in the chuck   half of it radially
    flash line              radially off the outside wall, 10 mm either side of the parting line, or all along
                            the wall where its height is not known
    die wear                nothing: a worn die makes the forging larger

Directions after practice with forgings (dimensions across the parting and within one die are separate in the
European standard on aluminium die forgings); no source gives a rule for wheel blanks.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.shape.blank import Cause, Tolerance
from geometry.shape.curve import Array, Path

#: Arcs are flattened within this, and as much is taken off to stay inside, mm.
FLAT_MM = 0.01
#: Half height of the band in which the flash was cut off, mm (practice: +-10, from memory).
FLASH_BAND_MM = 10.0
_SEGMENTS = 32
#: No blank is larger, and no arc of one flatter, mm.
LARGEST_MM, FLATTEST_MM = 5000.0, 1e6

#: Causes of which a measured outline says more than a table.
OF_THE_FORGING = (
    Cause.CLOSURE,
    Cause.SIZE,
    Cause.MISMATCH,
    Cause.RING_END,
    Cause.CORNERS,
    Cause.ROUND,
    Cause.FLAT,
    Cause.FLASH,
    Cause.WEAR,
)
#: Taken off square to the skin, as the skin itself.
_NORMAL = (Cause.DENTS, Cause.GRAIN)
RADIAL = (Cause.SIZE, Cause.MISMATCH, Cause.ROUND, Cause.CENTRING)
AXIAL = (Cause.SIZE, Cause.FLAT)


def check_size(path: Path) -> None:
    """Raise GeometryError for an outline that is no blank's: what is flattened must have a size.

    Args:
        path: closed outline of the blank, mm.
    """
    if max(abs(x) for x in path.bounds) > LARGEST_MM:
        raise GeometryError(f"The outline reaches beyond {LARGEST_MM:g} mm: no blank does; check the unit.")
    largest = float(np.max(path.radii[path.is_arc], initial=0.0))
    if not largest <= FLATTEST_MM:
        raise GeometryError(f"An edge bends with a radius of {largest:.3g} mm: draw it straight.")


def normal_mm(tolerances: Sequence[Tolerance]) -> float:
    """Return what is taken off square to the skin."""
    return sum(t.minus_mm for t in tolerances if t.cause in _NORMAL)


def radial_mm(tolerances: Sequence[Tolerance]) -> float:
    """Return how far in or out along the radius a wall may lie where `usable` counts it as missing."""
    minus = by_cause(tolerances, "minus_mm")
    return sum(minus.get(c, 0.0) for c in RADIAL) / 2.0 + normal_mm(tolerances) + FLAT_MM


def usable(path: Path, tolerances: Sequence[Tolerance], parting_mm: float | None = None) -> Path:
    """Return the outline less what may be missing by direction; what goes square to the skin is not taken.

    The path itself where nothing is taken by direction; else straight pieces, inside the true outline by
    at most three times FLAT_MM.

    Args:
        path: closed outline of the blank, mm, edges on the axle no skin.
        tolerances: each cause at most once.
        parting_mm: z of the parting line on the outside wall.

    Raises:
        GeometryError: nothing is left, or a cause stands twice.
    """
    minus = by_cause(tolerances, "minus_mm")
    low = sum(minus.get(c, 0.0) for c in AXIAL) / 2.0
    high = low + minus.get(Cause.CLOSURE, 0.0)
    radial = sum(minus.get(c, 0.0) for c in RADIAL) / 2.0
    end, corner, flash = (minus.get(c, 0.0) for c in (Cause.RING_END, Cause.CORNERS, Cause.FLASH))
    if max(low, high, radial, end, corner, flash) <= 0.0:
        return path
    check_size(path)
    area = _whole(path)
    z0, _, _, top = path.bounds
    if end > 0.0:
        area = area.difference(shapely.box(z0 - 1.0, -2.0 * top, z0 + end, 2.0 * top))
    if flash > 0.0:
        area = area.difference(_flash_band(path, flash, parting_mm))
    if corner > 0.0:
        area = area.buffer(-corner, quad_segs=_SEGMENTS).buffer(
            corner - _sagitta(corner), quad_segs=_SEGMENTS
        )
    return _half(_eroded(area, radial + FLAT_MM, low + FLAT_MM, high + FLAT_MM))


def less_skin(path: Path, depth_mm: float) -> Path:
    """Return an outline less a depth square to its skin; the path itself where there is none.

    Raises:
        GeometryError: nothing is left.
    """
    if depth_mm <= 0.0:
        return path
    return _half(_whole(path).buffer(-depth_mm, quad_segs=_SEGMENTS))


def swept(area: BaseGeometry, box: Array) -> list[BaseGeometry]:
    """Return what a box (4, 2) about each place of the boundary covers, edge by edge."""
    found: list[BaseGeometry] = []
    for ring in (r for part in shapely.get_parts(area) for r in (part.exterior, *part.interiors)):
        corners = np.asarray(ring.coords)[:, None, :] + box[None, :, :]
        both = np.concatenate([corners[:-1], corners[1:]], axis=1)
        found += np.asarray(shapely.convex_hull(shapely.multipoints(both))).tolist()
    return found


def surplus_mm3(path: Path, tolerances: Sequence[Tolerance]) -> float:
    """Return the volume that all plus sides add: axially over the area, and square to the skin.

    Closure thickens the blank over its whole projected area; size and wear grow it, half of either on each
    side; a ring end is longer. What only moves metal (out of round, mismatch) adds none, and what stands of
    the flash is not counted.

    Raises:
        GeometryError: a cause stands twice.
    """
    plus = by_cause(tolerances, "plus_mm")
    check_size(path)
    r_high = path.bounds[3]
    closure = plus.get(Cause.CLOSURE, 0.0) * math.pi * r_high**2
    grown = (plus.get(Cause.SIZE, 0.0) + plus.get(Cause.WEAR, 0.0)) / 2.0
    surface = 0.0
    if grown > 0.0:
        rows = path.flattened(FLAT_MM)
        following = np.roll(rows, -1, axis=0)
        middle = (rows[:, 1] + following[:, 1]) / 2.0
        surface = float(np.sum(2.0 * math.pi * middle * np.hypot(*(following - rows).T)))
    ends = plus.get(Cause.RING_END, 0.0) * _ring_end_mm2(path)
    return closure + grown * surface + ends


def by_cause(tolerances: Sequence[Tolerance], side: str) -> dict[Cause, float]:
    """Return one side of all tolerances, mm.

    Raises:
        GeometryError: a cause stands twice.
    """
    found: dict[Cause, float] = {}
    for tolerance in tolerances:
        if tolerance.cause in found:
            raise GeometryError(f"The tolerance '{tolerance.cause}' stands twice; keep one.")
        found[tolerance.cause] = float(getattr(tolerance, side))
    return found


def _ring_end_mm2(path: Path) -> float:
    """Return the area of the inboard end, where it is square to the axle."""
    z0 = path.bounds[0]
    rows = path.flattened(FLAT_MM)
    at = rows[rows[:, 0] <= z0 + 0.5, 1]
    return math.pi * (float(at.max()) ** 2 - float(at.min()) ** 2)


def _whole(path: Path) -> BaseGeometry:
    """Return the full section: the half and its mirror image, so that the axle is no skin."""
    half = path.flattened(FLAT_MM)
    return shapely.union(shapely.Polygon(half), shapely.Polygon(half * (1.0, -1.0))).buffer(0.0)


def _flash_band(path: Path, depth: float, parting_mm: float | None) -> BaseGeometry:
    z0, z1, _, top = path.bounds
    if parting_mm is not None:
        z0, z1 = parting_mm - FLASH_BAND_MM, parting_mm + FLASH_BAND_MM
    rows = path.flattened(FLAT_MM)
    within = rows[(rows[:, 0] >= z0) & (rows[:, 0] <= z1), 1]
    wall = float(within.max()) if len(within) else top
    upper = shapely.box(z0 - FLAT_MM, wall - depth, z1 + FLAT_MM, 2.0 * top)
    return upper.union(shapely.affinity.scale(upper, yfact=-1.0, origin=(0.0, 0.0)))


def _sagitta(radius: float) -> float:
    """Return what the chords of a rounded corner may lie outside its arc."""
    return radius * (1.0 - math.cos(math.pi / 4.0 / _SEGMENTS))


def _eroded(area: BaseGeometry, radial: float, low: float, high: float) -> BaseGeometry:
    """Return the places that stay inside whichever way, and how far up to all three, the metal is missing.

    A place stays where the box from -low to +high along z and either way along r lies in the area: what the
    boundary sweeps when the box's mirror image is drawn along it goes.
    """
    box = np.array([(-high, -radial), (low, -radial), (low, radial), (-high, radial)])
    return area.difference(shapely.union_all(swept(area, box)))


def _half(area: BaseGeometry) -> Path:
    """Return the half-section over the axle of the largest part."""
    if area.is_empty:
        raise GeometryError("The tolerances leave nothing of the blank; are they in mm?")
    _, _, _, top = area.bounds
    upper = area.intersection(shapely.box(-1e5, 0.0, 1e5, 2.0 * top + 1.0))
    largest = max(
        (part for part in shapely.get_parts(upper) if part.geom_type == "Polygon"),
        key=lambda part: part.area,
        default=None,
    )
    if largest is None:
        raise GeometryError("The tolerances leave nothing of the blank; are they in mm?")
    ring = shapely.geometry.polygon.orient(largest, 1.0).exterior
    rows = np.asarray(ring.coords)[:-1]
    keep = np.hypot(*(rows - np.roll(rows, 1, axis=0)).T) > 1e-6
    return Path.closed([(float(z), 0.0 if abs(r) < 1e-9 else float(r)) for z, r in rows[keep]])
