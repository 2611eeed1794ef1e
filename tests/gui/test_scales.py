"""Screens of 100, 150 and 200 %: what is hit is as large in logical pixels on all of them.

Least target: 24 x 24 CSS pixels, WCAG 2.2 success criterion 2.5.8; handles may be smaller, since every vertex
is also reached by key and by its row in the table (the criterion's exception "equivalent").
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from typing import Any

import pytest

from app.views.canvas.handles import HIT_PX

LEAST_TARGET_PX = 24


def at_scale(scale: float) -> dict[str, Any]:
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "QT_SCALE_FACTOR": f"{scale:g}"}
    run = [sys.executable, "-m", "tests.support.scaled"]
    done = subprocess.run(run, env=environment, capture_output=True, text=True, timeout=120, check=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("scale", [1.5, *(pytest.param(s, marks=pytest.mark.long) for s in (1.0, 1.25, 2.0))])
def test_targets_are_the_same_in_logical_pixels(scale: float) -> None:
    found = at_scale(scale)
    assert found["ratio"] == scale
    # Half the handle and the two pixels that the scene adds on every side.
    assert found["hit_px"] == list(range(int(HIT_PX / 2.0 + 2.0) + 1))
    assert found["pressed_px"] == found["hit_px"]
    assert found["least_button_px"] >= LEAST_TARGET_PX
    assert found["window_px"] == [1440, 900]
