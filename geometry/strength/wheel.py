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
from geometry.strength.elements import RR, RT
from geometry.strength.harmonic import (
    Parts,
    Pattern,
    Recovery,
    at_angles,
    parts_of,
    places_of_stiffness,
    places_of_stress,
    von_mises,
)
from geometry.strength.loads import Clamp
from geometry.strength.mesh import Mesh, mesh_of
from geometry.strength.metals import Metal
from geometry.strength.sizes import STUDY, SizeRule
from geometry.strength.spoked import Smear, smear_of

_SIDES = list(Side)
#: The mounting face lies at z = 0 within this, mm.
_FACE_MM = 0.02
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

    def greatest_round_turn(self, stress: Mapping[int, Array], angles_rad: Array) -> Array:
        """Return (n,) greatest von Mises stress at each node over what `round_turn` has there, MPa.

        What is alike is summed once: most nodes are of rings or of spokes alone, and only these have flanks.

        Args:
            stress: (s n, 6) at all nodes by harmonic, from `recovery`.
            angles_rad: (a,) where round the turn.
        """
        count = len(self.mesh.points)
        own = self.recovery.own
        rows = np.concatenate([np.flatnonzero(there) + side * count for side, there in enumerate(own)])
        node = rows % count
        seen = at_angles({n: s[rows] for n, s in stress.items()}, angles_rad)
        flanked = np.flatnonzero(self._across[node])
        out = np.zeros(count)
        if not len(flanked):
            np.maximum.at(out, node, von_mises(seen).max(axis=0))
            return out
        bent = np.zeros((len(angles_rad), len(flanked)))
        for n, s in stress.items():
            turn = np.sin(n * angles_rad) if n else np.ones(len(angles_rad))
            bent += turn[:, None] * self.flank(s)[node[flanked]]
        other = seen[:, flanked].copy()
        other[..., RR] -= bent
        seen[:, flanked, RR] += bent
        np.maximum.at(out, node, von_mises(seen).max(axis=0))
        np.maximum.at(out, node[flanked], von_mises(other).max(axis=0))
        return out

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
