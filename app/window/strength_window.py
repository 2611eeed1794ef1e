"""The window that screens a wheel for strength; it stays open beside the drawing and follows it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from html import escape
from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QWidget,
)

from app.files.atomic import SaveError
from app.language import spoken, tr
from app.project import edits
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.reports.strength_family import evidence
from app.reports.strength_notes import factor_of, failed_told
from app.reports.strength_shown import Shown as Screening
from app.reports.strength_words import Cell, summary
from app.session.child import StoppedError
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.session.stress_step import top_mpa
from app.studies.strength.compare import compared
from app.studies.strength.sensitivity import Gain
from app.views.readings_text import minus
from app.views.strength_work import Screened
from app.views.theme import Theme
from app.window.questions import tell
from app.window.strength_files import write
from app.window.strength_form import StrengthForm
from app.window.strength_study import StrengthStudy
from geometry.errors import GeometryError

_WRITE = tr("writing")
_STOPPED = tr("stopped")
_NONE = tr("(none)")
#: A change is waited out so long before the study begins again, ms.
_WAIT_MS = 400
#: Recorded tests that are told under the first line.
_MOST_TOLD = 3


class StrengthWindow(StrengthForm):
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
        super().__init__(theme, parent)
        self._document, self._theme = document, theme
        self.shown: Screening | None = None
        self._followed: str | None = None
        self._second_words = ""
        self._stopped = False
        self._shown_for: tuple[object, ...] = (None, None, None, None)
        self._drawn: tuple[Screened | None, Screened | None] = (None, None)
        self._jobs, self.study = Jobs(self), StrengthStudy(document, self)
        self.study.told.connect(self._tell)
        self.study.changed.connect(self.start)
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(self.start)
        self._connect()
        self.resize(1240, 760)
        self.show_wheel()

    def _connect(self) -> None:
        self.wheel.activated.connect(self._chosen_wheel)
        self.beside.activated.connect(self._chosen_beside)
        self.keep.clicked.connect(self._keep)
        self.settings.clicked.connect(self.settings_wanted)
        self.details.clicked.connect(lambda: self.details_wanted.emit(self._name))
        self.run.clicked.connect(self._run_or_stop)
        self.save.clicked.connect(self._save)
        self.pages.work_out.clicked.connect(self._work_out)
        self.pages.on_chosen(self._draw)
        self.pages.family.itemChanged.connect(lambda _item: self._show_family())
        self._document.shown.connect(self._follow)

    # What is to be screened

    def show_wheel(self) -> None:
        """Take the shown wheel up, with its reference beside it, and screen what is not screened yet."""
        wheel = self._document.wheel
        self._followed = self._document.wheel_name
        self._offer(self._followed, wheel.reference if wheel is not None else None)
        self._stopped = False
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
        self._stopped = False
        self.start()

    def _chosen_beside(self) -> None:
        self._stopped = False
        self.start()

    def _keep(self) -> None:
        """Make the wheel beside it its reference, as one step."""
        project = self._document.project
        wheel = edits.find(project, edits.WHEEL, self._name)
        made = replace(wheel, reference=self._second)
        self.project_made.emit(edits.replaced(project, edits.WHEEL, wheel.name, made), tr("Reference wheel"))

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
        # What is under way may be of an older section: its result is not wanted then.
        self.study.drop_older()
        if self._waits():
            self._again.start(_WAIT_MS)
            self._tell_state()
        else:
            self._show()

    def _wanted(self) -> list[str]:
        return [n for n in (self._name, self._second) if n]

    def _waits(self) -> list[str]:
        """Return the wheels that are not screened as they are now."""
        return self.study.waits(self._wanted())

    # Working

    def start(self) -> None:
        """Screen what is wanted and not screened yet; show what is there."""
        if self._stopped:
            self._tell_state(_STOPPED)
            return
        self.study.want(self._wanted())
        if self.study.is_screening:
            self.bar.setRange(0, 0)
        self._show()

    def _run_or_stop(self) -> None:
        if self.study.is_screening:
            self._stop()
        else:
            self._stopped = False
            self.start()

    def _stop(self) -> None:
        """Stop what is under way; a screening is begun again only when it is asked for."""
        self._stopped = self.study.is_screening
        self.study.stop()
        self._tell_state(_STOPPED)

    def _tell(self, done: int, of: int, words: str) -> None:
        if self.study.is_busy:
            self.bar.setRange(0, of)
            self.bar.setValue(done)
            self.note.setText(
                minus(tr("updating: {words}", words=words) if words and self.shown is not None else words)
            )

    def _tell_state(self, words: str = "") -> None:
        """Say whether what is shown is of the section as it is now."""
        screening, stale = self.study.is_screening, bool(self._waits())
        waits = screening or self._again.isActive()
        self.bar.setVisible(self.study.is_busy)
        self.run.setText(tr("&Stop") if screening else tr("&Screen again"))
        self.run.setEnabled(screening or stale)
        if not words and stale and waits:
            words = (
                tr("updating")
                if self.shown is None
                else tr("updating: what stands here was found before the change")
            )
        elif words == _STOPPED and self.shown is not None and stale:
            words = tr("{stopped}: what stands here was found before the change", stopped=_STOPPED)
        self.note.setText(words)
        self.save.setEnabled(self.shown is not None and not stale)
        self.pages.work_out.setEnabled(self.shown is not None and not stale and not self.study.is_busy)
        # What was found for an older section stands there pale until the newer is known.
        is_old = self.study.screening(self._name) is None
        for widget in (self.pages, self.head, *self.pictures):
            widget.setEnabled(self.shown is not None and not is_old)
        second = self._second
        wheel = next((w for w in self._document.project.wheels if w.name == self._name), None)
        self.keep.setEnabled(wheel is not None and wheel.reference != second)

    # Showing

    def _show(self) -> None:
        """Show what was found, or what is missing and where to name it."""
        project, name, second = self._document.project, self._name, self._second
        if not name:
            self._show_remedy(tr("No wheel: make one with Project, New wheel."))
            return
        mine = self.study.screening(name)
        if mine is None:
            words = self.study.trouble(name)
            if words:
                self._show_remedy(words)
            elif self.shown is not None and self.shown.found.ready.wheel.name != name:
                self._show_nothing()
            self._tell_state()
            return
        other = self.study.screening(second) if second is not None else None
        now = (mine, other, project, second)
        if self.shown is not None and all(a is b for a, b in zip(now, self._shown_for, strict=True)):
            self._tell_state()  # a selection or a scroll: nothing that stands here
            return
        self._shown_for = now
        found, against = mine.found, None if other is None else other.found
        screenings = [found] if against is None else [found, against]
        before = self.shown
        self.shown = Screening(
            found,
            project.strength,
            against,
            () if against is None else tuple(compared(project, found, against)),
            evidence(project, screenings, self._family(found.ready.wheel)),
        )
        if before is not None and before.found is found:
            self.shown = replace(self.shown, case=before.case, gains=before.gains)
        self._second_words = ""
        if second is not None and against is None:
            self._second_words = self.study.trouble(second) or tr("updating")
        self._drawn = (mine, other)
        self.stack.setCurrentIndex(0)
        self.pages.show_screening(self.shown, Numbers(unit_of(project)))
        # What recorded tests give is said with every later result.
        said = [*failed_told(found), *map(factor_of, found.calibrations)]
        told = [tr("Recorded test {words}", words=minus(spoken(words))) for words in said[:_MOST_TOLD]]
        if len(said) > _MOST_TOLD:
            told.append(tr("and {count} more: see Tests", count=len(said) - _MOST_TOLD))
        lines = [f"<b>{escape(name)}</b>: {escape(minus(spoken(summary(found))))}", *map(escape, told)]
        self.head.setText("<br>".join(lines))
        self._tell_state()
        one = self.pages.matrix.cell()
        if one is not None:
            self._draw(one)

    def _family(self, wheel: Wheel) -> list[Wheel]:
        """Return the wheel with the versions ticked as of its design; those of its size are offered."""
        project = self._document.project
        same = [w for w in project.wheels if w.size == wheel.size]
        ticked = self.pages.family_names()
        chosen = ticked if wheel.name in ticked[:1] else []
        self.pages.offer_family(wheel.name, [w.name for w in same if w.name != wheel.name], chosen)
        names = self.pages.family_names()
        return [w for w in same if w.name in names]

    def _show_family(self) -> None:
        """Plan the tests of the versions that are ticked now."""
        shown = self.shown
        if shown is not None:
            found = shown.found
            family = self._family(found.ready.wheel)
            self.shown = replace(shown, evidence=evidence(self._document.project, (found,), family))
            self.pages.show_evidence(self.shown)

    def _show_remedy(self, words: str) -> None:
        self.shown = None
        self.head.setText("")
        self.remedy.setText(minus(words))
        self.details.setVisible(bool(self._name))
        self.stack.setCurrentIndex(1)
        self._tell_state()

    def _show_nothing(self) -> None:
        """Empty the window: another wheel is being screened."""
        self.shown, self._drawn = None, (None, None)
        self.head.setText("")
        self.pages.show_nothing()
        for picture in self.pictures:
            picture.show_case(None, "", 0.0)
        self.stack.setCurrentIndex(0)

    def _draw(self, one: Cell) -> None:
        """Draw the chosen case of both wheels on one scale, and mark the chosen zone."""
        shown = self.shown
        if shown is None:
            return
        mine = self._drawn[0]
        other = self._drawn[1] if shown.against is not None else None
        top = max(_top(s, one.case.key) for s in (mine, other) if s is not None)
        self.pictures[0].show_case(mine, one.case.key, top)
        self.pictures[1].show_case(other, one.case.key, top, self._second_words)
        self.pictures[1].setVisible(self._second is not None)
        for picture in self.pictures:
            picture.choose(one.zone)

    # What a millimetre buys

    def _work_out(self) -> None:
        one, shown = self.pages.matrix.cell(), self.shown
        if one is None or shown is None or self.study.is_busy:
            return

        def came(found: tuple[Gain, ...]) -> None:
            if self.shown is not None and self.shown.found is shown.found:
                self.shown = replace(self.shown, case=one.case, gains=found)
                self.pages.show_per_mm(self.shown)

        self.bar.setRange(0, 0)
        self.study.per_mm(shown.found.ready.wheel.name, one.case.key, came, self._no_per_mm)
        self._tell_state(tr("working out what a millimetre buys"))

    def _no_per_mm(self, error: Exception) -> None:
        self._tell_state()
        if isinstance(error, GeometryError):
            self.pages.per_mm.show_table(None, minus(spoken(str(error))))
        elif not isinstance(error, StoppedError):
            self.note.setText(spoken(str(error)))

    # Writing

    def _save(self) -> None:
        shown = self.shown
        if shown is None:
            return
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        kinds = {tr("Pages (*.pdf)"): ".pdf", tr("Workbook (*.xlsx)"): ".xlsx", tr("Tables (*.csv)"): ".csv"}
        name, chosen = QFileDialog.getSaveFileName(
            self, tr("Save the screening"), str(folder / "strength.pdf"), ";;".join(kinds)
        )
        if not name:
            return
        out = Path(name)
        if not out.suffix:
            out = out.with_suffix(kinds.get(chosen, ".pdf"))
        self._jobs.start(
            _WRITE,
            partial(write, out, self._document.project, shown),
            lambda _none: self._tell_state(tr("written: {name}", name=out.name)),
            self._not_written,
        )
        self._tell_state(tr("writing"))

    def _not_written(self, error: Exception) -> None:
        self._tell_state()
        if not isinstance(error, SaveError | ValueError):
            raise error
        tell(self, tr("Not saved"), spoken(str(error)))

    # Leaving

    def end(self) -> None:
        """End the child; a result under way is dropped."""
        self._again.stop()
        self.study.stop()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop what is under way."""
        self.end()
        super().closeEvent(event)

    def reject(self) -> None:
        """Stop what is under way with Escape; close where nothing is."""
        if self.study.is_busy:
            self._stop()
        else:
            self.end()
            super().reject()


def _top(shown: Screened, key: str) -> float:
    """Return where a case's scale ends, MPa."""
    found = shown.found
    name = next((c.name for c in found.cases if c.key == key), "")
    most = max((z.von_mises_mpa for z in found.zones if z.case == name and z.exercised), default=0.0)
    return top_mpa(most, found.ready.metal.yield_mpa)
