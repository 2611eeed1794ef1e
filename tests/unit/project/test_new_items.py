from __future__ import annotations

import math

import numpy as np
import pytest

from app.project.new_items import new_blank, new_wheel, spoke_widths
from app.project.wheel import Fixing, SizeCode, Wheel
from app.project.wheel_edits import backspace_mm
from geometry.errors import GeometryError
from geometry.readings.gap import gaps
from geometry.readings.solid import SpokeRegion, solid, volume_mm3
from geometry.readings.wall import walls
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, outline_path
from geometry.shape.rim import Humps, WellSide
from geometry.shape.section import ZONES, Outline, Side, Zone, build
from geometry.shape.spoke_cut import parts

SIZES = [
    *(SizeCode(diameter, width) for diameter in range(13, 23) for width in (4.5, 8.5, 13)),
    *(
        SizeCode(diameter, width, flange)
        for diameter in (13, 16, 22)
        for width in (5, 9)
        for flange in ("B", "JJ")
    ),
]


def outline_of(wheel: Wheel) -> Outline:
    built = build(wheel.section)
    assert isinstance(built, Outline), (wheel.size, built)
    return built


@pytest.mark.parametrize("well", WellSide)
@pytest.mark.parametrize("inset", [-20.0, 35.0, 55.0])
def test_every_size_gives_a_section_that_can_be_edited(inset: float, well: WellSide) -> None:
    for size in SIZES:
        wheel = new_wheel("new", size, inset, well=well)
        outline = outline_of(wheel)
        present = {ZONES[k] for k in outline.zone.tolist()}
        assert present == set(Zone), size
        spokes = wheel.spokes
        assert spokes is not None
        assert parts(wheel.section, spokes.shoulder_cut, spokes.lip_cut), size
        assert outline.path.bounds[0] == pytest.approx(-backspace_mm(wheel), abs=1e-6)
        # Sides: the bore looks at the street or the brake, the lips' tops at the tyre.
        tyre = outline.side == tuple(Side).index(Side.TYRE)
        assert outline.path.points[tyre][:, 1].max() == pytest.approx(outline.path.bounds[3], abs=2.0)


@pytest.mark.parametrize("size", [SizeCode(14, 6), SizeCode(16, 7), SizeCode(18, 9.5), SizeCode(21, 11)])
def test_a_new_wheel_is_one_that_a_practitioner_would_draw(size: SizeCode) -> None:
    wheel = new_wheel("new", size, 38.0, wall_mm=3.8)
    outline = outline_of(wheel)
    read = {ZONES[w.zone]: w.least_mm for w in walls(outline)}
    assert read[Zone.BARREL] == pytest.approx(3.8, abs=0.05)
    assert 3.8 <= read[Zone.WELL] <= 4.0
    assert read[Zone.INNER_SEAT] == pytest.approx(5.5, abs=0.05)
    assert read[Zone.INNER_LIP] == pytest.approx(6.5, abs=0.1)
    assert read[Zone.OUTER_LIP] == pytest.approx(6.0, abs=0.1)
    # Road practice, from memory: spokes 18 to 30 at the root, 10 to 15 at the rim.
    assert 10.0 < read[Zone.SPOKE_BACK] < 30.0
    spokes = wheel.spokes
    assert spokes is not None
    region = SpokeRegion(
        spokes.count, spokes.widths, spokes.hub_circle_mm, spokes.shoulder_cut, spokes.lip_cut
    )
    mass = solid(outline.path, 2712.6, region).mass_kg
    # Forged wheels of these sizes weigh between 6 and 13 kg: common practice, no source.
    assert 5.0 < mass < 14.0
    # Corner radii are not all one round number.
    radii = {v.radius for v in wheel.vertices if v.radius}
    assert len(radii) >= 8


def test_the_numbers_asked_for_are_there() -> None:
    wheel = new_wheel(
        "asked",
        SizeCode(19, 11),
        22.0,
        bore_mm=66.6,
        bolt_count=4,
        bolt_circle_mm=112.0,
        wall_mm=4.4,
        disc_mm=47.0,
        spoke_count=7,
        humps=Humps.OUTER,
    )
    assert wheel.rim is not None
    assert (wheel.rim.diameter_code, wheel.rim.width_code, wheel.rim.humps) == (19, 11, Humps.OUTER)
    assert isinstance(wheel.fixing, Fixing)
    assert (wheel.fixing.count, wheel.fixing.circle_mm) == (4, 112.0)
    assert (wheel.hub.bore_mm, wheel.hub.hub_pad_mm) == (66.6, 140.0)
    assert wheel.spokes is not None
    assert wheel.spokes.count == 7
    path = outline_of(wheel).path
    assert path.bounds[2] == pytest.approx(33.3)
    bores = [v for v in wheel.vertices if v.zone is Zone.BORE]
    assert [(v.z, v.r) for v in bores] == [(0.0, 33.3)]
    backs = [v.z for v in wheel.vertices if v.zone is Zone.SPOKE_BACK]
    assert max(backs) == pytest.approx(47.0, abs=0.3)
    read = {ZONES[w.zone]: w.least_mm for w in walls(outline_of(wheel))}
    assert read[Zone.BARREL] == pytest.approx(4.4, abs=0.05)


def test_a_new_wheel_may_follow_a_brake() -> None:
    rows = [(-74, 116), (-68, 194), (-52, 202), (20, 203), (43, 190), (46, 176), (46, 134), (24, 116)]
    brake = outline_path(tuple(Corner(*row) for row in rows))
    assert isinstance(brake, Path)
    wheel = new_wheel("follows", SizeCode(18, 10), 38.0, brake=[brake])
    outline = outline_of(wheel)
    found = gaps(outline.path, outline.zone, outline.skin, brake)
    assert min(f.least_mm for f in found.findings) == pytest.approx(4.1, abs=0.05)


def test_a_full_disc_has_no_spokes() -> None:
    assert new_wheel("disc", SizeCode(15, 6), 40.0, spoke_count=0).spokes is None


@pytest.mark.parametrize(
    ("size", "inset", "options", "words"),
    [
        (SizeCode(12, 6), 35.0, {}, "outside 13 to 22"),
        (SizeCode(18, 6.25), 35.0, {}, "multiple of 1/2"),
        (SizeCode(18, 8), 35.0, {"bore_mm": 110.0}, r"under 105\b"),
        (SizeCode(13, 6), 35.0, {"hub_pad_mm": 260.0, "bolt_circle_mm": 200.0}, "spokes need"),
        (SizeCode(18, 8), 35.0, {"disc_mm": 150.0}, "outside the rim"),
        (SizeCode(18, 8), 35.0, {"disc_mm": 60.0}, "past the rim"),
    ],
)
def test_what_does_not_go_together_is_refused(
    size: SizeCode, inset: float, options: dict[str, float], words: str
) -> None:
    with pytest.raises(GeometryError, match=words):
        new_wheel("no", size, inset, **options)  # type: ignore[arg-type]


def test_spoke_widths_fill_the_share_of_each_ring() -> None:
    rows = spoke_widths(72.0, ((95.0, 0.5), (150.0, 0.36)), 10)
    assert rows == (
        (72.0, round(0.5 * 2 * math.pi * 72 / 10, 3)),
        (95.0, round(0.5 * 2 * math.pi * 95 / 10, 3)),
        (95.0, round(0.36 * 2 * math.pi * 95 / 10, 3)),
        (150.0, round(0.36 * 2 * math.pi * 150 / 10, 3)),
    )
    share = np.array([10 * w / (2 * math.pi * r) for r, w in rows])
    assert share == pytest.approx([0.5, 0.5, 0.36, 0.36], abs=1e-4)


def test_a_blank_from_five_numbers() -> None:
    blank = new_blank("ring", 510.0, 230.0, 420.0, 40.0, 150.0)
    path = outline_path(blank.corners)
    assert isinstance(path, Path)
    assert path.bounds == pytest.approx((-150.0, 80.0, 0.0, 255.0))
    # Ring 510 / 420 x 230 and disc 420 x 40 weigh 56.0 kg at 2712.6 without radii .
    sharp = outline_path(tuple(Corner(c.z, c.r) for c in blank.corners))
    assert isinstance(sharp, Path)
    ring = math.pi / 4 * ((510.0**2 - 420.0**2) * 230.0 + 420.0**2 * 40.0)
    assert volume_mm3(sharp) == pytest.approx(ring, rel=1e-9)
    assert volume_mm3(sharp) * 2712.6e-9 == pytest.approx(56.0, abs=0.1)
    # Four outer corners of 6.2 lose metal, two fillets of 14.0 at the bore gain more.
    assert volume_mm3(sharp) < volume_mm3(path) < volume_mm3(sharp) * 1.01


@pytest.mark.parametrize(
    ("height", "thickness", "position"), [(40.0, 40.0, 0.0), (230.0, 40.0, 0.0), (230.0, 40.0, 190.0)]
)
def test_a_blank_whose_disc_ends_with_the_ring(height: float, thickness: float, position: float) -> None:
    path = outline_path(new_blank("b", 500.0, height, 420.0, thickness, position).corners)
    assert isinstance(path, Path), path
    assert path.bounds == pytest.approx((-position, height - position, 0.0, 250.0))


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((500.0, 230.0, 500.0, 40.0, 100.0), "leaves no ring"),
        ((500.0, 230.0, 420.0, 40.0, 200.0), "stands 10 mm out"),
        ((0.0, 230.0, 420.0, 40.0, 100.0), "above zero"),
        ((500.0, math.nan, 420.0, 40.0, 100.0), "above zero"),
        ((500.0, 230.0, 420.0, 40.0, -1.0), "above zero"),
    ],
)
def test_five_numbers_that_make_no_blank(numbers: tuple[float, ...], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        new_blank("no", *numbers)


@pytest.mark.parametrize("bore", [60.0, 420.0, 478.0])
def test_radii_of_a_blank_fit_thin_rings(bore: float) -> None:
    path = outline_path(new_blank("thin", 480.0, 60.0, bore, 10.0, 20.0).corners)
    assert isinstance(path, Path), path
