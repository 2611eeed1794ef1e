"""Tolerances and notes of a project's section sheets; each starting value says what it rests on."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

from PySide6.QtWidgets import QLabel, QWidget

from app.files.sense import SHEET_LIMITS
from app.language import tr
from app.project.project import Project
from app.project.sheet import NAMES, REASONS, SHIPPED, SheetSettings
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.typed_fields import (
    ANGLE,
    NUMBER,
    CheckField,
    ChoiceField,
    Field,
    Kind,
    NumberField,
    TextField,
    length,
)

_MICRONS = Kind("µm", NUMBER.read, NUMBER.show)

_PAGES: dict[str, tuple[tuple[str, str], ...]] = {
    tr("&Form and place"): (
        ("inset_mm", tr("Inset, either way")),
        ("width_mm", tr("Width between the flanges, either way")),
        ("seat_diameter_mm", tr("Bead seats' diameter, either way")),
        ("radial_run_out_mm", tr("Radial run-out to A-B, total")),
        ("axial_run_out_mm", tr("Axial run-out to A-B, total")),
        ("flatness_mm", tr("Mounting face flat within")),
        ("surface_mm", tr("Brake side, either way")),
        ("coating_mm", tr("Coating on the brake side, at most")),
    ),
    tr("&Hub and holes"): (
        ("bore_mm", tr("Bore, over its diameter")),
        ("hole_mm", tr("Holes, over their diameter")),
        ("hole_position_mm", tr("Holes' axes within a diameter of")),
        ("seat_land_mm", tr("Bolt seats' depth, either way")),
        ("seat_angle_deg", tr("Bolt seats' angle, either way")),
        ("face_ra_um", tr("Ra of mounting face and bore")),
        ("seat_ra_um", tr("Ra of the bead seats")),
        ("other_ra_um", tr("Ra of all else")),
    ),
    tr("&Notes"): (
        ("owner", tr("Legal owner")),
        ("stage", tr("Stage")),
        ("finish", tr("Finish")),
        ("marking", tr("Marking place")),
        ("edges", tr("Edges")),
        ("general", tr("General tolerance")),
    ),
}


class SheetSettingsDialog(ProjectDialog):
    """Edits the settings; what is left empty is printed as not stated."""

    def __init__(self, project: Project, parent: QWidget | None = None) -> None:
        super().__init__(tr("Sheet tolerances and notes"), project, parent)
        self._length = length(project.display_unit)
        self.values: dict[str, NumberField | TextField] = {}
        for title, rows in _PAGES.items():
            form = self.page(title)
            for key, label in rows:
                self.values[key] = form.add(label, self._field(key))
                self._mark(form, key)
        form = self.page(tr("&Drawing"))
        papers = [(tr("large: A3 or Tabloid"), True), (tr("small: A4 or Letter"), False)]
        self.large = form.add(tr("Paper"), ChoiceField(papers, project.sheet.large))
        angles = [(tr("first angle"), False), (tr("third angle"), True)]
        self.third_angle = form.add(tr("Projection symbol"), ChoiceField(angles, project.sheet.third_angle))
        self.own = form.add(
            "",
            CheckField(
                tr("all values are our own, none a starting value"), not project.sheet.starting_values
            ),
        )
        form.note(tr("A tolerance may not be wider than what the wheel's conditions were judged with."))
        assert set(self.values) == set(NAMES)
        self.resize(660, 620)

    def _field(self, key: str) -> NumberField | TextField:
        value: Any = getattr(self.project.sheet, key)
        if isinstance(getattr(SHIPPED, key), str):
            return TextField(value, hint=tr("not stated"))
        kind = self._length
        if key.endswith("_deg"):
            kind = ANGLE
        elif key.endswith("_um"):
            kind = _MICRONS
        return NumberField(
            kind, value, optional=True, least=0.0, most=SHEET_LIMITS[key], empty=tr("not stated")
        )

    def _mark(self, form: Form, key: str) -> None:
        """Say under a field what its starting value rests on, as long as it holds it."""
        if key not in REASONS:
            return
        note: QLabel = form.note(tr("Starting value: {reason}.", reason=REASONS[key]))
        field: Field = self.values[key]

        def tell() -> None:
            try:
                still = field.read() == getattr(SHIPPED, key)
            except ValueError:
                still = False
            note.setVisible(still and self.project.sheet.starting_values)

        field.edited.connect(tell)
        tell()

    def made(self) -> tuple[Project, str]:
        """Return the project with the settings.

        Raises:
            ValueError: a field cannot be read.
        """
        values: dict[str, Any] = {key: field.read() for key, field in self.values.items()}
        values |= {
            "large": self.large.read(),
            "third_angle": self.third_angle.read(),
            "starting_values": not self.own.read(),
        }
        assert set(values) == {f.name for f in fields(SheetSettings)}
        return replace(self.project, sheet=SheetSettings(**values)), tr("Sheet tolerances and notes")
