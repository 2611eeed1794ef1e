"""Files with several defects at once, as they come."""

import math
import random
from collections.abc import Iterator
from dataclasses import replace

from tests.corpus.bodies import Body, turned, turned_area
from tests.corpus.cases import EVEN, FOUR_PISTON, INCH, REAR, SHARP, STEPPED, Case, drawing
from tests.corpus.drawings_clutter import title_block
from tests.corpus.drawings_curves import CURVES, bezier
from tests.corpus.drawings_ezdxf import add_separate, new_drawing, written
from tests.corpus.drawings_svg import svg
from tests.corpus.meshes import caliper, crumbs, mesh, shaken, small
from tests.corpus.meshes_3mf import assembly, component
from tests.corpus.scans import around, lines, outward, scan, shuffled
from tests.corpus.shapes import (
    FIT,
    Chain,
    Point,
    arcs_along,
    box,
    circle,
    closing,
    flattened,
    flipped,
    joined,
    moved,
    pieces,
    polygon,
    scaled,
)
from tests.corpus.tables import CALIPER, STEPS, comma, table
from tests.corpus.truth import Options
from tests.corpus.workbooks import Cell, workbook
from tests.corpus.write_dxf import (
    BELOW,
    Block,
    Drawing,
    Layer,
    ellipse,
    extruded,
    insert,
    line,
    lwpolyline,
    separate,
    spline,
    text,
)
from tests.corpus.write_dxf import circle as circle_entity
from tests.corpus.write_mesh import mesh_object, model, ply, stl_binary, three_mf
from tests.corpus.write_svg import DOWN, Sheet, group, grow, path, shift


def cases() -> Iterator[Case]:
    """All files of this group."""
    groups = (_inch_block, _header_and_doubles, _planes, _old_layers, _curves, _scaled_sheet)
    for make in (*groups, _svg, _text_table, _workbook, _arm, _stl, _three_mf, _ply):
        for item in make():
            yield Case(item.content, replace(item.truth, several_defects=True))


def _short_lines(chain: Chain, by: float) -> list[list[tuple[int, str]]]:
    """The sides of a straight-edged outline, every second one short of its end."""
    found = []
    for i, side in enumerate(pieces(chain)):
        share = 1.0 - by / side.length() if i % 2 else 1.0
        found.append(line(side.start, side.at(share)))
    return found


def _inch_block() -> Iterator[Case]:
    stored = flipped(scaled(SHARP, 1 / INCH))
    caliper_block = Block("CAL", _short_lines(stored, 0.006))
    frame = Block("FRAME", title_block("0"))
    yield drawing(
        "several_inch_block_title_gaps.dxf",
        Drawing(
            [
                insert("FRAME", (0.0, 0.0), (1 / INCH, 1 / INCH)),
                insert("CAL", (0.0, 0.0), (-1.0, 1.0)),
                text("CALIPER DIM. INCH", (-2.0, 8.6), 0.14),
            ],
            version="AC1009",
            blocks=[caliper_block, frame],
        ),
        "Inches without a unit, a mirrored block, frame and title on the same layer, text, three "
        "corners open by 0.15 mm.",
        [SHARP],
        unit=None,
        options=Options(unit="in", inside=(0.0, 120.0), join_mm=0.2),
        others=[box(-160.0, -20.0, 260.0, 277.0), box(-150.0, -10.0, 250.0, 267.0)],
        tol=0.16,
        joined=(3, 3),
        skipped={"TEXT": 4},
        questions=("unit", "outline", "gaps"),
    )


def _header_and_doubles() -> Iterator[Case]:
    far = moved(FOUR_PISTON, 5210.4, 3987.6)
    old = separate(moved(scaled(FOUR_PISTON, 1.01), 5210.4, 3987.6), "OLD")
    yield drawing(
        "several_header_doubles_frozen_far.dxf",
        Drawing(
            [*separate(far, "NEW"), *separate(far, "NEW"), *old],
            header={
                "$INSUNITS": (70, 1),
                "$MEASUREMENT": (70, 0),
                "$EXTMIN": (10, (1e20, 1e20, 1e20)),
                "$EXTMAX": (10, (-1e20, -1e20, -1e20)),
            },
            layers=[Layer("NEW"), Layer("OLD", flags=1)],
        ),
        "A header of inches over a drawing in mm, all lines twice, an older outline on a frozen "
        "layer, 5 m off the origin.",
        [FOUR_PISTON],
        unit="in",
        options=Options(unit="mm", shift_mm=(-5210.4, -3987.6)),
        doubles=(16, 16),
        questions=("unit", "zero"),
    )


def _planes() -> Iterator[Case]:
    half: Chain = [(0.0, 99.4, 0.0), *EVEN[4:12], (0.0, 191.7, 0.0)]
    # Stored mirrored in a plane seen from behind, in inches, in a block of a block.
    stored = flipped(scaled(half, 1 / INCH))
    inner = Block("HALF", [extruded(lwpolyline(stored, "0", False, (38, 1.75)), BELOW)], unit=1)
    outer = Block("ALL", [insert("HALF", (0.0, 0.0), turn_deg=180.0)], unit=1)
    yield drawing(
        "several_planes_blocks_heights_half.dxf",
        Drawing([insert("ALL", (0.0, 0.0), (-INCH, -INCH))], blocks=[inner, outer]),
        "Half an outline, stored from behind and at a height, in inches, in nested blocks turned "
        "and mirrored both ways.",
        [EVEN],
        options=Options(complete_at_z_mm=0.0),
        joined=(0, 2),
        questions=("mirror",),
    )


def _old_layers() -> Iterator[Case]:
    chords = polygon([(round(z, 4), round(r, 4)) for z, r in flattened(REAR, 0.05)])
    middle = (-2.95, 121.4)
    shown = moved(chords, -middle[0], -middle[1])
    outline = [
        line(p.start, p.at(1.0 - 0.12 / p.length()) if i == 0 else p.end, "K")
        for i, p in enumerate(pieces(shown))
    ]
    strays = [
        line((-70.0, 0.0), (70.0, 0.0), "K"),
        line((0.0, -60.0), (0.0, 60.0), "K"),
        line((-40.75, -45.0), (-40.75, -80.0), "K"),
        line((-40.75, -75.0), (39.6, -75.0), "K"),
    ]
    yield drawing(
        "several_old_layers_strays.dxf",
        Drawing(
            [
                *title_block("FRAME", at=(-200.0, -150.0)),
                *outline,
                *strays,
                text("81.5", (0.0, -73.0), layer="K"),
                *separate(box(-12.0, -60.0, 15.0, 40.0), "DISC"),
            ],
            version="AC1009",
            layers=[Layer("FRAME"), Layer("K"), Layer("DISC")],
        ),
        "R12 without unit: layers of all kinds, centre and dimension lines on the outline's own "
        "layer, radii as chords, "
        "a gap of 0.12, the origin in the drawing's middle.",
        [chords],
        unit=None,
        options=Options(unit="mm", layers=("K",), join_mm=0.15, shift_mm=middle),
        tol=(0.13, 0.17),
        joined=(1, 1),
        skipped={"TEXT": 1},
        questions=("unit", "gaps", "zero", "axle"),
    )


def _curves() -> Iterator[Case]:
    controls = [
        (54.7, 155.3),
        (56.2, 171.8),
        (47.9, 187.4),
        (30.6, 189.2),
        (24.3, 199.7),
        (-6.1, 208.4),
        (-33.9, 203.8),
    ]
    knots = [0.0] * 4 + [1.0] * 3 + [2.0] * 4
    tops = [arcs_along(bezier(*controls[3 * i : 3 * i + 4]), 0.0, 1.0, FIT) for i in range(2)]

    def corner(t: float) -> Point:
        return (-33.9 + 22.0 * math.cos(t), 180.0 + 23.8 * math.sin(t))

    end = corner(math.pi)
    rest = polygon([end, (-55.9, 103.0), (54.7, 99.0), controls[0]])
    outline = closing(joined(*tops, arcs_along(corner, math.pi / 2, math.pi, FIT), rest))
    hole = circle((-10.0, 140.0), 14.5)

    def upright(place: Point) -> Point:
        """Outboard down, the axle along y."""
        return (place[1], -place[0])

    sides = [line(upright(p.start), upright(p.end)) for p in pieces(rest, closed=False)]
    entities = [
        spline(3, [upright(p) for p in controls], knots),
        # The major axis, 23.8 along r, now points along x; the minor one to outboard or inboard alike.
        ellipse(upright((-33.9, 180.0)), (23.8, 0.0), 22.0 / 23.8, 0.0, math.pi / 2),
        *sides,
        *sides[:2],
        circle_entity(upright((-10.0, 140.0)), 14.5),
    ]
    yield drawing(
        "several_curves_doubles_upright.dxf",
        Drawing(entities),
        "A spline with a kink, a quarter of an ellipse, two doubled lines, an inner circle, the "
        "axle upright with outboard down.",
        [outline],
        options=Options(axle="y", flip=True, inside=(30.0, 120.0)),
        others=[hole],
        tol=CURVES,
        doubles=(2, 2),
        questions=("axle",),
    )


def _scaled_sheet() -> Iterator[Case]:
    document, space = new_drawing("R2018")
    add_separate(space, scaled(STEPPED, 0.5))
    space.add_text("SCALE 1:2", height=3.0).set_placement((-40.0, 20.0))
    space.add_linear_dim(base=(0.0, 45.0), p1=(-35.65, 55.0), p2=(24.85, 55.0), text="121").render()
    space.add_hatch(color=3).paths.add_polyline_path([(-5.0, 60.0), (5.0, 60.0), (5.0, 85.0)], is_closed=True)
    document.paperspace().add_lwpolyline([(0, 0), (277, 0), (277, 190), (0, 190)], close=True)
    yield drawing(
        "several_half_scale_annotated.dxf",
        written(document),
        "Drawn at half size with dimension text in full size, hatch, a frame in paper space.",
        [STEPPED],
        options=Options(factor=2.0),
        skipped={"TEXT": 1, "DIMENSION": 1, "HATCH": 1},
        questions=("scale",),
        warnings=(r"(?i)scale|1:2|121|dimension",),
    )


def _svg() -> Iterator[Case]:
    unit = INCH / 90.0
    sheet = Sheet("531", "780", (0.0, 0.0, 531.0, 780.0), unit)
    # Content is stored mirrored and moved; two groups and a `use` bring it back.
    place = shift(283.5, 761.8) @ grow(1 / unit)
    stored = (place @ grow(-1.0, 1.0)).inverse() @ place @ DOWN
    items = [
        '<defs><g id="c">' + path(STEPPED, shift(-14.0, 9.0) @ stored) + "</g></defs>",
        group(
            f"translate(283.5,761.8) scale({1 / unit:.12g})",
            group("scale(-1 1)", '<use xlink:href="#c" x="14" y="-9"/>'),
            group("", path(scaled(STEPPED, 1.1)), more=' style="display:none"'),
        ),
        '<text x="20" y="40">ALLOW 1/8 INCH</text>',
    ]
    yield svg(
        "several_px90_mirrored_use_hidden.svg",
        sheet,
        items,
        "Pixels of which 90 make an inch, content mirrored in nested groups and placed by `use`, a "
        "hidden group, text.",
        [STEPPED],
        unit=None,
        shift_mm=(-283.5 * unit, 761.8 * unit),
        options={"unit": "mm", "factor": unit},
        tol=1e-4,
        skipped={"text": 1},
        questions=("unit",),
    )


def _text_table() -> Iterator[Case]:
    inch = [(round(z / INCH, 4) + 0.0, round(r / INCH, 4)) for z, r in CALIPER]
    rows = []
    for i, (z, r) in enumerate(inch):
        rows.append(f"{r:.4f}\t{z:.4f}".replace(".", ",") + ("\t# corner" if i % 11 == 0 else ""))
        rows += [rows[-1].partition("\t#")[0]] if i % 5 == 0 else []
        rows += [""] if i % 13 == 0 else []
    content = "\r\n".join(["# supplier sheet, rev D", "", "r\tz", "in\tin", *rows, ""])
    yield table(
        "several_utf16_inch_comma_comments.txt",
        content.encode("utf-16"),
        "UTF-16, tabs, decimal commas, r before z, a row of inches, comments, empty lines, doubled places.",
        [(z * INCH, r * INCH) for z, r in inch],
        unit="in",
    )


def _workbook() -> Iterator[Case]:
    rows: list[list[Cell | None]] = [["Caliper envelope"], [], [None, "radius", "axial"], [None, "mm", "mm"]]
    for i, (z, r) in enumerate(STEPS):
        rows += [[]] if i % 10 == 3 else []
        rows.append([f"P{i}", comma(r) if i % 3 else r, comma(z) if i % 2 else z])
    notes: list[list[Cell | None]] = [["Date", "2031-02-11"], ["Reach", "196,9"]]
    yield table(
        "several_sheets_text_empty_rows.xlsx",
        workbook({"Info": notes, "Data": rows, "Sheet3": []}, merged="A1:C1"),
        "Three sheets, a merged title, names, r before z under other words, a row of units, texts "
        "for numbers, empty rows.",
        STEPS,
        options=Options(in_order=True, sheet="Data", columns={"z": "axial", "r": "radius"}),
        questions=("sheet",),
    )


def _arm() -> Iterator[Case]:
    centres = [(z + 3.0 * nz, r + 3.0 * nr) for (z, r), (nz, nr) in outward(FOUR_PISTON, 1.8)]
    places = shuffled(around(centres, 71), 72)
    origin = (812.7, -254.0, 127.0)
    inches = [((z + origin[0]) / INCH, (x + origin[1]) / INCH, (y + origin[2]) / INCH) for x, y, z in places]
    body = lines(inches, ";", 5).replace(".", ",")
    yield scan(
        "several_arm_inch_ball_off_origin.csv",
        "# arm, ball 6 mm\n\nx [in];y [in];z [in]\n" + body,
        "An arm's points in inches with decimal commas: ball centres, random order, axle along x "
        "and off the origin.",
        FOUR_PISTON,
        unit="in",
        options=Options(axle="x", axle_origin_mm=origin, ball_radius_mm=3.0, in_order=False),
        questions=("axle", "probe", "zero"),
    )


def _stl() -> Iterator[Case]:
    body, area = caliper()
    faces = [(f[0], f[2], f[1]) if i % 3 == 0 else f for i, f in enumerate(body.faces) if i % 10 != 5]
    whole = Body(body.places, faces) + crumbs(81, 14)
    stored = whole.mapped(lambda p: (p[0], p[2] + 203.2, -p[1])).scaled(1 / INCH)
    yield mesh(
        "several_inch_axle_y_flipped_fragments.stl",
        stl_binary(stored, b"solid export"),
        "Inches, axle y, zero 203.2 off, triangles missing and inside out, loose pieces, a header "
        "that says 'solid'.",
        [area],
        options=Options(unit="in", axle="y", shift_mm=(-203.2, 0.0), bodies="largest"),
        questions=("unit", "axle", "zero", "bodies", "open"),
    )


def _three_mf() -> Iterator[Case]:
    body, area = small()
    plate = [(52.0, 120.0), (61.5, 120.0), (61.5, 171.0), (52.0, 171.0)]
    second = turned(plate, 30.0, 8)
    k = 1 / INCH
    stored = body.mapped(lambda p: (p[2] * k, p[0] * k, -p[1] * k))
    components = assembly(
        3,
        component(1, "1 0 0 0 1 0 0 0 -1 0.5 0 0"),
        component(2, f"{k:.12g} 0 0 0 {k:.12g} 0 0 0 {k:.12g} 0.5 0 0"),
    )
    turned_second = second.mapped(lambda p: (p[2], p[0], p[1]))
    text_ = model(
        mesh_object(1, stored) + mesh_object(2, turned_second) + components,
        '<item objectid="3" transform="1 0 0 0 1 0 0 0 1 -0.5 0 0"/>',
        "inch",
    )
    yield mesh(
        "several_inch_components_two_bodies.3mf",
        three_mf(text_),
        "Inches, axle x, a mirrored and a scaled component, two bodies.",
        [area, turned_area(plate, 30.0, 8)],
        unit="in",
        options=Options(axle="x"),
        tol=(0.002, 0.052),
        questions=("axle", "bodies"),
    )


def _ply() -> Iterator[Case]:
    body, area = caliper()
    draw = random.Random(91)
    noisy = body.mapped(lambda p: shaken(p, draw, 1.2)) + crumbs(92, 9)
    stored = noisy.mapped(lambda p: (p[2] / 1000.0, p[1] / 1000.0, -p[0] / 1000.0))
    yield mesh(
        "several_metre_noise_fragments.ply",
        ply(stored, "binary_big_endian", colours=True),
        "A hand scan in metres with the axle along x: noise of up to 1.2 mm, loose pieces, "
        "colours, high byte first.",
        [area],
        options=Options(unit="m", axle="x", bodies="largest"),
        tol=(1.3, 1.3),
        noise_mm=1.2,
        questions=("unit", "axle", "bodies"),
    )
