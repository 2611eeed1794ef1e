"""Rows that a move leaves as they are: the same objects again, and never other than what is read anew."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace

import pytest

from app.project.exchange import exchanged
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.rows import AnyRow, rank, rows_of, worst_three
from app.studies.fit import measure_wheel
from geometry.readings.measure import Measurements
from geometry.shape.blank import Blank
from tests.support import example
from tests.support.anew import forget

MOVES = 60


def moved(wheel: Wheel, index: int, dz: float, dr: float) -> Wheel:
    """Return the wheel with one free vertex shifted."""
    v = wheel.vertices[index]
    vertices = [*wheel.vertices]
    vertices[index] = replace(v, z=v.z + dz, r=max(v.r + dr, 0.0))
    return replace(wheel, vertices=tuple(vertices))


def steps() -> Iterator[tuple[Project, Wheel]]:
    """Yield random moves of single vertices, small and large, under changes of all that rows rest on."""
    chance = random.Random(11)
    base = example.project()
    rules, caliper, blank = base.rule_sets[0], base.shapes[0], base.blanks[0]
    harder = replace(
        rules,
        gap=tuple(replace(g, reserve_mm=g.reserve_mm + 2.0) for g in rules.gap),
        wall=tuple(replace(w, required_mm=w.required_mm + 1.0) for w in rules.wall),
        stock=tuple(replace(s, reserve_mm=s.reserve_mm + 2.0) for s in rules.stock),
        seat_land_mm=9.0,
    )
    card = replace(caliper.card, error_mm=caliper.card.error_mm + 0.5)
    thicker: Blank = replace(blank, skin_mm=blank.skin_mm + 0.75)
    wheel = base.wheels[0]
    settings = (
        (base, wheel),
        (replace(base, rule_sets=(harder,)), wheel),
        (replace(base, rule_sets=(replace(rules, name="other"),)), replace(wheel, rules="other")),
        (replace(base, shapes=(replace(caliper, card=card), *base.shapes[1:])), wheel),
        (replace(base, blanks=(thicker, *base.blanks[1:])), wheel),
        (base, replace(wheel, rules=None)),
        (base, replace(wheel, spacer_mm=wheel.spacer_mm + 3.0)),
        (base, replace(wheel, hub=replace(wheel.hub, chamfer_mm=wheel.hub.chamfer_mm + 0.5))),
    )
    for _ in range(MOVES):
        project, of = chance.choice(settings)
        most = chance.choice((0.05, 0.5, 3.0, 20.0))
        index = chance.randrange(len(of.vertices))
        yield project, moved(of, index, chance.uniform(-most, most), chance.uniform(-most, most))


def test_what_is_kept_is_what_is_read_anew() -> None:
    """Each step in turn, then each on its own with nothing kept; words of the same number tell all digits."""
    warm = [measure_wheel(*step) for step in steps()]
    read = [found.measurements for found in warm]
    assert sum(found is not None for found in read) > MOVES / 2
    for step, found in zip(steps(), read, strict=True):
        forget()
        assert repr(measure_wheel(*step).measurements) == repr(found)


def test_rows_that_come_out_alike_are_the_same_objects() -> None:
    project = example.project()
    wheel = project.wheels[0]
    index = max(range(len(wheel.vertices)), key=lambda i: wheel.vertices[i].z)
    last: Measurements | None = None
    for k in range(6):
        found = measure_wheel(project, moved(wheel, index, 0.07 * k, -0.05 * k)).measurements
        assert found is not None
        if last is not None:
            before, after = rows_of(last), rows_of(found)
            alike = [(a, b) for a, b in zip(before, after, strict=True) if a == b]
            assert all(a is b for a, b in alike)
            assert len(before) > len(alike) > len(before) / 2, "a move of one vertex leaves most rows"
            assert found.hub is last.hub
        last = found


def test_the_worst_three_are_those_of_all_rows_ranked() -> None:
    chance = random.Random(3)
    for project, wheel in steps():
        found = measure_wheel(project, wheel).measurements
        if found is None:
            continue
        road: list[AnyRow] = chance.sample(rows_of(found), 2)
        for beside in ([], road):
            every = [row for row in (*rows_of(found), *beside) if row.state is not None]
            assert worst_three(found, beside) == sorted(every, key=rank)[:3]


def test_versions_share_the_vertices_of_one_contour() -> None:
    wheel = example.project().wheels[0]
    other = moved(wheel, 3, 1.0, 1.0)
    locked = wheel.section.locked
    assert locked
    for a, b in zip(wheel.section.vertices[:locked], other.section.vertices[:locked], strict=True):
        assert a is b


def test_exchanged_is_replace_and_leaves_what_was_worked_out() -> None:
    wheel = example.project().wheels[0]
    section = wheel.section
    vertices = (*wheel.vertices[:-1], replace(wheel.vertices[-1], z=1.0))
    other = exchanged(wheel, vertices=vertices, name="other")
    assert other == replace(wheel, vertices=vertices, name="other")
    assert vars(other) == vars(replace(wheel, vertices=vertices, name="other"))
    assert other.section.vertices[-1].z == 1.0
    assert wheel.section is section


def test_exchanged_takes_no_unknown_field_and_passes_by_no_check() -> None:
    wheel = example.project().wheels[0]
    with pytest.raises(TypeError, match="no field named vertizes"):
        exchanged(wheel, vertizes=())
    with pytest.raises(TypeError, match="Section is checked"):
        exchanged(wheel.section, vertices=())


#: In a process of its own, where nothing but the example was read: how much code touching and faults load.
_LOADED = """
import sys
from dataclasses import replace
from app.cli.prepare import load_rare
from app.studies.fit import measure_wheel
from numba.core.registry import CPUDispatcher
from tests.support import example

def loaded():
    values = [v for module in list(sys.modules.values()) for v in list(vars(module).values())]
    return sum(len(v.overloads) for v in {id(v): v for v in values if isinstance(v, CPUDispatcher)}.values())

project = example.project()
wheel = project.wheels[0]
assert measure_wheel(project, wheel).measurements is not None
load_rare()
before = loaded()
states = set()
for k, v in enumerate(wheel.vertices):
    for change in ({"r": v.r - 30.0}, {"z": v.z - 30.0}, {"radius": 40.0}):
        if v.r > 40.0:
            other = (*wheel.vertices[:k], replace(v, **change), *wheel.vertices[k + 1 :])
            found = measure_wheel(project, replace(wheel, vertices=other))
            states |= {f.kind for f in found.faults}
            if found.measurements is not None:
                states |= {row.state for row in found.measurements.gap}
assert {"touching", "radius does not fit", "radii overlap", "outline crosses itself"} <= states, states
print(loaded() - before)
"""


def test_neither_touching_nor_a_fault_loads_code_in_a_drag() -> None:
    done = subprocess.run([sys.executable, "-c", _LOADED], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "0"
