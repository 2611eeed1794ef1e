"""Tables of the window of a group's blank: wheels, ladder of masses, steps of the forging, money, tools."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QTabWidget,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.reports.blank_masses import bare_mass, mass_unit, spun_ladder, turned_ladder
from app.reports.numbers import Numbers
from app.reports.press_words import capacity_words, press_load, press_stress, press_units
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.machining import WheelMachining
from app.units import LengthUnit, format_length
from app.views.blank_picture import wheel_colour
from app.views.readings_text import minus, unit_of
from app.views.theme import Theme, figures
from app.window.blank_ladder import LadderTable
from app.window.blank_spun import SpunFound
from app.window.blank_tools import BlankTools


class BlankResults(QWidget):
    """What was found, as tables: the wheels on the left, pages of all else on the right.

    Signals:
        rung_chosen(rung, is_spun): the line of a ladder whose metal is to be shown, None for none.
    """

    rung_chosen = Signal(object, bool)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self.wheels = _table(tr("What each wheel is to the blank"), 5)
        self.ladder = LadderTable(tr("Where the metal is"))
        self.spun_ladder = LadderTable(tr("Where the metal is, forged and spun"))
        self.steps = _table(tr("Steps of the forging"), 6, stretched=5)
        self.cost = _table(tr("Time and money of each wheel"), 5)
        self.tools = BlankTools()
        self.pages = QTabWidget()
        self.pages.setDocumentMode(True)
        for title, page in (
            (tr("Masses"), self.ladder),
            (tr("Spun"), self.spun_ladder),
            (tr("Steps"), self.steps),
            (tr("Money"), self.cost),
            (tr("Tools we have"), self.tools),
        ):
            self.pages.addTab(page, title)
        self.ladder.chosen.connect(lambda rung: self.rung_chosen.emit(rung, False))
        self.spun_ladder.chosen.connect(lambda rung: self.rung_chosen.emit(rung, True))
        self.pages.currentChanged.connect(self._leave)
        theme.changed.connect(self._colour_wheels)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.wheels, 3)
        row.addWidget(self.pages, 3)

    def show_found(
        self,
        result: Composite,
        cut: Sequence[WheelMachining],
        spun: SpunFound | None,
        project: Project,
        settings: ForgingSettings,
    ) -> None:
        """Show another blank, found with these settings, forged and spun where that is given."""
        unit = unit_of(project)
        self._show_wheels(result, spun, unit)
        self.ladder.show_ladder(turned_ladder(project, result), result.rungs, unit)
        ladder = None if spun is None else spun_ladder(project, spun.blank)
        self.spun_ladder.show_ladder(ladder, () if spun is None else spun.blank.rungs, unit)
        self._show_steps(result, spun, unit)
        self._show_cost(cut if spun is None else spun.cut, project)
        usable = result.path if spun is None else spun.blank.found.preform.path
        density = result.found.mass_kg / result.found.blank.volume_mm3 * 1e9
        mass_kg = result.mass_kg if spun is None else spun.blank.mass_kg
        self.tools.show_found(project, usable, mass_kg, settings, density)

    def _leave(self) -> None:
        """Choose no line of a ladder that is not in front."""
        for table in (self.ladder, self.spun_ladder):
            if self.pages.currentWidget() is not table:
                table.clearSelection()

    def _show_wheels(self, result: Composite, spun: SpunFound | None, unit: LengthUnit) -> None:
        mass = mass_unit(unit)
        heads = [
            tr("wheel"),
            tr("seat"),
            tr("wheel {mass}", mass=mass),
            tr("chips {mass}", mass=mass),
            tr("costs the others {mass}", mass=mass),
        ]
        self.wheels.setHorizontalHeaderLabels(heads)
        wheels = result.wheels if spun is None else spun.blank.wheels
        self.wheels.setRowCount(len(wheels))
        for row, each in enumerate(wheels):
            costs = "" if each.costs_others_kg is None else tr("decides nothing")
            if each.costs_others_kg is not None and each.decides:
                costs = bare_mass(each.costs_others_kg, unit)
            texts = (
                f"{row + 1}  {each.name}",
                format_length(each.seat_mm, unit, with_unit=False),
                bare_mass(each.mass_kg, unit),
                bare_mass(each.chips_kg, unit),
                costs,
            )
            _fill_row(self.wheels, row, texts)
        self._colour_wheels()

    def _colour_wheels(self) -> None:
        """Put before each wheel the colour that the picture has for it."""
        count = self.wheels.rowCount()
        for row in range(count):
            cell = self.wheels.item(row, 0)
            if cell is not None and count > 1:
                swatch = QPixmap(10, 10)
                swatch.fill(wheel_colour(row, dark=self._theme.dark))
                cell.setData(Qt.ItemDataRole.DecorationRole, swatch)

    def _show_steps(self, result: Composite, spun: SpunFound | None, unit: LengthUnit) -> None:
        numbers = Numbers(unit)
        _, stress_unit, load_unit = press_units(numbers)
        heads = [
            tr("step"),
            tr("across"),
            tr("height"),
            stress_unit,
            tr("load, {load_unit}", load_unit=load_unit),
            tr("press"),
        ]
        self.steps.setHorizontalHeaderLabels(heads)
        steps = result.steps if spun is None else spun.blank.steps
        self.steps.setRowCount(len(steps))
        for row, step in enumerate(steps):
            word = step.refused_words(numbers.long) or str(step.fits)
            texts = (
                spoken(step.name),
                format_length(step.diameter_mm, unit, with_unit=False),
                format_length(step.height_mm, unit, with_unit=False),
                press_stress(numbers, step.stress_mpa),
                tr(
                    "{low} to {high}",
                    low=press_load(numbers, step.low_mn),
                    high=press_load(numbers, step.high_mn),
                ),
                f"{spoken(step.press.name)}, {spoken(capacity_words(numbers, step.press.capacity_mn))}: "
                f"{spoken(word)}",
            )
            _fill_row(self.steps, row, texts, words=(0, 5))
        stress = self.steps.horizontalHeaderItem(3)
        if stress is not None:
            stress.setToolTip(tr("Flow stress of the metal at its temperature and rate."))

    def _show_cost(self, cut: Sequence[WheelMachining], project: Project) -> None:
        self.cost.setHorizontalHeaderLabels(
            [tr("wheel"), tr("cutting, min"), tr("metal"), tr("cutting, set-ups"), tr("net of chips")]
        )
        self.cost.setToolTip(_starting(project))
        self.cost.setRowCount(len(cut))
        for row, wheel in enumerate(cut):
            m = wheel.money
            texts = (
                wheel.name,
                f"{wheel.cutting_minutes:.0f}",
                f"{m.metal:.2f}",
                f"{m.cutting + m.setting:.2f}",
                f"{m.net:.2f} {project.currency}".strip(),
            )
            _fill_row(self.cost, row, texts)


def _starting(project: Project) -> str:
    count = len(project.rates.starting)
    return (
        tr("{count} of the shop's rates are starting values: see Shop rates and prices.", count=count)
        if count
        else ""
    )


def _table(name: str, columns: int, stretched: int = 0) -> QTableWidget:
    table = QTableWidget(0, columns)
    table.setHorizontalHeaderLabels([""] * columns)
    table.setAccessibleName(name)
    table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.verticalHeader().hide()
    table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    table.setShowGrid(False)
    table.setFont(figures(table.font()))
    header = table.horizontalHeader()
    header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    header.setSectionResizeMode(stretched, QHeaderView.ResizeMode.Stretch)
    return table


def _fill_row(table: QTableWidget, row: int, texts: Sequence[str], words: Sequence[int] = (0,)) -> None:
    """Fill a row; the columns named hold words, all else numbers."""
    for column, text in enumerate(texts):
        item = QTableWidgetItem(minus(text))
        item.setToolTip(minus(text) if column in words else "")
        if column not in words:
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        table.setItem(row, column, item)
