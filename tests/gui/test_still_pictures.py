"""What is kept as a picture looks as what is painted anew, and is never older than what it shows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from PySide6.QtGui import QImage, QPainter

from app.views.canvas import handles, layers
from app.views.canvas.layers import Still
from tests.gui.conftest import Person

BACK = 40


def _seen(person: Person) -> npt.NDArray[np.int16]:
    """The drawing as it is painted now."""
    image = person.window.canvas.sheet.viewport().grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    points = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)
    return points[:, :, :3].astype(np.int16)


def _apart(a: npt.NDArray[np.int16], b: npt.NDArray[np.int16]) -> int:
    return int(np.abs(a - b).max())


@pytest.mark.parametrize("dark", [False, True])
def test_many_handles_look_as_each_painted_by_itself(
    person: Person, monkeypatch: pytest.MonkeyPatch, dark: bool
) -> None:
    """Before a drag, in it, after it, with another vertex and another view."""
    person.window.theme.set_dark(dark)
    seen = 0

    def same() -> None:
        nonlocal seen
        monkeypatch.setattr(handles, "_MANY", 2)
        many = _seen(person)
        monkeypatch.setattr(handles, "_MANY", 10_000)
        assert _apart(many, _seen(person)) == 0
        monkeypatch.setattr(handles, "_MANY", 2)
        seen += 1

    same()
    person.press(person.at(*person.vertex(BACK)))
    for to in ((52.0, 137.0), (47.0, 141.0)):
        person.move(person.at(*to))
        same()
    person.release(person.at(47.0, 141.0))
    same()
    person.window.document.select_vertex(BACK + 1)
    person.settle()
    same()
    person.window.canvas.sheet.zoom(3)
    person.settle()
    same()
    assert seen == 6


def test_other_versions_look_as_painted_anew(
    person: Person, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A picture rounds each colour once more; nothing else may differ, in a drag or in another view."""
    window = person.window
    monkeypatch.setattr(layers, "_FEW", 0)  # so that the saved line alone is kept as a picture
    window.document.save(tmp_path / "saved.blankwright")
    window.actions_by_name["saved_line"].setChecked(True)
    person.settle()
    kept = Still.paint

    def anew(still: Still, painter: QPainter, device_scale: float) -> None:
        for layer in still._layers:
            layer.paint(painter, device_scale)

    def same() -> None:
        assert any(not layer.is_empty for layer in window.canvas.sheet.drawing.versions.layers)
        first = _seen(person)
        monkeypatch.setattr(Still, "paint", anew)
        assert _apart(first, _seen(person)) <= 3
        monkeypatch.setattr(Still, "paint", kept)

    person.press(person.at(*person.vertex(BACK)))
    for to in ((52.0, 137.0), (47.0, 141.0)):
        person.move(person.at(*to))
        same()
    person.release(person.at(47.0, 141.0))
    same()
    window.canvas.sheet.zoom(2)
    person.settle()
    same()
    layer = next(x for x in window.canvas.sheet.drawing.versions.layers if not x.is_empty)
    layer.set_path(layer.path().translated(0.0, 5.0))
    same()
