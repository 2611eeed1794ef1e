"""The steps of a tracing, without a window: what a click, a drag or a key does to what is there."""

from __future__ import annotations

from dataclasses import replace

from app.window.dialogs.trace_state import LEAST_POINTS, History, Task, Trace
from geometry.shape.tracing import Lie, Pixel


class TraceSteps:
    """The present trace with its history, what the next click is for, and which point is selected.

    Attributes:
        first: the first of two places that a task asks for, None before it.
        selected: a point of the outline, None for none.
    """

    def __init__(self) -> None:
        self.history, self.task = History(), Task.Z_FIRST
        self.first: Pixel | None = None
        self.selected: int | None = None

    @property
    def trace(self) -> Trace:
        """What was clicked and typed so far."""
        return self.history.now

    def put(self, trace: Trace, word: str = "") -> None:
        """Make a trace the present one; changes with the same word are one step."""
        self.history.put(trace, word)
        self._keep_selection()

    def begin(self, task: Task) -> None:
        """Let the next clicks be for something."""
        self.task, self.first = task, None

    def take(self, pixel: Pixel) -> Task | None:
        """Take a click for what it was asked for; return the task that it ended, None while it goes on."""
        task, trace = self.task, self.trace
        if task is Task.OUTLINE:
            self.selected = None
            self.put(trace.with_new_point(len(trace.points), pixel))
            return None
        if task.places > 1 and self.first is None:
            self.first = pixel
            return None
        ends, self.first = (self.first or pixel, pixel), None
        if task.length is not None:
            trace = trace.with_length(task.length, ends=ends)
        elif task is Task.LEVEL:
            trace = replace(trace, lie=replace(trace.lie, level=ends))
        elif task is Task.AXLE:
            trace = replace(trace, axle=pixel)
        else:
            trace = replace(trace, face=pixel)
        self.put(trace)
        self._go_on()
        return task

    def give_up(self) -> bool:
        """Forget the first of two places; False where there is none."""
        had, self.first = self.first is not None, None
        return had

    def lay(self, turns: int, flip: bool) -> None:
        """Turn and flip the picture; what was levelled stays so."""
        self.put(replace(self.trace, lie=Lie(turns, flip, self.trace.lie.level)))

    def turn_to(self, page: int) -> None:
        """Begin anew on another page; what was clicked belongs to the old one, and comes back by undo."""
        self.put(Trace(page=page))
        self.begin(Task.Z_FIRST)

    # The outline

    def insert(self, k: int, pixel: Pixel) -> None:
        """Put a point onto the side that leaves the k-th."""
        self.put(self.trace.with_new_point(k + 1, pixel))
        self.selected = k + 1

    def drag(self, k: int, pixel: Pixel) -> None:
        """Move a point; a whole drag is one step."""
        self.put(self.trace.with_point(k, at=pixel), f"drag {k}")
        self.selected = k

    def select(self, k: int) -> None:
        """Select a point, or with -1 none."""
        self.selected = k
        self._keep_selection()
        self.history.end_step()

    def close(self) -> None:
        """Close the outline where it has points enough."""
        if len(self.trace.points) >= LEAST_POINTS:
            self.put(replace(self.trace, is_closed=True))

    def remove(self) -> None:
        """Remove the selected point; without one open the outline again, or remove its last point."""
        trace, k = self.trace, self.selected
        if self.give_up():
            return
        if k is None and trace.is_closed:
            self.put(replace(trace, is_closed=False))
        elif trace.points:
            self.selected = None
            self.put(trace.without_point(len(trace.points) - 1 if k is None else k))

    # History

    def undo(self) -> None:
        """Take back the last step."""
        if not self.give_up() and self.history.undo():
            self._keep_selection()
            self._go_on()

    def redo(self) -> None:
        """Do again what was taken back."""
        if not self.give_up() and self.history.redo():
            self._keep_selection()
            self._go_on()

    def _go_on(self) -> None:
        self.task = self.trace.next_task() or Task.OUTLINE

    def _keep_selection(self) -> None:
        if self.selected is not None and not 0 <= self.selected < len(self.trace.points):
            self.selected = None
