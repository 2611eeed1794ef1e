"""The short form of a working day at the window, and that growth would be noticed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from tests.soak.counts import Counts, counted, grown
from tests.soak.day import MIX, Day

CALM = Counts(300.0, 5, 10, 0, 1, 900, 4)


def test_nothing_comes_up_in_a_short_day(qapp: QApplication, tmp_path: Path) -> None:
    day = Day(tmp_path, seed=5)
    try:
        for _ in range(120):
            day.act()
        day.rest()
        assert counted().memory_mb > 0
    finally:
        day.end()
    assert day.troubles == []
    assert sum(len(times) for times in day.times_s.values()) == 120
    assert set(day.times_s) <= set(MIX)


@pytest.mark.parametrize("name", ["threads", "files", "children", "windows", "widgets", "timers"])
def test_a_count_that_rises_for_good_is_amiss(name: str) -> None:
    rising = [replace(CALM, **{name: getattr(CALM, name) + k}) for k in range(8)]
    assert [name in words for words in grown(rising, 50.0)] == [True]
    falling = rising[::-1]
    assert grown(falling, 50.0) == []


def test_memory_may_grow_by_what_is_allowed() -> None:
    rising = [replace(CALM, memory_mb=300.0 + 10.0 * k) for k in range(8)]
    assert grown(rising, 50.0) == []
    assert grown(rising, 49.0) == ["memory grew by 50 MB, 49 are allowed"]


def test_what_is_open_for_a_while_is_no_leak() -> None:
    assert (
        grown([CALM, replace(CALM, files=14), CALM, CALM, CALM, CALM, replace(CALM, files=15), CALM], 50.0)
        == []
    )
