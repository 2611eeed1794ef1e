"""The panel of readings: gap, stock, wall, hub and mass as a tree; a click goes to the place."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain

from PySide6.QtCore import (
    QItemSelectionModel,
    QModelIndex,
    QPoint,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QAction,
    QFontMetrics,
    QGuiApplication,
    QPalette,
)
from PySide6.QtWidgets import (
    QHeaderView,
    QMenu,
    QPlainTextEdit,
    QToolButton,
    QTreeView,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.caution import CAUTION
from app.reports.numbers import unit_of
from app.session.shown import Shown
from app.views.explained import explanation
from app.views.keys import LocalKeys
from app.views.last_made import LastMade
from app.views.readings_line import Line, emptied, tsv
from app.views.readings_model import lines
from app.views.readings_tree import LABEL, RULE, SPARE, STATE, VALUE, ReadingsModel
from app.views.readings_view import ReadingsView
from app.views.theme import Theme, figures
from geometry.readings.rules import State


class _Detail(QPlainTextEdit):
    """Words with room at both sides."""

    def __init__(self) -> None:
        super().__init__()
        self.setViewportMargins(8, 4, 8, 4)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setAutoFillBackground(True)


class ReadingsPanel(QWidget):
    """All readings of the shown wheel.

    Signals:
        place_clicked(z, r): a line was clicked, or Enter was pressed on it.
        zone_selected(name or None): the current line speaks of another zone.
        card_wanted(shape): an open question was chosen: its source card answers it.
        said(text): for the status line.
    """

    place_clicked = Signal(float, float)
    zone_selected = Signal(object)
    card_wanted = Signal(str)
    said = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._closed: set[str] = set()
        self._rules: frozenset[str] = frozenset()
        self._before: Shown | None = None  # the last one of no gesture
        self._emptied: tuple[Line, ...] = ()
        self._groups = LastMade()  # of the gesture under way
        self._said = ""
        self.model = ReadingsModel(self)
        self.tree = ReadingsView(theme, self.model)
        self.detail = _Detail()
        self.explain = QToolButton()
        self._make_tree()
        self._make_detail()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.tree, 1)
        column.addWidget(self.explain)
        column.addWidget(self.detail)
        self._actions()
        theme.changed.connect(self._dress)
        self._dress()

    def _make_tree(self) -> None:
        tree = self.tree
        tree.setAccessibleName(tr("Readings"))
        tree.setUniformRowHeights(True)
        tree.setIndentation(10)
        tree.setFrameShape(QTreeView.Shape.NoFrame)
        tree.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        tree.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        tree.setExpandsOnDoubleClick(False)
        header = tree.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(LABEL, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(30)
        large, plain = QFontMetrics(tree.large), QFontMetrics(tree.plain)
        header.resizeSection(VALUE, large.horizontalAdvance("0000.00") + 6)
        header.resizeSection(SPARE, plain.horizontalAdvance("-000.00") + 6)
        bold = QFontMetrics(tree.group)
        longest = max(
            (bold if state in (State.TOUCHING, State.SHORT) else plain).horizontalAdvance(spoken(state))
            for state in State
        )
        header.resizeSection(STATE, longest + 30)
        tree.clicked.connect(self._clicked)
        tree.activated.connect(self._clicked)
        tree.selectionModel().currentChanged.connect(self._current_changed)
        tree.collapsed.connect(lambda index: self._closed.add(self._key(index)))
        tree.expanded.connect(lambda index: self._closed.discard(self._key(index)))
        self.model.modelReset.connect(self._opened)
        self.model.modelReset.connect(self._fit_needs)

    def _dress(self) -> None:
        tint = self._theme.colour("accent")
        tint.setAlpha(38)
        palette = self._theme.palette()
        palette.setColor(QPalette.ColorRole.Highlight, tint)
        self.tree.setPalette(palette)
        colours = self._theme.colours
        self.tree.header().setStyleSheet(
            f"QHeaderView::section {{ border: none; background: {colours.panel}; color: {colours.quiet};"
            " padding: 2px 6px; }"
        )
        self.tree.viewport().update()

    def _make_detail(self) -> None:
        self.detail.setReadOnly(True)
        self.detail.setFrameShape(QPlainTextEdit.Shape.NoFrame)
        self.detail.setFont(figures(self.font(), 0.95))
        self.explain.setText(tr("What does it mean?"))
        self.explain.setToolTip(tr("Definition, formula and source of the chosen reading"))
        self.explain.setCheckable(True)
        self.explain.setAutoRaise(True)
        self.explain.toggled.connect(self._set_explained)
        self._set_explained(False)
        self.detail.setPlaceholderText(
            tr("Choose a reading to see how it was taken. {caution}", caution=CAUTION)
        )
        self.detail.setAccessibleName(tr("How the chosen reading was taken"))
        self.detail.setTabChangesFocus(True)

    def _set_explained(self, on: bool) -> None:
        """Give the detail the room that it needs, and say what the chosen reading means, or no longer."""
        self.detail.setFixedHeight(self.detail.fontMetrics().lineSpacing() * (15 if on else 6) + 12)
        self._say_detail(self.model.line(self.tree.currentIndex()))

    def _actions(self) -> None:
        self.copy_row_action = QAction(tr("Copy reading\tCtrl+C"), self)
        self.copy_row_action.triggered.connect(self.copy_row)
        self.copy_table_action = QAction(tr("Copy all readings as a table\tCtrl+Shift+C"), self)
        self.copy_table_action.triggered.connect(self.copy_table)
        LocalKeys(self.tree, {"Ctrl+C": self.copy_row, "Ctrl+Shift+C": self.copy_table})
        self.tree.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.tree.customContextMenuRequested.connect(self._menu)

    def show_state(self, shown: Shown) -> None:
        """Show another state."""
        current = self.model.line(self.tree.currentIndex())
        scrolled = self.tree.verticalScrollBar().value()
        reset = self.model.groups
        self.model.set_lines(self._lines(shown), unit_of(shown.project))
        if RULE in chain.from_iterable(self.model.changed.values()):
            self._fit_needs()
        if current is not None and reset:
            self._return_to(current.key, scrolled)
        line = self.model.line(self.tree.currentIndex())
        self._say_detail(line)

    def _lines(self, shown: Shown) -> tuple[Line, ...]:
        """Return the lines of a state; of a fault that comes and goes in a gesture the same ones, empty."""
        if not shown.dragging:
            self._before, self._emptied = shown, ()
            self._groups.forget()
        before = self._before
        is_faulty = shown.wheel is not None and shown.measurements is None
        road = before.road if before is not None and shown.dragging else None
        if not is_faulty or before is None or before.measurements is None:
            return lines(shown, road, self._groups)
        if not self._emptied:
            self._emptied = emptied(lines(replace(before, dragging=True), road))
        return self._emptied

    def choose_one(self) -> None:
        """Choose a line where none is: the first that holds a number."""
        if self.model.line(self.tree.currentIndex()) is not None:
            return
        valued = (k for k in self.model.every() if (line := self.model.line(k)) is not None and line.value)
        index = next(valued, None)
        if index is not None:
            self.tree.setCurrentIndex(index)

    def _fit_needs(self) -> None:
        """Give what is needed, a sum with the shape's error and gap, the room that its longest text takes."""
        rules = self.model.rules()
        if rules == self._rules or self.model.groups is self._emptied:
            return
        self._rules = rules
        metrics = QFontMetrics(self.tree.plain)
        widest = max(map(metrics.horizontalAdvance, {*rules, "0.00 + 0.00"})) + 12
        if widest != self.tree.columnWidth(RULE):
            self.tree.header().resizeSection(RULE, widest)

    def copied_text(self) -> str:
        """Return the current reading as text with tabs, or all of them when none is current."""
        line = self.model.line(self.tree.currentIndex())
        return tsv(self.model.groups if line is None else (line,))

    def copy_row(self) -> None:
        """Put the current line on the clipboard, with its head row."""
        line = self.model.line(self.tree.currentIndex())
        if line is not None:
            QGuiApplication.clipboard().setText(self.copied_text())
            self.said.emit(tr("Copied: {label}", label=line.label))

    def copy_table(self) -> None:
        """Put all readings on the clipboard as a table."""
        QGuiApplication.clipboard().setText(tsv(self.model.groups))
        self.said.emit(tr("Copied all readings as a table"))

    def _menu(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.addActions([self.copy_row_action, self.copy_table_action])
        menu.addAction(tr("What does it mean?"), self.explain.click)
        menu.popup(self.tree.viewport().mapToGlobal(at))

    def _key(self, index: QModelIndex) -> str:
        line = self.model.line(index)
        return line.key if line else ""

    def _opened(self) -> None:
        """Open every line that the person has not closed."""
        self.tree.blockSignals(True)
        for index in self.model.every():
            self.tree.setExpanded(index, self._key(index) not in self._closed)
        self.tree.blockSignals(False)

    def _return_to(self, key: str, scrolled: int) -> None:
        index = self.model.find(key)
        if index != self.tree.currentIndex():
            selection = self.tree.selectionModel()
            selection.blockSignals(True)
            flags = QItemSelectionModel.SelectionFlag
            selection.setCurrentIndex(index, flags.ClearAndSelect | flags.Rows)
            selection.blockSignals(False)
            self.tree.verticalScrollBar().setValue(scrolled)

    def _say_detail(self, line: Line | None) -> None:
        text = "" if line is None else self.model.detail(line) or line.label
        if line is not None and self.explain.isChecked():
            found = explanation(line)
            text = f"{text}\n\n{found.text}" if found is not None else text
        if text != self._said:
            self._said = text
            self.detail.setPlainText(text)

    def _current_changed(self, index: QModelIndex, _before: QModelIndex) -> None:
        line = self.model.line(index)
        self._say_detail(line)
        if line is not None:
            self.zone_selected.emit(line.zone)

    def _clicked(self, index: QModelIndex) -> None:
        line = self.model.line(index)
        if line is None:
            return
        if line.place is not None:
            self.place_clicked.emit(*line.place)
        elif line.shape is not None and not line.children and not line.known:
            self.card_wanted.emit(line.shape)
