"""Single spokes between elastic rim and hub: closed rings, equilibrium, agreement with the section."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from app.studies.fit import spokes_of
from app.studies.strength.agree import agreement_words, cuts_of
from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.strength.cuts import across
from geometry.strength.joined import joined_spokes, joint_stiffness, motions
from geometry.strength.loads import Clamp
from geometry.strength.metals import METALS
from geometry.strength.spoked import Smear
from geometry.strength.spokes import Bent, Root, Spoke, of_resultant, spoke_of
from geometry.strength.wheel import Body, bent
from tests.support.example import wheel
from tests.unit.strength.test_blocks import block
from tests.unit.strength.test_wheel import MOMENT, body, outline, pattern

RADIUS, WALL = 200.0, 4.0
E, NU = METALS[0].elastic_mpa, METALS[0].poisson
BENDING, TORSION = WALL**4 / 12.0, 0.1406 * WALL**4


def soft(n: int) -> Array:
    """Compliance of a plain ring of a square cut, joined along the middle of its cut."""
    mesh = block((0.0, WALL), (RADIUS - WALL / 2, RADIUS + WALL / 2), (4, 4))
    none = np.zeros(len(mesh.edges), dtype=np.intp)
    ring = Body(mesh, METALS[0], Smear(None, None, None), none, none)
    joint = np.flatnonzero(np.abs(mesh.points[:, 1] - RADIUS) < 1e-9)
    way = motions(mesh.points[joint], WALL / 2, RADIUS)
    inside = np.ones(len(mesh.triangles), dtype=np.bool_)
    # Along one radius nothing changes with r, so that the last motion is none.
    stiff = joint_stiffness(ring, inside, joint[:0], [(joint, way)], n)
    return np.asarray(np.linalg.inv(stiff[:5, :5]))


@pytest.mark.parametrize("n", [2, 4, 9, 11])
def test_rim_is_a_closed_ring(n: int) -> None:
    """A ring under q cos(n theta), whose work over the turn is pi R q w: in its plane q R4 / (E I (n2 - 1)2).

    Along the axle bending and torsion, M = q R2 / (n2 - 1) and M / n, so that w = q R4 / (n2 - 1)2 times
    (1 / E I + 1 / (n2 G J)), J 0.1406 a4 of a square. S. P. Timoshenko, Strength of
    Materials II (from memory).
    2 %: a plane joint is a little stiff, and stretch and shear are left out.
    """
    found = soft(n)
    unit = RADIUS**3 / (math.pi * (n**2 - 1) ** 2)
    shear = E / (2.0 * (1.0 + NU))
    assert found[1, 1] == pytest.approx(unit / (E * BENDING), rel=0.02)
    assert found[0, 0] == pytest.approx(unit * (1 / (E * BENDING) + 1 / (n**2 * shear * TORSION)), rel=0.02)


@cache
def both() -> tuple[tuple[Root, ...], Bent, Spoke]:
    spokes = spokes_of(wheel())
    assert spokes is not None
    spoke = spoke_of(outline().path, spokes)
    pad_mm = float(body().mesh.points[body().pad, 1].max())
    moved = bent(body(), MOMENT, pattern(Clamp.INNER_FLANGE))
    smeared = tuple(
        of_resultant(spoke, across(body(), moved, r)) for r in cuts_of(outline().path, spoke, pad_mm)
    )
    beams = joined_spokes(body(), spoke, MOMENT, Clamp.INNER_FLANGE, [s.r_mm for s in smeared])
    return smeared, beams, spoke


def test_single_spokes_carry_the_moment() -> None:
    """Sum of the end forces on a unit tilt of the hub, found apart from the stiffness: the moment; 1e-9."""
    _, beams, spoke = both()
    assert beams.carried_nmm == pytest.approx(MOMENT, rel=1e-9)
    # Along a spoke the moment grows by the axial force times the way, less the radial force times the rise.
    hub, rim = beams.roots[0], beams.roots[-1]
    rise = float(np.interp(rim.r_mm, spoke.r, spoke.z) - np.interp(hub.r_mm, spoke.r, spoke.z))
    grown = hub.axial_n * (rim.r_mm - hub.r_mm) - hub.radial_n * rise
    assert hub.moment_nmm - rim.moment_nmm == pytest.approx(grown, rel=1e-9)


def test_single_spokes_and_the_smeared_section_differ_within_bounds() -> None:
    """Five spokes 58 to 83 mm wide, which twist stiffly: axial force 0.5 to 1.05, stress at the hub 1 to 1.5.

    Bounds of the difference; which is nearer stands in tests/reference/test_spoke_models.py and in the words.
    """
    smeared, beams, _ = both()
    hub, beam = smeared[0], beams.roots[0]
    assert 1.0 < beam.bending_mpa / hub.bending_mpa < 1.5
    for s, b in zip(smeared, beams.roots, strict=True):
        assert 0.5 < b.axial_n / s.axial_n < 1.05
    words = agreement_words(smeared, beams.roots)
    assert "they do not agree within 15 % on axial force, " in words
    assert "read the beams, which stand nearer solids in space" in words
    assert "read the beams" not in agreement_words(smeared, smeared)
    assert f"moment: {beam.moment_nmm / hub.moment_nmm:.2f} / " in words


def test_radial_force_of_the_smeared_section_falls_with_the_radius() -> None:
    """Balance of a wedge without hoop: shear and radial force times r stay (theory of plane stress); 2 %."""
    smeared, _, _ = both()
    first, last = smeared[0], smeared[-1]
    assert first.radial_n * first.r_mm == pytest.approx(last.radial_n * last.r_mm, rel=0.02)


def test_a_hub_that_is_bolted_gives_no_sum() -> None:
    with pytest.raises(GeometryError, match="nothing to act against"):
        joined_spokes(body(), both()[2], MOMENT, Clamp.HUB_PAD, [100.0])
