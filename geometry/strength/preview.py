"""Stress while a section is dragged: the mesh of the start with its nodes moved, its pattern reused.

The skin's nodes follow their pieces; interior corners follow by the mesh's Laplacian, factored once. Where
the pieces change, or an element becomes too flat, a new mesh is made. The same functions as the study's: on
the same mesh and with the same harmonics the two agree to rounding.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.readings.solid import SpokeRegion
from geometry.shape.curve import Array
from geometry.shape.section import Outline
from geometry.strength.harmonic import Pattern
from geometry.strength.loads import Kind, TestLoad
from geometry.strength.mesh import LEAST_CORNER_DEG, LEAST_FLATNESS, Mesh, mesh_of
from geometry.strength.metals import Metal
from geometry.strength.morph import Morph
from geometry.strength.rim_loads import inflated, seat_load
from geometry.strength.sizes import PREVIEW
from geometry.strength.wheel import Body, bent, body_on

#: Harmonics 0 to 6 up to so many unknowns, else 0 to 3; the picture says which.
MANY_UNKNOWNS, ALL_HARMONICS, FEW_HARMONICS = 6_000, 7, 4
#: Angles of half a turn at which the sum is taken.
_ANGLES = np.radians(np.arange(0.0, 181.0, 10.0))


@dataclass(frozen=True, eq=False)
class Shown:
    """Stress of one step.

    Attributes:
        mesh: of the step. mises_mpa: (n,) greatest von Mises stress round the turn at each node.
        harmonics: how many were summed. remeshed: the step took a new mesh.
    """

    mesh: Mesh
    mises_mpa: Array
    harmonics: int
    remeshed: bool


class Preview:
    """Stress under one test's load, step by step of a drag."""

    def __init__(self, load: TestLoad, metal: Metal, tyre_outside_mm: float = 0.0) -> None:
        """Prepare for a load: rotating bending, rolling or inflation.

        Raises:
            GeometryError: the load is of another kind, which has no stress field of its own.
        """
        if load.kind not in (Kind.BENDING, Kind.ROLLING, Kind.INFLATION):
            raise GeometryError(f"{load.name} is not shown while drawing; the study judges it.")
        self.load, self.metal, self._outside = load, metal, tyre_outside_mm
        self._outline: Outline | None = None
        self._mesh: Mesh | None = None
        self._pattern: Pattern | None = None
        self._morph: Morph | None = None

    def step(self, outline: Outline, spokes: SpokeRegion | None) -> Shown:
        """Return the stress of a section.

        Raises:
            GeometryError: it cannot be meshed, held or loaded; what stands is kept for the next step.
        """
        mesh, fresh = self._mesh_for(outline)
        body = body_on(mesh, outline, self.metal, spokes)
        if fresh or self._pattern is None:
            self._pattern = body.pattern(self.load.clamp)
        self._outline, self._mesh = outline, mesh
        shown, count = stress_of(body, self.load, self._pattern, self._outside)
        return Shown(mesh, shown, count, fresh)

    def _mesh_for(self, outline: Outline) -> tuple[Mesh, bool]:
        last = self._outline
        if (
            self._mesh is not None
            and self._morph is not None
            and last is not None
            and len(last.path) == len(outline.path)
            and np.array_equal(last.zone, outline.zone)
            and np.array_equal(last.path.is_arc, outline.path.is_arc)
        ):
            mesh = self._morph.on(self._mesh, outline.path)
            if mesh.corner_deg.min() >= LEAST_CORNER_DEG and mesh.flatness.min() >= LEAST_FLATNESS / 2.0:
                return mesh, False
        mesh = mesh_of(outline.path, PREVIEW)
        self._morph = Morph(mesh)
        return mesh, True


def stress_of(
    body: Body, load: TestLoad, pattern: Pattern, tyre_outside_mm: float, harmonics: int | None = None
) -> tuple[Array, int]:
    """Return (n,) greatest von Mises stress at each node under a load, MPa, and the harmonics summed.

    Args:
        body: the wheel.
        load: rotating bending, rolling or inflation.
        pattern: of the load's clamp.
        tyre_outside_mm: diameter, for inflation, which a rolling tyre has too.
        harmonics: how many at most; None for what the unknowns allow while drawing.
    """
    few = ALL_HARMONICS if body.mesh.unknowns <= MANY_UNKNOWNS else FEW_HARMONICS
    most = few if harmonics is None else harmonics
    if load.kind is Kind.BENDING and load.moment_nm is not None:
        displaced = bent(body, load.moment_nm * 1000.0, pattern)
    elif load.kind is Kind.ROLLING and load.force_n is not None:
        forces = seat_load(body, load.force_n, load.constants["theta0"].value)
        if load.pressure_mpa is not None:
            forces[0] = forces[0] + inflated(body, load.pressure_mpa, tyre_outside_mm)[0]
        displaced = pattern.solve(body.parts, {n: f for n, f in forces.items() if n < most})
    elif load.pressure_mpa is not None:
        bead = load.constants["bead"].value if "bead" in load.constants else 0.0
        displaced = pattern.solve(body.parts, inflated(body, load.pressure_mpa, tyre_outside_mm, bead))
    else:
        raise GeometryError(f"{load.name} has no stress field of its own.")
    stress = {n: body.recovery.stress(n, u) for n, u in displaced.items()}
    return body.greatest_round_turn(stress, _ANGLES), len(displaced)
