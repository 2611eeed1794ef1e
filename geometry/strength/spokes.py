"""Spokes as beams between a rigid hub and a rigid rim, and what that says beside the smeared model.

Each spoke is a beam along the middle of its section in the half-plane: bending and stretch in the plane of
(z, r), and bending, shear and torsion out of it. Flexibility by the unit-load integral over its length
(S. P. Timoshenko, Strength of Materials, from memory); shear factor 5/6 of a rectangle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from geometry.errors import GeometryError
from geometry.readings.solid import SpokeRegion, spoke_region
from geometry.shape.curve import Array, Path
from geometry.strength.cuts import Resultant
from geometry.strength.metals import Metal
from geometry.strength.spoked import stations_of, width_mm

#: Share of a spoke's length that counts as its end.
_ENDS = 0.1


@dataclass(frozen=True)
class Spoke:
    """One spoke from hub to rim: (m,) stations rising in r.

    Attributes:
        r, z: middle of the metal, mm. width: along the arc. depth: across the spoke, square to its middle.
        axial_depth: the metal along z, as it is drawn.
        way: (m,) length of spoke that a station stands for, mm; slope: angle of the middle to r, rad.
    """

    count: int
    r: Array
    z: Array
    width: Array
    depth: Array
    axial_depth: Array
    way: Array
    slope: Array

    @property
    def weakest_mm(self) -> float:
        """Radius where a spoke resists bending in its own plane least."""
        return float(self.r[int((self.width * self.depth**2).argmin())])


def spoke_of(path: Path, spokes: SpokeRegion) -> Spoke:
    """Return the spoke of a section.

    Raises:
        GeometryError: there are no spokes, or their region holds no metal along the whole radius.
    """
    if spokes.count < 1:
        raise GeometryError("The wheel has no spokes: its disc is full.")
    region = spoke_region(path, spokes)
    at = stations_of(region, spokes.hub_circle_mm)
    cos = np.cos(at.slope)
    width = width_mm(spokes, at.r)
    return Spoke(spokes.count, at.r, at.z, width, at.depth * cos, at.depth, at.step / cos, at.slope)


@dataclass(frozen=True)
class Stiff:
    """Stiffness of one spoke's rim end against its hub end.

    Attributes:
        plane: (3, 3) forces (N along z, N along r, N mm about the tangent) per mm, mm, rad.
        across: (3, 3) forces (N along theta, N mm about z, N mm about r) per mm, rad, rad.
    """

    plane: Array
    across: Array


def stiff(spoke: Spoke, metal: Metal) -> Stiff:
    """Return the stiffness of a spoke between its first and its last station."""
    elastic, shear = metal.elastic_mpa, metal.elastic_mpa / (2.0 * (1.0 + metal.poisson))
    w, d, ds = spoke.width, spoke.depth, spoke.way
    area = w * d
    bend, side = elastic * w * d**3 / 12.0, elastic * d * w**3 / 12.0
    twist = shear * _torsion(w, d)
    dr, dz = spoke.r[-1] - spoke.r, spoke.z[-1] - spoke.z
    one = np.ones_like(dr)
    # In the plane: moment about the tangent at a station from unit forces at the rim end. A force along z
    # farther out makes it; a force along r at a greater z takes from it.
    lever = np.stack([dr, -dz, one])
    cos, sin = np.cos(spoke.slope), np.sin(spoke.slope)
    pull, shove = np.stack([sin, cos, 0 * one]), np.stack([cos, -sin, 0 * one])
    plane = _integral(lever, ds / bend) + _integral(pull, ds / (elastic * area))
    plane += _integral(shove, ds / (5.0 / 6.0 * shear * area))
    # Across: a force along theta bends about the square to the spoke in its plane, and twists it.
    about_z, about_r = np.stack([dr, one, 0 * one]), np.stack([-dz, 0 * one, one])
    across_bend = about_z * cos - about_r * sin
    across_twist = about_z * sin + about_r * cos
    across = _integral(across_bend, ds / side) + _integral(across_twist, ds / twist)
    across += _integral(np.stack([one, 0 * one, 0 * one]), ds / (5.0 / 6.0 * shear * area))
    return Stiff(np.asarray(np.linalg.inv(plane)), np.asarray(np.linalg.inv(across)))


def _integral(lever: Array, flexible: Array) -> Array:
    return np.asarray(np.einsum("im,jm,m->ij", lever, lever, flexible))


def _torsion(w: Array, d: Array) -> Array:
    """Return the torsion constant of rectangles, mm4 (R. J. Roark's formula, from memory)."""
    a, b = np.maximum(w, d) / 2.0, np.minimum(w, d) / 2.0
    return np.asarray(a * b**3 * (16.0 / 3.0 - 3.36 * b / a * (1.0 - b**4 / (12.0 * a**4))))


@dataclass(frozen=True)
class Root:
    """What one spoke carries at one place, the worst spoke of the turn.

    Attributes:
        place: "hub", "weakest" or "rim". r_mm: its radius.
        axial_n, radial_n, moment_nmm: as in geometry.strength.cuts.Resultant, for one spoke.
        bending_mpa, shear_mpa: nominal, of the rectangle of width and depth.
        side_mpa, twist_mpa: of a spoke a quarter turn on, where its bending and pull are none: bending across
            its width, and shear of twist and side force in the middle of its broad faces; 0 by a section,
            which knows no twist.
    """

    place: str
    r_mm: float
    axial_n: float
    radial_n: float
    moment_nmm: float
    bending_mpa: float
    shear_mpa: float
    side_mpa: float = 0.0
    twist_mpa: float = 0.0
    at_deg: float = 0.0
    turn_mpa: float | None = None
    moving: tuple[str, ...] = ()

    @property
    def equivalent_mpa(self) -> float:
        """Greatest von Mises stress of one turn of the load: edges bent both ways, faces in shear.

        Under a moment bending and pull go as cos theta, the rest as sin theta; at edges of the rectangle
        there is no shear.
        """
        if self.turn_mpa is not None:
            return self.turn_mpa
        return max(math.hypot(self.bending_mpa, self.side_mpa), math.sqrt(3.0) * self.twist_mpa)

    def times(self, share: float) -> Root:
        """Return it under that share of the load, which is above 0."""
        names = ("axial_n", "radial_n", "moment_nmm", "bending_mpa", "shear_mpa", "side_mpa", "twist_mpa")
        turn = None if self.turn_mpa is None else share * self.turn_mpa
        return replace(self, turn_mpa=turn, **{name: share * getattr(self, name) for name in names})


@dataclass(frozen=True)
class Bent:
    """A moment on the hub carried by spokes between rigid hub and rigid rim.

    Attributes:
        roots: at hub and rim for the spoke in the moment's plane.
        carried_nmm: sum of what the spokes carry; the moment itself.
        tilt_rad: of the hub against the rim.
        rim: (6,) force on the rim end in the order of `Stiff`, where single spokes stand on an elastic rim:
            the first three of the spoke in the moment's plane, the last of one a quarter turn on.
    """

    roots: tuple[Root, ...]
    carried_nmm: float
    tilt_rad: float
    rim: tuple[float, ...] = ()

    def times(self, share: float) -> Bent:
        """Return it under that share of the moment, which is above 0."""
        return Bent(
            tuple(r.times(share) for r in self.roots),
            share * self.carried_nmm,
            share * self.tilt_rad,
            tuple(share * x for x in self.rim),
        )


def bent_spokes(spoke: Spoke, metal: Metal, moment_nmm: float) -> Bent:
    """Return what spokes carry of a pure moment on the hub; rim held, hub tilted and shifted as it likes.

    The spokes' ends follow the hub as a rigid body: for the spoke at theta they move by (phi r, -phi z + x)
    cos theta in the half-plane and (phi z - x) sin theta along the arc. Sums over three or more spokes go
    as half their number.

    Raises:
        GeometryError: fewer than three spokes, which carry a moment unevenly over the turn.
    """
    if spoke.count < 3:
        raise GeometryError("Fewer than three spokes carry a moment unevenly over the turn; no sum is given.")
    k = stiff(spoke, metal)
    r, z = float(spoke.r[-1]), float(spoke.z[-1])
    plane = np.array([[r, -z, 1.0], [0.0, 1.0, 0.0]])
    across = np.array([[z, 0.0, 1.0], [-1.0, 0.0, 0.0]])
    works = spoke.count / 2.0 * (plane @ k.plane @ plane.T + across @ k.across @ across.T)
    tilt, shift = np.linalg.solve(works, np.array([moment_nmm, 0.0]))
    # The hub moves, so the rim end is left behind; its force on the spoke is the other way.
    force = -(k.plane @ (plane.T @ np.array([tilt, shift])))
    carried = float((works @ np.array([tilt, shift]))[0])
    return Bent(tuple(_root(spoke, at, force) for at in (0, -1)), carried, float(tilt))


def _root(spoke: Spoke, at: int, force: Array) -> Root:
    axial, radial, moment = force.tolist()
    dr, dz = float(spoke.r[-1] - spoke.r[at]), float(spoke.z[-1] - spoke.z[at])
    return nominal(spoke, float(spoke.r[at]), axial, radial, moment + axial * dr - radial * dz)


def nominal(
    spoke: Spoke,
    r_mm: float,
    axial_n: float,
    radial_n: float,
    moment_nmm: float,
    across: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> Root:
    """Return the nominal stresses of a spoke's rectangle at a radius.

    Args:
        spoke: whose rectangle.
        r_mm: where.
        axial_n: force along z that it carries there.
        radial_n: along r.
        moment_nmm: about the tangent.
        across: force along theta in N, moments about z and r in N mm, of the spoke a quarter turn on.
    """
    at = int(np.abs(spoke.r - r_mm).argmin())
    w, d, slope = float(spoke.width[at]), float(spoke.depth[at]), float(spoke.slope[at])
    along = axial_n * math.sin(slope) + radial_n * math.cos(slope)
    cross = axial_n * math.cos(slope) - radial_n * math.sin(slope)
    bending = abs(moment_nmm) / (w * d**2 / 6.0) + abs(along) / (w * d)
    place = "hub" if at < _ENDS * len(spoke.r) else "rim" if at >= (1.0 - _ENDS) * len(spoke.r) else "weakest"
    side, about_z, about_r = across
    bent = abs(about_z * math.cos(slope) - about_r * math.sin(slope)) / (d * w**2 / 6.0)
    twist = abs(about_z * math.sin(slope) + about_r * math.cos(slope)) / _twist_section(w, d)
    shear = 1.5 * abs(cross) / (w * d)
    sheared = twist + 1.5 * abs(side) / (w * d)
    return Root(place, r_mm, axial_n, radial_n, moment_nmm, bending, shear, bent, sheared)


def _twist_section(w: float, d: float) -> float:
    """Return torque over greatest shear of a rectangle, mm3: that in the middle of its longer side.

    R. J. Roark's formula (from memory).
    """
    a, b = max(w, d) / 2.0, min(w, d) / 2.0
    x = b / a
    return 8.0 * a * b**2 / (3.0 * (1.0 + 0.6095 * x + 0.8865 * x**2 - 1.8023 * x**3 + 0.91 * x**4))


def of_resultant(spoke: Spoke, cut: Resultant) -> Root:
    """Return what one spoke carries by the smeared model: the resultant over the arc of one spoke.

    The moment is moved from the middle of the cut to the spoke's own middle there.
    """
    arc = 2.0 * math.pi / spoke.count
    z = float(np.interp(cut.r, spoke.r, spoke.z))
    moment = cut.moment - cut.radial * (cut.z - z)
    return nominal(spoke, cut.r, cut.axial * arc, cut.radial * arc, moment * arc)


@dataclass(frozen=True)
class Twisted:
    """A torque between hub and rim, carried by spokes between rigid hub and rigid rim.

    Attributes:
        force_n: along theta, of one spoke. root_mpa: bending of its width at hub and rim, nominal.
        twist_rad: of the rim against the hub.
    """

    force_n: float
    root_mpa: tuple[float, float]
    twist_rad: float


def twisted_spokes(spoke: Spoke, metal: Metal, torque_nmm: float) -> Twisted:
    """Return what spokes carry of a torque about the axle."""
    k = stiff(spoke, metal).across
    r, one = float(spoke.r[-1]), np.array([float(spoke.r[-1]), 1.0, 0.0])
    # The rim end moves by r and turns by 1 about z for a twist of 1; its force and moment work on both.
    twist = torque_nmm / (spoke.count * float(one @ k @ one))
    force, about_z, _ = (k @ one * twist).tolist()
    roots = []
    for at in (0, -1):
        moment = about_z + force * (r - float(spoke.r[at]))
        roots.append(abs(moment) / (float(spoke.depth[at]) * float(spoke.width[at]) ** 2 / 6.0))
    return Twisted(force, (roots[0], roots[1]), twist)


def pins(
    torque_nmm: float, count: int, circle_mm: float, hole_mm: float, depth_mm: float
) -> tuple[float, float]:
    """Return force on one drive pin in N and its mean pressure on the wheel's hole in MPa.

    Friction under the nut is left out, which is the safe side for the pins.

    Raises:
        GeometryError: there is no pin, or its hole has no size.
    """
    if count < 1 or hole_mm <= 0.0 or depth_mm <= 0.0 or circle_mm <= 0.0:
        raise GeometryError(f"{count} drive pins of {hole_mm:g} mm, {depth_mm:g} mm deep, carry no torque.")
    force = torque_nmm / (count * circle_mm / 2.0)
    return force, force / (hole_mm * depth_mm)


@dataclass(frozen=True)
class Bolts:
    """Nominal loads at the bolt circle under a moment, from a rigid hub pad.

    Attributes:
        bolt_n: greatest force of the moment on one bolt, 2 M / (n R), beside its clamp load.
        seat_mpa: shear of the metal under the seat, over its land.
        ligament_mm: between two holes. pad_mpa: bending of the pad at the circle on what holes leave.
    """

    bolt_n: float
    seat_mpa: float
    ligament_mm: float
    pad_mpa: float


def bolts(
    moment_nmm: float,
    count: int,
    circle_mm: float,
    hole_mm: float,
    land_mm: float,
    thickness_mm: float,
    pad_moment_nmm_rad: float,
) -> Bolts:
    """Return the nominal loads of n bolts on a circle.

    Args:
        moment_nmm: on the wheel.
        count: of bolts.
        circle_mm: diameter of the bolt circle.
        hole_mm: diameter of a hole.
        land_mm: metal between seat and mounting face.
        thickness_mm: metal of the pad along z at the circle.
        pad_moment_nmm_rad: moment across the bolt circle per radian (geometry.strength.cuts).

    Raises:
        GeometryError: the holes leave no metal on their circle, or there is no land.
    """
    radius = circle_mm / 2.0
    pitch = 2.0 * radius * math.sin(math.pi / count) if count > 1 else math.inf
    if pitch <= hole_mm or land_mm <= 0.0 or thickness_mm <= 0.0:
        raise GeometryError(
            f"{count} holes of {hole_mm:g} mm on a circle of {circle_mm:g} mm with {land_mm:g} mm under the"
            " seat leave no metal to carry a moment."
        )
    force = 2.0 * abs(moment_nmm) / (count * radius)
    share = 1.0 - count * hole_mm / (2.0 * math.pi * radius)
    pad = abs(pad_moment_nmm_rad) / radius / (thickness_mm**2 / 6.0) / max(share, 1e-3)
    return Bolts(force, force / (math.pi * hole_mm * land_mm), pitch - hole_mm, pad)
