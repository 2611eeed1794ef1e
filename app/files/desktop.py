"""The program's entry in the menu of a Linux desktop, and the type and icon of its files.

Written into the user's own data folder after the standards of freedesktop.org: Desktop Entry
Specification 1.5, Shared MIME-info Specification 0.21, Icon Theme Specification 0.13.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from app import resources
from app.files.atomic import save_bytes

#: Type of a project file; not registered, hence with x-.
MIME_TYPE = "application/x-blankwright-project"

#: What a desktop keeps of these folders is made anew by these programs, where they are there.
_CACHES = (
    ("update-mime-database", "mime"),
    ("update-desktop-database", "applications"),
    ("gtk-update-icon-cache", "icons/hicolor"),
)

#: Signs that a quoted argument of Exec must have a backslash before, by the Desktop Entry Specification.
_QUOTED = '"`$\\'


def files(program: Sequence[str]) -> dict[str, bytes]:
    """Return what is written: path below the data folder, to content.

    Args:
        program: how the program is started, the file first, as a full path.
    """
    return {
        "applications/blankwright.desktop": _entry(program).encode(),
        "mime/packages/blankwright.xml": _mime().encode(),
        "icons/hicolor/scalable/apps/blankwright.svg": resources.icon("blankwright").read_bytes(),
        f"icons/hicolor/scalable/mimetypes/{MIME_TYPE.replace('/', '-')}.svg": resources.icon(
            "project-file"
        ).read_bytes(),
    }


def add(program: Sequence[str], folder: Path | None = None) -> list[Path]:
    """Write entry, type and icons, and return the files written.

    Args:
        program: how the program is started, the file first, as a full path.
        folder: the user's data folder; None for the one that the environment names.

    Raises:
        SaveError: a file could not be written.
    """
    folder = folder or data_folder()
    written = []
    for name, content in files(program).items():
        path = folder / name
        with contextlib.suppress(OSError):  # what hinders it is said by the writing that follows
            path.parent.mkdir(parents=True, exist_ok=True)
        save_bytes(path, content)
        written.append(path)
    _refresh(folder)
    return written


def remove(folder: Path | None = None) -> list[Path]:
    """Take away what `add` wrote, and return the files that were there.

    Raises:
        OSError: a file could not be removed.
    """
    folder = folder or data_folder()
    there = [folder / name for name in files(["/blankwright"]) if (folder / name).exists()]
    for path in there:
        path.unlink()
    _refresh(folder)
    return there


def data_folder() -> Path:
    """Return the user's data folder: XDG_DATA_HOME where it is a full path, else ~/.local/share."""
    given = Path(os.environ.get("XDG_DATA_HOME", ""))
    return given if given.is_absolute() else Path.home() / ".local" / "share"


def started_by() -> list[str]:
    """Return how this very program is started again from a desktop: its file in full, and arguments."""
    if getattr(sys, "frozen", False):
        return [sys.executable]
    beside = Path(sys.executable).with_name("blankwright")
    return [str(beside)] if beside.is_file() else [sys.executable, "-m", "app.entry"]


def _entry(program: Sequence[str]) -> str:
    return "\n".join(
        (
            "[Desktop Entry]",
            "Type=Application",
            "Version=1.0",
            "Name=Blankwright",
            "GenericName=Forged wheel sections",
            "Comment=Half-sections of forged wheels over blank and brake: gap, wall, stock and mass",
            f"Exec={' '.join(_argument(word) for word in program)} %f",
            "Icon=blankwright",
            "Terminal=false",
            "Categories=Graphics;Engineering;",
            f"MimeType={MIME_TYPE};",
            "StartupWMClass=blankwright",
            "",
        )
    )


def _argument(word: str) -> str:
    """Return an argument of Exec: quoted, then escaped once more as every value of an entry is."""
    inside = "".join(f"\\{sign}" if sign in _QUOTED else sign for sign in word)
    return f'"{inside}"'.replace("\\", "\\\\").replace("%", "%%")


def _mime() -> str:
    return "\n".join(
        (
            '<?xml version="1.0" encoding="UTF-8"?>',
            '<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">',
            f'  <mime-type type="{MIME_TYPE}">',
            "    <comment>Blankwright project</comment>",
            '    <sub-class-of type="text/plain"/>',
            '    <glob pattern="*.blankwright"/>',
            "  </mime-type>",
            "</mime-info>",
            "",
        )
    )


def _refresh(folder: Path) -> None:
    for program, below in _CACHES:
        found = shutil.which(program)
        if found and (folder / below).is_dir():
            with contextlib.suppress(OSError, subprocess.SubprocessError):
                subprocess.run([found, str(folder / below)], capture_output=True, timeout=30, check=False)
