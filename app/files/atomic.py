"""Saving a file whole or not at all.

The bytes go to a temporary file in the same folder, are checked and forced to the disk, and take the old
file's name in one step; the folder is then forced to the disk too. Whatever fails before that step leaves
the old file as it was. Mode, owner and group of the old file are kept where the system allows, and a
symbolic link is followed. Known limits: a further hard link keeps the old content, and extended
attributes are not carried over.
"""

from __future__ import annotations

import contextlib
import errno
import os
import platform
import re
import secrets
import stat
import sys
import time
import zlib
from pathlib import Path

#: Renaming on Windows is refused while a virus scanner or indexer holds the file, usually for a moment.
RENAME_TRIES = 10
RENAME_PAUSE_S = 0.1

#: Temporary files of another machine, or where processes cannot be asked for, are strays at this age.
STRAY_AGE_S = 24 * 3600.0

_TEMPORARY = re.compile(r"\.blankwright-(?P<host>[0-9a-f]{8})-(?P<pid>[0-9]+)-[0-9a-f]{8}\.tmp")
_BINARY = getattr(os, "O_BINARY", 0)


class SaveError(Exception):
    """A file that could not be saved; the message says what, where, and how to mend it.

    Attributes:
        path: The file that was to be saved.
        replaced: Whether the new content already stands under the name, not proven to be on the disk.
    """

    def __init__(self, path: Path, reason: str, mend: str, *, replaced: bool = False) -> None:
        state = (
            "the new content is in place but may not outlast a power cut" if replaced else "nothing changed"
        )
        super().__init__(f"cannot save {path}: {reason}; {state}. {mend}")
        self.path = path
        self.replaced = replaced


def save_bytes(path: Path, content: bytes) -> None:
    """Write `content` to `path`, whole or not at all.

    Raises:
        SaveError: It could not be written; unless `replaced` is set, the old file is untouched.
    """
    replaced = False
    try:
        target = Path(os.path.realpath(path))
        old = _old_file(path, target)
        temporary = target.parent / _temporary_name()
        try:
            _write(temporary, content, old)
            _rename(temporary, target)
        except BaseException:
            with contextlib.suppress(OSError):
                temporary.unlink()
            raise
        replaced = True
        sync_folder(target.parent)
    except OSError as error:
        reason, mend = _explained(error)
        raise SaveError(path, reason, mend, replaced=replaced) from error


def sweep(folder: Path) -> list[Path]:
    """Remove the temporary files that killed saves left in `folder`; return the ones removed."""
    removed = []
    with contextlib.suppress(OSError):
        for path in sorted(folder.iterdir()):
            with contextlib.suppress(OSError):
                if _is_stray(path):
                    path.unlink()
                    removed.append(path)
    return removed


def _old_file(path: Path, target: Path) -> os.stat_result | None:
    """Return the state of the file to be replaced, None if there is none; refuse what is no plain file."""
    try:
        old = target.stat()
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(old.st_mode):
        raise SaveError(path, "it is a folder", "Choose a file name inside it.")
    if not stat.S_ISREG(old.st_mode):
        raise SaveError(path, "it is a device or pipe, not a file", "Choose another name.")
    if not old.st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH) or not os.access(target, os.W_OK):
        raise SaveError(path, "the file is read-only", "Save under another name, or make it writable.")
    return old


def _host() -> str:
    return f"{zlib.crc32(platform.node().encode()):08x}"


def _temporary_name() -> str:
    """Return a short name, so that a target whose own name is as long as names can be is still saved."""
    return f".blankwright-{_host()}-{os.getpid()}-{secrets.token_hex(4)}.tmp"


def _write(temporary: Path, content: bytes, old: os.stat_result | None) -> None:
    mode = 0o666 if old is None else 0o600
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, mode)
    try:
        if old is not None and sys.platform != "win32":
            with contextlib.suppress(PermissionError):
                os.fchown(descriptor, old.st_uid, old.st_gid)
            os.fchmod(descriptor, stat.S_IMODE(old.st_mode))
        rest = memoryview(content)
        while rest:
            written = os.write(descriptor, rest)
            if written == 0:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            rest = rest[written:]
        if os.fstat(descriptor).st_size != len(content):
            raise OSError(errno.EIO, "the file is shorter than what was written")
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _rename(temporary: Path, target: Path) -> None:
    for _ in range(RENAME_TRIES - 1 if sys.platform == "win32" else 0):
        with contextlib.suppress(PermissionError):
            temporary.replace(target)
            return
        time.sleep(RENAME_PAUSE_S)
    temporary.replace(target)


def sync_folder(folder: Path) -> None:
    """Force to the disk what a folder holds by which name, where the system knows such a call."""
    if sys.platform == "win32":
        return  # folders cannot be opened there; the system writes the rename through its own journal
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        # Some network file systems do not know the call for folders.
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(descriptor)


def _is_stray(path: Path) -> bool:
    match = _TEMPORARY.fullmatch(path.name)
    if match is None:
        return False
    if match["host"] == _host() and sys.platform != "win32":
        # Whatever its age: a machine that slept in the middle of a save goes on with it.
        return not is_running(int(match["pid"]))
    return time.time() - path.lstat().st_mtime > STRAY_AGE_S


def is_running(pid: int) -> bool:
    """Return whether a process of this machine lives, as far as that can be told."""
    if sys.platform == "win32":
        return True  # signal 0 would end the process there
    try:
        os.kill(pid, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        return True
    return True


_FULL = ("the disk is full", "Free some space, or save in another folder.")
_LOCKED = ("the folder cannot be written to", "Save in another folder, or ask for write access to this one.")
_GONE = ("the folder is not there", "Create it again, or save in another folder.")
_EXPLAINED = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: ("your share of the disk is used up", _FULL[1]),
    errno.EFBIG: ("the file is larger than this system allows", _FULL[1]),
    errno.EACCES: _LOCKED,
    errno.EPERM: _LOCKED,
    errno.EROFS: _LOCKED,
    errno.ENOENT: _GONE,
    errno.ENOTDIR: _GONE,
    errno.ENAMETOOLONG: ("the name is too long", "Choose a shorter name."),
    errno.ELOOP: ("the link leads back to itself", "Save under another name."),
    errno.EIO: ("the disk reports a fault", "Save on another disk at once, and have this one checked."),
}


def _explained(error: OSError) -> tuple[str, str]:
    """Return the reason and the way to mend it in plain words."""
    known = _EXPLAINED.get(error.errno or 0)
    return known or (error.strerror or str(error), "Save under another name or in another folder.")
