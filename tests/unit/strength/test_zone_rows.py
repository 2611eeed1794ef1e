"""What counts for use and life of a zone: the greater of section and single spokes; lives that move."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from app.reports.strength_parts import root_figure
from app.studies.strength.agree import Carried, Sum, carried, turned_missing_mpa
from app.studies.strength.zones import Solved, ZoneStress, solved, worst_cycle, zone_rows
from geometry.shape.curve import Array
from geometry.shape.section import ZONES, Zone
from geometry.strength import wheel
from geometry.strength.cuts import Total
from geometry.strength.life import Factors, cycles_words, life
from geometry.strength.loads import Clamp, Tyre, bending
from geometry.strength.metals import METALS, SN_6061
from geometry.strength.spokes import twisted_spokes
from tests.unit.strength.test_joined import both
from tests.unit.strength.test_wheel import MOMENT, body, outline, pattern

CASE = bending("R124 bending", 690.0, Tyre(317.08, 305.0, 653.2), 35.0)
MORE = 12.0
#: Of the moment: with one such as the wheel is made for, lives lie beyond the data.
SHARE = 2.0


@cache
def solution(share: float) -> Solved:
    return solved(body(), bent(share))


@cache
def bent(share: float) -> dict[int, Array]:
    return {n: share * u for n, u in wheel.bent(body(), MOMENT, pattern(Clamp.INNER_FLANGE)).items()}


def rows(more: Array | None = None, coarse: float = 1.0) -> dict[Zone, ZoneStress]:
    found = zone_rows(solution(SHARE), solution(SHARE * coarse), CASE, METALS[0], Factors(), more)
    return {row.zone: row for row in found}


def test_what_single_spokes_show_more_counts_for_use_and_life_of_their_zones() -> None:
    more = np.zeros(len(body().mesh.points))
    more[body().zone_of_node == ZONES.index(Zone.SPOKE_FACE)] = MORE
    plain, raised = rows(), rows(more)
    assert all(raised[z] == plain[z] for z in plain if z is not Zone.SPOKE_FACE)
    before, now = plain[Zone.SPOKE_FACE], raised[Zone.SPOKE_FACE]
    assert now.von_mises_mpa == before.von_mises_mpa
    assert now.beams_mpa == pytest.approx(MORE)
    assert before.greatest_mpa is not None
    assert now.greatest_mpa == pytest.approx(before.greatest_mpa + MORE)
    assert now.levels[0].life.mean == life(SN_6061, 0.75 * (before.greatest_mpa + MORE), -1.0).mean
    assert before.use is not None
    assert now.use == pytest.approx(before.use * (1.0 + MORE / before.greatest_mpa), rel=1e-6)
    assert "single spokes" in now.note
    assert "single spokes" not in before.note


def test_the_worst_place_may_be_another_with_single_spokes() -> None:
    """+-100 MPa and nothing more, +-95 MPa and 10 MPa more: the second decides, +-105 MPa."""
    angles = np.radians(np.arange(0.0, 360.0, 10.0))
    stress = np.zeros((len(angles), 2, 6))
    stress[:, :, 1] = np.cos(angles)[:, None] * (100.0, 95.0)
    top, ratio, _ = worst_cycle(stress, SN_6061, np.array([0.0, 10.0]))
    assert (top, ratio) == pytest.approx((105.0, -1.0))
    assert worst_cycle(stress, SN_6061)[0] == pytest.approx(100.0)


def test_only_what_beams_exceed_the_section_by_is_missing_and_only_in_spokes() -> None:
    smeared, beams, _ = both()
    none = Total(0.0, 0.0, 0.0, 0.0)
    sums = tuple(Sum(place, 100.0, none, none, 200.0, 0.0) for place in ("hub", "rim"))
    found = Carried(smeared, beams.roots, (sums[0], sums[1])).missing_mpa(body())
    spoked = body().smear.metal(body().mesh.points) < 1.0 - 1e-12
    assert (found[~spoked] == 0.0).all()
    pairs = list(zip(beams.roots, smeared, strict=True))
    # The beams show more bending at the hub and less at the rim, where a quarter turn on their twist is more.
    hub, rim = (b.bending_mpa - s.bending_mpa for b, s in pairs)
    assert rim < 0.0 < hub
    root = beams.roots[-1]
    assert root.equivalent_mpa == pytest.approx(math.sqrt(3.0) * root.twist_mpa)
    more = [max(0.0, b.equivalent_mpa - s.bending_mpa) for b, s in pairs]
    assert found.max() == pytest.approx(max(more))
    beyond = spoked & (body().mesh.points[:, 1] >= smeared[-1].r_mm)
    assert found[beyond] == pytest.approx(more[-1])


def test_under_a_torque_what_spokes_are_bent_by_across_is_missing_where_the_section_shows_less() -> None:
    """Beams alone give their stress at hub and rim, beside a section that shows nothing; none beside more."""
    spoke, points = both()[2], body().mesh.points
    turned = twisted_spokes(spoke, METALS[0], 2.0e6)
    none = np.zeros(len(points))
    found = turned_missing_mpa(body(), none, spoke, turned)
    spoked = body().smear.metal(points) < 1.0 - 1e-12
    assert (found[~spoked] == 0.0).all()
    # One way at the hub, the other way at the rim, straight between: the force has one lever.
    section = spoke.depth * spoke.width**2 / 6.0
    ends = turned.root_mpa[0] * section[0], -turned.root_mpa[1] * section[-1]
    moment = ends[0] + (ends[1] - ends[0]) * (spoke.r - spoke.r[0]) / (spoke.r[-1] - spoke.r[0])
    nominal = np.interp(points[spoked, 1], spoke.r, np.abs(moment) / section)
    assert found[spoked] == pytest.approx(nominal, abs=1e-6 * max(turned.root_mpa))
    half = turned_missing_mpa(body(), none + max(turned.root_mpa) / 2.0, spoke, turned)
    assert half.max() == pytest.approx(found.max() - max(turned.root_mpa) / 2.0)
    assert turned_missing_mpa(body(), none + 2.0 * max(turned.root_mpa), spoke, turned).max() == 0.0


def test_a_share_of_the_moment_is_that_share_of_all_that_spokes_carry() -> None:
    """Solved anew under twice the moment, against twice of what is carried of the moment; 1e-9."""
    made = [
        carried(outline().path, both()[2], body(), bent(k), Clamp.INNER_FLANGE, k * MOMENT)
        for k in (1.0, 2.0)
    ]
    once, twice = made[0].times(2.0), made[1]
    for half, whole in zip(once.sums, twice.sums, strict=True):
        for model in ("section", "beams"):
            got, asked = getattr(half, model).moment_nmm, getattr(whole, model).moment_nmm
            assert got == pytest.approx(asked, rel=1e-9)
            assert asked == pytest.approx(2.0 * MOMENT, rel=1e-8)
    for a, b in zip((*once.smeared, *once.beams), (*twice.smeared, *twice.beams), strict=True):
        figures = (a.axial_n, a.radial_n, a.moment_nmm, a.bending_mpa, a.shear_mpa)
        assert figures == pytest.approx(
            (b.axial_n, b.radial_n, b.moment_nmm, b.bending_mpa, b.shear_mpa), rel=1e-9
        )


def test_a_life_that_moves_with_the_mesh_is_not_called_converged() -> None:
    """1 % less stress on the coarser mesh is converged as a stress; its life is a tenth longer, and said."""
    row = rows(coarse=0.99)[Zone.SPOKE_FACE]
    assert row.converged
    assert not row.life_converged
    now, before = row.levels[0].life.mean, row.lives_before[0]
    assert now is not None
    assert before is not None
    assert 1.07 < before / now < 1.15
    assert f"life moves: {cycles_words(before)} \u2192 {cycles_words(now)}" in row.note
    still = rows()[Zone.SPOKE_FACE]
    assert still.life_converged
    assert "life moves" not in still.note
    # A life beyond the data is a bound on either mesh.
    assert rows(coarse=0.99)[Zone.BORE].life_converged
    # A life that one mesh alone has is none that is converged.
    assert not replace(still, lives_before=(None, None)).life_converged


def test_what_a_spoke_carries_is_marked_where_it_moves_with_the_mesh() -> None:
    """2 % and more than what is printed: marked; 1 %, or 20 N mm, are not."""
    smeared, beams, _ = both()
    none = Total(0.0, 0.0, 0.0, 0.0)
    sums = (Sum("hub", 80.0, none, none, 200.0, 0.0), Sum("rim", 200.0, none, none, 200.0, 0.0))
    one = replace(beams.roots[0], axial_n=-5000.0, radial_n=-1000.0, moment_nmm=-1000.0, bending_mpa=90.0)
    other = replace(one, axial_n=-4950.0, radial_n=-980.0, moment_nmm=-980.0, bending_mpa=88.0)
    fine, coarse = (Carried(smeared[:1], (root,), sums) for root in (one, other))
    found = fine.marked(coarse, 0.015)
    assert set(found.beams[0].moving) & {"axial_n", "radial_n", "moment_nmm", "bending_mpa"} == {
        "radial_n",
        "bending_mpa",
    }
    assert found.smeared[0].moving == ()
    assert root_figure(found.beams[0], "radial_n") == "≈ -1000"
    assert root_figure(found.beams[0], "axial_n") == "-5000"
