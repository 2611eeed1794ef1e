"""Drawings with splines, ellipses and circles."""

import math
from collections.abc import Callable, Iterator, Sequence

from tests.corpus.cases import REAR, Case, drawing
from tests.corpus.shapes import (
    FIT,
    Point,
    arcs_along,
    circle,
    closing,
    joined,
    polygon,
)
from tests.corpus.write_dxf import (
    Drawing,
    ellipse,
    entity,
    line,
    separate,
    spline,
)
from tests.corpus.write_dxf import circle as circle_entity

CURVES = (0.0005, 0.0055)
"""Curves that are neither line nor arc may be replaced within 0.005, outward (design.md 4)."""


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _splines()
    yield from _ellipses_and_circles()


def de_boor(degree: int, controls: Sequence[Point], knots: Sequence[float]) -> Callable[[float], Point]:
    """A spline as a function of its parameter (de Boor's algorithm)."""

    def at(t: float) -> Point:
        k = max(i for i in range(degree, len(controls)) if knots[i] <= t or i == degree)
        row = [controls[j + k - degree] for j in range(degree + 1)]
        for level in range(1, degree + 1):
            for j in range(degree, level - 1, -1):
                low = knots[j + k - degree]
                share = (t - low) / (knots[j + 1 + k - level] - low)
                row[j] = tuple((1 - share) * a + share * b for a, b in zip(row[j - 1], row[j], strict=True))  # type: ignore[assignment]
        return row[degree]

    return at


def _under(start: Point, end: Point) -> list[Point]:
    """Straight edges from the right end of a curved top round to its left end."""
    return [start, (start[0], 99.7), (end[0], 104.3), end]


def _splines() -> Iterator[Case]:
    controls = [(52.3, 158.4), (53.1, 183.7), (21.4, 201.9), (-18.8, 206.3), (-49.2, 190.1), (-61.7, 161.2)]
    knots = [0.0, 0.0, 0.0, 0.0, 0.7, 1.9, 3.0, 3.0, 3.0, 3.0]
    top = arcs_along(de_boor(3, controls, knots), 0.0, 3.0, FIT)
    sides = separate(polygon(_under(controls[0], controls[-1])), closed=False)
    outline = closing(joined(top, list(reversed(polygon(_under(controls[0], controls[-1]))))))
    yield drawing(
        "spline_smooth.dxf",
        Drawing([spline(3, controls, knots), *sides]),
        "The top is a cubic spline with uneven knots, the rest lines.",
        [outline],
        tol=CURVES,
    )
    kinked = [
        (54.7, 155.3), (56.2, 171.8), (47.9, 187.4), (30.6, 189.2),
        (24.3, 199.7), (-6.1, 208.4), (-33.9, 203.8),
        (-38.6, 190.5), (-60.3, 192.7), (-64.9, 158.9),
    ]  # fmt: skip
    knots = [0.0] * 4 + [1.0] * 3 + [2.0] * 3 + [3.0] * 4
    parts = [bezier(*kinked[3 * i : 3 * i + 4]) for i in range(3)]
    top = joined(*(arcs_along(part, 0.0, 1.0, FIT) for part in parts))
    under = polygon(_under(kinked[0], kinked[-1]))
    yield drawing(
        "spline_kinks.dxf",
        Drawing([spline(3, kinked, knots), *separate(under, closed=False)]),
        "A cubic spline with two kinks, at triple knots.",
        [closing(joined(top, list(reversed(under))))],
        tol=CURVES,
    )
    right, left, height = (48.6, 151.2), (-48.6, 151.2), 48.6
    # Two quarters of a circle as one rational quadratic spline (textbook weights 1, sqrt 1/2, 1).
    w = math.sqrt(0.5)
    square = [right, (48.6, 151.2 + height), (0.0, 151.2 + height), (-48.6, 151.2 + height), left]
    under = polygon(_under(right, left))
    yield drawing(
        "spline_rational.dxf",
        Drawing(
            [
                spline(2, square, [0, 0, 0, 1, 1, 2, 2, 2], [1.0, w, 1.0, w, 1.0]),
                *separate(under, closed=False),
            ]
        ),
        "A rational spline that is exactly half a circle.",
        [closing(joined([(*right, 1.0), (*left, 0.0)], list(reversed(under))))],
        tol=CURVES,
    )
    loop = [
        (57.1, 131.6),
        (43.2, 188.8),
        (-11.9, 204.2),
        (-63.3, 181.5),
        (-58.8, 117.9),
        (-5.4, 93.7),
        (40.4, 100.6),
    ]
    wrapped = [*loop, *loop[:3]]
    knots = [float(i - 3) for i in range(len(wrapped) + 4)]
    curve = arcs_along(de_boor(3, wrapped, knots), 0.0, float(len(loop)), FIT)
    yield drawing(
        "spline_periodic.dxf",
        Drawing([spline(3, wrapped, knots, flags=11)]),
        "A closed periodic spline: knots run on evenly beyond both ends, the first three control "
        "places return.",
        [closing(curve)],
        tol=CURVES,
    )
    clamped = [
        (55.1, 140.3),
        (54.4, 186.2),
        (3.3, 205.5),
        (-57.2, 188.4),
        (-60.6, 108.7),
        (8.8, 90.2),
        (55.1, 140.3),
    ]
    knots = [0.0, 0.0, 0.0, 0.0, 1.1, 1.1, 2.7, 4.0, 4.0, 4.0, 4.0]
    curve = arcs_along(de_boor(3, clamped, knots), 0.0, 4.0, FIT)
    yield drawing(
        "spline_closed_clamped.dxf",
        Drawing([spline(3, clamped, knots, flags=11)]),
        "A spline marked closed and periodic whose knots are clamped and whose ends meet: it must "
        "not be wrapped again.",
        [closing(curve)],
        tol=CURVES,
    )
    fit = [(54.2 * math.cos(t), 148.0 + 54.2 * math.sin(t)) for t in (math.pi * i / 90 for i in range(91))]
    tags: list[tuple[int, float | int | str]] = [(70, 8), (71, 3), (72, 0), (73, 0), (74, len(fit))]
    for place in fit:
        tags += [(11, place[0]), (21, place[1]), (31, 0.0)]
    under = polygon(_under(fit[0], fit[-1]))
    yield drawing(
        "spline_fit_points.dxf",
        Drawing([entity("SPLINE", "AcDbSpline", "0", *tags), *separate(under, closed=False)]),
        "A spline given only by the places it passes through, close together on half a circle.",
        [closing(joined([(*fit[0], 1.0), (*fit[-1], 0.0)], list(reversed(under))))],
        tol=(0.01, 0.02),
        may_refuse=r"(?i)spline|open|not closed",
    )


def bezier(*controls: Point) -> Callable[[float], Point]:
    """A Bezier curve of any degree as a function (Bernstein sum)."""
    n = len(controls) - 1

    def at(t: float) -> Point:
        weights = [math.comb(n, i) * (1 - t) ** (n - i) * t**i for i in range(n + 1)]
        return (
            sum(w * p[0] for w, p in zip(weights, controls, strict=True)),
            sum(w * p[1] for w, p in zip(weights, controls, strict=True)),
        )

    return at


def _ellipses_and_circles() -> Iterator[Case]:
    # A rounded box, two of whose corners are quarter ellipses of 21 x 9.
    right, left = (36.4, 172.1), (-36.4, 172.1)

    def quarter(t: float) -> Point:
        return (15.4 + 21.0 * math.cos(t), 172.1 + 9.0 * math.sin(t))

    def other(t: float) -> Point:
        return (-15.4 + 21.0 * math.cos(t), 172.1 + 9.0 * math.sin(t))

    half = math.pi / 2.0
    top = joined(
        arcs_along(quarter, 0.0, half, FIT),
        [(*quarter(half), 0.0), (*other(half), 0.0)],
        arcs_along(other, half, math.pi, FIT),
    )
    under = polygon([left, (-36.4, 101.3), (36.4, 101.3), right])
    yield drawing(
        "ellipse_corners.dxf",
        Drawing(
            [
                ellipse((15.4, 172.1), (21.0, 0.0), 9.0 / 21.0, 0.0, half),
                ellipse((-15.4, 172.1), (21.0, 0.0), 9.0 / 21.0, half, math.pi),
                line(quarter(half), other(half)),
                *separate(under, closed=False),
            ]
        ),
        "Two corners are quarters of ellipses.",
        [closing(joined(top, under))],
        tol=CURVES,
    )
    c, s = math.cos(0.31), math.sin(0.31)

    def oval(t: float) -> Point:
        u, v = 51.7 * math.cos(t), 33.9 * math.sin(t)
        return (-4.2 + c * u - s * v, 151.3 + s * u + c * v)

    yield drawing(
        "ellipse_full.dxf",
        Drawing([ellipse((-4.2, 151.3), (51.7 * c, 51.7 * s), 33.9 / 51.7, 0.0, 2.0 * math.pi)]),
        "A full ellipse, its long axis askew.",
        [closing(arcs_along(oval, 0.0, 2.0 * math.pi, FIT))],
        tol=CURVES,
    )
    yield drawing(
        "circle_beside_outline.dxf",
        Drawing([*separate(REAR), circle_entity((-61.3, 176.2), 6.45)]),
        "A caliper and, beside it, its hose as a circle: two outlines, both wanted.",
        [REAR, circle((-61.3, 176.2), 6.45)],
    )
