"""The screenings of the strength window: worked out in a child process, kept while nothing changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from PySide6.QtCore import QObject, Signal

from app.language import spoken, tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.child import Child, Progress, StoppedError
from app.session.document import Document
from app.session.jobs import Jobs
from app.studies.strength.calibration import speaks_for
from app.studies.strength.sensitivity import Gain
from app.views.strength_work import Screened, per_mm, screened

_SCREEN, _PER_MM = "strength", tr("what a millimetre buys")
#: Screenings that are kept, so that going back to a wheel costs nothing.
_MOST_KEPT = 4

Inputs = tuple[object, ...]


class _Told(QObject):
    """Carries how far the work is from its thread."""

    came = Signal(int, int, str)


class StrengthStudy(QObject):
    """Screens wheels of the document as they are now; a result for an older section is dropped.

    Signals:
        changed(): a wheel was screened, could not be, or the work was stopped.
        told(done, of, words): how far the work is.
    """

    changed = Signal()
    told = Signal(int, int, str)

    def __init__(self, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._found: dict[str, tuple[Inputs, Screened]] = {}
        self._refused: dict[str, tuple[Inputs, str]] = {}
        self._running: tuple[str, Inputs] | None = None
        self.jobs, self._child, self._told = Jobs(self), Child(), _Told()
        self._told.came.connect(self.told)

    @property
    def is_screening(self) -> bool:
        """True while a wheel is being screened."""
        return self._running is not None

    @property
    def is_busy(self) -> bool:
        """True while any result is awaited."""
        return self.jobs.is_busy

    def screening(self, name: str) -> Screened | None:
        """Return the screening of a wheel as it is now; None where there is none."""
        kept = self._found.get(name)
        return kept[1] if kept is not None and kept[0] == inputs(self._document.project, name) else None

    def trouble(self, name: str) -> str:
        """Return why a wheel as it is now cannot be screened; empty where nobody tried or it can."""
        kept = self._refused.get(name)
        return kept[1] if kept is not None and kept[0] == inputs(self._document.project, name) else ""

    def waits(self, names: Sequence[str]) -> list[str]:
        """Return those of the wheels that are not screened as they are now."""
        return [n for n in names if self.screening(n) is None and not self.trouble(n)]

    def want(self, names: Sequence[str]) -> None:
        """Screen what is not screened yet, one wheel after the other; drop what is not wanted any more."""
        if self._running is not None:
            if self._running[0] in names:
                return
            self.stop()
        waits = self.waits(names)
        if not waits:
            return
        project, name = self._document.project, waits[0]
        self._running = asked = (name, inputs(project, name))
        self.jobs.start(
            _SCREEN,
            partial(self._screen, asked, project),
            partial(self._came, asked),
            partial(self._failed, asked),
        )

    def drop_older(self) -> None:
        """Stop what is under way if it is of an older section than the document's."""
        if self._running is not None:
            name, of = self._running
            if inputs(self._document.project, name) != of:
                self.stop()

    def stop(self) -> None:
        """Stop what is under way."""
        self._running = None
        for name in (_SCREEN, _PER_MM):
            self.jobs.drop(name)
        self._child.end()

    def per_mm(
        self,
        name: str,
        key: str,
        done: Callable[[tuple[Gain, ...]], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """Work out what a millimetre buys under a case; an answer for an older section is dropped."""
        project = self._document.project
        of = inputs(project, name)

        def came(found: tuple[Gain, ...]) -> None:
            if inputs(self._document.project, name) == of:
                done(found)
            self.changed.emit()

        work = partial(self._child.ask, per_mm, project, name, key, told=_teller(self._told))
        self.jobs.start(_PER_MM, work, came, failed)

    def _screen(self, asked: tuple[str, Inputs], project: Project) -> Screened:
        """Wait for the child, in a thread."""
        if self._running is not asked:
            raise StoppedError("stopped")  # it waited for its turn while everything was stopped
        found: Screened = self._child.ask(screened, project, asked[0], told=_teller(self._told))
        return found

    def _came(self, asked: tuple[str, Inputs], found: Screened) -> None:
        self._running = None
        name, of = asked
        if inputs(self._document.project, name) == of:
            self._found.pop(name, None)
            while len(self._found) >= _MOST_KEPT:
                del self._found[next(iter(self._found))]
            self._found[name] = (of, found)
        self.changed.emit()

    def _failed(self, asked: tuple[str, Inputs], error: Exception) -> None:
        self._running = None
        if not isinstance(error, StoppedError):
            self._refused[asked[0]] = (asked[1], spoken(str(error)))
        self.changed.emit()


def inputs(project: Project, name: str) -> Inputs:
    """Return what a wheel's screening hangs on; nothing of a wheel that the project does not hold."""
    wheel = next((w for w in project.wheels if w.name == name), None)
    if wheel is None:
        return ()
    # Recorded tests give factors, by what they show of the wheels that were tested.
    records = tuple(r for r in project.test_records if speaks_for(r, wheel))
    tested = {r.wheel for r in records} - {name}
    drawn = [w for w in project.wheels if w.name in tested]
    return (
        _drawn(project, wheel),
        records,
        *(_drawn(project, w) for w in drawn),
        project.materials,
        project.strength,
    )


def _drawn(project: Project, wheel: Wheel) -> Inputs:
    plain = replace(wheel, visible=True, locked=False, notes={}, clears=(), rules=None, reference=None)
    return plain, next((b for b in project.blanks if b.name == wheel.blank), None)


def _teller(told: _Told) -> Progress:
    return lambda done, of, words: told.came.emit(done, of, words)
