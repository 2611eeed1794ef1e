"""The window comes up with each sample and its readings."""

from __future__ import annotations

import gc
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app import entry, resources
from app.window import main
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


def test_searches_for_garbage_begin_when_the_window_is_there(
    make_window: Callable[[], MainWindow], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Through what a start makes none is made; also where the first project cannot be shown."""
    seen = []

    def opened(path: Path) -> None:
        seen.append(gc.isenabled())
        raise RuntimeError(str(path))

    def end() -> None:
        seen.append(gc.isenabled())
        QApplication.quit()

    def asked(arguments: Sequence[str]) -> int:
        window = make_window()
        monkeypatch.setattr(window.files, "open_path", opened)
        monkeypatch.setattr(main, "MainWindow", lambda: window)
        QTimer.singleShot(300, end)
        return run(arguments)

    run = main.run
    monkeypatch.setattr(main, "run", asked)
    frozen, threshold = gc.get_freeze_count(), gc.get_threshold()
    try:
        assert gc.isenabled()
        assert entry.main(["nothing.blankwright"]) == 0
        assert seen == [False, True]
        assert gc.get_freeze_count() > frozen
    finally:
        gc.unfreeze()
        gc.set_threshold(*threshold)
