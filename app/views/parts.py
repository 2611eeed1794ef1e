"""The parts of the project as a tree: show, lock, compare, new, duplicate, rename, delete, edit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QMenu,
    QToolButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.project import edits
from app.project.edits import EditError
from app.project.edits import Kind as PartKind
from app.project.project import Project
from app.session.edited import Edited, Kind
from app.session.shown import Shown
from app.views.theme import Theme

_NAME, _SHOW, _LOCK = range(3)
_KIND = Qt.ItemDataRole.UserRole
_PART = Qt.ItemDataRole.UserRole + 1
_POSITION = Qt.ItemDataRole.UserRole + 2

_HEADS = {
    "wheels": "Wheels",
    "blanks": "Blanks",
    "shapes": "Stay-out shapes",
    "rule_sets": "Rule sets",
    "materials": "Materials",
    "fitments": "Fitments",
}
_EDITED = {"wheels": Kind.WHEEL, "blanks": Kind.BLANK, "shapes": Kind.SHAPE}


class PartsPanel(QWidget):
    """What the project holds, by kind.

    Signals:
        changed(Project, text): an edit to be committed as one step.
        wheel_selected(name): show this wheel.
        outline_selected(Edited): edit the vertices of this blank or shape.
        compare_changed(names): draw these wheels behind the shown one.
        new_wanted(field), edit_wanted(field, name), rename_wanted(field, name): open the dialog;
            the field is the name of the project's list, such as `wheels`.
        said(text): for the status line.
    """

    changed = Signal(object, str)
    wheel_selected = Signal(str)
    outline_selected = Signal(object)
    compare_changed = Signal(object)
    new_wanted = Signal(str)
    edit_wanted = Signal(str, str)
    rename_wanted = Signal(str, str)
    said = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._project = Project("")
        self._compared: tuple[str, ...] = ()
        self._drawn: object = None
        self._closed: set[str] = {"materials", "fitments"}
        self.tree = QTreeWidget()
        self.message = QLabel()
        self._make_tree()
        self._make_actions()
        self.message.setWordWrap(True)
        self.message.setContentsMargins(8, 2, 8, 2)
        self.message.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.tree, 1)
        column.addWidget(self.message)
        column.addLayout(self._buttons())
        theme.changed.connect(self._repaint)

    def _make_tree(self) -> None:
        tree = self.tree
        tree.setAccessibleName("Parts of the project")
        tree.setColumnCount(3)
        tree.setHeaderLabels(["Parts", "show", "lock"])
        tree.setIndentation(14)
        tree.setFrameShape(QTreeWidget.Shape.NoFrame)
        tree.setUniformRowHeights(True)
        tree.setExpandsOnDoubleClick(False)
        header = tree.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(_NAME, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(30)
        for k in (_SHOW, _LOCK):
            header.resizeSection(k, tree.fontMetrics().horizontalAdvance("show") + 18)
        tree.currentItemChanged.connect(self._current_changed)
        tree.itemChanged.connect(self._checked)
        tree.itemActivated.connect(lambda _item, _column: self._want_edit())
        tree.itemCollapsed.connect(lambda item: self._closed.add(self._key(item)))
        tree.itemExpanded.connect(lambda item: self._closed.discard(self._key(item)))
        tree.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        tree.customContextMenuRequested.connect(self._menu)

    def _make_actions(self) -> None:
        rows: list[tuple[str, str, str, Callable[[], None]]] = [
            ("new", "New…", "Ins", self._want_new),
            ("edit", "Edit…", "", self._want_edit),
            ("duplicate", "Duplicate", "Ctrl+D", self.duplicate),
            ("rename", "Rename…", "F2", self._want_rename),
            ("delete", "Delete", "Del", self.delete),
            ("show", "Show or hide", "Space", self.toggle_shown),
            ("lock", "Lock or unlock", "Ctrl+L", self.toggle_locked),
            ("compare", "Compare with the shown wheel", "Ctrl+K", self.toggle_compared),
        ]
        self.actions_by_name: dict[str, QAction] = {}
        for name, text, key, do in rows:
            action = QAction(text, self)
            action.setShortcut(QKeySequence(key))
            action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
            action.triggered.connect(lambda _on=False, do=do: do())
            tip = text.rstrip("…") + (f" ({key})" if key else " (Enter)")
            action.setToolTip(tip)
            self.tree.addAction(action)
            self.actions_by_name[name] = action

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setContentsMargins(4, 2, 4, 4)
        row.setSpacing(0)
        for name in ("new", "edit", "duplicate", "rename", "delete"):
            button = QToolButton()
            button.setDefaultAction(self.actions_by_name[name])
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            row.addWidget(button)
        row.addStretch(1)
        return row

    # Showing

    def show_state(self, shown: Shown) -> None:
        """Show another state; the tree is rebuilt only when what it lists has changed."""
        self._project, self._compared = shown.project, shown.compared
        wheel = shown.wheel.name if shown.wheel else None
        listed = tuple(
            (
                kind.field,
                part.name,
                getattr(part, "visible", None),
                getattr(part, "locked", None),
                _labels(part),
            )
            for kind in edits.KINDS
            for part in kind.of(shown.project)
        )
        drawn = (listed, wheel, shown.edited, shown.compared)
        if drawn != self._drawn:
            self._drawn = drawn
            self._rebuild(wheel, shown.edited)

    def _rebuild(self, wheel: str | None, edited: Edited | None) -> None:
        tree = self.tree
        before = self.current()
        scrolled = tree.verticalScrollBar().value()
        tree.blockSignals(True)
        tree.clear()
        for kind in edits.KINDS:
            parts = kind.of(self._project)
            head = QTreeWidgetItem([f"{_HEADS[kind.field]}  {len(parts)}"])
            head.setData(_NAME, _KIND, kind.field)
            font = head.font(_NAME)
            font.setBold(True)
            head.setFont(_NAME, font)
            tree.addTopLevelItem(head)
            for part in parts:
                head.addChild(self._item(kind, part, wheel, edited))
            head.setExpanded(kind.field not in self._closed)
        self._restore(before, edited)
        tree.verticalScrollBar().setValue(scrolled)
        tree.blockSignals(False)

    def _item(
        self, kind: PartKind[Any], part: Any, wheel: str | None, edited: Edited | None
    ) -> QTreeWidgetItem:
        is_shown = kind.field == "wheels" and part.name == wheel
        notes = [
            "shown" if is_shown else "",
            "compared" if kind.field == "wheels" and part.name in self._compared and not is_shown else "",
        ]
        note = ", ".join(n for n in notes if n)
        item = QTreeWidgetItem([f"{part.name}  · {note}" if note else part.name])
        item.setData(_NAME, _KIND, kind.field)
        item.setData(_NAME, _PART, part.name)
        item.setToolTip(_NAME, part.name)
        if is_shown or (edited and edited.kind is _EDITED.get(kind.field) and edited.name == part.name):
            font = item.font(_NAME)
            font.setBold(True)
            item.setFont(_NAME, font)
        if kind.field in _EDITED:
            for column, on in ((_SHOW, part.visible), (_LOCK, part.locked)):
                item.setCheckState(column, Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
        for k, label in enumerate(_labels(part)):
            child = QTreeWidgetItem([label])
            child.setData(_NAME, _KIND, kind.field)
            child.setData(_NAME, _PART, part.name)
            child.setData(_NAME, _POSITION, k)
            item.addChild(child)
        return item

    def _restore(self, before: tuple[str, str | None], edited: Edited | None) -> None:
        field, name = before
        wanted = edited.name if edited and _EDITED.get(field) is edited.kind else name
        for item in self._items():
            if (item.data(_NAME, _KIND), item.data(_NAME, _PART)) == (field, wanted):
                self.tree.setCurrentItem(item)
                return

    def _items(self) -> list[QTreeWidgetItem]:
        tops = [self.tree.topLevelItem(k) for k in range(self.tree.topLevelItemCount())]
        found: list[QTreeWidgetItem | None] = []
        for top in tops:
            if top is not None:
                found += [top, *(top.child(k) for k in range(top.childCount()))]
        return [item for item in found if item is not None]

    def _repaint(self) -> None:
        self.tree.viewport().update()

    # What the person chose

    def current(self) -> tuple[str, str | None]:
        """Return the current line as (list of the project, name of the part or None for the heading)."""
        item = self.tree.currentItem()
        if item is None:
            return "wheels", None
        return str(item.data(_NAME, _KIND)), item.data(_NAME, _PART)

    def choose(self, field: str, name: str) -> None:
        """Make a part the current line, as a click on it does."""
        for item in self._items():
            if (item.data(_NAME, _KIND), item.data(_NAME, _PART)) == (field, name):
                self.tree.setCurrentItem(item)

    def _key(self, item: QTreeWidgetItem) -> str:
        return str(item.data(_NAME, _PART) or item.data(_NAME, _KIND))

    def _kind(self) -> PartKind[Any]:
        field = self.current()[0]
        return next(kind for kind in edits.KINDS if kind.field == field)

    def _current_changed(self, item: QTreeWidgetItem | None, _before: QTreeWidgetItem | None) -> None:
        self._complain("")
        if item is None:
            return
        field, name = self.current()
        if name is None or field not in _EDITED:
            return
        if field == "wheels":
            self.wheel_selected.emit(name)
        else:
            position = item.data(_NAME, _POSITION)
            self.outline_selected.emit(
                Edited(_EDITED[field], name, int(position) if position is not None else 0)
            )

    def _checked(self, item: QTreeWidgetItem, column: int) -> None:
        field, name = item.data(_NAME, _KIND), item.data(_NAME, _PART)
        if column in (_SHOW, _LOCK) and name is not None and field in _EDITED:
            on = item.checkState(column) is Qt.CheckState.Checked
            self._flag(str(field), str(name), "visible" if column == _SHOW else "locked", on)

    def toggle_shown(self) -> None:
        """Show or hide the current part."""
        self._toggle("visible")

    def toggle_locked(self) -> None:
        """Lock or unlock the current part."""
        self._toggle("locked")

    def _toggle(self, flag: str) -> None:
        field, name = self.current()
        if name is not None and field in _EDITED:
            part = edits.find(self._project, self._kind(), name)
            self._flag(field, name, flag, not getattr(part, flag))

    def _flag(self, field: str, name: str, flag: str, on: bool) -> None:
        kind = next(kind for kind in edits.KINDS if kind.field == field)
        part = replace(edits.find(self._project, kind, name), **{flag: on})
        verb = {("visible", True): "Show", ("visible", False): "Hide", ("locked", True): "Lock"}.get(
            (flag, on), "Unlock"
        )
        self.changed.emit(edits.replaced(self._project, kind, name, part), f"{verb} {name}")

    def toggle_compared(self) -> None:
        """Draw the current wheel behind the shown one, or no longer."""
        field, name = self.current()
        if field == "wheels" and name is not None:
            others = tuple(n for n in self._compared if n != name)
            self.compare_changed.emit(others if name in self._compared else (*others, name))

    def duplicate(self) -> None:
        """Put a copy behind the current part."""
        name = self.current()[1]
        if name is not None:
            project, copy = edits.duplicated(self._project, self._kind(), name)
            self.changed.emit(project, f"Duplicate {name}")
            self.choose(self._kind().field, copy)

    def delete(self) -> None:
        """Delete the current part; one in use stays, and the message names its users."""
        name = self.current()[1]
        if name is None:
            return
        try:
            project = edits.deleted(self._project, self._kind(), name)
        except EditError as error:
            self._complain(str(error))
            return
        self.changed.emit(project, f"Delete {name}")

    def _complain(self, text: str) -> None:
        self.message.setText(text)
        self.message.setVisible(bool(text))
        self.message.setStyleSheet(f"color: {self._theme.colours.short}" if text else "")
        if text:
            self.said.emit(text)

    def _want_new(self) -> None:
        self.new_wanted.emit(self.current()[0])

    def _want_edit(self) -> None:
        field, name = self.current()
        if name is not None:
            self.edit_wanted.emit(field, name)
        elif (item := self.tree.currentItem()) is not None:
            item.setExpanded(not item.isExpanded())

    def _want_rename(self) -> None:
        field, name = self.current()
        if name is not None:
            self.rename_wanted.emit(field, name)

    def _menu(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.addActions(list(self.actions_by_name.values()))
        menu.popup(self.tree.viewport().mapToGlobal(at))


def _labels(part: Any) -> tuple[str, ...]:
    """Return the names of a shape's positions where it has several."""
    outlines = getattr(part, "outlines", ())
    return tuple(o.label for o in outlines) if len(outlines) > 1 else ()
