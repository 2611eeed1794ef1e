"""What must not grow while a window is used all day."""

from __future__ import annotations

import gc
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Counts:
    """Of this process: memory in use, and numbers of threads, open files, children, windows and timers."""

    memory_mb: float
    threads: int
    files: int
    children: int
    windows: int
    widgets: int
    timers: int

    def __str__(self) -> str:
        return (
            f"{self.memory_mb:.0f} MB, {self.threads} threads, {self.files} files, {self.children} children, "
            f"{self.windows} windows, {self.widgets} widgets, {self.timers} timers"
        )


def grown(counts: Sequence[Counts], growth_mb: float) -> list[str]:
    """Return in words what has grown between the first and the last quarter of all counts; empty if nothing.

    A count goes up and down with what was just done; one that leaks stands higher at its lowest in the end
    than at its highest in the beginning.
    """
    if not counts:
        return []
    quarter = max(1, len(counts) // 4)
    first, last = counts[:quarter], counts[-quarter:]
    found = []
    more = min(c.memory_mb for c in last) - max(c.memory_mb for c in first)
    if more > growth_mb:
        found.append(f"memory grew by {more:.0f} MB, {growth_mb:.0f} are allowed")
    for name in ("threads", "files", "children", "windows", "widgets", "timers"):
        before, after = max(getattr(c, name) for c in first), min(getattr(c, name) for c in last)
        if after > before:
            found.append(f"never less than {after} {name} at the end, {before} at most at first")
    return found


def counted() -> Counts:
    """Return the counts of now (Linux: from /proc)."""
    from PySide6.QtCore import QObject, QTimer
    from PySide6.QtWidgets import QApplication

    gc.collect()
    own = Path("/proc/self")
    pages = int((own / "statm").read_text().split()[1])
    widgets = QApplication.allWidgets()
    roots: list[QObject] = [*QApplication.topLevelWidgets(), QApplication.instance() or QObject()]
    timers = {timer for root in roots for timer in root.findChildren(QTimer) if timer.isActive()}
    return Counts(
        memory_mb=pages * os.sysconf("SC_PAGE_SIZE") / 1e6,
        threads=len(list((own / "task").iterdir())),
        files=len(list((own / "fd").iterdir())),
        children=len((own / "task" / str(os.getpid()) / "children").read_text().split()),
        windows=len(QApplication.topLevelWidgets()),
        widgets=len(widgets),
        timers=len(timers),
    )
