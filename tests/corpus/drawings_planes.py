"""Drawings with blocks and with planes seen from behind: the silent mirrors."""

import math
from collections.abc import Iterator

from tests.corpus.cases import EVEN, FOUR_PISTON, REAR, SHARP, STEPPED, Case, drawing
from tests.corpus.shapes import (
    FIT,
    Chain,
    Point,
    arcs_along,
    circle,
    flipped,
    joined,
    moved,
    pieces,
    polygon,
    scaled,
    turned,
)
from tests.corpus.truth import Options
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
    piece,
    polyline,
    separate,
)
from tests.corpus.write_dxf import circle as circle_entity

R12 = "AC1009"
ASK_MM = Options(unit="mm")


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _mirrored_blocks()
    yield from _nested_blocks()
    yield from _uneven_blocks()
    yield from _reversed_planes()
    yield from _heights()


def _mirrored_blocks() -> Iterator[Case]:
    yield drawing(
        "block_mirrored.dxf",
        Drawing(
            [insert("CAL", (3.7, 0.0), (-1.0, 1.0))],
            version=R12,
            blocks=[Block("CAL", polyline(moved(flipped(STEPPED), 3.7, 0.0)))],
        ),
        "A block inserted mirrored (scale -1 along x); bulges must turn the other way.",
        [STEPPED],
        unit=None,
        options=ASK_MM,
        questions=("unit",),
    )
    yield drawing(
        "block_mirrored_arcs.dxf",
        Drawing(
            [insert("CAL", (0.0, 0.0), (-1.0, 1.0))], blocks=[Block("CAL", separate(flipped(FOUR_PISTON)))]
        ),
        "A mirrored block of single lines and arcs.",
        [FOUR_PISTON],
    )
    upside = [(z, -r, -bulge) for z, r, bulge in REAR]
    yield drawing(
        "block_mirrored_up.dxf",
        Drawing([insert("CAL", (0.0, 0.0), (1.0, -1.0))], blocks=[Block("CAL", [lwpolyline(upside)])]),
        "A block drawn below the axle and inserted mirrored along y.",
        [REAR],
    )
    yield drawing(
        "block_both_mirrored.dxf",
        Drawing([insert("CAL", (0.0, 0.0), (-1.0, -1.0), 180.0)], blocks=[Block("CAL", separate(STEPPED))]),
        "A block mirrored both ways and turned by 180 degrees: as it was drawn.",
        [STEPPED],
    )


def _nested_blocks() -> Iterator[Case]:
    # Innermost: drawn at half size, about a base place of its own.
    inner = Block("INNER", polyline(moved(scaled(FOUR_PISTON, 0.5), 11.3, -4.9)), base=(11.3, -4.9))
    middle = Block("MIDDLE", [insert("INNER", (25.0, 13.0), turn_deg=30.0)], base=(25.0, 13.0))
    outer = Block("OUTER", [insert("MIDDLE", (0.0, 0.0), (4.0, 4.0), -90.0)])
    yield drawing(
        "block_nested.dxf",
        Drawing([insert("OUTER", (0.0, 0.0), (0.5, 0.5), 60.0)], version=R12, blocks=[inner, middle, outer]),
        "Three blocks in one another, each with its base place, turn (30 - 90 + 60) and scale (0.5 "
        "x 4 x 0.5).",
        [FOUR_PISTON],
        unit=None,
        options=ASK_MM,
        questions=("unit",),
    )
    cal = Block("CAL", separate(turned(flipped(REAR), -20.0)))
    flip = Block("FLIP", [insert("CAL", (0.0, 0.0), turn_deg=20.0)])
    yield drawing(
        "block_nested_mirrored.dxf",
        Drawing([insert("FLIP", (0.0, 0.0), (-1.0, 1.0))], blocks=[cal, flip]),
        "A turned block within a mirrored one: the turn changes its sense as well.",
        [REAR],
    )
    screws = [circle((-40.3 + 9.7 * i, 150.1 + 12.9 * j), 2.35) for i in range(3) for j in range(2)]
    yield drawing(
        "block_array.dxf",
        Drawing(
            [*separate(FOUR_PISTON), insert("SCREW", (-40.3, 150.1), array=(3, 2, 9.7, 12.9))],
            version=R12,
            blocks=[Block("SCREW", [circle_entity((0.0, 0.0), 2.35)])],
        ),
        "One insertion stands for an array of 3 x 2 screws beside the outline.",
        [FOUR_PISTON],
        others=screws,
        unit=None,
        options=Options(unit="mm", inside=(30.0, 140.0)),
        questions=("unit",),
        warnings=(r"(?i)inner|inside|loop|outline|closed|contour",),
    )
    yield drawing(
        "block_layer_zero.dxf",
        Drawing(
            [insert("CAL", (0.0, 0.0), layer="OUTLINE"), insert("OLD", (0.0, 0.0), layer="OLD")],
            version=R12,
            layers=[Layer("OUTLINE"), Layer("OLD", flags=1)],
            blocks=[Block("CAL", polyline(STEPPED, "0")), Block("OLD", polyline(scaled(STEPPED, 1.03), "0"))],
        ),
        "What a block holds on layer 0 lies on the layer of its insertion; the old outline's is frozen.",
        [STEPPED],
        unit=None,
        options=Options(unit="mm", layers=("OUTLINE",)),
        questions=("unit",),
    )


def _uneven_blocks() -> Iterator[Case]:
    # The drawn outline has arcs; scaled by 1 along z and 1.25 along r they become parts of ellipses.
    drawn = REAR
    truth: Chain = []
    for part in pieces(drawn):
        if part.bulge == 0.0:
            truth.append((part.start[0], part.start[1] * 1.25, 0.0))
        else:
            truth += arcs_along(lambda t, p=part: _stretched(p.at(t), 1.25), 0.0, 1.0, FIT)[:-1]  # type: ignore[misc]
    yield drawing(
        "block_uneven_scale.dxf",
        Drawing([insert("CAL", (0.0, 0.0), (1.0, 1.25))], blocks=[Block("CAL", separate(drawn))]),
        "A block inserted with a larger scale along y than along x: its arcs become parts of ellipses.",
        [truth],
        tol=(0.0005, 0.0055),
    )
    sharp = [(z * 0.5, r * 0.5, 0.0) for z, r, _ in SHARP]
    yield drawing(
        "block_mirrored_doubled.dxf",
        Drawing(
            [insert("CAL", (0.0, 0.0), (-2.0, 2.0))],
            blocks=[Block("CAL", [lwpolyline([(-z, r, 0.0) for z, r, _ in sharp])])],
        ),
        "A block mirrored and doubled in one scale (-2, 2).",
        [SHARP],
    )


def _stretched(place: Point, factor: float) -> Point:
    return (place[0], place[1] * factor)


def _reversed_planes() -> Iterator[Case]:
    # In a plane seen from behind, x counts the other way: what is stored is mirrored.
    mixed = [
        extruded(piece(stored), BELOW) if shown.bulge else piece(shown)
        for shown, stored in zip(pieces(STEPPED), pieces(flipped(STEPPED)), strict=True)
    ]
    yield drawing(
        "plane_reversed_arcs.dxf",
        Drawing(mixed, version=R12),
        "Every arc has the extrusion (0, 0, -1), so its x is stored with the other sign; the lines "
        "are plain.",
        [STEPPED],
        unit=None,
        options=ASK_MM,
        questions=("unit",),
    )
    yield drawing(
        "plane_reversed_polyline.dxf",
        Drawing([extruded(lwpolyline(flipped(FOUR_PISTON)), BELOW)]),
        "A light polyline with extrusion (0, 0, -1): raw places and bulges are mirrored.",
        [FOUR_PISTON],
    )
    old = polyline(flipped(REAR))
    yield drawing(
        "plane_reversed_old_polyline.dxf",
        Drawing([extruded(old[0], BELOW), *old[1:]], version=R12),
        "An old-style polyline with extrusion (0, 0, -1).",
        [REAR],
        unit=None,
        options=ASK_MM,
        questions=("unit",),
    )
    yield drawing(
        "plane_reversed_insert.dxf",
        Drawing(
            [extruded(insert("CAL", (5.5, 0.0)), BELOW)],
            blocks=[Block("CAL", separate(moved(flipped(FOUR_PISTON), -5.5, 0.0)))],
        ),
        "A block inserted with extrusion (0, 0, -1).",
        [FOUR_PISTON],
    )
    yield drawing(
        "plane_reversed_circle.dxf",
        Drawing([extruded(circle_entity((38.2, 128.9), 7.3), BELOW)]),
        "A circle (a brake hose cut across) with extrusion (0, 0, -1): its centre is at z -38.2.",
        [circle((-38.2, 128.9), 7.3)],
    )
    top = arcs_along(lambda t: (31.0 * math.cos(t), 160.0 + 24.0 * math.sin(t)), 0.0, math.pi, FIT)
    outline = joined([(-31.0, 160.0, 0.0), (-31.0, 104.0, 0.0), (31.0, 104.0, 0.0), (31.0, 160.0, 0.0)], top)[
        :-1
    ]
    yield drawing(
        "plane_reversed_ellipse.dxf",
        Drawing(
            [
                *separate(
                    polygon([(-31.0, 160.0), (-31.0, 104.0), (31.0, 104.0), (31.0, 160.0)]), closed=False
                ),
                # Centre and major axis are world coordinates; from behind, the parameter turns clockwise.
                ellipse((0.0, 160.0), (31.0, 0.0), 24.0 / 31.0, math.pi, 2.0 * math.pi, up=-1.0),
            ]
        ),
        "Half an ellipse with extrusion (0, 0, -1): its parameter turns clockwise, taken plainly "
        "it would hang down.",
        [outline],
        tol=(0.0005, 0.0055),
    )


def _heights() -> Iterator[Case]:
    heights = [0.0, 12.7, 0.0, -3.1, 0.004, 250.0]
    yield drawing(
        "heights_3d_polyline.dxf",
        Drawing(polyline(SHARP, heights=heights), version=R12),
        "A polyline in space with stray heights; the outline is what is seen from above.",
        [SHARP],
        unit=None,
        options=ASK_MM,
        questions=("unit", "height"),
        warnings=(r"(?i)height|elevation|flat|3-?d|space|plane",),
    )
    lines = [line(p.start, p.end, heights=(5.0 * i, 5.0 * i + 1.5)) for i, p in enumerate(pieces(SHARP))]
    yield drawing(
        "heights_lines.dxf",
        Drawing(lines),
        "Lines whose ends lie at different heights; seen from above they meet.",
        [SHARP],
        questions=("height",),
        warnings=(r"(?i)height|elevation|flat|3-?d|space|plane",),
    )
    yield drawing(
        "heights_elevation.dxf",
        Drawing([lwpolyline(EVEN, "0", True, (38, 87.5))]),
        "A light polyline at an elevation of 87.5: all in one plane, only not in the drawing's.",
        [EVEN],
    )
