"""Inputs that go on from those that reached lines which nothing before them had reached."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence

from app.files.readers.answer import Request
from tests.fuzz import reached
from tests.fuzz.made import Made, make
from tests.fuzz.reading import FINDINGS, Outcome, outcome
from tests.fuzz.seeds import further, seeds
from tests.fuzz.supervise import supervised

#: Inputs that are made before those among them that reached more are gone on from.
_ROUND = 4000


def begin(suffixes: Sequence[str]) -> None:
    """Reach what whole files reach, so that only what reaches more is gone on from.

    Raises:
        SystemExit: this Python cannot tell what is reached.
    """
    if not reached.is_told():
        sys.exit("fuzz: --guided needs Python 3.12 or later, which tells what is reached")
    reached.follow()
    for suffix in suffixes:
        for data in seeds()[suffix][0]:
            outcome(Made(data, Request(suffix, unit="mm")))


def guided(seed: int, numbers: list[int], workers: int) -> Iterator[tuple[int, Outcome]]:
    """Yield how every input ended; each round of them goes on from the rounds before.

    An input of a later round cannot be made again from its number alone; what is found is kept as a file.
    """
    kept = lines = 0
    for first in range(0, len(numbers), _ROUND):
        further_on = []
        for number, end in supervised(seed, numbers[first : first + _ROUND], workers):
            if end.lines and end.kind not in FINDINGS:
                further_on.append(number)
            yield number, end
        made = [make(seed, number) for number in further_on]
        for each in sorted(made, key=lambda each: len(each.data)):
            # Read here too: of several that reach the same, one is kept, and later processes know of it.
            more = outcome(each).lines
            if more:
                further(each.request.suffix).append(each.data)
                kept, lines = kept + 1, lines + more
    print(f"{kept} inputs reached {lines} lines that whole files do not reach")
