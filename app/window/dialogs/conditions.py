"""A set of conditions of the road: every number with what it rests on."""

from __future__ import annotations

from dataclasses import fields, replace

from PySide6.QtWidgets import QWidget

from app.language import tr
from app.project import edits
from app.project.demo import conditions as shipped
from app.project.project import Project
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.typed_fields import (
    ANGLE,
    NUMBER,
    CheckField,
    ChoiceField,
    Kind,
    NumberField,
    TextField,
    length,
)
from geometry.readings.conditions import REASONS, Conditions

_KELVIN = Kind("K", NUMBER.read, NUMBER.show)
#: Expansion is typed in millionths, as tables give it.
_MILLIONTHS = Kind("1e-6/K", lambda text: NUMBER.read(text) * 1e-6, lambda value: NUMBER.show(value * 1e6))

_PAGES: dict[str, tuple[tuple[str, str], ...]] = {
    tr("&Movement"): (
        ("camber_deg", tr("Tilt in camber, either way")),
        ("toe_deg", tr("Tilt in toe, either way")),
        ("bearing_z_mm", tr("Bearing centre at z")),
        ("axial_run_out_mm", tr("Axial run-out")),
        ("radial_run_out_mm", tr("Radial run-out")),
        ("spread_mm", tr("A caliper spreads by")),
        ("brake_outboard_mm", tr("Housing farther outboard by")),
        ("barrel_mm", tr("Barrel bent towards the brake")),
        ("lip_mm", tr("Lips bent towards the brake")),
    ),
    tr("&Tolerances"): (
        ("inset_mm", tr("Inset, either way")),
        ("spacer_mm", tr("Spacer, either way")),
        ("surface_mm", tr("Wheel's surface, either way")),
        ("coating_mm", tr("Coating")),
    ),
    tr("&Heat and stones"): (
        ("wheel_hot_k", tr("Hot wheel, warmer by")),
        ("brake_hot_k", tr("Hot brake, warmer by")),
        ("wheel_per_k", tr("The wheel expands")),
        ("brake_per_k", tr("The brake expands")),
        ("debris_gap_mm", tr("A gap under")),
        ("debris_length_mm", tr("along this or more holds stones")),
    ),
}


class ConditionsDialog(ProjectDialog):
    """Edits a set of conditions; where no name is given, makes one, from a shipped set or one of the project.

    The first change of a number raises a revision that is a number and takes the mark 'starting values' off.
    """

    def __init__(self, project: Project, name: str | None = None, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Conditions: {name}", name=name) if name else tr("New conditions"), project, parent
        )
        self.old = name
        if name is not None:
            self.conditions = edits.find(project, edits.CONDITIONS, name)
        else:
            self.conditions = self._named_freely(shipped()[0])
        self._length = length(project.display_unit)
        self._is_touched = False
        self._general(self.page(tr("&Set")))
        self.numbers: dict[str, NumberField] = {}
        for title, rows in _PAGES.items():
            form = self.page(title)
            for key, label in rows:
                self.numbers[key] = self._number(form, key, label)
        self._put()
        self.resize(640, 520)

    def _general(self, form: Form) -> None:
        if self.old is None:
            sets = [(tr("{name} (shipped)", name=c.name), c) for c in shipped()]
            sets += [(c.name, c) for c in self.project.conditions]
            self.start = form.add(tr("Start from"), ChoiceField(sets, sets[0][1]))
            self.start.edited.connect(self._start_anew)
        self.name = form.add(tr("Name"), TextField(self.conditions.name, required=True))
        self.revision = form.add(tr("Revision"), TextField(self.conditions.revision, required=True))
        self.starting = form.add("", CheckField(tr("starting values, not yet our own")))
        form.note(
            tr(
                "What eats a gap on the road. Every effect is tried at both of its limits, alone and "
                "with all "
                "others, on the exact outline; 0 leaves an effect out. What is left is held against the "
                "rule's "
                "part for the worst state."
            )
        )

    def _number(self, form: Form, key: str, label: str) -> NumberField:
        kind = self._length
        if key.endswith("_deg"):
            kind = ANGLE
        elif key.endswith("_per_k"):
            kind = _MILLIONTHS
        elif key.endswith("_k"):
            kind = _KELVIN
        least = None if key == "bearing_z_mm" else 0.0
        field = form.add(
            label, NumberField(kind, 0.0, least=least), tr("Starting value: {reason}.", reason=REASONS[key])
        )
        field.edited.connect(self._touched)
        return field

    def _named_freely(self, conditions: Conditions) -> Conditions:
        return replace(conditions, name=edits.free_name(self.project, edits.CONDITIONS, conditions.name))

    def _put(self) -> None:
        for key, field in self.numbers.items():
            field.put(getattr(self.conditions, key))
        self.starting.box.setChecked(self.conditions.starting_values)

    def _start_anew(self) -> None:
        """Show the numbers of the set chosen to start from."""
        self.conditions = self._named_freely(self.start.read())
        self.name.put(self.conditions.name)
        self._is_touched = False
        self._put()

    def _touched(self) -> None:
        if self._is_touched:
            return
        self._is_touched = True
        self.starting.box.setChecked(False)
        if self.old is not None and self.revision.read().isdigit():
            self.revision.put(str(int(self.revision.read()) + 1))

    def made(self) -> tuple[Project, str]:
        """Return the project with the set.

        Raises:
            ValueError: a field cannot be read, or the name is taken.
        """
        numbers = {key: field.number() for key, field in self.numbers.items()}
        assert set(numbers) == {f.name for f in fields(Conditions)} - {"name", "revision", "starting_values"}
        made = Conditions(self.name.read(), self.revision.read(), self.starting.read(), **numbers)
        if self.old is None:
            return edits.add(self.project, edits.CONDITIONS, made), tr(
                "New conditions {name}", name=made.name
            )
        return edits.replaced(self.project, edits.CONDITIONS, self.old, made), tr(
            "Conditions {name}", name=made.name
        )
