"""Constraints held together: the outline that meets all of them, or the least set that cannot be met."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.constraints_solve import Solver
from geometry.shape.curve import Array, Flags, Path
from geometry.shape.held import Constraint

Shapes = Mapping[str, Sequence[Path]]


class ConflictError(GeometryError):
    """Constraints that cannot be met together; nothing was changed.

    Attributes:
        of: which ones, by their place in what was given: without any one of them the rest can be met.
        is_redundant: they can be met, but one of them says nothing that the others do not.
    """

    def __init__(self, of: tuple[int, ...], is_redundant: bool = False) -> None:
        super().__init__(f"Constraints {', '.join(str(k + 1) for k in of)} do not go together.")
        self.of, self.is_redundant = of, is_redundant


def hold(
    rows: Array,
    before: Array,
    constraints: Sequence[Constraint],
    fixed: Flags,
    shapes: Shapes,
    exact: bool = False,
) -> Array:
    """Return (n, 4) the rows nearest to an edit's, on which all constraints hold.

    What the edit moved stays where it was put, and the rest follows; where that cannot be, it gives way as
    little as it can, unless `exact`.

    Args:
        rows: (n, 4) z, r, bulge and corner radius as the edit left them.
        before: (n, 4) as they were before it.
        constraints: to be held.
        fixed: (n, 4) True for what may not move.
        shapes: outlines by name, in the frame of the rows.
        exact: each number that the edit changed stays exactly so.

    Raises:
        ConflictError: they cannot be met; it names the least set that cannot.
        GeometryError: one of them cannot be read on this outline.
    """
    moved = np.abs(rows - before) > 1e-12
    if not exact:  # a vertex that is dragged along one axis is meant as a place
        moved[:, :2] = moved[:, :2].any(axis=1, keepdims=True)

    def solved(some: Sequence[Constraint], pinned: bool) -> Array | None:
        return Solver(rows, before, some, fixed, shapes).nearest(moved, pinned)

    if moved.any() or exact:
        found = solved(constraints, True)
        if found is not None:
            return found
    if not exact:
        found = solved(constraints, False)
        if found is not None:
            return found
    raise ConflictError(_least(constraints, lambda some: solved(some, exact) is None))


def refuse_redundant(
    rows: Array, constraints: Sequence[Constraint], new: int, fixed: Flags, shapes: Shapes
) -> None:
    """Raise where a constraint says nothing that the others do not say already.

    Raises:
        ConflictError: with the least set that holds the same, and the new one.
    """

    def says_nothing(some: Sequence[Constraint]) -> bool:
        if constraints[new] not in some:
            return False
        others = [c for c in some if c is not constraints[new]]
        rank = [
            Solver(rows, rows, part, fixed, shapes).rank() for part in (others, [*others, constraints[new]])
        ]
        return rank[0] == rank[1]

    if says_nothing(constraints):
        raise ConflictError(_least(constraints, says_nothing), is_redundant=True)


def _least(
    constraints: Sequence[Constraint], fails: Callable[[Sequence[Constraint]], bool]
) -> tuple[int, ...]:
    """Return which constraints make a least set that fails, found by leaving out one after the other."""
    kept = list(range(len(constraints)))
    for k in range(len(constraints)):
        some = [i for i in kept if i != k]
        if some and fails([constraints[i] for i in some]):
            kept = some
    return tuple(kept)
