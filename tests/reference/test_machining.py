"""Turning, facing, tapers, face milling and power against printed examples (checks.md Part B 24 to 30).

P: the problem's number in the solutions of a manufacturing textbook, as checks.md names them.
"""

from __future__ import annotations

import math

import pytest

from geometry.errors import GeometryError
from geometry.forging import machining as m

INCH_MM = 25.4
M_S = 60.0  # m/min


def test_24_rate_and_power_of_turning() -> None:  # P 21.18
    rate = m.removal_rate_mm3_s(200.0, 0.25, 7.5)
    assert rate == pytest.approx(6250.0, rel=1e-3)
    assert m.cutting_kw(rate, 2.8) == pytest.approx(17.5, rel=1e-3)
    assert m.motor_kw(m.cutting_kw(rate, 2.8), 0.90) == pytest.approx(19.44, rel=1e-3)


def test_25_time_of_a_turned_cylinder() -> None:  # P 22.1, which prints 1320
    assert m.turning_s(200.0, 700.0, 2.30 * M_S, 0.32) == pytest.approx(598.0, rel=5e-3)
    assert m.removal_rate_mm3_s(2.30 * M_S, 0.32, 1.80) == pytest.approx(1325.0, rel=5e-3)


def test_26_facing_at_constant_feed() -> None:  # P 22.3
    minutes = m.facing_s(3.0 * INCH_MM, 180.0, 0.008 * INCH_MM) / 60.0
    assert minutes == pytest.approx(2.083, rel=1e-3)
    assert 3.0 / minutes == pytest.approx(1.44, rel=1e-3)


def test_27_taper_at_constant_surface_speed() -> None:  # P 22.4
    assert m.cone_mm2(100.0, 200.0, 750.0) == pytest.approx(354_214.0, rel=1e-3)
    assert m.taper_s(100.0, 200.0, 750.0, 200.0, 0.25) / 60.0 == pytest.approx(7.084, rel=1e-3)
    assert m.spindle_rpm(200.0, 100.0) == pytest.approx(636.6, rel=1e-3)
    assert m.spindle_rpm(200.0, 200.0) == pytest.approx(318.3, rel=1e-3)


def test_28_face_milling_with_the_approach_of_a_centred_mill() -> None:  # P 22.15
    feed = m.face_mill_feed_mm_s(150.0, 2.8 * M_S, 4, 0.27)
    seconds = m.face_milling_s(300.0, m.face_mill_approach_mm(150.0, 125.0), feed)
    assert seconds == pytest.approx(52.0, rel=5e-3)
    assert m.face_milling_rate_mm3_s(125.0, 6.0, feed) == pytest.approx(4813.0, rel=5e-3)


def test_29_the_same_at_high_speed() -> None:  # P 22.25; its own label mm3/s is wrong, see checks.md
    feed = m.face_mill_feed_mm_s(150.0, 3600.0, 4, 0.27)
    assert m.face_milling_s(300.0, 150.0 / 2.0, feed) == pytest.approx(2.73, rel=5e-3)
    per_minute = 60.0 * m.face_milling_rate_mm3_s(125.0, 6.0, feed)
    assert per_minute == pytest.approx(6_187_950.0, rel=5e-3)


def test_30_specific_energy_of_aluminium_alloy() -> None:  # P Table 20.2, which prints 0.8
    assert m.j_mm3(0.3) == pytest.approx(0.819, rel=1e-3)


def test_handbook_chips_of_a_heavy_blank() -> None:
    """Handbook 3: 54.4 to 9 kg gives 16.7 L and 13.4 MJ; a 30 kW spindle at 85 % takes 1.9 L/min."""
    volume = (54.4 - 9.0) / 2712.6 * 1e9
    assert volume * 1e-6 == pytest.approx(16.7, abs=0.05)
    assert m.cutting_kw(volume, 0.8) * 1e-3 == pytest.approx(13.4, abs=0.05)
    rate = 1.9e6 / 60.0
    assert m.motor_kw(m.cutting_kw(rate, 0.8), 0.85) == pytest.approx(30.0, rel=0.01)


@pytest.mark.parametrize("greatest", [150.0, 400.0, 500.0, 600.0, 5000.0])
def test_a_greatest_spindle_speed_against_many_thin_cones(greatest: float) -> None:
    """Each thin ring takes its slant over N f, N the lesser of v / (pi D) and the spindle's greatest."""
    count, seconds = 20_000, 0.0
    slant = math.hypot(50.0, 750.0) / count
    for k in range(count):
        d = 100.0 + 100.0 * (k + 0.5) / count
        rpm = min(200_000.0 / (math.pi * d), greatest)
        seconds += slant / (rpm * 0.25) * 60.0
    assert m.taper_s(200.0, 100.0, 750.0, 200.0, 0.25, greatest) == pytest.approx(seconds, rel=1e-8)
    assert m.taper_s(100.0, 200.0, 750.0, 200.0, 0.25, greatest) == pytest.approx(seconds, rel=1e-8)


def test_a_cylinder_at_a_greatest_spindle_speed() -> None:
    fast = m.turning_s(100.0, 50.0, 200.0, 0.25)
    assert m.taper_s(100.0, 100.0, 50.0, 200.0, 0.25, 1000.0) == pytest.approx(fast, rel=1e-12)
    assert m.taper_s(100.0, 100.0, 50.0, 200.0, 0.25, 100.0) == pytest.approx(60.0 * 50.0 / 25.0, rel=1e-12)


def test_a_face_to_the_axle_needs_a_greatest_spindle_speed() -> None:
    with pytest.raises(GeometryError, match="greatest speed"):
        m.taper_s(200.0, 0.0, 0.0, 200.0, 0.25)
    # From 200 mm to the diameter of 1000 rpm at constant speed, then at constant turns (closed form).
    at = 200_000.0 / (math.pi * 1000.0)
    seconds = math.pi / 4.0 * (200.0**2 - at**2) / (200_000.0 / 60.0 * 0.25) + 60.0 * at / 2.0 / 250.0
    assert m.taper_s(200.0, 0.0, 0.0, 200.0, 0.25, 1000.0) == pytest.approx(seconds, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: m.removal_rate_mm3_s(0.0, 0.25, 7.5), "Turning: the speed is 0 m/min"),
        (lambda: m.removal_rate_mm3_s(200.0, math.nan, 7.5), "the feed is nan mm"),
        (lambda: m.facing_s(70.0, -3.0, 0.2), "the spindle speed is -3 turns a minute"),
        (lambda: m.taper_s(-1.0, 2.0, 3.0, 200.0, 0.2), "start diameter is -1 mm"),
        (lambda: m.taper_s(10.0, 10.0, 0.0, 200.0, 0.2), "no surface"),
        (lambda: m.taper_s(10.0, 10.0, 5.0, 200.0, 0.2, 0.0), "the greatest is 0 turns a minute"),
        (lambda: m.face_mill_approach_mm(100.0, 125.0), "25 mm too narrow"),
        (lambda: m.face_milling_s(100.0, -1.0, 5.0), "approach is -1 mm"),
        (lambda: m.motor_kw(3.0, 1.2), "efficiency is 1.2"),
        (lambda: m.j_mm3(0.0), "Specific energy: the value is 0 hp/"),
    ],
)
def test_what_cannot_be_cut_is_named(call: object, says: str) -> None:
    with pytest.raises(GeometryError) as error:
        call()  # type: ignore[operator]
    assert says in str(error.value)
