"""Faults of the disk at every step of a save and of the journal: old or new, never neither.

Every call to the system within an operation fails in turn, once with each fault. The set of faults is that
of POSIX write(2), fsync(2), rename(2) and open(2).
"""

import contextlib
import errno
import os
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.files import journal as journal_module
from app.files.atomic import SaveError, save_bytes
from app.files.journal import Journal, JournalError, State, newest, pending
from app.files.kept import keep_replaced, kept_states
from app.files.project_file import dumps, load
from tests.support.whole_projects import compact

FAULTS = (errno.ENOSPC, errno.EIO, errno.EACCES, errno.EDQUOT, errno.EROFS)
SHORT = -1  # half is written, then the disk is full
CALLS = ("open", "write", "fsync", "ftruncate", "replace", "fstat", "mkdir", "fchmod")


class FaultyDisk:
    """Counts the calls to the system and lets one of them, or all from it on, fail."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.calls, self.fails_at, self.fault, self.stays = 0, -1, 0, False
        self.injected = 0
        for name in CALLS:
            monkeypatch.setattr(os, name, self._wrapped(name, getattr(os, name)))

    def _wrapped(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **named: Any) -> Any:
            self.calls += 1
            hit = self.calls == self.fails_at or (self.stays and 0 < self.fails_at <= self.calls)
            if hit:
                self.injected += 1
                if self.fault == SHORT and name == "write":
                    self.fault, self.fails_at = errno.ENOSPC, self.calls + 1  # the rest finds no room
                    return real(args[0], bytes(args[1])[: len(args[1]) // 2])
                code = errno.ENOSPC if self.fault == SHORT else self.fault
                raise OSError(code, os.strerror(code))
            return None if name == "fsync" else real(*args, **named)

        return call

    @contextlib.contextmanager
    def failing(self, at: int, fault: int, stays: bool) -> Iterator[None]:
        self.calls, self.fails_at, self.fault, self.stays = 0, at, fault, stays
        yield
        self.fails_at = -1


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> FaultyDisk:
    return FaultyDisk(monkeypatch)


def every_fault(disk: FaultyDisk, once: Callable[[int, int, bool], None]) -> int:
    """Run `once` with each fault at each call until the call is never reached; return how many there were."""
    before = disk.injected
    for fault in (*FAULTS, SHORT):
        for stays in (False, True):
            for at in range(1, 60):
                seen = disk.injected
                once(at, fault, stays)
                if disk.injected == seen:
                    break
            else:
                raise AssertionError("an operation of more than 60 calls")
    return disk.injected - before


def numbered(number: int) -> State:
    return State(replace(compact(), revision=str(number)), f"Step {number}", number, float(-number))


@pytest.mark.parametrize("is_new", [False, True])
def test_a_save_leaves_the_old_file_or_the_new_one(disk: FaultyDisk, tmp_path: Path, is_new: bool) -> None:
    path = tmp_path / "a.blankwright"
    old, new = numbered(1).project, numbered(2).project

    def once(at: int, fault: int, stays: bool) -> None:
        path.unlink(missing_ok=True)
        if not is_new:
            path.write_bytes(dumps(old))
        raised = replaced = False
        with disk.failing(at, fault, stays):
            try:
                save_bytes(path, dumps(new))
            except SaveError as error:
                raised, replaced = True, error.replaced
        if raised and not replaced:
            assert load(path) == old if not is_new else not path.exists()
        else:
            assert load(path) == new
        assert [p.name for p in tmp_path.iterdir() if p != path] == []

    assert every_fault(disk, once) >= 80


def test_a_state_that_was_accepted_is_in_the_journal(disk: FaultyDisk, tmp_path: Path) -> None:
    """First state, further states, one that compacts, and syncing; then the next state is kept again."""

    def once(at: int, fault: int, stays: bool) -> None:
        journals = tmp_path / f"{at} {fault} {stays}"
        journal = Journal(journals)
        accepted = 0
        with disk.failing(at, fault, stays):
            for number in range(1, 5):
                try:
                    journal.append(numbered(number))
                    accepted = number
                    journal.sync()
                except JournalError:
                    pass
                assert _newest(journals) >= accepted
        journal.append(numbered(9))
        assert _newest(journals) == 9
        journal.clear()
        assert not list(journals.glob("*/journal"))  # a folder without one is swept later

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(journal_module, "MOST_BYTES", 3 * _record_size())
        assert every_fault(disk, once) >= 120


def _record_size() -> int:
    return len(journal_module._record(numbered(1), 1)) + 10


def _newest(journals: Path) -> int:
    """Return the number of the newest state that the next start would read, 0 for none."""
    found = [newest(path.read_bytes())[0] for path in journals.glob("*/journal")]
    return max((state.edits for state in found if state is not None), default=0)


def test_removing_a_journal_never_offers_what_was_saved(disk: FaultyDisk, tmp_path: Path) -> None:
    origin = tmp_path / "a.blankwright"

    def once(at: int, fault: int, stays: bool) -> None:
        journals = tmp_path / f"{at} {fault} {stays}"
        journal = Journal(journals)
        state = replace(numbered(1), origin=origin)
        journal.append(state)
        origin.write_bytes(dumps(state.project))
        with disk.failing(at, fault, stays):
            journal.clear()
        assert pending(journals) == []

    every_fault(disk, once)


def test_keeping_an_earlier_state_never_harms_file_or_states(disk: FaultyDisk, tmp_path: Path) -> None:
    path, state = tmp_path / "a.blankwright", tmp_path / "state"
    path.write_bytes(dumps(numbered(1).project))
    keep_replaced(path, state)

    def once(at: int, fault: int, stays: bool) -> None:
        path.write_bytes(dumps(numbered(at).project))
        with disk.failing(at, fault, stays), contextlib.suppress(SaveError, OSError):
            keep_replaced(path, state)
        assert load(path) == numbered(at).project
        assert 1 <= len(kept_states(path, state)) <= 6  # one more until the next save, if it stops half-way
        for kept in kept_states(path, state):
            load(kept.path)

    every_fault(disk, once)
