"""Two versions side by side: what differs, zone by zone, with changes over a threshold marked."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QComboBox, QDialog, QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.versions import made_from
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.session.document import Document
from app.session.shown import Shown
from app.studies.differences import REST, Differences, Pair, Thresholds, ZoneDifference, differences
from app.units import UnitsError
from app.views.plain_table import PlainTable, Value
from app.views.readings_text import minus
from app.views.theme import Theme, figures
from app.window.dialogs.form import quiet_label
from app.window.dialogs.typed_fields import NUMBER, FieldError, NumberField, length
from geometry.errors import GeometryError

SAVED = tr("the shown wheel as last saved")
SHOWN = tr("the shown wheel")
_MARK, _MINUS = "▲", "\u2212"


class VersionsWindow(QDialog):
    """Shows the differences between two versions, anew after each edit.

    Attributes:
        before, after: which two; the shown wheel and its last saved state are among them.
    """

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Differences of versions"))
        self._document, self._theme = document, theme
        self._read: tuple[object, ...] = ()
        self.before, self.after = QComboBox(), QComboBox()
        self.head, self.foot = QLabel(), QLabel()
        self.table = PlainTable(tr("Differences by zone"))
        start, unit = Thresholds(), length(document.project.display_unit)
        self.length = NumberField(unit, start.length_mm, least=0.0)
        self.grams = NumberField(NUMBER, start.grams, least=0.0)
        self.inertia = NumberField(NUMBER, start.g_m2, least=0.0)
        self._lay_out()
        for choice in (self.before, self.after):
            choice.currentIndexChanged.connect(lambda _index: self._fill(force=True))
        for field in (self.length, self.grams, self.inertia):
            field.edited.connect(lambda: self._fill(force=True))
        document.shown.connect(self._show)
        self.resize(1080, 640)
        self._follow(document.state)

    def _lay_out(self) -> None:
        self.before.setAccessibleName(tr("Version before"))
        self.after.setAccessibleName(tr("Version after"))
        grid = QGridLayout()
        for k, (words, widget) in enumerate(((tr("Before"), self.before), (tr("After"), self.after))):
            grid.addWidget(QLabel(words), 0, 2 * k)
            grid.addWidget(widget, 0, 2 * k + 1)
            grid.setColumnStretch(2 * k + 1, 1)
        limits = QHBoxLayout()
        limits.addWidget(QLabel(tr("{mark} marks a change over", mark=_MARK)))
        for field, unit in ((self.length, tr("length")), (self.grams, "g"), (self.inertia, "g m²")):
            field.name(tr("Threshold, {unit}", unit=unit))
            field.setMaximumWidth(130)
            limits.addWidget(field)
            limits.addWidget(QLabel(unit))
        limits.addStretch(1)
        for label in (self.head, self.foot):
            label.setWordWrap(True)
            label.setFont(figures(label.font()))
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        column = QVBoxLayout(self)
        column.addLayout(grid)
        column.addWidget(self.head)
        column.addLayout(limits)
        column.addWidget(self.table, 1)
        column.addWidget(self.foot)
        column.addWidget(quiet_label(spoken(CAUTION)))

    # Showing

    def _show(self, shown: Shown) -> None:
        """Follow the document while it is seen; a gesture under way is waited for."""
        if not shown.dragging and self.isVisible():
            self._follow(shown)

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what was drawn while it was closed."""
        super().showEvent(event)
        self._follow(self._document.state)

    def _follow(self, shown: Shown) -> None:
        names = [w.name for w in shown.project.wheels]
        for choice, special, other in ((self.before, SAVED, 1), (self.after, SHOWN, 0)):
            wanted = choice.currentData() if choice.count() else None
            items = [("", special), *((name, name) for name in names)]
            if [choice.itemData(k) for k in range(choice.count())] != [data for data, _ in items]:
                choice.blockSignals(True)
                choice.clear()
                for data, text in items:
                    choice.addItem(text, data)
                start = self._parent(shown) if other and wanted is None else wanted
                choice.setCurrentIndex(max(choice.findData(start or ""), 0))
                choice.blockSignals(False)
        self._fill()

    def _parent(self, shown: Shown) -> str | None:
        """Return what the shown wheel was made from, where there is no saved state that differs."""
        if shown.wheel is None or (shown.saved_wheel is not None and shown.saved_wheel != shown.wheel):
            return None
        return next(iter(made_from(shown.project, shown.wheel.name)), None)

    def _chosen(self, choice: QComboBox) -> tuple[Project, Wheel] | None:
        shown, name = self._document.state, choice.currentData()
        if name:
            found = next((w for w in shown.project.wheels if w.name == name), None)
            return None if found is None else (shown.project, found)
        if choice is self.after:
            return None if shown.wheel is None else (shown.project, shown.wheel)
        if shown.saved is None or shown.saved_wheel is None:
            return None
        return shown.saved, shown.saved_wheel

    def _fill(self, force: bool = False) -> None:
        before, after = self._chosen(self.before), self._chosen(self.after)
        read = (*(before or (None, None)), *(after or (None, None)))
        same = len(read) == len(self._read) and all(a is b for a, b in zip(read, self._read, strict=True))
        if same and not force:
            return
        self._read = read
        self.foot.clear()
        if before is None or after is None:
            lacks = tr("No saved state of this wheel is known") if before is None else tr("No wheel is shown")
            self._nothing(tr("{lacks}: choose two versions.", lacks=lacks))
            return
        try:
            limits = Thresholds(self.length.number(), self.grams.number(), self.inertia.number())
            found = differences(before, after)
        except (GeometryError, FieldError, UnitsError) as error:
            self._nothing(spoken(str(error)))
            return
        self._tell(found, limits, after)

    def _nothing(self, words: str) -> None:
        self.head.setText(words)
        self.table.show_rows([tr("Zone")], [])

    def _tell(self, found: Differences, limits: Thresholds, after: tuple[Project, Wheel]) -> None:
        unit = unit_of(after[0])
        numbers = Numbers(unit)
        rows = [_row(row, limits, numbers) for row in found.zones if row.zone != REST or _counts(row)]
        marked = sum(bool(row.over(limits)) for row in found.zones)
        grams = (found.mass_kg[1] - found.mass_kg[0]) * 1000.0
        turning = found.g_m2[1] - found.g_m2[0]
        why = tr(" Made from {made_from}", made_from=after[1].made_from) if after[1].made_from else ""
        why += f": {after[1].why}." if why and after[1].why else "." if why else ""
        self.head.setText(
            minus(
                tr(
                    "{grams:+.0f} g, {turning:+.2f} g m² in all: {mass_kg} before, {mass_kg_2} "
                    "after. {marked} zones with a change over a threshold.{why}",
                    grams=grams,
                    turning=turning,
                    mass_kg=numbers.mass(found.mass_kg[0], 3),
                    mass_kg_2=numbers.mass(found.mass_kg[1], 3),
                    marked=marked,
                    why=why,
                )
            )
        )
        heads = [
            tr("Zone"),
            tr("Over"),
            *(f"{name}, {unit}" for name in (tr("Wall"), tr("Gap"), tr("Stock"))),
        ]
        self.table.show_rows([*heads, tr("Mass, g"), tr("Inertia, g m²")], rows)
        self.foot.setText(
            tr(
                "Wall, gap and stock: least of the zone before → after (change); gap on paper, as "
                "drawn. Mass "
                "and inertia between the two skins belong to the zone of the later skin nearest to them."
            )
        )


def _counts(row: ZoneDifference) -> bool:
    return abs(row.grams) >= 0.5 or abs(row.g_m2) >= 0.01


def _row(row: ZoneDifference, limits: Thresholds, numbers: Numbers) -> list[Value]:
    over = row.over(limits)
    lengths = [_pair(pair, numbers) for pair in (row.wall, row.gap, row.stock)]
    return [
        row.zone,
        f"{_MARK} {', '.join(map(spoken, over))}" if over else "",
        *lengths,
        _signed(row.grams, 1),
        _signed(row.g_m2, 3),
    ]


def _signed(value: float, decimals: int) -> str:
    """Return a change with its sign; a change of nought without one."""
    text = f"{value:+.{decimals}f}"
    return f"{0.0:.{decimals}f}" if not text.strip("+-0.") else text.replace("-", _MINUS)


def _pair(pair: Pair, numbers: Numbers) -> str:
    if pair.before is None and pair.after is None:
        return ""
    if pair.change is None:
        before, after = ((tr("none") if v is None else numbers.length(v)) for v in (pair.before, pair.after))
        return minus(f"{before} → {after}")
    if abs(pair.change) < 5e-4:
        return minus(numbers.length(pair.after))
    sign = "+" if pair.change > 0.0 else ""
    words = (
        f"{numbers.length(pair.before)} → {numbers.length(pair.after)} ({sign}{numbers.length(pair.change)})"
    )
    return words.replace("-", _MINUS)
