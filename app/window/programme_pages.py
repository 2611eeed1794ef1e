"""Pages of the die programme's window: the plan, the coverage, fitments, what is not served, dies."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.project.project import Project
from app.reports.sentences import SIGNS
from app.studies.programme.inputs import Mode
from app.studies.roadmap.coverage import Coverage, CoverCell
from app.studies.roadmap.plan import RoadmapPlan
from app.views.cash_chart import CashBars
from app.views.coverage_map import UNSERVED, CoverageMap
from app.views.coverage_rows import Order, Which, map_rows
from app.views.family_picture import FamilyPicture
from app.views.plain_table import PlainTable
from app.views.programme_charts import CostCurve, WorthBars
from app.views.programme_tables import (
    Deeper,
    Table,
    dies_table,
    left_out_table,
    near_table,
    notes_table,
    serves_table,
    unserved_table,
)
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from geometry.readings.rules import State

_LEGEND = (
    f"{SIGNS[State.CLEAR]} cuttable   {SIGNS[State.TIGHT]} tight, can be cut   {SIGNS[State.SHORT]} not   "
    f"{SIGNS[State.NOT_KNOWN]} not known   {UNSERVED} nothing serves the row   ▌ serves it in the plan   "
    "┊◌ nobody has tried the blank out"
)
#: How the mode is called in which a fitment is served as it was asked for.
_IN_FULL = Mode({}).name
_NO_PLAN, _LATER = "No plan yet.", "Counted after the plan."


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
        self.uncovered = QCheckBox("&uncovered only")
        self.counts, self.chosen = QLabel(), QLabel()
        self._lay_out()
        for box in (self.order, self.which):
            box.currentIndexChanged.connect(self._show)
        self.uncovered.toggled.connect(self._show)
        self.map.cell_chosen.connect(self._tell)
        self.map.cell_wanted.connect(self.cell_wanted)

    def _lay_out(self) -> None:
        for order in Order:
            self.order.addItem(str(order), order)
        for which in Which:
            self.which.addItem(str(which), which)
        self.order.setAccessibleName("Order of the rows")
        self.which.setAccessibleName("Rows that are shown")
        self.chosen.setAccessibleName("The chosen cell")
        self.chosen.setWordWrap(True)
        self.chosen.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.chosen.setFont(figures(self.chosen.font()))
        # Two lines, so that the map does not move while cells are chosen.
        self.chosen.setMinimumHeight(2 * self.chosen.fontMetrics().lineSpacing() + 4)
        self.chosen.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        top = QHBoxLayout()
        words = QLabel("Ro&ws")
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
        self.counts.setText(f"{len(full)} of {self._full()} rows, {bare} of them uncovered")

    def _full(self) -> int:
        assert self._found is not None
        return sum(not row.compromise for row in self._found.rows)

    def _tell(self, cell: CoverCell) -> None:
        assert self.map.current is not None
        self.chosen.setText(self.map.words(*self.map.current))
        self.cell_chosen.emit(cell)


class PlanPage(QWidget):
    """Dies and what each is for, over cash by year and the cost curve."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.dies = PlainTable("Dies and holders")
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

    def show_plan(self, project: Project, found: RoadmapPlan, deeper: Deeper | None) -> None:
        """Show another plan; what is counted after it comes later."""
        show(self.dies, dies_table(project, found, deeper))
        without = "" if found.plan.is_found else "No plan, for the reason above."
        self.cash.say(without or _NO_PLAN)
        self.curve.say(without or _LATER)
        fixed = {o.name: o.fixed for o in found.asked.programme.options}
        orders = [(c.option, c.latest_order) for c in found.plan.commitments if fixed[c.option] > 0.0]
        self.cash.show_plan(found.plan, orders, project.currency)
        curve = deeper.curve if deeper is not None else ()
        self.curve.show_curve(curve, found.plan, project.currency)

    def clear(self) -> None:
        """Show nothing."""
        self.dies.show_rows((), ())
        self.cash.show_plan(None, (), "")
        self.curve.show_curve((), None, "")


class DiesPage(QWidget):
    """The family of blanks, beside what is lost without each."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.family, self.worths = FamilyPicture(theme), WorthBars(theme)
        both = QSplitter(Qt.Orientation.Horizontal)
        both.addWidget(self.family)
        both.addWidget(self.worths)
        both.setSizes([680, 400])
        both.setStretchFactor(0, 1)
        both.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.addWidget(both)

    def show_plan(self, project: Project, found: RoadmapPlan, deeper: Deeper | None) -> None:
        """Show the blanks that a plan uses, and the worth of each where it is counted."""
        used = dict.fromkeys([*found.plan.opened, *(o.option for o in found.plan.orders)])
        self.family.show_family(project, tuple(used))
        self.worths.say(_LATER if found.plan.is_found else "No plan, for the reason above.")
        if deeper is not None:
            self.worths.say("The plan pays nothing once: no die to lose.")
        self.worths.show_worths(deeper.worths if deeper is not None else (), project.currency)

    def clear(self) -> None:
        """Show nothing."""
        self.family.clear()
        self.worths.show_worths((), "")


class TablesPage(QWidget):
    """Tables under each other, each under its title; an empty one says so in a line."""

    def __init__(self, titles: tuple[str, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tables = [PlainTable(title) for title in titles]
        self.heads = [QLabel(title) for title in titles]
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 8, 0, 0)
        for head, table in zip(self.heads, self.tables, strict=True):
            head.setVisible(len(titles) > 1)
            self.column.addWidget(head)
            self.column.addWidget(table, 1)
        self.column.addStretch(0)

    def show_tables(self, *tables: Table) -> None:
        """Show other rows."""
        for k, found in enumerate(tables):
            show(self.tables[k], found)
            none = "" if found.rows else ": none"
            self.heads[k].setText(f"{found.title}{none}")
            self.tables[k].setVisible(bool(found.rows) or len(tables) == 1)
            self.column.setStretch(2 * k + 1, max(min(len(found.rows), 12), 2))

    def clear(self) -> None:
        """Show nothing."""
        for table in self.tables:
            table.show_rows((), ())


class FitmentsPage(TablesPage):
    """What serves each fitment by year."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(("What serves each fitment",), parent)

    def show_plan(self, project: Project, found: RoadmapPlan) -> None:
        """Show another plan."""
        self.show_tables(serves_table(project, found))


class UnservedPage(TablesPage):
    """What is not served and why, what is left out, what comes near, and what was taken for granted."""

    def __init__(self, parent: QWidget | None = None) -> None:
        titles = (
            "Rows not served",
            "Blanks left out",
            "Other sets within 0.1 %",
            "Taken for what nobody said",
        )
        super().__init__(titles, parent)

    def show_plan(self, project: Project, found: RoadmapPlan) -> None:
        """Show another plan."""
        self.show_tables(
            unserved_table(project, found), left_out_table(found), near_table(found.plan), notes_table(found)
        )


def show(widget: PlainTable, table: Table) -> None:
    """Show a table in its widget."""
    widget.show_rows(table.heads, table.rows)
