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

from app.language import tr
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
_NEW = tr("an empty form")
_WAYS = {
    "covered": SIGNS[State.CLEAR],
    "by compromise": SIGNS[State.TIGHT],
    "nearly": SIGNS[State.TIGHT],
    "not": SIGNS[State.SHORT],
    "not known": SIGNS[State.NOT_KNOWN],
}
_HINT = tr(
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
    low: NumberField  # of the fields, which are made anew for each fitment

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._project = Project("")
        self._made_for: Project | None = None  # the fields
        self.base = Fitment("")
        self._is_let = False
        self.start, self.form = QComboBox(), Form()
        self.more, self.run = QPushButton(tr("All &fields...")), QPushButton(tr("As&k"))
        self.add, self.message = QPushButton(tr("Add to the &roadmap")), quiet_label()
        self.answer, self.effect = QLabel(), QLabel()
        self.cells, self.earlier = SheetTable(tr("The enquiry in each blank")), SheetTable(tr("Enquiries"))
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
        # The project is the plan's; fields that stand may be in another unit by now.
        mm = length(self._project.display_unit) if self._made_for is not self._project else self.low.kind
        self._made_for, form = self._project, Form()
        f = self.base
        self.name = form.add(tr("Name"), TextField(f.name, required=True))
        self.diameter = form.add(tr("Diameter"), _open(CODE, f.diameter_code, above=0.0))
        self.width_code = form.add(tr("Width"), _open(CODE, f.width_code, above=0.0))
        self.low = form.add(tr("Inset from"), _open(mm, f.inset_low_mm))
        self.high = form.add(tr("Inset to"), _open(mm, f.inset_high_mm))
        self.load = form.add(tr("Wheel load"), _open(MASS, f.load_kg, above=0.0))
        self.shape = form.add(tr("Brake shape"), self._part(edits.SHAPE, f.shape))
        self.rules = form.add(tr("Rule set"), self._part(edits.RULE_SET, f.rules))
        self.wheel = form.add(tr("Drawn wheel"), self._part(edits.WHEEL, f.wheel))
        must = ChoiceField([*YES_NO_OPEN[:2], (tr("no, it is wanted"), False)], f.must)
        self.must = form.add(tr("Must be served"), must)
        self.first = form.add(
            tr("First year"), _open(NUMBER, f.first_year, least=1900, most=2200, whole=True)
        )
        self.last = form.add(tr("Last year"), _open(NUMBER, f.last_year, least=1900, most=2200, whole=True))
        self.wheels = form.add(tr("Wheels a year"), _open(NUMBER, f.volume_likely, least=0.0, whole=True))
        self.contribution = form.add(
            tr("Contribution a wheel"),
            _open(NUMBER, f.contribution),
            tr("Price less everything but blank and machining, in the project's currency."),
        )
        for field in form.fields:
            field.editor.setMinimumWidth(130)
        self.form = form

    def _part(self, kind: Kind[Any], value: str | None) -> ChoiceField[str | None]:
        names = kind.names(self._project)
        return ChoiceField([(tr("not known"), None), *((n, n) for n in names)], value)

    def _lay_out(self) -> None:
        self.start.setAccessibleName(tr("Start from"))
        self.area = QScrollArea()
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setWidget(self.form)
        for label, size in ((self.answer, 1.15), (self.effect, 1.0)):
            label.setWordWrap(True)
            label.setFont(figures(label.font(), size))
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.answer.setAccessibleName(tr("The answer to the enquiry"))
        self.effect.setAccessibleName(tr("What the enquiry does to the plan"))
        left, right, parts = QWidget(), QWidget(), QSplitter(Qt.Orientation.Horizontal)
        top, buttons = QHBoxLayout(), QHBoxLayout()
        words = QLabel(tr("Start fro&m"))
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
        found.addWidget(QLabel(tr("Asked so far")))
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
            self.message.setText(tr("A field cannot be read."))
            return None
        low, high = self.low.read(), self.high.read()
        first, last = _whole(self.first), _whole(self.last)
        for what, one, other in ((tr("Inset"), low, high), (tr("Years"), first, last)):
            if one is not None and other is not None and one > other:
                self.message.setText(
                    tr(
                        "{what}: {value_one:g}, {other:g} runs backwards; the smaller comes first.",
                        what=what,
                        value_one=one,
                        other=other,
                    )
                )
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
        dialog.setWindowTitle(tr("Enquiry: {name}", name=fitment.name))
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
        self.add.setText(tr("Change the &row of the roadmap") if there else tr("Add to the &roadmap"))
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
                self.start.addItem(tr("another like {name}", name=fitment.name), (fitment.name, False))
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
        said += tr(", from {blanks}", blanks=", ".join(of.blanks))
    takes = "" if of.row.is_covered else tr("\nIt would take: {takes_words}.", takes_words=takes_words(of))
    return tr(
        "{said}.\nDecides: {rstrip}.{takes}", said=said, rstrip=decides_words(of).rstrip("."), takes=takes
    )


def effect_words(of: Enquiry, question: Question, currency: str) -> str:
    """Return what an enquiry does to the plan, in tools and money."""
    by = of.served_as if of.served_as == IN_FULL else tr("by compromise, {served_as}", served_as=of.served_as)
    served = (
        tr("The plan with it serves it {by}", by=by) if of.is_served else tr("The plan with it leaves it")
    )
    if not of.after.is_found:
        return tr("With it {chosen_words}.", chosen_words=chosen_words(of.after))
    if not of.before.is_found:
        return tr("{served}. Without it there is no plan to compare with.", served=served)
    new = sorted(set(of.after.opened) - set(of.before.opened))
    gone = sorted(set(of.before.opened) - set(of.after.opened))
    tools = [tr("{new} comes in", new=", ".join(new))] * bool(new) + [
        tr("{gone} goes out", gone=", ".join(gone))
    ] * bool(gone)
    dies = "; ".join(tools) or tr(
        "dies stay as they are ({opened})", opened=", ".join(of.before.opened) or NO_TOOLS
    )
    change = of.change or 0.0
    if question is Question.BEST_COVER:
        return tr(
            "{served}; {dies}. Plans of different cover do not compare in money.", served=served, dies=dies
        )
    return tr(
        "{served}; {dies}; {worse_words} with it, at present value.",
        served=served,
        dies=dies,
        worse_words=worse_words(question, change, currency),
    )


def cells_sheet(of: Enquiry) -> Sheet:
    """Return an enquiry in each blank, in full and by its compromise."""
    heads = (
        Head("blank", tr("Blank")),
        Head("served_as", tr("Served")),
        Head("state", tr("Cuttable")),
        Head("spare_mm", tr("Spare, mm"), ".2f"),
        Head("decides", tr("Decides")),
        Head("at_inset_mm", tr("At inset, mm"), ".1f"),
        Head("chips_kg", tr("Chips, kg"), ".1f"),
    )
    rows = [r for r in (of.row, of.compromise) if r is not None]
    found = [c for row in rows for c in row.cells]
    found.sort(key=lambda c: (not c.is_covered, -(c.spare_mm if c.spare_mm is not None else -math.inf)))
    cells = tuple(
        (
            c.blank,
            (of.compromise_words or tr("by compromise")) if c.compromise else tr("in full"),
            f"{SIGNS[c.state]} {c.word}",
            c.spare_mm,
            c.what,
            c.inset_mm,
            c.chips_kg,
        )
        for c in found
    )
    return Sheet("cells", tr("The enquiry in each blank"), heads, cells)


def _open(kind: Any, value: float | None, **limits: Any) -> NumberField:
    return NumberField(kind, value, optional=True, **limits)


def _whole(field: NumberField) -> int | None:
    value = field.read()
    return None if value is None else int(value)
