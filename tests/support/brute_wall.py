"""The wall's definition by brute force: distances to every piece, discs grown by bisection.

Written apart from geometry.readings: nothing here knows the closed forms under test. Distances to a piece
are the plain ones (foot of the perpendicular or an end; along the ray from an arc's centre or an end).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array
from geometry.shape.section import Outline
from geometry.tolerances import WALL_CONTACT_DEG


@dataclass(frozen=True)
class Boundary:
    """Skin pieces of an outline: lines (p, q), arcs (centre, radius, first angle, sweep) and their zones."""

    lines: Array
    arcs: Array
    line_zone: Array
    arc_zone: Array

    @staticmethod
    def of(outline: Outline) -> Boundary:
        path = outline.path
        lines, arcs, line_zone, arc_zone = [], [], [], []
        # Metal goes on beyond the axle line as its mirror image.
        mirrors = (1.0,) if outline.skin.all() else (1.0, -1.0)
        for i in np.flatnonzero(outline.skin).tolist():
            for side in mirrors:
                p, q = path.points[i] * (1.0, side), path.ends[i] * (1.0, side)
                if not path.is_arc[i]:
                    lines.append([*p, *q])
                    line_zone.append(outline.zone[i])
                    continue
                # Centre from chord and bulge by the textbook formula, in scalars.
                b = side * float(path.bulges[i])
                chord = math.hypot(q[0] - p[0], q[1] - p[1])
                sweep = 4.0 * math.atan(b)
                radius = chord / (2.0 * math.sin(abs(sweep) / 2.0))
                left = math.atan2(q[1] - p[1], q[0] - p[0]) + math.pi / 2.0 - sweep / 2.0
                reach = math.copysign(radius, b)
                centre = (p[0] + reach * math.cos(left), p[1] + reach * math.sin(left))
                first = math.atan2(p[1] - centre[1], p[0] - centre[0])
                arcs.append([*centre, radius, first, sweep])
                arc_zone.append(outline.zone[i])
        return Boundary(
            np.array(lines, dtype=float).reshape(-1, 4),
            np.array(arcs, dtype=float).reshape(-1, 5),
            np.array(line_zone, dtype=int),
            np.array(arc_zone, dtype=int),
        )

    def nearest(self, x: Array) -> tuple[Array, Array]:
        """Return distances (m, pieces) from points x (m, 2), and the nearest places (m, pieces, 2)."""
        p, d = self.lines[:, :2], self.lines[:, 2:] - self.lines[:, :2]
        along = np.clip(((x[:, None] - p) * d).sum(axis=2) / (d * d).sum(axis=1), 0.0, 1.0)
        on_lines = p + along[:, :, None] * d
        centre, radius, first, sweep = self.arcs[:, :2], self.arcs[:, 2], self.arcs[:, 3], self.arcs[:, 4]
        v = x[:, None] - centre
        turn = np.mod(np.sign(sweep) * (np.arctan2(v[:, :, 1], v[:, :, 0]) - first), 2.0 * np.pi)
        # Off the arc the nearer end is nearest: the one across the smaller rest of the circle.
        beyond = turn > np.abs(sweep)
        to_first = beyond & (2.0 * np.pi - turn < turn - np.abs(sweep))
        angle = first + np.sign(sweep) * np.where(to_first, 0.0, np.where(beyond, np.abs(sweep), turn))
        on_arcs = centre + radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=2)
        on = np.concatenate([on_lines, on_arcs], axis=1)
        return np.hypot(x[:, None, 0] - on[:, :, 0], x[:, None, 1] - on[:, :, 1]), on

    def depth(self, x: Array) -> Array:
        """Return (m,) distance from each point to the nearest piece of the skin."""
        depth: Array = self.nearest(x)[0].min(axis=1)
        return depth


def largest_discs(boundary: Boundary, place: Array, normal: Array, rounds: int = 60) -> Array:
    """Return (m,) radii of the largest discs at places (m, 2) whose open disc holds no skin, by bisection.

    Discs at one place hold each other, so that 'holds no skin' is lost once and for all as they grow.
    """
    low, high = np.zeros(len(place)), np.full(len(place), 1000.0)
    for _ in range(rounds):
        middle = (low + high) / 2.0
        free = boundary.depth(place + middle[:, None] * normal) >= middle - 1e-10
        low, high = np.where(free, middle, low), np.where(free, high, middle)
    return low


def is_wall(boundary: Boundary, centre: Array, radius: float, near: float = 1e-6) -> bool:
    """Return whether two contacts of a disc, found on the skin within `near`, are far enough apart."""
    dist, on = boundary.nearest(centre[None])
    contacts = list(on[0][dist[0] <= radius + near])
    for z, r, arc, first, sweep in boundary.arcs:
        if math.hypot(z - centre[0], r - centre[1]) < near and abs(arc - radius) < near:
            turns = first + sweep * np.linspace(0.0, 1.0, 181)
            contacts += [np.array([z + arc * math.cos(a), r + arc * math.sin(a)]) for a in turns]
    v = (np.array(contacts) - centre) / radius
    return bool((v @ v.T).min() <= math.cos(math.radians(WALL_CONTACT_DEG)) + 1e-7)
