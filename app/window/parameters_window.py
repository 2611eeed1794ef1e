"""The window of named parameters: formulas, what they give, and what of the outline they drive.

What is typed shows on the drawing at once; Enter, or leaving the field, makes it one step, Escape puts back
what stood there. While a row is wrong its words stand under it and the drawing stays as it was.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.constraining import NotHeldError, with_held
from app.project.holding import settled
from app.project.parameters import MOST_PARAMETERS, Row, reckoned, renamed
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.document import Document
from app.session.edited import Edited, EditError, outline_of, with_asked
from app.session.shown import Shown
from app.views.readings_text import unit_of
from app.window.dialogs.form import quiet_label, scrolled
from app.window.parameters_rows import HEADS, WIDTHS, ParameterRow, renamed_in, with_drives
from geometry.errors import GeometryError
from geometry.shape.held import Drive, Parameter

_HOW = tr(
    "A formula takes + - * / ^ ( ), min, max, abs, sqrt, sin, cos, tan, pi and other names; values of min "
    "and max are parted by ;. To drive something, choose vertices on the drawing, then open Drives: one "
    "for its z, r or radius; two for the wall between them; three for the wall from one to the edge of the "
    "other two. What is driven stays where its formula puts it."
)


class ParametersWindow(QDialog):
    """Shows and edits the parameters of the edited outline.

    Attributes:
        rows: one for each parameter, in their order.
    """

    def __init__(self, document: Document, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Parameters"))
        self._document = document
        self._of: Edited | None = None
        self._seen: tuple[Parameter, ...] = ()
        self._busy = False
        self.rows: list[ParameterRow] = []
        self.head = QLabel()
        self.grid = QGridLayout()
        self.add_button = QPushButton(tr("Add a parameter"))
        self._lay_out()
        document.shown.connect(self._show)
        self.resize(980, 420)
        self._show(document.state)

    def _lay_out(self) -> None:
        self.grid.setHorizontalSpacing(8)
        self.grid.setVerticalSpacing(4)
        for k, (head, width) in enumerate(zip(HEADS, WIDTHS, strict=True)):
            words = QLabel(head)
            if head == tr("Value"):
                words.setAlignment(Qt.AlignmentFlag.AlignRight)
            self.grid.addWidget(words, 0, k)
            self.grid.setColumnStretch(k, width)
        area = scrolled(self.grid)
        self.add_button.setAutoDefault(False)
        self.add_button.clicked.connect(self.add)
        foot = QHBoxLayout()
        foot.addWidget(self.add_button)
        foot.addStretch(1)
        whole = QVBoxLayout(self)
        whole.addWidget(self.head)
        whole.addWidget(area, 1)
        whole.addLayout(foot)
        whole.addWidget(quiet_label(_HOW))

    # Showing

    def _show(self, shown: Shown) -> None:
        """Follow the document; a gesture under way is waited for."""
        if shown.dragging or self._busy:
            return
        outline = outline_of(shown.project, shown.edited) if shown.edited is not None else None
        parameters = outline.parameters if outline is not None else ()
        if shown.edited != self._of or parameters != self._seen:
            self._of, self._seen = shown.edited, parameters
            self._fill(parameters)
        name = self._of.name if self._of is not None else ""
        self.head.setText(
            tr("Parameters of {name}", name=name) if name else tr("No wheel, blank or shape is being edited.")
        )
        self.add_button.setEnabled(outline is not None and len(self.rows) < MOST_PARAMETERS)
        self._offer(shown)

    def _fill(self, parameters: tuple[Parameter, ...]) -> None:
        for row in self.rows:
            row.drop()
        self.rows = []
        for parameter in parameters:
            self._append(parameter)
        self._tell()

    def _append(self, parameter: Parameter) -> ParameterRow:
        row = ParameterRow(parameter, self.grid, len(self.rows), self)
        row.typed.connect(self._preview)
        row.finished.connect(self._finish)
        row.drives_wanted.connect(lambda drives: self._drive(row, drives))
        row.removed.connect(lambda: self._remove(row))
        self.rows.append(row)
        return row

    def _offer(self, shown: Shown) -> None:
        outline = outline_of(shown.project, shown.edited) if shown.edited is not None else None
        chosen = [i + 1 for i in shown.group]
        for row in self.rows:
            row.offer(chosen, isinstance(outline, Wheel))

    # Reading

    def _typed(self) -> tuple[Parameter, ...]:
        """Return what is typed, without rows in which nothing is; a new name is followed by its users."""
        typed = tuple(row.parameter for row in self.rows if not row.is_empty)
        if len(typed) != len(self._seen):
            return typed
        changed = [k for k, p in enumerate(typed) if p.name != self._seen[k].name]
        if len(changed) != 1:
            return typed
        names = renamed_in(self._seen, changed[0], typed[changed[0]].name)
        others = renamed(tuple(p for k, p in enumerate(typed) if k != changed[0]), names)
        return (*others[: changed[0]], typed[changed[0]], *others[changed[0] :])

    def _with(self, parameters: tuple[Parameter, ...]) -> tuple[Project | None, dict[int, str]]:
        """Return the project with these parameters, None where one is wrong; and what is wrong with which."""
        document = self._document
        if self._of is None:
            return None, {}
        try:
            project = with_asked(document.project, self._of, parameters)
            outline = outline_of(project, self._of)
            assert outline is not None
            made, errors = settled(outline)
            if made.constraints and not errors:
                with_held(project, outline_of(document.project, self._of), made)
        except (EditError, NotHeldError, GeometryError) as refused:
            pairs = enumerate(zip(parameters, (*self._seen, *parameters[len(self._seen) :]), strict=False))
            return None, {next((k for k, (now, was) in pairs if now != was), 0): spoken(str(refused))}
        return (None if errors else project), errors

    def _tell(self) -> tuple[Project | None, tuple[Parameter, ...]]:
        """Show what every row gives or what is wrong with it; return the project it gives, or None."""
        typed = self._typed()
        project, errors = self._with(typed)
        values = iter(enumerate(reckoned(typed)))
        for row in self.rows:
            if row.is_empty:
                row.show_row(None)
                continue
            k, found = next(values)
            row.show_row(Row(found.value, errors.get(k, "")))
        return project, typed

    # Editing

    def _preview(self) -> None:
        project, _ = self._tell()
        if project is None:
            self._document.cancel()
        elif project != self._document.project:
            self._document.preview(project)

    def _finish(self, words: str = "") -> None:
        if self._busy:
            return
        self._busy = True
        try:
            project, typed = self._tell()
            if project is None or typed == self._seen:
                self._document.cancel()
            else:
                before, self._seen = self._seen, typed
                self._document.commit(project, words or _step(before, typed))
                full = [row for row in self.rows if not row.is_empty]
                for row, parameter in zip(full, typed, strict=True):
                    row.put_formula(parameter.formula)
        finally:
            self._busy = False
        self._offer(self._document.state)

    def _drive(self, row: ParameterRow, drives: tuple[Drive, ...]) -> None:
        full = [r for r in self.rows if not r.is_empty]
        if row not in full:
            return
        before = [r.drives for r in full]
        driving = with_drives([r.parameter for r in full], full.index(row), drives)
        for r, p in zip(full, driving, strict=True):
            r.drives = p.drives
        project, _ = self._tell()
        if project is None:  # it cannot drive this: the words stay, what it drove stays
            for r, kept in zip(full, before, strict=True):
                r.drives = kept
            self._tell()
            return
        self._finish()

    def _remove(self, row: ParameterRow) -> None:
        self.rows.remove(row)
        row.drop()
        kept = [r.parameter for r in self.rows]
        for r in self.rows:
            r.drop()
        self.rows = []
        for parameter in kept:
            self._append(parameter)
        self._finish()

    def add(self) -> None:
        """Add a row to be typed in."""
        unit = unit_of(self._document.project)
        row = self._append(Parameter("", "", unit))
        row.show_row(None)
        self._offer(self._document.state)
        row.name.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape puts back what stood there; with nothing typed it closes. Enter takes what is typed."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._finish()
            return
        is_typed = tuple(row.parameter for row in self.rows) != self._seen
        if event.key() == Qt.Key.Key_Escape and is_typed:
            self._document.cancel()
            self._fill(self._seen)
            self._offer(self._document.state)
            return
        super().keyPressEvent(event)

    def reject(self) -> None:
        """Close; what is wrong is not kept."""
        self._document.cancel()
        self._fill(self._seen)
        super().reject()


def _step(before: tuple[Parameter, ...], after: tuple[Parameter, ...]) -> str:
    """Return what a step is called."""
    if len(after) > len(before):
        return tr("Add parameter {name}", name=after[-1].name)
    if len(after) < len(before):
        gone = next((p.name for p in before if p.name not in {q.name for q in after}), "")
        return tr("Remove parameter {gone}", gone=gone).strip()
    changed = next((q.name for p, q in zip(before, after, strict=True) if p != q), "")
    return tr("Change parameter {changed}", changed=changed).strip()
