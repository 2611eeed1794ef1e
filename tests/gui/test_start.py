"""The window comes up with each sample and its readings."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from app import resources
from app.window.main_window import MainWindow


@pytest.mark.smoke
@pytest.mark.parametrize("sample", [path.stem for path in resources.samples()])
def test_a_sample_opens_with_readings(make_window: Callable[[], MainWindow], sample: str) -> None:
    window = make_window()
    window.files.open_path(resources.sample(sample))
    assert sample in window.windowTitle()
    measurements = window.document.state.measurements
    assert measurements is not None
    assert measurements.gap


BEGUN = f"""
import gc, sys
sys.path.insert(0, {str(Path(__file__).parents[2])!r})
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app import entry
from app.window import main
from app.window.project_files import ProjectFiles

seen = []

def opened(files, path):
    seen.append(gc.isenabled())
    raise RuntimeError(path)

def end():
    seen.append(gc.isenabled())
    QApplication.quit()

ProjectFiles.open_path = opened
main.prepare = lambda window: QTimer.singleShot(300, end)
code = entry.main(["nothing.blankwright"])
print(code, seen, gc.get_freeze_count() > 0)
"""


def test_searches_for_garbage_begin_when_the_window_is_there() -> None:
    """Through what a start makes none is made; also where the first project cannot be shown."""
    done = subprocess.run([sys.executable, "-c", BEGUN], capture_output=True, text=True, timeout=120)
    assert done.stdout.splitlines()[-1:] == ["0 [False, True] True"], done.stderr
