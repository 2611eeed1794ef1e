"""A false "clear" is the worst this program can do.

Each case is a change to a clear sample that must not stay clear. Each was once found to read clear; what it
does to a real wheel is plain from its name.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from app.project.project import Project
from app.project.wheel import Fixing, RingBody, SizeCode, Wheel
from app.studies.fit import measure_wheel
from geometry.readings.measure import Measurements
from geometry.readings.rules import GapRule, State
from geometry.shape.outline import Answer, Corner, Extent, Known, Motion, NamedOutline, ShapeKind
from geometry.shape.section import Vertex, Zone
from tests.support.make_samples import OWN, samples

PROJECT = samples()[OWN]
WHEEL, SHAPE, RULES = PROJECT.wheels[0], PROJECT.shapes[0], PROJECT.rule_sets[0]

Case = tuple[Project, Wheel]


def found(case: Case) -> Measurements:
    measured = measure_wheel(*case)
    assert measured.measurements is not None, measured.faults
    return measured.measurements


def with_wheel(**changes: object) -> Case:
    return PROJECT, replace(WHEEL, **changes)  # type: ignore[arg-type]


def with_shape(**changes: object) -> Case:
    return replace(PROJECT, shapes=(replace(SHAPE, **changes),)), WHEEL  # type: ignore[arg-type]


def with_rules(**changes: object) -> Case:
    return replace(PROJECT, rule_sets=(replace(RULES, **changes),)), WHEEL  # type: ignore[arg-type]


def with_hub(**changes: object) -> Case:
    return with_wheel(hub=replace(WHEEL.hub, **changes))  # type: ignore[arg-type]


def box(z0: float, z1: float, r0: float, r1: float) -> Case:
    corners = (Corner(z0, r0), Corner(z1, r0), Corner(z1, r1), Corner(z0, r1))
    return with_shape(outlines=(NamedOutline("straight", corners),))


def moved(change: Callable[[Vertex], Vertex]) -> Case:
    return with_wheel(vertices=tuple(change(v) for v in WHEEL.vertices))


def renamed(name: Callable[[Zone], Zone], case: Case = (PROJECT, WHEEL)) -> Case:
    project, wheel = case
    vertices = tuple(replace(v, zone=name(v.zone)) for v in WHEEL.section.vertices)
    return project, replace(wheel, rim=None, vertices=vertices)


HALF = Extent(z_low=0.0, z_high=46.0, ends_outboard=True, confirmed_by="test")
OPEN = replace(WHEEL.spokes, holds_envelope=None) if WHEEL.spokes is not None else None
BLANK_ANSWER = Answer(Known.ANSWERED, " ", "")

CASES: dict[str, Case] = {
    "only the outboard half of the brake was drawn": with_shape(extent=HALF),
    "the brake ends nobody knows where outboard": with_shape(
        extent=replace(SHAPE.extent, ends_outboard=False)
    ),
    "nobody confirmed the extent": with_shape(extent=replace(SHAPE.extent, confirmed_by=" ")),
    "an answer without words": with_shape(card=replace(SHAPE.card, unit=BLANK_ANSWER)),
    "nobody checked the datum": with_shape(card=replace(SHAPE.card, datum_checked_by=" ")),
    "a tie rod that steers with the wheel": with_shape(kind=ShapeKind.TIE_ROD, motion=Motion.WITH_KNUCKLE),
    "drawn in inches, taken for mm": box(-2.9, 1.8, 4.6, 8.0),
    "beyond the wheel": box(-50.0, 50.0, 300.0, 330.0),
    "a ring body in the unseen half": (
        with_shape(extent=HALF)[0],
        replace(WHEEL, rings=(RingBody("band", -120.0, -100.0, 201.0, 212.0),)),
    ),
    "a mounting face off its place": moved(
        lambda v: replace(v, z=2.9) if v.zone in (Zone.HUB_PAD, Zone.BORE) and v.z < 1.0 else v
    ),
    "a bore smaller than the spigot": moved(lambda v: replace(v, r=30.0) if v.r < 37.0 else v),
    "a bore twelve over the spigot": with_hub(spigot_mm=60.0),
    "a spigot nobody knows": with_hub(spigot_mm=None),
    "no fixing": with_wheel(fixing=None),
    "no bolts": with_wheel(
        fixing=replace(WHEEL.fixing, count=0) if isinstance(WHEEL.fixing, Fixing) else None
    ),
    "a seat above the metal": with_wheel(
        fixing=replace(WHEEL.fixing, seat_land_mm=60.0) if isinstance(WHEEL.fixing, Fixing) else None,
        hub=replace(WHEEL.hub, stud_length_mm=80.0),
    ),
    "a stud thicker than its hole": with_hub(thread_mm=20.0),
    "no gap rule for a caliper": with_rules(gap=(GapRule(4.0, 2.0, 0.5, ShapeKind.TIE_ROD),)),
    "no stock rule": with_rules(stock=()),
    "no wall rule": with_rules(wall=()),
    "no seat-land rule": with_rules(seat_land_mm=None),
    "of two rules alike the weaker stands first": with_rules(
        gap=(GapRule(3.0, 0.5, 0.7, ShapeKind.CALIPER), GapRule(3.0, 5.0, 0.7, ShapeKind.CALIPER))
    ),
    "ribs nobody spoke of": with_wheel(spokes=OPEN),
    "no spokes described": with_wheel(spokes=None),
    "spoke backs by another name": renamed(
        lambda z: Zone.SHOULDER if z is Zone.SPOKE_BACK else z, with_wheel(spokes=OPEN)
    ),
    "a part before the hub face": box(40.3, 50.0, 45.0, 60.0),
    "a part before the spoke face": box(74.3, 80.0, 150.0, 165.0),
    "an unlocked section of another size": renamed(lambda z: z, with_wheel(size=SizeCode(17, 8))),
    "an unlocked section of another inset": renamed(lambda z: z, with_wheel(inset_mm=70.0)),
    "a barrel by a hub's name": renamed(lambda z: Zone.HUB_FACE if z is Zone.BARREL else z),
    "a bore by another name": renamed(lambda z: Zone.HUB_FACE if z is Zone.BORE else z),
}


def test_the_sample_itself_is_clear() -> None:
    assert found((PROJECT, WHEEL)).state is State.CLEAR


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_no_false_clear(case: Case) -> None:
    assert found(case).state not in (State.CLEAR, State.TIGHT)
