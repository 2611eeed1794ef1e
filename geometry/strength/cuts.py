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
from geometry.strength.harmonic import Parts
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


@dataclass(frozen=True)
class Total:
    """What crosses a whole cylinder: of the outside on the inside, or of a load on the wheel.

    Attributes:
        axial_n: along z. across_n: across the axle, + away from it at theta = 0. moment_nmm: about a line
            across the axle through the hub face's middle, + as `bend.hub_moment_nmm`. torque_nmm: about the
            axle, + with theta.
    """

    axial_n: float
    across_n: float
    moment_nmm: float
    torque_nmm: float

    def times(self, share: float) -> Total:
        """Return it under that share of the load."""
        return Total(*(share * x for x in (self.axial_n, self.across_n, self.moment_nmm, self.torque_nmm)))


def total_of(points: Array, forces: Mapping[int, Array]) -> Total:
    """Return the sum of (n, 3) nodal forces by harmonic: their work on each motion of a rigid body."""
    z, r = points.T
    none, one = forces.get(0, np.zeros((len(r), 3))), forces.get(1, np.zeros((len(r), 3)))
    return Total(
        float(none[:, 0].sum()),
        float((one[:, 1] - one[:, 2]).sum()),
        float((r * one[:, 0] - z * one[:, 1] + z * one[:, 2]).sum()),
        float((r * none[:, 2]).sum()),
    )


@dataclass(frozen=True, eq=False)
class Cut:
    """A cylinder that follows element edges, and what the outside hands to the inside there.

    Attributes:
        z, r: middle of the cut, mm. places: (k, 2) of its nodes.
        forces: (k, 3) on them by harmonic, N: work over the whole turn.
    """

    z: float
    r: float
    places: Array
    forces: Mapping[int, Array]

    def at(self, angle_rad: float) -> Resultant:
        """Return the resultant per radian at an angle."""
        total = np.zeros(3)
        moment = twist = 0.0
        for n, force in self.forces.items():
            # Work over the turn back to a density: n = 0 over 2 pi, else over pi.
            here = force / turn_integral(n)
            cos, sin = math.cos(n * angle_rad), math.sin(n * angle_rad) if n else 1.0
            total += here.sum(axis=0) * (cos, cos, sin)
            out, up = self.places[:, 1] - self.r, self.places[:, 0] - self.z
            moment += float((here[:, 0] * out - here[:, 1] * up).sum()) * cos
            twist += float((here[:, 2] * up).sum()) * sin
        return Resultant(self.r, self.z, float(total[0]), float(total[1]), float(total[2]), moment, twist)

    @property
    def total(self) -> Total:
        """What crosses the whole cylinder."""
        return total_of(self.places, self.forces)


def cut_at(body: Body, moved: Mapping[int, Array], r_mm: float) -> Cut:
    """Return the cut of a solution nearest to a radius.

    Args:
        body: the wheel.
        moved: displacements by harmonic.
        r_mm: radius of the cut.

    Raises:
        GeometryError: no metal lies within that radius or beyond it.
    """
    mesh, parts = body.mesh, body.parts
    inner = mesh.points[mesh.triangles].mean(axis=1)[:, 1] < r_mm
    if inner.all() or not inner.any():
        raise GeometryError(f"The section is not cut at r {r_mm:g} mm.")
    nodes = np.intersect1d(np.unique(mesh.triangles[inner]), np.unique(mesh.triangles[~inner]))
    place = mesh.points[nodes]
    within = Parts(parts.triangles[inner], parts.none[inner], parts.once[inner], parts.twice[inner])
    forces = {n: within.forces(n, u)[nodes] for n, u in moved.items()}
    z, r = float((place[:, 0].min() + place[:, 0].max()) / 2.0), float(place[:, 1].mean())
    return Cut(z, r, place, forces)


def across(body: Body, moved: Mapping[int, Array], r_mm: float, angle_rad: float = 0.0) -> Resultant:
    """Return the resultant of a solution per radian across the cut nearest to a radius, at an angle.

    Raises:
        GeometryError: no metal lies within that radius or beyond it.
    """
    return cut_at(body, moved, r_mm).at(angle_rad)
