"""`python -m tests.damage [FILE]`: every truncation and every single-bit flip; DEVELOPERS.md says more."""

from __future__ import annotations

import argparse
import itertools
import sys
import time
from pathlib import Path

from app.files.project_file import loads
from tests.damage.harm import MOST_S, Tally, cut, flipped, read, recover
from tests.support.project_docs import golden


def main() -> int:
    """Return 0, or 1 where anything is amiss."""
    from app.files.migrations import FORMAT

    asked = argparse.ArgumentParser(prog="python -m tests.damage", description=__doc__)
    asked.add_argument("file", nargs="?", type=Path, default=golden(FORMAT))
    asked.add_argument("--step", type=int, default=1, help="only every n-th truncation and bit")
    asked.add_argument("--recover-step", type=int, default=20, help="recover every n-th of them too")
    words = asked.parse_args()
    data = words.file.read_bytes()
    whole = loads(data)
    tally, begun = Tally(), time.monotonic()
    for n, (what, damaged) in enumerate(itertools.chain(cut(data, words.step), flipped(data, words.step))):
        read(what, damaged, tally)
        if n % words.recover_step == 0:
            recover(what, damaged, whole, tally)
    print(f"{words.file.name}, {len(data)} bytes, every {words.step}. truncation and bit")
    print(", ".join(f"{end} {count}" for end, count in tally.ends.most_common()))
    print(f"slowest read {1e3 * tally.slowest_s:.1f} ms, {tally.slow} over {1e3 * MOST_S:.0f} ms")
    print(f"{time.monotonic() - begun:.0f} s")
    for line in tally.amiss[:40]:
        print(f"amiss: {line}")
    print(f"{len(tally.amiss)} amiss")
    return 1 if tally.amiss else 0


if __name__ == "__main__":
    sys.exit(main())
