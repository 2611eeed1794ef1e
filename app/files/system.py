"""What a report of a fault says of the program and the machine; nothing of the user and the work."""

from __future__ import annotations

import contextlib
import os
import platform
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from platformdirs import user_cache_path, user_config_path, user_log_path, user_state_path

#: What computes, reads, writes and draws; "Qt" is the version of PySide6 too, the two go together.
_LIBRARIES = (
    ("Qt", "PySide6-Essentials"),
    *(
        (name, name)
        for name in (
            *("numpy", "scipy", "numba", "shapely", "qdldl", "pyqtgraph", "ezdxf", "defusedxml", "openpyxl"),
            *("pillow", "pypdfium2", "msgspec", "pint", "reportlab", "platformdirs", "filelock"),
            *("cascadio", "distributed"),
        )
    ),
)

#: Settings of the environment that change how the window is drawn; their values are words of Qt or a desktop.
_ENVIRONMENT = ("QT_QPA_PLATFORM", "QT_SCALE_FACTOR", "XDG_SESSION_TYPE", "NUMBA_DISABLE_JIT")


def program_version() -> str:
    """Return the program's own version."""
    return _version("blankwright") or "from a checkout"


def log_folder() -> Path:
    """Return the folder of the log; it need not exist."""
    return user_log_path("blankwright", appauthor=False)


def folders() -> list[tuple[str, Path]]:
    """Return the folders that the program writes to by itself; they need not exist."""
    return [
        ("settings", user_config_path("blankwright", appauthor=False)),
        ("unsaved work and earlier states", user_state_path("blankwright", appauthor=False)),
        ("log", log_folder()),
        ("cache", user_cache_path("blankwright", appauthor=False)),
    ]


def homeless(text: str) -> str:
    """Return a text with the user's home folder as ~."""
    for home in {str(Path.home()), os.path.realpath(Path.home())}:
        if len(home) > 1:
            text = text.replace(home, "~")
    return text


def lines() -> list[str]:
    """Return one line each for program, Python, system, libraries and folders in use."""
    libraries = [f"{name} {_version(package) or 'not installed'}" for name, package in _LIBRARIES]
    found = [
        f"blankwright {program_version()}",
        f"Python {platform.python_version()} ({platform.python_implementation()}, {_bundled()})",
        f"system {platform.system()} {platform.release()}, {platform.machine()}, {os.cpu_count()} cores",
        *_desktop(),
        *libraries,
    ]
    return found


def folder_lines() -> list[str]:
    """Return one line for each folder in use, the home folder shown as ~."""
    return [homeless(f"{name}: {path}") for name, path in folders()]


def _desktop() -> list[str]:
    set_ = [f"{name}={os.environ[name]}" for name in _ENVIRONMENT if os.environ.get(name)]
    return ["environment " + ", ".join(set_)] if set_ else []


def _bundled() -> str:
    return "bundled" if getattr(sys, "frozen", False) else "installed"


def _version(package: str) -> str:
    with contextlib.suppress(PackageNotFoundError):
        return version(package)
    return ""
