"""Gap, wall and stock along the skin of a plain plate, where each follows from its place."""

import math

import numpy as np
import pytest

from geometry.readings.profile import profile, walls_along
from geometry.readings.rows import Held
from geometry.shape.curve import Path
from geometry.shape.outline import StayOut
from geometry.shape.section import ZONES, Outline, Section, Vertex, Zone, build

LENGTH, LOW, HIGH = 50.0, 100.0, 108.0


def plate() -> Outline:
    """Return a square-ended plate, z 0..50 and r 100..108."""
    rows = [
        (LENGTH, HIGH, Zone.WELL),
        (0.0, HIGH, Zone.INNER_LIP),
        (0.0, LOW, Zone.BARREL),
        (LENGTH, LOW, Zone.SHOULDER),
    ]
    built = build(Section(tuple(Vertex(z, r, zone=zone) for z, r, zone in rows)))
    assert isinstance(built, Outline)
    return built


def box(z0: float, z1: float, r0: float, r1: float) -> Path:
    return Path.closed([(z0, r0), (z1, r0), (z1, r1), (z0, r1)])


def test_stations_stand_evenly_along_the_skin() -> None:
    found = profile(plate(), Held(), step_mm=4.0)
    # 50 in 13 steps, 8 in 2.
    assert [int(np.count_nonzero(found.piece == k)) for k in range(4)] == [13, 2, 13, 2]
    assert found.along_mm[:2] == pytest.approx([50.0 / 26.0, 150.0 / 26.0])
    assert found.along_mm[-1] == pytest.approx(116.0 - 2.0)
    assert found.z[:2] == pytest.approx([50.0 - 50.0 / 26.0, 50.0 - 150.0 / 26.0])
    assert set(found.zone[found.piece == 2].tolist()) == {ZONES.index(Zone.BARREL)}
    assert np.isnan(found.gap_mm).all()
    assert np.isnan(found.stock_mm).all()


def test_wall_is_read_where_a_disc_reaches_from_face_to_face() -> None:
    found = profile(plate(), Held(), step_mm=1.0)
    on_faces = (found.piece == 0) | (found.piece == 2)
    # The disc of 8 touches both faces from 4 off the ends; nearer it touches a face and the end.
    across = on_faces & (found.z > 4.0) & (found.z < LENGTH - 4.0)
    assert np.array_equal(np.isfinite(found.wall_mm), across)
    assert found.wall_mm[across] == pytest.approx(np.full(across.sum(), HIGH - LOW), abs=1e-9)


def test_walls_are_read_once_for_band_and_strip() -> None:
    """However they ask for them; a profile hands on the very walls."""
    of = plate()
    assert walls_along(of) is walls_along(of, 4.0)
    assert profile(of, Held()).wall_mm is walls_along(of).wall_mm
    assert walls_along(of, 1.0) is not walls_along(of)


def test_gap_is_that_to_the_nearest_shape_and_negative_inside_one() -> None:
    below, above = box(10.0, 20.0, 80.0, 95.0), box(30.0, 40.0, 105.0, 120.0)
    held = Held(shapes=((StayOut("below", ()), (below,)), (StayOut("above", ()), (above,))))
    found = profile(plate(), held)
    for z, r, gap in zip(found.z.tolist(), found.r.tolist(), found.gap_mm.tolist(), strict=True):
        to_below = math.hypot(max(10.0 - z, 0.0, z - 20.0), r - 95.0)
        to_above = math.hypot(max(30.0 - z, 0.0, z - 40.0), max(105.0 - r, 0.0))
        if 30.0 < z < 40.0 and r > 105.0:
            to_above = -min(z - 30.0, 40.0 - z, r - 105.0)
        assert gap == pytest.approx(min(to_below, to_above), abs=1e-9)


def test_stock_is_the_distance_to_the_blank_less_its_skin() -> None:
    # 4 above, 3 below, 2 before the inner end, and the outer end sticks out by 1.
    held = Held(blank=box(-2.0, LENGTH - 1.0, LOW - 3.0, HIGH + 4.0), skin_mm=0.5)
    found = profile(plate(), held)
    for z, r, stock in zip(found.z.tolist(), found.r.tolist(), found.stock_mm.tolist(), strict=True):
        inside = min(z + 2.0, LENGTH - 1.0 - z, r - (LOW - 3.0), HIGH + 4.0 - r)
        assert stock == pytest.approx(inside - 0.5, abs=1e-9)
