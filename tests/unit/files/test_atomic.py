"""Saving whole or not at all: faults of the disk, kills, order of the system's calls.

The order (file forced to disk before the rename, folder after it) is what POSIX leaves to the program:
rename(2) promises that the name never points to nothing, not that the bytes behind it are on the disk.
"""

import contextlib
import os
import random
import re
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.files import atomic
from app.files.atomic import SaveError, save_bytes, sweep

posix = pytest.mark.skipif(sys.platform == "win32", reason="POSIX only")
OLD = b"the old content\n" * 10
NEW = b"the new content\n" * 20_000


@pytest.fixture
def target(tmp_path: Path) -> Path:
    path = tmp_path / "wheel.blankwright"
    path.write_bytes(OLD)
    return path


def leftovers(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir() if path.name.startswith(".blankwright-")]


@pytest.mark.parametrize("content", [b"", b"x", NEW])
def test_new_and_old_files_are_written_whole(tmp_path: Path, target: Path, content: bytes) -> None:
    for path in (target, tmp_path / "new name ü.blankwright"):
        save_bytes(path, content)
        assert path.read_bytes() == content
    assert leftovers(tmp_path) == []


def test_a_name_of_255_bytes_is_saved(tmp_path: Path) -> None:
    path = tmp_path / ("n" * 243 + ".blankwright")
    save_bytes(path, NEW)
    assert path.read_bytes() == NEW


@posix
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o755])
def test_the_mode_is_kept(target: Path, mode: int) -> None:
    target.chmod(mode)
    save_bytes(target, NEW)
    assert stat.S_IMODE(target.stat().st_mode) == mode


@posix
def test_a_new_file_follows_the_umask(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        save_bytes(tmp_path / "new", NEW)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o640


@posix
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
def test_the_owner_is_kept(target: Path) -> None:
    os.chown(target, 1234, 2345)
    save_bytes(target, NEW)
    assert (target.stat().st_uid, target.stat().st_gid) == (1234, 2345)


@posix
def test_a_symbolic_link_is_followed(tmp_path: Path, target: Path) -> None:
    (tmp_path / "links").mkdir()
    link = tmp_path / "links" / "link.blankwright"
    link.symlink_to(target)
    save_bytes(link, NEW)
    assert link.is_symlink()
    assert target.read_bytes() == NEW
    assert leftovers(tmp_path / "links") == []


@posix
def test_a_link_to_itself_is_refused(tmp_path: Path) -> None:
    link = tmp_path / "loop"
    link.symlink_to(link)
    with pytest.raises(SaveError, match="leads back to itself"):
        save_bytes(link, NEW)


def test_a_read_only_file_is_left_alone(target: Path) -> None:
    target.chmod(0o444)
    with pytest.raises(SaveError, match=r"read-only; nothing changed\. Save under another name"):
        save_bytes(target, NEW)
    assert target.read_bytes() == OLD


@posix
def test_a_read_only_folder_is_reported() -> None:
    """As root the child becomes nobody, for whom the folder must be in reach: pytest's own is not."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        target = folder / "wheel"
        target.write_bytes(OLD)
        target.chmod(0o666)
        folder.chmod(0o555)
        run = _in_child(f"save_bytes(Path({str(target)!r}), NEW)", as_nobody=True)
        folder.chmod(0o755)
        assert "cannot be written to; nothing changed" in run.stdout, run.stderr
        assert target.read_bytes() == OLD
        assert leftovers(folder) == []


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("gone/wheel", "the folder is not there"),
        ("wheel.blankwright/wheel", "the folder is not there"),
        ("n" * 256, "the name is too long"),
        (".", "it is a folder"),
    ],
)
@posix
def test_an_impossible_place_is_one_clear_error(target: Path, name: str, reason: str) -> None:
    with pytest.raises(SaveError, match=reason):
        save_bytes(target.parent / name, NEW)
    assert target.read_bytes() == OLD


@posix
def test_a_device_is_not_replaced() -> None:
    with pytest.raises(SaveError, match="device or pipe"):
        save_bytes(Path("/dev/null"), NEW)
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)


@posix
@pytest.mark.parametrize("room", [0, 4096, 65_536, len(NEW) - 1])
def test_a_full_disk_leaves_the_old_file(target: Path, room: int) -> None:
    """RLIMIT_FSIZE cuts a write short, as a full disk does, and fails the next one."""
    limit = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({room}, {room}))"
    run = _in_child(f"{limit}; save_bytes(Path({str(target)!r}), NEW)")
    assert "larger than this system allows; nothing changed" in run.stdout, run.stderr
    assert target.read_bytes() == OLD
    assert leftovers(target.parent) == []


@pytest.mark.parametrize("call", ["write", "fsync", "rename", "open"])
def test_a_full_disk_is_named_whichever_call_meets_it(
    target: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    if call == "rename":
        monkeypatch.setattr(Path, "replace", fail)
    else:
        monkeypatch.setattr(os, call, fail)
    with pytest.raises(SaveError, match=r"the disk is full; nothing changed\. Free some space") as caught:
        save_bytes(target, NEW)
    monkeypatch.undo()
    assert not caught.value.replaced
    assert target.read_bytes() == OLD
    assert leftovers(target.parent) == []


def test_a_write_that_takes_nothing_is_an_error(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "write", lambda *_: 0)
    with pytest.raises(SaveError, match="the disk is full"):
        save_bytes(target, NEW)
    monkeypatch.undo()
    assert target.read_bytes() == OLD


def test_a_write_that_claims_more_than_it_did_is_caught(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "write", lambda _, rest: len(rest))
    with pytest.raises(SaveError, match="the disk reports a fault"):
        save_bytes(target, NEW)
    monkeypatch.undo()
    assert target.read_bytes() == OLD


def test_on_windows_a_held_file_is_tried_again(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    refusals = iter([PermissionError(13, "in use"), PermissionError(13, "in use")])
    rename = Path.replace

    def held_twice(self: Path, to: Path) -> Path:
        for refusal in refusals:
            raise refusal
        return rename(self, to)

    monkeypatch.setattr(Path, "replace", held_twice)
    monkeypatch.setattr(atomic, "RENAME_PAUSE_S", 0.0)
    monkeypatch.setattr(sys, "platform", "win32")
    save_bytes(target, NEW)
    assert target.read_bytes() == NEW


def test_strays_are_swept_and_nothing_else(tmp_path: Path, target: Path) -> None:
    ended = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True)
    own = atomic._temporary_name()
    dead = own.replace(f"-{os.getpid()}-", f"-{int(ended.stdout)}-")
    elsewhere = dead.replace(atomic._host(), "0" * 8)
    old_elsewhere = elsewhere.replace(".tmp", "")[:-8] + "00000000.tmp"
    for name in (own, dead, elsewhere, old_elsewhere, ".blankwright-note.tmp"):
        (tmp_path / name).write_bytes(b"half")
    # Also of this process: a machine that slept in the middle of a save goes on with it.
    two_days_ago = time.time() - 2 * 86400
    for name in (old_elsewhere, own):
        os.utime(tmp_path / name, (two_days_ago, two_days_ago))
    assert {path.name for path in sweep(tmp_path)} == {dead, old_elsewhere}
    assert {path.name for path in tmp_path.iterdir()} == {
        target.name,
        own,
        elsewhere,
        ".blankwright-note.tmp",
    }
    assert sweep(tmp_path / "gone") == []


@posix
def test_a_killed_save_leaves_one_whole_generation(tmp_path: Path) -> None:
    """Kill at random moments: the file is whole and never older than the last acknowledged save."""
    path = tmp_path / "wheel"
    save = f"save_bytes(Path({str(path)!r}), b'%08d' % n * 25_000)"
    code = f"for n in range(10**6): {save}; print(n, flush=True)"
    delays = random.Random(20)
    for _ in range(20):
        path.unlink(missing_ok=True)
        with _child(code) as child:
            assert child.stdout is not None
            acknowledged = [int(child.stdout.readline())]
            time.sleep(delays.uniform(0.0, 0.03))
            child.send_signal(signal.SIGKILL)
            acknowledged += [int(line) for line in child.stdout if line.endswith("\n")]
            child.wait()
        content = path.read_bytes()
        generation = content[:8]
        assert content == generation * 25_000
        assert int(generation) >= acknowledged[-1]
    sweep(tmp_path)
    assert leftovers(tmp_path) == []


@pytest.fixture(scope="session")
def strace() -> str:
    found = shutil.which("strace")
    if found is None:
        pytest.skip("strace is missing")
    if subprocess.run([found, "-o", os.devnull, "true"], capture_output=True).returncode:
        pytest.skip("strace may not trace here")
    return found


def test_the_file_is_on_the_disk_before_its_name_and_the_folder_after(
    strace: str, target: Path, tmp_path: Path
) -> None:
    log = tmp_path / "calls"
    calls = "trace=openat,write,fsync,close,rename,renameat,renameat2"
    _in_child(
        f"save_bytes(Path({str(target)!r}), NEW)", before=[strace, "-f", "-y", "-e", calls, "-o", str(log)]
    )
    folder = re.escape(str(tmp_path))
    temporary = rf"{folder}/\.blankwright-[0-9a-f-]+\.tmp"
    order = [
        rf"openat\([^\n]*{temporary}\", [^\n]*O_EXCL",
        rf"write\(\d+<{temporary}>",
        rf"fsync\(\d+<{temporary}>\)\s+= 0",
        rf"close\(\d+<{temporary}>\)\s+= 0",
        rf"rename\w*\([^\n]*{temporary}\"[^\n]*{re.escape(str(target))}\"[^\n]*= 0",
        rf"fsync\(\d+<{folder}>\)\s+= 0",
    ]
    assert re.search(r".*\n(?:.*\n)*?.*".join(order), log.read_text()), log.read_text()


@pytest.mark.parametrize("fault", ["error=EIO", "error=ENOSPC", "error=EDQUOT", "error=EROFS", "signal=KILL"])
@pytest.mark.parametrize(
    ("call", "when"), [("write", 1), ("fsync", 1), ("fchmod", 1), ("rename", 1), ("fsync", 2)]
)
def test_no_failing_call_corrupts_or_passes_for_success(
    strace: str, target: Path, call: str, when: int, fault: str
) -> None:
    inject = [strace, "-f", "-o", os.devnull, "-e", f"inject={call}:{fault}:when={when}"]
    run = _in_child(f"save_bytes(Path({str(target)!r}), NEW); print('saved')", before=inject)
    assert "saved" not in run.stdout
    content = target.read_bytes()
    assert content in (OLD, NEW)
    if fault == "signal=KILL":
        sweep(target.parent)
    else:
        assert "cannot save" in run.stdout, run.stderr
        renamed = (call, when) == ("fsync", 2)
        assert content == (NEW if renamed else OLD)
        assert ("may not outlast a power cut" in run.stdout) == renamed
    assert leftovers(target.parent) == []


_PREAMBLE = f"""
import sys
sys.dont_write_bytecode = True
from pathlib import Path
from app.files.atomic import SaveError, save_bytes
NEW = {NEW[:16]!r} * {len(NEW) // 16}
def run():
    {{body}}
try:
    run()
except SaveError as error:
    print(error)
"""


def _in_child(
    body: str, before: list[str] | None = None, as_nobody: bool = False
) -> subprocess.CompletedProcess[str]:
    if as_nobody and os.geteuid() == 0:
        body = f"import os; os.setuid(65534); {body}"
    command = [*(before or []), sys.executable, "-c", _PREAMBLE.replace("{body}", body)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@contextlib.contextmanager
def _child(body: str) -> Iterator[subprocess.Popen[str]]:
    command = [sys.executable, "-c", _PREAMBLE.replace("{body}", body)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as child:
        try:
            yield child
        finally:
            child.kill()
