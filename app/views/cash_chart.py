"""Cash of a plan by year as bars: what comes in upwards, what is paid downwards, and the sum so far."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from app.language import tr
from app.studies.programme.plans import Plan, YearSums
from app.studies.roadmap.plan_words import latest_words
from app.views.money_chart import CENTRE, LEFT, RIGHT, TOP, MoneyChart
from app.views.programme_words import money
from app.views.readings_text import minus
from app.views.theme import Theme

#: Parts of a year's bar, colour and pattern: told apart in grey.
_PARTS = (
    (tr("contribution"), "clear", Qt.BrushStyle.NoBrush),
    (tr("pieces and cutting"), "blank", Qt.BrushStyle.SolidPattern),
    (tr("paid once"), "shape_edge", Qt.BrushStyle.BDiagPattern),
)
_LANE, _YEAR = 18.0, 34.0


class CashBars(MoneyChart):
    """Draws the years of a plan, and under them by when each die must be ordered."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, tr("Cash by year"), tr("No plan yet."), parent)
        self.years: tuple[YearSums, ...] = ()
        self.orders: tuple[tuple[str, float], ...] = ()

    def sizeHint(self) -> QSize:
        """Return room for ten years."""
        return QSize(640, 280)

    def show_plan(self, plan: Plan | None, orders: Sequence[tuple[str, float]], currency: str) -> None:
        """Show another plan.

        Args:
            plan: whose years are drawn.
            orders: name and latest order, in years, of what is still to be ordered.
            currency: of the project.
        """
        self.years, self._currency = plan.years if plan is not None else (), currency
        self.orders = tuple(sorted(orders, key=lambda o: o[1])) if self.years else ()
        self.setAccessibleDescription(self.words())
        self.setToolTip(self.words())
        self.update()

    def words(self) -> str:
        """Return the years, and what must be ordered by when."""
        said = [
            tr(
                "{year}: paid once {invested}, pieces and cutting {cost}, contribution "
                "{contribution}, so far {so_far}",
                year=y.year,
                invested=money(y.invested),
                cost=money(y.cost - y.invested),
                contribution=money(y.contribution),
                so_far=money(so_far),
            )
            for y, so_far in zip(self.years, self.so_far(), strict=True)
        ]
        said += [
            tr("order {name} by the end of {latest_words}", name=name, latest_words=latest_words(latest))
            for name, latest in self.orders
        ]
        return minus("\n".join(said))

    def so_far(self) -> list[float]:
        """Return the cash of all years up to each."""
        return list(accumulate(y.cash for y in self.years))

    # Where things lie

    def _room(self) -> QRectF:
        under = _LANE * len({self._lane(k) for k in range(len(self.orders))})
        return QRectF(LEFT, TOP + 16.0, self.width() - LEFT - RIGHT, self.height() - TOP - 46.0 - under)

    def _span(self) -> tuple[int, int]:
        years = [y.year for y in self.years]
        return min([*years, *(math.floor(latest) for _, latest in self.orders)]), max(years)

    def x_of(self, moment: float) -> float:
        """Return the pixel of a moment; a year runs from its start to the next."""
        first, last = self._span()
        return LEFT + (moment - first) / (last + 1 - first) * (self.width() - LEFT - RIGHT)

    def _each(self) -> int:
        """Return every how many years one is named: none over another."""
        return math.ceil(_YEAR / (self.x_of(1.0) - self.x_of(0.0)))

    def _lane(self, k: int) -> int:
        """Return the line under the years in which the k-th order is named: none over another."""
        ends: list[float] = []
        for j, (name, latest) in enumerate(self.orders):
            x, wide = (
                self.x_of(latest),
                self.fontMetrics().horizontalAdvance(_order_words(name, latest)) + 22.0,
            )
            lane = next((i for i, end in enumerate(ends) if end <= x), len(ends))
            ends[lane : lane + 1] = [x + wide]
            if j == k:
                return lane
        return 0

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw axes, a bar of three parts for each year, the sum so far, and latest orders."""
        painter = self._begun(bool(self.years))
        if not self.years:
            return
        sums = self.so_far()
        high = max([0.0, *sums, *(y.contribution for y in self.years)])
        low = min([0.0, *sums, *(-y.cost for y in self.years)])
        spare = 0.05 * max(high - low, 1.0)
        low, high = low - spare, high + spare
        _, words = self._money_axis(painter, low, high)
        self._right_of_title(painter, ", ".join(w for w in (words, tr("not discounted")) if w))
        self._paint_legend(painter)
        room = self._room()

        def y_of(value: float) -> float:
            return room.bottom() - (value - low) / (high - low) * room.height()

        for year in self.years:
            running = year.cost - year.invested
            ends = ((0.0, year.contribution), (0.0, -running), (-running, -year.cost))
            for (start, end), (_, role, pattern) in zip(ends, _PARTS, strict=True):
                if end != start:
                    self._paint_bar(painter, self._bar(year.year, y_of(start), y_of(end)), role, pattern)
            if (year.year - self.years[-1].year) % self._each() == 0:
                self._paint_year(painter, year.year)
        at = [QPointF(self.x_of(y.year + 0.5), y_of(s)) for y, s in zip(self.years, sums, strict=True)]
        painter.setPen(QPen(self._theme.colour("ink"), 1.6))
        painter.setBrush(self._theme.colour("paper"))
        painter.drawPolyline(QPolygonF(at))
        for point in at:
            painter.drawEllipse(point, 2.8, 2.8)
        self._paint_orders(painter)

    def _bar(self, year: int, one: float, other: float) -> QRectF:
        left, right = self.x_of(year + 0.24), self.x_of(year + 0.76)
        return QRectF(left, min(one, other), right - left, abs(one - other))

    def _paint_year(self, painter: QPainter, year: int) -> None:
        painter.setPen(self._theme.colour("quiet"))
        painter.setFont(self._small)
        left, right = self.x_of(year + 0.5) - _YEAR, self.x_of(year + 0.5) + _YEAR
        under = QRectF(left, self._room().bottom() + 3.0, right - left, 16.0)
        painter.drawText(under, int(CENTRE), str(year))
        painter.setFont(self.font())

    def _paint_bar(self, painter: QPainter, box: QRectF, role: str, pattern: Qt.BrushStyle) -> None:
        colour = self._theme.colour(role)
        ground = QColor(colour)
        ground.setAlpha(120 if pattern is Qt.BrushStyle.SolidPattern else 36)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(ground)
        painter.drawRect(box)
        painter.setPen(QPen(colour, 1.0))
        painter.setBrush(QBrush(colour, pattern) if pattern is Qt.BrushStyle.BDiagPattern else QBrush())
        painter.drawRect(box)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _paint_legend(self, painter: QPainter) -> None:
        painter.setFont(self._small)
        metrics = painter.fontMetrics()
        x, y = 10.0, TOP + 4.0
        for name, role, pattern in _PARTS:
            self._paint_bar(painter, QRectF(x, y - 9.0, 12.0, 9.0), role, pattern)
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(QPointF(x + 17.0, y), name)
            x += metrics.horizontalAdvance(name) + 32.0
        painter.setPen(QPen(self._theme.colour("ink"), 1.6))
        painter.drawLine(QLineF(x, y - 4.0, x + 16.0, y - 4.0))
        painter.setPen(self._theme.colour("quiet"))
        painter.drawText(QPointF(x + 21.0, y), tr("cash so far"))
        painter.setFont(self.font())

    def _paint_orders(self, painter: QPainter) -> None:
        room = self._room()
        painter.setFont(self._small)
        ink = self._theme.colour("ink")
        for k, (name, latest) in enumerate(self.orders):
            x, y = self.x_of(latest), room.bottom() + 34.0 + _LANE * self._lane(k)
            painter.setPen(QPen(ink, 0.9, Qt.PenStyle.DashLine))
            painter.drawLine(QPointF(x, room.top()), QPointF(x, y - 4.0))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(ink)
            painter.drawPolygon([QPointF(x, y - 9.0), QPointF(x + 4.5, y), QPointF(x - 4.5, y)])
            painter.setPen(ink)
            words = _order_words(name, latest)
            wide = painter.fontMetrics().horizontalAdvance(words)
            at = x + 8.0 if x + 8.0 + wide < self.width() - 4.0 else x - 8.0 - wide
            painter.drawText(QPointF(at, y), words)
        painter.setFont(self.font())


def _order_words(name: str, latest: float) -> str:
    return tr("order {name} by end of {latest_words}", name=name, latest_words=latest_words(latest))
