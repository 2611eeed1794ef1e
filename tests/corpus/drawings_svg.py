"""Drawings as SVG: units of the page, transforms, curves and shapes."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

from tests.corpus.cases import EVEN, FOUR_PISTON, INCH, REAR, SHARP, STEPPED, Case, case
from tests.corpus.drawings_curves import CURVES, bezier
from tests.corpus.shapes import (
    FIT,
    Chain,
    Point,
    arcs_along,
    box,
    circle,
    closing,
    joined,
    pieces,
    polygon,
    rounded,
    scaled,
)
from tests.corpus.truth import Options
from tests.corpus.write_dxf import number
from tests.corpus.write_svg import (
    DOWN,
    Affine,
    Sheet,
    group,
    grow,
    path,
    path_data,
    place,
    points,
    shift,
    turn,
)

PAGE = Sheet("150mm", "220mm", (-80.0, -215.0, 150.0, 220.0), 1.0)
"""One user unit is a mm; the axle lies at y = 0, the zero of z at x = 0."""


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _units()
    yield from _transforms()
    yield from _arcs()
    yield from _curves()
    yield from _elements()
    yield from _odd_files()


def svg(
    name: str,
    sheet: Sheet,
    items: Sequence[str],
    defect: str,
    outlines: Sequence[Chain],
    unit: str | None = "mm",
    shift_mm: Point = (0.0, 0.0),
    options: dict[str, Any] | None = None,
    text: str | None = None,
    **more: Any,
) -> Case:
    """An SVG file; both ways to count the origin go into the options."""
    page = sheet.page_shift(shift_mm)
    given = Options(
        **(options or {}), shift_mm=shift_mm, page_shift_mm=(round(page[0], 9), round(page[1], 9))
    )
    return case(name, text or sheet.text(*items), "drawing", defect, outlines, unit, given, **more)


def _units() -> Iterator[Case]:
    from_corner = Affine(d=-1.0, e=80.0, f=215.0)
    for name, sheet, unit in (
        ("mm", Sheet("150mm", "220mm", (0.0, 0.0, 150.0, 220.0), 1.0), "mm"),
        ("cm", Sheet("15cm", "22cm", (0.0, 0.0, 1500.0, 2200.0), 0.1), "cm"),
        ("inch", Sheet("6in", "9in", (0.0, 0.0, 600.0, 900.0), 0.254), "in"),
        ("pt", Sheet("432pt", "648pt", (0.0, 0.0, 432.0, 648.0), INCH / 72.0), "pt"),
    ):
        yield svg(
            f"svg_{name}.svg",
            sheet,
            [path(STEPPED, grow(1 / sheet.unit_mm) @ from_corner)],
            f"The page's size is given in {name}, the viewBox counts in other steps from the upper "
            "left corner.",
            [STEPPED],
            unit=unit,
            shift_mm=(-80.0, 215.0),
        )
    yield svg(
        "svg_no_unit.svg",
        Sheet("150", "220", None, 1.0),
        [path(REAR, from_corner)],
        "Width and height carry no unit and there is no viewBox; one unit is meant to be a mm.",
        [REAR],
        unit=None,
        shift_mm=(-80.0, 215.0),
        options={"unit": "mm"},
        questions=("unit",),
    )
    yield svg(
        "svg_px_96.svg",
        Sheet("567", "831", (0.0, 0.0, 567.0, 831.0), INCH / 96.0),
        [path(FOUR_PISTON, grow(96.0 / INCH) @ from_corner)],
        "Pixels of which 96 make an inch, not said anywhere.",
        [FOUR_PISTON],
        unit=None,
        shift_mm=(-80.0, 215.0),
        options={"unit": "mm", "factor": INCH / 96.0},
        questions=("unit",),
    )
    yield svg(
        "svg_percent.svg",
        Sheet("100%", "100%", (0.0, 0.0, 150.0, 220.0), 1.0),
        [path(REAR, from_corner)],
        "Width and height are 100 %: the page has no size, so the viewBox has no unit.",
        [REAR],
        unit=None,
        shift_mm=(-80.0, 215.0),
        options={"unit": "mm"},
        questions=("unit",),
    )
    # 300 x 220 mm for 150 x 220 units: drawn 1:1 in the middle, 75 mm from the left.
    yield svg(
        "svg_page_of_other_shape.svg",
        Sheet("300mm", "220mm", (0.0, 0.0, 150.0, 220.0), 1.0, (75.0, 0.0)),
        [path(EVEN, from_corner)],
        "The page is wider than its viewBox: the scale is the smaller of the two, the rest stays blank.",
        [EVEN],
        shift_mm=(-80.0, 215.0),
    )
    sides = [_line_in_mm(part.start, part.end) for part in pieces(SHARP)]
    yield svg(
        "svg_units_in_attributes.svg",
        Sheet("150mm", "220mm", None, INCH / 96.0),
        sides,
        "No viewBox; every coordinate carries its own unit, mm.",
        [SHARP],
        shift_mm=(-80.0, 215.0),
    )


def _line_in_mm(start: Point, end: Point) -> str:
    values = {"x1": start[0] + 80.0, "y1": 215.0 - start[1], "x2": end[0] + 80.0, "y2": 215.0 - end[1]}
    return "<line " + " ".join(f'{k}="{number(v)}mm"' for k, v in values.items()) + ' stroke="black"/>'


def _transforms() -> Iterator[Case]:
    # Content is what the inverse of all transforms leaves of the wanted place.
    whole = shift(12.5, -40.25) @ turn(27.0) @ grow(2.5) @ Affine(1.2, 0.0, 0.5, 0.8, 3.0, -7.0)
    slanted = whole.inverse() @ DOWN
    corners = points([node[:2] for node in SHARP], slanted)
    inner = group("matrix(1.2,0,.5,.8,3,-7)", f'<polygon points="{corners}"/>')
    yield svg(
        "svg_transforms_nested.svg",
        PAGE,
        [group("translate(12.5 -40.25)", group("rotate(27) scale(2.5)", inner))],
        "Four transforms in one another: moved, turned, scaled, slanted.",
        [SHARP],
        tol=1e-4,
    )
    about = shift(20.0, -150.0) @ turn(-90.0) @ shift(-20.0, 150.0)
    yield svg(
        "svg_rotate_about.svg",
        PAGE,
        [group("rotate(-90, 20, -150)", path(FOUR_PISTON, about.inverse() @ DOWN))],
        "A turn by -90 degrees about a place of its own.",
        [FOUR_PISTON],
    )
    yield svg(
        "svg_mirrored.svg",
        PAGE,
        [group("scale(-1,1)", path(STEPPED, grow(-1.0, 1.0) @ DOWN))],
        "A mirrored group: arcs keep their flags but turn the other way.",
        [STEPPED],
    )
    yield svg(
        "svg_upwards.svg",
        Sheet("150mm", "220mm", (0.0, 0.0, 150.0, 220.0), 1.0),
        [group("translate(80,215) scale(1,-1)", path(REAR, Affine()))],
        "A group that turns y upwards, so that numbers are z and r as they stand.",
        [REAR],
        shift_mm=(-80.0, 215.0),
    )
    skew = math.tan(math.radians(11.0))
    slanted = Affine(c=skew).inverse() @ DOWN
    yield svg(
        "svg_skew.svg",
        PAGE,
        [f'<polygon transform="skewX(11)" points="{points([node[:2] for node in SHARP], slanted)}"/>'],
        "A slant of 11 degrees as skewX.",
        [SHARP],
        tol=1e-4,
    )


def _arcs() -> Iterator[Case]:
    words, at = [], STEPPED[0]
    words.append(f"m{_tight(at[0])} {_tight(-at[1])}")
    for part in pieces(STEPPED)[:-1]:
        dx, dy = part.end[0] - part.start[0], part.start[1] - part.end[1]
        if part.bulge:
            radius = _tight(part.radius)
            words.append(f"a{radius},{radius},0,0{int(part.bulge < 0.0)}{_tight(dx)},{_tight(dy)}")
        else:
            words.append(f"l{_tight(dx)},{_tight(dy)}")
    yield svg(
        "svg_arcs_compact.svg",
        PAGE,
        [f'<path d="{"".join(words).replace(",-", "-")}z"/>'],
        "Relative commands written as tightly as the grammar allows: flags without a blank, "
        "numbers without zeros.",
        [STEPPED],
        tol=1e-4,
    )
    wide = [(-30.0, 104.0, 0.0), (27.0, 104.0, math.tan(math.radians(300.0) / 4.0))]
    yield svg(
        "svg_arc_over_180.svg",
        PAGE,
        [path(wide)],
        "An arc of 300 degrees (large-arc flag).",
        [wide],
    )
    half = [(-38.5, 120.0, 0.0), (38.5, 120.0, 1.0)]
    yield svg(
        "svg_arc_radius_too_small.svg",
        PAGE,
        ['<path d="M -38.5,-120 L 38.5,-120 A 20 20 0 0 0 -38.5,-120 Z"/>'],
        "An arc's radius is too small for its ends: by the standard it grows to half their distance, 38.5.",
        [half],
    )

    def lobe(t: float) -> Point:
        c, s = math.cos(math.radians(20.0)), math.sin(math.radians(20.0))
        u, v = 44.0 * math.cos(t), 29.0 * math.sin(t)
        return (c * u - s * v, 140.0 + s * u + c * v)

    ends = [lobe(0.3), lobe(0.3 + math.pi)]
    curve = arcs_along(lobe, 0.3, 0.3 + math.pi, FIT)
    yield svg(
        "svg_arc_elliptic.svg",
        PAGE,
        [f'<path d="M {place(DOWN(ends[0]))} A 44 29 -20 0 0 {place(DOWN(ends[1]))} Z"/>'],
        "Half an ellipse with its axis turned by 20 degrees, closed by a chord.",
        [curve],
        tol=CURVES,
    )


def _tight(value: float) -> str:
    """A number without a leading or trailing zero."""
    text = f"{value:.7f}".rstrip("0").rstrip(".")
    if text in ("-0", ""):
        return "0"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def _curves() -> Iterator[Case]:
    base = polygon([(-56.0, 160.0), (-56.0, 102.0), (51.0, 99.0), (51.0, 158.0)])
    first = [(51.0, 158.0), (54.0, 184.0), (30.0, 203.0), (2.0, 204.0)]
    # S takes the mirror image of the last control place: 2 (2, 204) - (30, 203) = (-26, 205).
    second = [(2.0, 204.0), (-26.0, 205.0), (-60.0, 190.0), (-56.0, 160.0)]
    tops = [arcs_along(bezier(*part), 0.0, 1.0, FIT) for part in (first, second)]
    yield svg(
        "svg_cubic.svg",
        PAGE,
        [
            '<path d="M -56,-160 L -56,-102 L 51,-99 L 51,-158 '
            'C 54,-184 30,-203 2,-204 S -60,-190 -56,-160 Z"/>'
        ],
        "Two cubic curves, the second by S.",
        [closing(joined(base, *tops))],
        tol=CURVES,
    )
    first = [(51.0, 158.0), (49.0, 195.0), (12.0, 201.0)]
    # T: 2 (12, 201) - (49, 195) = (-25, 207).
    second = [(12.0, 201.0), (-25.0, 207.0), (-56.0, 160.0)]
    tops = [arcs_along(bezier(*part), 0.0, 1.0, FIT) for part in (first, second)]
    yield svg(
        "svg_quadratic.svg",
        PAGE,
        ['<path d="m-56-160v58l107 3v-59q-2-37-39-43t-68 41z"/>'],
        "Two quadratic curves, the second by t, all relative, with v.",
        [closing(joined(base, *tops))],
        tol=CURVES,
    )


def _elements() -> Iterator[Case]:
    yield svg(
        "svg_use.svg",
        PAGE,
        [
            '<defs><g id="cal">' + path(STEPPED, shift(33.0, 12.0) @ DOWN) + "</g>",
            '<symbol id="hose"><circle cx="7.3" cy="7.3" r="7.3"/></symbol>',
            '<g id="both"><use xlink:href="#cal" x="-40" y="-20"/></g></defs>',
            '<use href="#both" x="7" y="8"/>',
            '<use href="#hose" transform="translate(-78,-210)" x="1.5" y="2.5" width="14.6" height="14.6"/>',
        ],
        "The outline stands in the definitions and is placed by `use` within `use`; a symbol holds a hose.",
        [STEPPED, circle((-78.0 + 1.5 + 7.3, 210.0 - 2.5 - 7.3), 7.3)],
    )
    sharp = points([node[:2] for node in SHARP])
    corner = rounded([(-75.0, 20.0, 4.0), (-35.0, 20.0, 4.0), (-35.0, 44.0, 4.0), (-75.0, 44.0, 4.0)])
    yield svg(
        "svg_shapes.svg",
        PAGE,
        [
            f'<polygon points="{sharp}"/>',
            '<rect x="-75" y="-44" width="40" height="24" rx="4"/>',
            '<circle cx="30" cy="-40" r="12.25"/>',
            '<polyline points="50,-10 60,-10 60,-25 50,-25 50,-10"/>',
        ],
        "Polygon, rectangle with round corners, circle, and a polyline that returns to its start; "
        "the polygon is wanted.",
        [SHARP],
        others=[corner, circle((30.0, 40.0), 12.25), box(50.0, 10.0, 60.0, 25.0)],
        options={"inside": (0.0, 150.0)},
        questions=("outline",),
    )
    top, bottom = FOUR_PISTON[:9], [*FOUR_PISTON[8:], FOUR_PISTON[0]]
    yield svg(
        "svg_two_paths.svg",
        PAGE,
        [path(top, closed=False), path(bottom, closed=False)],
        "The outline is in two open paths that meet.",
        [FOUR_PISTON],
    )
    holes = [circle((-30.0, 150.0), 15.5), box(-5.0, 115.0, 20.0, 180.0)]
    yield svg(
        "svg_subpaths.svg",
        PAGE,
        [f'<path fill-rule="evenodd" d="{" ".join(path_data(c) for c in (FOUR_PISTON, *holes))}"/>'],
        "One path of three closed parts: the outline and two windows inside it.",
        [FOUR_PISTON],
        others=holes,
        options={"inside": (40.0, 150.0)},
        warnings=(r"(?i)inner|inside|loop|outline|closed|contour",),
    )
    old = path(scaled(REAR, 1.05))
    yield svg(
        "svg_hidden.svg",
        PAGE,
        [
            group("", old, more=' style="display:none"'),
            group("", old, more=' display="none"'),
            group("", path(scaled(REAR, 0.95)), more=' visibility="hidden"'),
            path(REAR),
        ],
        "Three older outlines are in groups that are not shown.",
        [REAR],
        warnings=(r"(?i)hidden|not shown|invisible|display",),
    )
    inner = f'<svg x="10" y="5" width="60" height="88" viewBox="-80 -215 150 220">{path(EVEN)}</svg>'
    # 60 / 150 = 88 / 220 = 0.4; the page's unit is 2.5 mm, so the inner unit is 1 mm.
    yield svg(
        "svg_nested_svg.svg",
        Sheet("250mm", "250mm", (0.0, 0.0, 100.0, 100.0), 2.5),
        [inner],
        "A picture within the picture, with a viewBox of its own.",
        [EVEN],
        shift_mm=(-25.0 - 80.0, 12.5 + 215.0),
    )


def _odd_files() -> Iterator[Case]:
    clutter = [
        "<title>Caliper, rev. B</title><desc>Outboard to the right</desc>",
        '<defs><clipPath id="c"><rect x="-90" y="-220" width="10" height="10"/></clipPath>',
        '<marker id="m"><path d="M0 0L4 2L0 4Z"/></marker><path id="unused" d="M0 0H9V9Z"/></defs>',
        '<text x="-60" y="-10">CALIPER</text><text x="-60" y="-4">ALLOW 3 MM</text>',
        '<image x="0" y="0" width="20" height="20" xlink:href="photo.png"/>',
        path(STEPPED, more=' clip-path="url(#c)"'),
    ]
    yield svg(
        "svg_text_and_image.svg",
        PAGE,
        clutter,
        "Texts, a picture that was not sent along, a clip path, a marker, an unused definition.",
        [STEPPED],
        skipped={"text": 2, "image": 1},
    )
    plain = PAGE.text(path(FOUR_PISTON))
    doctype = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">\n'
    )
    yield svg(
        "svg_doctype.svg",
        PAGE,
        [],
        "The standard document type is named, as many programs write it; nothing may be fetched for it.",
        [FOUR_PISTON],
        text=plain.replace("<svg", doctype + "<svg", 1),
    )
    entity = '<!DOCTYPE svg [<!ENTITY ns_svg "http://www.w3.org/2000/svg">]>\n'
    yield svg(
        "svg_entity_for_namespace.svg",
        PAGE,
        [],
        "A harmless entity stands for the name space, as an old program wrote it.",
        [FOUR_PISTON],
        text=plain.replace("<svg", entity + "<svg", 1).replace(
            'xmlns="http://www.w3.org/2000/svg"', 'xmlns="&ns_svg;"'
        ),
        may_refuse=r"(?i)entit|doctype",
    )
    prefixed = (
        PAGE.text(path(REAR))
        .replace("<path", "<s:path")
        .replace("<svg", "<s:svg")
        .replace("</svg", "</s:svg")
    )
    yield svg(
        "svg_prefix.svg",
        PAGE,
        [],
        "Every element carries a name-space prefix.",
        [REAR],
        text=prefixed.replace("xmlns=", "xmlns:s="),
    )
