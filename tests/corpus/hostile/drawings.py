"""DXF: numbers that never end, blocks within themselves, far too much of everything."""

import math
from collections.abc import Callable, Iterator, Sequence

from tests.corpus.cases import MM_HEADER, REAR, SHARP
from tests.corpus.hostile.inputs import (
    DAMAGED,
    LIMIT_BYTES,
    LIMIT_ENTITIES,
    LIMIT_MM,
    LIMIT_NESTING,
    LIMIT_POINTS,
    NESTED,
    NO_OUTLINE,
    NOT_FINITE,
    TOO_FAR,
    TOO_LARGE,
    TOO_MANY,
    Hostile,
    either,
    harmless,
)
from tests.corpus.shapes import Chain, Point, polygon
from tests.corpus.write_dxf import (
    Block,
    Drawing,
    Entity,
    Layer,
    arc,
    ellipse,
    entity,
    extruded,
    insert,
    line,
    lwpolyline,
    polyline,
    separate,
    spline,
    text,
)
from tests.corpus.write_dxf import circle as circle_entity

R12 = "AC1009"
MARK = 987.654321
"""A number put where a bad one shall stand."""


def made(
    entities: Sequence[Entity], blocks: Sequence[Block] = (), version: str = "AC1015"
) -> Callable[[], bytes]:
    """A drawing in mm, written when asked for."""
    return lambda: Drawing(entities, version, dict(MM_HEADER), blocks=blocks).text().encode()


def with_number(entities: Sequence[Entity], word: str, version: str = "AC1015") -> Callable[[], bytes]:
    """The drawing with `word` in place of the marked number, beside a sound outline."""

    def make() -> bytes:
        plain = Drawing([*separate(SHARP), *entities], version, dict(MM_HEADER)).text()
        assert f"{MARK}" in plain
        return plain.replace(f"{MARK}", word).encode()

    return make


def inputs() -> Iterator[Hostile]:
    """All of this kind."""
    yield from _numbers()
    yield from _odd_values()
    yield from _blocks()
    yield from _counts()
    yield from _structure()


def _numbers() -> Iterator[Hostile]:
    arcs = [arc((MARK, 100.0), 5.0, 0.0, 90.0)]
    bent = [lwpolyline([(0.0, 50.0, MARK), (10.0, 50.0, 0.0), (10.0, 60.0, 0.0)])]
    cases: list[tuple[str, str, list[Entity], str]] = [
        ("nan_arc_centre", "An arc's centre is nan.", arcs, "nan"),
        ("inf_arc_centre", "An arc's centre is inf.", arcs, "inf"),
        ("nan_arc_radius", "An arc's radius is nan.", [arc((0.0, 100.0), MARK, 0.0, 90.0)], "nan"),
        ("1e308_arc_radius", "An arc's radius is 1e308.", [arc((0.0, 100.0), MARK, 0.0, 90.0)], "1e308"),
        ("inf_circle_radius", "A circle's radius is inf.", [circle_entity((0.0, 100.0), MARK)], "inf"),
        ("1e400_line", "A line's end is 1e400.", [line((0.0, 0.0), (MARK, 10.0))], "1e400"),
        ("nan_height", "A line's height is nan.", [line((0.0, 0.0), (5.0, 5.0), heights=(MARK, 0.0))], "nan"),
        ("nan_bulge", "A bulge is nan.", bent, "nan"),
        ("inf_bulge", "A bulge is inf.", bent, "inf"),
        ("1e308_bulge", "A bulge is 1e308.", bent, "1e308"),
        (
            "1e308_polyline",
            "A place of a polyline with bulge is 1e308.",
            [lwpolyline([(MARK, 50.0, 0.5), (10.0, 50.0, 0.5)])],
            "1e308",
        ),
        (
            "nan_ellipse_ratio",
            "An ellipse's ratio is nan.",
            [ellipse((0.0, 100.0), (9.0, 0.0), MARK, 0.0, 3.0)],
            "nan",
        ),
        (
            "1e300_ellipse_parameter",
            "An ellipse ends at parameter 1e300.",
            [ellipse((0.0, 100.0), (9.0, 0.0), 0.5, 0.0, MARK)],
            "1e300",
        ),
        ("inf_spline_knot", "A knot is inf.", [_curve([0.0, 0.0, 0.0, 0.0, MARK, 1.0, 1.0, 1.0])], "inf"),
        ("nan_spline_knot", "A knot is nan.", [_curve([0.0, 0.0, 0.0, 0.0, MARK, 1.0, 1.0, 1.0])], "nan"),
        (
            "1e308_spline_knot",
            "The last knots are 1e308.",
            [_curve([0.0, 0.0, 0.0, 0.0, MARK, MARK, MARK, MARK])],
            "1e308",
        ),
        (
            "nan_insert_scale",
            "An insertion's scale is nan.",
            [insert("NONE", (0.0, 0.0), (MARK, 1.0))],
            "nan",
        ),
        (
            "nan_extrusion",
            "An arc's extrusion is nan.",
            [extruded(arc((0.0, 100.0), 5.0, 0.0, 90.0), (0.0, MARK, 1.0))],
            "nan",
        ),
    ]
    for name, about, entities, word in cases:
        yield Hostile(f"{name}.dxf", about, with_number(entities, word), NOT_FINITE)
    old = polyline([(MARK, 50.0, 0.4), (10.0, 50.0, 0.4), (3.0, 70.0, 0.0)])
    yield Hostile(
        "nan_old_polyline.dxf",
        "A vertex of an R12 polyline with bulge is nan.",
        with_number(old, "nan", R12),
        NOT_FINITE,
    )


def _curve(knots: Sequence[float]) -> Entity:
    return spline(3, [(0.0, 100.0), (5.0, 130.0), (20.0, 120.0), (30.0, 100.0)], knots)


def _odd_values() -> Iterator[Hostile]:
    far = [(z * 60.0, r * 60.0, b) for z, r, b in SHARP]
    yield Hostile(
        "beyond_10_m.dxf",
        f"The outline reaches {182.9 * 60:.0f} mm, over {LIMIT_MM:.0f}.",
        made([lwpolyline(far)]),
        TOO_FAR,
    )
    flat = made(separate(polygon([(0.0, 50.0), (40.0, 90.0)])))
    yield Hostile("no_area.dxf", "One line there and the same back: no area.", flat, NO_OUTLINE)
    dots = made([line((3.0, 50.0), (3.0, 50.0))] * 40)
    yield Hostile("zero_length_only.dxf", "Forty lines of zero length.", dots, NO_OUTLINE)
    bow = polygon([(0.0, 50.0), (40.0, 90.0), (40.0, 50.0), (0.0, 90.0)])
    yield either(
        "crosses_itself.dxf",
        "An outline in the form of a bow tie.",
        made([lwpolyline(bow)]),
        r"cross|itself",
    )
    for name, about, bad in (
        ("arc_radius_zero", "An arc of radius 0.", arc((0.0, 100.0), 0.0, 0.0, 90.0)),
        ("arc_radius_negative", "An arc of radius -5.", arc((0.0, 100.0), -5.0, 0.0, 90.0)),
        ("ellipse_ratio_zero", "An ellipse of ratio 0.", ellipse((0.0, 100.0), (9.0, 0.0), 0.0, 0.0, 6.0)),
        (
            "ellipse_axis_zero",
            "An ellipse whose axis has no length.",
            ellipse((0.0, 100.0), (0.0, 0.0), 0.5, 0.0, 6.0),
        ),
        (
            "extrusion_zero",
            "An arc with extrusion (0, 0, 0).",
            extruded(arc((0.0, 100.0), 5.0, 0.0, 90.0), (0.0, 0.0, 0.0)),
        ),
        ("spline_knots_equal", "A spline whose knots are all equal.", _curve([1.0] * 8)),
        ("spline_knots_fall", "A spline whose knots fall.", _curve([7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.0])),
        ("spline_knots_missing", "A spline with three knots for four places.", _curve([0.0, 0.5, 1.0])),
        (
            "spline_two_controls",
            "A cubic spline of two places.",
            spline(3, [(0.0, 99.0), (9.0, 99.0)], [0.0] * 4 + [1.0] * 4),
        ),
        (
            "spline_degree_1000000",
            "A spline of degree 1,000,000.",
            spline(1_000_000, [(0.0, 99.0), (9.0, 99.0)], [0.0, 1.0]),
        ),
        (
            "spline_weights_zero",
            "A rational spline whose weights are 0.",
            spline(2, [(0.0, 99.0), (9.0, 99.0), (9.0, 109.0)], [0, 0, 0, 1, 1, 1], [0.0] * 3),
        ),
        ("insert_missing_block", "A block is inserted that is not there.", insert("NOT_THERE", (0.0, 0.0))),
    ):
        yield either(
            f"{name}.dxf",
            f"{about} A sound outline stands beside it.",
            made([*separate(SHARP), bad]),
            r"arc|radius|ellipse|spline|knot|weight|degree|extrusion|block|NOT_THERE",
        )
    shrunk = made([insert("CAL", (0.0, 0.0), (0.0, 0.0))], [Block("CAL", separate(SHARP))])
    yield Hostile(
        "insert_scale_zero.dxf",
        "The only block is inserted at scale 0.",
        shrunk,
        NO_OUTLINE + r"|scale|zero",
    )
    blown = made([insert("CAL", (0.0, 0.0), (1e200, 1e200))], [Block("CAL", separate(SHARP))])
    yield Hostile("insert_scale_1e200.dxf", "A block is inserted at scale 1e200.", blown, TOO_FAR + r"|scale")


def tower(levels: int, copies: int) -> Callable[[], bytes]:
    """Blocks in one another, each holding the next `copies` times."""
    blocks = [Block("B0", separate(REAR))]
    for level in range(1, levels):
        blocks.append(Block(f"B{level}", [insert(f"B{level - 1}", (0.1 * i, 0.0)) for i in range(copies)]))
    return made([insert(f"B{levels - 1}", (0.0, 0.0))], blocks)


def _blocks() -> Iterator[Hostile]:
    own = [Block("A", [*separate(SHARP), insert("A", (1.0, 1.0))])]
    yield Hostile(
        "insert_itself.dxf", "A block inserts itself.", made([insert("A", (0.0, 0.0))], own), NESTED
    )
    pair = [Block("A", [insert("B", (1.0, 0.0))]), Block("B", [*separate(SHARP), insert("A", (0.0, 1.0))])]
    yield Hostile(
        "insert_each_other.dxf",
        "Two blocks insert each other.",
        made([insert("A", (0.0, 0.0))], pair),
        NESTED,
    )
    yield Hostile(
        "blocks_8_levels_by_10.dxf",
        "Ten million copies by eight levels of ten insertions.",
        tower(8, 10),
        TOO_MANY + "|" + NESTED,
    )
    array = made(
        [insert("CAL", (0.0, 0.0), array=(30_000, 30_000, 0.1, 0.1))], [Block("CAL", separate(SHARP))], R12
    )
    yield Hostile("insert_array_30000.dxf", "One insertion stands for 900 million copies.", array, TOO_MANY)
    negative = made(
        [insert("CAL", (0.0, 0.0), array=(-5, 32_767, 1.0, 1.0))], [Block("CAL", separate(SHARP))], R12
    )
    yield either(
        "insert_array_negative.dxf",
        "An array of -5 columns.",
        negative,
        TOO_MANY + r"|array|column|-5|outline",
    )
    yield Hostile("nesting_17.dxf", "Seventeen blocks in one another.", tower(LIMIT_NESTING + 1, 1), NESTED)
    yield harmless(
        "nesting_16.dxf",
        "Sixteen blocks in one another, as many as are allowed.",
        tower(LIMIT_NESTING, 1),
        REAR,
    )
    dimension: Entity = [
        (0, "DIMENSION"),
        (100, "AcDbEntity"),
        (8, "0"),
        (100, "AcDbDimension"),
        (2, "*D1"),
        (10, "0.0"),
        (20, "0.0"),
        (30, "0.0"),
        (70, "32"),
        (1, ""),
    ]
    looped = made([*separate(SHARP), dimension], [Block("*D1", [dimension], flags=1)])
    yield harmless(
        "dimension_of_itself.dxf", "A dimension's block holds the dimension; the outline is sound.", looped
    )
    reference = Block("XREF", (), flags=4, path="/etc/passwd")
    linked = made([*separate(SHARP), insert("XREF", (0.0, 0.0))], [reference])
    yield harmless(
        "external_reference_passwd.dxf",
        "A block refers to a file of the system; it must not be opened.",
        linked,
    )


def _on_circle(share: float) -> Point:
    return (45.0 * math.cos(math.tau * share), 150.0 + 45.0 * math.sin(math.tau * share))


def _counts() -> Iterator[Hostile]:
    def lines(count: int) -> Callable[[], bytes]:
        return lambda: made([line((0.01 * i, 50.0), (0.01 * i, 51.0)) for i in range(count)], version=R12)()

    yield Hostile(
        "entities_50001.dxf", "One line more than are allowed.", lines(LIMIT_ENTITIES + 1), TOO_MANY
    )
    texts = [text("x", (0.0, 0.0))] * (LIMIT_ENTITIES - len(SHARP))
    yield harmless(
        "entities_50000.dxf",
        "As many entities as are allowed: an outline of six lines, the rest texts.",
        lambda: made([*separate(SHARP), *texts], version=R12)(),
    )

    def round_polygon(count: int) -> Chain:
        return polygon([_on_circle(i / count) for i in range(count)])

    most = round_polygon(LIMIT_POINTS)
    yield harmless(
        "points_20000.dxf", "A polyline of as many places as are allowed.", made([lwpolyline(most)]), most
    )
    yield Hostile(
        "points_20001.dxf",
        "A polyline of one place more than are allowed.",
        made([lwpolyline(round_polygon(LIMIT_POINTS + 1))]),
        TOO_MANY,
    )

    def star() -> bytes:
        return made([line((0.0, 100.0), (0.004 * (i - 10_000), 140.0)) for i in range(20_000)], version=R12)()

    yield either(
        "star_20000_lines.dxf",
        "Twenty thousand lines leave one place: no end of ways to go on.",
        star,
        NO_OUTLINE + "|branch|open|join|many",
    )

    def grid() -> bytes:
        across = [line((i, 50.0 + j), (i + 1.0, 50.0 + j)) for i in range(100) for j in range(101)]
        up = [line((float(i), 50.0 + j), (float(i), 51.0 + j)) for i in range(101) for j in range(100)]
        return made([*across, *up], version=R12)()

    yield either(
        "grid_20200_lines.dxf",
        "A grid of 100 x 100 cells out of single lines.",
        grid,
        NO_OUTLINE + "|branch|outlines|cross|join|many",
    )

    def weighs(size: int) -> Callable[[], bytes]:
        def make() -> bytes:
            plain = made(separate(SHARP), version=R12)()
            comment = b"999\n" + b"x" * 90 + b"\n"
            count, rest = divmod(size - len(plain), len(comment))
            pad = b"" if rest == 0 else b"999\n" + b"y" * (rest - 5) + b"\n" if rest >= 5 else b" " * rest
            return comment * count + pad + plain

        return make

    yield Hostile(
        "weighs_20_mb_and_1.dxf",
        "One byte more than a drawing may weigh.",
        weighs(LIMIT_BYTES["dxf"] + 1),
        TOO_LARGE,
    )


def _structure() -> Iterator[Hostile]:
    plain = made(separate(SHARP))
    yield Hostile(
        "cut_within_entity.dxf",
        "The file ends within an entity.",
        lambda: plain()[: plain().rindex(b"LINE") + 60],
        DAMAGED,
        opens=True,
    )
    yield either(
        "no_end_mark.dxf",
        "The end mark is missing, all else is there.",
        lambda: plain().removesuffix(b"  0\nEOF\n"),
        DAMAGED,
    )
    yield Hostile(
        "group_code_word.dxf",
        "A group code is a word.",
        lambda: plain().replace(b" 10\n", b"TEN\n", 1),
        DAMAGED + "|group|code|line",
    )
    claim = made([[*lwpolyline(SHARP)[:4], (90, "4000000000"), *lwpolyline(SHARP)[5:]]])
    yield either(
        "polyline_claims_4e9.dxf",
        "A polyline claims four thousand million places and has six.",
        claim,
        DAMAGED,
    )
    endless = made(
        [entity("POLYLINE", "AcDb2dPolyline", "0", (66, 1), (70, 1)), *separate(SHARP)], version=R12
    )
    yield either(
        "polyline_without_end.dxf", "A polyline without vertices and without its end mark.", endless, DAMAGED
    )
    noise = "m onih mn lonn" * 20
    solid = made([entity("3DSOLID", "AcDbModelerGeometry", "0", (70, 1), (1, noise))])
    yield Hostile(
        "only_a_solid.dxf", "Nothing but a solid in a kernel's own coding.", solid, NO_OUTLINE + "|solid"
    )
    yield Hostile("no_entities.dxf", "Sound, but without a single entity.", made([]), NO_OUTLINE)
    words = Layer("\x1b[31mred\x1b[0m \N{RIGHT-TO-LEFT OVERRIDE}evil <b>&amp;")
    colours = Drawing(separate(SHARP, words.name), "AC1015", dict(MM_HEADER), layers=[words])
    yield harmless(
        "layer_name_escapes.dxf",
        "A layer's name holds terminal codes, a turn of writing, markup.",
        lambda: colours.text().encode(),
    )
    braces = made(
        [*separate(SHARP), entity("MTEXT", "AcDbMText", "0", (10, 0.0), (20, 0.0), (1, "{" * 100_000))]
    )
    yield harmless(
        "mtext_100000_braces.dxf",
        "A text of a hundred thousand opening braces; the outline is sound.",
        braces,
    )
