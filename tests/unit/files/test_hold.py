"""Holds on files: one at a time, through links, freed by any end of a process, never in the way."""

import errno
import json
import os
import platform
import subprocess
import sys
from pathlib import Path

import pytest

from app.files.hold import HeldError, Hold
from app.files.journal import Journal, State, pending
from tests.support.whole_projects import compact

ROOT = Path(__file__).resolve().parents[3]
HOLDER = """
import sys
from pathlib import Path
from app.files.hold import Hold
hold = Hold(Path(sys.argv[1]))
print("held", flush=True)
sys.stdin.read()
"""


def test_a_killed_holder_frees_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a.blankwright"
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=env,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "held\n"
    with pytest.raises(HeldError) as held:
        Hold(path)
    assert held.value.holder.pid == process.pid
    process.kill()
    process.communicate()
    again = Hold(path)  # the killed one's lock file is still there
    with pytest.raises(HeldError) as held:
        Hold(path)
    assert held.value.holder.pid == os.getpid()
    again.release()
    assert list(tmp_path.iterdir()) == []


def test_a_link_and_its_file_are_one(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    path = tmp_path / "real" / "a.blankwright"
    path.write_bytes(b"")
    (tmp_path / "link").symlink_to(path)
    hold = Hold(tmp_path / "link")
    with pytest.raises(HeldError):
        Hold(path)
    Hold(tmp_path / "real" / "b.blankwright").release()
    hold.release()


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"pid": "x"}', b"\xff", b"[" * 100_000])
def test_strange_words_in_a_lock_file_harm_nothing(tmp_path: Path, content: bytes) -> None:
    hold = Hold(tmp_path / "a")
    next(tmp_path.iterdir()).write_bytes(content)
    with pytest.raises(HeldError) as held:
        Hold(tmp_path / "a")
    assert held.value.holder.pid == 0
    hold.release()


def test_where_no_lock_can_be_made_it_is_no_hindrance(tmp_path: Path) -> None:
    Hold(tmp_path / "gone" / "a").release()
    assert not (tmp_path / "gone").exists()
    (tmp_path / "file").write_bytes(b"")
    Hold(tmp_path / "file" / "a").release()
    Hold(tmp_path / ("ü" * 127)).release()


@pytest.fixture(params=["ENOSYS", "ENOLCK", "EOPNOTSUPP"])
def no_locks(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file system that knows no locks, as some network drives."""
    fcntl = pytest.importorskip("fcntl")
    code = getattr(errno, request.param)

    def refuse(*_args: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(fcntl, "flock", refuse)


@pytest.mark.usefixtures("no_locks")
def test_where_a_folder_knows_no_locks_a_note_tells_windows_apart(tmp_path: Path) -> None:
    path = tmp_path / "a.blankwright"
    hold = Hold(path)
    assert hold.is_by_note
    with pytest.raises(HeldError) as held:
        Hold(path)
    assert (held.value.holder.pid, held.value.holder.host) == (os.getpid(), platform.node())
    hold.release()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("no_locks")
def test_the_note_of_an_ended_process_is_taken_over_and_of_another_machine_is_not(tmp_path: Path) -> None:
    ended = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True)
    path = tmp_path / "a.blankwright"
    hold = Hold(path)
    (note,) = tmp_path.iterdir()
    words = {"host": platform.node(), "pid": int(ended.stdout), "at": 0.0}
    note.write_text(json.dumps(words))
    again = Hold(path)
    assert again.is_by_note
    note.write_text(json.dumps(words | {"host": "elsewhere"}))
    with pytest.raises(HeldError) as held:
        Hold(path)
    assert held.value.holder.host == "elsewhere"
    note.write_text("{")  # of nobody
    assert Hold(path).is_by_note
    again.release()
    hold.release()


@pytest.mark.usefixtures("no_locks")
def test_a_journal_is_kept_and_offered_without_locks(tmp_path: Path) -> None:
    ended = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True)
    journal = Journal(tmp_path)
    journal.append(State(compact(), "Move vertex 3", 1, 1000.0))
    assert pending(tmp_path) == []  # this process lives
    (lock,) = tmp_path.glob("*/lock")
    lock.write_text(json.dumps({"host": platform.node(), "pid": int(ended.stdout), "at": 0.0}))
    (left,) = pending(tmp_path)
    assert left.state is not None
    assert left.state.project == compact()
    lock.write_text(json.dumps({"host": "elsewhere", "pid": int(ended.stdout), "at": 0.0}))
    assert pending(tmp_path) == []
    journal.clear()
    assert list(tmp_path.iterdir()) == []
