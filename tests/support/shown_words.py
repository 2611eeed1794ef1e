"""What a window says: labels, buttons, heads, cells, tips, and what a screen reader is told."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QModelIndex, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QGroupBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QMainWindow,
    QTabBar,
    QTextEdit,
    QTreeView,
    QWidget,
)

_TAG = re.compile(r"<[^>]*>")
#: Tables say the same in every row.
_MOST_ROWS = 60
_ROLES = (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole)


def words_of(top: QWidget) -> list[str]:
    """Return every text of a window once, without marks of letters and of print; nothing that is typed."""
    found: dict[str, None] = {}
    for widget in [top, *top.findChildren(QWidget)]:
        if widget.window() is not top:
            continue
        for text in _texts(widget):
            plain = _TAG.sub(" ", text).replace("&", "").strip()
            if re.search(r"[^\W\d_]{2}", plain):
                found[plain] = None
    if isinstance(top, QMainWindow):
        found |= dict.fromkeys(action.text().replace("&", "") for action in top.actions() if action.text())
    return list(found)


@contextmanager
def painted() -> Iterator[list[str]]:
    """Give a list of every text that is painted from now on; figures alone are none."""
    found: list[str] = []
    draw_text = QPainter.drawText

    def noted(painter: QPainter, *values: Any) -> Any:
        found.extend(v for v in values if isinstance(v, str) and re.search(r"[^\W\d_]{2}", v))
        return draw_text(painter, *values)

    setattr(QPainter, "drawText", noted)  # noqa: B010
    try:
        yield found
    finally:
        setattr(QPainter, "drawText", draw_text)  # noqa: B010


def _texts(widget: QWidget) -> Iterator[str]:
    yield from (widget.toolTip(), widget.accessibleName(), widget.accessibleDescription())
    if widget.isWindow():
        yield widget.windowTitle()
    if isinstance(widget, QLabel | QAbstractButton):
        yield widget.text()
    elif isinstance(widget, QLineEdit):
        yield widget.placeholderText()
        if widget.isReadOnly():
            yield widget.text()
    elif isinstance(widget, QComboBox):
        yield from (widget.itemText(k) for k in range(widget.count()))
    elif isinstance(widget, QTabBar):
        yield from (widget.tabText(k) for k in range(widget.count()))
    elif isinstance(widget, QGroupBox):
        yield widget.title()
    elif isinstance(widget, QTextEdit):
        yield widget.toPlainText()
    elif isinstance(widget, QAbstractItemView) and not isinstance(widget, QHeaderView):
        yield from _cells(widget.model(), QModelIndex())
        if not (isinstance(widget, QTreeView) and widget.isHeaderHidden()):
            yield from _heads(widget.model())


def _heads(model: QAbstractItemModel | None) -> Iterator[str]:
    if model is None:
        return
    for way, count in (
        (Qt.Orientation.Horizontal, _columns(model, QModelIndex())),
        (Qt.Orientation.Vertical, min(model.rowCount(), _MOST_ROWS)),
    ):
        for role in _ROLES:
            yield from (str(model.headerData(k, way, role) or "") for k in range(count))


def _cells(model: QAbstractItemModel | None, above: QModelIndex) -> Iterator[str]:
    if model is None:
        return
    for row in range(min(model.rowCount(above), _MOST_ROWS)):
        for column in range(_columns(model, above)):
            index = model.index(row, column, above)
            yield from (str(model.data(index, role) or "") for role in _ROLES)
            if column == 0:
                yield from _cells(model, index)


def _columns(model: QAbstractItemModel, above: QModelIndex) -> int:
    return 1 if isinstance(model, QAbstractListModel) else model.columnCount(above)
