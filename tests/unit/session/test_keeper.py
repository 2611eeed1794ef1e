"""The thread that writes the journal: soon, newest only, told once, and gone when nothing is left to do."""

import itertools
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from app.files.journal import Journal, State, newest
from app.session import keeper as module
from app.session.keeper import Keeper
from tests.support.whole_projects import compact


def step(number: int) -> State:
    return State(replace(compact(), revision=str(number)), f"Step {number}", number, 0.0)


def read(journals: Path) -> State | None:
    (path,) = journals.glob("*/journal")
    return newest(path.read_bytes())[0]


def test_a_state_is_there_and_the_caller_did_not_wait(tmp_path: Path) -> None:
    keeper = Keeper(Journal(tmp_path), lambda _: None)
    for number in range(300):
        keeper.keep(step(number))
    assert keeper.flush()
    assert read(tmp_path) == step(299)
    keeper.forget()
    assert keeper.flush()
    assert list(tmp_path.iterdir()) == []


def test_forgetting_and_keeping_hold_their_order(tmp_path: Path) -> None:
    keeper = Keeper(Journal(tmp_path), lambda _: None)
    keeper.keep(step(1))
    keeper.forget()
    keeper.keep(step(2))
    assert keeper.flush()
    assert read(tmp_path) == step(2)
    keeper.keep(step(3))
    keeper.forget()
    assert keeper.flush()
    assert list(tmp_path.iterdir()) == []


def test_trouble_is_told_once_and_again_when_it_is_over(tmp_path: Path) -> None:
    told: list[str] = []
    place = tmp_path / "state"
    place.write_text("a file in its place")
    keeper = Keeper(Journal(place), told.append)
    for number in range(3):
        keeper.keep(step(number))
        assert not keeper.flush()
    assert len(told) == 1
    place.unlink()
    keeper.keep(step(4))
    assert keeper.flush()
    assert [bool(words) for words in told] == [True, False]
    keeper.forget()
    keeper.flush()


def test_the_disk_is_asked_once_a_period_and_the_thread_ends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "SYNC_S", 0.1)
    synced: list[float] = []

    class Counted(Journal):
        def sync(self) -> None:
            synced.append(time.monotonic())
            super().sync()

    journal = Counted(tmp_path)
    keeper = Keeper(journal, lambda _: None)
    until = time.monotonic() + 0.35
    number = 0
    while time.monotonic() < until:
        keeper.keep(step(number))
        number += 1
        time.sleep(0.01)
    thread = keeper._thread
    assert thread is not None
    thread.join(2.0)
    assert not thread.is_alive()
    assert thread not in threading.enumerate()
    assert 2 <= len(synced) <= 5
    assert all(later - earlier >= 0.1 for earlier, later in itertools.pairwise(synced))
    journal.clear()
