"""Stacked and overlapping lines and arcs: what becomes one, what is parted, and what stays two."""

from __future__ import annotations

import math

import pytest

from app.files.readers import overlaps
from app.files.readers.overlaps import without_overlaps
from app.files.readers.pieces import Piece, arc
from tests.support.drawings import arc as drawn_arc
from tests.support.drawings import circle, dxf, line, lines, polyline, read_dxf

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))


def ends(pieces: list[Piece]) -> set[tuple[tuple[float, float], ...]]:
    return {tuple(sorted((p.start, p.end))) for p in pieces}


def level(start: float, end: float, r: float = 0.0) -> Piece:
    return Piece((start, r), (end, r))


class TestLines:
    def test_two_that_share_a_stretch_are_one(self) -> None:
        found = without_overlaps([level(0, 20), level(15, 40)])
        assert ends(found.pieces) == {((0, 0), (40, 0))}
        assert found.dropped == 1

    def test_either_way_round_and_one_within_the_other(self) -> None:
        found = without_overlaps([level(40, 0), level(5, 15), level(40, 0)])
        assert (ends(found.pieces), found.dropped) == ({((0, 0), (40, 0))}, 2)

    def test_a_chain_of_overlaps_is_one_line(self) -> None:
        found = without_overlaps([level(10.0 * k, 10.0 * k + 12.0) for k in range(30)])
        assert (ends(found.pieces), found.dropped) == ({((0, 0), (302, 0))}, 29)

    def test_lines_that_only_meet_stay_two(self) -> None:
        pieces = [level(0, 20), level(20, 40)]
        assert without_overlaps(pieces) == (pieces, 0, False)

    @pytest.mark.parametrize("other", [level(5, 30, 0.01), Piece((0, 0), (40, 0.5)), level(20.0, 30.0, -3.0)])
    def test_lines_beside_each_other_stay_two(self, other: Piece) -> None:
        pieces = [level(0, 20), other]
        assert without_overlaps(pieces).pieces == pieces

    def test_what_ends_on_an_overlap_parts_it(self) -> None:
        foot = Piece((17, 0), (17, 9))
        found = without_overlaps([level(0, 20), level(15, 40), foot])
        assert ends(found.pieces) == {((0, 0), (17, 0)), ((17, 0), (40, 0)), ((17, 0), (17, 9))}

    @pytest.mark.parametrize("turn", [k * math.pi / 24.0 + 1e-9 for k in range(48)])
    def test_in_every_direction_far_off_the_origin_too(self, turn: float) -> None:
        u, w = math.cos(turn), math.sin(turn)

        def at(s: float) -> tuple[float, float]:
            return 5e4 + s * u, -2e4 + s * w

        found = without_overlaps([Piece(at(0), at(20)), Piece(at(35), at(12)), Piece(at(0), at(0.5))])
        assert (ends(found.pieces), found.dropped) == ({tuple(sorted((at(0), at(35))))}, 2)

    def test_too_many_side_by_side_are_said(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(overlaps, "MOST", 10)
        hatch = "".join(line(0, 100 + k / 20, 30, 100 + k / 20) for k in range(40))
        assert "too many lines lie side by side" in read_dxf(dxf(hatch)).warnings[0]


class TestArcs:
    CENTRE = (0.0, 50.0)

    def spans(self, found: list[Piece]) -> float:
        return sum(math.degrees(4.0 * math.atan(abs(p.bulge))) for p in found)

    @pytest.mark.parametrize("turn", [0.0, 77.0, 170.0, 200.0, 359.0])
    def test_two_that_share_a_stretch_are_one(self, turn: float) -> None:
        found = without_overlaps(
            [*arc(self.CENTRE, 30, turn, turn + 50), *arc(self.CENTRE, 30, turn + 20, turn + 90)]
        )
        (joined,) = found.pieces
        (expected,) = arc(self.CENTRE, 30, turn, turn + 90)
        assert joined.start + joined.end == pytest.approx(expected.start + expected.end, abs=1e-12)
        assert joined.bulge == pytest.approx(math.tan(math.radians(22.5)), abs=1e-12)

    def test_one_within_another_and_run_the_other_way(self) -> None:
        whole, part = arc(self.CENTRE, 30, 10, 120)[0], arc(self.CENTRE, 30, 60, 90)[0]
        assert without_overlaps([part.reversed(), whole]) == ([whole], 1, False)

    def test_more_than_half_a_round_comes_in_two(self) -> None:
        found = without_overlaps([*arc(self.CENTRE, 30, 0, 150), *arc(self.CENTRE, 30, 100, 250)])
        assert len(found.pieces) == 2
        assert self.spans(found.pieces) == pytest.approx(250.0)
        assert found.dropped == 1

    def test_all_round_is_a_circle(self) -> None:
        parts = [
            *arc(self.CENTRE, 30, 0, 150),
            *arc(self.CENTRE, 30, 100, 250),
            *arc(self.CENTRE, 30, 240, 20),
        ]
        found = without_overlaps(parts)
        assert self.spans(found.pieces) == pytest.approx(360.0)
        assert read_dxf(
            dxf(*(drawn_arc(0, 150, 30, a, b) for a, b in ((0, 150), (100, 250), (240, 20))))
        ).loops_mm()

    def test_other_circles_and_other_stretches_stay(self) -> None:
        pieces = [
            *arc(self.CENTRE, 30, 0, 90),
            *arc(self.CENTRE, 30, 90, 180),
            *arc(self.CENTRE, 30.01, 20, 70),
            *arc((0.0, 50.01), 30, 20, 70),
            *arc(self.CENTRE, 30, 200, 220),
        ]
        assert without_overlaps(pieces).pieces == pieces

    def test_what_ends_on_an_overlap_parts_it(self) -> None:
        foot = Piece((0.0, 80.0), (0.0, 99.0))
        found = without_overlaps([*arc(self.CENTRE, 30, 0, 100), *arc(self.CENTRE, 30, 60, 150), foot])
        assert len(found.pieces) == 3
        assert self.spans(found.pieces) == pytest.approx(150.0)
        assert sum((0.0, 80.0) in (p.start, p.end) for p in found.pieces) == 3


class TestWholeDrawings:
    def test_a_box_of_overlapping_lines(self) -> None:
        found = read_dxf(
            dxf(
                line(10, 100, 30, 100),
                line(40, 100, 22, 100),
                line(40, 100, 40, 130),
                line(40, 105, 40, 118),
                line(40, 130, 10, 130),
                line(10, 130, 10, 100),
                line(10, 130, 10, 120),
            )
        )
        assert {row[:2] for row in found.loops_mm()[0]} == set(BOX)
        assert found.doubles == 3

    def test_two_bodies_that_share_a_stretch_of_edge_stay_two(self) -> None:
        """The lower edge of the second lies on the upper edge of the first, drawn twice."""
        second = ((15.0, 130.0), (30.0, 130.0), (30.0, 150.0), (15.0, 150.0))
        found = read_dxf(dxf(lines(*BOX), lines(*second)))
        assert [{row[:2] for row in loop} for loop in found.loops_mm()] == [set(BOX), set(second)]
        assert found.within == (-1, -1)

    def test_lines_on_the_edges_of_a_polyline_are_doubles(self) -> None:
        found = read_dxf(
            dxf(polyline(*BOX), line(15, 100, 30, 100), line(40, 130, 40, 100), circle(25, 115, 5))
        )
        assert len(found.loops_mm()) == 2
        assert found.doubles == 2

    def test_an_arc_on_a_rounded_corner_of_a_polyline_is_a_double(self) -> None:
        quarter = math.tan(math.pi / 8.0)
        rounded = polyline((0, 100), (30, 100, quarter), (40, 110), (40, 130), (0, 130))
        found = read_dxf(dxf(rounded, drawn_arc(30, 110, 10, 270, 0), drawn_arc(30, 110, 10, 300, 330)))
        assert len(found.loops_mm()[0]) == 5
        assert found.doubles == 2

    def test_an_outline_twice_however_it_is_parted(self) -> None:
        parted = ((10.0, 100.0), (25.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))
        found = read_dxf(dxf(polyline(*BOX), polyline(*parted[2:], *parted[:2])))
        assert (len(found.loops_mm()), found.doubles) == (1, 1)

    def test_an_outline_a_hair_larger_is_another(self) -> None:
        larger = tuple((z + (0.05 if z > 20 else -0.05), r) for z, r in BOX)
        found = read_dxf(dxf(polyline(*BOX), polyline(*larger)))
        assert (len(found.loops_mm()), found.doubles, found.within) == (2, 0, (1, -1))

    def test_a_closed_polyline_out_and_back_is_a_line(self) -> None:
        out_and_back = polyline((10, 100), (40, 100))
        rest = line(40, 100, 40, 130) + line(40, 130, 10, 130) + line(10, 130, 10, 100)
        assert {row[:2] for row in read_dxf(dxf(out_and_back, rest)).loops_mm()[0]} == set(BOX)

    def test_edges_of_a_thousandth_are_no_doubles_of_each_other(self) -> None:
        fine = ((10.0, 100.0), (40.0, 100.0), (40.0006, 100.0006), (40.0006, 100.0012), (40.0, 130.0))
        found = read_dxf(dxf(lines(*fine)))
        assert (len(found.loops_mm()[0]), found.doubles) == (5, 0)
