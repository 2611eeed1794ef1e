"""The presses at hand, as a page of the shop's rates: what each forges with and what it has room for."""

from __future__ import annotations

from app.language import tr
from app.project.project import Project
from app.window.dialogs.form import Form
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import NUMBER, FieldError, NumberField, TextField, length
from geometry.forging.presses import MOST_PRESSES, PRESSES, Press

_ABOUT = tr(
    "One to three, in the order of the steps: upset, blocking, finishing; with fewer the last one does what "
    "is left. Daylight: between bed and ram at its highest, without dies. Ejector: its stroke, 0 for none. "
    "Bed: its least width between the columns. Without any row the invented ones of {loads} MN stand; a row "
    "that is added begins with invented values. The steel of the dies stands in the window of the group's "
    "blank."
)


class PressesPage:
    """The rows of the page."""

    def __init__(self, form: Form, project: Project) -> None:
        kind, unit = length(project.display_unit), "in" if project.display_unit == "in" else "mm"
        form.note(_ABOUT.format(loads=", ".join(f"{p.capacity_mn:g}" for p in PRESSES)))

        def above(v: float) -> NumberField:
            return NumberField(kind, v, above=0.0)

        columns = (
            Column(tr("Press"), lambda v: TextField(v, required=True), 4),
            Column(tr("Load, MN"), lambda v: NumberField(NUMBER, v, above=0.0), 2),
            Column(tr("Speed, mm/s"), lambda v: NumberField(NUMBER, v, above=0.0), 2),
            Column(tr("Daylight, {unit}", unit=unit), above, 3),
            Column(tr("Stroke, {unit}", unit=unit), above, 3),
            Column(tr("Ejector, {unit}", unit=unit), lambda v: NumberField(kind, v, least=0.0), 3),
            Column(tr("Bed, {unit}", unit=unit), above, 3),
        )
        rows = [_cells(p) for p in project.presses]
        self.rows = RowsField(tr("press"), columns, rows, _cells(Press("", 90.0)))
        form.fields.append(self.rows)
        form.row(self.rows)

    def read(self) -> tuple[Press, ...]:
        """Return the presses; none where the invented ones stand.

        Raises:
            FieldError: there are more than three.
        """
        rows = self.rows.read()
        if len(rows) > MOST_PRESSES:
            raise FieldError(
                tr(
                    "{rows} presses are given; a forging takes one to {most}.",
                    rows=len(rows),
                    most=MOST_PRESSES,
                )
            )
        return tuple(
            Press(str(name), load, speed, daylight_mm=daylight, ejector_mm=lift, stroke_mm=stroke, bed_mm=bed)
            for name, load, speed, daylight, stroke, lift, bed in rows
        )


def _cells(p: Press) -> tuple[str, float, float, float, float, float, float]:
    return p.name, p.capacity_mn, p.speed_mm_s, p.daylight_mm, p.stroke_mm, p.ejector_mm, p.bed_mm
