"""The wheel from the street and in space, against the closed forms of its windows and its own volume."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.readings.body import body, seen
from geometry.readings.face import fill_ratios, windows
from geometry.readings.solid import BoltHoles, SpokeRegion, solid
from geometry.shape.curve import Path

#: A ring of r 200 to 240, a hub of r 40 to 80, and a disc 20 thick between them.
PART = Path.closed(
    [
        *((-60.0, 200.0), (0.0, 200.0), (0.0, 80.0), (-10.0, 80.0), (-10.0, 40.0), (30.0, 40.0)),
        *((30.0, 80.0), (20.0, 80.0), (20.0, 200.0), (40.0, 200.0), (40.0, 240.0), (-60.0, 240.0)),
    ]
)
FIVE = SpokeRegion(5, ((80.0, 60.0), (140.0, 40.0), (140.0, 50.0), (200.0, 70.0)), 85.0, (0, 195), (20, 195))
HOLES = (BoltHoles(5, 120.0, 15.0),)


def test_windows_are_the_open_share_of_their_ring() -> None:
    """Area of a window: the integral of (2 pi r - n w) / n over r, in closed form for linear w."""
    found = windows(FIVE, 85.0, 195.0)
    assert len(found) == 5
    open_mm2 = math.pi * (195.0**2 - 85.0**2)
    w85 = 60.0 - 20.0 * 5.0 / 60.0
    w195 = 50.0 + 20.0 * 55.0 / 60.0
    open_mm2 -= 5.0 * ((w85 + 40.0) / 2.0 * 55.0 + (50.0 + w195) / 2.0 * 55.0)
    shapes = [shapely.Polygon(outline) for outline in found]
    assert all(shape.is_valid and shape.exterior.is_ccw for shape in shapes)
    # Points 1 mm apart leave out slivers of at most 1 / (8 r) mm high.
    assert sum(shape.area for shape in shapes) == pytest.approx(open_mm2, rel=2e-5)


def test_the_first_spoke_points_up() -> None:
    shapes = [shapely.Polygon(outline) for outline in windows(FIVE, 85.0, 195.0)]
    assert not any(shape.contains(shapely.Point(0.0, 120.0)) for shape in shapes)
    assert sum(shape.contains(shapely.Point(0.0, -120.0)) for shape in shapes) == 1


def test_spokes_that_meet_leave_no_window_there() -> None:
    meeting = SpokeRegion(
        6, ((80.0, 200.0), (120.0, 2.0 * math.pi * 20.0), (190.0, 40.0)), 80, (0, 190), (9, 190)
    )
    found = windows(meeting, 80.0, 190.0)
    assert len(found) == 6
    assert min(np.hypot(*outline.T).min() for outline in found) == pytest.approx(120.0, abs=1.01)
    assert windows(SpokeRegion(3, ((80.0, 1e4),), 80, (0, 190), (9, 190)), 80.0, 190.0) == []


def test_the_fill_ratio_has_both_sides_of_a_step() -> None:
    rows = fill_ratios(FIVE, 85.0, 195.0)
    assert (np.diff(rows[:, 0]) >= 0.0).all()
    at = rows[np.isclose(rows[:, 0], 140.0)][:, 1]
    assert at.min() == pytest.approx(5 * 40.0 / (2 * math.pi * 140.0))
    assert at.max() == pytest.approx(5 * 50.0 / (2 * math.pi * 140.0))


@pytest.mark.parametrize(("spokes", "holes"), [(None, ()), (FIVE, ()), (FIVE, HOLES)])
def test_the_body_holds_the_volume_of_the_sums(
    spokes: SpokeRegion | None, holes: tuple[BoltHoles, ...]
) -> None:
    """Random places against Green's sums: two ways to one volume, within four standard errors."""
    made = body(PART, spokes, holes)
    z0, z1, r1 = made.bounds
    count = 400_000
    u = np.random.default_rng(7).uniform(-1.0, 1.0, (count, 3))
    places = u * [r1, r1, (z1 - z0) / 2.0] + [0.0, 0.0, (z0 + z1) / 2.0]
    box = 4.0 * r1 * r1 * (z1 - z0)
    share = float((made.field(places) < 0.0).mean())
    error = box * math.sqrt(share * (1.0 - share) / count)
    assert share * box == pytest.approx(solid(PART, 2712.6, spokes, holes).volume_mm3, abs=4.0 * error)


def test_rays_meet_the_skin_and_pass_windows_and_bore() -> None:
    view = seen(body(PART, FIVE, HOLES), 121)
    size, reach = 121, math.hypot(240.0, 50.0)

    def at(x: float, y: float) -> tuple[int, int]:
        return int((1.0 - y / reach) / 2.0 * size), int((1.0 + x / reach) / 2.0 * size)

    assert not view.hit[at(0.0, 0.0)]
    assert not view.hit[at(0.0, -120.0)]
    assert view.hit[at(0.0, 120.0)]
    assert view.hit[at(0.0, -220.0)]
    # Seen from the street: the ring's end at z 40, the disc at 20, the hub at 30.
    heights = np.full(view.hit.shape, np.nan)
    heights[view.hit] = view.places[:, 2]
    for place, z in ((at(0.0, 220.0), 40.0), (at(0.0, 120.0), 20.0), (at(0.0, 70.0), 30.0)):
        assert heights[place] == pytest.approx(z, abs=0.06)
    assert np.allclose(np.linalg.norm(view.normals, axis=1), 1.0)
