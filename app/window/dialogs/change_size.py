"""Another width, diameter or inset of a wheel; a change of width asks what is kept."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits, wheel_edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.tyre import few_tyres
from app.units import format_length
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.inset_fields import InsetFields
from app.window.dialogs.typed_fields import CODE, ChoiceField, NumberField, length
from geometry.errors import GeometryError

_KEEPS = [
    (tr("the inset: both flanges move by half"), "inset"),
    (tr("the backspace: the outer flange takes all"), "backspace"),
    (tr("the outer flange: it grows inboard"), "inboard"),
]
_FOLLOW = [(tr("the rim (outer flange)"), "rim"), (tr("the hub (mounting face)"), "hub")]


class ChangeSizeDialog(ProjectDialog):
    """Changes width, diameter and inset of one wheel in one step; the outcome stands under the fields."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(tr("Change size: {name}", name=name), project, parent)
        self.wheel: Wheel = edits.find(project, edits.WHEEL, name)
        size = self.wheel.size
        form = self.page(tr("Size"))
        self.diameter_code = form.add(tr("Diameter"), NumberField(CODE, size.diameter_code, above=0.0))
        self.width_code = form.add(
            tr("Width"), NumberField(CODE, size.width_code, above=0.0), tr("9 1/2 is read too")
        )
        self.keep = form.add(tr("A change of width keeps"), ChoiceField(_KEEPS, "inset"))
        fixed = self.wheel.spokes.fixed_to if self.wheel.spokes else "rim"
        self.fixed_to = form.add(tr("Spokes follow"), ChoiceField(_FOLLOW, fixed))
        form.show_field(self.fixed_to, self.wheel.spokes is not None)
        self._inset_typed = False
        self.inset = InsetFields(form, self.wheel.inset_mm, self._half, length(project.display_unit))
        self.outcome = form.note()
        for field in (self.diameter_code, self.width_code, self.keep, self.fixed_to):
            field.edited.connect(self._follow)
        self.inset.edited.connect(self._typed)
        self._tell()
        self.resize(520, 360)

    def _resized(self) -> Wheel:
        """Return the wheel in its new size, before another inset was typed."""
        wheel = self.wheel
        if self.width_code.number() != wheel.size.width_code:
            wheel = wheel_edits.with_width(wheel, self.width_code.number(), self.keep.read())
        if self.diameter_code.number() != wheel.size.diameter_code:
            wheel = wheel_edits.with_diameter(wheel, self.diameter_code.number())
        return wheel

    def _half(self) -> float | None:
        try:
            wheel = self._resized()
            return wheel_edits.backspace_mm(wheel) - wheel.inset_mm
        except ValueError:
            return None

    def _typed(self) -> None:
        self._inset_typed = True
        self._tell()

    def _follow(self) -> None:
        """Show the inset that the new width leaves, as long as none was typed."""
        try:
            if self._inset_typed:
                self.inset.size_changed()
            else:
                self.inset.put(self._resized().inset_mm)
        except ValueError:
            pass
        self._tell()

    def changed(self) -> Wheel:
        """Return the wheel as the fields have it.

        Raises:
            ValueError: a field cannot be read, or the contour does not fit the size.
        """
        wheel = self._resized()
        if self.wheel.spokes is not None and self.fixed_to.read() != self.wheel.spokes.fixed_to:
            wheel = wheel_edits.with_spokes_fixed_to(wheel, self.fixed_to.read())
        if self._inset_typed and self.inset.number() != wheel.inset_mm:
            wheel = wheel_edits.with_inset(wheel, self.inset.number())
        return wheel

    def _tell(self) -> None:
        try:
            wheel = self.changed()
            outcome = [_words(self.wheel), tr("becomes {wheel}", wheel=_words(wheel))]
            if wheel.size.diameter_code != self.wheel.size.diameter_code:
                outcome.append(few_tyres(self.wheel, wheel.size.diameter_code))
            self.outcome.setText("\n".join(filter(None, outcome)))
        except ValueError as error:
            self.outcome.setText(spoken(str(error)))

    def made(self) -> tuple[Project, str]:
        """Return the project with the wheel in its new size."""
        wheel = self.changed()
        project = edits.replaced(self.project, edits.WHEEL, self.wheel.name, wheel)
        return project, tr(
            "Change {name} to {size}, inset {inset_mm}",
            name=wheel.name,
            size=wheel.size,
            inset_mm=format_length(wheel.inset_mm, "mm", 2),
        )


def _words(wheel: Wheel) -> str:
    try:
        backspace = wheel_edits.backspace_mm(wheel)
    except GeometryError:
        return tr("{size}, inset {inset_mm}", size=wheel.size, inset_mm=format_length(wheel.inset_mm))
    both = f"{format_length(backspace)} ({format_length(backspace, 'in', 2)})"
    return tr(
        "{size}, inset {inset_mm}, backspace {both}",
        size=wheel.size,
        inset_mm=format_length(wheel.inset_mm),
        both=both,
    )
