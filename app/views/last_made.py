"""What was made last, given again while what it is made of stays as it is: in a drag most of a panel does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields
from itertools import compress
from operator import attrgetter, is_not
from typing import Any, TypeVar, TypeVarTuple

from app.project.wheel import Wheel

_Made = TypeVar("_Made")
_Args = TypeVarTuple("_Args")
_Row = TypeVar("_Row")

#: Everything of a wheel but its vertices, which are all that a drag changes.
but_vertices: Callable[[Wheel], tuple[object, ...]] = attrgetter(
    *(f.name for f in fields(Wheel) if f.name != "vertices")
)


class LastMade:
    """The last result of each function, with what it rests on."""

    def __init__(self) -> None:
        self._last: dict[Callable[..., Any], tuple[tuple[object, ...], Any]] = {}
        self._each: dict[Callable[..., Any], tuple[object, Sequence[Any], list[Any]]] = {}

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

    def each(self, make: Callable[[_Row, *_Args], _Made], rows: Sequence[_Row], *rest: *_Args) -> list[_Made]:
        """Return what `make` makes of each row and the rest; the same where the very row stood last.

        Rows are told apart by identity: who measures hands on those that have not changed.
        """
        rests_on, before, made = self._each.get(make, (None, (), []))
        if rests_on != rest or len(before) != len(rows):
            now = [make(row, *rest) for row in rows]
        else:
            now = [*made]
            for k in compress(range(len(rows)), map(is_not, rows, before)):
                now[k] = make(rows[k], *rest)
        self._each[make] = rest, rows, now
        return now

    def forget(self) -> None:
        """Have everything made anew."""
        self._last.clear()
        self._each.clear()
