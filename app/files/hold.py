"""Telling two windows on one file apart: a lock beside the file, with who holds it.

The system frees the lock when its process ends, however it ends. Where a folder knows no such locks, as on
some network drives, a note beside the file stands in for it, with host and process: it counts while that
process lives, and for good where it is of another machine. A lock that cannot be made, as in a folder that is
not to be written to, is no hindrance: nothing can be saved there either.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import platform
import time
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout

from app.files.atomic import is_running
from app.files.on_disk import digest

#: What a system says of a folder that knows no locks.
NO_LOCKS = frozenset({errno.ENOSYS, errno.ENOLCK, errno.ENOTSUP, errno.EOPNOTSUPP})


@dataclass(frozen=True)
class Holder:
    """Who holds a file: process `pid` on `host` since `at` (seconds since 1970); 0 where not known."""

    host: str = ""
    pid: int = 0
    at: float = 0.0

    @property
    def is_alive(self) -> bool:
        """Whether its process may still be at work: False only where it is known to have ended."""
        return bool(self.pid) and (self.host != platform.node() or is_running(self.pid))


class HeldError(Exception):
    """The file is open in another window.

    Attributes:
        holder: whose.
    """

    def __init__(self, holder: Holder) -> None:
        super().__init__("the file is open in another window")
        self.holder = holder


class Hold:
    """A file that this window holds, until `release`.

    Attributes:
        target: the file itself, where a link leads to it.
        is_by_note: the folder knows no locks, so that a note tells windows apart; a crash may leave it.
    """

    def __init__(self, path: Path) -> None:
        """Take hold of a file.

        Raises:
            HeldError: another window holds it.
        """
        target = Path(os.path.realpath(path))
        self.target = target
        self._path = target.parent / f".blankwright-{digest(os.fsencode(target.name))[:8]}.lock"
        self._note = self._path.with_suffix(".open")
        self._lock: FileLock | None = None
        self.is_by_note = False
        if not target.parent.is_dir():
            return  # filelock would make the folder
        lock = FileLock(
            self._path, timeout=0, thread_local=False, on_acquired=self._sign, fallback_to_soft=False
        )
        try:
            lock.acquire()
        except Timeout:
            raise HeldError(holder_of(self._path)) from None
        except OSError as error:
            if error.errno in NO_LOCKS:
                self._write_note()
            return
        self._lock = lock

    def release(self) -> None:
        """Let the file go."""
        lock, self._lock = self._lock, None
        if self.is_by_note:
            self.is_by_note = False
            with contextlib.suppress(OSError):
                self._note.unlink()
        if lock is None:
            return
        with contextlib.suppress(OSError):
            self._path.unlink()  # before the lock goes: whoever takes it next makes a file of its own
        with contextlib.suppress(OSError):
            lock.release()

    def _write_note(self) -> None:
        with contextlib.suppress(OSError):
            self._path.unlink()  # left by the try
        with contextlib.suppress(OSError):
            try:
                note = self._note.open("xb")
            except FileExistsError:
                holder = holder_of(self._note)
                if holder.is_alive:
                    raise HeldError(holder) from None
                note = self._note.open("wb")
            with note:
                note.write(own_words())
            self.is_by_note = True

    def _sign(self, descriptor: int) -> None:
        """Write who holds the lock into it; refuse a lock file that was just taken away."""
        if not os.path.samestat(os.fstat(descriptor), self._path.stat()):
            raise FileNotFoundError(self._path)
        with contextlib.suppress(OSError):
            os.ftruncate(descriptor, 0)
            os.write(descriptor, own_words())


def own_words() -> bytes:
    """Return who this process is, as `holder_of` reads it."""
    return json.dumps({"host": platform.node(), "pid": os.getpid(), "at": time.time()}).encode()


def holder_of(path: Path) -> Holder:
    """Return who signed a file; an empty holder where that cannot be read."""
    try:
        said = json.loads(path.read_bytes())
        return Holder(str(said["host"]), int(said["pid"]), float(said["at"]))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return Holder()
