"""The profile strip: least values over z, the skin's own length, rules dashed, a click to the place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QGraphicsItem
from pytestqt.qtbot import QtBot

from app.session.shown import Shown
from app.studies.fit import measure_wheel
from app.views.strip import ProfileStrip
from app.views.strip_curves import SIDES, curve, nearest, required
from app.views.theme import Theme
from geometry.readings.profile import Profile
from geometry.readings.rules import GapRule, RuleSet, StockRule, WallRule
from geometry.shape.faults import Fault
from geometry.shape.outline import ShapeKind
from geometry.shape.section import ZONES, Side, Zone
from tests.gui.conftest import turn_wheel
from tests.support import example

NO_RULES = np.full(len(ZONES), np.nan)


def plain_profile(z: list[float], wall: list[float], side: Side = Side.BRAKE) -> Profile:
    """Return a profile of stations on one side with the wall given and no gap or stock."""
    n = len(z)
    places = np.array(z)
    along = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(places)))])
    nothing = np.full(n, np.nan)
    zone = np.full(n, ZONES.index(Zone.BARREL), dtype=np.intp)
    sides = np.full(n, SIDES.index(side), dtype=np.intp)
    piece = np.zeros(n, dtype=np.intp)
    radii = np.full(n, 200.0)
    return Profile(places, radii, along, sides, zone, piece, nothing, np.array(wall), nothing)


def shown() -> Shown:
    project = example.project()
    wheel = project.wheels[0]
    found = measure_wheel(project, wheel)
    return Shown(project, wheel, found.outline, found.faults, found.measurements)


@pytest.fixture
def strip(qtbot: QtBot) -> ProfileStrip:
    """A strip that shows the example wheel."""
    panel = ProfileStrip(Theme())
    qtbot.addWidget(panel)
    panel.resize(1000, 220)
    panel.show()
    panel.show_state(shown())
    return panel


# The curves


def test_each_column_shows_the_least_value_that_lies_over_it() -> None:
    """Skin that folds back over the same z: there and back, 6 mm of wall on the way and 3 on the return."""
    there, back = np.arange(0.25, 40.0, 2.0), np.arange(39.75, 0.0, -2.0)
    folded = plain_profile([*there, *back], [6.0] * len(there) + [3.0] * len(back))
    found = curve(folded, "wall", NO_RULES, Side.BRAKE, along=False)
    assert len(found.at_mm) == 40  # columns of 1 mm
    assert np.all(np.diff(found.at_mm) == 1.0)
    assert found.value_mm[1:-1] == pytest.approx(3.0)
    assert np.all(found.station[1:-1] >= len(there) - 1)


def test_nothing_is_lost_between_stations_and_nothing_invented_beyond() -> None:
    found = curve(plain_profile([0.5, 4.5, 8.5], [5.0, 4.0, np.nan]), "wall", NO_RULES, Side.BRAKE, False)
    assert found.value_mm[:2].tolist() == [5.0, 4.75]  # from 1 to 2 the wall falls by an eighth each half mm
    assert found.value_mm[4] == pytest.approx(4.0)
    assert np.isnan(found.value_mm[8])


def test_along_the_skin_every_station_stands_for_itself() -> None:
    found = curve(plain_profile([0.0, 4.0, 2.0], [5.0, 4.0, 3.0]), "wall", NO_RULES, Side.BRAKE, along=True)
    assert found.at_mm.tolist() == [0.0, 4.0, 6.0]
    assert found.value_mm.tolist() == [5.0, 4.0, 3.0]


def test_the_rule_of_the_zone_stands_beside_and_the_largest_of_several_gap_rules() -> None:
    rules = RuleSet(
        "r",
        gap=(GapRule(3.0, 0.5, 0.5, ShapeKind.CALIPER), GapRule(6.0, 3.0, 0.5)),
        wall=(WallRule(Zone.BARREL, 3.5, 0.2),),
        stock=(StockRule(2.0, 0.5),),
    )
    barrel, well = ZONES.index(Zone.BARREL), ZONES.index(Zone.WELL)
    assert required("gap", rules, {ShapeKind.CALIPER})[barrel] == 3.0
    assert required("gap", rules, {ShapeKind.CALIPER, ShapeKind.HOSE})[barrel] == 6.0
    assert np.isnan(required("gap", rules, ())[barrel])
    assert required("wall", rules, ())[barrel] == 3.5
    assert np.isnan(required("wall", rules, ())[well])
    assert required("stock", rules, ())[well] == 2.0
    needs = required("wall", rules, ())
    assert set(curve(plain_profile([0.0, 4.0], [5.0, 5.0]), "wall", needs, Side.BRAKE, True).required_mm) == {
        3.5
    }


def test_the_least_of_the_strip_is_never_below_the_reading_and_near_it() -> None:
    """The readings are exact least values; stations 4 mm apart must not lie below them, nor far above."""
    state = shown()
    assert state.measurements is not None
    stations = state.profile
    assert stations is not None
    least_stock = min(row.least_mm for row in state.measurements.stock)
    strip_stock = min(
        float(np.nanmin(curve(stations, "stock", NO_RULES, side, along=False).value_mm)) for side in SIDES
    )
    assert least_stock - 1e-9 <= strip_stock <= least_stock + 1.0


# The widget


def test_sides_quantities_and_the_axis_are_switched_by_keys(strip: ProfileStrip) -> None:
    assert list(strip.curves) == ["gap", "wall", "stock"]
    before = strip.curves["wall"]
    QTest.keyClick(strip.checks["gap"], Qt.Key.Key_Space)
    assert list(strip.curves) == ["wall", "stock"]
    QTest.mouseClick(strip.sides[Side.TYRE], Qt.MouseButton.LeftButton)
    assert not np.array_equal(strip.curves["wall"].station, before.station)
    strip.over_z.setFocus()
    QTest.keyClick(strip.over_z, Qt.Key.Key_Right)
    assert strip.along.isChecked()
    assert strip.plot.getPlotItem().getAxis("bottom").labelText == "along the skin, mm"


def test_a_click_on_the_curve_goes_to_its_place(strip: ProfileStrip, qtbot: QtBot) -> None:
    found = strip.curves["wall"]
    k = int(np.flatnonzero(np.isfinite(found.value_mm) & (found.value_mm < 10.0))[5])
    box = strip.plot.getPlotItem().vb
    scene = box.mapViewToScene(QPointF(float(found.at_mm[k]), float(found.value_mm[k])))
    spot = strip.plot.mapFromScene(scene)
    with qtbot.waitSignal(strip.place_clicked) as went:
        QTest.mouseClick(strip.plot.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(spot))
    assert went.args is not None
    z, r = went.args
    assert abs(z - found.at_mm[k]) < 3.0
    assert 30.0 < r < 260.0


def test_a_click_far_from_every_curve_goes_nowhere(strip: ProfileStrip, qtbot: QtBot) -> None:
    assert nearest(strip.curves, 5000.0, 0.0, 6.0) is None
    with qtbot.assertNotEmitted(strip.place_clicked):
        strip.click(5000.0, 3.0)


def test_with_faults_there_is_no_curve(strip: ProfileStrip) -> None:
    state = shown()
    fault = Fault("x", "The outline crosses itself.", (0.0, 200.0))
    strip.show_state(Shown(state.project, state.wheel, None, (fault,), None))
    assert strip.curves == {}
    assert strip.note.text() == "No curves while the outline has faults."
    strip.resize(360, 220)
    QApplication.processEvents()
    assert strip.note.width() >= strip.note.fontMetrics().horizontalAdvance(strip.note.text())
    assert strip.note.geometry().right() <= strip.plot.width()


def moved_back(dz: float, dragging: bool = False) -> Shown:
    """The example with one vertex of the spoke back moved along the axle."""
    state = shown()
    assert state.wheel is not None
    back = next(k for k, v in enumerate(state.wheel.vertices) if v.zone is Zone.SPOKE_BACK)
    vertices = list(state.wheel.vertices)
    vertices[back] = vertices[back].moved(dz=dz)
    wheel = replace(state.wheel, vertices=tuple(vertices))
    project = replace(state.project, wheels=(wheel, *state.project.wheels[1:]))
    found = measure_wheel(project, wheel)
    return Shown(project, wheel, found.outline, found.faults, found.measurements, dragging=dragging)


def test_the_range_follows_curves_below_zero(strip: ProfileStrip) -> None:
    """After a typed change every value below zero is in the range; a change back narrows it again."""
    before = strip.plot.getPlotItem().vb.viewRange()[1]
    strip.show_state(moved_back(-4.0))
    lowest = min(float(np.nanmin(c.value_mm)) for c in strip.curves.values())
    assert lowest < before[0]
    assert strip.plot.getPlotItem().vb.viewRange()[1][0] <= lowest
    strip.show_state(shown())
    assert strip.plot.getPlotItem().vb.viewRange()[1] == before


def test_no_line_is_drawn_through_a_name_and_minus_is_minus(strip: ProfileStrip) -> None:
    picture = strip.picture
    assert list(picture.labels) == ["gap", "wall", "stock"]
    x, y = picture.labels["wall"]
    name = strip.plot.mapFromScene(strip.plot.getPlotItem().vb.mapViewToScene(QPointF(x, y)))

    def inked(at: QPoint) -> int:
        image = strip.plot.viewport().grab().toImage()
        ink = strip._theme.colour("ink").rgb()
        box = [image.pixel(at.x() + dx, at.y() - dy) for dx in range(4, 30) for dy in range(3, 20)]
        return box.count(ink)

    before = inked(name)
    curve = strip.curves["wall"]
    ends, level = np.array([x - 99.0, x + 99.0]), np.array([y + 0.6, y + 0.6])
    across = replace(curve, at_mm=ends, value_mm=level, required_mm=np.array([np.nan, np.nan]))
    picture.set_curves({"wall": across}, 1.0, {})
    assert inked(name) > before + 20
    picture.labels["wall"] = x, y
    assert inked(name) <= before
    assert strip.plot.getPlotItem().getAxis("bottom").tickStrings([-100.0], 1.0, 100.0) == ["−100"]


def test_a_drag_keeps_the_view(strip: ProfileStrip) -> None:
    """Nothing moves that the person did not move."""
    view = strip.plot.getPlotItem().vb.viewRange()
    before = strip.curves["wall"].value_mm
    strip.show_state(moved_back(-3.0, dragging=True))
    assert strip.plot.getPlotItem().vb.viewRange() == view
    assert not np.array_equal(strip.curves["wall"].value_mm, before, equal_nan=True)


def test_another_blank_or_rule_shows_at_once(strip: ProfileStrip) -> None:
    state = shown()
    assert state.wheel is not None
    bare = replace(state.project, wheels=(replace(state.wheel, blank=None, rules=None),))
    found = measure_wheel(bare, bare.wheels[0])
    strip.show_state(Shown(bare, bare.wheels[0], found.outline, found.faults, found.measurements))
    assert not np.isfinite(strip.curves["stock"].value_mm).any()
    assert not np.isfinite(strip.curves["wall"].required_mm).any()
    assert strip.note.text() == "no stock"


def test_inches_change_the_scale(strip: ProfileStrip) -> None:
    state = shown()
    line = strip.picture.lines["wall"]
    in_mm = line.runs[0].boundingRect()
    strip.show_state(replace(state, project=replace(state.project, display_unit="in")))
    in_inch = line.runs[0].boundingRect()
    assert in_inch.left() == pytest.approx(in_mm.left() / 25.4)
    assert in_inch.height() == pytest.approx(in_mm.height() / 25.4)
    assert strip.plot.getPlotItem().getAxis("bottom").labelText == "z, in"


# Numbers of the axes


def axes_of(strip: ProfileStrip) -> tuple[QImage, QImage]:
    """The strip as its window shows it, and as it is when nothing of the axes is kept from before."""
    settle()
    seen = QImage(strip.plot.grab().toImage())
    axes = [strip.plot.getPlotItem().getAxis(side) for side in ("left", "bottom")]
    for axis in axes:
        axis.setCacheMode(QGraphicsItem.CacheMode.NoCache)
    strip.plot.viewport().update()
    settle()
    anew = QImage(strip.plot.grab().toImage())
    for axis in axes:
        axis.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
    return seen, anew


def settle() -> None:
    for _ in range(5):
        QApplication.processEvents()


def test_numbers_of_the_axes_follow_a_zoom_by_the_wheel_and_a_drag(strip: ProfileStrip) -> None:
    settle()
    first = QImage(strip.plot.grab().toImage())
    viewport = strip.plot.viewport()
    for _ in range(4):
        turn_wheel(viewport, QPointF(500.0, 80.0))
        settle()
    seen, anew = axes_of(strip)
    assert seen != first
    assert seen == anew
    QTest.mousePress(viewport, Qt.MouseButton.LeftButton, pos=QPoint(500, 80))
    for x in (520, 560, 620):
        QTest.mouseMove(viewport, QPoint(x, 80))
        settle()
    QTest.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=QPoint(620, 80))
    dragged, anew = axes_of(strip)
    assert dragged != seen
    assert dragged == anew


def test_numbers_of_the_axes_follow_the_unit_and_the_way_along(strip: ProfileStrip) -> None:
    settle()
    state = shown()
    strip.show_state(replace(state, project=replace(state.project, display_unit="in")))
    seen, anew = axes_of(strip)
    assert seen == anew
    QTest.mouseClick(strip.along, Qt.MouseButton.LeftButton)
    along, anew = axes_of(strip)
    assert along != seen
    assert along == anew


def test_strokes_of_the_axes_follow_another_size(strip: ProfileStrip, qtbot: QtBot) -> None:
    """As wide as a new strip of that size shows them."""
    settle()
    strip.resize(720, 180)
    settle()
    other = ProfileStrip(Theme())
    qtbot.addWidget(other)
    other.resize(720, 180)
    other.show()
    other.show_state(shown())
    settle()
    above_name = QRect(0, 0, strip.plot.width(), strip.plot.height() - 14)  # which moves by less than a pixel
    assert strip.plot.grab(above_name).toImage() == other.plot.grab(above_name).toImage()
