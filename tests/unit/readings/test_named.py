"""Readings by name on sections whose numbers are plain arithmetic."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.readings.chords import spans
from geometry.readings.hub import hub_readings
from geometry.readings.named import named_readings
from geometry.readings.places import FixingGeometry, HubGeometry, RimPlaces, SingleNutGeometry
from geometry.readings.rows import NamedReading
from geometry.readings.rules import State
from geometry.readings.solid import SpokeRegion, moments_of_area
from geometry.shape.curve import Path
from geometry.shape.section import Outline, Section, Vertex, Zone, build
from tests.support.sections import random_outline

HUB = Path.closed([(0.0, 36.0), (40.0, 36.0), (40.0, 74.0), (0.0, 74.0)])
GEOMETRY = HubGeometry(72.0, 148.0, 1.6, 71.9, 9.5, 0.8, 152.0, 38.5, 14.0)
BOLTS = FixingGeometry(5, 114.3, 15.0, 13.0)


def hub(
    fixing: FixingGeometry | SingleNutGeometry | None = BOLTS,
    geometry: HubGeometry = GEOMETRY,
    *,
    spacer_mm: float = 0.0,
    rule: float | None = 10.0,
) -> dict[str, NamedReading]:
    rows, _ = hub_readings(
        HUB.moved(dz=spacer_mm), fixing, geometry, spacer_mm=spacer_mm, seat_land_rule_mm=rule
    )
    return {row.key: row for row in rows}


def test_intervals_add_up_to_the_area() -> None:
    rng = np.random.default_rng(21)
    for _ in range(5):
        path = random_outline(rng).path
        low, high = path.bounds[2:]
        levels = np.linspace(low, high, 4001)
        middles = (levels[:-1] + levels[1:]) / 2.0
        widths = [sum(b - a for a, b in found) for found in spans(path, middles, 0)]
        assert np.sum(widths) * (levels[1] - levels[0]) == pytest.approx(path.area, rel=2e-4)


def test_second_moment_of_a_rectangle() -> None:
    """b 8 by h 20: A = 160, centroid half way, I = b h3 / 12."""
    area, centroid, second = moments_of_area(Path.closed([(0, 100), (8, 100), (8, 120), (0, 120)]).table)
    assert area == pytest.approx(160.0)
    assert centroid == pytest.approx(110.0)
    assert second == pytest.approx(8 * 20**3 / 12)


def test_second_moment_of_a_thin_strip_far_out_keeps_its_digits() -> None:
    """b 20 by h 0.5 at r 300: I = 0.2083 mm4, a part in four million of what it is about the axle."""
    _, centroid, second = moments_of_area(Path.closed([(0, 300), (20, 300), (20, 300.5), (0, 300.5)]).table)
    assert centroid == pytest.approx(300.25, rel=1e-15)
    assert second == pytest.approx(20 * 0.5**3 / 12, rel=1e-12)


def rim() -> Outline:
    """Lips 7 wide and 18 high outside the flange faces z -100 and 90; seats 6 thick below r 200; a disc."""
    rows = [
        (97.0, 218.0, Zone.OUTER_LIP),
        (90.0, 218.0, Zone.OUTER_LIP),
        (90.0, 200.0, Zone.OUTER_SEAT),
        (-100.0, 200.0, Zone.INNER_LIP),
        (-100.0, 218.0, Zone.INNER_LIP),
        (-107.0, 218.0, Zone.INNER_LIP),
        (-107.0, 194.0, Zone.BARREL),
        (40.0, 194.0, Zone.SPOKE_BACK),
        (40.0, 60.0, Zone.BORE),
        (66.0, 60.0, Zone.SPOKE_FACE),
        (60.0, 194.0, Zone.OUTER_LIP),
        (97.0, 194.0, Zone.OUTER_LIP),
    ]
    built = build(Section(tuple(Vertex(z, r, zone=zone) for z, r, zone in rows)))
    assert isinstance(built, Outline)
    return built


PLACES = RimPlaces(90.0, -100.0, 400.0, 17.5)


def named(shapes: tuple[Path, ...] = ()) -> dict[str, NamedReading]:
    spokes = SpokeRegion(5, ((60.0, 30.0),), 70.0, (35.0, 190.0), (70.0, 190.0))
    return {row.key: row for row in named_readings(rim(), PLACES, spokes, shapes)}


def test_lips() -> None:
    found = named()
    for lip in ("inner_lip", "outer_lip"):
        assert found[f"{lip}_axial"].value == pytest.approx(7.0)
        assert found[f"{lip}_under_heel"].value == pytest.approx(6.0)
        assert found[f"{lip}_height"].value == pytest.approx(18.0)
        # Beyond the cut 6.5 mm inside the flange face: 13.5 x 6 and the lip 7 x 18 on it.
        assert found[f"{lip}_area"].value == pytest.approx(13.5 * 6 + 7 * 18)
        a1, a2, y1, y2 = 13.5 * 6, 7 * 18.0, 3.0, 15.0
        y = (a1 * y1 + a2 * y2) / (a1 + a2)
        second = 13.5 * 6**3 / 12 + a1 * (y - y1) ** 2 + 7 * 18**3 / 12 + a2 * (y2 - y) ** 2
        assert found[f"{lip}_second_moment"].value == pytest.approx(second)


def test_spoke_depth_at_radii_and_least() -> None:
    """The face runs from z 66 at r 60 to z 60 at r 194; the back stands at z 40."""
    found = named()
    assert found["spoke_depth_r100"].value == pytest.approx(26.0 - 6.0 * 40.0 / 134.0, abs=1e-5)
    # From the hub circle r 70 to 1 mm inside the cut at r 190.
    assert found["spoke_depth_hub"].value == pytest.approx(26.0 - 6.0 * 10.0 / 134.0)
    assert found["spoke_depth_rim"].value == pytest.approx(26.0 - 6.0 * 129.0 / 134.0)
    assert found["spoke_depth_least"].value == pytest.approx(26.0 - 6.0 * 129.0 / 134.0)
    assert "spoke_depth_r200" not in found


def disc(back: tuple[tuple[float, float, float], ...]) -> Path:
    """A disc from r 60 to 200, face leaning from z 50 to 64; the back as (z, r, bulge) from r 200 down."""
    return Path.closed([*back, (50.0, 60.0), (64.0, 200.0)])


def least_depth(path: Path) -> NamedReading:
    of_all = np.zeros(len(path), dtype=np.intp)
    outline = Outline(path, of_all, of_all, of_all, np.ones(len(path), dtype=bool))
    spokes = SpokeRegion(5, ((60.0, 30.0),), 60.0, (10.0, 200.0), (70.0, 200.0))
    return {row.key: row for row in named_readings(outline, None, spokes)}["spoke_depth_least"]


def test_least_spoke_depth_lies_where_back_and_face_run_parallel() -> None:
    """An arc of R 300 bulging towards the face, slope 0.1: depth is least where its slope is 0.1 too.

    From (20, 200) to (20, 60) about a centre at r 130: z = c + sqrt(300^2 - (r - 130)^2), slope 0.1 at
    r - 130 = -300 x 0.1 / sqrt(1.01).
    """
    half, radius = 70.0, 300.0
    bulge = math.tan(math.asin(half / radius) / 2.0)
    centre = 20.0 - math.sqrt(radius**2 - half**2)
    found = least_depth(disc(((20.0, 200.0, -bulge), (20.0, 60.0, 0.0))))
    r = 130.0 - radius * 0.1 / math.sqrt(1.01)
    expected = 50.0 + 0.1 * (r - 60.0) - (centre + math.sqrt(radius**2 - (r - 130.0) ** 2))
    assert found.value == pytest.approx(expected, abs=1e-5)
    assert found.place is not None
    assert found.place[1] == pytest.approx(r, abs=0.02)


def test_least_spoke_depth_at_a_step_is_that_of_its_thin_side() -> None:
    # The back steps from z 20 to z 30 at r 150: just above it 59 - 30 is left, and more further out.
    found = least_depth(disc(((30.0, 200.0, 0.0), (30.0, 150.0, 0.0), (20.0, 150.0, 0.0), (20.0, 60.0, 0.0))))
    assert found.value == pytest.approx(29.0, abs=1e-5)


def test_weight_band_with_the_room_over_a_shape() -> None:
    shape = Path.closed([(-60.0, 120.0), (20.0, 120.0), (20.0, 182.0), (-60.0, 176.0)])
    found = named((shape,))
    assert found["weight_band_0_flat"].value == pytest.approx(147.0)
    assert found["weight_band_0_room"].value == pytest.approx(12.0, abs=0.3)
    assert "weight_band_0_room" not in named()


def test_face_proud() -> None:
    assert named()["face_proud"].value == pytest.approx(66.0 - 97.0)


def test_face_proud_on_the_crest_of_a_round_face() -> None:
    """A half circle of R 20 from r 100 to 140 stands 20 proud of its ends at z 50; the lip ends at z 60."""
    rows = [
        (50.0, 100.0, 1.0, Zone.SPOKE_FACE),
        (50.0, 140.0, 0.0, Zone.SPOKE_FACE),
        (60.0, 150.0, 0.0, Zone.OUTER_LIP),
        (0.0, 150.0, 0.0, Zone.BARREL),
        (0.0, 100.0, 0.0, Zone.SPOKE_BACK),
    ]
    built = build(Section(tuple(Vertex(z, r, bulge=bulge, zone=zone) for z, r, bulge, zone in rows)))
    assert isinstance(built, Outline)
    proud = {row.key: row for row in named_readings(built, None, None)}["face_proud"]
    assert proud.value == pytest.approx(10.0)
    assert proud.place == pytest.approx((70.0, 120.0))


def test_seat_land_and_its_rule() -> None:
    assert hub()["seat_land"].value == pytest.approx(13.0)
    assert hub()["seat_land"].spare == pytest.approx(3.0)
    assert hub(rule=14.0)["seat_land"].state is State.SHORT
    assert hub(rule=None)["seat_land"].state is None
    assert hub(spacer_mm=5.0)["seat_land"].value == pytest.approx(13.0)


def test_seat_over_a_relieved_hub_pad() -> None:
    """A relief of 2 mm under the bolt circle takes 2 mm of land."""
    relieved = Path.closed(
        [(0, 36), (40, 36), (40, 74), (0, 74), (0, 66), (2, 66), (2, 50), (0, 50)]
    ).counterclockwise()
    rows, _ = hub_readings(relieved, BOLTS, GEOMETRY, spacer_mm=0.0, seat_land_rule_mm=None)
    assert rows[0].value == pytest.approx(11.0)


def test_distance_between_adjacent_holes_of_5_x_114_3() -> None:
    """Bolt circle = spacing / sin 36 degrees for five bolts: 67.18 between centres."""
    assert hub()["hole_to_next"].value + 15.0 == pytest.approx(67.18, abs=0.005)
    assert hub()["hole_to_next"].value + 15.0 == pytest.approx(114.3 * math.sin(math.radians(36.0)))


def test_hole_edges() -> None:
    assert hub()["hole_to_bore"].value == pytest.approx((114.3 - 15.0 - 72.0) / 2.0)
    assert hub()["hole_to_pad"].value == pytest.approx((148.0 - 114.3 - 15.0) / 2.0)
    broken = hub(FixingGeometry(5, 80.0, 15.0, 13.0))["hole_to_bore"]
    assert broken.state is State.SHORT


def test_hub_fit() -> None:
    found = hub()
    assert found["pad_on_flange"].value == pytest.approx(2.0)
    assert found["bore_over_spigot"].value == pytest.approx(0.1)
    assert found["chamfer_over_root"].spare == pytest.approx(0.8)
    assert found["spigot_engaged"].value == pytest.approx(9.5 - 1.6)
    assert found["thread_engaged"].value == pytest.approx(38.5 - 13.0)


def test_a_spacer_takes_spigot_and_thread() -> None:
    found = hub(spacer_mm=6.0)
    assert found["spigot_engaged"].value == pytest.approx(9.5 - 6.0 - 1.6)
    assert found["spigot_engaged"].state is State.SHORT
    assert found["thread_engaged"].value == pytest.approx(38.5 - 6.0 - 13.0)


def test_aluminium_nuts_need_more_thread() -> None:
    soft = HubGeometry(72.0, 148.0, 1.6, thread_mm=14.0, stud_length_mm=33.0, aluminium_nut=True)
    assert hub(geometry=soft)["thread_engaged"].required == pytest.approx(21.0)
    assert hub(geometry=soft)["thread_engaged"].state is State.SHORT


def test_what_is_not_known_is_asked_and_has_no_row() -> None:
    rows, asked = hub_readings(
        HUB, None, HubGeometry(72.0, 148.0, 0.0), spacer_mm=0.0, seat_land_rule_mm=10.0
    )
    assert rows == ()
    assert len(asked) == 5


def test_single_nut_has_pins() -> None:
    found = hub(SingleNutGeometry(30.0, 5, 110.0, 16.0))
    assert found["seat_land"].value == pytest.approx(30.0)
    assert found["pin_hole_to_bore"].value == pytest.approx((110.0 - 16.0 - 72.0) / 2.0)
    assert "thread_engaged" not in found
