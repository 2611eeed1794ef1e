"""The half-section as a body: its mesh, its metal, where tests hold it, and where they load it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.errors import GeometryError
from geometry.readings.solid import SpokeRegion
from geometry.shape.curve import Array, Flags, Indices
from geometry.shape.section import ZONES, Outline, Side, Zone
from geometry.strength.arcs import half_wave, harmonics_for
from geometry.strength.elements import RR, RT
from geometry.strength.harmonic import (
    Parts,
    Pattern,
    Recovery,
    at_angles,
    edge_forces,
    edge_places,
    parts_of,
    places_of_stiffness,
    places_of_stress,
)
from geometry.strength.loads import Clamp
from geometry.strength.mesh import Mesh, mesh_of
from geometry.strength.metals import Metal
from geometry.strength.sizes import STUDY, SizeRule
from geometry.strength.spoked import Smear, smear_of

_SIDES = list(Side)
#: The mounting face lies at z = 0 within this, mm.
_FACE_MM = 0.02
#: A normal within this of the axle's direction is a flange's flat face: cosine.
_AXIAL = 0.7
#: Radii at which the mean shear of the spokes is taken.
_CUTS = 16


@dataclass(frozen=True, eq=False)
class Body:
    """A wheel's half-section ready to be loaded.

    Attributes:
        zone, side: (b,) zone and side index of each edge of the mesh's skin.
    """

    mesh: Mesh
    metal: Metal
    smear: Smear
    zone: Indices
    side: Indices

    @cached_property
    def parts(self) -> Parts:
        """Stiffness of the elements."""
        law = self.smear.law(places_of_stiffness(self.mesh), self.metal.elastic_mpa, self.metal.poisson)
        return parts_of(self.mesh, law)

    @cached_property
    def recovery(self) -> Recovery:
        """From displacements to stress in the metal of spokes and rim."""
        places = places_of_stress(self.mesh)
        law = self.smear.law(places, self.metal.elastic_mpa, self.metal.poisson)
        return Recovery(self.mesh, law, self.smear.metal(places))

    @cached_property
    def _across(self) -> Array:
        return self.smear.across(self.mesh.points)

    def flank(self, stress: Array) -> Array:
        """Return (n,) stress along r that the bending of spokes across their width adds on a flank, MPa.

        A spoke is bent by the one force across it that its shear amounts to: the mean along the spoke of the
        shear (r, t) times its cut. Peaks of the smeared shear at corners bend no spoke.

        Args:
            stress: (s n, 6) of one harmonic, of which that of the spokes counts; varies as its sine parts do.
        """
        on = np.flatnonzero(self._across)
        out = np.zeros(len(self.mesh.points))
        stress = stress[-len(out) :]
        if not len(on):
            return out
        r, weight = self.mesh.points[on, 1], self.recovery.area[on]
        edges = np.linspace(r.min(), r.max() + 1e-9, _CUTS + 1)
        of = np.digitize(r, edges) - 1
        middle = (edges[1:] + edges[:-1]) / 2.0
        # Both in the same measure of depth: what is summed is area round nodes over equal steps of r.
        depth = np.bincount(of, weight, _CUTS)
        width = self.smear.width_mm(middle)
        force = float((np.bincount(of, weight * stress[on, RT], _CUTS) * width).mean())
        shear = force / (width * np.maximum(depth, np.median(depth) / 2.0))
        out[on] = self._across[on] * np.interp(r, middle, shear)
        return out

    def round_turn(
        self, stress: Mapping[int, Array], angles_rad: Array, nodes: Indices | None = None
    ) -> Array:
        """Return (a, m k, 6) stresses of k nodes round the turn, column by column k after k.

        All that a node may see: as full rings and as spokes have it, on one flank of the spokes and on the
        other. Off the spokes these are alike.

        Args:
            stress: (s n, 6) at all nodes by harmonic, from `recovery`.
            angles_rad: (a,) where round the turn.
            nodes: (k,) which; None for all.
        """
        count = len(self.mesh.points)
        chosen = np.arange(count) if nodes is None else nodes
        sides = next((len(s) // count for s in stress.values()), 1)
        where = np.concatenate([chosen + side * count for side in range(sides)])
        smeared = at_angles({n: s[where] for n, s in stress.items()}, angles_rad)
        bent = np.zeros_like(smeared)
        for n, s in stress.items():
            turn = np.sin(n * angles_rad) if n else np.ones(len(angles_rad))
            bent[..., RR] += turn[:, None] * np.tile(self.flank(s)[chosen], sides)
        return np.concatenate([smeared + bent, smeared - bent], axis=1)

    @cached_property
    def zone_of_node(self) -> Indices:
        """(n,) zone index of each node of the skin, -1 inside; a joint belongs to the edge that leaves it."""
        out = np.full(len(self.mesh.points), -1, dtype=np.intp)
        edges = self.mesh.edges
        out[edges[:, 1]], out[edges[:, 2]], out[edges[:, 0]] = self.zone, self.zone, self.zone
        return out

    def edges(self, *zones: Zone, side: Side | None = None) -> Indices:
        """Return the rows of mesh.edges in these zones, on one side if named."""
        chosen = np.isin(self.zone, [ZONES.index(z) for z in zones])
        if side is not None:
            chosen &= self.side == _SIDES.index(side)
        return np.flatnonzero(chosen)

    @cached_property
    def pad(self) -> Indices:
        """Nodes of the flat that bears on the vehicle's hub, the mounting face at z = 0.

        Raises:
            GeometryError: the section has no hub pad there.
        """
        edges = self.mesh.edges[self.edges(Zone.HUB_PAD)]
        flat = np.abs(self.mesh.points[edges, 0]).max(axis=1) <= _FACE_MM if len(edges) else np.zeros(0, bool)
        if not flat.any():
            raise GeometryError(
                "The section has no hub pad at z = 0, so nothing can be bolted to a hub: draw a flat there"
                " and give it the zone 'hub pad'."
            )
        return np.unique(edges[flat])

    def flange(self, lip: Zone) -> Indices:
        """Nodes of a lip's skin over the outer half of its flange, where a test's ring holds it.

        Raises:
            GeometryError: the section has no such lip.
        """
        edges = self.mesh.edges[self.edges(lip)]
        if not len(edges):
            raise GeometryError(f"The section has no {lip}, so a test cannot hold it there.")
        nodes = np.unique(edges)
        r = self.mesh.points[nodes, 1]
        return np.asarray(nodes[r >= (r.min() + r.max()) / 2.0])

    def held(self, clamp: Clamp) -> Flags:
        """Return (n, 3) displacements that a test gives."""
        out = np.zeros((len(self.mesh.points), 3), dtype=np.bool_)
        out[self.pad] = True
        if clamp is Clamp.INNER_FLANGE:
            out[self.flange(Zone.INNER_LIP)] = True
        elif clamp is Clamp.OUTER_FLANGE:
            out[self.flange(Zone.OUTER_LIP)] = True
        return out

    def pattern(self, clamp: Clamp) -> Pattern:
        """Return the free displacements of a test, ready to be solved for; keep it for a whole drag."""
        return Pattern(self.mesh.triangles, len(self.mesh.points), self.held(clamp))


def body_of(
    outline: Outline, metal: Metal, spokes: SpokeRegion | None = None, rule: SizeRule = STUDY
) -> Body:
    """Return a wheel's section as a body.

    Raises:
        GeometryError: it cannot be meshed, or its spoke cuts do not part it, with the place.
    """
    mesh = mesh_of(outline.path, rule)
    return body_on(mesh, outline, metal, spokes)


def body_on(mesh: Mesh, outline: Outline, metal: Metal, spokes: SpokeRegion | None) -> Body:
    """Return a body on a mesh that stands already (moved with a drag)."""
    return Body(
        mesh, metal, smear_of(outline.path, spokes), outline.zone[mesh.piece], outline.side[mesh.piece]
    )


def bent(body: Body, moment_nmm: float, pattern: Pattern) -> dict[int, Array]:
    """Return displacements under a pure moment on the hub pad, which moves as a rigid plate.

    The pad is tilted and shifted by one each; the two are mixed so that the moment is the one asked for and
    no force across the axle is left. A positive moment turns what lies outboard away from theta = 0.

    Args:
        body: the wheel.
        moment_nmm: on the hub pad.
        pattern: of a clamped flange.

    Returns:
        {1: (n, 3)} mm.
    """
    mesh, pad = body.mesh, body.pad
    way = np.zeros((2, len(mesh.points), 3))
    z, r = mesh.points[pad].T
    way[0, pad] = np.column_stack([r, -z, z])
    way[1, pad] = np.array([0.0, 1.0, -1.0])
    moved = pattern.solve(body.parts, {1: np.zeros_like(way)}, {1: way})[1]
    forces = [body.parts.forces(1, u)[pad] for u in moved]
    # Work of each state's forces on each rigid motion: their moment and their force across the axle.
    works = np.array([[(f * w[pad]).sum() for f in forces] for w in way])
    others = pattern.held.copy()
    others[pad] = False
    if not others.any():
        raise GeometryError(
            "Nothing but the hub pad is held, so that a moment on it has nothing to act against."
        )
    if not math.isfinite(moment_nmm):
        raise GeometryError("The moment on the hub pad is not a number.")
    mix = np.linalg.solve(works, np.array([moment_nmm, 0.0]))
    return {1: np.tensordot(mix, moved, axes=1)}


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
        for n in out:
            out[n] += _pushed(body, edges, weight, (0.0, -peak * wave[n], 0.0), n)
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
    return {
        n: _pushed(body, edges, weight, (axial * wave[n], -down * wave[n], 0.0), n) for n in range(last + 1)
    }


def flange_load(body: Body, lip: Zone, force_n: float, half_deg: float) -> dict[int, Array]:
    """Return nodal forces of an axial load on a flange's flat face over an arc; + is outboard."""
    edges, weight = _face(body, lip)
    last = harmonics_for(half_deg)
    wave = half_wave(half_deg, last)
    peak = force_n / (_whole(body, edges, weight) * wave[0])
    return {n: _pushed(body, edges, weight, (peak * wave[n], 0.0, 0.0), n) for n in range(last + 1)}


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
    thin tyre's side wall, half of its load on tread and half on flange (from memory).

    Args:
        body: the wheel.
        pressure_mpa: of the tyre.
        tyre_outside_mm: its diameter.
        bead_n_mm: radial load of a bead on its seat per mm of its circumference, towards the axle.
    """
    mesh = body.mesh
    out = np.zeros((len(mesh.points), 3))
    inside = body.edges(Zone.WELL, Zone.BARREL, side=Side.TYRE)
    _, normal = edge_places(mesh, inside)
    push = np.zeros((*normal.shape[:2], 3))
    push[..., :2] = -pressure_mpa * normal
    out += edge_forces(mesh, inside, push, 0)
    for lip, seat, way in ((Zone.OUTER_LIP, Zone.OUTER_SEAT, 1.0), (Zone.INNER_LIP, Zone.INNER_SEAT, -1.0)):
        edges, weight = _face(body, lip)
        whole = _whole(body, edges, weight)
        # Where the pull is met: the middle of the weighted face.
        f = _whole(body, edges, weight * edge_places(mesh, edges)[0][..., 1]) / whole
        if not tyre_outside_mm / 2.0 > f:
            raise GeometryError(
                f"A tyre of {tyre_outside_mm:g} mm does not stand over the {lip}'s flange at r {f:.1f} mm."
            )
        pull = pressure_mpa * ((tyre_outside_mm / 2.0) ** 2 - f**2) / (4.0 * f) * 2.0 * np.pi * f
        out += _pushed(body, edges, weight, (way * pull / whole, 0.0, 0.0), 0)
        if bead_n_mm:
            on, spread = _seat(body, seat)
            under = _whole(body, on, spread)
            r = _whole(body, on, spread * edge_places(mesh, on)[0][..., 1]) / under
            out += _pushed(body, on, spread, (0.0, -bead_n_mm * 2.0 * np.pi * r / under, 0.0), 0)
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


def _whole(body: Body, edges: Indices, weight: Array) -> float:
    """Return the integral of a weight over the ring that edges turn to, mm2."""
    return float(_pushed(body, edges, weight, (1.0, 0.0, 0.0), 0)[:, 0].sum())


def _finite(force_n: float) -> None:
    if not math.isfinite(force_n):
        raise GeometryError("The force on the wheel is not a number.")


def _need(edges: Indices, zone: Zone) -> None:
    if not len(edges):
        raise GeometryError(f"The section has no {zone} on the tyre side; the load has nothing to act on.")
