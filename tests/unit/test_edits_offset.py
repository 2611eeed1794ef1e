"""Stretches of the skin moved, against geometry by hand and against general polygon booleans."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.edits_lines import blended, led_to, of_zone, through, together, with_edge, with_legs
from geometry.shape.edits_offset import shifted, walled
from geometry.shape.edits_pieces import Piece, distance, pieces_of
from geometry.shape.edits_relief import relieved, taken_over
from geometry.shape.edits_stretch import Spot
from geometry.shape.section import Outline, Section, Vertex, Zone, build

#: An angle of 6 mm metal: a leg along the axle, r 100 to 106, and one towards it, z 60 to 66; R3 inside, R9
#: outside, so that the wall round the bend is 6 as well.
ANGLE = Section(
    (
        Vertex(0, 100),
        Vertex(60, 100, 3),
        Vertex(60, 60),
        Vertex(66, 60, zone=Zone.SHOULDER),
        Vertex(66, 106, 9),
        Vertex(0, 106),
    )
)


def rows(section: Section) -> list[tuple[float, float, float]]:
    return [(v.z, v.r, v.radius) for v in section.vertices]


def near(section: Section, wanted: list[tuple[float, ...]]) -> None:
    alike(rows(section), wanted)


def alike(found: list[tuple[float, float, float]], wanted: list[tuple[float, ...]]) -> None:
    assert np.allclose(found, wanted, rtol=0.0, atol=1e-9)


def outline(section: Section) -> Path:
    built = build(section)
    assert isinstance(built, Outline)
    return built.path


def test_a_wall_round_a_bend_keeps_the_bend_concentric() -> None:
    moved = walled(ANGLE, Spot(10, 106), Spot(66, 80), 5.0)
    near(
        moved.section,
        [
            (0, 100, 0),
            (60, 100, 3),
            (60, 60, 0),
            (66, 60, 0),
            (66, 80, 0),
            (65, 80, 0),
            (65, 105, 8),  # R3 + 5
            (10, 105, 0),
            (10, 106, 0),
            (0, 106, 0),
        ],
    )
    assert moved.steps == pytest.approx((1.0, 1.0))


def test_the_other_side_moves_when_it_is_swapped() -> None:
    moved = walled(ANGLE, Spot(10, 106), Spot(66, 80), 5.0, across=True)
    near(
        moved.section,
        [
            (0, 100, 0),
            (10, 100, 0),
            (10, 101, 0),
            (61, 101, 4),  # R9 - 5
            (61, 80, 0),
            (60, 80, 0),
            (60, 60, 0),
            (66, 60, 0),
            (66, 106, 9),
            (0, 106, 0),
        ],
    )


def test_chosen_corners_let_the_edges_beyond_be_cut_back() -> None:
    moved = walled(ANGLE, Spot(0, 106, 5), Spot(66, 60, 3), 5.0)
    near(moved.section, [(0, 100, 0), (60, 100, 3), (60, 60, 0), (65, 60, 0), (65, 105, 8), (0, 105, 0)])
    assert moved.steps == (0.0, 0.0)
    assert [v.zone for v in moved.section.vertices] == [v.zone for v in ANGLE.vertices]


def test_a_step_is_led_over_a_slope() -> None:
    moved = shifted(ANGLE, Spot(10, 106), Spot(40, 106), -1.0, slope_mm=4.0)
    alike(rows(moved.section)[5:9], [(44, 106, 0), (40, 105, 0), (10, 105, 0), (6, 106, 0)])


def test_a_wall_over_a_tapered_and_curved_skin_is_exact() -> None:
    """Every place of the new skin is as far as asked from the old skin across (by its own nearest place)."""
    skin = Section(
        (
            Vertex(0, 100),
            Vertex(30, 98, bulge=0.12),
            Vertex(70, 99, 6.0),
            Vertex(90, 109),
            Vertex(120, 109),
            Vertex(120, 125),
            Vertex(70, 111),
            Vertex(0, 110),
        )
    )
    moved = walled(skin, Spot(100, 119.4), Spot(12, 110.2), 7.25)
    path = outline(moved.section)
    across = pieces_of(outline(skin))[:6]
    places = [p.at(s) for p in pieces_of(path) for s in np.linspace(0.0, 1.0, 9).tolist()]
    new = [x for x in places if 13.0 < x.real < 99.0 and distance(across, x)[0] > 1.0]
    old = [x for x in new if distance(pieces_of(outline(skin)), x)[0] > 1e-9]
    assert len(old) > 30
    assert max(abs(distance(across, x)[0] - 7.25) for x in old) < 1e-9


def test_what_does_not_fit_is_refused_with_what_does() -> None:
    with pytest.raises(
        GeometryError, match=r"wall of 120 mm cannot be had.*[Aa]t most (\d+\.\d+) mm fits"
    ) as told:
        walled(ANGLE, Spot(10, 100), Spot(40, 100), 120.0)
    most = float(str(told.value).split("most ")[1].split(" mm")[0])
    walled(ANGLE, Spot(10, 100), Spot(40, 100), most)
    with pytest.raises(GeometryError):
        walled(ANGLE, Spot(10, 100), Spot(40, 100), most + 0.02)


def test_the_locked_part_is_not_touched() -> None:
    locked = Section((*ANGLE.vertices[3:], *ANGLE.vertices[:3]), locked=3)
    with pytest.raises(GeometryError, match="locked rim contour"):
        walled(locked, Spot(10, 106), Spot(40, 106), 5.0)
    moved = walled(locked, Spot(10, 100), Spot(40, 100), 5.0)
    assert moved.section.vertices[:3] == locked.vertices[:3]


def test_a_relief_leaves_the_gap_exactly() -> None:
    """A block 1 mm below the leg, gap 3: area and least distance as of a buffer in a general library."""
    block = Path.closed([(20, 90), (30, 90), (30, 99), (20, 99)])
    cut, places = relieved(ANGLE, [block], 3.0)
    assert places == 1
    path = outline(cut)
    edge = pieces_of(block)
    assert min(distance(edge, p.at(s))[0] for p in pieces_of(path) for s in np.linspace(0, 1, 50)) == (
        pytest.approx(3.0, abs=1e-9)
    )
    # Where the line meets the skin: 2 mm above the block's corner at radius 3, by Pythagoras.
    zs = sorted(v.z for v in cut.vertices if math.isclose(v.r, 100.0) and 0 < v.z < 60)
    assert zs == pytest.approx([20.0 - math.sqrt(8.0), 30.0 + math.sqrt(8.0)], abs=1e-9)
    whole = shapely.Polygon(outline(ANGLE).flattened(1e-5))
    rest = whole.difference(shapely.Polygon(block.points).buffer(3.0, quad_segs=2000))
    assert path.area == pytest.approx(rest.area, abs=1e-3)


def test_a_relief_round_a_corner_arc_takes_two_cuts_and_one_through_the_wall_is_refused() -> None:
    block = Path.closed([(50, 90), (55, 90), (55, 95), (50, 95)])
    cut, places = relieved(ANGLE, [block], 5.5)
    assert places == 2
    edge = pieces_of(block)
    least = min(distance(edge, p.at(s))[0] for p in pieces_of(outline(cut)) for s in np.linspace(0, 1, 50))
    assert least == pytest.approx(5.5, abs=1e-9)
    with pytest.raises(GeometryError, match="part it"):
        relieved(ANGLE, [Path.closed([(20, 90), (30, 90), (30, 99), (20, 99)])], 8.0)
    assert relieved(ANGLE, [block], 1.0) == (ANGLE, 0)


def test_a_stretch_is_taken_over_from_another_section() -> None:
    other = walled(ANGLE, Spot(0, 106, 5), Spot(66, 60, 3), 5.0).section
    mixed = taken_over(ANGLE, other, Spot(10, 106), Spot(66, 80))
    alike(rows(mixed)[4:9], [(66, 80, 0), (65, 80, 0), (65, 105, 8), (10, 105, 0), (10, 106, 0)])


def test_vertices_turn_and_shift_together() -> None:
    turned = together(ANGLE, [3, 4], 1.0, 2.0, 90.0, (66.0, 60.0))
    alike(rows(turned)[3:5], [(67, 62, 0), (21, 62, 9)])
    back = together(turned, [3, 4], 0.0, 0.0, -90.0, (67.0, 62.0))
    near(together(back, [3, 4], -1.0, -2.0), rows(ANGLE))  # type: ignore[arg-type]
    assert of_zone(ANGLE, 3) == [3, 4]


def test_edges_blend_by_a_tangent_arc() -> None:
    """The chamfer goes; the arc of 4 touches both edges 4 mm from their crossing."""
    chamfered = Section((*ANGLE.vertices[:4], Vertex(66, 100), Vertex(60, 106), Vertex(0, 106)))
    whole = blended(chamfered, 3, 5, 4.0)
    near(whole, [*rows(ANGLE)[:4], (66, 106, 4), (0, 106, 0)])
    points = outline(whole).points
    for touch in ((66.0, 102.0), (62.0, 106.0)):
        assert np.hypot(*(points - touch).T).min() < 1e-9
    with pytest.raises(GeometryError, match="do not meet"):
        blended(ANGLE, 0, 4, 2.0)


def test_an_arc_leaves_an_edge_tangentially_and_ends_at_a_vertex() -> None:
    """Radius 30, end 3 above the line: it leaves sqrt(30^2 - 27^2) before it."""
    skin = Section((Vertex(0, 100), Vertex(60, 100), Vertex(66, 103), Vertex(66, 106), Vertex(0, 106)))
    found = through(skin, 0, 2, 30.0)
    start = found.vertices[1]
    assert (start.z, start.r) == pytest.approx((66.0 - math.sqrt(171.0), 100.0), abs=1e-9)
    path = outline(found)
    assert path.radii[path.is_arc] == pytest.approx([30.0])
    assert path.tangents(np.array([1]), np.array([0.0]))[0] == pytest.approx((1.0, 0.0), abs=1e-9)


def test_an_edge_is_led_to_an_outline_and_a_chain_is_drawn_by_lengths_and_angles() -> None:
    led = led_to(ANGLE, 1, True, [Piece(0 + 55j, 100 + 57j)])
    assert rows(led)[2] == pytest.approx((60.0, 56.2, 0.0))
    drawn = with_legs(ANGLE, Spot(10, 106), Spot(40, 106), [(5, 0), (2, 90), (10, 0)])
    alike(rows(drawn)[5:10], [(40, 106, 0), (25, 108, 0), (15, 108, 0), (15, 106, 0), (10, 106, 0)])
    typed = with_edge(ANGLE, 0, 50.0, math.degrees(math.atan2(3.0, 4.0)))  # of the 3-4-5 triangle
    assert rows(typed)[1] == pytest.approx((40.0, 130.0, 3.0))
    with pytest.raises(GeometryError, match="below the axle line"):
        with_legs(ANGLE, Spot(10, 106), Spot(40, 106), [(200, -90)])


@pytest.mark.parametrize("slope_mm", [95.0, 200.0, 1000.0, 1e5])
def test_slopes_that_would_meet_round_the_outline_are_refused(slope_mm: float) -> None:
    """The outline is 218.85 mm long, and 189 of it lie beyond the stretch: 94.4 for each slope."""
    assert sum(outline(ANGLE).lengths) == pytest.approx(218.85, abs=0.01)
    for a, b in ((Spot(10, 106), Spot(40, 106)), (Spot(30, 100), Spot(60, 80))):
        with pytest.raises(GeometryError, match=r"slopes .* meet round the outline|crosses itself"):
            shifted(ANGLE, a, b, 1.0, slope_mm)
    with pytest.raises(GeometryError, match=r"slopes .* meet round the outline"):
        shifted(ANGLE, Spot(10, 106), Spot(40, 106), 1.0, slope_mm)
