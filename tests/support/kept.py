"""Answers of a pure study kept from test to test: every window asks, and only the first has to wait."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import is_dataclass
from enum import Enum
from typing import Any


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
