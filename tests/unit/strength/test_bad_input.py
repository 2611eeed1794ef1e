"""What is no wheel, load, data or mesh is refused or marked with words, never answered with a number."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.section import Outline, Section, Vertex, Zone, build
from geometry.strength.constants import constants_of
from geometry.strength.harmonic import Pattern, at_angles, parts_of
from geometry.strength.life import Factors, cycle_of, life, stress_for
from geometry.strength.loads import Clamp, Tyre, bending, check_tyre, cornering, impact_13, inflation, rolling
from geometry.strength.mesh import mesh_of
from geometry.strength.metals import METALS, SN_6061, row_for
from geometry.strength.rim_loads import flange_load, inflated, lip_load, seat_load
from geometry.strength.sizes import PREVIEW
from geometry.strength.wheel import Body, bent, body_of, body_on
from tests.support.example import wheel
from tests.unit.strength.test_blocks import block, held
from tests.unit.strength.test_elements import LAW
from tests.unit.strength.test_wheel import body, outline, pattern

TYRE = Tyre(317.08, 305.0, 653.2)
Change = Callable[[Vertex], Vertex]


def changed(change: Change) -> Body:
    """The example wheel with every vertex changed, on the mesh of the shape that this gives."""
    section = wheel().section
    found = build(Section(tuple(map(change, section.vertices)), section.locked))
    assert isinstance(found, Outline)
    return body_of(found, METALS[0], None, PREVIEW)


def without(zone: Zone) -> Body:
    """The example wheel with a zone named otherwise."""
    was = body(spoked=False)
    shape = outline()
    zones = shape.zone.copy()
    zones[zones == list(Zone).index(zone)] = list(Zone).index(Zone.HUB_FACE)
    return body_on(was.mesh, replace(shape, zone=zones), was.metal, None)


def test_section_whose_hub_pad_is_not_at_zero() -> None:
    off = changed(lambda v: v.moved(0.5))
    with pytest.raises(GeometryError, match="no hub pad at z = 0"):
        off.held(Clamp.HUB_PAD)


def test_section_without_a_hub_pad() -> None:
    for clamp in Clamp:
        with pytest.raises(GeometryError, match=r"no hub pad at z = 0.*draw a flat"):
            without(Zone.HUB_PAD).pattern(clamp)


@pytest.mark.parametrize(
    ("zone", "clamp"), [(Zone.INNER_LIP, Clamp.INNER_FLANGE), (Zone.OUTER_LIP, Clamp.OUTER_FLANGE)]
)
def test_section_without_the_flange_that_a_test_clamps(zone: Zone, clamp: Clamp) -> None:
    with pytest.raises(GeometryError, match=f"no {zone}"):
        without(zone).pattern(clamp)
    with pytest.raises(GeometryError, match=f"no {zone} on the tyre side"):
        flange_load(without(zone), zone, 1000.0, 40.0)
    with pytest.raises(GeometryError, match=f"no {zone}"):
        lip_load(without(zone), zone, (0.0, 1000.0), 10.0)


def test_section_without_a_seat() -> None:
    with pytest.raises(GeometryError, match=r"no inner seat on the tyre side.*nothing to act on"):
        seat_load(without(Zone.INNER_SEAT), 1e4, 40.0)


@pytest.mark.parametrize("load_kg", [0.0, -690.0, math.nan, math.inf])
def test_wheel_load_that_is_none(load_kg: float) -> None:
    loads: tuple[Callable[[], object], ...] = (
        lambda: bending("R124 bending", load_kg, TYRE, 35.0),
        lambda: rolling("R124 rolling", load_kg),
        lambda: cornering(load_kg, TYRE, 35.0),
        lambda: impact_13(load_kg),
    )
    for load in loads:
        with pytest.raises(GeometryError, match=r"wheel load is .* kg; the tests need one above zero"):
            load()


@pytest.mark.parametrize(
    "tyre", [Tyre(240.0, 305.0, 653.2), Tyre(317.0, 230.0, 653.2), Tyre(317.0, 305.0, 490.0)]
)
def test_tyre_smaller_than_the_rim(tyre: Tyre) -> None:
    with pytest.raises(GeometryError, match=r"smaller than the rim.*check the tyre size"):
        check_tyre(tyre, 248.5)
    check_tyre(TYRE, 248.5)


@pytest.mark.parametrize(
    "tyre",
    [
        Tyre(math.nan, 305.0, 653.2),
        Tyre(317.0, math.nan, 653.2),
        Tyre(317.0, 305.0, math.nan),
    ],
)
def test_tyre_that_is_not_a_number(tyre: Tyre) -> None:
    with pytest.raises(GeometryError):
        check_tyre(tyre, 248.5)


@pytest.mark.parametrize("inset_mm", [-300.0, math.nan])
def test_inset_that_leaves_no_moment(inset_mm: float) -> None:
    with pytest.raises(GeometryError, match="moment"):
        bending("R124 bending", 690.0, TYRE, inset_mm)


@pytest.mark.parametrize("force_n", [math.nan, math.inf])
def test_force_that_is_not_a_number(force_n: float) -> None:
    with pytest.raises(GeometryError, match="force on the wheel is not a number"):
        seat_load(body(), force_n, 40.0)


@pytest.mark.parametrize("moment_nmm", [math.nan, math.inf])
def test_moment_that_is_not_a_number(moment_nmm: float) -> None:
    with pytest.raises(GeometryError, match="moment on the hub pad is not a number"):
        bent(body(), moment_nmm, pattern(Clamp.INNER_FLANGE))


@pytest.mark.parametrize("outside_mm", [0.0, 460.0, math.nan])
def test_inflated_tyre_within_its_flange(outside_mm: float) -> None:
    with pytest.raises(GeometryError, match="tyre"):
        inflated(body(), 0.45, outside_mm)


@pytest.mark.parametrize("half_deg", [0.0, -5.0, 0.01, 200.0, math.nan])
def test_contact_arc_that_is_none(half_deg: float) -> None:
    loads: tuple[Callable[[], object], ...] = (
        lambda: seat_load(body(), 1e4, half_deg),
        lambda: lip_load(body(), Zone.INNER_LIP, (0.0, 1e3), half_deg),
        lambda: flange_load(body(), Zone.INNER_LIP, 1e3, half_deg),
    )
    for load in loads:
        with pytest.raises(GeometryError, match="arc"):
            load()


def test_moment_with_nothing_to_act_against() -> None:
    with pytest.raises(GeometryError, match="nothing to act against"):
        bent(body(), 1e6, pattern(Clamp.HUB_PAD))


@pytest.mark.parametrize("own", [{"S": 0.0}, {"S": -1.0}, {"mu": math.nan}, {"S": math.inf}, {"theta": 40.0}])
def test_constants_of_the_users_own(own: dict[str, float]) -> None:
    with pytest.raises(GeometryError, match="R124 bending"):
        bending("R124 bending", 690.0, TYRE, 35.0, own)


def test_a_constant_of_ones_own_says_so() -> None:
    found = constants_of("R124 bending", {"S": 1.8})["S"]
    assert (found.value, found.source) == (1.8, "the user's own")
    assert constants_of("R124 bending")["S"].value == 2.0
    assert inflation({"p": 0.0}).pressure_mpa == 0.0


@pytest.mark.parametrize("ratio", [0.7, 0.51, -1.01, -3.0])
def test_stress_ratio_outside_the_data(ratio: float) -> None:
    """S1, figure 3.6.2.2.8 holds data from R -1 to 0.5."""
    found = life(SN_6061, 150.0, ratio)
    assert (found.mean, found.lower) == (None, None)
    assert f"stress ratio {ratio:.2f} is outside the data (-1 to 0.5)" in found.note
    with pytest.raises(GeometryError, match="outside the data"):
        stress_for(SN_6061, 1e6, ratio)


@pytest.mark.parametrize("cycles", [5e8, 1.01e8, 999.0, 0.0, math.nan])
def test_life_that_the_data_do_not_hold(cycles: float) -> None:
    """Rotating-beam endurance at 5e8 is another test, and the equation's note forbids the reach."""
    with pytest.raises(GeometryError, match=r"outside the data of the curve.*another test"):
        stress_for(SN_6061, cycles, -1.0)


def test_stress_below_the_data_is_a_bound_that_says_so() -> None:
    found = life(SN_6061, 20.0, -1.0)
    assert found.mean == 1e8
    assert "beyond the data: at least 1.0e8" in found.note


def test_stress_above_the_data_has_no_life() -> None:
    found = life(SN_6061, 400.0, -1.0)
    assert (found.mean, found.lower) == (None, None)
    assert "shorter than the data" in found.note


@pytest.mark.parametrize(
    ("stress", "ratio"), [(math.nan, 0.0), (math.inf, -1.0), (100.0, math.nan), (100.0, 1.0), (100.0, 2.0)]
)
def test_a_cycle_that_is_none(stress: float, ratio: float) -> None:
    with pytest.raises(GeometryError, match="is no cycle"):
        life(SN_6061, stress, ratio)


@pytest.mark.parametrize("factor", [0.0, -0.5, 1.01, math.nan])
def test_a_factor_that_is_none(factor: float) -> None:
    for name in ("surface", "size", "forging", "temperature", "coating"):
        with pytest.raises(GeometryError, match=f"{name} factor"):
            life(SN_6061, 100.0, -1.0, Factors(**{name: factor}))


def test_cycles_in_one_direction() -> None:
    """Amplitude and mean of a pull by hand: reversed, from nothing, on a mean pull, on a mean push."""
    turn = np.radians(np.arange(0.0, 360.0, 10.0))
    for mean, amplitude in ((0.0, 100.0), (100.0, 100.0), (150.0, 50.0), (-50.0, 100.0)):
        stress = np.zeros((len(turn), 1, 6))
        stress[:, 0, 1] = mean + amplitude * np.cos(turn)
        greatest, ratio = cycle_of(stress)
        assert greatest[0] == pytest.approx(mean + amplitude)
        assert ratio[0] == pytest.approx((mean - amplitude) / (mean + amplitude))


def test_a_steady_shear_is_not_forgotten() -> None:
    """A mean of pure shear has no sign; it counts as a pull: 50 sqrt 3 with 10 on top."""
    stress = np.zeros((4, 1, 6))
    stress[:, 0, 5], stress[:, 0, 1] = 50.0, [10.0, 0.0, -10.0, 0.0]
    greatest, _ = cycle_of(stress)
    assert greatest[0] == pytest.approx(50.0 * math.sqrt(3.0) + 10.0)


@pytest.mark.parametrize(
    ("name", "thick_mm", "rows_end_in"),
    [("2014-T6", 200.0, 4.0), ("6061-T6", 300.0, 8.0), ("7075-T73", 200.0, 5.0), ("ZK60A-T5", 90.0, 3.0)],
)
def test_metal_thicker_than_its_rows(name: str, thick_mm: float, rows_end_in: float) -> None:
    """S1's rows end at 4, 8, 5 and 3 in; a thicker forging is weaker: the row says how far it holds."""
    found = row_for(name, thick_mm)
    assert found is not None
    assert found.thickest_mm == pytest.approx(25.4 * rows_end_in)
    assert found.thickest_mm < thick_mm


def test_nothing_held_and_all_held() -> None:
    mesh = block((0.0, 10.0), (30.0, 40.0), (1, 1))
    everything = held(mesh, np.arange(len(mesh.points)))
    for flags in (~everything, everything):
        with pytest.raises(GeometryError, match="clamped face"):
            Pattern(mesh.triangles, len(mesh.points), flags)


def test_loose_metal_is_not_answered_with_nan() -> None:
    mesh = block((0.0, 10.0), (30.0, 40.0), (1, 1))
    one = held(mesh, np.array([0]))
    parts = parts_of(mesh, LAW * math.nan)
    with pytest.raises(GeometryError, match="not finite"):
        Pattern(mesh.triangles, len(mesh.points), one).solve(parts, {2: np.ones((len(mesh.points), 3))})


def test_no_harmonic() -> None:
    with pytest.raises(GeometryError, match="No harmonic"):
        at_angles({}, np.zeros(1))


@pytest.mark.parametrize("tip", [0.02, 0.3, 1.0])
def test_sliver_of_metal_is_refused_with_its_place(tip: float) -> None:
    """A wedge of a few degrees cannot be meshed with corners of 8: the tip is named."""
    wedge = Path.closed([(0.0, 100.0), (60.0, 100.0), (0.0, 100.0 + tip)])
    with pytest.raises(GeometryError) as found:
        mesh_of(wedge, PREVIEW)
    assert found.value.place is not None
    z, r = found.value.place
    assert -1.0 <= z <= 61.0
    assert 99.0 <= r <= 102.0
