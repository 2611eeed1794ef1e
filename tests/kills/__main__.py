"""Kill the program at random moments and look what is left: `python -m tests.kills --count 1000`.

Each life goes on with what the kill before left behind, in processes forked from this one (Unix only). After
a kill everything committed more than a second before must be in the project file or offered by the next
start, and no file may be unreadable. The exit code is 1 where anything is amiss. The same seed kills after
the same times, but what is being done then is up to the machine.
"""

from __future__ import annotations

import argparse
import gc
import multiprocessing
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from multiprocessing.connection import Connection, wait
from pathlib import Path

from app.cli.prepare import prepare_once
from app.studies.fit import measure_wheel
from tests.kills.diary import Kind, content, notes
from tests.kills.life import DIARY, DRAWING, drawing, live
from tests.kills.verdict import Verdict, judge
from tests.support import example

_FORK = multiprocessing.get_context("fork")

#: No life takes longer to begin, unless the machine stands still.
_BEGINNING_S = 60.0

#: A chain of lives in one folder; afterwards another begins with a project that was never saved.
_CHAIN = 20


def main() -> int:
    """Return 0, or 1 where anything is amiss."""
    words = _arguments()
    _warm_up()
    start = time.monotonic()
    total = Counter[str]()
    under_way, oldest_s, troubles = Counter[str](), 0.0, list[str]()
    for verdict in _verdicts(words.count, words.seed, words.workers, words.seconds):
        total.update(kills=1, edits=verdict.edits, lost=verdict.lost, torn=verdict.torn)
        under_way.update(verdict.under_way or ("between two steps",))
        oldest_s = max(oldest_s, verdict.oldest_s)
        for trouble in verdict.troubles:
            troubles.append(trouble)
            print(f"kill {total['kills']}: {trouble}", file=sys.stderr, flush=True)
        if total["kills"] % 50 == 0:
            print(f"{total['kills']} kills in {time.monotonic() - start:.0f} s", file=sys.stderr, flush=True)
    print(f"{total['kills']} kills in {time.monotonic() - start:.0f} s, seed {words.seed}")
    print("killed while " + ", ".join(f"{word}: {n}" for word, n in under_way.most_common()))
    lost = f"{total['lost']} lost, the oldest {oldest_s * 1e3:.0f} ms before its kill"
    print(f"{total['edits']} edits committed; {lost}; {total['torn']} records cut short and passed over")
    print(f"{len(troubles)} amiss")
    return 1 if troubles or total["kills"] < words.count else 0


def _arguments() -> argparse.Namespace:
    asked = argparse.ArgumentParser(prog="python -m tests.kills", description=__doc__)
    asked.add_argument("--count", type=int, default=1000, help="kills")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--workers", type=int, default=2, help="chains of lives beside each other")
    asked.add_argument("--seconds", type=float, default=2.5, help="longest life")
    return asked.parse_args()


def _warm_up() -> None:
    """Load what every life needs, so that each is at work soon after its fork."""
    prepare_once()
    project = example.project()
    for wheel in project.wheels:
        measure_wheel(project, wheel)
    content(project)


def _verdicts(count: int, seed: int, workers: int, seconds: float) -> Iterator[Verdict]:
    """Yield what came of each kill, in no order."""
    pipes: list[Connection] = []
    for k in range(workers):
        near, far = _FORK.Pipe(duplex=False)
        share = count // workers + (k < count % workers)
        _FORK.Process(target=_chains, args=(share, seed * 1000 + k, seconds, far)).start()
        far.close()
        pipes.append(near)
    while pipes:
        for pipe in wait(pipes):
            assert isinstance(pipe, Connection)
            try:
                yield pipe.recv()
            except EOFError:
                pipes.remove(pipe)


def _chains(count: int, seed: int, seconds: float, pipe: Connection) -> None:
    gc.freeze()
    chance = random.Random(seed)
    while count > 0:
        length = min(_CHAIN, count)
        with tempfile.TemporaryDirectory(prefix="blankwright-kills-", ignore_cleanup_errors=True) as folder:
            _chain(Path(folder), length, chance, seconds, pipe)
        count -= length


def _chain(folder: Path, length: int, chance: random.Random, seconds: float, pipe: Connection) -> None:
    (folder / DRAWING).write_bytes(drawing())
    verdict: Verdict | None = None
    for _ in range(length):
        (folder / DIARY).unlink(missing_ok=True)
        child = _FORK.Process(
            target=live, args=(folder, chance.getrandbits(32), verdict.found if verdict else None)
        )
        child.start()
        # Some die while they begin, most later.
        begins = chance.random() < 0.9
        if begins and not _is_ready(folder / DIARY, child):
            begins = False
        time.sleep(chance.uniform(0.0, seconds if begins else 0.3))
        killed_at = time.monotonic()
        if child.is_alive() and child.pid is not None:
            os.kill(child.pid, signal.SIGKILL)
        child.join()
        verdict = judge(folder, notes(folder / DIARY), killed_at, verdict)
        if child.exitcode != -signal.SIGKILL:
            verdict.troubles.append(f"the process ended by itself (code {child.exitcode})")
        pipe.send(verdict)


def _is_ready(diary: Path, child: multiprocessing.process.BaseProcess) -> bool:
    end = time.monotonic() + _BEGINNING_S
    while child.is_alive() and time.monotonic() < end:
        if any(note.kind is Kind.READY for note in notes(diary)):
            return True
        time.sleep(0.005)
    return False


if __name__ == "__main__":
    sys.exit(main())
