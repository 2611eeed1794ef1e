"""Telling two windows on one file apart: a lock beside the file, with who holds it.

The system frees the lock when its process ends, however it ends; where a folder knows no such locks, filelock
looks whether the process that wrote its name still lives. A lock that cannot be made, as in a folder that is
not to be written to, is no hindrance: nothing can be saved there either.
"""

from __future__ import annotations

import contextlib
import json
import os
import platform
import time
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout

from app.files.on_disk import digest


@dataclass(frozen=True)
class Holder:
    """Who holds a file: process `pid` on `host` since `at` (seconds since 1970); 0 where not known."""

    host: str = ""
    pid: int = 0
    at: float = 0.0


class HeldError(Exception):
    """The file is open in another window.

    Attributes:
        holder: whose.
    """

    def __init__(self, holder: Holder) -> None:
        super().__init__("the file is open in another window")
        self.holder = holder


class Hold:
    """A file that this window holds, until `release`."""

    def __init__(self, path: Path) -> None:
        """Take hold of a file.

        Raises:
            HeldError: another window holds it.
        """
        target = Path(os.path.realpath(path))
        self.target = target
        self._path = target.parent / f".blankwright-{digest(os.fsencode(target.name))[:8]}.lock"
        self._lock: FileLock | None = None
        if not target.parent.is_dir():
            return  # filelock would make the folder
        lock = FileLock(self._path, timeout=0, thread_local=False, on_acquired=self._sign)
        try:
            lock.acquire()
        except Timeout:
            raise HeldError(_holder(self._path)) from None
        except OSError:
            return
        self._lock = lock

    def release(self) -> None:
        """Let the file go."""
        lock, self._lock = self._lock, None
        if lock is None:
            return
        with contextlib.suppress(OSError):
            self._path.unlink()  # before the lock goes: whoever takes it next makes a file of its own
        with contextlib.suppress(OSError):
            lock.release()

    def _sign(self, descriptor: int) -> None:
        """Write who holds the lock into it; refuse a lock file that was just taken away."""
        if not os.path.samestat(os.fstat(descriptor), self._path.stat()):
            raise FileNotFoundError(self._path)
        words = json.dumps({"host": platform.node(), "pid": os.getpid(), "at": time.time()})
        with contextlib.suppress(OSError):
            os.ftruncate(descriptor, 0)
            os.write(descriptor, words.encode())


def _holder(path: Path) -> Holder:
    try:
        said = json.loads(path.read_bytes())
        return Holder(str(said["host"]), int(said["pid"]), float(said["at"]))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return Holder()
