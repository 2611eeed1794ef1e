"""Answers of a pure study kept from test to test: every window asks, and only the first has to wait."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import is_dataclass
from enum import Enum
from typing import Any

import pytest

from app.reports import chance
from app.studies import machining
from geometry.forging.removal import turned
from geometry.readings.chance import chance_of_contact


class Kept:
    """A study that is worked out once for equal questions; one that was stopped, giving None, is not kept.

    What tells or stops it (a function, an event, a signal) is no part of the question.
    """

    def __init__(self, study: Callable[..., Any]) -> None:
        self.study = study
        self._answers: dict[str, Any] = {}

    def __call__(self, *args: Any, **named: Any) -> Any:
        question = repr([part for part in (*args, *sorted(named.items())) if _is_asked(part)])
        if question in self._answers:
            return self._answers[question]
        answer = self.study(*args, **named)
        if answer is not None:
            self._answers[question] = answer
        return answer


def _is_asked(part: Any) -> bool:
    if isinstance(part, tuple) and len(part) == 2 and callable(part[1]):
        return False
    return part is None or is_dataclass(part) or isinstance(part, str | int | float | list | tuple | Enum)


class KeptExactly:
    """A pure function that is worked out once for exactly equal arguments, every bit of every number.

    What cannot be packed (a function that cancels) is asked anew each time.
    """

    def __init__(self, function: Callable[..., Any]) -> None:
        self.function = function
        self._answers: dict[bytes, Any] = {}

    def __call__(self, *args: Any, **named: Any) -> Any:
        try:
            question = pickle.dumps((args, sorted(named.items())))
        except (pickle.PicklingError, AttributeError, TypeError):
            return self.function(*args, **named)
        if question not in self._answers:
            self._answers[question] = self.function(*args, **named)
        return self._answers[question]

    def cache_clear(self) -> None:
        """Drop what is kept; `tests.support.anew.forget` does so too."""
        self._answers.clear()


def keep_sums_of_pages(patch: pytest.MonkeyPatch) -> None:
    """Work out once for all tests of a process what each page of the same wheel asks again.

    Both functions have tests of their own, which call them where they stand in `geometry`.
    """
    patch.setattr(chance, "chance_of_contact", _CHANCE)
    patch.setattr(machining, "turned", _TURNED)


def forget_sums_of_pages() -> None:
    """Have them worked out anew; what the program itself keeps stays."""
    _CHANCE.cache_clear()
    _TURNED.cache_clear()


_CHANCE, _TURNED = KeptExactly(chance_of_contact), KeptExactly(turned)
