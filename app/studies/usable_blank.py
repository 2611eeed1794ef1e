"""What can be relied on of a blank: its table of tolerances, or what was measured on forgings instead."""

from __future__ import annotations

from functools import lru_cache

from app.project.project import Project
from geometry.errors import GeometryError
from geometry.forging import usable
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Blank, Tolerance
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, placed_outline


def usable_path(project: Project, blank: Blank) -> Path | None:
    """Return the outline that stock is read to, in the blank's own frame; None where that is the drawn one.

    A measured least outline stands in place of the drawn one and of the forging's own minus sides. Dents,
    coarse grain and centring are taken off either.

    Raises:
        GeometryError: an outline is not one, or nothing is left of it.
    """
    least = next((b for b in project.blanks if b.name == blank.measured_least), None)
    path = _usable((least or blank).corners, _counted(blank), blank.parting_mm)
    return None if least is None and path is _drawn(blank.corners) else path


def drawn_path(blank: Blank) -> Path:
    """Return the outline as drawn, in the blank's own frame.

    Raises:
        GeometryError: it is not an outline.
    """
    return _drawn(blank.corners)


def normal_mm(blank: Blank) -> float:
    """Return what is taken off square to the skin: skin, dents, coarse grain."""
    return blank.skin_mm + usable.normal_mm(blank.tolerances)


def greatest_mm3(project: Project, blank: Blank) -> float:
    """Return the volume of a forging with all that may be surplus, or of the greatest that was measured.

    Raises:
        GeometryError: an outline is not one, or a cause stands twice.
    """
    greatest = next((b for b in project.blanks if b.name == blank.measured_greatest), None)
    if greatest is not None:
        return volume_mm3(_drawn(greatest.corners))
    path = _drawn(blank.corners)
    return volume_mm3(path) + usable.surplus_mm3(path, blank.tolerances)


def _counted(blank: Blank) -> tuple[Tolerance, ...]:
    measured = blank.measured_least is not None
    return tuple(t for t in blank.tolerances if not (measured and t.cause in usable.OF_THE_FORGING))


@lru_cache(64)
def _drawn(corners: tuple[Corner, ...]) -> Path:
    path = placed_outline(corners, 0.0)
    if not isinstance(path, Path):
        raise GeometryError(path[0].message, path[0].place)
    return path


# A drag and a map ask for the same blank thousands of times.
@lru_cache(64)
def _usable(corners: tuple[Corner, ...], tolerances: tuple[Tolerance, ...], parting: float | None) -> Path:
    return usable.usable(_drawn(corners), tolerances, parting)
