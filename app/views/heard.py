"""What a screen reader is told of what is drawn: the picture's vertices and readings in words."""

from __future__ import annotations

from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import worst_three
from app.session.edited import grade_of, vertices_of
from app.session.shown import Shown
from app.views.readings_text import minus, sentence
from geometry.shape.section import Vertex


class Heard:
    """Keeps name and description of the drawing true; while a gesture is under way they rest.

    Args:
        sheet: the drawing.
        worst: the label of the worst readings.
    """

    def __init__(self, sheet: QWidget, worst: QWidget) -> None:
        self._sheet, self._worst = sheet, worst
        self._vertex = ""

    def show_state(self, shown: Shown) -> None:
        """Tell another state."""
        if shown.dragging:
            return
        name = shown.wheel.name if shown.wheel is not None else shown.project.name
        vertex, state = vertex_words(shown), " ".join(state_words(shown))
        _tell(self._sheet, tr("Drawing of {name}", name=name), f"{vertex} {state}".strip())
        _tell(self._worst, tr("Worst readings"), state)
        if vertex != self._vertex:
            self._vertex = vertex
            if vertex and QAccessible.isActive():
                QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self._sheet, vertex))


def _tell(widget: QWidget, name: str, words: str) -> None:
    if widget.accessibleName() != name:
        widget.setAccessibleName(name)
    if widget.accessibleDescription() != words:
        widget.setAccessibleDescription(words)


def vertex_words(shown: Shown) -> str:
    """Return the selected vertex as a sentence; empty for none."""
    edited, index = shown.edited, shown.selected
    vertices = vertices_of(shown.project, edited) if edited is not None else ()
    if edited is None or index is None or index >= len(vertices):
        return ""
    v, numbers = vertices[index], Numbers(unit_of(shown.project))
    z, r, radius = (minus(numbers.length(x, grade_of(shown.project, edited))) for x in (v.z, v.r, v.radius))
    said = tr(
        "Vertex {number} of {count} of {name}: z {z}, r {r}, corner radius {radius} {unit}.",
        number=index + 1,
        count=len(vertices),
        name=edited.name,
        z=z,
        r=r,
        radius=radius,
        unit=numbers.unit,
    )
    if isinstance(v, Vertex):
        said += " " + tr("Its edge is {zone}.", zone=spoken(str(v.zone)))
    if len(shown.group) > 1:
        said += " " + tr("{count} vertices are chosen.", count=len(shown.group))
    return said


def state_words(shown: Shown) -> list[str]:
    """Return the wheel's state and its three worst readings, or its faults, as sentences."""
    if shown.wheel is None:
        return [tr("No wheel is shown.")]
    if shown.measurements is None:
        return [tr("No readings: the outline has faults."), *(spoken(f.message) for f in shown.faults[:3])]
    unit = unit_of(shown.project)
    rows = worst_three(shown.measurements, shown.road.rows if shown.road is not None else ())
    said = [
        tr(
            "{state}: {sentence}",
            state=spoken(str(row.state)),
            sentence=sentence(row, unit).removesuffix("."),
        )
        for row in rows
    ]
    return [tr("The wheel is {state}.", state=spoken(str(shown.state))), *(f"{words}." for words in said)]
