"""Work in the background: a call in a thread, its result back in the event loop.

Of jobs under one name only the newest counts: the result of an older one is dropped. A job cannot be broken
off, so what is started here ends by itself (a reader's child process has its own time limit).
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal


class _Result(QObject):
    came = Signal(str, int, object, object)  # name, number, value, error


class _Job(QRunnable):
    def __init__(self, name: str, number: int, work: Callable[[], Any], result: _Result) -> None:
        super().__init__()
        self._name, self._number, self._work, self._result = name, number, work, result

    def run(self) -> None:
        value: Any = None
        error: Exception | None = None
        try:
            value = self._work()
        except Exception as raised:  # handed to the caller's `failed` in the event loop
            error = raised
        with suppress(RuntimeError):  # the program has ended meanwhile, and its signals with it
            self._result.came.emit(self._name, self._number, value, error)


class Jobs(QObject):
    """Runs calls in threads.

    Signals:
        busy(words): what is being worked on, empty when nothing is.
    """

    busy = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # Neither is a child of this object: it may go while a job runs, without waiting for it.
        self._pool = QThreadPool.globalInstance()
        self._result = _Result()
        self._result.came.connect(self._take)
        self._number = 0
        self._waiting: dict[str, tuple[int, Callable[[Any], None], Callable[[Exception], None]]] = {}

    def start(
        self,
        name: str,
        work: Callable[[], Any],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """Run `work` in a thread; then call `done` with its value, or `failed` with its exception, here.

        `name` is shown while it runs; a newer job under the same name replaces an older one.
        """
        self._number += 1
        self._waiting[name] = (self._number, done, failed)
        self.busy.emit(name)
        self._pool.start(_Job(name, self._number, work, self._result))

    def drop(self, name: str) -> None:
        """Forget a job: its result is not wanted any more."""
        if self._waiting.pop(name, None) is not None:
            self._tell()

    @property
    def is_busy(self) -> bool:
        """True while a result is awaited."""
        return bool(self._waiting)

    @staticmethod
    def wait(milliseconds: int = -1) -> bool:
        """Wait until every job of the program has ended; results still come through the event loop."""
        return QThreadPool.globalInstance().waitForDone(milliseconds)

    def _take(self, name: str, number: int, value: Any, error: Exception | None) -> None:
        waiting = self._waiting.get(name)
        if waiting is None or waiting[0] != number:
            return
        del self._waiting[name]
        self._tell()
        if error is not None:
            waiting[2](error)
        else:
            waiting[1](value)

    def _tell(self) -> None:
        self.busy.emit(next(iter(self._waiting), ""))
