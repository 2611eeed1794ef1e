"""The paper gauge: lengths as they stand in the PDF's own lines, tiles that match, nothing shrunk."""

import io
import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pdfplumber
import pypdf
import pytest

from app.project.caution import CAUTION
from app.project.project import Fitment, Project
from app.project.wheel import Wheel
from app.reports.audience import Audience
from app.reports.gauge import UNCORRECTED, Correction, Gauge, GaugeOf, Tiling, build_gauge, tiling
from app.reports.gauge_pages import write_gauge
from app.reports.outputs import gauge as gauge_pdf
from geometry.shape.outline import Corner, NamedOutline
from tests.support import example

MM = 72.0 / 25.4
DIGEST = "0123456789abcdef" * 4
#: The example's caliper runs from z -74 to 46 and from r 116 to 203, as its corners are written there.
CALIPER = (120.0, 87.0)
BAR_WORDS = "100.00 mm"


def project_of(paper: str = "A4", unit: str = "mm", **changes: Any) -> tuple[Project, Wheel]:
    project = replace(example.project(), paper=paper, display_unit=unit, author="A. Example")
    wheel = replace(project.wheels[0], **changes)
    return replace(project, wheels=(wheel,)), wheel


def made(
    of: GaugeOf = GaugeOf.BRAKE,
    by: Correction = UNCORRECTED,
    paper: str = "A4",
    unit: str = "mm",
    **changes: Any,
) -> tuple[Gauge, Tiling, bytes]:
    found = build_gauge(*project_of(paper, unit, **changes), of)
    plan = tiling(found, by)
    return found, plan, write_gauge(found, plan, input_sha256=DIGEST)


def lengths(page: Any) -> tuple[list[float], list[float]]:
    """Return the lengths of all level and all upright lines of a page, mm."""
    level = [(e["x1"] - e["x0"]) / MM for e in page.lines if abs(e["top"] - e["bottom"]) < 1e-6]
    upright = [(e["bottom"] - e["top"]) / MM for e in page.lines if abs(e["x0"] - e["x1"]) < 1e-6]
    return level, upright


def sizes(page: Any) -> list[tuple[float, float]]:
    """Return width and height of every filled outline of a page, mm."""
    filled = [e for e in (*page.curves, *page.rects) if e["fill"]]
    return [((e["x1"] - e["x0"]) / MM, (e["bottom"] - e["top"]) / MM) for e in filled]


def nearest(found: list[float], wanted: float) -> float:
    return min(abs(x - wanted) for x in found)


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("of", GaugeOf)
def test_both_bars_measure_100_mm_on_every_sheet(of: GaugeOf, paper: str, unit: str) -> None:
    _, plan, data = made(of, paper=paper, unit=unit)
    with pdfplumber.open(io.BytesIO(data)) as document:
        assert len(document.pages) == len(plan.tiles)
        for page in document.pages:
            for found in lengths(page):
                assert nearest(found, 100.0) < 0.01
            assert page.extract_text().count(BAR_WORDS) >= 2


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_brake_is_as_large_on_paper_as_it_is(paper: str) -> None:
    _, _, data = made(paper=paper)
    with pdfplumber.open(io.BytesIO(data)) as document:
        for page in document.pages:
            assert min(math.dist(size, CALIPER) for size in sizes(page)) < 0.01


def test_the_wheel_is_as_large_on_paper_as_it_is() -> None:
    # Written in the example: z -178 to 102, and r 36 (the bore) to the flange's top.
    found, _, data = made(GaugeOf.WHEEL)
    assert found.figure.outline is not None
    z_low, z_high, r_low, r_high = found.figure.outline.bounds
    assert r_low == pytest.approx(36.0, abs=1e-9)
    with pdfplumber.open(io.BytesIO(data)) as document:
        for page in document.pages:
            assert min(math.dist(s, (z_high - z_low, r_high - r_low)) for s in sizes(page)) < 0.01


@pytest.mark.parametrize(("level", "upright"), [(97.0, 100.0), (97.2, 99.8), (103.0, 101.5)])
def test_the_next_print_of_a_false_printer_measures_100_mm(level: float, upright: float) -> None:
    _, _, data = made(by=Correction.of_bars(level, upright))
    with pdfplumber.open(io.BytesIO(data)) as document:
        for page in document.pages:
            along, up = lengths(page)
            # What stands in the file, then what comes out of the printer of those bars.
            assert nearest(along, 100.0 * 100.0 / level) < 0.01
            assert nearest(up, 100.0 * 100.0 / upright) < 0.01
            printed = [(w * level / 100.0, h * upright / 100.0) for w, h in sizes(page)]
            assert min(math.dist(size, CALIPER) for size in printed) < 0.01
            text = squeezed(page.extract_text())
            assert (
                squeezed(f"Corrected for this printer: bars that measured {level:.2f} and {upright:.2f}")
                in text
            )


@pytest.mark.parametrize("bars", [(9.72, 100.0), (100.0, 3.94), (127.0, 100.0), (math.nan, 100.0)])
def test_a_bar_that_is_no_bar_of_100_mm_is_refused(bars: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="90 to 110"):
        Correction.of_bars(*bars)


@pytest.mark.parametrize("by", [UNCORRECTED, Correction.of_bars(97.2, 99.8)])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("of", GaugeOf)
def test_tiles_cover_the_gauge_and_overlap_by_10_mm(of: GaugeOf, paper: str, by: Correction) -> None:
    found, plan, _ = made(of, by, paper)
    z_low, z_high, r_low, r_high = found.bounds
    first, last = plan.tiles[0], plan.tiles[-1]
    assert (first.name, first.row, first.column) == ("A1", 0, 0)
    assert first.area.left <= z_low <= z_high <= last.area.right
    assert last.area.bottom <= r_low <= r_high <= first.area.top
    top = [t for t in plan.tiles if t.row == 0]
    side = [t for t in plan.tiles if t.column == 0]
    assert all(a.area.right - b.area.left == pytest.approx(10.0) for a, b in pairwise(top))
    assert all(b.area.top - a.area.bottom == pytest.approx(10.0) for a, b in pairwise(side))
    for tile in plan.tiles:
        # A window of the paper, seen at the printer's scale: nothing is shrunk.
        assert tile.area.width * by.x == pytest.approx(plan.window.width)
        assert tile.area.height * by.y == pytest.approx(plan.window.height)


def test_names_run_from_the_top_row_and_from_inboard() -> None:
    wide = _with_shape([(-400.0, 100.0), (300.0, 100.0), (300.0, 400.0), (-400.0, 400.0)])
    plan = tiling(build_gauge(*wide, GaugeOf.BRAKE), UNCORRECTED)
    assert plan.rows > 1
    assert plan.columns > 2
    assert [t.name for t in plan.tiles][: plan.columns + 1] == [
        *(f"A{k + 1}" for k in range(plan.columns)),
        "B1",
    ]
    assert plan.tiles[0].area.top > plan.tiles[plan.columns].area.top
    assert plan.tiles[0].area.left < plan.tiles[1].area.left


def _with_shape(places: list[tuple[float, float]]) -> tuple[Project, Wheel]:
    project, wheel = project_of()
    corners = tuple(Corner(z, r) for z, r in places)
    large = replace(project.shapes[0], outlines=(NamedOutline("as drawn", corners),))
    return replace(project, shapes=(large, *project.shapes[1:])), wheel


def test_what_is_larger_than_paper_is_tiled_and_never_shrunk() -> None:
    project, wheel = _with_shape([(-400.0, 100.0), (300.0, 100.0), (300.0, 400.0), (-400.0, 400.0)])
    found = build_gauge(project, wheel, GaugeOf.BRAKE)
    plan = tiling(found, UNCORRECTED)
    with pdfplumber.open(io.BytesIO(write_gauge(found, plan, input_sha256=DIGEST))) as document:
        assert len(document.pages) >= 6
        for page in document.pages:
            assert min(math.dist(size, (700.0, 300.0)) for size in sizes(page)) < 0.01


def test_a_wheel_of_18_inches_takes_several_sheets_of_a4() -> None:
    _, plan, data = made(GaugeOf.WHEEL)
    assert len(pypdf.PdfReader(io.BytesIO(data)).pages) == len(plan.tiles) > 1


def test_each_match_mark_stands_on_two_neighbours_at_one_place() -> None:
    _, plan, data = made(GaugeOf.WHEEL, Correction.of_bars(97.2, 99.8), "Letter")
    assert len(plan.marks) >= 2
    pages = []
    with pdfplumber.open(io.BytesIO(data)) as document:
        for page in document.pages:
            height = float(page.height)
            level = [e for e in page.lines if abs(e["top"] - e["bottom"]) < 1e-6]
            pages.append([((e["x0"] + e["x1"]) / 2.0 / MM, (height - e["top"]) / MM) for e in level])
    for z, r in plan.marks:
        shown = [
            (tile, middles)
            for tile, middles in zip(plan.tiles, pages, strict=True)
            if tile.area.left < z < tile.area.right and tile.area.bottom < r < tile.area.top
        ]
        assert len(shown) == 2
        (a, _), (b, _) = shown
        assert abs(a.row - b.row) + abs(a.column - b.column) == 1
        for tile, middles in shown:
            x = plan.window.left + (z - tile.area.left) * 100.0 / 97.2
            y = plan.window.bottom + (r - tile.area.bottom) * 100.0 / 99.8
            assert min(math.dist(m, (x, y)) for m in middles) < 0.01


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("of", GaugeOf)
def test_every_sheet_says_what_it_is_and_how_far_it_can_be_trusted(of: GaugeOf, unit: str) -> None:
    found, plan, data = made(of, paper="Letter", unit=unit)
    document = pypdf.PdfReader(io.BytesIO(data), strict=True)
    for tile, page in zip(plan.tiles, document.pages, strict=True):
        text = page.extract_text()
        for words in (
            CAUTION,
            found.names,
            "Hold against the mounting face; trust only if both bars measure 100.00 mm.",
            "not mirrored",
            f"sheet {tile.name}",
            "revision 3 of 2026-02-03",
            f"sha256 of the input {DIGEST}",
            "I measured (mm):",
        ):
            assert squeezed(words) in squeezed(text), words
    whole = squeezed(" ".join(page.extract_text() for page in document.pages))
    for words in ("axle line", "mounting face, z = 0", "outboard, street side"):
        assert squeezed(words) in whole


def test_a_spacer_stands_between_hub_and_mounting_face() -> None:
    found, _, data = made(spacer_mm=5.0)
    assert found.face_z == 5.0
    text = squeezed(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages))
    assert squeezed("face of the hub, z = 0") in text
    assert squeezed("With a spacer of 5.00 mm on the hub") in text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("of", GaugeOf)
def test_words_outside_the_tile_stay_on_the_paper(of: GaugeOf, paper: str) -> None:
    _, _, data = made(of, Correction.of_bars(90.0, 90.0), paper, clears=(example.CALIPER, example.TIE_ROD))
    with pdfplumber.open(io.BytesIO(data)) as document:
        for page in document.pages:
            box = [page.width, page.height]
            lines = page.extract_text_lines(return_chars=False)
            for words in lines:
                assert 5.0 * MM < words["x0"] < words["x1"] < box[0] - 5.0 * MM, words["text"]
                assert 5.0 * MM < words["top"] < words["bottom"] < box[1] - 5.0 * MM, words["text"]


def test_only_settled_outlines_are_not_stamped() -> None:
    found, _, data = made()
    assert found.hold_back == ""
    assert "NOT FOR RELEASE" not in pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
    open_one, _, data = made(clears=(example.CALIPER, example.TIE_ROD))
    assert open_one.hold_back.startswith(f"{example.TIE_ROD}: Which unit")
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        text = page.extract_text()
        assert "NOT FOR RELEASE" in text
        assert squeezed(open_one.hold_back) in squeezed(text)
    project, wheel = project_of()
    unchecked = project.shapes[0].with_card(datum_checked_by="")
    project = replace(project, shapes=(unchecked, *project.shapes[1:]))
    assert "Who checked the zero face" in build_gauge(project, wheel, GaugeOf.BRAKE).hold_back


def test_what_cannot_be_drawn_says_why() -> None:
    with pytest.raises(ValueError, match="no stay-out shape"):
        build_gauge(*project_of(clears=()), GaugeOf.BRAKE)
    with pytest.raises(ValueError, match="not in the project"):
        build_gauge(*project_of(clears=("nobody's",)), GaugeOf.BRAKE)
    project, wheel = project_of()
    bad = replace(wheel.vertices[5], r=230.0)
    crossing = replace(wheel, vertices=(*wheel.vertices[:5], bad, *wheel.vertices[6:]))
    with pytest.raises(ValueError, match="has no section to draw"):
        build_gauge(replace(project, wheels=(crossing,)), crossing, GaugeOf.WHEEL)
    inches = _with_shape([(-9000.0, 100.0), (9000.0, 100.0), (9000.0, 9000.0)])
    with pytest.raises(ValueError, match="is the unit right"):
        tiling(build_gauge(*inches, GaugeOf.BRAKE), UNCORRECTED)


def test_same_bytes_twice_fonts_embedded_and_printed_at_its_own_scale() -> None:
    first = made(GaugeOf.WHEEL)[2]
    assert made(GaugeOf.WHEEL)[2] == first
    reader = pypdf.PdfReader(io.BytesIO(first))
    root: Any = reader.trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    for page in reader.pages:
        resources: Any = page["/Resources"]
        assert not page.images
        for font in resources["/Font"].values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"].get_object()


def test_a_gauge_for_a_customer_leaves_out_what_others_own() -> None:
    project, wheel = project_of(clears=(example.CALIPER, example.TIE_ROD))
    rod = replace(project.shapes[1], owner="Zeta")
    enquiry = Fitment("Enquiry", customer="Orion")
    project = replace(project, shapes=(project.shapes[0], rod), fitments=(enquiry,))
    data, _ = gauge_pdf(project, wheel, GaugeOf.BRAKE, audience=Audience("Orion"))
    assert example.TIE_ROD not in pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
    data, _ = gauge_pdf(project, wheel, GaugeOf.BRAKE, audience=Audience("zeta "))
    assert example.TIE_ROD in pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
