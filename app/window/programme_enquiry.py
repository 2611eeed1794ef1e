"""The page of an enquiry: a fitment typed or taken from the roadmap, held against blanks and plan."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.project import edits
from app.project.edits import Kind
from app.project.project import Fitment, Project
from app.reports.sentences import SIGNS
from app.studies.programme.inputs import Mode, Question
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.enquiry import Enquiry
from app.studies.roadmap.plan_words import NO_TOOLS, chosen_words, worse_words
from app.studies.roadmap.risk_tables import decides_words, takes_words
from app.studies.roadmap.sheet import Head, Sheet
from app.views.programme_sheet import SheetTable
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.window.dialogs.fitment import FitmentDialog
from app.window.dialogs.form import Form, quiet_label
from app.window.dialogs.typed_fields import (
    CODE,
    MASS,
    NUMBER,
    YES_NO_OPEN,
    ChoiceField,
    NumberField,
    TextField,
    length,
)
from app.window.programme_pages import Sheets
from geometry.readings.rules import State

#: How the mode is called in which a fitment is served as it was asked for.
IN_FULL = Mode({}).name
_NEW = "an empty form"
_WAYS = {
    "covered": SIGNS[State.CLEAR],
    "by compromise": SIGNS[State.TIGHT],
    "nearly": SIGNS[State.TIGHT],
    "not": SIGNS[State.SHORT],
    "not known": SIGNS[State.NOT_KNOWN],
}
_HINT = (
    "Type a fitment, or start from a row of the roadmap, and ask. What is left empty is not known, and may "
    "leave the answer not known."
)
#: A row that the plan leaves: `how` in the table of what is not served.
_HOW, _NAME = 2, 0


class EnquiryPage(QWidget):
    """A small form beside the answer.

    Signals:
        asked(fitment): look at this fitment as if it came in today.
        made(fitment): add it to the roadmap, or put it in the place of the row of its name.
    """

    asked = Signal(object)
    made = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._project = Project("")
        self.base = Fitment("")
        self._is_let = False
        self.start, self.form = QComboBox(), Form()
        self.more, self.run = QPushButton("All &fields..."), QPushButton("As&k")
        self.add, self.message = QPushButton("Add to the &roadmap"), quiet_label()
        self.answer, self.effect = QLabel(), QLabel()
        self.cells, self.earlier = SheetTable("The enquiry in each blank"), SheetTable("Enquiries")
        self._fields()
        self._lay_out()
        self.start.activated.connect(self._start_from)
        self.more.clicked.connect(self._edit_all)
        self.run.clicked.connect(self._ask)
        self.add.clicked.connect(self._add)
        for button in (self.more, self.run, self.add):
            button.setAutoDefault(False)
        self.let(False)

    def _fields(self) -> None:
        """Make the fields anew, in the project's unit and with its parts."""
        form, mm = Form(), length(self._project.display_unit)
        f = self.base
        self.name = form.add("Name", TextField(f.name, required=True))
        self.diameter = form.add("Diameter", _open(CODE, f.diameter_code, above=0.0))
        self.width_code = form.add("Width", _open(CODE, f.width_code, above=0.0))
        self.low = form.add("Inset from", _open(mm, f.inset_low_mm))
        self.high = form.add("Inset to", _open(mm, f.inset_high_mm))
        self.load = form.add("Wheel load", _open(MASS, f.load_kg, above=0.0))
        self.shape = form.add("Brake shape", self._part(edits.SHAPE, f.shape))
        self.rules = form.add("Rule set", self._part(edits.RULE_SET, f.rules))
        self.wheel = form.add("Drawn wheel", self._part(edits.WHEEL, f.wheel))
        must = ChoiceField([*YES_NO_OPEN[:2], ("no, it is wanted", False)], f.must)
        self.must = form.add("Must be served", must)
        self.first = form.add("First year", _open(NUMBER, f.first_year, least=1900, most=2200, whole=True))
        self.last = form.add("Last year", _open(NUMBER, f.last_year, least=1900, most=2200, whole=True))
        self.wheels = form.add("Wheels a year", _open(NUMBER, f.volume_likely, least=0.0, whole=True))
        self.contribution = form.add(
            "Contribution a wheel",
            _open(NUMBER, f.contribution),
            "Price less everything but blank and machining, in the project's currency.",
        )
        for field in form.fields:
            field.editor.setMinimumWidth(130)
        self.form = form

    def _part(self, kind: Kind[Any], value: str | None) -> ChoiceField[str | None]:
        names = kind.names(self._project)
        return ChoiceField([("not known", None), *((n, n) for n in names)], value)

    def _lay_out(self) -> None:
        self.start.setAccessibleName("Start from")
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setWidget(self.form)
        for label, size in ((self.answer, 1.15), (self.effect, 1.0)):
            label.setWordWrap(True)
            label.setFont(figures(label.font(), size))
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.answer.setAccessibleName("The answer to the enquiry")
        self.effect.setAccessibleName("What the enquiry does to the plan")
        left, right, parts = QWidget(), QWidget(), QSplitter(Qt.Orientation.Horizontal)
        top, buttons = QHBoxLayout(), QHBoxLayout()
        words = QLabel("Start fro&m")
        words.setBuddy(self.start)
        top.addWidget(words)
        top.addWidget(self.start, 1)
        for button in (self.more, self.run):
            buttons.addWidget(button)
        form, found = QVBoxLayout(left), QVBoxLayout(right)
        for layout in (form, found):
            layout.setContentsMargins(0, 0, 0, 0)
        form.addLayout(top)
        form.addWidget(self.area, 1)
        form.addWidget(self.message)
        form.addLayout(buttons)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self.add)
        found.addWidget(self.answer)
        found.addWidget(self.effect)
        found.addWidget(self.cells, 2)
        found.addWidget(QLabel("Asked so far"))
        found.addWidget(self.earlier, 1)
        found.addLayout(foot)
        parts.addWidget(left)
        parts.addWidget(right)
        parts.setSizes([380, 780])
        parts.setStretchFactor(1, 1)
        parts.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.addWidget(parts)

    # The form

    def _start_from(self, index: int) -> None:
        """Fill the form from a row: itself where the plan leaves it, else under a new name."""
        name, is_itself = self.start.itemData(index) or (None, False)
        free = edits.free_name(self._project, edits.FITMENT, "Enquiry")
        base = Fitment(free)
        if name is not None:
            base = edits.find(self._project, edits.FITMENT, name)
            base = base if is_itself else replace(base, name=free)
        self.put(base)

    def put(self, base: Fitment) -> None:
        """Show a fitment in the form."""
        self.base = base
        self._fields()
        self.area.setWidget(self.form)
        self.message.setText("")
        self._may_add()

    def typed(self) -> Fitment | None:
        """Return the fitment as typed; None where a field cannot be read, which is said."""
        wrong = [field for field in self.form.fields if not field.check()]
        if wrong:
            wrong[0].editor.setFocus(Qt.FocusReason.OtherFocusReason)
            self.area.ensureWidgetVisible(wrong[0])
            self.message.setText("A field cannot be read.")
            return None
        low, high = self.low.read(), self.high.read()
        first, last = _whole(self.first), _whole(self.last)
        for what, one, other in (("Inset", low, high), ("Years", first, last)):
            if one is not None and other is not None and one > other:
                self.message.setText(f"{what}: {one:g}, {other:g} runs backwards; the smaller comes first.")
                return None
        self.message.setText("")
        return replace(
            self.base,
            name=self.name.read(),
            diameter_code=self.diameter.read(),
            width_code=self.width_code.read(),
            inset_low_mm=low,
            inset_high_mm=high,
            load_kg=self.load.read(),
            shape=self.shape.read(),
            rules=self.rules.read(),
            wheel=self.wheel.read(),
            must=self.must.read(),
            first_year=first,
            last_year=last,
            volume_likely=_whole(self.wheels),
            contribution=self.contribution.read(),
        )

    def _edit_all(self) -> None:
        """Edit every field of the fitment, its hub and compromise too; nothing of it enters the project."""
        fitment = self.typed()
        if fitment is None:
            return
        others = tuple(f for f in self._project.fitments if f.name != fitment.name)
        with_it = replace(self._project, fitments=(*others, fitment))
        dialog = FitmentDialog(with_it, fitment.name, self)
        dialog.setWindowTitle(f"Enquiry: {fitment.name}")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.applied.connect(lambda project, _text: self.put(project.fitments[-1]))
        dialog.open()

    def _ask(self) -> None:
        fitment = self.typed()
        if fitment is not None:
            self.asked.emit(fitment)

    def _add(self) -> None:
        fitment = self.typed()
        if fitment is not None:
            self.made.emit(fitment)

    # Showing

    def let(self, on: bool) -> None:
        """Let enquiries be asked and added, or not: there is no plan, or it is not the project's any more."""
        self._is_let = on
        self.run.setEnabled(on)
        self._may_add()

    def _may_add(self) -> None:
        there = any(f.name == self.base.name for f in self._project.fitments)
        self.add.setText("Change the &row of the roadmap" if there else "Add to the &roadmap")
        self.add.setEnabled(self._is_let)

    def show_plan(self, project: Project, found: Dossier, tables: Sheets) -> None:
        """Offer the rows of a plan, those that it leaves first, and show what was asked of it."""
        is_first = project is not self._project
        self._project = project
        left = {str(row[_NAME]): str(row[_HOW]) for row in tables["not_served"].rows}
        if is_first:
            self.start.clear()
            self.start.addItem(_NEW, (None, False))
            for name, how in left.items():
                self.start.addItem(f"{name}, {how}", (name, True))
            for fitment in project.fitments:
                self.start.addItem(f"another like {fitment.name}", (fitment.name, False))
            self._start_from(0)
        self.earlier.show_sheet(tables.get("enquiries"))
        last = found.enquiries[-1] if found.enquiries else None
        if last is None:
            self.answer.setText(_HINT)
            self.effect.setText("")
            self.cells.show_sheet(None)
            return
        self.answer.setText(minus(answer_words(last)))
        self.effect.setText(minus(effect_words(last, found.wanted.question, project.currency)))
        self.cells.show_sheet(cells_sheet(last))

    def clear(self) -> None:
        """Show nothing."""
        self._project = Project("")
        self.start.clear()
        self.answer.setText("")
        self.effect.setText("")
        for table in (self.cells, self.earlier):
            table.show_sheet(None)


def answer_words(of: Enquiry) -> str:
    """Return the answer: covered, by compromise, nearly, not or not known; what decides and what it takes."""
    said = f"{of.fitment}: {_WAYS[of.answer]} {of.answer}"
    if of.blanks:
        said += f", from {', '.join(of.blanks)}"
    takes = "" if of.row.is_covered else f"\nIt would take: {takes_words(of)}."
    return f"{said}.\nDecides: {decides_words(of).rstrip('.')}.{takes}"


def effect_words(of: Enquiry, question: Question, currency: str) -> str:
    """Return what an enquiry does to the plan, in tools and money."""
    by = of.served_as if of.served_as == IN_FULL else f"by compromise, {of.served_as}"
    served = f"The plan with it serves it {by}" if of.is_served else "The plan with it leaves it"
    if not of.after.is_found:
        return f"With it {chosen_words(of.after)}."
    if not of.before.is_found:
        return f"{served}. Without it there is no plan to compare with."
    new = sorted(set(of.after.opened) - set(of.before.opened))
    gone = sorted(set(of.before.opened) - set(of.after.opened))
    tools = [f"{', '.join(new)} comes in"] * bool(new) + [f"{', '.join(gone)} goes out"] * bool(gone)
    dies = "; ".join(tools) or f"dies stay as they are ({', '.join(of.before.opened) or NO_TOOLS})"
    change = of.change or 0.0
    if question is Question.BEST_COVER:
        return f"{served}; {dies}. Plans of different cover do not compare in money."
    return f"{served}; {dies}; {worse_words(question, change, currency)} with it, at present value."


def cells_sheet(of: Enquiry) -> Sheet:
    """Return an enquiry in each blank, in full and by its compromise."""
    heads = (
        Head("blank", "Blank"),
        Head("served_as", "Served"),
        Head("state", "Cuttable"),
        Head("spare_mm", "Spare, mm", ".2f"),
        Head("decides", "Decides"),
        Head("at_inset_mm", "At inset, mm", ".1f"),
        Head("chips_kg", "Chips, kg", ".1f"),
    )
    rows = [r for r in (of.row, of.compromise) if r is not None]
    found = [c for row in rows for c in row.cells]
    found.sort(key=lambda c: (not c.is_covered, -(c.spare_mm if c.spare_mm is not None else -math.inf)))
    cells = tuple(
        (
            c.blank,
            (of.compromise_words or "by compromise") if c.compromise else "in full",
            f"{SIGNS[c.state]} {c.word}",
            c.spare_mm,
            c.what,
            c.inset_mm,
            c.chips_kg,
        )
        for c in found
    )
    return Sheet("cells", "The enquiry in each blank", heads, cells)


def _open(kind: Any, value: float | None, **limits: Any) -> NumberField:
    return NumberField(kind, value, optional=True, **limits)


def _whole(field: NumberField) -> int | None:
    value = field.read()
    return None if value is None else int(value)
