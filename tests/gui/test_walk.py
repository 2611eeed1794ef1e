"""A short random walk; ten thousand actions are done by `python -m tests.support.walk` before a release."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication

from app.project.constraining import is_held, states
from app.project.holding import settled
from tests.support import example, held
from tests.support.walk import Walk


def test_a_short_walk_keeps_everything(qapp: QApplication) -> None:
    walk = Walk(example.project(), seed=1)
    walk.walk(200)
    assert len(walk.counts) >= 18  # nearly every kind of action was done


def test_a_short_walk_keeps_what_is_held_and_driven(qapp: QApplication) -> None:
    walk = Walk(held.project(), seed=5)
    walk.walk(60)
    kept = walk.document.project
    for wheel in kept.wheels:
        assert settled(wheel)[0] is wheel
        assert all(is_held(state) for state in states(kept, wheel))
    assert any(wheel.constraints for wheel in kept.wheels)
