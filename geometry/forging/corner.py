"""Corners of a die: a convex radius larger than the stock may not take the stock.

Required metal has corners of its stock's own radius. Where the die's corners are rounder there is no smallest
blank, since the disc over a corner may sit anywhere; only a band can be given. Its lower end is the blank
without corner radius. Two blanks that hold the metal are made, and the lighter one is kept:

    all round   the required metal is grown by the least length with which the envelope, opened by the
                corner's disc, still holds it
    axially     only what lies under a corner that would be cut is drawn out along the axle, by the least
                length, each for itself, with which the same holds: a ring's height costs far less than its
                diameter

Hollows are closed by the fillet's disc before, so that a step is no corner, and after. Where a least web is
asked for, the rounded blank must keep it as it must hold the metal.

Both lengths are found on outlines of straight pieces, to which up to FOUND_MM of the metal may be missing.
The blank is therefore made with all its metal grown by SPARE_MM more: draft, fillet and corner of what is
grown hold at least what they held before, grown by as much.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.forging.arcs import FLAT_MM as ARC_FLAT_MM
from geometry.forging.arcs import OFF_MM, circles_of, closed_at_axle, corners_of, with_arcs
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Path

#: Outlines are flattened within this, mm.
FLAT_MM = 0.005
#: The growth is found to this, mm; in the search as much of the required metal may be missing.
FOUND_MM = 0.01
#: What the blank is grown by beyond that, so that nothing is missing: for the search, for the straight pieces
#: of the metal, of the envelope and of the rounded outline, and for its arcs, mm.
SPARE_MM = FOUND_MM + 3.0 * FLAT_MM + OFF_MM
#: The length of each corner is found to this, mm.
EACH_MM = 0.1
#: What is nearer to the axle than this lies on it, mm.
ON_AXLE_MM = 1e-6
#: The web is measured at radii this far apart, mm.
WEB_STEP_MM = 0.5
_SEGMENTS = 64
#: Parts that were cut apart grow together again by this, mm.
_CRUMB_MM = 1e-4


@dataclass(frozen=True, eq=False)
class Cornered:
    """A blank whose convex corners have a radius.

    Attributes:
        path: its half-section, lines and arcs.
        corner_mm: radius of its corners.
        grown_mm: what the required metal was grown by all round, or drawn out by under its corners.
        axially: it was drawn out along the axle.
        volume_mm3: of the blank turned about the axle.
        all_round_mm, pieces: with which the envelope was asked for what was rounded.
    """

    path: Path
    corner_mm: float
    grown_mm: float
    axially: bool
    volume_mm3: float
    all_round_mm: float
    pieces: tuple[Path, ...]


#: Returns the drafted outline, with fillets, of the required metal and of more pieces, both grown all round.
Envelope = Callable[[float, Sequence[Path]], Path]


def cornered(
    envelope: Envelope,
    required: BaseGeometry,
    corner_mm: float,
    fillet_mm: float,
    web_mm: float = 0.0,
    *,
    keeps_rim: bool = False,
) -> Cornered:
    """Return the blank with corners of a radius that holds all that is required.

    Args:
        envelope: of the required metal and of pieces beside it, both grown by so much all round; no thinner
            than the least web.
        required: the half-section that must be held, stock in it.
        corner_mm: radius of convex corners, larger than the least stock.
        fillet_mm: radius of hollows.
        web_mm: least height of the blank out to the largest radius required; 0 for none.
        keeps_rim: the edge at its greatest radius, where the dies meet, stays sharp: flash stands there.

    Raises:
        GeometryError: neither way holds the metal and the web up to twice the radius.
    """
    whole = _whole(required)
    reach = required.bounds[3]

    def lacking(outline: Path) -> BaseGeometry:
        return whole.difference(_opened(_section(outline), corner_mm).buffer(FOUND_MM))

    def holds(outline: Path) -> bool:
        opened = _opened(_section(outline), corner_mm)
        is_held = whole.difference(opened.buffer(FOUND_MM)).is_empty
        return is_held and (web_mm <= 0.0 or least_height_mm(opened, reach) >= web_mm - FOUND_MM)

    under = _under_corners(required, lacking(envelope(0.0, ())), corner_mm)

    def all_round(by: float) -> Path:
        return envelope(by, ())

    def drawn_out(by: Sequence[float]) -> tuple[Path, ...]:
        return tuple(piece.moved(dz=way * b) for (piece, way), b in zip(under, by, strict=True))

    def made(by_mm: float, pieces: tuple[Path, ...], longest_mm: float | None = None) -> Cornered:
        path = _rounded(envelope(by_mm, pieces), corner_mm, fillet_mm, keeps_rim)
        axial = longest_mm is not None
        grown = by_mm if longest_mm is None else longest_mm
        return Cornered(path, corner_mm, grown, axial, volume_mm3(path), by_mm, pieces)

    found = []
    by = _least(lambda b: holds(all_round(b)), 2.0 * corner_mm)
    if by is not None:
        found.append(made(by + SPARE_MM, ()))
    lengths = _each_least(lambda each: holds(envelope(0.0, drawn_out(each))), len(under), 2.0 * corner_mm)
    if lengths is not None:
        found.append(made(SPARE_MM, drawn_out(lengths), max(lengths, default=0.0)))
    if not found:
        raise GeometryError(
            f"Corners of radius {corner_mm:g} leave no blank that holds the stock"
            f"{f' and a web of {web_mm:g}' if web_mm > 0.0 else ''}; take a smaller radius."
        )
    return min(found, key=lambda each: each.volume_mm3)


def _least(holds: Callable[[float], bool], most: float) -> float | None:
    """Return the least length that holds, to FOUND_MM; None where the most does not."""
    if holds(0.0):
        return 0.0
    if not holds(most):
        return None
    low, high = 0.0, most
    while high - low > FOUND_MM:
        middle = (low + high) / 2.0
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def _each_least(
    holds: Callable[[Sequence[float]], bool], count: int, most: float
) -> tuple[float, ...] | None:
    """Return a length for each corner, the least one after the other; None where the most does not hold."""
    together = _least(lambda by: holds([by] * count), most)
    if together is None:
        return None
    lengths = [together] * count
    for k in range(count):
        low, high = 0.0, lengths[k]
        while high - low > EACH_MM:
            middle = (low + high) / 2.0
            lengths[k] = middle
            low, high = (low, middle) if holds(lengths) else (middle, high)
        lengths[k] = high
    return tuple(lengths)


def _under_corners(
    required: BaseGeometry, lacking: BaseGeometry, corner_mm: float
) -> list[tuple[Path, float]]:
    """Return what lies under each corner that would be cut, and which way along the axle it is drawn out."""
    found = []
    z0, _, z1, _ = required.bounds
    for part in shapely.get_parts(lacking):
        _, low, _, high = part.bounds
        if part.is_empty or high <= 0.0:
            continue
        band = required.intersection(shapely.box(z0, max(low - corner_mm, 0.0), z1, high + corner_mm))
        # Towards the end of the band that the corner is nearer to.
        way = 1.0 if part.centroid.x > (band.bounds[0] + band.bounds[2]) / 2.0 else -1.0
        for piece in shapely.get_parts(band):
            if piece.geom_type == "Polygon" and piece.area > 1e-6:
                ring = shapely.geometry.polygon.orient(shapely.simplify(piece, FLAT_MM), 1.0).exterior
                found.append((Path.closed(np.asarray(ring.coords)[:-1]), way))
    return found


def _rounded(outline: Path, corner_mm: float, fillet_mm: float, keeps_rim: bool) -> Path:
    section = _whole(shapely.Polygon(outline.flattened(ARC_FLAT_MM)))
    shrunk = section.buffer(-corner_mm, quad_segs=_SEGMENTS)
    opened: BaseGeometry = shrunk.buffer(corner_mm, quad_segs=_SEGMENTS)
    circles = [*circles_of(outline), *((z, r, corner_mm) for z, r in corners_of(shrunk, inwards=False))]
    if keeps_rim:
        z, r = outline.points[int(np.argmax(outline.points[:, 1]))]
        rims = shapely.MultiPoint([(z, r), (z, -r)])
        cut = shapely.get_parts(section.difference(opened))
        kept = [part.buffer(_CRUMB_MM) for part in cut if part.distance(rims) < ON_AXLE_MM]
        opened = shapely.union_all([opened, *kept]).intersection(section)
    if fillet_mm > 0.0:
        wide = opened.buffer(fillet_mm, quad_segs=_SEGMENTS)
        circles += [(z, r, fillet_mm) for z, r in corners_of(wide, inwards=True)]
        opened = wide.buffer(-fillet_mm, quad_segs=_SEGMENTS)
    return closed_at_axle(with_arcs(_half(opened), circles))


def least_height_mm(area: BaseGeometry, reach_mm: float) -> float:
    """Return the least height of a section along the axle, from the axle out to a radius."""
    z0, _, z1, _ = area.bounds
    r = np.append(np.arange(0.0, reach_mm, WEB_STEP_MM), reach_mm)
    ends = np.stack([np.full((len(r), 2), z0 - 1.0), np.full((len(r), 2), z1 + 1.0)], axis=1)
    ends[:, :, 1] = r[:, None]
    shapely.prepare(area)
    return float(shapely.length(shapely.intersection(shapely.linestrings(ends), area)).min())


def _opened(area: BaseGeometry, radius: float) -> BaseGeometry:
    return area.buffer(-radius, quad_segs=_SEGMENTS).buffer(radius, quad_segs=_SEGMENTS)


def _section(path: Path) -> BaseGeometry:
    return _whole(shapely.Polygon(path.flattened(FLAT_MM)))


def _whole(half: BaseGeometry) -> BaseGeometry:
    """Return the half-section with its mirror image: the axle is no corner.

    A place that rounding left a hair above the axle is laid on it, else a slit would stay between the two.
    """
    laid = shapely.transform(half, lambda rows: np.where(np.abs(rows) < (0.0, ON_AXLE_MM), 0.0, rows))
    return shapely.union(laid, shapely.transform(laid, lambda rows: rows * (1.0, -1.0))).buffer(0.0)


def _half(area: BaseGeometry) -> shapely.Polygon:
    z0, _, z1, top = area.bounds
    upper = area.intersection(shapely.box(z0 - 1.0, 0.0, z1 + 1.0, top + 1.0))
    largest = max(shapely.get_parts(upper), key=lambda part: part.area)
    return shapely.Polygon(largest.exterior)
