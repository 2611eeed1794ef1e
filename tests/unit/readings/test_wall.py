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
