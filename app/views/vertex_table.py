"""The vertices of the edited outline as a table: typed places, radii, arcs, zones and anchors."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import (
    QAbstractItemModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.cells import tabbed
from app.session.edited import (
    offset_mm,
)
from app.session.shown import Shown
from app.units import format_length
from app.views.keys import LocalKeys
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.views.vertex_model import CHOICES, HEADS, VertexModel

_Index = QModelIndex | QPersistentModelIndex


class _Editor(QStyledItemDelegate):
    """Opens a list for zones and anchors, a line for everything else."""

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: _Index) -> QWidget:
        """Return the editor of a cell."""
        choices = CHOICES.get(index.column())
        if choices is None:
            return super().createEditor(parent, option, index)
        box = QComboBox(parent)
        for choice in choices:
            box.addItem(spoken(choice), choice)
        box.activated.connect(lambda _row: self._chosen(box))
        return box

    def _chosen(self, box: QComboBox) -> None:
        self.commitData.emit(box)
        self.closeEditor.emit(box)

    def setEditorData(self, editor: QWidget, index: _Index) -> None:
        """Put the cell's text into its editor."""
        if isinstance(editor, QComboBox):
            editor.setCurrentIndex(editor.findData(str(index.data(Qt.ItemDataRole.EditRole))))
        else:
            super().setEditorData(editor, index)

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: _Index) -> None:
        """Hand the editor's text to the model; one that nobody has typed is a rounded number, and no edit."""
        if isinstance(editor, QComboBox):
            model.setData(index, editor.currentData(), Qt.ItemDataRole.EditRole)
        elif not isinstance(editor, QLineEdit) or editor.isModified():
            super().setModelData(editor, model, index)


class VertexTable(QWidget):
    """The vertices of the edited wheel, blank or shape, in its own frame.

    A text that cannot be taken stays in its cell with its message under the table; a locked row says why
    when editing it is tried.

    Signals:
        changed(Project, text): a typed value to be committed as one step.
        vertex_selected(index): another row became current.
        said(text): why a row cannot be edited.
    """

    changed = Signal(object, str)
    vertex_selected = Signal(int)
    said = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.title, self.message = QLabel(), QLabel()
        self.model = VertexModel(self.changed.emit, self)
        self.table = _Table()
        self.table.setModel(self.model)
        self.table.setItemDelegate(_Editor(self.table))
        # What starts a number starts typing in a cell, whatever else the window does with that key.
        LocalKeys(self.table, dict.fromkeys([*"0123456789.,+-", "Return", "Enter", "Ctrl+C"]))
        self._dress()
        self.title.setContentsMargins(8, 4, 8, 4)
        self.message.setContentsMargins(8, 2, 8, 4)
        self.message.setWordWrap(True)
        self.message.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for widget in (self.title, self.table, self.message):
            column.addWidget(widget)
        self.table.selectionModel().currentChanged.connect(self._current_changed)
        self.table.refused.connect(self._refused)
        self.table.escaped.connect(self._escaped)
        self.model.dataChanged.connect(lambda *_: self._say())
        theme.changed.connect(self._colour)
        self._colour()

    def _dress(self) -> None:
        table = self.table
        table.setFont(figures(table.font()))
        table.setAccessibleName(tr("Vertices"))
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setShowGrid(False)
        table.setAlternatingRowColors(True)
        table.setFrameShape(QTableView.Shape.NoFrame)
        table.setWordWrap(False)
        metrics = table.fontMetrics()
        rows = table.verticalHeader()
        rows.setDefaultSectionSize(metrics.height() + 6)
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        heads = table.horizontalHeader()
        heads.setHighlightSections(False)
        heads.setMinimumSectionSize(30)
        widths = [
            "-000.00",
            "000.00",
            "00.00",
            "-000.00",
            tr("spoke back"),
            tr("mounting face"),
            tr("bead seat"),
        ]
        self._widths = [
            metrics.horizontalAdvance(max(w, h, key=len)) + 12 for w, h in zip(widths, HEADS, strict=True)
        ]
        self._size_columns()

    def _size_columns(self) -> None:
        for k in range(self.model.columnCount()):
            self.table.setColumnWidth(k, self._widths[k])

    def show_state(self, shown: Shown) -> None:
        """Show another state; an open editor is left alone while its row stands."""
        if self.model.set_state(shown.project, shown.edited):
            self._size_columns()
        self._title(shown)
        row = -1 if shown.selected is None else shown.selected
        current = self.table.currentIndex()
        if row != current.row():
            selection = self.table.selectionModel()
            selection.blockSignals(True)
            if row < 0:
                selection.clear()
                self.table.setCurrentIndex(QModelIndex())
            else:
                cell = self.model.index(row, max(current.column(), 0))
                self.table.setCurrentIndex(cell)
                self.table.scrollTo(cell)
            selection.blockSignals(False)
            self.table.viewport().update()
        self._say()

    def copied_text(self) -> str:
        """Return the whole table as text with tabs."""
        return self.table.as_text()

    def _title(self, shown: Shown) -> None:
        edited = shown.edited
        if edited is None:
            self.title.setText(tr("Nothing to edit: make a wheel with New."))
            return
        text = tr("Vertices of {name}, {unit}", name=edited.name, unit=self.model.unit)
        offset = offset_mm(shown.project, edited, shown.wheel)
        if offset:
            text += tr(
                " · own z; the drawing lies {offset} further out",
                offset=minus(format_length(offset, self.model.unit)),
            )
        self.title.setText(text)

    def _colour(self) -> None:
        self.model.quiet = self._theme.colours.quiet
        self.model.error = self._theme.colours.short
        self.message.setStyleSheet(f"color: {self._theme.colours.short}")
        self.table.viewport().update()

    def _current_changed(self, index: QModelIndex, before: QModelIndex) -> None:
        if index.isValid() and index.row() != before.row():
            self.vertex_selected.emit(index.row())
        self._say()

    def _say(self) -> None:
        """Show the message of the current cell, else of the first wrong one, else why the row is locked."""
        if not self.model.wrong and self.message.isHidden():
            return
        cell = self.table.currentIndex()
        wrong = self.model.wrong.get((cell.row(), cell.column())) or next(
            iter(self.model.wrong.values()), None
        )
        text = wrong.message if wrong else ""
        if text != self.message.text():
            self.message.setText(text)
            self.message.setVisible(bool(text))

    def _refused(self, row: int) -> None:
        why = self.model.why_locked(row)
        if why:
            self.message.setText(why)
            self.message.show()
            self.said.emit(why)

    def _escaped(self) -> None:
        cell = self.table.currentIndex()
        self.model.forget(cell.row(), cell.column())
        self._say()


class _Table(QTableView):
    """A table that says when editing a locked row is tried, and copies as text."""

    refused = Signal(int)
    escaped = Signal()

    def edit(self, index: QModelIndex, *args: Any) -> Any:  # type: ignore[override]
        """Open the editor of a cell, or say that its row is locked."""
        trigger = args[0] if args else None
        tried = trigger in (
            QAbstractItemView.EditTrigger.DoubleClicked,
            QAbstractItemView.EditTrigger.EditKeyPressed,
            QAbstractItemView.EditTrigger.AnyKeyPressed,
        )
        if tried and index.isValid() and not index.flags() & Qt.ItemFlag.ItemIsEditable:
            self.refused.emit(index.row())
        return super().edit(index, *args)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter edits, Escape drops a wrong text, copy takes the whole table."""
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.edit(self.currentIndex(), QAbstractItemView.EditTrigger.EditKeyPressed, event)
        elif event.key() == Qt.Key.Key_Escape:
            self.escaped.emit()
        else:
            super().keyPressEvent(event)

    def copy(self) -> None:
        """Put the table on the clipboard."""
        QGuiApplication.clipboard().setText(self.as_text())

    def as_text(self) -> str:
        """Return the table with tabs between its columns, its numbers as a spreadsheet reads them."""
        model = self.model()
        columns = range(model.columnCount())
        across = Qt.Orientation.Horizontal
        role = Qt.ItemDataRole.DisplayRole
        rows = [[str(model.headerData(c, across, role)) for c in columns]]
        for r in range(model.rowCount()):
            rows.append([str(model.index(r, c).data(Qt.ItemDataRole.EditRole)) for c in columns])
        return tabbed(rows)
