from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.edits import (
    deleted,
    inserted,
    spokes_anchored,
    with_bulge,
    with_radius,
    with_sagitta,
    with_vertex_at,
    with_zone,
)
from geometry.shape.rim import RimContour, contour_vertices
from geometry.shape.section import AnchorR, AnchorZ, Outline, Section, Vertex, Zone, build

HALF_TURN = 1.0


def bowl() -> Section:
    """A free section with one arc edge: a flat-bottomed bowl turned on its side."""
    return Section(
        (
            Vertex(40.0, 100.0, zone=Zone.OUTER_SEAT, anchor_z=AnchorZ.OUTER_FLANGE),
            Vertex(-40.0, 100.0, zone=Zone.INNER_LIP, anchor_z=AnchorZ.INNER_FLANGE),
            Vertex(-40.0, 90.0, bulge=-0.1, zone=Zone.BARREL, anchor_z=AnchorZ.INNER_FLANGE),
            Vertex(20.0, 90.0, zone=Zone.SPOKE_BACK, anchor_r=AnchorR.AXLE_LINE),
            Vertex(20.0, 30.0, zone=Zone.BORE, anchor_z=AnchorZ.MOUNTING_FACE, anchor_r=AnchorR.AXLE_LINE),
            Vertex(40.0, 30.0, zone=Zone.SPOKE_FACE, anchor_z=AnchorZ.MOUNTING_FACE),
        )
    )


def with_rim() -> Section:
    """The bowl's lower part under a locked contour."""
    contour = contour_vertices(RimContour(18, 10))
    free = (
        Vertex(-140.0, 226.0, zone=Zone.BARREL),
        Vertex(60.0, 190.0, zone=Zone.SPOKE_BACK),
        Vertex(60.0, 40.0, zone=Zone.BORE),
        Vertex(80.0, 40.0, zone=Zone.SPOKE_FACE),
        Vertex(140.0, 226.0, zone=Zone.OUTER_LIP),
    )
    return Section(contour + free, locked=len(contour))


def area(section: Section) -> float:
    outline = build(section)
    assert isinstance(outline, Outline)
    return outline.path.area


def test_a_vertex_moves_and_the_others_stay() -> None:
    before = bowl()
    after = with_vertex_at(before, 3, 25.0, 91.0)
    assert (after.vertices[3].z, after.vertices[3].r) == (25.0, 91.0)
    assert [v for i, v in enumerate(after.vertices) if i != 3] == [
        v for i, v in enumerate(before.vertices) if i != 3
    ]
    assert before == bowl()


@given(
    st.integers(0, 5),
    st.floats(-300.0, 300.0),
    st.floats(0.0, 300.0),
    st.floats(0.0, 20.0),
    st.floats(-0.9, 0.9),
    st.sampled_from(Zone),
)
def test_a_section_with_another_vertex_is_as_one_made_anew(
    index: int, z: float, r: float, radius: float, bulge: float, zone: Zone
) -> None:
    """What it takes over from the section before is what it would read of its own vertices."""
    before, vertex = bowl(), Vertex(z, r, radius, bulge, zone)
    rows, zones = before.rows.copy(), before.zones.copy()
    made = before.with_vertex(index, vertex)
    anew = Section((*before.vertices[:index], vertex, *before.vertices[index + 1 :]))
    assert made == anew
    assert np.array_equal(made.rows, anew.rows)
    assert np.array_equal(made.zones, anew.zones)
    assert made.top_mm == anew.top_mm
    assert np.array_equal(before.rows, rows)
    assert np.array_equal(before.zones, zones)


def test_a_section_takes_no_vertex_that_it_could_not_be_made_with() -> None:
    with pytest.raises(GeometryError, match=r"^Vertex 3: r = -1 mm lies below the axle line"):
        bowl().with_vertex(2, Vertex(0.0, -1.0))
    with pytest.raises(GeometryError, match=r"^Vertex 3: corner radius -2 mm is not zero or more"):
        bowl().with_vertex(2, Vertex(0.0, 50.0, -2.0))


def test_a_vertex_stops_at_the_axle_line() -> None:
    assert with_vertex_at(bowl(), 4, 20.0, -3.0).vertices[4].r == 0.0


@pytest.mark.parametrize("place", [(math.nan, 90.0), (0.0, math.nan), (math.inf, 90.0), (0.0, 1e7)])
def test_what_is_no_place_is_refused(place: tuple[float, float]) -> None:
    with pytest.raises(GeometryError):
        with_vertex_at(bowl(), 3, *place)


def test_locked_vertices_and_edges_say_why_they_stay() -> None:
    section = with_rim()
    for index in (0, 7, section.locked - 1):
        with pytest.raises(GeometryError, match="locked rim contour") as caught:
            with_vertex_at(section, index, 0.0, 300.0)
        assert caught.value.place == (section.vertices[index].z, section.vertices[index].r)
        with pytest.raises(GeometryError, match="change the size, or unlock"):
            with_radius(section, index, 2.0)
        with pytest.raises(GeometryError, match="change the size, or unlock"):
            deleted(section, index)
        with pytest.raises(GeometryError, match="unlock the contour"):
            with_bulge(section, index, 0.1)
        with pytest.raises(GeometryError, match="unlock the contour"):
            with_sagitta(section, index, 0.1)
        with pytest.raises(GeometryError, match="unlock the contour"):
            with_zone(section, index, Zone.WELL)
    with pytest.raises(GeometryError, match="unlock the contour"):
        inserted(section, 3, 0.5)


@pytest.mark.parametrize("index", [-1, 6, 99])
def test_a_vertex_that_is_not_there_is_named(index: int) -> None:
    words = f"no vertex {index + 1}; it has 6"
    with pytest.raises(GeometryError, match=words):
        with_vertex_at(bowl(), index, 0.0, 0.0)
    with pytest.raises(GeometryError, match=words):
        deleted(bowl(), index)
    with pytest.raises(GeometryError, match=words):
        inserted(bowl(), index, 0.5)


def test_the_edge_after_the_contour_takes_a_vertex_that_is_free() -> None:
    section = with_rim()
    after = inserted(section, section.locked - 1, 0.5)
    assert after.locked == section.locked
    assert after.vertices[: section.locked] == section.vertices[: section.locked]
    new = after.vertices[section.locked]
    assert new.zone is Zone.INNER_LIP
    assert new.r == pytest.approx((section.vertices[section.locked - 1].r + 226.0) / 2.0)
    assert with_vertex_at(after, section.locked, -139.0, 235.0).vertices[section.locked].z == -139.0


bulges = st.one_of(st.just(0.0), st.floats(0.001, 0.9), st.floats(-0.9, -0.001))


@given(st.floats(0.05, 0.95), bulges)
def test_a_split_edge_keeps_its_curve_and_its_zone(fraction: float, bulge: float) -> None:
    before = with_bulge(bowl(), 0, bulge)
    after = inserted(before, 0, fraction)
    assert [v.zone for v in after.vertices[:2]] == [Zone.OUTER_SEAT, Zone.OUTER_SEAT]
    whole, halves = path_of(before), path_of(after)
    assert halves.area == pytest.approx(whole.area, rel=1e-12)
    assert halves.lengths[0] + halves.lengths[1] == pytest.approx(whole.lengths[0], rel=1e-12)
    assert halves.lengths[0] == pytest.approx(fraction * whole.lengths[0], rel=1e-9)
    if whole.is_arc[0] and halves.is_arc[:2].all():
        assert halves.centres[0] == pytest.approx(whole.centres[0], rel=1e-6, abs=1e-6)
        assert halves.radii[:2] == pytest.approx([whole.radii[0]] * 2, rel=1e-6)
    # Anchors of the nearer end.
    nearer = AnchorZ.OUTER_FLANGE if fraction < 0.5 else AnchorZ.INNER_FLANGE
    assert after.vertices[1].anchor_z is nearer


def path_of(section: Section) -> Path:
    vertices = section.vertices
    return Path(np.array([(v.z, v.r) for v in vertices]), np.array([v.bulge for v in vertices]))


@given(st.floats(0.05, 0.95), st.sampled_from([0, 2, 5]))
def test_deleting_an_inserted_vertex_gives_the_section_back(fraction: float, edge: int) -> None:
    back = deleted(inserted(bowl(), edge, fraction), edge + 1)
    for a, b in zip(back.vertices, bowl().vertices, strict=True):
        assert (a.z, a.r, a.zone) == (b.z, b.r, b.zone)
        assert a.bulge == pytest.approx(b.bulge, abs=1e-9)


def test_a_vertex_between_line_and_arc_leaves_a_straight_edge() -> None:
    after = deleted(bowl(), 3)
    assert after.vertices[2].bulge == 0.0
    assert len(after.vertices) == 5


def test_three_vertices_are_the_least() -> None:
    triangle = Section((Vertex(0.0, 10.0), Vertex(10.0, 10.0), Vertex(5.0, 20.0)))
    with pytest.raises(GeometryError, match="at least three"):
        deleted(triangle, 0)


@pytest.mark.parametrize("radius", [-1.0, math.nan, math.inf])
def test_a_radius_is_zero_or_more(radius: float) -> None:
    with pytest.raises(GeometryError, match="corner radius"):
        with_radius(bowl(), 3, radius)


def test_a_radius_cuts_the_corner() -> None:
    # A square corner of radius 10 loses 100 (1 - pi / 4).
    assert area(with_radius(bowl(), 5, 10.0)) == pytest.approx(area(bowl()) - 100.0 * (1.0 - math.pi / 4.0))


@pytest.mark.parametrize(("edge", "sagitta"), [(0, 5.0), (0, -5.0), (0, 40.0)])
def test_a_sagitta_bulges_off_the_metal(edge: int, sagitta: float) -> None:
    # Edge 0 is 80 long and runs along z: a segment of height h over a chord c has the radius
    # (c2 / 4 + h2) / 2 h, and its top lies h above the chord.
    section = with_sagitta(bowl(), edge, sagitta)
    path = path_of(section)
    assert path.radii[0] == pytest.approx((80.0**2 / 4.0 + sagitta**2) / (2.0 * abs(sagitta)))
    middle = path.at(np.array([0]), np.array([0.5]))[0]
    assert middle == pytest.approx([0.0, 100.0 + sagitta])
    assert (area(section) > area(bowl())) is (sagitta > 0.0)


def test_more_than_a_half_circle_is_refused() -> None:
    with pytest.raises(GeometryError, match="at most half"):
        with_sagitta(bowl(), 0, 40.1)
    for bulge in (1.01, -2.0, math.nan):
        with pytest.raises(GeometryError, match="half circle"):
            with_bulge(bowl(), 0, bulge)
    with pytest.raises(GeometryError, match="between the ends"):
        inserted(bowl(), 0, 0.0)
    assert with_bulge(bowl(), 0, HALF_TURN).vertices[0].bulge == HALF_TURN


def test_an_edge_changes_its_zone() -> None:
    assert with_zone(bowl(), 2, Zone.WELL).vertices[2].zone is Zone.WELL


def test_spokes_follow_rim_or_hub_between_spoke_edges_only() -> None:
    section = Section(
        tuple(
            replace(v, zone=z, anchor_z=AnchorZ.RIM_CENTRE)
            for v, z in zip(
                bowl().vertices,
                (Zone.WELL, Zone.SHOULDER, Zone.SPOKE_BACK, Zone.HUB_PAD, Zone.SPOKE_FACE, Zone.SPOKE_FACE),
                strict=True,
            )
        )
    )
    anchors = [v.anchor_z for v in spokes_anchored(section, AnchorZ.MOUNTING_FACE).vertices]
    rim, hub = AnchorZ.RIM_CENTRE, AnchorZ.MOUNTING_FACE
    assert anchors == [rim, rim, hub, rim, rim, hub]
