"""What is said of a tracing: its scales and how they disagree, its error, what is open."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from app.language import spoken, tr
from app.window.dialogs.import_report import LOOK, OPEN, TROUBLE, Line, capital
from app.window.dialogs.trace_state import Trace
from geometry.errors import GeometryError
from geometry.shape.outline import Corner
from geometry.shape.tracing import SPREAD_TO_WARN, AxisScale, TracingError, spread, tracing_error


def percent(share: float) -> str:
    """Return a share in percent with the digits that it is worth."""
    return f"{100.0 * share:.1f} %"


def scale_lines(trace: Trace) -> list[Line]:
    """Return what the known lengths give, axis by axis, and how the axes differ."""
    said: list[Line] = []
    scales: list[AxisScale] = []
    for axis in ("z", "r"):
        try:
            scale = trace.scale(axis)
        except GeometryError as error:
            trouble = any(known.axis == axis for known in trace.known())
            said.append(Line(tr("Scale {axis}", axis=axis), spoken(str(error)), TROUBLE if trouble else OPEN))
            continue
        scales.append(scale)
        words = tr("{mm_per_px:.4f} mm a pixel", mm_per_px=scale.mm_per_px)
        tone = ""
        if not scale.is_checked:
            words, tone = (
                tr(
                    "{words}, by one length alone: a second along {axis} would check it",
                    words=words,
                    axis=axis,
                ),
                LOOK,
            )
        else:
            words = tr("{words}; its lengths differ by {percent}", words=words, percent=percent(scale.spread))
            tone = LOOK if scale.spread > SPREAD_TO_WARN else ""
        said.append(Line(tr("Scale {axis}", axis=axis), words, tone))
    if len(scales) == len(("z", "r")):
        share = spread([scale.mm_per_px for scale in scales])
        tone = LOOK if share > SPREAD_TO_WARN else ""
        why = tr(": a slanting view, a stretched copy, or a wrong length") if tone else ""
        said.append(
            Line(
                tr("Axes"), tr("their scales differ by {percent}{why}", percent=percent(share), why=why), tone
            )
        )
    return said


def error_of(trace: Trace, corners: Sequence[Corner]) -> TracingError | None:
    """Return the error that the tracing should have at least; None without a scale."""
    picture = trace.map()
    if picture is None:
        return None
    return tracing_error(picture, np.array([(c.z, c.r) for c in corners], dtype=float).reshape(-1, 2))


def starting_mm(error: TracingError) -> float:
    """Return the error that a tracing starts with, rounded up to a tenth."""
    return math.ceil(10.0 * error.whole_mm - 1e-6) / 10.0


def error_line(trace: Trace, error: TracingError | None, typed_mm: float | None) -> list[Line]:
    """Return what the error is made of; a smaller one that was typed is worth a look."""
    picture = trace.map()
    if picture is None or error is None:
        return []
    words = tr(
        "± {starting_mm:.1f} mm: two pixels of {pixel_mm:.2f} mm are {pixels_mm:.1f}, "
        "the scale at the farthest place {scale_mm:.1f}, and no tracing is less than "
        "{least_mm:.0f}",
        starting_mm=starting_mm(error),
        pixel_mm=picture.pixel_mm,
        pixels_mm=error.pixels_mm,
        scale_mm=error.scale_mm,
        least_mm=error.least_mm,
    )
    said = [Line(tr("Error"), words)]
    if typed_mm is not None and typed_mm < starting_mm(error):
        less = tr("± {typed_mm:.1f} mm is typed, less than the picture gives", typed_mm=typed_mm)
        said.append(Line(tr("Error"), less, LOOK))
    return said


def next_words(trace: Trace) -> str:
    """Return what is to be done next, in a few words; empty when nothing is."""
    untyped = trace.untyped()
    if untyped is not None:
        return tr("type the true length of what was pointed at")
    task = trace.next_task()
    return "" if task is None else tr("point at {words}", words=task.words)


def todo_line(trace: Trace) -> list[Line]:
    """Return the next step as a line of the report."""
    words = next_words(trace)
    return [Line(tr("To do"), f"{capital(words)}.", LOOK)] if words else []
