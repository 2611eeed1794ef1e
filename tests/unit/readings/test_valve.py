"""The valve land of wells whose numbers are plain arithmetic."""

import math
from collections.abc import Sequence

import pytest

from geometry.readings.named import named_readings
from geometry.readings.places import RimPlaces
from geometry.readings.rows import NamedReading
from geometry.shape.section import Outline, Section, Vertex, Zone, build

RIM = RimPlaces(100.0, -100.0, 460.0, 17.5)

Row = tuple[float, float, Zone]


def named(rows: Sequence[Row], rim: RimPlaces | None = RIM) -> dict[str, NamedReading]:
    built = build(Section(tuple(Vertex(z, r, zone=zone) for z, r, zone in rows)))
    assert isinstance(built, Outline)
    return {row.key: row for row in named_readings(built, rim, None)}


def well(wall: float) -> list[Row]:
    """A well with its floor at r 210, its wall up 3-4-5 from z 50, metal `wall` thick square to it."""
    # Square to the wall lies (4, -3) / 5: the far face is the wall moved that way, down and outboard.
    dz, dr = 0.8 * wall, -0.6 * wall
    return [
        (100.0, 248.0, Zone.OUTER_LIP),
        (100.0, 226.0, Zone.OUTER_SEAT),
        (62.0, 226.0, Zone.WELL),
        (50.0, 210.0, Zone.WELL),
        (0.0, 210.0, Zone.WELL),
        (-10.0, 226.0, Zone.INNER_SEAT),
        (-100.0, 226.0, Zone.INNER_LIP),
        (-100.0, 248.0, Zone.INNER_LIP),
        (-106.0, 248.0, Zone.INNER_LIP),
        (-106.0, 200.0, Zone.SPOKE_BACK),
        (-106.0, 60.0, Zone.BORE),
        (-80.0, 60.0, Zone.SPOKE_FACE),
        (-80.0, 190.0, Zone.SPOKE_FACE),
        (50.0 + dz - 6.0, 210.0 + dr - 8.0, Zone.OUTER_LIP),
        (62.0 + dz, 226.0 + dr, Zone.OUTER_LIP),
        (106.0, 226.0 + dr, Zone.OUTER_LIP),
        (106.0, 248.0, Zone.OUTER_LIP),
    ]


def test_land_is_read_square_to_the_wall() -> None:
    found = named(well(9.0))
    assert found["valve_land"].value == pytest.approx(9.0, abs=1e-9)
    assert found["valve_land"].place == pytest.approx((56.0, 218.0))
    assert "street side" in found["valve_land"].note
    assert found["valve_flat"].value == pytest.approx(math.hypot(12.0, 16.0))
    assert found["valve_room"].value == pytest.approx(230.0 - 218.0)


def test_stem_of_a_wheel_whose_disc_stands_outboard_points_at_the_brake() -> None:
    # The same well over a disc at the outboard end: below the wall lies the brake side.
    rows = well(9.0)
    disc_inboard, disc_outboard = rows[9:13], [(99.0, 60.0, Zone.BORE), (106.0, 60.0, Zone.SPOKE_FACE)]
    barrel = [
        (disc_inboard[0][0], 200.0, Zone.BARREL),
        (50.0 + 7.2 - 6.0, 210.0 - 5.4 - 8.0, Zone.BARREL),
        (62.0 + 7.2, 226.0 - 5.4, Zone.SPOKE_BACK),
        (99.0, 226.0 - 5.4, Zone.SPOKE_BACK),
    ]
    found = named([*rows[:9], *barrel, *disc_outboard, rows[-1]])
    assert found["valve_land"].value == pytest.approx(9.0, abs=1e-9)
    assert "brake side" in found["valve_land"].note


def test_without_a_rim_the_room_is_not_known() -> None:
    assert "valve_room" not in named(well(9.0), None)


def test_without_a_well_there_is_no_land() -> None:
    flat = [(z, r, Zone.BARREL if zone is Zone.WELL else zone) for z, r, zone in well(9.0)]
    assert not any(key.startswith("valve") for key in named(flat))
