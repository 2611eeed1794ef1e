"""The whole wheel shaded: a drag or the arrow keys turn it; it is drawn coarse at once and fine after."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QImage, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.language import tr
from app.reports.shaded import RAISED_DEG, TURNED_DEG, Shaded
from app.views.theme import Theme

#: Degrees for a pixel of a drag and for an arrow key; the eye stays before the wheel.
_DEG_A_PIXEL, _STEP_DEG, _MOST_DEG = 0.4, 8.0, 75.0
_ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


class ShadedPicture(QWidget):
    """Shows a picture and asks for another when it is turned.

    Signals:
        turned(): the eye moved; `turned_deg` and `raised_deg` say where to.
    """

    turned = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.turned_deg, self.raised_deg = TURNED_DEG, RAISED_DEG
        self.why = ""
        self.image: QImage | None = None
        self._dragged: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(tr("The whole wheel, shaded"))
        self.setAccessibleDescription(tr("A drag or the arrow keys turn it, Home turns it back."))
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return room for a wheel."""
        return QSize(520, 520)

    def show_picture(self, picture: Shaded | None, why: str = "") -> None:
        """Show a picture, or say why there is none."""
        self.why, self.image = why, None
        if picture is not None:
            size = picture.size
            grey = QImage(picture.grey, size, size, size, QImage.Format.Format_Grayscale8)
            image = grey.convertToFormat(QImage.Format.Format_ARGB32)
            image.setAlphaChannel(QImage(picture.alpha, size, size, size, QImage.Format.Format_Alpha8))
            self.image = image
        self.update()

    def _turn(self, right: float, up: float) -> None:
        self.turned_deg = min(max(self.turned_deg + right, -_MOST_DEG), _MOST_DEG)
        self.raised_deg = min(max(self.raised_deg + up, -_MOST_DEG), _MOST_DEG)
        self.turned.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the wheel."""
        self._dragged = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Turn it with the pointer."""
        if self._dragged is not None:
            by = event.position() - self._dragged
            self._dragged = event.position()
            self._turn(-by.x() * _DEG_A_PIXEL, by.y() * _DEG_A_PIXEL)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let it go."""
        self._dragged = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn by the arrow keys; Home turns back."""
        key = Qt.Key(event.key())
        if key in _ARROWS:
            right, up = _ARROWS[key]
            self._turn(right * _STEP_DEG, up * _STEP_DEG)
        elif key is Qt.Key.Key_Home:
            self.turned_deg, self.raised_deg = TURNED_DEG, RAISED_DEG
            self.turned.emit()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the picture as large as there is room."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._theme.colour("paper"))
        if self.image is None:
            painter.setPen(self._theme.colour("quiet"))
            room = QRectF(self.rect()).adjusted(20.0, 20.0, -20.0, -20.0)
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self.why)
            return
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        side = min(self.width(), self.height())
        place = QRectF((self.width() - side) / 2.0, (self.height() - side) / 2.0, side, side)
        painter.drawImage(place, self.image)
