"""Named parameters: reckoned one from the other, put into what they drive, kept through edits."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from app.project.holding import held, settled, with_settled
from app.project.numbering import followed
from app.project.parameters import applied, reckoned, released, renamed, wall_mm, with_parameter
from app.project.project import Project
from app.project.wheel import Wheel
from geometry.shape.held import Drive, Driven, Parameter
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex
from tests.support import example

#: A vertex of the spoke back, and those of the barrel's inside, numbered as in the table.
BACK = 41
SQUARE = tuple(Vertex(z, r) for z, r in ((0.0, 10.0), (20.0, 10.0), (20.0, 30.0), (0.0, 30.0)))


def wheel(*parameters: Parameter) -> Wheel:
    return replace(example.project().wheels[0], parameters=parameters)


def values(*parameters: Parameter) -> list[float | None]:
    return [row.value for row in reckoned(parameters)]


def errors(*parameters: Parameter) -> list[str]:
    return [row.error for row in reckoned(parameters)]


def test_parameters_are_reckoned_in_any_order() -> None:
    found = values(
        Parameter("total", "2 * lip + step"),
        Parameter("lip", "1/2", "in"),
        Parameter("step", "lip * cos(tilt) ^ 2"),
        Parameter("tilt", "60", "deg"),
        Parameter("n", "total / lip", ""),
    )
    assert found == [28.575, 12.7, 3.175, 60.0, 2.25]


def test_circles_are_named_with_their_path() -> None:
    said = errors(
        Parameter("a", "b + 1"), Parameter("b", "c"), Parameter("c", "2 * a"), Parameter("d", "a + 1"),
        Parameter("self", "self"), Parameter("free", "3"),
    )  # fmt: skip
    assert said[:3] == ["goes round in a circle: a → b → c → a"] * 3
    assert "a has no value" in said[3]
    assert said[4] == "goes round in a circle: self → self"
    assert said[5] == ""


def test_errors_stand_at_their_row_alone() -> None:
    said = errors(
        Parameter("a", "1 +"), Parameter("b", "a"), Parameter("A", "3"), Parameter("in", "3"),
        Parameter("ok", "2"), Parameter("near", "OK"),
    )  # fmt: skip
    assert "a value is missing" in said[0]
    assert "mend that first" in said[1]
    assert "already a parameter called a" in said[2]
    assert "unit or a function" in said[3]
    assert said[4] == ""
    assert "OK is written ok" in said[5]


def test_a_chain_of_a_hundred_is_reckoned_and_more_are_refused() -> None:
    chain = [Parameter("p0", "1"), *(Parameter(f"p{k}", f"p{k - 1} + 1") for k in range(1, 110))]
    rows = reckoned(chain)
    assert rows[99].value == 100.0
    assert "at most 100" in rows[100].error


def test_places_and_radii_are_driven() -> None:
    p = Parameter("x", "12.5", drives=(Drive(Driven.Z, (3,)), Drive(Driven.RADIUS, (2,))))
    q = Parameter("y", "2*x", drives=(Drive(Driven.R, (3,)),))
    vertices, wrong = applied(SQUARE, 0, (p, q))
    assert wrong == {}
    assert (vertices[2].z, vertices[2].r, vertices[1].radius) == (12.5, 25.0, 12.5)
    assert vertices[0] is SQUARE[0]


def test_a_wall_moves_its_far_end_along_the_line_or_its_edge_square_to_itself() -> None:
    between = Parameter("wall", "5", drives=(Drive(Driven.WALL, (1, 3)),))
    vertices, wrong = applied(SQUARE, 0, (between,))
    assert wrong == {}
    assert (vertices[2].z, vertices[2].r) == pytest.approx(
        (5 / math.sqrt(2), 10 + 5 / math.sqrt(2)), abs=1e-12
    )
    to_edge = Parameter("wall", "5", drives=(Drive(Driven.WALL, (1, 3, 4)),))
    vertices, wrong = applied(SQUARE, 0, (to_edge,))
    assert wrong == {}
    assert [(v.z, v.r) for v in vertices[2:]] == [(20.0, 15.0), (0.0, 15.0)]
    assert wall_mm(vertices, (1, 3, 4)) == 5.0


@pytest.mark.parametrize(
    ("parameters", "row", "says"),
    [
        ((Parameter("a", "3", "deg", drives=(Drive(Driven.Z, (1,)),)),), 0, "is a length, and a is an angle"),
        ((Parameter("a", "-3", drives=(Drive(Driven.R, (1,)),)),), 0, "cannot be -3 mm"),
        ((Parameter("a", "3", drives=(Drive(Driven.R, (9,)),)),), 0, "no vertex 9; it has 4"),
        ((Parameter("a", "0", drives=(Drive(Driven.WALL, (1, 2)),)),), 0, "cannot be 0"),
        (
            (
                Parameter("a", "3", drives=(Drive(Driven.Z, (2,)),)),
                Parameter("b", "4", drives=(Drive(Driven.Z, (2,)),)),
            ),
            1,
            "z of vertex 2 is driven by a already",
        ),
        (
            (
                Parameter("a", "3", drives=(Drive(Driven.Z, (2,)),)),
                Parameter("b", "4", drives=(Drive(Driven.WALL, (1, 2)),)),
            ),
            1,
            "driven by a already",
        ),
        ((Parameter("a", "3", drives=(Drive(Driven.WALL, (1, 2, 2)),)),), 0, "or one twice"),
        ((Parameter("a", "3", drives=(Drive(Driven.WALL, (1, 1)),)),), 0, "or one twice"),
    ],
)
def test_what_cannot_be_driven_is_said_and_stays(
    parameters: tuple[Parameter, ...], row: int, says: str
) -> None:
    vertices, wrong = applied(SQUARE, 0, parameters)
    assert says in wrong[row]
    if len(parameters) == 1:
        assert vertices == SQUARE


def test_the_locked_contour_is_not_driven() -> None:
    _, wrong = applied(SQUARE, 2, (Parameter("a", "3", drives=(Drive(Driven.Z, (2,)),)),))
    assert "locked rim contour" in wrong[0]
    vertices, wrong = applied(SQUARE, 2, (Parameter("a", "3", drives=(Drive(Driven.WALL, (2, 3)),)),))
    assert wrong == {}
    assert vertices[2].r == 13.0


def test_the_inset_is_driven_and_the_rim_follows() -> None:
    before = example.project().wheels[0]
    found, wrong = settled(wheel(Parameter("et", "44", drives=(Drive(Driven.INSET),))))
    assert wrong == {}
    assert isinstance(found, Wheel)
    assert found.inset_mm == 44.0
    assert found.section.vertices[0].z == pytest.approx(before.section.vertices[0].z + before.inset_mm - 44.0)
    assert settled(found)[0] is found


def test_what_is_driven_keeps_its_value_through_an_edit_and_is_named() -> None:
    driven = Parameter("back", "50,5", drives=(Drive(Driven.Z, (BACK,)),))
    start = with_settled(replace(example.project(), wheels=(wheel(driven),)))
    section = start.wheels[0].section
    assert section.vertices[BACK - 1].z == 50.5
    moved = list(section.vertices)
    moved[BACK - 1] = replace(moved[BACK - 1], z=40.0, r=moved[BACK - 1].r + 2.0)
    raw = replace(start, wheels=(start.wheels[0].with_section(replace(section, vertices=tuple(moved))),))
    found = held(start, raw)
    v = found.project.wheels[0].section.vertices[BACK - 1]
    assert (v.z, v.r) == (50.5, moved[BACK - 1].r)
    assert [r.words for r in found.refused] == [
        f"Z of vertex {BACK} is driven by back: change that, or release it."
    ]
    free = replace(start.wheels[0], parameters=released(start.wheels[0].parameters, driven.drives[0]))
    assert held(start, replace(start, wheels=(free,))).refused == ()


def _edited(start: Project, vertices: tuple[Vertex, ...]) -> Project:
    old = start.wheels[0]
    return replace(start, wheels=(old.with_section(replace(old.section, vertices=vertices)),))


def test_numbers_follow_inserted_and_deleted_vertices_and_what_lost_its_vertex_is_dropped() -> None:
    a = Parameter("a", "50", drives=(Drive(Driven.Z, (BACK,)), Drive(Driven.R, (BACK + 2,))))
    start = with_settled(replace(example.project(), wheels=(wheel(a),)))
    vertices = start.wheels[0].section.vertices
    new = replace(vertices[BACK - 2], z=vertices[BACK - 2].z + 0.1)
    found = held(start, _edited(start, (*vertices[: BACK - 1], new, *vertices[BACK - 1 :])))
    assert [d.vertices for d in found.project.wheels[0].parameters[0].drives] == [(BACK + 1,), (BACK + 3,)]
    assert found.said == ()
    assert found.project.wheels[0].section.vertices[BACK].z == 50.0
    gone = held(start, _edited(start, (*vertices[: BACK - 1], *vertices[BACK:])))
    assert [d.vertices for d in gone.project.wheels[0].parameters[0].drives] == [(BACK + 1,)]
    assert gone.said == (f"a drives no more: z of vertex {BACK}, which is gone.",)


def test_numbers_follow_another_contour() -> None:
    before = [Corner(float(k), 1.0) for k in range(8)]
    after = [Corner(float(k) / 2, 5.0) for k in range(5)] + [replace(v, z=v.z + 3) for v in before[4:]]
    assert followed(before, after, (4, 5)) == {5: 6, 6: 7, 7: 8, 8: 9}
    assert followed(before, before[:3] + before[5:]) == {1: 1, 2: 2, 3: 3, 6: 4, 7: 5, 8: 6}
    assert followed(before, after[1:]) == {k: k for k in range(1, 9)}


def test_a_renamed_parameter_is_followed_in_formulas() -> None:
    found = renamed(
        (Parameter("a", "2"), Parameter("b", "a + 3*a - aa"), Parameter("c", "a +")), {"a": "lip"}
    )
    assert [p.name for p in found] == ["lip", "b", "c"]
    assert [p.formula for p in found] == ["2", "lip + 3*lip - aa", "a +"]
    assert with_parameter(found, Parameter("b", "1"))[1].formula == "1"


def test_a_copy_takes_its_parameters_along() -> None:
    from app.project import edits

    start = with_settled(replace(example.project(), wheels=(wheel(Parameter("a", "5")),)))
    project, name = edits.duplicated(start, edits.WHEEL, start.wheels[0].name)
    assert edits.find(project, edits.WHEEL, name).parameters == start.wheels[0].parameters
