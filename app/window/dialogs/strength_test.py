"""A physical test that was made on a wheel: what was run, and how it ended."""

from __future__ import annotations

from PySide6.QtWidgets import QStyle, QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.project.strength import CASES, Outcome, Struck, TestRecord
from app.studies.strength.tested import ANOTHER, differs, drawing_of, forging_of
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import (
    MASS,
    MM,
    NUMBER,
    ChoiceField,
    DateField,
    FieldError,
    NumberField,
    TextField,
    length,
)
from geometry.shape.section import Zone

#: Tests by a striker; the first one says where it hits.
IMPACTS = tuple(c for c in CASES if "impact" in c)
#: Answers to which drawing a sample was made to.
NOT_KNOWN, NOW, KEPT = tr("not known"), tr("now"), tr("kept")


class TestRecordDialog(ProjectDialog):
    """Edits a record, or makes one where no name is given."""

    __test__ = False  # its name begins as pytest's classes do

    def __init__(
        self, project: Project, name: str | None, wheel: str | None, parent: QWidget | None = None
    ) -> None:
        super().__init__(
            tr("Test made: {name}", name=name) if name else tr("New test that was made"), project, parent
        )
        self.old = name
        given = edits.find(project, edits.TEST_RECORD, name) if name else _new(project, wheel)
        self.given = given
        form = self.page(tr("Test"))
        self.name = form.add(tr("Name"), TextField(given.name, required=True))
        wheels: list[tuple[str, str | None]] = [(tr("not drawn here"), None)]
        wheels += [(w.name, w.name) for w in project.wheels]
        self.wheel = form.add(tr("Wheel"), ChoiceField(wheels, given.wheel))
        self.family = form.add(
            tr("Family"),
            TextField(given.family),
            tr("Design that it speaks for; the wheel's own name if empty."),
        )
        cases = [(tr("not said"), ""), *((spoken(case), case) for case in CASES)]
        self.case = form.add(tr("Load case"), ChoiceField(cases, given.case))
        drawings = [(tr("not known"), NOT_KNOWN), (tr("as the wheel and its blank are drawn now"), NOW)]
        drawings.append((tr("another than is drawn now"), ANOTHER))
        kept = bool(given.drawing) and given.drawing != ANOTHER
        if kept:
            drawings.append((tr("as recorded before"), KEPT))
        self.drawing = form.add(
            tr("Drawing of the sample"),
            ChoiceField(drawings, KEPT if kept else given.drawing or NOT_KNOWN),
            tr(
                "Whether what was tested is what is drawn; a record of another drawing covers no test. One of"
                " another drawing that failed is lifted by a later one of today's that stood the same test."
            ),
        )
        self.changed = form.note(self._changed())
        form.rows.setRowVisible(self.changed, bool(self.changed.text()))
        self.load = form.add(
            tr("Load as run, N m or N"),
            NumberField(NUMBER, given.load, optional=True, above=0.0),
            tr("The moment of a bending test in N m, the force of a rolling test in N."),
        )
        self.cycles = form.add(
            tr("Cycles as run"), NumberField(NUMBER, given.cycles, optional=True, above=0.0)
        )
        self.striker = form.add(tr("Striker"), NumberField(MASS, given.striker_kg, optional=True, above=0.0))
        unit = project.display_unit
        self.drop = form.add(
            tr("Free fall"),
            NumberField(length(unit) if unit == "in" else MM, given.drop_mm, optional=True, above=0.0),
        )
        self.tyre = form.add(
            tr("Tyre of the impact"),
            TextField(given.tyre, hint=tr("such as 245/40R18")),
            tr("A larger tyre shelters the rim more, so that it covers no smaller one."),
        )
        self.struck = form.add(
            tr("Struck"),
            ChoiceField([(spoken(s.value), s) for s in Struck], given.struck),
            tr("Of a 13 degree impact."),
        )
        ends = [(spoken(outcome.value), outcome) for outcome in Outcome]
        self.outcome = form.add(tr("Outcome"), ChoiceField(ends, given.outcome))
        zones = [(tr("not known"), ""), *((spoken(zone), zone.value) for zone in Zone)]
        self.zone = form.add(
            tr("Broke in"),
            ChoiceField(zones, given.zone),
            tr("Of a wheel that failed: the factor is that zone's."),
        )
        self.closes = form.note()
        self.laboratory = form.add(tr("Laboratory"), TextField(given.laboratory))
        self.on = form.add(tr("On"), DateField(given.on))
        form.note(
            tr(
                "A record is one sample. With load and cycles it gives a factor for its family, said "
                "with later"
                " studies; an impact covers tests, but gives no factor. One that failed stays said wherever"
                " its load case is shown, until one of a changed drawing stands the same test."
            )
        )
        for field in (self.outcome, self.case, self.zone):
            field.edited.connect(self._show_fields)
        self._show_fields()
        bar = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)
        self.setMinimumWidth(form.minimumSizeHint().width() + bar + 24)  # the bar covers no field
        self.resize(620, 680)

    def _show_fields(self) -> None:
        """Show what belongs to the case and the outcome."""
        form, blow = self._forms[0], self.case.read() in IMPACTS
        failed = self.outcome.read() is Outcome.FAILED
        form.show_field(self.zone, failed)
        words = self._without_factor() if failed else ""
        self.closes.setText(words)
        form.rows.setRowVisible(self.closes, bool(words))
        for field in (self.load, self.cycles):
            form.show_field(field, not blow)
        form.show_field(self.striker, blow)
        form.show_field(self.drop, blow)
        form.show_field(self.tyre, blow)
        form.show_field(self.struck, self.case.read() == IMPACTS[0])

    def _without_factor(self) -> str:
        """Return what a failed test leaves not known, since it gives no factor; empty where it may."""
        if not self.case.read():
            return tr("Without its load case it speaks of every test: no zone reads 'under'.")
        if self.case.read() in IMPACTS:
            return tr("A blow gives no factor: its load case says that a sample failed.")
        if not self.zone.read():
            return tr(
                "Where the zone is not known there is no factor: no zone of its load case reads 'under'."
            )
        return ""

    def _changed(self) -> str:
        """Return whether the drawing that was recorded is still the wheel's."""
        wheel = next((w for w in self.project.wheels if w.name == self.given.wheel), None)
        if self.given.drawing in ("", ANOTHER) or wheel is None:
            return ""
        return differs(self.project, wheel, self.given) or tr("the drawing recorded is that of today")

    def _drawing(self) -> tuple[str, str]:
        """Return the digests of the drawings that the sample was made to.

        Raises:
            FieldError: those of a wheel that is not drawn here.
        """
        if self.drawing.read() == ANOTHER:
            return ANOTHER, ANOTHER
        if self.drawing.read() != NOW:
            kept = self.drawing.read() == KEPT
            return (self.given.drawing, self.given.forging) if kept else ("", "")
        name = self.wheel.read()
        if name is None:
            raise FieldError(tr("The wheel is not drawn here: its drawing is not known."))
        wheel = edits.find(self.project, edits.WHEEL, name)
        return drawing_of(self.project, wheel), forging_of(self.project, wheel)

    def made(self) -> tuple[Project, str]:
        """Return the project with the record.

        Raises:
            ValueError: the name is taken.
        """
        failed = self.outcome.read() is Outcome.FAILED
        blow = self.case.read() in IMPACTS
        drawing, forging = self._drawing()
        record = TestRecord(
            self.name.read(),
            self.wheel.read(),
            self.family.read(),
            self.case.read(),
            None if blow else self.load.read(),
            None if blow else self.cycles.read(),
            self.outcome.read(),
            self.zone.read() if failed else "",
            self.laboratory.read(),
            self.on.read(),
            drawing,
            forging,
            self.striker.read() if blow else None,
            self.drop.read() if blow else None,
            self.tyre.read() if blow else "",
            self.struck.read() if self.case.read() == IMPACTS[0] else Struck.NOT_SAID,
            self.given.notes,
        )
        if self.old is None:
            return edits.add(self.project, edits.TEST_RECORD, record), tr("New test {name}", name=record.name)
        changed = edits.replaced(self.project, edits.TEST_RECORD, self.old, record)
        return changed, tr("Test {name}", name=record.name)


def _new(project: Project, wheel: str | None) -> TestRecord:
    return TestRecord(edits.free_name(project, edits.TEST_RECORD, "Test"), wheel)
