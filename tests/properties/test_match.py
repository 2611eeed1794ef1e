"""Every wheel against every brake: what was left out can never have decided."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from app.project.project import Project
from app.project.wheel import Hub
from app.studies.fit import measure_wheel
from app.studies.match import as_csv, match
from app.studies.road import on_the_road
from geometry.readings.conditions import Conditions
from geometry.readings.rows import GapRow
from geometry.readings.rules import State, worst
from geometry.readings.stack import StackRow
from geometry.shape.outline import Corner, Motion, NamedOutline, ShapeKind
from tests.support.example import project

#: A hub of which everything is known, long enough for every spacer here.
LONG_HUB = Hub(72.0, 148.0, 1.5, 71.9, 40.0, 1.0, 160.0, 90.0, 14.0)


def random_project(rng: np.random.Generator, wheels: int, shapes: int, deepest_mm: float = 25.0) -> Project:
    """Return the example's wheel with random spacers, and its caliper moved at random, inwards so far."""
    whole = project()
    wheel, shape = replace(whole.wheels[0], hub=LONG_HUB), whole.shapes[0]
    rough = Conditions("rough", camber_deg=0.4, axial_run_out_mm=0.5, barrel_mm=0.3)
    made = tuple(
        replace(
            wheel, name=f"w{k}", spacer_mm=float(rng.uniform(0.0, 20.0)), conditions=("rough", "still")[k % 2]
        )
        for k in range(wheels)
    )
    still = Conditions("still", camber_deg=0.05, axial_run_out_mm=0.1, radial_run_out_mm=0.1)
    moved = []
    for k in range(shapes):
        dz, dr = rng.uniform(-12.0 - deepest_mm / 3.0 + 25.0 / 3.0, 6.0), rng.uniform(-deepest_mm, 6.0)
        outlines = tuple(
            NamedOutline(o.label, tuple(Corner(c.z + dz, c.r + dr, c.radius, c.bulge) for c in o.corners))
            for o in shape.outlines
        )
        moved.append(replace(shape, name=f"s{k}", outlines=outlines))
    return replace(whole, wheels=made, shapes=tuple(moved), conditions=(rough, still))


@pytest.mark.parametrize("wheels", [12, pytest.param(40, marks=pytest.mark.long)])
def test_pruned_equals_full_on_up_to_two_thousand_pairs(wheels: int) -> None:
    whole = random_project(np.random.default_rng(11), wheels, 50)
    pruned, full = match(whole), match(whole, pruned=False)
    assert len(pruned.pairs) == len(full.pairs) == 50 * wheels
    left_out = 0
    for one, other in zip(pruned.pairs, full.pairs, strict=True):
        assert one.state is other.state
        if not one.is_paper_only:
            assert one.spare_mm == other.spare_mm
            assert (one.zone, one.condition) == (other.zone, other.condition)
            continue
        # What was left out is labelled a bound, and is one.
        left_out += 1
        assert one.spare_mm is not None
        assert other.spare_mm is not None
        assert other.spare_mm <= one.spare_mm
    # Both kinds of pairs must be there for this to say anything.
    assert 100 < left_out < 1900
    assert len({pair.state for pair in full.pairs}) >= 3


def test_a_pair_says_what_the_section_says() -> None:
    """The state of a pair is the worst of the gap rows of the same wheel held against that brake alone."""
    whole = random_project(np.random.default_rng(12), 6, 6)
    for pair in match(whole, pruned=False).pairs:
        wheel = next(w for w in whole.wheels if w.name == pair.wheel)
        wheel = replace(wheel, clears=(pair.shape,), blank=None)
        measured = measure_wheel(whole, wheel)
        road = on_the_road(whole, wheel, measured)
        assert measured.measurements is not None
        assert road is not None
        rows = [(r.state, r.spare_mm) for r in measured.measurements.gap]
        rows += [(r.state, r.spare_mm) for r in road.rows]
        assert pair.state is worst([state or State.NOT_KNOWN for state, _ in rows])
        assert pair.spare_mm == min(spare for _, spare in rows if spare is not None)


def with_tyres(rng: np.random.Generator) -> Project:
    """Wheels with tyres against arms and a damper that stand near the tyre, inboard of it and under it."""
    whole = random_project(rng, 6, 3)
    wheels = tuple(
        replace(wheel, tyre=tyre, load_kg=load)
        for wheel, tyre, load in zip(
            whole.wheels,
            ("265/35R18 97Y", "265/35R18 97Y", "", "245/40R18 97Y", "265/35R18 80Y", "265/35R19 97Y"),
            (600.0, 600.0, 600.0, 600.0, 690.0, 600.0),
            strict=True,
        )
    )
    shape, bodies = whole.shapes[0], []
    for k, kind in enumerate((ShapeKind.ARM, ShapeKind.ARM, ShapeKind.DAMPER, ShapeKind.CALIPER)):
        z, r = float(rng.uniform(-240.0, -160.0)), float(rng.uniform(255.0, 290.0))
        corners = (Corner(z, r), Corner(z + 25.0, r), Corner(z + 25.0, r + 60.0), Corner(z, r + 60.0))
        outlines = (NamedOutline("straight", corners),)
        moved = replace(shape, name=f"body {k}", kind=kind, outlines=outlines, swept=True)
        motion = Motion.WITH_KNUCKLE if kind is ShapeKind.CALIPER else Motion.AGAINST_KNUCKLE
        bodies.append(replace(moved, motion=motion))
    return replace(whole, wheels=wheels, shapes=(*whole.shapes, *bodies))


@pytest.mark.parametrize("seed", [21, 22, 23])
def test_a_pair_counts_the_tyre_as_the_section_does(seed: int) -> None:
    whole = with_tyres(np.random.default_rng(seed))
    pruned = match(whole)
    seen = set()
    for pair, same in zip(match(whole, pruned=False).pairs, pruned.pairs, strict=True):
        wheel = next(w for w in whole.wheels if w.name == pair.wheel)
        wheel = replace(wheel, clears=(pair.shape,), blank=None)
        measured = measure_wheel(whole, wheel)
        road = on_the_road(whole, wheel, measured)
        assert measured.measurements is not None
        assert road is not None
        rows: list[GapRow | StackRow] = [*measured.measurements.gap, *road.rows]
        rows += [*road.tyre.rows, *road.tyre.worst]
        states = [row.state or State.NOT_KNOWN for row in rows] + list(road.tyre.states)
        # A caliper that lies wholly outside the wheel is asked about.
        if not measured.measurements.gap or any(
            "outside the wheel" in q for q in measured.measurements.questions
        ):
            states.append(State.NOT_KNOWN)
        assert pair.state is worst(states)
        assert same.state is pair.state
        if not same.is_paper_only and pair.state is not State.TOUCHING:
            assert same.spare_mm == pair.spare_mm
        spares = [row.spare_mm for row in rows if row.spare_mm is not None]
        assert pair.spare_mm == (min(spares) if spares else None)
        seen.add((pair.body, pair.state))
    assert any(body == "tyre" for body, _ in seen)


def test_all_cores_give_the_same() -> None:
    whole = random_project(np.random.default_rng(13), 4, 3)
    assert match(whole, cores=2) == match(whole)


def test_a_wheel_that_is_broken_off_is_left_out() -> None:
    whole = random_project(np.random.default_rng(15), 3, 2)
    asked: list[int] = []

    def stop_within_the_second() -> bool:
        asked.append(1)
        return len(asked) > 40

    found = match(whole, insets=True, cancelled=stop_within_the_second)
    assert len(found.pairs) < 6
    assert len(found.pairs) % 2 == 0


def test_it_can_be_cancelled() -> None:
    whole = random_project(np.random.default_rng(14), 5, 2)
    told: list[tuple[int, int]] = []

    def stop_at_two(done: int, of: int) -> bool:
        told.append((done, of))
        return done < 2

    found = match(whole, progress=stop_at_two)
    assert told == [(1, 5), (2, 5)]
    assert len(found.pairs) == 4


def test_a_missing_rule_set_or_condition_is_never_clear() -> None:
    whole = random_project(np.random.default_rng(15), 2, 3)
    no_rules = tuple(replace(w, rules=None) for w in whole.wheels)
    no_conditions = tuple(replace(w, conditions=None) for w in whole.wheels)
    for wheels in (no_rules, no_conditions):
        bare = replace(whole, wheels=wheels)
        states = {pair.state for pair in match(bare).pairs}
        assert states <= {State.NOT_KNOWN, State.TOUCHING, State.SHORT}
        assert all(pair.questions for pair in match(bare).pairs)


def test_the_table_for_others_names_every_pair() -> None:
    whole = random_project(np.random.default_rng(16), 2, 2)
    lines = as_csv(match(whole)).splitlines()
    assert lines[0].startswith("wheel,shape,state,spare_mm")
    assert [line.split(",")[:2] for line in lines[1:]] == [
        ["w0", "s0"],
        ["w0", "s1"],
        ["w1", "s0"],
        ["w1", "s1"],
    ]


def test_what_leaves_the_wheel_open_or_short_leaves_its_pairs_so() -> None:
    """Hub, drawn place and unit count in a pair as in the section: none of these may read clear."""
    whole = random_project(np.random.default_rng(12), 1, 6)
    wheel = whole.wheels[0]
    clear = [p for p in match(whole).pairs if p.state is State.CLEAR]
    assert clear
    names = [p.shape for p in clear]
    short = replace(whole, wheels=(replace(wheel, hub=replace(LONG_HUB, stud_length_mm=20.0)),))
    for pair in match(short, shapes=names).pairs:
        assert pair.state is State.SHORT
        assert pair.questions[0].startswith("Hub: ")
    unknown = replace(whole, wheels=(replace(wheel, fixing=None),))
    assert {p.state for p in match(unknown, shapes=names).pairs} == {State.NOT_KNOWN}
    inch = tuple(
        replace(
            s,
            outlines=tuple(
                NamedOutline(o.label, tuple(Corner(c.z / 25.4, c.r / 25.4) for c in o.corners))
                for o in s.outlines
            ),
        )
        for s in whole.shapes
    )
    for pair in match(replace(whole, shapes=inch), shapes=names).pairs:
        assert pair.state is State.NOT_KNOWN
        assert any("is its unit right" in q for q in pair.questions)
