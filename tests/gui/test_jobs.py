"""Work in the background."""

from __future__ import annotations

import threading

import pytest
import shiboken6
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from app.session.jobs import Jobs


class Caller:
    """Keeps what came back, and in which thread."""

    def __init__(self) -> None:
        self.values: list[object] = []
        self.errors: list[Exception] = []
        self.threads: set[int] = set()

    def done(self, value: object) -> None:
        self.values.append(value)
        self.threads.add(threading.get_ident())

    def failed(self, error: Exception) -> None:
        self.errors.append(error)
        self.threads.add(threading.get_ident())


@pytest.fixture
def caller() -> Caller:
    return Caller()


@pytest.fixture
def jobs(qtbot: QtBot) -> Jobs:
    return Jobs()


def test_a_value_comes_back_here_from_another_thread(qtbot: QtBot, jobs: Jobs, caller: Caller) -> None:
    words: list[str] = []
    jobs.busy.connect(words.append)
    jobs.start("adding", threading.get_ident, caller.done, caller.failed)
    qtbot.waitUntil(lambda: bool(caller.values))
    assert caller.values != [threading.get_ident()]
    assert caller.threads == {threading.get_ident()}
    assert words == ["adding", ""]
    assert not jobs.is_busy


def test_an_exception_comes_back_as_it_is(qtbot: QtBot, jobs: Jobs, caller: Caller) -> None:
    error = ValueError("no such thing")

    def work() -> None:
        raise error

    jobs.start("failing", work, caller.done, caller.failed)
    qtbot.waitUntil(lambda: bool(caller.errors))
    assert caller.errors == [error]
    assert caller.values == []


def test_of_one_name_only_the_newest_counts(qtbot: QtBot, jobs: Jobs, caller: Caller) -> None:
    gate = threading.Event()

    def slow() -> str:
        gate.wait(10.0)
        return "old"

    jobs.start("reading", slow, caller.done, caller.failed)
    jobs.start("reading", lambda: "new", caller.done, caller.failed)
    qtbot.waitUntil(lambda: bool(caller.values))
    gate.set()
    assert jobs.wait(10_000)
    qtbot.wait(20)
    assert caller.values == ["new"]


def test_a_dropped_job_says_nothing(qtbot: QtBot, jobs: Jobs, caller: Caller) -> None:
    jobs.start("reading", lambda: 1, caller.done, caller.failed)
    jobs.drop("reading")
    assert not jobs.is_busy
    assert jobs.wait(10_000)
    qtbot.wait(20)
    assert caller.values == []


def test_what_started_a_job_may_go_without_waiting_for_it(qtbot: QtBot, caller: Caller) -> None:
    gate = threading.Event()
    ended: list[bool] = []

    def slow() -> None:
        ended.append(gate.wait(10.0))

    owner = QObject()
    Jobs(owner).start("reading", slow, caller.done, caller.failed)
    owner.deleteLater()
    with qtbot.waitSignal(owner.destroyed, timeout=1000):
        pass
    assert ended == []
    gate.set()
    assert Jobs.wait(10_000)
    qtbot.wait(20)
    assert ended == [True]
    assert caller.values == []


@pytest.mark.parametrize("fails", [False, True])
def test_a_job_that_outlives_the_program_ends_without_a_word(
    jobs: Jobs, caller: Caller, capfd: pytest.CaptureFixture[str], fails: bool
) -> None:
    """At the exit the toolkit takes all its objects away, also those that a thread still holds."""
    may_end = threading.Event()

    def work() -> None:
        may_end.wait(10.0)
        if fails:
            raise ValueError

    jobs.start("late", work, caller.done, caller.failed)
    shiboken6.delete(jobs._result)
    may_end.set()
    assert Jobs.wait(10_000)
    assert (caller.values, caller.errors) == ([], [])
    assert capfd.readouterr().err == ""
