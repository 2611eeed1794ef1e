"""SVG in: shapes, path commands, transforms, groups and uses, on files written out by hand."""

import math

import pytest

from app.files.readers.answer import ReadError
from geometry.shape.curve import Path
from tests.support.svg import read_svg, svg

#: On the usual page r is -y.
BOX = '<path d="M 10 -100 h 30 v -30 h -30 Z"/>'
CORNERS = {(10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0)}


def corners(data: bytes, **how: object) -> set[tuple[float, float]]:
    (loop,) = read_svg(data, **how).loops
    return {(round(z, 9), round(r, 9)) for z, r, _ in loop}


def only_path(*elements: str, **how: object) -> Path:
    (loop,) = read_svg(svg(*elements), **how).loops
    return Path.closed(loop)


@pytest.mark.parametrize(
    "drawn",
    [
        BOX,
        '<path d="M10,-100L40,-100L40,-130L10,-130Z"/>',
        '<path d="m10-100 30 0 0-30-30 0z"/>',
        '<path d="M10-100h30v-30h-30v30"/>',
        '<path d="M 40 -130 10 -130 10 -100 40 -100z"/>',
        '<path d="M1e1-1.0e2h+3.0e+1v-30.h-30z"/>',
        '<polygon points="10,-100 40,-100 40,-130 10,-130"/>',
        '<polygon points="10-100 40-100,40-130,10-130"/>',
        '<polyline points="10,-100 40,-100 40,-130 10,-130 10,-100"/>',
        '<rect x="10" y="-130" width="30" height="30"/>',
        '<rect x="10px" y="-130" width="15%" height="10%"/>',
        '<line x1="10" y1="-100" x2="40" y2="-100"/><path d="M40-130V-100M10-100V-130H40"/>',
        '<path d="M10-100C20-100 30-100 40-100Q40-110 40-130L10-130z"/>',
        '<path d="M10 -100 L40 -100 L40 -130 L10 -130 Z M 50 0"/>',
    ],
)
def test_one_box_in_many_forms(drawn: str) -> None:
    found = read_svg(svg(drawn))
    assert (found.kind, found.unit, found.warnings, found.hindrance) == ("drawing", "mm", (), "")
    assert {row[:2] for row in found.loops[0]} == CORNERS
    assert Path.closed(found.loops[0]).area == pytest.approx(900.0, abs=1e-9)
    assert found.bounds == (10.0, 40.0, 100.0, 130.0)


class TestArcs:
    def test_a_circle_is_exact(self) -> None:
        path = only_path('<circle cx="20" cy="-150" r="25"/>')
        assert path.area == pytest.approx(math.pi * 625.0, abs=1e-9)
        assert path.centres[0] == pytest.approx((20.0, 150.0), abs=1e-12)

    def test_arcs_of_a_path_stay_arcs(self) -> None:
        # A slot: half circles of radius 8; flags and numbers written without blanks between them.
        path = only_path('<path d="M0-128h30a8 8 0 0130 16H0A8 8 0 010-128z"/>'.replace("0130", "01 0"))
        assert path.radii[path.is_arc] == pytest.approx([8.0, 8.0], abs=1e-9)
        assert path.area == pytest.approx(30.0 * 16.0 + math.pi * 64.0, abs=1e-7)

    @pytest.mark.parametrize(
        ("large", "positive", "area"),
        [
            # Chord 6 of a circle of radius 5: half angle asin 0.6; below it R^2 (t - sin t) / 2.
            (0, 0, 25.0 * (math.asin(0.6) - 0.6 * 0.8)),
            (0, 1, 25.0 * (math.asin(0.6) - 0.6 * 0.8)),
            (1, 0, 25.0 * (math.pi - math.asin(0.6) + 0.6 * 0.8)),
            (1, 1, 25.0 * (math.pi - math.asin(0.6) + 0.6 * 0.8)),
        ],
    )
    def test_the_four_arcs_between_two_places(self, large: int, positive: int, area: float) -> None:
        path = only_path(f'<path d="M 0 -100 A 5 5 0 {large} {positive} 6 -100 Z"/>')
        assert path.area == pytest.approx(area, abs=1e-9)
        # Positive runs clockwise as seen, so that the small arc lies above the chord, at smaller y.
        far = path.bounds
        assert (far[3] - 100.0 if positive else 100.0 - far[2]) == pytest.approx(
            9.0 if large else 1.0, abs=1e-9
        )

    def test_radii_too_small_are_grown(self) -> None:
        path = only_path('<path d="M 0 -100 A 1 1 0 0 1 30 -100 Z"/>')
        assert path.area == pytest.approx(math.pi * 225.0 / 2.0, abs=1e-9)

    def test_an_arc_without_radius_is_a_line(self) -> None:
        assert only_path('<path d="M0-100h30v-30A0 5 0 0 1 0-130z"/>').area == pytest.approx(900.0)

    def test_rounded_rectangle(self) -> None:
        path = only_path('<rect x="10" y="-150" width="40" height="30" rx="6"/>')
        assert path.area == pytest.approx(40.0 * 30.0 - (4.0 - math.pi) * 36.0, abs=1e-9)
        assert path.radii[path.is_arc] == pytest.approx([6.0] * 4, abs=1e-12)

    def test_corner_radii_are_at_most_half_the_sides(self) -> None:
        assert only_path('<rect x="10" y="-150" width="40" height="40" ry="99"/>').area == pytest.approx(
            math.pi * 400.0, abs=1e-9
        )

    @pytest.mark.parametrize("side", ["outward", "inward", "nearest"])
    def test_an_ellipse_is_replaced_within_the_rule(self, side: str) -> None:
        found = read_svg(svg('<ellipse cx="0" cy="-150" rx="60" ry="35"/>'), side=side)
        area = Path.closed(found.loops[0]).area
        exact = math.pi * 60.0 * 35.0
        assert found.curves == 1
        assert 0.0 < found.curve_error_mm <= 0.005
        assert abs(area - exact) < 0.005 * 2.0 * math.pi * 60.0
        assert side == "nearest" or (area > exact) == (side == "outward")

    def test_an_ellipse_stretched_to_a_circle_is_one(self) -> None:
        path = only_path('<ellipse cx="10" cy="-150" rx="20" ry="40" transform="scale(2,1)"/>')
        assert path.radii == pytest.approx([40.0, 40.0], abs=1e-9)
        assert len(path) == 2


class TestTransforms:
    @pytest.mark.parametrize(
        "how",
        [
            "translate(10,-100)",
            "translate(10 -100)",
            "matrix(1 0 0 1 10 -100)",
            "translate(10,-100)scale(1)",
            "translate(40,-100) scale(-1,1)",
            "translate(10,-130) scale(1,-1)",
            "translate(10,-100) rotate(90) translate(-30,0) rotate(-90) translate(0,30)",
            "translate(40,-100) rotate(-90)",
            "rotate(180 25 -115) translate(10,-100)",
            "translate(5,-50) scale(2) translate(2.5,-25) scale(.5)",
            "  translate( 10 , -100 ) , skewX(0) skewY(0) ",
        ],
    )
    def test_a_box_is_put_in_one_place(self, how: str) -> None:
        box = '<path d="M0 0H30V-30H0z"/>'
        assert corners(svg(f'<g transform="{how}">{box}</g>')) == CORNERS
        assert corners(svg(f'<path d="M0 0H30V-30H0z" transform="{how}"/>')) == CORNERS
        assert corners(svg(f'<g style="transform:{how}">{box}</g>')) == CORNERS

    def test_groups_multiply(self) -> None:
        nested = (
            '<g transform="translate(10,-100)"><g transform="scale(3)"><path d="M0 0h10v-10h-10z"/></g></g>'
        )
        assert corners(svg(nested)) == CORNERS

    def test_a_mirrored_arc_bulges_the_other_way(self) -> None:
        drawn = '<path d="M 0 -100 A 10 10 0 0 1 20 -100 V -60 H 0 Z" transform="{}"/>'
        plain = only_path(drawn.format("translate(0,0)"))
        mirrored = only_path(drawn.format("scale(-1,1)"))
        assert plain.area == pytest.approx(800.0 + math.pi * 50.0, abs=1e-9)
        assert mirrored.area == pytest.approx(plain.area, abs=1e-9)
        assert mirrored.bounds == pytest.approx((-20.0, 0.0, 60.0, 110.0), abs=1e-9)

    @pytest.mark.parametrize(
        ("how", "factor"), [("skewX(30)", 1.0), ("skewY(20)", 1.0), ("scale(1,.5)", 0.5)]
    )
    def test_a_skewed_circle_is_replaced_outward(self, how: str, factor: float) -> None:
        found = read_svg(svg(f'<circle cx="0" cy="-150" r="30" transform="{how}"/>'), side="outward")
        area = Path.closed(found.loops[0]).area
        assert found.curves == 1
        # A shear keeps the area.
        assert 0.0 <= area - factor * math.pi * 900.0 < 0.005 * 250.0

    @pytest.mark.parametrize(
        "how",
        ["rotate(1rad)", "translate(1em)", "scale(1", "spin(3)", "matrix(1 2 3)", "translate(10%)", "x"],
    )
    def test_one_that_is_not_understood_is_refused(self, how: str) -> None:
        with pytest.raises(ReadError, match="transform"):
            read_svg(svg(f'<g transform="{how}">{BOX}</g>'))


class TestUses:
    def test_definitions_are_drawn_where_they_are_used(self) -> None:
        held = (
            f'<defs><g id="a">{BOX}</g></defs><symbol id="s">{BOX}</symbol><clipPath id="c">{BOX}</clipPath>'
        )
        assert read_svg(svg(held, '<use href="#a" x="-50"/>')).bounds == (-40.0, -10.0, 100.0, 130.0)
        assert read_svg(svg(held, '<use xlink:href="#s" y="-50"/>')).bounds == (10.0, 40.0, 150.0, 180.0)
        with pytest.raises(ReadError, match="no outline in the file"):
            read_svg(svg(held))

    def test_a_use_of_a_use(self) -> None:
        held = f'<defs><g id="a">{BOX}</g><use id="b" href="#a" transform="scale(-1,1)"/></defs>'
        assert corners(svg(held, '<use href="#b"/>')) == {(-z, r) for z, r in CORNERS}

    def test_a_symbol_with_a_page_of_its_own(self) -> None:
        held = '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol>'
        found = read_svg(svg(held, '<use href="#s" x="10" y="-130" width="30" height="30"/>'))
        assert found.bounds == pytest.approx((10.0, 40.0, 100.0, 130.0))

    def test_a_page_within_the_page(self) -> None:
        drawn = '<rect width="60" height="60"/>'
        inner = f'<svg x="10" y="-140" width="30" height="50" viewBox="0 0 60 60">{drawn}</svg>'
        # 60 units into 30 x 50 keeps the shape: 30 x 30 in the middle.
        assert read_svg(svg(inner)).bounds == pytest.approx((10.0, 40.0, 100.0, 130.0))

    def test_what_is_missing_is_counted(self) -> None:
        found = read_svg(svg(BOX, '<use href="#gone"/><use href="other.svg#a"/>'))
        assert found.skipped == {"use of something missing or in another file": 2}


class TestWhatIsSeen:
    @pytest.mark.parametrize(
        "hidden",
        [
            '<g display="none">{}</g>',
            '<g style="display:none">{}</g>',
            '<g visibility="hidden">{}</g>',
            '<g opacity="0">{}</g>',
            '<g style="opacity:0.0"><g>{}</g></g>',
            '<style>.off {{ display: none }}</style><g class="on off">{}</g>',
            "<style>/* a */ @media print {{ .x {{ fill:red }} }} g#h,rect {{visibility:hidden;}}</style>"
            '<g id="h">{}</g>',
            '<g fill="none">{}</g>',
            '<g fill="none" stroke="none">{}</g>',
            '<g fill="none" stroke="black" stroke-width="0">{}</g>',
        ],
    )
    def test_the_hidden_is_left_out_and_counted(self, hidden: str) -> None:
        other = hidden.format(BOX.replace("M 10", "M -90"))
        found = read_svg(svg(BOX.replace("<path", '<path stroke="#123456" style="fill:#ccc"'), other))
        assert {row[:2] for row in found.loops[0]} == CORNERS
        assert len(found.loops) == 1
        assert sum(found.skipped.values()) == 1
        assert set(found.skipped) <= {"hidden", "neither stroked nor filled"}

    def test_visible_within_hidden_is_seen(self) -> None:
        seen = BOX.replace("<path", '<path style="visibility: visible"')
        assert corners(svg(f'<g visibility="hidden">{seen}</g>')) == CORNERS

    def test_text_and_pictures_are_counted(self) -> None:
        found = read_svg(svg(BOX, '<text x="3">R <tspan>5</tspan></text><image href="a.png"/><text>8</text>'))
        assert found.skipped == {"text": 2, "image": 1}

    def test_clips_and_movements_are_said(self) -> None:
        found = read_svg(svg(f'<g clip-path="url(#c)">{BOX}</g><animateTransform/><script>1</script>'))
        said = " ".join(found.warnings)
        assert "1 elements are clipped or masked; they are read whole" in said
        assert "kind script may move or change what is drawn" in said

    def test_a_selector_that_is_not_followed_is_said(self) -> None:
        found = read_svg(svg("<style>g > path { display: none } g path:hover {stroke:red}</style>", BOX))
        assert found.warnings == ("2 style rules are too intricate to be followed; look for hidden lines",)

    def test_a_size_set_by_a_style_is_said(self) -> None:
        found = read_svg(svg('<rect style="x:10; y:20" width="30" height="30"/>'))
        assert "1 elements have a size or place set by a style, which is not followed" in found.warnings

    def test_a_rectangle_round_the_page_is_left_out(self) -> None:
        page = '<rect x="-100" y="-300" width="100%" height="300" fill="#fff"/>'
        found = read_svg(svg(page, BOX))
        assert len(found.loops) == 1
        assert found.skipped == {"rectangle round the whole page": 1}
        assert found.kinds == {"PAGE FRAME": 1, "PATH": 1}
        assert read_svg(svg(page, BOX), kinds=("PAGE FRAME",)).bounds == (-100.0, 100.0, 0.0, 300.0)

    def test_a_rectangle_as_large_as_the_page_alone_is_read(self) -> None:
        assert read_svg(svg('<rect x="-100" y="-300" width="200" height="300"/>')).bounds[1] == 100.0


class TestChoosing:
    DRAWN = (
        f'<g id="brake" stroke="red" fill="none">{BOX}</g>'
        f'<g inkscape:label="Hub" id="layer2" stroke="#00F"><g id="g7">{BOX.replace("M 10", "M -90")}</g></g>'
        f'<g id="dimensions"><g id="g12">{BOX.replace("M 10", "M 80")}</g></g>'
        '<circle cx="0" cy="-250" r="5" fill="rgb(0, 128,255)"/>'
    )

    def test_groups_are_layers(self) -> None:
        found = read_svg(svg(self.DRAWN))
        assert found.layers == {"Hub": 1, "brake": 1, "dimensions": 1, "no group": 1}
        assert found.off == ("dimensions",)
        assert found.skipped == {"on layer dimensions, off at first": 1}
        assert len(found.loops) == 3

    @pytest.mark.parametrize(
        ("how", "z_low"),
        [
            ({"layers": ("hub",)}, -90.0),
            ({"layers": ("dimensions",)}, 80.0),
            ({"colours": ("#ff0000",)}, 10.0),
            ({"colours": ("#0000ff",)}, -90.0),
            ({"colours": ("#0080ff",)}, -5.0),
            ({"kinds": ("CIRCLE",)}, -5.0),
        ],
    )
    def test_one_of_them_is_read(self, how: dict[str, object], z_low: float) -> None:
        (loop,) = read_svg(svg(self.DRAWN), **how).loops
        assert Path.closed(loop).bounds[0] == pytest.approx(z_low)


class TestUnits:
    @pytest.mark.parametrize(
        ("width", "height", "box", "unit", "size"),
        [
            ("100mm", "50mm", "0 0 100 50", "mm", 30.0),
            ("100mm", "50mm", "0 0 1000 500", "mm", 3.0),
            ("10cm", "5cm", "0 0 100 50", "cm", 30.0),
            ("10in", "5in", "0 0 100 50", "in", 76.2),
            ("720pt", "360pt", "0 0 100 50", "in", 76.2),
            ("60pc", "30pc", "0 0 100,50", "in", 76.2),
            ("100 mm", "auto", "0 0 100 50", "mm", 30.0),
            ("210mm", "297mm", "0 0 744.09 1052.36", "mm", 30.0 * 210.0 / 744.09),
        ],
    )
    def test_a_page_size_with_a_view_box_states_the_scale(
        self, width: str, height: str, box: str, unit: str, size: float
    ) -> None:
        page = f'width="{width}" height="{height}" viewBox="{box}"'
        found = read_svg(svg('<rect width="30" height="30"/>', page=page))
        in_mm = read_svg(svg('<rect width="30" height="30"/>', page=page), unit=unit)
        assert in_mm.unit == unit
        # 297 / 1052.36 and 210 / 744.09 agree to 1e-5.
        assert in_mm.bounds[1] == pytest.approx(size, rel=2e-5)
        # Below 5 mm the size itself is doubtful, below 25 mm it is said.
        assert found.unit == (unit if size > 5.0 else "not known")
        small = "the outline is only 8.467 mm large: is it a part on its own, and the unit mm?"
        assert (small in found.warnings) == (5.0 < size < 25.0)

    @pytest.mark.parametrize(
        ("page", "words"),
        [
            ('width="400" height="300" viewBox="0 0 400 300"', "its size is in pixels"),
            ('width="400px" height="300px"', "its size is in pixels"),
            ('width="100%" height="100%" viewBox="0 0 100 100"', ""),
            ('viewBox="0 0 100 100"', ""),
            ("", ""),
            ('width="100mm" height="100mm"', "no viewBox"),
            ('width="100mm" height="100px" viewBox="0 0 100 100"', "in pixels"),
        ],
    )
    def test_else_it_is_not_known(self, page: str, words: str) -> None:
        found = read_svg(svg('<path d="M0 0h30v30h-30z"/>', page=page))
        assert found.unit == "not known"
        assert words in found.unit_doubt
        assert found.bounds[1] - found.bounds[0] == 30.0
        with pytest.raises(ReadError, match="--unit mm or --unit in"):
            found.loops_mm()
        as_in = read_svg(svg('<path d="M0 0h30v30h-30z"/>', page=page), unit="in")
        assert as_in.bounds[1] - as_in.bounds[0] == pytest.approx(762.0)

    def test_the_users_unit_beats_the_page_and_is_said(self) -> None:
        found = read_svg(svg(BOX), unit="in")
        assert found.bounds[1] == pytest.approx(1016.0)
        assert found.warnings[0] == (
            "the file states mm, 1 mm to a unit of the drawing; read as one in to a unit, as asked"
        )

    def test_a_page_that_stretches_is_followed_where_it_says_so(self) -> None:
        page = 'width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="none"'
        found = read_svg(svg('<circle cx="50" cy="50" r="40"/>', page=page), side="outward")
        assert found.bounds == pytest.approx((10.0, 90.0, 5.0, 45.0), abs=0.005)
        assert found.warnings[0] == "the page stretches the drawing along one direction"

    @pytest.mark.parametrize(("ratio", "mm"), [("", 0.9), ("xMinYMax", 0.9), ("xMidYMid slice", 1.0)])
    def test_a_page_of_another_shape_keeps_the_drawings(self, ratio: str, mm: float) -> None:
        """SVG 2, 8.2: without a word the smaller scale holds for both directions, with slice the larger."""
        asked = f'preserveAspectRatio="{ratio}"' if ratio else ""
        page = f'width="100mm" height="90mm" viewBox="0 0 100 100" {asked}'
        found = read_svg(svg('<path d="M0 0h30v40h-30z"/>', page=page))
        assert found.unit == "mm"
        assert found.bounds[1] == pytest.approx(30.0 * mm)
        assert found.bounds[3] - found.bounds[2] == pytest.approx(40.0 * mm)
        assert f"by the height; the format takes {mm:g}, look at the size" in found.warnings[0]

    def test_lengths_with_units_alone_state_it(self) -> None:
        drawn = '<rect x="10mm" y="2cm" width="30mm" height="1in"/>'
        found = read_svg(svg(drawn, page='width="100mm" height="100mm"'))
        assert found.unit == "mm"
        assert found.bounds == pytest.approx((10.0, 40.0, 54.6, 80.0))
        assert read_svg(svg(drawn, page=""), unit="in").bounds[1] == pytest.approx(1016.0)

    @pytest.mark.parametrize("other", ['<path d="M0 0h9v9z"/>', '<rect x="5" width="1mm" height="1mm"/>'])
    def test_lengths_with_and_without_units_are_refused(self, other: str) -> None:
        with pytest.raises(ReadError, match="some lengths have a unit"):
            read_svg(svg('<rect width="10mm" height="9mm"/>', other, page=""))

    def test_lengths_with_units_beside_a_scale_are_said(self) -> None:
        found = read_svg(svg('<rect width="10mm" height="30"/>'))
        assert found.bounds[1] == pytest.approx(960.0 / 25.4)
        assert "1 lengths have a unit of their own" in found.warnings[0]


class TestWhichWayIsUp:
    """y is reversed; r counts from y = 0, or from the page's foot where y = 0 lies in its upper half."""

    @pytest.mark.parametrize(
        ("box", "r_low"),
        [
            ("0 0 200 300", 180.0),
            ("0 -300 200 300", -120.0),
            ("0 -290 200 300", -120.0),
            ("0 -10 200 300", 170.0),
        ],
    )
    def test_where_r_counts_from(self, box: str, r_low: float) -> None:
        found = read_svg(
            svg('<rect x="5" y="90" width="40" height="30"/>', page=f'width="200mm" viewBox="{box}"')
        )
        assert found.bounds == (5.0, 45.0, r_low, r_low + 30.0)

    def test_up_is_up(self) -> None:
        # A triangle with its point up, as seen on the page.
        (loop,) = read_svg(svg('<polygon points="0,-100 40,-100 20,-150"/>')).loops
        assert max(loop, key=lambda row: row[1])[:2] == (20.0, 150.0)


def test_an_open_outline_is_a_hindrance_with_its_chain() -> None:
    found = read_svg(svg('<path d="M10-100h30v-30h-30" fill="none" stroke="black"/>'))
    assert "the outline is open: a gap of 30" in found.hindrance
    assert len(found.open) == 1
    assert len(read_svg(svg('<path d="M10-100h30v-30h-30"/>'), close=True).loops) == 1


def test_holes_lie_within() -> None:
    ring = '<path d="M10-100h60v-60h-60z M 30 -120 v -20 h 20 v 20 z"/>'
    assert sorted(read_svg(svg(ring)).within) == [-1, 0]


@pytest.mark.parametrize(
    "curve",
    [
        # Out and back on one line; a cusp; a loop; controls on both ends.
        "C 60 -100 60 -100 40 -100",
        "S 40 -90 40 -100",
        "C 40 -100 70 -130 40 -130 C 0 -160 40 -160 0 -130",
        "C 90 -140 -40 -140 20 -100",
        "C 40 -100 10 -120 10 -120",
        "Q 90 -100 40 -100",
    ],
)
def test_curves_that_turn_back_are_followed(curve: str) -> None:
    found = read_svg(
        svg(f'<path d="M 10 -130 L 10 -100 H 40 {curve}" fill="none" stroke="red"/>'), side="outward"
    )
    assert found.curve_error_mm <= 0.005
    assert found.open or found.loops
