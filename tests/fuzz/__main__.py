"""`python -m tests.fuzz`: mutated files through the readers; DEVELOPERS.md says how it is used."""

from __future__ import annotations

import argparse
import hashlib
import itertools
import json
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from pathlib import Path

from app.cli.prepare import prepare_once
from app.files.readers import mesh
from app.files.readers.answer import Request
from tests.fuzz.guided import begin, guided
from tests.fuzz.made import Made, make, suffix_of
from tests.fuzz.own_files import OWN
from tests.fuzz.reading import BROKEN, FINDINGS, HUNG, MEMORY, RAISED, Outcome, outcome, through_child
from tests.fuzz.seeds import chosen, seeds
from tests.fuzz.supervise import Tally, alone, progress, reduced, supervised

FOUND = Path(__file__).parent / "found"

#: Inputs of one cause that are kept.
_KEPT = 2
_LINE_S = 10.0


def main() -> int:
    """Return 0, or 1 where anything was found."""
    words = _arguments()
    suffixes = chosen(words.readers.split(","))
    prepare_once()
    found = Findings(words.seed)
    if words.inputs or words.number is not None:
        _warm_up(suffixes if words.number is None else (suffix_of(words.number),))
    if words.number is not None:
        return _show(words.seed, words.number)
    numbers = _numbers(0, words.inputs, suffixes)
    if words.guided:
        begin(suffixes)
    if numbers:
        start = time.monotonic()
        ends = (guided if words.guided else supervised)(words.seed, numbers, words.workers)
        tally = _run(ends, words.inputs, found)
        _say(tally, time.monotonic() - start, f"{words.inputs} inputs read in processes that are watched")
    if words.child:
        start = time.monotonic()
        foreign = tuple(suffix for suffix in suffixes if suffix not in OWN)  # a child reads no others
        numbers = _numbers(numbers[-1] + 1 if numbers else 0, words.child, foreign)
        found.is_child = True
        tally = _run(_through_children(words.seed, numbers, words.workers), words.child, found)
        found.read_late_again()
        _say(tally, time.monotonic() - start, f"{words.child} inputs read through the real child")
    return found.say()


def _arguments() -> argparse.Namespace:
    asked = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    asked.add_argument("--inputs", type=int, default=200_000, help="mutated files to read")
    asked.add_argument("--child", type=int, default=0, help="further ones to read through the real child")
    asked.add_argument("--seed", type=int, default=1, help="makes all of them; the same seed the same files")
    asked.add_argument("--readers", default="", help="suffixes, such as dxf,svg; all if not given")
    asked.add_argument("--workers", type=int, default=1, help="processes that read")
    asked.add_argument(
        "--guided", action="store_true", help="go on from inputs that reach more code (Python 3.12 or later)"
    )
    asked.add_argument("--number", type=int, help="read this one alone, here, and show what comes of it")
    return asked.parse_args()


def _numbers(first: int, count: int, suffixes: tuple[str, ...]) -> list[int]:
    fitting = (n for n in itertools.count(first) if suffix_of(n) in suffixes)
    return list(itertools.islice(fitting, count))


def _warm_up(suffixes: Sequence[str]) -> None:
    """Read whole files of these kinds, so that no input waits for an import or for machine code."""
    mesh.prepare()  # as the child does: what a sound body does not need is made or loaded too
    for suffix in suffixes:
        whole, _ = seeds()[suffix]
        for data in whole[:: len(whole) // 4 or 1]:
            for points, axle in (("auto", "z"), ("cloud", "x"), ("auto", "fitted")):
                outcome(Made(data, Request(suffix, unit="mm", points=points, axle=axle, ball_mm=1.0)))


class Findings:
    """What was found, by cause, and kept as files.

    Attributes:
        is_child: what comes was read through the real child.
    """

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.is_child = False
        self._late: list[int] = []
        self.causes: dict[str, list[tuple[int, str]]] = {}
        self.counts: Counter[str] = Counter()
        self.unconfirmed: list[int] = []

    def add(self, number: int, end: Outcome) -> None:
        """Take a finding: reduced and kept, if its cause is new.

        What hung or asked for memory is read again alone before it counts: through the child once all others
        are read.
        """
        if self.is_child and end.kind == HUNG:
            self._late.append(number)
            return
        made = make(self.seed, number)
        if end.kind in (HUNG, MEMORY) and not self.is_child:
            again = alone(made)
            if again.kind not in FINDINGS:
                self.unconfirmed.append(number)
                return
            end = again
        self._count(made, number, end)

    def read_late_again(self) -> None:
        """Read alone what came late through the child, and judge it by the processor time it takes."""
        for number in self._late:
            made = make(self.seed, number)
            with tempfile.TemporaryDirectory() as folder:
                end = through_child(made, Path(folder) / f"{number}", is_patient=True)
            if end.kind in FINDINGS:
                self._count(made, number, end)
            else:
                self.unconfirmed.append(number)

    def _count(self, made: Made, number: int, end: Outcome) -> None:
        key = end.key if end.kind != HUNG else f"hung {made.request.suffix}"
        self.counts[key] += 1
        kept = self.causes.setdefault(key, [])
        if len(kept) >= (_KEPT if end.kind != HUNG else 5 * _KEPT):
            return
        if end.kind in (RAISED, BROKEN) and not self.is_child:
            made = reduced(made, key)
        kept.append((number, keep(made, end, self.seed, number)))
        print(f"found: {key} ({kept[-1][1]}, number {number})", file=sys.stderr, flush=True)

    def say(self) -> int:
        """Write what was found and return the exit code."""
        if self.unconfirmed:
            print(f"ended in time when read again alone: {self.unconfirmed[:20]}")
        for key, count in self.counts.most_common():
            print(f"{count} x {key}")
            for number, name in self.causes[key]:
                print(f"    {name}: --seed {self.seed} --number {number}")
        if not self.counts:
            print("nothing found")
        return 1 if self.counts else 0


def keep(made: Made, end: Outcome, seed: int, number: int) -> str:
    """Write an input and its request into the folder of what was found; return its name."""
    FOUND.mkdir(exist_ok=True)
    (FOUND / made.name).write_bytes(made.data)
    last = [line for line in end.text.strip().splitlines() if line.strip()][-1:] or [""]
    said = {"why": f"{end.key}: {last[0].strip()}"[:400], "seed": seed, "number": number}
    text = json.dumps(said | {"request": asdict(made.request)}, indent=1)
    (FOUND / f"{made.name}.json").write_text(text + "\n", "utf-8")
    return made.name


def _run(ends: Iterator[tuple[int, Outcome]], total: int, found: Findings) -> Tally:
    tally, start = Tally(), time.monotonic()
    line = start
    for number, end in ends:
        tally.add(number, end)
        if end.kind in FINDINGS:
            found.add(number, end)
        if time.monotonic() > line + _LINE_S:
            line = time.monotonic()
            progress(tally, total, start, len(found.counts))
    return tally


def _say(tally: Tally, seconds: float, title: str) -> None:
    digest = hashlib.sha256(
        b"".join(d for groups in seeds().values() for held in groups for d in held)
    ).hexdigest()[:12]
    print(f"{title} in {seconds:.0f} s, {tally.count / max(seconds, 1e-9):.0f}/s; started from {digest}")
    for suffix in sorted({suffix for suffix, _ in tally.kinds}):
        ways = {kind: n for (of, kind), n in sorted(tally.kinds.items()) if of == suffix}
        print(f"  {suffix:6}" + ", ".join(f"{kind} {n}" for kind, n in ways.items()))
    slow = ", ".join(f"{s:.2f} s ({suffix_of(n)} {n})" for s, n in tally.slowest[:5])
    print(f"  slowest: {slow}")


def _through_children(seed: int, numbers: list[int], workers: int) -> Iterator[tuple[int, Outcome]]:
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(workers) as pool:
        yield from pool.map(lambda n: (n, through_child(make(seed, n), Path(folder) / f"{n}")), numbers)


def _show(seed: int, number: int) -> int:
    made = make(seed, number)
    end = alone(made)
    print(
        f"{made.name}, {len(made.data)} bytes, {made.request}\n"
        f"{end.kind} in {end.seconds:.2f} s: {end.key}\n{end.text}"
    )
    if end.kind in FINDINGS:
        print(f"kept as {keep(made, end, seed, number)}")
    return int(end.kind in FINDINGS)


if __name__ == "__main__":
    sys.exit(main())
