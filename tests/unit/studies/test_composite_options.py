"""Corners, windows, headroom and stock by surface: each held against the editor's own readings."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from app.project import edits
from app.project.project import Project
from app.reports.blank_drawing import blank_drawing
from app.studies.composite import Composite, composite
from app.studies.forging_needs import ForgingSettings, NeedWindow, sampled_bodies
from app.studies.forging_stock import STOCK_SETS, Headroom, StockSet, Surface, stock_set
from app.studies.found_blank import as_forged
from app.studies.limits import cell
from app.studies.seating import seated, spare_mm
from geometry.errors import GeometryError
from geometry.forging.seats import CancelledError
from geometry.readings.rules import StockRule
from geometry.shape.curve import Path
from tests.support import example
from tests.unit.studies.test_composite import WHEEL, group, read, stock_left


def area(path: Path) -> BaseGeometry:
    """Return the full section: the half and its mirror image."""
    half = path.flattened(0.002)
    return shapely.union(shapely.Polygon(half), shapely.Polygon(half * (1.0, -1.0)))


@pytest.mark.parametrize("radius", [4.2, 4.5, 8.0])
def test_a_corner_radius_changes_neither_web_nor_loads_much(radius: float) -> None:
    """The corners lie on lip and ring: web, loads and mass stay near those of the stock's own corners."""
    project, settings = group(), ForgingSettings(stock_mm=4.0)
    plain, rounded = (composite(project, [WHEEL], replace(settings, corner_mm=c)) for c in (0.0, radius))
    assert rounded.forged.sizes.web_mm == pytest.approx(plain.forged.sizes.web_mm, abs=0.1)
    assert rounded.flow_mn == pytest.approx(plain.flow_mn, rel=0.03)
    assert rounded.parting_mm == pytest.approx(plain.parting_mm, abs=0.3)
    assert 0.0 < rounded.forged.mass_kg - plain.forged.mass_kg < 1.5
    # Lines and arcs that a person can edit.
    assert max(len(rounded.path), len(rounded.forged.path)) < 120


@pytest.mark.parametrize("radius", [6.0, pytest.param(13.0, marks=pytest.mark.long)])
def test_after_corner_radii_the_stock_holds_everywhere(radius: float) -> None:
    project, settings = group(), ForgingSettings(stock_mm=4.0, corner_mm=radius, missing_in_stock=True)
    found = composite(project, [WHEEL], settings)
    assert found.corner is not None
    # Its own seat, by the editor's own reading, as without corners.
    assert 4.0 - 1e-6 <= stock_left(project, found, settings)[WHEEL] <= 4.0 + 0.05
    assert as_forged(found, "found", settings).parting_mm == found.parting_mm[0]
    notes = " ".join(blank_drawing("made", found, settings).notes)
    assert f"convex corners R{radius:g} or more" in notes
    # The wheel's stretches and what is of no wheel lie on the outline and cover it off the axle.
    line = shapely.LinearRing(found.path.flattened(0.002))
    stretches = shapely.union_all([shapely.LineString(rows) for _, rows in found.stretches])
    assert {number for number, _ in found.stretches} == {-1, 0}
    assert line.buffer(0.02).covers(stretches)
    z0, z1, _, _ = found.path.bounds
    assert (
        shapely.box(z0 - 1.0, 0.05, z1 + 1.0, 900.0)
        .intersection(line)
        .difference(stretches.buffer(0.05))
        .length
        < 0.1
    )
    # The band: no blank is lighter than without radii.
    assert found.mass_kg > found.found.mass_kg
    # No convex corner is sharper: the disc reaches every place, but for the parting line.
    whole = area(found.path)
    opened = whole.buffer(-radius, quad_segs=64).buffer(radius, quad_segs=64)
    left = whole.difference(opened.buffer(0.05))
    parting = shapely.box(-400.0, found.found.blank.rim_mm - 2.0, 400.0, 400.0)
    assert (
        left.difference(parting).difference(shapely.affinity.scale(parting, yfact=-1.0, origin=(0, 0))).area
        < 0.5
    )


def test_the_search_of_corners_can_be_cancelled() -> None:
    """One wheel without windows: what is told after the seats is told by the search of corners."""
    told: list[tuple[int, int]] = []

    def stop(done: int, of: int) -> bool:
        told.append((done, of))
        return len(told) < 5

    with pytest.raises(CancelledError):
        composite(group(), [WHEEL], ForgingSettings(stock_mm=4.0, corner_mm=13.0), progress=stop)
    assert len(told) == 5


def test_where_the_stocks_own_radius_suffices_nothing_is_done() -> None:
    project = group()
    plain = composite(project, [WHEEL], ForgingSettings(stock_mm=4.0))
    small = composite(project, [WHEEL], ForgingSettings(stock_mm=4.0, corner_mm=3.9))
    assert small.corner is None
    assert small.mass_kg == plain.mass_kg


def in_blank(project: Project, found: Composite, settings: ForgingSettings) -> Project:
    blank = replace(as_forged(found, "found", settings), skin_mm=0.0)
    wheel = edits.find(project, edits.WHEEL, WHEEL)
    rules = replace(project.rule_sets[0], stock=())
    project = edits.add(replace(project, rule_sets=(rules,)), edits.BLANK, blank)
    return edits.replaced(project, edits.WHEEL, WHEEL, replace(wheel, blank="found", clears=()))


def least_stock(project: Project, inset: float) -> float:
    """Return the least stock of the drawn design at an inset, slid to where it sits best in its blank."""
    wheel = edits.find(project, edits.WHEEL, WHEEL)
    made = cell(project, wheel, wheel.size.width_code, inset, None)
    assert made.least_mm is not None
    return made.least_mm


def test_a_wheel_between_two_is_cut_only_where_a_window_asked_for_it() -> None:
    """Practice 13: points alone fit only the drawn wheels; the window fits all between."""
    project = group()
    points = ForgingSettings(stock_mm=2.5)
    window = replace(points, windows=(NeedWindow(WHEEL, 24.0, 44.0),))
    assert points.fits_drawn_alone
    assert not window.fits_drawn_alone
    without = in_blank(project, composite(project, [WHEEL], points), points)
    found = composite(project, [WHEEL], window)
    within = in_blank(project, found, window)
    assert least_stock(without, 26.0) < 2.0
    for inset in (24.0, 27.3, 31.0, 38.0, 41.7, 44.0):
        assert least_stock(within, inset) >= 2.5 - 1e-6, inset
    # What the window costs is what leaving it out saves.
    ((words, costs),) = found.windows
    alone = composite(project, [WHEEL], points)
    assert costs == pytest.approx(found.mass_kg - alone.mass_kg, abs=1e-6)
    assert words == f"{WHEEL}, inset 24 to 44"
    # Every stretch is of a drawn wheel, or of none.
    assert {number for number, _ in found.stretches} <= {-1, 0}


def test_a_window_of_widths_holds_the_narrower_wheel() -> None:
    project = group()
    settings = ForgingSettings(stock_mm=2.5, windows=(NeedWindow(WHEEL, 38.0, 38.0, 9.0, 10.5),))
    made = in_blank(project, composite(project, [WHEEL], settings), settings)
    wheel = edits.find(made, edits.WHEEL, WHEEL)
    for width in (9.0, 9.5, 10.5):
        found = cell(made, wheel, width, 38.0, None)
        assert found.least_mm is not None
        assert found.least_mm >= 2.5 - 1e-6


def test_each_cell_of_the_window_that_a_blank_was_made_for_is_cut_from_it() -> None:
    """The blank touches the rule on opposite sides: at no seat but one is the rule met."""
    project = group()
    settings = ForgingSettings(stock_mm=2.5, windows=(NeedWindow(WHEEL, 30.0, 40.0, 9.0, 10.0),))
    made = in_blank(project, composite(project, [WHEEL], settings), settings)
    asked = replace(made.rule_sets[0], stock=(StockRule(2.5, 0.5),))
    made = replace(made, rule_sets=(asked, *made.rule_sets[1:]))
    wheel = edits.find(made, edits.WHEEL, WHEEL)
    cells = [cell(made, wheel, width, inset, None) for width in (9.0, 10.0) for inset in (30.0, 35.0, 40.0)]
    assert {c.word for c in cells} <= {"tight", "cuttable"}
    assert {c.word for c in cells} >= {"tight"}
    # The thorough seat, which a datum is kept at in a blank that is not the wheel's own.
    assert spare_mm(seated(made, wheel).rows[0]) >= -1e-6


def test_every_width_code_of_a_wide_window_is_asked_for() -> None:
    """Codes come in halves (ETRTO, from memory): 8 to 12 are nine, more than its insets are sampled."""
    nine = NeedWindow(WHEEL, 38.0, 38.0, 8.0, 12.0)
    assert nine.widths == (8.0, 8.5, 9.0, 9.5, 10.0, 10.5, 11.0, 11.5, 12.0)
    window = replace(nine, width_low=9.0, width_high=11.0)
    bodies = sampled_bodies(group(), window, [WHEEL], ForgingSettings(stock_mm=2.5), 0.0, 2700.0)
    assert sorted(body.wheel.size.width_code for body in bodies) == [9.0, 9.5, 10.0, 10.5, 11.0]


def test_headroom_and_test_ring_add_what_they_say() -> None:
    project = group()
    plain = composite(project, [WHEEL], ForgingSettings(stock_mm=3.0))
    longer = composite(
        project, [WHEEL], ForgingSettings(stock_mm=3.0, headroom=Headroom(ring_mm=5.0), test_ring_mm=12.0)
    )
    assert longer.path.bounds[0] == pytest.approx(plain.path.bounds[0] - 17.0, abs=0.01)
    assert longer.path.bounds[1] == pytest.approx(plain.path.bounds[1], abs=0.01)
    names = [words for words, _ in longer.ladder]
    assert names.index("test ring") < names.index("headroom: ring height")
    out = composite(project, [WHEEL], ForgingSettings(stock_mm=3.0, headroom=Headroom(outside_mm=2.0)))
    assert out.path.bounds[3] == pytest.approx(plain.path.bounds[3] + 2.0, abs=0.05)


def test_headroom_has_its_price_for_each_direction() -> None:
    room = Headroom(ring_mm=5.0, bore_mm=2.0, face_mm=1.0, hub_mm=1.0, outside_mm=2.0)
    result = composite(group(), [WHEEL], ForgingSettings(stock_mm=3.0, headroom=room))
    masses = [rung.mass_kg for rung in result.rungs]
    words = [rung.words for rung in result.rungs]
    named = [w for w in words if w.startswith("headroom: ")]
    assert named[0] == "headroom: ring height"
    assert [w.removeprefix("headroom: ") for w in named[1:]] == ["outside", "ring bore", "disc faces", "hub"]
    k = words.index("headroom: outside")
    # Two millimetres more radius over the height of the ring, which draft makes no lower anywhere.
    z0, z1, _, r1 = result.path.bounds
    most = math.pi * (r1**2 - (r1 - 2.0) ** 2) * (z1 - z0) * 2.7e-6
    assert 0.8 * most < masses[k] - masses[k - 1] <= most
    assert masses[-2:] == pytest.approx([result.mass_kg, result.forged.mass_kg], abs=1e-9)


def test_stock_by_surface_is_kept_side_by_side() -> None:
    project = group()
    by_surface = StockSet("mine", (5.0, 3.0, 6.0, 2.0, 1.0), "")
    settings = ForgingSettings(stock=by_surface)
    made = in_blank(project, composite(project, [WHEEL], settings), settings)
    wheel = edits.find(made, edits.WHEEL, WHEEL)
    rows = {(row.zone, row.side): row.least_mm for row in read(made, wheel).stock}
    assert rows["outer seat", "tyre"] >= 5.0 - 0.01
    assert rows["barrel", "brake"] >= 3.0 - 0.01
    assert rows["spoke face", "street"] >= 2.0 - 0.01
    assert rows["bore", "brake"] >= 1.0 - 0.01
    # Something touches each of what decides: the blank is no larger than asked.
    assert min(rows["barrel", "brake"], rows["well", "brake"]) == pytest.approx(3.0, abs=0.02)
    assert min(rows["spoke face", "street"], rows["hub face", "street"]) == pytest.approx(2.0, abs=0.05)


def test_the_shipped_sets_are_those_of_the_page() -> None:
    """Practice 14: own die, measured 2.5 to 3; new die 4; bought, not measured 5; all from memory."""
    own, new, bought = (stock_set(s.name) for s in STOCK_SETS)
    assert all(2.5 <= mm <= 3.0 for mm in own.mm)
    assert set(new.mm) == {4.0}
    assert set(bought.mm) == {5.0}
    assert len(own.mm) == len(Surface)
    with pytest.raises(GeometryError, match="no set of stock 'none'"):
        stock_set("none")


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        (ForgingSettings(stock_mm=3.0, windows=(NeedWindow("nobody", 30.0, 40.0),)), "no wheel of the group"),
        (ForgingSettings(stock_mm=3.0, windows=(NeedWindow(WHEEL, 40.0, 30.0),)), "exchange them"),
        (
            ForgingSettings(stock_mm=3.0, windows=(NeedWindow(WHEEL, 30.0, 40.0, 10.0, 9.0),)),
            "widths .* down",
        ),
        (
            ForgingSettings(stock_mm=3.0, windows=(NeedWindow(WHEEL, 30.0, 40.0, 8.2, 9.0),)),
            "8.2 .* in halves",
        ),
        (ForgingSettings(stock_mm=3.0, windows=(NeedWindow(WHEEL, math.nan, 40.0),)), "give numbers"),
        (ForgingSettings(stock_mm=3.0, headroom=Headroom(ring_mm=-1.0)), "headroom 'ring' is -1"),
        (ForgingSettings(stock_mm=3.0, corner_mm=200.0), "corner radius is 200"),
        (ForgingSettings(stock_mm=3.0, test_ring_mm=-1.0), "test ring"),
    ],
)
def test_what_cannot_be_is_said(settings: ForgingSettings, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        composite(example.project(), [WHEEL], settings)
