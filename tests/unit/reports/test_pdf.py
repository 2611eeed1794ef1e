"""The report as it comes off the printer: true to scale, complete, the same every time."""

import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pdfplumber
import pypdf
import pytest

from app.project.caution import CAUTION
from app.project.demo import conditions
from app.project.project import Project
from app.project.wheel import Hub, Wheel
from app.reports.content import ReportContent, build_content
from app.reports.pdf import write_pdf
from app.studies.fit import Measured, measure_wheel
from geometry.readings.rules import State
from geometry.shape.outline import Answer
from tests.support import example
from tests.support.kept import forget_sums_of_pages

DIGEST = "0123456789abcdef" * 4
MM = 72.0 / 25.4
#: A hub of which everything is known: nothing is left open by it.
HUB = Hub(72.0, 148.0, 1.5, 71.9, 12.0, 1.0, 160.0, 60.0, 14.0)
#: ISO 216 A4 and ANSI A (8 1/2 x 11 in), the long side across.
SIZES = {"A4": (297.0, 210.0), "Letter": (11.0 * 25.4, 8.5 * 25.4)}


def project_of(paper: str = "A4", unit: str = "mm", **changes: Any) -> tuple[Project, Wheel]:
    project = replace(example.project(), paper=paper, display_unit=unit, author="A. Example")
    wheel = replace(project.wheels[0], **changes)
    return replace(project, wheels=(wheel,)), wheel


def content_of(project: Project, wheel: Wheel) -> ReportContent:
    return build_content(project, wheel, measure_wheel(project, wheel))


def report(paper: str = "A4", unit: str = "mm", **changes: Any) -> bytes:
    return write_pdf(content_of(*project_of(paper, unit, **changes)), input_sha256=DIGEST)


def pages(data: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data), strict=True).pages]


def squeezed(text: str) -> str:
    return "".join(text.split())


def crossing() -> tuple[Project, Wheel]:
    project, wheel = project_of()
    bad = replace(wheel.vertices[5], r=230.0)
    wheel = replace(wheel, vertices=(*wheel.vertices[:5], bad, *wheel.vertices[6:]))
    return replace(project, wheels=(wheel,)), wheel


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_paper_and_bars_are_true(paper: str, unit: str) -> None:
    with pdfplumber.open(io.BytesIO(report(paper, unit))) as document:
        for page in document.pages:
            assert (page.width / MM, page.height / MM) == pytest.approx(SIZES[paper], abs=0.01)
        lines = document.pages[0].lines
        level = [(e["x1"] - e["x0"]) / MM for e in lines if abs(e["top"] - e["bottom"]) < 1e-6]
        upright = [(e["bottom"] - e["top"]) / MM for e in lines if abs(e["x0"] - e["x1"]) < 1e-6]
    for lengths in (level, upright):
        assert min(abs(x - 100.0) for x in lengths) < 0.01
    assert "Print at 100 %, measure this bar: 100.00 mm" in pages(report(paper, unit))[0]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_section_is_to_the_stated_scale(paper: str) -> None:
    project, wheel = project_of(paper)
    content = content_of(project, wheel)
    data = write_pdf(content, input_sha256=DIGEST)
    scale = float(pages(data)[0].split("scale 1 : ")[1].split()[0])
    assert content.figure.outline is not None
    z_low, z_high, r_low, r_high = content.figure.outline.bounds
    wanted = ((z_high - z_low) / scale, (r_high - r_low) / scale)
    with pdfplumber.open(io.BytesIO(data)) as document:
        drawn = document.pages[0].curves
        sizes = [((e["x1"] - e["x0"]) / MM, (e["bottom"] - e["top"]) / MM) for e in drawn if e["fill"]]
    assert min(max(abs(w - a), abs(h - b)) for w, h in sizes for a, b in (wanted,)) < 0.01


def _fonts(data: bytes) -> Iterator[Any]:
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            yield font.get_object()


def test_fonts_are_embedded_and_there_is_nothing_but_lines_and_text() -> None:
    data = report()
    names = set()
    for font in _fonts(data):
        assert "/FontFile2" in font["/FontDescriptor"].get_object(), font["/BaseFont"]
        names.add(str(font["/BaseFont"]).partition("+")[2])
    assert names == {"DejaVuSans", "DejaVuSans-Bold"}
    reader = pypdf.PdfReader(io.BytesIO(data))
    for page in reader.pages:
        assert not page.images
        resources: Any = page["/Resources"]
        assert "/XObject" not in resources
        assert "/Annots" not in page
    outside_streams = re.sub(rb"stream\r?\n.*?endstream", b"", data, flags=re.DOTALL)
    assert b"/Catalog" in outside_streams
    for word in (b"/JavaScript", b"/JS", b"/OpenAction", b"/URI", b"/EmbeddedFile"):
        assert word not in outside_streams


def test_metadata_name_the_project_and_nothing_private() -> None:
    found = pypdf.PdfReader(io.BytesIO(report())).metadata
    assert found is not None
    assert found.title == "Section report: Track 18 (Example)"
    assert found.author == "A. Example"
    assert DIGEST in str(found.subject)
    # reportlab's fixed date of invariant files: no clock is read.
    assert {str(found[key])[2:10] for key in ("/CreationDate", "/ModDate")} == {"20000101"}
    dates = {"/CreationDate", "/ModDate"}
    assert set(found) - dates <= {
        "/Title",
        "/Author",
        "/Subject",
        "/Creator",
        "/Producer",
        "/Keywords",
        "/Trapped",
    }


def test_same_input_same_bytes() -> None:
    first = report()
    forget_sums_of_pages()  # what was kept of the first
    assert report() == first
    code = "import sys, runpy; sys.stdout.buffer.write(runpy.run_path(sys.argv[1])['report']())"
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": "Asia/Tokyo", "LC_ALL": "C"}
        again = subprocess.run(
            [sys.executable, "-c", code, __file__],
            cwd=Path(__file__).parents[3],
            env=environment,
            check=True,
            capture_output=True,
            timeout=120,
        )
        assert again.stdout == first
    assert report(inset_mm=38.5) != first


def test_every_number_of_the_content_is_printed() -> None:
    content = content_of(*project_of(clears=(example.CALIPER, example.TIE_ROD)))
    text = squeezed(" ".join(pages(write_pdf(content, input_sha256=DIGEST))))
    told = [cell for table in content.tables for row in table.rows for cell in row.cells]
    told += [note for table in content.tables for note in table.notes]
    told += [words for card in content.cards for pair in card.lines for words in pair]
    told += [words for pair in content.facts for words in pair]
    told += [words for _, words in content.worst] + list(content.questions)
    told += [callout.number for callout in content.figure.callouts if callout.number]
    told += [span.words for span in content.figure.spans]
    told += [content.judged, content.shapes_judged, content.hold_back, content.size, DIGEST]
    assert len(told) > 300
    missing = [words for words in told if squeezed(words) not in text]
    assert not missing


def test_numbers_are_those_of_the_measurement() -> None:
    project, wheel = project_of()
    measured = measure_wheel(project, wheel)
    found = measured.measurements
    assert found is not None
    text = squeezed(" ".join(pages(write_pdf(build_content(project, wheel, measured), input_sha256=DIGEST))))
    # Python's own formatting, two decimals for a drawing, beside the program's.
    for row in found.gap:
        cells = [
            row.least_mm,
            row.error_mm,
            row.included_mm,
            row.radial_mm,
            row.axial_mm,
            row.required_mm,
            row.worst_mm,
        ]
        numbers = "".join(f"{value:.2f}" for value in cells if value is not None)
        assert squeezed(f"{row.shape}{row.zone}{numbers}").replace("-0.00", "0.00") in text
    for wall in found.wall:
        assert squeezed(f"{wall.zone}{wall.least_mm:.2f}{wall.gauge_mm:.2f}") in text
    for stock in found.stock:
        assert squeezed(f"{stock.zone}{stock.side}{stock.least_mm:.2f}") in text
    assert f"{found.solid.mass_kg:.2f}kg" in text
    assert f"{found.solid.polar_kg_mm2 / 1e6:.4f}kgm²" in text


def test_the_caution_and_the_identity_stand_on_every_page() -> None:
    for data in (report(), write_pdf(content_of(*crossing()), input_sha256=DIGEST)):
        found = pages(data)
        assert len(found) >= 2
        for number, text in enumerate(found, start=1):
            assert squeezed(CAUTION) in squeezed(text)
            assert f"sha256 of the input {DIGEST}" in text
            assert "revision 3 of 2026-02-03" in text
            assert f"page {number} of {len(found)}" in text


def test_the_first_line_says_what_was_judged() -> None:
    first = pages(report())[0].strip().splitlines()
    assert "Brake only. Tyre to body and suspension not judged." in first[:2]
    assert f"Stay-out shapes judged: {example.CALIPER}" in first[:3]


def test_an_invalid_section_is_stamped_and_has_no_readings() -> None:
    content = content_of(*crossing())
    found = pages(write_pdf(content, input_sha256=DIGEST))
    assert content.hold_back
    for text in found:
        assert "NOT FOR RELEASE" in text
    assert squeezed(content.hold_back) in squeezed(found[0])
    for message in content.faults:
        assert squeezed(message) in squeezed(found[0])
    assert "? not known" in found[0]
    assert not content.worst
    assert not content.figure.spans
    assert content.figure.faults
    assert [c.number for c in content.figure.callouts] == [""] * len(content.figure.callouts)
    titles = [table.title for table in content.tables]
    assert titles == ["Rules: starting, road, revision 1 (starting values)"]


def test_a_wheel_that_may_go_out_is_not_stamped() -> None:
    road = conditions()[0]
    project, wheel = project_of(blank=None, hub=HUB, conditions=road.name)
    content = content_of(replace(project, conditions=(road,)), wheel)
    assert content.state in (State.TIGHT, State.CLEAR)
    assert content.hold_back == ""
    text = " ".join(pages(write_pdf(content, input_sha256=DIGEST)))
    assert "NOT FOR RELEASE" not in text


def test_an_open_question_holds_the_report_back() -> None:
    project, wheel = project_of(blank=None, hub=HUB)
    open_shape = project.shapes[0].with_card(unit=Answer())
    project = replace(project, shapes=(open_shape, project.shapes[1]))
    content = content_of(project, wheel)
    assert content.state is State.NOT_KNOWN
    assert content.hold_back.startswith("Not known: ")
    assert "Which unit is the outline in?" in content.hold_back
    assert "NOT FOR RELEASE" in pages(write_pdf(content, input_sha256=DIGEST))[0]


def test_a_part_that_is_missing_is_said() -> None:
    project, wheel = project_of(blank="nothing of that name")
    measured = measure_wheel(project, wheel)
    assert measured == Measured(None, measured.faults, None)
    text = squeezed(" ".join(pages(write_pdf(build_content(project, wheel, measured), input_sha256=DIGEST))))
    assert squeezed("The blank 'nothing of that name' is not in the project; choose another.") in text
    assert "NOTFORRELEASE" in text
