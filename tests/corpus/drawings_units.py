"""Drawings with a wrong, missing or misleading unit or scale."""

from collections.abc import Iterator

from tests.corpus.cases import FOUR_PISTON, INCH, REAR, SHARP, STEPPED, Case, drawing
from tests.corpus.shapes import scaled
from tests.corpus.truth import Options
from tests.corpus.write_dxf import Block, Drawing, HeaderValue, insert, lwpolyline, polyline, separate, text

ENGLISH: dict[str, HeaderValue] = {"$INSUNITS": (70, 1), "$MEASUREMENT": (70, 0)}


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _no_unit()
    yield from _wrong_unit()
    yield from _wrong_scale()
    yield from _block_units()


def _no_unit() -> Iterator[Case]:
    yield drawing(
        "unit_missing.dxf",
        Drawing(separate(FOUR_PISTON)),
        "No unit in the header; drawn in mm.",
        [FOUR_PISTON],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    yield drawing(
        "unit_missing_inch.dxf",
        Drawing(separate(scaled(STEPPED, 1 / INCH))),
        "No unit in the header; drawn in inches.",
        [STEPPED],
        unit=None,
        options=Options(unit="in"),
        questions=("unit",),
    )
    yield drawing(
        "unit_zero.dxf",
        Drawing([lwpolyline(scaled(REAR, 1 / INCH))], header={"$INSUNITS": (70, 0), "$MEASUREMENT": (70, 0)}),
        "The header says 'unitless' and English measurement; drawn in inches. The second is a "
        "hint, not a unit.",
        [REAR],
        unit=None,
        options=Options(unit="in"),
        questions=("unit",),
    )
    yield drawing(
        "unit_r12.dxf",
        Drawing(separate(SHARP), version="AC1009"),
        "R12, which has no unit in its header at all; drawn in mm.",
        [SHARP],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    for code, name, size in ((5, "cm", 10.0), (6, "m", 1000.0), (2, "ft", 304.8), (1, "in", INCH)):
        yield drawing(
            f"unit_stated_{name}.dxf",
            Drawing([lwpolyline(scaled(STEPPED, 1 / size))], header={"$INSUNITS": (70, code)}),
            f"The header says {name} and the drawing is in {name}: nothing to ask, only to convert.",
            [STEPPED],
            unit=name,
        )


def _wrong_unit() -> Iterator[Case]:
    yield drawing(
        "unit_header_inch_drawn_mm.dxf",
        Drawing(separate(STEPPED), header=ENGLISH),
        "The header was left at its default of inches, but the drawing is in mm: taken at its "
        "word, 5 m large.",
        [STEPPED],
        unit="in",
        options=Options(unit="mm"),
        questions=("unit",),
    )
    yield drawing(
        "unit_header_mm_drawn_inch.dxf",
        Drawing(separate(scaled(FOUR_PISTON, 1 / INCH))),
        "The header says mm, but the drawing is in inches: taken at its word, the caliper reaches 8 mm.",
        [FOUR_PISTON],
        options=Options(unit="in"),
        questions=("unit",),
    )
    yield drawing(
        "unit_header_contradicts_text.dxf",
        Drawing(
            [*separate(REAR), text("ALL DIMENSIONS IN MILLIMETRES", (-60.0, 220.0))],
            header={"$INSUNITS": (70, 1), "$MEASUREMENT": (70, 1)},
        ),
        "The header says inches with metric measurement, a note in the drawing says millimetres; "
        "drawn in mm.",
        [REAR],
        unit="in",
        options=Options(unit="mm"),
        skipped={"TEXT": 1},
        questions=("unit",),
    )


def _wrong_scale() -> Iterator[Case]:
    yield drawing(
        "scale_25_4_twice.dxf",
        Drawing([lwpolyline(scaled(FOUR_PISTON, INCH))]),
        "Mm values were taken for inches and converted once more: the header says mm, all is 25.4 "
        "times too large.",
        [FOUR_PISTON],
        options=Options(factor=1 / INCH),
        questions=("unit",),
    )
    yield drawing(
        "scale_10.dxf",
        Drawing(separate(scaled(REAR, 10.0))),
        "Ten times too large under a header of mm.",
        [REAR],
        options=Options(factor=0.1),
        questions=("unit",),
    )
    yield drawing(
        "scale_thousandth.dxf",
        Drawing([lwpolyline(scaled(SHARP, 0.001))]),
        "Drawn in metres under a header of mm: the caliper reaches 0.18.",
        [SHARP],
        options=Options(unit="m"),
        questions=("unit",),
    )
    yield drawing(
        "scale_1000.dxf",
        Drawing([lwpolyline(scaled(SHARP, 1000.0))]),
        "A thousand times too large under a header of mm: the caliper reaches 183 m, over the limit of 10 m.",
        [SHARP],
        options=Options(factor=0.001),
        questions=("unit",),
        may_refuse=r"(?i)10[ ,']?000|too (large|far)|limit|unit|scale",
    )
    yield drawing(
        "scale_text_half.dxf",
        Drawing(
            [
                *separate(scaled(STEPPED, 0.5)),
                text("SCALE 1:2", (-40.0, 30.0)),
                text("DIM. IN MM", (-40.0, 24.0)),
            ]
        ),
        "A picture at half size: the text says SCALE 1:2 and the outline is drawn at half its size.",
        [STEPPED],
        options=Options(factor=2.0),
        skipped={"TEXT": 2},
        questions=("scale",),
        warnings=(r"(?i)scale|1:2|half",),
    )


def _block_units() -> Iterator[Case]:
    yield drawing(
        "block_own_unit_scaled.dxf",
        Drawing(
            [insert("CALIPER", (0.0, 0.0), (INCH, INCH))],
            blocks=[Block("CALIPER", [lwpolyline(scaled(FOUR_PISTON, 1 / INCH))], unit=1)],
        ),
        "A block with its own unit, inches, in a drawing in mm; the insertion already carries the "
        "scale 25.4.",
        [FOUR_PISTON],
    )
    yield drawing(
        "block_own_unit_unscaled.dxf",
        Drawing(
            [insert("CALIPER", (0.0, 0.0))],
            blocks=[Block("CALIPER", [lwpolyline(scaled(STEPPED, 1 / INCH))], unit=1)],
        ),
        "A block with its own unit, inches, inserted at scale 1 in a drawing in mm: nothing was converted.",
        [STEPPED],
        options=Options(unit="in"),
        questions=("unit",),
    )
    yield drawing(
        "block_never_inserted.dxf",
        Drawing(
            polyline(REAR),
            version="AC1009",
            blocks=[Block("OLD_REV", polyline(scaled(REAR, 1.04))), Block("SYMBOL", separate(SHARP))],
        ),
        "Blocks that are never inserted hold other outlines; only what is inserted is in the drawing.",
        [REAR],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
