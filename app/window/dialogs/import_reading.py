"""Reading a file beside the window: the newest request counts, an older one is broken off, any can be."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.files.readers.answer import CancelledError, ReadOutline
from app.files.readers.read import Options
from app.language import tr
from app.session.jobs import Jobs
from app.window.dialogs.import_drawn import Drawn, drawn

Read = Callable[..., ReadOutline]
Ask = Callable[[], Options]

#: How long typing must pause before the file is read again, ms.
_PAUSE_MS = 300
_TICK_MS = 100
_JOB = "reading"


class Reading(QObject):
    """Reads one file again and again as it is asked.

    Signals:
        came(ReadOutline, Drawn): an answer, and what the picture needs of it.
        failed(Exception): nothing came: what the reader said, or what keeps it from being asked.
        changed(): reading began, goes on or ended.
    """

    came = Signal(object, object)
    failed = Signal(object)
    changed = Signal()

    def __init__(self, path: Path, read: Read, ask: Ask, parent: QObject) -> None:
        super().__init__(parent)
        self._path, self._read, self._ask = path, read, ask
        self.jobs = Jobs(self)
        self._stop = threading.Event()
        self._began = self._took_s = 0.0
        self._pause, self._clock = QTimer(self), QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_PAUSE_MS)
        self._pause.timeout.connect(self.start)
        self._clock.setInterval(_TICK_MS)
        self._clock.timeout.connect(self.changed)

    @property
    def is_under_way(self) -> bool:
        """True while an answer is awaited, or typing has not paused."""
        return self._pause.isActive() or self.jobs.is_busy

    @property
    def seconds(self) -> float:
        """How long the reading under way has taken, or the last one took."""
        return time.monotonic() - self._began if self.jobs.is_busy else self._took_s

    def soon(self) -> None:
        """Read again when typing has paused."""
        self._break_off()
        self._pause.start()
        self.changed.emit()

    def start(self) -> None:
        """Read again now, as the fields ask."""
        self._break_off()
        self._stop = threading.Event()
        self._began = time.monotonic()
        try:
            how = self._ask()
        except ValueError as error:
            self.failed.emit(error)
            self.changed.emit()
            return
        work = partial(_answer, self._read, self._path, how, self._stop)
        self.jobs.start(_JOB, work, self._came, self._failed)
        self._clock.start()
        self.changed.emit()

    def stop(self) -> None:
        """Break off what is under way."""
        if self.is_under_way:
            self._break_off()
            self._ended()
            self.failed.emit(
                CancelledError(tr("Reading was stopped. Press 'Read again', or change something."))
            )

    def close(self) -> None:
        """Break off what is under way, for good."""
        self._break_off()
        self._clock.stop()

    def _break_off(self) -> None:
        self._pause.stop()
        self._stop.set()
        self.jobs.drop(_JOB)

    def _ended(self) -> None:
        self._took_s = time.monotonic() - self._began
        self._clock.stop()
        self.changed.emit()

    def _came(self, both: tuple[ReadOutline, Drawn]) -> None:
        self._ended()
        self.came.emit(*both)

    def _failed(self, error: Exception) -> None:
        self._ended()
        self.failed.emit(error)


def _answer(read: Read, path: Path, how: Options, stop: threading.Event) -> tuple[ReadOutline, Drawn]:
    found = read(path, cancelled=stop.is_set, **how)
    return found, drawn(found)
