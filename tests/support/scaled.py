"""Prints as JSON how the window is hit at the scale of the screen in force (QT_SCALE_FACTOR).

Run by tests/gui/test_scales.py, each scale in a process of its own; a file named is given a picture.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolBar, QToolButton

from app.window.main import application
from app.window.main_window import MainWindow
from app.window.settings import Settings
from tests.support import example

LEFT, PLAIN = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
BACK = 40


def main() -> int:
    """Click round a vertex at whole logical pixels, and measure the buttons."""
    app = application()
    with tempfile.TemporaryDirectory() as folder:
        window = MainWindow(Settings(Path(folder) / "window.ini"), Path(folder) / "state")
        window.resize(1440, 900)
        window.show()
        window.document.start(example.project())
        sheet = window.canvas.sheet
        QApplication.processEvents()
        sheet.zoom_to((40.0, 120.0), 120.0)
        for _ in range(4):
            QApplication.processEvents()
        v = window.document.project.wheels[0].section.vertices[BACK]
        middle = sheet.to_pixels(v.z, v.r).toPoint()
        hit: dict[bool, list[int]] = {True: [], False: []}
        for hovers in hit:  # as a mouse does, and as a finger, whose press is the first that is seen of it
            for away in range(15):
                window.document.select_vertex(None)
                at = middle + QPoint(away, 0)
                QTest.mouseMove(sheet.viewport(), at if hovers else at + QPoint(150, 100))
                QTest.mouseClick(sheet.viewport(), LEFT, PLAIN, at)
                QApplication.processEvents()
                if window.document.selected == BACK:
                    hit[hovers].append(away)
        buttons = [b.size() for bar in window.findChildren(QToolBar) for b in bar.findChildren(QToolButton)]
        seen = [size for size in buttons if size.width() > 0]
        print(
            json.dumps(
                {
                    "ratio": sheet.devicePixelRatioF(),
                    "hit_px": hit[True],
                    "pressed_px": hit[False],
                    "least_button_px": min(min(size.width(), size.height()) for size in seen),
                    "window_px": [window.width(), window.height()],
                }
            )
        )
        if len(sys.argv) > 1:
            window.grab().save(sys.argv[1])
        window.document.undo_stack.setClean()
        window.close()
        app.processEvents()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
