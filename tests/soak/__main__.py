"""A working day at one window: `python -m tests.soak --actions 20000`.

Random actions in a stated mix (`day.MIX`) go to the program's own window, without a screen, by mouse, keys
and menus. After the first `--settled` actions memory, threads, open files, child processes, windows and
running timers are counted from time to time. The exit code is 1 where memory has grown by more than
`--growth` MB since then, where another count has risen for good, or where an error came up. The longest time
that each kind of action kept the window from answering is printed; that is a figure, no verdict.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

from tests.soak.counts import Counts, counted, grown

#: How many actions lie between two counts.
_EVERY = 250


def main() -> int:
    """Return 0, or 1 where something grew or failed."""
    asked = argparse.ArgumentParser(prog="python -m tests.soak", description=__doc__)
    asked.add_argument("--actions", type=int, default=20_000)
    asked.add_argument("--settled", type=int, default=2_000, help="actions before the first count")
    asked.add_argument("--growth", type=float, default=50.0, help="MB")
    asked.add_argument("--seed", type=int, default=1)
    words = asked.parse_args()
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    with tempfile.TemporaryDirectory(prefix="blankwright-soak-") as folder:
        return _run(Path(folder), words.actions, words.settled, words.growth, words.seed)


def _run(folder: Path, actions: int, settled: int, growth_mb: float, seed: int) -> int:
    from tests.soak.day import MIX, Day

    day = Day(folder, seed)
    day.look_at_everything()
    start = time.monotonic()
    counts: list[Counts] = []
    for number in range(1, actions + 1):
        day.act()
        if number % _EVERY == 0 or number == actions:
            day.rest()
            if number >= settled:
                counts.append(counted())
            print(f"{number} actions in {time.monotonic() - start:.0f} s: {counted()}", flush=True)
    day.end()
    print(f"seed {seed}, mix " + ", ".join(f"{kind} {share}" for kind, share in MIX.items()))
    for kind, times in sorted(day.times_s.items()):
        times = sorted(times)
        middle, longest = times[len(times) // 2], times[-1]
        print(f"{kind}: {len(times)} times, median {middle * 1e3:.0f} ms, longest {longest * 1e3:.0f} ms")
    troubles = list(day.troubles)
    troubles += grown(counts, growth_mb)
    for trouble in troubles:
        print(f"amiss: {trouble}", file=sys.stderr)
    print(f"{len(troubles)} amiss")
    return 1 if troubles else 0


if __name__ == "__main__":
    sys.exit(main())
