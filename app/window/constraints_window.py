"""The window of constraints: what each holds, its number, whether it is held, and how to let it go."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QGridLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.edits import EditError
from app.project.numbering import vertex_words
from app.session import asking
from app.session.document import Document
from app.session.edited import Edited, outline_of
from app.session.edited import EditError as LockedError
from app.session.shown import Shown
from app.views.readings_text import unit_of
from app.window.dialogs.form import quiet_label, scrolled
from app.window.dialogs.typed_fields import ANGLE, NumberField, error_colour, length
from geometry.shape.held import Constraint, Hold

HEADS = (tr("Holds"), tr("Number"), tr("State"), "")
_HOW = tr(
    "Choose vertices on the drawing, then what is to be held in the menu Hold. It is held while you drag and "
    "type: what you move stays where you put it, and the rest follows. Nothing else is held."
)


class ConstraintsWindow(QDialog):
    """Lists the constraints of the edited outline.

    Attributes:
        fields: the numbers, by the place of their constraint. states, removers: of each constraint.
    """

    def __init__(self, document: Document, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Constraints"))
        self._document = document
        self._seen: tuple[object, ...] = ()
        self.fields: dict[int, NumberField] = {}
        self.states: list[QLabel] = []
        self.removers: list[QToolButton] = []
        self._cells: list[QWidget] = []
        self.head, self.message = QLabel(), QLabel()
        self.grid = QGridLayout()
        self._lay_out()
        document.shown.connect(self._show)
        self.resize(660, 380)
        self._show(document.state)

    def _lay_out(self) -> None:
        self.grid.setHorizontalSpacing(12)
        self.grid.setVerticalSpacing(4)
        self.grid.setColumnStretch(0, 3)
        self.grid.setColumnStretch(2, 2)
        for k, head in enumerate(HEADS):
            self.grid.addWidget(QLabel(head), 0, k)
        area = scrolled(self.grid)
        self.message.setWordWrap(True)
        self.message.hide()
        close = QPushButton(tr("Close"))
        close.setAutoDefault(False)
        close.clicked.connect(self.accept)
        whole = QVBoxLayout(self)
        whole.addWidget(self.head)
        whole.addWidget(area, 1)
        whole.addWidget(self.message)
        whole.addWidget(quiet_label(_HOW))
        whole.addWidget(close, 0, Qt.AlignmentFlag.AlignRight)

    def _show(self, shown: Shown) -> None:
        """Follow the document; a gesture under way is waited for."""
        if shown.dragging:
            return
        outline = outline_of(shown.project, shown.edited) if shown.edited is not None else None
        constraints = outline.constraints if outline is not None else ()
        seen = (shown.edited, constraints, unit_of(shown.project))
        if seen != self._seen:
            self._seen = seen
            self._fill(constraints, unit_of(shown.project))
        name = shown.edited.name if shown.edited is not None else ""
        nothing = (
            tr("nothing is held yet")
            if not constraints
            else tr("{constraints} held", constraints=len(constraints))
        )
        self.head.setText(
            tr("Constraints of {name}: {nothing}.", name=name, nothing=nothing)
            if name
            else tr("Nothing is being edited.")
        )
        if shown.edited is not None:
            self._tell(shown.edited)

    def _tell(self, edited: Edited) -> None:
        for label, (is_held, words) in zip(
            self.states, asking.state_words(self._document.project, edited), strict=True
        ):
            label.setText(f"{'✓' if is_held else '✗'} {words}")
            palette = label.palette()
            colour = self.palette().windowText().color() if is_held else error_colour(self.palette())
            palette.setColor(label.foregroundRole(), colour)
            label.setPalette(palette)

    def _fill(self, constraints: tuple[Constraint, ...], unit: str) -> None:
        for cell in self._cells:
            cell.blockSignals(True)
            cell.hide()
            cell.deleteLater()
        self.fields, self.states, self.removers, self._cells = {}, [], [], []
        self.message.hide()
        for k, c in enumerate(constraints):
            self._add(k, c, unit)

    def _add(self, k: int, c: Constraint, unit: str) -> None:
        what = tr("clear of {shape}", shape=c.shape) if c.kind is Hold.CLEAR else spoken(c.kind)
        words = f"{what}, {spoken(vertex_words(c.vertices))}"
        name = QLabel(words[:1].upper() + words[1:])
        self.grid.addWidget(name, k + 1, 0)
        self._cells.append(name)
        if c.value is not None:
            field = NumberField(ANGLE if c.kind is Hold.ANGLE else length(unit), c.value)
            field.name(tr("Number of {words}", words=words))
            field.line.editingFinished.connect(lambda: self._change(k, field))
            self.grid.addWidget(field, k + 1, 1)
            self.fields[k] = field
            self._cells.append(field)
        state, remove = QLabel(), QToolButton()
        state.setWordWrap(True)
        remove.setText(tr("Let go"))
        remove.setAccessibleName(tr("Let go: {words}", words=words))
        remove.clicked.connect(lambda: self._remove(k))
        self.grid.addWidget(state, k + 1, 2)
        self.grid.addWidget(remove, k + 1, 3)
        self.states.append(state)
        self.removers.append(remove)
        self._cells += [state, remove]

    def _change(self, k: int, field: NumberField) -> None:
        document = self._document
        outline = outline_of(document.project, document.edited) if document.edited is not None else None
        if document.edited is None or outline is None or k >= len(outline.constraints) or not field.check():
            return
        if field.number() == outline.constraints[k].value:
            return
        try:
            project = asking.with_value(document.project, document.edited, k, field.number())
        except (EditError, LockedError) as refused:
            self._refuse(spoken(str(refused)))
            field.put(outline.constraints[k].value)
            return
        document.commit(project, tr("Change {kind}", kind=outline.constraints[k].kind))

    def _remove(self, k: int) -> None:
        document = self._document
        if document.edited is None:
            return
        outline = outline_of(document.project, document.edited)
        try:
            project = asking.without(document.project, document.edited, k)
        except (EditError, LockedError) as refused:
            self._refuse(spoken(str(refused)))
            return
        assert outline is not None
        document.commit(project, tr("Let go {kind}", kind=outline.constraints[k].kind))

    def _refuse(self, words: str) -> None:
        self.message.setText(f"▸ {words}")
        palette = self.message.palette()
        palette.setColor(self.message.foregroundRole(), error_colour(self.palette()))
        self.message.setPalette(palette)
        self.message.show()
