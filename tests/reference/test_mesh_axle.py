"""The axle fitted to turned bodies that were tilted and shifted by known amounts, clean and noisy."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.errors import GeometryError
from geometry.shape.axle_fit import FittedAxle, fit_axle
from geometry.shape.axle_lines import _proposed, normals_of
from geometry.shape.curve import Array, Indices
from tests.support.meshes import block, caliper, capsule, lump, turned
from tests.support.one_of import one_of

#: A hub with a disc: bore, mounting face at z = 0 from r = 32 to 74, chamfer, hat, disc.
HUB = [(-30.0, 32.0), (0.0, 32.0), (0.0, 74.0), (-8.0, 80.0), (-45.0, 80.0), (-45.0, 165.0)]
HUB += [(-57.0, 165.0), (-57.0, 70.0), (-30.0, 70.0)]
CONES = [(0.0, 30.0), (50.0, 50.0), (52.0, 90.0), (10.0, 120.0), (-10.0, 60.0)]


def stepped(section: list[tuple[float, float]], step: float) -> list[tuple[float, float]]:
    """A closed section with its sides parted, for triangles like a scan's."""
    places = []
    for (z, r), (z1, r1) in zip(section, [*section[1:], section[0]], strict=True):
        count = max(1, int(np.ceil(np.hypot(z1 - z, r1 - r) / step)))
        places += [(z + (z1 - z) * k / count, r + (r1 - r) * k / count) for k in range(count)]
    return places


def corners_of(body: Array) -> tuple[Array, Indices]:
    """Each corner once, and for each of every triangle which it is."""
    corners, back = np.unique(body.reshape(-1, 3).round(7), axis=0, return_inverse=True)
    return corners, back


def shaken(body: Array, by: float) -> Array:
    return moved(*corners_of(body), by)


def moved(corners: Array, back: Indices, by: float) -> Array:
    noise = np.random.default_rng(6).normal(scale=by, size=corners.shape)
    return np.asarray((corners + noise)[back].reshape(-1, 3, 3))


@cache
def clean_scan() -> tuple[Array, Indices]:
    return corners_of(np.concatenate([turned(stepped(HUB, 1.2), 400), caliper(200, 60)]))


def scan(noise: float) -> Array:
    return moved(*clean_scan(), noise)


class Posed:
    """A body turned and shifted at random, and how far a fitted line lies from its true axle."""

    def __init__(self, body: Array, seed: int) -> None:
        rng = np.random.default_rng(seed)
        turn = Rotation.random(random_state=seed).as_matrix()
        self.axis, self.place = turn[:, 0], rng.uniform(-300.0, 300.0, 3)
        self.triangles = body @ turn.T + self.place

    def tilt_deg(self, found: FittedAxle) -> float:
        sine = np.linalg.norm(np.cross(found.direction, self.axis))
        return float(np.degrees(np.arcsin(sine)))

    def off_mm(self, found: FittedAxle) -> float:
        """Distance of the lines at the body's own zero."""
        out = self.place - found.through
        return float(np.linalg.norm(out - (out @ found.direction) * found.direction))

    def own_z(self, found: FittedAxle, z: float) -> float:
        """The body's own z for a z measured from the fitted place."""
        return float((found.through + z * found.direction - self.place) @ self.axis)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("count", [32, 360, 1440])
@pytest.mark.parametrize("section", [HUB, CONES], ids=["hub", "cones"])
def test_a_clean_turned_part_gives_its_axle(
    section: list[tuple[float, float]], count: int, seed: int
) -> None:
    posed = Posed(turned(section, count), seed)
    found = fit_axle(posed.triangles)
    assert posed.tilt_deg(found) < 0.01
    assert posed.off_mm(found) < 0.02
    assert found.rms < 0.02
    assert found.sectors == 24


@pytest.mark.parametrize("seed", one_of(3, range(3)))
def test_other_surfaces_do_not_lead_it_astray(seed: int) -> None:
    rod = capsule((0.0, 100.0, 0.0), (30.0, 130.0, 50.0), 20.0, 200)
    posed = Posed(np.concatenate([turned(HUB, 360), caliper(200, 60), lump(150), rod]), seed)
    found = fit_axle(posed.triangles)
    assert posed.tilt_deg(found) < 0.01
    assert posed.off_mm(found) < 0.02
    assert found.rival is None


def test_corners_of_32_bits_do_no_harm() -> None:
    posed = Posed(turned(HUB, 720), 3)
    found = fit_axle(posed.triangles.astype(np.float32).astype(float))
    assert posed.tilt_deg(found) < 0.01
    assert posed.off_mm(found) < 0.02


@pytest.mark.parametrize(
    ("noise", "tilt", "off"),
    [(0.02, 0.005, 0.05), pytest.param(0.05, 0.01, 0.1, marks=pytest.mark.long), (0.15, 0.02, 0.35)],
)
@pytest.mark.parametrize("seed", [0, pytest.param(1, marks=pytest.mark.long)])
def test_a_noisy_scan_says_how_well_it_fits(noise: float, tilt: float, off: float, seed: int) -> None:
    """The faces round it give the direction; the stated miss is no less than the true one."""
    posed = Posed(scan(noise), seed)
    found = fit_axle(posed.triangles)
    assert found.by_faces
    assert posed.tilt_deg(found) < tilt
    assert posed.off_mm(found) < off
    assert posed.off_mm(found) < found.rms


def test_half_a_scan_is_fitted_less_well_and_says_so() -> None:
    whole = turned(stepped(HUB, 1.2), 400)
    posed = Posed(shaken(whole[whole[:, :, 2].mean(axis=1) > 0.0], 0.15), 1)
    found = fit_axle(posed.triangles)
    assert posed.tilt_deg(found) < 0.02
    assert posed.off_mm(found) < 0.8
    assert found.rms > 0.3
    assert 10 <= found.sectors <= 14


@pytest.mark.parametrize("noise", [pytest.param(0.0, marks=pytest.mark.long), 0.1])
def test_the_faces_square_to_it_are_told_with_place_and_size(noise: float) -> None:
    posed = Posed(shaken(turned(stepped(HUB, 1.2), 400), noise), 2)
    found = fit_axle(posed.triangles)
    # z, least and greatest r of HUB's four faces; area of the rings pi (R^2 - r^2).
    expected = {-57.0: (70.0, 165.0), -45.0: (80.0, 165.0), 0.0: (32.0, 74.0), -30.0: (32.0, 70.0)}
    told = {round(posed.own_z(found, face.z)): face for face in found.faces}
    assert set(told) == {-57, -45, 0, -30}
    slack = 0.01 + 12.0 * noise  # a triangle of a rounded edge may count
    for z, (low, high) in expected.items():
        face = told[round(z)]
        assert posed.own_z(found, face.z) == pytest.approx(z, abs=0.002 + 0.1 * noise)
        assert (face.r_low, face.r_high) == pytest.approx((low, high), abs=slack)
        assert face.area == pytest.approx(np.pi * (high**2 - low**2), rel=0.01 if noise == 0.0 else 0.2)
        assert face.rms == pytest.approx(noise / np.sqrt(3.0), abs=0.01 + 0.3 * noise)
    assert [face.area for face in found.faces] == sorted((f.area for f in found.faces), reverse=True)


def test_two_turned_bodies_side_by_side_make_it_doubtful() -> None:
    tube = turned([(0.0, 30.0), (60.0, 30.0), (60.0, 40.0), (0.0, 40.0)], 360)
    found = fit_axle(np.concatenate([tube, tube + np.array([0.0, 0.0, 150.0])]))
    assert found.rival == pytest.approx(150.0, abs=0.1)


def test_normals_of_one_plane_propose_no_line_that_rounding_chooses() -> None:
    """Every line of that plane meets them all: of five such normals each machine made another line."""
    normals = normals_of(turned([(0.0, 0.3), (0.4, 0.3)], 360) - np.array([0.2, 0.0, 0.0]))
    assert np.abs(normals.normal[:, 0]).max() < 1e-12
    assert np.abs(normals.at[:, 0]).max() < 1e-12
    *_, (a, _) = _proposed(normals, np.random.default_rng(1))
    assert len(a) == 0


def test_placed_corners_lie_about_the_first_axis() -> None:
    posed = Posed(turned(HUB, 360), 8)
    placed = fit_axle(posed.triangles).placed(posed.triangles)
    r = np.hypot(placed[:, :, 1], placed[:, :, 2])
    assert r.min() == pytest.approx(32.0, abs=1e-3)
    assert r.max() == pytest.approx(165.0, abs=1e-3)
    assert np.linalg.norm(placed[:, 0] - placed[:, 1], axis=1) == pytest.approx(
        np.linalg.norm(posed.triangles[:, 0] - posed.triangles[:, 1], axis=1)
    )


@pytest.mark.parametrize(
    "body",
    [
        lambda: block((0.0, 50.0), (0.0, 30.0), (100.0, 120.0)),
        lambda: lump(100),
        lambda: caliper(300, 60),
        lambda: scan(2.0)[:9000],
    ],
    ids=["body0", "body1", "body2", "body3"],
)
def test_a_body_that_is_not_turned_is_refused(body: Callable[[], Array]) -> None:
    with pytest.raises(GeometryError, match="no surface turned about one line"):
        fit_axle(body())


def test_a_body_without_surface_is_refused() -> None:
    with pytest.raises(GeometryError, match="no surface turned"):
        fit_axle(np.ones((3, 3, 3)))
