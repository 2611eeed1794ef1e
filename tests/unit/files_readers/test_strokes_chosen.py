"""Which strokes of a drawing are read: layers that are off at first or hidden, kinds that are chosen."""

from __future__ import annotations

import pytest

from app.files.readers.answer import ReadError
from app.files.readers.strokes import is_off_at_first
from tests.support.drawings import circle, dxf, line, lines, pairs, polyline, read_dxf

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))
AROUND = ((-50.0, 0.0), (350.0, 0.0), (350.0, 290.0), (-50.0, 290.0))


class TestOffAtFirst:
    SAY_SO = (
        "DIM, Dims, DIMENSION, dimensions, Dim-Lines, DIM_25, Text, TEXTS, Text_2, note, TITLE, Title-Block, "
        "TITLEBLOCK, title block, BORDER, Frame, DEFPOINTS, HATCH, hatching, CENTRE_LINE, centreline, axis, "
        "CENTER-LINES, centerlines, ANNOTATION, base|DIM, base$0$TEXT"
    )
    HOLD_OUTLINES = (
        "0, 1, BRAKE, Outline, CENTRE, CENTER, CL, SHEET, Shield, BLOCK, LINE, LINES, caliper_text_side, "
        "SUBFRAME, FRAMES2D, DIMPLE, TEXTURE, AXISYMMETRIC, wheel-frame, note_book, HIDDEN, VISIBLE, DIM TEXT"
    )

    @pytest.mark.parametrize("name", SAY_SO.split(", "))
    def test_names_that_say_so(self, name: str) -> None:
        assert is_off_at_first(name)

    @pytest.mark.parametrize("name", HOLD_OUTLINES.split(", "))
    def test_names_that_can_hold_an_outline(self, name: str) -> None:
        assert not is_off_at_first(name)

    def test_they_are_left_out_counted_and_can_be_asked_for(self) -> None:
        drawing = dxf(
            lines(*BOX, layer="BRAKE"), lines(*AROUND, layer="Frame"), line(0, 9, 9, 9, layer="Dim")
        )
        found = read_dxf(drawing)
        assert len(found.loops_mm()) == 1
        assert found.off == ("Dim", "Frame")
        assert found.skipped == {"on layer Dim, off at first": 1, "on layer Frame, off at first": 4}
        assert found.layers == {"BRAKE": 4, "Dim": 1, "Frame": 4}
        assert len(read_dxf(drawing, layers=("BRAKE", "FRAME")).loops_mm()) == 2

    def test_a_drawing_on_such_a_layer_alone_can_still_be_chosen(self) -> None:
        found = read_dxf(dxf(lines(*BOX, layer="FRAME")))
        assert (found.loops, found.off, found.layers) == ((), ("FRAME",), {"FRAME": 4})
        with pytest.raises(ReadError, match=r"no closed outline.*left out: 4 on layer FRAME, off at first"):
            found.loops_mm()


class TestChooser:
    DRAWING = dxf(
        lines(*BOX, layer="A"),
        circle(80, 120, 10, layer="a") + pairs(62, 1),
        circle(120, 120, 10, layer="B") + pairs(420, 0x12AB00),
        polyline((150, 100), (160, 100), (160, 110), layer="B") + pairs(62, 3),
    )

    def test_everything_is_counted(self) -> None:
        found = read_dxf(self.DRAWING)
        assert found.layers == {"A": 5, "B": 2}
        assert found.colours == {"#12ab00": 1, "1": 1, "3": 1, "7": 4}
        assert found.kinds == {"CIRCLE": 2, "LINE": 4, "LWPOLYLINE": 1}
        assert len(found.loops_mm()) == 4

    @pytest.mark.parametrize(
        ("how", "loops", "skipped"),
        [
            ({"layers": ("a",)}, 2, {"on other layers": 2}),
            ({"colours": ("7", "#12ab00")}, 2, {"in other colours": 2}),
            ({"kinds": ("CIRCLE", "LWPOLYLINE")}, 3, {"of other kinds": 4}),
            ({"layers": ("A",), "kinds": ("LINE",)}, 1, {"on other layers": 2, "of other kinds": 1}),
        ],
    )
    def test_one_kind_of_thing_is_read(
        self, how: dict[str, object], loops: int, skipped: dict[str, int]
    ) -> None:
        found = read_dxf(self.DRAWING, **how)
        assert (len(found.loops_mm()), found.skipped) == (loops, skipped)
        assert found.layers == {"A": 5, "B": 2}


class TestHiddenLayers:
    def test_they_are_among_those_that_are_off(self) -> None:
        tables = (
            pairs(0, "TABLE", 2, "LAYER")
            + pairs(0, "LAYER", 2, "FROZEN", 70, 1, 62, 7)
            + pairs(0, "LAYER", 2, "OFF", 70, 0, 62, -7)
            + pairs(0, "LAYER", 2, "SEEN", 70, 0, 62, 7)
            + pairs(0, "ENDTAB")
        )
        circles = [
            circle(100 * k, 200, 30, layer=name) for k, name in enumerate(("FROZEN", "OFF", "SEEN", "TEXT"))
        ]
        found = read_dxf(dxf(*circles, tables=tables))
        assert found.off == ("FROZEN", "OFF", "TEXT")
        assert found.layers == {"FROZEN": 1, "OFF": 1, "SEEN": 1, "TEXT": 1}
        assert len(found.loops_mm()) == 1
        assert len(read_dxf(dxf(*circles, tables=tables), layers=("OFF",)).loops_mm()) == 1
