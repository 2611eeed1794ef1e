"""What crosses a cylinder about the axle: forces and moment of a solution, as the nodes hand them over.

The elements inside a radius push on the nodes they share with those outside; summed, that is the exact
resultant of the solution, whatever the stress between.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.strength.elements import turn_integral
from geometry.strength.wheel import Body


@dataclass(frozen=True)
class Resultant:
    """What the outside hands to the inside across a cylinder, per radian at one angle.

    Attributes:
        r, z: of the cut and of its middle, mm.
        axial, radial, along: forces in N per radian: along z, away from the axle, with theta.
        moment: N mm per radian about the tangent at (z, r); + where a force along z farther out makes it.
        twist: N mm per radian about r, of the forces along theta; + where greater z is pushed along theta.
    """

    r: float
    z: float
    axial: float
    radial: float
    along: float
    moment: float
    twist: float


def across(body: Body, moved: Mapping[int, Array], r_mm: float, angle_rad: float = 0.0) -> Resultant:
    """Return the resultant of a solution across the cylinder nearest to r_mm that follows element edges.

    Args:
        body: the wheel.
        moved: displacements by harmonic.
        r_mm: radius of the cut.
        angle_rad: where round the turn.

    Raises:
        GeometryError: no metal lies within that radius or beyond it.
    """
    mesh, parts = body.mesh, body.parts
    inner = mesh.points[mesh.triangles].mean(axis=1)[:, 1] < r_mm
    if inner.all() or not inner.any():
        raise GeometryError(f"The section is not cut at r {r_mm:g} mm.")
    nodes = np.intersect1d(np.unique(mesh.triangles[inner]), np.unique(mesh.triangles[~inner]))
    place = mesh.points[nodes]
    z, r = float((place[:, 0].min() + place[:, 0].max()) / 2.0), float(place[:, 1].mean())
    total = np.zeros(3)
    moment = twist = 0.0
    for n, u in moved.items():
        local = u[mesh.triangles[inner]].reshape(-1, 18, 1)
        k = parts.none[inner] + n * parts.once[inner] + n**2 * parts.twice[inner]
        force = np.zeros_like(u)
        np.add.at(force, mesh.triangles[inner], (k @ local).reshape(-1, 6, 3) * turn_integral(n))
        # Work over the turn back to a density: n = 0 over 2 pi, else over pi.
        here = force[nodes] / turn_integral(n)
        cos, sin = math.cos(n * angle_rad), math.sin(n * angle_rad)
        total += here.sum(axis=0) * (cos, cos, sin)
        moment += float((here[:, 0] * (place[:, 1] - r) - here[:, 1] * (place[:, 0] - z)).sum()) * cos
        twist += float((here[:, 2] * (place[:, 0] - z)).sum()) * sin
    return Resultant(r, z, float(total[0]), float(total[1]), float(total[2]), moment, twist)


def carried_nmm(body: Body, moved: Mapping[int, Array], r_mm: float) -> float:
    """Return the moment about a line across the axle that crosses a cylinder, N mm, signed as `wheel.bent`'s.

    The resultant per radian at theta times cos theta (along the arc: sin theta), moved to the hub's middle at
    z = 0 and summed over the turn.
    """
    top, side = across(body, moved, r_mm), across(body, moved, r_mm, math.pi / 2.0)
    lever = top.axial * top.r - top.radial * top.z + side.along * side.z
    return -math.pi * (lever + top.moment + side.twist)
