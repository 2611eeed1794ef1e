"""What a drawing's strokes become beyond plain outlines: frames, dead ends, outer edges, trees."""

from __future__ import annotations

import math
import random

import pytest
from shapely import Polygon

from app.files.readers.answer import ReadError
from app.files.readers.imported import at_first, findings
from app.files.readers.nesting import nesting
from app.files.readers.pieces import Piece, bulged
from tests.support.apart import apart, polygon
from tests.support.drawings import arc, circle, dxf, line, lines, polyline, read_dxf

Point = tuple[float, float]
BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))
AROUND = ((-50.0, 0.0), (350.0, 0.0), (350.0, 290.0), (-50.0, 290.0))
SHEET = ((-50.0, 0.0), (370.0, 0.0), (370.0, 297.0), (-50.0, 297.0))


class TestFrames:
    def test_a_rectangle_round_everything_is_said_and_kept(self) -> None:
        found = read_dxf(dxf(lines(*BOX), circle(80, 120, 10), polyline(*AROUND)))
        assert len(found.loops_mm()) == 3
        (said,) = found.warnings
        number = int(said.split()[1])
        assert said == f"outline {number} is a rectangle round all others: a frame?"
        assert {row[:2] for row in found.loops[number - 1]} == set(AROUND)
        assert [k for k in range(3) if found.within[k] == number - 1] == [
            k for k in range(3) if k != number - 1
        ]

    def test_two_of_them_are_both_said(self) -> None:
        inner = tuple((z * 0.9 + 15, r * 0.9 + 12) for z, r in AROUND)
        assert len(read_dxf(dxf(lines(*BOX), polyline(*AROUND), polyline(*inner))).warnings) == 2

    @pytest.mark.parametrize(
        "other",
        [
            polyline((-50, 0), (370, 0), (370, 297), (-50, 290)),
            polyline((-50, 0), (370, 0, 0.1), (370, 297), (-50, 297)),
            polyline((20, 0), (370, 0), (370, 297), (20, 297)),
        ],
    )
    def test_other_outlines_are_none(self, other: str) -> None:
        assert "frame" not in " ".join(read_dxf(dxf(lines(*BOX), circle(80, 120, 10), other)).warnings)

    @pytest.mark.parametrize("unit", [4, 1, None])
    def test_frames_of_a_sheets_size_are_off_at_first(self, unit: int | None) -> None:
        factor = 1.0 / 25.4 if unit == 1 else 1.0

        def scaled(*places: Point) -> str:
            return polyline(*((z * factor, r * factor) for z, r in places))

        border = ((-30.0, 10.0), (360.0, 10.0), (360.0, 287.0), (-30.0, 287.0))
        found = read_dxf(dxf(scaled(*BOX), scaled(*SHEET), scaled(*border), unit=unit))
        (kept,) = at_first(found)
        size = 30.0 * (factor if found.unit == "not known" else 1.0)
        assert max(z for z, _, _ in found.loops[kept]) - min(z for z, _, _ in found.loops[kept]) == (
            pytest.approx(size)
        )
        assert len(found.frames) == 2
        assert not any("frame" in said for said in found.warnings)
        assert "a drawing sheet's frame round all others" in " ".join(findings(found))

    def test_a_rectangle_with_a_hole_is_no_frame(self) -> None:
        found = read_dxf(dxf(lines(*BOX), circle(25, 115, 10)))
        assert not found.frames
        assert [len(found.loops[k]) for k in at_first(found)] == [4]

    def test_one_rectangle_alone_is_none(self) -> None:
        assert not read_dxf(dxf(polyline(*SHEET))).frames
        assert read_dxf(dxf(lines(*BOX))).warnings == ()


def random_rings(seed: int) -> list[list[tuple[float, float, float]]]:
    """Return outlines beside and within each other that do not cross: each keeps to its own circle."""
    rng = random.Random(seed)

    def ring(z: float, r: float, size: float) -> list[tuple[float, float, float]]:
        count = rng.randint(3, 8)
        return [
            (
                z + size * math.cos(2 * math.pi * k / count),
                r + size * math.sin(2 * math.pi * k / count),
                rng.choice((0.0, 0.2)),
            )
            for k in range(count)
        ]

    rings = []
    todo = [(float(z), 200.0, 45.0) for z in (0, 100, 200)]
    while todo:
        z, r, size = todo.pop()
        rings.append(ring(z, r, size))
        if size > 4.0 and rng.random() < 0.8:
            todo += [(z - 0.2 * size, r, size * 0.19), (z + 0.2 * size, r, size * 0.19)]
    rng.shuffle(rings)
    return rings


@pytest.mark.parametrize("seed", range(40))
def test_nesting_agrees_with_shapely(seed: int) -> None:
    rings = random_rings(seed)
    areas = [Polygon(polygon(rows)) for rows in rings]
    expected = []
    for a in areas:
        round_it = [k for k, b in enumerate(areas) if b is not a and b.contains(a)]
        expected.append(min(round_it, key=lambda k: areas[k].area, default=-1))
    assert max(expected) >= 0
    pieces = [
        [p for a, b in zip(rows, rows[1:] + rows[:1], strict=True) for p in bulged(a[:2], b[:2], a[2])]
        for rows in rings
    ]
    assert list(nesting(pieces)) == expected


class TestDeadEnds:
    def test_a_line_from_a_corner_is_left_out_and_said(self) -> None:
        found = read_dxf(dxf(lines(*BOX), line(40, 130, 60, 150)))
        assert {row[:2] for row in found.loops_mm()[0]} == set(BOX)
        assert found.skipped == {"dead ends": 1}
        assert "the longest from z 40.000, r 130.000 to z 60.000, r 150.000" in found.warnings[0]

    def test_a_centre_line_that_ends_along_an_edge(self) -> None:
        found = read_dxf(dxf(lines(*BOX), line(25, 130, 25, 180)))
        assert found.skipped == {"dead ends": 1}
        assert found.loops_mm()

    @pytest.mark.parametrize(
        "more",
        [
            line(40, 130, 60, 150) + line(60, 150, 60, 120),
            line(40, 130, 60, 150) + line(40, 100, 60, 149.5),
            line(40, 130, 70, 130) + line(40, 100, 70.4, 130.4),
            arc(50, 130, 10, 0, 180),
            line(40, 130, 70, 120) + line(40, 100, 70, 125),
            line(40, 130, 70, 120) + line(40, 100, 60, 122.5),
        ],
        ids=[
            "bent",
            "two that nearly meet",
            "two ends near",
            "an arc",
            "two that cross",
            "one ends near one",
        ],
    )
    def test_what_may_bound_something_is_never_left_out(self, more: str) -> None:
        found = read_dxf(dxf(lines(*BOX), more))
        with pytest.raises(ReadError, match=r"the outline is open|lines meet at"):
            found.usable_loops_mm()
        assert "dead ends" not in found.skipped
        assert read_dxf(dxf(lines(*BOX), more), drop_open=True).loops_mm()

    @pytest.mark.parametrize("end", [(90.0, 120.0), (70.2, 120.0), (90.0, 150.8)])
    def test_a_line_across_a_pocket_is_never_left_out(self, end: Point) -> None:
        """A body like a U with its pocket upward: the line goes from one arm to the other or beyond."""
        body = (
            (10, 100),
            (80, 100),
            (80, 150),
            (70, 150),
            (70, 110),
            (20, 110),
            (20, 120),
            (20, 150),
            (10, 150),
        )
        found = read_dxf(dxf(lines(*body), line(20, 120, *end)))
        assert "dead ends" not in found.skipped
        assert found.hindrance
        aside = read_dxf(dxf(lines(*body), line(20, 120, 45, 180)))
        assert aside.skipped == {"dead ends": 1}

    def test_whatever_ends_within_an_outline_bounds_nothing(self) -> None:
        inside = line(10, 100, 25, 110) + arc(25, 115, 5, 270, 45)
        found = read_dxf(dxf(lines(*BOX), inside))
        assert found.skipped == {"dead ends": 1}
        assert apart(found.loops_mm()[0], BOX) == 0.0


class TestOuterEdge:
    """A stay-out shape may grow: where lines part it inside, its outer edge holds all that they enclose."""

    def sketch(self) -> bytes:
        """A body with a lug, an inner arc and a cover line, all on one layer, meeting at corners."""
        lug = line(40, 110, 55, 110) + line(55, 110, 55, 120) + line(55, 120, 40, 120)
        sides = [line(40, a, 40, b) for a, b in ((100, 110), (110, 120), (120, 130))]
        rest = (
            line(10, 100, 40, 100) + line(40, 130, 10, 130) + line(10, 130, 10, 115) + line(10, 115, 10, 100)
        )
        return dxf(
            lug, *sides, rest, arc(10, 110, 10, 270, 0) + line(20, 110, 40, 110), line(10, 115, 40, 120)
        )

    OUTER = ((10, 100), (40, 100), (40, 110), (55, 110), (55, 120), (40, 120), (40, 130), (10, 130))

    def test_it_is_taken_for_a_shape(self) -> None:
        found = read_dxf(self.sketch(), side="outward")
        (loop,) = found.loops_mm()
        assert apart(loop, self.OUTER) == 0.0
        assert found.skipped == {"lines within the outline": 4}
        assert "its outer edge is taken" in found.warnings[0]

    @pytest.mark.parametrize("side", ["nearest", "inward"])
    def test_it_is_not_taken_where_that_would_be_a_guess(self, side: str) -> None:
        with pytest.raises(ReadError, match="so the outline is not clear"):
            read_dxf(self.sketch(), side=side).usable_loops_mm()

    def test_outlines_that_touch_at_a_corner_are_two_either_way(self) -> None:
        second = ((40.0, 130.0), (60.0, 130.0), (60.0, 150.0), (40.0, 150.0))
        for side in ("nearest", "outward"):
            loops = read_dxf(dxf(lines(*BOX), lines(*second)), side=side).loops_mm()
            assert sorted(apart(loop, BOX) == 0.0 for loop in loops) == [False, True]
            assert sorted(apart(loop, second) == 0.0 for loop in loops) == [False, True]

    def test_a_line_between_two_outlines_hinders_until_it_is_left_out(self) -> None:
        second = ((60.0, 130.0), (80.0, 130.0), (80.0, 150.0), (60.0, 150.0))
        drawing = dxf(lines(*BOX), lines(*second), line(40, 130, 60, 130))
        assert "the outline is open" in read_dxf(drawing).hindrance
        assert len(read_dxf(drawing, drop_open=True).loops_mm()) == 2

    def test_lines_that_cross_without_meeting_are_not_settled(self) -> None:
        across = line(10, 100, 60, 150) + line(60, 150, 40, 100)
        assert "not clear" in read_dxf(dxf(lines(*BOX), across), side="outward").hindrance


class TestTrees:
    """Lines that meet, but enclose nothing, as a dimension does that was broken up."""

    def test_beside_an_outline_they_hinder_until_they_are_left_out(self) -> None:
        drawing = dxf(lines(*BOX), line(60, 150, 60, 155), line(60, 155, 60, 160), line(60, 155, 90, 155))
        found = read_dxf(drawing)
        assert "3 lines meet, but enclose nothing" in found.hindrance
        assert "at z 60.000, r 155.000 (layers: 0); leave them out with --drop-open" in found.hindrance
        assert len(found.open) == 3
        dropped = read_dxf(drawing, drop_open=True)
        assert len(dropped.loops_mm()) == 1
        assert dropped.skipped == {"lines that meet, but enclose nothing": 3}
        assert "3 lines left out that meet, but enclose nothing, as asked" in dropped.warnings

    def test_alone_they_are_no_outline(self) -> None:
        drawing = dxf(line(60, 150, 60, 155), line(60, 155, 60, 160), line(60, 155, 90, 155))
        for how in ({}, {"drop_open": True}, {"mirror": True}, {"close": True}):
            found = read_dxf(drawing, **how)
            assert "enclose nothing" in found.hindrance
            assert "--drop-open" not in found.hindrance

    def test_an_outline_with_a_gap_is_never_taken_for_one_without_a_word(self) -> None:
        gapped = polyline((110, 100), (140, 100), (140, 130), (110, 130), (110, 101), closed=False)
        found = read_dxf(dxf(lines(*BOX), gapped, line(140, 130, 160, 150)))
        with pytest.raises(ReadError, match="enclose nothing"):
            found.loops_mm()


class TestOnTheAxleLine:
    def test_an_outline_that_stands_on_it_is_asked_about(self) -> None:
        found = read_dxf(dxf(lines((0, 0), (110, 10), (110, 80), (5, 80))))
        (said,) = found.warnings
        assert said.startswith(
            "the outline reaches down to the axle line, r = 0, at z 0.000: is the drawing's"
        )

    def test_what_lies_above_or_across_is_not(self) -> None:
        for low in (0.5, -5.0):
            rows = ((0, low), (110, 10), (110, 80), (5, 80))
            assert not any("reaches down" in said for said in read_dxf(dxf(lines(*rows))).warnings)


class TestLeftOver:
    def test_pieces_without_length_are_counted(self) -> None:
        found = read_dxf(
            dxf(lines(*BOX), line(5, 5, 5, 5), polyline((10, 100), (10, 100), (40, 100), (40, 130)))
        )
        assert found.skipped["without length or area"] == 2

    def test_bounds_hold_open_chains_and_arcs(self) -> None:
        found = read_dxf(dxf(arc(100, 200, 50, 30, 150)))
        assert found.bounds == pytest.approx((100 - 25 * math.sqrt(3), 100 + 25 * math.sqrt(3), 225, 250))
        assert found.hindrance

    def test_a_single_open_outline_is_closed_only_if_asked(self) -> None:
        drawing = dxf(polyline(*BOX, closed=False), circle(25, 115, 5))
        assert "leave it out with --drop-open" in read_dxf(drawing).hindrance
        assert len(read_dxf(drawing, close=True).loops_mm()) == 2

    def test_the_outline_is_the_same_in_every_order(self) -> None:
        entities = [line(*a, *b) for a, b in zip(BOX, BOX[1:] + BOX[:1], strict=True)]
        entities += [line(20, 100, 30, 100), line(40, 130, 60, 150), circle(25, 115, 5)]
        results = set()
        for seed in range(30):
            random.Random(seed).shuffle(entities)
            found = read_dxf(dxf(*entities))
            loops = frozenset(frozenset(loop) for loop in found.loops_mm())
            results.add((loops, found.doubles, tuple(found.skipped.items())))
        assert len(results) == 1


def test_a_piece_turns_round_with_its_spread() -> None:
    piece = Piece((0.0, 0.0), (1.0, 0.0), 0.1, spread=(0.05, 0.2))
    assert piece.reversed().spread == (-0.2, -0.05)
    assert piece.reversed().reversed() == piece


class TestCrossing:
    def test_a_bow_tie_is_said_with_its_place(self) -> None:
        # From (10, 100) to (40, 130) and (40, 110) to (10, 130): at z 10 + t, r 100 + t is 130 - 2 t / 3.
        (said,) = read_dxf(dxf(polyline((10, 100), (40, 130), (40, 110), (10, 130)))).warnings
        assert "outline 1 crosses or touches itself near z 28.000, r 118.000" in said

    def test_arcs_that_cross_are_seen_although_their_chords_do_not(self) -> None:
        # Half circles of radius 15 bent inwards, middles 25 apart: they meet at half of it, 8.292 off r 115.
        drawn = polyline((10, 100), (35, 100, -1.0), (35, 130), (10, 130, -1.0))
        (said,) = read_dxf(dxf(drawn)).warnings
        assert "crosses or touches itself near z 22.50" in said
        assert "r 106.7" in said or "r 123.2" in said

    def test_bodies_that_only_come_near_are_not_taken_for_it(self) -> None:
        # 31 apart: 1 mm stays between the half circles.
        assert not read_dxf(dxf(polyline((10, 100), (41, 100, -1.0), (41, 130), (10, 130, -1.0)))).warnings

    def test_lobes_of_the_same_size_hold_no_area_between_them(self) -> None:
        found = read_dxf(dxf(polyline((0, 50), (40, 90), (40, 50), (0, 90), closed=False)), close=True)
        assert not found.loops
        assert "crosses itself so that its areas cancel out" in found.hindrance
