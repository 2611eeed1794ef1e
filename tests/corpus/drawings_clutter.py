"""Drawings in which the outline lies among other things: layers, frames, texts, dimensions."""

from collections.abc import Iterator

from tests.corpus.cases import EVEN, FOUR_PISTON, MM_HEADER, REAR, SHARP, STEPPED, Case, drawing
from tests.corpus.shapes import Chain, Piece, Point, box, circle, moved, pieces, polygon, scaled
from tests.corpus.truth import Options
from tests.corpus.write_dxf import (
    Block,
    Drawing,
    Entity,
    Layer,
    entity,
    insert,
    line,
    lwpolyline,
    polyline,
    separate,
    text,
)
from tests.corpus.write_dxf import circle as circle_entity

R12 = "AC1009"


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _hidden_layers()
    yield from _sheets()
    yield from _dimensions()
    yield from _places()
    yield from _halves()
    yield from _contours()
    yield from _odd_files()


def _hidden_layers() -> Iterator[Case]:
    old = [lwpolyline(moved(scaled(STEPPED, 1.02), 0.0, 3.1), "REV_A")]
    yield drawing(
        "layer_frozen.dxf",
        Drawing([*separate(STEPPED, "REV_B"), *old], layers=[Layer("REV_A", flags=1), Layer("REV_B")]),
        "An earlier revision lies on a frozen layer.",
        [STEPPED],
        warnings=(r"(?i)frozen|hidden|off|not shown|invisible",),
    )
    yield drawing(
        "layer_off.dxf",
        Drawing(
            [*polyline(FOUR_PISTON, "SHAPE"), *polyline(scaled(FOUR_PISTON, 0.97), "OLD")],
            version=R12,
            layers=[Layer("SHAPE"), Layer("OLD", colour=-3)],
        ),
        "An earlier, smaller outline lies on a layer that is switched off (negative colour).",
        [FOUR_PISTON],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
        warnings=(r"(?i)frozen|hidden|off|not shown|invisible",),
    )
    name = "Außenkontur Öse"
    content = Drawing(
        [*separate(REAR, name), *separate(box(-90.0, 60.0, 90.0, 215.0), "Rahmen")],
        version=R12,
        header={"$DWGCODEPAGE": (3, "ANSI_1252")},
        layers=[Layer(name), Layer("Rahmen")],
    )
    yield drawing(
        "layer_name_1252.dxf",
        content.text("\r\n").encode("cp1252"),
        "The layer's name has letters of the western code page, not UTF-8.",
        [REAR],
        unit=None,
        options=Options(unit="mm", layers=(name,)),
        questions=("unit",),
    )


def title_block(
    layer: str, width: float = 420.0, height: float = 297.0, at: tuple[float, float] = (-160.0, -20.0)
) -> list[Entity]:
    """A frame with its inner line and a title block of seven lines and texts."""
    z, r = at
    items = separate(box(z, r, z + width, r + height), layer)
    items += separate(box(z + 10.0, r + 10.0, z + width - 10.0, r + height - 10.0), layer)
    right = z + width - 10.0
    for i in range(1, 4):
        items.append(line((right - 180.0, r + 10.0 + 12.0 * i), (right, r + 10.0 + 12.0 * i), layer))
    for x in (right - 180.0, right - 120.0, right - 60.0):
        items.append(line((x, r + 10.0), (x, r + 46.0), layer))
    for i, words in enumerate(("CALIPER ENVELOPE", "SHEET 1 OF 1", "PRINT AT 100 %")):
        items.append(text(words, (right - 176.0, r + 14.0 + 12.0 * i), layer=layer))
    return items


def _arrow(z: float, length: float) -> Entity:
    tip, back = (z, 60.0), z + length
    corners = (tip, (back, 60.5), (back, 59.5), (back, 59.5))
    tags: list[tuple[int, float]] = []
    for i, (x, y) in enumerate(corners):
        tags += [(10 + i, x), (20 + i, y), (30 + i, 0.0)]
    return entity("SOLID", "AcDbTrace", "DIM", *tags)


def _sheets() -> Iterator[Case]:
    yield drawing(
        "frame_and_title.dxf",
        Drawing(
            [*title_block("FRAME"), *separate(FOUR_PISTON, "OUTLINE")],
            layers=[Layer("FRAME"), Layer("OUTLINE")],
        ),
        "A frame of two rectangles and a title block on a layer of their own.",
        [FOUR_PISTON],
        options=Options(layers=("OUTLINE",)),
    )
    yield drawing(
        "frame_on_same_layer.dxf",
        Drawing([*title_block("0"), *separate(REAR)], version=R12),
        "Frame and title block lie on the outline's own layer; the largest closed outline is the frame.",
        [REAR],
        unit=None,
        options=Options(unit="mm", inside=(0.0, 120.0)),
        others=[box(-160.0, -20.0, 260.0, 277.0), box(-150.0, -10.0, 250.0, 267.0)],
        skipped={"TEXT": 3},
        questions=("unit", "outline"),
    )
    hatch = [line((-60.0 + 4.0 * i, 110.0), (-50.0 + 4.0 * i, 120.0), "HATCHING") for i in range(20)]
    arrows = [_arrow(-71.3, 2.0), _arrow(49.7, -2.0)]
    extensions = [line((x, 58.0), (x, 108.0), "DIM") for x in (-71.3, 49.7)]
    yield drawing(
        "every_layer_r12.dxf",
        Drawing(
            [
                *title_block("FRAME"),
                *separate(STEPPED, "K1"),
                line((-120.0, 0.0), (120.0, 0.0), "CENTRE"),
                line((0.0, -15.0), (0.0, 230.0), "CENTRE"),
                *extensions, *arrows, line((-71.3, 60.0), (49.7, 60.0), "DIM"),
                text("121", (-12.0, 61.5), layer="DIM"),
                *hatch,
                *separate(box(-14.2, 70.0, 14.2, 172.5), "DISC"),
                text("K", (80.0, 150.0), layer="NOTES"),
            ],
            version=R12,
            layers=[Layer(name) for name in ("FRAME", "K1", "CENTRE", "DIM", "HATCHING", "DISC", "NOTES")],
        ),
        "An old drawing in which frame, centre lines, dimension lines, hatching and disc are plain "
        "lines on seven layers.",
        [STEPPED],
        unit=None,
        options=Options(unit="mm", layers=("K1",)),
        questions=("unit",),
    )  # fmt: skip
    detail = [
        [*item[:2], (67, "1"), *item[2:]]
        for item in (*title_block("0"), *separate(moved(scaled(SHARP, 0.5), 40.0, 30.0)))
    ]
    yield drawing(
        "paper_space.dxf",
        Drawing([*separate(SHARP), *detail]),
        "Paper space holds frame, title and a half-size copy of the outline; only model space counts.",
        [SHARP],
        warnings=(r"(?i)paper|layout|sheet",),
    )


def _dimensions() -> Iterator[Case]:
    a, b = (-67.4, 85.0), (58.3, 85.0)
    drawn = lwpolyline(FOUR_PISTON)
    shown = [line(a, b), text("140", (-10.0, 86.0))]
    dimension = [
        *entity("DIMENSION", "AcDbDimension", "0", (2, "*D1"), (10, b[0]), (20, 85.0), (30, 0.0),
                (11, 0.0), (21, 87.0), (31, 0.0), (70, 32), (1, "140"), (42, b[0] - a[0])),
        (100, "AcDbAlignedDimension"), (13, "-67.4"), (23, "121.3"), (33, "0.0"),
        (14, "58.3"), (24, "126.7"), (34, "0.0"), (50, "0.0"), (100, "AcDbRotatedDimension"),
    ]  # fmt: skip
    yield drawing(
        "dimension_not_to_scale.dxf",
        Drawing([drawn, dimension], blocks=[Block("*D1", shown, flags=1)]),
        "A dimension's text says 140 where 125.7 is drawn: either the text or the drawing is wrong.",
        [FOUR_PISTON],
        skipped={"DIMENSION": 1},
        questions=("scale",),
        warnings=(r"(?i)dimension|140|not to scale|drawn length",),
    )
    strays = [
        line((-95.0, 150.0), (80.0, 150.0)),
        line((-58.1, 101.0), (-58.1, 76.0)),
        line((51.6, 161.5), (51.6, 76.0)),
        line((-58.1, 80.0), (51.6, 80.0)),
        *(
            line((x, 80.0), (x + side * 2.5, 80.0 + up))
            for x, side in ((-58.1, 1), (51.6, -1))
            for up in (0.6, -0.6)
        ),
    ]
    yield drawing(
        "dimensions_exploded.dxf",
        Drawing([*separate(SHARP), *strays, text("109.7", (-10.0, 81.0))], version=R12),
        "Centre line, extension lines, dimension line and arrow strokes lie as plain lines on the "
        "outline's layer.",
        [SHARP],
        unit=None,
        options=Options(unit="mm"),
        skipped={"TEXT": 1},
        questions=("unit",),
        warnings=(r"(?i)open|loose|left|stray|single|no part",),
    )


def _places() -> Iterator[Case]:
    yield drawing(
        "origin_far.dxf",
        Drawing(separate(moved(REAR, 6143.7, 2718.3))),
        "The drawing lies 6 m off its origin.",
        [REAR],
        options=Options(shift_mm=(-6143.7, -2718.3)),
        questions=("zero",),
        tol=1e-5,
    )
    yield drawing(
        "origin_very_far.dxf",
        Drawing([lwpolyline(moved(STEPPED, 254000.5, -87300.25))]),
        "The drawing lies 254 m off its origin, over the limit of 10 m.",
        [STEPPED],
        options=Options(shift_mm=(-254000.5, 87300.25)),
        questions=("zero", "axle"),
        may_refuse=r"(?i)10[ ,']?000|far|limit|origin",
    )
    z0, r0 = -4.55, 150.6
    yield drawing(
        "origin_in_middle.dxf",
        Drawing([lwpolyline(moved(FOUR_PISTON, -z0, -r0))]),
        "The origin was moved to the drawing's middle, so half of it lies below the axle.",
        [FOUR_PISTON],
        options=Options(shift_mm=(z0, r0)),
        questions=("zero", "axle"),
    )
    yield drawing(
        "origin_at_lower_left.dxf",
        Drawing(separate(moved(SHARP, 58.1, -95.3))),
        "The origin was moved to the lower left corner: nothing lies below the axle, so nothing looks wrong.",
        [SHARP],
        options=Options(shift_mm=(-58.1, 95.3)),
        questions=("zero",),
    )
    yield drawing(
        "axle_upright.dxf",
        Drawing([lwpolyline([(r, z, -bulge) for z, r, bulge in STEPPED])]),
        "The axle runs along y, outboard up; the radius runs along x.",
        [STEPPED],
        options=Options(axle="y"),
        questions=("axle",),
    )
    yield drawing(
        "outboard_left.dxf",
        Drawing(separate([(-z, r, -bulge) for z, r, bulge in FOUR_PISTON])),
        "Outboard is on the left of the sheet.",
        [FOUR_PISTON],
        options=Options(flip=True),
    )


def _halves() -> Iterator[Case]:
    # EVEN without its inboard half: from (0, 99.4) round outboard to (0, 191.7).
    outboard: Chain = [(0.0, 99.4, 0.0), *EVEN[4:12], (0.0, 191.7, 0.0)]
    yield drawing(
        "half_about_zero.dxf",
        Drawing(separate(outboard, closed=False)),
        "Only the outboard half is drawn, open at z = 0, where it is to be mirrored.",
        [EVEN],
        options=Options(complete_at_z_mm=0.0),
        joined=(0, 2),
        questions=("mirror",),
    )
    inboard: Chain = [(-z, r, -bulge) for z, r, bulge in outboard]
    yield drawing(
        "half_about_own_centre.dxf",
        Drawing(polyline(moved(inboard, -7.35, 0.0), closed=False), version=R12),
        "Only the inboard half is drawn, open at its own middle, z = -7.35, where it is to be mirrored.",
        [moved(EVEN, -7.35, 0.0)],
        unit=None,
        options=Options(unit="mm", complete_at_z_mm=-7.35),
        joined=(0, 2),
        questions=("unit", "mirror"),
    )
    yield drawing(
        "half_closed_by_centre_line.dxf",
        Drawing([lwpolyline(outboard)]),
        "The drawn half is closed by a line along its middle, so it looks complete.",
        [EVEN],
        options=Options(complete_at_z_mm=0.0),
        joined=(0, 2),
        doubles=(0, 1),
        questions=("mirror",),
    )
    upper = next(i for i, p in enumerate(pieces(FOUR_PISTON)) if p.start[0] > -20.3 > p.end[0])
    lower = next(i for i, p in enumerate(pieces(FOUR_PISTON)) if p.start[0] < -20.3 < p.end[0])
    first, last = (_at_z(pieces(FOUR_PISTON)[i], -20.3) for i in (lower, upper))
    cut: Chain = [(*first, 0.0), *FOUR_PISTON[lower + 1 : upper + 1], (*last, 0.0)]
    yield drawing(
        "outboard_part_only.dxf",
        Drawing(separate(cut, closed=False)),
        "Only the outboard part of the caliper is drawn, open at z = -20.3: inboard of it nothing is known.",
        [cut],
        closed=False,
        questions=("extent",),
        warnings=(r"(?i)open|extent|known|not closed|end",),
        may_refuse=r"(?i)open|not closed|gap",
    )


def _at_z(side: Piece, z: float) -> Point:
    return side.at((z - side.start[0]) / (side.end[0] - side.start[0]))


def _contours() -> Iterator[Case]:
    disc, hat, knuckle = (
        box(-14.2, 70.3, 13.8, 177.6),
        box(-9.6, 36.2, -2.2, 70.3),
        box(-118.0, 41.0, -77.5, 93.4),
    )
    yield drawing(
        "contours_many.dxf",
        Drawing([lwpolyline(chain) for chain in (disc, STEPPED, hat, knuckle)]),
        "Caliper, disc, hat and knuckle are four closed outlines on one layer; one is wanted.",
        [STEPPED],
        options=Options(inside=(0.0, 185.0)),
        others=[disc, hat, knuckle],
        questions=("outline",),
    )
    holes = [circle((-38.2, 158.4), 19.1), circle((37.6, 158.4), 17.3), box(-12.4, 110.0, 12.4, 176.0)]
    yield drawing(
        "contours_inner.dxf",
        Drawing(
            [
                *separate(FOUR_PISTON),
                circle_entity((-38.2, 158.4), 19.1),
                circle_entity((37.6, 158.4), 17.3),
                lwpolyline(holes[2]),
            ]
        ),
        "Two pistons and a window lie as closed outlines inside the one that is wanted.",
        [FOUR_PISTON],
        options=Options(inside=(-12.0, 190.0)),
        others=holes,
        warnings=(r"(?i)inner|inside|loop|outline|closed|contour",),
    )


def _odd_files() -> Iterator[Case]:
    noise = "m onih mn lonn km nn" * 3
    solids = [
        entity(kind, "AcDbModelerGeometry", "0", (70, 1), (1, noise), (3, noise))
        for kind in ("3DSOLID", "BODY", "REGION")
    ]
    yield drawing(
        "acis_bodies.dxf",
        Drawing([*solids, *separate(STEPPED)]),
        "Solid, body and region in a kernel's own coding cannot be read; the outline beside them can.",
        [STEPPED],
        skipped={"3DSOLID": 1, "BODY": 1, "REGION": 1},
        warnings=(r"(?i)3DSOLID|solid|body|skipped",),
    )
    points = [entity("POINT", "AcDbPoint", "0", (10, z), (20, r), (30, 0.0)) for z, r, _ in SHARP]
    yield drawing(
        "points_only.dxf",
        Drawing(points, version=R12),
        "The drawing holds nothing but points, one at each corner.",
        [SHARP],
        unit=None,
        options=Options(unit="mm", in_order=True),
        skipped={"POINT": 6},
        questions=("unit",),
        may_refuse=r"(?i)no (outline|line|curve|closed)|nothing|only points|POINT",
    )
    comments = "999\nwritten by an old program\n"
    plain = Drawing(separate(FOUR_PISTON), version=R12, header=MM_HEADER).text("\n", pad=False)
    yield drawing(
        "comments_and_no_tables.dxf",
        (
            comments
            + plain[plain.index("0\nSECTION\n2\nENTITIES") :].replace("0\nLINE", "999\nedge\n0\nLINE")
        ).encode(),
        "Nothing but an ENTITIES section, with comments (group 999) between the entities.",
        [FOUR_PISTON],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    cal = Block("CAL", polyline(REAR))
    xref = Block("HOUSING", (), flags=4, path="c:\\drawings\\housing.dwg")
    yield drawing(
        "external_reference.dxf",
        Drawing([insert("CAL", (0.0, 0.0)), insert("HOUSING", (0.0, 0.0))], blocks=[cal, xref]),
        "One insertion is a reference to a drawing that was not sent along.",
        [REAR],
        warnings=(r"(?i)external|reference|xref|missing|HOUSING",),
    )
    seen = polygon([(60.0 + 0.5 * i, 60.0) for i in range(3)])
    yield drawing(
        "crlf_padded.dxf",
        Drawing([lwpolyline(EVEN), lwpolyline(seen, closed=False)])
        .text("\r\n")
        .replace(" 10\r\n", "     10\r\n")
        .encode(),
        "Line ends of two characters, group codes padded with more blanks than usual, a stray open polyline.",
        [EVEN],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
