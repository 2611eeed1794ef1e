"""Edits of single vertices, without a window."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from app.project.project import Project
from app.project.wheel import SizeCode, Wheel
from app.session import drag
from app.session.drag import Drag
from app.session.edited import Edited, EditError, Kind, offset_mm, vertices_of
from app.session.snaps import GRID_STEPS_MM, Target, Targets, grid_step_mm, snap
from geometry.shape.blank import Blank
from geometry.shape.edits import nearest_edge
from geometry.shape.outline import Corner, NamedOutline, StayOut
from geometry.shape.rim import RimContour
from geometry.shape.section import AnchorZ, Vertex, Zone, build

W = Edited(Kind.WHEEL, "Plain")
B = Edited(Kind.BLANK, "Block")
S = Edited(Kind.SHAPE, "Caliper")


def square() -> Project:
    """A square ring of 20 mm at r 100 to 120, a half-disc blank 40 across, and a shape."""
    vertices = (
        Vertex(10.0, 100.0, zone=Zone.SPOKE_FACE, anchor_z=AnchorZ.MOUNTING_FACE),
        Vertex(10.0, 120.0, zone=Zone.WELL),
        Vertex(-10.0, 120.0, zone=Zone.INNER_LIP, anchor_z=AnchorZ.INNER_FLANGE),
        Vertex(-10.0, 100.0, zone=Zone.BARREL),
    )
    wheel = Wheel("Plain", SizeCode(18, 10), 0.0, vertices, blank="Block", seat_mm=2.0, spacer_mm=3.0)
    blank = Blank("Block", (Corner(20.0, 90.0, bulge=1.0), Corner(-20.0, 90.0)))
    shape = StayOut("Caliper", (NamedOutline("", (Corner(0, 50), Corner(10, 50), Corner(0, 60))),))
    return Project("Test", wheels=(wheel,), blanks=(blank,), shapes=(shape,))


def places(project: Project, edited: Edited) -> list[tuple[float, float]]:
    return [(v.z, v.r) for v in vertices_of(project, edited)]


# Snapping


def test_the_nearest_point_within_reach_wins_over_lines_and_grid() -> None:
    targets = [Target(5.2, 7.1, "vertex 3"), Target(5.9, 7.0, "vertex 4"), Target(5.0, None, "mounting face")]
    got = snap(5.1, 7.0, Targets(targets), reach_mm=0.5, grid_mm=1.0)
    assert (got.z, got.r, got.word, got.is_point) == (5.2, 7.1, "vertex 3", True)


def test_each_axis_snaps_to_its_own_line_and_else_to_the_grid() -> None:
    targets = [Target(0.0, None, "mounting face"), Target(None, 0.0, "axle line")]
    got = snap(0.3, 41.26, Targets(targets), reach_mm=0.8, grid_mm=0.5)
    assert (got.z, got.r, got.word) == (0.0, 41.5, "mounting face")
    assert snap(0.5, 41.26, Targets(targets), reach_mm=0.8, grid_mm=0.5).word == "grid"
    both = snap(0.1, 0.2, Targets(targets), reach_mm=0.5, grid_mm=0.5)
    assert (both.z, both.r, both.word) == (0.0, 0.0, "mounting face, axle line")


@pytest.mark.parametrize("step", GRID_STEPS_MM)
def test_grid_places_are_the_shortest_decimals(step: float) -> None:
    got = snap(12.3 * 1.0001, 219.7 * 1.0001, Targets([]), reach_mm=0.0, grid_mm=step)
    assert len(repr(got.z)) <= 6
    assert got.z / step == pytest.approx(round(got.z / step), abs=1e-9)
    assert abs(got.z - 12.3 * 1.0001) <= step / 2 + 1e-9


def test_snapping_never_leaves_the_half_plane() -> None:
    assert snap(0.0, -30.0, Targets([]), reach_mm=1.0, grid_mm=10.0).r == 0.0


def test_the_grid_follows_the_zoom() -> None:
    assert [grid_step_mm(p) for p in (0.001, 0.02, 0.1, 0.2, 1.0, 100.0)] == [0.05, 0.1, 0.5, 1.0, 5.0, 50.0]
    assert [grid_step_mm(p, "in") for p in (0.01, 0.1, 1.0)] == [0.002 * 25.4, 0.05 * 25.4, 0.5 * 25.4]


# Drag


def test_a_drag_moves_the_vertex_with_the_pointer_and_keeps_the_grip() -> None:
    project = square()
    started = Drag.start(project, W, 0, (10.2, 99.9), ())
    place = started.place((12.2, 105.9), reach_mm=0.0, grid_mm=1.0, snapping=False)
    after = started.to(place)
    assert (place.z, place.r) == pytest.approx((12.0, 106.0))
    assert places(after, W)[0] == pytest.approx((12.0, 106.0))
    assert places(after, W)[1:] == places(project, W)[1:]
    assert project == square()


def test_a_twitch_stays_at_the_vertex_own_place() -> None:
    project = square()
    started = Drag.start(project, W, 0, (10.0, 100.0), ())
    place = started.place((10.3, 99.8), reach_mm=0.8, grid_mm=0.1)
    assert place.word == "same z, same r"
    assert started.to(place) == project


def test_a_drag_below_the_axle_stops_on_it() -> None:
    started = Drag.start(square(), W, 0, (10.0, 100.0), ())
    after = started.to(started.place((10.0, -50.0), 0.0, 1.0, snapping=False))
    assert places(after, W)[0] == (10.0, 0.0)


def test_a_drag_snaps_to_the_face_of_its_own_frame() -> None:
    for edited, word in ((W, "mounting face"), (S, "hub face")):
        started = Drag.start(square(), edited, 1, places(square(), edited)[1], ())
        assert started.place((0.2, 81.3), 0.5, 1.0).word == word
    levels = Drag.start(square(), B, 0, (20.0, 90.0), ()).targets.z_levels
    words = {target.word for _, target in levels}
    assert "mounting face" not in words


def test_crossing_itself_is_allowed_and_becomes_a_fault() -> None:
    after = drag.moved(square(), W, 0, -30.0, 110.0)
    faults = build(after.wheels[0].section)
    assert isinstance(faults, tuple)
    assert faults[0].place == pytest.approx((-10.0, 110.0), abs=6.0)


# Locks


def locked() -> Project:
    project = square()
    wheel = replace(project.wheels[0], rim=RimContour(18, 10))
    return replace(project, wheels=(wheel,))


def test_vertices_of_the_locked_contour_refuse_and_say_why() -> None:
    project = locked()
    count = project.wheels[0].section.locked
    assert count > 4
    for edit in (
        lambda: Drag.start(project, W, 2, (0.0, 0.0), ()),
        lambda: drag.nudged(project, W, 2, 1.0, 0.0),
        lambda: drag.rounded_at(project, W, 2, 3.0),
        lambda: drag.deleted(project, W, 2),
        lambda: drag.moved(project, W, 2, 0.0, 0.0),
    ):
        with pytest.raises(EditError, match="locked rim contour"):
            edit()
    with pytest.raises(EditError, match="unlock the contour"):
        drag.inserted(project, W, 2, 0.5)


def test_free_vertices_beside_a_locked_contour_move() -> None:
    project = locked()
    count = project.wheels[0].section.locked
    after = drag.moved(project, W, count, 1.0, 90.0)
    assert places(after, W)[count] == (1.0, 90.0)
    assert after.wheels[0].vertices[1:] == project.wheels[0].vertices[1:]


def test_a_locked_part_refuses() -> None:
    project = square()
    project = replace(project, shapes=(replace(project.shapes[0], locked=True),))
    with pytest.raises(EditError, match="Caliper is locked; unlock it"):
        drag.moved(project, S, 0, 1.0, 1.0)


def test_an_unknown_vertex_is_refused() -> None:
    with pytest.raises(EditError, match="no vertex 10"):
        drag.moved(square(), W, 9, 0.0, 0.0)


# Nudge, insert, delete, round


def test_nudges_there_and_back_cancel_to_the_last_bit() -> None:
    project = start = square()
    for step in (0.1, 0.1, 0.1, -0.1, -0.1, -0.1):
        project = drag.nudged(project, W, 2, step, 0.0)
    assert project == start


def test_an_inserted_vertex_lies_on_the_edge_with_its_zone_and_the_nearer_anchors() -> None:
    after = drag.inserted(square(), W, 0, 0.25)
    new = after.wheels[0].vertices[1]
    assert (new.z, new.r, new.zone, new.anchor_z) == (10.0, 105.0, Zone.SPOKE_FACE, AnchorZ.MOUNTING_FACE)
    far = drag.inserted(square(), W, 1, 0.75).wheels[0].vertices[2]
    assert (far.zone, far.anchor_z) == (Zone.WELL, AnchorZ.INNER_FLANGE)
    last = drag.inserted(square(), W, 3, 0.5).wheels[0].vertices[4]
    assert (last.z, last.r) == (0.0, 100.0)


def test_inserting_on_an_arc_keeps_the_circle_and_deleting_gives_the_first_value() -> None:
    # A half circle of radius 20 about (0, 90); a third of the way is 60 degrees round.
    project = square()
    after = drag.inserted(project, B, 0, 1.0 / 3.0)
    first, new, _ = vertices_of(after, B)
    assert (new.z, new.r) == pytest.approx((20 * math.cos(math.pi / 3), 90 + 20 * math.sin(math.pi / 3)))
    assert (first.bulge, new.bulge) == pytest.approx((math.tan(math.pi / 12), math.tan(math.pi / 6)))
    four = drag.inserted(after, B, 2, 0.5)
    back = drag.deleted(four, B, 1)
    assert vertices_of(back, B)[0].bulge == pytest.approx(1.0, rel=1e-12)


def test_deleting_beside_an_arc_of_another_circle_leaves_a_straight_edge() -> None:
    project = drag.inserted(drag.inserted(square(), B, 0, 0.5), B, 0, 0.5)
    project = drag.moved(project, B, 1, 18.0, 99.0)
    assert vertices_of(drag.deleted(project, B, 1), B)[0].bulge == 0.0


def test_three_vertices_are_the_least() -> None:
    with pytest.raises(EditError, match="at least three"):
        drag.deleted(square(), S, 0)


def test_rounding_sets_the_radius_and_refuses_a_negative_one() -> None:
    assert drag.rounded_at(square(), W, 3, 2.5).wheels[0].vertices[3].radius == 2.5
    with pytest.raises(EditError, match="zero or more"):
        drag.rounded_at(square(), W, 3, -0.5)


def test_the_nearest_edge_of_lines_and_arcs() -> None:
    vertices = vertices_of(square(), B)
    edge, t, distance = nearest_edge(vertices, 0.0, 112.0)
    assert (edge, t, distance) == pytest.approx((0, 0.5, 2.0))
    edge, t, distance = nearest_edge(vertices, 15.0, 88.0)
    assert (edge, t, distance) == pytest.approx((1, (15 + 20) / 40, 2.0))
    # Beyond the ends of the arc its nearer end counts.
    assert nearest_edge((*vertices[:1], replace(vertices[1], bulge=1.0)), 30.0, 90.0)[2] == 10.0


def test_places_are_shifted_into_the_hub_frame_by_spacer_and_seat() -> None:
    project = square()
    wheel = project.wheels[0]
    assert [offset_mm(project, e, wheel) for e in (W, B, S)] == [3.0, 5.0, 0.0]
    assert offset_mm(project, B, replace(wheel, blank=None)) == 3.0


def test_repeated_random_edits_keep_every_other_vertex() -> None:
    rng = np.random.default_rng(7)
    project = square()
    for _ in range(50):
        index = int(rng.integers(4))
        before = places(project, W)
        project = drag.moved(project, W, index, *(float(x) for x in rng.uniform(0, 200, 2)))
        assert [p for i, p in enumerate(places(project, W)) if i != index] == [
            p for i, p in enumerate(before) if i != index
        ]


# Kinds of snap


def on(z: float, r: float, index: int = 2, reach: float = 0.8) -> tuple[str, str, float, float]:
    """Kind, word and place where vertex `index` of a chain with a slope snaps to from (z, r)."""
    chain = ((0.0, 100.0), (10.0, 100.0), (20.0, 110.0), (30.0, 120.5), (42.0, 126.5), (42.0, 140.0))
    project = replace(
        square(), wheels=(replace(square().wheels[0], vertices=tuple(Vertex(z, r) for z, r in chain)),)
    )
    started = Drag.start(project, W, index, chain[index], ())
    place = started.place((z, r), reach_mm=reach, grid_mm=1.0)
    return place.kind, place.word, place.z, place.r


def test_middles_of_edges_attract() -> None:
    assert on(42.2, 133.0) == ("middle", "middle of edge 5", 42.0, 133.25)


def test_a_vertex_runs_on_in_line_with_the_edge_beyond_its_neighbour() -> None:
    """Vertex 3: from (0, 100) by (10, 100), and from (42, 126.5) by (30, 120.5), which falls 1 in 2."""
    assert on(18.4, 100.3) == ("tangent", "in line with edge 1", 18.0, 100.0)
    kind, word, z, r = on(22.0, 116.7)
    assert (kind, word) == ("tangent", "in line with edge 4")
    assert r - 120.5 == pytest.approx((z - 30.0) / 2.0)
    assert math.hypot(z - 22.0, r - 116.7) == pytest.approx(0.2 * math.cos(math.atan(0.5)))
    assert on(34.0, 122.6)[0] != "tangent"  # behind the neighbour it would turn back


def test_levels_of_neighbours_and_planes_are_named() -> None:
    assert on(30.3, 113.0)[:3] == ("level", "z of vertex 4", 30.0)
    inset = square().wheels[0].inset_mm
    kind, word, z, _ = on(-inset + 0.2, 113.0)
    assert (kind, z) == ("level", -inset)
    assert "rim centre plane" in word or "mounting face" in word


def test_a_corner_radius_beyond_keeps_its_corner() -> None:
    """In line, a radius would have no place; so none is offered."""
    vertices = [Vertex(0, 100), Vertex(10, 100, radius=2.0), Vertex(20, 110), Vertex(20, 140), Vertex(0, 140)]
    project = replace(square(), wheels=(replace(square().wheels[0], vertices=tuple(vertices)),))
    started = Drag.start(project, W, 2, (20.0, 110.0), ())
    assert started.place((15.0, 100.3), 0.8, 1.0).kind != "tangent"
