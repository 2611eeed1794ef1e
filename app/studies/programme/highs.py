"""HiGHS in a process of its own, so that it can be stopped at once and says how far it is.

scipy's `milp` cannot be called back; its log can be read. The child writes it to a file that is read while it
works: the lines of the search hold the time, the bound and the best plan so far.
"""

from __future__ import annotations

import contextlib
import math
import os
import re
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from types import TracebackType

import numpy as np

from app.studies.programme.core import Answer, Problem, solved
from app.studies.programme.inputs import ProgrammeError

_LOOK_S = 0.05
#: HiGHS looks at the clock between steps, which may be long; after this it is killed.
_GRACE_S = 15.0
#: 'BestBound BestSol Gap' behind the two shares of nodes and before cuts and times.
_LINE = re.compile(rb"%\s+(\S+)\s+(\S+)\s+(?:\S+%|Large|inf|-)\s+\d+\s+\d+\s+\d+\s+\d+\s+[\d.]+s\s*$")


class CancelledError(Exception):
    """The work was stopped by the person who asked for it."""


@dataclass(frozen=True)
class Progress:
    """How far a search is.

    Attributes:
        elapsed_s: since its start.
        best, bound: of what is minimised, in the core that is being searched (see core.py), where known.
    """

    elapsed_s: float
    best: float | None = None
    bound: float | None = None


class Solver:
    """Solves problems one after the other, in one child process that lives as long as this.

    Use it in a `with` statement. In a process that may have no children (a worker of a cluster), or for many
    tiny problems, `own_process=False` solves in this one: time limits hold, cancelling waits for the answer.
    """

    def __init__(self, own_process: bool = True) -> None:
        self._own_process = own_process
        self._child: BaseProcess | None = None
        self._link: Connection | None = None
        self._log = Path()

    def __enter__(self) -> Solver:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def stop(self) -> None:
        """End the child at once."""
        if self._child is not None and self._link is not None:
            self._child.kill()
            self._child.join()
            self._link.close()
            self._child.close()
            self._log.unlink(missing_ok=True)
        self._child = self._link = None

    def run(
        self,
        problem: Problem,
        time_limit_s: float,
        progress: Callable[[Progress], None] | None = None,
        cancelled: Callable[[], bool] | None = None,
    ) -> Answer:
        """Return the best answer within a time.

        Raises:
            CancelledError: `cancelled`, asked every 0.05 s, returned True; the child is ended.
            ProgrammeError: the solver broke down or took too much memory.
        """
        if not problem.objective.size:
            return Answer("optimal", np.zeros(0), 0.0)
        if cancelled is not None and cancelled():
            self.stop()
            raise CancelledError("planning was stopped")
        if not self._own_process:
            return solved(problem, time_limit_s, is_told=False)
        start = time.monotonic()
        link = self._started()
        read = self._log.stat().st_size
        link.send((problem, time_limit_s))
        try:
            while not link.poll(_LOOK_S):
                elapsed = time.monotonic() - start
                if cancelled is not None and cancelled():
                    raise CancelledError("planning was stopped")
                if elapsed > time_limit_s + _GRACE_S:
                    self.stop()
                    return Answer("limit", None, -math.inf)
                if progress is not None:
                    progress(self._progress(elapsed, read))
            answer = link.recv()
        except EOFError:
            self.stop()
            raise ProgrammeError(
                "the solver ended without an answer, likely for want of memory; plan fewer rows or options"
            ) from None
        except BaseException:
            self.stop()
            raise
        if isinstance(answer, str):
            raise ProgrammeError(answer)
        assert isinstance(answer, Answer)
        return answer

    def _started(self) -> Connection:
        if self._link is None:
            handle, name = tempfile.mkstemp(prefix="blankwright-programme-", suffix=".log")
            os.close(handle)
            self._log = Path(name)
            context = get_context("spawn")
            here, there = context.Pipe()
            child = context.Process(target=serve, args=(there, name), daemon=True)
            try:
                child.start()
            except BaseException:
                # There is no child to stop: what keeps it from starting is what is to be said.
                here.close()
                self._log.unlink(missing_ok=True)
                raise
            finally:
                there.close()
            self._link, self._child = here, child
        return self._link

    def _progress(self, elapsed: float, read: int) -> Progress:
        with contextlib.suppress(OSError), self._log.open("rb") as log:
            log.seek(read)
            for line in reversed(log.read().splitlines()):
                if found := _LINE.search(line):
                    return Progress(elapsed, _finite(found[2]), _finite(found[1]))
        return Progress(elapsed)


def _finite(text: bytes) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def serve(link: Connection, log: str) -> None:
    """Solve what comes over a link until it closes; runs in the child."""
    with contextlib.suppress(EOFError, OSError):
        handle = os.open(log, os.O_WRONLY | os.O_APPEND)
        os.dup2(handle, 1)
        sys.stdout = open(handle, "w", closefd=False, encoding="utf-8")  # noqa: SIM115 - as long as the child
        while True:
            problem, time_limit_s = link.recv()
            try:
                link.send(solved(problem, time_limit_s, is_told=True))
            except MemoryError:
                link.send("the plan needs more memory than there is; plan fewer rows or options")
            except ValueError as error:
                link.send(f"the solver refused the plan: {error}")
