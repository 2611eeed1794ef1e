"""Steps of the interpreter and calls out of it: they count work alike on any machine, however busy it is."""

from __future__ import annotations

import sys
from collections import Counter
from types import CodeType, FrameType
from typing import Any


class Steps:
    """Counts between `enable` and `disable`, each function's own.

    Attributes:
        opcodes: steps of the interpreter by function; calls: calls of functions that are not Python's own.
    """

    def __init__(self) -> None:
        self.opcodes: Counter[CodeType] = Counter()
        self.calls: Counter[CodeType] = Counter()

    def enable(self) -> None:
        """Begin to count; everything takes some ten times as long."""
        sys.setprofile(self._call)
        sys.settrace(self._step)

    def disable(self) -> None:
        """End counting."""
        sys.setprofile(None)
        sys.settrace(None)

    def by_file(self, counted: Counter[CodeType]) -> Counter[str]:
        """Return what was counted for each file."""
        found: Counter[str] = Counter()
        for code, count in counted.items():
            found[code.co_filename] += count
        return found

    def _call(self, frame: FrameType, event: str, _argument: Any) -> None:
        if event == "c_call":
            self.calls[frame.f_code] += 1

    def _step(self, frame: FrameType, event: str, _argument: Any) -> Any:
        if event == "call":
            frame.f_trace_opcodes, frame.f_trace_lines = True, False
        elif event == "opcode":
            self.opcodes[frame.f_code] += 1
        return self._step
