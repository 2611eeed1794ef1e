"""Half outlines completed by their image: open ones, and those that a line closes."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon

from app.files.readers.answer import ReadError, ReadOutline
from tests.support.apart import apart, polygon
from tests.support.drawings import arc, circle, dxf, line, lines, polyline, read_dxf

Point = tuple[float, float]
BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))


class TestHalves:
    HALF = ((25.0, 100.0), (40.0, 100.0), (40.0, 130.0), (25.0, 130.0))

    def half(self, *more: str, **how: object) -> ReadOutline:
        return read_dxf(dxf(polyline(*self.HALF, closed=False), *more), mirror=True, **how)

    def test_an_upright_line(self) -> None:
        (loop,) = self.half().loops_mm()
        assert apart(loop, BOX) < 1e-9

    def test_ends_a_little_off_the_line_are_taken_as_on_it(self) -> None:
        rows = ((25.004, 100.0), (40.0, 100.0), (40.0, 130.0), (25.0, 130.0))
        (loop,) = read_dxf(dxf(polyline(*rows, closed=False)), mirror=True).loops_mm()
        assert apart(loop, BOX) < 0.01

    def test_arcs_keep_their_way(self) -> None:
        (loop,) = read_dxf(dxf(arc(25, 115, 15, 270, 90)), mirror=True).loops_mm()
        assert apart(loop, [(10, 115, 1.0), (40, 115, 1.0)]) < 1e-9

    def test_outlines_beside_the_line_get_their_image_and_those_across_it_do_not(self) -> None:
        found = self.half(circle(33, 110, 2), circle(25, 122, 3))
        assert sorted(found.loops_mm()[k][0][0] for k in range(4)) == pytest.approx([10, 17, 25, 35], abs=10)
        assert len(found.loops) == 4
        assert ", 1 closed outlines beside it too" in found.warnings[0]

    def test_what_crosses_its_own_line_is_not_completed(self) -> None:
        rows = ((25.0, 100.0), (40.0, 100.0), (10.0, 120.0), (25.0, 130.0))
        found = read_dxf(dxf(polyline(*rows, closed=False)), mirror=True)
        assert "what is open has no line of its own to be half of" in found.warnings[0]
        with pytest.raises(ReadError, match="the outline is open"):
            found.loops_mm()

    @pytest.mark.parametrize("end", [(10.0, 100.2), (10.0, 112.0), (9.5, 100.3)])
    def test_a_gap_is_no_half(self, end: tuple[float, float]) -> None:
        drawing = dxf(polyline(*BOX, end, closed=False))
        assert read_dxf(drawing, mirror=True).hindrance
        assert "--mirror" not in read_dxf(drawing).hindrance

    def test_what_is_asked_for_and_not_done_hinders(self) -> None:
        """A whole box: both its ends are straight, neither is the middle for certain."""
        found = read_dxf(dxf(lines(*BOX)), mirror=True)
        assert "a half was to be completed by its image, but no outline is open" in found.hindrance
        with pytest.raises(ReadError, match="read without --mirror"):
            found.loops_mm()


class TestHalvesClosedByALine:
    #: A body to z = 45 about z = 0, its outer corner rounded.
    ROWS = ((0.0, 99.4), (30.0, 99.4), (45.0, 120.0), (45.0, 180.0, 0.4), (33.0, 191.7), (0.0, 191.7))
    WHOLE = (*ROWS[1:5], (-33.0, 191.7, 0.4), (-45.0, 180.0), (-45.0, 120.0), (-30.0, 99.4))

    def test_on_zero_the_line_is_left_out_and_the_rest_mirrored(self) -> None:
        found = read_dxf(dxf(polyline(*self.ROWS)), mirror=True)
        (loop,) = found.loops_mm()
        assert apart(loop, self.WHOLE) < 1e-9
        assert Polygon(polygon(loop)).area == pytest.approx(2.0 * Polygon(polygon(self.ROWS)).area)
        assert "completed by its image in the line from z 0.000, r 99.400" in found.warnings[0]

    def test_drawn_on_the_other_side_in_loose_lines_in_two_parts(self) -> None:
        rows = [(-row[0], row[1], *(-b for b in row[2:])) for row in self.ROWS]
        halved = polyline(*rows, closed=False) + line(0, 191.7, 0, 140) + line(0, 140, 0, 99.4)
        (loop,) = read_dxf(dxf(halved), mirror=True).loops_mm()
        assert apart(loop, self.WHOLE) < 1e-9

    def test_about_its_own_middle_the_longer_edge_is_the_closing_one(self) -> None:
        rows = [(row[0] + 7.35, *row[1:]) for row in self.ROWS]
        (loop,) = read_dxf(dxf(polyline(*rows)), mirror=True).loops_mm()
        assert apart(loop, [(row[0] + 7.35, *row[1:]) for row in self.WHOLE]) < 1e-9

    def test_what_lies_in_it_gets_its_image_and_a_pocket_becomes_a_hole(self) -> None:
        pocket = ((0, 120), (10, 120), (10, 150), (0, 150))
        rows = (*self.ROWS, *reversed(pocket))
        found = read_dxf(dxf(polyline(*rows), circle(30, 160, 4)), mirror=True)
        areas = sorted(Polygon(polygon(loop)).area for loop in found.loops_mm())
        assert areas == pytest.approx(
            [16 * math.pi, 16 * math.pi, 600, Polygon(polygon(self.WHOLE)).area], rel=1e-3
        )
        assert sorted(found.within)[0] == -1

    def test_without_the_word_it_is_asked(self) -> None:
        found = read_dxf(dxf(polyline(*self.ROWS)))
        assert len(found.loops_mm()) == 1
        (said,) = found.warnings
        assert said.startswith("1 of 1 outlines end square on a straight line on z = 0: is this half of it?")

    @pytest.mark.parametrize(
        "rows",
        [
            ((0, 100), (30, 110), (30, 150), (0, 150)),
            ((-20, 100), (30, 100), (30, 150), (0, 150)),
            ((1, 100), (30, 100), (30, 150), (1, 150)),
        ],
    )
    def test_others_are_not(self, rows: tuple[Point, ...]) -> None:
        assert read_dxf(dxf(polyline(*rows))).warnings == ()

    def test_a_stray_that_is_completed_in_its_place_does_not_let_the_half_pass(self) -> None:
        stray = polyline((70, 120), (90, 130), (70, 140), closed=False)
        found = read_dxf(dxf(polyline(*self.ROWS), stray), mirror=True)
        with pytest.raises(ReadError, match="a half was to be completed"):
            found.loops_mm()

    def test_a_line_that_ends_on_it_does_not_stand_in_the_way(self) -> None:
        (loop,) = read_dxf(dxf(polyline(*self.ROWS), line(45, 150, 70, 150)), mirror=True).loops_mm()
        assert apart(loop, self.WHOLE) < 1e-9
