"""From pointer event to painted frame, with every panel live: `python -m tests.timing.bench_frame`.

A vertex of the example is dragged back and forth across the canvas. Each frame is one mouse move, handed to
the canvas as the window system would, then the event loop. Two times are counted from the move: until the
drawing has painted the new section with its readings, and until the last panel has painted the same state.
The next move waits for both. Moves that leave the vertex on its snap change nothing and are not counted.
Where the outline has a fault there are no readings: such frames take half the time, and are told apart.
Budget: median 8 ms, 95th percentile 16 ms, offscreen.

`--loaded`: the wheel has 300 vertices and ten others of as many are drawn over it, the last saved state too.
`--steps`: counts the interpreter's steps of a frame, which tell more of a change than a busy machine's clock.
"""

from __future__ import annotations

import argparse
import cProfile
import math
import os
import platform
import pstats
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import wraps
from pathlib import Path
from typing import Any

import numpy as np

from app.project.project import Project
from geometry.shape.edits import inserted
from geometry.shape.section import Outline, Section, Zone, build
from tests.support import example
from tests.timing.interpreter_steps import Steps

WARM_UP = 20
VERTICES, OVERLAYS = 300, 10


@dataclass
class Times:
    """Of each frame, ms: to the drawing, to the last panel, processor time, and computing the readings.

    Attributes:
        faults: to the last panel, where the outline has a fault; the others are of frames with readings.
        pictures: how often another stress was shown; current: how often it was that of the newest section.
    """

    drawing: list[float] = field(default_factory=list)
    frame: list[float] = field(default_factory=list)
    processor: list[float] = field(default_factory=list)
    computing: list[float] = field(default_factory=list)
    faults: list[float] = field(default_factory=list)
    pictures: int = 0
    current: int = 0


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--frames", type=int, default=200)
    parser.add_argument("--size", default="1400x900", help="of the window, logical pixels")
    parser.add_argument("--stress", metavar="CASE", help="with the stress preview on, under a load case")
    parser.add_argument("--loaded", action="store_true", help="300 vertices, ten versions drawn over it")
    parser.add_argument("--profile", action="store_true", help="print where the time goes")
    parser.add_argument(
        "--steps", action="store_true", help="count steps of the interpreter in place of time"
    )
    args = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    width, height = (int(x) for x in args.size.split("x"))
    with tempfile.TemporaryDirectory() as folder:
        if args.steps:
            _count(Path(folder), width, height, args.frames, args.loaded)
            return 0
        times = (
            _profiled(Path(folder), width, height, args.frames, args.loaded)
            if args.profile
            else measure(Path(folder), width, height, args.frames, args.stress, args.loaded)
        )
    window = np.subtract(times.frame, times.computing).tolist()
    print(f"{platform.machine()}, Python {platform.python_version()}, {args.size}, {len(window)} frames")
    print(f"pointer event to painted drawing: {_words(times.drawing)}")
    print(f"pointer event to the last panel painted: {_words(times.frame)}")
    print(f"  of it computing the readings: {_words(times.computing)}")
    print(f"  of it the window: {_words(window)}")
    print(f"processor time: {_words(times.processor)}; what is more is a busy machine's")
    if times.faults:
        every = [*times.frame, *times.faults]
        print(f"{len(times.faults)} frames with a fault, to the last panel: {_words(times.faults)}")
        print(f"all {len(every)} frames, to the last panel: {_words(every)}")
    if args.stress:
        print(f"stress pictures in that time: {times.pictures}, with {times.current} of the newest section")
    return 0


def _words(times_ms: list[float]) -> str:
    return f"median {np.median(times_ms):.2f} ms, p95 {np.percentile(times_ms, 95):.2f} ms"


def loaded() -> Project:
    """Return the example with 300 vertices on its wheel, and ten more wheels that differ from it a little."""
    base = example.project()
    wheel = base.wheels[0]
    # Radii that still fit between vertices some 4 mm apart.
    wheel = replace(wheel, vertices=tuple(replace(v, radius=min(v.radius, 0.8)) for v in wheel.vertices))
    section = wheel.section
    while len(section.vertices) < VERTICES:
        section = inserted(section, _longest(section), 0.5)
    wheel = wheel.with_section(section)
    assert isinstance(build(section), Outline), "the loaded wheel has a fault"
    others = []
    for k in range(OVERLAYS):
        moved = tuple(
            replace(v, r=v.r - 0.1 * (k + 1)) if v.zone in (Zone.BARREL, Zone.SPOKE_BACK) else v
            for v in wheel.vertices
        )
        others.append(replace(wheel, name=f"Version {k + 1}", vertices=moved, made_from=wheel.name))
    return replace(base, wheels=(wheel, *others))


def _longest(section: Section) -> int:
    """Return the longest straight edge that takes a vertex."""
    vertices = section.vertices
    following = (*vertices[1:], vertices[0])
    lengths = [
        math.hypot(w.z - v.z, w.r - v.r) if i >= section.locked - 1 and not v.bulge else 0.0
        for i, (v, w) in enumerate(zip(vertices, following, strict=True))
    ]
    return lengths.index(max(lengths))


def measure(
    folder: Path,
    width: int,
    height: int,
    frames: int,
    stress: str | None = None,
    heavy: bool = False,
) -> Times:
    """Return what each frame took; `stress` names the load case whose preview is on, `heavy` loads it."""
    return measure_turns(folder, width, height, frames, (stress,), heavy)[0]


def measure_turns(
    folder: Path,
    width: int,
    height: int,
    frames: int,
    turns: Sequence[str | None],
    heavy: bool = False,
    profile: cProfile.Profile | Steps | None = None,
) -> list[Times]:
    """Return what each frame of one drag after the other took in one window, of moves that change something.

    Args:
        folder: of the window's own files.
        width, height: of the window, logical pixels.
        frames: moves of each drag.
        turns: load case whose preview is on while dragging, None for none; a drag each.
        heavy: 300 vertices, ten versions drawn over it.
        profile: sees the moves of the counted frames, and those between them.
    """
    from PySide6.QtCore import QEvent, QPointF, Qt
    from PySide6.QtGui import QMouseEvent
    from PySide6.QtWidgets import QApplication

    from app.cli.prepare import load_rare
    from app.session import shown
    from app.views.canvas import band
    from app.views.canvas.plot import Sheet
    from app.window.main import application, set_aside
    from app.window.main_window import MainWindow
    from app.window.settings import Settings

    computed = [0.0]
    for module, name in ((shown, "hold"), (shown, "profile"), (band, "walls_along")):
        setattr(module, name, _timed(getattr(module, name), computed))
    painted = [0.0]
    Sheet.paintEvent = _noting(Sheet.paintEvent, painted)
    app = application()
    window = MainWindow(Settings(folder / "window.ini"), folder / "state")
    window.document._measure = _timed(window.document._measure, computed)
    window.resize(width, height)
    window.show()
    window.document.start(loaded() if heavy else example.project())
    if heavy:
        window.document.save(folder / "loaded.blankwright")
        window.document.compare(w.name for w in window.document.project.wheels[1:])
        window.actions_by_name["saved_line"].setChecked(True)
    for _ in range(5):
        app.processEvents()
    sheet = window.canvas.sheet
    sheet.fit()
    load_rare()
    set_aside()
    app.processEvents()
    viewport = sheet.viewport()
    start = sheet.to_pixels(50.1, 134.0)

    def send(kind: QEvent.Type, at: QPointF, held: bool) -> None:
        left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
        button = none if kind == QEvent.Type.MouseMove else left
        buttons = left if held else none
        event = QMouseEvent(
            kind,
            at,
            QPointF(viewport.mapToGlobal(at.toPoint())),
            button,
            buttons,
            Qt.KeyboardModifier.NoModifier,
        )
        QApplication.sendEvent(viewport, event)

    found: list[Times] = []
    for stress in turns:
        times = Times()
        found.append(times)
        if stress is not None:
            _follow(window, stress, times)
        send(QEvent.Type.MouseMove, start, held=False)
        send(QEvent.Type.MouseButtonPress, start, held=True)
        times.pictures = times.current = 0
        for k in range(frames + WARM_UP):
            # A slow swing, so that every frame moves the vertex by a few pixels and snaps differently.
            if profile is not None and k == WARM_UP:
                profile.enable()
            at = start + QPointF(18.0 * np.sin(k / 7.0), 14.0 * np.sin(k / 5.0) - 8.0)
            last = window.canvas.dragging.last
            before, used, computed[0] = time.perf_counter(), time.process_time(), 0.0
            send(QEvent.Type.MouseMove, at, held=True)
            if window.canvas.dragging.last is last:
                # What such a move changes, as the pointer's place, is painted with it, not with the next.
                app.processEvents()
                continue
            while painted[0] < before:
                app.processEvents()
            # The panels paint in the same turn; the last of them ends the frame.
            app.processEvents()
            whole_ms = (time.perf_counter() - before) * 1e3
            if k >= WARM_UP and window.document.state.faults:
                times.faults.append(whole_ms)
            elif k >= WARM_UP:
                times.drawing.append((painted[0] - before) * 1e3)
                times.frame.append(whole_ms)
                times.processor.append((time.process_time() - used) * 1e3)
                times.computing.append(computed[0] * 1e3)
        if profile is not None:
            profile.disable()
        assert window.document.state.dragging, "the drag never began"
        send(QEvent.Type.MouseButtonRelease, at, held=False)
        assert window.document.undo_stack.count() == 1, "the drag left no single step"
        window.document.undo_stack.undo()
        window.document.undo_stack.clear()
        if stress is not None:
            window.actions_by_name["stress"].trigger()
            app.processEvents()
    window.document.undo_stack.setClean()
    window.close()
    return found


def _follow(window: Any, case: str, times: Times) -> None:
    """Switch the preview of stress on and wait for its first picture."""
    from PySide6.QtWidgets import QApplication

    window.live_stress.loads[case].trigger()
    window.actions_by_name["stress"].trigger()
    follower, last = window.live_stress.follower, [None]

    def count(live: Any) -> None:
        if live is not None and live.step is not None and live.step is not last[0]:
            last[0] = live.step
            times.pictures += 1
            times.current += live.is_current

    follower.changed.connect(count)
    until = time.perf_counter() + 120.0
    while not follower.live.is_current:
        assert time.perf_counter() < until, f"no stress under {case}: {follower.live.trouble}"
        QApplication.processEvents()


def _timed(call: Callable[..., Any], seconds: list[float]) -> Callable[..., Any]:
    """Return the call, adding the time it takes."""

    @wraps(call)
    def timed(*args: Any) -> Any:
        before = time.perf_counter()
        try:
            return call(*args)
        finally:
            seconds[0] += time.perf_counter() - before

    return timed


def _noting(paint: Callable[..., Any], at: list[float]) -> Callable[..., Any]:
    """Return the paint event's handler, noting when it was done last."""

    def noted(*args: Any) -> Any:
        result = paint(*args)
        at[0] = time.perf_counter()
        return result

    return noted


def _profiled(folder: Path, width: int, height: int, frames: int, heavy: bool) -> Times:
    profile = cProfile.Profile()
    result = measure_turns(folder, width, height, frames, (None,), heavy, profile)[0]
    for order in ("cumulative", "tottime"):
        pstats.Stats(profile).sort_stats(order).print_stats(70)
    return result


def _count(folder: Path, width: int, height: int, frames: int, heavy: bool) -> None:
    """Print the interpreter's steps, and the calls out of it, of a frame: in all and by file."""
    steps = Steps()
    times = measure_turns(folder, width, height, frames, (None,), heavy, steps)[0]
    count = len(times.frame) + len(times.faults)
    opcodes, calls = steps.by_file(steps.opcodes), steps.by_file(steps.calls)
    print(
        f"{count} frames: {opcodes.total() / count:.0f} steps, {calls.total() / count:.0f} calls out of them"
    )
    for file, taken in opcodes.most_common(40):
        print(f"{taken / count:8.0f} {calls[file] / count:6.0f}  {file}")


if __name__ == "__main__":
    sys.exit(main())
