"""What of a state is drawn in full, and the outlines of its parts as pictures."""

from __future__ import annotations

from operator import attrgetter

import numpy as np
from PySide6.QtGui import QPainterPath

from app.project.project import Project
from app.session.edited import Kind
from app.session.shown import Shown
from app.studies.usable_blank import normal_mm, usable_path
from app.views.canvas.items import grown, painter_path
from app.views.last_made import but_vertices
from geometry.errors import GeometryError
from geometry.shape.blank import Blank
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, StayOut, outline_path
from geometry.shape.section import Vertex

#: Parts of a project that are drawn or named, besides its wheels.
_BESIDE = attrgetter("shapes", "blanks", "rule_sets", "display_unit")


def still_parts(shown: Shown) -> tuple[object, ...]:
    """Return all that tyre, blanks, shapes, gap lines and their words hang on; a wheel's drag leaves it."""
    wheel = () if shown.wheel is None else but_vertices(shown.wheel)
    return (shown.edited, shown.zone, *_BESIDE(shown.project), *wheel)


def blank_of(shown: Shown) -> Blank | None:
    """Return the blank that is drawn in full: the one that is edited, else the shown wheel's if visible."""
    name = shown.wheel.blank if shown.wheel is not None else None
    if shown.edited is not None and shown.edited.kind is Kind.BLANK:
        name = shown.edited.name
    return next((b for b in shown.project.blanks if b.name == name and b.visible), None)


def shapes_of(shown: Shown) -> list[StayOut]:
    """Return the shapes drawn in full: those that the wheel must clear, and the one that is edited."""
    names = set(shown.wheel.clears) if shown.wheel is not None else {s.name for s in shown.project.shapes}
    if shown.edited is not None and shown.edited.kind is Kind.SHAPE:
        names.add(shown.edited.name)
    return [s for s in shown.project.shapes if s.name in names and s.visible]


def path_of_corners(corners: tuple[Corner, ...], shift: float = 0.0) -> Path | None:
    """Return the exact outline of corners, shifted along the axle; None where it has faults."""
    path = outline_path(corners)
    return path.moved(shift) if isinstance(path, Path) else None


def chain_path(vertices: tuple[Vertex, ...] | tuple[Corner, ...], shift: float = 0.0) -> QPainterPath:
    """Return the closed chain of vertices with its bulges, without corner radii; for outlines with faults."""
    if len(vertices) < 2:
        return QPainterPath()
    points = np.array([(v.z + shift, v.r) for v in vertices], dtype=float)
    return painter_path(Path(points, np.array([v.bulge for v in vertices], dtype=float)))


def inner_line(project: Project, blank: Blank, path: Path, shift: float) -> QPainterPath:
    """Return what can be relied on of a blank: the outline less all that may be missing; else nothing."""
    try:
        usable = usable_path(project, blank)
    except GeometryError:
        return QPainterPath()  # said with the wheel's faults
    taken = normal_mm(blank)
    inner = path if usable is None else usable.moved(dz=shift)
    if taken > 0.0:
        return grown([inner], -taken)
    return QPainterPath() if usable is None else painter_path(inner)
