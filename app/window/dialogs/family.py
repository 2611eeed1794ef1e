"""A wheel of the same design in another size: the drawn wheel gives the rule, the fields what differs."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits, wheel_edits
from app.project.new_items import BACK_LEAN_DEG, BRAKE_GAP_MM
from app.project.project import Project
from app.project.wheel import SizeCode, Spokes, Wheel
from app.units import format_length
from app.window.dialogs.form import Form, ProjectDialog, quiet_label
from app.window.dialogs.inset_fields import InsetFields
from app.window.dialogs.outline_preview import OutlinePreview
from app.window.dialogs.typed_fields import CODE, CheckField, NumberField, TextField, length
from app.window.dialogs.wheel_pages import ChecksField
from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.family import Drawn, Family, back_following, family_section
from geometry.shape.family_of import family_of
from geometry.shape.outline import outline_path
from geometry.shape.published import flange_row, width_mm
from geometry.shape.rim import RimContour, contour_vertices
from geometry.shape.section import Outline, build
from geometry.shape.under import Walls


class FamilyDialog(ProjectDialog):
    """Draws another member of the family that a drawn wheel belongs to; it is edited by hand from there."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(tr("New wheel of the design of {name}", name=name), project, parent)
        self.base: Wheel = edits.find(project, edits.WHEEL, name)
        self._length = length(project.display_unit)
        self.preview = OutlinePreview()
        self.preview.setAccessibleName(tr("Picture of the new wheel's half-section"))
        self.column.insertWidget(0, self.preview)
        self.outcome = quiet_label()
        self.column.insertWidget(1, self.outcome)
        self.family, self.refused = _family(self.base)
        self._size(self.page(tr("Size")))
        self._design(self.page(tr("Design")))
        for field in self.fields():
            field.edited.connect(self._follow)
        for field in (self.diameter_code, self.width_code):
            field.edited.connect(self.inset.size_changed)
        self._follow()
        self.resize(560, 600)

    def _size(self, form: Form) -> None:
        base, project = self.base, self.project
        self.name = form.add(
            tr("Name"), TextField(edits.free_name(project, edits.WHEEL, base.name), required=True)
        )
        self.diameter_code = form.add(tr("Diameter"), NumberField(CODE, base.size.diameter_code, above=0.0))
        self.width_code = form.add(tr("Width"), NumberField(CODE, base.size.width_code, above=0.0))
        self.inset = InsetFields(form, base.inset_mm, self._half, self._length)
        self.bore = form.add(tr("Bore"), NumberField(self._length, self.family.bore_mm, above=0.0))
        self.hub_pad = form.add(
            tr("Hub pad, outside"), NumberField(self._length, self.family.hub_pad_mm, above=0.0)
        )
        shapes = edits.SHAPE.names(project)
        self.clears = form.add(
            tr("Must clear"), ChecksField(shapes, base.clears, tr("There is no stay-out shape yet."))
        )
        self.follow = form.add("", CheckField(tr("the spoke back follows these shapes")))
        self.gap = form.add(tr("Gap to them"), NumberField(self._length, BRAKE_GAP_MM, above=0.0, most=50.0))
        form.show_field(self.gap, False)
        self.follow.edited.connect(lambda: form.show_field(self.gap, self.follow.read()))

    def _design(self, form: Form) -> None:
        family, walls = self.family, self.family.walls
        form.note(tr("Read from the drawn wheel; what is typed here holds for the new one."))

        def size(label: str, value: float) -> NumberField:
            return form.add(label, NumberField(self._length, value, above=0.0))

        self.barrel = size(tr("Wall of the barrel"), walls.barrel_mm)
        self.well = size(tr("Wall under the well"), walls.well_mm)
        self.seat = size(tr("Wall under the bead seats"), walls.seat_mm)
        self.inner_lip = size(tr("Inner lip"), walls.inner_lip_mm)
        self.outer_lip = size(tr("Outer lip"), walls.outer_lip_mm)
        self.hub_thickness = size(tr("Thickness of the hub"), family.hub_thickness_mm)
        self.shoulder_radius = size(tr("Radius at the shoulder"), family.shoulder_radius_mm)

    def _half(self) -> float | None:
        try:
            row = flange_row(self.diameter_code.number(), self.base.size.flange)
            return width_mm(self.width_code.number()) / 2.0 + row.b_usual.value
        except ValueError:
            return None

    def _edited_family(self) -> Family:
        walls = Walls(
            self.barrel.number(),
            self.well.number(),
            self.seat.number(),
            self.inner_lip.number(),
            self.outer_lip.number(),
        )
        family = replace(
            self.family,
            walls=walls,
            hub_thickness_mm=self.hub_thickness.number(),
            shoulder_radius_mm=self.shoulder_radius.number(),
            bore_mm=self.bore.number(),
            hub_pad_mm=self.hub_pad.number(),
        )
        if not self.follow.read():
            return family
        shapes = [edits.find(self.project, edits.SHAPE, name) for name in self.clears.read()]
        paths = [outline_path(o.corners) for shape in shapes for o in shape.outlines]
        brake = [path for path in paths if isinstance(path, Path)]
        return replace(
            family, back=back_following(brake, self.gap.number(), BACK_LEAN_DEG, family.hub_pad_mm)
        )

    def wheel(self) -> Wheel:
        """Return the wheel as the fields have it.

        Raises:
            ValueError: a field cannot be read, the drawn wheel gives no family, or the parts do not fit.
        """
        base = self.base
        if base.rim is None or self.refused:
            raise GeometryError(self.refused or tr("The drawn wheel has no locked rim contour."))
        size = SizeCode(self.diameter_code.number(), self.width_code.number(), base.size.flange)
        rim: RimContour = replace(base.rim, diameter_code=size.diameter_code, width_code=size.width_code)
        inset, family = self.inset.number(), self._edited_family()
        drawn = family_section(contour_vertices(rim), inset, family)
        moved = size != base.size or inset != base.inset_mm
        return replace(
            base,
            name=self.name.read(),
            size=size,
            inset_mm=inset,
            vertices=drawn.vertices,
            rim=rim,
            hub=replace(base.hub, bore_mm=family.bore_mm, hub_pad_mm=family.hub_pad_mm),
            spokes=_spokes(base, size, family, drawn),
            clears=self.clears.read(),
            rings=() if moved else base.rings,
            tyre=base.tyre if size == base.size else "",
            made_from=base.name,
            why=tr("of its design, {size}, inset {inset:g}", size=size, inset=inset),
        )

    def _follow(self) -> None:
        """Draw the wheel and say what it becomes, or why it cannot be drawn."""
        try:
            wheel = self.wheel()
        except ValueError as error:
            self.preview.show_loops(())
            self.outcome.setText(spoken(str(error)))
            return
        built = build(wheel.section)
        if not isinstance(built, Outline):
            self.preview.show_loops(())
            self.outcome.setText(" ".join([tr("It would have faults:"), *(fault.message for fault in built)]))
            return
        self.preview.show_loops([built.path.rows()])
        backspace = wheel_edits.backspace_mm(wheel)
        both = f"{format_length(backspace)} ({format_length(backspace, 'in', 2)})"
        said = tr(
            "{size}, inset {inset_mm}, backspace {both}.",
            size=wheel.size,
            inset_mm=format_length(wheel.inset_mm),
            both=both,
        )
        if len(wheel.rings) < len(self.base.rings):
            said += tr(" The ring bodies of the drawn wheel stay behind: state where they sit on this one.")
        self.outcome.setText(said)

    def made(self) -> tuple[Project, str]:
        """Return the project with the wheel added."""
        wheel = self.wheel()
        return edits.add(self.project, edits.WHEEL, wheel), tr(
            "New wheel {name}, like {name_2}", name=wheel.name, name_2=self.base.name
        )


def _family(wheel: Wheel) -> tuple[Family, str]:
    """Return a drawn wheel's family, or one that only fills the fields and the words why there is none."""
    try:
        return family_of(wheel.name, wheel.section), ""
    except GeometryError as error:
        hub = wheel.hub
        return Family(wheel.name, (), (), bore_mm=hub.bore_mm, hub_pad_mm=hub.hub_pad_mm), spoken(str(error))


def _spokes(base: Wheel, size: SizeCode, family: Family, drawn: Drawn) -> Spokes | None:
    """Return the drawn wheel's spokes cut where the new ones end, widths stretched with the diameter."""
    if base.spokes is None:
        return None
    widths = base.spokes.widths
    if size.diameter_code != base.size.diameter_code:
        stretched = wheel_edits.with_diameter(base, size.diameter_code).spokes
        widths = stretched.widths if stretched is not None else widths
    return replace(
        base.spokes,
        widths=widths,
        shoulder_cut=drawn.shoulder_cut,
        lip_cut=drawn.lip_cut,
        fixed_to=family.fixed_to,
    )
