"""What a blank is beside its outline: where it comes from, what it may differ by, what it costs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from app.project import edits
from app.project.project import Project
from app.studies.usable_blank import drawn_path
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import (
    NUMBER,
    ChoiceField,
    FieldError,
    NumberField,
    TextField,
    length,
)
from geometry.errors import GeometryError
from geometry.forging.starting import starting_tolerances
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import BlankState, Cause, Supply, Tolerance

_KG_PER_MM3 = 2712.6e-9
_DIRECTIONS = (
    "Minus: metal that may be missing; it is taken off what can be cut, by its own direction. Plus: metal "
    "that may be surplus; it adds mass and chips and takes nothing off."
)


class BlankDialog(ProjectDialog):
    """Edits the details of one blank; its outline is edited on the drawing."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(f"Blank: {name}", project, parent)
        self.blank = edits.find(project, edits.BLANK, name)
        self._general(self.page("Blank"))
        self._tolerances(self.page("Tolerances"))
        self._money(self.page("Price and dies"))
        self.resize(860, 560)

    def _general(self, form: Form) -> None:
        blank, kind = self.blank, length(self.project.display_unit)
        self.name = form.add("Name", TextField(blank.name, required=True))
        self.supply = form.add("Supply", ChoiceField([(str(s), s) for s in Supply], blank.supply))
        self.state = form.add("State", ChoiceField([(str(s), s) for s in BlankState], blank.state))
        self.skin = form.add(
            "Skin to come off",
            NumberField(kind, blank.skin_mm, least=0.0),
            "Depth of as-forged skin that must come off everywhere; it is taken off the stock.",
        )
        self.parting = form.add(
            "Parting line, z",
            NumberField(kind, blank.parting_mm, optional=True),
            "Where the dies meet on the outside wall, in the blank's own frame. Without it the flash may be "
            "anywhere along that wall.",
        )
        self.source = form.add("Source", TextField(blank.source, hint="whose drawing, which revision"))

    def _tolerances(self, form: Form) -> None:
        kind = length(self.project.display_unit)
        form.note(_DIRECTIONS)
        columns = (
            Column("Cause", lambda v: ChoiceField([(str(c), c) for c in Cause], v), 3),
            Column("Minus", lambda v: NumberField(kind, v, least=0.0), 2),
            Column("Plus", lambda v: NumberField(kind, v, least=0.0), 2),
            Column("Source", lambda v: TextField(v, hint="whose value"), 4),
        )
        rows = [(t.cause, t.minus_mm, t.plus_mm, t.source) for t in self.blank.tolerances]
        self.tolerances = RowsField("tolerance", columns, rows, (Cause.CLOSURE, 0.0, 0.0, ""))
        form.fields.append(self.tolerances)
        form.row(self.tolerances)
        self.start = QPushButton("&Starting values")
        self.start.setAutoDefault(False)
        self.start.setToolTip("Fill in every cause with a starting value by area and mass, with its source.")
        self.start.clicked.connect(self._fill)
        form.row(self.start)
        others = [
            ("none", None),
            *((b.name, b.name) for b in self.project.blanks if b.name != self.blank.name),
        ]
        form.head("Measured on forgings")
        self.least = form.add(
            "Least outline",
            ChoiceField[str | None](others, self.blank.measured_least),
            "A blank of this project that holds the least outline measured: it stands in place of the "
            "forging's own minus sides.",
        )
        greatest = ChoiceField[str | None](others, self.blank.measured_greatest)
        self.greatest = form.add("Greatest outline", greatest)
        pieces = NumberField(NUMBER, self.blank.measured_pieces, optional=True, least=1.0, whole=True)
        self.pieces = form.add("Forgings measured", pieces)

    def _money(self, form: Form) -> None:
        blank = self.blank
        self.price = form.add(
            "Price a piece",
            NumberField(NUMBER, blank.price, optional=True, least=0.0),
            "Of a bought blank, or of a piece from own dies without the dies.",
        )
        self.order = form.add(
            "Least order", NumberField(NUMBER, blank.least_order, optional=True, least=0.0, whole=True)
        )
        self.lead = form.add(
            "Lead time, weeks", NumberField(NUMBER, blank.lead_weeks, optional=True, least=0.0)
        )
        self.dies = form.add(
            "Price of the dies", NumberField(NUMBER, blank.die_cost, optional=True, least=0.0)
        )
        self.shared = form.add(
            "Shared by, wheels",
            NumberField(NUMBER, blank.die_shared_by, optional=True, least=1.0, whole=True),
            "The rule by which a wheel carries its share of the dies.",
        )
        words = self.project.currency or "the project's currency, which is not stated"
        form.row(QLabel(f"Money in {words}."))

    def _fill(self) -> None:
        """Put a starting value for every cause into the table."""
        try:
            path = drawn_path(self.blank)
        except GeometryError as error:
            self.say(f"The outline has a fault, so there is no area to go by: {error}")
            return
        found = starting_tolerances(path, volume_mm3(path) * _KG_PER_MM3)
        self.tolerances.put([(t.cause, t.minus_mm, t.plus_mm, t.source) for t in found])
        self.tolerances.edited.emit()

    def made(self) -> tuple[Project, str]:
        """Return the project with the blank's details changed."""
        tolerances = tuple(Tolerance(*_row(row)) for row in self.tolerances.read())
        causes = [t.cause for t in tolerances]
        twice = next((c for c in causes if causes.count(c) > 1), None)
        if twice is not None:
            raise FieldError(f"'{twice}' stands twice among the tolerances; keep one.")
        blank = replace(
            self.blank,
            name=self.name.read(),
            supply=self.supply.read(),
            state=self.state.read(),
            skin_mm=self.skin.number(),
            source=self.source.read(),
            parting_mm=self.parting.read(),
            tolerances=tolerances,
            measured_least=self.least.read(),
            measured_greatest=self.greatest.read(),
            measured_pieces=_whole(self.pieces),
            price=self.price.read(),
            least_order=_whole(self.order),
            lead_weeks=self.lead.read(),
            die_cost=self.dies.read(),
            die_shared_by=_whole(self.shared),
        )
        return edits.replaced(self.project, edits.BLANK, self.blank.name, blank), f"Blank {blank.name}"


def _row(row: list[Any]) -> tuple[Cause, float, float, str]:
    cause, minus, plus, source = row
    return cause, float(minus), float(plus), source


def _whole(field: NumberField) -> int | None:
    value = field.read()
    return None if value is None else int(value)
