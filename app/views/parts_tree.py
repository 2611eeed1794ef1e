"""The tree of a project's parts: one heading a kind, names with marks, boxes for shown and locked."""

from __future__ import annotations

from collections.abc import Callable
from itertools import compress
from operator import attrgetter, is_not
from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.project.sides import side_words
from app.project.versions import parent
from app.project.wheel import Wheel
from app.session.edited import Edited, Kind
from app.session.shown import Shown
from app.views.last_made import LastMade

_Index = QModelIndex | QPersistentModelIndex
NAME, SHOW, LOCK = range(3)
_LIST = Qt.ItemDataRole.UserRole
_PART = Qt.ItemDataRole.UserRole + 1
_POSITION = Qt.ItemDataRole.UserRole + 2

_HEADS = {
    "wheels": tr("Wheels"),
    "blanks": tr("Blanks"),
    "shapes": tr("Stay-out shapes"),
    "rule_sets": tr("Rule sets"),
    "conditions": tr("Conditions"),
    "materials": tr("Materials"),
    "fitments": tr("Fitments"),
    "trial_fits": tr("Trial fits"),
    "test_records": tr("Tests made"),
}
#: The lists whose parts are drawn and edited by their vertices.
DRAWN = {"wheels": Kind.WHEEL, "blanks": Kind.BLANK, "shapes": Kind.SHAPE}
_FIELDS = {kind: field for field, kind in DRAWN.items()}
_lists: Callable[[Project], tuple[tuple[Any, ...], ...]] = attrgetter(*(kind.field for kind in edits.KINDS))


class PartsTree(QTreeWidget):
    """Shows the parts of a project.

    Signals:
        flagged(list, name, flag, on): a box was checked; flag is visible or locked.
        chosen(list, name, position): another part became current.
    """

    flagged = Signal(str, str, str, bool)
    chosen = Signal(str, str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._closed: set[str] = {"conditions", "materials", "fitments", "trial_fits", "test_records"}
        self._drawn: object = None
        self._lists: tuple[tuple[Any, ...], ...] = tuple(() for _ in edits.KINDS)
        self._last = [LastMade() for _ in edits.KINDS]
        self._told: list[list[tuple[object, ...]]] = [[] for _ in edits.KINDS]
        self._edited: Edited | None = None
        self._counts: object = None
        self._opened: object = None
        self._items: dict[str, list[QTreeWidgetItem]] = {}
        self.setAccessibleName(tr("Parts of the project"))
        self.setColumnCount(3)
        self.setHeaderLabels([tr("Parts"), tr("show"), tr("lock")])
        self.setIndentation(14)
        self.setFrameShape(QTreeWidget.Shape.NoFrame)
        self.setUniformRowHeights(True)
        self.setExpandsOnDoubleClick(False)
        self.setItemDelegate(_Airy(self))
        header = self.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(NAME, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(30)
        for k in (SHOW, LOCK):
            widest = max(map(self.fontMetrics().horizontalAdvance, (tr("show"), tr("lock"), "show")))
            header.resizeSection(k, widest + 12)
        self.currentItemChanged.connect(self._current_changed)
        self.itemChanged.connect(self._box_changed)
        self.itemCollapsed.connect(lambda item: self._closed.add(_key(item)))
        self.itemExpanded.connect(lambda item: self._closed.discard(_key(item)))

    def show_state(self, shown: Shown) -> None:
        """Show another state; items are made anew only where parts came or went."""
        wheel = shown.wheel.name if shown.wheel else None
        held, self._lists = self._lists, _lists(shown.project)
        for k in compress(range(len(edits.KINDS)), map(is_not, self._lists, held)):
            self._told[k] = self._last[k].each(_told, self._lists[k], edits.KINDS[k].field)
        drawn = [*self._told], wheel, shown.edited, shown.compared
        if drawn == self._drawn:
            return
        self._drawn = drawn
        above = _above(shown.project)
        parts = [(kind.field, part) for kind in edits.KINDS for part in kind.of(shown.project)]
        counts = [
            (field, len(_labels(p)), above.get(p.name) if field == "wheels" else None) for field, p in parts
        ]
        self.blockSignals(True)
        before, scrolled = self.current(), self.verticalScrollBar().value()
        if counts != self._counts:
            self._counts = counts
            self._make(counts)
        self._fill(shown, wheel)
        if counts != self._opened:
            self._opened = counts
            for item in self._items["wheels"]:  # versions are seen under the one they were made from
                item.setExpanded(_key(item) not in self._closed)
        another = shown.edited is not None and shown.edited != self._edited
        if shown.edited is not None and another:
            before = _FIELDS[shown.edited.kind], shown.edited.name  # the current line is what is edited
        self._edited = shown.edited
        self.setAutoScroll(False)  # else a heading that was closed is opened
        self._return_to(*before, shown.edited)
        self.setAutoScroll(True)
        self.verticalScrollBar().setValue(scrolled)
        if another:
            self._show_current()
        self.blockSignals(False)

    def _show_current(self) -> None:
        """Scroll to the current line, unless it stands under one that was closed."""
        item = self.currentItem()
        above = item.parent() if item is not None else None
        while above is not None and above.isExpanded():
            above = above.parent()
        if item is not None and above is None:
            self.scrollToItem(item)

    def _make(self, counts: list[tuple[str, int, int | None]]) -> None:
        self.clear()
        self._items = {}
        for field, title in _HEADS.items():
            labels = [(n, above) for of, n, above in counts if of == field]
            head = QTreeWidgetItem([f"{title}  {len(labels)}"])
            head.setData(NAME, _LIST, field)
            _set_bold(head, True)
            self.addTopLevelItem(head)
            items = [QTreeWidgetItem() for _ in labels]
            for item, (n, above) in zip(items, labels, strict=True):
                item.addChildren([QTreeWidgetItem() for _ in range(n)])
                (head if above is None else items[above]).addChild(item)
            self._items[field] = items
            head.setExpanded(field not in self._closed)

    def _fill(self, shown: Shown, wheel: str | None) -> None:
        for kind in edits.KINDS:
            for item, part in zip(self._items[kind.field], kind.of(shown.project), strict=True):
                is_shown = kind.field == "wheels" and part.name == wheel
                is_edited = shown.edited is not None and shown.edited == Edited(
                    DRAWN.get(kind.field, shown.edited.kind), part.name, shown.edited.position
                )
                compared = kind.field == "wheels" and part.name in shown.compared and not is_shown
                is_edited = is_edited and kind.field in DRAWN
                marks = {tr("shown"): is_shown, tr("compared"): compared, tr("edited"): is_edited}
                said = ", ".join(word for word, on in marks.items() if on)
                side = spoken(side_words(part)) if isinstance(part, Wheel) else ""
                item.setText(NAME, "  · ".join(word for word in (part.name, side, said) if word))
                item.setToolTip(NAME, _tip(part))
                item.setData(NAME, _LIST, kind.field)
                item.setData(NAME, _PART, part.name)
                _set_bold(item, is_shown or is_edited)
                for column, on in zip((SHOW, LOCK), _flags(kind.field, part), strict=False):
                    item.setCheckState(column, Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
                # Positions come before versions, which stand below a wheel too.
                for position, (child, label) in enumerate(zip(_below(item), _labels(part), strict=False)):
                    child.setText(NAME, label)
                    child.setData(NAME, _LIST, kind.field)
                    child.setData(NAME, _PART, part.name)
                    child.setData(NAME, _POSITION, position)

    def _return_to(self, field: str, name: str | None, edited: Edited | None) -> None:
        """Make the same part current again: the edited one where that kind was current, by its name now."""
        wanted = edited.name if edited is not None and DRAWN.get(field) is edited.kind else name
        item = self.item_of(field, wanted)
        if item is not None and self.current() != (field, wanted):
            self.setCurrentItem(item)

    def _heads(self) -> list[QTreeWidgetItem]:
        tops = [self.topLevelItem(k) for k in range(self.topLevelItemCount())]
        return [item for item in tops if item is not None]

    def item_of(self, field: str, name: str | None) -> QTreeWidgetItem | None:
        """Return the item of a part, or of a heading where the name is None."""
        for head in self._heads():
            if head.data(NAME, _LIST) == field:
                if name is None:
                    return head
                return next((i for i in self._items[field] if i.data(NAME, _PART) == name), None)
        return None

    def current(self) -> tuple[str, str | None]:
        """Return the current line as (list of the project, name of the part or None for the heading)."""
        item = self.currentItem()
        if item is None:
            return "wheels", None
        return str(item.data(NAME, _LIST)), item.data(NAME, _PART)

    def _current_changed(self, item: QTreeWidgetItem | None, _before: QTreeWidgetItem | None) -> None:
        field, name = self.current()
        if item is not None and name is not None:
            self.chosen.emit(field, name, int(item.data(NAME, _POSITION) or 0))

    def _box_changed(self, item: QTreeWidgetItem, column: int) -> None:
        field, name = item.data(NAME, _LIST), item.data(NAME, _PART)
        if column in (SHOW, LOCK) and name is not None:
            on = item.checkState(column) is Qt.CheckState.Checked
            self.flagged.emit(field, name, "visible" if column == SHOW else "locked", on)


class _Airy(QStyledItemDelegate):
    """Rows with some air."""

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        """Return a row with some air."""
        size = super().sizeHint(option, index)
        return QSize(size.width(), size.height() + 5)


def _above(project: Project) -> dict[str, int]:
    """Return the position of the version that each wheel stands under, by the wheel's name."""
    names = edits.WHEEL.names(project)
    found = {wheel.name: parent(project, wheel) for wheel in project.wheels}
    return {name: names.index(above) for name, above in found.items() if above is not None}


def _told(part: Any, field: str) -> tuple[object, ...]:
    """Return what is shown of a part itself."""
    return part.name, _flags(field, part), _labels(part), _tip(part), getattr(part, "side", None)


def _tip(part: Any) -> str:
    """Return a part's name; of a wheel also what it was made from, and why."""
    if not isinstance(part, Wheel) or (part.made_from is None and not part.why):
        return str(part.name)
    origin = (
        tr("made from {made_from}", made_from=part.made_from)
        if part.made_from is not None
        else tr("its origin is not named")
    )
    return f"{part.name}: {origin}{': ' if part.why else ''}{part.why}"


def _below(item: QTreeWidgetItem) -> list[QTreeWidgetItem]:
    children = [item.child(k) for k in range(item.childCount())]
    return [child for child in children if child is not None]


def _key(item: QTreeWidgetItem) -> str:
    return str(item.data(NAME, _PART) or item.data(NAME, _LIST))


def _set_bold(item: QTreeWidgetItem, on: bool) -> None:
    font = item.font(NAME)
    font.setBold(on)
    item.setFont(NAME, font)


def _flags(field: str, part: Any) -> tuple[bool, ...]:
    return (part.visible, part.locked) if field in DRAWN else ()


def _labels(part: Any) -> tuple[str, ...]:
    """Return the names of a shape's positions where it has several."""
    outlines = getattr(part, "outlines", ())
    return tuple(o.label for o in outlines) if len(outlines) > 1 else ()
