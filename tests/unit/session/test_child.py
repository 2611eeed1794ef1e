"""The child process: answers, refusals, and an end from another thread."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator

import pytest

from app.session.child import Child, ChildError, StoppedError
from geometry.errors import GeometryError

Tell = Callable[[int, int, str], None]


def doubled(number: int, tell: Tell) -> tuple[int, int]:
    tell(1, 2, "half")
    return 2 * number, os.getpid()


def refusing(_tell: Tell) -> None:
    raise GeometryError("no pad here; draw one")


def failing(_tell: Tell) -> None:
    raise KeyError("a slip")


def dying(_tell: Tell) -> None:
    os._exit(3)


def sleeping(tell: Tell) -> None:
    tell(0, 1, "asleep")
    time.sleep(60.0)


@pytest.fixture
def child() -> Iterator[Child]:
    made = Child()
    yield made
    made.end()


def test_it_answers_from_another_process_and_says_how_far_it_is(child: Child) -> None:
    told: list[tuple[int, int, str]] = []
    number, process = child.ask(doubled, 21, told=lambda *words: told.append(words))
    assert number == 42
    assert process != os.getpid()
    assert told == [(1, 2, "half")]
    assert child.ask(doubled, 1) == (2, process), "the next piece runs in the same process"


def test_a_refusal_comes_back_with_its_words_and_the_child_goes_on(child: Child) -> None:
    with pytest.raises(GeometryError, match="no pad here; draw one"):
        child.ask(refusing)
    with pytest.raises(ChildError, match="KeyError"):
        child.ask(failing)
    assert child.ask(doubled, 2)[0] == 4


def waited_for(child: Child) -> object:
    until = time.monotonic() + 60.0
    while (found := child.answer()) is None:
        assert time.monotonic() < until
        time.sleep(0.005)
    return found


def test_a_piece_that_is_begun_is_asked_for_later(child: Child) -> None:
    assert child.answer() is None, "nothing was begun"
    child.begin(doubled, 4)
    found = waited_for(child)
    assert isinstance(found, tuple)
    assert found[0] == 8
    assert found[1] != os.getpid()
    assert child.answer() is None, "an answer is given once"
    child.begin(doubled, 5)
    assert waited_for(child) == (10, found[1])
    child.begin(refusing)
    with pytest.raises(GeometryError, match="no pad here; draw one"):
        waited_for(child)
    child.begin(dying)
    with pytest.raises(ChildError, match="without an answer"):
        waited_for(child)
    child.begin(doubled, 6)
    child.end()
    assert child.answer() is None, "what was under way is dropped"
    child.begin(doubled, 7)
    found = waited_for(child)
    assert isinstance(found, tuple)
    assert found[0] == 14


def test_a_death_is_said_and_the_next_piece_gets_a_new_child(child: Child) -> None:
    with pytest.raises(ChildError, match="without an answer"):
        child.ask(dying)
    assert child.ask(doubled, 3)[0] == 6


def test_an_end_from_elsewhere_stops_who_waits_and_leaves_a_newer_child_alone(child: Child) -> None:
    asleep, raised = threading.Event(), []

    def wait() -> None:
        try:
            child.ask(sleeping, told=lambda *_words: asleep.set())
        except ChildError as error:
            raised.append(error)

    waiting = threading.Thread(target=wait)
    waiting.start()
    assert asleep.wait(60.0)
    child.end()
    assert child.ask(doubled, 4)[0] == 8
    waiting.join(30.0)
    assert [type(error) for error in raised] == [StoppedError]
    assert child.ask(doubled, 5)[0] == 10, "the end of the older did not end the newer"
