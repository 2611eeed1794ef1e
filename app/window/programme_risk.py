"""The page of what a plan risks: scenarios chosen and sized by the user, regrets, changed inputs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QCheckBox,
    QDoubleSpinBox,
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QSpinBox,
    QSplitter,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan_words import risk_sentences
from app.studies.roadmap.risk import SHARE
from app.studies.roadmap.scenarios import SHIPPED_SCENARIOS, May, ScenarioSettings
from app.views.programme_regrets import LEGEND, RegretMap
from app.views.programme_sheet import SheetTable
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.programme_pages import Sheets
from geometry.shape.blank import Supply

_NOT_COUNTED = tr(
    "Not counted yet. Choose above what may come and by how much, then press Count the risk: it shows how "
    "much worse each set of tools would be than the best one, whatever comes. A larger brake takes longest."
)
_OTHERWISE = tr("Sizes or scenarios have changed since: count again.")
_BELOW = (
    ("scenarios", tr("&Scenarios")),
    ("sensitivity", tr("&Inputs changed")),
    ("relaxed", tr("One r&ule relaxed")),
    ("unknowns", tr("Unkno&wn fitments")),
)
_YEARS = range(2000, 2200)


class RiskPage(QWidget):
    """Scenarios and their sizes over the regret table; what else is counted below.

    Signals:
        wanted(settings, share): count with these scenarios, inputs changed by that share of themselves.
    """

    wanted = Signal(object, float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown: tuple[ScenarioSettings, float] | None = None
        self._asked: tuple[ScenarioSettings, float] | None = None
        self.checks = {kind: QCheckBox(words) for kind, words in _CHECKS.items()}
        self.demand = _number(SHIPPED_SCENARIOS.demand, 0.0, 10.0, 0.1, tr("Demand times"), decimals=2)
        self.metal = _number(
            SHIPPED_SCENARIOS.metal * 100.0, -90.0, 500.0, 5.0, tr("Metal by, per cent"), " %"
        )
        self.metal.setPrefix("+")
        self.brake = _number(SHIPPED_SCENARIOS.brake_mm, 0.1, 50.0, 1.0, tr("A brake grows by, mm"), " mm", 1)
        self.inputs = _number(SHARE * 100.0, 1.0, 90.0, 5.0, tr("Inputs changed by, per cent"), " %")
        self.inputs.setPrefix("±")
        self.late = QSpinBox()
        self.late.setRange(1, 10)
        self.late.setValue(SHIPPED_SCENARIOS.late_years)
        self.late.setAccessibleName(tr("A die late by, years"))
        self.known = QSpinBox()
        self.known.setRange(_YEARS.start - 1, _YEARS.stop)
        self.known.setSpecialValueText(tr("nobody has said"))
        self.known.setAccessibleName(tr("What comes is known from, year"))
        self.known.setToolTip(
            tr(
                "Tools ordered after that year begins may still change; where nobody has said, all of a "
                "set is "
                "ordered before."
            )
        )
        self.follow, self.menu = QPushButton(), QMenu(self)
        self.run = QPushButton(tr("Coun&t the risk"))
        self.note, self.chosen, self.answer = quiet_label(_NOT_COUNTED), QLabel(), QLabel()
        self.regrets = RegretMap(theme)
        self.legend = quiet_label(LEGEND)
        self.below = QTabWidget()
        self.tables = {key: SheetTable(words.replace("&", "")) for key, words in _BELOW}
        self._lay_out()
        self._connect()
        self._sizes()

    def _lay_out(self) -> None:
        self.follow.setAutoDefault(False)
        self.follow.setMenu(self.menu)
        self.follow.setAccessibleName(tr("Bought blanks whose price follows metal"))
        self.follow.setToolTip(tr("Who carries metal is agreed with each supplier."))
        self.run.setAutoDefault(False)
        for label in (self.answer, self.chosen):
            label.setWordWrap(True)
            label.setFont(figures(label.font()))
        self.chosen.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.chosen.setAccessibleName(tr("The chosen cell"))
        # Two lines, so that the table does not move while cells are chosen.
        self.chosen.setMinimumHeight(2 * self.chosen.fontMetrics().lineSpacing() + 4)
        self.chosen.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        first = (self.checks[May.DEMAND], self.demand, self.checks[May.VOLUMES])
        metal = (self.checks[May.METAL], self.metal, self.follow)
        late = (self.checks[May.SUPPLIER], self.checks[May.LATE], self.late)
        brake = (self.checks[May.BRAKE], self.brake, QLabel(tr("known from")), self.known)
        changed = (QLabel(tr("inputs")), self.inputs)
        upper, lower = QHBoxLayout(), QHBoxLayout()
        for row, groups in ((upper, (first, metal, changed)), (lower, (late, brake))):
            for group in groups:
                for widget in group:
                    row.addWidget(widget)
                row.addSpacing(14)
            row.addStretch(1)
        lower.addWidget(self.run)
        for key, words in _BELOW:
            self.below.addTab(self.tables[key], words)
        self.below.setDocumentMode(True)
        above, self.parts = QWidget(), QSplitter(Qt.Orientation.Vertical)
        parts = self.parts
        column = QVBoxLayout(above)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.regrets, 1)
        column.addWidget(self.legend)
        column.addWidget(self.chosen)
        parts.addWidget(above)
        parts.addWidget(self.below)
        parts.setSizes([330, 150])
        parts.setStretchFactor(0, 1)
        parts.setChildrenCollapsible(False)
        page = QVBoxLayout(self)
        page.setContentsMargins(0, 8, 0, 0)
        page.addLayout(upper)
        page.addLayout(lower)
        page.addWidget(self.note)
        page.addWidget(self.answer)
        page.addWidget(parts, 1)
        # Until there is a table, its place is empty.
        page.addStretch(0)
        parts.hide()

    def _connect(self) -> None:
        self.run.clicked.connect(self._ask)
        self.regrets.told.connect(self.chosen.setText)
        for check in self.checks.values():
            check.setChecked(True)
            check.toggled.connect(self._sizes)
        for box in (self.demand, self.metal, self.brake, self.inputs, self.late, self.known):
            box.valueChanged.connect(self._sizes)
        self._offer(())

    def _offer(self, bought: tuple[str, ...]) -> None:
        """Offer the bought blanks whose price may follow metal; what is chosen stays where it is there."""
        kept = {a.text() for a in self.menu.actions() if a.isChecked()}
        self.menu.clear()
        both = self._action(tr("nobody has said: both are looked at"), lambda: self._follow(None))
        none = self._action(tr("the suppliers carry it"), lambda: self._follow(()))
        self.menu.addSeparator()
        for name in bought:
            self._action(name, self._followed).setChecked(name in kept)
        if not any(a.isChecked() for a in self.menu.actions()):
            (none if none.text() in kept else both).setChecked(True)
        self._say_follow()

    def _offer_years(self, years: list[int]) -> None:
        """Let a year of the plan be named from which what comes is known; what is named stays."""
        if years and self.known.value() == self.known.minimum():
            self.known.blockSignals(True)
            self.known.setRange(years[0] - 1, max(years[-1], years[0]))
            self.known.setValue(self.known.minimum())
            self.known.blockSignals(False)

    def _action(self, words: str, then: Callable[[], Any]) -> QAction:
        action = self.menu.addAction(words)
        action.setCheckable(True)
        action.triggered.connect(lambda _on: then())
        return action

    def _blanks(self) -> list[QAction]:
        return [a for a in self.menu.actions() if not a.isSeparator()][2:]

    def _follow(self, named: tuple[str, ...] | None) -> None:
        both, none = self.menu.actions()[:2]
        both.setChecked(named is None)
        none.setChecked(named == ())
        for action in self._blanks():
            action.setChecked(False)
        self._say_follow()
        self._sizes()

    def _followed(self) -> None:
        some = any(a.isChecked() for a in self._blanks())
        both, none = self.menu.actions()[:2]
        both.setChecked(False)
        none.setChecked(not some)
        self._say_follow()
        self._sizes()

    def _say_follow(self) -> None:
        here = self._carried()
        words = tr("both looked at") if here is None else ", ".join(here) or tr("the suppliers carry it")
        self.follow.setText(tr("bought prices that follow: {words}", words=words))

    def _carried(self) -> tuple[str, ...] | None:
        if self.menu.actions()[0].isChecked():
            return None
        return tuple(a.text() for a in self._blanks() if a.isChecked())

    def _ask(self) -> None:
        self._asked = self.settings(), self.share()
        self.wanted.emit(*self._asked)

    def settings(self) -> ScenarioSettings:
        """Return what is chosen."""
        return ScenarioSettings(
            demand=self.demand.value(),
            metal=self.metal.value() / 100.0,
            metal_carried_here=self._carried(),
            brake_mm=self.brake.value(),
            late_years=self.late.value(),
            known_from=self.known.value() if self.known.value() > self.known.minimum() else None,
            kinds=frozenset(kind for kind, check in self.checks.items() if check.isChecked()),
        )

    def share(self) -> float:
        """Return by which share of itself each input is changed."""
        return self.inputs.value() / 100.0

    def _sizes(self) -> None:
        """Let sizes be typed for what is chosen, and say where they are not those of the table."""
        for kind, boxes in {
            May.DEMAND: (self.demand,),
            May.METAL: (self.metal, self.follow),
            May.LATE: (self.late,),
            May.BRAKE: (self.brake,),
        }.items():
            for box in boxes:
                box.setEnabled(self.checks[kind].isChecked())
        self.metal.setPrefix("+" if self.metal.value() > 0.0 else "")
        self.late.setSuffix(tr(" year") if self.late.value() == 1 else tr(" years"))
        if self._shown is not None:
            other = (self.settings(), self.share()) != self._shown
            self.note.setText(_OTHERWISE if other else "")
            self.note.setVisible(other)

    # Showing

    def let(self, on: bool) -> None:
        """Let risk be counted, or not: there is no plan, or it is not the project's any more."""
        self.run.setEnabled(on)

    def show_plan(self, project: Project, found: Dossier, tables: Sheets) -> None:
        """Show what was counted of a plan; that nothing was where it was not."""
        cover = found.planned.coverage.blanks
        self._offer(tuple(b.name for b in project.blanks if b.supply is Supply.BOUGHT and b.name in cover))
        self._offer_years([y.year for y in found.planned.plan.years])
        is_there = found.regrets is not None
        if found.regrets is not self.regrets.regrets:
            self._shown = self._asked if is_there else None
        self.note.setText("" if is_there else _NOT_COUNTED)
        self.note.setVisible(not is_there)
        self.parts.setVisible(is_there)
        said = " ".join(map(spoken, risk_sentences(found, project.currency))) if is_there else ""
        self.answer.setText(minus(said))
        self.answer.setVisible(bool(said))
        self.regrets.show_regrets(found.regrets, project.currency)
        for key, table in self.tables.items():
            table.show_sheet(tables.get(key))
        self._sizes()

    def clear(self) -> None:
        """Show nothing."""
        self._shown = None
        self.regrets.show_regrets(None, "")
        for table in self.tables.values():
            table.show_sheet(None)
        self.note.setText(_NOT_COUNTED)
        self.note.show()
        self.parts.hide()
        self.answer.hide()


_CHECKS = {
    May.DEMAND: tr("&demand times"),
    May.VOLUMES: tr("low and high &volumes"),
    May.METAL: tr("&metal"),
    May.SUPPLIER: tr("a supp&lier stops"),
    May.LATE: tr("a die lat&e by"),
    May.BRAKE: tr("a bra&ke grows"),
}


def _number(
    value: float, least: float, most: float, step: float, name: str, unit: str = "", decimals: int = 0
) -> QDoubleSpinBox:
    box = QDoubleSpinBox()
    box.setDecimals(decimals)
    box.setRange(least, most)
    box.setSingleStep(step)
    box.setSuffix(unit)
    box.setValue(value)
    box.setAccessibleName(name)
    return box
