"""Drawings written with ezdxf: releases, entities and layouts that a writer of a few lines does not reach."""

import io
from collections import OrderedDict
from collections.abc import Iterator

from ezdxf import filemanagement
from ezdxf._options import options as ezdxf_options
from ezdxf.document import Drawing
from ezdxf.layouts.layout import Modelspace
from ezdxf.math import Vec2

from tests.corpus.cases import FOUR_PISTON, INCH, REAR, SHARP, STEPPED, Case, drawing
from tests.corpus.drawings_curves import de_boor
from tests.corpus.shapes import FIT, Chain, arcs_along, flipped, joined, pieces, polygon, scaled, turned
from tests.corpus.truth import Options


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _annotated()
    yield from _layouts_and_blocks()
    yield from _curves()
    yield from _releases()


def new_drawing(version: str, unit: int | None = 4) -> tuple[Drawing, Modelspace]:
    """An empty drawing and its model space; unit 4 is mm, None leaves it out."""
    ezdxf_options.write_fixed_meta_data_for_testing = True
    document = filemanagement.new(version, setup=True)
    if unit is not None:
        document.header["$INSUNITS"] = unit
    return document, document.modelspace()


def written(document: Drawing, binary: bool = False) -> bytes:
    """The file's bytes, with fixed dates and identifiers, and classes in the order of their names."""
    document.classes.add_required_classes(document.dxfversion)
    document.classes.classes = OrderedDict(sorted(document.classes.classes.items()))
    if binary:
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


def _add(space: Modelspace, chain: Chain, layer: str = "0", closed: bool = True) -> None:
    space.add_lwpolyline(chain, format="xyb", close=closed, dxfattribs={"layer": layer})


def add_separate(space: Modelspace, chain: Chain, layer: str = "0") -> None:
    """A chain as single lines and arcs."""
    for part in pieces(chain):
        if part.bulge == 0.0:
            space.add_line(part.start, part.end, {"layer": layer})
        else:
            first, last = (part.start, part.end) if part.bulge > 0.0 else (part.end, part.start)
            angles = [(Vec2(p) - Vec2(part.centre)).angle_deg for p in (first, last)]
            space.add_arc(part.centre, part.radius, angles[0], angles[1], dxfattribs={"layer": layer})


def _annotated() -> Iterator[Case]:
    document, space = new_drawing("R2010")
    add_separate(space, STEPPED)
    space.add_text("CALIPER, OUTBOARD TO THE RIGHT", height=3.5).set_placement((-60.0, 220.0))
    space.add_text("ALLOW 3 MM", height=3.5).set_placement((-60.0, 214.0))
    space.add_mtext("Envelope includes\\Pbridge pipe", {"insert": (70.0, 200.0), "char_height": 3.0})
    dimension = space.add_linear_dim(base=(0.0, 90.0), p1=(-71.3, 110.0), p2=(49.7, 110.0))
    dimension.render()
    space.add_radius_dim(center=(-40.0, 180.0), radius=9.9, angle=135.0).render()
    hatch = space.add_hatch(color=2)
    hatch.paths.add_polyline_path(
        [(-10.0, 112.0), (10.0, 112.0), (10.0, 170.0), (-10.0, 170.0)], is_closed=True
    )
    yield drawing(
        "text_dimensions_hatch.dxf",
        written(document),
        "Texts, dimensions with their blocks and a hatch lie on the outline's layer.",
        [STEPPED],
        skipped={"TEXT": 2, "MTEXT": 1, "DIMENSION": 2, "HATCH": 1},
    )
    document, space = new_drawing("R2010")
    _add(space, FOUR_PISTON)
    space.add_xline((0.0, 0.0), (1.0, 0.0))
    space.add_ray((0.0, 0.0), (0.0, 1.0))
    space.add_point((0.0, 0.0))
    space.add_3dface([(0.0, 0.0), (9.0, 0.0), (9.0, 5.0)])
    space.add_leader([(30.0, 150.0), (80.0, 190.0)])
    space.add_wipeout([(70.0, 70.0), (90.0, 90.0)])
    picture = document.add_image_def("photo.png", size_in_pixel=(640, 480))
    space.add_image(picture, insert=(100.0, 0.0), size_in_units=(64.0, 48.0))
    space.add_solid([(60.0, 60.0), (62.0, 60.0), (60.0, 62.0)])
    yield drawing(
        "entities_without_outline.dxf",
        written(document),
        "Construction lines, a leader, a wipeout, a picture that was not sent along, a face, a "
        "filled triangle, a point.",
        [FOUR_PISTON],
        skipped={
            "XLINE": 1,
            "RAY": 1,
            "POINT": 1,
            "3DFACE": 1,
            "LEADER": 1,
            "WIPEOUT": 1,
            "IMAGE": 1,
            "SOLID": 1,
        },
    )
    document, space = new_drawing("R2000")
    add_separate(space, SHARP)
    face = space.add_polyface()
    face.append_face([(0.0, 0.0, 0.0), (30.0, 0.0, 0.0), (30.0, 30.0, 10.0), (0.0, 30.0, 10.0)])
    space.add_polymesh((3, 3))
    yield drawing(
        "polyface_and_polymesh.dxf",
        written(document),
        "Two POLYLINE entities are a surface of faces and a grid, not lines.",
        [SHARP],
        skipped={"POLYLINE": 2},
    )


def _layouts_and_blocks() -> Iterator[Case]:
    document, space = new_drawing("R2018")
    _add(space, REAR)
    sheet = document.paperspace()
    sheet.page_setup(size=(297, 210), margins=(10, 10, 10, 10))
    sheet.add_lwpolyline([(0, 0), (277, 0), (277, 190), (0, 190)], close=True)
    sheet.add_lwpolyline([(z / 2.0, r / 2.0, b) for z, r, b in REAR], format="xyb", close=True)
    sheet.add_viewport(
        center=(138.0, 95.0), size=(200.0, 150.0), view_center_point=(0.0, 120.0), view_height=300.0
    )
    yield drawing(
        "paper_layout.dxf",
        written(document),
        "A layout with frame, viewport and a half-size copy besides model space.",
        [REAR],
    )
    document, space = new_drawing("R2010")
    document.layers.add("OUTLINE")
    inner = document.blocks.new("PART", base_point=(4.4, -2.2))
    shown = turned(flipped([(z, r, b) for z, r, b in scaled(STEPPED, 1 / INCH)]), 35.0)
    inner.add_lwpolyline([(z + 4.4, r - 2.2, b) for z, r, b in shown], format="xyb", close=True)
    inner.add_attdef("REV", (0.0, 0.0), text="B", height=0.1)
    outer = document.blocks.new("ASSEMBLY")
    outer.add_blockref("PART", (0.0, 0.0), {"rotation": -35.0})
    mirrored = space.add_blockref(
        "ASSEMBLY", (0.0, 0.0), {"xscale": -INCH, "yscale": INCH, "layer": "OUTLINE"}
    )
    mirrored.add_attrib("REV", "B", (0.0, 0.0))
    yield drawing(
        "block_nested_attributes.dxf",
        written(document),
        "Nested, turned, mirrored blocks in inches, scaled to mm by their insertion, with attributes.",
        [STEPPED],
    )


def _curves() -> Iterator[Case]:
    document, space = new_drawing("R2018")
    places = [(55.3, 150.2), (50.1, 188.7), (6.2, 203.9), (-40.7, 195.5), (-58.8, 148.6)]
    curve = space.add_cad_spline_control_frame(fit_points=places)
    controls = [(p[0], p[1]) for p in curve.control_points]
    knots = list(curve.knots)
    under = polygon([places[-1], (-58.8, 102.1), (55.3, 98.4), places[0]])
    space.add_lwpolyline([p[:2] for p in under])
    top = arcs_along(de_boor(3, controls, knots), knots[0], knots[-1], FIT)
    yield drawing(
        "spline_r2018.dxf",
        written(document),
        "A spline whose control places were worked out from five fit places, with both kept.",
        [joined(top, under)[:-1]],
        tol=(0.0005, 0.0055),
    )
    document, space = new_drawing("R2000")
    document.layers.add("AXLE", linetype="CENTER")
    space.add_line((-100.0, 0.0), (100.0, 0.0), {"layer": "AXLE"})
    add_separate(space, FOUR_PISTON)
    yield drawing(
        "axle_line_drawn.dxf",
        written(document),
        "The axle is drawn as a centre line on a layer of its own.",
        [FOUR_PISTON],
    )


def _releases() -> Iterator[Case]:
    document, space = new_drawing("R12", None)
    for part in pieces(REAR):
        space.add_polyline2d([(*part.start, part.bulge), (*part.end, 0.0)], format="xyb")
    yield drawing(
        "polyline_pieces_r12.dxf",
        written(document),
        "R12; every line and every arc is a polyline of its own.",
        [REAR],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    document, space = new_drawing("R2000")
    add_separate(space, FOUR_PISTON)
    yield drawing(
        "binary.dxf",
        written(document, binary=True),
        "The binary form of the same format.",
        [FOUR_PISTON],
        may_refuse=r"(?i)binary",
    )
    document, space = new_drawing("R2018", 1)
    _add(space, scaled(SHARP, 1 / INCH))
    space.add_lwpolyline([(0.0, 0.0), (0.0, 9.0)], dxfattribs={"invisible": 1})
    yield drawing(
        "inch_r2018.dxf",
        written(document),
        "The header says inches and it is so; one open polyline is marked invisible.",
        [SHARP],
        unit="in",
    )
