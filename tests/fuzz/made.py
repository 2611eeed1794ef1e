"""An input of the fuzzer, made from two numbers and the seeds alone."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from random import Random

from app.files.readers.answer import Request
from tests.fuzz.asked import request
from tests.fuzz.formats import mutated
from tests.fuzz.mutate import MOST_BYTES
from tests.fuzz.seeds import CYCLE, further, seeds

#: Bodies are swept, which takes long for many triangles.
_SLOW = (".stl", ".obj", ".ply", ".3mf")


@dataclass(frozen=True)
class Made:
    """A mutated file, and how it is to be read."""

    data: bytes
    request: Request

    @property
    def name(self) -> str:
        """The name under which it is kept."""
        return hashlib.sha256(self.data + repr(self.request).encode()).hexdigest()[:16] + self.request.suffix


def suffix_of(number: int) -> str:
    """Return the suffix of the input with this number."""
    return CYCLE[number % len(CYCLE)]


def make(seed: int, number: int) -> Made:
    """Return the input with this number; the same for the same seed and the same files to start from."""
    rng = Random(f"{seed}:{number}")
    suffix = suffix_of(number)
    data, other = _start(suffix, rng), _start(suffix, rng)
    for _ in range(min(8, 1 + int(rng.expovariate(1.0)))):
        data = mutated(data, suffix, rng, other)[:MOST_BYTES]
    return Made(data, request(suffix, rng))


def _start(suffix: str, rng: Random) -> bytes:
    """Return a seed: mostly a whole one, small ones more often, where one change weighs more."""
    if (held := further(suffix)) and rng.random() < 0.5:
        return held[rng.randrange(len(held))]
    whole, hostile = seeds()[suffix]
    group = hostile if hostile and rng.random() < 0.2 else whole
    return group[int(len(group) * rng.random() ** (3.0 if suffix in _SLOW else 1.5))]
