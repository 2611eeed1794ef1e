"""The surface that a probe ball touched, from the places of the ball's centre round a body.

The body lies within the ring of centres, its radius off: each edge of the ring moves inwards by the radius,
neighbours meet where the moved edges cross, and a corner of the ring that turns inwards leaves the arc that
the ball drew about it, kept on the outside of the true one.

Where the ball rolls round a sharp corner of the body its centres lie on an arc about the corner, and the
edges between them are chords of that arc: they move by the chord's distance from the corner alone, so that
the corner comes out as a point. Elsewhere the surface is taken as straight between centres. A corner into
the body that is tighter than the ball is not reached: the body reads larger there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from geometry.shape.curve import Array

Shapes = NDArray[np.object_]

#: The arc about an inner corner is replaced within this share of the ball's radius, outwards.
_ARC = 0.001
#: An edge whose ends turn by this share of what ends of an arc about a corner turn by is its chord.
_OF_ARC = 0.9
#: The moved edges overlap by this share of the radius, so that no hair is left between them.
_HAIR = 1e-9
#: Parts smaller than this share of the ball's square are rounding.
_CRUMB = 1e-6
#: A centre farther off than a corner near it explains, by this share of the radius, lost what it touched.
_LOST = 0.5


@dataclass(frozen=True)
class Lessened:
    """A body less a probe ball's radius.

    Attributes:
        area: of the body; empty where it is thinner than the ball everywhere.
        lost: a centre that touches nothing that is left, None where all do.
        short: how much farther than the radius the surface lies from a centre at most: at sharp corners of
            the ring, where the ball touched something that stands out farther.
    """

    area: shapely.MultiPolygon
    lost: tuple[float, float] | None
    short: float


def less_ball(ring: Array, radius: float) -> Lessened:
    """Return the body whose surface a ball touched.

    Args:
        ring: (n, 2) places of its centre round the body, a simple polygon, counterclockwise, none repeated.
        radius: of the ball, in the unit of the ring.
    """
    after = np.roll(ring, -1, axis=0)
    along = after - ring
    length = np.hypot(along[:, 0], along[:, 1])
    along /= length[:, None]
    turn = _turns(along)
    depth = _depths(length, turn, radius)
    swept = [*_moved(ring, after, along, depth, _HAIR * radius), *_discs(ring[turn < 0.0], radius)]
    area = shapely.Polygon(ring).difference(shapely.union_all(swept))
    whole = [p for p in getattr(area, "geoms", [area]) if p.area > _CRUMB * radius**2]
    area = shapely.MultiPolygon(whole)
    return Lessened(area, *_check(ring, turn, area, radius))


def _turns(along: Array) -> Array:
    """Return the turn at each vertex from its arriving to its leaving edge, rad, + to the left."""
    arriving = np.roll(along, 1, axis=0)
    cross = arriving[:, 0] * along[:, 1] - arriving[:, 1] * along[:, 0]
    turns: Array = np.arctan2(cross, np.sum(arriving * along, axis=1))
    return turns


def _depths(length: Array, turn: Array, radius: float) -> Array:
    """Return how far each edge moves: the radius, or a chord's distance from the corner that it goes round.

    A chord of an arc of the ball's radius sees half an angle asin(length / 2 radius) to each side, by which
    an end of the arc turns; places within the arc turn by twice that.
    """
    is_short = length < 2.0 * radius
    half = np.arcsin(np.where(is_short, length / (2.0 * radius), 1.0))
    is_chord = is_short & (np.minimum(turn, np.roll(turn, -1)) >= _OF_ARC * half)
    return np.where(is_chord, radius * np.cos(half), radius)


def _moved(start: Array, end: Array, along: Array, depth: Array, hair: float) -> Shapes:
    """Return the strips that the edges sweep as they move to their left."""
    left = np.column_stack([-along[:, 1], along[:, 0]]) * depth[:, None]
    a, b = start - hair * along, end + hair * along
    return np.asarray(shapely.polygons(np.stack([a, b, b + left, a + left], axis=1)))


def _discs(centres: Array, radius: float) -> Shapes:
    """Return discs about places, their polygons within the true ones."""
    count = math.ceil(math.pi / math.acos(1.0 - _ARC))
    angle = 2.0 * math.pi * np.arange(count) / count
    disc = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    return np.asarray(shapely.polygons(centres[:, None, :] + disc[None, :, :]))


def _check(
    ring: Array, turn: Array, area: shapely.MultiPolygon, radius: float
) -> tuple[tuple[float, float] | None, float]:
    """Return a centre that lost what it touched, and how much farther than the radius one lies."""
    if area.is_empty:
        return (float(ring[0, 0]), float(ring[0, 1])), 0.0
    # At a corner of the ring the moved edges cross this far from it.
    corner = radius / np.maximum(np.cos(np.maximum(turn, 0.0) / 2.0), 1e-6)
    places = shapely.get_coordinates(shapely.LinearRing(ring).segmentize(radius))
    near, which = cKDTree(ring).query(places, min(4, len(ring)))
    explained = np.where(near < 2.0 * radius, corner[which], radius).max(axis=1)
    away = shapely.distance(shapely.points(places), area)
    gone = np.flatnonzero(away > explained + _LOST * radius)
    lost = (float(places[gone[0], 0]), float(places[gone[0], 1])) if len(gone) else None
    return lost, max(float(shapely.distance(shapely.points(ring), area).max()) - radius, 0.0)
