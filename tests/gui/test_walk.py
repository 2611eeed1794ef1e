"""A short random walk; ten thousand actions are done by `python -m tests.support.walk` before a release."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication

from tests.support import example
from tests.support.walk import Walk


def test_a_short_walk_keeps_everything(qapp: QApplication) -> None:
    walk = Walk(example.project(), seed=1)
    walk.walk(200)
    assert len(walk.counts) >= 18  # nearly every kind of action was done
