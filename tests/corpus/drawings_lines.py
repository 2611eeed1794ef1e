"""Drawings whose lines do not meet or lie on one another, and polylines of all kinds."""

import math
import random
from collections.abc import Iterator, Sequence

from tests.corpus.cases import FOUR_PISTON, REAR, SHARP, STEPPED, Case, drawing
from tests.corpus.shapes import (
    FOUR_PISTON as FOUR_PISTON_CORNERS,
)
from tests.corpus.shapes import (
    Piece,
    Point,
    backwards,
    circle,
    flattened,
    pieces,
    polygon,
    rounded,
)
from tests.corpus.truth import Options
from tests.corpus.write_dxf import (
    Drawing,
    Entity,
    arc,
    entity,
    line,
    lwpolyline,
    piece,
    polyline,
    separate,
    sequence_end,
    vertex,
)

R12 = "AC1009"


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _gaps()
    yield from _doubles()
    yield from _polylines()


def _shortened(start: Point, end: Point, by_mm: float) -> Entity:
    """A line that stops short of its end; with a negative length it runs past."""
    share = 1.0 - by_mm / math.dist(start, end)
    return line(start, (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))


def _gaps() -> Iterator[Case]:
    sides = pieces(SHARP)
    short = [_shortened(s.start, s.end, 0.2 if i in (0, 2, 5) else 0.0) for i, s in enumerate(sides)]
    yield drawing(
        "gaps_0_2.dxf",
        Drawing(short),
        "Three corners stay open by 0.2 mm.",
        [SHARP],
        options=Options(join_mm=0.25),
        tol=0.2,
        joined=(3, 3),
        questions=("gaps",),
        warnings=(r"(?i)gap|join|open|close",),
    )
    yield drawing(
        "gaps_1e-6.dxf",
        Drawing([_shortened(s.start, s.end, 1e-6) for s in sides]),
        "Every corner stays open by a millionth of a mm, as rounding leaves them.",
        [SHARP],
        joined=(0, 6),
    )
    yield drawing(
        "gaps_overrun.dxf",
        Drawing([_shortened(s.start, s.end, -0.15 if i % 2 == 0 else 0.0) for i, s in enumerate(sides)]),
        "Three lines run 0.15 past their corner.",
        [SHARP],
        options=Options(join_mm=0.25),
        tol=0.15,
        joined=(0, 3),
        questions=("gaps",),
    )
    entities = [piece(p if i % 3 else Piece(p.end, p.start, -p.bulge)) for i, p in enumerate(pieces(STEPPED))]
    random.Random(11).shuffle(entities)
    yield drawing(
        "order_random.dxf",
        Drawing(entities, version=R12),
        "Lines and arcs in random order, some drawn the other way round.",
        [STEPPED],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    wide = [(-40.0, 120.0, 0.0), (35.0, 120.0, math.tan(math.radians(300.0) / 4.0))]
    yield drawing(
        "arc_over_180.dxf",
        Drawing(separate(wide)),
        "An arc of 300 degrees closed by a chord; as stored, its start angle is larger than its end angle.",
        [wide],
    )
    dots = [line(s.start, s.start) for s in sides[:3]]
    yield drawing(
        "zero_length.dxf",
        Drawing([*separate(SHARP), *dots, lwpolyline([(60.0, 60.0, 0.0), (60.0, 60.0, 0.0)], closed=False)]),
        "Lines of zero length on three corners, and a polyline of two equal places.",
        [SHARP],
        doubles=None,
    )


def _doubles() -> Iterator[Case]:
    once = separate(FOUR_PISTON)
    again = separate(backwards(FOUR_PISTON)[:7], closed=False)
    yield drawing(
        "doubles_stacked.dxf",
        Drawing([*once, *once, *again]),
        "All lines and arcs drawn twice, six of them a third time and backwards.",
        [FOUR_PISTON],
        doubles=(22, 22),
        warnings=(r"(?i)double|twice|duplicate|stacked|cover",),
    )
    near = [[(z + 0.0004, r - 0.0003, bulge) for z, r, bulge in SHARP]]
    yield drawing(
        "doubles_nearly.dxf",
        Drawing([*separate(SHARP), *separate(near[0])]),
        "All lines drawn twice, the copy 0.0005 mm beside the first, as a conversion leaves it.",
        [SHARP],
        tol=0.0006,
        doubles=(6, 6),
        warnings=(r"(?i)double|twice|duplicate|stacked|cover",),
    )
    bottom, *others = pieces(SHARP)
    cuts = [(0.0, 0.45), (0.3, 0.8), (0.75, 1.0), (0.5, 0.6)]
    overlapping = [line(bottom.at(a), bottom.at(b)) for a, b in cuts]
    yield drawing(
        "doubles_overlapping.dxf",
        Drawing(
            [
                *overlapping,
                *separate([(*p.start, 0.0) for p in others] + [(*others[-1].end, 0.0)], closed=False),
            ]
        ),
        "One edge is drawn as four lines that overlap: three end beyond the next one's start, one "
        "lies within.",
        [SHARP],
        doubles=(1, 4),
        warnings=(r"(?i)double|overlap|duplicate|stacked|cover",),
    )
    corner = next(p for p in pieces(FOUR_PISTON) if p.bulge and p.radius > 14.0)
    a0 = math.degrees(math.atan2(corner.start[1] - corner.centre[1], corner.start[0] - corner.centre[0]))
    sweep = math.degrees(corner.sweep)
    halves = [
        arc(corner.centre, corner.radius, a0, a0 + 0.7 * sweep),
        arc(corner.centre, corner.radius, a0 + 0.4 * sweep, a0 + sweep),
    ]
    rest = [e for p, e in zip(pieces(FOUR_PISTON), once, strict=True) if p != corner]
    yield drawing(
        "doubles_overlapping_arcs.dxf",
        Drawing([*rest, *halves]),
        "One corner is drawn as two arcs of the same circle that overlap.",
        [FOUR_PISTON],
        doubles=(0, 2),
    )


def _polylines() -> Iterator[Case]:
    chords = polygon(flattened(rounded(FOUR_PISTON_CORNERS), 0.04))
    yield drawing(
        "fillets_as_chords.dxf",
        Drawing([lwpolyline(chords)]),
        "Corner radii are short straight edges, up to 0.04 mm inside the arcs they stand for.",
        [chords],
        tol=(1e-5, 0.045),
    )
    yield drawing(
        "polyline_r12.dxf",
        Drawing(polyline(STEPPED), version=R12),
        "An old-style polyline: POLYLINE, VERTEX with bulges, SEQEND.",
        [STEPPED],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    repeated = [*REAR, (*REAR[0][:2], 0.0)]
    yield drawing(
        "polyline_not_flagged_closed.dxf",
        Drawing(polyline(repeated, closed=False), version=R12),
        "An old-style polyline that repeats its first place at its end instead of being marked closed.",
        [REAR],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    yield drawing(
        "polyline_width.dxf",
        Drawing([lwpolyline(REAR, "0", True, (43, 2.5))]),
        "A light polyline drawn 2.5 mm wide: the outline is its middle line.",
        [REAR],
    )
    yield drawing(
        "polyline_full_circle.dxf",
        Drawing([lwpolyline(circle((-33.6, 141.7), 8.15))]),
        "A full circle as a polyline of two places with bulge 1 each.",
        [circle((-33.6, 141.7), 8.15)],
    )
    frame = [(-50.3, 101.7), (44.1, 96.9), (57.7, 188.3), (-49.6, 193.9)]
    curve = _quadratic_loop(frame, 12)
    items = [
        entity("POLYLINE", "AcDb2dPolyline", "0", (66, 1), (10, 0.0), (20, 0.0), (30, 0.0), (70, 5), (75, 5))
    ]
    items += [vertex(place, flags=16) for place in frame]
    items += [vertex(place, flags=8) for place in curve]
    yield drawing(
        "polyline_spline_fit.dxf",
        Drawing([*items, sequence_end()], version=R12),
        "An old-style polyline made smooth: its frame's vertices (flag 16) are no part of the outline.",
        [polygon(curve)],
        unit=None,
        options=Options(unit="mm"),
        questions=("unit",),
    )
    split = [lwpolyline(STEPPED[:8], closed=False), lwpolyline(STEPPED[7:13], closed=False)]
    yield drawing(
        "polyline_and_lines.dxf",
        Drawing([*split, *separate([*STEPPED[12:], STEPPED[0]], closed=False)]),
        "Two open polylines with bulges and single lines and arcs make one outline.",
        [STEPPED],
    )


def _quadratic_loop(frame: Sequence[Point], count: int) -> list[Point]:
    """Places on the closed quadratic B-spline of a frame (uniform knots, textbook basis)."""
    places = []
    for i in range(len(frame)):
        a, b, c = frame[i], frame[(i + 1) % len(frame)], frame[(i + 2) % len(frame)]
        for j in range(count):
            t = j / count
            w = (0.5 * (1 - t) ** 2, 0.5 + t - t * t, 0.5 * t * t)
            places.append((w[0] * a[0] + w[1] * b[0] + w[2] * c[0], w[0] * a[1] + w[1] * b[1] + w[2] * c[1]))
    return places
