"""Everything of a wheel that is not drawn: what it is held against, hub, fixing, spokes, rings, rim."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits, wheel_edits
from app.project.demo import offered_conditions, with_conditions
from app.project.edits import Kind
from app.project.project import Project
from app.project.wheel import Side, Wheel
from app.units import format_length
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.new_version import OriginFields
from app.window.dialogs.typed_fields import MASS, PER_CENT, ChoiceField, NumberField, TextField, length
from app.window.dialogs.wheel_coating import CoatingPage
from app.window.dialogs.wheel_pages import (
    ChecksField,
    FixingPage,
    HubPage,
    Page,
    RimPage,
    RingsPage,
    SpokesPage,
)
from app.window.dialogs.wheel_rating import RatingPage
from geometry.errors import GeometryError


class WheelDetailsDialog(ProjectDialog):
    """Edits one wheel; size, width and inset have a dialog of their own."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(tr("Wheel details: {name}", name=name), project, parent)
        self.wheel: Wheel = edits.find(project, edits.WHEEL, name)
        kind = length(project.display_unit)
        self._general(self.page(tr("Wheel")))
        self._held(self.page(tr("Held against")))
        self.fixing = FixingPage(self.page(tr("Fixing")), self.wheel, kind)
        self.hub = HubPage(self.page(tr("Hub")), self.wheel, kind)
        self.coating = CoatingPage(self.page(tr("Coating")), self.wheel, kind)
        self.spokes = SpokesPage(self.page(tr("Spokes")), self.wheel, kind)
        self.rings = RingsPage(self.page(tr("Ring bodies")), self.wheel, kind)
        self.rim = RimPage(self.page(tr("Rim")), self.wheel, kind)
        self.rating = RatingPage(self.page(tr("Rating")), self.wheel, project)
        self.resize(780, 620)

    def _general(self, form: Form) -> None:
        wheel, unit = self.wheel, "in" if self.project.display_unit == "in" else "mm"
        self.name = form.add(tr("Name"), TextField(wheel.name, required=True))
        inset = format_length(wheel.inset_mm, "in" if unit == "in" else "mm")
        form.note(
            tr(
                "{size}, inset {inset}{backspace}. Change size and inset in their own dialog.",
                size=wheel.size,
                inset=inset,
                backspace=_backspace(wheel),
            )
        )
        self.load = form.add(tr("Wheel load"), NumberField(MASS, wheel.load_kg, optional=True, above=0.0))
        self.tyre = form.add(tr("Tyre"), TextField(wheel.tyre, hint="265/35R18"))
        self.growth = form.add(
            tr("Tyre grows in service by"),
            NumberField(PER_CENT, wheel.tyre_growth_percent, least=0.0, most=20.0),
            tr("Of its width and height. Starting value 4: public listing of tyre formulas, secondary."),
        )
        self.material = form.add(
            tr("Material"), ChoiceField(_names(self.project, edits.MATERIAL), wheel.material)
        )
        self.spacer = form.add(
            tr("Spacer"),
            NumberField(length(self.project.display_unit), wheel.spacer_mm, least=0.0),
            tr("Puts the mounting face this far outboard of the hub's face."),
        )
        self.side = form.add(
            tr("Side of the vehicle"),
            ChoiceField([(spoken(side), side) for side in Side], wheel.side),
            tr(
                "'left and right': a directional design's two faces on this one section, drawn and "
                "judged once."
            ),
        )
        self.origin = OriginFields(form, wheel, self.project)

    def _held(self, form: Form) -> None:
        wheel, project = self.wheel, self.project
        self.clears = ChecksField(
            edits.SHAPE.names(project), wheel.clears, tr("There is no stay-out shape yet: import one.")
        )
        form.add(tr("Must clear"), self.clears)
        self.rules = form.add(tr("Rule set"), ChoiceField(_or_none(project, edits.RULE_SET), wheel.rules))
        offered = [(tr("(none)"), None), *((name, name) for name in offered_conditions(project))]
        self.conditions = form.add(tr("Conditions"), ChoiceField(offered, wheel.conditions))
        self.blank = form.add(tr("Blank"), ChoiceField(_or_none(project, edits.BLANK), wheel.blank))
        self.seat = form.add(
            tr("Seat of the blank, z"),
            NumberField(length(project.display_unit), wheel.seat_mm),
            tr("z of the blank's own zero in the wheel's frame."),
        )
        self.sequence = form.add(
            tr("Machining sequence"),
            TextField(wheel.sequence, hint=tr("first side, second side, windows ...")),
            tr("A note for the house's own copy of the report."),
        )

    def made(self) -> tuple[Project, str]:
        """Return the project with the wheel changed."""
        wheel = replace(
            self.wheel,
            name=self.name.read(),
            load_kg=self.load.read(),
            tyre=self.tyre.read(),
            tyre_growth_percent=self.growth.number(),
            material=self.material.read(),
            spacer_mm=self.spacer.number(),
            side=self.side.read(),
            clears=self.clears.read(),
            rules=self.rules.read(),
            conditions=self.conditions.read(),
            blank=self.blank.read(),
            seat_mm=self.seat.number(),
            sequence=self.sequence.read(),
        )
        pages: list[Page] = [self.origin, self.fixing, self.hub, self.coating]
        pages += [self.spokes, self.rings, self.rim, self.rating]
        for page in pages:
            wheel = page.changed(wheel)
        project = with_conditions(self.project, wheel.conditions)
        project = edits.replaced(project, edits.WHEEL, self.wheel.name, wheel)
        return project, tr("Details of {name}", name=wheel.name)


def _backspace(wheel: Wheel) -> str:
    try:
        backspace = wheel_edits.backspace_mm(wheel)
    except GeometryError:
        return ""
    return tr(
        ", backspace {backspace} ({backspace_2})",
        backspace=format_length(backspace),
        backspace_2=format_length(backspace, "in", 2),
    )


def _names(project: Project, kind: Kind[Any]) -> list[tuple[str, str]]:
    return [(name, name) for name in kind.names(project)]


def _or_none(project: Project, kind: Kind[Any]) -> list[tuple[str, str | None]]:
    return [(tr("(none)"), None), *((name, name) for name in kind.names(project))]
