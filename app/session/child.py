"""A child process that works for the window, one piece after the other; no Qt here.

Long numeric work in a thread makes the window wait for the interpreter's lock at every stroke that it paints.
A child runs beside it, at a lower priority, and what it keeps in its modules stays from piece to piece.
"""

from __future__ import annotations

import contextlib
import os
import select
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
_NICE = 10
#: How long a child that is ended may take before it is killed, s.
_LAST_S = 1.0


class ChildError(Exception):
    """The child has no answer: it ended, or the work failed in a way that it does not explain."""


class StoppedError(ChildError):
    """The work was stopped before it was done."""


_NO_ANSWER = "The work ended without an answer, likely for want of memory."


class Child:
    """Works in a process of its own, started with the first piece.

    A piece that says how far it is waits in a thread (`ask`, one thread at a time). Short pieces of a drag
    are begun and looked after by the window itself (`begin`, `answer`): a thread would take the
    interpreter's lock from it in the middle of a frame.
    """

    def __init__(self) -> None:
        self._link: Connection | None = None
        self._process: BaseProcess | None = None
        self._changes = threading.Lock()
        self._is_ready = False
        self._held: tuple[Callable[..., Any], tuple[Any, ...]] | None = None

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
                elif kind != "ready":
                    return _answer(kind, value)
        except (EOFError, OSError) as error:
            if self._link is not link:  # ended from another thread
                raise StoppedError("stopped") from error
            self.end()
            raise ChildError(_NO_ANSWER) from error

    def begin(self, work: Callable[..., Any], *args: Any) -> None:
        """Begin `work(*args, progress)` without waiting; `answer` has what it finds.

        Raises:
            ChildError: the child ended.
        """
        try:
            link = self._started()
            if self._is_ready:
                link.send((work, args))
            else:
                self._held = (work, args)  # a link that nobody reads yet may be too small for it
        except OSError as error:
            self.end()
            raise ChildError(_NO_ANSWER) from error

    def answer(self) -> Any:
        """Return what the piece that was begun found; None while it is being worked out.

        Raises:
            GeometryError: the work refused what it was given.
            ChildError: the child ended, or the work failed otherwise.
        """
        link = self._link
        try:
            while link is not None and _is_there(link):
                kind, value = link.recv()
                if kind == "ready":
                    self._is_ready = True
                    if self._held is not None:
                        link.send(self._held)
                        self._held = None
                elif kind != "told":
                    return _answer(kind, value)
        except (EOFError, OSError) as error:
            self.end()
            raise ChildError(_NO_ANSWER) from error
        return None

    def end(self) -> None:
        """End the child at once, and see it gone; who waits for an answer gets a StoppedError."""
        with self._changes:
            process, self._process, self._link = self._process, None, None
            self._is_ready, self._held = False, None
        if process is not None:
            process.terminate()
            process.join(_LAST_S)
            if process.is_alive():
                process.kill()
                process.join()

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


def _is_there(link: Connection) -> bool:
    """Return True where something can be read, or the other end is gone.

    Asked every few milliseconds of a drag: the connection's own question takes ten times as long.
    """
    if not hasattr(select, "poll"):
        return link.poll()
    asked = select.poll()
    asked.register(link.fileno(), select.POLLIN)
    return bool(asked.poll(0))


def _answer(kind: str, value: Any) -> Any:
    """Return what the child found, or raise what kept it from it."""
    if kind == "done":
        return value
    if kind == "refused":
        raise GeometryError(value)
    raise ChildError(f"The work failed: {value}")


def _serve(link: Connection) -> None:
    """Work off what comes over a link until it closes; runs in the child."""
    if hasattr(os, "nice"):
        os.nice(_NICE)
    # One thread: a second one would work on the core that the window paints with. Read when numpy is loaded.
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")

    def tell(done: int, of: int, words: str) -> None:
        link.send(("told", (done, of, words)))

    with contextlib.suppress(EOFError, OSError):
        link.send(("ready", None))
        while True:
            work, args = link.recv()
            try:
                answer = ("done", work(*args, tell))
            except GeometryError as error:
                answer = ("refused", str(error))
            except Exception as error:  # said in the window; the next piece is another matter
                answer = ("failed", f"{type(error).__name__}: {error}")
            link.send(answer)
