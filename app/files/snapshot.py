"""Snapshots of unsaved work in the user's state folder, for the start after a crash.

    snapshots/<document>-<process>/    one folder for each open document
        project.blankwright            the work as it was last written
        origin.json                    the file it belongs to, null for work that was never saved
        lock                           held while the process that writes lives

A snapshot goes only when its document is saved or closed, or when the user discards it. One that cannot
be read is moved aside and reported; nothing here stops a start.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from filelock import FileLock
from platformdirs import user_state_path

from app.files.atomic import SaveError, save_bytes
from app.files.project_file import ProjectFileError, dumps, load
from app.project.project import Project

#: How often the window writes a snapshot of unsaved work.
INTERVAL_S = 30.0

_PROJECT = "project.blankwright"
_ORIGIN = "origin.json"
_LOCK = "lock"
_ASIDE = "damaged-"

#: Process numbers come again, in a container even at once: this one tells two runs apart.
_RUN = secrets.token_hex(8)


@dataclass(frozen=True)
class Snapshot:
    """Work that a process left behind when it ended without saving.

    Attributes:
        origin: the file it belongs to; None when it was never saved, or when that is not known.
        when: when the snapshot was written.
        project: the work, or None when it cannot be read.
        error: why it cannot be read and where it lies now; empty when it can.
        folder: where it lies.
    """

    origin: Path | None
    when: datetime
    project: Project | None
    error: str
    folder: Path


#: The lock of each document's folder that this process has written.
_own: dict[Path, FileLock] = {}


def state_folder() -> Path:
    """Return the folder of all snapshots of this user; it need not exist."""
    return user_state_path("blankwright", appauthor=False) / "snapshots"


def write_snapshot(project: Project, origin: Path | None, state: Path | None = None) -> str | None:
    """Write the work on a document, over its last snapshot.

    Args:
        project: the work.
        origin: the document's file, None when it was never saved.
        state: folder of all snapshots; None for the user's.

    Returns:
        Why no snapshot could be written, the last one being kept; None when it was.
    """
    folder = _folder(origin, state)
    lock = _own.setdefault(folder, FileLock(folder / _LOCK, timeout=0))
    try:
        content = dumps(project)
        folder.mkdir(parents=True, exist_ok=True)
        if not lock.is_locked:
            lock.acquire()
        if not (folder / _ORIGIN).exists():
            save_bytes(folder / _ORIGIN, json.dumps(origin and str(origin.absolute())).encode())
        save_bytes(folder / _PROJECT, content)
    except (ProjectFileError, SaveError, OSError) as error:  # a lock that is held is an OSError too
        return f"No snapshot of the unsaved work: {error}"
    return None


def forget_snapshot(origin: Path | None, state: Path | None = None) -> None:
    """Remove this process's snapshot of a document: it was saved, closed, or goes by another name now."""
    folder = _folder(origin, state)
    lock = _own.pop(folder, None)
    if lock is not None:
        lock.release()
    shutil.rmtree(folder, ignore_errors=True)


def pending_snapshots(state: Path | None = None) -> list[Snapshot]:
    """Return what ended processes left behind, newest first; damaged ones are moved aside.

    A damaged one is reported once, with `error`; its file stays and can be opened like any project.
    """
    found = []
    with contextlib.suppress(OSError):
        for folder in sorted((state or state_folder()).iterdir()):
            if folder.name.startswith(_ASIDE) or not (folder / _PROJECT).is_file():
                continue
            with contextlib.suppress(OSError), FileLock(folder / _LOCK, timeout=0):
                found.append(_read(folder))
    return sorted((_aside(s) for s in found), key=lambda s: s.when, reverse=True)


def discard(snapshot: Snapshot) -> None:
    """Remove a snapshot: the user does not want it, or its work was saved or is in a new snapshot."""
    shutil.rmtree(snapshot.folder, ignore_errors=True)


def _folder(origin: Path | None, state: Path | None) -> Path:
    document = hashlib.sha256(f"{_RUN} {origin and origin.absolute()}".encode()).hexdigest()[:12]
    return (state or state_folder()) / f"{document}-{os.getpid()}"


def _read(folder: Path) -> Snapshot:
    path = folder / _PROJECT
    when = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    try:
        return Snapshot(_origin(folder), when, load(path), "", folder)
    except ProjectFileError as error:
        return Snapshot(_origin(folder), when, None, str(error), folder)


def _origin(folder: Path) -> Path | None:
    try:
        origin = json.loads((folder / _ORIGIN).read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    return Path(origin) if isinstance(origin, str) and origin else None


def _aside(snapshot: Snapshot) -> Snapshot:
    """Move a snapshot that cannot be read out of the way of the next start."""
    if snapshot.project is not None:
        return snapshot
    aside = snapshot.folder.with_name(_ASIDE + snapshot.folder.name)
    try:
        snapshot.folder.rename(aside)
    except OSError as error:
        note = f"It could not be moved aside ({error.strerror}): {snapshot.folder}."
        return Snapshot(snapshot.origin, snapshot.when, None, f"{snapshot.error} {note}", snapshot.folder)
    note = f"The file was moved aside: {aside / _PROJECT}."
    return Snapshot(snapshot.origin, snapshot.when, None, f"{snapshot.error} {note}", aside)
