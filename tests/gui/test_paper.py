"""A customer's copy and the paper gauge from the File menu, and who owns a shape."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pdfplumber
import pypdf
import pytest
from PySide6.QtWidgets import QFileDialog

from app.project.project import Fitment
from app.reports.audience import INTERNAL, Audience
from app.reports.gauge import GaugeOf
from app.window.dialogs.paper import CustomerReportDialog, PaperGaugeDialog
from app.window.dialogs.source_card import SourceCardDialog
from tests.gui.conftest import Person
from tests.support import example

MM = 72.0 / 25.4


@pytest.fixture
def choose_file(monkeypatch: pytest.MonkeyPatch) -> Callable[[Path], None]:
    """Choose a file in the next file dialogs."""

    def choose(path: Path) -> None:
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: (str(path), ""))

    return choose


def text_of(path: Path) -> str:
    return " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages)


def written(person: Person, path: Path) -> str:
    person.qtbot.waitUntil(lambda: path.name in person.status and "Wrote" in person.status, timeout=30_000)
    return text_of(path)


def test_a_customers_copy_is_written_for_who_was_named(
    person: Person, tmp_path: Path, choose_file: Callable[[Path], None]
) -> None:
    choose_file(tmp_path / "c.pdf")
    person.do("customer_report")
    dialog = person.window.findChild(CustomerReportDialog)
    assert dialog is not None
    dialog.customer.put("Orion Team")
    dialog.accept()
    text = written(person, tmp_path / "c.pdf")
    assert "Section report for Orion Team" in text
    assert example.BLANK not in text.replace("sha256", "")
    assert "not for release" in person.status  # the example's wheel names no conditions


def test_the_gauge_is_corrected_by_what_was_measured(
    person: Person, tmp_path: Path, choose_file: Callable[[Path], None]
) -> None:
    choose_file(tmp_path / "g.pdf")
    person.do("paper_gauge")
    dialog = person.window.findChild(PaperGaugeDialog)
    assert dialog is not None
    dialog.of.choose(GaugeOf.WHEEL)
    dialog.level.put(97.2)
    dialog.accept()
    assert "inside of wheel" in written(person, tmp_path / "g.pdf")
    with pdfplumber.open(tmp_path / "g.pdf") as document:
        for page in document.pages:
            along = [(e["x1"] - e["x0"]) / MM for e in page.lines if abs(e["top"] - e["bottom"]) < 1e-6]
            assert min(abs(x - 100.0 * 100.0 / 97.2) for x in along) < 0.01


def test_a_bar_that_is_none_keeps_the_dialog(person: Person) -> None:
    project = example.project()
    dialog = PaperGaugeDialog(project, project.wheels[0], person.window)
    dialog.open()
    dialog.upright.line.setText("3.94")
    dialog.upright.line.textEdited.emit("3.94")
    dialog.accept()
    assert dialog.isVisible()
    dialog.reject()


def test_whom_a_gauge_is_for(person: Person) -> None:
    project = example.project()
    wheel = project.wheels[0]
    project = replace(project, fitments=(Fitment("one", customer="Orion Team", wheel=wheel.name),))
    dialog = PaperGaugeDialog(project, wheel, person.window)
    assert dialog.audience() == INTERNAL
    dialog.outside.editor.click()  # type: ignore[attr-defined]
    assert dialog.audience() == Audience("Orion Team")
    assert CustomerReportDialog(project, wheel, person.window).audience() == Audience("Orion Team")


def test_a_shapes_owner_is_named_on_its_card(person: Person) -> None:
    project = example.project()
    dialog = SourceCardDialog(project, example.CALIPER, person.window)
    dialog.owner.put("Orion Team")
    made, _ = dialog.made()
    assert made.shapes[0].owner == "Orion Team"
    assert made.shapes[1].owner == ""
