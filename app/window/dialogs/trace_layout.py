"""How the tracing's parts stand: the picture left with its report, pages and the wheel right."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSplitter, QToolButton, QVBoxLayout, QWidget

from app.language import tr

if TYPE_CHECKING:
    from app.window.dialogs.trace_picture import TraceDialog


def lay_out(dialog: TraceDialog) -> tuple[QLabel, QPushButton]:
    """Put the parts of the dialog in place; return the strip over the picture and the button beside it."""
    strip, following = QLabel(), QPushButton(tr("&Next step"))
    strip.setWordWrap(True)
    strip.setForegroundRole(QPalette.ColorRole.Link)
    strip.setMinimumHeight(strip.fontMetrics().lineSpacing() + 2)
    strip.setAccessibleName(tr("What the next click is for"))
    following.setAutoDefault(False)
    left = QWidget()
    column = QVBoxLayout(left)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(6)
    column.addLayout(_head(dialog, strip, following))
    column.addWidget(dialog.sheet, 1)
    column.addWidget(dialog.look.report)
    right = QSplitter(Qt.Orientation.Vertical)
    right.setChildrenCollapsible(False)
    right.addWidget(dialog.pages)
    right.addWidget(dialog.look)
    right.setStretchFactor(0, 1)
    right.setSizes([390, 290])
    whole = QSplitter(Qt.Orientation.Horizontal)
    whole.setChildrenCollapsible(False)
    whole.addWidget(left)
    whole.addWidget(right)
    whole.setStretchFactor(0, 1)
    whole.setSizes([760, 450])
    dialog.pages.setMinimumWidth(420)
    dialog.pages.setMinimumHeight(220)
    dialog.column.insertWidget(0, whole, 1)
    return strip, following


def _head(dialog: TraceDialog, strip: QLabel, following: QPushButton) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(6)
    row.addWidget(strip, 1)
    row.addWidget(following)
    for text, words, do in (
        ("−", tr("Zoom out of the picture"), lambda: dialog.sheet.zoom(-1)),
        ("+", tr("Zoom into the picture"), lambda: dialog.sheet.zoom(1)),
        (tr("Show &all"), tr("Show the whole picture"), dialog.sheet.fit),
    ):
        button = QToolButton()
        button.setText(text)
        button.setToolTip(words)
        button.setAccessibleName(words)
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.clicked.connect(do)
        row.addWidget(button)
    return row
