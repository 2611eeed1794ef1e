"""Which wheel is shown, and what of it is edited: the wheel, its blank, what it must clear, its seat."""

from __future__ import annotations

from dataclasses import replace

from app.language import spoken, tr
from app.project import edits
from app.session.dimensions_wheel import said_locked
from app.session.document import Document
from app.session.edited import Edited, Kind
from app.views.readings_text import unit_of
from geometry.errors import GeometryError


class Editing:
    """Goes from thing to thing of a document."""

    def __init__(self, document: Document) -> None:
        self._document = document

    def next_wheel(self) -> None:
        """Show the next wheel of the project."""
        self._step(1)

    def previous_wheel(self) -> None:
        """Show the wheel before."""
        self._step(-1)

    def _step(self, step: int) -> None:
        names = [w.name for w in self._document.project.wheels]
        if self._document.wheel_name in names:
            at = names.index(self._document.wheel_name)
            self._document.select_wheel(names[(at + step) % len(names)])

    def edit_wheel(self) -> None:
        """Put the handles on the shown wheel."""
        if self._document.wheel_name is not None:
            self._document.edit(Edited(Kind.WHEEL, self._document.wheel_name))

    def edit_blank(self) -> None:
        """Put the handles on the shown wheel's blank."""
        wheel = self._document.wheel
        if wheel is None or wheel.blank is None:
            self._document.say(tr("No blank: choose or draw one."))
        else:
            self._document.edit(Edited(Kind.BLANK, wheel.blank))

    def seat_in_blank(self) -> None:
        """Slide the shown wheel in its blank to the greatest least spare stock, as one step."""
        from app.studies.seating import seated
        from app.window.seating_words import said

        wheel, project = self._document.wheel, self._document.project
        if wheel is None or wheel.blank is None:
            self._document.say(tr("No blank: choose or draw one."))
            return
        if wheel.locked:
            self._document.say(said_locked(wheel.name))
            return
        try:
            found = seated(project, wheel)
        except GeometryError as error:
            self._document.say(spoken(str(error)))
            return
        moved = replace(wheel, seat_mm=found.seat_mm)
        self._document.commit(
            edits.replaced(project, edits.WHEEL, wheel.name, moved),
            tr("Seat in its blank"),
            words=said(found, unit_of(project)),
        )

    def edit_shape(self) -> None:
        """Put the handles on the next outline that the shown wheel must clear."""
        wheel, project = self._document.wheel, self._document.project
        names = wheel.clears if wheel is not None else [s.name for s in project.shapes]
        every = [
            Edited(Kind.SHAPE, s.name, k)
            for s in project.shapes
            if s.name in names
            for k in range(len(s.outlines))
        ]
        if not every:
            self._document.say(tr("No stay-out shape: choose what this wheel must clear."))
            return
        now = self._document.edited
        self._document.edit(every[(every.index(now) + 1) % len(every)] if now in every else every[0])
