"""Rows of the window of parameters: what is typed, what it gives, what it drives, and what is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QLabel,
    QLineEdit,
    QMenu,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from app.language import spoken, tr
from app.project.formula_tree import LONGEST_FORMULA, LONGEST_NAME
from app.project.parameters import Row, drive_words
from app.units import format_angle, format_length
from app.views.readings_text import minus
from app.views.theme import figures
from app.window.dialogs.typed_fields import error_colour, plain
from geometry.shape.held import Drive, Driven, Parameter

HEADS = (tr("Name"), tr("Formula"), tr("Unit"), tr("Value"), tr("Drives"), tr("Note"), "")
#: Shares of the width.
WIDTHS = (3, 5, 0, 0, 5, 3, 0)
#: What a parameter is, as its unit is shown.
UNITS = {"mm": "mm", "in": "in", "deg": "°", "": tr("none")}


def value_text(parameter: Parameter, row: Row) -> str:
    """Return what a parameter gives, with its unit; a dash where it gives nothing."""
    if row.value is None:
        return "–"
    if parameter.unit == "deg":
        return minus(format_angle(row.value, 2))
    if parameter.unit == "in":
        return minus(format_length(row.value, "in"))
    return minus(format_length(row.value) if parameter.unit == "mm" else plain(row.value, 6))


class ParameterRow(QWidget):
    """One parameter in the grid of the window; it puts its cells into the grid itself.

    Signals:
        typed(): a text was changed, not yet finished.
        finished(): what was typed is to be taken.
        drives_wanted(tuple): it shall drive these, and no others.
        removed(): it is to go.
    """

    typed = Signal()
    finished = Signal()
    drives_wanted = Signal(object)
    removed = Signal()

    def __init__(self, parameter: Parameter, grid: QGridLayout, at: int, parent: QWidget) -> None:
        super().__init__(parent)
        self.hide()  # its cells stand in the grid, each for itself
        self.drives = parameter.drives
        self.name, self.formula = QLineEdit(parameter.name), QLineEdit(parameter.formula)
        self.note = QLineEdit(parameter.note)
        self.name.setMaxLength(LONGEST_NAME)
        self.formula.setMaxLength(LONGEST_FORMULA)
        self.unit = QComboBox()
        for unit, words in UNITS.items():
            self.unit.addItem(words, unit)
        self.unit.setCurrentIndex(self.unit.findData(parameter.unit))
        self.value, self.error = QLabel(), QLabel()
        self.drive_button, self.remove_button = QToolButton(), QToolButton()
        self.menu = QMenu(self.drive_button)
        self._arrange(grid, at)
        for line in (self.name, self.formula, self.note):
            line.setCursorPosition(0)  # a long text shows its start
            line.textEdited.connect(lambda _text: self.typed.emit())
            line.editingFinished.connect(self.finished)
        self.unit.activated.connect(lambda _index: self.finished.emit())
        self.remove_button.clicked.connect(self.removed)

    def _arrange(self, grid: QGridLayout, at: int) -> None:
        self.value.setFont(figures(self.value.font()))
        self.value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.value.setMinimumWidth(96)
        self.drive_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.drive_button.setMenu(self.menu)
        self.drive_button.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.drive_button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        self.remove_button.setText(tr("Remove"))
        self.error.setWordWrap(True)
        self.error.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.error.hide()
        for k, (head, cell) in enumerate(zip(HEADS, self.cells(), strict=True)):
            grid.addWidget(cell, 2 * at + 1, k)
            cell.setAccessibleName(tr("{head}, parameter {at}", head=head or tr("Remove"), at=at + 1))
        grid.addWidget(self.error, 2 * at + 2, 0, 1, len(HEADS))

    def cells(self) -> tuple[QWidget, ...]:
        """Return what stands in the grid, from left to right."""
        return (
            *(self.name, self.formula, self.unit, self.value, self.drive_button, self.note),
            self.remove_button,
        )

    def drop(self) -> None:
        """Take the cells away."""
        for cell in (*self.cells(), self.error):
            cell.blockSignals(True)  # a field that goes is not left by the person
            cell.hide()
            cell.deleteLater()
        self.deleteLater()

    @property
    def is_empty(self) -> bool:
        """True while nothing was typed."""
        return not self.name.text().strip() and not self.formula.text().strip()

    @property
    def parameter(self) -> Parameter:
        """What is typed."""
        unit = str(self.unit.currentData())
        name, formula = self.name.text().strip(), self.formula.text().strip()
        return Parameter(name, formula, unit, self.note.text().strip(), self.drives)

    def put_formula(self, text: str) -> None:
        """Show another formula, where a name in it was changed."""
        if self.formula.text().strip() != text:
            self.formula.setText(text)

    def show_row(self, row: Row | None) -> None:
        """Show what it gives, or what is wrong; None for a row in which nothing was typed yet."""
        self.value.setText("" if row is None else value_text(self.parameter, row))
        words = [spoken(drive_words(drive)) for drive in self.drives]
        self.drive_button.setText(", ".join(words) or tr("nothing yet"))
        self.drive_button.setToolTip("\n".join(words) or tr("What of the outline takes this value"))
        message = row.error if row is not None else ""
        self.error.setText(f"▸ {message}" if message else "")
        self.error.setVisible(bool(message))
        palette = self.error.palette()
        palette.setColor(self.error.foregroundRole(), error_colour(self.palette()))
        self.error.setPalette(palette)
        self.formula.setAccessibleDescription(message)

    def offer(self, chosen: Sequence[int], may_inset: bool) -> None:
        """Offer to drive what is chosen on the drawing (numbers from 1), and to release what is driven."""
        self.menu.clear()
        if self.parameter.unit in ("mm", "in"):
            for drive in offered(chosen, may_inset):
                if drive not in self.drives:
                    self._add(
                        tr("Drive {drive_words}", drive_words=spoken(drive_words(drive))),
                        (*self.drives, drive),
                    )
        if self.menu.isEmpty():
            words = tr("Choose one to three vertices on the drawing to drive them")
            if self.parameter.unit not in ("mm", "in"):
                words = tr("A length alone drives an outline; other formulas may use this")
            self.menu.addAction(words).setEnabled(False)
        if self.drives:
            self.menu.addSeparator()
        for drive in self.drives:
            self._add(
                tr("Release {drive_words}", drive_words=spoken(drive_words(drive))),
                tuple(d for d in self.drives if d != drive),
            )

    def _add(self, words: str, drives: tuple[Drive, ...]) -> None:
        self.menu.addAction(words).triggered.connect(lambda: self.drives_wanted.emit(drives))


def offered(chosen: Sequence[int], may_inset: bool) -> list[Drive]:
    """Return what can be driven of vertices chosen in this order, numbers from 1."""
    found: list[Drive] = []
    if len(chosen) == 1:
        found = [Drive(what, tuple(chosen)) for what in (Driven.Z, Driven.R, Driven.RADIUS)]
    elif len(chosen) == 2:
        found = [Drive(Driven.WALL, tuple(chosen)), Drive(Driven.WALL, tuple(reversed(chosen)))]
    elif len(chosen) == 3:
        turned = [tuple(chosen[k:]) + tuple(chosen[:k]) for k in range(3)]
        found = [Drive(Driven.WALL, numbers) for numbers in turned]
    return [*found, Drive(Driven.INSET)] if may_inset else found


def renamed_in(parameters: Sequence[Parameter], k: int, name: str) -> dict[str, str]:
    """Return old and new name where a parameter got another one that no other has."""
    old = parameters[k].name
    taken = {p.name for i, p in enumerate(parameters) if i != k}
    return {old: name} if old and name and old != name and name not in taken and old not in taken else {}


def with_drives(parameters: Sequence[Parameter], k: int, drives: tuple[Drive, ...]) -> tuple[Parameter, ...]:
    """Return parameters of which one drives these; what it takes over from another is released there."""
    return tuple(
        replace(p, drives=drives if i == k else tuple(d for d in p.drives if d not in drives))
        for i, p in enumerate(parameters)
    )
