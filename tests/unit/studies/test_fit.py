"""A project's wheel held against its parts: frames, missing parts, faults of parts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.project import Material, Project
from app.project.wheel import Fixing, RingBody, SizeCode, Spokes, Wheel
from app.studies.fit import Measured, hold, measure_wheel
from geometry.readings.measure import GapRow, Held, Measurements
from geometry.readings.rules import GapRule, RuleSet
from geometry.shape.blank import Blank
from geometry.shape.outline import Corner, NamedOutline, StayOut
from geometry.shape.section import Vertex, Zone

ROWS = (
    (90.0, 206.0, Zone.WELL),
    (-100.0, 206.0, Zone.INNER_LIP),
    (-100.0, 200.0, Zone.BARREL),
    (60.0, 200.0, Zone.SPOKE_BACK),
    (60.0, 80.0, Zone.SPOKE_BACK),
    (0.0, 80.0, Zone.HUB_PAD),
    (0.0, 40.0, Zone.BORE),
    (90.0, 40.0, Zone.SPOKE_FACE),
)


def box(z0: float, z1: float, r0: float, r1: float) -> tuple[Corner, ...]:
    return (Corner(z0, r0), Corner(z1, r0), Corner(z1, r1), Corner(z0, r1))


WHEEL = Wheel(
    "W",
    SizeCode(16, 6),
    20.0,
    tuple(Vertex(z, r, zone=zone) for z, r, zone in ROWS),
    fixing=None,
    clears=("S",),
    rules="R",
    blank="B",
    seat_mm=-3.0,
)
PROJECT = Project(
    "P",
    wheels=(WHEEL,),
    blanks=(Blank("B", box(-110.0, 100.0, 0.0, 220.0)),),
    shapes=(StayOut("S", (NamedOutline("straight", box(-60.0, 50.0, 120.0, 190.0)),)),),
    rule_sets=(RuleSet("R", gap=(GapRule(3.0, 0.5, 0.5),)),),
    materials=(Material("6061-T6"),),
)


def readings(wheel: Wheel, project: Project = PROJECT) -> Measurements:
    measured = measure_wheel(project, wheel)
    assert measured.measurements is not None, measured.faults
    return measured.measurements


def gap(found: Measurements, zone: str) -> GapRow:
    return next(r for r in found.gap if r.zone == zone and not r.body)


def test_a_spacer_moves_the_wheel_outboard_and_the_shape_stands_still() -> None:
    bare, spaced = readings(WHEEL), readings(replace(WHEEL, spacer_mm=5.0))
    assert gap(bare, "spoke back").least_mm == pytest.approx(10.0)
    assert gap(spaced, "spoke back").least_mm == pytest.approx(15.0)
    assert gap(spaced, "spoke back").at_wheel[0] == pytest.approx(65.0)
    assert gap(spaced, "barrel").least_mm == pytest.approx(gap(bare, "barrel").least_mm)


def test_the_blank_goes_with_the_wheel() -> None:
    bare, spaced = readings(WHEEL), readings(replace(WHEEL, spacer_mm=5.0))
    assert [r.least_mm for r in spaced.stock] == pytest.approx([r.least_mm for r in bare.stock])
    face = next(r for r in bare.stock if r.zone == "spoke face")
    assert face.least_mm == pytest.approx(100.0 - 3.0 - 90.0)  # blank's end less the seat less the face


def test_mass_is_the_same_on_a_spacer_and_the_centre_moves_with_it() -> None:
    wheel = replace(
        WHEEL,
        fixing=Fixing(count=5, circle_mm=120.0, hole_mm=15.0, socket_mm=27.0, seat_land_mm=13.0),
        spokes=Spokes(5, ((80.0, 30.0), (200.0, 40.0)), 85.0, (55.0, 180.0), (95.0, 180.0)),
    )
    bare, spaced = readings(wheel).solid, readings(replace(wheel, spacer_mm=5.0)).solid
    assert spaced.mass_kg == pytest.approx(bare.mass_kg, rel=1e-12)
    assert spaced.centre_z_mm == pytest.approx(bare.centre_z_mm + 5.0)
    assert spaced.polar_kg_mm2 == pytest.approx(bare.polar_kg_mm2, rel=1e-12)


def test_ring_bodies_turn_with_the_wheel() -> None:
    wheel = replace(WHEEL, rings=(RingBody("band", -30.0, -10.0, 195.5, 200.0),), spacer_mm=5.0)
    ring = next(r for r in readings(wheel).gap if r.body == "band")
    assert ring.least_mm == pytest.approx(5.5)
    # The band spans z -30..-10 and is nearest over its whole width: its ends move by the spacer.
    assert -25.0 <= ring.at_wheel[0] <= -5.0
    edge = replace(wheel, rings=(RingBody("band", 55.0, 58.0, 150.0, 160.0),))
    moved = next(r for r in readings(edge).gap if r.body == "band")
    still = next(r for r in readings(replace(edge, spacer_mm=0.0)).gap if r.body == "band")
    assert moved.least_mm == pytest.approx(still.least_mm + 5.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"clears": ("gone",)}, "stay-out shape 'gone'"),
        ({"blank": "gone"}, "blank 'gone'"),
        ({"rules": "gone"}, "rule set 'gone'"),
        ({"material": "gone"}, "material 'gone'"),
    ],
)
def test_a_missing_part_is_a_fault_that_names_it(change: dict[str, object], words: str) -> None:
    measured = measure_wheel(PROJECT, replace(WHEEL, **change))  # type: ignore[arg-type]
    assert measured.measurements is None
    assert words in measured.faults[0].message


def test_a_shape_that_crosses_itself_is_a_fault_that_names_it() -> None:
    bow = (Corner(0.0, 100.0), Corner(20.0, 100.0), Corner(0.0, 120.0), Corner(20.0, 120.0))
    project = replace(PROJECT, shapes=(StayOut("S", (NamedOutline("straight", bow),)),))
    measured = measure_wheel(project, WHEEL)
    assert measured == Measured(None, measured.faults, None)
    assert "stay-out shape 'S'" in measured.faults[0].message
    assert measured.faults[0].place is not None


def test_a_wheel_that_crosses_itself_has_faults_and_no_reading() -> None:
    vertices = list(WHEEL.vertices)
    vertices[3] = Vertex(60.0, 230.0, zone=Zone.SPOKE_BACK)
    measured = measure_wheel(PROJECT, replace(WHEEL, vertices=tuple(vertices), spacer_mm=2.0))
    assert measured.outline is None
    assert measured.measurements is None
    assert measured.faults[0].place is not None


def test_spoke_cuts_that_miss_are_a_fault() -> None:
    spokes = Spokes(5, ((80.0, 30.0),), 85.0, (70.0, 180.0), (75.0, 180.0))
    measured = measure_wheel(PROJECT, replace(WHEEL, spokes=spokes))
    assert measured.measurements is None
    assert "cut from shoulder to outer lip root" in measured.faults[0].message


def test_what_a_wheel_is_held_against() -> None:
    held = hold(PROJECT, WHEEL)
    assert isinstance(held, Held)
    assert held.blank is not None
    assert held.blank.bounds[:2] == pytest.approx((-113.0, 97.0))
    assert held.density_kg_m3 == 2712.6
