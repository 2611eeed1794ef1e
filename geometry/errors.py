"""Errors of the geometry: each carries a plain sentence and, where there is one, its place."""

from __future__ import annotations


class GeometryError(ValueError):
    """A value that no outline can have: not finite, below the axle line, too few vertices.

    Attributes:
        place: (z, r) in mm where it was found, or None.
    """

    def __init__(self, message: str, place: tuple[float, float] | None = None) -> None:
        super().__init__(message)
        self.place = place
