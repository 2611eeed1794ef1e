"""Whatever is done to an outline that leaves what it bounds: it comes back as it was.

The outlines are drawn at random, taken apart, shuffled, turned round, parted, doubled, overlapped and gapped;
what is read is held against them by the distances of tests.support.apart.
"""

from __future__ import annotations

import cmath
import math
import random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.files.readers.answer import ReadOutline
from tests.support.apart import apart, circle
from tests.support.drawings import arc, dxf, line, polyline, read_dxf

Rows = list[tuple[float, float, float]]
Edge = tuple[complex, complex, float]

SEEDS = st.integers(0, 10**9)


def random_outline(rng: random.Random, z: float = 150.0, r: float = 300.0) -> Rows:
    """Return a star-shaped outline of lines and shallow arcs round a place, counterclockwise."""
    count = rng.randint(4, 12)
    turns = [(k + rng.uniform(-0.3, 0.3)) * 2.0 * math.pi / count for k in range(count)]
    rows = []
    for turn in turns:
        size = rng.uniform(60.0, 100.0)
        bulge = rng.choice((-1, 1)) * rng.uniform(0.01, 0.12) if rng.random() < 0.4 else 0.0
        rows.append((z + size * math.cos(turn), r + size * math.sin(turn), bulge))
    return rows


def taken_apart(rows: Rows) -> list[Edge]:
    places = [complex(z, r) for z, r, _ in rows]
    return [(a, b, row[2]) for a, b, row in zip(places, [*places[1:], places[0]], rows, strict=True)]


def part(edge: Edge, first: float, last: float) -> Edge:
    """Return the stretch of an edge between two shares of it."""
    start, end, bulge = edge
    if not bulge:
        return start + (end - start) * first, start + (end - start) * last, 0.0
    centre, _ = circle(start, end, bulge)
    sweep = 4.0 * math.atan(bulge)

    def at(share: float) -> complex:
        turn = sweep * share
        return centre + (start - centre) * complex(math.cos(turn), math.sin(turn))

    return at(first), at(last), math.tan(sweep * (last - first) / 4.0)


def least_turn(rows: Rows) -> float:
    """Return the least turn at a corner of a straight-edged outline, rad."""
    edges = taken_apart(rows)
    pairs = zip(edges, edges[1:] + edges[:1], strict=True)
    return min(abs(cmath.phase((q[1] - q[0]) / (p[1] - p[0]))) for p, q in pairs)


def drawn(edge: Edge, rng: random.Random) -> str:
    """Return an edge as an entity: a line, an arc by centre and angles, or a polyline, either way round."""
    start, end, bulge = edge
    if rng.random() < 0.5:
        start, end, bulge = end, start, -bulge
    if rng.random() < 0.3:
        return polyline((start.real, start.imag, bulge), (end.real, end.imag), closed=False)
    if not bulge:
        return line(start.real, start.imag, end.real, end.imag)
    centre, radius = circle(start, end, bulge)
    turns = [math.degrees(math.atan2((q - centre).imag, (q - centre).real)) for q in (start, end)]
    first, last = turns if bulge > 0.0 else turns[::-1]
    return arc(centre.real, centre.imag, radius, first, last)


def read(edges: list[Edge], rng: random.Random, **how: object) -> ReadOutline:
    rng.shuffle(edges)
    return read_dxf(dxf(*(drawn(edge, rng) for edge in edges)), **how)


def only(found: ReadOutline) -> tuple[tuple[float, float, float], ...]:
    (loop,) = found.loops_mm()
    return loop


@given(SEEDS)
def test_shuffled_and_turned_round(seed: int) -> None:
    rng = random.Random(seed)
    rows = random_outline(rng)
    found = read(taken_apart(rows), rng)
    assert apart(only(found), rows) < 1e-9
    assert (found.doubles, found.joined, found.skipped, found.warnings) == (0, 0, {}, ())


@given(SEEDS)
def test_doubled_whole_and_in_parts(seed: int) -> None:
    """Every edge once, some a second time, some with a piece of them on top."""
    rng = random.Random(seed)
    rows = random_outline(rng)
    edges, more = taken_apart(rows), 0
    for edge in list(edges):
        chance = rng.random()
        if chance < 0.3:
            edges.append(edge)
        elif chance < 0.6:
            low = rng.uniform(0.05, 0.5)
            edges.append(part(edge, low, low + rng.uniform(0.1, 0.4)))
        more += chance < 0.6
    found = read(edges, rng)
    assert apart(only(found), rows) < 1e-9
    assert found.doubles == more


@given(SEEDS)
def test_overlapping_in_parts(seed: int) -> None:
    """Edges drawn in two or three stretches that overlap or meet."""
    rng = random.Random(seed)
    rows = random_outline(rng)
    edges: list[Edge] = []
    for edge in taken_apart(rows):
        stops = sorted(rng.uniform(0.1, 0.9) for _ in range(rng.randint(0, 2)))
        for low, high in zip([0.0, *stops], [*stops, 1.0], strict=True):
            edges.append(part(edge, max(low - rng.choice((0.0, 0.08)), 0.0), high))
    found = read(edges, rng)
    assert apart(only(found), rows) < 1e-9


@given(SEEDS, st.sampled_from([0.009, 0.25]))
def test_gapped_at_corners(seed: int, join: float) -> None:
    """Ends shortened so that gaps stay within the join distance: lines meet again in their old corner."""
    rng = random.Random(seed)
    rows = random_outline(rng)
    edges = []
    for start, end, bulge in taken_apart(rows):
        share = join * 0.49 / abs(end - start)
        edges.append(part((start, end, bulge), rng.uniform(0.0, share), 1.0 - rng.uniform(0.0, share)))
    found = read(edges, rng, join_mm=max(join, 0.01))
    is_straight = not any(row[2] for row in rows) and least_turn(rows) > 0.2
    # Where arcs meet or lines hardly turn, a gap is closed by its middle or by a line, no farther off.
    assert apart(only(found), rows) < (1e-9 if is_straight else join)
    assert found.largest_join_mm <= join
    assert len(found.joins) == found.joined > 0


@given(SEEDS)
def test_lines_that_stop_short_or_run_over_keep_their_corners(seed: int) -> None:
    rng = random.Random(seed)
    rows = [(z, r, 0.0) for z, r, _ in random_outline(rng)]
    # Nearly straight on, the crossing of two lines is not told well enough to be a corner.
    assume(least_turn(rows) > 0.2)
    edges = []
    for edge in taken_apart(rows):
        share = 0.1 / abs(edge[1] - edge[0])
        edges.append(part(edge, rng.uniform(-share, share), 1.0 + rng.uniform(-share, share)))
    found = read(edges, rng, join_mm=0.5)
    assert apart(only(found), rows) < 1e-9


@given(SEEDS)
def test_doubles_rounded_to_three_decimals(seed: int) -> None:
    """A second copy with three decimals is the same outline within 0.002 mm, not a second one."""
    rng = random.Random(seed)
    rows = [(z, r, 0.0) for z, r, _ in random_outline(rng)]
    edges = taken_apart(rows)
    rounded = [(complex(round(z, 3), round(r, 3)), 0.0) for z, r, _ in rows]
    edges += [(a, b, 0.0) for (a, _), (b, _) in zip(rounded, [*rounded[1:], rounded[0]], strict=True)]
    found = read(edges, rng)
    assert apart(only(found), rows) < 0.002
    assert found.doubles == len(rows)


@given(SEEDS)
def test_an_outline_among_others_inside_and_beside(seed: int) -> None:
    rng = random.Random(seed)
    outer = random_outline(rng)
    inner = [(150.0 + (z - 150.0) / 8.0, 300.0 + (r - 300.0) / 8.0, b) for z, r, b in random_outline(rng)]
    beside = random_outline(rng, z=400.0)
    found = read([e for rows in (outer, inner, beside) for e in taken_apart(rows)], rng)
    loops = found.loops_mm()
    at = [min(range(3), key=lambda k: apart(loops[k], rows)) for rows in (outer, inner, beside)]
    assert all(apart(loops[k], rows) < 1e-9 for k, rows in zip(at, (outer, inner, beside), strict=True))
    assert [found.within[k] for k in at] == [-1, at[0], -1]


@given(SEEDS, st.sampled_from(["nearest", "outward"]))
def test_with_a_line_that_ends_on_it(seed: int, side: str) -> None:
    """A centre line that starts at a corner or along an edge and ends far off bounds nothing."""
    rng = random.Random(seed)
    rows = random_outline(rng)
    edges = taken_apart(rows)
    _, end, _ = part(rng.choice(edges), 0.0, rng.choice((0.5, 1.0)))
    tip = rng.choice((150.0 + 300.0j + 40.0 * (end - 150.0 - 300.0j), 150.0 + 300.0j))
    found = read([*edges, (end, tip, 0.0)], rng, side=side, unit="mm")
    assert apart(only(found), rows) < 1e-9
    assert found.skipped == {"dead ends": 1}
    assert "bound nothing" in found.warnings[0]


@given(SEEDS)
def test_an_outline_parted_inside_keeps_its_outer_edge_if_it_may_grow(seed: int) -> None:
    rng = random.Random(seed)
    rows = random_outline(rng)
    centre = 150.0 + 300.0j
    spokes = [(complex(z, r), centre, 0.0) for z, r, _ in rows]
    edges = [*taken_apart(rows), *spokes[: rng.randint(2, len(spokes))]]
    found = read(list(edges), rng, side="outward")
    assert apart(only(found), rows) < 1e-9
    assert found.skipped == {"lines within the outline": len(edges) - len(rows)}
    assert read(edges, rng).hindrance.split(" ", 1)[1].startswith("lines meet at z")


def half(seed: int) -> tuple[Rows, list[Edge], complex]:
    """Return a random outline that is its own image in a line, its drawn half, and the line's direction."""
    rng = random.Random(seed)
    turn = complex(math.cos(rng.uniform(0.0, 6.0)), 0.0)
    turn = complex(turn.real, math.sqrt(1.0 - turn.real**2))
    count = rng.randint(3, 7)
    sizes = [rng.uniform(50.0, 100.0) for _ in range(count)]
    offs = [
        math.pi * (k + (rng.uniform(0.2, 0.8) if 0 < k < count - 1 else 0.0)) / (count - 1)
        for k in range(count)
    ]
    offs[-1] = math.pi
    upper = [size * complex(math.cos(o), math.sin(o)) for size, o in zip(sizes, offs, strict=True)]
    lower = [q.conjugate() for q in upper[-2:0:-1]]
    places = [150.0 + 300.0j + turn * q for q in (*upper, *lower)]
    rows = [(q.real, q.imag, 0.0) for q in places]
    return rows, taken_apart(rows)[: count - 1], turn


@given(SEEDS)
def test_half_drawn_outlines_are_completed_by_their_image(seed: int) -> None:
    rows, edges, _ = half(seed)
    found = read(edges, random.Random(seed), mirror=True)
    assert apart(only(found), rows) < 1e-9
    assert found.warnings[0].startswith("completed by its image in the line from z")
    assert "--mirror" in read(edges, random.Random(seed)).hindrance


@given(SEEDS)
def test_halves_in_several_chains_share_their_line(seed: int) -> None:
    """An outline, a smaller one inside it and a hole beside the line, each drawn in half or once."""
    rows, edges, turn = half(seed)
    centre = 150.0 + 300.0j
    inner = [(150.0 + (z - 150.0) / 4.0, 300.0 + (r - 300.0) / 4.0, 0.0) for z, r, _ in rows]
    inner_edges = taken_apart(inner)[: len(edges)]
    at = centre + turn * 30.0j
    hole = [at + turn * q for q in (-2.0, 2.0, 1.0j)]
    image = [centre + turn * ((q - centre) / turn).conjugate() for q in hole]
    holes = [[(q.real, q.imag, 0.0) for q in corners] for corners in (hole, image)]
    found = read([*edges, *inner_edges, *taken_apart(holes[0])], random.Random(seed), mirror=True)
    loops = found.loops_mm()
    assert len(loops) == 4
    for expected in (rows, inner, *holes):
        assert min(apart(loop, expected) for loop in loops) < 1e-9
    assert ", 1 closed outlines beside it too" in found.warnings[0]


@pytest.mark.parametrize("offset", [1e4, 1e5, 9e5])
def test_far_off_the_origin_nothing_is_lost(offset: float) -> None:
    rng = random.Random(5)
    near = random_outline(rng)
    rows = [(z + offset, r - offset, b) for z, r, b in near]
    edges = taken_apart(rows)
    edges += [part(edge, 0.2, 0.7) for edge in edges[::2]]
    found = read(edges, rng)
    (loop,) = found.usable_loops_mm()
    assert apart([(z - offset, r + offset, b) for z, r, b in loop], near) < 1e-8
    assert found.warnings[-1].startswith("everything lies")
    assert "place it with --origin" in found.warnings[-1]
