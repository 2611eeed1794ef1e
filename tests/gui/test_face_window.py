"""The wheel from the street: widths dragged, typed and stepped, undone; the whole wheel turned."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt

from app import resources
from app.files.project_file import load
from app.session.document import Document
from app.views.theme import Theme
from app.window.face_window import FaceWindow


@pytest.fixture
def document() -> Document:
    made = Document()
    made.start(load(resources.sample("1-track-18-own-blank")))
    return made


@pytest.fixture
def window(document: Document, qtbot: Any) -> Iterator[FaceWindow]:
    shown = FaceWindow(document, Theme())
    qtbot.addWidget(shown)
    shown.show()
    qtbot.waitExposed(shown)
    yield shown
    shown.close()
    document.undo_stack.setClean()


def widths(document: Document) -> tuple[tuple[float, float], ...]:
    assert document.wheel is not None
    assert document.wheel.spokes is not None
    return document.wheel.spokes.widths


def mass(document: Document) -> float:
    assert document.state.measurements is not None
    return document.state.measurements.solid.mass_kg


def whole(place: QPointF) -> QPoint:
    return place.toPoint()


def test_a_drag_on_the_spoke_is_one_step_and_the_wheel_grows_heavier(
    window: FaceWindow, document: Document, qtbot: Any
) -> None:
    before, light = widths(document), mass(document)
    row = len(before) - 3
    start = whole(window.face.on_spoke(row))
    qtbot.mousePress(window.face, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(window.face, start + QPoint(6, 0))
    qtbot.mouseMove(window.face, start + QPoint(12, 0))
    qtbot.mouseRelease(window.face, Qt.MouseButton.LeftButton, pos=start + QPoint(12, 0))
    changed = window.face.row
    after = widths(document)
    assert [k for k in range(len(before)) if before[k] != after[k]] == [changed]
    # Both edges move: 12 pixels on one side widen it by about twice as many.
    assert after[changed][1] - before[changed][1] == pytest.approx(24.0 / window.face.scale, rel=0.15)
    assert mass(document) > light
    document.undo()
    assert widths(document) == before
    assert mass(document) == light


def test_escape_takes_a_drag_back(window: FaceWindow, document: Document, qtbot: Any) -> None:
    before = widths(document)
    start = whole(window.face.on_strip(0))
    qtbot.mousePress(window.face, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(window.face, start + QPoint(20, 0))
    qtbot.keyClick(window.face, Qt.Key.Key_Escape)
    qtbot.mouseRelease(window.face, Qt.MouseButton.LeftButton, pos=start + QPoint(20, 0))
    assert widths(document) == before
    assert window.isVisible()
    assert not document.undo_stack.canUndo()


def test_typed_shares_widths_and_counts(window: FaceWindow, document: Document, qtbot: Any) -> None:
    window.face.setFocus()
    r, _ = widths(document)[0]

    def typed(text: str, line: Any) -> None:
        line.setFocus()
        line.selectAll()
        qtbot.keyClicks(line, text)
        qtbot.keyClick(line, Qt.Key.Key_Return)

    typed("60", window.filled.line)
    assert widths(document)[0][1] == pytest.approx(0.6 * 2.0 * 3.14159265358979 * r / 10.0)
    typed("20 + 1/2", window.wide.line)
    assert widths(document)[0] == (r, 20.5)
    typed("7", window.many.line)
    assert document.wheel is not None
    assert document.wheel.spokes is not None
    assert document.wheel.spokes.count == 7
    assert len(window.face.face.windows) == 7  # type: ignore[union-attr]
    typed("500", window.at_r.line)
    assert "Rows rise in r" in window.at_r.message.text()
    assert widths(document)[0] == (r, 20.5)


def test_keys_choose_a_row_and_widen_it_and_rows_come_and_go(
    window: FaceWindow, document: Document, qtbot: Any
) -> None:
    before = widths(document)
    qtbot.keyClick(window.face, Qt.Key.Key_Up)
    assert window.face.row == 1
    qtbot.keyClick(window.face, Qt.Key.Key_Right)
    assert widths(document)[1][1] == pytest.approx(before[1][1] + 0.5)
    qtbot.mouseClick(window.insert, Qt.MouseButton.LeftButton)
    assert len(widths(document)) == len(before) + 1
    qtbot.mouseClick(window.remove, Qt.MouseButton.LeftButton)
    assert len(widths(document)) == len(before)


def test_a_width_is_inserted_beyond_the_last_and_chosen(
    window: FaceWindow, document: Document, qtbot: Any
) -> None:
    """Beyond the last row stands the new one, 10 mm farther out and as wide."""
    before = widths(document)
    window.face.setFocus()
    for _ in range(len(before)):
        qtbot.keyClick(window.face, Qt.Key.Key_Up)
    assert window.face.row == len(before) - 1
    qtbot.mouseClick(window.insert, Qt.MouseButton.LeftButton)
    r, width = before[-1]
    assert widths(document) == (*before, (r + 10.0, width))
    assert window.face.row == len(before)
    assert window.at_r.read() == pytest.approx(r + 10.0)
    document.undo()
    assert window.face.row == len(before) - 1


def test_the_whole_wheel_is_drawn_and_turned(window: FaceWindow, qtbot: Any) -> None:
    window._fine.setInterval(3_600_000)
    window.pages.setCurrentWidget(window.whole)
    qtbot.waitUntil(lambda: window.whole.image is not None)
    first = window.whole.image
    assert first is not None
    assert first.pixelColor(first.width() // 2, 2).alpha() == 0
    qtbot.keyClick(window.whole, Qt.Key.Key_Left)
    qtbot.waitUntil(lambda: window.whole.image is not first)
    assert window.whole.turned_deg == 20.0
    assert window.whole.image != first
