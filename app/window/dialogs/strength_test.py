"""A physical test that was made on a wheel: what was run, and how it ended."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.project import edits
from app.project.project import Project
from app.project.strength import CASES, Outcome, TestRecord
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import (
    NUMBER,
    ChoiceField,
    DateField,
    FieldError,
    NumberField,
    TextField,
    named,
)
from geometry.shape.section import Zone


class TestRecordDialog(ProjectDialog):
    """Edits a record, or makes one where no name is given."""

    __test__ = False  # its name begins as pytest's classes do

    def __init__(
        self, project: Project, name: str | None, wheel: str | None, parent: QWidget | None = None
    ) -> None:
        super().__init__(f"Test made: {name}" if name else "New test that was made", project, parent)
        self.old = name
        given = edits.find(project, edits.TEST_RECORD, name) if name else _new(project, wheel)
        self.given = given
        form = self.page("Test")
        self.name = form.add("Name", TextField(given.name, required=True))
        wheels: list[tuple[str, str | None]] = [("not drawn here", None)]
        wheels += [(w.name, w.name) for w in project.wheels]
        self.wheel = form.add("Wheel", ChoiceField(wheels, given.wheel))
        self.family = form.add(
            "Family",
            TextField(given.family),
            "Design that it speaks for; the wheel's own name if empty.",
        )
        cases = [("not said", ""), *named([c for c in CASES if "impact" not in c])]
        self.case = form.add("Load case", ChoiceField(cases, given.case))
        self.load = form.add(
            "Load as run, N m or N",
            NumberField(NUMBER, given.load, optional=True, above=0.0),
            "The moment of a bending test in N m, the force of a rolling test in N.",
        )
        self.cycles = form.add("Cycles as run", NumberField(NUMBER, given.cycles, optional=True, above=0.0))
        ends = [(str(outcome.value), outcome) for outcome in Outcome]
        self.outcome = form.add("It", ChoiceField(ends, given.outcome))
        zones = [("not said", ""), *named([str(zone.value) for zone in Zone])]
        self.zone = form.add("Broke in", ChoiceField(zones, given.zone), "Of a wheel that failed.")
        self.laboratory = form.add("Laboratory", TextField(given.laboratory))
        self.on = form.add("On", DateField(given.on))
        form.note("With load and cycles the record gives a factor for its family, said with later studies.")
        self.outcome.edited.connect(self._show_zone)
        self._show_zone()
        self.resize(560, 480)

    def _show_zone(self) -> None:
        self._forms[0].show_field(self.zone, self.outcome.read() is Outcome.FAILED)

    def made(self) -> tuple[Project, str]:
        """Return the project with the record.

        Raises:
            ValueError: the name is taken, or a failed test does not say where.
        """
        failed = self.outcome.read() is Outcome.FAILED
        if failed and not self.zone.read():
            raise FieldError("Say in which zone the wheel broke: the factor is that zone's.")
        record = TestRecord(
            self.name.read(),
            self.wheel.read(),
            self.family.read(),
            self.case.read(),
            self.load.read(),
            self.cycles.read(),
            self.outcome.read(),
            self.zone.read() if failed else "",
            self.laboratory.read(),
            self.on.read(),
            self.given.notes,
        )
        if self.old is None:
            return edits.add(self.project, edits.TEST_RECORD, record), f"New test {record.name}"
        changed = edits.replaced(self.project, edits.TEST_RECORD, self.old, record)
        return changed, f"Test {record.name}"


def _new(project: Project, wheel: str | None) -> TestRecord:
    return TestRecord(edits.free_name(project, edits.TEST_RECORD, "Test"), wheel)
