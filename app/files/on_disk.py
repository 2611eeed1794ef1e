"""A file as it was seen on disk, to tell whether another program changed it since."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class OnDisk:
    """What was seen of a file.

    Attributes:
        sha256: of its bytes. size: in bytes. changed_ns: when it was changed last, ns since 1970.
    """

    sha256: str
    size: int
    changed_ns: int


def digest(data: bytes) -> str:
    """Return the sha256 of bytes in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def see(path: Path) -> OnDisk | None:
    """Return what is seen of a file now; None if it cannot be read."""
    try:
        # The state first: a change between the two is noticed the next time.
        state = path.stat()
        return OnDisk(digest(path.read_bytes()), state.st_size, state.st_mtime_ns)
    except OSError:
        return None


def may_have_changed(path: Path, before: OnDisk) -> bool:
    """Return whether size or time differ, without reading; a file that is gone has not changed."""
    try:
        state = path.stat()
    except OSError:
        return False
    return (state.st_size, state.st_mtime_ns) != (before.size, before.changed_ns)


def has_changed(path: Path, before: OnDisk) -> bool:
    """Return whether the bytes differ from those seen before; a file that is gone has not changed."""
    now = see(path)
    return now is not None and now.sha256 != before.sha256
