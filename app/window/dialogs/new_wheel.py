"""A new wheel from size, inset or backspace, bore, bolt circle, wall and disc; drawn as one types."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits, wheel_edits
from app.project.demo import material_6061, offered_conditions, with_conditions
from app.project.new_items import new_wheel
from app.project.project import Project
from app.project.wheel import SizeCode, Wheel
from app.units import format_length
from app.window.dialogs.form import Form, ProjectDialog, quiet_label
from app.window.dialogs.inset_fields import InsetFields
from app.window.dialogs.outline_preview import OutlinePreview
from app.window.dialogs.typed_fields import (
    CODE,
    NUMBER,
    CheckField,
    ChoiceField,
    NumberField,
    TextField,
    length,
)
from app.window.dialogs.wheel_pages import ChecksField
from geometry.shape.curve import Path
from geometry.shape.outline import outline_path
from geometry.shape.published import FLANGES, flange_row, width_mm
from geometry.shape.rim import Humps, WellSide
from geometry.shape.section import Outline, build


class NewWheelDialog(ProjectDialog):
    """Makes a wheel with a locked rim contour and an editable section; the picture follows every key."""

    def __init__(self, project: Project, parent: QWidget | None = None) -> None:
        super().__init__(tr("New wheel"), project, parent)
        self._length = length(project.display_unit)
        self.preview = OutlinePreview()
        self.preview.setAccessibleName(tr("Picture of the new wheel's half-section"))
        self.column.insertWidget(0, self.preview)
        self.outcome = quiet_label()
        self.column.insertWidget(1, self.outcome)
        self._size(self.page(tr("Size")))
        self._section(self.page(tr("Section")))
        self._held(self.page(tr("Held against")))
        for field in self.fields():
            field.edited.connect(self._follow)
        for field in (self.diameter_code, self.width_code, self.flange):
            field.edited.connect(self.inset.size_changed)
        self._follow()
        self.resize(560, 640)

    def _size(self, form: Form) -> None:
        project = self.project
        self.name = form.add(
            tr("Name"), TextField(edits.free_name(project, edits.WHEEL, "Wheel"), required=True)
        )
        self.diameter_code = form.add(tr("Diameter"), NumberField(CODE, 18.0, above=0.0))
        self.width_code = form.add(tr("Width"), NumberField(CODE, 10.0, above=0.0), tr("9 1/2 is read too"))
        self.flange = form.add(tr("Flange"), ChoiceField([(x, x) for x in FLANGES], "J"))
        self.inset = InsetFields(form, 38.0, self._half, self._length)
        self.bore = form.add(tr("Bore"), NumberField(self._length, 72.0, above=0.0))
        self.bolts = form.add(tr("Bolts"), NumberField(NUMBER, 5.0, least=1.0, most=20.0, whole=True))
        self.circle = form.add(tr("Bolt circle"), NumberField(self._length, 120.0, above=0.0))

    def _section(self, form: Form) -> None:
        self.humps = form.add(tr("Humps"), ChoiceField([(spoken(h), h) for h in Humps], Humps.BOTH))
        self.well = form.add(
            tr("Well lies"), ChoiceField([(spoken(w), w) for w in WellSide], WellSide.OUTBOARD)
        )
        self.wall = form.add(
            tr("Wall of the barrel"),
            NumberField(self._length, 3.8, above=0.0, most=30.0),
            tr("Well floor and bead seats are 0.2 and 1.7 mm thicker."),
        )
        self.disc = form.add(
            tr("Disc position, z of the spoke back"),
            NumberField(self._length, None, optional=True, empty=tr("just inside the outer lip")),
            tr("At the rim, from the mounting face."),
        )
        self.spoke_depth = form.add(
            tr("Depth of the spokes"), NumberField(self._length, 23.0, above=0.0, most=150.0)
        )
        self.spokes = form.add(
            tr("Spokes"), NumberField(NUMBER, 10.0, least=0.0, most=60.0, whole=True), tr("0 for a full disc")
        )
        self.hub_pad = form.add(
            tr("Hub pad, outside"),
            NumberField(self._length, None, optional=True, above=0.0, empty=tr("bolt circle + 28 mm")),
        )

    def _held(self, form: Form) -> None:
        project = self.project
        shapes = edits.SHAPE.names(project)
        self.clears = form.add(
            tr("Must clear"), ChecksField(shapes, (), tr("There is no stay-out shape yet."))
        )
        self.follow = form.add("", CheckField(tr("the spoke back follows these shapes, 4.1 mm away")))
        rules = edits.RULE_SET.names(project)
        none: list[tuple[str, str | None]] = [(tr("(none)"), None)]
        options = [*none, *((name, name) for name in rules)]
        self.rules = form.add(tr("Rule set"), ChoiceField(options, rules[0] if rules else None))
        conditions = offered_conditions(project)
        self.conditions = form.add(
            tr("Conditions"), ChoiceField([*none, *((name, name) for name in conditions)], conditions[0])
        )
        blanks = [*none, *((name, name) for name in edits.BLANK.names(project))]
        self.blank = form.add(tr("Blank"), ChoiceField(blanks, None))
        materials = edits.MATERIAL.names(project) or (material_6061().name,)
        self.material = form.add(
            tr("Material"), ChoiceField([(name, name) for name in materials], materials[0])
        )

    def _half(self) -> float | None:
        try:
            row = flange_row(self.diameter_code.number(), self.flange.read())
            return width_mm(self.width_code.number()) / 2.0 + row.b_usual.value
        except ValueError:
            return None

    def wheel(self) -> Wheel:
        """Return the wheel as the fields have it.

        Raises:
            ValueError: a field cannot be read, or hub, disc and rim do not go together.
        """
        made = new_wheel(
            self.name.read(),
            SizeCode(self.diameter_code.number(), self.width_code.number(), self.flange.read()),
            self.inset.number(),
            bore_mm=self.bore.number(),
            bolt_count=self.bolts.count(),
            bolt_circle_mm=self.circle.number(),
            wall_mm=self.wall.number(),
            disc_mm=self.disc.read(),
            spoke_depth_mm=self.spoke_depth.number(),
            spoke_count=self.spokes.count(),
            hub_pad_mm=self.hub_pad.read(),
            humps=self.humps.read(),
            well=self.well.read(),
            brake=self._brake() if self.follow.read() else (),
        )
        return replace(
            made,
            clears=self.clears.read(),
            rules=self.rules.read(),
            conditions=self.conditions.read(),
            blank=self.blank.read(),
            material=self.material.read(),
        )

    def _brake(self) -> list[Path]:
        shapes = [edits.find(self.project, edits.SHAPE, name) for name in self.clears.read()]
        paths = [outline_path(o.corners) for shape in shapes for o in shape.outlines]
        return [path for path in paths if isinstance(path, Path)]

    def _follow(self) -> None:
        """Draw the wheel and say what it becomes, or why it cannot be drawn."""
        try:
            wheel = self.wheel()
        except ValueError as error:
            self.preview.show_loops(())
            self.outcome.setText(spoken(str(error)))
            return
        built = build(wheel.section)
        self.preview.show_loops([built.path.rows()] if isinstance(built, Outline) else [])
        backspace = wheel_edits.backspace_mm(wheel)
        both = f"{format_length(backspace)} ({format_length(backspace, 'in', 2)})"
        row = flange_row(wheel.size.diameter_code, wheel.size.flange)
        if isinstance(built, Outline):
            said = [
                tr(
                    "{size}, inset {inset_mm}, backspace {both}.",
                    size=wheel.size,
                    inset_mm=format_length(wheel.inset_mm),
                    both=both,
                ),
                *row.notes,
            ]
        else:
            said = [tr("It would have faults:"), *(fault.message for fault in built)]
        self.outcome.setText(" ".join(said))

    def made(self) -> tuple[Project, str]:
        """Return the project with the wheel added; a material or conditions that it lacks come with it."""
        wheel = self.wheel()
        project = self.project
        if wheel.material not in edits.MATERIAL.names(project):
            project = edits.add(project, edits.MATERIAL, replace(material_6061(), name=wheel.material))
        project = with_conditions(project, wheel.conditions)
        return edits.add(project, edits.WHEEL, wheel), tr("New wheel {name}", name=wheel.name)
