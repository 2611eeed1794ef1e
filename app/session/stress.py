"""Stress that follows the shown section: newest only, worked out beside the window."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass, replace

from PySide6.QtCore import QObject, QTimer, Signal

from app.language import tr
from app.project.project import Project
from app.project.strength import StrengthSettings
from app.project.wheel import Wheel
from app.session.child import Child, ChildError, Progress
from app.session.document import Document
from app.session.shown import Shown
from app.session.stress_step import Question, Step
from app.studies.fit import spokes_of
from app.studies.strength.cases import cases_of
from app.studies.strength.inputs import Ready, ready
from geometry.errors import GeometryError
from geometry.shape.section import Outline
from geometry.strength.loads import TestLoad

#: So often the child is asked whether it has found it, ms.
_LOOK_MS = 5


@dataclass(frozen=True, eq=False)
class LiveStress:
    """What can be said of the stress of the shown section at one moment.

    Attributes:
        load: name of the load. step: the newest stress of this wheel under it; None while there is none.
        is_current: it is that of the section as shown; else a newer one is being worked out.
        dragging: a gesture was under way when it was asked for.
        shift_mm: from the wheel's own frame to the hub's.
        trouble: why there is none; empty where there is, or will be.
        reference: name and use of the reference wheel under the same test.
        short: what keeps the wheel from being judged whole: its load, metal or spokes fall short.
    """

    load: str
    step: Step | None = None
    is_current: bool = False
    dragging: bool = False
    shift_mm: float = 0.0
    trouble: str = ""
    reference: tuple[str, float] | None = None
    short: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class _Asked:
    """A section as it is shown, with what its load hangs on."""

    project: Project
    settings: StrengthSettings
    wheel: Wheel
    outline: Outline
    case: str
    held_top_mpa: float = 0.0

    @property
    def hangs_on(self) -> tuple[object, ...]:
        """What load and metal hang on; no vertex among it."""
        w = self.wheel
        return (
            w.name,
            w.load_kg,
            w.tyre,
            w.inset_mm,
            w.material,
            w.rating,
            w.blank,
            self.project.blanks,
            self.project.materials,
            self.settings,
            self.case,
        )


class StressFollower(QObject):
    """Follows the document while it is on.

    Signals:
        changed(LiveStress): there is something else to show; None once when it was switched off.
    """

    changed = Signal(object)

    def __init__(
        self,
        document: Document,
        case: str,
        step: Callable[[Question, Progress], Step],
        parent: QObject | None = None,
    ) -> None:
        """Follow a document, once it is switched on.

        Args:
            document: whose shown wheel is followed.
            case: load case that is followed at first.
            step: work of the child, a function of a module without Qt.
            parent: of the object.
        """
        super().__init__(parent)
        self._step = step
        self._document = document
        self._child = Child()
        self._look_again = QTimer(self)
        self._look_again.setInterval(_LOOK_MS)
        self._look_again.timeout.connect(self._look)
        self._asks_reference = False
        self._on, self.case = False, case
        self._wanted: _Asked | None = None
        self._running: _Asked | None = None
        self._basis: tuple[tuple[object, ...], TestLoad, Ready] | None = None
        self._reference_for: tuple[object, ...] = ()
        self._use_of_reference: tuple[str, float] | None = None
        self.live: LiveStress | None = None
        document.shown.connect(self._show)

    @property
    def is_on(self) -> bool:
        """True while the stress is followed."""
        return self._on

    @property
    def is_working(self) -> bool:
        """True while a result is awaited."""
        return self._running is not None

    def set_on(self, on: bool) -> None:
        """Begin or end to follow; the child ends with it."""
        if on == self._on:
            return
        self._on = on
        self.live = None
        if on:
            self._show(self._document.state)
        else:
            self.end()
            self.changed.emit(None)

    def set_case(self, case: str) -> None:
        """Follow another load case: rotating bending, rolling or inflation."""
        if case != self.case:
            self.case, self.live = case, None
            if self._on:
                self._show(self._document.state)

    def end(self) -> None:
        """End the child; a result under way is dropped."""
        self._wanted = self._running = None
        self._look_again.stop()
        self._child.end()

    # Inside

    def _show(self, shown: Shown) -> None:
        """Ask for the stress of another section; of those that wait only the newest counts."""
        if not self._on:
            return
        wheel = shown.wheel
        if wheel is None or shown.outline is None:
            self._wanted = None
            words = tr("the section has faults") if wheel is not None else tr("no wheel is shown")
            self._tell(LiveStress(self.case, trouble=tr("no stress: {words}", words=words)))
            return
        last = self._wanted
        asked = _Asked(
            shown.project, shown.project.strength, wheel, shown.outline, self.case, self._held(shown)
        )
        if last is not None and last.outline is asked.outline and last.hangs_on == asked.hangs_on:
            if self.live is not None and self.live.dragging != shown.dragging:
                self._tell(replace(self.live, dragging=shown.dragging))
            return
        self._wanted = asked
        before = self.live if last is not None and last.hangs_on == asked.hangs_on else None
        now = before or LiveStress(self.case)
        shift = wheel.spacer_mm
        older = replace(now, is_current=False, dragging=shown.dragging, shift_mm=shift, trouble="")
        # Of a drag faster than the child, only the first step makes the picture an older one.
        if now is not self.live or vars(older) != vars(now):
            self._tell(older)
        self._go_on()

    def _held(self, shown: Shown) -> float:
        """Return where the scale must not end below: while a vertex hangs on the pointer colours stay."""
        step = self.live.step if self.live is not None else None
        return step.top_mpa if step is not None and shown.dragging else 0.0

    def _go_on(self) -> None:
        wanted = self._wanted
        if self._running is None and wanted is not None:
            self._running = wanted
            try:
                self._ask(wanted)
            except (GeometryError, ChildError) as error:
                self._failed(wanted, error)

    def _ask(self, asked: _Asked) -> None:
        """Have the child begin: with the reference while its use is not known, then with the section."""
        reference = self._unknown_reference(asked)
        self._asks_reference = reference is not None
        self._child.begin(self._step, reference if reference is not None else self._question(asked))
        self._look_again.start()

    def _question(self, asked: _Asked) -> Question:
        key = asked.hangs_on
        if self._basis is None or self._basis[0] != key:
            start = ready(asked.project, asked.wheel)
            self._basis = (key, _load(start, asked), start)
        _, load, start = self._basis
        outline = asked.outline.moved(-asked.wheel.spacer_mm)
        spokes = spokes_of(replace(asked.wheel, spacer_mm=0.0))
        question = _question(start, load)
        return replace(question, outline=outline, spokes=spokes, held_top_mpa=asked.held_top_mpa)

    def _unknown_reference(self, asked: _Asked) -> Question | None:
        """Return what to ask of the reference under its own load; None where there is nothing to ask."""
        name = asked.wheel.reference
        other = next((w for w in asked.project.wheels if w.name == name != asked.wheel.name), None)
        project = asked.project
        key = (other, project.blanks, project.materials, asked.settings, asked.case)
        if self._reference_for == key:
            return None
        self._reference_for, self._use_of_reference = key, None
        if other is not None:
            # What the reference lacks is said in the strength window.
            with contextlib.suppress(GeometryError):
                start = ready(project, other)
                return _question(start, _load(start, asked))
        return None

    def _look(self) -> None:
        """Take the child's answer, if it is there."""
        asked = self._running
        if asked is None:
            self._look_again.stop()
            return
        try:
            found: Step | None = self._child.answer()
        except (GeometryError, ChildError) as error:
            self._failed(asked, error)
            return
        if found is None:
            return
        if self._asks_reference:
            self._use_of_reference = (str(asked.wheel.reference), found.use)
            self._running = None
            self._go_on()
        else:
            self._came(asked, found)

    def _came(self, asked: _Asked, found: Step) -> None:
        self._running = None
        wanted = self._wanted
        if wanted is not None and wanted.hangs_on == asked.hangs_on and self._basis is not None:
            self._tell(
                LiveStress(
                    asked.case,
                    found,
                    wanted is asked,
                    self._document.state.dragging,
                    asked.wheel.spacer_mm,
                    reference=self._use_of_reference,
                    short=self._basis[2].short,
                )
            )
        self._next(asked)

    def _failed(self, asked: _Asked, error: Exception) -> None:
        self._running = None
        if self._asks_reference and isinstance(error, GeometryError):
            self._go_on()  # without the reference
            return
        if self._wanted is asked:
            self._tell(
                LiveStress(
                    asked.case,
                    dragging=self._document.state.dragging,
                    trouble=tr("no stress: {error}", error=error),
                )
            )
        self._next(asked)

    def _next(self, asked: _Asked) -> None:
        if self._wanted is not asked:
            self._go_on()

    def _tell(self, live: LiveStress) -> None:
        self.live = live
        self.changed.emit(live)


def _load(start: Ready, asked: _Asked) -> TestLoad:
    """Return the load that is followed, whether or not the settings have the case in use."""
    return cases_of(start, replace(asked.settings, cases=(asked.case,)))[0]


def _question(start: Ready, load: TestLoad) -> Question:
    """Return the question of a wheel as it stands in its project."""
    name = f"{start.wheel.name} {load.name}"
    return Question(name, load, start.metal, start.tyre.outside_mm, start.outline, start.spokes)
