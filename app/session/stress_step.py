"""One step of the stress that follows a drag, as the child process works it out; no Qt here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from app.language import tr
from geometry.errors import GeometryError
from geometry.readings.solid import SpokeRegion
from geometry.shape.curve import Array, Indices
from geometry.shape.section import ZONES, Outline, Zone
from geometry.strength.loads import EXERCISED, TestLoad
from geometry.strength.mesh import Mesh
from geometry.strength.metals import Metal
from geometry.strength.preview import Preview, Shown

#: Meshes that the child keeps: of the wheel that is drawn, and of the reference.
_MOST_KEPT = 2
_kept: dict[str, Preview] = {}


@dataclass(frozen=True, eq=False)
class Question:
    """One section under one load.

    Attributes:
        name: of wheel, load and metal together: the mesh of the last drag is kept under it.
        outline: in the wheel's own frame, mounting face at z = 0.
        held_top_mpa: the scale ends no lower than this; 0 lets it follow the stress.
    """

    name: str
    load: TestLoad
    metal: Metal
    tyre_outside_mm: float
    outline: Outline
    spokes: SpokeRegion | None
    held_top_mpa: float = 0.0


#: The scale ends at the yield strength, or at the least of these shares of it that holds the greatest stress.
_ENDS = (0.25, 0.5, 1.0)

#: Borders of what lies at or above each level, (m, 2) places each, of a mesh with a value at every node.
Above = Callable[[Mesh, Array, tuple[float, ...]], tuple[tuple[Array, ...], ...]]
#: Borders of the metal of some zones; (n,) zone index of each node of the skin, -1 inside.
Zoned = Callable[[Mesh, Indices, tuple[Zone, ...]], tuple[Array, ...]]


@dataclass(frozen=True, eq=False)
class Step:
    """Stress of one step of a drag, on the one mesh of the drag.

    Attributes:
        greatest_mpa: of the skin that the test exercises, at (z, r) `at` in `zone`.
        harmonics: how many were summed.
        levels: where each colour begins, MPa; the scale ends at `top_mpa`.
        above: borders of what lies at or above each level, (m, 2) places each, wheel's own frame.
        silent: zones of the section that the test does not exercise; silent_metal: borders of theirs.
        smeared: True where the section has spokes, which it knows as a smeared ring alone.
    """

    greatest_mpa: float
    at: tuple[float, float]
    zone: str
    yield_mpa: float
    harmonics: int
    top_mpa: float
    levels: tuple[float, ...]
    above: tuple[tuple[Array, ...], ...]
    silent: tuple[str, ...]
    silent_metal: tuple[Array, ...]
    smeared: bool = False

    @property
    def use(self) -> float:
        """Share of the least yield strength at the greatest place."""
        return self.greatest_mpa / self.yield_mpa


def top_mpa(greatest_mpa: float, yield_mpa: float, held_mpa: float = 0.0) -> float:
    """Return where the scale ends: never below where it was held, and never beyond the yield strength."""
    share = next((s for s in _ENDS if greatest_mpa <= s * yield_mpa), _ENDS[-1])
    return max(share * yield_mpa, min(held_mpa, yield_mpa))


def step(question: Question, colours: int, above: Above, zoned: Zoned) -> Step:
    """Return the stress of a section, on the mesh of the last step under the same name where that follows.

    Args:
        question: the section and its load.
        colours: how many the scale has.
        above: finds what lies above levels.
        zoned: finds the metal of zones.

    Raises:
        GeometryError: the section cannot be meshed, held or loaded, or has no zone that the test exercises.
    """
    preview = _kept.pop(question.name, None)
    if preview is None:
        while len(_kept) >= _MOST_KEPT:
            del _kept[next(iter(_kept))]
        preview = Preview(question.load, question.metal, question.tyre_outside_mm)
    found = preview.step(question.outline, question.spokes)
    _kept[question.name] = preview
    most, at, zone = greatest(question, found)
    held, mesh = question.metal.yield_mpa, found.mesh
    top = top_mpa(most, held, question.held_top_mpa)
    levels = tuple(top * k / colours for k in range(colours))
    there = set(question.outline.zone.tolist())
    exercised = EXERCISED[question.load.kind]
    silent = tuple(z for k, z in enumerate(ZONES) if k in there and z.value not in exercised)
    zone_of_node = np.full(len(mesh.points), -1, dtype=np.intp)
    for end in (1, 2, 0):  # a joint belongs to the edge that leaves it
        zone_of_node[mesh.edges[:, end]] = question.outline.zone[mesh.piece]
    return Step(
        most,
        at,
        zone,
        held,
        found.harmonics,
        top,
        levels,
        above(mesh, found.mises_mpa, levels),
        tuple(z.value for z in silent),
        zoned(mesh, zone_of_node, silent) if silent else (),
        question.spokes is not None and question.spokes.count > 0,
    )


def greatest(question: Question, shown: Shown) -> tuple[float, tuple[float, float], str]:
    """Return the greatest stress of the skin that the test exercises, MPa, its place and its zone.

    Raises:
        GeometryError: the section has no zone that the test exercises.
    """
    mesh, zone_of_edge = shown.mesh, question.outline.zone[shown.mesh.piece]
    exercised = [k for k, zone in enumerate(ZONES) if zone.value in EXERCISED[question.load.kind]]
    edges = np.flatnonzero(np.isin(zone_of_edge, exercised))
    if not len(edges):
        raise GeometryError(tr("The section has no zone that {name} exercises.", name=question.load.name))
    on = shown.mises_mpa[mesh.edges[edges]]
    row, end = divmod(int(on.argmax()), on.shape[1])
    z, r = mesh.points[mesh.edges[edges[row], end]].tolist()
    return float(on.max()), (z, r), ZONES[int(zone_of_edge[edges[row]])].value
