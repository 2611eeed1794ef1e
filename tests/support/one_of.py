"""Which parameters of a test are tried in every run, and which before a release only."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import pytest


def one_of(count: int, values: Iterable[Any], name: Callable[[Any], str] | None = None) -> list[Any]:
    """Return all values as parameters, all but the first of each `count` marked `long`.

    `name` gives the name of a parameter; without it they are named as pytest does.
    """
    return [
        pytest.param(
            value,
            marks=[pytest.mark.long] if k % count else [],
            id=None if name is None else name(value),
        )
        for k, value in enumerate(values)
    ]
