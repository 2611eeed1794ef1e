"""How soon an edit is in the journal, and what that costs a frame: `python -m tests.timing.bench_journal`.

Every edit moves a vertex of the example as the arrow keys do, in the whole window, offscreen; edits with the
journal and without it take turns, so that both see the same machine. Budget: 100 ms to the bytes.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

BACK = 40
WARM_UP = 10


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--edits", type=int, default=150, help="with the journal, and as many without")
    parser.add_argument("--wheels", type=int, default=1, help="of the project")
    args = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    with tempfile.TemporaryDirectory() as folder:
        kept, frames, bare = measure(Path(folder), args.edits, args.wheels)
    print(
        f"{platform.machine()}, Python {platform.python_version()}, {args.wheels} wheels, {len(frames)} edits"
    )
    print(f"edit to its bytes in the journal: {_words(kept)}, longest {max(kept):.1f} ms")
    print(f"edit to painted frame with the journal: {_words(frames)}")
    print(f"edit to painted frame without it: {_words(bare)}")
    return 0


def _words(times_ms: list[float]) -> str:
    return f"median {np.median(times_ms):.2f} ms, p95 {np.percentile(times_ms, 95):.2f} ms"


def measure(folder: Path, count: int, wheels: int) -> tuple[list[float], list[float], list[float]]:
    """Return ms from edit to bytes, and from edit to painted frame with the journal and without."""
    from app.files.journal import Journal
    from app.window.main import application
    from app.window.main_window import MainWindow
    from app.window.settings import Settings
    from tests.support import example

    written = [0.0]
    append = Journal.append

    def timed(journal: Journal, state: object) -> None:
        append(journal, state)  # type: ignore[arg-type]
        written[0] = time.perf_counter()

    Journal.append = timed  # type: ignore[method-assign,assignment]
    app = application()
    window = MainWindow(Settings(folder / "window.ini"), folder / "state")
    window.resize(1400, 900)
    window.show()
    project = example.project()
    more = tuple(replace(project.wheels[0], name=f"Wheel {k}") for k in range(1, wheels))
    window.document.start(replace(project, wheels=(*project.wheels, *more)))
    window.document.select_vertex(BACK)
    for _ in range(10):
        app.processEvents()
    keeper = window.recovery._keeper
    keep = keeper.keep
    kept: list[float] = []
    frames: dict[bool, list[float]] = {True: [], False: []}
    for k in range(2 * (count + WARM_UP)):
        is_kept = k % 2 == 0
        keeper.keep = keep if is_kept else lambda state: None  # type: ignore[method-assign]
        before = time.perf_counter()
        window.canvas.vertices.nudge(0.01 if k % 4 < 2 else -0.01, 0.0)
        app.processEvents()
        app.processEvents()
        frame = time.perf_counter() - before
        keeper.flush()
        if k >= 2 * WARM_UP:
            frames[is_kept].append(frame * 1e3)
            if is_kept:
                kept.append((written[0] - before) * 1e3)
    assert min(kept) > 0.0, "an edit was not written"
    window.document.undo_stack.setClean()
    window.close()
    return kept, frames[True], frames[False]


if __name__ == "__main__":
    sys.exit(main())
