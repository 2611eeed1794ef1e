"""Another disc, side or end of a brake that is there: its outline moved, to be measured later."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.project.variants import usual_move, variant
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import ChoiceField, FieldError, NumberField, TextField, length
from geometry.shape.outline import Brake, CarEnd, CarSide, StayOut

_NOT_SAID = tr("not said")


class BrakeVariantDialog(ProjectDialog):
    """Makes a variant of one shape of the project; the move follows the disc until it is typed."""

    def __init__(self, project: Project, name: str | None = None, parent: QWidget | None = None) -> None:
        super().__init__(tr("Variant of a brake"), project, parent)
        kind = length(project.display_unit)
        names = [shape.name for shape in project.shapes]
        first = name if name in names else names[0]
        form = self._form = self.page(tr("Variant"))
        self.source = form.add(tr("Made from"), ChoiceField([(n, n) for n in names], first))
        self.family = form.add(
            tr("Family"),
            TextField("", hint=tr("the brake's name, shared by all its variants"), required=True),
        )
        form.head(tr("The disc it was drawn with"))
        self.disc, self.hat = self._disc()
        form.head(tr("The disc of the variant"))
        self.new_disc, self.new_hat = self._disc()
        sides = [(spoken(s) or _NOT_SAID, s) for s in CarSide]
        ends = [(spoken(e) or _NOT_SAID, e) for e in CarEnd]
        self.side = form.add(tr("Side"), ChoiceField(sides, CarSide.NOT_SAID))
        self.end = form.add(tr("End of the car"), ChoiceField(ends, CarEnd.NOT_SAID))
        form.head(tr("So the outline moves"))
        self.along_r = form.add(
            tr("Along r"),
            NumberField(kind, 0.0),
            tr("Half the change of diameter; type over it if you know better."),
        )
        self.along_z = form.add(
            tr("Along z"), NumberField(kind, 0.0), tr("Inboard by what the hat is higher.")
        )
        self.name = form.add(tr("Name"), TextField("", required=True))
        form.note(
            tr(
                "A moved outline is graded as a tracing and is 'not known' until someone has checked "
                "its datum, "
                "its extent and its disc."
            )
        )
        self._typed = self._named = False
        self.source.edited.connect(self._take_over)
        for field in (self.disc, self.hat, self.new_disc, self.new_hat):
            field.edited.connect(self._follow)
        for field in (self.along_r, self.along_z):
            field.edited.connect(self._type_over)
        self.name.edited.connect(self._name_it)
        self._take_over()
        self.resize(520, 620)

    def _disc(self) -> tuple[NumberField, NumberField]:
        """Add the two sizes of a disc."""

        def size() -> NumberField:
            return NumberField(length(self.project.display_unit), None, optional=True, least=0.0)

        return (
            self._form.add(tr("Diameter"), size()),
            self._form.add(
                tr("Hat height"), size(), tr("From the hat's outer face to the middle of the disc.")
            ),
        )

    @property
    def shape(self) -> StayOut:
        """The shape that the variant is made from."""
        return edits.find(self.project, edits.SHAPE, self.source.read())

    def _take_over(self) -> None:
        brake = self.shape.brake
        self.family.put(brake.family or self.shape.name)
        for field, value in (
            (self.disc, brake.disc_mm),
            (self.hat, brake.hat_height_mm),
            (self.new_disc, brake.disc_mm),
            (self.new_hat, brake.hat_height_mm),
        ):
            field.put(value)
        if not self._named:
            self.name.put(edits.free_name(self.project, edits.SHAPE, f"{self.shape.name} variant"))
        self._follow()

    def _type_over(self) -> None:
        self._typed = True

    def _name_it(self) -> None:
        self._named = True

    def _follow(self) -> None:
        """Let the move follow the discs while nobody has typed it."""
        if self._typed:
            return
        try:
            dz, dr = usual_move(self._old(), self.new_disc.read(), self.new_hat.read())
        except ValueError:
            return
        self.along_z.put(dz)
        self.along_r.put(dr)

    def _old(self) -> Brake:
        return replace(self.shape.brake, disc_mm=self.disc.read(), hat_height_mm=self.hat.read())

    def made(self) -> tuple[Project, str]:
        """Return the project with the variant added, and the disc of its source noted.

        Raises:
            FieldError: a field cannot be read, or the outline would reach below the axle line.
        """
        old, family = self._old(), self.family.read()
        try:
            made = variant(
                self.shape,
                self.name.read(),
                self.along_z.number(),
                self.along_r.number(),
                family=family,
                disc_mm=self.new_disc.read(),
                hat_height_mm=self.new_hat.read(),
                side=self.side.read(),
                end=self.end.read(),
            )
        except edits.EditError as error:
            raise FieldError(spoken(str(error))) from error
        known = replace(self.shape, brake=replace(old, family=family))
        project = edits.replaced(self.project, edits.SHAPE, self.shape.name, known)
        return edits.add(project, edits.SHAPE, made), tr("Variant {name}", name=made.name)
