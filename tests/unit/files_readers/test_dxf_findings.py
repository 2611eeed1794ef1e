"""What a DXF shows beyond its outline: dimensions, blocks, colours, hidden parts, damage; binary files."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from ezdxf.filemanagement import new
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from app.files.readers.answer import ReadError
from app.files.readers.binary import MARK
from app.files.readers.curves import through
from geometry.shape.curve import Path
from tests.support.drawings import block, circle, dxf, insert, line, lines, pairs, polyline, read_dxf

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))
Point = tuple[float, float]


def dimension(
    first: Point, second: Point, text: str = "", kind: int = 33, turn: float = 0.0, more: str = ""
) -> str:
    """Return an aligned (33) or rotated (32) dimension between two places, by default without a text."""
    ends = pairs(13, first[0], 23, first[1], 14, second[0], 24, second[1])
    return (
        pairs(0, "DIMENSION", 8, "DIM", 2, "*D1", 3, "STANDARD", 70, kind, 1, text)
        + ends
        + pairs(50, turn)
        + more
    )


def layer(name: str, flags: int = 0, colour: int = 7, more: str = "") -> str:
    return pairs(0, "LAYER", 2, name, 70, flags, 62, colour) + more


class TestDimensions:
    def said(self, *entities: str, **how: object) -> tuple[str, ...]:
        return read_dxf(dxf(lines(*BOX), *entities), **how).warnings

    @pytest.mark.parametrize(
        "text", ["", "<>", "30", "30.0", "30,1", "R30", "%%c30", r"\A1;30", "{\\H0.7x;30}", "2x 30"]
    )
    def test_what_agrees_is_not_mentioned(self, text: str) -> None:
        assert self.said(dimension((10, 100), (40, 100), text)) == ()

    @pytest.mark.parametrize(
        "text", ["see note", "M8x30", "30 - 40", "H7", "30 [1.18]", "x" * 5000, "9" * 5000]
    )
    def test_texts_without_one_plain_number_are_not_judged(self, text: str) -> None:
        assert self.said(dimension((10, 100), (20, 100), text)) == ()

    @pytest.mark.parametrize(
        ("text", "drawn", "words"),
        [
            ("380", 14.96, "says 380 where 14.96 is drawn, 25.4 times as much: is the unit right?"),
            ("14.96", 380.0, "says 14.96 where 380 is drawn, 0.03937 times as much"),
            ("%%c355.6", 35.56, "says 355.6 where 35.56 is drawn, 10 times as much"),
            ("0,12 m", 120.0, ""),
            ("190", 100.0, "says 190 where 100 is drawn; is it to scale?"),
            ("102.5", 100.0, "says 102.5 where 100 is drawn"),
            ("101.5", 100.0, ""),
            (r"\A1;380 ±0.2", 190.0, "says 380 where 190 is drawn"),
            ("380%%p0.2", 190.0, "says 380 where 190 is drawn"),
            (r"380{\H0.5x;\S+0.2^-0.1;}", 190.0, "says 380 where 190 is drawn"),
            ('14.96"', 380.0, ""),
        ],
    )
    def test_what_differs_is_said_with_both_numbers(self, text: str, drawn: float, words: str) -> None:
        said = self.said(dimension((10, 100), (10 + drawn, 100), text))
        assert len(said) == bool(words)
        assert words in "".join(said)

    def test_numbers_are_in_the_files_own_unit(self) -> None:
        entities = lines((0, 0), (14.96, 0), (14.96, 3)), dimension((0, 0), (14.96, 0), "380")
        assert "says 380 where 14.96 is drawn, 25.4 times" in read_dxf(dxf(*entities, unit=1)).warnings[0]
        in_mm = lines((0, 0), (14.96, 0), (14.96, 3)), dimension((0, 0), (14.96, 0), "380 mm")
        assert "says" not in "".join(read_dxf(dxf(*in_mm, unit=1)).warnings)

    def test_a_rotated_one_measures_along_its_direction(self) -> None:
        assert self.said(dimension((0, 0), (30, 40), "30", kind=32)) == ()
        assert self.said(dimension((0, 0), (30, 40), "40", kind=32, turn=90)) == ()
        assert "says 50 where 30 is drawn" in self.said(dimension((0, 0), (30, 40), "50", kind=32))[0]

    def test_diameters_and_radii_have_other_points(self) -> None:
        ends = pairs(10, 0, 20, 0, 15, 0, 25, 25)
        for kind in (35, 36):
            head = pairs(0, "DIMENSION", 8, "DIM", 70, kind, 1, "50")
            assert "says 50 where 25 is drawn" in self.said(head + ends)[0]

    def test_angles_are_not_judged(self) -> None:
        assert self.said(dimension((0, 0), (30, 40), "53", kind=34)) == ()

    def test_the_kept_measurement_stands_in_for_missing_points(self) -> None:
        assert (
            "says 80 where 40 is drawn"
            in self.said(pairs(0, "DIMENSION", 8, "D", 70, 33, 1, "80", 42, 40))[0]
        )

    def test_a_style_that_multiplies_is_said(self) -> None:
        style = pairs(0, "TABLE", 2, "DIMSTYLE", 0, "DIMSTYLE", 2, "Standard", 144, 2, 0, "ENDTAB")
        drawing = dxf(lines(*BOX), dimension((10, 100), (40, 100)), tables=style)
        assert "says 60 where 30 is drawn" in read_dxf(drawing).warnings[0]

    def test_several_are_named_and_the_rest_counted(self) -> None:
        (said,) = self.said(*(dimension((0, 0), (10.0 * k, 0), f"{20 * k}") for k in range(1, 7)))
        assert said.startswith("a dimension says 20 where 10 is drawn, 40 where 20 is drawn, 60 where 30")
        assert "and 3 more" in said

    def test_hidden_ones_are_not_judged(self) -> None:
        off = pairs(0, "TABLE", 2, "LAYER") + layer("DIM", flags=1) + pairs(0, "ENDTAB")
        drawing = dxf(lines(*BOX), dimension((0, 0), (10, 0), "380"), tables=off)
        assert read_dxf(drawing).warnings == ()

    def test_in_a_scaled_block_what_is_drawn_counts(self) -> None:
        part = block("P", dimension((0, 0), (190, 0), "380"))
        assert self.said() == ()
        drawing = dxf(lines(*BOX), insert("P", extra=pairs(41, 2, 42, 2)), blocks=part)
        assert read_dxf(drawing).warnings == ()

    def test_as_ezdxf_writes_them(self) -> None:
        document = new("R2010", setup=True, units=4)
        space = document.modelspace()
        space.add_lwpolyline(BOX, close=True)
        for text, style in (("762", "Standard"), ("<>", "Standard"), ("<>", "EZDXF")):
            space.add_linear_dim((0, 80), (10, 100), (40, 100), text=text, dimstyle=style).render()
        stream = io.StringIO()
        document.write(stream)
        found = read_dxf(stream.getvalue().encode())
        # The library's own style multiplies by 100.
        (said,) = found.warnings
        assert said.startswith("a dimension says 762 where 30 is drawn, 3000 where 30 is drawn, 25.4 times")
        assert found.skipped == {"DIMENSION": 3}


class TestHiddenParts:
    FROZEN = pairs(0, "TABLE", 2, "LAYER") + layer("F", flags=1) + layer("O", colour=-3) + pairs(0, "ENDTAB")

    @pytest.mark.parametrize("name", ["F", "O"])
    def test_on_a_layer_of_a_block(self, name: str) -> None:
        part = block("P", circle(100, 150, 9, layer=name), circle(150, 150, 9, layer="SEEN"))
        found = read_dxf(dxf(lines(*BOX), insert("P"), tables=self.FROZEN, blocks=part))
        assert len(found.loops_mm()) == 2
        assert found.skipped == {"on hidden layers": 1}

    def test_a_frozen_reference_hides_all_of_its_block_an_off_one_only_its_own_layer(self) -> None:
        part = block("P", circle(100, 150, 9), circle(150, 150, 9, layer="SEEN"))
        for name, seen in (("F", 1), ("O", 2)):
            found = read_dxf(dxf(lines(*BOX), insert("P", layer=name), tables=self.FROZEN, blocks=part))
            assert len(found.loops_mm()) == seen, name
            assert found.skipped == {"on hidden layers": 3 - seen}, name

    def test_in_a_nested_reference_too(self) -> None:
        inner = block("I", circle(100, 150, 19, layer="SEEN"))
        middle = block("M", insert("I"))
        outer = block("P", insert("M", layer="F"), circle(150, 150, 29, layer="SEEN"))
        drawing = dxf(lines(*BOX), insert("P"), tables=self.FROZEN, blocks=inner + middle + outer)
        assert read_dxf(drawing).skipped == {"on hidden layers": 1}
        assert read_dxf(drawing).layers == {"0": 4, "SEEN": 2}
        assert len(read_dxf(drawing, layers=("SEEN",)).loops_mm()) == 1

    def test_references_in_paper_space_and_invisible_ones_draw_nothing(self) -> None:
        part = block("P", circle(100, 150, 9))
        drawing = dxf(
            lines(*BOX), insert("P", extra=pairs(67, 1)), insert("P", extra=pairs(60, 1)), blocks=part
        )
        assert read_dxf(drawing).skipped == {"in paper space": 1, "invisible": 1}

    def test_blocks_that_lie_in_another_file(self) -> None:
        part = pairs(0, "BLOCK", 8, "0", 2, "X", 70, 4, 10, 0, 20, 0, 1, "other.dwg", 0, "ENDBLK")
        found = read_dxf(dxf(lines(*BOX), insert("X"), blocks=part))
        assert found.skipped == {"INSERT of a block that lies in another file": 1}

    def test_texts_of_references_are_counted(self) -> None:
        attribute = pairs(0, "ATTRIB", 8, "0", 10, 0, 20, 0, 1, "x", 0, "SEQEND")
        part = block("P", circle(100, 150, 9))
        found = read_dxf(dxf(lines(*BOX), insert("P", extra=pairs(66, 1)), attribute, blocks=part))
        assert found.skipped == {"ATTRIB": 1}


class TestColours:
    TABLES = (
        pairs(0, "TABLE", 2, "LAYER")
        + layer("RED", colour=1)
        + layer("Off", colour=-5)
        + layer("TRUE", colour=7, more=pairs(420, 0xFF8000))
        + pairs(0, "ENDTAB")
    )

    def colours(self, *entities: str, blocks: str = "") -> dict[str, int]:
        return read_dxf(dxf(*entities, tables=self.TABLES, blocks=blocks)).colours

    def test_own_colours_those_of_layers_and_true_ones(self) -> None:
        assert self.colours(
            circle(0, 100, 30, layer="RED"),
            circle(0, 100, 31, layer="red") + pairs(62, 256),
            circle(0, 100, 32, layer="Off"),
            circle(0, 100, 33, layer="TRUE"),
            circle(0, 100, 34, layer="RED") + pairs(62, 3),
            circle(0, 100, 35, layer="RED") + pairs(62, 3, 420, 1),
            circle(0, 100, 36, layer="unnamed"),
            circle(0, 100, 37) + pairs(62, 0),
        ) == {"#000001": 1, "#ff8000": 1, "1": 2, "3": 1, "5": 1, "7": 2}

    def test_those_of_blocks(self) -> None:
        by_block = circle(0, 100, 30, layer="RED") + pairs(62, 0)
        part = block("P", by_block)
        assert self.colours(insert("P", extra=pairs(62, 4)), blocks=part) == {"4": 1}
        assert self.colours(insert("P", extra=pairs(420, 255)), blocks=part) == {"#0000ff": 1}
        assert self.colours(insert("P", layer="TRUE"), blocks=part) == {"#ff8000": 1}
        assert self.colours(insert("P"), blocks=part) == {"7": 1}

    def test_those_of_nested_blocks(self) -> None:
        part = block("P", circle(0, 100, 30) + pairs(62, 0), circle(0, 100, 40))
        outer = block("Q", insert("P", extra=pairs(62, 0), layer="RED"))
        assert self.colours(insert("Q", extra=pairs(62, 6)), blocks=part + outer) == {"1": 1, "6": 1}

    def test_as_ezdxf_writes_and_resolves_them(self) -> None:
        """ezdxf explodes the reference and tells the colours; both must count the same."""
        document = new("R2010", units=4)
        document.layers.add("RED", color=1)
        part = document.blocks.new("P")
        part.add_circle((0, 100), 30, dxfattribs={"color": 0})
        part.add_circle((0, 100), 31, dxfattribs={"layer": "RED"})
        part.add_circle((0, 100), 32, dxfattribs={"color": 5})
        space = document.modelspace()
        space.add_blockref("P", (0, 0), dxfattribs={"color": 4})
        stream = io.StringIO()
        document.write(stream)
        assert read_dxf(stream.getvalue().encode()).colours == {"1": 1, "4": 1, "5": 1}

    @pytest.mark.parametrize("odd", ["²", "9" * 5000, "-", "", "x", "1.5"])
    def test_what_is_no_colour_is_that_of_the_layer(self, odd: str) -> None:
        assert self.colours(circle(0, 100, 30, layer="RED") + pairs(62, odd)) == {"1": 1}
        assert self.colours(circle(0, 100, 30, layer="RED") + pairs(420, odd)) == {"1": 1}


class TestBlockUnits:
    """A block keeps its own unit; what places it converts it once, or not at all."""

    RECORD = pairs(0, "TABLE", 2, "BLOCK_RECORD", 0, "BLOCK_RECORD", 2, "P", 70, 1, 0, "ENDTAB")

    def test_a_block_in_another_unit_placed_at_its_own_size_is_said(self) -> None:
        part = block("P", circle(100, 150, 30))
        found = read_dxf(dxf(insert("P"), tables=self.RECORD, blocks=part))
        assert found.warnings == ("block P is drawn in inches and placed at its own size",)

    def test_one_that_was_converted_is_not(self) -> None:
        part = block("P", circle(4, 6, 1))
        found = read_dxf(dxf(insert("P", extra=pairs(41, 25.4, 42, 25.4)), tables=self.RECORD, blocks=part))
        assert found.warnings == ()

    def test_one_in_the_drawings_unit_is_not(self) -> None:
        part = block("P", circle(4, 6, 1))
        assert read_dxf(dxf(insert("P"), unit=1, tables=self.RECORD, blocks=part)).warnings == ()


class TestLeftOut:
    def test_every_kind_is_counted(self) -> None:
        kinds = "TEXT MTEXT HATCH LEADER SOLID 3DSOLID REGION POINT XLINE MLINE IMAGE VIEWPORT WIPEOUT"
        entities = [pairs(0, kind, 8, "0") for kind in kinds.split()]
        assert read_dxf(dxf(lines(*BOX), *entities)).skipped == dict.fromkeys(sorted(kinds.split()), 1)

    def test_damage_in_what_is_left_out_is_said_with_its_place(self) -> None:
        text = pairs(0, "TEXT", 8, "0", 10, "nan", 20, 0, 40, 3, 1, "note")
        found = read_dxf(dxf(lines(*BOX), text, text))
        assert len(found.loops_mm()) == 1
        assert found.warnings[0].startswith("2 of what is left out is damaged")
        assert "TEXT at line 76 of the file" in found.warnings[0]

    def test_damage_on_layers_that_are_off_is_said_and_refused_when_they_are_read(self) -> None:
        drawing = dxf(lines(*BOX), line(0, 9, float("nan"), 9, layer="TEXT"))
        assert "1 of what is left out is damaged" in read_dxf(drawing).warnings[0]
        with pytest.raises(ReadError, match=r"LINE at line \d+ of the file holds 'nan'"):
            read_dxf(drawing, layers=("TEXT",))

    def test_solid_bodies_alone_say_what_to_ask_for(self) -> None:
        with pytest.raises(
            ReadError, match=r"no outline in the file; left out: 2 3DSOLID.*ask for STEP or STL"
        ):
            read_dxf(dxf(pairs(0, "3DSOLID", 8, "0") * 2))

    def test_wide_polylines_are_said(self) -> None:
        found = read_dxf(dxf(polyline(*BOX, extra=pairs(43, 0.5)), polyline((90, 100), (99, 100), (99, 120))))
        assert found.warnings == ("1 entities are drawn with a width; their middle is read",)


class TestSplinesByPoints:
    @given(st.lists(st.tuples(st.floats(-50, 50), st.floats(60, 200)), min_size=2, max_size=12, unique=True))
    def test_open_ones_agree_with_scipy(self, places: list[Point]) -> None:
        """Natural ends, or clamped where directions are given; the parameter is the length along chords."""
        steps = np.hypot(*np.diff(np.array(places), axis=0).T)
        if steps.min() < 0.1:
            return
        at = np.concatenate([[0.0], np.cumsum(steps)])
        for ends in (None, ((0.6, 0.8), (-1.0, 0.0))):
            bounds = "natural" if ends is None else ((1, ends[0]), (1, ends[1]))
            expected = CubicSpline(at, places, bc_type=bounds)
            curve, breaks = through(places, False, *(ends or (None, None)))
            assert breaks == pytest.approx(at)
            for t in np.linspace(0.0, at[-1], 37):
                assert curve(float(t)) == pytest.approx(expected(t), abs=1e-7)

    @given(st.integers(0, 10**6))
    def test_closed_ones_agree_with_scipy(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        turns = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 15)))
        if np.diff(turns).min() < 0.02:
            return
        places = [(float(40 * np.cos(t)), float(100 + 30 * np.sin(t))) for t in turns]
        ring = np.array([*places, places[0]])
        at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
        expected = CubicSpline(at, ring, bc_type="periodic")
        curve, breaks = through(places, True)
        assert breaks == pytest.approx(at)
        for t in np.linspace(0.0, at[-1], 37):
            assert curve(float(t)) == pytest.approx(expected(t), abs=1e-8)

    def test_they_are_read_and_said(self) -> None:
        turns = [k * math.pi / 12 for k in range(24)]
        points = "".join(pairs(11, 30 * math.cos(t), 21, 100 + 30 * math.sin(t), 31, 0) for t in turns)
        found = read_dxf(dxf(pairs(0, "SPLINE", 8, "0", 70, 1, 71, 3, 74, 24) + points))
        (loop,) = found.loops_mm()
        assert Path.closed(loop).area == pytest.approx(math.pi * 900, abs=0.2)
        assert found.warnings[0].startswith("1 entities are splines given only by points on them")


class TestBinary:
    GOOD = (
        MARK
        + b"\x00SECTION\x00\x02HEADER\x00\x09$INSUNITS\x00\x46\x04\x00\x00ENDSEC\x00"
        + b"\x00SECTION\x00\x02ENTITIES\x00\x00CIRCLE\x00\x08BRAKE\x00"
        + b"\x0a\x00\x00\x00\x00\x00\x00\x34\x40\x14\x00\x00\x00\x00\x00\x00\x59\x40"
        + b"\xff\xe9\x03note\x00\xff\xec\x03\x02ab"
        + b"\x28\x00\x00\x00\x00\x00\x00\x3e\x40"
        + b"\x00ENDSEC\x00\x00EOF\x00"
    )

    def test_the_form_of_release_12_by_its_bytes(self) -> None:
        """IEEE 754 doubles 20, 100 and 30, written out by hand."""
        found = read_dxf(self.GOOD)
        assert found.bounds == pytest.approx((-10.0, 50.0, 70.0, 130.0), abs=1e-12)
        assert (found.unit, found.layers) == ("mm", {"BRAKE": 1})

    def test_every_cut_is_refused(self) -> None:
        for end in range(len(MARK), len(self.GOOD) - 1):
            with pytest.raises(ReadError):
                read_dxf(self.GOOD[:end])

    def test_what_is_no_number_is_refused_with_its_place(self) -> None:
        bad = self.GOOD.replace(
            b"\x28\x00\x00\x00\x00\x00\x00\x3e\x40", b"\x28\x00\x00\x00\x00\x00\x00\xf8\x7f"
        )
        with pytest.raises(ReadError, match=r"CIRCLE at byte \d+ of the file holds 'nan'"):
            read_dxf(bad)

    def test_every_changed_byte_gives_an_outline_or_one_line(self) -> None:
        outcomes = {"read": 0, "refused": 0}
        for at in range(len(MARK), len(self.GOOD)):
            for change in (0x01, 0x80, 0xFF):
                data = bytearray(self.GOOD)
                data[at] ^= change
                try:
                    read_dxf(bytes(data))
                except ReadError as error:
                    outcomes["refused"] += 1
                    assert "\n" not in str(error)  # noqa: PT017
                else:
                    outcomes["read"] += 1
        assert min(outcomes.values()) > 50


def test_line_spacing_of_a_line_with_two_layers_in_two_spellings() -> None:
    found = read_dxf(dxf(lines(*BOX, layer="Brake"), line(0, 1, 5, 1, layer="BRAKE")))
    assert found.layers == {"Brake": 5}
