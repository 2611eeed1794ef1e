"""The window that maps which widths and insets a blank can be cut to; it stays open beside the drawing."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from html import escape
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError, save_bytes
from app.language import spoken, tr
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.steps_text import steps, written
from app.reports.limits_words import relied_words
from app.reports.numbers import Numbers, unit_of
from app.reports.outputs import limits_pdf
from app.reports.sentences import SIGNS
from app.reports.variant_words import check_words, variant_head
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.blank_variant import Answer, VariantCheck
from app.studies.extremes import Extreme, extreme_words
from app.studies.limits import Cell, Limits, drawn, usual
from app.studies.limits_against import Against
from app.studies.limits_table import as_csv
from app.views.limits_map import NOT_DRAWN, cell_words
from app.views.limits_pair import LimitsPair
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.limits_work import Found, inputs, read
from app.window.questions import tell
from geometry.errors import GeometryError
from geometry.readings.rules import State

_JOB = "limits of a blank"
_LEGEND = tr(
    "{sign} cuttable   {signs_2} tight, can be cut   {signs_3} not   {signs_4} "
    "not known   {not_drawn} cannot be drawn   ━ insets that can be cut   ○ the "
    "wheel as drawn",
    sign=SIGNS[State.CLEAR],
    signs_2=SIGNS[State.TIGHT],
    signs_3=SIGNS[State.SHORT],
    signs_4=SIGNS[State.NOT_KNOWN],
    not_drawn=NOT_DRAWN,
)
_ALONE = tr("◤ cut from this blank alone")
_NONE = tr("(none)")
_STOCK_ONLY = tr("Stock in the blank alone counts here: gaps to brakes, walls and hub fit are not judged.")


class _Told(QObject):
    """Carries how far the work is from its thread."""

    came = Signal(int, int)


class LimitsWindow(QDialog):
    """Reads the map of the shown wheel in a blank in the background; a cell opens as a new version.

    Signals:
        wheel_made(project, text, name): a cell was opened as a new version of that name.
    """

    wheel_made = Signal(object, str, str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Limits of a blank"))
        self._document = document
        self.found: Limits | None = None
        self.held: Against | None = None
        self._read_for: Project | None = None
        self._still: tuple[Extreme, ...] = ()
        self._wheel = ""
        self._stop = threading.Event()
        self.jobs = Jobs(self)
        self._told = _Told()
        self._told.came.connect(self._tell)
        self.blank, self.second = QComboBox(), QComboBox()
        self.widths, self.insets, self.pieces = QLineEdit(), QLineEdit(), QLineEdit()
        self.keep_seat, self.cores = (
            QCheckBox(tr("&keep the machining datum")),
            QCheckBox(tr("use &all cores")),
        )
        self.run, self.save = QPushButton(tr("&Read again")), QPushButton(tr("&Save as a table or pages..."))
        self.appendix = QCheckBox(tr("pages with appen&dix"))
        self.appendix.setToolTip(
            tr(
                "The report is one page; the appendix adds what closes each window, tools of a variant, "
                "what a "
                "second blank gives up side by side, and what can be relied on of each blank."
            )
        )
        self.take = QPushButton(tr("&Open as a new version"))
        self.bar, self.head, self.note, self.chosen = QProgressBar(), QLabel(), QLabel(), QLabel()
        self.pair = LimitsPair(theme)
        self.map = self.pair.maps[0]
        self.legend = quiet_label(_LEGEND)
        self._lay_out()
        self.run.clicked.connect(self._run_or_stop)
        self.save.clicked.connect(self._save)
        self.take.clicked.connect(self._take)
        for field in (self.widths, self.insets, self.pieces):
            field.returnPressed.connect(self.start)
        for box in (self.blank, self.second):
            box.activated.connect(self._chosen_blank)
        self.pair.cell_chosen.connect(self._tell_cell)
        self.pair.cell_wanted.connect(lambda _cell: self._take())
        document.shown.connect(self._compare)
        self.resize(1180, 780)
        self.show_wheel()

    def _lay_out(self) -> None:
        self.blank.setAccessibleName(tr("Blank"))
        self.second.setAccessibleName(tr("A second blank against it"))
        self.second.setToolTip(tr("Both maps, and what the second blank gives up of the drawn wheel."))
        self.widths.setAccessibleName(tr("Width codes"))
        self.insets.setAccessibleName(tr("Insets, mm"))
        self.pieces.setAccessibleName(tr("Pieces a year"))
        self.pieces.setPlaceholderText(tr("least order"))
        self.pieces.setToolTip(tr("Yearly order whose price step holds, for the money of two blanks."))
        how = tr("Numbers, as 8, 8.5, 9, or low:high:step, as 0:45:5.")
        self.widths.setToolTip(how)
        self.insets.setToolTip(tr("{how} In mm.", how=how))
        self.keep_seat.setToolTip(
            tr(
                "The mounting face stays at its place in the blank; in another blank than the wheel's "
                "own, where "
                "the drawn wheel sits best. Else every cell is slid to its greatest least spare stock."
            )
        )
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(160)
        self.bar.hide()
        for label in (self.head, self.chosen):
            label.setWordWrap(True)
            label.setFont(figures(label.font()))
        self.chosen.setAccessibleName(tr("The chosen cell"))
        self.note.setAccessibleName(tr("How far the map is"))
        fields = QGridLayout()
        named: tuple[tuple[str, QWidget], ...] = (
            (tr("&Blank"), self.blank),
            (tr("a&gainst"), self.second),
            (tr("&Widths"), self.widths),
            (tr("&Insets, mm"), self.insets),
        )
        for k, (words, field) in enumerate(named):
            label = QLabel(words)
            label.setBuddy(field)
            fields.addWidget(label, 0, 2 * k)
            fields.addWidget(field, 0, 2 * k + 1)
            # A list of insets is longer than all else.
            fields.setColumnStretch(2 * k + 1, 3 if field is self.insets else 1)
        under = QHBoxLayout()
        for box in (self.keep_seat, self.cores):
            under.addWidget(box)
        of_pieces = QLabel(tr("&Pieces a year"))
        of_pieces.setBuddy(self.pieces)
        self.pieces.setMaximumWidth(120)
        under.addSpacing(8)
        under.addWidget(of_pieces)
        under.addWidget(self.pieces)
        under.addStretch(1)
        for widget in (self.note, self.bar, self.run):
            under.addWidget(widget)
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(f"{_STOCK_ONLY} {spoken(CAUTION)}"), 1)
        foot.addWidget(self.appendix)
        foot.addWidget(self.save)
        foot.addWidget(self.take)
        column = QVBoxLayout(self)
        column.addLayout(fields)
        column.addLayout(under)
        column.addWidget(self.head)
        column.addWidget(self.pair, 1)
        column.addWidget(self.legend)
        column.addWidget(self.chosen)
        column.addLayout(foot)
        for button in (self.run, self.save, self.take):
            button.setAutoDefault(False)
        self.take.setEnabled(False)
        self.save.setEnabled(False)

    # Reading

    def show_wheel(self) -> None:
        """Take the shown wheel up with its blank and the widths and insets round its own, and read it."""
        wheel, project = self._document.wheel, self._document.project
        names = [blank.name for blank in project.blanks]
        self.blank.clear()
        self.blank.addItems(names)
        self.second.clear()
        self.second.addItem(_NONE)
        self.second.addItems(names)
        if wheel is None:
            self.note.setText(tr("No wheel is shown."))
            return
        if wheel.blank in names:
            self.blank.setCurrentIndex(names.index(str(wheel.blank)))
        widths, insets = usual(wheel)
        self.widths.setText(written(widths))
        self.insets.setText(written(insets))
        for field in (self.widths, self.insets):
            field.setCursorPosition(0)
        # After the window is there, so that it is seen at once.
        QTimer.singleShot(0, self.start)

    def start(self) -> None:
        """Read the map of the shown wheel, beside the window."""
        wheel, project = self._document.wheel, self._document.project
        if self.jobs.is_busy:
            return
        if wheel is None or not self.blank.currentText():
            self.note.setText(
                tr("No wheel is shown.") if wheel is None else tr("No blank in the project: draw one.")
            )
            return
        try:
            widths = steps(self.widths.text(), tr("Widths"))
            insets = steps(self.insets.text(), tr("Insets"))
            pieces = _whole(self.pieces.text())
        except GeometryError as error:
            self.note.setText(spoken(str(error)))
            return
        self._stop, self._wheel = threading.Event(), wheel.name
        work = partial(
            read,
            project,
            wheel.name,
            self.blank.currentText(),
            second=self._second(),
            pieces=pieces,
            widths=widths,
            insets=insets,
            keep_seat=self.keep_seat.isChecked(),
            cores=0 if self.cores.isChecked() else 1,
            progress=_teller(self._stop, self._told),
        )
        self.bar.setRange(0, len(widths) * (1 if self._second() is None else 2))
        self.bar.setValue(0)
        self.bar.show()
        self.run.setText(tr("&Stop"))
        self.note.setText(tr("reading"))
        self.jobs.start(_JOB, work, partial(self._came, project), self._failed)

    def _second(self) -> str | None:
        """Return the blank that the first is held against, None for none."""
        name = self.second.currentText()
        return None if self.second.currentIndex() <= 0 or name == self.blank.currentText() else name

    def _chosen_blank(self) -> None:
        """Read another pair of blanks; what is under way is of the former pair."""
        if self.jobs.is_busy:
            self._stop.set()
            self.jobs.drop(_JOB)
            self._ended()
        self.start()

    def _run_or_stop(self) -> None:
        if self.jobs.is_busy:
            self._stop.set()
            self.note.setText(tr("stopping"))
        else:
            self.start()

    def _tell(self, done: int, of: int) -> None:
        if self.jobs.is_busy:
            self.bar.setValue(done)
            self.note.setText(tr("{done} of {of} widths", done=done, of=of))

    def _came(self, project: Project, found: Found) -> None:
        result, self._still, self.held, variants = found
        self._ended()
        self.found, self._read_for = result, project
        wheel = edits.find(project, edits.WHEEL, result.wheel)
        numbers = Numbers(unit_of(project))
        words = (spoken(extreme_words(extreme, numbers).rstrip(".")) for extreme in self._still)
        still = "<br>".join(f"   {escape(minus(said))}" for said in words)
        self.pair.show_limits(project, result, self.held, (wheel.size.width_code, wheel.inset_mm))
        self.legend.setText(_LEGEND if self.held is None else f"{_LEGEND}   {_ALONE}")
        kept = tr("each cell slid to its greatest least spare stock")
        if result.datum_mm is not None:
            kept = tr(
                "blank at z {datum_mm} from the mounting face in every cell",
                datum_mm=numbers.length(result.datum_mm),
            )
        unit = "inches" if numbers.unit == "in" else numbers.unit
        what = tr(
            "<b>{wheel}</b> in blank <b>{blank}</b>", wheel=escape(result.wheel), blank=escape(result.blank)
        )
        self.head.setText(
            tr(
                "{what}, {blank_kg}; spare stock in {unit}, {kept}<br>{relied_words}<br>Can "
                "still be had of the drawn wheel where it sits:<br>{still}{variant}",
                what=what,
                blank_kg=numbers.mass(result.blank_kg),
                unit=unit,
                kept=minus(kept),
                relied_words=escape(relied_words(project, result.blank)),
                still=still,
                variant="".join(_variant(each, numbers) for each in variants),
            )
        )
        self.save.setEnabled(True)
        self._compare(self._document.state)

    def _failed(self, error: Exception) -> None:
        self._ended()
        self.note.setText(spoken(str(error)))

    def _ended(self) -> None:
        self.bar.hide()
        self.run.setText(tr("&Read again"))
        self.note.setText("")

    def _compare(self, shown: Shown) -> None:
        """Say when wheel or project are not those that were read."""
        if self.found is None or self.jobs.is_busy or shown.dragging:
            return
        current = self._is_current()
        self.take.setEnabled(current and self._can_open())
        if not current:
            self.note.setText(tr("the wheel or the project has changed since: read again"))
        elif not self.found.is_whole:
            self.note.setText(
                tr(
                    "stopped: {rows} of {widths} widths",
                    rows=len(self.found.rows),
                    widths=len(self.found.widths),
                )
            )
        else:
            cells = self.found.cells
            words = (tr("cuttable"), tr("tight"), tr("not"), tr("not known"), tr("not drawn"))
            counts = {word: sum(cell.word == word for cell in cells) for word in words}
            self.note.setText(", ".join(f"{n} {word}" for word, n in counts.items() if n))

    def _is_current(self) -> bool:
        if self._read_for is None:
            return False
        now = self._document.project
        return inputs(now, self._wheel) == inputs(self._read_for, self._wheel)

    # Choosing

    def _can_open(self) -> bool:
        cell = self.pair.cell()
        return cell is not None and cell.state is not None

    def _tell_cell(self, cell: Cell) -> None:
        numbers = Numbers(unit_of(self._document.project))
        words = [cell_words(each, numbers) for each in self.pair.cells()]
        if self.held is not None and len(words) == 2:
            blanks = (self.held.first.blank, self.held.second.blank)
            words = [f"{blank}: {line}" for blank, line in zip(blanks, words, strict=True)]
        self.chosen.setText("\n".join(words))
        self.take.setEnabled(cell.state is not None and self._is_current())

    def _take(self) -> None:
        """Open the chosen cell's wheel as a new version, in its blank and at its seat."""
        cell = self.pair.cell()
        if self.found is None or cell is None or not self.take.isEnabled():
            return
        project = self._document.project
        wheel = edits.find(project, edits.WHEEL, self.found.wheel)
        words = tr(
            "{wheel}, {width_code:g} x ET {inset_mm:g}",
            wheel=self.found.wheel,
            width_code=cell.width_code,
            inset_mm=cell.inset_mm,
        )
        name = edits.free_name(project, edits.WHEEL, words)
        made = drawn(wheel, cell.width_code, cell.inset_mm)
        blank = self.found.blank
        if self.pair.active == 1 and self.held is not None:
            blank = self.held.second.blank
        why = f"{words} in {blank}".removeprefix(f"{self.found.wheel}, ")
        made = replace(
            made, name=name, blank=blank, seat_mm=cell.seat_mm, made_from=self.found.wheel, why=why
        )
        self.wheel_made.emit(edits.add(project, edits.WHEEL, made), tr("New version {name}", name=name), name)

    def _save(self) -> None:
        if self.found is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        name, chosen = QFileDialog.getSaveFileName(
            self, tr("Save the map"), str(folder / "limits.csv"), tr("Tables (*.csv);;Pages (*.pdf)")
        )
        if name:
            out = Path(name)
            as_pages = out.suffix.lower() == ".pdf" or (not out.suffix and "pdf" in chosen)
            try:
                if as_pages:
                    out = out.with_suffix(".pdf")
                    project = self._read_for or self._document.project
                    with_more = self.appendix.isChecked()
                    pages = limits_pdf(project, self.found, self._still, self.held, appendix=with_more)
                    save_bytes(out, pages)
                else:
                    both = (self.found,) if self.held is None else (self.found, self.held.second)
                    save_bytes(out, as_csv(*both).encode("utf-8"))
            except SaveError as error:
                tell(self, tr("Not saved"), spoken(str(error)))

    def reject(self) -> None:
        """Stop what is under way, and close."""
        self._stop.set()
        self.jobs.drop(_JOB)
        super().reject()


def _variant(found: VariantCheck, numbers: Numbers) -> str:
    """Return what the tools of a variant say as a line of the head: all that is not simply within."""
    said = [
        words for c in found.checks if c.answer is not Answer.WITHIN for words in [check_words(c, numbers)]
    ]
    told = "; ".join(f"{spoken(what)} {spoken(words)}" for what, words in said)
    return f"<br><b>{escape(spoken(variant_head(found)))}</b>{': ' * bool(said)}{escape(minus(told))}."


def _teller(stop: threading.Event, told: _Told) -> Callable[[int, int], bool]:
    def tell_and_ask(done: int, of: int) -> bool:
        told.came.emit(done, of)
        return not stop.is_set()

    return tell_and_ask


def _whole(text: str) -> int | None:
    """Return a yearly order, None for an empty field.

    Raises:
        GeometryError: it is not a whole number from 1.
    """
    if not text.strip():
        return None
    if not text.strip().isdecimal() or int(text) < 1:
        raise GeometryError(
            tr("Pieces a year '{strip}': give a whole number from 1, or leave it empty.", strip=text.strip())
        )
    return int(text)
