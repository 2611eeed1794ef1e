"""What a plan rests on as pictures: cost over the number of dies, and what is lost without each."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from app.language import tr
from app.studies.programme.inputs import Question
from app.studies.programme.plans import Plan
from app.studies.programme.worth import DieWorth
from app.studies.roadmap.plan_words import names_words
from app.views.money_chart import CENTRE, TOP, MoneyChart
from app.views.programme_words import money
from app.views.readings_text import minus
from app.views.theme import Theme

#: Room that the money of a plan takes beside others, pixels.
_LABEL = 76.0
_LATER = tr("Counted after the plan.")
_MIDDLE = int(Qt.AlignmentFlag.AlignVCenter)


class CostCurve(MoneyChart):
    """Cost, or present value where that is asked for, over the most dies that are allowed."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, tr("Cost over number of new own dies"), _LATER, parent)
        self.curve: tuple[Plan, ...] = ()
        self.chosen: int | None = None

    def show_curve(self, curve: Sequence[Plan], chosen: Plan | None, currency: str) -> None:
        """Show other plans, the chosen one's number of dies marked."""
        self.curve, self._currency = tuple(curve), currency
        self.chosen = chosen.dies if chosen is not None and chosen.is_found else None
        if curve:
            of_value = curve[0].question is Question.GREATEST_VALUE
            self._title = (
                tr("Present value over number of new own dies")
                if of_value
                else tr("Cost over number of new own dies")
            )
        self.setAccessibleDescription(self.words())
        self.setToolTip(self.words())
        self.update()

    def words(self) -> str:
        """Return the curve in words."""
        said = []
        for k, plan in enumerate(self.curve):
            sure = "" if plan.verdict in ("proven", "impossible") else tr(", not proven")
            amount = money(_height(plan), self._currency) if plan.is_found else tr("no plan")
            said.append(tr("{k} at most: {amount}{sure}", k=k, amount=amount, sure=sure))
        return minus("\n".join(said))

    def place(self, k: int, height: float) -> QPointF:
        """Return the pixel of a number of dies and a height in money."""
        low, high, room = *self._ends(), self._room()
        x = room.left() + room.width() * (k + 0.5) / len(self.curve)
        return QPointF(x, room.bottom() - (height - low) / (high - low) * room.height())

    def _ends(self) -> tuple[float, float]:
        heights = [_height(p) for p in self.curve if p.is_found]
        low, high = min([0.0, *heights]), max([0.0, *heights])
        return low, high + 0.12 * max(high - low, 1.0)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw axes, the stepped line between plans, and what each costs."""
        found = [k for k, p in enumerate(self.curve) if p.is_found]
        painter = self._begun(bool(self.curve))
        if not self.curve:
            return
        if not found:
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(self.rect(), int(CENTRE), tr("No number of dies keeps the limits."))
            return
        _, words = self._money_axis(painter, *self._ends())
        self._right_of_title(painter, words)
        painter.setPen(QPen(self._theme.colour("shape_edge"), 1.6))
        painter.drawPolyline(QPolygonF([self.place(k, _height(self.curve[k])) for k in found]))
        room = self._room()
        for k, plan in enumerate(self.curve):
            x = self.place(k, 0.0).x()
            painter.setPen(self._theme.colour("ink" if k == self.chosen else "quiet"))
            painter.drawText(QRectF(x - 40.0, room.bottom() + 4.0, 80.0, 18.0), int(CENTRE), f"{k}")
            if plan.is_found:
                self._paint_point(painter, k, plan)
            else:
                painter.setFont(self._small)
                words = tr("no plan") if plan.verdict == "impossible" else tr("not found")
                painter.drawText(QRectF(x - 40.0, room.bottom() - 20.0, 80.0, 16.0), int(CENTRE), words)
                painter.setFont(self.font())

    def _paint_point(self, painter: QPainter, k: int, plan: Plan) -> None:
        at, is_chosen = self.place(k, _height(plan)), k == self.chosen
        ink = self._theme.colour("ink")
        line = Qt.PenStyle.SolidLine if plan.verdict == "proven" else Qt.PenStyle.DotLine
        painter.setPen(QPen(ink if is_chosen else self._theme.colour("shape_edge"), 1.6, line))
        painter.setBrush(ink if is_chosen else self._theme.colour("paper"))
        painter.drawEllipse(at, 5.0 if is_chosen else 4.0, 5.0 if is_chosen else 4.0)
        ends = (0, len(self.curve) - 1)
        if not is_chosen and k not in ends and self._room().width() / len(self.curve) < _LABEL:
            return
        words = money(_height(plan))
        if is_chosen:
            words += tr(", chosen")
        if plan.verdict != "proven":
            words += tr(", not proven")
        if plan.left:
            words += tr(", {left} rows left", left=len(plan.left))
        painter.setFont(self._small)
        painter.setPen(ink)
        wide = painter.fontMetrics().horizontalAdvance(words) + 4.0
        x = min(max(at.x() - wide / 2.0, 2.0), self.width() - wide - 4.0)
        room = QRectF(x, at.y() - 24.0, wide, 16.0)
        painter.fillRect(room, self._theme.colour("paper"))
        painter.drawText(room, int(CENTRE), words)
        painter.setFont(self.font())


def _height(plan: Plan) -> float:
    return plan.value if plan.question is Question.GREATEST_VALUE else plan.cost


class WorthBars(MoneyChart):
    """What is lost without each die: a bar of money, or the must rows that nothing would serve."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, tr("Lost without each die"), _LATER, parent)
        self.worths: tuple[DieWorth, ...] = ()

    def show_worths(self, worths: Sequence[DieWorth], currency: str) -> None:
        """Show other dies."""
        self.worths, self._currency = tuple(worths), currency
        said = "\n".join(self.words(w) for w in self.worths)
        self.setAccessibleDescription(said)
        self.setToolTip(said)
        self.update()

    def words(self, worth: DieWorth) -> str:
        """Return what is lost without a die, in words."""
        if worth.orphans:
            rows = tr("row") if len(worth.orphans) == 1 else tr("rows")
            return tr(
                "{option}: nothing would serve the must {rows} {orphans}",
                option=worth.option,
                rows=rows,
                orphans=", ".join(worth.orphans),
            )
        if worth.worth is None:
            return tr("{option}: no plan without it", option=worth.option)
        sure = "" if worth.is_proven else tr(", not proven")
        return minus(f"{worth.option}: {money(worth.worth, self._currency)}{sure}")

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw a line for each die."""
        painter = self._begun(bool(self.worths))
        if not self.worths:
            return
        self._right_of_title(painter, tr("{currency} at present value", currency=self._currency).strip())
        metrics = painter.fontMetrics()
        left = min(max(metrics.horizontalAdvance(w.option) for w in self.worths) + 24.0, 150.0)
        largest = max([w.worth for w in self.worths if w.worth is not None] + [1.0])
        for k, worth in enumerate(self.worths):
            y = TOP + 10.0 + min(34.0, (self.height() - TOP - 16.0) / len(self.worths)) * k
            painter.setPen(self._theme.colour("ink"))
            name = metrics.elidedText(worth.option, Qt.TextElideMode.ElideMiddle, int(left - 16.0))
            painter.drawText(QRectF(10.0, y, left - 14.0, 22.0), _MIDDLE, name)
            room = QRectF(left, y, self.width() - left - 12.0, 22.0)
            if worth.worth is not None and not worth.orphans:
                self._paint_worth(painter, room, worth.worth / largest, worth)
                continue
            rows = tr("✕ nothing would serve {names_words}", names_words=names_words(worth.orphans, 4))
            said = rows if worth.orphans else tr("no plan without it")
            painter.setPen(self._theme.colour("short"))
            said = metrics.elidedText(said, Qt.TextElideMode.ElideRight, int(room.width()))
            painter.drawText(room, _MIDDLE, said)

    def _paint_worth(self, painter: QPainter, room: QRectF, share: float, worth: DieWorth) -> None:
        words = f"{money(worth.worth)}{'' if worth.is_proven else tr(', not proven')}"
        wide = painter.fontMetrics().horizontalAdvance(words) + 12.0
        bar = QRectF(room.left(), room.top() + 3.0, max(share, 0.0) * max(room.width() - wide, 10.0), 16.0)
        painter.setPen(QPen(self._theme.colour("blank"), 1.0))
        ground = self._theme.colour("blank")
        ground.setAlpha(110)
        painter.setBrush(ground)
        painter.drawRect(bar)
        painter.setPen(self._theme.colour("ink"))
        at = QRectF(bar.right() + 8.0, room.top(), wide, room.height())
        painter.drawText(at, _MIDDLE, minus(words))
