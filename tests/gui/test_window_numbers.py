"""One number in every place: window, command, paper and drawing agree after a drag with the mouse."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pdfplumber
import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QApplication, QFileDialog

from app.files.readers.read import read_outline
from app.reports.outputs import export_section, write_report
from app.window.dialogs.form import ProjectDialog
from geometry.readings.gap import gaps
from geometry.shape.curve import Path as Curve
from geometry.shape.outline import outline_path
from tests.gui.conftest import Person

BACK = 40


@pytest.fixture
def dragged(person: Person) -> Person:
    """The example after its spoke back was dragged towards the caliper."""
    person.window.canvas.sheet.zoom_to((40.0, 130.0), 120.0)
    person.settle()
    person.release(person.drag(BACK, (48.7, 136.4)))
    assert person.steps == 1
    return person


def test_one_number_in_five_places(dragged: Person, tmp_path: Path) -> None:
    project, wheel = dragged.project, dragged.project.wheels[0]
    found = dragged.window.document.state.measurements
    assert found is not None
    exact = min(row.least_mm for row in found.gap if row.zone == "spoke back")
    number = f"{exact:.2f}"
    # Window: the table of readings.
    table = [line.split("\t") for line in dragged.window.readings.copied_text().splitlines()]
    assert number in [
        line[2] for line in table if "spoke back" in line[1].lower() and line[0].startswith("Gap")
    ]
    # Command.
    saved = tmp_path / "dragged.blankwright"
    dragged.window.document.save(saved)
    command = [sys.executable, "-m", "app.entry", "check", str(saved), "--json"]
    said = subprocess.run(command, capture_output=True, text=True, check=False)
    rows = json.loads(said.stdout)["wheels"][0]["gap"]
    assert [f"{row['least_mm']:.2f}" for row in rows if row["zone"] == "spoke back"] == [number]
    # Paper.
    paper = tmp_path / "dragged.pdf"
    write_report(project, wheel, paper)
    with pdfplumber.open(paper) as pdf:
        words = {word["text"] for page in pdf.pages for word in page.extract_words()}
    assert number in words
    # Drawing, read back: the same outline gives the same gap.
    drawing = tmp_path / "dragged.dxf"
    export_section(project, wheel, drawing)
    loops = read_outline(drawing, layers=("WHEEL",)).loops
    assert len(loops) == 1
    again = Curve.closed(loops[0])
    shape = outline_path(project.shapes[0].outlines[0].corners)
    assert isinstance(shape, Curve)
    built = dragged.window.document.state.outline
    assert built is not None
    assert len(again) == len(built.path)
    nearest = gaps(again, built.zone, built.skin, shape).findings
    assert f"{min(f.least_mm for f in nearest):.2f}" == f"{min(r.least_mm for r in found.gap):.2f}"


def test_a_dropped_drawing_asks_what_it_becomes(person: Person, tmp_path: Path) -> None:
    drawing = tmp_path / "wheel.dxf"
    export_section(person.project, person.project.wheels[0], drawing)
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(drawing))])
    plain = Qt.KeyboardModifier.NoModifier
    action, button = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
    person.window.dropEvent(QDropEvent(QPointF(300, 300), action, mime, button, plain))
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, ProjectDialog)
    assert person.steps == 0
    dialog.reject()
    assert person.steps == 0


def test_a_new_wheel_is_shown_at_once(person: Person) -> None:
    person.do("new_wheel")
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, ProjectDialog)
    dialog.accept()
    person.settle()
    assert len(person.project.wheels) == 2
    assert person.window.document.wheel_name == person.project.wheels[1].name
    assert person.steps == 1
    assert person.window.document.state.measurements is not None


def test_the_kind_of_export_follows_the_filter(
    dragged: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen = (str(tmp_path / "out"), "Table of z and r (*.csv)")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: chosen)
    dragged.do("export")
    dragged.qtbot.waitUntil(lambda: "out.csv" in dragged.status, timeout=20_000)
    assert (tmp_path / "out.csv").is_file()
    assert dragged.status == "Exported out.csv, mm, hub frame."
