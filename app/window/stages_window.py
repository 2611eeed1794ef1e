"""The window that follows a wheel through its blank; it stays open beside the drawing."""

from __future__ import annotations

from functools import partial
from html import escape
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError, save_bytes
from app.files.writers.dxf import write_dxf
from app.language import spoken, tr
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.stage_drawing import stage_drawing
from app.reports.stage_pages import stages_pdf
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.stages import SOURCES, Followed, StageSettings, follow
from app.units import MassUnit, format_mass
from app.views.readings_text import minus
from app.views.stage_picture import StagePicture
from app.views.theme import Theme, figures
from app.window.dialogs.form import Form, quiet_label
from app.window.dialogs.typed_fields import ChoiceField, NumberField, length
from app.window.questions import tell
from geometry.forging.stages import MOST_MM, Route, StageName

_JOB = "stages of the blank"
#: What is typed is read after so long without a further key, ms.
_PAUSE_MS = 300
_LEGEND = tr(
    "tinted: cut by the next stage   chain line: the finished wheel   dashed: as spun   blue: datum   red: "
    "jaws, and the place with the least stock"
)
_COLUMNS = 5


class StagesWindow(QDialog):
    """Reads the stages of the shown wheel in the background, at once when a setting changes."""

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Stages of the blank"))
        self._document = document
        self.found: Followed | None = None
        self._read_for: Project | None = None
        self.jobs = Jobs(self)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(_PAUSE_MS)
        self._later.timeout.connect(self.start)
        self.table = QTableWidget(0, _COLUMNS)
        self.picture = StagePicture(theme)
        self.head, self.note, self.chosen = QLabel(), QLabel(), QLabel()
        self.run, self.save = QPushButton(tr("&Read again")), QPushButton(tr("&Save as DXF or pages..."))
        self.form = self._make_form()
        self._lay_out()
        self.run.clicked.connect(self.start)
        self.save.clicked.connect(self._save)
        self.table.currentCellChanged.connect(lambda row, *_rest: self._show(row))
        self.picture.stepped.connect(self._step)
        for field in self.form.fields:
            field.edited.connect(self._later.start)
        document.shown.connect(self._compare)
        self.resize(1180, 780)
        QTimer.singleShot(0, self.start)

    def _make_form(self) -> Form:
        form, kind, start = Form(), length(self._document.project.display_unit), StageSettings()
        route = start.route

        exact = partial(Numbers(unit_of(self._document.project)).length, with_unit=True)

        def source(key: str) -> str:
            words = spoken(SOURCES[key].words(exact))
            return f"{words[0].upper()}{words[1:]}."

        def stock(label: str, key: str, value: float | None, empty: str = "") -> NumberField:
            optional = bool(empty)
            field = NumberField(kind, value, optional=optional, least=0.0, most=MOST_MM, empty=empty)
            return form.add(label, field, source(key))

        form.head(tr("Route"))
        self.first = form.add(
            tr("First side"),
            ChoiceField([(tr("brake side"), True), (tr("street side"), False)], route.brake_first),
            source("brake_first"),
        )
        self.pierced = form.add(
            tr("Hole in the hub"),
            NumberField(kind, None, optional=True, above=0.0, empty=tr("not pierced")),
            tr("Diameter. {source}", source=source("pierced_mm")),
        )
        self.rough = stock(tr("Rough stock"), "rough_mm", None, tr("treated as forged"))
        self.movement = stock(tr("Movement"), "movement_mm", start.movement_mm)
        self.finishing = stock(tr("Finishing stock"), "finishing_mm", None, tr("the movement"))
        self.jaws = stock(tr("Length in the jaws"), "jaw_mm", route.jaw_mm)
        form.note(tr("Starting values from memory until they are the shop's own."))
        return form

    def _lay_out(self) -> None:
        self._name_columns(Numbers(unit_of(self._document.project)))
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setTabKeyNavigation(False)
        self.table.verticalHeader().hide()
        self.table.setShowGrid(False)
        self.table.setFont(figures(self.table.font()))
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        self.table.setAccessibleName(tr("Stages of the wheel in its blank"))
        self.chosen.setAccessibleName(tr("The chosen stage in words"))
        self.note.setAccessibleName(tr("What there is to say of the reading"))
        for label in (self.head, self.note, self.chosen):
            label.setWordWrap(True)
            label.setFont(figures(label.font()))
        self.chosen.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.chosen.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        words = QScrollArea()
        words.setAccessibleName(tr("The chosen stage"))
        words.setWidgetResizable(True)
        words.setFrameShape(QScrollArea.Shape.NoFrame)
        words.setWidget(self.chosen)
        left = QVBoxLayout()
        left.addWidget(self.form)
        left.addWidget(self.note)
        left.addWidget(self.run)
        left.addWidget(words, 1)
        side = QWidget()
        side.setLayout(left)
        side.setFixedWidth(340)
        right = QVBoxLayout()
        right.addWidget(self.head)
        right.addWidget(self.picture, 1)
        right.addWidget(quiet_label(_LEGEND))
        right.addWidget(self.table)
        middle = QHBoxLayout()
        middle.addWidget(side)
        middle.addLayout(right, 1)
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(spoken(CAUTION)), 1)
        foot.addWidget(self.save)
        column = QVBoxLayout(self)
        column.addLayout(middle, 1)
        column.addLayout(foot)
        self.save.setEnabled(False)
        for button in (self.run, self.save):
            button.setAutoDefault(False)

    # Reading

    def settings(self) -> StageSettings:
        """Return what the fields ask for.

        Raises:
            ValueError: a field cannot be read.
        """
        movement, jaws = self.movement.read(), self.jaws.read()
        finishing = self.finishing.read()
        assert movement is not None
        assert jaws is not None
        return StageSettings(
            Route(
                pierced_mm=self.pierced.read(),
                rough_mm=self.rough.read(),
                finishing_mm=movement if finishing is None else finishing,
                brake_first=self.first.read(),
                jaw_mm=jaws,
            ),
            movement,
        )

    def start(self) -> None:
        """Read the stages of the shown wheel, beside the window; what is under way is dropped."""
        self._later.stop()
        self.jobs.drop(_JOB)
        wheel, project = self._document.wheel, self._document.project
        if wheel is None:
            self._failed(ValueError(tr("No wheel is shown.")))
            return
        if [field for field in self.form.fields if not field.check()]:
            self._failed(ValueError(tr("A setting cannot be read.")))
            return
        work = partial(follow, project, wheel.name, self.settings())
        self.note.setText(tr("reading"))
        self.jobs.start(_JOB, work, partial(self._came, project), self._failed)

    def _came(self, project: Project, found: Followed) -> None:
        name = None if self.picture.stage is None else self.picture.stage.name
        self.found, self._read_for = found, project
        numbers = Numbers(unit_of(project))
        treated = found.treated
        self.head.setText(
            tr(
                "<b>{wheel}</b> in blank <b>{blank}</b>; with windows and holes "
                "{wheel_kg}<br>Thickest place at heat treatment <b>{thickest_mm}</b>: {row}; "
                "the thickest place as forged is {ratio:.2f} times that (at most 2)",
                wheel=escape(found.wheel),
                blank=escape(found.blank),
                wheel_kg=numbers.mass(found.wheel_kg),
                thickest_mm=numbers.length(treated.thickest_mm, with_unit=True),
                row=escape(treated.row),
                ratio=treated.ratio,
            )
        )
        self._fill(found, numbers)
        names = [stage.name for stage in found.stages]
        row = names.index(name) if name in names else names.index(StageName.FIRST)
        self.table.setCurrentCell(row, 0)
        self._show(row)
        self._compare(self._document.state)

    def _failed(self, error: Exception) -> None:
        """Show nothing where nothing could be read: an older outline must not be taken for the asked one."""
        self.found = None
        self.table.setRowCount(0)
        self.head.setText("")
        self.chosen.setText("")
        self.picture.show_stage(None, 0, Numbers("mm"))
        self.save.setEnabled(False)
        self.note.setText(minus(spoken(str(error))))

    def _name_columns(self, numbers: Numbers) -> MassUnit:
        """Name the columns with their units; return that of the masses."""
        mass: MassUnit = "lb" if numbers.unit == "in" else "kg"
        heads = [
            tr("stage"),
            mass,
            tr("chips, {mass}", mass=mass),
            tr("least stock, {unit}", unit=numbers.unit),
            tr("where"),
        ]
        self.table.setHorizontalHeaderLabels(heads)
        return mass

    def _fill(self, found: Followed, numbers: Numbers) -> None:
        mass = self._name_columns(numbers)
        self.table.blockSignals(True)
        self.table.setRowCount(len(found.stages))
        for row, stage in enumerate(found.stages):
            least = stage.least
            where = (
                ""
                if least is None
                else tr(
                    "{zone}, {side} side, {at}", zone=least.zone, side=least.side, at=numbers.place(least.at)
                )
            )
            mark = "▲ " if stage.warnings else ""
            texts = (
                f"{mark}{spoken(stage.name)}",
                format_mass(stage.mass_kg, mass, with_unit=False),
                format_mass(stage.chips_kg, mass, with_unit=False),
                "" if least is None else numbers.length(least.least_mm),
                where,
            )
            for column, text in enumerate(texts):
                cell = QTableWidgetItem(minus(text))
                if 0 < column < len(texts) - 1:
                    cell.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.table.setItem(row, column, cell)
        high = self.table.horizontalHeader().sizeHint().height() + 4
        self.table.setFixedHeight(high + sum(self.table.rowHeight(k) for k in range(len(found.stages))))
        self.table.blockSignals(False)

    def _show(self, row: int) -> None:
        """Show one stage, and say how it is held and what to look at."""
        if self.found is None or not 0 <= row < len(self.found.stages):
            return
        numbers = Numbers(unit_of(self._read_for or self._document.project))
        stage = self.found.stages[row]
        self.picture.show_stage(self.found, row, numbers)
        lines = [f"<b>{spoken(stage.name)}</b>"]
        if stage.holding is not None:
            lines.append(
                tr("Datum: {datum_words}.", datum_words=escape(stage.holding.datum_words(numbers.length)))
            )
            lines.append(
                tr("Held {grip_words}.", grip_words=escape(stage.holding.grip_words(numbers.length)))
            )
            if stage.holding.jaws is not None:
                lines.append(
                    tr("For them: {length}.", length=escape(stage.holding.jaws.words(numbers.length)))
                )
        lines += [
            f"▲ {escape(spoken(finding.words(numbers.length, numbers.mass)))}" for finding in stage.warnings
        ]
        exact = partial(numbers.length, with_unit=True)
        lines += [escape(spoken(note.words(exact))) for note in self.found.notes]
        self.chosen.setText(minus("<br><br>".join(lines)))

    def _step(self, by: int) -> None:
        if self.found is not None:
            row = min(max(self.table.currentRow() + by, 0), len(self.found.stages) - 1)
            self.table.setCurrentCell(row, 0)

    def _compare(self, shown: Shown) -> None:
        """Say when wheel or project are not those that were read."""
        if self.found is None or self._read_for is None or self.jobs.is_busy or shown.dragging:
            return
        current = self._inputs(self._document.project) == self._inputs(self._read_for)
        wheel = self._document.wheel
        current = current and wheel is not None and wheel.name == self.found.wheel
        self.save.setEnabled(current)
        if not current:
            self.note.setText(tr("the wheel or the project has changed since: read again"))
            return
        count = len(self.found.warnings)
        things = tr("thing") if count == 1 else tr("things")
        self.note.setText(
            tr("▲ {count} {things} to look at", count=count, things=things)
            if count
            else tr("nothing to look at")
        )

    def _inputs(self, project: Project) -> tuple[object, ...]:
        """Return what the stages hang on."""
        name = "" if self.found is None else self.found.wheel
        wheel = next((w for w in project.wheels if w.name == name), None)
        return wheel, project.blanks, project.rule_sets, project.materials, project.display_unit

    def _save(self) -> None:
        """Write the chosen stage for the lathe, or all of them on pages."""
        stage = self.picture.stage
        if self.found is None or stage is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        kinds = tr("This stage, a drawing (*.dxf);;All stages, pages (*.pdf)")
        name, chosen = QFileDialog.getSaveFileName(
            self, tr("Save the stages"), str(folder / f"{stage.name}.dxf"), kinds
        )
        if not name:
            return
        out = Path(name)
        as_pages = out.suffix.lower() == ".pdf" or (out.suffix.lower() != ".dxf" and "pdf" in chosen)
        if out.suffix.lower() not in (".dxf", ".pdf"):
            out = out.with_name(f"{out.name}{'.pdf' if as_pages else '.dxf'}")
        try:
            if as_pages:
                save_bytes(out, stages_pdf(self._read_for or self._document.project, self.found))
            else:
                write_dxf(out, stage_drawing(self.found, stage))
        except SaveError as error:
            tell(self, tr("Not saved"), spoken(str(error)))

    def reject(self) -> None:
        """Stop what is under way, and close."""
        self._later.stop()
        self.jobs.drop(_JOB)
        super().reject()
