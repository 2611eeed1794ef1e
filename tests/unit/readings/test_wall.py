"""Walls whose value follows from plane geometry; the closed forms stand beside the checks."""

import math

import numpy as np
import pytest

from geometry.readings.wall import WallFinding, wall_at, walls
from geometry.shape.section import ZONES, Outline, Section, Vertex, Zone, build

#: z, r, corner radius, bulge, zone of the leaving edge.
Row = tuple[float, float, float, float, Zone]

TOP, END, BOTTOM, ROOT = Zone.WELL, Zone.INNER_LIP, Zone.BARREL, Zone.SHOULDER


def outline(*rows: Row) -> Outline:
    built = build(Section(tuple(Vertex(z, r, radius, bulge, zone) for z, r, radius, bulge, zone in rows)))
    assert isinstance(built, Outline)
    return built


def plate(thickness: float, upper_radius: float = 0.0, lower_radius: float = 0.0) -> Outline:
    """Return a plate along z, 50 long, whose end at z = 0 has the two corner radii."""
    top = 100.0 + thickness
    return outline(
        (50.0, top, 0.0, 0.0, TOP),
        (0.0, top, upper_radius, 0.0, END),
        (0.0, 100.0, lower_radius, 0.0, BOTTOM),
        (50.0, 100.0, 0.0, 0.0, ROOT),
    )


def by_zone(of: Outline) -> dict[Zone, WallFinding]:
    return {ZONES[f.zone]: f for f in walls(of)}


def test_plate_with_one_rounded_corner_reads_thinner_at_the_corner() -> None:
    # Contacts 150 degrees apart on the face and on the arc R about q, height h = t - R over the face:
    # rho = (h + R cos 30) / (1 + cos 30) with t = 8, R = 6, which is sqrt 192 - 10.
    found = by_zone(plate(8.0, upper_radius=6.0))
    assert set(found) == {TOP, BOTTOM}
    expected = 2.0 * (math.sqrt(192.0) - 10.0)
    assert expected == pytest.approx(7.7128, abs=5e-5)
    for finding in found.values():
        assert finding.least_mm == pytest.approx(expected, abs=1e-9)
    top = found[TOP]
    assert top.at == pytest.approx(
        (6.0 - 6.0 * math.sin(math.radians(30)), 102.0 + 6.0 * math.cos(math.radians(30)))
    )


def test_plate_with_square_ends_reads_its_thickness() -> None:
    found = by_zone(plate(8.0))
    assert set(found) == {TOP, BOTTOM}
    for finding in found.values():
        assert finding.least_mm == pytest.approx(8.0, abs=1e-9)
        assert finding.gauge_mm == pytest.approx(8.0, abs=1e-9)


def test_full_round_lip_reads_its_diameter_in_every_zone_of_the_round() -> None:
    # Both corner arcs are split between the zones of their edges and lie on one circle of R 3.
    found = by_zone(plate(6.0, upper_radius=3.0, lower_radius=3.0))
    assert set(found) == {TOP, END, BOTTOM}
    for finding in found.values():
        assert finding.least_mm == pytest.approx(6.0, abs=1e-9)
        assert finding.gauge_mm == pytest.approx(6.0, abs=1e-6)


def test_round_of_a_lip_drawn_as_one_arc_counts_alone() -> None:
    # A half circle of R 3 as an edge, on a lip that grows thicker behind it.
    found = by_zone(
        outline(
            (50.0, 112.0, 0.0, 0.0, TOP),
            (3.0, 106.0, 0.0, 1.0, END),
            (3.0, 100.0, 0.0, 0.0, BOTTOM),
            (50.0, 94.0, 0.0, 0.0, ROOT),
        )
    )
    assert found[END].least_mm == pytest.approx(6.0, abs=1e-9)
    assert abs(found[END].at[1] - found[END].across[1]) == pytest.approx(6.0, abs=1e-9)


def wedge(angle_deg: float, smallest: float) -> Outline:
    """Return a wedge of two faces whose thin end is cut square just where a disc of that diameter touches."""
    rho, half = smallest / 2.0, math.radians(angle_deg / 2.0)
    apex = 0.0
    end = apex - rho / math.tan(half) + rho
    far = end - 40.0
    slope = math.tan(math.radians(angle_deg))
    return outline(
        (end, 100.0 + (apex - end) * slope, 0.0, 0.0, TOP),
        (far, 100.0 + (apex - far) * slope, 0.0, 0.0, END),
        (far, 100.0, 0.0, 0.0, BOTTOM),
        (end, 100.0, 0.0, 0.0, ROOT),
    )


def test_faces_ten_degrees_apart_read_less_than_the_normal_between_them() -> None:
    # Wall 2 t cos a / (1 + cos a) where the length along one face's normal is t.
    a, t = math.radians(10.0), 4.0
    expected = 2.0 * t * math.cos(a) / (1.0 + math.cos(a))
    assert expected == pytest.approx(3.969, abs=5e-4)
    found = by_zone(wedge(10.0, expected))
    assert set(found) == {TOP, BOTTOM}
    for finding in found.values():
        assert finding.least_mm == pytest.approx(expected, abs=1e-9)
        assert finding.gauge_mm == pytest.approx(t, abs=1e-7)


def test_faces_fifty_nine_degrees_apart_are_no_wall() -> None:
    assert walls(wedge(59.0, 4.0)) == []


def test_parallel_faces_inclined_to_the_axle_read_the_distance_between_them() -> None:
    # 4.00 between the faces; the radial length is 4.00 / cos 10 = 4.06.
    a = math.radians(10.0)
    dz, dr = 40.0 * math.cos(a), 40.0 * math.sin(a)
    nz, nr = -4.0 * math.sin(a), 4.0 * math.cos(a)
    found = by_zone(
        outline(
            (0.0, 100.0, 0.0, 0.0, BOTTOM),
            (dz, 100.0 + dr, 0.0, 0.0, ROOT),
            (dz + nz, 100.0 + dr + nr, 0.0, 0.0, TOP),
            (nz, 100.0 + nr, 0.0, 0.0, END),
        )
    )
    for zone in (TOP, BOTTOM):
        assert found[zone].least_mm == pytest.approx(4.0, abs=1e-9)
        assert found[zone].gauge_mm == pytest.approx(4.0, abs=1e-9)


def test_thinnest_place_between_two_fillets_lies_on_their_line_of_centres() -> None:
    # Two bites of R 10 and R 5, centres 22 apart, leave 22 - 10 - 5 = 7.
    def bite(z: float, r: float, radius: float, facing: float, zone: Zone) -> list[Row]:
        return [(z + facing * radius, r, 0.0, -1.0, zone), (z - facing * radius, r, 0.0, 0.0, zone)]

    found = by_zone(
        outline(
            (40.0, 122.0, 0.0, 0.0, TOP),
            *bite(0.0, 122.0, 10.0, 1.0, TOP),
            (-40.0, 122.0, 0.0, 0.0, END),
            (-40.0, 100.0, 0.0, 0.0, BOTTOM),
            *bite(0.0, 100.0, 5.0, -1.0, BOTTOM),
            (40.0, 100.0, 0.0, 0.0, ROOT),
        )
    )
    for zone, z, r in ((TOP, 0.0, 112.0), (BOTTOM, 0.0, 105.0)):
        assert found[zone].least_mm == pytest.approx(7.0, abs=1e-9)
        assert found[zone].at == pytest.approx((z, r), abs=1e-6)


def test_thinnest_place_between_two_sharp_notches_lies_between_their_tips() -> None:
    # Tips at (0, 112) and (2, 105): the wall is their distance.
    found = by_zone(
        outline(
            (40.0, 122.0, 0.0, 0.0, TOP),
            (8.0, 122.0, 0.0, 0.0, TOP),
            (0.0, 112.0, 0.0, 0.0, TOP),
            (-8.0, 122.0, 0.0, 0.0, TOP),
            (-40.0, 122.0, 0.0, 0.0, END),
            (-40.0, 100.0, 0.0, 0.0, BOTTOM),
            (-4.0, 100.0, 0.0, 0.0, BOTTOM),
            (2.0, 105.0, 0.0, 0.0, BOTTOM),
            (6.0, 100.0, 0.0, 0.0, BOTTOM),
            (40.0, 100.0, 0.0, 0.0, ROOT),
        )
    )
    for zone in (TOP, BOTTOM):
        assert found[zone].least_mm == pytest.approx(math.hypot(2.0, 7.0), abs=1e-9)


def test_solid_shaft_reads_its_diameter_across_the_axle() -> None:
    shaft = outline(
        (30.0, 0.0, 0.0, 0.0, ROOT),
        (30.0, 10.0, 0.0, 0.0, TOP),
        (0.0, 10.0, 0.0, 0.0, END),
        (0.0, 0.0, 0.0, 0.0, BOTTOM),
    )
    assert not shaft.skin.all()
    found = by_zone(shaft)
    assert set(found) == {TOP}
    assert found[TOP].least_mm == pytest.approx(20.0, abs=1e-9)
    assert found[TOP].gauge_mm == pytest.approx(20.0, abs=1e-9)
    assert found[TOP].at[1] == pytest.approx(10.0)
    assert found[TOP].across[1] == pytest.approx(-10.0)


def test_knife_edge_reads_nothing_at_its_tip() -> None:
    found = by_zone(
        outline((0.0, 100.0, 0.0, 0.0, TOP), (-40.0, 108.0, 0.0, 0.0, END), (-40.0, 100.0, 0.0, 0.0, BOTTOM))
    )
    for zone in (TOP, BOTTOM):
        assert found[zone].least_mm == pytest.approx(0.0, abs=1e-9)
        assert found[zone].gauge_mm == pytest.approx(0.0, abs=1e-9)


def test_discs_at_stations_tell_wall_from_corner() -> None:
    body = plate(8.0)
    faces = np.flatnonzero(np.isin(body.zone, [ZONES.index(TOP), ZONES.index(END)]))
    top, end = int(faces[0]), int(faces[1])
    # Halfway along the top: 8 across to the bottom; 2 mm from the corner, and on the end: a corner's disc.
    found = wall_at(body, np.array([top, top, end]), np.array([0.5, 0.96, 0.25]))
    assert found.diameter_mm == pytest.approx([8.0, 4.0, 4.0], abs=1e-9)
    assert found.counted.tolist() == [True, False, False]
    assert body.zone[found.partner].tolist() == [ZONES.index(z) for z in (BOTTOM, END, TOP)]
    assert found.across[0] == pytest.approx((25.0, 100.0), abs=1e-9)


def test_closed_can_reads_both_bottoms_and_its_shell() -> None:
    # The axle line parts the skin in two: outside and cavity, 5 behind one bottom and 4 before the other.
    found = by_zone(
        outline(
            (50.0, 0.0, 0.0, 0.0, ROOT),
            (50.0, 30.0, 0.0, 0.0, TOP),
            (0.0, 30.0, 0.0, 0.0, END),
            (0.0, 0.0, 0.0, 0.0, BOTTOM),
            (5.0, 0.0, 0.0, 0.0, Zone.OUTER_SEAT),
            (5.0, 24.0, 0.0, 0.0, Zone.BORE),
            (46.0, 24.0, 0.0, 0.0, Zone.SPOKE_FACE),
            (46.0, 0.0, 0.0, 0.0, Zone.HUB_PAD),
        )
    )
    # The cavity's sharp edge belongs to its bore as well as to its bottom.
    expected = {ROOT: 4.0, TOP: 6.0, END: 5.0, Zone.OUTER_SEAT: 5.0, Zone.BORE: 4.0, Zone.SPOKE_FACE: 4.0}
    assert {zone: finding.least_mm for zone, finding in found.items()} == pytest.approx(expected, abs=1e-9)
    assert found[TOP].gauge_mm == pytest.approx(6.0, abs=1e-9)


# Places and quarter turns at which rounding once made the corner's own disc a wall.
@pytest.mark.parametrize(
    ("quarters", "z", "r"),
    [(3, 77.0, 137.0), (0, 84.0, 89.0), (2, 52.0, 110.0), (1, 86.0, 93.0), (2, 96.0, 81.0), (3, 60.0, 185.0)],
)
def test_disc_that_fills_a_quarter_round_is_no_wall(quarters: int, z: float, r: float) -> None:
    # A box of 40 by 14 with corners of R 4. Where a side ends, its disc is the corner's own and touches a
    # quarter of its rim; the box is 14 thick.
    corners = [(20.0, 7.0, TOP), (-20.0, 7.0, END), (-20.0, -7.0, BOTTOM), (20.0, -7.0, ROOT)]
    for _ in range(quarters):
        corners = [(-y, x, zone) for x, y, zone in corners]
    body = outline(*((z + x, r + y, 4.0, 0.0, zone) for x, y, zone in corners))
    sides = np.flatnonzero(~body.path.is_arc)
    for t in (0.0, 1.0):
        found = wall_at(body, sides, np.full(4, t))
        assert found.diameter_mm == pytest.approx([8.0] * 4, abs=1e-9)
        assert not found.counted.any()
    assert {zone: f.least_mm for zone, f in by_zone(body).items()} == pytest.approx({TOP: 14.0, BOTTOM: 14.0})


def test_disc_that_fills_its_arc_is_a_wall_by_the_far_end_of_the_arc() -> None:
    # An arc of R 10 about (0, 100) from -60 to 60 degrees, its sides running on straight, and a face that
    # touches its circle at 130 degrees: the arc's place at -50 degrees lies across from it.
    def polar(degrees: float, radius: float = 10.0) -> tuple[float, float]:
        a = math.radians(degrees)
        return radius * math.cos(a), 100.0 + radius * math.sin(a)

    def on(start: tuple[float, float], degrees: float, length: float) -> tuple[float, float]:
        a = math.radians(degrees)
        return start[0] + length * math.cos(a), start[1] + length * math.sin(a)

    body = outline(
        (*polar(-60.0), 0.0, math.tan(math.radians(30.0)), TOP),
        (*polar(60.0), 0.0, 0.0, END),
        # Where the tangents at 60 and at 130 degrees meet.
        (*polar(95.0, 10.0 / math.cos(math.radians(35.0))), 0.0, 0.0, BOTTOM),
        (*on(polar(130.0), 220.0, 30.0), 0.0, 0.0, ROOT),
        (*on(polar(-60.0), 210.0, 25.0), 0.0, 0.0, ROOT),
    )
    # The face and the side before it close in behind the circle, but that is no wall of the arc.
    found = by_zone(body)[TOP]
    assert found.least_mm == pytest.approx(20.0, abs=1e-9)
    assert found.at == pytest.approx(polar(-50.0), abs=1e-6)
    assert found.across == pytest.approx(polar(130.0), abs=1e-6)
    arc = int(np.flatnonzero(body.path.is_arc)[0])
    assert wall_at(body, np.full(3, arc), np.array([0.0, 0.5, 1.0])).counted.all()


def test_of_equal_walls_the_first_along_the_axle_is_shown() -> None:
    # Notches down to 7 over the bottom at z = -20 and 20.
    found = by_zone(
        outline(
            *(
                (z + dz, r, 0.0, 0.0, TOP)
                for z in (20.0, -20.0)
                for dz, r in ((8.0, 122.0), (0.0, 107.0), (-8.0, 122.0))
            ),
            (-40.0, 122.0, 0.0, 0.0, END),
            (-40.0, 100.0, 0.0, 0.0, BOTTOM),
            (40.0, 100.0, 0.0, 0.0, ROOT),
            (40.0, 122.0, 0.0, 0.0, TOP),
        )
    )
    assert found[TOP].at == pytest.approx((-20.0, 107.0), abs=1e-6)
    assert found[BOTTOM].at == pytest.approx((-20.0, 100.0), abs=1e-6)


def test_point_on_the_axle_leaves_no_disc() -> None:
    # A bar with a point of 90 degrees; beyond the axle line it meets its own mirror image.
    bar = outline(
        (40.0, 0.0, 0.0, 0.0, ROOT),
        (40.0, 10.0, 0.0, 0.0, TOP),
        (10.0, 10.0, 0.0, 0.0, END),
        (0.0, 0.0, 0.0, 0.0, BOTTOM),
    )
    # The disc that touches both sides at s from the point has the radius s tan 45.
    found = wall_at(bar, np.array([2, 2]), np.array([1.0, 0.5]))
    assert found.diameter_mm == pytest.approx([0.0, 2.0 * math.hypot(5.0, 5.0)], abs=1e-9)
    assert not found.counted.any()
