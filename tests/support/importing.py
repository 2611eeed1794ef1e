"""The import dialog opened on a file or on a made-up answer, and waited for."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from app.files.readers.answer import Loop, ReadOutline
from app.files.readers.read import read_outline
from app.project.project import Project
from app.window.dialogs.import_outline import ImportDialog
from app.window.dialogs.import_ticks import TicksField
from app.window.dialogs.typed_fields import Field
from tests.gui.conftest import Asked, write
from tests.support.panels import project as panels_project

#: Under the rim of the wheel of tests.support.panels: 5 from its barrel at r 90, 9 from its spoke back.
BOX: Loop = ((-18.0, 50.0, 0.0), (-9.0, 50.0, 0.0), (-9.0, 85.0, 0.0), (-18.0, 85.0, 0.0))
HOLE: Loop = ((-14.0, 60.0, 0.0), (-10.0, 60.0, 0.0), (-10.0, 64.0, 0.0), (-14.0, 64.0, 0.0))


def found(*loops: Loop, **changes: Any) -> ReadOutline:
    """Return a made-up answer in mm."""
    loops = loops or (BOX,)
    zs, rs = [row[0] for loop in loops for row in loop], [row[1] for loop in loops for row in loop]
    answer = ReadOutline(
        kind="drawing",
        unit="mm",
        loops=loops,
        bounds=(min(zs), max(zs), min(rs), max(rs)),
        within=(-1,) * len(loops),
        sha256="0" * 64,
        file_name="made up.dxf",
    )
    return replace(answer, **changes)


class Reader:
    """Hands out made-up answers and keeps what it was asked; the last answer is repeated."""

    def __init__(self, *answers: ReadOutline | Exception) -> None:
        self.answers = list(answers)
        self.asked: list[dict[str, Any]] = []

    def __call__(self, path: Path, **how: Any) -> ReadOutline:
        self.asked.append(how)
        answer = self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]
        if isinstance(answer, Exception):
            raise answer
        unit = how.get("unit")
        return replace(answer, file_name=path.name, unit=unit or answer.unit)


def ready(dialog: ImportDialog, seconds: float = 20.0) -> None:
    """Wait until the file is read as the fields ask, and the least gap is said."""
    end = time.monotonic() + seconds
    while True:
        QApplication.processEvents()
        if not (dialog.reading.is_under_way or dialog.jobs.is_busy or dialog._pause.isActive()):
            return
        assert time.monotonic() < end, "the dialog is still reading"
        time.sleep(0.002)


def opened(
    qtbot: Any,
    path: Path,
    data: bytes | None = None,
    whole: Project | None = None,
    wheel: str | None = None,
    read: Any = read_outline,
    waiting: Sequence[str] = (),
) -> tuple[ImportDialog, Asked]:
    """Open the dialog on a file and wait until it is read."""
    if data is not None:
        path.write_bytes(data)
    dialog = ImportDialog(whole or panels_project(), path, wheel, read=read, waiting=waiting)
    qtbot.addWidget(dialog)
    asked = Asked(dialog)
    ready(dialog)
    return dialog, asked


def typed(field: Field, text: str) -> None:
    """Type over a line, key by key."""
    line = field.editor
    assert isinstance(line, QLineEdit)
    line.setFocus()
    line.selectAll()
    if text:
        write(line, text)
    else:
        QTest.keyClick(line, Qt.Key.Key_Delete)


def tick(field: TicksField, key: str) -> None:
    """Go to a row of a list and press the space bar."""
    field.list.setFocus()
    field.list.setCurrentItem(field.item(key))
    QTest.keyClick(field.list, Qt.Key.Key_Space)


def pixel(dialog: ImportDialog, z: float, r: float) -> QPoint:
    """Return the pixel of a place of the hub's frame in the picture."""
    return dialog.picture.view.pixel(z, r).toPoint()


def hover(dialog: ImportDialog, at: QPoint, held: Qt.MouseButton = Qt.MouseButton.NoButton) -> None:
    """Move the pointer to a pixel of the picture, whichever window the screen has on top."""
    picture = dialog.picture
    none = Qt.KeyboardModifier.NoModifier
    away = QPointF(picture.mapToGlobal(at))
    event = QMouseEvent(QEvent.Type.MouseMove, QPointF(at), away, Qt.MouseButton.NoButton, held, none)
    QApplication.sendEvent(picture, event)


def click(dialog: ImportDialog, z: float, r: float) -> None:
    """Click a place of the hub's frame in the picture."""
    hover(dialog, pixel(dialog, z, r))
    QTest.mouseClick(dialog.picture, Qt.MouseButton.LeftButton, pos=pixel(dialog, z, r))
    QApplication.processEvents()


def said(dialog: ImportDialog) -> str:
    """Return the report as it can be read."""
    return dialog.look.report.toPlainText().strip()
