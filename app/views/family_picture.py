"""The family of blanks: outlines over one another in one frame, each in its own line, with its mass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QTransform
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.language import tr
from app.project.project import Project
from app.reports.blank_masses import WHEEL_COLOURS
from app.reports.numbers import Numbers, unit_of
from app.studies.roadmap.coverage import PROVED
from app.studies.roadmap.plan_tables import blank_kg
from app.views.canvas.items import painter_path
from app.views.programme_words import UNPROVED_WORDS
from app.views.theme import Theme, figures
from geometry.shape.curve import Path
from geometry.shape.outline import outline_path

#: Line of each blank, one after the other, in widths of the pen; empty is a full line.
_DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (7.0, 3.0),
    (2.0, 2.5),
    (9.0, 3.0, 2.0, 3.0),
    (9.0, 2.5, 2.0, 2.5, 2.0, 2.5),
    (14.0, 4.0),
    (4.0, 4.0),
    (14.0, 3.0, 4.0, 3.0),
)
_ROOM, _LEGEND, _LINE = 24.0, 210.0, 38.0


@dataclass(frozen=True)
class Member:
    """A blank of the family: its outline, and what is said of it."""

    name: str
    path: Path
    kg: float | None
    below: str


def members(project: Project, names: Sequence[str]) -> tuple[Member, ...]:
    """Return the blanks of these names that have an outline, the heaviest first."""
    held = {blank.name: blank for blank in project.blanks}
    found = []
    for name in names:
        path = outline_path(held[name].corners) if name in held else None
        if isinstance(path, Path):
            blank = held[name]
            tried = "" if blank.state in PROVED else f", {UNPROVED_WORDS}"
            supply = tr("own dies") if blank.supply == "own" else str(blank.supply)
            found.append(Member(name, path, blank_kg(project, name), f"{supply}{tried}"))
    return tuple(sorted(found, key=lambda m: (-(m.kg or 0.0), m.name)))


class FamilyPicture(QWidget):
    """Draws the half-sections of the chosen blanks, their outboard ends flush."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.members: tuple[Member, ...] = ()
        self._numbers = Numbers("mm")
        self.setFont(figures(self.font()))
        self._small = figures(self.font(), 0.86)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(360, 220)
        self.setAccessibleName(tr("The family of blanks"))
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for half-sections and their names."""
        return QSize(640, 360)

    def show_family(self, project: Project, names: Sequence[str]) -> None:
        """Show other blanks."""
        self.members, self._numbers = members(project, names), Numbers(unit_of(project))
        self.setAccessibleDescription(
            "; ".join(f"{m.name}, {self._mass(m)}, {m.below}" for m in self.members)
        )
        self.update()

    def clear(self) -> None:
        """Show no blank."""
        self.members = ()
        self.update()

    def _mass(self, member: Member) -> str:
        return tr("mass not known") if member.kg is None else self._numbers.mass(member.kg, 1)

    def _to_pixels(self) -> QTransform:
        bounds = [m.path.bounds for m in self.members]
        length, radius = max(b[1] - b[0] for b in bounds), max(b[3] for b in bounds)
        room = QRectF(self.rect()).adjusted(_ROOM, _ROOM + 10.0, -_LEGEND - _ROOM, -_ROOM - 14.0)
        scale = max(min(room.width() / length, room.height() / radius), 1e-3)
        right = room.center().x() + scale * length / 2.0
        return QTransform(scale, 0.0, 0.0, -scale, right, room.center().y() + scale * radius / 2.0)

    def _pen(self, k: int) -> QPen:
        colour = QColor(WHEEL_COLOURS[k % len(WHEEL_COLOURS)])
        pen = QPen(colour.lighter(150) if self._theme.dark else colour, 1.6)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
        dashes = _DASHES[k % len(_DASHES)]
        if dashes:
            pen.setDashPattern(list(dashes))
        return pen

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the axle line, the outlines, and beside them what each is."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        painter.setPen(self._theme.colour("ink"))
        painter.drawText(QPointF(10.0, 19.0), tr("Blanks of the plan, outboard ends flush"))
        if not self.members:
            painter.setPen(self._theme.colour("quiet"))
            painter.drawText(self.rect(), int(Qt.AlignmentFlag.AlignCenter), tr("No blank is used yet."))
            return
        to_pixels = self._to_pixels()
        length = max(m.path.bounds[1] - m.path.bounds[0] for m in self.members)
        painter.setPen(QPen(self._theme.colour("quiet"), 0.8, Qt.PenStyle.DashDotLine))
        painter.drawLine(to_pixels.map(QPointF(-length - 8.0, 0.0)), to_pixels.map(QPointF(8.0, 0.0)))
        for k, member in enumerate(self.members):
            shape = to_pixels.map(painter_path(member.path.moved(dz=-member.path.bounds[1])))
            if k == 0:
                ground = self._theme.colour("blank")
                ground.setAlpha(26)
                painter.fillPath(shape, ground)
            painter.strokePath(shape, self._pen(k))
        # Many blanks stand closer, without their second line.
        line = min(_LINE, (self.height() - 52.0) / len(self.members))
        x, y = self.width() - _LEGEND, 44.0
        for k, member in enumerate(self.members):
            painter.setPen(self._pen(k))
            painter.drawLine(QLineF(x, y - 4.0, x + 34.0, y - 4.0))
            painter.setPen(self._theme.colour("ink"))
            painter.setFont(self.font())
            name = painter.fontMetrics().elidedText(member.name, Qt.TextElideMode.ElideMiddle, 64)
            painter.drawText(QPointF(x + 42.0, y), f"{name}  {self._mass(member)}")
            if line >= 30.0:
                painter.setFont(self._small)
                painter.setPen(self._theme.colour("quiet"))
                painter.drawText(QPointF(x + 42.0, y + 15.0), member.below)
            y += line
        painter.setFont(self.font())
