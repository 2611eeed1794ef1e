"""What the child process works out for the picture of a drag's stress; no Qt here."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from app.reports.strength_bands import SCALE, Field, Loop, border, elements_of
from app.session.child import Progress
from app.session.stress_step import Question, Step, step
from geometry.shape.curve import Array, Indices
from geometry.shape.section import Zone
from geometry.strength.mesh import Mesh


def drawn_step(question: Question, _progress: Progress) -> Step:
    """Return the stress of a section with the borders of its colours.

    Raises:
        GeometryError: the section cannot be meshed, held or loaded.
    """
    return step(question, len(SCALE), _above, _zoned)


def _above(mesh: Mesh, values: Array, levels: tuple[float, ...]) -> tuple[tuple[Array, ...], ...]:
    field = Field(mesh, values)
    return tuple(_rows(field.above(level)) for level in levels)


def _zoned(mesh: Mesh, zone_of_node: Indices, zones: tuple[Zone, ...]) -> tuple[Array, ...]:
    return _rows(border(mesh, elements_of(mesh, zone_of_node, zones)))


def _rows(loops: Sequence[Loop]) -> tuple[Array, ...]:
    return tuple(np.asarray(loop, dtype=float) for loop in loops)
