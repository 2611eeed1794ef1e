"""One blank's map, or two one above the other with what the second gives up beside them."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.reports.limits_words import alone_words, held_seat_words, mass_words, money_rows, money_words
from app.reports.numbers import Numbers, unit_of
from app.studies.limits import Cell, Limits
from app.studies.limits_against import Against, SideAgainst
from app.views.limits_map import LimitsMap
from app.views.readings_text import minus
from app.views.theme import Theme, figures

_HEADS = (tr("Side"), tr("first"), tr("second"), tr("given up"))


class LimitsPair(QWidget):
    """Shows maps that share their columns; a cell chosen in one is chosen in the other.

    Attributes:
        maps: of the first blank and of the second, which is hidden where there is none.
        active: 0 or 1, the map in which a cell was last chosen by hand.

    Signals:
        cell_chosen(cell): another cell of the active map is the current one.
        cell_wanted(cell): a cell of the active map was double-clicked, or chosen with Enter.
    """

    cell_chosen = Signal(object)
    cell_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.maps = LimitsMap(theme), LimitsMap(theme)
        self.heads = QLabel(), QLabel()
        self.sides, self.given_up = QTableWidget(0, len(_HEADS)), QLabel()
        self.money = QTableWidget(0, 3)
        self.active = 0
        self._leads = True
        self._lay_out()
        for k, found in enumerate(self.maps):
            found.setAccessibleName(
                tr("Map of widths and insets, {k} blank", k=tr("first") if k == 0 else tr("second"))
            )
            found.cell_chosen.connect(lambda cell, k=k: self._chosen(k, cell))
            found.cell_wanted.connect(lambda cell, k=k: self._wanted(k, cell))
            found.zoom_wanted.connect(self.zoom_to)
        self._show_second(False)

    def _lay_out(self) -> None:
        column = QVBoxLayout()
        for head, found in zip(self.heads, self.maps, strict=True):
            head.setFont(figures(head.font()))
            column.addWidget(head)
            column.addWidget(found)
        column.addStretch(1)
        self._inside = QWidget()
        self._inside.setLayout(column)
        column.setContentsMargins(0, 0, 0, 0)
        self.area = QScrollArea()
        self.area.setAccessibleName(tr("Both blanks beside each other"))
        self.area.setWidgetResizable(True)
        self.area.setWidget(self._inside)
        self.sides.setAccessibleName(tr("What the second blank gives up, by side"))
        self.money.setAccessibleName(tr("Money of the wheel as drawn from either blank"))
        for table in (self.sides, self.money):
            table.setFont(figures(table.font()))
            table.verticalHeader().hide()
            table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
            table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
            table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
            table.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.given_up.setWordWrap(True)
        self.given_up.setFont(figures(self.given_up.font()))
        self.given_up.setAccessibleName(tr("What the second blank gives up"))
        beside = QVBoxLayout()
        beside.addWidget(self.given_up)
        beside.addWidget(self.sides, 3)
        beside.addWidget(self.money, 2)
        beside.setContentsMargins(0, 0, 0, 0)
        self._beside = QWidget()
        self._beside.setLayout(beside)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.area, 5)
        row.addWidget(self._beside, 2)

    def _show_second(self, is_there: bool) -> None:
        for widget in (*self.heads, self.maps[1], self._beside):
            widget.setVisible(is_there)

    def zoom_to(self, zoom: float) -> None:
        """Show both maps as many times as large, the chosen cell in sight."""
        for found in self.maps:
            found.set_zoom(zoom)
        self._inside.adjustSize()
        self._see_current(self.active)

    def _see_current(self, k: int) -> None:
        at = self.maps[k].current
        if at is not None:
            seen = self.maps[k].mapTo(self._inside, self.maps[k].cell_rect(*at).toRect().center())
            self.area.ensureVisible(seen.x(), seen.y(), 60, 40)

    # What is shown

    def show_limits(
        self,
        project: Project,
        found: Limits,
        held: Against | None,
        now: tuple[float, float],
    ) -> None:
        """Show a map, and the second blank's with what it gives up where there is one.

        Args:
            project: that was read.
            found: the map of the first blank.
            held: the second blank against it.
            now: width code and inset, mm, of the wheel as drawn.
        """
        numbers = Numbers(unit_of(project))
        self.active = 0
        alone = [frozenset[tuple[float, float]]()] * 2
        if held is not None:
            alone = [
                frozenset((c.width_code, c.inset_mm) for c in cells)
                for cells in (held.only_first, held.only_second)
            ]
            self.maps[1].show_limits(held.second, numbers, now, alone[1])
            for head, each in zip(self.heads, (found, held.second), strict=True):
                head.setText(f"<b>{escape(each.blank)}</b>, {numbers.mass(each.blank_kg)}")
            words = (
                mass_words(project, held),
                money_words(project, held),
                held_seat_words(project, held),
                alone_words(held),
            )
            said = (minus(spoken(line)) for line in words)
            self.given_up.setText("\n".join(f"{line[:1].upper()}{line[1:]}." for line in said))
            self._fill(held, numbers)
        self._show_second(held is not None)
        self.maps[0].show_limits(found, numbers, now, alone[0])

    def _fill(self, held: Against, numbers: Numbers) -> None:
        heads = (_HEADS[0], held.first.blank, held.second.blank, tr("given up, {unit}", unit=numbers.unit))
        self.sides.setHorizontalHeaderLabels([*heads])
        self.sides.setRowCount(len(held.sides))
        for k, side in enumerate(held.sides):
            for column, text in enumerate(_texts(side, numbers)):
                item = QTableWidgetItem(minus(text))
                if column:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.sides.setItem(k, column, item)

        rows = money_rows(held)
        self.money.setHorizontalHeaderLabels([tr("Money a wheel"), held.first.blank, held.second.blank])
        self.money.setRowCount(len(rows))
        for k, (what, first, second, why) in enumerate(rows):
            for column, text in enumerate((what, first, second)):
                item = QTableWidgetItem(minus(spoken(text)))
                item.setToolTip(spoken(why))
                if column:
                    item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.money.setItem(k, column, item)

    # Choosing

    def cell(self) -> Cell | None:
        """Return the current cell of the active map."""
        return self.maps[self.active].cell()

    def cells(self) -> tuple[Cell, ...]:
        """Return the current cell of each map that is shown."""
        shown = [found.cell() for found in self.maps if not found.isHidden()]
        return tuple(cell for cell in shown if cell is not None)

    def _chosen(self, k: int, cell: Cell) -> None:
        if not self._leads:
            return
        other, at = self.maps[1 - k], self.maps[k].current
        if at is not None:
            if not other.isHidden():
                self._leads = False
                other.choose(*at)
                self._leads = True
            self._see_current(k)
        self.active = k
        self.cell_chosen.emit(cell)

    def _wanted(self, k: int, cell: Cell) -> None:
        self.active = k
        self.cell_wanted.emit(cell)


def _texts(side: SideAgainst, numbers: Numbers) -> tuple[str, ...]:
    spares = (side.first_mm, side.second_mm, side.gives_up_mm)
    return (tr("{zone}, {side} side", zone=side.zone, side=side.side), *(numbers.length(x) for x in spares))
