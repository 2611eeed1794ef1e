"""From pointer event to painted frame of a bare plot: `python -m tests.timing.bench_plot`.

It tells how fast this machine is, whatever the program does: the budgets were set beside such a plot. An
outline of 803 points, another shape, a grid of its own and a band of 16 colours, 1400 x 900, smoothed; one
point is dragged, the outline and the band are made anew, no panel stands beside. Where the budgets were set
it took 6.5 ms (5.0 with 241 points).
"""

from __future__ import annotations

import os
import sys
import time
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

COUNTS, FRAMES, WARM_UP, COLOURS = (241, 803), 300, 30, 16
INSIDE = 0.95


def main() -> int:
    """Measure and print."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    for count in COUNTS:
        found = measure(count)
        print(f"{count} points: median {np.median(found):.2f} ms, p95 {np.percentile(found, 95):.2f} ms")
    return 0


def measure(count: int) -> list[float]:
    """Return what each frame took, ms."""
    import pyqtgraph as pg
    from PySide6.QtCore import QEvent, QPointF, QRectF, Qt
    from PySide6.QtGui import QMouseEvent, QPainterPath, QPen
    from PySide6.QtWidgets import QGraphicsPathItem

    pg.setConfigOptions(antialias=True, mouseRateLimit=-1)
    app = pg.mkQApp()

    class Band(pg.GraphicsObject):  # type: ignore[misc]  # the plotting library has no types
        paths: tuple[QPainterPath, ...] = ()

        def boundingRect(self) -> QRectF:
            return QRectF(-200.0, -150.0, 400.0, 300.0)

        def paint(self, painter: Any, *_: object) -> None:
            painter.setPen(Qt.PenStyle.NoPen)
            for k, path in enumerate(self.paths):
                painter.setBrush(pg.intColor(k, COLOURS))
                painter.drawPath(path)

    plot = pg.PlotWidget()
    plot.resize(1400, 900)
    plot.setAspectLocked(True)
    box = plot.getViewBox()
    box.setMouseEnabled(False, False)
    plot.setRange(xRange=(-150, 150), yRange=(-100, 100))
    lines = QPainterPath()
    for line in range(-150, 151, 10):
        lines.moveTo(line, -150)
        lines.lineTo(line, 150)
        lines.moveTo(-200, line)
        lines.lineTo(200, line)
    grid, thin = QGraphicsPathItem(lines), QPen(Qt.GlobalColor.darkGray)
    thin.setCosmetic(True)
    grid.setPen(thin)
    plot.addItem(grid)
    place = outline(count, (0.0, 0.0))
    curve = plot.plot(*place.T, pen=pg.mkPen("w", width=1))
    plot.plot(*(0.6 * place[::3]).T, pen="r")
    plot.plot(*(1.15 * place).T, pen="b")
    band = Band()
    plot.addItem(band)
    start = place[count // 6]
    target = pg.TargetItem(tuple(start))
    plot.addItem(target)

    def moved() -> None:
        at = target.pos()
        points = outline(count, (at.x() - start[0], at.y() - start[1]))
        curve.setData(*points.T)
        band.paths = tuple(QPainterPath() for _ in range(COLOURS))
        for j, ((x0, y0), (x1, y1)) in enumerate(zip(points[:-1].tolist(), points[1:].tolist(), strict=True)):
            path = band.paths[j * COLOURS // count]
            path.moveTo(x0, y0)
            path.lineTo(x1, y1)
            path.lineTo(INSIDE * x1, INSIDE * y1)
            path.lineTo(INSIDE * x0, INSIDE * y0)
            path.closeSubpath()
        band.update()

    target.sigPositionChanged.connect(moved)
    plot.show()
    for _ in range(20):
        app.processEvents()
    viewport, pixel = plot.viewport(), QPointF(plot.mapFromScene(box.mapViewToScene(QPointF(*start))))

    def send(kind: QEvent.Type, at: QPointF, held: bool) -> None:
        left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
        button = none if kind == QEvent.Type.MouseMove else left
        there = QPointF(viewport.mapToGlobal(at.toPoint()))
        buttons = left if held else none
        app.sendEvent(viewport, QMouseEvent(kind, at, there, button, buttons, Qt.KeyboardModifier.NoModifier))

    send(QEvent.Type.MouseMove, pixel, held=False)
    send(QEvent.Type.MouseButtonPress, pixel, held=True)
    found = []
    for k in range(FRAMES + WARM_UP):
        at = pixel + QPointF(60.0 * np.sin(k / 7.0), 50.0 * np.sin(k / 5.0))
        before = time.perf_counter()
        send(QEvent.Type.MouseMove, at, held=True)
        app.processEvents()
        found.append((time.perf_counter() - before) * 1e3)
    assert abs(target.pos().x() - start[0]) > 1.0, "the point was never dragged"
    send(QEvent.Type.MouseButtonRelease, at, held=False)
    plot.close()
    return found[WARM_UP:]


def outline(count: int, shift: tuple[float, float]) -> Array:
    """Return (count, 2) points of a wavy outline, pulled by a shift about its sixth part."""
    t = np.linspace(0.0, 2.0 * np.pi, count)
    radius = 80.0 + 10.0 * np.sin(8.0 * t)
    pull = np.exp(-40.0 * (t - np.pi / 3.0) ** 2)
    points: Array = np.column_stack([1.5 * radius * np.cos(t), radius * np.sin(t)])
    points += pull[:, None] * np.array(shift)
    return points


if __name__ == "__main__":
    sys.exit(main())
