"""What the fuzzer starts from: small files of every kind that is read, whole ones and harmful ones."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from app.files.readers.worker import SUFFIXES
from tests.corpus.hostile.inputs import inputs
from tests.fuzz.own_files import OWN, own_seeds

HERE = Path(__file__).parent
CORPUS = HERE.parent / "corpus" / "files"

#: Larger files are left out: a reader does the same with them, only for longer.
MOST_BYTES = 200_000

#: Tables have one reader, whatever their suffix, so that each may stand under every other one.
TABLES = (".csv", ".txt", ".tsv", ".dat", ".xyz", ".asc")
STEPS = (".step", ".stp")

Files = tuple[bytes, ...]

#: Inputs of a guided run that reached more than what it started from, by suffix.
_FURTHER: dict[str, list[bytes]] = {}

#: Suffix by suffix as inputs are numbered: drawings and tables come from everywhere, STEP files take long.
CYCLE = (
    *(".dxf", ".svg", ".csv", ".stl", ".dxf", ".svg", ".txt", ".obj"),
    *(".dxf", ".svg", ".xyz", ".ply", ".dxf", ".svg", ".csv", ".3mf"),
    *(".dxf", ".svg", ".tsv", ".xlsx", ".dxf", ".svg", ".dat", ".xlsx"),
    *(".dxf", ".svg", ".asc", ".ply", ".dxf", ".svg", ".step"),
    *OWN,
)


def family(suffix: str) -> tuple[str, ...]:
    """Return the suffixes whose files are made from the same seeds."""
    return next((group for group in (TABLES, STEPS) if suffix in group), (suffix,))


def chosen(readers: Sequence[str]) -> tuple[str, ...]:
    """Return the suffixes of CYCLE that are asked for by name without a point.

    Where none is asked for, all but STEP files: the library that parts them ends its process at many a
    damaged file, which only the real child outlives.

    Raises:
        ValueError: a name is none of a file that is read.
    """
    wanted = {f".{name.lstrip('.')}" for name in readers if name}
    unknown = wanted - set(CYCLE)
    if unknown:
        raise ValueError(f"not read: {', '.join(sorted(unknown))}; it is {', '.join(sorted(set(CYCLE)))}")
    return tuple(suffix for suffix in dict.fromkeys(CYCLE) if suffix in (wanted or set(CYCLE) - set(STEPS)))


@cache
def seeds() -> dict[str, tuple[Files, Files]]:
    """Return for every suffix in CYCLE whole files and files meant to do harm, smallest first."""
    whole: dict[str, set[bytes]] = {suffix: set() for suffix in SUFFIXES}
    hostile: dict[str, set[bytes]] = {suffix: set() for suffix in SUFFIXES}
    for path in sorted([*CORPUS.iterdir(), *(HERE / "seeds").iterdir()]):
        if path.suffix in whole and path.stat().st_size <= MOST_BYTES:
            whole[path.suffix].add(path.read_bytes())
    for item in inputs():
        suffix = Path(item.name).suffix
        if item.size is None and suffix in hostile:
            data = item.make()
            if len(data) <= MOST_BYTES:
                hostile[suffix].add(data)
    foreign = (suffix for suffix in dict.fromkeys(CYCLE) if suffix not in OWN)
    return {s: (_in_order(whole, s), _in_order(hostile, s)) for s in foreign} | dict(own_seeds())


def further(suffix: str) -> list[bytes]:
    """Return the files of a kind that a guided run goes on from beside the seeds; more may be put to them."""
    return _FURTHER.setdefault(suffix, [])


def _in_order(held: dict[str, set[bytes]], suffix: str) -> Files:
    return tuple(sorted({d for s in family(suffix) for d in held[s]}, key=lambda d: (len(d), d)))
