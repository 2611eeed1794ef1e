"""Where icons, sample projects and fonts lie, and how the program starts itself anew.

Icons and samples lie beside the code in a checkout and inside the package in a wheel; fonts always lie
inside the package.
"""

from __future__ import annotations

import sys
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    packed = _PACKAGE / "_data" / name
    return packed if packed.is_dir() else _PACKAGE.parent / name


def icon(name: str) -> Path:
    """Return the file of the icon called `name`, without suffix.

    Raises:
        FileNotFoundError: There is no such icon.
    """
    return _existing(_folder("icons") / f"{name}.svg")


def sample(name: str) -> Path:
    """Return the file of the sample project called `name`, without suffix.

    Raises:
        FileNotFoundError: There is no such sample.
    """
    return _existing(_folder("sample_projects") / f"{name}.blankwright")


def samples() -> list[Path]:
    """Return the files of all sample projects, in order of name."""
    return sorted(_folder("sample_projects").glob("*.blankwright"))


def font(name: str) -> Path:
    """Return the file of the shipped font called `name`, without suffix.

    Raises:
        FileNotFoundError: There is no such font.
    """
    return _existing(_PACKAGE / "_fonts" / f"{name}.ttf")


def manual(name: str, language: str = "en") -> Path:
    """Return the Markdown file of the manual's page called `name`, without suffix, the English one for want.

    Raises:
        FileNotFoundError: There is no such page.
    """
    translated = _PACKAGE / "_manual" / language / f"{name}.md"
    return translated if translated.is_file() else _existing(_PACKAGE / "_manual" / f"{name}.md")


def program(argument: str) -> list[str]:
    """Return how to start a child of this program: in isolation, from a checkout, a package or a bundle."""
    if getattr(sys, "frozen", False):
        return [sys.executable, argument]
    find = f"import sys; sys.path.insert(0, {str(_PACKAGE.parent)!r})"
    start = f"{find}; from app.entry import main; sys.exit(main())"
    return [sys.executable, "-I", "-X", "utf8", "-c", start, argument]


def _existing(path: Path) -> Path:
    if not path.is_file():
        raise FileNotFoundError(f"{path.name} is missing from {path.parent}: install the program anew")
    return path
