"""The tracing dialog opened on a picture, and someone's mouse and keys over it."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.files.readers.picture import picture
from app.files.readers.read_picture import Picture, PictureRequest
from app.window.dialogs.trace_picture import TraceDialog
from app.window.dialogs.trace_state import Task
from geometry.shape.tracing import Pixel
from tests.gui.conftest import Asked
from tests.support import brake_picture, example
from tests.support.importing import typed

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
#: Zoomed in so far, a click of whole screen pixels is as good as the picture's own.
_CLOSE = 4.0


def read_here(path: Path, page: int = 0, cancelled: Callable[[], bool] | None = None) -> Picture:
    """Decode in this process, for speed."""
    head, pixels = picture(path.read_bytes(), PictureRequest(path.suffix, page))
    return Picture(head, pixels, path.name, page)


def opened(
    qtbot: Any,
    folder: Path,
    data: bytes | None = None,
    name: str = "sheet.png",
    wheel: str | None = example.WHEEL,
    read: Callable[..., Picture] = read_here,
) -> tuple[TraceDialog, Asked]:
    """Open the dialog on a picture and wait until it is there."""
    path = folder / name
    path.write_bytes(brake_picture.png() if data is None else data)
    dialog = TraceDialog(example.project(), path, wheel, read=read)
    qtbot.addWidget(dialog, before_close_func=_leave_quietly)
    asked = Asked(dialog)
    ready(dialog)
    return dialog, asked


def _leave_quietly(dialog: TraceDialog) -> None:
    dialog.steps.give_up()
    dialog.is_touched = False


def ready(dialog: TraceDialog) -> None:
    """Wait until the picture is read and the gap is said."""
    end = time.monotonic() + 20.0
    while True:
        QApplication.processEvents()
        if not (dialog.is_reading or dialog.look.is_busy):
            return
        assert time.monotonic() < end, "the dialog is still at work"
        time.sleep(0.003)


def move(dialog: TraceDialog, at: QPoint, held: Qt.MouseButton = NONE) -> None:
    """Move the pointer to a place of the sheet, whichever window the screen has on top."""
    sheet, none = dialog.sheet, Qt.KeyboardModifier.NoModifier
    away = QPointF(sheet.mapToGlobal(at))
    event = QMouseEvent(QEvent.Type.MouseMove, QPointF(at), away, NONE, held, none)
    QApplication.sendEvent(sheet, event)


def shown(dialog: TraceDialog, at: Pixel) -> QPoint:
    """Return where a pixel is on the sheet."""
    return dialog.sheet.view.point(at).toPoint()


def wheel(dialog: TraceDialog, at: QPoint, notches: int) -> None:
    """Turn the wheel of the mouse over a place of the sheet."""
    sheet, where = dialog.sheet, QPointF(at)
    event = QWheelEvent(
        where, QPointF(sheet.mapToGlobal(at)), QPoint(), QPoint(0, 120 * notches), NONE,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(sheet, event)


def click(dialog: TraceDialog, at: Pixel) -> None:
    """Zoom in on a pixel, click it, and show everything again."""
    while dialog.sheet.view.view.scale < _CLOSE:
        wheel(dialog, shown(dialog, at), 4)
    move(dialog, shown(dialog, at))
    QTest.mouseClick(dialog.sheet, LEFT, pos=shown(dialog, at))
    dialog.sheet.fit()
    QApplication.processEvents()


def click_far(dialog: TraceDialog, at: Pixel) -> None:
    """Click a pixel with the whole picture in sight."""
    move(dialog, shown(dialog, at))
    QTest.mouseClick(dialog.sheet, LEFT, pos=shown(dialog, at))
    QApplication.processEvents()


def drag(dialog: TraceDialog, start: Pixel, end: Pixel) -> None:
    """Take hold of a pixel and bring it to another, in steps."""
    a, b = shown(dialog, start), shown(dialog, end)
    move(dialog, a)
    QTest.mousePress(dialog.sheet, LEFT, pos=a)
    for k in range(1, 5):
        move(dialog, a + (b - a) * k / 4, LEFT)
    QTest.mouseRelease(dialog.sheet, LEFT, pos=b)
    QApplication.processEvents()


def point(dialog: TraceDialog, task: Task, *at: Pixel) -> None:
    """Press the button of a task and click its places."""
    buttons = {
        **dialog.scale.buttons,
        Task.LEVEL: dialog.lie.level,
        Task.OUTLINE: dialog.outline.draw,
    }
    buttons[task].click()
    for one in at:
        click(dialog, one)


def set_scale(dialog: TraceDialog, at: Callable[..., Pixel] = brake_picture.pixel) -> None:
    """Level the made-up sheet, give it two lengths along each axis, and its zeros."""
    point(dialog, Task.LEVEL, at(-100.0, 0.0), at(100.0, 0.0))
    for task, ends, true in (
        (Task.Z_FIRST, (at(-62.0, 226.0), at(46.0, 226.0)), "108,0"),
        (Task.Z_SECOND, (at(-62.0, 116.0), at(24.0, 116.0)), "86"),
        (Task.R_FIRST, (at(90.0, 0.0), at(90.0, 199.0)), "199"),
        (Task.R_SECOND, (at(80.0, 0.0), at(80.0, 134.0)), "134"),
    ):
        point(dialog, task, *ends)
        assert task.length is not None
        typed(dialog.scale.lengths[task.length], true)
    point(dialog, Task.BEARING, at(0.0, 40.0))
    point(dialog, Task.AXLE, at(-50.0, 0.0))


def trace_brake(dialog: TraceDialog) -> None:
    """Click the brake of the made-up sheet all round and press Enter."""
    point(dialog, Task.OUTLINE, *(brake_picture.pixel(z, r) for z, r in brake_picture.BRAKE))
    QTest.keyClick(dialog.sheet, Qt.Key.Key_Return)
    QApplication.processEvents()


def said(dialog: TraceDialog) -> str:
    """Return the report as it can be read."""
    return dialog.look.report.toPlainText()
