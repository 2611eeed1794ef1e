"""Spokes as single beams between the elastic rim and the elastic hub of the section.

The rim's and the hub's stiffness at the ring where spokes end is that of the elements there, harmonic by
harmonic, each joint moving as a plane. n spokes whose forces go as cos theta load the rim with the harmonics
1, 1 - n, 1 + n, 1 - 2 n ... (sampling at n places); one below 0 is the mirror image of that above it. A
spoke's end is stiff over its width and follows what the joint does there on average (`feels`). Derived here;
checked against rings in closed form and against wheels with separate spokes solved as solids in space.
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
MULTIPLES = 3
#: Sine parts of a harmonic below 0 are those of the harmonic above it the other way.
_MIRROR = np.array([1.0, 1.0, 1.0, -1.0, -1.0, -1.0])


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
    turns = turns_of_end()[3:, 3:]
    out = np.zeros((6, 6))
    out[:3, :3], out[3:, 3:] = k.plane, turns.T @ k.across @ turns
    return out


def rigid_way(spoke: Spoke) -> Array:
    """Return (6, 6) motions of a rigid spoke's rim end for those of its hub end, ordered as `motions`."""
    out = np.eye(6)
    dz, dr = float(spoke.z[-1] - spoke.z[0]), float(spoke.r[-1] - spoke.r[0])
    out[0, 2], out[1, 2], out[3, 4], out[3, 5] = dr, -dz, dz, dr
    return out


def turns_of_end() -> Array:
    """Return (6, 6) from the order of `motions` to that of `spokes.Stiff`.

    What the way along theta changes per mm of r is the turn about z; per mm of z it is the turn about r the
    other way.
    """
    out = np.eye(6)
    out[4:, 4:] = [[0.0, 1.0], [-1.0, 0.0]]
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
    rim, hub = parts_beside(body, spoke)
    ends = [(float(spoke.z[k]), float(spoke.r[k])) for k in (-1, 0)]
    rim_joint, hub_joint = joint_of(body, rim, hub, flange), joint_of(body, hub, rim, pad)
    at_rim = (rim_joint, motions(body.mesh.points[rim_joint], *ends[0]))
    at_hub = (hub_joint, motions(body.mesh.points[hub_joint], *ends[1]))
    z, r = body.mesh.points[pad].T
    plate = np.array([np.column_stack([r, -z, z]), np.tile([0.0, 1.0, -1.0], (len(pad), 1))])
    rim_soft = _felt(joint_stiffness(body, rim, flange, [at_rim], 1), spoke, -1, 1)
    whole = joint_stiffness(body, hub, pad[:0], [at_hub, (pad, plate)], 1)
    hub_own = np.linalg.inv(whole[:6, :6])
    follows = hub_own @ whole[:6, 6:]
    hub_soft = _felt(whole[:6, :6], spoke, 0, 1)
    for m in _harmonics(spoke.count):
        rim_soft += _felt(mirrored(joint_stiffness(body, rim, flange, [at_rim], abs(m)), m), spoke, -1, m)
        hub_soft += _felt(mirrored(joint_stiffness(body, hub, pad, [at_hub], abs(m)), m), spoke, 0, m)
    # Pad to hub joint to spokes to rim, one after another: what each gives adds up.
    far = rigid_way(spoke)
    beams = spoke.count / 2.0 * spoke_stiffness(spoke, body)
    soft = rim_soft + np.linalg.inv(beams) + far @ hub_soft @ far.T
    # The joint of a free hub moves by -follows times the pad's tilt and shift; the rest is softness.
    led = -far @ follows
    chain = np.linalg.inv(soft)
    own = whole[6:, 6:] - whole[6:, :6] @ follows
    works = own + led.T @ chain @ led
    tilt, shift = np.linalg.solve(works, np.array([moment_nmm, 0.0]))
    force = -(chain @ led @ np.array([tilt, shift])) / (spoke.count / 2.0)
    at_rim_end = tuple((turns_of_end() @ force).tolist())
    axial, radial, moment, side, about_z, about_r = at_rim_end
    roots = []
    for at in radii_mm:
        out, up = ends[0][1] - at, ends[0][0] - float(np.interp(at, spoke.r, spoke.z))
        bent = moment + axial * out - radial * up
        across = side, about_z + side * out, about_r - side * up
        roots.append(nominal(spoke, at, axial, radial, bent, across))
    carried = spoke.count / 2.0 * float(motions_of_hub(*ends[0]) @ force)
    return Bent(tuple(roots), -carried, float(tilt), at_rim_end)


def motions_of_hub(z_mm: float, r_mm: float) -> Array:
    """Return (6,) motion of a joint at (z, r) for a unit tilt of the hub about the axle's middle."""
    return np.array([r_mm, -z_mm, 1.0, z_mm, 1.0, 0.0])


def _harmonics(count: int) -> list[int]:
    return [1 + j * count for j in range(-MULTIPLES, MULTIPLES + 1) if j]


def mirrored(stiff: Array, m: int) -> Array:
    """Return the (6, 6) stiffness of a joint for a harmonic m from that for its size: below 0 sines turn."""
    return stiff if m >= 0 else stiff * np.outer(_MIRROR, _MIRROR)


def _felt(stiff: Array, spoke: Spoke, end: int, m: int) -> Array:
    """Return (6, 6) softness that a spoke's end feels of a joint of that stiffness."""
    feel = feels(spoke, end, m)
    return np.asarray(feel @ np.linalg.inv(stiff) @ feel.T, dtype=np.float64)


def feels(spoke: Spoke, end: int, m: int) -> Array:
    """Return (6, 6) motion of a spoke's stiff end for motions of the joint, both ordered as `motions`.

    An end covers an arc of the joint and moves as that does on average. It turns about z as the radial ways
    over its width differ, since it takes hold of a surface and not of a wall's thickness; about r as the
    rectangle's sides have it: by the axial ways over its width w and by the ways along theta over its
    depth d, in the share of w2 to d2 (least squares over the rectangle). A motion of the whole is felt as
    it is.

    Args:
        spoke: of the wheel.
        end: 0 at the hub, -1 at the rim.
        m: harmonic, below 0 for the mirror image of that above it.
    """
    r, w, d = float(spoke.r[end]), float(spoke.width[end]), float(spoke.axial_depth[end])
    half = w / (2.0 * r)
    less, own, more = (float(np.sinc(k * half / math.pi)) for k in (m - 1, m, m + 1))
    a = m * half
    slope = 3.0 * (math.sin(a) - a * math.cos(a)) / a**3 * m / r if m else 0.0
    broad = w**2 / (w**2 + d**2)
    straight, aslant = (less + more) / 2.0, (less - more) / 2.0
    out = np.diag([own, straight, own, straight, (1.0 - broad) * own, 0.0])
    out[1, 3] = out[3, 1] = -aslant
    out[4, 0] = broad * slope
    out[5, 1], out[5, 3] = slope, own / r
    return out


def parts_beside(body: Body, spoke: Spoke) -> tuple[Flags, Flags]:
    """Return the elements of rim and hub: those beyond and within the spokes."""
    middle = body.mesh.points[body.mesh.triangles].mean(axis=1)
    half = (float(spoke.r[1]) - float(spoke.r[0])) / 2.0
    spoked = shapely.contains_xy(body.smear.region, middle)
    spoked &= (middle[:, 1] > spoke.r[0] - half) & (middle[:, 1] < spoke.r[-1] + half)
    beyond = middle[:, 1] > (spoke.r[0] + spoke.r[-1]) / 2.0
    return np.asarray(~spoked & beyond), np.asarray(~spoked & ~beyond)


def joint_of(body: Body, part: Flags, other: Flags, held: Indices) -> Indices:
    """Return the nodes that a part shares with the spokes, without those that are held."""
    spoked = ~part & ~other
    shared = np.intersect1d(np.unique(body.mesh.triangles[part]), np.unique(body.mesh.triangles[spoked]))
    out = np.setdiff1d(shared, held)
    if len(out) < 3:
        raise GeometryError("The spokes reach no hub or no rim of the section; move their cuts.")
    return np.asarray(out)
