"""No label covers another or leaves the paper, whatever the wheel holds."""

from dataclasses import replace

import numpy as np
import pytest

from app.project.project import Project
from app.project.wheel import RingBody, SingleNut, SizeCode, Wheel
from app.reports.audience import INTERNAL, Audience
from app.reports.callouts import Callout, Rail, Strip, place_labels, spread
from app.reports.content import ReportContent, build_content
from app.reports.drawing import Type, wrapped
from app.reports.flow import table_pages
from app.reports.page import MARGIN, PAPERS, Area, Identity, foot
from app.reports.sheet import SCALES, draw_sheet, lay_out
from app.studies.fit import measure_wheel
from geometry.shape.outline import Corner, NamedOutline, ShapeKind
from geometry.shape.rim import RimContour
from tests.support import example
from tests.support.recorder import Box, Recorder

LONG = "Track 18 with a remarkably long name that nobody would ever give to a wheel, second version of three"


def case(name: str) -> tuple[Project, Wheel]:
    project = example.project()
    wheel = project.wheels[0]
    if name == "tie rod in two positions":
        rod = project.shapes[1]
        lock = tuple(Corner(c.z, c.r + 2.4) for c in rod.outlines[0].corners)
        rod = replace(rod, outlines=(*rod.outlines, NamedOutline("full lock", lock)))
        project = replace(project, shapes=(project.shapes[0], rod))
        wheel = replace(wheel, clears=(example.CALIPER, example.TIE_ROD))
    elif name == "ring bodies and spacer":
        rings = (
            RingBody("weight band", -40.0, -20.0, 215.7, 220.2),
            RingBody("valve", 60.0, 72.0, 190.0, 204.0),
        )
        wheel = replace(wheel, rings=rings, spacer_mm=5.0)
    elif name == "nothing to hold against":
        wheel = replace(wheel, clears=(), rules=None, blank=None)
    elif name == "long names":
        shapes = tuple(replace(s, name=f"{s.name}, {LONG}") for s in project.shapes)
        project = replace(project, shapes=shapes, name=LONG, author=LONG)
        wheel = replace(wheel, name=LONG, clears=tuple(s.name for s in shapes), tyre=LONG)
    elif name == "single nut, outset":
        hub = [v.z < 10.0 and v.r < 80.0 for v in wheel.vertices]
        vertices = tuple(
            replace(v, radius=0.0) if near else replace(v, z=v.z + 60.0)
            for v, near in zip(wheel.vertices, hub, strict=True)
        )
        wheel = replace(
            wheel, inset_mm=-22.0, vertices=vertices, fixing=SingleNut(60.0, 80.0, 12.0, 6, 110.0, 12.0)
        )
        wheel = replace(wheel, spokes=None)
    elif name == "19 x 12":
        vertices = tuple(replace(v, r=v.r + 12.7) if v.r > 150.0 else v for v in wheel.vertices)
        vertices = tuple(replace(v, z=v.z - 50.5) if v.z < -100.0 else v for v in vertices)
        wheel = replace(
            wheel,
            size=SizeCode(19.0, 12.0),
            rim=RimContour(19.0, 12.0),
            vertices=vertices,
            spokes=None,
            inset_mm=63.0,
        )
    elif name == "crossing":
        crossed = replace(wheel.vertices[5], r=230.0)
        wheel = replace(wheel, vertices=(*wheel.vertices[:5], crossed, *wheel.vertices[6:]))
    elif name == "many shapes":
        shapes = tuple(replace(project.shapes[1], name=f"hose {k}", kind=ShapeKind.HOSE) for k in range(30))
        project = replace(project, shapes=(project.shapes[0], *shapes))
        wheel = replace(wheel, clears=tuple(s.name for s in project.shapes))
    return replace(project, wheels=(wheel,)), wheel


CASES = (
    "as it is",
    "tie rod in two positions",
    "ring bodies and spacer",
    "nothing to hold against",
    "long names",
    "single nut, outset",
    "19 x 12",
    "crossing",
    "many shapes",
)


def content_of(name: str, paper: str, unit: str, audience: Audience = INTERNAL) -> ReportContent:
    project, wheel = case(name)
    project = replace(project, paper=paper, display_unit=unit)
    return build_content(project, wheel, measure_wheel(project, wheel), None, audience)


def recorded(content: ReportContent) -> list[Recorder]:
    """Return each page as drawn."""
    draws = [lambda canvas: draw_sheet(canvas, content), *table_pages(Recorder(), content)]
    pages = []
    for number, draw in enumerate(draws, start=1):
        page = Recorder()
        draw(page)
        foot(page, content, Identity("0" * 64, "0.1.0"), number, len(draws))
        pages.append(page)
    return pages


def overlaps(boxes: list[Box]) -> list[tuple[int, int]]:
    """Return the pairs of boxes that share more than 0.05 mm in both directions."""
    left, bottom, right, top = np.array(boxes).T
    # Box i of a row ends before box j of a column begins, beside or below it.
    apart = (right[:, None] <= left + 0.05) | (top[:, None] <= bottom + 0.05)
    return [(i, j) for i, j in np.argwhere(~(apart | apart.T)).tolist() if i < j]


@pytest.mark.parametrize(
    "audience", [INTERNAL, Audience("Orion Team with " + LONG)], ids=["house", "customer"]
)
@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", CASES)
def test_texts_stay_apart_and_on_the_paper(name: str, paper: str, unit: str, audience: Audience) -> None:
    content = content_of(name, paper, unit, audience)
    width, height = PAPERS[paper]
    for number, page in enumerate(recorded(content), start=1):
        assert len(page.texts) > 5
        for (left, bottom, right, top), words in page.texts:
            inside = left >= MARGIN - 0.05 and right <= width - MARGIN + 0.05
            inside = inside and bottom >= MARGIN - 1.0 and top <= height - MARGIN + 0.05
            assert inside, f"page {number}: {words!r} leaves the margins"
        covered = overlaps([box for box, _ in page.texts])
        told = [f"{page.texts[i][1]!r} covers {page.texts[j][1]!r}" for i, j in covered]
        assert not covered, f"page {number}: {told}"


@pytest.mark.parametrize("name", CASES)
def test_the_cases_are_what_they_say(name: str) -> None:
    assert (content_of(name, "A4", "mm").figure.outline is None) == (name == "crossing")


def test_the_recorder_would_see_an_overlap() -> None:
    page = Recorder()
    page.text((10.0, 10.0), "one", Type())
    page.text((12.0, 10.5), "two", Type())
    page.text((10.0, 20.0), "above", Type())
    page.text((60.0, 10.0), "beside", Type())
    (a, _), (b, _), *_ = page.texts
    assert a[2] > b[0]
    assert a[3] > b[1]
    assert overlaps([box for box, _ in page.texts]) == [(0, 1)]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["as it is", "19 x 12"])
def test_the_largest_scale_that_fits_is_chosen(name: str, paper: str) -> None:
    content = content_of(name, paper, "mm")
    page = Recorder()
    draw_sheet(page, content)
    stated = next(words for _, words in page.texts if "scale 1 : " in words)
    scale = float(stated.rpartition(": ")[2])
    assert scale in SCALES
    z_low, z_high, _, r_high = content.figure.bounds
    layout = lay_out(content.figure, Area(0.0, 0.0, 1e6, 1e6))
    assert layout.frame.scale == SCALES[0], "without a limit it is drawn full size"
    # Between the rails of an A4 sheet a drawing has 147 x 129 mm, on Letter 129 x 135 mm.
    room = {"A4": (147.0, 129.0), "Letter": (129.4, 134.9)}[paper]
    assert (z_high - z_low) / scale <= room[0] + 2.0
    assert r_high / scale <= room[1] + 2.0
    larger = SCALES[SCALES.index(scale) - 1]
    assert (z_high - z_low) / larger > room[0] - 2.0 or r_high / larger > room[1] - 2.0


def test_spread_moves_as_little_as_it_can() -> None:
    # Three labels of height 2 with gaps of 1 that all want 10: 7, 10, 13 by symmetry.
    assert spread([10.0, 10.0, 10.0], [2.0, 2.0, 2.0], 0.0, 20.0, 1.0) == pytest.approx([7.0, 10.0, 13.0])
    # Far apart they stay where they are; at the end of the rail they are pushed back into it.
    assert spread([3.0, 12.0], [2.0, 2.0], 0.0, 20.0, 1.0) == pytest.approx([3.0, 12.0])
    assert spread([19.5, 19.8], [2.0, 2.0], 0.0, 20.0, 1.0) == pytest.approx([16.0, 19.0])
    assert spread([1.0, 2.0], [6.0, 6.0], 0.0, 12.0, 1.0) is None
    assert spread([], [], 0.0, 1.0, 1.0) == []


def test_a_full_rail_leaves_out_the_lightest() -> None:
    strip = Strip(Rail.LEFT, 0.0, 20.0, 50.0, 45.0, 30.0)
    callouts = [Callout((60.0, 2.0 * k), Rail.LEFT, "name", "1.00", weight=k) for k in range(6)]
    placed, left_out = place_labels(Recorder(), callouts, strip)
    # A label is 2.2 + 0.9 + 2.8 = 5.9 high; with 1.4 between them two fit into 20.
    assert len(placed) == 2
    assert [c.weight for c in left_out] == [0, 1, 2, 3]


def test_words_are_wrapped_and_long_ones_broken() -> None:
    page, style = Recorder(), Type(2.5)
    whole = [wrapped(page, f"the moment is {10**k}\u00a0N\u00a0m, no more", style, 20.0) for k in range(8)]
    assert all(any(f"{10**k} N m" in line for line in lines) for k, lines in enumerate(whole))
    lines = wrapped(page, "hub pad and " + "x" * 60, style, 20.0)
    assert all(page.text_width(words, style) <= 20.0 for words in lines)
    assert "".join(lines).replace(" ", "") == "hubpadand" + "x" * 60
    (short,) = wrapped(page, "hub pad and bore of the wheel", style, 20.0, 1)
    assert short.endswith("…")
    assert page.text_width(short, style) <= 20.0
