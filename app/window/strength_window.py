"""The window that screens a wheel for strength; it stays open beside the drawing and follows it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from html import escape
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.strength_family import evidence
from app.reports.strength_shown import Shown as Screening
from app.reports.strength_words import Cell, summary
from app.session.child import Child, Progress, StoppedError
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.session.stress_step import top_mpa
from app.studies.strength.compare import compared
from app.studies.strength.sensitivity import Gain
from app.views.readings_text import minus
from app.views.strength_picture import StressSection
from app.views.strength_work import Screened, per_mm, screened
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.questions import tell
from app.window.strength_files import write
from app.window.strength_pages import StrengthPages
from geometry.errors import GeometryError

_SCREEN, _PER_MM, _WRITE = "strength", "what a millimetre buys", "writing"
_NONE = "none"
#: A change is waited out so long before the study begins again, ms.
_WAIT_MS = 400
#: Screenings that are kept, so that going back to a wheel costs nothing.
_MOST_KEPT = 4

Inputs = tuple[object, ...]


class _Told(QObject):
    """Carries how far the work is from its thread."""

    came = Signal(int, int, str)


class StrengthWindow(QDialog):
    """Screens the shown wheel, and one beside it, in a child process.

    Signals:
        project_made(project, text): the reference of the wheel was chosen; one undo step.
        settings_wanted(): the settings of strength are to be edited.
        details_wanted(name): load, tyre or material of a wheel are to be named.
    """

    project_made = Signal(object, str)
    settings_wanted = Signal()
    details_wanted = Signal(str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Strength")
        self._document, self._theme = document, theme
        self.shown: Screening | None = None
        self._screened: dict[str, tuple[Inputs, Screened]] = {}
        self._failed_for: dict[str, tuple[Inputs, str]] = {}
        self._running: tuple[str, Inputs] | None = None
        self._followed: str | None = None
        self.jobs, self._child, self._told = Jobs(self), Child(), _Told()
        self._told.came.connect(self._tell)
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(self.start)
        self.wheel, self.beside = QComboBox(), QComboBox()
        self.keep = QPushButton("Keep as its &reference")
        self.settings, self.run = QPushButton("Settin&gs..."), QPushButton("&Stop")
        self.save = QPushButton("Sa&ve as tables or pages...")
        self.details = QPushButton("Wheel &details...")
        self.bar, self.head, self.note, self.remedy = QProgressBar(), QLabel(), QLabel(), QLabel()
        self.pages = StrengthPages(theme)
        self.pictures = (StressSection(theme), StressSection(theme))
        self._lay_out()
        self._connect()
        self.resize(1240, 760)
        self.show_wheel()

    def _lay_out(self) -> None:
        self.wheel.setAccessibleName("Wheel")
        self.beside.setAccessibleName("A wheel beside it")
        self.beside.setToolTip("Every figure of the wheel then stands as a ratio to this one's.")
        self.pictures[0].setAccessibleName("Stress in the wheel")
        self.pictures[1].setAccessibleName("Stress in the wheel beside it")
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(150)
        self.head.setWordWrap(True)
        self.head.setFont(figures(self.head.font()))
        self.remedy.setWordWrap(True)
        self.note.setAccessibleName("How far the study is")
        top = QHBoxLayout()
        for words, box in (("&Wheel", self.wheel), ("&beside", self.beside)):
            label = QLabel(words)
            label.setBuddy(box)
            box.setMinimumContentsLength(14)
            top.addWidget(label)
            top.addWidget(box)
        top.addWidget(self.keep)
        top.addWidget(self.settings)
        top.addStretch(1)
        for widget in (self.note, self.bar, self.run):
            top.addWidget(widget)
        sections = QSplitter(Qt.Orientation.Vertical)
        for picture in self.pictures:
            sections.addWidget(picture)
        whole = QSplitter(Qt.Orientation.Horizontal)
        whole.addWidget(self.pages)
        whole.addWidget(sections)
        whole.setSizes([760, 480])
        whole.setChildrenCollapsible(False)
        missing = QWidget()
        middle = QVBoxLayout(missing)
        middle.addStretch(1)
        middle.addWidget(self.remedy)
        middle.addWidget(self.details, 0, Qt.AlignmentFlag.AlignLeft)
        middle.addStretch(2)
        self.stack = QStackedWidget()
        self.stack.addWidget(whole)
        self.stack.addWidget(missing)
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(CAUTION), 1)
        foot.addWidget(self.save)
        column = QVBoxLayout(self)
        column.addLayout(top)
        column.addWidget(self.head)
        column.addWidget(self.stack, 1)
        column.addLayout(foot)
        for button in (self.keep, self.settings, self.run, self.save, self.details):
            button.setAutoDefault(False)

    def _connect(self) -> None:
        self.wheel.activated.connect(self._chosen_wheel)
        self.beside.activated.connect(self._chosen_beside)
        self.keep.clicked.connect(self._keep)
        self.settings.clicked.connect(self.settings_wanted)
        self.details.clicked.connect(lambda: self.details_wanted.emit(self._blamed))
        self.run.clicked.connect(self._run_or_stop)
        self.save.clicked.connect(self._save)
        self.pages.work_out.clicked.connect(self._work_out)
        self.pages.on_chosen(self._draw)
        self._document.shown.connect(self._follow)

    # What is to be screened

    def show_wheel(self) -> None:
        """Take the shown wheel up, with its reference beside it, and screen what is not screened yet."""
        wheel = self._document.wheel
        self._followed = self._document.wheel_name
        self._offer(self._followed, wheel.reference if wheel is not None else None)
        # After the window is there, so that it is seen at once.
        QTimer.singleShot(0, self.start)

    def _offer(self, name: str | None, beside: str | None) -> None:
        names = [w.name for w in self._document.project.wheels]
        for box, entries, chosen in ((self.wheel, names, name), (self.beside, [_NONE, *names], beside)):
            box.clear()
            box.addItems(entries)
            box.setCurrentIndex(entries.index(chosen) if chosen in entries else 0)

    @property
    def _name(self) -> str:
        return self.wheel.currentText()

    @property
    def _second(self) -> str | None:
        name = self.beside.currentText()
        return None if self.beside.currentIndex() <= 0 or name == self._name else name

    def _chosen_wheel(self) -> None:
        """Screen another wheel, its own reference beside it."""
        chosen = edits.find(self._document.project, edits.WHEEL, self._name)
        self._offer(self._name, chosen.reference)
        self.start()

    def _chosen_beside(self) -> None:
        self.start()

    def _keep(self) -> None:
        """Make the wheel beside it its reference, as one step."""
        project = self._document.project
        wheel = edits.find(project, edits.WHEEL, self._name)
        made = replace(wheel, reference=self._second)
        self.project_made.emit(edits.replaced(project, edits.WHEEL, wheel.name, made), "Reference wheel")

    def _follow(self, shown: Shown) -> None:
        """Begin again where what was screened has changed; a gesture under way waits for its end."""
        if shown.dragging or not self.isVisible():
            return
        names = [w.name for w in shown.project.wheels]
        there = [self.wheel.itemText(k) for k in range(self.wheel.count())]
        if self._document.wheel_name != self._followed:
            self.show_wheel()
            return
        if names != there:
            kept = self._name if self._name in names else self._followed
            self._offer(kept, self._second)
        running = self._running
        if running is not None and inputs(shown.project, running[0]) != running[1]:
            # What is under way is of an older section: its result is not wanted.
            self._drop()
        if self._waits():
            self._tell_state()
            self._again.start(_WAIT_MS)
        else:
            self._show()

    def _wanted(self) -> list[str]:
        return [n for n in (self._name, self._second) if n]

    def _waits(self) -> list[str]:
        """Return the wheels that are not screened as they are now."""
        project = self._document.project
        out = []
        for name in self._wanted():
            now = inputs(project, name)
            done = self._screened.get(name)
            bad = self._failed_for.get(name)
            if not (done is not None and done[0] == now) and not (bad is not None and bad[0] == now):
                out.append(name)
        return out

    # Working

    def start(self) -> None:
        """Screen what is wanted and not screened yet, one wheel after the other."""
        waits = self._waits()
        if self._running is not None:
            if self._running[0] in self._wanted():
                return
            self._drop()
        if not waits:
            self._show()
            return
        project, name = self._document.project, waits[0]
        self._running = (name, inputs(project, name))
        self.bar.setRange(0, 0)
        self._tell_state()
        self.jobs.start(
            _SCREEN,
            partial(self._child.ask, screened, project, name, told=_teller(self._told)),
            partial(self._came, self._running),
            partial(self._failed, self._running),
        )

    def _drop(self) -> None:
        self._running = None
        self.jobs.drop(_SCREEN)
        self._child.end()

    def _run_or_stop(self) -> None:
        if self._running is not None:
            self._drop()
            self._tell_state("stopped")
        else:
            self.start()

    def _tell(self, done: int, of: int, words: str) -> None:
        if self._running is not None or self.jobs.is_busy:
            self.bar.setRange(0, of)
            self.bar.setValue(done)
            self.note.setText(minus(words))

    def _came(self, asked: tuple[str, Inputs], found: Screened) -> None:
        self._running = None
        name, of = asked
        if inputs(self._document.project, name) == of:
            self._screened.pop(name, None)
            while len(self._screened) >= _MOST_KEPT:
                del self._screened[next(iter(self._screened))]
            self._screened[name] = (of, found)
        if self._waits():
            self.start()
        else:
            self._show()

    def _failed(self, asked: tuple[str, Inputs], error: Exception) -> None:
        self._running = None
        if isinstance(error, StoppedError):
            self._tell_state("stopped")
            return
        name, of = asked
        self._failed_for[name] = (of, str(error))
        if self._waits():
            self.start()
        else:
            self._show()

    def _tell_state(self, words: str = "") -> None:
        """Say whether what is shown is of the section as it is now."""
        waits = self._running is not None or self._again.isActive()
        self.bar.setVisible(self._running is not None or self.jobs.is_busy)
        self.run.setText("&Stop" if self._running is not None else "&Screen again")
        self.run.setEnabled(self._running is not None or bool(self._waits()))
        stale = bool(self._waits())
        if not words and stale:
            words = "updating" if waits or self.shown is not None else ""
        self.note.setText(words)
        self.save.setEnabled(self.shown is not None and not stale)
        self.pages.work_out.setEnabled(self.shown is not None and not stale and not self.jobs.is_busy)
        self.pages.setEnabled(self.shown is not None)
        second = self._second
        wheel = next((w for w in self._document.project.wheels if w.name == self._name), None)
        self.keep.setEnabled(wheel is not None and wheel.reference != second)

    # Showing

    def _show(self) -> None:
        """Show what was found, or what is missing and where to name it."""
        project, name, second = self._document.project, self._name, self._second
        now = inputs(project, name)
        mine = self._screened.get(name)
        if not name:
            self._show_remedy("No wheel: make one with Project, New wheel.", "")
            return
        if mine is None or mine[0] != now:
            bad = self._failed_for.get(name)
            if bad is not None and bad[0] == now:
                self._show_remedy(bad[1], name)
            else:
                self._tell_state()
            return
        other = self._screened.get(second) if second is not None else None
        if other is not None and other[0] != inputs(project, second or ""):
            other = None
        against = None if other is None else other[1].found
        found = mine[1].found
        screenings = [found] if against is None else [found, against]
        family = [w for w in project.wheels if w.name == name]
        before = self.shown
        self.shown = Screening(
            found,
            project.strength,
            against,
            () if against is None else tuple(compared(project, found, against)),
            evidence(project, screenings, family),
        )
        if before is not None and before.found is found:
            self.shown = replace(self.shown, case=before.case, gains=before.gains)
        self._second_words = ""
        if second is not None and against is None:
            self._second_words = self._failed_for.get(second, ((), "updating"))[1]
        self.stack.setCurrentIndex(0)
        self.pages.show_screening(self.shown, Numbers(unit_of(project)))
        self.head.setText(f"<b>{escape(name)}</b>: {escape(minus(summary(found)))}")
        self._tell_state()
        one = self.pages.matrix.cell()
        if one is not None:
            self._draw(one)

    def _show_remedy(self, words: str, blamed: str) -> None:
        self.shown, self._blamed = None, blamed
        self.head.setText("")
        self.remedy.setText(minus(words))
        self.details.setVisible(bool(blamed))
        self.stack.setCurrentIndex(1)
        self._tell_state()

    _blamed = ""
    _second_words = ""

    def _draw(self, one: Cell) -> None:
        """Draw the chosen case of both wheels on one scale, and mark the chosen zone."""
        shown = self.shown
        if shown is None:
            return
        mine = self._screened[shown.found.ready.wheel.name][1]
        other = None
        if shown.against is not None:
            other = self._screened[shown.against.ready.wheel.name][1]
        top = max(_top(s, one.case.key) for s in (mine, other) if s is not None)
        self.pictures[0].show_case(mine, one.case.key, top)
        self.pictures[1].show_case(other, one.case.key, top, self._second_words)
        self.pictures[1].setVisible(self._second is not None)
        for picture in self.pictures:
            picture.choose(one.zone)

    # What a millimetre buys

    def _work_out(self) -> None:
        one, shown = self.pages.matrix.cell(), self.shown
        if one is None or shown is None or self._running is not None:
            return
        project, name = self._document.project, shown.found.ready.wheel.name
        of = inputs(project, name)
        self.bar.setRange(0, 0)
        self.jobs.start(
            _PER_MM,
            partial(self._child.ask, per_mm, project, name, one.case.key, told=_teller(self._told)),
            partial(self._came_per_mm, name, of, one),
            self._no_per_mm,
        )
        self._tell_state("working out what a millimetre buys")

    def _came_per_mm(self, name: str, of: Inputs, one: Cell, found: tuple[Gain, ...]) -> None:
        if self.shown is not None and inputs(self._document.project, name) == of:
            self.shown = replace(self.shown, case=one.case, gains=found)
            self.pages.show_per_mm(self.shown)
        self._tell_state()

    def _no_per_mm(self, error: Exception) -> None:
        self._tell_state()
        if isinstance(error, GeometryError):
            self.pages.per_mm.show_table(None, minus(str(error)))
        elif not isinstance(error, StoppedError):
            self.note.setText(str(error))

    # Writing

    def _save(self) -> None:
        shown = self.shown
        if shown is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        kinds = {"Pages (*.pdf)": ".pdf", "Workbook (*.xlsx)": ".xlsx", "Tables (*.csv)": ".csv"}
        name, chosen = QFileDialog.getSaveFileName(
            self, "Save the screening", str(folder / "strength.pdf"), ";;".join(kinds)
        )
        if not name:
            return
        out = Path(name)
        if not out.suffix:
            out = out.with_suffix(kinds.get(chosen, ".pdf"))
        self.jobs.start(
            _WRITE,
            partial(write, out, self._document.project, shown),
            lambda _none: self._tell_state(f"written: {out.name}"),
            self._not_written,
        )
        self._tell_state("writing")

    def _not_written(self, error: Exception) -> None:
        self._tell_state()
        if not isinstance(error, SaveError | ValueError):
            raise error
        tell(self, "Not saved", str(error))

    # Leaving

    def end(self) -> None:
        """End the child; a result under way is dropped."""
        self._again.stop()
        for name in (_SCREEN, _PER_MM):
            self.jobs.drop(name)
        self._running = None
        self._child.end()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop what is under way."""
        self.end()
        super().closeEvent(event)

    def reject(self) -> None:
        """Close with Escape."""
        self.close()


def inputs(project: Project, name: str) -> Inputs:
    """Return what a wheel's screening hangs on; nothing of a wheel that the project does not hold."""
    wheel = next((w for w in project.wheels if w.name == name), None)
    if wheel is None:
        return ()
    plain = replace(wheel, visible=True, locked=False, notes={}, clears=(), rules=None, reference=None)
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    return plain, blank, project.materials, project.strength


def _top(shown: Screened, key: str) -> float:
    """Return where a case's scale ends, MPa."""
    found = shown.found
    name = next((c.name for c in found.cases if c.key == key), "")
    most = max((z.von_mises_mpa for z in found.zones if z.case == name and z.exercised), default=0.0)
    return top_mpa(most, found.ready.metal.yield_mpa)


def _teller(told: _Told) -> Progress:
    return lambda done, of, words: told.came.emit(done, of, words)
