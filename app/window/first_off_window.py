"""A measured first wheel over its nominal section: read the points, see shift and form, save the page."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError, save_bytes
from app.files.readers.measured import MeasuredPoints, read_points
from app.files.readers.read import SUFFIXES
from app.language import spoken, tr
from app.project.caution import CAUTION
from app.reports.first_off_page import first_off_pdf, result_words, signed, zone_table
from app.reports.numbers import Numbers, unit_of
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.first_off import LIMITS, FirstOffSettings, Measured, measured
from app.units import UnitsError
from app.views.first_off_picture import FirstOffPicture
from app.views.plain_table import PlainTable, Value
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.dialogs.typed_fields import FieldError, NumberField, length
from app.window.questions import tell
from geometry.errors import GeometryError

_JOB = "measured points"
_UNITS = ((tr("unit: as the file says"), None), ("mm", "mm"), (tr("inches"), "in"))


class FirstOffWindow(QDialog):
    """Holds measured points against the shown wheel, anew after each edit.

    Attributes:
        points: what was read last; found: how it lies to the wheel, None without points or with a fault.
    """

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Measured first-off"))
        self._document = document
        self.points: MeasuredPoints | None = None
        self.found: Measured | None = None
        self._read_of: tuple[object, str] = None, ""  # the wheel, and the unit that is shown
        self._path: Path | None = None
        self.jobs = Jobs(self)
        self.picture = FirstOffPicture(theme)
        self.table = PlainTable(tr("Deviation by zone"))
        self.words = QLabel(tr("No points yet."))
        self.read, self.save = QPushButton(tr("&Read points...")), QPushButton(tr("&Save the page..."))
        self.unit, self.fitted = QComboBox(), QCheckBox(tr("&Draw with the shift taken out"))
        self.flip = QCheckBox(tr("&z of the file runs inboard"))
        kind, start = length(document.project.display_unit), FirstOffSettings()
        self.face = NumberField(kind, start.face_z_mm)
        self.ball = NumberField(kind, start.ball_mm, least=0.0)
        self.reach = NumberField(kind, start.reach_mm, above=0.0)
        self._lay_out()
        self.read.clicked.connect(self._ask)
        self.save.clicked.connect(self._save)
        self.unit.activated.connect(lambda _index: self._again())
        for box in (self.flip, self.fitted):
            box.toggled.connect(lambda _on: self._hold())
        for field in (self.face, self.ball, self.reach):
            field.edited.connect(self._hold)
        document.shown.connect(self._follow)
        self.resize(1080, 820)

    def _lay_out(self) -> None:
        for text, data in _UNITS:
            self.unit.addItem(text, data)
        self.unit.setAccessibleName(tr("Unit of the points"))
        self.fitted.setChecked(True)
        self.save.setEnabled(False)
        for button in (self.read, self.save):
            button.setAutoDefault(False)
        top, frame = QHBoxLayout(), QHBoxLayout()
        for widget in (self.read, self.unit, self.flip):
            top.addWidget(widget)
        top.addStretch(1)
        top.addWidget(self.save)
        named = (
            (tr("Mounting face at z"), self.face),
            (tr("Probe ball, radius"), self.ball),
            (tr("Reach"), self.reach),
        )
        for words, field in named:
            field.name(words)
            field.setMaximumWidth(150)
            frame.addWidget(QLabel(words))
            frame.addWidget(field)
        frame.addStretch(1)
        frame.addWidget(self.fitted)
        self.reach.editor.setToolTip(tr("Points farther from the nominal skin are left out and counted."))
        self.words.setWordWrap(True)
        self.words.setFont(figures(self.words.font()))
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        halves = QSplitter(Qt.Orientation.Vertical)
        halves.addWidget(self.picture)
        halves.addWidget(self.table)
        halves.setSizes([380, 300])
        halves.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.addLayout(top)
        column.addLayout(frame)
        column.addWidget(self.words)
        column.addWidget(halves, 1)
        column.addWidget(quiet_label(f"{spoken(LIMITS)} {spoken(CAUTION)}"))

    # Reading

    def _ask(self) -> None:
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        kinds = " ".join(f"*{suffix}" for suffix in SUFFIXES)
        name, _ = QFileDialog.getOpenFileName(
            self,
            tr("Read measured points"),
            str(folder),
            tr("Tables and drawings ({kinds});;All files (*)", kinds=kinds),
        )
        if name:
            self.read_file(Path(name))

    def read_file(self, path: Path) -> None:
        """Read the points of a file, beside the window."""
        self._path = path
        self.words.setText(tr("{name}: reading...", name=path.name))
        work = partial(read_points, path, self.unit.currentData())
        self.jobs.start(_JOB, work, self._came, self._failed)

    def _again(self) -> None:
        if self._path is not None:
            self.read_file(self._path)

    def _came(self, points: MeasuredPoints) -> None:
        self.points = points
        self._hold()

    def _failed(self, error: Exception) -> None:
        self.points = None
        self._nothing(spoken(str(error)))

    # Holding against the wheel

    def _follow(self, shown: Shown) -> None:
        if self.isVisible() and not shown.dragging:
            self._catch_up(shown)

    def _catch_up(self, shown: Shown) -> None:
        wheel, unit = self._read_of
        if self.points is not None and (shown.wheel is not wheel or shown.project.display_unit != unit):
            self._hold()

    def _hold(self) -> None:
        """Hold the points against the wheel as it is now."""
        wheel, points = self._document.wheel, self.points
        self._read_of = wheel, self._document.project.display_unit
        if points is None:
            return
        if wheel is None:
            self._nothing(tr("No wheel is shown."))
            return
        try:
            settings = FirstOffSettings(
                self.face.number(), self.flip.isChecked(), self.reach.number(), self.ball.number()
            )
            self.found = measured(wheel, points.places, settings, points.file_name)
        except (GeometryError, FieldError, UnitsError) as error:
            self._nothing(spoken(str(error)))
            return
        numbers = Numbers(unit_of(self._document.project))
        table = zone_table(self.found, numbers)
        self.words.setText(minus("\n".join(map(spoken, (*result_words(self.found, numbers), *points.said)))))
        rows = [[_value(cell) for cell in row.cells] for row in table.rows]
        self.table.show_rows([c.head for c in table.columns], rows, partial(_cell, numbers))
        self.picture.show_measured(self.found, self.fitted.isChecked())
        self.save.setEnabled(True)

    def _nothing(self, words: str) -> None:
        self.found = None
        self.words.setText(words)
        self.table.show_rows([tr("Zone")], [])
        self.picture.show_measured(None, self.fitted.isChecked())
        self.save.setEnabled(False)

    def _save(self) -> None:
        """Write the page."""
        if self.found is None or self.points is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        start = folder / f"{self.found.wheel} first-off.pdf"
        name, _ = QFileDialog.getSaveFileName(self, tr("Save the page"), str(start), tr("Pages (*.pdf)"))
        if not name:
            return
        out = Path(name) if name.lower().endswith(".pdf") else Path(f"{name}.pdf")
        try:
            save_bytes(out, first_off_pdf(self._document.project, self.found, self.points.sha256))
        except SaveError as error:
            tell(self, tr("Not saved"), spoken(str(error)))
            return
        self._document.say(tr("Saved {name}.", name=out.name))

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what was drawn while it was closed."""
        super().showEvent(event)
        self._catch_up(self._document.state)

    def reject(self) -> None:
        """Stop what is under way, and close."""
        if self.jobs.is_busy:
            self.jobs.drop(_JOB)
            self.words.setText(tr("stopped"))
            self._hold()  # what was read before is told again
        super().reject()


def _value(cell: str) -> Value:
    """Return a cell of the table as a number where it is one, so that it is sorted by it."""
    try:
        return int(cell) if cell.isdecimal() else float(cell) if cell else None
    except ValueError:
        return cell


def _cell(numbers: Numbers, _column: int, value: Value) -> str:
    if isinstance(value, float):
        return minus(signed(value if numbers.unit == "mm" else value * 25.4, numbers))
    return "" if value is None else str(value)
