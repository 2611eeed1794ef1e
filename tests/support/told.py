"""Everything that a window tells at one moment, as plain values to be compared with another window's."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainterPath, QPen, QPolygonF

from app.views.canvas.content import Callout
from app.views.canvas.kept import Kept
from app.views.readings_tree import STATE, ReadingsModel
from app.window.main_window import MainWindow


def told(window: MainWindow) -> dict[str, Any]:
    """Return what the panels say and the sheet draws, by panel; where a callout stands is left out.

    A callout rather stays where it stood, so its place tells of what was shown before.
    """
    return {
        "readings": readings(window.readings.model),
        "detail": window.readings.detail.toPlainText(),
        "summary": [
            label.text()
            for label in (
                window.summary.title,
                window.summary.facts,
                window.summary.worst,
                window.summary.mass,
            )
        ],
        "vertices": [window.vertices.title.text(), window.vertices.copied_text()],
        "boxes": {name: box.text() for name, box in window.canvas.boxes.boxes.items()},
        "strip": _strip(window),
        "layers": _layers(window),
        "words": _words(window),
        "handles": [_plain(corner) for corner in window.canvas.sheet.handles._corners or ()],
    }


def readings(model: ReadingsModel) -> list[list[str]]:
    """Return the texts of every line of the readings, and what is said about each."""
    rows = []
    for index in model.every():
        cells = [model.data(index.siblingAtColumn(column)) for column in range(STATE + 1)]
        rows.append([str(cell) for cell in (*cells, model.data(index, Qt.ItemDataRole.ToolTipRole))])
    return rows


def _strip(window: MainWindow) -> dict[str, Any]:
    strip, picture = window.strip, window.strip.picture
    return {
        "note": strip.note.text() if strip.note.isVisible() else "",
        "lines": {name: _runs(line.runs) for name, line in picture.lines.items()},
        "rules": {name: _runs(line.runs) for name, line in picture.rules.items()},
        "names": dict(picture.labels),
        "curves": {
            name: (c.at_mm.tolist(), [str(v) for v in c.value_mm]) for name, c in strip.curves.items()
        },
    }


def _layers(window: MainWindow) -> dict[str, Any]:
    drawing = window.canvas.sheet.drawing
    found = {
        name: (_path(layer.path()), _plain(layer._pen), layer._brush.color().name())
        for name, layer in drawing._layers.items()
    }
    band = [(k, _path(path), drawing._band._brushes[k].color().name()) for k, path in drawing._band._paths]
    return {**found, "band": band}


def _words(window: MainWindow) -> dict[str, Any]:
    overlay = window.canvas.sheet.overlay
    marks = overlay.content.marks
    kept = {
        name: _calls(part)
        for name, part in (
            ("planes", overlay._planes),
            ("lines", overlay._lines),
            ("words", overlay._words),
            ("moving", overlay._moving),
            ("rulers", overlay._rulers),
            ("head", overlay._head),
        )
    }
    others = [repr(mark) for mark in marks if not isinstance(mark, Callout)]
    callouts = [
        (mark.number, mark.words, mark.place, mark.colour.name())
        for mark in marks
        if isinstance(mark, Callout)
    ]
    return {**kept, "marks": others, "callouts": callouts, "hints": overlay.content.hints}


def _calls(kept: Kept) -> list[Any]:
    return [(call.__name__, [_plain(value) for value in values]) for call, values in kept.calls]


def _runs(runs: list[QPolygonF]) -> list[list[tuple[float, float]]]:
    return [[point.toTuple() for point in run.toList()] for run in runs]


def _path(path: QPainterPath) -> list[tuple[str, float, float]]:
    if path.isEmpty():  # a lone move draws nothing
        return []
    elements = map(path.elementAt, range(path.elementCount()))
    return [(e.type.name, round(e.x, 9), round(e.y, 9)) for e in elements]


def _plain(value: object) -> object:
    """Return what a painter was handed as numbers and words."""
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    if isinstance(value, QPointF):
        return round(value.x(), 6), round(value.y(), 6)
    if isinstance(value, QRectF):
        return tuple(round(x, 6) for x in value.getRect())  # type: ignore[attr-defined]
    if isinstance(value, QLineF):
        return _plain([value.p1(), value.p2()])
    if isinstance(value, QColor):
        return value.name(QColor.NameFormat.HexArgb)
    if isinstance(value, QPen):
        return value.color().name(), value.style().name, value.widthF()
    if isinstance(value, QFont):
        return value.toString()
    return value if isinstance(value, str) else type(value).__name__
