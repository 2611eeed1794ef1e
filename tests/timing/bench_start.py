"""From process start to a window that shows a sample: `python -m tests.timing.bench_start`.

The first start fills the disk cache and is not counted. Budget: 1.5 s, warm.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
import time

import numpy as np

#: What app.entry and app.window.main do, up to the first painted drawing.
_CHILD = """
import gc
gc.disable()
from app import resources
from app.window import main
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication

class Painted(QObject):
    seen = False

    def eventFilter(self, watched, event):
        self.seen = self.seen or event.type() == QEvent.Type.Paint
        return False

app = main.application()
window = main.MainWindow()
window.show()
window.files.open_path(resources.samples()[0])
window.canvas.sheet.fit()
painted = Painted()
window.canvas.sheet.viewport().installEventFilter(painted)
while not painted.seen:
    app.processEvents()
app.processEvents()
print("usable", flush=True)
"""


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starts", type=int, default=5)
    args = parser.parse_args()
    environment = {**os.environ, "QT_QPA_PLATFORM": os.environ.get("QT_QPA_PLATFORM", "offscreen")}
    times_s = [_start(environment) for _ in range(args.starts + 1)][1:]
    print(f"{platform.machine()}, Python {platform.python_version()}, {len(times_s)} warm starts")
    print(f"process start to usable window: median {np.median(times_s):.2f} s, least {min(times_s):.2f} s")
    return 0


def _start(environment: dict[str, str]) -> float:
    before = time.perf_counter()
    command = [sys.executable, "-c", _CHILD]
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "usable\n", "the window did not open"
        taken = time.perf_counter() - before
        child.kill()
    return taken


if __name__ == "__main__":
    sys.exit(main())
