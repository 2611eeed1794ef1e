"""Published numbers of metals, fatigue curves and wheel tests; sources beside each.

S1 is MIL-HDBK-5J (31 January 2003), read in a public text copy. Its tables are in ksi, here MPA_PER_KSI
is taken from the definition: 1 lbf = 4.4482216152605 N, 1 in = 25.4 mm (exact by convention).
"""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest

from geometry.strength.life import Factors, life, stress_for
from geometry.strength.loads import (
    R124_STEEL_CYCLES,
    Clamp,
    Kind,
    TestLoad,
    Tyre,
    bending,
    impact_13,
    impact_90,
    revolutions,
    rolling,
    wheel_force_n,
)
from geometry.strength.metals import METALS, MPA_PER_KSI, SN_6061, Metal, metal, row_for

KSI = 1000.0 * 4.4482216152605 / 25.4**2
#: 690 kg on 245/40R18 with 35 mm of inset: dynamic radius 317.08, static 305, overall 653.2 mm.
LOAD_KG, INSET_MM, TYRE = 690.0, 35.0, Tyre(317.08, 305.0, 653.2)


def named(name: str) -> Metal:
    found = metal(name)
    assert found is not None
    return found


def test_ksi_is_the_pound_and_the_inch() -> None:
    assert pytest.approx(KSI, rel=1e-12) == MPA_PER_KSI
    assert pytest.approx(262.00, abs=0.01) == 38.0 * MPA_PER_KSI
    assert pytest.approx(241.32, abs=0.01) == 35.0 * MPA_PER_KSI


def test_least_values_of_the_die_forging() -> None:
    """S1, table 3.6.2.0(e), die forging up to 4 in: Ftu 38, Fty 35 ksi, el 7 %, E 9900 ksi, nu 0.33."""
    one = named("6061-T6 die forging")
    assert one.ultimate_mpa / KSI == pytest.approx(38.0, rel=1e-12)
    assert one.yield_mpa / KSI == pytest.approx(35.0, rel=1e-12)
    assert one.elastic_mpa / KSI == pytest.approx(9900.0, rel=1e-12)
    assert (one.elongation, one.poisson) == (7.0, 0.33)
    assert METALS[0] is one, "what a wheel has that names nothing else"


def test_density_in_kilograms_is_that_in_pounds() -> None:
    """0.098 lb/in3, 1 lb = 0.45359237 kg: 2712.63 kg/m3 (S1, table 3.6.2.0)."""
    assert pytest.approx(2712.63, abs=0.01) == 0.098 * 0.45359237 / 0.0254**3
    for one in METALS[:3]:
        assert one.density_kg_m3 == pytest.approx(2712.63, abs=0.01)


@pytest.mark.parametrize(
    ("asked", "thick_mm", "ultimate", "yielding"),
    [
        # S1, table 3.6.2.0(f): a hand forging of 6 in is of the row 4 to 8 in.
        ("6061-T6", 6 * 25.4, 37.0, 34.0),
        ("6061-T6", 4 * 25.4, 38.0, 35.0),
        ("6061-T6", 4.001 * 25.4, 37.0, 34.0),
        ("6061-T6", None, 38.0, 35.0),
        # S1, table 3.7.6.0(e2): 7075-T73 die forging of 4.5 in, S-basis.
        ("7075-T73", 4.5 * 25.4, 62.0, 53.0),
        ("7075-T73", 3.5 * 25.4, 64.0, 55.0),
    ],
)
def test_row_of_a_thickness(asked: str, thick_mm: float | None, ultimate: float, yielding: float) -> None:
    one = row_for(asked, thick_mm)
    assert one is not None
    assert one.ultimate_mpa / KSI == pytest.approx(ultimate, rel=1e-12)
    assert one.yield_mpa / KSI == pytest.approx(yielding, rel=1e-12)


def test_no_row_is_made_up() -> None:
    assert row_for("unobtainium") is None
    assert metal("6061") is None


@pytest.mark.parametrize(
    ("greatest_ksi", "ratio", "equivalent_ksi", "cycles"),
    [(25.0, -1.0, 38.689, 1.143e5), (40.0, 0.5, 25.847, 6.052e6)],
)
def test_life_of_6061(greatest_ksi: float, ratio: float, equivalent_ksi: float, cycles: float) -> None:
    """S1, figure 3.6.2.2.8: log N = 20.68 - 9.84 log Seq, Seq = Smax (1 - R)^0.63, in ksi; 0.1 %."""
    found = life(SN_6061, greatest_ksi * KSI, ratio)
    assert found.equivalent_mpa / KSI == pytest.approx(equivalent_ksi, rel=1e-3)
    assert found.mean == pytest.approx(cycles, rel=1e-3)
    assert found.note == ""


def test_stress_of_a_million_cycles() -> None:
    """The same curve the other way: N 1e6, R -1: 20.055 ksi = 138.27 MPa, 0.05 %; and there and back."""
    found = stress_for(SN_6061, 1e6, -1.0)
    assert found == pytest.approx(138.27, rel=5e-4)
    assert found / KSI == pytest.approx(20.055, rel=5e-4)
    assert life(SN_6061, found, -1.0).mean == pytest.approx(1e6, rel=1e-9)


@pytest.mark.parametrize(
    ("ratio", "greatest_ksi", "cycles"),
    [(-1.0, 20.488, 7.353e5), (-0.5, 27.532, 2.728e5), (0.0, 34.738, 3.257e5), (0.5, 42.239, 3.393e6)],
)
def test_points_of_the_figure(ratio: float, greatest_ksi: float, cycles: float) -> None:
    """Points digitised from S1, figure 3.6.2.2.8: within 0.05 in log10 N."""
    mean = life(SN_6061, greatest_ksi * KSI, ratio).mean
    assert mean is not None
    assert math.log10(mean) == pytest.approx(math.log10(cycles), abs=0.05)


def test_life_of_2014() -> None:
    """S1, figure 3.2.1.1.8(a): 30 ksi, R 0: log N = 21.49 - 9.44 log 30 = 7.5460, N 3.515e7; 0.2 %."""
    curve = named("2014-T6 die forging").sn
    assert curve is not None
    found = life(curve, 30.0 * KSI, 0.0)
    assert found.mean == pytest.approx(3.515e7, rel=2e-3)
    assert "not read" in found.note, "its ranges are taken from another metal, and that is said"


def test_life_of_7075_takes_its_offset_off() -> None:
    """S1, figure 3.7.6.1.8(a): log N = 18.22 - 7.77 log (Seq - 10.15); by hand at Seq 60 ksi, R 0."""
    curve = named("7075-T73 die forging").sn
    assert curve is not None
    assert life(curve, 60.0 * KSI, 0.0).mean == pytest.approx(
        10 ** (18.22 - 7.77 * math.log10(49.85)), rel=1e-9
    )
    assert life(curve, 10.0 * KSI, 0.0).mean == curve.lives[1], (
        "below the offset: the end of the data, no more"
    )
    assert stress_for(curve, 1e5, 0.0) / KSI == pytest.approx(10.15 + 10 ** ((18.22 - 5.0) / 7.77), rel=1e-9)


def test_lower_life_is_outlived_by_nineteen_in_twenty() -> None:
    """Standard error 0.48 of log10 N (S1); 95 % of a normal distribution lie above mean - 1.645 errors."""
    found = life(SN_6061, 25.0 * KSI, -1.0)
    assert found.mean is not None
    assert found.lower is not None
    assert math.log10(found.mean / found.lower) == pytest.approx(NormalDist().inv_cdf(0.95) * 0.48, rel=1e-3)


def test_stress_in_mpa_is_not_taken_for_ksi() -> None:
    """25 ksi is 172.4 MPa: 25 MPa lies far beyond the data, 172.4 ksi is shorter than they go."""
    assert "at least" in life(SN_6061, 25.0, -1.0).note
    assert life(SN_6061, 25.0 * KSI * KSI, -1.0).mean is None


def test_factors_divide_the_strength() -> None:
    """A specimen at 0.8 of its strength lives as a plain one at 1 / 0.8 of the stress."""
    worn = life(SN_6061, 100.0, -1.0, Factors(surface=0.8, size=0.9))
    assert worn.mean == life(SN_6061, 100.0 / 0.72, -1.0).mean
    assert worn.mean is not None
    assert worn.mean < 1e8


@pytest.mark.parametrize(
    ("test", "moment_nm"),
    [
        # UN R124: 2.0 x 6768.9 x (0.9 x 0.31708 + 0.035); S and mu from memory.
        ("R124 bending", 4337.1),
        # JWL: 1.5 (0.7 x 0.305 + 0.035); constants from memory.
        ("JWL bending", 2523.1),
        # SAE J328-2021, aluminium cast and forged, front S 2.0 and rear S 1.75, u 0.7 (summary).
        ("J328 bending front", 3364.1),
        ("J328 bending rear", 2943.6),
    ],
)
def test_bending_moment(test: str, moment_nm: float) -> None:
    found = bending(test, LOAD_KG, TYRE, INSET_MM)
    assert found.moment_nm == pytest.approx(moment_nm, abs=0.5)
    assert found.kind is Kind.BENDING
    assert found.clamp is Clamp.INNER_FLANGE, (
        "light alloy is clamped by a ring on the inner flange (secondary)"
    )
    assert wheel_force_n(LOAD_KG) == pytest.approx(6768.9, abs=0.05)


def test_levels_of_r124() -> None:
    """German guideline, light alloy M1: 75 % for 2.0e5, 50 % for 1.8e6; steel 6.0e4 and 6.0e5."""
    found = bending("R124 bending", LOAD_KG, TYRE, INSET_MM)
    assert found.levels == ((0.75, 2.0e5), (0.5, 1.8e6))
    assert found.moment_nm is not None
    assert [s * found.moment_nm for s, _ in found.levels] == pytest.approx([3252.8, 2168.6], abs=0.5)
    assert R124_STEEL_CYCLES == ((0.75, 6.0e4), (0.5, 6.0e5))


@pytest.mark.parametrize(
    ("test", "cycles"), [("J328 bending front", 5.0e4), ("J328 bending rear", 5.0e4), ("JWL bending", 1.0e5)]
)
def test_cycles_of_the_others(test: str, cycles: float) -> None:
    """SAE J328: at least 50,000 cycles; JWL: 100,000 revolutions (secondary)."""
    assert bending(test, LOAD_KG, TYRE, INSET_MM).levels == ((1.0, cycles),)


def test_the_moment_grows_with_inset() -> None:
    """By d of the formula: 10 mm more are S F x 10 mm."""
    low, high = (bending("R124 bending", LOAD_KG, TYRE, d).moment_nm for d in (25.0, 35.0))
    assert low is not None
    assert high is not None
    assert high - low == pytest.approx(2.0 * 6768.9 * 0.010, abs=0.01)


def test_rolling_load() -> None:
    """German guideline, M1, light alloy: S 2.5 -> 16,922 N over 2,000 km; 3.05 x 653.2 mm a turn."""
    found = rolling("R124 rolling", LOAD_KG)
    assert found.force_n == pytest.approx(16_922.0, abs=1.0)
    assert found.clamp is Clamp.HUB_PAD
    assert revolutions(2000.0, 3.05 * 653.2) == pytest.approx(2e9 / 1992.26, rel=1e-9)


@pytest.mark.parametrize(("load_kg", "striker_kg"), [(690.0, 594.0), (600.0, 540.0)])
def test_striker_of_the_13_degree_impact(load_kg: float, striker_kg: float) -> None:
    """SAE J175-2023, ISO 7141: D = 0.6 W + 180 kg, W in kg."""
    assert impact_13(load_kg).striker_kg == pytest.approx(striker_kg, abs=0.01)


def test_fall_of_the_13_degree_impact() -> None:
    """230 mm of free fall: 2.124 m/s; 594 kg bring 1340.2 J (g 9.81)."""
    found = impact_13(LOAD_KG)
    assert found.drop_mm == 230.0
    assert found.speed_m_s == pytest.approx(2.124, abs=0.001)
    assert found.energy_j == pytest.approx(1340.2, abs=0.5)


def test_radial_impact() -> None:
    """SAE J3203-2023: 175 kg from 0.4 m at least: 686.7 J, by m g h."""
    found = impact_90()
    assert found.energy_j == pytest.approx(175.0 * 9.81 * 0.4, rel=1e-12)
    assert found.striker_kg == pytest.approx(175.0, rel=0.02)


@pytest.mark.parametrize(
    "load",
    [
        bending("R124 bending", LOAD_KG, TYRE, INSET_MM),
        rolling("R124 rolling", LOAD_KG),
        impact_13(LOAD_KG),
        impact_90(),
    ],
    ids=lambda load: load.name,
)
def test_every_constant_shows_its_source(load: TestLoad) -> None:
    assert load.constants
    for symbol, constant in load.constants.items():
        assert constant.source
        assert f"{symbol} {constant.value:g} ({constant.source}, {constant.status})" in load.source
