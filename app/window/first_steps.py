"""Three things to try, shown over the drawing from the first start on, each ticked when it was done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy

from app import resources
from app.language import tr
from app.window.key_bindings import native

if TYPE_CHECKING:
    from app.window.main_window import MainWindow

_SAMPLE = "1-track-18-own-blank"
_OPEN, _DONE = "☐", "☑"

#: What is to be tried; {key} is that of the action which ticks it, and the first is ticked by a drag.
STEPS = {
    "drag": tr("Drag a vertex of the spoke back towards the brake: the gap follows."),
    "explain": tr("Choose a reading at the right and press {key}: what does it mean?"),
    "commands": tr("Press {key} and type what you want to do."),
}


class FirstSteps(QFrame):
    """A strip of three steps; closed for good it stays away until Help, First steps.

    Attributes:
        labels: the words of each step, by its name. close_button: closes it for good.
    """

    def __init__(self, window: MainWindow) -> None:
        super().__init__()
        self._window = window
        self.setAutoFillBackground(True)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 8, 12, 8)
        row.setSpacing(20)
        head = QLabel(tr("Three things to try"))
        font = head.font()
        font.setBold(True)
        head.setFont(font)
        row.addWidget(head)
        self.labels: dict[str, QLabel] = {}
        for name in STEPS:
            label = self.labels[name] = QLabel()
            label.setWordWrap(True)
            row.addWidget(label, 1)
        self.close_button = QPushButton(tr("Close for good"))
        self.close_button.setToolTip(tr("Help, First steps brings it back"))
        self.close_button.clicked.connect(self.close_for_good)
        row.addWidget(self.close_button)
        self.hide()

    def follow(self) -> None:
        """Watch for what is done; the window has its actions and keys now."""
        window = self._window
        for name in ("explain", "commands"):
            window.actions_by_name[name].triggered.connect(lambda _on=False, name=name: self.tick(name))
        window.document.undo_stack.undoTextChanged.connect(self._look)
        window.keys.changed.connect(self._write)
        self._write()

    def begin(self, opened: bool) -> None:
        """Show the steps at a start, over a sample where it is the first and nothing else was opened."""
        settings = self._window.settings
        if settings.first_steps_closed:
            return
        if not opened and not settings.was_started:
            self._window.files.open_path(resources.sample(_SAMPLE))
        settings.was_started = True
        self.show()

    def show_again(self) -> None:
        """Show the steps anew, over the sample where no wheel is there to try them on."""
        settings = self._window.settings
        settings.first_steps_closed = False
        settings.first_steps = frozenset()
        if self._window.document.wheel is None:
            self._window.files.open_path(resources.sample(_SAMPLE))
        self._write()
        self.show()

    def close_for_good(self) -> None:
        """Stay away from now on."""
        self._window.settings.first_steps_closed = True
        self.hide()
        self._window.say(tr("Help, First steps shows it again."))

    def tick(self, name: str) -> None:
        """Keep that a step was done, while the steps are shown."""
        if self.isVisible():
            self._window.settings.first_steps |= {name}
            self._write()

    def _look(self, undo_text: str) -> None:
        if undo_text.startswith(tr("Move vertex")):
            self.tick("drag")

    def _write(self) -> None:
        done = self._window.settings.first_steps
        for name, words in STEPS.items():
            key = native(self._window.keys.key(name)) if name in self._window.actions_by_name else ""
            sign = _DONE if name in done else _OPEN
            self.labels[name].setText(f"{sign} {words.format(key=key or tr('Help'))}")
            self.labels[name].setForegroundRole(
                QPalette.ColorRole.PlaceholderText if name in done else QPalette.ColorRole.WindowText
            )
