"""What tests lay on a rim: loads on seats, lips and flanges, torque and inflation, as nodal forces."""

from __future__ import annotations

import math

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Indices
from geometry.shape.section import Side, Zone
from geometry.strength.arcs import half_wave, harmonics_for
from geometry.strength.elements import turn_integral
from geometry.strength.harmonic import edge_forces, edge_places
from geometry.strength.wheel import Body

#: A normal within this of the axle's direction is a flange's flat face: cosine.
_AXIAL = 0.7


def seat_load(body: Body, force_n: float, half_deg: float, outer_share: float = 0.5) -> dict[int, Array]:
    """Return nodal forces of a radial load on both bead seats over an arc, by harmonic.

    The seats are pressed inward as cos(pi theta / 2 theta0); the sum of the vertical parts is the force.

    Args:
        body: the wheel.
        force_n: on the wheel at theta = 0, towards the axle.
        half_deg: theta0.
        outer_share: of the outer seat.
    """
    _finite(force_n)
    last = harmonics_for(half_deg)
    wave = half_wave(half_deg, last)
    out = {n: np.zeros((len(body.mesh.points), 3)) for n in range(last + 1)}
    for zone, share in ((Zone.OUTER_SEAT, outer_share), (Zone.INNER_SEAT, 1.0 - outer_share)):
        edges, weight = _seat(body, zone)
        # Vertical: the integral of p cos(theta) over the arc is pi times the first coefficient.
        peak = force_n * share / (_whole(body, edges, weight) / 2.0 * wave[1])
        for n, forces in _round_arc(body, edges, weight, (0.0, -peak, 0.0), wave).items():
            out[n] += forces
    return out


def lip_load(body: Body, lip: Zone, force: tuple[float, float], half_deg: float) -> dict[int, Array]:
    """Return nodal forces of a load on a lip's end over an arc, by harmonic.

    Args:
        body: the wheel.
        lip: outer or inner lip.
        force: N along z, and towards the axle at theta = 0 (the vertical sum).
        half_deg: half of the arc.
    """
    last = harmonics_for(half_deg)
    wave = half_wave(half_deg, last)
    edges = body.edges(lip)
    _need(edges, lip)
    r = edge_places(body.mesh, edges)[0][..., 1]
    top = float(body.mesh.points[body.mesh.edges[edges], 1].max())
    low = float(body.mesh.points[body.mesh.edges[edges], 1].min())
    weight = _eased((r - top) / max(2.0, 0.15 * (top - low)) + 1.0)
    whole = _whole(body, edges, weight)
    axial, down = force[0] / (whole * wave[0]), force[1] / (whole / 2.0 * wave[1])
    return _round_arc(body, edges, weight, (axial, -down, 0.0), wave)


def flange_load(body: Body, lip: Zone, force_n: float, half_deg: float) -> dict[int, Array]:
    """Return nodal forces of an axial load on a flange's flat face over an arc; + is outboard."""
    edges, weight = _face(body, lip)
    last = harmonics_for(half_deg)
    wave = half_wave(half_deg, last)
    peak = force_n / (_whole(body, edges, weight) * wave[0])
    return _round_arc(body, edges, weight, (peak, 0.0, 0.0), wave)


def twisted(body: Body, torque_nmm: float) -> dict[int, Array]:
    """Return nodal forces of a torque about the axle on both bead seats, half each.

    The torque is + towards growing theta. Of harmonic 0, whose sine parts stand for a plain twist.
    """
    out = np.zeros((len(body.mesh.points), 3))
    for zone in (Zone.OUTER_SEAT, Zone.INNER_SEAT):
        edges, weight = _seat(body, zone)
        unit = _pushed(body, edges, weight, (0.0, 0.0, 1.0), 0)
        out += unit * (torque_nmm / 2.0 / float((unit[:, 2] * body.mesh.points[:, 1]).sum()))
    return {0: out}


def inflated(
    body: Body, pressure_mpa: float, tyre_outside_mm: float, bead_n_mm: float = 0.0
) -> dict[int, Array]:
    """Return nodal forces of inflation: pressure between the beads, their pull on the flanges, seat load.

    The pull per mm of flange is p (a2 - f2) / (4 f), a the tyre's outer radius, f where the flange is met: a
    thin tyre's side wall, half of its load on tread and half on flange (from memory). Flanges of unequal
    radii share what the pressure on the rim between them leaves, so that the tyre, which is closed, pushes
    the wheel nowhere.

    Args:
        body: the wheel.
        pressure_mpa: of the tyre.
        tyre_outside_mm: its diameter.
        bead_n_mm: radial load of a bead on its seat per mm of its circumference, towards the axle.
    """
    mesh = body.mesh
    inside = body.edges(Zone.WELL, Zone.BARREL, side=Side.TYRE)
    _, normal = edge_places(mesh, inside)
    push = np.zeros((*normal.shape[:2], 3))
    push[..., :2] = -pressure_mpa * normal
    out = edge_forces(mesh, inside, push, 0)
    pulls: list[tuple[Array, float]] = []
    for lip, seat in ((Zone.OUTER_LIP, Zone.OUTER_SEAT), (Zone.INNER_LIP, Zone.INNER_SEAT)):
        edges, weight = _face(body, lip)
        whole = _whole(body, edges, weight)
        # Where the pull is met: the middle of the weighted face.
        f = _whole(body, edges, weight * edge_places(mesh, edges)[0][..., 1]) / whole
        if not tyre_outside_mm / 2.0 > f:
            raise GeometryError(
                f"A tyre of {tyre_outside_mm:g} mm does not stand over the {lip}'s flange at r {f:.1f} mm."
            )
        pull = pressure_mpa * ((tyre_outside_mm / 2.0) ** 2 - f**2) / (4.0 * f) * 2.0 * np.pi * f
        pulls.append((_pushed(body, edges, weight / whole, (1.0, 0.0, 0.0), 0), pull))
        if bead_n_mm:
            on, spread = _seat(body, seat)
            under = _whole(body, on, spread)
            r = _whole(body, on, spread * edge_places(mesh, on)[0][..., 1]) / under
            out += _pushed(body, on, spread, (0.0, -bead_n_mm * 2.0 * np.pi * r / under, 0.0), 0)
    # The tyre is closed, and its tread pulls alike on both sides: nothing is left along the axle.
    (outer, outward), (inner, inward) = pulls
    left = outward - inward + float(out[:, 0].sum())
    out += (outward - left / 2.0) * outer - (inward + left / 2.0) * inner
    return {0: out}


def vertical_n(by_harmonic: dict[int, Array]) -> float:
    """Return the sum across the axle of nodal forces, N; + away from the axle at theta = 0."""
    one = by_harmonic.get(1)
    return 0.0 if one is None else float((one[:, 1] - one[:, 2]).sum())


def axial_n(by_harmonic: dict[int, Array]) -> float:
    """Return the sum along the axle of nodal forces, N."""
    none = by_harmonic.get(0)
    return 0.0 if none is None else float(none[:, 0].sum())


def flange_face(body: Body, lip: Zone) -> Indices:
    """Return the edges of a flange's flat face that the tyre's bead leans on.

    Raises:
        GeometryError: there is none.
    """
    edges = body.edges(lip, side=Side.TYRE)
    _need(edges, lip)
    _, normal = edge_places(body.mesh, edges)
    axial = np.abs(normal[..., 0]).min(axis=1) >= _AXIAL
    if not axial.any():
        raise GeometryError(f"The {lip} has no flat face for the tyre's bead on the tyre side.")
    return np.asarray(edges[axial])


def _face(body: Body, lip: Zone) -> tuple[Indices, Array]:
    """Return edges of a lip's tyre side and (k, g) how much of the bead's lean each place takes, 0 to 1.

    All of it where the face is square to the axle, none where it is 60 degrees off; eased between, so that
    the load is the same on every mesh.

    Raises:
        GeometryError: the lip has no flat face.
    """
    edges = body.edges(lip, side=Side.TYRE)
    _need(edges, lip)
    _ = flange_face(body, lip)
    _, normal = edge_places(body.mesh, edges)
    return edges, _eased(2.0 * np.abs(normal[..., 0]) - 1.0)


def _seat(body: Body, zone: Zone) -> tuple[Indices, Array]:
    """Return edges of a bead seat and (k, g) the bead's pressure on it: half a sine over its width."""
    edges = body.edges(zone, side=Side.TYRE)
    _need(edges, zone)
    ends = body.mesh.points[body.mesh.edges[edges], 0]
    z = edge_places(body.mesh, edges)[0][..., 0]
    return edges, np.sin(np.pi * np.clip((z - ends.min()) / (ends.max() - ends.min()), 0.0, 1.0))


def _eased(share: Array) -> Array:
    """Return 0 below 0, 1 above 1, and a smooth rise between."""
    x = np.clip(share, 0.0, 1.0)
    return np.asarray(x * x * (3.0 - 2.0 * x))


def _pushed(
    body: Body, edges: Indices, weight: Array, way: tuple[float, float, float], harmonic: int
) -> Array:
    """Return (n, 3) nodal forces of a traction that is `weight` (k, g) times a vector in MPa."""
    return edge_forces(body.mesh, edges, weight[..., None] * np.array(way), harmonic)


def _round_arc(
    body: Body, edges: Indices, weight: Array, way: tuple[float, float, float], wave: Array
) -> dict[int, Array]:
    """Return nodal forces of a traction `weight` times a vector that goes round as a wave, by harmonic.

    The section sees the same of every harmonic but for the wave's coefficient and the turn's integral.
    """
    once = _pushed(body, edges, weight, way, 1) / turn_integral(1)
    return {n: once * (float(c) * turn_integral(n)) for n, c in enumerate(wave)}


def _whole(body: Body, edges: Indices, weight: Array) -> float:
    """Return the integral of a weight over the ring that edges turn to, mm2."""
    return float(_pushed(body, edges, weight, (1.0, 0.0, 0.0), 0)[:, 0].sum())


def _finite(force_n: float) -> None:
    if not math.isfinite(force_n):
        raise GeometryError("The force on the wheel is not a number.")


def _need(edges: Indices, zone: Zone) -> None:
    if not len(edges):
        raise GeometryError(f"The section has no {zone} on the tyre side; the load has nothing to act on.")
