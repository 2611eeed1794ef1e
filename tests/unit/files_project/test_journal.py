"""The journal: written while the process lives, offered when it was killed, never in the way of a start."""

import itertools
import json
import os
import shutil
import signal
import struct
import subprocess
import sys
import time
import zlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from app.files import journal as module
from app.files.journal import Journal, JournalError, State, discard, journals_folder, newest, pending
from app.files.migrations import FORMAT
from app.files.on_disk import see
from app.files.project_file import load, open_file, save
from app.project.project import Project
from tests.support.project_docs import golden
from tests.support.whole_projects import compact, every_class

ROOT = Path(__file__).resolve().parents[3]

#: Another process: writes states of the documents named, says so, and waits to be ended.
WRITER = """
import sys
from pathlib import Path
from app.files.journal import Journal, State
from tests.support.whole_projects import compact, every_class
kept = []
for number, name in enumerate(sys.argv[2:]):
    kept.append(Journal(Path(sys.argv[1])))
    project = every_class() if number else compact()
    kept[-1].append(State(project, "Move vertex 3", 1, 1000.0 + number, Path(name) if name else None))
print("written", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def state(tmp_path: Path) -> Path:
    return tmp_path / "state"


@pytest.fixture
def journal(state: Path) -> Iterator[Journal]:
    made = Journal(state)
    yield made
    made.clear()


def step(number: int, project: Project | None = None, origin: Path | None = None) -> State:
    work = replace(project or compact(), revision=str(number))
    return State(work, f"Step {number}", number, 1000.0 + number, origin)


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


def test_living_process_is_not_offered_and_a_killed_one_is(state: Path) -> None:
    process = writer(state, "/work shop/räder.blankwright", "")
    assert pending(state) == []
    process.kill()
    process.communicate()
    assert process.returncode == (-signal.SIGKILL if sys.platform != "win32" else process.returncode)
    second, first = pending(state)  # newest first
    assert first.state == State(
        compact(), "Move vertex 3", 1, 1000.0, Path("/work shop/räder.blankwright").absolute()
    )
    assert second.state == State(every_class(), "Move vertex 3", 1, 1001.0, None)
    assert first.trouble == second.trouble == ""
    assert len(pending(state)) == 2  # only the user's word removes them
    for left in pending(state):
        discard(left)
    assert list(state.iterdir()) == []


def test_own_work_is_not_offered_and_saving_removes_it(state: Path, journal: Journal) -> None:
    journal.append(step(1))
    assert pending(state) == []
    journal.clear()
    assert list(state.iterdir()) == []
    journal.append(step(2))  # the same document goes on
    assert read(state) == step(2)


def read(state: Path) -> State:
    """Return the newest state of the only journal there, as the next start would read it."""
    (folder,) = state.iterdir()
    found, trouble = newest((folder / "journal").read_bytes())
    assert found is not None
    assert trouble == ""
    return found


def test_undo_is_a_state_like_any_other(state: Path, journal: Journal) -> None:
    for number in (1, 2, 1):
        journal.append(step(number))
    assert read(state) == step(1)


def test_what_cannot_be_told_apart_by_time_is_told_apart_by_order(state: Path, journal: Journal) -> None:
    """A clock that is set back, or far ahead, loses nothing."""
    for at in (1e9, 5e9, -1e9):
        journal.append(replace(step(1), at=at, words=f"at {at}"))
    assert read(state).words == "at -1000000000.0"


def test_journal_is_bounded_and_holds_the_newest(
    state: Path, journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "MOST_BYTES", 5000)
    sizes = []
    for number in range(60):
        journal.append(step(number))
        (folder,) = state.iterdir()
        sizes.append((folder / "journal").stat().st_size)
        assert read(state) == step(number)
    assert max(sizes) <= 5000
    assert sum(later < earlier for earlier, later in itertools.pairwise(sizes)) >= 3


def test_every_truncation_gives_the_last_whole_record(state: Path, journal: Journal) -> None:
    ends = []
    for number in range(3):
        journal.append(step(number))
        (path,) = state.glob("*/journal")
        ends.append(path.stat().st_size)
    data = path.read_bytes()
    states = [step(number) for number in range(3)]
    found = {newest(data[:end])[0] == states[k] for k, end in enumerate(ends)}
    assert found == {True}
    for length in range(0, len(data), 7):
        whole = sum(end <= length for end in ends)
        state_there, trouble = newest(data[:length])
        assert state_there == (states[whole - 1] if whole else None)
        assert bool(trouble) == (length not in ends)


def test_no_flipped_bit_is_silently_read(state: Path, journal: Journal) -> None:
    journal.append(step(1))
    journal.append(step(2))
    (path,) = state.glob("*/journal")
    good = path.read_bytes()
    allowed = (step(1), step(2), None)
    for bit in range(0, 8 * len(good), 13):
        data = bytearray(good)
        data[bit // 8] ^= 1 << bit % 8
        found, _ = newest(bytes(data))
        assert found in allowed


def test_a_record_damaged_in_the_middle_does_not_cost_the_later_ones(state: Path, journal: Journal) -> None:
    for number in range(3):
        journal.append(step(number))
    (path,) = state.glob("*/journal")
    data = path.read_bytes()
    assert newest(data[:30] + b"\0" * 40 + data[70:])[0] == step(2)


def test_damaged_journal_is_moved_aside_and_reported_once(state: Path) -> None:
    folder = state / "20260101-120000-1-0123abcd"
    folder.mkdir(parents=True)
    (folder / "journal").write_bytes(b"BWJ1 not a record")
    (left,) = pending(state)
    assert left.state is None
    assert f"it was moved aside: {left.folder}" in left.trouble
    assert (left.folder / "journal").read_bytes() == b"BWJ1 not a record"
    assert pending(state) == []


def test_work_that_no_file_can_hold_leaves_the_state_before(state: Path, journal: Journal) -> None:
    """Numbers that are not finite are kept as what they are, and never come back as something else."""
    journal.append(step(1))
    journal.append(step(2, replace(compact(), notes={"a": float("nan")})))
    (path,) = state.glob("*/journal")
    found, trouble = newest(path.read_bytes())
    assert found == step(1)
    assert "notes.a is nan" in trouble
    with pytest.raises(JournalError, match="cannot be written"):
        journal.append(step(3, replace(compact(), name="\ud800")))
    journal.append(step(4))
    assert newest(path.read_bytes())[0] == step(4)


def test_a_journal_of_what_the_file_holds_is_removed(state: Path, tmp_path: Path) -> None:
    origin = tmp_path / "a.blankwright"
    save(step(7).project, origin)
    for number in (7, 8):
        left_behind = Journal(state)
        left_behind.append(replace(step(number, origin=origin), file=see(origin)))
        left_behind._release()  # as the system does when the process dies
    (left,) = pending(state)
    assert left.state == replace(step(8, origin=origin), file=see(origin))
    assert len(list(state.iterdir())) == 1


def test_strange_things_in_the_folder_are_left_alone(state: Path) -> None:
    assert pending(state) == []  # no folder yet
    (state / "empty").mkdir(parents=True)
    (state / "20260101-120000-1-0123abcd").mkdir()  # another process may be just beginning
    (state / "20260101-120000-2-0123abcd").write_bytes(b"x")
    assert pending(state) == []
    assert len(list(state.iterdir())) == 3


def test_unusable_folder_is_a_reason_until_it_works_again(state: Path, journal: Journal) -> None:
    state.write_text("a file in its place")
    for _ in range(2):
        with pytest.raises(JournalError):
            journal.append(step(1))
        assert pending(state) == []
    state.unlink()
    journal.append(step(2))
    assert read(state) == step(2)


def test_a_journal_that_was_swept_away_is_begun_anew(state: Path, journal: Journal) -> None:
    journal.append(step(1))
    shutil.rmtree(state)
    journal.sync()
    assert read(state) == step(1)


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX limits")
def test_full_disk_keeps_what_was_written(state: Path) -> None:
    """The limit on the size of a file stands for a full disk: the write fails half-way."""
    code = """
import resource, signal, sys
from dataclasses import replace
from pathlib import Path
from app.files.journal import Journal, JournalError, State
from tests.support.whole_projects import compact
journal, project = Journal(Path(sys.argv[1])), compact()
journal.append(State(project, "one", 1, 0.0))
(path,) = Path(sys.argv[1]).glob("*/journal")
size = path.stat().st_size
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (size + 100, resource.RLIM_INFINITY))
try:
    journal.append(State(project, "two", 2, 0.0))
except JournalError as error:
    print(error, path.stat().st_size == size)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
journal.append(State(project, "three", 3, 0.0))
"""
    run = subprocess.run(
        [sys.executable, "-c", code, str(state)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert run.stdout.endswith("File too large True\n")
    (left,) = pending(state)
    assert left.state is not None
    assert left.state.words == "three"
    assert left.trouble == ""


def test_user_folder_is_the_platform_one(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """XDG Base Directory Specification 0.8: $XDG_STATE_HOME holds state that outlasts a restart."""
    if sys.platform != "linux":
        pytest.skip("the specification is for Linux")
    assert not journals_folder().is_relative_to(Path.home() / ".local")  # tests leave the user's own alone
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert journals_folder() == tmp_path / "blankwright" / "journals"


def test_folder_of_a_process_that_never_wrote_goes_in_time(state: Path) -> None:
    folder = state / "20260101-120000-1-0123abcd"
    folder.mkdir(parents=True)
    long_ago = time.time() - 7200
    (folder / "lock").write_bytes(b"")
    os.utime(folder, (long_ago, long_ago))
    assert pending(state) == []
    assert list(state.iterdir()) == []


@pytest.mark.parametrize("written", range(1, FORMAT + 1))
def test_work_that_an_older_version_kept_is_offered_converted(state: Path, written: int) -> None:
    """A record as that version wrote it: its own tree under its own format."""
    tree = json.loads(golden(written).read_bytes())
    del tree["sha256"], tree["format"]
    said = {"number": 1, "format": written, "words": "Move vertex 3", "edits": 4, "at": 1000.0}
    packed = msgspec.msgpack.encode(said | {"origin": None, "file": None, "project": tree})
    payload = zlib.compress(packed)
    folder = state / "20260101-000000-1-00000000"
    folder.mkdir(parents=True)
    head = struct.pack("<4sQI", b"BWJ1", len(payload), zlib.crc32(payload))
    (folder / "journal").write_bytes(head + payload)
    (left,) = pending(state)
    assert left.state is not None
    assert left.trouble == ""
    assert left.state.project == load(golden(written))
    assert left.state.changes == open_file(golden(written)).changes
    assert bool(left.state.changes) == (written < FORMAT)


def test_work_that_a_newer_version_kept_is_said_with_the_format_needed_and_stays(state: Path) -> None:
    journal = Journal(state)
    journal.append(step(1))
    (path,) = state.glob("*/journal")
    data = path.read_bytes()
    journal.clear()
    head = struct.Struct("<4sQI")
    said = msgspec.msgpack.decode(zlib.decompress(data[head.size :]))
    said["format"] = FORMAT + 3
    payload = zlib.compress(msgspec.msgpack.encode(said))
    folder = state / "20260101-000000-1-00000000"
    folder.mkdir(parents=True)
    written = head.pack(b"BWJ1", len(payload), zlib.crc32(payload)) + payload
    (folder / "journal").write_bytes(written)
    (left,) = pending(state)
    assert left.state is None
    assert f"one that reads format {FORMAT + 3}" in left.trouble
    assert [p.read_bytes() for p in state.glob("*/journal")] == [written]
    # The start after an update finds it again.
    assert len(pending(state)) == 1
    assert list(state.glob("damaged-*")) == []


def test_the_first_record_is_there_without_waiting_for_the_disk(
    state: Path, journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    forced: list[int] = []
    real = os.fsync

    def force(descriptor: int) -> None:
        forced.append(descriptor)
        real(descriptor)

    monkeypatch.setattr(os, "fsync", force)
    journal.append(step(1))
    assert forced == []
    assert read(state) == step(1)
    journal.sync()  # the record, its folder, and the folder of all
    assert len(forced) == 3
    journal.sync()
    assert len(forced) == 4


def test_a_process_that_ended_before_its_first_record_left_nothing_to_speak_of(state: Path) -> None:
    folder = state / "20260101-000000-1-00000000"
    folder.mkdir(parents=True)
    (folder / "journal").write_bytes(b"")
    assert pending(state) == []
    os.utime(folder, (0, 0))
    assert pending(state) == []
    assert list(state.iterdir()) == []
