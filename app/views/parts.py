"""The parts of the project: show, lock, compare, new, edit, duplicate, rename, delete."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QToolButton, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.edits import EditError
from app.project.edits import Kind as PartKind
from app.project.project import Project
from app.session.edited import Edited
from app.session.shown import Shown
from app.views.keys import LocalKeys
from app.views.parts_tree import DRAWN, PartsTree
from app.views.theme import Theme


class PartsPanel(QWidget):
    """What the project holds, by kind, and what can be done with it.

    Signals:
        changed(Project, text): an edit to be committed as one step.
        wheel_selected(name): show this wheel.
        outline_selected(Edited): edit the vertices of this blank or shape.
        compare_changed(names): draw these wheels behind the shown one.
        new_wanted(field), edit_wanted(field, name), rename_wanted(field, name): open the dialog; the field is
            the name of the project's list, such as `wheels`.
        version_wanted(name): ask for a new version of this wheel.
        said(text): for the status line.
    """

    changed = Signal(object, str)
    wheel_selected = Signal(str)
    outline_selected = Signal(object)
    compare_changed = Signal(object)
    new_wanted = Signal(str)
    edit_wanted = Signal(str, str)
    rename_wanted = Signal(str, str)
    version_wanted = Signal(str)
    said = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._project = Project("")
        self._compared: tuple[str, ...] = ()
        self.tree = PartsTree()
        self.message = QLabel()
        self.message.setWordWrap(True)
        self.message.setContentsMargins(8, 2, 8, 2)
        self.message.hide()
        self._make_actions()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.tree, 1)
        column.addWidget(self.message)
        column.addLayout(self._buttons())
        self.tree.chosen.connect(self._chosen)
        self.tree.flagged.connect(self._flag)
        self.tree.itemDoubleClicked.connect(lambda _item, _column: self.properties())
        self.tree.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.tree.customContextMenuRequested.connect(self._menu)
        theme.changed.connect(lambda: self._complain(""))

    def _make_actions(self) -> None:
        rows: list[tuple[str, str, str, Callable[[], None]]] = [
            ("new", tr("New..."), "Ins", self.new),
            ("properties", tr("Edit..."), "Return", self.properties),
            ("duplicate", tr("Duplicate"), "Ctrl+D", self.duplicate),
            ("version", tr("New version..."), "Shift+Ins", self.new_version),
            ("rename", tr("Rename..."), "F2", self.rename),
            ("delete", tr("Delete"), "Del", self.delete),
            ("show", tr("Show or hide"), "Space", self.toggle_shown),
            ("lock", tr("Lock or unlock"), "L", self.toggle_locked),
            ("compare", tr("Compare with the shown wheel"), "M", self.toggle_compared),
        ]
        self.actions_by_name: dict[str, QAction] = {}
        for name, text, key, do in rows:
            action = QAction(f"{text}\t{key}", self)
            action.setIconText(text.rstrip("."))
            action.setToolTip(f"{text.rstrip('.')} ({key})")
            action.triggered.connect(lambda _on=False, do=do: do())
            self.actions_by_name[name] = action
        keys = {key: do for _, _, key, do in rows}
        LocalKeys(self.tree, {**keys, "Enter": self.properties})

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setContentsMargins(4, 2, 4, 4)
        row.setSpacing(0)
        for name in ("new", "properties", "duplicate", "rename", "delete"):
            button = QToolButton()
            button.setDefaultAction(self.actions_by_name[name])
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            row.addWidget(button)
        row.addStretch(1)
        return row

    def show_state(self, shown: Shown) -> None:
        """Show another state."""
        self._project, self._compared = shown.project, shown.compared
        self.tree.show_state(shown)

    def choose(self, field: str, name: str) -> None:
        """Make a part the current line, as a click on it does."""
        item = self.tree.item_of(field, name)
        if item is not None:
            self.tree.setCurrentItem(item)

    def _chosen(self, field: str, name: str, position: int) -> None:
        self._complain("")
        if field == "wheels":
            self.wheel_selected.emit(name)
        elif field in DRAWN:
            self.outline_selected.emit(Edited(DRAWN[field], name, position))

    def _flag(self, field: str, name: str, flag: str, on: bool) -> None:
        kind, project = _kind_of(field), self._project
        changes: dict[str, Any] = {flag: on}
        part = replace(edits.find(project, kind, name), **changes)
        words = {("visible", True): tr("Show"), ("visible", False): tr("Hide"), ("locked", True): tr("Lock")}
        verb = words.get((flag, on), tr("Unlock"))
        self.changed.emit(edits.replaced(project, kind, name, part), f"{verb} {name}")

    def toggle_shown(self) -> None:
        """Show or hide the current part."""
        self._toggle("visible")

    def toggle_locked(self) -> None:
        """Lock or unlock the current part."""
        self._toggle("locked")

    def _toggle(self, flag: str) -> None:
        field, name = self.tree.current()
        if name is not None and field in DRAWN:
            part = edits.find(self._project, _kind_of(field), name)
            self._flag(field, name, flag, not getattr(part, flag))

    def toggle_compared(self) -> None:
        """Draw the current wheel behind the shown one, or no longer."""
        field, name = self.tree.current()
        if field == "wheels" and name is not None:
            others = tuple(n for n in self._compared if n != name)
            self.compare_changed.emit(others if name in self._compared else (*others, name))

    def new(self) -> None:
        """Ask for a new part of the current kind."""
        self.new_wanted.emit(self.tree.current()[0])

    def properties(self) -> None:
        """Ask for the dialog of the current part; a heading opens or closes."""
        field, name = self.tree.current()
        item = self.tree.currentItem()
        if name is not None:
            self.edit_wanted.emit(field, name)
        elif item is not None:
            item.setExpanded(not item.isExpanded())

    def duplicate(self) -> None:
        """Put a copy behind the current part."""
        field, name = self.tree.current()
        if name is not None:
            project, copy = edits.duplicated(self._project, _kind_of(field), name)
            self.changed.emit(project, tr("Duplicate {name}", name=name))
            self.choose(field, copy)

    def new_version(self) -> None:
        """Ask for a new version of the current wheel."""
        field, name = self.tree.current()
        if field == "wheels" and name is not None:
            self.version_wanted.emit(name)

    def delete(self) -> None:
        """Delete the current part; one in use stays, and the message names its users."""
        field, name = self.tree.current()
        if name is None:
            return
        try:
            project = edits.deleted(self._project, _kind_of(field), name)
        except EditError as error:
            self._complain(spoken(str(error)))
            return
        self._complain("")
        self.changed.emit(project, tr("Delete {name}", name=name))

    def rename(self) -> None:
        """Ask for another name of the current part."""
        field, name = self.tree.current()
        if name is not None:
            self.rename_wanted.emit(field, name)

    def _complain(self, text: str) -> None:
        self.message.setText(text)
        self.message.setVisible(bool(text))
        self.message.setStyleSheet(f"color: {self._theme.colours.short}" if text else "")
        if text:
            self.said.emit(text)

    def _menu(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.addActions(list(self.actions_by_name.values()))
        menu.popup(self.tree.viewport().mapToGlobal(at))


def _kind_of(field: str) -> PartKind[Any]:
    return next(kind for kind in edits.KINDS if kind.field == field)
