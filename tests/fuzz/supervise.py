"""Readers at work in processes of their own, watched: one that hangs or dies is noted and started anew."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.context import ForkProcess
from typing import TypeVar

from tests.fuzz.made import Made, make, suffix_of
from tests.fuzz.reading import (
    CLOCK,
    DIED,
    HUNG,
    Outcome,
    limit_this_process,
    outcome,
    quietly,
    seconds_for,
    watch,
)

#: Inputs after which a process is started anew, so that what libraries keep does not add up.
_TURN = 5000

#: Forked, so that imports and machine code are there at once.
_FORK = multiprocessing.get_context("fork")

Answer = TypeVar("Answer")


@dataclass
class Tally:
    """What came of the inputs so far.

    Attributes:
        kinds: how many ended in which way, by suffix and way.
        slowest: seconds of the processor and number of the slowest ten.
    """

    kinds: Counter[tuple[str, str]] = field(default_factory=Counter)
    slowest: list[tuple[float, int]] = field(default_factory=list)

    def add(self, number: int, end: Outcome) -> None:
        """Count an input."""
        self.kinds[suffix_of(number), end.kind] += 1
        self.slowest = sorted([*self.slowest, (end.seconds, number)], reverse=True)[:10]

    @property
    def count(self) -> int:
        """How many inputs were read."""
        return self.kinds.total()


@dataclass
class Worker:
    """A process that reads its share of the inputs, one after the other."""

    seed: int
    numbers: list[int]
    process: ForkProcess = field(init=False)
    pipe: Connection = field(init=False)
    begun: float = 0.0
    at: int = -1

    def start(self) -> None:
        """Start the process on the numbers that are left."""
        self.pipe, far = _FORK.Pipe(duplex=False)
        self.process = _FORK.Process(target=_work, args=(self.seed, self.numbers[:_TURN], far))
        self.at, self.begun = -1, time.monotonic()
        self.process.start()
        far.close()

    def stop(self) -> int:
        """End the process and return its exit code."""
        self.process.kill()
        self.process.join()
        self.pipe.close()
        return self.process.exitcode or 0

    def heard(self) -> Iterator[tuple[int, Outcome]]:
        """Yield what was read since; a process that ended or hangs is started anew."""
        ended = False
        while self.pipe.poll():
            try:
                number, what = self.pipe.recv()
            except EOFError:
                ended = True
                break
            if isinstance(what, float):
                self.at, self.begun = number, what
            else:
                self.numbers.remove(number) if self.numbers[0] != number else self.numbers.pop(0)
                self.at = -1
                yield number, what
        hangs = self.at >= 0 and time.monotonic() - self.begun > CLOCK * seconds_for(suffix_of(self.at))
        if ended or hangs:
            if ended:
                self.process.join()  # its own exit code, not that of a kill
            code = self.stop()
            if self.at >= 0:
                self.numbers.remove(self.at)
                yield self.at, _end_of(code)
            elif code:
                raise RuntimeError(f"a reader ended between two inputs (code {code})")
            if self.numbers:
                self.start()


def _end_of(code: int) -> Outcome:
    if -code in (signal.SIGXCPU, signal.SIGKILL):
        return Outcome(HUNG, "hung", "it took longer than it may")
    name = signal.Signals(-code).name if code < 0 else f"code {code}"
    return Outcome(DIED, f"died: {name}", f"the process ended by {name}")


def _work(seed: int, numbers: list[int], pipe: Connection) -> None:
    def run() -> None:
        watch()
        for number in numbers:
            made = make(seed, number)
            limit_this_process(made.request.suffix)
            pipe.send((number, time.monotonic()))
            pipe.send((number, outcome(made)))

    quietly(run)
    os._exit(0)


def supervised(seed: int, numbers: list[int], workers: int) -> Iterator[tuple[int, Outcome]]:
    """Yield how every input ended, in no order."""
    held = [Worker(seed, numbers[k::workers]) for k in range(workers)]
    try:
        for worker in held:
            worker.start()
        while any(worker.numbers for worker in held):
            wait([worker.pipe for worker in held if worker.numbers], timeout=0.5)
            for worker in held:
                if worker.numbers:
                    yield from worker.heard()
    finally:
        for worker in held:
            if not worker.pipe.closed:
                worker.stop()


def apart(function: Callable[[], Answer], seconds: float) -> Answer | int:
    """Return what a function returns in a process of its own, or the exit code of one that fails."""
    near, far = _FORK.Pipe(duplex=False)

    def run() -> None:
        quietly(lambda: far.send(function()))
        os._exit(0)

    process = _FORK.Process(target=run)
    process.start()
    far.close()
    try:
        if near.poll(seconds):
            return near.recv()  # type: ignore[no-any-return]
    except EOFError:
        process.join()
        return process.exitcode or 1
    finally:
        process.kill()
        process.join()
        near.close()
    return -signal.SIGKILL


def alone(made: Made) -> Outcome:
    """Return how an input ends that is read by a process of its own."""

    def run() -> Outcome:
        watch()
        limit_this_process(made.request.suffix)
        return outcome(made)

    end = apart(run, CLOCK * seconds_for(made.request.suffix))
    return end if isinstance(end, Outcome) else _end_of(end)


def reduced(made: Made, key: str, seconds: float = 20.0) -> Made:
    """Return a smaller input that ends by the same cause, as far as it is found in time."""

    def is_same(data: bytes) -> bool:
        return outcome(Made(data, made.request)).key == key

    def run() -> bytes:
        watch()
        data, end = made.data, time.monotonic() + seconds
        for split in (lambda d: d.splitlines(keepends=True), lambda d: [d[k : k + 1] for k in range(len(d))]):
            parts = split(data)
            step = max(1, len(parts) // 2)
            while step and len(parts) < 20_000:
                k = 0
                while k < len(parts) and time.monotonic() < end:
                    less = parts[:k] + parts[k + step :]
                    if is_same(b"".join(less)):
                        parts = less
                    else:
                        k += step
                step //= 2
            data = b"".join(parts)
        return data

    found = apart(run, 2.0 * seconds)
    return made if isinstance(found, int) else Made(found, made.request)


def progress(tally: Tally, total: int, start: float, findings: int) -> None:
    """Write one line about how far it is."""
    rate = tally.count / max(time.monotonic() - start, 1e-9)
    ways: Counter[str] = Counter()
    for (_, kind), count in tally.kinds.items():
        ways[kind] += count
    said = ", ".join(f"{kind} {count}" for kind, count in ways.most_common())
    print(
        f"{tally.count} of {total}, {rate:.0f}/s: {said}; causes found: {findings}",
        file=sys.stderr,
        flush=True,
    )
