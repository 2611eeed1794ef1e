"""What a person waits for who brings a file in: `python -m tests.timing.bench_reader`.

From the call to the answer of the reader's child process, by the clock and by the child's processor; the
first read of each file fills the disk's cache and is not counted.
"""

from __future__ import annotations

import argparse
import resource
import time
from pathlib import Path

import numpy as np

from app.cli.prepare import prepare_once
from app.files.readers.read import Options, read_outline

FILES = Path(__file__).parents[1] / "corpus" / "files"

#: A file of the corpus, and how it is asked for.
READS: tuple[tuple[str, Options], ...] = (
    ("arc_over_180.dxf", {"unit": "mm"}),
    ("svg_arc_elliptic.svg", {"unit": "mm"}),
    ("table_comma.csv", {"unit": "mm"}),
    ("points_axle_x.csv", {"unit": "mm", "axle": "x"}),
    ("points_axle_x.csv", {"unit": "mm", "points": "cloud"}),
    ("points_axle_x.csv", {"unit": "mm", "axle": "fitted"}),
    ("xlsx_empty_rows_merged.xlsx", {"unit": "mm"}),
    ("stl_axle_x.stl", {"unit": "mm", "axle": "x"}),
)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reads", type=int, default=9, help="of each file")
    reads = parser.parse_args().reads
    prepare_once()
    for name, how in READS:
        took = np.array([_read(FILES / name, how) for _ in range(reads + 1)][1:])
        clock, processor = np.median(took, axis=0)
        asked = ", ".join(f"{key} {value}" for key, value in how.items() if key != "unit")
        print(f"{name:28} {asked:14} {clock:.2f} s, {processor:.2f} s of the processor")


def _read(path: Path, how: Options) -> tuple[float, float]:
    clock, before = time.monotonic(), resource.getrusage(resource.RUSAGE_CHILDREN)
    read_outline(path, **how)
    clock, after = time.monotonic() - clock, resource.getrusage(resource.RUSAGE_CHILDREN)
    return clock, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


if __name__ == "__main__":
    main()
