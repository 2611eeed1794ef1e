"""Snapshots: written while the process lives, offered when it was killed, never in the way of a start."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from app.files import snapshot
from app.files.project_file import dumps, load
from app.files.snapshot import discard, forget_snapshot, pending_snapshots, write_snapshot
from tests.support.projects import compact, every_class

ROOT = Path(__file__).resolve().parents[3]

#: Another process: writes snapshots of the documents named, says so, and waits to be ended.
WRITER = """
import sys
from pathlib import Path
from app.files.snapshot import write_snapshot
from tests.support.projects import compact, every_class
state = Path(sys.argv[1])
for number, name in enumerate(sys.argv[2:]):
    reason = write_snapshot(every_class() if number else compact(), Path(name) if name else None, state)
    assert reason is None, reason
print("written", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def state(tmp_path: Path) -> Iterator[Path]:
    yield tmp_path / "state"
    for folder in list(snapshot._own):
        snapshot._own.pop(folder).release()


def writer(state: Path, *names: str) -> "subprocess.Popen[str]":
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(state), *names],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "written\n"
    return process


def ended(process: "subprocess.Popen[str]", kill: bool = True) -> None:
    """End a process by kill -9, or let it come to its own end."""
    if kill:
        process.kill()
    process.communicate()
    assert process.returncode == (-signal.SIGKILL if kill and sys.platform != "win32" else process.returncode)


def crashed(state: Path, *names: str) -> None:
    ended(writer(state, *names))


def test_work_of_a_killed_process_is_offered_with_its_origin_and_time(state: Path) -> None:
    crashed(state, "/work shop/räder.blankwright", "")
    found = {s.origin: s for s in pending_snapshots(state)}
    assert set(found) == {Path("/work shop/räder.blankwright").absolute(), None}
    assert found[Path("/work shop/räder.blankwright").absolute()].project == compact()
    assert found[None].project == every_class()
    for offered in found.values():
        assert offered.error == ""
        assert timedelta(0) <= datetime.now(UTC) - offered.when < timedelta(minutes=5)


def test_work_of_a_living_process_is_not_offered(state: Path) -> None:
    process = writer(state, "a.blankwright")
    assert pending_snapshots(state) == []
    ended(process, kill=False)
    assert len(pending_snapshots(state)) == 1


def test_own_work_is_not_offered_and_the_last_writing_counts(state: Path) -> None:
    for revision in "123":
        assert write_snapshot(replace(compact(), revision=revision), Path("a"), state) is None
    assert pending_snapshots(state) == []
    (folder,) = state.iterdir()
    assert load(folder / "project.blankwright").revision == "3"


def test_two_documents_of_one_process_do_not_mix(state: Path) -> None:
    write_snapshot(compact(), Path("a"), state)
    write_snapshot(every_class(), Path("b"), state)
    write_snapshot(compact(), None, state)
    assert len(list(state.iterdir())) == 3
    forget_snapshot(Path("a"), state)
    forget_snapshot(None, state)
    (left,) = state.iterdir()
    assert load(left / "project.blankwright") == every_class()


def test_snapshot_goes_only_when_it_is_discarded(state: Path) -> None:
    crashed(state, "a")
    crashed(state, "a")
    assert len(pending_snapshots(state)) == len(pending_snapshots(state)) == 2
    for offered in pending_snapshots(state):
        discard(offered)
    assert pending_snapshots(state) == []
    assert list(state.iterdir()) == []


def test_restored_work_outlives_a_second_crash(state: Path) -> None:
    crashed(state, "a")
    (offered,) = pending_snapshots(state)
    assert offered.project is not None
    write_snapshot(offered.project, offered.origin, state)  # what the window does before it discards
    discard(offered)
    (own,) = state.iterdir()
    snapshot._own.pop(own).release()  # as the system does when the process dies
    assert [s.project for s in pending_snapshots(state)] == [compact()]


def test_every_truncation_is_moved_aside_and_reported_once(state: Path) -> None:
    data = dumps(compact())
    lengths = range(0, len(data), 97)
    for length in lengths:
        folder = state / f"{length:06}-1"
        folder.mkdir(parents=True)
        (folder / "project.blankwright").write_bytes(data[:length])
    reported = pending_snapshots(state)
    assert len(reported) == len(lengths)
    for damaged in reported:
        assert damaged.project is None
        assert f"The file was moved aside: {damaged.folder / 'project.blankwright'}." in damaged.error
        assert (damaged.folder / "project.blankwright").is_file()
    assert pending_snapshots(state) == []


@pytest.mark.parametrize("origin", [b"", b"{", b"[1]", b"\xff", b"[" * 100_000, b'""', b"null"])
def test_damaged_origin_does_not_cost_the_work(state: Path, origin: bytes) -> None:
    folder = state / "0123-1"
    folder.mkdir(parents=True)
    (folder / "project.blankwright").write_bytes(dumps(compact()))
    (folder / "origin.json").write_bytes(origin)
    (offered,) = pending_snapshots(state)
    assert offered.origin is None
    assert offered.project == compact()


def test_strange_things_in_the_folder_are_left_alone(state: Path) -> None:
    assert pending_snapshots(state) == []  # no folder yet
    (state / "empty").mkdir(parents=True)
    (state / "project.blankwright").mkdir()
    (state / "file").write_bytes(b"x")
    assert pending_snapshots(state) == []
    assert sorted(path.name for path in state.iterdir()) == ["empty", "file", "project.blankwright"]


def test_unusable_folder_is_a_reason_until_it_works_again(state: Path) -> None:
    state.write_text("a file in its place")
    for _ in range(2):
        reason = write_snapshot(compact(), None, state)
        assert reason is not None
        assert reason.startswith("No snapshot of the unsaved work: ")
        assert pending_snapshots(state) == []
    state.unlink()
    assert write_snapshot(compact(), None, state) is None
    assert len(list(state.iterdir())) == 1


def test_work_that_cannot_be_written_leaves_the_last_snapshot(state: Path) -> None:
    assert write_snapshot(compact(), None, state) is None
    broken = replace(compact(), notes={"a": float("nan")})
    assert "notes.a is nan" in (write_snapshot(broken, None, state) or "")
    (folder,) = state.iterdir()
    assert load(folder / "project.blankwright") == compact()


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX limits")
def test_full_disk_keeps_the_last_snapshot(state: Path) -> None:
    """The limit on the size of a file stands for a full disk: the write fails half-way."""
    code = """
import resource, signal, sys
from dataclasses import replace
from pathlib import Path
from app.files.snapshot import write_snapshot
from tests.support.projects import compact
state = Path(sys.argv[1])
assert write_snapshot(compact(), None, state) is None
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
print(write_snapshot(replace(compact(), revision="2"), None, state))
"""
    run = subprocess.run(
        [sys.executable, "-c", code, str(state)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert "larger than this system allows; nothing changed" in run.stdout
    (offered,) = pending_snapshots(state)
    assert offered.project == compact()


def test_user_folder_is_the_platform_one(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """XDG Base Directory Specification 0.8: $XDG_STATE_HOME holds state that outlasts a restart."""
    if sys.platform != "linux":
        pytest.skip("the specification is for Linux")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert snapshot.state_folder() == tmp_path / "blankwright" / "snapshots"
