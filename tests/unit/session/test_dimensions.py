"""Dimensions against values worked by hand from the example's vertices, and what typing into one does."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from app.project.holding import Held, held
from app.project.project import Project
from app.reports.audience import used_by
from app.session.asking import with_new
from app.session.dimensions import (
    OF_WHEEL,
    Dimension,
    Measure,
    Wanted,
    Way,
    added,
    between,
    found,
    found_of_wheel,
    hub_face,
    of_vertex,
    place_on,
    with_added,
)
from app.session.driving import with_value
from app.session.edited import Edited, EditError, Kind, vertices_of, with_vertices
from app.session.shown import Shown
from app.studies.fit import measure_wheel
from geometry.shape.held import Constraint, Hold
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex
from tests.support import example

WHEEL = Edited(Kind.WHEEL, example.WHEEL)
SHAPE = Edited(Kind.SHAPE, example.CALIPER)
#: Vertices of the example: (-133.6, 220.2), (-14.6, 220.2), (50.3, 160), (50.1, 134), (41.8, 112).
BARREL, BACK = 34, 40


def shown(project: Project, edited: Edited = WHEEL, selected: int | None = None) -> Shown:
    wheel = project.wheels[0]
    measured = measure_wheel(project, wheel)
    return Shown(
        project, wheel, measured.outline, measured.faults, measured.measurements, selected, edited=edited
    )


def taken(project: Project, wanted: Wanted) -> Dimension:
    dimension = found(shown(project), wanted)
    assert dimension is not None
    return dimension


def of_wheel(project: Project) -> list[Wanted]:
    return [dimension.wanted for dimension in found_of_wheel(shown(project))]


def typed(project: Project, wanted: Wanted, value: float) -> Project:
    return with_value(project, taken(project, wanted), value).project


def of(measure: Measure, a: int = 0, b: int = 0) -> Wanted:
    return Wanted(measure, WHEEL, a, b)


def test_the_wheels_own_dimensions_are_those_of_its_size() -> None:
    """18 x 10 J: 254.0 between flanges; backspace = 254 / 2 + 13 + 38 with the J flange's B of 13."""
    project = example.project()
    values = {w.measure: taken(project, w).value for w in of_wheel(project)}
    assert set(values) == set(OF_WHEEL)
    assert values[Measure.WIDTH] == 254.0
    assert values[Measure.INSET] == 38.0
    assert values[Measure.BACKSPACE] == 178.0
    assert values[Measure.OVERALL] == 254.0 + 2 * 13.0
    assert values[Measure.HUB_FACE] == 40.0
    assert not taken(project, of(Measure.OVERALL)).drives
    assert "type the width" in taken(project, of(Measure.OVERALL)).why_not


def test_dimensions_that_an_edit_leaves_alone_are_the_same_objects() -> None:
    """The hub's face moves, and with it its own dimension alone."""
    project = example.project()
    plane, vertices = hub_face(project.wheels[0]), project.wheels[0].section.vertices
    moved = tuple(v.moved(0.5) if k in plane else v for k, v in enumerate(vertices))
    before = {d.wanted.measure: d for d in found_of_wheel(shown(project))}
    after = {d.wanted.measure: d for d in found_of_wheel(shown(with_vertices(project, WHEEL, moved)))}
    other = {measure for measure in OF_WHEEL if after[measure] is not before[measure]}
    assert other == {Measure.HUB_FACE}
    assert after[Measure.HUB_FACE].value == pytest.approx(before[Measure.HUB_FACE].value + 0.5)


def test_a_spacer_moves_places_and_no_value() -> None:
    project = example.project()
    spaced = replace(project, wheels=(replace(project.wheels[0], spacer_mm=5.0), *project.wheels[1:]))
    for wanted in (*of_wheel(project), of(Measure.STRAIGHT, BARREL, BACK), of(Measure.ANGLE, BACK)):
        before, after = taken(project, wanted), taken(spaced, wanted)
        assert after.value == pytest.approx(before.value)
        assert after.a == pytest.approx((before.a[0] + 5.0, before.a[1]))


@pytest.mark.parametrize(("mm", "code"), [(266.5, 10.5), (241.5, 9.5), (254.2, 10.0)])
def test_a_typed_width_is_a_code(mm: float, code: float) -> None:
    wheel = typed(example.project(), of(Measure.WIDTH), mm).wheels[0]
    assert wheel.size.width_code == code
    assert wheel.inset_mm == 38.0


def test_a_width_between_codes_is_refused_with_its_neighbours() -> None:
    with pytest.raises(EditError, match=r"260.00 mm are 254.00 mm \(10\) or 266.50 mm \(10.5\)"):
        typed(example.project(), of(Measure.WIDTH), 260.0)
    inches = replace(example.project(), display_unit="in")
    with pytest.raises(EditError, match=r"10.236 in are 10.000 in \(10\) or 10.492 in \(10.5\)"):
        typed(inches, of(Measure.WIDTH), 260.0)


def test_inset_backspace_and_hub_are_typed() -> None:
    project = example.project()
    assert typed(project, of(Measure.INSET), -12.5).wheels[0].inset_mm == -12.5
    assert typed(project, of(Measure.BACKSPACE), 181.0).wheels[0].inset_mm == 41.0
    thicker = typed(project, of(Measure.HUB_FACE), 42.5)
    assert taken(thicker, of(Measure.HUB_FACE)).value == 42.5
    assert [v.z for v in thicker.wheels[0].section.vertices].count(42.5) == 2
    with pytest.raises(EditError, match="outboard"):
        typed(project, of(Measure.HUB_FACE), 0.0)


def test_distances_of_two_vertices_move_the_second() -> None:
    project = example.project()
    measures = [w.measure for w in between(shown(project), BACK, BACK + 1)]
    assert measures == [Measure.STRAIGHT, Measure.ALONG_Z, Measure.ALONG_R]
    assert [w.measure for w in between(shown(project), BARREL, BARREL + 1)] == [Measure.ALONG_Z]
    # (50.1, 134.0) and (41.8, 112.0).
    assert taken(project, of(Measure.ALONG_Z, BACK, BACK + 1)).value == pytest.approx(8.3)
    assert taken(project, of(Measure.ALONG_R, BACK, BACK + 1)).value == pytest.approx(22.0)
    straight = of(Measure.STRAIGHT, BACK, BACK + 1)
    assert taken(project, straight).value == pytest.approx(math.hypot(8.3, 22.0))
    for wanted, value in (
        (of(Measure.ALONG_Z, BACK, BACK + 1), 10.0),
        (of(Measure.ALONG_R, BACK, BACK + 1), 20.0),
        (straight, 30.0),
    ):
        after = typed(project, wanted, value)
        assert taken(after, wanted).value == pytest.approx(value, abs=1e-8)
        assert vertices_of(after, WHEEL)[BACK] == vertices_of(project, WHEEL)[BACK]
    moved = typed(project, of(Measure.ALONG_Z, BACK, BACK + 1), 10.0)
    assert vertices_of(moved, WHEEL)[BACK + 1].z == pytest.approx(40.1)
    assert vertices_of(moved, WHEEL)[BACK + 1].r == 112.0


def test_the_locked_contour_stands_still() -> None:
    project = example.project()
    both = taken(project, of(Measure.STRAIGHT, 3, 12))
    assert "locked rim contour" in both.why_not
    with pytest.raises(EditError, match="locked rim contour"):
        with_value(project, both, 20.0)
    # From a locked vertex to a free one the free one moves, whichever was chosen first.
    for a, b in ((3, BACK), (BACK, 3)):
        after = typed(project, of(Measure.ALONG_Z, a, b), 50.0)
        assert vertices_of(after, WHEEL)[BACK].z == pytest.approx(89.0 - 50.0)


def test_an_edge_a_corner_radius_and_an_angle_are_typed() -> None:
    project = example.project()
    edge = of(Measure.EDGE, BARREL)
    assert taken(project, edge).value == pytest.approx(119.0)
    longer = typed(project, edge, 120.0)
    assert vertices_of(longer, WHEEL)[BARREL + 1].z == pytest.approx(-13.6)
    radius = of(Measure.RADIUS, BACK)
    assert taken(project, radius).value == 18.0
    assert vertices_of(typed(project, radius, 20.0), WHEEL)[BACK].radius == 20.0
    # At (40, 36), between the bore along the axle and the hub's face across it.
    angle = of(Measure.ANGLE, 46)
    assert taken(project, angle).value == pytest.approx(90.0)
    turned = typed(project, angle, 80.0)
    assert taken(turned, angle).value == pytest.approx(80.0, abs=1e-6)
    before, after = (taken(p, of(Measure.EDGE, 46)).value for p in (project, turned))
    assert after == pytest.approx(before, abs=1e-6)
    for wrong in (0.0, 190.0):
        with pytest.raises(EditError, match="at most 180"):
            typed(project, angle, wrong)
    with pytest.raises(EditError, match="0 or more"):
        typed(project, edge, -3.0)


def test_the_middle_of_a_corner_arc_lies_on_the_outline() -> None:
    """At a right angle it stands R (sqrt 2 - 1) off the corner."""
    project = example.project()
    wheel = project.wheels[0]
    locked = wheel.section.locked
    vertices = list(wheel.vertices)
    vertices[46 - locked] = replace(vertices[46 - locked], radius=4.0)
    rounded = replace(project, wheels=(replace(wheel, vertices=tuple(vertices)),))
    dimension = taken(rounded, of(Measure.RADIUS, 46))
    assert math.dist(dimension.a, (40.0, 36.0)) == pytest.approx(4.0 * (math.sqrt(2.0) - 1.0))
    assert math.dist(dimension.a, dimension.b) == pytest.approx(4.0)


def test_an_arc_keeps_its_ends_and_its_side() -> None:
    project = example.project()
    wheel = project.wheels[0]
    locked = wheel.section.locked
    vertices = list(wheel.vertices)
    vertices[BACK - 1 - locked] = replace(vertices[BACK - 1 - locked], bulge=-0.1)
    bent = replace(project, wheels=(replace(wheel, vertices=tuple(vertices)),))
    arc = of(Measure.ARC, BACK - 1)
    # Chord 26.0008 from (50.3, 160) to (50.1, 134): R = c (1 + b^2) / 4 b.
    chord = math.hypot(0.2, 26.0)
    assert taken(bent, arc).value == pytest.approx(chord * 1.01 / 0.4)
    assert Measure.ARC in [w.measure for w in of_vertex(shown(bent, selected=BACK))]
    after = typed(bent, arc, 40.0)
    assert taken(after, arc).value == pytest.approx(40.0)
    assert vertices_of(after, WHEEL)[BACK - 1].bulge < 0.0
    with pytest.raises(EditError, match=r"least radius is 13\.01"):
        typed(bent, arc, 5.0)


def test_a_wall_at_a_place_is_that_of_parallel_faces() -> None:
    """Under the barrel's middle the locked skin lies at r 224, the inside at 220.2: 3.8."""
    project = example.project()
    wanted = place_on(shown(project), BARREL, (-70.0, 220.2))
    assert wanted is not None
    assert taken(project, wanted).value == pytest.approx(3.8)
    assert taken(project, wanted).way is Way.STRAIGHT
    after = typed(project, wanted, 5.0)
    assert taken(after, wanted).value == pytest.approx(5.0, abs=1e-6)


def test_reference_dimensions_of_a_locked_thing_say_so() -> None:
    project = example.project()
    locked = replace(project, wheels=(replace(project.wheels[0], locked=True),))
    for wanted in (of(Measure.INSET), of(Measure.EDGE, BARREL), of(Measure.RADIUS, BACK)):
        assert "unlock it in the list of parts" in taken(locked, wanted).why_not


def test_a_shapes_dimension_has_its_grade_and_is_typed() -> None:
    project = example.project()
    dimension = found(shown(project, SHAPE), Wanted(Measure.EDGE, SHAPE, 0))
    assert dimension is not None
    assert dimension.grade is project.shapes[0].card.grade
    assert dimension.value == pytest.approx(52.0)  # (-74, 116) to (-74, 168)
    after = with_value(project, dimension, 50.0).project
    assert vertices_of(after, SHAPE)[1].r == pytest.approx(166.0)


def holding(*constraints: Constraint) -> Project:
    """The example, its outline moved so that these hold."""
    project = example.project()
    for c in constraints:
        project = held(project, with_new(project, WHEEL, c)).project
    return project


def test_a_typed_value_wins_where_constraints_can_follow() -> None:
    """Vertices 41 and 42 stay 22 apart along r: 42 follows where 41 is typed to 30 from 40."""
    project = holding(Constraint(Hold.ALONG_R, (BACK + 2, BACK + 1), 22.0))
    wanted = of(Measure.ALONG_R, BACK - 1, BACK)
    after = typed(project, wanted, 30.0)
    assert taken(after, wanted).value == pytest.approx(30.0, abs=1e-9)
    assert taken(after, of(Measure.ALONG_R, BACK, BACK + 1)).value == pytest.approx(22.0, abs=1e-6)
    assert after.wheels[0].constraints == project.wheels[0].constraints


def test_a_typed_length_wins_over_the_nearest_outline() -> None:
    """A line square to the axle whose upper end keeps its z: its length is typed, not the nearest to it."""
    project = holding(Constraint(Hold.VERTICAL, (BACK + 1, BACK + 2)))
    wanted = of(Measure.STRAIGHT, BACK, BACK + 1)
    after = typed(project, wanted, 17.25)
    v, w = after.wheels[0].section.vertices[BACK : BACK + 2]
    assert abs(v.r - w.r) == pytest.approx(17.25, abs=1e-6)
    assert v.z == pytest.approx(w.z, abs=1e-6)


@pytest.mark.parametrize(
    ("kind", "vertices", "measure"),
    [
        (Hold.ALONG_R, (BACK + 2, BACK + 1), Measure.ALONG_R),
        (Hold.DISTANCE, (BACK + 1, BACK + 2), Measure.EDGE),
        (Hold.RADIUS, (BACK + 1,), Measure.RADIUS),
    ],
)
def test_a_typed_value_that_is_held_otherwise_is_refused_by_name(
    kind: Hold, vertices: tuple[int, ...], measure: Measure
) -> None:
    plain = taken(example.project(), of(measure, BACK, BACK + 1)).value
    project = holding(Constraint(kind, vertices, plain))
    with pytest.raises(EditError, match=rf"cannot be 25\.00 mm\. .*{kind} {plain:.4g}"):
        typed(project, of(measure, BACK, BACK + 1), 25.0)


def test_a_refusal_tells_the_number_in_the_unit_that_it_was_typed_in() -> None:
    plain = taken(example.project(), of(Measure.EDGE, BACK, BACK + 1)).value
    held = replace(holding(Constraint(Hold.DISTANCE, (BACK + 1, BACK + 2), plain)), display_unit="in")
    with pytest.raises(EditError, match=r"cannot be 1\.000 in\. "):
        typed(held, of(Measure.EDGE, BACK, BACK + 1), 25.4)
    with pytest.raises(EditError, match=r"it is 0 or more, not -0\.500 in\."):
        typed(held, of(Measure.EDGE, BACK, BACK + 1), -12.7)


def with_one(wanted: Wanted) -> Project:
    return with_added(example.project(), WHEEL, [wanted])


def with_chain(project: Project, vertices: tuple[Vertex | Corner, ...]) -> Held:
    return held(project, with_vertices(project, WHEEL, vertices))


def test_added_dimensions_follow_their_vertices() -> None:
    vertices = vertices_of(example.project(), WHEEL)
    more = (*vertices[:36], replace(vertices[36], z=10.0), *vertices[36:])
    wanted = of(Measure.STRAIGHT, BARREL, BACK)
    project = with_one(wanted)
    assert added(project, WHEEL) == [wanted]
    longer = with_chain(project, more).project
    assert added(longer, WHEEL) == [replace(wanted, b=BACK + 1)]
    assert added(with_chain(longer, vertices).project, WHEEL) == [wanted]
    less = with_chain(project, (*vertices[:BACK], *vertices[BACK + 1 :]))
    assert added(less.project, WHEEL) == []
    assert less.said == (
        f"A dimension went with its vertex: straight, vertices {BARREL + 1} and {BACK + 1}.",
    )
    # A wall stays at its place.
    wall = replace(of(Measure.WALL, BARREL), share=0.25)
    (moved,) = added(with_chain(with_one(wall), more).project, WHEEL)
    assert moved.a == BARREL
    assert moved.share == pytest.approx(0.25)


def test_a_dimension_changes_nothing_that_reports_rest_on() -> None:
    plain, one = example.project(), with_one(of(Measure.ANGLE, BACK))
    assert one != plain
    assert used_by(one, one.wheels[0]) == used_by(plain, plain.wheels[0])
    on_shape = with_added(plain, SHAPE, [Wanted(Measure.ALONG_Z, SHAPE, 0, 1)])
    assert used_by(on_shape, on_shape.wheels[0]) == used_by(plain, plain.wheels[0])
    assert on_shape.shapes[0].card == plain.shapes[0].card  # it is not redrawn by being measured
