"""Poses and effects of the road, against plain trigonometry and published worked values."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import pytest

from geometry.readings.conditions import REASONS, Conditions, Pose, Spread, effects, tilt_deg, together
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, NamedOutline, ShapeKind, SourceCard, StayOut

SHAPE = StayOut("block", (NamedOutline("at rest", (Corner(0.0, 1.0), Corner(1.0, 1.0), Corner(0.5, 2.0))),))
STILL = Conditions(
    "still",
    camber_deg=0.0,
    axial_run_out_mm=0.0,
    radial_run_out_mm=0.0,
    inset_mm=0.0,
    spacer_mm=0.0,
    surface_mm=0.0,
    coating_mm=0.0,
    wheel_hot_k=0.0,
    brake_hot_k=0.0,
    spread_mm=0.0,
)


def place(pose: Pose, z: float, r: float) -> tuple[float, float]:
    path = pose.path(Path.closed([(z, r), (z + 1.0, r), (z, r + 1.0)]))
    return float(path.points[0, 0]), float(path.points[0, 1])


class TestPose:
    @pytest.mark.parametrize(
        ("angle", "r", "axial"),
        # handbook brakes-and-gaps F14, calculated: 0.1 / 0.3 / 0.5 degrees at r 210; checks.md T40 at r 200
        [(0.1, 210.0, 0.37), (0.3, 210.0, 1.10), (0.5, 210.0, 1.83), (0.1, 200.0, 0.349)],
    )
    def test_tilt_moves_along_the_axle(self, angle: float, r: float, axial: float) -> None:
        z, _ = place(Pose(tilt_deg=angle, centre_z_mm=-40.0), -40.0, r)
        assert abs(z + 40.0) == pytest.approx(axial, abs=0.006)

    @pytest.mark.parametrize(("angle", "radial"), [(0.1, 0.14), (0.3, 0.42), (0.5, 0.70)])
    def test_tilt_moves_across_the_axle(self, angle: float, radial: float) -> None:
        """F14: 80 mm from the bearing centre; checks.md G3."""
        _, r = place(Pose(tilt_deg=angle, centre_z_mm=-80.0), 0.0, 0.0)
        assert r == pytest.approx(radial, abs=0.005)

    def test_barrel_grows_with_heat(self) -> None:
        """checks.md G5: R215, +100 K, 23.6e-6 /K."""
        _, r = place(Pose(scale=1.0 + 23.6e-6 * 100.0), 0.0, 215.0)
        assert r - 215.0 == pytest.approx(0.507, abs=5e-4)

    def test_arcs_stay_arcs(self) -> None:
        path = Path.closed([(0.0, 100.0, 0.5), (20.0, 100.0), (10.0, 80.0)])
        posed = Pose(0.4, -45.0, 0.3, -0.2, 1.001, 9.0).path(path)
        assert posed.bulges.tolist() == path.bulges.tolist()
        assert posed.radii[0] == pytest.approx(path.radii[0] * 1.001, rel=1e-12)

    def test_nothing_moves_farther_than_is_said(self) -> None:
        rng = np.random.default_rng(3)
        for _ in range(200):
            points = np.column_stack([rng.uniform(-200, 200, 12), rng.uniform(0, 260, 12)])
            tilt, centre, dz, dr, grown = rng.uniform([-1, -90, -1, -1, -2e-3], [1, 0, 1, 1, 2e-3]).tolist()
            pose = Pose(tilt, centre, dz, dr, 1.0 + grown)
            centre = np.array([pose.centre_z_mm, 0.0])
            reach = max(np.hypot(*(points - c).T).max() for c in (centre, 0.0 * centre))
            moved = pose.path(Path(points, np.zeros(12))).points - points
            assert np.hypot(*moved.T).max() <= pose.farthest_mm(float(reach)) + 1e-9


class TestClock:
    def test_unstated_is_the_worst_in_the_plane(self) -> None:
        assert tilt_deg(replace(STILL, camber_deg=0.3, toe_deg=0.4), SHAPE) == pytest.approx(0.5)

    def test_level_with_the_axle_sees_little_camber(self) -> None:
        """practice.md finding 11: at 3 o'clock +-35 degrees of arc at most 57 % of a camber tilt (sin 35)."""
        level = replace(SHAPE, clock_low_deg=55.0, clock_high_deg=125.0)
        seen = tilt_deg(replace(STILL, camber_deg=1.0), level)
        assert seen == pytest.approx(math.sin(math.radians(35.0)))
        assert round(seen, 2) == 0.57

    def test_upright_sees_all_of_camber(self) -> None:
        upright = replace(SHAPE, clock_low_deg=-35.0, clock_high_deg=35.0)
        assert tilt_deg(replace(STILL, camber_deg=0.2), upright) == pytest.approx(0.2)

    def test_against_a_dense_search(self) -> None:
        rng = np.random.default_rng(5)
        for _ in range(300):
            low = rng.uniform(-180, 180)
            high = min(low + rng.uniform(0, 170), 360.0)
            camber, toe = rng.uniform(0, 1, 2)
            p = np.radians(np.linspace(low, high, 20001))
            dense = (camber * abs(np.cos(p)) + toe * abs(np.sin(p))).max()
            shape = replace(SHAPE, clock_low_deg=low, clock_high_deg=high)
            assert tilt_deg(replace(STILL, camber_deg=camber, toe_deg=toe), shape) == pytest.approx(
                dense, abs=1e-7
            )


class TestEffects:
    def test_still_has_none(self) -> None:
        assert effects(STILL, SHAPE, 100.0, 0.0) == ()

    def test_hot_caliper_grows_by_its_size(self) -> None:
        """Handbook F15: 40 mm of alloy caliper +150 K 0.14 mm."""
        (found,) = effects(replace(STILL, brake_hot_k=150.0), SHAPE, 40.0, 0.0)
        assert found.poses[0].loss_mm == pytest.approx(0.14, abs=0.002)

    def test_spacer_counts_where_there_is_one(self) -> None:
        loose = replace(STILL, spacer_mm=0.05)
        assert effects(loose, SHAPE, 40.0, 0.0) == ()
        assert [e.key for e in effects(loose, SHAPE, 40.0, 5.0)] == ["spacer_mm"]

    def test_only_calipers_spread(self) -> None:
        spreading = replace(STILL, spread_mm=0.2)
        assert [e.key for e in effects(spreading, SHAPE, 40.0, 0.0)] == ["spread_mm"]
        assert effects(spreading, replace(SHAPE, kind=ShapeKind.TIE_ROD), 40.0, 0.0) == ()

    def test_error_of_the_outline_is_one_of_them(self) -> None:
        vague = replace(SHAPE, card=SourceCard(error_mm=0.7))
        (found,) = effects(STILL, vague, 40.0, 0.0)
        assert (found.key, found.poses[0].loss_mm, found.spread) == ("error_mm", 0.7, Spread.NORMAL)

    def test_every_number_says_what_it_rests_on(self) -> None:
        named = {f.name for f in fields(Conditions)} - {"name", "revision", "starting_values"}
        assert named == set(REASONS)


def test_effects_add_up() -> None:
    pose = together((Pose(0.2, -45.0), Pose(dz_mm=0.3), Pose(dz_mm=-0.1, dr_mm=0.2), Pose(loss_mm=0.1)))
    assert (pose.tilt_deg, pose.centre_z_mm, pose.dr_mm, pose.loss_mm) == (0.2, -45.0, 0.2, 0.1)
    assert pose.dz_mm == pytest.approx(0.2)
