"""Pictures of outlines: paths, hatches, offsets, colours, ruler marks."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath
from shapely.geometry import Polygon

from app.views.canvas.band import COLOURS, ramp
from app.views.canvas.content import Words
from app.views.canvas.grid import ticks
from app.views.canvas.items import grown, painter_path
from app.views.canvas.placing import place_box
from geometry.shape.boxes import shared
from geometry.shape.curve import Array, Path
from geometry.shape.hatch import hatch
from tests.gui.conftest import Person

#: A disc of radius 20 about (0, 90), as two half circles.
DISC = Path.closed([(20.0, 90.0, 1.0), (-20.0, 90.0, 1.0)])
#: An L of 30 x 30 with legs 10 wide.
ELL = Path.closed([(0, 50), (30, 50), (30, 60), (10, 60), (10, 80), (0, 80)])


def polygon(path: QPainterPath) -> Array:
    """Vertices of a path of straight lines."""
    return np.array([(path.elementAt(i).x, path.elementAt(i).y) for i in range(path.elementCount())])


def test_an_arc_is_drawn_where_it_lies() -> None:
    picture = painter_path(DISC)
    for degrees in range(0, 360, 15):
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        assert picture.contains(QPointF(19.98 * c, 90.0 + 19.98 * s))
        assert not picture.contains(QPointF(20.02 * c, 90.0 + 20.02 * s))


def test_hatch_lines_lie_in_the_area_at_45_degrees_and_even_steps() -> None:
    points = ELL.flattened(0.1)
    lines = hatch(points, 3.0)
    d = lines[:, 1] - lines[:, 0]
    assert np.allclose(d[:, 0], d[:, 1])
    area = Polygon(points).buffer(1e-9)
    assert all(area.contains(shapely.LineString(line)) for line in lines)
    across = (lines[:, 0, 0] - lines[:, 0, 1]) / math.sqrt(2.0)
    assert np.allclose(across / 3.0, np.round(across / 3.0))
    # Length of all lines times their spacing is about the area: 30 x 10 + 20 x 10.
    assert np.hypot(*d.T).sum() * 3.0 == pytest.approx(500.0, rel=0.03)
    falling = hatch(points, 3.0, rising=False)
    e = falling[:, 1] - falling[:, 0]
    assert np.allclose(e[:, 0], -e[:, 1])


def test_a_grown_square_is_rounded_at_its_corners() -> None:
    square = Path.closed([(0, 50), (20, 50), (20, 70), (0, 70)])
    points = polygon(grown([square], 3.0))
    # Steiner's formula: area + perimeter x d + pi d2.
    assert Polygon(points).area == pytest.approx(400 + 80 * 3 + math.pi * 9, rel=1e-4)
    assert np.hypot(points[:, 0] - 20.0, points[:, 1] - 70.0).min() == pytest.approx(3.0, abs=0.02)


def test_a_shrunk_blank_keeps_its_edge_on_the_axle_line() -> None:
    blank = Path.closed([(-20, 0), (20, 0), (20, 50), (-20, 50)])
    points = polygon(grown([blank], -2.0))
    assert points[:, 1].min() == 0.0
    assert points[:, 1].max() == pytest.approx(48.0)
    assert np.abs(points[:, 0]).max() == pytest.approx(18.0)


def test_positions_of_one_shape_grow_together() -> None:
    one, other = (
        Path.closed([(0, 50), (10, 50), (10, 60), (0, 60)]),
        Path.closed([(5, 50), (15, 50), (15, 60), (5, 60)]),
    )
    assert Polygon(polygon(grown([one, other], 1.0))).area == pytest.approx(15 * 10 + 50 + math.pi, rel=1e-3)


@pytest.mark.parametrize("dark", [False, True])
def test_the_band_runs_in_even_steps_of_lightness(dark: bool) -> None:
    # CIE 15:2004: L* = 116 (Y / Yn)^(1/3) - 16; Y of sRGB by IEC 61966-2-1.
    c = ramp(COLOURS, dark) / 255.0
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    lightness = 116.0 * np.cbrt(linear @ (0.2126, 0.7152, 0.0722)) - 16.0
    steps = np.diff(lightness)
    assert np.all(steps > 0) if not dark else np.all(steps < 0)
    assert np.abs(steps).max() < 2.0 * np.abs(steps).min()
    # Thin stands out from the paper: dark on light, light on dark.
    assert (lightness[0] < 40.0) if not dark else (lightness[0] > 85.0)


def test_ruler_marks_are_round_numbers_at_least_60_pixels_apart() -> None:
    for scale in (0.01, 0.07, 0.3, 1.1):
        places = [place for place, _ in ticks(-100.0, 100.0, scale, "mm")]
        assert np.diff(places).min() >= 60.0 * scale - 1e-9
    assert ticks(-11.0, 26.0, 0.2, "mm") == [(0.0, "0"), (20.0, "20")]
    assert ticks(-30.0, 30.0, 0.2, "in") == [
        (-25.4, "−1.0"),
        (-12.7, "−0.5"),
        (0.0, "0"),
        (12.7, "0.5"),
        (25.4, "1.0"),
    ]


ROOM = (0.0, 0.0, 800.0, 600.0)
NOTHING = np.empty((0, 4))


def test_a_callout_stands_where_it_is_wanted_when_nothing_is_there() -> None:
    box, _ = place_box((400.0, 300.0), (100.0, 40.0), (1.0, 0.0), ROOM, NOTHING)
    assert box == pytest.approx((430.0, 280.0, 530.0, 320.0))  # 30 pixels to the right


def test_a_callout_gives_way_to_words_and_to_the_frame() -> None:
    box, _ = place_box(
        (400.0, 300.0), (100.0, 40.0), (1.0, 0.0), ROOM, np.array([(420.0, 200.0, 700.0, 400.0)])
    )
    assert box[2] <= 420.0 or box[3] <= 200.0 or box[1] >= 400.0
    box, _ = place_box((790.0, 300.0), (100.0, 40.0), (1.0, 0.0), ROOM, NOTHING)
    assert box[2] <= 800.0


def test_a_callout_hides_no_handle_though_words_stand_elsewhere() -> None:
    """Words fill all but the place with a handle in it; the words are hidden, the handle is not."""
    handle = np.array([(470.0, 295.0, 479.0, 304.0)])
    words = np.array([(0.0, 0.0, 800.0, 270.0), (0.0, 330.0, 800.0, 600.0), (0.0, 0.0, 425.0, 600.0)])
    free, _ = place_box((400.0, 300.0), (100.0, 40.0), (1.0, 0.0), ROOM, words)
    assert free[0] < 470.0 < free[2]
    box, _ = place_box((400.0, 300.0), (100.0, 40.0), (1.0, 0.0), ROOM, words, None, handle)
    assert not shared(np.array([box]), handle).any()


def test_words_of_two_shapes_do_not_stand_on_each_other(person: Person) -> None:
    """Two marks at one place are painted on two lines."""
    sheet = person.window.canvas.sheet
    sheet.overlay.content.still = Words((0.0, 150.0), "one shape"), Words((0.0, 150.0), "another shape")
    sheet.overlay.content.moving = []
    sheet.viewport().grab()
    one, other = (QRectF(QPointF(*box[:2]), QPointF(*box[2:])) for box in sheet.overlay.taken[-2:])
    assert not one.intersects(other)


def test_names_of_ten_versions_that_differ_at_one_place_stand_apart(person: Person) -> None:
    overlay = person.window.canvas.sheet.overlay
    overlay.content.still = tuple(Words((0.0, 150.0), f"Version {k}") for k in range(10))
    overlay.content.moving = []
    person.window.canvas.sheet.viewport().grab()
    boxes = np.array(overlay.taken[-10:])
    for k in range(10):
        assert not shared(boxes[k : k + 1], np.delete(boxes, k, axis=0)).any()


def test_the_word_of_a_snap_hides_no_words_of_a_fault(person: Person) -> None:
    overlay = person.window.canvas.sheet.overlay
    at = person.window.canvas.sheet.to_pixels(0.0, 150.0)
    alone = overlay._clear(at.x(), at.y(), "middle of edge 3")
    overlay.content.still = ()
    overlay.content.moving = [Words((0.0, 150.0), "outline folds back\nz 0.00, r 150.00", align=1)]
    person.window.canvas.sheet.viewport().grab()
    words = np.array(overlay.taken)
    assert shared(np.array([alone]), words).any()
    clear = overlay._clear(at.x(), at.y(), "middle of edge 3")
    assert not shared(np.array([clear]), words).any()
    assert clear[0] == alone[0]


def test_visible_blanks_are_named(person: Person) -> None:
    marks = person.window.canvas.sheet.overlay.content.marks
    named = [m.text for m in marks if isinstance(m, Words) and m.text.startswith("blank ")]
    assert named == [f"blank {b.name}" for b in person.project.blanks if b.visible]
    assert named


def test_a_callout_stays_where_it_stood_unless_another_place_is_clearly_better() -> None:
    _, before = place_box((400.0, 300.0), (100.0, 40.0), (1.0, 0.0), ROOM, NOTHING)
    _, after = place_box(
        (400.0, 300.0), (100.0, 40.0), (0.7, 0.7), ROOM, np.array([(440.0, 280.0, 450.0, 290.0)]), before
    )
    assert after == before
    _, moved = place_box(
        (400.0, 300.0), (100.0, 40.0), (1.0, 0.0), ROOM, np.array([(420.0, 200.0, 700.0, 400.0)]), before
    )
    assert moved != before
