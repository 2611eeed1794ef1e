"""Notes of a drawing that state a scale: quoted, wherever they stand beside it."""

import pytest

from app.files.readers.notes import scale_in, shown
from tests.support.drawings import block, dxf, insert, lines, pairs, read_dxf
from tests.support.svg import read_svg, svg

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))


def text(words: str, kind: str = "TEXT", more: str = "") -> str:
    return pairs(0, kind, 8, "NOTES", 10, 0, 20, 0, 40, 3, 1, words) + more


@pytest.mark.parametrize(
    "words",
    [
        *(
            "1:2",
            "2:1",
            "1 : 2",
            "1:2.5",
            "SCALE 1:2",
            "Scale: 2:1",
            "M 1:5",
            "M1:5",
            "MASSTAB 1:5",
            "Maßstab 2:1",
        ),
        *(
            "1/2 scale",
            "1/2 SIZE",
            "half size",
            "HALF SCALE",
            "quarter-size",
            "double size",
            "twice the size",
        ),
        *("NOT TO SCALE", "not drawn to scale", "N.T.S.", "NTS", "(NTS)", "SCALE NONE", "SCALE: NTS"),
        *("SCALE 0.5", "SCALE 2", "SCALE = 1/2", "scale as shown", "SCALE 1:1, DETAIL A 2:1"),
        *("REDUCED SIZE", "do not scale drawing; scale 1:2", "SCALE 1:10", "10:1", "1:1.5"),
    ],
)
def test_a_scale_other_than_full_size_is_found(words: str) -> None:
    assert scale_in(words)


@pytest.mark.parametrize(
    "words",
    [
        *("", "1:1", "SCALE 1:1", "SCALE 1 : 1", "M 1:1", "1:1.0", "full size", "FULL SCALE", "SCALE 1"),
        *("DO NOT SCALE", "DO NOT SCALE DRAWING", "Do not scale from this print", "don't scale", "SCALE"),
        *(
            "12:30",
            "2024-01-05 10:15:30",
            "DIM. IN MM",
            "R1.5",
            "PART 1/2",
            "half",
            "limescale",
            "nuts",
            "M8x1.25",
        ),
        *("scaled free", "3:2:1", "11:10", "agents", "sheet 1/2", "double row", "0.5 x 45"),
    ],
)
def test_others_say_nothing_of_it(words: str) -> None:
    assert scale_in(words) == ""


def test_a_long_note_is_quoted_about_its_scale() -> None:
    assert scale_in("a" * 300 + " half size " + "b" * 300) == "…" + "a" * 11 + " half size " + "b" * 11 + "…"
    assert scale_in(" " * 100_000 + "1:2") == ""


@pytest.mark.parametrize(
    ("coded", "plain_words"),
    [
        (r"{\fArial|b0|i0;SCALE} \S1/2;", "SCALE 1/2"),
        (r"SCALE\P1:2", "SCALE 1:2"),
        (r"\A1;\H2.5x;\C1;half\~size", "half size"),
        (r"%%uSCALE%%u 1:2", "SCALE 1:2"),
        (r"\S1#2; scale", "1/2 scale"),
    ],
)
def test_formatting_codes_are_taken_off(coded: str, plain_words: str) -> None:
    assert shown(coded) == plain_words


class TestInDrawings:
    def said(self, *entities: str, tables: str = "", blocks: str = "") -> tuple[str, ...]:
        return read_dxf(dxf(lines(*BOX), *entities, tables=tables, blocks=blocks)).warnings

    def test_a_text_is_quoted_and_the_size_called_doubtful(self) -> None:
        (said,) = self.said(text("SCALE 1:2"))
        assert said.startswith("a note says 'SCALE 1:2': the outline may not be drawn at full size")

    def test_a_paragraph_in_parts(self) -> None:
        parts = pairs(0, "MTEXT", 8, "0", 10, 0, 20, 0, 3, "All radii R2. NOT TO ", 1, r"SCALE.\PMaterial")
        assert "NOT TO SCALE" in self.said(parts)[0]

    def test_an_attribute_stands_behind_its_name(self) -> None:
        part = block("TITLE", text("Drawn by"))
        title = (
            insert("TITLE", extra=pairs(66, 1))
            + text("0.5", "ATTRIB", pairs(2, "SCALE"))
            + pairs(0, "SEQEND")
        )
        assert "'SCALE 0.5'" in self.said(title, blocks=part)[0]

    def test_in_blocks_and_those_within_them_each_once(self) -> None:
        inner, outer = block("I", text("NTS")), block("O", insert("I"), insert("I"))
        (said,) = self.said(insert("O"), insert("O"), blocks=inner + outer)
        assert said.startswith("a note says 'NTS'")

    def test_several_are_quoted_and_the_rest_counted(self) -> None:
        (said,) = self.said(*(text(f"1:{k}") for k in range(2, 7)))
        assert said.startswith("notes say '1:2', '1:3', '1:4' and 2 more: ")

    def test_on_layers_that_are_hidden_too(self) -> None:
        table = pairs(0, "TABLE", 2, "LAYER", 0, "LAYER", 2, "NOTES", 70, 1, 62, 7, 0, "ENDTAB")
        assert len(self.said(text("1:2"), tables=table)) == 1

    def test_what_is_no_note_of_the_drawing_is_not_looked_at(self) -> None:
        assert (
            self.said(text("1:2", more=pairs(67, 1)), text("1:2", "ATTDEF"), blocks=block("B", text("1:2")))
            == ()
        )

    def test_it_is_said_in_an_svg_too(self) -> None:
        box = '<path d="M10-100h30v-30h-30z"/>'
        found = read_svg(svg(box, "<text>scale <tspan>1:2</tspan></text>"))
        assert found.warnings[0].startswith("a note says 'scale 1:2'")
