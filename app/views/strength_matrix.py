"""Case x zone: the use of every zone under every case, sign and word before colour."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QBrush
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from app.language import spoken, tr
from app.reports.numbers import Numbers
from app.reports.strength_words import (
    OPEN_WORD,
    Cell,
    Verdict,
    cell,
    life_words,
    percent,
    place,
    use_words,
    zones_of,
)
from app.studies.strength.run import Screening
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from geometry.shape.section import Zone
from geometry.strength.life import cycles_words

#: Colour by role; a verdict is read from its sign first.
_ROLES = {
    Verdict.OVER: "short",
    Verdict.NOT_KNOWN: "not_known",
    Verdict.UNDER: "ink",
    Verdict.ENERGY: "quiet",
    Verdict.NOT_EXERCISED: "quiet",
}


#: Load cases as narrow heads of columns.
CASE_HEADS = {
    "R124 bending": tr("R124\nbending"),
    "JWL bending": tr("JWL\nbending"),
    "J328 bending front": tr("J328\nbending\nfront"),
    "J328 bending rear": tr("J328\nbending\nrear"),
    "R124 rolling": tr("R124\nrolling"),
    "JWL rolling": tr("JWL\nrolling"),
    "inflation": tr("inflation\npressure"),
    "cornering": tr("cornering\nload"),
    "braking torque": tr("braking\ntorque"),
    "13 degree impact": tr("13\u00a0degree\nimpact"),
    "radial impact": tr("radial\nimpact"),
}


class StrengthMatrix(QTableWidget):
    """Shows a screening.

    Signals:
        cell_chosen(Cell): a case and a zone were chosen, by mouse or arrow keys.
    """

    cell_chosen = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.found: Screening | None = None
        self._cells: dict[tuple[int, int], Cell] = {}
        self._numbers = Numbers("mm")
        self.setAccessibleName(tr("Use of each zone under each case"))
        self.setFont(figures(self.font()))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.verticalHeader().setDefaultSectionSize(25)
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag(Qt.TextFlag.TextWordWrap)
        )
        self.verticalHeader().setHighlightSections(False)
        self.currentCellChanged.connect(self._choose)
        theme.changed.connect(self._dress)

    def show_screening(self, found: Screening | None, numbers: Numbers | None = None) -> None:
        """Show another screening; the chosen case and zone stay chosen where it has them."""
        before = self.cell()
        self.blockSignals(True)
        self.clear()
        self.found, self._cells = found, {}
        self._numbers = numbers or Numbers("mm")
        zones, cases = (zones_of(found), found.cases) if found is not None else ((), ())
        self.setRowCount(len(zones))
        self.setColumnCount(len(cases))
        self.setVerticalHeaderLabels([spoken(zone) for zone in zones])
        for column, case in enumerate(cases):
            head = QTableWidgetItem(CASE_HEADS.get(case.key, spoken(case.key)))
            head.setToolTip(spoken(case.name))
            self.setHorizontalHeaderItem(column, head)
            for row, zone in enumerate(zones):
                assert found is not None
                one = cell(found, case, zone)
                self._cells[row, column] = one
                item = QTableWidgetItem(spoken(one.use))
                item.setTextAlignment(Qt.AlignmentFlag.AlignCenter)
                item.setToolTip(self.words(one))
                self.setItem(row, column, item)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self._dress()
        chosen = self._find(before) if before is not None else self._worst()
        if chosen is not None:
            self.setCurrentCell(*chosen)
        self.blockSignals(False)
        if chosen is not None:
            self.cell_chosen.emit(self._cells[chosen])

    def cell(self) -> Cell | None:
        """Return what is chosen."""
        return self._cells.get((self.currentRow(), self.currentColumn()))

    def words(self, one: Cell) -> str:
        """Return all that a case says of a zone, as read on the screen."""
        return minus(cell_words(one, self.found, self._numbers)) if self.found is not None else ""

    def choose(self, key: str, zone: Zone) -> None:
        """Choose a case by its key, and a zone."""
        for at, one in self._cells.items():
            if one.case.key == key and one.zone is zone:
                self.setCurrentCell(*at)

    def _find(self, wanted: Cell) -> tuple[int, int] | None:
        same = (p for p, c in self._cells.items() if c.case.key == wanted.case.key and c.zone is wanted.zone)
        return next(same, self._worst())

    def _worst(self) -> tuple[int, int] | None:
        """Return the place of the greatest use."""
        used = {p: c.row.use for p, c in self._cells.items() if c.row is not None and c.row.use is not None}
        return max(used, key=lambda p: used[p], default=next(iter(self._cells), None))

    def _choose(self, row: int, column: int, _row: int, _column: int) -> None:
        one = self._cells.get((row, column))
        if one is not None:
            self.cell_chosen.emit(one)

    def _dress(self) -> None:
        for at, one in self._cells.items():
            item = self.item(*at)
            if item is None:
                continue
            item.setForeground(QBrush(self._theme.colour(_ROLES[one.verdict])))
            item.setFont(figures(self.font(), bold=one.verdict is Verdict.OVER))


def cell_words(one: Cell, found: Screening, numbers: Numbers) -> str:
    """Return all that a case says of a zone, in one line; the place in the hub's frame."""
    head = f"{spoken(one.zone)}, {spoken(one.case.name)}: {spoken(one.verdict.value)}"
    if one.row is None:
        why = spoken(one.why.removeprefix(f"{one.verdict.value}: "))
        if one.case.energy_j is not None:
            at_striker = tr(
                "{energy_j:.0f} J at the striker, beside the energies of the lips", energy_j=one.case.energy_j
            )
            why = f"{at_striker}; {why}"
        return f"{head}; {why}" if why else head
    row = one.row
    parts = [
        head,
        tr(
            "{von_mises_mpa:.1f} MPa at {found}",
            von_mises_mpa=row.von_mises_mpa,
            found=f"{numbers.place(place(found, row.at))} {numbers.unit}",
        ),
    ]
    if not row.converged:
        parts.append(
            tr(
                "{open_word}: {before_mpa:.1f} MPa on the mesh half as fine",
                open_word=spoken(OPEN_WORD),
                before_mpa=row.before_mpa,
            )
        )
    if row.use is not None:
        parts.append(tr("use {use_words}", use_words=use_words(row.use)))
    if row.greatest_mpa is not None and row.ratio is not None:
        parts.append(
            tr(
                "worst cycle to {greatest_mpa:.1f} MPa, ratio {ratio:.2f}",
                greatest_mpa=row.greatest_mpa,
                ratio=row.ratio,
            )
        )
    for level in row.levels:
        lower = (
            ""
            if level.life.lower is None
            else tr(", 95 % reach {cycles_words}", cycles_words=cycles_words(level.life.lower))
        )
        asked = tr(
            "{cycles_words} asked at {percent} of the load",
            cycles_words=cycles_words(level.cycles),
            percent=percent(level.share),
        )
        parts.append(
            tr("life {life_words}{lower}, {asked}", life_words=life_words(level), lower=lower, asked=asked)
        )
    said = dict.fromkeys(w for w in (one.why, *row.note.split("; ")) if w)
    return "; ".join([*parts, *(spoken(w) for w in said if not w.startswith(OPEN_WORD) or row.converged)])
