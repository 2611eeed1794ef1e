"""Which lines reading has reached in this process, where Python tells it at no cost (PEP 669, from 3.12)."""

from __future__ import annotations

import sys
from pathlib import Path
from types import CodeType
from typing import Any

_TESTS = str(Path(__file__).resolve().parents[1])

_new = [0]


def is_told() -> bool:
    """True where this Python can tell."""
    return hasattr(sys, "monitoring")


def follow() -> None:
    """Begin to count; forked processes go on from what their parent has reached."""
    monitoring: Any = sys.monitoring  # type: ignore[attr-defined,unused-ignore]  # newer than the oldest Python
    line = monitoring.events.LINE

    def reached(code: CodeType, number: int) -> object:
        if not code.co_filename.startswith((_TESTS, "<")):
            _new[0] += 1
        return monitoring.DISABLE  # of each line the first time alone is told

    monitoring.use_tool_id(monitoring.COVERAGE_ID, "fuzz")
    monitoring.register_callback(monitoring.COVERAGE_ID, line, reached)
    monitoring.set_events(monitoring.COVERAGE_ID, line)


def more() -> int:
    """Return how many lines were reached for the first time since this was asked last."""
    count, _new[0] = _new[0], 0
    return count
