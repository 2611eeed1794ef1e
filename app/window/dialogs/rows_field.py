"""A field of several rows of fields, with rows added and removed: rules, ring bodies, spoke widths."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QToolButton, QVBoxLayout, QWidget

from app.language import tr
from app.window.dialogs.typed_fields import Field


@dataclass(frozen=True)
class Column:
    """One column: its head, how a field is made from a value, and its share of the width."""

    head: str
    make: Callable[[Any], Field]
    stretch: int = 1


class RowsField(Field):
    """Rows of fields; reads as a list with one list of values a row.

    Args:
        what: what one row is called, for the buttons: 'rule'.
        blank: values of a row that is added.
    """

    def __init__(
        self,
        what: str,
        columns: Sequence[Column],
        rows: Sequence[Sequence[Any]],
        blank: Sequence[Any],
        parent: QWidget | None = None,
    ) -> None:
        editor = QWidget()
        super().__init__(editor, parent)
        self.what, self.columns, self.blank = what, tuple(columns), tuple(blank)
        self.cells: list[list[Field]] = []
        self._buttons: list[QToolButton] = []
        self.grid = QGridLayout()
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(6)
        self.grid.setVerticalSpacing(4)
        for k, column in enumerate(self.columns):
            head = QLabel(column.head)
            head.setWordWrap(True)
            self.grid.addWidget(head, 0, k, Qt.AlignmentFlag.AlignBottom)
            self.grid.setColumnStretch(k, column.stretch)
        self.add_button = QPushButton(tr("Add a {what}", what=what))
        self.add_button.setAutoDefault(False)
        self.add_button.clicked.connect(lambda: self.add_row())
        stack = QVBoxLayout(editor)
        stack.setContentsMargins(0, 0, 0, 0)
        stack.addLayout(self.grid)
        stack.addWidget(self.add_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.put(rows)

    def put(self, rows: Sequence[Sequence[Any]]) -> None:
        """Show other rows."""
        while self.cells:
            self._drop(len(self.cells) - 1)
        for row in rows:
            self._append(row)

    def add_row(self, values: Sequence[Any] | None = None) -> None:
        """Add a row at the end and go to its first field."""
        fields = self._append(self.blank if values is None else values)
        fields[0].editor.setFocus(Qt.FocusReason.OtherFocusReason)
        self.edited.emit()

    def remove_row(self, k: int) -> None:
        """Remove a row."""
        self._drop(k)
        self.edited.emit()

    def _drop(self, k: int) -> None:
        for field in self.cells.pop(k):
            self.grid.removeWidget(field)
            field.hide()
            field.deleteLater()
        button = self._buttons.pop()
        self.grid.removeWidget(button)
        button.hide()
        button.deleteLater()
        for row, fields in enumerate(self.cells):
            for column, field in enumerate(fields):
                self.grid.addWidget(field, row + 1, column, Qt.AlignmentFlag.AlignTop)
            self.grid.addWidget(self._buttons[row], row + 1, len(self.columns), Qt.AlignmentFlag.AlignTop)

    def _append(self, values: Sequence[Any]) -> list[Field]:
        row = len(self.cells)
        fields = []
        for k, (column, value) in enumerate(zip(self.columns, values, strict=True)):
            field = column.make(value)
            field.name(f"{column.head}, {self.what} {row + 1}")
            field.edited.connect(self.edited)
            self.grid.addWidget(field, row + 1, k, Qt.AlignmentFlag.AlignTop)
            fields.append(field)
        button = QToolButton()
        button.setText(tr("Remove"))
        button.setToolTip(tr("Remove this {what}", what=self.what))
        button.setAccessibleName(tr("Remove {what} {row}", what=self.what, row=row + 1))
        button.clicked.connect(lambda: self.remove_row(self._buttons.index(button)))
        self.grid.addWidget(button, row + 1, len(self.columns), Qt.AlignmentFlag.AlignTop)
        self._buttons.append(button)
        self.cells.append(fields)
        return fields

    def check(self) -> bool:
        """Return True if every cell can be read; each wrong one says what is wrong with it."""
        wrong = [field for row in self.cells for field in row if not field.check()]
        if wrong:
            wrong[0].editor.setFocus(Qt.FocusReason.OtherFocusReason)
        return not wrong

    def read(self) -> list[list[Any]]:
        """Return the values row by row.

        Raises:
            ValueError: a cell cannot be read.
        """
        return [[field.read() for field in row] for row in self.cells]
