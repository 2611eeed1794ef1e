"""A stay-out shape from four numbers: a box that is then drawn on with the handles."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import ChoiceField, FieldError, NumberField, TextField, length
from geometry.shape.outline import (
    Corner,
    Grade,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
    motion_of,
)


class NewShapeDialog(ProjectDialog):
    """Makes a box in the hub's frame; its source card starts with every question open."""

    def __init__(self, project: Project, parent: QWidget | None = None) -> None:
        super().__init__(tr("New stay-out shape"), project, parent)
        kind = length(project.display_unit)
        form = self.page(tr("Shape"))
        self.name = form.add(
            tr("Name"), TextField(edits.free_name(project, edits.SHAPE, "Shape"), required=True)
        )
        self.kind = form.add(tr("Kind"), ChoiceField([(spoken(k), k) for k in ShapeKind], ShapeKind.CALIPER))
        self.grade = form.add(tr("Grade"), ChoiceField([(spoken(g), g) for g in Grade], Grade.HEARSAY))
        self.z_low = form.add(tr("From z"), NumberField(kind, -70.0))
        self.z_high = form.add(tr("To z"), NumberField(kind, 45.0))
        self.r_low = form.add(tr("From r"), NumberField(kind, 110.0, least=0.0))
        self.r_high = form.add(tr("To r"), NumberField(kind, 190.0, above=0.0))
        form.note(
            tr(
                "z = 0 is the face the wheel bears on without a spacer, + outboard; r is measured from "
                "the axle "
                "line. Draw the box into its true outline with the handles, then fill in its source card."
            )
        )
        self.resize(460, 380)

    def made(self) -> tuple[Project, str]:
        """Return the project with the box added.

        Raises:
            FieldError: the box is empty.
        """
        z0, z1, r0, r1 = (f.number() for f in (self.z_low, self.z_high, self.r_low, self.r_high))
        if z0 >= z1 or r0 >= r1:
            raise FieldError(tr("The box is empty: the first of z and of r must be the smaller."))
        box = (Corner(z0, r0), Corner(z1, r0), Corner(z1, r1), Corner(z0, r1))
        kind = self.kind.read()
        shape = StayOut(
            self.name.read(),
            (NamedOutline(tr("as drawn"), box),),
            kind=kind,
            motion=motion_of(kind),
            card=SourceCard(grade=self.grade.read()),
        )
        return edits.add(self.project, edits.SHAPE, shape), tr("New stay-out shape {name}", name=shape.name)
