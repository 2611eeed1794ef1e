"""The last saved states of each project file, kept in the user's state folder when a save replaces them.

    kept/<digest of the file's place>/000012-<when saved>.blankwright    ordinary project files

Five for each file, all of them together bounded in size; the oldest go first.
"""

from __future__ import annotations

import contextlib
import os
import re
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_state_path

from app.files.atomic import SaveError, save_bytes, sweep
from app.files.migrations import FORMAT
from app.files.on_disk import digest
from app.files.project_file import ProjectFileError, save
from app.files.readers.limits import KEPT_BYTES, KEPT_STATES
from app.project.project import Project

MOST_STATES, MOST_BYTES = KEPT_STATES, KEPT_BYTES

#: How a project file says its format, on its second line.
_FORMAT = re.compile(rb'"format":\s*([0-9]{1,9}),')
_NAME = re.compile(r"(?P<number>[0-9]{6,})-(?P<at>[0-9]+)\.blankwright")


@dataclass(frozen=True)
class Kept:
    """A state that a save replaced.

    Attributes:
        path: where it lies. at: when it was saved, in seconds since 1970. size: in bytes.
    """

    path: Path
    at: float
    size: int


def save_over(project: Project, path: Path, state: Path | None = None) -> None:
    """Write a project to a file; one of an older format that is there goes among the kept states first.

    Args:
        project: what is written.
        path: where.
        state: the user's state folder, its usual place if not given.

    Raises:
        ProjectFileError, SaveError: it cannot be saved, or what is there cannot be kept; nothing changed.
    """
    try:
        if path.is_file() and _is_older(path):
            keep_replaced(path, state or user_state_path("blankwright", appauthor=False))
    except (SaveError, OSError) as error:
        raise ProjectFileError(
            f"{path}: the file there has an older format and cannot be kept before it is replaced ({error}); "
            f"save under another name."
        ) from error
    save(project, path)


def _is_older(path: Path) -> bool:
    with path.open("rb") as file:
        said = _FORMAT.search(file.read(200))
    return said is not None and int(said[1]) < FORMAT


def keep_replaced(path: Path, state: Path) -> None:
    """Keep the file at `path` as it is now, before it is replaced; nothing where there is none.

    Raises:
        SaveError, OSError: it could not be kept; file and kept states are as before.
    """
    try:
        content, at = path.read_bytes(), path.stat().st_mtime
    except FileNotFoundError:
        return
    keep(path, content, at, state)


def keep(path: Path, content: bytes, at: float, state: Path) -> None:
    """Keep a state of the file at `path` that is or was to be replaced.

    Raises:
        SaveError, OSError: as `keep_replaced`.
    """
    folder = _folder(path, state)
    folder.mkdir(parents=True, exist_ok=True)
    sweep(folder)
    there = kept_states(path, state)
    if there and there[0].size == len(content) and digest(there[0].path.read_bytes()) == digest(content):
        return
    number = 1 + max((_number(kept.path) for kept in there), default=0)
    _thin(path, state)  # before as well, since what follows may fail again and again
    save_bytes(folder / f"{number:06d}-{max(0, int(at))}.blankwright", content)
    _thin(path, state)
    _bound(state)


def kept_states(path: Path, state: Path) -> list[Kept]:
    """Return the kept states of a file, the one replaced last first."""
    found = []
    with contextlib.suppress(OSError):
        for file in _folder(path, state).iterdir():
            match = _NAME.fullmatch(file.name)
            if match:
                found.append(Kept(file, float(match["at"]), file.stat().st_size))
    return sorted(found, key=lambda kept: _number(kept.path), reverse=True)


def _folder(path: Path, state: Path) -> Path:
    return state / "kept" / digest(os.fsencode(os.path.realpath(path)))[:16]


def _number(path: Path) -> int:
    return int(path.name.partition("-")[0])


def _thin(path: Path, state: Path) -> None:
    for old in kept_states(path, state)[MOST_STATES:]:
        _remove(old.path)


def _bound(state: Path) -> None:
    """Remove what was kept longest ago until all together are within bounds."""
    every = [(file.stat(), file) for file in (state / "kept").glob("*/*.blankwright")]
    total = sum(stat.st_size for stat, _ in every)
    for stat, file in sorted(every, key=lambda each: each[0].st_mtime):
        if total <= MOST_BYTES:
            return
        _remove(file)
        total -= stat.st_size


def _remove(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink()
        path.parent.rmdir()  # only if it was the last
