"""A brake typed from a sheet, a mail or a call: its outline is seen over the shown wheel as it is typed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QSplitter, QWidget

from app.language import spoken, tr
from app.project.brake_sheet import BrakeSheet, SheetError
from app.project.project import Project
from app.project.sheet_card import stay_out
from app.project.sheet_outline import Grown, outline
from app.window.dialogs.brake_sheet_pages import BrakePage, OutlinePage
from app.window.dialogs.card_fields import check_card, open_line
from app.window.dialogs.careful import CarefulDialog
from app.window.dialogs.import_made import with_shape
from app.window.dialogs.import_report import LOOK, OPEN, TROUBLE, Line, capital
from app.window.dialogs.over_wheel import Given
from app.window.dialogs.shape_look import ShapeLook
from app.window.dialogs.typed_fields import Field, FieldError, length
from geometry.shape.outline import StayOut, outline_path

#: How long typing must pause before a contradiction is said at its field, ms.
_PAUSE_MS = 700


class BrakeSheetDialog(CarefulDialog):
    """Makes a stay-out shape of typed numbers; what nobody typed stays open on its source card.

    Args:
        project: as it is now.
        wheel: name of the wheel that is shown, None for none.
        parent: window it belongs to.
    """

    def __init__(self, project: Project, wheel: str | None = None, parent: QWidget | None = None) -> None:
        super().__init__(tr("Brake from a sheet"), project, parent)
        self._shown_wheel = wheel
        kind = length(project.display_unit)
        self.look = ShapeLook(project, wheel, lines=7)
        self.outline = OutlinePage(self.page(tr("&Outline")), project, kind, wheel is not None)
        self.brake = BrakePage(self.page(tr("&Brake and source")), kind)
        split = QSplitter(Qt.Orientation.Horizontal)
        split.setChildrenCollapsible(False)
        split.addWidget(self.look)
        split.addWidget(self.pages)
        split.setStretchFactor(0, 1)
        split.setSizes([620, 540])
        self.pages.setMinimumWidth(430)
        self.column.insertWidget(0, split, 1)
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(_PAUSE_MS)
        self._settle.timeout.connect(self._say_at_field)
        self._said_at: Field | None = None
        for field in self.fields():
            field.edited.connect(self._changed)
        self.outline.unit.edited.connect(self._take_unit)
        self.resize(1190, 720)
        self._show()

    # What changes

    def _changed(self) -> None:
        self.touch()
        self._show()
        self._settle.start()

    def _take_unit(self) -> None:
        kind = length(self.outline.unit.read() or self.project.display_unit)
        self.outline.use(kind)
        self.brake.use(kind)
        self._show()

    def sheet(self) -> BrakeSheet:
        """Return what was typed.

        Raises:
            ValueError: a field cannot be read, or what an outline needs is missing.
        """
        return self.brake.filled(self.outline.sheet())

    def _show(self) -> None:
        """Draw and tell again what was typed."""
        try:
            sheet = self.sheet()
            grown = outline(sheet)
            shape = stay_out(sheet, self.outline.name.read() or "it")
        except ValueError as error:
            missing = self.outline.missing()
            line = (
                Line(tr("To do"), missing, LOOK)
                if missing
                else Line(tr("No outline"), spoken(str(error)), TROUBLE)
            )
            self.look.show_shape(Given(places=self.outline.places()), None, [line])
            return
        self.look.show_shape(_given(sheet, grown, shape), shape, _told(grown, shape, self.outline.has_error))

    def _say_at_field(self) -> None:
        """Say a contradiction at the field that should be looked at; an older one goes."""
        if self._said_at is not None:
            self._said_at.say("")
            self._said_at = None
        try:
            outline(self.sheet())
        except SheetError as error:
            self._said_at = self._field_of(error)
            self._said_at.say(spoken(str(error)))
        except ValueError:
            pass

    def _field_of(self, error: SheetError) -> Field:
        found = {**self.outline.by_name, **self.brake.by_name}
        return found[error.field]

    # What it becomes

    def made(self) -> tuple[Project, str]:
        """Return the project with the brake added.

        Raises:
            FieldError: what was typed contradicts itself or gives no outline.
        """
        sheet = self.sheet()
        try:
            shape = stay_out(sheet, self.outline.name.read())
        except SheetError as error:
            self._say_at_field()
            self._show_field(self._field_of(error))
            raise FieldError(spoken(str(error))) from None
        shape = replace(shape, notes={"typed": [f"{line.about}: {line.said}" for line in self.look.said]})
        check_card(shape)
        held_by = self._shown_wheel if self.outline.hold.read() else None
        return with_shape(self.project, shape, held_by), tr("Brake from a sheet {name}", name=shape.name)

    def done(self, result: int) -> None:
        """Wait for nothing any more."""
        self._settle.stop()
        self.look.close_down()
        super().done(result)


def _given(sheet: BrakeSheet, grown: Grown, shape: StayOut) -> Given:
    path = outline_path(grown.corners)
    assert not isinstance(path, tuple), "an outline of a sheet is built before it is handed out"
    shift = np.array([shape.shift_mm, 0.0])
    places = [(p.z, p.r) for p in sheet.points]
    if sheet.largest_z_mm is not None:
        places.append((sheet.largest_z_mm, sheet.largest_r_mm))
    moved = path.moved(shape.shift_mm)
    return Given(
        moved,
        tr("as it will be kept"),
        np.array(places) + shift,
        np.array(grown.bare) + shift if grown.said else np.empty((0, 2)),
        (None if shape.extent.ends_inboard else moved.bounds[0], None),
    )


def _told(grown: Grown, shape: StayOut, has_error: bool) -> list[Line]:
    words = open_line(shape)
    tone = OPEN if words.startswith("?") else ""
    words = words.removeprefix("? ")
    said = [Line(tr("Trust"), f"{spoken(shape.card.grade)}; {words[:1].lower()}{words[1:]}", tone)]
    said += [Line(tr("Grown"), capital(sentence), LOOK) for sentence in grown.said]
    if not has_error:
        said.append(Line(tr("To do"), tr("Say how far the numbers may be wrong, either way."), LOOK))
    if not shape.extent.ends_inboard:
        said.append(Line(tr("Inboard"), tr("Nothing is known inboard of the outline's end."), OPEN))
    if shape.extent.cut_r_low is not None:
        below = tr(
            "Nothing is known below r {cut_r_low:.2f} mm, the lowest corner point.",
            cut_r_low=shape.extent.cut_r_low,
        )
        said.append(Line(tr("Below"), below, OPEN))
    return said
