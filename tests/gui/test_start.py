"""The window comes up with each sample and its readings."""

from collections.abc import Callable

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
