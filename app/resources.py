"""Where icons and sample projects lie: beside the code in a checkout, inside the package in a wheel."""

from __future__ import annotations

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


def _existing(path: Path) -> Path:
    if not path.is_file():
        raise FileNotFoundError(f"{path.name} is missing from {path.parent}: install the program anew")
    return path
