"""Could the blank that was found come out of tools that the project's blanks have? A page of its window."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel, QScrollArea, QVBoxLayout, QWidget

from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.sentences import SIGNS
from app.reports.variant_words import variant_head, variant_lines
from app.studies.blank_variant import Answer, VariantCheck, check_outline
from app.views.readings_text import minus
from geometry.errors import GeometryError
from geometry.forging.starting import starting_tolerances
from geometry.forging.usable import drawn_round
from geometry.readings.rules import State
from geometry.shape.blank import Blank
from geometry.shape.curve import Path

_NONE = "choose a blank with tools"
_ABOUT = (
    "Judged is the outline to draw: the usable one with all that may be missing added, by the tolerances of "
    "the tools' own blank, or by starting values where it states none."
)
_SIGNS = {Answer.WITHIN: State.CLEAR, Answer.OUTSIDE: State.SHORT, Answer.ASKED: State.NOT_KNOWN}


def against_tools(path: Path, mass_kg: float, density_kg_m3: float, owner: Blank) -> VariantCheck:
    """Return a usable outline, mm, of a mass held against the tools of a blank, by its outline to draw.

    Raises:
        GeometryError: an outline is not one, or not closed to the axle.
    """
    drawn = drawn_round(path, owner.tolerances or starting_tolerances(path, mass_kg))
    return check_outline(drawn, "The blank that was found", owner, density_kg_m3)


class BlankTools(QWidget):
    """Offers the blanks that have tools of their own, and says limit by limit what the chosen ones make."""

    def __init__(self) -> None:
        super().__init__()
        self.choice, self.said = QComboBox(), QLabel()
        self.choice.setAccessibleName("Tools of which blank")
        self.said.setAccessibleName("What these tools make of the blank that was found")
        self.said.setWordWrap(True)
        self.said.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._project: Project | None = None
        self._found: tuple[Path, float, float] | None = None
        words = QScrollArea()
        words.setWidgetResizable(True)
        words.setFrameShape(QScrollArea.Shape.NoFrame)
        words.setWidget(self.said)
        column = QVBoxLayout(self)
        column.addWidget(self.choice)
        column.addWidget(words, 1)
        self.choice.addItem(_NONE)
        self.choice.currentIndexChanged.connect(self._tell)

    def show_found(self, project: Project, path: Path, mass_kg: float, density_kg_m3: float) -> None:
        """Judge another usable outline, mm, by the density of its metal; the chosen tools stay chosen."""
        self._project, self._found = project, (path, mass_kg, density_kg_m3)
        before = self.choice.currentText()
        self.choice.blockSignals(True)
        self.choice.clear()
        self.choice.addItems([_NONE, *(b.name for b in project.blanks if b.variant_of is None)])
        self.choice.setCurrentIndex(max(self.choice.findText(before), 0))
        self.choice.blockSignals(False)
        self._tell()

    def _tell(self) -> None:
        owner = self._owner()
        if owner is None or self._found is None or self._project is None:
            self.said.setText(_ABOUT)
            return
        try:
            found = against_tools(*self._found, owner)
        except GeometryError as error:
            self.said.setText(f"Not known: {error}")
            return
        lines = variant_lines(found, Numbers(unit_of(self._project)))
        told = [f"{SIGNS[_SIGNS[c.answer]]} {words}" for c, words in zip(found.checks, lines, strict=True)]
        self.said.setText(minus("\n".join([f"{variant_head(found)}.", *told, "", _ABOUT])))

    def _owner(self) -> Blank | None:
        if self._project is None or self.choice.currentIndex() <= 0:
            return None
        return next((b for b in self._project.blanks if b.name == self.choice.currentText()), None)
