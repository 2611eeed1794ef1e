"""The regret table as a picture: scenarios down, sets of tools across; sign and words before the colour."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QBrush, QColor
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.language import parted, spoken, tr
from app.studies.roadmap.plan_words import amount, at_worst_words, tools_words, worse_words
from app.studies.roadmap.risk import Outcome, Regrets
from app.studies.roadmap.risk_tables import by_words, greatest_cell, set_name
from app.views.readings_text import minus
from app.views.theme import Theme, figures

BEST, WORSE, LEAVES, NO_PLAN = "●", "▲", "✕", "?"
LEGEND = tr(
    "{best} the best there is in that scenario   {worse} worse than it by so much, "
    "deeper ground for more   {leaves} leaves must rows, no money makes up for "
    "them   {no_plan} no plan   A is least bad",
    best=BEST,
    worse=WORSE,
    leaves=LEAVES,
    no_plan=NO_PLAN,
)
#: Opacity of the ground of the greatest regret, of 255; ink stays readable on it.
_DEEPEST, _PALEST = 120, 18
_WIDEST = 210


class RegretMap(QTableWidget):
    """Draws a regret table, the least bad set first.

    Signals:
        told(words): all there is to say of the chosen cell.
    """

    told = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.regrets: Regrets | None = None
        self._currency = ""
        self.setFont(figures(self.font()))
        self.setAccessibleName(tr("Regret: scenarios by sets of tools"))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setTabKeyNavigation(False)
        self.verticalHeader().setDefaultSectionSize(26)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )
        self.currentCellChanged.connect(lambda *_: self._tell())
        theme.changed.connect(self._colour)

    def show_regrets(self, regrets: Regrets | None, currency: str) -> None:
        """Show another table, or none."""
        self.regrets, self._currency = regrets, currency
        self.clear()
        if regrets is None:
            self.setRowCount(0)
            self.setColumnCount(0)
            return
        self.setRowCount(len(regrets.scenarios) + 1)
        self.setColumnCount(len(regrets.candidates))
        self.setVerticalHeaderLabels([*(spoken(s.name) for s in regrets.scenarios), tr("greatest")])
        heads = [
            f"{spoken(set_name(k))}\n{spoken(c.candidate.words)}" for k, c in enumerate(regrets.candidates)
        ]
        self.setHorizontalHeaderLabels(heads)
        for k, of in enumerate(regrets.candidates):
            head = self.horizontalHeaderItem(k)
            if head is not None:
                head.setToolTip(f"{spoken(of.candidate.words)}; {spoken(by_words(of))}")
            for row, outcome in enumerate(of.outcomes):
                self.setItem(row, k, QTableWidgetItem(cell_words(outcome)))
            last = greatest_cell(of)
            sign = LEAVES if isinstance(last, str) and any(o.unserved for o in of.outcomes) else NO_PLAN
            words = f"{sign} {spoken(last)}" if isinstance(last, str) else _regret_words(float(last or 0.0))
            self.setItem(len(of.outcomes), k, QTableWidgetItem(words))
        self._colour()
        self.resizeColumnsToContents()
        for k in range(self.columnCount()):
            self.setColumnWidth(k, min(self.columnWidth(k) + 12, _WIDEST))
        self.setCurrentCell(0, 0)

    def words(self, row: int, column: int) -> str:
        """Return all there is to say of a cell."""
        regrets = self.regrets
        if regrets is None or not 0 <= column < len(regrets.candidates) or row < 0:
            return ""
        of = regrets.candidates[column]
        tools = f"{spoken(set_name(column))}: {spoken(of.candidate.words)}"
        if row >= len(regrets.scenarios):
            return minus(f"{tools}; {spoken(at_worst_words(of, self._currency))} ({spoken(by_words(of))}).")
        scenario, best, outcome = regrets.scenarios[row], regrets.best[row], of.outcomes[row]
        sure = "" if outcome.is_proven else tr(" Not proven: time ended first.")
        return minus(
            tr(
                "{name}. {says} {fixed_words} {tools}: {against}. Best there: {tools_words}.{sure}",
                name=scenario.name,
                says=scenario.says,
                fixed_words=scenario.fixed_words,
                tools=tools,
                against=self._against(outcome),
                tools_words=tools_words(best),
                sure=sure,
            )
        )

    def _against(self, outcome: Outcome) -> str:
        assert self.regrets is not None
        if outcome.unserved:
            return tr(
                "{leaves} leaves the must rows {unserved}, which the best plan serves",
                leaves=LEAVES,
                unserved=", ".join(outcome.unserved),
            )
        if outcome.regret is None:
            return tr("{no_plan} no plan with it", no_plan=NO_PLAN)
        if outcome.regret == 0.0:
            return tr("{best} as good as the best plan", best=BEST)
        by = worse_words(self.regrets.question, outcome.regret, self._currency)
        return tr("{worse} {by} than the best plan", worse=WORSE, by=by)

    def _tell(self) -> None:
        self.told.emit(self.words(self.currentRow(), self.currentColumn()))

    def _colour(self) -> None:
        if self.regrets is None:
            return
        known = [o.regret for c in self.regrets.candidates for o in c.outcomes if o.regret is not None]
        largest = max([*known, 1.0])
        for k, of in enumerate(self.regrets.candidates):
            found = [(o.regret, bool(o.unserved)) for o in of.outcomes]
            found.append((of.greatest, any(o.unserved for o in of.outcomes)))
            for row, (regret, leaves) in enumerate(found):
                item = self.item(row, k)
                if item is not None:
                    item.setBackground(QBrush(self._ground(regret, leaves, largest)))
                    item.setForeground(self._theme.colour("ink"))

    def _ground(self, regret: float | None, leaves: bool, largest: float) -> QColor:
        if leaves:
            ground = QColor(self._theme.colour("short"))
            ground.setAlpha(_DEEPEST)
        elif regret is None:
            ground = QColor(self._theme.colour("not_known"))
            ground.setAlpha(_PALEST * 2)
        elif regret == 0.0:
            ground = QColor(self._theme.colour("clear"))
            ground.setAlpha(_PALEST * 2)
        else:
            ground = QColor(self._theme.colour("tight"))
            ground.setAlpha(_PALEST + round((_DEEPEST - _PALEST) * regret / largest))
        return ground


def cell_words(outcome: Outcome) -> str:
    """Return sign and words of a cell."""
    if outcome.unserved:
        return tr("{leaves} leaves {unserved}", leaves=LEAVES, unserved=", ".join(outcome.unserved))
    if outcome.regret is None:
        return tr("{no_plan} no plan", no_plan=NO_PLAN)
    return _regret_words(outcome.regret)


def _regret_words(regret: float) -> str:
    return (
        tr("{best} best", best=BEST)
        if regret == 0.0
        else tr("{worse} {regret} worse", worse=WORSE, regret=parted(amount(regret)))
    )
