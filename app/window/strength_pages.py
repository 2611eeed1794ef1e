"""The pages of the strength window, filled from a screening and what stands beside it."""

from __future__ import annotations

from collections.abc import Callable, Container, Sequence
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.reports.numbers import Numbers
from app.reports.strength_family import evidence_lines, plan_table
from app.reports.strength_notes import all_notes, facts
from app.reports.strength_parts import use_ratio
from app.reports.strength_shown import Shown, gain_table
from app.reports.strength_tables import (
    bolts,
    carried,
    life,
    lips,
    lives_beside,
    loads,
    spokes,
    use_beside,
    whole,
)
from app.reports.strength_words import NO_REFERENCE, SIGNS_SAID, Cell, kept, zones_of
from app.reports.tables import Column, Row, Table
from app.studies.strength.cases import has_stress
from app.studies.strength.run import Screening
from app.views.readings_text import minus
from app.views.strength_matrix import CASE_HEADS, StrengthMatrix
from app.views.strength_page import TablePage
from app.views.theme import Theme
from app.window.dialogs.form import quiet_label

_NO_SECOND = tr(
    "Choose a wheel beside it, best one that passed its tests: figures then stand here as ratios."
)


class StrengthPages(QTabWidget):
    """Case x zone, loads, lips, both wheels, what a millimetre buys, spokes, life, tests, what it rests on.

    Attributes:
        matrix: case x zone. work_out: asks for what a millimetre buys under the chosen case.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setDocumentMode(True)
        self.setUsesScrollButtons(True)
        self.matrix = StrengthMatrix(theme)
        self.chosen = QLabel()
        self.chosen.setWordWrap(True)
        self.chosen.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.chosen.setAccessibleName(tr("The chosen case and zone"))
        first = QWidget()
        column = QVBoxLayout(first)
        column.setContentsMargins(0, 8, 0, 0)
        column.addWidget(self.matrix, 1)
        column.addWidget(self.chosen)
        column.addWidget(quiet_label(kept(spoken(SIGNS_SAID))))
        self.addTab(first, tr("Cases and &zones"))
        self.loads = self._page(tr("Loa&ds"), tr("Loads of the cases"))
        self.constants = TablePage(tr("Constants with their sources"))
        self.loads.column.addWidget(self.constants, 1)
        self.lips = self._page(tr("L&ips"), tr("Lips"))
        self.whole = TablePage(tr("Both wheels"), is_short=True)
        self.addTab(_scrolled(self.whole), tr("&Side by side"))
        self.uses = TablePage(tr("Use, of that of the other wheel"))
        self.lives = TablePage(tr("Life beside the other wheel's"))
        for page in (self.uses, self.lives):
            self.whole.column.addWidget(page, 1)
        self.per_mm = self._page(tr("1 &mm buys"), tr("What a millimetre more metal does"))
        self.work_out = QPushButton(tr("&Work it out"))
        self.work_out.setAutoDefault(False)
        self.worked_out = QLabel()
        self.worked_out.setWordWrap(True)
        asked = QHBoxLayout()
        asked.addWidget(self.work_out)
        asked.addWidget(self.worked_out, 1)
        self.per_mm.column.insertLayout(0, asked)
        self.spokes = self._page(tr("S&pokes, bolts"), tr("Spokes"))
        self.carried = TablePage(tr("Load carried by all spokes"))
        self.spokes.column.addWidget(self.carried, 1)
        self.bolts = TablePage(tr("Bolts and hub pad"), is_short=True)
        self.spokes.column.addWidget(self.bolts)
        self.life = self._page(tr("Li&fe"), tr("Life of plain specimens"))
        self.plan = TablePage(tr("Physical tests that decide"))
        self.addTab(_scrolled(self.plan), tr("&Tests"))
        self.family = QListWidget()
        self.family.setAccessibleName(tr("Versions of the same design, for the list of tests"))
        self.family.setToolTip(tr("A family is tested on its worst versions; tick those that belong to it."))
        self.family.setFlow(QListWidget.Flow.LeftToRight)
        self.family.setWrapping(True)
        self.family.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.family.setSpacing(2)
        words = QLabel(tr("Versions of the same desi&gn, tested together"))
        words.setBuddy(self.family)
        self.plan.column.insertWidget(0, words)
        self.plan.column.insertWidget(1, self.family)
        self.rests_on = QPlainTextEdit()
        self.rests_on.setReadOnly(True)
        self.rests_on.setAccessibleName(tr("What the screening rests on"))
        self.addTab(self.rests_on, tr("R&ests on"))
        self.matrix.cell_chosen.connect(self._tell_cell)

    def _page(self, title: str, name: str) -> TablePage:
        page = TablePage(name)
        self.addTab(_scrolled(page), title)
        return page

    def show_nothing(self) -> None:
        """Empty every page."""
        self.matrix.show_screening(None)
        self.chosen.setText("")
        for page in (
            self.loads,
            self.constants,
            self.lips,
            self.whole,
            self.uses,
            self.per_mm,
            self.spokes,
            self.carried,
            self.bolts,
            self.life,
        ):
            page.show_table(None)
        self.plan.show_table(None)
        self.rests_on.setPlainText("")

    def show_screening(self, shown: Shown, numbers: Numbers) -> None:
        """Show a screening on every page."""
        found, against = shown.found, shown.against
        self.matrix.show_screening(found, numbers)
        self.loads.show_table(_loads(found))
        self.constants.show_table(_constants(found))
        self.spokes.show_table(_by_key(spokes(found, numbers), found))
        self.carried.show_table(_by_key(carried(found, numbers), found))
        self.bolts.show_table(_by_key(bolts(found, numbers), found))
        table = lips(found, against, numbers)
        notes = tuple(_NO_SECOND if words == NO_REFERENCE else words for words in table.notes)
        self.lips.show_table(replace(table, notes=notes))
        self.life.show_table(_by_key(life(found), found))
        beside = against is not None
        for page in (self.uses, self.lives):
            page.setVisible(beside)
        if against is None:
            self.whole.show_table(None, _NO_SECOND)
        else:
            self.whole.show_table(whole(against, shown.figures, numbers))
            self.uses.show_table(_uses(found, against))
            self.lives.show_table(_by_key(lives_beside(against, shown.figures), found))
        self.show_per_mm(shown)
        self.show_evidence(shown)
        told = facts(found, shown.settings, numbers)
        lines = [f"{spoken(label)}: {spoken(words)}" for label, words in told]
        said = [f"\u2022 {spoken(words)}" for words in all_notes(found)]
        self.rests_on.setPlainText(minus("\n".join([*lines, "", *said])))

    def offer_family(self, wheel: str, others: Sequence[str], chosen: Container[str]) -> None:
        """Offer the wheels that may be of one design with the wheel, which always is."""
        offered = [(wheel, True), *((name, name in chosen) for name in others)]
        there = [self.family.item(k) for k in range(self.family.count())]
        if [(i.text(), i.checkState() is Qt.CheckState.Checked) for i in there] == offered:
            return
        self.family.blockSignals(True)
        self.family.clear()
        for name, on in offered:
            item = QListWidgetItem(name, self.family)
            item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
            if name == wheel:
                item.setFlags(Qt.ItemFlag.ItemIsSelectable)
        self.family.blockSignals(False)
        self._fit_family()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the list of versions too."""
        super().resizeEvent(event)
        self._fit_family()

    def _fit_family(self) -> None:
        """Make the list of versions as high as they need, two rows at most."""
        wide = sum(
            self.family.sizeHintForIndex(self.family.model().index(k, 0)).width() + 4
            for k in range(self.family.count())
        )
        rows = 1 if wide < self.width() - 24 else 2
        self.family.setFixedHeight(
            rows * (max(self.family.sizeHintForRow(0), self.family.fontMetrics().height()) + 4)
            + 2 * self.family.frameWidth()
            + 2
        )

    def family_names(self) -> list[str]:
        """Return the wheels that are ticked."""
        items = (self.family.item(k) for k in range(self.family.count()))
        return [i.text() for i in items if i.checkState() is Qt.CheckState.Checked]

    def show_evidence(self, shown: Shown) -> None:
        """Show the tests that decide and what earlier ones say."""
        self.plan.show_table(_plan(shown))

    def show_per_mm(self, shown: Shown) -> None:
        """Show what a millimetre buys, or how to ask for it."""
        words = tr(
            "Each zone's skin is moved out by a little and the wheel is solved again: some ten solutions."
        )
        table = gain_table(shown, spoken) if shown.case is not None else None
        self.worked_out.setText("" if table is None else f"{spoken(table.title)}:")
        self.per_mm.show_table(table, words)

    def _tell_cell(self, one: Cell) -> None:
        self.chosen.setText(self.matrix.words(one))
        self.work_out.setText(tr("&Work it out under {key}", key=spoken(one.case.key)))

    def on_chosen(self, call: Callable[[Cell], None]) -> None:
        """Have a call told of every case and zone that is chosen."""
        self.matrix.cell_chosen.connect(call)


def _scrolled(page: QWidget) -> QScrollArea:
    """Return a page that is scrolled where the window is too low for it."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QScrollArea.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(page)
    return area


def _plan(shown: Shown) -> Table:
    """Return the report's table of tests with the sources of its rules under it."""
    table = plan_table(shown.evidence, spoken)
    rows = tuple(Row(row.cells[:-1]) for row in table.rows)
    sources = dict.fromkeys(row.cells[-1] for row in table.rows if row.cells[-1])
    said = (
        (tr("Sources of the rules: {sources}.", sources=". ".join(map(spoken, sources))),) if sources else ()
    )
    notes = (*evidence_lines(shown.evidence), *table.notes, *said)
    return Table(table.title, table.columns[:-1], rows, notes)


def _uses(found: Screening, against: Screening) -> Table:
    """Return use beside the reference's, zones down and cases across as in case x zone."""
    table = use_beside(found, against)
    cases = [case for case in found.cases if has_stress(case)]
    heads = (CASE_HEADS.get(case.key, case.key) for case in cases)
    columns = (Column(tr("Zone"), 1.6), *(Column(head, 1.0, True) for head in heads))
    rows = tuple(
        Row((zone.value, *(use_ratio(found, against, case, zone) for case in cases)))
        for zone in zones_of(found)
    )
    return Table(table.title, columns, rows, table.notes)


def _by_key(table: Table, found: Screening) -> Table:
    """Return a table whose first column names cases as the matrix does, which leaves room for figures."""
    names = sorted(found.cases, key=lambda c: len(c.name), reverse=True)

    def short(words: str) -> str:
        case = next((c for c in names if words.startswith(c.name)), None)
        return words if case is None else f"{case.key}{words[len(case.name) :]}"

    rows = tuple(replace(row, cells=(short(row.cells[0]), *row.cells[1:])) for row in table.rows)
    return replace(table, rows=rows)


def _loads(found: Screening) -> Table:
    """Return the report's table of loads without its column of constants, which have one of their own."""
    table = loads(found)
    kept = [k for k, column in enumerate(table.columns) if not column.head.startswith("Constants")]
    rows = tuple(Row(tuple(row.cells[k] for k in kept)) for row in table.rows)
    return Table(table.title, tuple(table.columns[k] for k in kept), rows)


def _constants(found: Screening) -> Table:
    """Return every constant of the cases with its source and how far that is confirmed."""
    heads = (
        (tr("Case"), 2.0),
        (tr("Constant"), 1.4),
        (tr("Value"), 1.0),
        (tr("Status"), 1.4),
        (tr("Source"), 5.0),
    )
    columns = tuple(Column(head, share, head == tr("Value")) for head, share in heads)
    rows = tuple(
        Row((case.key, symbol, f"{number.value:g}", number.status.value, number.source))
        for case in found.cases
        for symbol, number in case.constants.items()
    )
    notes = (
        tr("Constants that were not read in the standard itself are settings; the status says how sure."),
    )
    return Table(tr("Constants"), columns, rows, notes)
