"""A foreign half-section as a wheel: size, inset and mounting face are stated, what is found is shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QTableWidget, QTableWidgetItem

from app.files.readers.answer import Row
from app.language import spoken, tr
from app.project import edits
from app.project.demo import material_6061
from app.project.project import Project
from app.project.wheel import SizeCode, Wheel
from app.studies.wheel_reader import Proposal, propose
from app.window.dialogs.form import Form
from app.window.dialogs.inset_fields import InsetFields
from app.window.dialogs.typed_fields import CODE, ChoiceField, Field, FieldError, NumberField, length
from geometry.shape.published import FLANGES, flange_row, width_mm

#: A half-section is some hundred lines and arcs.
MOST_VERTICES = 4000

Loops = tuple[tuple[Row, ...], ...]


class WheelFields:
    """Asks for size, inset and mounting face, and shows what the outline has of them.

    Args:
        form: page that the fields are put on.
        project: gives the unit of lengths.
        loops: returns the outlines that are taken, mm.
    """

    def __init__(self, form: Form, project: Project, loops: Callable[[], Loops]) -> None:
        self._loops = loops
        kind = length(project.display_unit)
        self.diameter_code = form.add(tr("Diameter"), NumberField(CODE, 18.0, above=0.0))
        self.width_code = form.add(tr("Width"), NumberField(CODE, 10.0, above=0.0), tr("9 1/2 is read too"))
        self.flange = form.add(tr("Flange"), ChoiceField([(x, x) for x in FLANGES], "J"))
        self.inset = InsetFields(form, 38.0, self._half, kind)
        self.face = form.add(
            tr("Mounting face, z in the picture"),
            NumberField(kind, None, optional=True, empty=tr("found by itself")),
            tr("Point at it with the page 'Place', or type it."),
        )
        self.said = QLabel()
        self.said.setWordWrap(True)
        form.row(self.said)
        self.table = QTableWidget(0, 4)
        self.table.setAccessibleName(tr("What was recognised"))
        self.table.setHorizontalHeaderLabels([tr("part"), tr("found"), tr("standard"), tr("off by")])
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.verticalHeader().hide()
        self.table.setShowGrid(False)
        self.table.setMinimumHeight(170)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        form.row(self.table)
        for field in self.fields():
            field.edited.connect(self.follow)
        for field in (self.diameter_code, self.width_code, self.flange):
            field.edited.connect(self.inset.size_changed)

    def fields(self) -> list[Field]:
        """Return the fields."""
        sizes: list[Field] = [self.diameter_code, self.width_code, self.flange]
        return [*sizes, self.inset.inset, self.inset.backspace, self.face]

    def _half(self) -> float | None:
        try:
            row = flange_row(self.diameter_code.number(), self.flange.read())
            return width_mm(self.width_code.number()) / 2.0 + row.b_usual.value
        except ValueError:
            return None

    def proposal(self) -> Proposal:
        """Return the wheel that the outline shows.

        Raises:
            ValueError: a field cannot be read, several bodies are taken, or no rim was found.
        """
        count = len(self._loops())
        if count > 1:
            raise FieldError(
                tr(
                    "{count} bodies are taken, and one of them is the wheel: see its number in the "
                    "picture and tick it alone under Take (joints between bodies are not judged).",
                    count=count,
                )
            )
        vertices = sum(map(len, self._loops()))
        if vertices > MOST_VERTICES:
            raise FieldError(
                tr(
                    "An outline of {vertices} vertices is no drawing of a wheel: export it coarser.",
                    vertices=vertices,
                )
            )
        size = SizeCode(self.diameter_code.number(), self.width_code.number(), self.flange.read())
        return propose(self._loops(), size, self.inset.number(), face_z=self.face.read())

    def follow(self) -> None:
        """Show what is recognised now."""
        try:
            found = self.proposal()
        except ValueError as error:
            self.said.setText(spoken(str(error)))
            self.table.setRowCount(0)
            return
        limits = [str(finding) for finding in found.limits]
        agreed = tr("It agrees with size and inset.")
        self.said.setText("\n".join([*(found.disagreements or (agreed,)), *limits]))
        self.table.setRowCount(len(found.recognised))
        for k, part in enumerate(found.recognised):
            unit = "°" if part.unit == "deg" else f" {part.unit}"
            missing = part.found is None
            texts = (
                part.part,
                tr("not found") if missing else f"{part.found:.2f}{unit}",
                f"{part.expected:.2f}{unit}",
                "" if part.deviation is None else f"{part.deviation:+.2f}",
            )
            for column, text in enumerate(texts):
                item = QTableWidgetItem(text)
                item.setToolTip(part.basis)
                if column:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.table.setItem(k, column, item)
        self.table.resizeRowsToContents()

    def added(self, project: Project, name: str, source: str) -> tuple[Project, Wheel]:
        """Return the project with the proposed wheel, and the wheel; a missing material comes with it.

        Raises:
            ValueError: as `proposal`, or the name is taken.
        """
        materials = edits.MATERIAL.names(project)
        wheel = replace(self.proposal().wheel(name), notes={"source": source})
        if wheel.material not in materials:
            if materials:
                wheel = replace(wheel, material=materials[0])
            else:
                project = edits.add(project, edits.MATERIAL, replace(material_6061(), name=wheel.material))
        return edits.add(project, edits.WHEEL, wheel), wheel
