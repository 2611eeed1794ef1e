"""Constraints of a wheel through edits: held, refused, dropped, beside what formulas drive."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from app.project.constraining import NotHeldError, is_held, states
from app.project.holding import held
from app.project.project import Project
from app.project.wheel import Wheel
from geometry.shape.held import Constraint, Drive, Driven, Hold, Parameter
from geometry.shape.section import Vertex
from tests.support import example

#: Two vertices of the spoke back, as numbered in the table.
A, B = 40, 41


def project(*constraints: Constraint, parameters: tuple[Parameter, ...] = ()) -> Project:
    start = example.project()
    wheel = replace(start.wheels[0], constraints=constraints, parameters=parameters)
    return held(start, replace(start, wheels=(wheel,))).project


def place(of: Project, number: int) -> tuple[float, float]:
    v = of.wheels[0].section.vertices[number - 1]
    return v.z, v.r


def moved(of: Project, number: int, dz: float, dr: float) -> Project:
    section = of.wheels[0].section
    vertices = list(section.vertices)
    vertices[number - 1] = vertices[number - 1].moved(dz, dr)
    return replace(of, wheels=(of.wheels[0].with_section(replace(section, vertices=tuple(vertices))),))


def wheel(of: Project) -> Wheel:
    return of.wheels[0]


def test_the_rest_follows_what_is_moved() -> None:
    start = project(Constraint(Hold.VERTICAL, (A, B)))
    assert place(start, A)[0] == pytest.approx(place(start, B)[0], abs=1e-7)
    found = held(start, moved(start, B, 3.0, 1.0))
    z, r = place(start, B)
    assert place(found.project, B) == (z + 3.0, r + 1.0)
    assert place(found.project, A) == pytest.approx((z + 3.0, place(start, A)[1]), abs=1e-7)
    assert found.said == ()
    assert all(is_held(s) for s in states(found.project, wheel(found.project)))


def test_an_edit_elsewhere_leaves_what_is_held_to_the_last_bit() -> None:
    start = project(Constraint(Hold.DISTANCE, (A, B), 20.0))
    found = held(start, moved(start, B + 3, 0.5, 0.5))
    assert place(found.project, A) == place(start, A)
    assert place(found.project, B) == place(start, B)


def test_what_is_locked_does_not_follow_and_what_is_typed_is_refused() -> None:
    locked = wheel(example.project()).section.locked
    (z0, r0), (z1, r1) = place(example.project(), locked), place(example.project(), B)
    far = math.hypot(z1 - z0, r1 - r0)
    start = project(Constraint(Hold.DISTANCE, (locked, B), far))
    raw = moved(start, B, 4.0, 4.0)
    found = held(start, raw)
    assert math.dist(place(found.project, locked), place(found.project, B)) == pytest.approx(far, abs=1e-7)
    assert place(found.project, locked) == (z0, r0)
    assert "from where it was put" in found.said[0]
    with pytest.raises(NotHeldError, match="could not be held there"):
        held(start, raw, exact=True)


def test_a_conflict_names_its_constraints() -> None:
    z = place(example.project(), B)[0] - place(example.project(), A)[0]
    both = (Constraint(Hold.ALONG_Z, (A, B), z), Constraint(Hold.ALONG_Z, (A, B), z + 1.0))
    with pytest.raises(NotHeldError, match="cannot be held together there: distance along z"):
        project(*both)


def test_what_a_formula_drives_is_fixed_and_a_driven_wall_is_held_with_the_rest() -> None:
    drive = Parameter("back", "51", drives=(Drive(Driven.Z, (B,)),))
    start = project(Constraint(Hold.VERTICAL, (A, B)), parameters=(drive,))
    assert place(start, B)[0] == 51.0
    assert place(start, A)[0] == pytest.approx(51.0, abs=1e-7)
    found = held(start, moved(start, A, 5.0, 1.0))
    assert place(found.project, A)[0] == pytest.approx(51.0, abs=1e-7)
    wall = Parameter("wall", "17", drives=(Drive(Driven.WALL, (A, B)),))
    start = project(Constraint(Hold.VERTICAL, (A, B)), parameters=(wall,))
    assert math.dist(place(start, A), place(start, B)) == pytest.approx(17.0, abs=1e-7)
    assert place(start, A)[0] == pytest.approx(place(start, B)[0], abs=1e-7)


def test_a_deleted_vertex_takes_its_constraints_along_and_numbers_follow() -> None:
    start = project(Constraint(Hold.DISTANCE, (A, B), 20.0), Constraint(Hold.VERTICAL, (B + 1, B + 2)))
    section = wheel(start).section
    vertices: tuple[Vertex, ...] = (*section.vertices[: A - 1], *section.vertices[A:])
    gone = replace(start, wheels=(wheel(start).with_section(replace(section, vertices=vertices)),))
    found = held(start, gone)
    assert [c.vertices for c in wheel(found.project).constraints] == [(B, B + 1)]
    assert "Dropped" in found.said[0]
    assert f"distance 20 mm, vertices {A} and {B}" in found.said[0]


def test_an_arc_that_was_made_straight_lets_its_radius_go() -> None:
    start = example.project()
    section = wheel(start).section
    bent = list(section.vertices)
    bent[A - 1] = replace(bent[A - 1], bulge=0.1)
    arc = replace(start, wheels=(wheel(start).with_section(replace(section, vertices=tuple(bent))),))
    radius = Constraint(Hold.RADIUS, (A, B), 60.0)
    start = held(arc, replace(arc, wheels=(replace(wheel(arc), constraints=(radius,)),))).project
    assert all(is_held(s) for s in states(start, wheel(start)))
    straight = replace(start, wheels=(replace(wheel(example.project()), constraints=(radius,)),))
    found = held(start, straight)
    assert wheel(found.project).constraints == ()
    assert "no arc" in found.said[0]


def test_a_shape_that_comes_nearer_pushes_what_is_held_clear_of_it() -> None:
    shape = example.CALIPER
    start = project(Constraint(Hold.CLEAR, (B,), 1.0, shape))
    old = next(s for s in start.shapes if s.name == shape)

    def pushed(dz: float) -> Project:
        corners = tuple(replace(c, z=c.z + dz) for c in old.outlines[0].corners)
        new = replace(old, outlines=(replace(old.outlines[0], corners=corners), *old.outlines[1:]))
        return replace(start, shapes=tuple(new if s is old else s for s in start.shapes))

    found = held(start, pushed(12.0)).project
    assert all(is_held(s) for s in states(found, wheel(found)))
    assert place(found, B) != place(start, B)
