"""Importing an outline: it is seen over the shown wheel as it will lie, with what it is and what is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QWidget

from app.files.readers.answer import UNITS, Loop, ReadError, ReadOutline
from app.files.readers.imported import stay_out
from app.files.readers.read import Options, read_outline
from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import unit_of
from app.session.jobs import Jobs
from app.window.dialogs.card_fields import check_card, open_line
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.import_drawn import Drawn, Lay, bounds_of
from app.window.dialogs.import_file import FilePage
from app.window.dialogs.import_gap import Nearest, backdrop, nearest
from app.window.dialogs.import_look import LookPane
from app.window.dialogs.import_made import placed, usable, with_blank, with_shape
from app.window.dialogs.import_outline_page import BLANK, SHAPE, WHEEL, OutlinePage
from app.window.dialogs.import_paint import Laid
from app.window.dialogs.import_picture import Pointed
from app.window.dialogs.import_place import PlacePage, Target, said_of
from app.window.dialogs.import_reading import Read, Reading
from app.window.dialogs.import_report import OPEN, TROUBLE, Line, capital, in_window_words, lines, unit_said
from app.window.dialogs.import_trust import TrustPage
from app.window.dialogs.import_wheel import WheelFields
from app.window.dialogs.typed_fields import length
from geometry.shape.outline import StayOut, ZeroFace

__all__ = ["BLANK", "SHAPE", "WHEEL", "ImportDialog"]

_ADVICE = Line(
    tr("Try"),
    tr(
        "What the line above names, on the page 'Reading'; another export of the same part; or the "
        "numbers of "
        "the sheet typed as a table of z and r."
    ),
)
#: Pages by their place.
_TRUST, _WHEEL = 3, 4
_GAP_PAUSE_MS = 60


class ImportDialog(ProjectDialog):
    """Reads a file in the background, shows it over the shown wheel, and adds it to shapes, blanks or wheels.

    Whatever changes how the file is read (unit, what it becomes, layers) reads it again, since replaced
    curves lie outside a shape, inside a blank and on either side of a wheel. Where it lies, and how far it
    can be trusted, is said here and changes the picture and the least gap at once.

    Args:
        project: as it is now.
        path: the file to read.
        wheel: name of the wheel that is shown, None for none; a new shape can be held against it.
        parent: window it belongs to.
        read: reads the file.
        waiting: names of files that come after this one.

    Signals:
        others_dropped(): the files that wait are not to be imported.
    """

    others_dropped = Signal()

    def __init__(
        self,
        project: Project,
        path: Path,
        wheel: str | None = None,
        parent: QWidget | None = None,
        read: Read = read_outline,
        waiting: Sequence[str] = (),
    ) -> None:
        super().__init__(tr("Import outline: {name}", name=path.name), project, parent)
        self.path, self._shown_wheel = path, wheel
        self.found: ReadOutline | None = None
        self._drawn: Drawn | None = None
        self._placed_for: tuple[ReadOutline, list[int], Lay] | None = None
        self._placed_loops: tuple[Loop, ...] = ()
        self._target = Target.BEARING
        kind = length(project.display_unit)
        self.reading = Reading(path, read, self._options, self)
        self.jobs = Jobs(self)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_GAP_PAUSE_MS)
        self.look = LookPane(path, unit_of(project), self.reading)
        self.picture = self.look.picture
        self.outline = OutlinePage(
            self.page(tr("&Outline")),
            project,
            path.stem,
            wheel is not None,
            self._again,
            self._retarget,
            self._show,
        )
        self.file = FilePage(self.page(tr("&Reading")), path, kind, lambda typed: self._again(typed))
        self.place = PlacePage(self.page(tr("&Place")), kind, self._point, self._show, self._hat_typed)
        self.trust = TrustPage(self.page(tr("&Trust")), kind, self.outline.kind, self._show)
        self.wheel = WheelFields(self.page(tr("&Wheel")), project, self._taken)
        self.look.put_beside(self, waiting)
        self.look.leave.clicked.connect(self.others_dropped)
        self.reading.came.connect(self._came)
        self.reading.failed.connect(self._failed)
        self.picture.loop_clicked.connect(self.outline.toggle)
        self.picture.pointed.connect(self._pointed)
        self._pause.timeout.connect(self._find_gap)
        self.file.axle.edited.connect(self.place.forget_places)
        self._show_pages()
        self._hat_shown()
        self.resize(1220, 730)
        self.look.say([Line(tr("File"), tr("{name} is being read", name=path.name))])
        if wheel is not None:
            self.jobs.start("the wheel", partial(backdrop, project, wheel), self.picture.show_wheel, _tell)
        self._again()

    # Reading

    def _options(self) -> Options:
        how = self.file.options()
        how["unit"], how["side"] = self.outline.stated_unit, self.outline.side
        return how

    def _again(self, typed: bool = False) -> None:
        """Read the file as the fields ask; what was read before counts no more."""
        self.found = None
        self.jobs.drop("the gap")
        self._pause.stop()
        self.picture.show_mark(None)
        self.look.say_gap([])
        if typed:
            self.reading.soon()
        else:
            self.reading.start()

    def _came(self, found: ReadOutline, drawn: Drawn) -> None:
        self.found, self._drawn = found, drawn
        self.say("")
        target = self.outline.becomes.read()
        self.outline.show(found, drawn)
        if self.outline.becomes.read() != target:
            return  # it became a wheel, and is read again as one
        self.file.show(found)
        self.place.show(found, self._answer_to_file())
        self.place.rescale(UNITS.get(found.unit, 1.0))
        by = "importer" if self.outline.is_unit_chosen else tr("the file")
        error_mm = stay_out(found, (), "").card.error_mm
        self.trust.propose(found, unit_said(found, self.outline.is_unit_chosen), by, error_mm)
        self._show()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, (ReadError, ValueError)):
            raise error
        self.picture.show_laid(())
        words = capital(in_window_words(spoken(str(error)).removeprefix(f"{self.path.name}: ")))
        self.look.say([Line(tr("Nothing was read"), words, TROUBLE), _ADVICE])

    # Showing

    def _retarget(self) -> None:
        self._show_pages()
        self._again()

    def _show_pages(self) -> None:
        target = self.outline.becomes.read()
        for k, on in ((_TRUST, target == SHAPE), (_WHEEL, target == WHEEL)):
            self.pages.setTabVisible(k, on)
            page = self.pages.widget(k)
            if page is not None:
                page.setEnabled(on)  # fields of a page that is not in use are not checked
        self.place.show_for_shape(target == SHAPE)
        self._hat_shown()

    def _answer_to_file(self) -> float:
        """Return how many of the answer's lengths one of the file's is."""
        return UNITS.get(self.found.unit, 1.0) if self.found is not None else 1.0

    def _units(self) -> list[tuple[str, str]]:
        """Return the readings of the file's unit that are drawn, the one that is taken with empty words."""
        assert self.found is not None
        offered = [u for u, button in self.outline.unit.buttons.items() if not button.isHidden()]
        if self.outline.is_unit_open(self.found):
            return [(unit, tr("if {unit}", unit=unit)) for unit in offered]
        others = [] if self.outline.is_unit_stated else [u for u in offered if u != self.found.unit]
        return [(self.found.unit, ""), *((unit, tr("if {unit}", unit=unit)) for unit in others)]

    def _lay(self, unit: str) -> Lay:
        """Return how the answer lies if the file's unit is this one.

        Raises:
            ValueError: a shift cannot be read.
        """
        shift = 0.0
        if self.outline.becomes.read() == SHAPE and self.trust.zero_at.read() is ZeroFace.HUB_FLANGE:
            shift = -(self.trust.hat.read() or 0.0)
        return Lay(self.place.placement(UNITS[unit]), UNITS[unit] / self._answer_to_file(), shift)

    def _show(self) -> None:
        """Draw and tell again what was read, as the fields have it."""
        self._hat_shown()
        found, drawn = self.found, self._drawn
        if found is None or drawn is None:
            return
        taken = self.outline.taken()
        try:
            lays = [(words, self._lay(unit)) for unit, words in self._units()]
        except ValueError as error:
            self.look.say_gap([Nearest(f"? {spoken(str(error))}", None)])
            return
        self.picture.show_laid([Laid(drawn, lay, words, not words, frozenset(taken)) for words, lay in lays])
        self.picture.show_mark(None)
        self._report(found, taken)
        if self.outline.becomes.read() == WHEEL:
            self.wheel.follow()
        self._pause.start()

    def _report(self, found: ReadOutline, taken: list[int]) -> None:
        bounds, trouble = None, []
        for laid in self.picture.laid:
            if laid.is_chosen:
                loops = [laid.lay.points(laid.drawn.loops[k]) for k in taken]
                bounds = bounds_of(loops) or laid.bounds
        if not self.outline.is_unit_open(found):
            try:
                self._placed(found.unit)
            except ValueError as error:
                trouble = [Line(tr("Cannot be used"), capital(spoken(str(error))), TROUBLE)]
        said = unit_said(found, self.outline.is_unit_chosen)
        self.look.say([*trouble, *lines(found, len(taken), bounds, said, self._trust_line())])

    def _trust_line(self) -> list[Line]:
        """Say what is open, on the page and in the report."""
        if self.outline.becomes.read() != SHAPE:
            return []
        try:
            shape = self._shape(self._units()[0][0], checked=False)
        except ValueError as error:
            return [Line(tr("Trust"), self.trust.tell(tr("? not known: {error}", error=error)), OPEN)]
        words = self.trust.tell(open_line(shape))
        tone = OPEN if words.startswith("?") else ""
        words = words.removeprefix("? ")
        return [Line(tr("Trust"), f"{spoken(shape.card.grade)}; {words[:1].lower()}{words[1:]}", tone)]

    def _find_gap(self) -> None:
        """Hold what is taken against the shown wheel, beside the window."""
        if self.found is None or self.outline.becomes.read() != SHAPE:
            self.look.say_gap([])
            return
        if not self.outline.taken():
            self.look.say_gap(
                [Nearest(tr("? Nothing is taken: there is nothing to hold against the wheel."), None)]
            )
            return
        if self._shown_wheel is None:
            self.look.say_gap([Nearest(tr("No wheel is shown: there is nothing to hold it against."), None)])
            return
        shapes: list[tuple[str, StayOut]] = []
        failed: list[Nearest] = []
        for unit, words in self._units():
            if words and not self.outline.is_unit_open(self.found):
                continue
            try:
                shapes.append((words, self._shape(unit)))
            except ValueError as error:
                failed.append(
                    Nearest(
                        f"? {capital(words)}: {spoken(str(error))}" if words else f"? {spoken(str(error))}",
                        None,
                    )
                )
        doubt = tr("the outline cannot be used yet") if self.found.hindrance else ""
        doubt = tr("the unit is open") if self.outline.is_unit_open(self.found) else doubt
        work = partial(nearest, self.project, self._shown_wheel, shapes, doubt)
        self.jobs.start("the gap", work, lambda said: self._gap_came([*said, *failed]), _tell)

    def _gap_came(self, said: list[Nearest]) -> None:
        self.look.say_gap(said)
        if len(said) == 1:
            self.picture.show_mark(said[0].mark)

    # Placing

    def _point(self, target: Target) -> None:
        if self._drawn is None or self.found is None:
            self.say(tr("There is nothing to point at yet."))
            return
        self._target = target
        self.picture.point_at(target.value[1])

    def _pointed(self, spot: Pointed) -> None:
        target, to_file = self._target, self._answer_to_file()
        if target is Target.BEARING and self.outline.becomes.read() == WHEEL:
            try:
                lay = self._lay(self._units()[0][0])
            except ValueError as error:
                self.say(spoken(str(error)))
                return
            self.wheel.face.put(lay.point(*spot.at)[0])
            self.wheel.follow()
            return
        self.place.point(target, (spot.at[0] / to_file, spot.at[1] / to_file))
        if target.face is not None and self.outline.becomes.read() == SHAPE:
            self.trust.set_zero(target.face, said_of(target, spot))
        self._show()

    def _hat_typed(self) -> None:
        if self.place.hat.check():
            self.trust.hat.put(self.place.hat.read())
            self._show()

    def _hat_shown(self) -> None:
        """Show on the page of the place the hat that the source card has."""
        is_used = self.trust.zero_at.read() is ZeroFace.HUB_FLANGE
        if not self.place.hat.line.hasFocus():
            try:
                self.place.set_hat(self.trust.hat.read(), is_used)
            except ValueError:
                return

    # What it becomes

    def _placed(self, unit: str) -> tuple[Loop, ...]:
        """Return what is taken, as it will be kept if the file's unit is this one.

        Raises:
            ValueError: a shift cannot be read, or it reaches below the axle line or too far out.
        """
        assert self.found is not None
        asked, last = (self.found, self.outline.taken(), self._lay(unit)), self._placed_for
        if last is None or last[0] is not asked[0] or last[1:] != asked[1:]:
            self._placed_loops, self._placed_for = placed(*asked), asked
        return self._placed_loops

    def _taken(self) -> tuple[Loop, ...]:
        """Return what is taken for a wheel; nothing while it is not clear."""
        found = self.found
        if found is None or found.hindrance or self.outline.is_unit_open(found):
            return ()
        try:
            return self._placed(found.unit)
        except ValueError:
            return ()

    def _shape(self, unit: str, checked: bool = True) -> StayOut:
        """Return the stay-out shape that would be made; without its outlines where they are not checked.

        Raises:
            ValueError: a field cannot be read, or the outline cannot lie so.
        """
        assert self.found is not None
        name = self.outline.name.read() if checked else ""
        loops = self._placed(unit) if checked else ()
        by = "importer" if self.outline.is_unit_chosen else ""
        return self.trust.card_of(
            stay_out(self.found, loops, name or "it", self.outline.kind.read(), None, by)
        )

    def made(self) -> tuple[Project, str]:
        """Return the project with the outline added.

        Raises:
            ValueError: nothing was read, the unit is open, or the wrong number of outlines is chosen.
        """
        found = usable(self.found, self.outline.taken(), self.outline.is_unit_chosen)
        target, name = self.outline.becomes.read(), self.outline.name.read()
        if target == WHEEL:
            source = f"read from {found.file_name}, {found.unit}, sha256 {found.sha256}, {found.reader}"
            self._placed(found.unit)  # says what is wrong with its place
            project, _ = self.wheel.added(self.project, name, source)
        elif target == BLANK:
            project = with_blank(self.project, name, self._placed(found.unit), found.file_name)
        else:
            shape = replace(self._shape(found.unit), notes={"import": self.look.said()})
            check_card(shape)
            held_by = self._shown_wheel if self.outline.hold.read() else None
            project = with_shape(self.project, shape, held_by)
        return project, tr("Import {target} {name}", target=target, name=name)

    def reject(self) -> None:
        """End pointing, or close."""
        if self.picture.pointing_at:
            self.picture.end_pointing()
        else:
            super().reject()

    def done(self, result: int) -> None:
        """Break a reading off before the dialog goes."""
        self.reading.close()
        self._pause.stop()
        for name in (tr("the gap"), tr("the wheel")):
            self.jobs.drop(name)
        super().done(result)


def _tell(error: Exception) -> None:
    raise error
