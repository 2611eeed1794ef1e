"""Labels that change at every step of a drag without moving, or laying out anew, what stands beside them."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from app.views.theme import figures

_ZEROS = str.maketrans("123456789", "000000000")


class Readout(QLabel):
    """A line of numbers of a fixed size, which grows when a longer text comes and goes with its text."""

    def __init__(self, larger: float = 1.0, room_for: str = "") -> None:
        super().__init__()
        self._form = ""  # the text with every digit a 0, whose width is the text's: figures are tabular
        self.setFont(figures(self.font(), larger))
        self._room = self.fontMetrics().horizontalAdvance(room_for)
        self.setFixedSize(self._room, self.fontMetrics().height())
        self.setAutoFillBackground(True)  # so that nothing behind it is painted with it

    def show_text(self, text: str) -> None:
        """Show another text; without one the label has no more than the room it always keeps."""
        if text == self.text():
            return
        form = text.translate(_ZEROS)
        if form != self._form:
            self._form = form
            wanted = max(self._room, self.fontMetrics().horizontalAdvance(form))
            if wanted > self.width() or not text:
                self.setFixedWidth(wanted)
        self.setText(text)
        if self.accessibleName():  # which is what is spoken in place of the text
            self.setAccessibleDescription(text)


class KeptRoom(QWidget):
    """Holds a label of several lines over its whole width, and is never lower than so many lines.

    While it is held it only grows: a text that becomes shorter and longer again moves nothing below it.
    """

    def __init__(self, label: QLabel, least_lines: int) -> None:
        super().__init__()
        self.label = label
        label.setParent(self)  # no layout: a new text would have the whole window laid out anew
        label.setAutoFillBackground(True)  # so that nothing behind it is painted with it
        self._least = label.fontMetrics().lineSpacing() * least_lines
        self._needed = self._least
        self._form: tuple[str, int] | None = None  # text and width that it was fitted to, digits as 0
        self._held = False
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setSizePolicy(policy)

    def show_text(self, text: str) -> None:
        """Show another text; what lies below moves only where it needs another height."""
        self.label.setText(text)
        self.fit()

    def hold(self, held: bool) -> None:
        """Only grow from now on, or fit the text again."""
        if held != self._held:
            self._held = held
            self.fit()

    def sizeHint(self) -> QSize:
        """Return the height that the text needs at the present width."""
        return QSize(0, self._needed)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the label the whole room."""
        super().resizeEvent(event)
        self.label.setGeometry(self.rect())
        self.fit()

    def fit(self) -> None:
        """Take the height that the label's text needs."""
        form = self.label.text().translate(_ZEROS), self.width()
        if self._held and form == self._form:
            return  # figures are tabular: it breaks into the same lines
        self._form = form
        needed = max(self._least, self.label.heightForWidth(self.width()))
        if self._held:
            needed = max(needed, self._needed)
        if needed != self._needed:
            self._needed = needed
            self.updateGeometry()
            self._lay_out()

    def _lay_out(self) -> None:
        """Give the room now, from within outwards: left to events, a frame between would show too little."""
        above = self.parentWidget()
        while above is not None and (layout := above.layout()) is not None:
            layout.activate()
            above = above.parentWidget()
