"""What would make the shown wheel fit: offers with their side effects, applied by a click."""

from __future__ import annotations

import threading
from dataclasses import replace
from functools import partial

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.language import ntr, spoken, tr
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.reports.sentences import capital
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.studies.cuttable import Cuttable, lack_words, what_would_cut
from app.studies.offers import Offer, offers
from app.studies.sweep import (
    REACH_MM,
    Over,
    StoppedError,
    Sweep,
    Window,
    search_words,
    sweep,
    window,
)
from app.studies.told import Told
from app.units import LengthUnit
from app.views.readings_text import minus
from app.views.sweep_chart import SweepChart
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from geometry.errors import GeometryError
from geometry.shape.outline import Grade

_JOB = "what would make it fit"
_NOTHING_CUTS = tr("No single change of the wheel within reach makes it cuttable from its blank.")
_OFFER = Qt.ItemDataRole.UserRole
_NO_SPACERS = tr("No spacer is offered: name those on hand in Shop rates and prices (Ctrl+Alt+M).")

#: What is drawn as a curve: from and to beside the present value (a spacer from none), and points.
_SWEPT = {
    Over.INSET: (-20.0, 20.0, 41),
    Over.SPACER: (0.0, 25.0, 26),
    Over.TILT: (-0.5, 0.5, 21),
    Over.WIDTH: (-1.5, 1.5, 7),
}


class OffersWindow(QDialog):
    """Looks for offers and for the windows of inset and spacer in the background, and shows them.

    Signals:
        wheel_made(project, text, name): an offer was applied as a new version of that name.
    """

    wheel_made = Signal(object, str, str)

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("What would make it fit"))
        self._document, self._theme = document, theme
        self._read_for: tuple[Project, str] | None = None
        self._now: dict[Over, float] = {}
        self._stop = threading.Event()
        self.jobs = Jobs(self)
        self.head, self.windows = QLabel(), QLabel()
        self.tree = QTreeWidget()
        self.charts = {over: SweepChart(theme) for over in _SWEPT}
        self.apply, self.again = QPushButton(tr("&Apply as a new version")), QPushButton(tr("&Look again"))
        self._lay_out()
        self.tree.currentItemChanged.connect(lambda *_: self._tell_choice())
        self.tree.itemDoubleClicked.connect(lambda *_: self._apply())
        self.apply.clicked.connect(self._apply)
        self.again.clicked.connect(self._look_or_stop)
        document.shown.connect(self._compare)
        self.resize(960, 760)
        QTimer.singleShot(0, self.look)

    def _lay_out(self) -> None:
        self.tree.setColumnCount(3)
        self._head_columns("mm")
        self.tree.setFont(figures(self.tree.font()))
        self.tree.setAccessibleName(tr("Changes that would make it fit"))
        self.tree.setRootIsDecorated(False)
        self.tree.setWordWrap(True)
        self.tree.setUniformRowHeights(False)
        self.tree.setIndentation(12)
        header = self.tree.header()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        self.tree.setItemDelegateForColumn(2, _Wrapped(self.tree))
        header.sectionResized.connect(lambda *_: self.tree.scheduleDelayedItemsLayout())
        for label in (self.head, self.windows):
            label.setWordWrap(True)
            label.setFont(figures(label.font()))
        foot = QHBoxLayout()
        foot.addWidget(quiet_label(spoken(CAUTION)), 1)
        foot.addWidget(self.again)
        foot.addWidget(self.apply)
        column = QVBoxLayout(self)
        column.addWidget(self.head)
        column.addWidget(self.windows)
        curves = QGridLayout()
        for k, chart in enumerate(self.charts.values()):
            curves.addWidget(chart, k // 2, k % 2)
        column.addLayout(curves)
        column.addWidget(self.tree, 1)
        column.addLayout(foot)
        self.again.setAutoDefault(False)
        self.apply.setEnabled(False)

    # Looking

    def look(self) -> None:
        """Look for offers for the shown wheel, beside the window."""
        wheel, project = self._document.wheel, self._document.project
        self.tree.clear()
        self.windows.clear()
        if wheel is None:
            self.head.setText(tr("No wheel is shown."))
            return
        self._stop = threading.Event()
        self._read_for = project, wheel.name
        self._now = {over: _present(wheel, over) for over in _SWEPT}
        for chart in self.charts.values():
            chart.show_sweep(None, 0.0)
        self.head.setText(tr("{name}: looking for changes that clear every gap...", name=wheel.name))
        self.again.setText(tr("&Stop"))
        self.jobs.start(_JOB, partial(_work, project, wheel, self._stop), self._came, self._failed)

    def _look_or_stop(self) -> None:
        if self.jobs.is_busy:
            self._stop.set()
        else:
            self.look()

    def _came(self, found: _Found) -> None:
        made, said, curves, cut = found
        unit = unit_of(self._read_for[0] if self._read_for else self._document.project)
        self._head_columns(unit)
        for (over, chart), curve in zip(self.charts.items(), curves, strict=False):
            chart.show_sweep(curve, self._now[over], unit)
        self.again.setText(tr("&Look again"))
        name = self._read_for[1] if self._read_for else ""
        cures = [offer for offer in made if offer.is_cure]
        if not made:
            self.head.setText(
                tr(
                    "{name}: no gap misses its rule, or no change within reach mends it; see the "
                    "windows below.",
                    name=name,
                )
            )
        else:
            self.head.setText(
                ntr(
                    "{name}: {count} change after which every rule holds",
                    "{name}: {count} changes after which every rule holds",
                    len(cures),
                    name=name,
                )
            )
        if self._read_for is not None and not self._read_for[0].spacers_mm:
            said = (*said, _NO_SPACERS)
        self.windows.setText(minus("\n".join(said)))
        self._rows(made, tr("Mends the gap, but:"), unit)
        if cut is not None and not cut.is_cuttable:
            self._line(tr("Makes it cuttable from its blank:") if cut.offers else _NOTHING_CUTS)
            self._rows(cut.offers, tr("Brings the stock, but:"), unit)
        item = self.tree.topLevelItem(0)
        if item is not None:
            self.tree.setCurrentItem(item)
        self._tell_choice()

    def _head_columns(self, unit: LengthUnit) -> None:
        mass = tr("Mass, lb") if unit == "in" else tr("Mass, kg")
        self.tree.setHeaderLabels(
            [tr("Change, {unit}", unit=unit), mass, tr("What else it does, {unit}", unit=unit)]
        )

    def _rows(self, made: tuple[Offer, ...], but: str, unit: LengthUnit) -> None:
        """Show cures, and under a line of their own those that break another rule."""
        for offer in made:
            if offer.is_cure:
                self._row(offer, "; ".join(map(spoken, offer.effects)), unit)
        others = [offer for offer in made if not offer.is_cure]
        if others:
            self._line(but)
        for offer in others:
            first, more = spoken(offer.breaks[0]), len(offer.breaks) - 1
            words = tr("{first} and {more} more", first=first, more=more) if more else first
            self._row(offer, words, unit)

    def _line(self, words: str) -> None:
        line = QTreeWidgetItem([words])
        line.setFlags(Qt.ItemFlag.ItemIsEnabled)
        self.tree.addTopLevelItem(line)
        line.setFirstColumnSpanned(True)

    def _row(self, offer: Offer, words: str, unit: LengthUnit) -> None:
        mass = Told(unit).more_mass(offer.mass_kg, with_unit=False)
        item = QTreeWidgetItem([spoken(offer.words), minus(mass), minus(words)])
        item.setData(0, _OFFER, offer)
        item.setToolTip(
            2,
            minus("\n".join((*map(spoken, offer.effects), *(tr("breaks: {b}", b=b) for b in offer.breaks)))),
        )
        item.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.tree.addTopLevelItem(item)

    def _failed(self, error: Exception) -> None:
        self.again.setText(tr("&Look again"))
        self.head.setText(spoken(str(error)))

    def _compare(self, shown: Shown) -> None:
        """Say when what is shown is not what was looked at."""
        if self._read_for is None or self.jobs.is_busy or shown.dragging:
            return
        if not self._is_current():
            self.head.setText(tr("The project or the shown wheel has changed since: look again."))
            self.apply.setEnabled(False)

    def _is_current(self) -> bool:
        document, read = self._document, self._read_for
        return read is not None and read[0] is document.project and read[1] == document.wheel_name

    # Applying

    def chosen(self) -> Offer | None:
        """Return the offer of the current row."""
        item = self.tree.currentItem()
        offer = item.data(0, _OFFER) if item is not None else None
        return offer if isinstance(offer, Offer) else None

    def _tell_choice(self) -> None:
        offer = self.chosen()
        self.apply.setEnabled(offer is not None and offer.is_cure and self._is_current())
        breaks = offer is not None and not offer.is_cure
        self.apply.setToolTip(tr("It breaks another rule: make it by hand if it must be.") if breaks else "")

    def _apply(self) -> None:
        offer = self.chosen()
        if offer is None or not self.apply.isEnabled():
            return
        project = self._document.project
        name = edits.free_name(project, edits.WHEEL, f"{offer.wheel.name}, {offer.words}")
        made_from = self._read_for[1] if self._read_for else None
        made = edits.add(
            project, edits.WHEEL, replace(offer.wheel, name=name, made_from=made_from, why=offer.words)
        )
        self.wheel_made.emit(made, tr("New version {name}", name=name), name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close with Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        else:
            super().keyPressEvent(event)

    def reject(self) -> None:
        """Stop what is under way, and close."""
        self._stop.set()
        self.jobs.drop(_JOB)
        super().reject()


_Found = tuple[tuple[Offer, ...], tuple[str, ...], tuple[Sweep, ...], Cuttable | None]


def _present(wheel: Wheel, over: Over) -> float:
    present = {
        Over.INSET: wheel.inset_mm,
        Over.SPACER: wheel.spacer_mm,
        Over.WIDTH: wheel.size.width_code,
    }
    return present.get(over, 0.0)


def _values(wheel: Wheel, over: Over) -> list[float]:
    """Return the values of a curve, the present one among them."""
    low, high, count = _SWEPT[over]
    now = _present(wheel, over)
    first = 0.0 if over is Over.SPACER else now + low
    found = {round(first + (high - low) * k / (count - 1), 3) for k in range(count)}
    return sorted(value for value in found | {now} if over is not Over.WIDTH or value > 0.0)


def _work(project: Project, wheel: Wheel, stop: threading.Event) -> _Found:
    curves = tuple(sweep(project, wheel, over, _values(wheel, over), stop.is_set) for over in _SWEPT)
    made = offers(project, wheel, cancelled=stop.is_set)
    said = []
    for over, now in ((Over.INSET, wheel.inset_mm), (Over.SPACER, wheel.spacer_mm)):
        try:
            found = window(project, wheel, over, cancelled=stop.is_set)
        except StoppedError:
            break
        said.append(_window_words(over, now, found, Numbers(unit_of(project))))
    if wheel.rim is None:
        said.append(
            tr("The rim contour is unlocked: no other place of the well is offered; draw it by hand.")
        )
    cut = None
    if wheel.blank is not None and not stop.is_set():
        try:
            cut = what_would_cut(project, wheel, stop.is_set)
        except GeometryError as error:
            said.append(tr("Stock: {error}", error=error))
    if cut is not None and cut.lack is not None:
        numbers = Numbers(unit_of(project))
        said.append(spoken(lack_words(cut.lack, numbers.length, numbers.mass)))
    return made, tuple(said), curves, cut


def _window_words(over: Over, now: float, found: Window | None, numbers: Numbers) -> str:
    """Return 'Every measured length holds from inset 26.0 (spoke back closes it) to 41.2 (well to Brake)'."""

    def of(mm: float) -> str:
        return numbers.length(mm, Grade.SCAN)

    if found is None:
        return tr(
            "No {over} within {of} of {of_2} at which every rule holds.",
            over=over,
            of=of(REACH_MM),
            of_2=of(now),
        )
    low = f" ({spoken(found.closed_low_by)})" if found.closed_low_by else tr(" or less")
    high = f" ({spoken(found.closed_high_by)})" if found.closed_high_by else tr(" or more")
    # No spacer is thinner than none.
    is_open = not found.closed_high_by or (over is Over.INSET and not found.closed_low_by)
    reach = numbers.length(REACH_MM, with_unit=True)
    farther = {
        Over.INSET: f" {capital(spoken(search_words(reach)))}.",
        Over.SPACER: tr(" Spacers are looked at up to {reach} more than now.", reach=reach),
    }
    more = farther.get(over, "") if is_open else ""
    return tr(
        "Every measured length holds from {over} {of}{low} to {of_2}{high}; now {of_3}.{more}",
        over=over,
        of=of(found.low),
        low=low,
        of_2=of(found.high),
        high=high,
        of_3=of(now),
        more=more,
    )


class _Wrapped(QStyledItemDelegate):
    """Gives a row the height that its words need in the width of their column."""

    def __init__(self, tree: QTreeWidget) -> None:
        super().__init__(tree)
        self._tree = tree

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the size of all lines."""
        margin = self._tree.style().pixelMetric(QStyle.PixelMetric.PM_FocusFrameHMargin) + 1
        room = QRect(0, 0, self._tree.columnWidth(index.column()) - 2 * margin, 10_000)
        words = str(index.data() or "")
        lines = self._tree.fontMetrics().boundingRect(room, Qt.TextFlag.TextWordWrap, words)
        return QSize(room.width(), lines.height() + 2)
