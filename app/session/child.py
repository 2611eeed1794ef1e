"""A child process that works for the window, one piece after the other; no Qt here.

Long numeric work in a thread makes the window wait for the interpreter's lock at every stroke that it paints.
A child runs beside it, at a lower priority, and what it keeps in its modules stays from piece to piece.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from geometry.errors import GeometryError

#: Told how far the work is: done, of how many, what is next.
Progress = Callable[[int, int, str], None]

#: How much the child gives way to the window.
_NICE = 5


class ChildError(Exception):
    """The child has no answer: it ended, or the work failed in a way that it does not explain."""


class StoppedError(ChildError):
    """The work was stopped before it was done."""


class Child:
    """Works in a process of its own, started with the first piece; `ask` from one thread at a time."""

    def __init__(self) -> None:
        self._link: Connection | None = None
        self._process: BaseProcess | None = None
        self._changes = threading.Lock()

    def ask(self, work: Callable[..., Any], *args: Any, told: Progress | None = None) -> Any:
        """Return `work(*args, progress)` as the child finds it, waiting for it.

        Args:
            work: a function of a module that imports no Qt.
            args: what it is called with; a call that says how far the work is comes last.
            told: called in this thread each time the work says so.

        Raises:
            GeometryError: the work refused what it was given.
            StoppedError: `end` was called.
            ChildError: the child ended, or the work failed otherwise.
        """
        link = None
        try:
            link = self._started()
            link.send((work, args))
            while True:
                kind, value = link.recv()
                if kind == "told":
                    if told is not None:
                        told(*value)
                elif kind == "done":
                    return value
                elif kind == "refused":
                    raise GeometryError(value)
                else:
                    raise ChildError(f"The work failed: {value}")
        except (EOFError, OSError) as error:
            if self._link is not link:  # ended from another thread
                raise StoppedError("stopped") from error
            self.end()
            raise ChildError("The work ended without an answer, likely for want of memory.") from error

    def end(self) -> None:
        """End the child at once; who waits for an answer gets a StoppedError."""
        with self._changes:
            process, self._process, self._link = self._process, None, None
        if process is not None:
            process.terminate()

    def _started(self) -> Connection:
        # Started whole before it is known: it is ended from another thread, which may not see half of it.
        with self._changes:
            if self._link is None:
                context = get_context("spawn")
                link, there = context.Pipe()
                process = context.Process(target=_serve, args=(there,), daemon=True)
                process.start()
                there.close()
                self._link, self._process = link, process
            return self._link


def _serve(link: Connection) -> None:
    """Work off what comes over a link until it closes; runs in the child."""
    if hasattr(os, "nice"):
        os.nice(_NICE)

    def tell(done: int, of: int, words: str) -> None:
        link.send(("told", (done, of, words)))

    with contextlib.suppress(EOFError, OSError):
        while True:
            work, args = link.recv()
            try:
                answer = ("done", work(*args, tell))
            except GeometryError as error:
                answer = ("refused", str(error))
            except Exception as error:  # said in the window; the next piece is another matter
                answer = ("failed", f"{type(error).__name__}: {error}")
            link.send(answer)
