"""The vertices of an outline as a model of typed cells: places, radii, arcs, zones and anchors."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import compress
from operator import attrgetter, is_not, ne
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import decimals, unit_of
from app.session import drag
from app.session.edited import (
    Edited,
    EditError,
    Kind,
    find,
    grade_of,
    locked_count,
    vertices_of,
    with_vertices,
)
from app.units import LengthUnit, format_length, parse_length_mm
from app.views.readings_text import minus
from geometry.shape.outline import Corner
from geometry.shape.section import AnchorR, AnchorZ, Vertex, Zone
from geometry.tolerances import STRAIGHT_BULGE

_Index = QModelIndex | QPersistentModelIndex
_Z, _R, _RADIUS, _EDGE, _ZONE, _ANCHOR_Z, _ANCHOR_R = range(7)
HEADS = ("z", "r", tr("radius"), tr("edge"), tr("zone"), tr("z follows"), tr("r follows"))
CHOICES: dict[int, tuple[str, ...]] = {
    _ZONE: tuple(Zone),
    _ANCHOR_Z: tuple(AnchorZ),
    _ANCHOR_R: tuple(AnchorR),
}
_TIPS = (
    tr("Along the axle from the thing's own zero, + outboard"),
    tr("Away from the axle line"),
    tr("Corner radius; 0 is a sharp corner"),
    tr("Edge to the next vertex: line, or the radius of its arc; + turns left, - turns right"),
    tr("Zone of the edge to the next vertex"),
    tr("What the vertex follows along the axle when width or inset change"),
    tr("What the vertex follows when the diameter changes"),
)
#: What decides the cell of each column; that of an edge hangs on its far end too.
_FIELDS = ("z", "r", "radius", "bulge", "zone", "anchor_z", "anchor_r")
_ALIGNED = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
_READ = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
_EDITED = _READ | Qt.ItemFlag.ItemIsEditable
_DISPLAY, _EDIT = int(Qt.ItemDataRole.DisplayRole), int(Qt.ItemDataRole.EditRole)
_TIP, _INK = int(Qt.ItemDataRole.ToolTipRole), int(Qt.ItemDataRole.ForegroundRole)
_PLACE = int(Qt.ItemDataRole.TextAlignmentRole)


def arc_radius_mm(start: Vertex | Corner, end: Vertex | Corner) -> float | None:
    """Return the radius of the edge's arc, + turning left, or None for a straight edge."""
    if abs(start.bulge) < STRAIGHT_BULGE:
        return None
    chord = math.hypot(end.z - start.z, end.r - start.r)
    return chord * (1.0 + start.bulge**2) / (4.0 * start.bulge)


def bulge_of(
    radius_mm: float, start: Vertex | Corner, end: Vertex | Corner, unit: LengthUnit = "mm"
) -> float:
    """Return the bulge of the shorter arc of a radius between two vertices, + turning left; 0 mm is a line.

    A refusal tells lengths in the unit.

    Raises:
        EditError: the chord is longer than the diameter.
    """
    if radius_mm == 0.0:
        return 0.0
    half = math.hypot(end.z - start.z, end.r - start.r) / 2.0
    if abs(radius_mm) < half * (1.0 - 1e-12):
        raise EditError(
            tr(
                "An arc of radius {radius} cannot span this edge: half its length is {half}; "
                "take at least that, or line.",
                radius=format_length(abs(radius_mm), unit),
                half=format_length(half, unit),
            )
        )
    return math.copysign(math.tan(math.asin(min(half / abs(radius_mm), 1.0)) / 2.0), radius_mm)


def _shows(vertices: tuple[Vertex | Corner, ...], row: int, column: int) -> float | str | None:
    """Return what a cell shows: a length in mm, a word, or None for a straight edge."""
    vertex = vertices[row]
    if column == _EDGE:
        return arc_radius_mm(vertex, vertices[(row + 1) % len(vertices)])
    if column in (_Z, _R, _RADIUS):
        return (vertex.z, vertex.r, vertex.radius)[column]
    assert isinstance(vertex, Vertex)
    return str({_ZONE: vertex.zone, _ANCHOR_Z: vertex.anchor_z, _ANCHOR_R: vertex.anchor_r}[column])


@dataclass(frozen=True)
class _Wrong:
    text: str
    message: str


class VertexModel(QAbstractTableModel):
    """One row a vertex; a text that cannot be taken stays in its cell with its message."""

    def __init__(self, commit: Callable[[Project, str], None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._commit = commit
        self.project = Project("")
        self.edited: Edited | None = None
        self.unit: LengthUnit = "mm"
        self.decimals = 2
        self.vertices: tuple[Vertex | Corner, ...] = ()
        self.locked = 0  # as many rows, the first ones, cannot be edited
        self._all_locked = False
        self.wrong: dict[tuple[int, int], _Wrong] = {}
        self._why: dict[int, str] = {}  # why a row is locked, for those that were asked about
        self.quiet = self.error = ""

    def set_state(self, project: Project, edited: Edited | None) -> bool:
        """Show the vertices of another state; return True when rows were rebuilt."""
        vertices = vertices_of(project, edited) if edited else ()
        unit = unit_of(project)
        locked = locked_count(project, edited) if edited else 0
        thing = find(project, edited) if edited else None
        self._all_locked = thing is not None and thing.locked
        shown_as = unit, decimals(grade_of(project, edited), unit)
        rebuilt = (edited, len(vertices), shown_as) != (
            *(self.edited, len(self.vertices), (self.unit, self.decimals)),
        )
        if rebuilt:
            self.beginResetModel()
            self.wrong.clear()
        before = self.vertices
        self._why.clear()
        self.project, self.edited = project, edited
        self.unit, self.decimals = shown_as
        self.vertices, self.locked = vertices, locked
        if rebuilt:
            self.endResetModel()
            return True
        self._tell_changed(before)
        return False

    def _tell_changed(self, before: tuple[Vertex | Corner, ...]) -> None:
        """Have those cells painted again that show something else than before."""
        now, columns = self.vertices, range(self.columnCount())
        fields: Callable[[object], tuple[object, ...]] = attrgetter(*_FIELDS[: len(columns)])
        for i in compress(range(len(now)), map(is_not, before, now)):
            was, shows = fields(before[i]), fields(now[i])
            if was == shows:
                continue
            for column in compress(columns, map(ne, was, shows)):
                if column != _EDGE:
                    self._tell(i, column)
            # The edge of the vertex before ends here, and may have another radius.
            for edge in (i - 1, i):
                if _shows(before, edge, _EDGE) != _shows(now, edge, _EDGE):
                    self._tell(edge % len(now), _EDGE)

    def _tell(self, row: int, column: int) -> None:
        """Tell of one cell: of several at once the view paints a pixel more, and with it the cells beside."""
        cell = self.createIndex(row, column)
        self.dataChanged.emit(cell, cell)

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return the number of vertices."""
        return 0 if parent.isValid() else len(self.vertices)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many columns the edited thing has: blanks and shapes have no zones and anchors."""
        wheel = self.edited is not None and self.edited.kind is Kind.WHEEL
        return len(HEADS) if wheel else _EDGE + 1

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> object:
        """Return the heads: columns by name, rows by number with the sign of a lock."""
        across = orientation == Qt.Orientation.Horizontal
        if role == Qt.ItemDataRole.DisplayRole:
            return HEADS[section] if across else f"{section + 1}{' L' if self.is_locked(section) else ''}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return _TIPS[section] if across else self.why_locked(section)
        return None

    def is_locked(self, row: int) -> bool:
        """True where a row cannot be edited."""
        return bool(self.why_locked(row))

    def why_locked(self, row: int) -> str:
        """Return why a row cannot be edited, or nothing."""
        if self.edited is None:
            return ""
        if row >= self.locked and not self._all_locked:
            return ""
        if row not in self._why:
            self._why[row] = self._refusal(row)
        return self._why[row]

    def _refusal(self, row: int) -> str:
        if self.edited is None:
            return ""
        try:
            drag.refuse_locked(self.project, self.edited, row)
        except EditError as error:
            return spoken(str(error))
        return ""

    def flags(self, index: _Index) -> Qt.ItemFlag:
        """Return editable for rows that are not locked."""
        return _READ if self.is_locked(index.row()) else _EDITED

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text of a cell, or the wrong text that was typed into it."""
        if role == _PLACE:
            return _ALIGNED if index.column() <= _EDGE else None
        if role not in (_DISPLAY, _EDIT, _TIP, _INK):
            return None
        row, column = index.row(), index.column()
        wrong = self.wrong.get((row, column)) if self.wrong else None
        if role == _TIP:
            return wrong.message if wrong else self.why_locked(row) or None
        if role == _INK:
            if wrong:
                return QColor(self.error)
            return QColor(self.quiet) if self.is_locked(row) else None
        if wrong:
            return wrong.text
        text = self.text(row, column)
        if role == _EDIT:
            return text
        return spoken(text) if column in CHOICES else minus(text)

    def text(self, row: int, column: int) -> str:
        """Return what a cell shows when nothing wrong stands in it."""
        value = _shows(self.vertices, row, column)
        if isinstance(value, str):
            return value
        return tr("line") if value is None else self._length(value)

    def _length(self, value_mm: float) -> str:
        return format_length(value_mm, self.unit, self.decimals, with_unit=False)

    def setData(self, index: _Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take a typed text: one undo step, or it stays with what is wrong about it."""
        row, column, text = index.row(), index.column(), str(value).strip()
        if role != Qt.ItemDataRole.EditRole or self.edited is None:
            return False
        try:
            drag.refuse_locked(self.project, self.edited, row)
            vertices = list(self.vertices)
            vertices[row] = self._changed(row, column, text)
            project = with_vertices(self.project, self.edited, vertices)
        except ValueError as error:
            self.wrong[row, column] = _Wrong(
                text, tr("Vertex {row}, {head}: {error}", row=row + 1, head=HEADS[column], error=error)
            )
            self.dataChanged.emit(index, index)
            return False
        self.forget(row, column)
        self._commit(
            project, tr("{capitalize} of vertex {row}", capitalize=HEADS[column].capitalize(), row=row + 1)
        )
        return True

    def forget(self, row: int, column: int) -> None:
        """Drop a wrong text and show what the cell holds."""
        if self.wrong.pop((row, column), None) is not None:
            cell = self.index(row, column)
            self.dataChanged.emit(cell, cell)

    def _changed(self, row: int, column: int, text: str) -> Vertex | Corner:
        vertex = self.vertices[row]
        if column == _EDGE:
            straight = text.lower() in ("line", "straight", "", tr("line").lower())
            radius = 0.0 if straight else parse_length_mm(text, self.unit)
            end = self.vertices[(row + 1) % len(self.vertices)]
            return replace(vertex, bulge=bulge_of(radius, vertex, end, self.unit))
        if column in CHOICES:
            assert isinstance(vertex, Vertex)
            kind = (Zone, AnchorZ, AnchorR)[column - _ZONE]
            field = ("zone", "anchor_z", "anchor_r")[column - _ZONE]
            changes: dict[str, Any] = {field: kind(text)}
            return replace(vertex, **changes)
        value = parse_length_mm(text, self.unit)
        if column != _Z and value < 0.0:
            raise EditError(
                tr(
                    "{value} is below zero; {head} starts at 0.",
                    value=self._length(value),
                    head=HEADS[column],
                )
            )
        place: dict[str, Any] = {("z", "r", "radius")[column]: value}
        return replace(vertex, **place)
