"""Corner radii between lines and arcs, faults with their place, and the build of a section."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, outline_path
from geometry.shape.section import ZONES, Outline, Section, Side, Vertex, Zone, build
from tests.support.sections import random_section

SQUARE = ((0.0, 50.0), (40.0, 50.0), (40.0, 90.0), (0.0, 90.0))


def square(radius: float) -> Section:
    return Section(tuple(Vertex(z, r, radius) for z, r in SQUARE))


def outline(section: Section) -> Outline:
    built = build(section)
    assert isinstance(built, Outline), built
    return built


def test_four_rounded_corners() -> None:
    """40 x 40 less four spandrels of radius 6."""
    path = outline(square(6.0)).path
    assert path.area == pytest.approx(1600.0 - 4 * 36.0 * (1 - math.pi / 4), rel=1e-12)
    assert path.bounds == pytest.approx((0.0, 40.0, 50.0, 90.0))
    assert set(np.round(path.radii[path.is_arc], 9)) == {6.0}


def test_a_re_entrant_corner_is_filled() -> None:
    """An L: five outer corners sharp, the inner one filled with radius 5."""
    rows = [(0, 50, 0), (40, 50, 0), (40, 60, 0), (10, 60, 5), (10, 90, 0), (0, 90, 0)]
    path = outline(Section(tuple(Vertex(z, r, radius) for z, r, radius in rows))).path
    assert path.area == pytest.approx(40 * 10 + 10 * 30 + 25 * (1 - math.pi / 4), rel=1e-12)


def test_corner_between_a_line_and_an_arc() -> None:
    """A half disc of radius 20, its corners rounded by 4: their centres lie 16 from its centre, 4 up."""
    corners = (Corner(-20, 50, 4.0), Corner(0, 50), Corner(20, 50, 4.0, 1.0))
    path = outline_path(corners)
    assert isinstance(path, Path)
    small = np.isclose(path.radii, 4.0)
    centre = path.centres[small]
    assert np.hypot(centre[:, 0], centre[:, 1] - 50.0) == pytest.approx(np.full(small.sum(), 16.0))
    assert centre[:, 1] == pytest.approx(np.full(small.sum(), 54.0))


def test_corner_between_a_line_and_an_arc_that_bites_into_the_area() -> None:
    """A square whose right side is bitten by 10, radius 25 about (55, 70); the corners there rounded by 3.

    Their centres lie 28 from the bite's centre and 3 inside r = 50 and r = 90.
    """
    bite = -math.tan(math.asin(20.0 / 25.0) / 2.0)
    corners = (Corner(0, 50), Corner(40, 50, 3.0, bite), Corner(40, 90, 3.0), Corner(0, 90))
    path = outline_path(corners)
    assert isinstance(path, Path)
    z = 55.0 - math.sqrt(28.0**2 - 17.0**2)
    assert path.centres[np.isclose(path.radii, 3.0)] == pytest.approx(np.array([(z, 53.0), (z, 87.0)]))
    assert path.radii[np.isclose(path.radii, 25.0)] == pytest.approx([25.0])


def test_corner_between_two_arcs() -> None:
    """A lens of two arcs of radius 25 about (0, 85) and (0, 115), its corners rounded by 3.

    It is 40 wide and 20 high. The corner arcs touch both from inside: their centres lie 22 from both centres,
    so at z = +-sqrt(22^2 - 15^2), r = 100.
    """
    arc = math.tan(math.asin(20.0 / 25.0) / 2.0)
    path = outline_path((Corner(-20, 100, 3.0, arc), Corner(20, 100, 3.0, arc)))
    assert isinstance(path, Path)
    small = np.isclose(path.radii, 3.0)
    z = math.sqrt(22.0**2 - 15.0**2)
    assert path.centres[small] == pytest.approx(np.array([(-z, 100.0), (z, 100.0)]))
    assert path.radii[~small] == pytest.approx([25.0, 25.0])


def test_two_corners_with_an_arc_between_them_are_an_outline() -> None:
    path = outline_path((Corner(-20, 50), Corner(20, 50, bulge=1.0)))
    assert isinstance(path, Path)
    assert path.area == pytest.approx(200.0 * math.pi)


def test_the_largest_radius_beside_an_arc_is_named() -> None:
    """A half disc of radius 20: the corner arc of radius 10 touches its flat in the middle, where it ends."""
    corners = (Corner(-20, 50, 12.0), Corner(0, 50), Corner(20, 50, 4.0, 1.0))
    faults = outline_path(corners)
    assert isinstance(faults, tuple)
    (fault,) = faults
    assert fault.kind == "radius does not fit"
    assert "at most 10.000 mm fits" in fault.message or "at most 9.999 mm fits" in fault.message


def test_arcs_meet_smoothly() -> None:
    rng = np.random.default_rng(5)
    for _ in range(30):
        section = random_section(rng)
        built = outline(section)
        n = len(built.path)
        every = np.arange(n)
        leave = built.path.tangents(every, np.zeros(n))
        arrive = np.roll(built.path.tangents(every, np.ones(n)), 1, axis=0)
        rounded = np.array([section.vertices[v].radius > 0.0 for v in built.vertex])
        first = np.concatenate([[True], built.vertex[1:] != built.vertex[:-1]])
        joint = rounded & first & built.path.is_arc
        assert np.allclose(np.sum(arrive[joint] * leave[joint], axis=1), 1.0, atol=1e-9)


def test_largest_radius_is_named_and_fits() -> None:
    faults = build(square(25.0))
    assert isinstance(faults, tuple)
    assert {f.kind for f in faults} <= {"radii overlap", "radius does not fit"}
    assert all(f.place is not None for f in faults)
    long = Section((Vertex(0, 50, 45.0), Vertex(40, 50), Vertex(40, 90), Vertex(0, 90)))
    fault = build(long)
    assert isinstance(fault, tuple)
    assert "at most 40.000 mm fits" in fault[0].message or "at most 39.999 mm fits" in fault[0].message
    assert fault[0].place == (0.0, 50.0)


def test_radii_that_overlap_on_one_edge() -> None:
    section = Section((Vertex(0, 50, 25.0), Vertex(40, 50, 20.0), Vertex(40, 90), Vertex(0, 90)))
    faults = build(section)
    assert isinstance(faults, tuple)
    assert faults[0].kind == "radii overlap"
    assert "1 (z 0.00, r 50.00 mm) and 2 (z 40.00, r 50.00 mm) overlap by 5.000 mm" in faults[0].message
    # In a right angle an arc takes its radius of the edge: 40 less the other one's, or 40 shared 25 to 20.
    mended = "no more than 20 mm at vertex 1, or 15 mm at vertex 2, or 22.222 and 17.777 mm at both"
    assert mended in faults[0].message
    for first, second in ((20.0, 20.0), (25.0, 15.0), (22.222, 17.777)):
        rows = ((0, 50, first), (40, 50, second), (40, 90), (0, 90))
        assert not isinstance(build(Section(tuple(Vertex(*row) for row in rows))), tuple)


def test_radius_on_a_vertex_that_hardly_turns() -> None:
    section = Section((Vertex(0, 50), Vertex(20, 50.001, 5.0), Vertex(40, 50), Vertex(40, 90), Vertex(0, 90)))
    faults = build(section)
    assert isinstance(faults, tuple)
    assert faults[0].kind == "radius without corner"


def test_an_edge_without_length() -> None:
    faults = build(Section((Vertex(0, 50), Vertex(0, 50), Vertex(40, 90), Vertex(0, 90))))
    assert isinstance(faults, tuple)
    assert faults[0].kind == "edge without length"


@pytest.mark.parametrize(
    ("rows", "place"),
    [
        ([(0, 10), (10, 10), (0, 20), (10, 20)], (5.0, 15.0)),
        ([(0, 10), (30, 10), (30, 20), (15, 5), (0, 20)], (20.0, 10.0)),
    ],
)
def test_a_crossing_is_a_fault_with_its_place(
    rows: list[tuple[float, float]], place: tuple[float, float]
) -> None:
    faults = build(Section(tuple(Vertex(z, r) for z, r in rows)))
    assert isinstance(faults, tuple)
    assert any(f.kind == "outline crosses itself" and f.place == pytest.approx(place) for f in faults)


def test_a_clockwise_outline_is_a_fault() -> None:
    faults = build(Section(tuple(Vertex(z, r) for z, r in reversed(SQUARE))))
    assert isinstance(faults, tuple)
    assert faults[0].kind == "runs clockwise"


@pytest.mark.parametrize("bad", [math.nan, math.inf, 1e5])
def test_values_that_no_outline_has_are_refused(bad: float) -> None:
    with pytest.raises(GeometryError):
        Section((Vertex(bad, 50), Vertex(40, 50), Vertex(40, 90)))


def test_below_the_axle_is_refused_with_its_place() -> None:
    with pytest.raises(GeometryError, match="Vertex 2: r = -1") as error:
        Section((Vertex(0, 50), Vertex(40, -1), Vertex(40, 90)))
    assert error.value.place == (40.0, -1.0)


def test_a_corner_arc_is_split_between_the_zones_of_its_edges() -> None:
    section = Section(
        (
            Vertex(0, 50, zone=Zone.BORE),
            Vertex(40, 50, 6.0, zone=Zone.SPOKE_FACE),
            Vertex(40, 90, zone=Zone.WELL),
            Vertex(0, 90, zone=Zone.BARREL),
        )
    )
    built = outline(section)
    arcs = np.flatnonzero(built.path.is_arc)
    assert [ZONES[z] for z in built.zone[arcs]] == [Zone.BORE, Zone.SPOKE_FACE]
    assert built.path.sweeps[arcs] == pytest.approx([math.pi / 4, math.pi / 4])


def test_sides_run_tyre_brake_street() -> None:
    rows = [
        (90.0, 206.0, Zone.WELL),
        (-100.0, 206.0, Zone.INNER_LIP),
        (-100.0, 200.0, Zone.BARREL),
        (60.0, 200.0, Zone.SPOKE_BACK),
        (60.0, 40.0, Zone.BORE),
        (90.0, 40.0, Zone.SPOKE_FACE),
        (90.0, 204.0, Zone.OUTER_LIP),
    ]
    built = outline(Section(tuple(Vertex(z, r, zone=zone) for z, r, zone in rows)))
    sides = {ZONES[z]: tuple(Side)[s] for z, s in zip(built.zone, built.side, strict=True)}
    assert sides[Zone.WELL] is Side.TYRE
    assert sides[Zone.BARREL] is Side.BRAKE
    assert sides[Zone.SPOKE_BACK] is Side.BRAKE
    assert sides[Zone.BORE] is Side.BRAKE
    assert sides[Zone.SPOKE_FACE] is Side.STREET


def test_edges_on_the_axle_are_not_skin() -> None:
    built = outline(Section((Vertex(0, 0), Vertex(40, 0), Vertex(40, 90), Vertex(0, 90))))
    assert built.skin.tolist() == [False, True, True, True]


def test_an_arc_between_two_places_on_the_axle_is_skin() -> None:
    half_disc = Path.closed([(-20.0, 0.0), (20.0, 0.0, 1.0)])
    assert half_disc.off_axle.tolist() == [False, True]


def test_large_arcs_are_split() -> None:
    path = Path.closed([(0.0, 100.0, math.tan(math.radians(270) / 4)), (20.0, 100.0, 0.0)])
    assert len(path) == 3
    radius = 20.0 / math.sqrt(2.0)  # the chord of the missing quarter is r sqrt 2
    assert path.radii[:2] == pytest.approx([radius, radius])
    assert path.area == pytest.approx(0.75 * math.pi * radius**2 + 0.5 * radius**2, rel=1e-12)


def test_an_edge_over_a_half_circle_is_built_in_two_arcs() -> None:
    """Three quarters of a circle under a chord of 20, radius 20 / sqrt 2; a triangle 10 high stands on it."""
    quarters = Vertex(0.0, 100.0, bulge=math.tan(math.radians(270.0) / 4.0))
    path = outline(Section((quarters, Vertex(20.0, 100.0), Vertex(10.0, 110.0)))).path
    assert path.sweeps == pytest.approx([0.75 * math.pi, 0.75 * math.pi, 0.0, 0.0])
    assert path.area == pytest.approx(0.75 * math.pi * 200.0 + 100.0 + 100.0)


def test_sides_do_not_hang_on_where_the_numbering_starts() -> None:
    rng = np.random.default_rng(8)
    for _ in range(10):
        section = random_section(rng)
        n = len(section.vertices)
        first = outline(section)
        at = {tuple(p): int(s) for p, s in zip(np.round(first.path.points, 9), first.side, strict=True)}
        for k in (1, n // 2, n - 1):
            turned = outline(Section(section.vertices[k:] + section.vertices[:k]))
            again = {
                tuple(p): int(s) for p, s in zip(np.round(turned.path.points, 9), turned.side, strict=True)
            }
            assert again == at


def test_a_straight_lip_end_belongs_to_the_street_side() -> None:
    rows = [
        (90.0, 206.0, Zone.OUTER_LIP),
        (80.0, 206.0, Zone.WELL),
        (-100.0, 206.0, Zone.INNER_LIP),
        (-100.0, 200.0, Zone.BARREL),
        (60.0, 200.0, Zone.BORE),
        (70.0, 195.0, Zone.OUTER_LIP),
        (90.0, 200.0, Zone.OUTER_LIP),
    ]
    built = outline(Section(tuple(Vertex(z, r, zone=zone) for z, r, zone in rows)))
    sides = [tuple(Side)[s] for s in built.side]
    assert sides == [Side.TYRE, Side.TYRE, Side.BRAKE, Side.BRAKE, Side.BRAKE, Side.STREET, Side.STREET]


def test_a_crossing_shows_beside_a_radius_that_no_longer_fits() -> None:
    section = Section((Vertex(0, 50, 8.0), Vertex(40, 50, 8.0), Vertex(10, 45, 8.0), Vertex(0, 90)))
    faults = build(section)
    assert isinstance(faults, tuple)
    assert faults[0].kind == "outline crosses itself"
    assert len({f.kind for f in faults}) > 1
