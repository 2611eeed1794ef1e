"""The outline to draw: it leaves the usable one, and can be forged as that could."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from scipy import ndimage

from geometry.forging.composite import Forgeable, need
from geometry.forging.seats import seated
from geometry.forging.starting import starting_tolerances
from geometry.forging.to_draw import drawn_round
from geometry.forging.usable import less_skin, normal_mm, usable
from geometry.shape.blank import Cause, Tolerance
from geometry.shape.curve import Path

#: Draft outside and inside, and least fillet.
HOW = Forgeable(1.0, 2.0, 12.0)


@cache
def found() -> Path:
    """Return the smallest forgeable blank of a ring with a disc, a lip and a hub that stands out."""
    body = Path.closed(
        [
            *[(-20.0, 0.0), (-20.0, 70.0), (10.0, 90.0), (25.0, 190.0), (-150.0, 205.0), (-150.0, 236.0)],
            *[(70.0, 240.0), (75.0, 215.0), (48.0, 180.0), (30.0, 60.0), (45.0, 50.0), (45.0, 0.0)],
        ]
    )
    return seated([need("body", body, np.full(len(body), 3.0), HOW)], HOW).blank.path


def tables() -> list[tuple[Tolerance, ...]]:
    """Return the starting values, and a forge's own table that is lopsided along the axle."""
    own = (
        Tolerance(Cause.CLOSURE, 1.5, 1.5),
        Tolerance(Cause.RING_END, 4.0, 4.0),
        Tolerance(Cause.MISMATCH, 2.4, 0.0),
        Tolerance(Cause.FLASH, 1.2, 0.0),
        Tolerance(Cause.DENTS, 0.3, 0.0),
    )
    return [starting_tolerances(found(), 55.0), own]


def test_the_outline_to_draw_leaves_the_usable_one_when_all_is_missing() -> None:
    """Ring and disc: every tolerance of the table taken off what is drawn leaves what was asked for."""
    asked = Path.closed(
        [
            (0.0, 0.0),
            (0.0, 200.0),
            (-200.0, 206.0),
            (-200.0, 246.0),
            (60.0, 250.0),
            (60.0, 215.0),
            (40.0, 0.0),
        ]
    )
    tolerances = starting_tolerances(asked, 55.0)
    drawn = drawn_round(asked, tolerances)
    left = less_skin(usable(drawn, tolerances), normal_mm(tolerances))
    want, have = (shapely.Polygon(path.flattened(0.001)) for path in (asked, left))
    assert want.difference(have.buffer(1e-6)).area < 1e-3
    # Half of size, mismatch, out of round and centring; flash; dents and grain square to the skin.
    by = {t.cause: t.minus_mm for t in tolerances}
    half = (by[Cause.SIZE] + by[Cause.MISMATCH] + by[Cause.ROUND] + by[Cause.CENTRING]) / 2.0
    square = by[Cause.DENTS] + by[Cause.GRAIN]
    assert drawn.bounds[3] - 250.0 == pytest.approx(half + by[Cause.FLASH] + square, abs=0.05)


@pytest.mark.parametrize("tolerances", tables())
def test_it_holds_what_was_found_and_keeps_fillets_and_drafts(tolerances: tuple[Tolerance, ...]) -> None:
    """Fillets and drafts are measured on the outline, as composite.md asks of the blank itself."""
    drawn = drawn_round(found(), tolerances, HOW.fillet_mm, HOW.outside_deg)
    parting = float(found().points[np.argmax(found().points[:, 1]), 0])
    left = less_skin(usable(drawn, tolerances, parting), normal_mm(tolerances))
    want, have = (shapely.Polygon(path.flattened(0.001)) for path in (found(), left))
    assert want.difference(have.buffer(1e-6)).area < 1e-3
    hollow = drawn.is_arc & (drawn.sweeps < 0.0)
    assert hollow.sum() >= 3
    assert drawn.radii[hollow].min() >= HOW.fillet_mm - 0.01
    # Walls by the direction of the metal beside them: off the axle outside, towards it inside.
    every = np.arange(len(drawn))
    for share in (0.02, 0.5, 0.98):
        along = drawn.tangents(every, np.full(len(drawn), share))[drawn.off_axle]
        outwards = -along[:, 0]  # radial part of the outward normal of a counterclockwise outline
        slope = np.degrees(np.arcsin(np.clip(np.abs(along[:, 1]), 0.0, 1.0)))
        at = drawn.at(every, np.full(len(drawn), share))[drawn.off_axle]
        apex = np.abs(at[:, 1] - drawn.bounds[3]) < 1e-3  # where the dies meet, flash stands
        assert slope[(outwards > 0.5) & ~apex].min() >= HOW.outside_deg - 0.01
        assert slope[outwards < -0.5].min() >= HOW.inside_deg - 0.01
    # Closed to the axle by two corners on it.
    assert sorted(drawn.points[:, 1])[:2] == [0.0, 0.0]
    # Exact lines and arcs, not a chain of chords.
    assert len(drawn) <= 2 * len(found())


def test_it_is_what_a_raster_grows() -> None:
    """By distances on a raster, which shares no code: swept by the box, grown by the disc, hollows filled."""
    tolerances, step = tables()[1], 0.25
    by = {t.cause: t.minus_mm for t in tolerances}
    drawn = drawn_round(found(), tolerances, HOW.fillet_mm)
    z0, z1, _, top = found().bounds
    room = 40.0
    z = np.arange(z0 - room, z1 + room, step) + step / 2.0
    r = np.arange(-top - room, top + room, step) + step / 2.0
    half = shapely.Polygon(found().flattened(0.001))
    shapely.prepare(half)
    grid_z, grid_r = np.meshgrid(z, r)
    metal = shapely.contains_xy(half, grid_z, np.abs(grid_r))
    low, high = by[Cause.RING_END], by[Cause.CLOSURE]
    within, out = by[Cause.MISMATCH] / 2.0, by[Cause.MISMATCH] / 2.0 + by[Cause.FLASH]
    # Along the axle, then away from it and towards it in the upper half, mirrored.
    swept = _shifted(metal, round(low / step), round(high / step), axis=1)
    upper = swept & (grid_r > 0.0)
    upper = _shifted(upper, round(within / step), round(out / step), axis=0) & (grid_r > 0.0)
    both = upper | upper[::-1]
    near = ndimage.distance_transform_edt(~both) * step
    grown = near <= by[Cause.DENTS] + HOW.fillet_mm
    closed = ndimage.distance_transform_edt(grown) * step > HOW.fillet_mm
    area = shapely.Polygon(drawn.flattened(0.001)).area
    assert area == pytest.approx(float((closed & (grid_r > 0.0)).sum()) * step**2, rel=4e-3)
    # The tolerances alone are seven times that of it.
    assert area - half.area > 7.0 * 4e-3 * area


def _shifted(metal: np.ndarray, back: int, on: int, axis: int) -> np.ndarray:
    """Return what metal covers while it is moved by so many places back and on along an axis."""
    found_all = metal.copy()
    for by in range(-back, on + 1):
        found_all |= np.roll(metal, by, axis=axis)
    return found_all


def test_a_face_that_is_dished_by_a_hair_is_closed_to_the_axle() -> None:
    """What a corner radius leaves of a flat hub: in the whole section the axle is the ground of a hollow."""
    hub = [(0.0, 0.0), (-1e-3, 28.0), (0.0, 60.0), (10.0, 200.0), (40.0, 200.0), (50.0, 60.0)]
    body = Path.closed([*hub, (50.001, 28.0), (50.0, 0.0)])
    tolerances = starting_tolerances(body, 20.0)
    by = {t.cause: t.minus_mm for t in tolerances}
    either_side = (by[Cause.SIZE] + by[Cause.FLAT]) / 2.0 + by[Cause.DENTS] + by[Cause.GRAIN]
    drawn = drawn_round(body, tolerances, HOW.fillet_mm, HOW.outside_deg)
    on_axle = drawn.points[drawn.points[:, 1] < 1.0]
    assert on_axle[:, 1].tolist() == [0.0, 0.0]
    assert np.ptp(on_axle[:, 0]) == pytest.approx(50.0 + 2.0 * either_side, abs=0.1)
