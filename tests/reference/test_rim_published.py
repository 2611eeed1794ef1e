"""Standard rim contour against published numbers.

Sources: JIS D 4218:2021 Table 3 and figure 1 notes (read); a public listing of specified rim diameters
(secondary), called "the listing" below; the two contour files hold 238 points each, computed outside this
project from the same published numbers and stated assumptions.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest

from app.project.new_items import new_wheel
from app.project.wheel import SizeCode
from app.project.wheel_edits import backspace_mm, with_inset
from geometry.shape.curve import Path
from geometry.shape.published import flange_row, specified_diameter_mm, width_mm
from geometry.shape.rim import RimContour, WellSide, contour_vertices
from geometry.shape.rim_check import broken, check_tyre_side, contour_path
from geometry.shape.rim_measure import free_spans

DATA = FilePath(__file__).parent / "data"
SIZES = [(18, 10), (17, 8)]


def points(diameter: int, width: int) -> np.ndarray:
    return np.loadtxt(DATA / f"{diameter}x{width}J.csv", delimiter=",", skiprows=1)


def path_of(contour: RimContour) -> Path:
    return contour_path(contour_vertices(contour))


# The listing (secondary).
@pytest.mark.parametrize(
    ("code", "expected"),
    [(17, 436.6), (18, 462.0), (16, 405.6), (13, 329.4), (22, 563.6), (10, 253.2), (24, 614.4)],
)
def test_specified_diameter(code: float, expected: float) -> None:
    assert specified_diameter_mm(code) == pytest.approx(expected, abs=0.05)


def test_diameter_rises_with_one_step_of_31() -> None:
    steps = [specified_diameter_mm(n + 1) - specified_diameter_mm(n) for n in range(12, 26)]
    assert min(steps) > 0
    assert [
        n for n, step in zip(range(12, 26), steps, strict=True) if step == pytest.approx(31.0, abs=0.05)
    ] == [16]


# The listing's check radius for code 17 is 235.8; for code 18 D + 2 G with G 17.5 (JIS D 4218:2021).
@pytest.mark.parametrize(("code", "expected"), [(17, 235.8), (18, 497.0 / 2)])
def test_flange_radius(code: float, expected: float) -> None:
    assert path_of(RimContour(code, 8)).bounds[3] == pytest.approx(expected, abs=0.05)


# JIS D 4218:2021 Table 3.
@pytest.mark.parametrize(
    ("code", "flange", "limits"),
    [
        (14, "J", (11.0, 17.5, 19.5, 17.3, 22.0, 45.0, 9.5)),
        (21, "J", (11.0, 17.5, 19.5, 17.3, 22.0, 45.0, 9.5)),
        (22, "J", (11.0, 17.5, 19.5, 22.0, 22.0, 45.0, 9.5)),
        (13, "B", (10.0, 14.5, 19.5, 15.0, 22.0, 45.0, 7.5)),
    ],
)
def test_limits_of_the_table(code: float, flange: str, limits: tuple[float, ...]) -> None:
    row = flange_row(code, flange)
    held = (row.b_min, row.g, row.p_min, row.h_min, row.l_min, row.m_max, row.r2_min)
    assert tuple(x.value for x in held) == limits
    assert row.p1_min.value == 19.5
    assert row.g_tolerance == 1.0
    assert row.published


# JIS D 4218:2021 Table 3 note b: 17.2 is enough up to M 43 and needs 17.3 up to M 45. The place is given for
# the well's centre; its near edge lies 11.0 nearer, and where only that reading holds the verdict is open.
@pytest.mark.parametrize(
    ("centre_at", "verdicts"),
    [
        (42.9, (True, True, True)),
        (43.1, (True, True, None)),
        (53.9, (True, True, None)),
        (54.1, (False, False)),
    ],
)
def test_shallow_well_needs_a_near_place(centre_at: float, verdicts: tuple[bool | None, ...]) -> None:
    shallow = RimContour(18, 10, well_depth_mm=17.2)
    near_edge = 127.0 - free_spans(path_of(shallow), 231.0 - 17.0)[0][1]
    # Moving the hump moves the well with it.
    moved = replace(shallow, hump_place_mm=21.0 + centre_at - (near_edge + 11.0), well_floor_end_mm=80.0)
    found = {f.symbol: f for f in check_tyre_side(path_of(moved), 18, 10)}
    assert found["H"].found == pytest.approx(17.2, abs=1e-9)
    assert tuple(found[s].holds for s in ("H", "L", "M") if s in found) == verdicts
    assert ("17.3" in found["H"].limit) is (verdicts[0] is False)


# Width code x 25.4 to 0.5, from memory.
@pytest.mark.parametrize(
    ("code", "expected"), [(10, 254.0), (8.5, 216.0), (7.5, 190.5), (8, 203.0), (9.5, 241.5), (4.5, 114.5)]
)
def test_width_between_flange_faces(code: float, expected: float) -> None:
    assert width_mm(code) == pytest.approx(expected, abs=0.05)


def r_at(path: Path, z: float) -> float:
    """The contour's r at z, by flattening finely."""
    line = path.flattened(1e-5)
    line = line[: np.argmin(line[:, 0]) + 1][::-1]
    return float(np.interp(z, line[:, 0], line[:, 1]))


def test_bead_seat_and_heel() -> None:
    path = path_of(RimContour(18, 10))
    # Seat at 10: 231 - 10 tan 5; heel fillet R3 6.5 (from memory) ends at s 5.933, r 230.481.
    assert r_at(path, 127.0 - 10.0) == pytest.approx(230.125, abs=0.01)
    assert r_at(path, 127.0 - 10.0) == pytest.approx(231.0 - 10.0 * math.tan(math.radians(5.0)), abs=1e-4)
    joints = path.points
    heel_end = joints[np.argmin(np.hypot(joints[:, 0] - (127.0 - 5.933), joints[:, 1] - 230.481))]
    assert heel_end == pytest.approx([121.067, 230.481], abs=0.0006)


# Table of the derived contour in the outboard half: s from the flange face, r over D / 2, and the shelf's end
# as z of 18 x 10 and 17 x 8.
TABLE = [
    (-13.0, 16.124), (-9.5, 17.5), (0.0, 8.0), (0.0, 5.956), (5.933, -0.519), (14.075, -1.231), (21.0, 0.0),
    (28.727, -5.929), (37.102, -20.0), (66.0, -20.0), (107.007, -7.0),
]  # fmt: skip
SHELF_END = {(18, 10): (-90.958, 224.0), (17, 8): (-65.458, 211.3)}


@pytest.mark.parametrize("size", SIZES)
def test_named_points_of_the_table(size: tuple[int, int]) -> None:
    joints = path_of(RimContour(*size)).points
    half_a, half_d = {(18, 10): (127.0, 231.0), (17, 8): (101.5, 218.3)}[size]
    for z, r in [*((half_a - s, half_d + y) for s, y in TABLE), SHELF_END[size]]:
        off = np.abs(joints - [z, r]).max(axis=1).min()
        assert off <= 0.0006, (z, r)


@pytest.mark.parametrize("size", SIZES)
def test_every_point_of_the_contour_file_lies_on_the_contour(size: tuple[int, int]) -> None:
    line = path_of(RimContour(*size)).flattened(1e-5)
    ends = np.roll(line, -1, axis=0)
    for p in points(*size):
        along = np.clip(
            np.sum((p - line) * (ends - line), axis=1) / np.sum((ends - line) ** 2, axis=1), 0.0, 1.0
        )
        off = np.hypot(*(p - line - along[:, None] * (ends - line)).T).min()
        assert off <= 0.002


def turned_litres(line: np.ndarray) -> float:
    """Volume between the axle line and a polyline, by frusta."""
    z, r = line[:, 0], line[:, 1]
    return float(abs(np.sum(np.diff(z) * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2))) * math.pi / 3.0 / 1e6)


@pytest.mark.parametrize(("size", "litres"), [((18, 10), 44.584), ((17, 8), 32.547)])
def test_turned_volume(size: tuple[int, int], litres: float) -> None:
    # Frusta sum of the given points.
    assert turned_litres(points(*size)) == pytest.approx(litres, abs=0.01)
    line = path_of(RimContour(*size)).flattened(1e-4)
    assert turned_litres(line) == pytest.approx(litres, abs=0.01)


def test_contour_18_x_10() -> None:
    # 254 / 2 + 13 at either end; D / 2 - 20 at the well and D / 2 + 17.5 at the flange.
    path = path_of(RimContour(18, 10))
    z_low, z_high, r_low, r_high = path.bounds
    assert (z_low, z_high) == pytest.approx((-140.0, 140.0), abs=0.01)
    assert r_low == pytest.approx(211.0, abs=0.01)
    assert 248.45 <= r_high <= 248.5 + 1e-9
    assert np.all(np.diff(path.points[:, 0]) <= 1e-9)
    spans = free_spans(path, 231.0 - 17.3)
    assert len(spans) == 1
    assert spans[0] == pytest.approx((51.8, 94.9), abs=0.1)


def test_every_size_passes_the_checker() -> None:
    for diameter in range(13, 23):
        for half_inches in range(9, 27):
            for flange in ("J", "B", "JJ"):
                contour = RimContour(diameter, half_inches / 2, flange)
                findings = check_tyre_side(path_of(contour), diameter, half_inches / 2, flange)
                assert len(findings) >= 19
                assert broken(findings) == (), (contour, [str(f) for f in broken(findings)])


def test_a_reversed_well_is_judged_from_its_own_side() -> None:
    path = path_of(RimContour(18, 10, well=WellSide.INBOARD))
    assert broken(check_tyre_side(path, 18, 10)) == ()
    wrong = broken(check_tyre_side(path, 18, 10, well=WellSide.OUTBOARD))
    assert [(f.symbol, f.holds) for f in wrong] == [("M", False)]


# UN R124 2.6 (read): inset is the distance from attachment face to rim centre, + for inset.
# 254 / 2 + 13 + 25. From memory: the trade takes (code + 1) x 25.4 / 2 + inset.
def test_sign_of_inset_and_backspace() -> None:
    wheel = new_wheel("w", SizeCode(18, 10), 25.0)
    z_low, z_high = (pick(v.z for v in wheel.section.vertices) for pick in (min, max))
    assert (z_low + z_high) / 2.0 == pytest.approx(-25.0, abs=1e-9)
    outset = with_inset(wheel, -25.0)
    z_low, z_high = (pick(v.z for v in outset.section.vertices) for pick in (min, max))
    assert (z_low + z_high) / 2.0 == pytest.approx(25.0, abs=1e-9)
    assert backspace_mm(wheel) == pytest.approx(165.0, abs=0.05)
    assert backspace_mm(wheel) / 25.4 == pytest.approx(6.50, abs=0.005)
    trade = (10 + 1) * 25.4 / 2.0 + 25.0
    assert trade == pytest.approx(164.7, abs=0.05)
    assert backspace_mm(wheel) - trade == pytest.approx(0.3, abs=0.05)
