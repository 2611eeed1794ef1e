"""The outline to draw round a usable one: all that may be missing added, fillets kept, in lines and arcs."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.forging.arcs import FLAT_MM, OFF_MM, closed_at_axle, corners_of, with_arcs
from geometry.forging.usable import AXIAL, RADIAL, by_cause, check_size, normal_mm, swept
from geometry.forging.usable import FLAT_MM as USABLE_FLAT_MM
from geometry.shape.blank import Cause, Tolerance
from geometry.shape.curve import Array, Path

#: Added on every side: what flattening and finding arcs again take here and `usable` takes there.
_SPARE_MM = 2.0 * USABLE_FLAT_MM + FLAT_MM + OFF_MM
#: Segments of a quarter of a disc, so that its chords lie within FLAT_MM of it up to a radius of 30 mm.
_SEGMENTS = 64
#: Radii that differ by less are one, mm.
_SAME_MM = 1e-6
#: By so much the second wedge is higher, to hold what is left of the first, mm.
_SHARP_MM = 1e-3


def drawn_round(
    path: Path, tolerances: Sequence[Tolerance], fillet_mm: float = 0.0, outside_deg: float = 0.0
) -> Path:
    """Return the outline to draw so that, less what may be missing, a usable outline is left in it.

    All minus sides are added the way `usable` takes them off: axially, radially, at the ring's end, at the
    outside wall, and square to the skin. Corners that do not fill are not added: they are the corner radius.
    Growing narrows hollows, which are filled again until no fillet is below the least one, and draws the
    parting line out to a band, which gets its draft back. All other drafts stay.

    Args:
        path: closed outline that can be relied on, mm.
        tolerances: each cause at most once.
        fillet_mm: least radius of a hollow; 0 leaves them as they grow.
        outside_deg: draft of the outside wall either way from the parting line; 0 leaves the band.

    Returns:
        The closed counterclockwise outline, lines and arcs, at most 0.05 mm larger than asked for.

    Raises:
        GeometryError: a cause stands twice, or the outline is no blank's.
    """
    minus = by_cause(tolerances, "minus_mm")
    low = sum(minus.get(c, 0.0) for c in AXIAL) / 2.0
    high = low + minus.get(Cause.CLOSURE, 0.0)
    radial = sum(minus.get(c, 0.0) for c in RADIAL) / 2.0
    end, flash = (minus.get(c, 0.0) for c in (Cause.RING_END, Cause.FLASH))
    check_size(path)
    path = path.counterclockwise()
    box = np.array([-low - end, high, -radial, radial + flash]) + _SPARE_MM * np.array([-1.0, 1.0, -1.0, 1.0])
    half = shapely.Polygon(path.flattened(FLAT_MM)).buffer(0.0)
    corners = np.array([(box[0], box[2]), (box[1], box[2]), (box[1], box[3]), (box[0], box[3])])
    both = _mirrored(shapely.union_all([half, *swept(half, corners)]))
    square = normal_mm(tolerances)
    grown: BaseGeometry = both.buffer(square, quad_segs=_SEGMENTS)
    grown = shapely.union(grown, _parted(path, box, square, outside_deg))
    circles = _circles(path, corners, square, fillet_mm)
    if fillet_mm > 0.0:
        wide = grown.buffer(fillet_mm, quad_segs=_SEGMENTS)
        circles += [(z, r, fillet_mm) for z, r in corners_of(wide, inwards=True)]
        # Chords took the tip off where the dies meet.
        wedge = _parted(path, box, square, outside_deg, _SHARP_MM)
        grown = shapely.union(wide.buffer(-fillet_mm, quad_segs=_SEGMENTS), wedge)
    return closed_at_axle(with_arcs(_upper(grown), circles))


def outermost(path: Path) -> tuple[float, float, float]:
    """Return z where an outline's greatest radius begins and ends, and that radius, mm."""
    top = path.bounds[3]
    at = path.points[path.points[:, 1] >= top - _SAME_MM, 0]
    if len(at) == 0:
        high = path.centres[:, 1] + path.radii
        at = path.centres[path.is_arc & (path.sweeps > 0.0) & (np.abs(high - top) <= _SAME_MM), 0]
    return float(at.min()), float(at.max()), top


def _parted(path: Path, box: Array, square: float, outside_deg: float, more: float = 0.0) -> BaseGeometry:
    """Return the wedge, and its image, on the band that the parting line was drawn out to; empty for none."""
    first, last, top = outermost(path)
    low, high, at = first + box[0], last + box[1], (first + last) / 2.0
    out = max(at - low, high - at) * math.tan(math.radians(outside_deg))
    if out <= 0.0:
        return shapely.Polygon()
    rim = top + box[3] + square
    return _mirrored(shapely.Polygon([(low, rim), (at, rim + out + more), (high, rim), (at, rim - 0.5)]))


def _circles(path: Path, corners: Array, square: float, fillet: float) -> list[tuple[float, float, float]]:
    """Return the circles that can bound a path swept by a box, grown by a disc, its hollows filled."""
    every = np.arange(len(path))
    # Outward directions where each piece starts and ends: the box touches with the corner farthest that way.
    starts, ends = (
        path.tangents(every, np.full(len(path), share))[:, ::-1] * (1.0, -1.0) for share in (0.0, 1.0)
    )
    found: set[tuple[float, float, float]] = set()

    def put(place: Array, radius: float, *outwards: Array) -> None:
        for way in outwards:
            z, r = (place + corners[int(np.argmax(corners @ way))]).tolist()
            found.add((z, r, radius))

    for k in np.flatnonzero(path.off_axle):
        after = (k + 1) % len(path)
        # A corner on the axle is none of the whole section.
        for corner, before, leaving in ((path.points[k], k - 1, k), (path.ends[k], k, after)):
            if square > 0.0 and corner[1] > FLAT_MM:
                put(corner, square, ends[before], starts[leaving])
        bulges_out = path.sweeps[k] > 0.0
        radius = float(path.radii[k]) + (square if bulges_out else -square)
        if path.is_arc[k] and radius > FLAT_MM and (bulges_out or radius >= fillet):
            put(path.centres[k], radius, starts[k], ends[k])
    return list(found)


def _mirrored(half: BaseGeometry) -> BaseGeometry:
    return shapely.union(half, shapely.affinity.scale(half, yfact=-1.0, origin=(0.0, 0.0)))


def _upper(area: BaseGeometry) -> shapely.Polygon:
    """Return the half-section over the axle of the largest part, without what a ring closes in."""
    _, _, _, top = area.bounds
    upper = area.intersection(shapely.box(-1e5, 0.0, 1e5, 2.0 * top + 1.0))
    parts = [part for part in shapely.get_parts(upper) if isinstance(part, shapely.Polygon)]
    largest = max(parts, key=lambda part: part.area, default=None)
    if largest is None or not math.isfinite(largest.area):
        raise GeometryError("Nothing can be drawn round the outline; is it in mm?")
    return shapely.Polygon(largest.exterior)
