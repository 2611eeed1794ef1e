"""DXF in: layers, joining, exactness, blocks and planes, on files written out by hand."""

import math

import numpy as np
import pytest

from app.files.readers.answer import ReadError
from geometry.shape.curve import Path
from tests.support.drawings import (
    arc,
    block,
    circle,
    dxf,
    insert,
    line,
    lines,
    pairs,
    polyline,
    read_dxf,
)

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))


def test_a_box_of_lines_is_one_closed_outline() -> None:
    found = read_dxf(dxf(lines(*BOX)))
    assert found.kind == "drawing"
    assert found.unit == "mm"
    assert [row[:2] for row in found.loops[0]] == list(BOX)
    assert found.bounds == (10.0, 40.0, 100.0, 130.0)
    assert found.layers == {"0": 4}
    assert (found.joined, found.doubles, found.skipped, found.warnings) == (0, 0, {}, ())


def test_order_and_direction_of_the_lines_do_not_matter() -> None:
    scattered = dxf(
        line(40, 130, 10, 130), line(10, 100, 40, 100), line(10, 130, 10, 100), line(40, 130, 40, 100)
    )
    assert set(read_dxf(scattered).loops[0]) == set(read_dxf(dxf(lines(*BOX))).loops[0])


def test_outlines_run_counterclockwise() -> None:
    # Drawn clockwise; the arc turns the same way as the outline, so it bulges outward.
    clockwise = read_dxf(dxf(polyline((0, 50), (0, 80), (30, 80, -0.4), (30, 50)))).loops[0]
    assert Path.closed(clockwise).area == pytest.approx(900.0 + _cap(30.0, 0.4), abs=1e-9)


def _cap(chord: float, bulge: float) -> float:
    """Area between a chord and its arc: R^2 (t - sin t) / 2 with t = 4 atan(bulge), R = c (1 + b^2) / 4b."""
    sweep, radius = 4.0 * math.atan(bulge), chord * (1.0 + bulge**2) / (4.0 * bulge)
    return radius**2 * (sweep - math.sin(sweep)) / 2.0


def test_arcs_come_in_exactly() -> None:
    # A slot: half circles of radius 8 about (0, 120) and (30, 120).
    slot = dxf(
        arc(0, 120, 8, 90, 270), line(0, 112, 30, 112), arc(30, 120, 8, 270, 90), line(30, 128, 0, 128)
    )
    path = Path.closed(read_dxf(slot).loops[0])
    assert path.radii[path.is_arc] == pytest.approx([8.0, 8.0], abs=1e-12)
    assert path.area == pytest.approx(30.0 * 16.0 + math.pi * 64.0, abs=1e-9)
    assert sorted(path.centres[path.is_arc].tolist()) == pytest.approx(
        np.array([[0, 120], [30, 120]]), abs=1e-12
    )


@pytest.mark.parametrize("end", [10.0, 100.0, 185.0, 190.0, 200.0, 300.0, 369.0])
def test_an_arc_and_its_chord(end: float) -> None:
    start, sweep = 10.0, end - 10.0 or 360.0
    at = [(50 * math.cos(math.radians(a)), 200 + 50 * math.sin(math.radians(a))) for a in (end, start)]
    chord = "" if sweep == 360.0 else line(*at[0], *at[1])
    turned = math.radians(sweep)
    expected = 50.0**2 * (turned - math.sin(turned)) / 2.0
    rows = read_dxf(dxf(arc(0, 200, 50, start, end), chord)).loops[0]
    assert Path.closed(rows).area == pytest.approx(expected, abs=1e-9)
    assert max(abs(row[2]) for row in rows) <= 1.0 + 1e-12


def test_a_circle_is_two_half_circles() -> None:
    found = read_dxf(dxf(circle(5, 100, 20)))
    assert [row[2] for row in found.loops[0]] == pytest.approx([1.0, 1.0], abs=1e-15)
    assert found.bounds == pytest.approx((-15.0, 25.0, 80.0, 120.0), abs=1e-12)


def test_a_bulge_over_a_half_circle_is_split() -> None:
    rows = read_dxf(dxf(polyline((0, 100, 3.0), (10, 100)))).loops[0]
    path = Path.closed(rows)
    assert len(path) == 3
    # Bulge 3 on a chord of 10: radius c (1 + b^2) / 4b = 25 / 3.
    assert path.radii[path.is_arc] == pytest.approx([25 / 3, 25 / 3], abs=1e-12)


class TestJoining:
    def test_small_gaps_are_joined_and_counted(self) -> None:
        found = read_dxf(dxf(line(0, 50, 20, 50), line(20.006, 50, 20, 80), line(20, 80, 0, 50.008)))
        assert len(found.loops[0]) == 3
        assert found.joined == 2
        assert found.largest_join_mm == pytest.approx(0.008, abs=1e-12)

    def test_an_open_outline_is_no_error_but_cannot_be_used(self) -> None:
        found = read_dxf(dxf(line(0, 50, 20, 50), line(20, 50, 20, 80), line(20, 80, 0, 50.2)))
        with pytest.raises(ReadError) as refused:
            found.usable_loops_mm()
        message = str(refused.value)
        assert "a gap of 0.2 mm between z 0.000, r 50.200 and z 0.000, r 50.000" in message
        assert "read again with --join 0.21" in message
        assert found.open == (((0, 50, 0), (20, 50, 0), (20, 80, 0), (0, 50.2, 0)),)
        assert found.bounds == (0.0, 20.0, 50.0, 80.0)

    def test_a_wider_gap_is_bridged_when_asked(self) -> None:
        open_box = dxf(line(0, 50, 20, 50), line(20, 50, 20, 80), line(20, 80, 0, 50.2))
        found = read_dxf(open_box, join_mm=0.21)
        assert (found.joined, len(found.loops[0])) == (1, 4)
        assert {row[:2] for row in found.loops[0]} == {(0, 50), (20, 50), (20, 80), (0, 50.2)}

    def test_the_nearest_ends_are_joined(self) -> None:
        # Two boxes side by side, each with a gap of 0.1, 0.3 apart.
        left = [line(0, 50, 9.9, 50), line(10, 50, 10, 60), line(10, 60, 0, 60), line(0, 60, 0, 50)]
        right = [
            line(10.4, 50, 20, 50),
            line(20, 50, 20, 60),
            line(20, 60, 10.3, 60),
            line(10.3, 60, 10.3, 50),
        ]
        found = read_dxf(dxf(*left, *right), join_mm=0.35)
        # The two lines of each gap are lengthened to the corner where they cross.
        corners = [{(row[0], row[1]) for row in loop} for loop in found.loops]
        assert corners[0] == {(0, 50), (10, 50), (10, 60), (0, 60)}
        assert corners[1] == {(10.3, 50), (20, 50), (20, 60), (10.3, 60)}
        assert found.largest_join_mm == pytest.approx(0.1, abs=1e-9)
        assert np.array(found.joins) == pytest.approx(np.array([(9.95, 50, 0.1), (10.35, 50, 0.1)]), abs=1e-9)

    def test_doubles_are_dropped_and_counted(self) -> None:
        found = read_dxf(dxf(lines(*BOX), line(40, 100, 10, 100), polyline(*BOX)))
        assert len(found.loops) == 1
        assert found.doubles == 2
        found.loops_mm()

    def test_an_arc_is_no_double_of_its_chord(self) -> None:
        assert read_dxf(dxf(arc(0, 100, 10, 0, 180), line(-10, 100, 10, 100))).doubles == 0

    def test_a_branch_that_is_not_clear_is_named_with_its_place(self) -> None:
        tail = line(40, 130, 60, 150, layer="PART") + arc(70, 150, 10, 0, 180, layer="PART")
        across = line(10, 100, 40, 130, layer="PART")
        found = read_dxf(dxf(lines(*BOX), tail, across))
        with pytest.raises(ReadError, match=r"lines meet at z \d+\.000, r \d+\.000.* \(layers: 0, PART\)"):
            found.loops_mm()
        assert len(found.open) == 7

    def test_a_blank_open_along_the_axle_is_closed_there(self) -> None:
        found = read_dxf(dxf(line(0, 0, 0, 90), line(0, 90, 40, 90), line(40, 90, 40, 0)))
        assert Path.closed(found.loops[0]).area == pytest.approx(3600.0)
        assert found.warnings[0].startswith("closed along the axle line")

    def test_loose_lines_on_the_axes_are_no_outline(self) -> None:
        found = read_dxf(dxf(lines(*BOX), line(-50, 0, 90, 0), line(0, 0, 0, 150)))
        assert len(found.loops) == 1
        assert found.skipped == {"loose lines on z = 0 or r = 0": 2}

    def test_a_loose_line_elsewhere_hinders_until_it_is_left_out(self) -> None:
        drawing = dxf(lines(*BOX), line(-50, 20, 10, 20))
        with pytest.raises(ReadError, match=r"open: a gap of 60.*leave it out with --drop-open"):
            read_dxf(drawing).loops_mm()
        found = read_dxf(drawing, drop_open=True)
        assert len(found.loops_mm()) == 1
        assert found.skipped == {"open chains": 1}
        assert found.warnings == ("1 open chains left out, as asked",)

    def test_one_open_outline_is_closed_when_asked(self) -> None:
        found = read_dxf(dxf(polyline(*BOX, closed=False)), close=True)
        assert len(found.loops[0]) == 4
        assert "closed by a straight line" in found.warnings[0]
        assert "(30.000 long)" in found.warnings[0]

    def test_pieces_without_length_are_dropped(self) -> None:
        found = read_dxf(dxf(lines(*BOX), line(10, 100, 10, 100)))
        assert len(found.loops[0]) == 4
        assert found.skipped == {"without length or area": 1}

    def test_circles_and_arcs_of_radius_0_are_left_out_and_counted(self) -> None:
        found = read_dxf(dxf(lines(*BOX), circle(10, 100, 0), arc(10, 100, 0, 0, 90)))
        assert len(found.loops[0]) == 4
        assert found.skipped == {"circles or arcs of radius 0": 2}


class TestLayers:
    FRAME = lines((-100, 0), (300, 0), (300, 300), (-100, 300), layer="FRAME")

    def test_one_layer_is_read(self) -> None:
        found = read_dxf(dxf(self.FRAME, lines(*BOX, layer="Brake")), layers=("brake",))
        assert len(found.loops) == 1
        assert found.layers == {"Brake": 4, "FRAME": 4}
        assert found.skipped == {"on other layers": 4}

    def test_a_missing_layer_names_those_there_are(self) -> None:
        with pytest.raises(ReadError, match="no lines on layer 'brake'; layers with lines: FRAME"):
            read_dxf(dxf(self.FRAME), layers=("brake",))

    @pytest.mark.parametrize("state", [pairs(70, 1, 62, 7), pairs(70, 0, 62, -7)])
    def test_hidden_layers_are_left_out_unless_asked_for(self, state: str) -> None:
        tables = pairs(0, "TABLE", 2, "LAYER", 0, "LAYER", 2, "Frame") + state + pairs(0, "ENDTAB")
        drawing = dxf(self.FRAME, lines(*BOX), tables=tables)
        assert read_dxf(drawing).skipped == {"on hidden layers": 4}
        assert read_dxf(drawing, layers=("FRAME",)).bounds[3] == 300.0

    def test_other_entities_are_counted_by_kind(self) -> None:
        text = pairs(0, "TEXT", 8, "0", 10, "nan", 20, 0, 40, 3, 1, "note")
        found = read_dxf(dxf(lines(*BOX), text, text, pairs(0, "HATCH", 8, "0", 10, 1e300)))
        assert found.skipped == {"HATCH": 1, "TEXT": 2}

    def test_paper_space_and_invisible_entities_are_left_out(self) -> None:
        found = read_dxf(dxf(lines(*BOX), line(0, 9, 9, 9) + pairs(67, 1), line(0, 9, 9, 9) + pairs(60, 1)))
        assert found.skipped == {"in paper space": 1, "invisible": 1}

    def test_escaped_names_are_resolved(self) -> None:
        assert read_dxf(dxf(lines(*BOX, layer=r"Bremss\U+00E4ttel"))).layers == {"Bremssättel": 4}


class TestPolylines:
    def test_old_polylines_with_bulge(self) -> None:
        def vertex(x: float, y: float, bulge: float = 0.0, flags: int = 0) -> str:
            return pairs(0, "VERTEX", 8, "0", 10, x, 20, y, 42, bulge, 70, flags)

        corners = [
            vertex(0, 50),
            vertex(99, 99, flags=16),
            vertex(20, 50, 1.0),
            vertex(20, 70),
            vertex(0, 70),
        ]
        old = pairs(0, "POLYLINE", 8, "0", 66, 1, 70, 1) + "".join(corners) + pairs(0, "SEQEND")
        new = polyline((0, 50), (20, 50, 1.0), (20, 70), (0, 70))
        assert read_dxf(dxf(old)).loops == read_dxf(dxf(new)).loops

    def test_stray_heights_are_dropped_and_said(self) -> None:
        high = "".join(
            pairs(0, "VERTEX", 8, "0", 10, x, 20, y, 30, h, 70, 32)
            for x, y, h in ((0, 50, 0), (20, 50, 3), (20, 80, 0))
        )
        found = read_dxf(dxf(pairs(0, "POLYLINE", 8, "0", 66, 1, 70, 9) + high + pairs(0, "SEQEND")))
        assert len(found.loops[0]) == 3
        assert found.warnings == ("1 entities leave the drawing plane; their heights are dropped",)

    def test_meshes_are_left_out(self) -> None:
        mesh = pairs(0, "POLYLINE", 8, "0", 66, 1, 70, 64) + pairs(0, "SEQEND")
        assert read_dxf(dxf(lines(*BOX), mesh)).skipped == {"POLYLINE that is a mesh": 1}


class TestBlocks:
    def test_a_block_is_placed_scaled_turned_and_repeated(self) -> None:
        # Base (1, 1), twice as large, turned by 90 degrees: (4, 1) -> (50, 106), (4, 3) -> (46, 106).
        part = block("PART", lines((1, 1), (4, 1), (4, 3)), base=(1, 1))
        placed = pairs(41, 2, 42, 2, 50, 90, 70, 2, 44, 20)
        found = read_dxf(dxf(insert("part", 50, 100, placed), blocks=part))
        first, second = ({row[:2] for row in loop} for loop in found.loops)
        assert sorted(first) == pytest.approx(np.array([(46, 106), (50, 100), (50, 106)]), abs=1e-12)
        assert sorted(second) == pytest.approx(np.array([(46, 126), (50, 120), (50, 126)]), abs=1e-12)

    def test_a_mirrored_block_mirrors_its_arcs(self) -> None:
        part = block("D", arc(0, 0, 10, 270, 90), line(0, 10, 0, -10))
        plain = read_dxf(dxf(insert("D", 0, 100), blocks=part))
        mirrored = read_dxf(dxf(insert("D", 0, 100, pairs(41, -1)), blocks=part))
        assert plain.bounds == pytest.approx((0.0, 10.0, 90.0, 110.0), abs=1e-12)
        assert mirrored.bounds == pytest.approx((-10.0, 0.0, 90.0, 110.0), abs=1e-12)
        assert Path.closed(mirrored.loops[0]).area == pytest.approx(50.0 * math.pi, abs=1e-9)

    def test_stretched_arcs_become_parts_of_an_ellipse(self) -> None:
        part = block("O", circle(0, 0, 10))
        found = read_dxf(dxf(insert("O", 0, 100, pairs(41, 3, 42, 1)), blocks=part))
        assert found.curves == 1
        assert 0.0 < found.curve_error_mm <= 0.005
        assert Path.closed(found.loops[0]).area == pytest.approx(
            300.0 * math.pi, abs=0.005 * 2 * math.pi * 30
        )

    def test_entities_on_layer_0_take_the_layer_of_the_reference(self) -> None:
        part = block("P", lines(*BOX), circle(0, 50, 5, layer="HOLE"))
        found = read_dxf(dxf(insert("P", layer="BRAKE"), blocks=part))
        assert found.layers == {"BRAKE": 4, "HOLE": 1}

    def test_a_missing_block_is_counted(self) -> None:
        found = read_dxf(dxf(lines(*BOX), insert("NOWHERE")))
        assert found.skipped == {"INSERT of a missing block": 1}

    def test_blocks_that_nobody_places_draw_nothing(self) -> None:
        assert len(read_dxf(dxf(lines(*BOX), blocks=block("P", circle(0, 50, 5)))).loops) == 1


class TestPlanes:
    BEHIND = pairs(210, 0, 220, 0, 230, -1)

    def test_seen_from_behind_x_is_reversed(self) -> None:
        turned = arc(0, 100, 10, 270, 90) + self.BEHIND
        found = read_dxf(dxf(turned, line(0, 110, 0, 90)))
        assert found.bounds == pytest.approx((-10.0, 0.0, 90.0, 110.0), abs=1e-12)

    def test_a_polyline_and_a_block_seen_from_behind(self) -> None:
        rows = ((10.0, 100.0), (40.0, 100.0, 0.5), (40.0, 130.0))
        behind = read_dxf(dxf(polyline(*rows, extra=self.BEHIND))).loops[0]
        placed = read_dxf(dxf(insert("P", extra=self.BEHIND), blocks=block("P", polyline(*rows)))).loops[0]
        mirrored = Path.closed(rows).mirrored()
        assert set(behind) == set(placed) == set(mirrored.rows())

    def test_a_tilted_plane_is_left_out(self) -> None:
        tilted = circle(0, 100, 5) + pairs(210, 0.6, 220, 0, 230, 0.8)
        assert read_dxf(dxf(lines(*BOX), tilted)).skipped == {"tilted out of the drawing plane": 1}


def test_default_extents_of_the_header_do_no_harm() -> None:
    header = pairs(9, "$EXTMIN", 10, 1e20, 20, 1e20, 30, 1e20, 9, "$EXTMAX", 10, -1e20, 20, -1e20, 30, -1e20)
    assert len(read_dxf(dxf(lines(*BOX), header=header)).loops) == 1


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end_is_read(ending: str) -> None:
    text = dxf(lines(*BOX)).decode().replace("\n", ending)
    assert len(read_dxf(text.encode()).loops) == 1


def test_padded_codes_comments_and_a_byte_order_mark_are_read() -> None:
    text = dxf(lines(*BOX)).decode().replace("\n8\n", "\n999\na remark\n  8\n")
    assert len(read_dxf(b"\xef\xbb\xbf" + text.encode() + b"\x1a").loops) == 1
