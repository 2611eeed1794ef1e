"""Pages of the die programme's window: the plan, the coverage, fitments, what is not served, dies."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.reports.sentences import SIGNS
from app.studies.programme.inputs import Mode
from app.studies.roadmap.coverage import Coverage, CoverCell
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan import RoadmapPlan
from app.studies.roadmap.sheet import Sheet
from app.views.cash_chart import CashBars
from app.views.coverage_map import UNSERVED, CoverageMap
from app.views.coverage_rows import Order, Which, map_rows
from app.views.family_picture import FamilyPicture
from app.views.programme_charts import CostCurve, WorthBars
from app.views.programme_sheet import SheetTable
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from geometry.readings.rules import State

_LEGEND = tr(
    "{sign} cuttable   {signs_2} tight, can be cut   {signs_3} not   {signs_4} "
    "not known   {unserved} nothing serves the row   ▌ serves it in the plan   ┊◌ "
    "nobody has tried the blank out",
    sign=SIGNS[State.CLEAR],
    signs_2=SIGNS[State.TIGHT],
    signs_3=SIGNS[State.SHORT],
    signs_4=SIGNS[State.NOT_KNOWN],
    unserved=UNSERVED,
)
#: How the mode is called in which a fitment is served as it was asked for.
_IN_FULL = Mode({}).name
_NO_PLAN, _LATER = tr("No plan yet."), tr("Counted after the plan.")
_WHY_NONE = tr("No plan, for the reason above.")
#: The tables of a programme by their names.
Sheets = dict[str, Sheet]
#: Columns of the worth of dies that are said elsewhere.
_ELSEWHERE = ("latest_order", "from_wheels", "from_contribution", "pays")


class CoveragePage(QWidget):
    """The map with its order, its filters, and a line that says all of the chosen cell."""

    cell_chosen = Signal(object)
    cell_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._project: Project | None = None
        self._found: Coverage | None = None
        self._serves: frozenset[tuple[str, bool, str]] = frozenset()
        self.map = CoverageMap(theme)
        self.order, self.which = QComboBox(), QComboBox()
        self.uncovered = QCheckBox(tr("&uncovered only"))
        self.counts, self.chosen = QLabel(), QLabel()
        self._lay_out()
        for box in (self.order, self.which):
            box.currentIndexChanged.connect(self._show)
        self.uncovered.toggled.connect(self._show)
        self.map.cell_chosen.connect(self._tell)
        self.map.cell_wanted.connect(self.cell_wanted)

    def _lay_out(self) -> None:
        for order in Order:
            self.order.addItem(spoken(order), order)
        for which in Which:
            self.which.addItem(spoken(which), which)
        self.order.setAccessibleName(tr("Order of the rows"))
        self.which.setAccessibleName(tr("Rows that are shown"))
        self.chosen.setAccessibleName(tr("The chosen cell"))
        self.chosen.setWordWrap(True)
        self.chosen.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.chosen.setFont(figures(self.chosen.font()))
        # Two lines, so that the map does not move while cells are chosen.
        self.chosen.setMinimumHeight(2 * self.chosen.fontMetrics().lineSpacing() + 4)
        self.chosen.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        top = QHBoxLayout()
        words = QLabel(tr("Ro&ws"))
        words.setBuddy(self.order)
        for widget in (words, self.order, self.which, self.uncovered):
            top.addWidget(widget)
        top.addStretch(1)
        top.addWidget(self.counts)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.addLayout(top)
        column.addWidget(self.map, 1)
        column.addWidget(quiet_label(_LEGEND))
        column.addWidget(self.chosen)

    def show_empty(self, words: str) -> None:
        """Show no map, and what to do."""
        self._project = self._found = None
        self.counts.setText("")
        self.chosen.setText("")
        self.map.show_empty(words)

    def show_coverage(self, project: Project, found: Coverage, plan: RoadmapPlan | None) -> None:
        """Show another coverage, and what the plan uses of it."""
        self._project, self._found = project, found
        served = plan.plan.served if plan is not None else ()
        self._serves = frozenset((s.row, s.mode != _IN_FULL, s.option) for s in served)
        self._show()

    def _show(self) -> None:
        if self._project is None or self._found is None:
            return
        # The box gives their words back, not themselves.
        order, which = Order(self.order.currentData()), Which(self.which.currentData())
        rows = map_rows(self._project, self._found, order, which, uncovered_only=self.uncovered.isChecked())
        self.map.show_rows(self._project, self._found.blanks, rows, self._serves)
        if self.map.cell() is None:
            self.chosen.setText("")
            self.cell_chosen.emit(None)
        full = [row for row in rows if not row.row.compromise]
        bare = sum(row.is_unserved for row in full)
        self.counts.setText(
            tr(
                "{full} of {full_2} rows, {bare} of them uncovered",
                full=len(full),
                full_2=self._full(),
                bare=bare,
            )
        )

    def _full(self) -> int:
        assert self._found is not None
        return sum(not row.compromise for row in self._found.rows)

    def _tell(self, cell: CoverCell) -> None:
        assert self.map.current is not None
        self.chosen.setText(self.map.words(*self.map.current))
        self.cell_chosen.emit(cell)


class PlanPage(QWidget):
    """Dies and what each is for, over cash by year and the cost curve.

    Signals:
        die_wanted(name): a die was double-clicked, or chosen with Enter.
    """

    die_wanted = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.dies = SheetTable(tr("Dies and tools"))
        self.cash, self.curve = CashBars(theme), CostCurve(theme)
        below, whole = QSplitter(Qt.Orientation.Horizontal), QSplitter(Qt.Orientation.Vertical)
        for k, picture in enumerate((self.cash, self.curve)):
            below.addWidget(picture)
            below.setStretchFactor(k, 2 - k)
        below.setSizes([680, 400])
        whole.addWidget(self.dies)
        whole.addWidget(below)
        whole.setSizes([190, 330])
        whole.setStretchFactor(1, 1)
        for splitter in (below, whole):
            splitter.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.addWidget(whole)
        self.dies.wanted.connect(self.die_wanted)

    def show_plan(self, project: Project, found: Dossier, tables: Sheets) -> None:
        """Show another plan; what is counted after it comes later."""
        plan = found.planned.plan
        self.dies.show_sheet(tables["dies"])
        without = "" if plan.is_found else _WHY_NONE
        self.cash.say(without or _NO_PLAN)
        self.curve.say(without or _LATER)
        fixed = {o.name: o.fixed for o in found.programme.options}
        orders = [(c.option, c.latest_order) for c in plan.commitments if fixed[c.option] > 0.0]
        self.cash.show_plan(plan, orders, project.currency)
        self.curve.show_curve(found.curve, plan, project.currency)

    def clear(self) -> None:
        """Show nothing."""
        self.dies.show_sheet(None)
        self.cash.show_plan(None, (), "")
        self.curve.show_curve((), None, "")


class DiesPage(QWidget):
    """What each die is worth, over the family of blanks and what is lost without each.

    Signals:
        die_wanted(name): a die was double-clicked, chosen with Enter, or asked for by the button.
    """

    die_wanted = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.worth = SheetTable(tr("What each die is worth"))
        self.notes = QLabel()
        self.notes.setWordWrap(True)
        self.notes.setAccessibleName(tr("What stands against the chosen die"))
        # Three lines, so that nothing moves while dies are chosen.
        self.notes.setMinimumHeight(3 * self.notes.fontMetrics().lineSpacing() + 4)
        self.notes.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.open = QPushButton(tr("Show the &blank's section"))
        self.open.setAutoDefault(False)
        self.family, self.worths = FamilyPicture(theme), WorthBars(theme)
        both, whole = QSplitter(Qt.Orientation.Horizontal), QSplitter(Qt.Orientation.Vertical)
        both.addWidget(self.family)
        both.addWidget(self.worths)
        both.setSizes([680, 400])
        both.setStretchFactor(0, 1)
        above, foot = QWidget(), QHBoxLayout()
        foot.addWidget(self.notes, 1)
        foot.addWidget(self.open, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout(above)
        column.setContentsMargins(0, 0, 0, 4)
        column.addWidget(self.worth, 1)
        column.addLayout(foot)
        whole.addWidget(above)
        whole.addWidget(both)
        whole.setSizes([220, 320])
        whole.setStretchFactor(1, 1)
        for splitter in (both, whole):
            splitter.setChildrenCollapsible(False)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 8, 0, 0)
        page.addWidget(whole)
        self.worth.wanted.connect(self.die_wanted)
        self.worth.itemSelectionChanged.connect(self._chosen)
        self.open.clicked.connect(lambda: self.die_wanted.emit(self.worth.chosen()))
        self._chosen()

    def _chosen(self) -> None:
        """Say in full what stands against the chosen die; the table's notes where none is chosen."""
        name = self.worth.chosen()
        self.open.setEnabled(name is not None)
        sheet = self.worth.sheet
        if sheet is not None:
            said = next((f"{row[0]}: {spoken(str(row[-1]))}" for row in sheet.rows if row[0] == name), None)
            self.notes.setText(minus(said or " ".join(map(spoken, (f"{sheet.title}.", *sheet.notes)))))

    def show_plan(self, project: Project, found: Dossier, tables: Sheets) -> None:
        """Show the blanks that a plan uses, and the worth of each where it is counted."""
        plan, sheet = found.planned.plan, tables.get("worth")
        used = dict.fromkeys([*plan.opened, *(o.option for o in plan.orders)])
        self.family.show_family(project, tuple(used))
        self.worth.show_sheet(sheet)
        self._leave_out(sheet)
        later = _LATER if plan.is_found else _WHY_NONE
        if found.wanted.worth:
            later = tr("The plan has no die of its own: none to lose.")
        self.notes.setText(later)
        self.worths.say(later)
        self.worths.show_worths([m.worth for m in found.money], project.currency)
        self._chosen()

    def _leave_out(self, sheet: Sheet | None) -> None:
        """Hide what stands elsewhere: the break-even below, for the chosen die; its order beside the plan."""
        # First: the length of a head whose stretched column is hidden is not reckoned anew.
        self.worth.horizontalHeader().setStretchLastSection(False)
        for column, head in enumerate(() if sheet is None else sheet.heads):
            if head.key in _ELSEWHERE:
                self.worth.setColumnHidden(column, True)

    def clear(self) -> None:
        """Show nothing."""
        self.family.clear()
        self.worth.show_sheet(None)
        self.notes.setText("")
        self.worths.show_worths((), "")


class TablesPage(QWidget):
    """Tables under each other, each under its title; an empty one says so in a line."""

    def __init__(self, keys: tuple[str, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.keys = keys
        self.tables = [SheetTable(key) for key in keys]
        self.heads = [QLabel() for _ in keys]
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 8, 0, 0)
        for head, table in zip(self.heads, self.tables, strict=True):
            head.setVisible(len(keys) > 1)
            self.column.addWidget(head)
            self.column.addWidget(table, 1)
        self.column.addStretch(0)

    def show_plan(self, tables: Sheets) -> None:
        """Show another plan."""
        for k, key in enumerate(self.keys):
            found = tables[key]
            self.tables[k].show_sheet(found)
            title = spoken(found.title)
            self.tables[k].setAccessibleName(title)
            self.heads[k].setText(title if found.rows else tr("{title}: none", title=title))
            self.tables[k].setVisible(bool(found.rows) or len(self.keys) == 1)
            self.column.setStretch(2 * k + 1, max(min(len(found.rows), 12), 2))

    def clear(self) -> None:
        """Show nothing."""
        for table in self.tables:
            table.show_sheet(None)


def fitments_page() -> TablesPage:
    """Return the page of what serves each fitment by year."""
    return TablesPage(("served",))


def unserved_page() -> TablesPage:
    """Return the page of what is not served, of blanks, of what comes near, and of what was assumed."""
    return TablesPage(("not_served", "blanks", "near", "notes"))
