"""What a heap of triangles is: counted against bodies whose defects were made by hand.

A closed surface without handles has two more corners than edges less faces (Euler); a closed surface of
triangles has 3 n / 2 edges, so that every defect below changes counts that can be told on paper.
"""

from __future__ import annotations

import numpy as np
import pytest

from geometry.shape.curve import Array
from geometry.shape.mesh import surface_of
from tests.support.meshes import block, caliper, capsule, lump, turned

BOX = block((0.0, 10.0), (0.0, 20.0), (100.0, 130.0))
BODIES = {
    "block": BOX,
    "turned": turned([(0.0, 50.0), (30.0, 50.0), (30.0, 80.0), (0.0, 80.0)], 90),
    "rod": capsule((0.0, 0.0, 100.0), (10.0, 30.0, 120.0), 6.0, 40),
    "caliper": caliper(40, 8),
    "lump": lump(40),
}


@pytest.mark.parametrize("name", BODIES)
@pytest.mark.parametrize("single", [False, True])
def test_closed_bodies_are_sound(name: str, single: bool) -> None:
    """Also with corners rounded to 32 bits, as STL has them."""
    body = BODIES[name]
    found = surface_of(body.astype(np.float32).astype(float) if single else body)
    assert found.is_sound
    assert found.is_closed(0)
    assert found.triangles.tolist() == [len(body)]
    assert found.degenerate == 0
    assert found.low[0] == pytest.approx(body.reshape(-1, 3).min(axis=0))
    assert found.high[0] == pytest.approx(body.reshape(-1, 3).max(axis=0))


def test_a_missing_triangle_leaves_three_open_edges() -> None:
    found = surface_of(np.delete(BODIES["turned"], 17, axis=0))
    assert found.open_edges.tolist() == [3]
    assert not found.is_closed(0)
    assert not found.is_sound


def test_a_missing_cap_leaves_its_rim_open() -> None:
    """A tube of 90 steps without one end face: 90 edges on either rim of that end."""
    body = BODIES["turned"]
    is_end = np.all(body[:, :, 0] == 30.0, axis=1)
    assert is_end.sum() == 180
    assert surface_of(body[~is_end]).open_edges.tolist() == [180]


@pytest.mark.parametrize("share", [0.01, 0.3, 0.49])
def test_flipped_triangles_are_counted_and_leave_no_edge_open(share: float) -> None:
    body = BODIES["lump"].copy()
    which = np.random.default_rng(4).permutation(len(body))[: int(share * len(body))]
    body[which] = body[which, ::-1]
    found = surface_of(body)
    assert found.flipped.tolist() == [len(which)]
    assert found.open_edges.tolist() == [0]


def test_a_body_turned_inside_out_as_a_whole_has_no_flipped_triangle() -> None:
    assert surface_of(BODIES["lump"][:, ::-1]).is_sound


def test_bodies_are_numbered_by_their_triangles() -> None:
    rod, box = BODIES["rod"], BOX + 200.0
    mixed = np.concatenate([box, rod, box + 100.0])
    found = surface_of(mixed)
    assert found.triangles.tolist() == [len(rod), 12, 12]
    assert found.body[:12].tolist() == [1] * 12
    assert found.body[-12:].tolist() == [2] * 12
    assert np.all(found.body[12:-12] == 0)
    assert found.low[1].tolist() == [200.0, 200.0, 300.0]


def test_small_bodies_of_few_triangles_are_fragments() -> None:
    big = lump(100)
    crumb = BOX * 0.05 + 10.0
    plate = block((-90.0, 90.0), (-90.0, 90.0), (0.0, 5.0))
    found = surface_of(np.concatenate([big, crumb, plate, crumb[:2] + 3.0]))
    assert found.triangles.tolist() == [len(big), 12, 12, 2]
    # The plate has few triangles but is as large as the body itself.
    assert found.fragments.tolist() == [1, 3]
    assert found.is_closed(1)
    assert not found.is_closed(3)


def test_an_edge_of_three_triangles_is_crowded() -> None:
    fin = np.array([[(0.0, 0.0, 100.0), (10.0, 0.0, 100.0), (5.0, -30.0, 90.0)]])
    found = surface_of(np.concatenate([BOX, fin]))
    assert found.crowded_edges.tolist() == [1]
    assert found.open_edges.tolist() == [2]


def test_a_triangle_without_area_is_counted_and_opens_nothing() -> None:
    spot = np.repeat(BOX[:1, :1], 3, axis=1)
    found = surface_of(np.concatenate([BOX, spot]))
    assert found.degenerate == 1
    assert found.open_edges.tolist() == [0]


def shaken(body: Array, by: float) -> Array:
    return np.asarray(body + np.random.default_rng(1).uniform(-by, by, body.shape))


def test_corners_that_differ_by_rounding_are_one_and_others_are_not() -> None:
    assert surface_of(shaken(BOX, 1e-6)).open_edges.tolist() == [0]
    assert surface_of(shaken(BOX, 1e-3)).open_edges.sum() == 36


def test_minus_zero_is_zero() -> None:
    body = block((0.0, 10.0), (-5.0, 5.0), (90.0, 95.0))
    body[::2, :, 0] = np.where(body[::2, :, 0] == 0.0, -0.0, body[::2, :, 0])
    assert surface_of(body).is_sound
