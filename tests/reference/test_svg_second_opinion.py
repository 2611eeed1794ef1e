"""SVG against svgelements, a general library: random paths and shapes under random transforms."""

import math
from io import BytesIO

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import SVG, Move, Shape

from app.files.readers.answer import ReadOutline
from app.files.readers.pieces import Point, arc_centre
from geometry.tolerances import CURVE_MM
from tests.support.svg import read_svg, svg

#: Both take a page in pixels as it stands; svgelements counts from its upper left corner.
PAGE = 'width="200" height="300" viewBox="-100 -300 200 300"'


def second_opinion(data: bytes) -> list[Point]:
    """Return places along what svgelements reads, as z, r in mm.

    Its own arcs go wrong in a skew, whose axes it takes as square still; so places are taken before and put
    through the transform after.
    """
    places: list[Point] = []
    for element in SVG.parse(BytesIO(data), reify=False).elements():
        if not isinstance(element, Shape):
            continue
        for segment in element.segments(transformed=False):
            if isinstance(segment, Move) or segment.start is None:
                continue
            for t in np.linspace(0.0, 1.0, 7):
                p = segment.point(float(t)) * element.transform
                places.append((p.x - 100.0, 300.0 - p.y))
    return places


def nearest(found: ReadOutline, place: Point) -> float:
    """Return the distance of a place from all that was read, by closed forms."""
    best = math.inf
    for rows, is_closed in [(loop, True) for loop in found.loops] + [(chain, False) for chain in found.open]:
        for k in range(len(rows) if is_closed else len(rows) - 1):
            (z0, r0, bulge), (z1, r1, _) = rows[k], rows[(k + 1) % len(rows)]
            best = min(best, _to_piece((z0, r0), (z1, r1), bulge, place))
    return best


def _to_piece(start: Point, end: Point, bulge: float, place: Point) -> float:
    if bulge == 0.0:
        return float(shapely.LineString([start, end]).distance(shapely.Point(place)))
    centre, radius = arc_centre(start, end, bulge)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    turn = math.atan2(place[1] - centre[1], place[0] - centre[0]) - first
    if math.copysign(1.0, bulge) * turn % (2.0 * math.pi) <= 4.0 * math.atan(abs(bulge)):
        return abs(math.dist(place, centre) - radius)
    return min(math.dist(place, start), math.dist(place, end))


number = st.integers(-400, 400).map(lambda n: n / 10.0)
pair = st.tuples(number, number).map("{0[0]},{0[1]}".format)
flag = st.sampled_from("01")
radius = st.integers(20, 500).map(lambda n: n / 10.0)


def _command(letters: str, *parts: st.SearchStrategy[object]) -> st.SearchStrategy[str]:
    words = st.tuples(*parts).map(lambda t: " ".join(map(str, t)))
    return st.tuples(st.sampled_from(letters), words).map(" ".join)


command = st.one_of(
    _command("Ll", pair),
    _command("Hh", number),
    _command("Vv", number),
    _command("Cc", pair, pair, pair),
    _command("Ss", pair, pair),
    _command("Qq", pair, pair),
    _command("Tt", pair),
    _command("Aa", radius, radius, number, flag, flag, pair),
)


def _path(commands: list[str]) -> str:
    """Return a path; svgelements reflects a control of the other degree too, which the text bars."""
    parts = ["M -5 -150 l 61 5 l 7 43"]
    for text in commands:
        mixed = (text[0] in "Ss" and parts[-1][0] in "QqTt") or (text[0] in "Tt" and parts[-1][0] in "CcSs")
        parts += ["h 1", text] if mixed else [text]
    return f'<path d="{" ".join(parts)} Z"/>'


paths = st.lists(command, min_size=1, max_size=6).map(_path)
shapes = st.one_of(
    st.builds('<circle cx="{}" cy="{}" r="{}"/>'.format, number, number, radius),
    st.builds('<ellipse cx="{}" cy="{}" rx="{}" ry="{}"/>'.format, number, number, radius, radius),
    st.builds('<rect x="{}" y="{}" width="{}" height="{}"/>'.format, number, number, radius, radius),
    st.builds('<rect width="{}" height="{}" rx="{}" ry="{}"/>'.format, radius, radius, radius, radius),
)
angle = st.integers(-170, 170)
transform = st.one_of(
    st.builds("translate({} {})".format, number, number),
    st.builds("rotate({})".format, angle),
    st.builds("rotate({} {} {})".format, angle, number, number),
    st.sampled_from(["scale(-1,1)", "scale(.5)", "scale(1.5,-.7)", "skewX(30)", "skewY(-20)"]),
    st.just("matrix(.8 .3 -.2 1.1 5 7)"),
)
transforms = st.lists(transform, max_size=3).map(" ".join)


def drawn(body: str, outer: str, inner: str) -> bytes:
    return svg(f'<g transform="{outer}"><g transform="translate(0,-120) {inner}">{body}</g></g>', page=PAGE)


def _compare(data: bytes) -> None:
    found = read_svg(data)
    places = second_opinion(data)
    assert max(nearest(found, place) for place in places) <= CURVE_MM + 1e-6


@settings(max_examples=40)
@given(paths, transforms, transforms)
def test_random_paths(body: str, outer: str, inner: str) -> None:
    _compare(drawn(body, outer, inner))


@settings(max_examples=40)
@given(shapes, transforms, transforms)
def test_random_shapes(body: str, outer: str, inner: str) -> None:
    _compare(drawn(body, outer, inner))


straight = st.lists(
    st.one_of(_command("Ll", pair), _command("Hh", number), _command("Vv", number)), min_size=1, max_size=8
).map(lambda commands: f'<path d="M -5 -150 l 61 5 {" ".join(commands)}"/>')
alike = st.lists(
    st.one_of(
        st.builds("translate({} {})".format, number, number),
        st.builds("rotate({} {} {})".format, angle, number, number),
        st.sampled_from(
            ["scale(-1,1)", "scale(1,-1)", "scale(.5)", "scale(-1.7)", "matrix(.8 .6 -.6 .8 5 7)"]
        ),
    ),
    max_size=4,
).map(" ".join)
round_shapes = st.one_of(
    st.builds('<circle cx="{}" cy="{}" r="{}"/>'.format, number, number, radius),
    st.builds('<path d="M {0} a {1} {1} 0 {2} {3} 7.5 -11"/>'.format, pair, radius, flag, flag),
)


@settings(max_examples=30)
@given(st.one_of(straight, round_shapes), alike, alike)
def test_lines_and_arcs_of_circles_are_exact(body: str, outer: str, inner: str) -> None:
    """What needs no replacing lies where svgelements has it, within a millionth of the drawing's reach."""
    data = drawn(body, outer, inner)
    places = second_opinion(data)
    reach = max(1.0, *(abs(x) for place in places for x in place))
    found = read_svg(data, unit="mm")
    assert max(nearest(found, place) for place in places) <= 1e-6 * reach


@settings(max_examples=30)
@given(straight, transforms, transforms)
def test_lines_are_exact_in_every_transform(body: str, outer: str, inner: str) -> None:
    data = drawn(body, outer, inner)
    places = second_opinion(data)
    reach = max(1.0, *(abs(x) for place in places for x in place))
    found = read_svg(data, unit="mm")
    assert max(nearest(found, place) for place in places) <= 1e-6 * reach


@settings(max_examples=40)
@given(shapes, transforms)
def test_outward_holds_the_shape_and_inward_lies_in_it(body: str, inner: str) -> None:
    data = drawn(body, "", inner)
    places = shapely.points(second_opinion(data))
    for side, is_held in (("outward", True), ("inward", False)):
        (loop,) = read_svg(data, side=side).loops
        area = shapely.Polygon(_dense(loop))
        shapely.prepare(area)
        off = shapely.distance(area.exterior, places)
        wrong = shapely.contains(area, places) != is_held
        assert np.max(off) <= CURVE_MM + 2e-6
        # Chords of the dense polygon lie this far off their arcs.
        assert np.max(off[wrong], initial=0.0) <= 2e-6


def _dense(loop: tuple[tuple[float, float, float], ...]) -> list[Point]:
    places: list[Point] = []
    for (z0, r0, bulge), (z1, r1, _) in zip(loop, [*loop[1:], loop[0]], strict=True):
        places.append((z0, r0))
        if bulge:
            centre, size = arc_centre((z0, r0), (z1, r1), bulge)
            first, sweep = math.atan2(r0 - centre[1], z0 - centre[0]), 4.0 * math.atan(bulge)
            count = max(2, math.ceil(abs(sweep) / math.sqrt(8e-6 / size)))
            places += [
                (
                    centre[0] + size * math.cos(first + sweep * k / count),
                    centre[1] + size * math.sin(first + sweep * k / count),
                )
                for k in range(1, count)
            ]
    return places


@pytest.mark.parametrize("element", ["circle", "ellipse", "rect", "line", "polyline", "polygon", "path"])
def test_no_kind_of_shape_is_missing(element: str) -> None:
    """Both read every basic shape of the recommendation."""
    size = 'r="20"' if element == "circle" else 'rx="8" ry="6"'
    body = (
        f'<{element} cx="5" cy="-100" {size} x="3" y="-90" width="40" height="30" x1="1" y1="-80" x2="50" '
        'y2="-130" points="0,-100 30,-100 30,-140" d="M0-100h30v-30z"/>'
    )
    data = svg(body, page=PAGE)
    found = read_svg(data)
    assert max(nearest(found, place) for place in second_opinion(data)) <= CURVE_MM + 1e-9
