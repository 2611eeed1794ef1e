"""Libraries that few files need: a child loads them before its limits are set, and nothing afterwards.

Most tables are read without them in a fifth of the time. A child that comes to need them says so, and its
parent starts another one that has them.
"""

from __future__ import annotations

from importlib import import_module

#: What makes an outline of points in any order, takes off a probe ball, or looks through an outline of
#: thousands of chords; and what fits an axle, which is asked for.
_MODULES, _FITTING = (
    ("app.files.readers.cloud", "geometry.shape.ball", "shapely"),
    "geometry.shape.axle_points",
)

#: The child's argument behind its request where it is to load them, and its exit code where it should have.
WORD, CODE = "whole", 3

_is_shut = False


class NotLoadedError(Exception):
    """A file needs libraries that were not loaded before the limits were set."""


def load(is_fitted: bool) -> None:
    """Load all of them; what fits an axle only where that is asked for."""
    for name in (*_MODULES, *((_FITTING,) if is_fitted else ())):
        import_module(name)


def shut(is_loaded: bool) -> None:
    """Let `need` refuse from here on where they are not loaded."""
    global _is_shut
    _is_shut = not is_loaded


def need() -> None:
    """Ask before one of them is imported.

    Raises:
        NotLoadedError: this process may load nothing any more.
    """
    if _is_shut:
        raise NotLoadedError
