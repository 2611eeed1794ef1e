"""What was made last, given again while what it is made of stays equal: in a drag most of a panel does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from operator import attrgetter
from typing import Any, TypeVar, TypeVarTuple

from app.project.wheel import Wheel

_Made = TypeVar("_Made")
_Args = TypeVarTuple("_Args")

#: Everything of a wheel but its vertices, which are all that a drag changes.
but_vertices: Callable[[Wheel], tuple[object, ...]] = attrgetter(
    *(f.name for f in fields(Wheel) if f.name != "vertices")
)


class LastMade:
    """The last result of each function, with what it rests on."""

    def __init__(self) -> None:
        self._last: dict[Callable[..., Any], tuple[tuple[object, ...], Any]] = {}

    def __call__(
        self, make: Callable[[*_Args], _Made], *args: *_Args, by: tuple[object, ...] | None = None
    ) -> _Made:
        """Return what `make` makes of the arguments; where they are equal, the same object as before.

        `by` is what the result rests on where that is less than the arguments.
        """
        rests_on = args if by is None else by
        last = self._last.get(make)
        if last is None or last[0] != rests_on:
            last = self._last[make] = rests_on, make(*args)
        made: _Made = last[1]
        return made

    def forget(self) -> None:
        """Have everything made anew."""
        self._last.clear()
