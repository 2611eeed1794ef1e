"""Areas that boxes share, against shapely."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from geometry.shape import boxes as boxes_module
from geometry.shape.boxes import shared
from geometry.shape.curve import Array

SIDES = st.integers(-20, 20).map(float)


def boxes(most: int) -> st.SearchStrategy[Array]:
    """Draw (n, 4) boxes, some of no width or height, many of which meet or touch."""
    corners = st.integers(0, most).flatmap(lambda n: arrays(float, (n, 2, 2), elements=SIDES))
    return corners.map(lambda c: np.hstack([c.min(axis=1), c.max(axis=1)]).reshape(-1, 4))


@given(boxes(6), boxes(9))
def test_areas_are_those_of_intersections(some: Array, others: Array) -> None:
    areas = shapely.area(
        shapely.intersection(np.asarray(shapely.box(*some.T))[:, None], shapely.box(*others.T))
    )
    found = shared(some, others)
    assert found.shape == (len(some), 2)
    assert np.allclose(found[:, 0], areas.sum(axis=1), rtol=1e-12)
    assert np.array_equal(found[:, 1], (areas > 0.0).sum(axis=1))


def test_boxes_of_whole_pixels_are_read_by_the_same_machine_code() -> None:
    """Other code would be made in the midst of a drag, and take half a second."""
    some, other = np.array([[0.0, 0.0, 2.0, 2.0]]), np.array([[1, 1, 4, 4]])
    shared(some, some)
    made = len(getattr(boxes_module._shared, "signatures", ()))
    assert shared(some, other).tolist() == shared(other, some).tolist() == [[1.0, 1.0]]
    assert len(getattr(boxes_module._shared, "signatures", ())) == made


def test_boxes_that_only_touch_share_nothing() -> None:
    found = shared(np.array([[0.0, 0.0, 2.0, 2.0]]), np.array([[2.0, 0.0, 3.0, 2.0], [0.0, 2.0, 2.0, 3.0]]))
    assert found.tolist() == [[0.0, 0.0]]
