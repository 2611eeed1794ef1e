"""Spokes as single beams between the elastic rim and the elastic hub of the section.

The rim's and the hub's stiffness at the ring where spokes end is that of the elements there, harmonic by
harmonic, each joint moving as a plane. n spokes whose forces go as cos theta load the rim with the harmonics
1, n - 1, n + 1, 2 n - 1 ...; the sine parts of those of j n - 1 turn their sign (sampling at n places). A
spoke's force is spread evenly over its width. Derived here; checked against rings in closed form.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.section import Zone
from geometry.strength.harmonic import Parts, Pattern
from geometry.strength.loads import Clamp
from geometry.strength.spokes import Bent, Spoke, nominal, stiff
from geometry.strength.wheel import Body

#: Multiples of the spokes' number whose neighbouring harmonics are summed.
_MULTIPLES = 3
#: Sine parts of harmonics j n - 1 turn their sign at the spokes.
_MIRROR = np.diag([1.0, 1.0, 1.0, -1.0, -1.0, -1.0])


def motions(points: Array, z_mm: float, r_mm: float) -> Array:
    """Return (6, n, 3) displacements of a joint that moves as a plane about (z, r).

    Along z, along r, about the tangent (as cosines); along theta, its change per mm of z and of r (as sines).
    """
    z, r = points[:, 0] - z_mm, points[:, 1] - r_mm
    none, one = np.zeros(len(points)), np.ones(len(points))
    rows = (
        (one, none, none),
        (none, one, none),
        (r, -z, none),
        (none, none, one),
        (none, none, z),
        (none, none, r),
    )
    return np.array([np.column_stack(row) for row in rows])


def joint_stiffness(
    body: Body, inside: Flags, held: Indices, given: list[tuple[Indices, Array]], harmonic: int
) -> Array:
    """Return (k, k) stiffness of a part of the body against given motions of some of its nodes.

    Args:
        body: the wheel.
        inside: (e,) elements of the part.
        held: nodes that do not move.
        given: nodes with their (j, n, 3) motions; k is the sum of all j.
        harmonic: of the motions; work is that of the whole turn.
    """
    parts, count = body.parts, len(body.mesh.points)
    some = Parts(parts.triangles[inside], parts.none[inside], parts.once[inside], parts.twice[inside])
    fixed = np.ones((count, 3), dtype=np.bool_)
    fixed[np.unique(some.triangles)] = False
    fixed[held] = True
    ways = np.zeros((sum(len(w) for _, w in given), count, 3))
    start = 0
    for nodes, way in given:
        fixed[nodes] = True
        ways[start : start + len(way), nodes] = way
        start += len(way)
    pattern = Pattern(some.triangles, count, fixed)
    moved = pattern.solve(some, {harmonic: np.zeros_like(ways)}, {harmonic: ways})[harmonic]
    forces = np.array([some.forces(harmonic, u) for u in moved])
    return np.asarray(np.einsum("inj,knj->ik", ways, forces))


def spoke_stiffness(spoke: Spoke, body: Body) -> Array:
    """Return (6, 6) stiffness of a spoke's rim end against its hub end, in the order of `motions`."""
    k = stiff(spoke, body.metal)
    # Per mm of r is the turn about z; per mm of z is the turn about r the other way.
    turns = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
    out = np.zeros((6, 6))
    out[:3, :3], out[3:, 3:] = k.plane, turns.T @ k.across @ turns
    return out


def joined_spokes(body: Body, spoke: Spoke, moment_nmm: float, clamp: Clamp, radii_mm: list[float]) -> Bent:
    """Return what single spokes between elastic hub and rim carry of a pure moment on the hub pad.

    Args:
        body: the wheel.
        spoke: of its section.
        moment_nmm: on the hub pad, which moves as a rigid plate.
        clamp: a flange.
        radii_mm: where roots are wanted, for the spoke in the moment's plane.

    Raises:
        GeometryError: fewer than three spokes, a test that holds no flange, or spokes without rim or hub.
    """
    if spoke.count < 3:
        raise GeometryError("Fewer than three spokes carry a moment unevenly over the turn; no sum is given.")
    lip = {Clamp.INNER_FLANGE: Zone.INNER_LIP, Clamp.OUTER_FLANGE: Zone.OUTER_LIP}.get(clamp)
    if lip is None:
        raise GeometryError("Nothing but the hub pad is held, so that a moment has nothing to act against.")
    flange, pad = body.flange(lip), body.pad
    rim, hub = _parts(body, spoke)
    ends = [(float(spoke.z[k]), float(spoke.r[k])) for k in (-1, 0)]
    rim_joint, hub_joint = _joint(body, rim, hub, flange), _joint(body, hub, rim, pad)
    at_rim = (rim_joint, motions(body.mesh.points[rim_joint], *ends[0]))
    at_hub = (hub_joint, motions(body.mesh.points[hub_joint], *ends[1]))
    z, r = body.mesh.points[pad].T
    plate = np.array([np.column_stack([r, -z, z]), np.tile([0.0, 1.0, -1.0], (len(pad), 1))])
    rim_soft = np.linalg.inv(joint_stiffness(body, rim, flange, [at_rim], 1))
    whole = joint_stiffness(body, hub, pad[:0], [at_hub, (pad, plate)], 1)
    hub_own = np.linalg.inv(whole[:6, :6])
    follows = hub_own @ whole[:6, 6:]
    more = [_single(body, spoke, m) for m in _harmonics(spoke.count)]
    rim_soft = rim_soft + sum(
        s * d @ np.linalg.inv(joint_stiffness(body, rim, flange, [at_rim], m)) @ d for m, (s, _), d in more
    )
    hub_soft = hub_own + sum(
        s * d @ np.linalg.inv(joint_stiffness(body, hub, pad, [at_hub], m)) @ d for m, (_, s), d in more
    )
    # Pad to hub joint to spokes to rim, one after another: what each gives adds up.
    far = np.eye(6)
    far[0, 2], far[1, 2] = ends[0][1] - ends[1][1], -(ends[0][0] - ends[1][0])
    far[3, 4], far[3, 5] = ends[0][0] - ends[1][0], ends[0][1] - ends[1][1]
    beams = spoke.count / 2.0 * spoke_stiffness(spoke, body)
    soft = rim_soft + np.linalg.inv(beams) + far @ hub_soft @ far.T
    # The joint of a free hub moves by -follows times the pad's tilt and shift; the rest is softness.
    led = -far @ follows
    chain = np.linalg.inv(soft)
    own = whole[6:, 6:] - whole[6:, :6] @ follows
    works = own + led.T @ chain @ led
    tilt, shift = np.linalg.solve(works, np.array([moment_nmm, 0.0]))
    force = -(chain @ led @ np.array([tilt, shift])) / (spoke.count / 2.0)
    axial, radial, moment = force[:3].tolist()
    roots = []
    for at in radii_mm:
        lever_z = ends[0][0] - float(np.interp(at, spoke.r, spoke.z))
        bent = moment + axial * (ends[0][1] - at) - radial * lever_z
        roots.append(nominal(spoke, at, axial, radial, bent))
    carried = spoke.count / 2.0 * float(motions_of_hub(*ends[0]) @ force)
    return Bent(tuple(roots), -carried, float(tilt))


def motions_of_hub(z_mm: float, r_mm: float) -> Array:
    """Return (6,) motion of a joint at (z, r) for a unit tilt of the hub about the axle's middle."""
    return np.array([r_mm, -z_mm, 1.0, z_mm, 1.0, 0.0])


def _harmonics(count: int) -> list[int]:
    return [j * count + side for j in range(1, _MULTIPLES + 1) for side in (-1, 1)]


def _single(body: Body, spoke: Spoke, m: int) -> tuple[int, tuple[float, float], Array]:
    """Return a harmonic, how much of a spoke's force is in it at rim and hub (squared), and its mirror."""
    share = [float(np.sinc(m * spoke.width[k] / (2.0 * math.pi * spoke.r[k]))) ** 2 for k in (-1, 0)]
    return m, (share[0], share[1]), _MIRROR if (m + 1) % spoke.count == 0 else np.eye(6)


def _parts(body: Body, spoke: Spoke) -> tuple[Flags, Flags]:
    """Return the elements of rim and hub: those beyond and within the spokes."""
    middle = body.mesh.points[body.mesh.triangles].mean(axis=1)
    half = (float(spoke.r[1]) - float(spoke.r[0])) / 2.0
    spoked = shapely.contains_xy(body.smear.region, middle)
    spoked &= (middle[:, 1] > spoke.r[0] - half) & (middle[:, 1] < spoke.r[-1] + half)
    beyond = middle[:, 1] > (spoke.r[0] + spoke.r[-1]) / 2.0
    return np.asarray(~spoked & beyond), np.asarray(~spoked & ~beyond)


def _joint(body: Body, part: Flags, other: Flags, held: Indices) -> Indices:
    """Return the nodes that a part shares with the spokes, without those that are held."""
    spoked = ~part & ~other
    shared = np.intersect1d(np.unique(body.mesh.triangles[part]), np.unique(body.mesh.triangles[spoked]))
    out = np.setdiff1d(shared, held)
    if len(out) < 3:
        raise GeometryError("The spokes reach no hub or no rim of the section; move their cuts.")
    return np.asarray(out)
