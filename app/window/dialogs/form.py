"""The frame of every dialog: labelled fields, one message, OK applies one step, Cancel nothing."""

from __future__ import annotations

from typing import TypeVar

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette, QShowEvent
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QFrame,
    QLabel,
    QLayout,
    QScrollArea,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.window.dialogs.typed_fields import Field, error_colour

F = TypeVar("F", bound=Field)


def scrolled(rows: QLayout) -> QScrollArea:
    """Return rows, of which there may be many, in an area that scrolls."""
    inner = QWidget()
    column = QVBoxLayout(inner)
    column.setContentsMargins(0, 0, 0, 0)
    column.addLayout(rows)
    column.addStretch(1)
    area = QScrollArea()
    area.setWidget(inner)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return area


def quiet_label(text: str = "") -> QLabel:
    """Return words that explain, paler than what is asked."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setForegroundRole(QPalette.ColorRole.PlaceholderText)
    return label


class Form(QWidget):
    """Fields under each other, each with its label; a short note may stand under a group."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.fields: list[Field] = []
        self.rows = QFormLayout(self)
        self.rows.setContentsMargins(12, 12, 12, 12)
        self.rows.setHorizontalSpacing(16)
        self.rows.setVerticalSpacing(8)
        self.rows.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self.rows.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        self.rows.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)

    def add(self, label: str, field: F, tip: str = "") -> F:
        """Add a field under its label and return it."""
        words = QLabel(label)
        words.setBuddy(field.editor)
        words.setToolTip(tip)
        field.name(label)
        field.editor.setToolTip(tip)
        self.fields.append(field)
        self.rows.addRow(words, field)
        return field

    def head(self, text: str) -> None:
        """Add a heading."""
        label = QLabel(text)
        font = label.font()
        font.setBold(True)
        label.setFont(font)
        label.setContentsMargins(0, 6 if self.rows.rowCount() else 0, 0, 0)
        self.rows.addRow(label)

    def note(self, text: str = "") -> QLabel:
        """Add a line of quiet words and return it."""
        label = quiet_label(text)
        self.rows.addRow(label)
        return label

    def row(self, widget: QWidget | QLayout) -> None:
        """Add something over the whole width."""
        if isinstance(widget, QWidget):
            self.rows.addRow(widget)
        else:
            self.rows.addRow(widget)

    def remove(self, field: Field) -> None:
        """Take a field away again, with its label."""
        self.fields.remove(field)
        self.rows.removeRow(field)

    def show_field(self, field: Field, on: bool) -> None:
        """Show or hide a field with its label; a hidden one is not checked."""
        self.rows.setRowVisible(field, on)
        field.setEnabled(on)


class ProjectDialog(QDialog):
    """A dialog that makes one change to a project.

    Signals:
        applied(Project, text): OK was pressed, everything could be read, and something changed.
    """

    applied = Signal(object, str)

    def __init__(self, title: str, project: Project, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.project = project
        self.pages = QTabWidget()
        self.pages.setDocumentMode(True)
        self.message = QLabel()
        self.message.setWordWrap(True)
        self.message.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.message.hide()
        buttons = QDialogButtonBox.StandardButton
        self.buttons = QDialogButtonBox(buttons.Ok | buttons.Cancel)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(12, 12, 12, 12)
        self.column.addWidget(self.pages, 1)
        self.column.addWidget(self.message)
        self.column.addWidget(self.buttons)
        self._forms: list[Form] = []

    def page(self, title: str) -> Form:
        """Add a page of fields; a dialog with one page shows no tabs."""
        form = Form()
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setWidget(form)
        self._forms.append(form)
        self.pages.addTab(area, title)
        several = len(self._forms) > 1
        self.pages.tabBar().setVisible(several)
        # Tab would end at a bar that is not there.
        self.pages.setFocusPolicy(Qt.FocusPolicy.TabFocus if several else Qt.FocusPolicy.NoFocus)
        return form

    def showEvent(self, event: QShowEvent) -> None:
        """Put the buttons behind the fields in the order of Tab, and start in the page's first field."""
        super().showEvent(event)
        first = next((field for field in self.fields() if field.isVisible()), None)
        if first is not None:
            first.editor.setFocus(Qt.FocusReason.TabFocusReason)
        last: QWidget = self
        following = self.nextInFocusChain()
        while following is not None and following is not self:
            last, following = following, following.nextInFocusChain()
        buttons = QDialogButtonBox.StandardButton
        ok, cancel = self.buttons.button(buttons.Ok), self.buttons.button(buttons.Cancel)
        if last is not cancel:
            QWidget.setTabOrder(last, ok)
            QWidget.setTabOrder(ok, cancel)

    def made(self) -> tuple[Project, str]:
        """Return the changed project and the words of its undo step; called when every field can be read.

        Raises:
            ValueError: the fields do not fit together; the message says which and how to mend it.
        """
        raise NotImplementedError

    def fields(self) -> list[Field]:
        """Return every field that is in use."""
        return [field for form in self._forms for field in form.fields if field.isEnabledTo(self)]

    def accept(self) -> None:
        """Apply the change, or show what is wrong and stay."""
        self.say("")
        wrong = [field for field in self.fields() if not field.check()]
        if wrong:
            self._show_field(wrong[0])
            count = len(wrong)
            self.say(
                tr("One field cannot be read.")
                if count == 1
                else tr("{count} fields cannot be read.", count=count)
            )
            return
        try:
            project, text = self.made()
        except ValueError as error:
            self.say(spoken(str(error)))
            return
        if project != self.project:
            self.applied.emit(project, text)
        super().accept()

    def say(self, text: str) -> None:
        """Show a message over the buttons, or none."""
        self.message.setText(f"▸ {spoken(text)}" if text else "")
        palette = self.message.palette()
        palette.setColor(QPalette.ColorRole.WindowText, error_colour(self.palette()))
        self.message.setPalette(palette)
        self.message.setVisible(bool(text))

    def _show_field(self, field: Field) -> None:
        for k, form in enumerate(self._forms):
            if field in form.fields:
                self.pages.setCurrentIndex(k)
                area = self.pages.widget(k)
                if isinstance(area, QScrollArea):
                    area.ensureWidgetVisible(field)
        field.editor.setFocus(Qt.FocusReason.OtherFocusReason)
