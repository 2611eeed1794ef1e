"""Screening in the time of an ordinary test."""

from __future__ import annotations

import pytest

from app.studies.strength import run
from geometry.strength.sizes import PREVIEW


@pytest.fixture(autouse=True)
def coarser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Screen on the preview's mesh and its half: a quarter of the work, the same code."""
    if request.node.get_closest_marker("long") is None:
        monkeypatch.setattr(run, "STUDY", PREVIEW)
