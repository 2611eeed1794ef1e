"""The profile strip: wall, gap and stock of one side over z, or along the skin."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRect, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QGraphicsItem,
    QHBoxLayout,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.session.shown import Shown
from app.units import length_in
from app.views.canvas.layers import no_ground_below
from app.views.readings_text import minus
from app.views.strip_curves import QUANTITIES, Curve, curves, nearest, required
from app.views.strip_picture import StripPicture
from app.views.theme import Theme
from geometry.readings.profile import Profile
from geometry.shape.curve import Array
from geometry.shape.section import Side

#: The strip shows what lies near the rules and all below zero; larger values run off its top.
TOP_MM = 20.0
#: Where along its curve each name stands, so that names keep clear of each other.
_LABEL_AT = {"gap": 1.0, "wall": 0.2, "stock": 0.6}
_ROLES = {"gap": "shape_edge", "wall": "ink", "stock": "blank"}


class _Axis(pg.AxisItem):  # type: ignore[misc]  # the plotting library has no types
    """An axis whose numbers have a true minus sign."""

    def tickStrings(self, values: Any, scale: float, spacing: float) -> list[str]:
        """Return the texts of the ticks."""
        return [str(text).replace("-", "−") for text in super().tickStrings(values, scale, spacing)]


class ProfileStrip(QWidget):
    """Three curves of one side with their rules dashed.

    Signals:
        place_clicked(z, r): a place of the curves was clicked.
    """

    place_clicked = Signal(float, float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._shown: Shown | None = None
        self._profile: Profile | None = None
        self._needs: dict[str, Array] = {}
        self._scale = 1.0
        self._unit = ""
        self._fitted: tuple[str | None, str] | None = None  # wheel and unit that the axis was fitted to
        self.curves: dict[str, Curve] = {}
        self.plot = pg.PlotWidget(
            axisItems={side: _Axis(side) for side in ("left", "bottom")}, enableMenu=False
        )
        # Over the curves: beside the switches no sentence has room.
        self.note = QLabel(self.plot)
        self.note.move(52, 4)
        self.note.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.note.hide()
        self._make_plot()
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 2, 8, 2)
        column.setSpacing(0)
        column.addLayout(self._switches())
        column.addWidget(self.plot, 1)
        theme.changed.connect(self._dress)
        self._dress()

    def _switches(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(6)
        self.side_group, self.axis_group = QButtonGroup(self), QButtonGroup(self)
        self.sides: dict[Side, QRadioButton] = {}
        for side in (Side.BRAKE, Side.TYRE, Side.STREET):
            button = QRadioButton(spoken(side))
            button.setAccessibleName(tr("{side} side", side=side))
            self.sides[side] = button
            self.side_group.addButton(button)
            row.addWidget(button)
        self.sides[Side.BRAKE].setChecked(True)
        row.addSpacing(4)
        self.checks: dict[str, QCheckBox] = {}
        for name in QUANTITIES:
            check = QCheckBox(spoken(name))
            check.setChecked(True)
            check.toggled.connect(self._redraw)
            self.checks[name] = check
            row.addWidget(check)
        row.addStretch(1)
        self.over_z, self.along = QRadioButton(tr("over z")), QRadioButton(tr("along skin"))
        for button in (self.over_z, self.along):
            self.axis_group.addButton(button)
            row.addWidget(button)
        self.over_z.setChecked(True)
        self.side_group.buttonClicked.connect(self._redraw)
        self.axis_group.buttonClicked.connect(self._refit)
        return row

    def _make_plot(self) -> None:
        plot = self.plot
        plot.setAccessibleName(tr("Profile strip"))
        plot.hideButtons()
        plot.setMenuEnabled(False)
        plot.setMouseEnabled(x=True, y=False)
        plot.disableAutoRange()
        plot.setMinimumHeight(90)
        no_ground_below(plot)
        plot.getPlotItem().getAxis("bottom").setHeight(34)
        plot.getPlotItem().getAxis("left").setWidth(40)
        axes = [plot.getPlotItem().getAxis(side) for side in ("left", "bottom")]
        for axis in axes:
            # Its picture is kept: numbers and strokes touch what is painted anew with the curves.
            axis.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
        box = plot.getPlotItem().vb
        self.picture = StripPicture(_ROLES, self._theme, plot, axes)
        box.sigRangeChanged.connect(self._follow)
        box.sigResized.connect(self._follow)
        plot.scene().sigMouseClicked.connect(self._mouse_clicked)
        plot.installEventFilter(self)

    # Showing

    def show_state(self, shown: Shown) -> None:
        """Show another state; nothing is drawn while the outline has faults."""
        before, self._shown = self._shown, shown
        unit = unit_of(shown.project)
        unit_kept = unit == self._unit
        if not unit_kept:
            self._unit, self._scale = unit, length_in(1.0, unit)
        same_rules = before is not None and _rules_key(before) == _rules_key(shown)
        if not same_rules:
            self._needs = _needs(shown)
        if same_rules and before is not None and before.outline is shown.outline and unit_kept:
            return
        self._profile = shown.profile
        if self._fitted == (_name(shown.wheel), unit):
            self._redraw()  # also where curves come back after a fault: the axis stays as it is
        else:
            self._refit()

    def _side(self) -> Side:
        return next(side for side, button in self.sides.items() if button.isChecked())

    def _redraw(self) -> None:
        self.curves = {}
        if self._profile is not None:
            needs = {name: self._needs[name] for name in QUANTITIES if self.checks[name].isChecked()}
            self.curves = curves(self._profile, needs, self._side(), self.along.isChecked())
        found = ((name, _label_place(name, curve)) for name, curve in self.curves.items())
        places = {name: at for name, at in found if at is not None}
        self.picture.set_curves(self.curves, self._scale, places)
        words = self._words()
        if words != self.note.text():
            self.note.setText(words)
            self.note.adjustSize()
            self.note.setVisible(bool(words))
        self._follow_lowest()
        if self._shown is None or not self._shown.dragging:
            self.plot.setAccessibleDescription(self.said())

    def _follow(self, *_: object) -> None:
        """Draw the grid for what is in view: every 10 by 5 mm, or half by a quarter inch."""
        box = self.plot.getPlotItem().vb
        dx, dy = (10.0, 5.0) if self._unit != "in" else (0.5, 0.25)
        frame = QRect(box.scenePos().toPoint(), box.rect().size().toSize()).adjusted(0, 0, 1, 1)
        self.picture.follow(frame, box.childTransform(), box.viewRect(), dx, dy)

    def _follow_lowest(self) -> None:
        """Show the curves to their lowest value; while a gesture is under way nothing moves."""
        if self._shown is not None and self._shown.dragging:
            return
        found = [c.value_mm for c in self.curves.values() if np.isfinite(c.value_mm).any()]
        lowest = min((float(np.nanmin(values)) for values in found), default=0.0)
        bottom = 5.0 * np.floor(min(lowest, 0.0) / 5.0) - 1.0
        self.plot.setYRange(bottom * self._scale, (TOP_MM + 1.0) * self._scale, padding=0.0)

    def _words(self) -> str:
        if self._shown is None or self._shown.wheel is None:
            return tr("No wheel.")
        if self._profile is None:
            return tr("No curves while the outline has faults.")
        missing = [name for name, c in self.curves.items() if not np.isfinite(c.value_mm).any()]
        if not missing:
            return ""
        return ", ".join(tr("no {curve}", curve=spoken(name)) for name in missing)

    def said(self) -> str:
        """Return what the curves say, as sentences: of each the least value and where it lies."""
        numbers = Numbers(unit_of(self._shown.project)) if self._shown is not None else Numbers("mm")
        words = []
        for name, curve in self.curves.items():
            if np.isfinite(curve.value_mm).any():
                k = int(np.nanargmin(curve.value_mm))
                where = tr("along the skin") if self.along.isChecked() else "z"
                words.append(
                    tr(
                        "Least {name} {value} {unit} at {where} {place}.",
                        name=spoken(name),
                        value=minus(numbers.length(float(curve.value_mm[k]))),
                        unit=numbers.unit,
                        where=where,
                        place=minus(numbers.length(float(curve.at_mm[k]))),
                    )
                )
        return " ".join([tr("{side} side", side=spoken(str(self._side()))) + ".", *words, self.note.text()])

    def _refit(self) -> None:
        """Redraw and show the whole of the axis."""
        self._redraw()
        shown = self._shown if self._profile is not None else None
        self._fitted = (_name(shown.wheel), self._unit) if shown is not None else None
        axis = tr("along the skin") if self.along.isChecked() else "z"
        self.plot.setLabel("bottom", f"{axis}, {self._unit or 'mm'}")
        spans = [c.at_mm for c in self.curves.values() if len(c.at_mm)]
        low, high = (min(s[0] for s in spans), max(s[-1] for s in spans)) if spans else (-200.0, 120.0)
        self.plot.setXRange((low - 5.0) * self._scale, (high + 25.0) * self._scale, padding=0.0)
        self._follow()

    def _dress(self) -> None:
        colours = self._theme
        self.plot.setBackground(colours.colour("paper"))
        self.note.setStyleSheet(f"color: {colours.colours.quiet}; background: {colours.colours.paper}")
        self.picture.dress()
        for side in ("left", "bottom"):
            axis = self.plot.getPlotItem().getAxis(side)
            axis.setPen(pg.mkPen(colours.colour("hairline")))
            axis.setTextPen(pg.mkPen(colours.colour("quiet")))

    # The person's clicks and keys

    def _mouse_clicked(self, event: Any) -> None:
        if event.button() is Qt.MouseButton.LeftButton:
            at: QPointF = self.plot.getPlotItem().vb.mapSceneToView(event.scenePos())
            self.click(at.x() / self._scale, at.y() / self._scale)

    def click(self, at_mm: float, value_mm: float) -> None:
        """Go to the place of the curve nearest to a place of the strip."""
        if self._profile is None:
            return
        k = nearest(self.curves, at_mm, value_mm, reach_mm=6.0)
        if k is not None:
            self.place_clicked.emit(float(self._profile.z[k]), float(self._profile.r[k]))

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        """Home shows the whole axis again, also after a zoom by the wheel."""
        if watched is self.plot and isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress:
            home = event.key() == Qt.Key.Key_Home
            if home:
                self._refit()
                return True
        return super().eventFilter(watched, event)


def _rules_key(shown: Shown) -> tuple[object, ...]:
    """What decides profile and rules beside the outline itself."""
    project, wheel = shown.project, shown.wheel
    held = (wheel.clears, wheel.rules, wheel.blank, wheel.seat_mm) if wheel is not None else ()
    return (*held, project.shapes, project.blanks, project.rule_sets)


def _needs(shown: Shown) -> dict[str, Array]:
    """Return the rule of each zone for every quantity."""
    wheel, project = shown.wheel, shown.project
    names = wheel.clears if wheel is not None else ()
    rules = next((r for r in project.rule_sets if wheel is not None and r.name == wheel.rules), None)
    kinds = {shape.kind for shape in project.shapes if shape.name in names}
    return {name: required(name, rules, kinds) for name in QUANTITIES}


def _label_place(name: str, found: Curve) -> int | None:
    """Return the place of a curve where its name stands, None where nothing of it is in view."""
    inside = (found.value_mm <= TOP_MM * 0.9).nonzero()[0]
    return int(inside[round((len(inside) - 1) * _LABEL_AT[name])]) if len(inside) else None


def _name(wheel: Wheel | None) -> str | None:
    return wheel.name if wheel else None
