"""What a process that is going to be killed notes of its doings, written at once, to outlive the kill."""

from __future__ import annotations

import os
import struct
import time
import zlib
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path

from app.files.project_file import dumps
from app.project.project import Project

_NOTE = struct.Struct("<BId")


class Kind(IntEnum):
    """What is noted: most things when they begin and when they are done."""

    READY = 0
    EDIT = 1
    EDITED = 2
    SAVE = 3
    SAVED = 4
    COMPACT = 5
    COMPACTED = 6
    IMPORT = 7
    IMPORTED = 8
    DRAG = 9
    DRAGGED = 10


#: What lies between two notes of a kind, by its first.
UNDER_WAY = {
    Kind.EDIT: (Kind.EDITED, "committing"),
    Kind.SAVE: (Kind.SAVED, "saving"),
    Kind.COMPACT: (Kind.COMPACTED, "compacting"),
    Kind.IMPORT: (Kind.IMPORTED, "importing"),
    Kind.DRAG: (Kind.DRAGGED, "dragging"),
}


@dataclass(frozen=True)
class Note:
    """A note: what, of which content (see `content`), and when by the monotonic clock, s."""

    kind: Kind
    content: int
    at: float


def content(project: Project) -> int:
    """Return a number that stands for all that a project holds."""
    return zlib.crc32(dumps(project))


class Diary:
    """Writes notes, one call to the system each."""

    def __init__(self, path: Path) -> None:
        self._file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)

    def note(self, kind: Kind, of: int = 0) -> None:
        """Write a note."""
        os.write(self._file, _NOTE.pack(kind, of, time.monotonic()))


def notes(path: Path) -> list[Note]:
    """Return the notes of a diary, in order; a torn last one is none."""
    data = path.read_bytes() if path.exists() else b""
    whole = data[: len(data) - len(data) % _NOTE.size]
    return [Note(Kind(kind), of, at) for kind, of, at in _NOTE.iter_unpack(whole)]
