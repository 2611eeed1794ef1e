"""The journal of unsaved work: every state that was committed, for the start after a crash.

    journals/<when>-<process>-<random>/    one folder for each open document of a process
        journal                            its states, one record each, the newest last
        lock                               held while the process that writes lives

A record is self-contained: the mark, the length and the CRC-32 of what follows, then compressed msgpack of
the whole project with what is said of it (msgpack keeps a number that is not finite as what it is, JSON does
not). A torn or damaged record is passed over. When the file is full, the newest record alone takes its place
in one step. Numbers in the records, not clocks, say which is the newest.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import shutil
import struct
import time
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec
from filelock import FileLock
from platformdirs import user_state_path

from app.files.atomic import SaveError, save_bytes, sweep, sync_folder
from app.files.hold import NO_LOCKS, holder_of, own_words
from app.files.migrations import FORMAT
from app.files.on_disk import OnDisk, digest
from app.files.project_file import LARGEST_BYTES, NewerFormat, ProjectFileError, dumps, from_tree
from app.files.readers.limits import JOURNAL_BYTES, JOURNAL_READ
from app.project.project import Project

MOST_BYTES, LARGEST_READ = JOURNAL_BYTES, JOURNAL_READ

_MARK = b"BWJ1"
_HEAD = struct.Struct("<4sQI")
_FILE, _LOCK, _ASIDE = "journal", "lock", "damaged-"
_FOLDER = re.compile(r"[0-9]{8}-[0-9]{6}-[0-9]+-[0-9a-f]{8}")

#: A folder without a journal that is younger may be one that another process is just beginning.
_BEGINNING_S = 3600.0
_BINARY = getattr(os, "O_BINARY", 0)


class JournalError(Exception):
    """A state that is not in the journal; the message says why."""


@dataclass(frozen=True)
class State:
    """A committed state of a document and what is said of it.

    Attributes:
        project: the work.
        words: the step that led to it, as the history calls it.
        edits: steps since the document was opened, saved or begun.
        at: when, in seconds since 1970.
        origin: the document's file, None when it was never saved.
        file: the file as it was when opened or saved last.
        changes: what it means that an older format is read here, as `Opened` says it; never written.
    """

    project: Project
    words: str
    edits: int
    at: float
    origin: Path | None = None
    file: OnDisk | None = None
    changes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Left:
    """What a process left behind when it ended without saving.

    Attributes:
        folder: where it lies.
        state: the newest state that can be read, or None.
        trouble: what could not be read and where it lies now; empty when all could.
        is_newer: a newer version kept it, so that it waits for that one where it is.
    """

    folder: Path
    state: State | None
    trouble: str
    is_newer: bool = False


def journals_folder() -> Path:
    """Return the folder of all journals of this user; it need not exist."""
    return user_state_path("blankwright", appauthor=False) / "journals"


class Journal:
    """The journal of one open document of this process; begun on disk with its first state."""

    def __init__(self, journals: Path | None = None) -> None:
        self._journals = journals
        self._lock: FileLock | None = None
        self._folder: Path | None = None
        self._file: int | None = None
        self._size = 0
        self._is_new = False
        self._last = b""
        self._number = 0

    def append(self, state: State) -> None:
        """Write a state behind the others.

        Raises:
            JournalError: it could not be written; what was written before stays.
        """
        self._number += 1
        record = _record(state, self._number)
        try:
            self._put(record)
        except (OSError, SaveError) as error:
            raise JournalError(str(error)) from error
        self._last = record

    def sync(self) -> None:
        """Force what was written to the disk, and begin anew where the file was taken away.

        Raises:
            JournalError: the disk refused; the next state is written to a new file.
        """
        if self._file is None:
            return
        try:
            if os.fstat(self._file).st_nlink == 0 and self._last:
                self._release()
                self._put(self._last)
            os.fsync(self._file)
            if self._is_new and self._folder is not None:
                sync_folder(self._folder)
                sync_folder(self._folder.parent)
                self._is_new = False
        except (OSError, SaveError) as error:
            self._close()
            raise JournalError(str(error)) from error

    def clear(self) -> None:
        """Remove the journal: the work was saved or given up. The next state begins a new one."""
        folder = self._folder
        self._close()
        if folder is not None:
            # The file first: a folder without it is offered to nobody, whatever else fails.
            with contextlib.suppress(OSError):
                (folder / _FILE).unlink()
        self._release()
        if folder is not None:
            _remove(folder)
        self._last = b""

    def _put(self, record: bytes) -> None:
        if self._folder is None:
            self._begin()
            # The first record waits for no disk: it is forced there with the next ones.
            self._open(os.O_CREAT | os.O_EXCL)
            self._is_new = True
        if self._file is None or self._size + len(record) > MOST_BYTES:
            self._replace(record)
        else:
            self._write(record)

    def _begin(self) -> None:
        name = f"{time.strftime('%Y%m%d-%H%M%S')}-{os.getpid()}-{secrets.token_hex(4)}"
        folder = (self._journals or journals_folder()) / name
        folder.mkdir(parents=True)
        # Another start may be looking at it, so wait for a moment.
        lock = FileLock(folder / _LOCK, timeout=1, thread_local=False, fallback_to_soft=False)
        try:
            lock.acquire()
        except OSError as error:
            if error.errno not in NO_LOCKS:
                _remove(folder)
                raise
            (folder / _LOCK).write_bytes(own_words())  # the folder knows no locks: who it is must do
            self._folder = folder
            return
        except BaseException:
            _remove(folder)
            raise
        self._folder, self._lock = folder, lock

    def _replace(self, record: bytes) -> None:
        """Put a record in place of all before it, in one step."""
        assert self._folder is not None
        self._close()
        save_bytes(self._folder / _FILE, record)
        self._open()
        self._size = len(record)

    def _open(self, how: int = 0) -> None:
        assert self._folder is not None
        self._file = os.open(self._folder / _FILE, os.O_WRONLY | os.O_APPEND | _BINARY | how, 0o600)
        self._size = 0

    def _write(self, record: bytes) -> None:
        assert self._file is not None
        rest = memoryview(record)
        try:
            while rest:
                written = os.write(self._file, rest)
                if written == 0:
                    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
                rest = rest[written:]
        except OSError:
            try:
                os.ftruncate(self._file, self._size)
            except OSError:
                self._close()  # a torn record at the end: the next one begins a file of its own
            raise
        self._size += len(record)

    def _close(self) -> None:
        file, self._file = self._file, None
        if file is not None:
            with contextlib.suppress(OSError):
                os.close(file)

    def _release(self) -> None:
        self._close()
        lock, self._lock, self._folder = self._lock, None, None
        if lock is not None:
            with contextlib.suppress(OSError):
                lock.release()


def _remove(folder: Path) -> None:
    with contextlib.suppress(OSError):  # not all of them are ignored by rmtree itself
        shutil.rmtree(folder, ignore_errors=True)


def pending(journals: Path | None = None) -> list[Left]:
    """Return what ended processes left behind, newest first.

    A journal that cannot be read at all is moved aside and reported once. One that holds what its file
    holds is removed: its process ended between saving and tidying up. Nothing here raises.
    """
    found = []
    with contextlib.suppress(OSError):
        for folder in sorted((journals or journals_folder()).iterdir()):
            if not _FOLDER.fullmatch(folder.name) or not folder.is_dir():
                continue
            with contextlib.suppress(OSError):
                left = _left_unlocked(folder)
                if left is not None:
                    found.append(left)
    return sorted(found, key=lambda left: left.state.at if left.state else 0.0, reverse=True)


def discard(left: Left) -> None:
    """Remove what was left behind: it is not wanted, or is in another journal or file now."""
    with contextlib.suppress(OSError):
        (left.folder / _FILE).unlink()
    _remove(left.folder)


def _left_unlocked(folder: Path) -> Left | None:
    """Return what lies in a folder that no living process holds; None for one that is held, or empty."""
    # Read first: a try at the lock may empty the file, where it says who has a folder without locks.
    holder = holder_of(folder / _LOCK)
    try:
        with FileLock(folder / _LOCK, timeout=0, fallback_to_soft=False):
            return _left(folder)
    except OSError as error:
        if error.errno not in NO_LOCKS or holder.is_alive:
            raise
    return _left(folder)


def _left(folder: Path) -> Left | None:
    sweep(folder)
    path = folder / _FILE
    if not path.is_file() or not path.stat().st_size:  # ended before its first record
        if time.time() - folder.stat().st_mtime > _BEGINNING_S:
            _remove(folder)
        return None
    try:
        with path.open("rb") as file:
            file.seek(max(0, path.stat().st_size - LARGEST_READ))
            data = file.read(LARGEST_READ)
        state, trouble, is_newer = _newest(data)
    except OSError as error:
        return Left(folder, None, f"it cannot be read ({error.strerror}): {path}")
    if is_newer:
        return Left(folder, None, trouble, is_newer)
    if state is None:
        return _aside(folder, trouble)
    if _is_saved(state):
        _remove(folder)
        return None
    return Left(folder, state, trouble)


def _is_saved(state: State) -> bool:
    if state.origin is None:
        return False
    try:
        return digest(dumps(state.project)) == digest(state.origin.read_bytes())
    except (OSError, ProjectFileError):
        return False


def _aside(folder: Path, trouble: str) -> Left:
    """Move a journal that cannot be read out of the way of the next start."""
    aside = folder.with_name(_ASIDE + folder.name)
    try:
        folder.rename(aside)
    except OSError as error:
        return Left(folder, None, f"{trouble}; it could not be moved aside ({error.strerror}): {folder}")
    return Left(aside, None, f"{trouble}; it was moved aside: {aside}")


def newest(data: bytes) -> tuple[State | None, str]:
    """Return the newest state of a journal's bytes that can be read, and what could not be read."""
    state, trouble, _ = _newest(data)
    return state, trouble


def _newest(data: bytes) -> tuple[State | None, str, bool]:
    """Return the newest state, what could not be read, and whether it takes a newer version to read it."""
    payloads, torn = _payloads(data)
    trouble = "the last record is not whole" if torn else ""
    for payload in reversed(payloads):
        try:
            return _state(payload), trouble, False
        except NewerFormat as error:
            return None, str(error), True
        except (ProjectFileError, ValueError, TypeError, KeyError, RecursionError, zlib.error) as error:
            trouble = trouble or f"the last change cannot be read ({error})"
    return None, trouble or "it holds no record", False


def _payloads(data: bytes) -> tuple[list[bytes], bool]:
    """Return the whole records in order, and whether the last one is torn."""
    found: list[bytes] = []
    at, torn = data.find(_MARK), bool(data)
    while at >= 0:
        end = at + _HEAD.size
        if end <= len(data):
            _, length, crc = _HEAD.unpack_from(data, at)
            payload = data[end : end + length] if length <= len(data) - end else b""
            if payload and zlib.crc32(payload) == crc:
                found.append(payload)
                at, torn = data.find(_MARK, end + length), end + length < len(data)
                continue
        torn = True
        at = data.find(_MARK, at + 1)
    return found, torn


def _record(state: State, number: int) -> bytes:
    file = state.file
    said = {
        "number": number,
        "format": FORMAT,
        "words": state.words,
        "edits": state.edits,
        "at": state.at,
        "origin": state.origin and os.fsencode(state.origin.absolute()),
        "file": file and [file.sha256, file.size, file.changed_ns],
        "project": state.project,
    }
    try:
        payload = zlib.compress(msgspec.msgpack.encode(said), 1)
    except (TypeError, ValueError, OverflowError, RecursionError) as error:
        raise JournalError(f"the project holds what cannot be written: {error}") from error
    return _HEAD.pack(_MARK, len(payload), zlib.crc32(payload)) + payload


def _state(payload: bytes) -> State:
    unpacker = zlib.decompressobj()
    said: Any = msgspec.msgpack.decode(unpacker.decompress(payload, LARGEST_BYTES))
    file, origin = said["file"], said["origin"]
    found = from_tree(said["project"], said["format"])
    return State(
        project=found.project,
        words=str(said["words"]),
        edits=int(said["edits"]),
        at=float(said["at"]),
        origin=None if origin is None else Path(os.fsdecode(origin)),
        file=None if file is None else OnDisk(*file),
        changes=found.changes,
    )
