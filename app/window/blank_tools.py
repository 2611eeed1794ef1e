"""Could the blank that was found come out of tools that the project's blanks have? A page of its window."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QLabel, QScrollArea, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.sentences import SIGNS
from app.reports.variant_words import ABOUT_TOOLS, variant_head, variant_lines
from app.studies.blank_variant import Answer, VariantCheck
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import against_tools
from app.views.readings_text import minus
from geometry.errors import GeometryError
from geometry.readings.rules import State
from geometry.shape.blank import Blank
from geometry.shape.curve import Path

_NONE = tr("choose a blank with tools")
_SIGNS = {Answer.WITHIN: State.CLEAR, Answer.OUTSIDE: State.SHORT, Answer.ASKED: State.NOT_KNOWN}


class BlankTools(QWidget):
    """Offers the blanks that have tools of their own, and says limit by limit what the chosen ones make.

    Signals:
        judged(check): other tools or another blank are judged; None where there is nothing to judge.
    """

    judged = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.choice, self.said = QComboBox(), QLabel()
        self.choice.setAccessibleName(tr("Tools of which blank"))
        self.said.setAccessibleName(tr("What these tools make of the blank that was found"))
        self.said.setWordWrap(True)
        self.said.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._project: Project | None = None
        self._found: tuple[Path, float, ForgingSettings, float] | None = None
        #: The found blank held against the chosen tools; None where none are chosen or it cannot be.
        self.check: VariantCheck | None = None
        words = QScrollArea()
        words.setAccessibleName(tr("How the blank goes with the tools"))
        words.setWidgetResizable(True)
        words.setFrameShape(QScrollArea.Shape.NoFrame)
        words.setWidget(self.said)
        column = QVBoxLayout(self)
        column.addWidget(self.choice)
        column.addWidget(words, 1)
        self.choice.addItem(_NONE)
        self.choice.currentIndexChanged.connect(self._tell)

    def show_found(
        self, project: Project, path: Path, mass_kg: float, settings: ForgingSettings, density_kg_m3: float
    ) -> None:
        """Judge another usable outline, mm, by the density of its metal; the chosen tools stay chosen."""
        self._project, self._found = project, (path, mass_kg, settings, density_kg_m3)
        before = self.choice.currentText()
        self.choice.blockSignals(True)
        self.choice.clear()
        self.choice.addItems([_NONE, *(b.name for b in project.blanks if b.variant_of is None)])
        self.choice.setCurrentIndex(max(self.choice.findText(before), 0))
        self.choice.blockSignals(False)
        self._tell()

    def _tell(self) -> None:
        self.check = None
        self._say()
        self.judged.emit(self.check)

    def _say(self) -> None:
        owner = self.owner()
        if owner is None or self._found is None or self._project is None:
            self.said.setText(spoken(ABOUT_TOOLS))
            return
        try:
            found = self.check = against_tools(*self._found, owner)
        except GeometryError as error:
            self.said.setText(tr("Not known: {error}", error=error))
            return
        lines = variant_lines(found, Numbers(unit_of(self._project)))
        told = [
            f"{SIGNS[_SIGNS[c.answer]]} {spoken(words)}" for c, words in zip(found.checks, lines, strict=True)
        ]
        self.said.setText(
            minus("\n".join([f"{spoken(variant_head(found))}.", *told, "", spoken(ABOUT_TOOLS)]))
        )

    def owner(self) -> Blank | None:
        """Return the blank whose tools are chosen, None for none."""
        if self._project is None or self.choice.currentIndex() <= 0:
            return None
        return next((b for b in self._project.blanks if b.name == self.choice.currentText()), None)
