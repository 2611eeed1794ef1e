"""What the file is and what it becomes: its unit, its kind and name, and which of its outlines are taken."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from PySide6.QtCore import QSignalBlocker

from app.files.readers.answer import ReadOutline
from app.files.readers.imported import at_first
from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.window.dialogs.form import Form
from app.window.dialogs.import_drawn import Drawn
from app.window.dialogs.import_report import is_unit_open, unit_readings
from app.window.dialogs.import_ticks import Tick, UnitField, add_ticks
from app.window.dialogs.typed_fields import CheckField, ChoiceField, TextField
from geometry.shape.curve import Array
from geometry.shape.outline import ShapeKind

SHAPE, BLANK, WHEEL = tr("stay-out shape"), tr("blank"), tr("wheel")
#: On which side of a curve the arcs that replace it lie: outside a shape, inside a blank.
SIDES = {SHAPE: "outward", BLANK: "inward", WHEEL: "nearest"}  # words of the readers
#: A drawing with a layer of this name shows a wheel; our own exports have one.
_WHEEL_LAYER = "WHEEL"
_FRAME = tr("sheet's frame")


class OutlinePage:
    """Unit, what it becomes, and which outlines are taken.

    Args:
        form: page that the fields are put on.
        project: gives the names that are taken.
        stem: the file's name, for the name of what is made.
        can_hold: a wheel is shown that a shape can be held against.
        again: called when the file must be read again.
        target_changed: called when it becomes something else.
        changed: called when the outlines taken, or their words, changed.
    """

    def __init__(
        self,
        form: Form,
        project: Project,
        stem: str,
        can_hold: bool,
        again: Callable[[], None],
        target_changed: Callable[[], None],
        changed: Callable[[], None],
    ) -> None:
        self._form, self._can_hold, self._changed = form, can_hold, changed
        self.unit = form.add(tr("Unit of the file"), UnitField())
        self.unit_note = form.note(tr("? Choose the unit: the picture shows each reading, dashed."))
        form.rows.setRowVisible(self.unit_note, False)
        self.becomes = form.add(
            tr("It becomes a"), ChoiceField([(w, w) for w in (SHAPE, BLANK, WHEEL)], SHAPE)
        )
        self.name = form.add(
            tr("Name"), TextField(edits.free_name(project, edits.SHAPE, stem), required=True)
        )
        self.kind = form.add(tr("Kind"), ChoiceField([(spoken(k), k) for k in ShapeKind], ShapeKind.CALIPER))
        self.hold = form.add("", CheckField(tr("hold the shown wheel against it"), True))
        self.loops = add_ticks(form, tr("Take"), tr("A click on an outline in the picture does the same."))
        self.inner = form.add("", CheckField(tr("take inner outlines too")))
        self.is_unit_chosen = self.is_unit_stated = self._is_target_chosen = False
        form.show_field(self.hold, can_hold)
        for field in (self.loops, self.inner):
            form.show_field(field, False)
        self.unit.edited.connect(self._unit_chosen)
        self.becomes.edited.connect(self._chose_target)
        self.loops.edited.connect(changed)
        self.inner.edited.connect(self._inner_chosen)
        for other in (self.name, self.kind):
            other.edited.connect(changed)
        self._again, self._target_changed = again, target_changed

    def _unit_chosen(self) -> None:
        self.is_unit_chosen = True
        self._again()

    def _chose_target(self) -> None:
        self._is_target_chosen = True
        is_shape = self.becomes.read() == SHAPE
        self._form.show_field(self.kind, is_shape)
        self._form.show_field(self.hold, is_shape and self._can_hold)
        self._target_changed()

    def _inner_chosen(self) -> None:
        on = self.inner.read()
        blocked = QSignalBlocker(self.loops)
        for tick in self.loops.offered:
            if not tick.is_on and tick.note != _FRAME:
                self.loops.set_on(tick.key, on)
        blocked.unblock()
        self._changed()

    @property
    def side(self) -> str:
        """On which side replaced curves lie."""
        return SIDES[self.becomes.read()]

    @property
    def stated_unit(self) -> str | None:
        """The unit that a person chose, None to take what the file states."""
        return self.unit.read() if self.is_unit_chosen else None

    def is_unit_open(self, found: ReadOutline) -> bool:
        """Return True where the unit must be chosen before the outline can be used."""
        return is_unit_open(found, self.is_unit_chosen)

    def show(self, found: ReadOutline, drawn: Drawn) -> None:
        """Offer what was found."""
        if not self.is_unit_chosen:
            self.is_unit_stated = not self.is_unit_open(found)
        chosen = None if self.is_unit_open(found) else found.unit
        self.unit.offer(unit_readings(found, self.is_unit_stated and not self.is_unit_chosen), chosen)
        self._form.rows.setRowVisible(self.unit_note, chosen is None)
        within, first = found.within or (-1,) * len(found.loops), at_first(found)
        self.loops.offer(
            [
                Tick(
                    str(k),
                    f"{k + 1}: {_size(drawn.loops[k])}",
                    tr("{loop} vertices", loop=len(loop)),
                    _note(found, within, k),
                    k in first,
                )
                for k, loop in enumerate(found.loops)
            ]
        )
        self._form.show_field(self.loops, len(found.loops) > 1)
        self._form.show_field(self.inner, any(k >= 0 and k not in found.frames for k in within))
        if not self._is_target_chosen and any(name.upper() == _WHEEL_LAYER for name in found.layers):
            self.becomes.choose(WHEEL)

    def toggle(self, k: int) -> None:
        """Take an outline, or take it no more."""
        self.loops.set_on(str(k), str(k) not in self.loops.read())

    def taken(self) -> list[int]:
        """Return the numbers of the outlines taken, from 0."""
        return [int(key) for key in self.loops.read()]


def _note(found: ReadOutline, within: Sequence[int], k: int) -> str:
    if k in found.frames:
        return _FRAME
    return "" if within[k] < 0 or within[k] in found.frames else tr("inside {within}", within=within[k] + 1)


def _size(polygon: Array) -> str:
    """Return how large an outline's box is."""
    wide, high = np.ptp(polygon, axis=0).tolist()
    return f"{wide:.1f} × {high:.1f}"
