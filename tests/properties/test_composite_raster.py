"""The composite blank against a raster that shares no code with it: columns of heights.

Required metal is grown by shapely and read column by column; draft is a running greatest value of height plus
slope times radius; fillets are a grey closing by scipy's image library.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from scipy import ndimage
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from app.studies.composite import composite
from app.studies.forging_needs import ForgingSettings
from geometry.forging.composite import DENSITY_KG_M3, Forgeable, need
from geometry.forging.seats import seated
from geometry.shape.curve import Array, Path
from tests.unit.geometry_forging.test_composite import grown, random_wheel
from tests.unit.studies.test_composite import WHEEL, group, stock_left

STEP_MM = 0.02
COLUMNS = np.arange(0.0, 300.0, STEP_MM)


def tops(area: BaseGeometry, sign: float) -> Array:
    """Return the greatest sign * z of an area in every column; -inf where there is none."""
    rings = shapely.get_coordinates(shapely.segmentize(area, STEP_MM / 2.0))
    found = np.full(len(COLUMNS), -np.inf)
    column = np.clip(np.rint(rings[:, 1] / STEP_MM).astype(int), 0, len(COLUMNS) - 1)
    np.maximum.at(found, column, sign * rings[:, 0])
    return found


def drafted(top: Array, how: Forgeable) -> Array:
    falls, rises = (1.0 / math.tan(math.radians(a)) for a in (how.outside_deg, how.inside_deg))
    outwards = np.maximum.accumulate(top + falls * COLUMNS) - falls * COLUMNS
    inwards = np.maximum.accumulate((top - rises * COLUMNS)[::-1])[::-1] + rises * COLUMNS
    return np.maximum(outwards, inwards)


def closed(height: Array, radius: float) -> Array:
    if not radius:
        return height
    reach = int(radius / STEP_MM)
    disc = np.sqrt(np.maximum(radius**2 - (np.arange(-reach, reach + 1) * STEP_MM) ** 2, 0.0))
    padded = np.concatenate([np.full(2 * reach, height[0]), height])
    every = np.ones(2 * reach + 1)
    found = ndimage.grey_closing(padded, footprint=every, structure=disc, mode="nearest")
    return np.asarray(found[2 * reach :], dtype=float)


@pytest.mark.parametrize("seed", range(5))
def test_mass_agrees_with_a_raster(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    how = Forgeable(rng.uniform(1.0, 5.0), rng.uniform(1.0, 7.0), float(rng.choice([0.0, 6.0, 15.0])))
    wheels: list[Path] = [random_wheel(rng) for _ in range(3)]
    stocks = [rng.uniform(1.0, 6.0, len(w)) for w in wheels]
    seats = [0.0, *rng.uniform(-10.0, 10.0, 2).tolist()]
    needs = [need(f"w{k}", w, s, how) for k, (w, s) in enumerate(zip(wheels, stocks, strict=True))]
    found = seated(needs, how, seats_mm=seats)

    area = shapely.union_all(
        [affinity.translate(grown(w, s), z, 0.0) for w, s, z in zip(wheels, stocks, seats, strict=True)]
    )
    over, under = (closed(drafted(tops(area, sign), how), how.fillet_mm) for sign in (1.0, -1.0))
    thick = np.maximum(over + under, 0.0)
    mass = 2.0 * math.pi * DENSITY_KG_M3 * 1e-9 * float(np.sum(COLUMNS * thick) * STEP_MM)
    # A column more or less at every wall: a few parts in ten thousand.
    assert found.mass_kg == pytest.approx(mass, rel=1.5e-3)


def sides(required: BaseGeometry, how: Forgeable, web: float) -> tuple[Array, Array]:
    """Return both surfaces round what is required, in columns; where they are thinner the web goes on top."""
    over, under = (drafted(tops(required, sign), how) for sign in (1.0, -1.0))
    lack = np.where(required.bounds[3] >= COLUMNS, np.maximum(web - over - under, 0.0), 0.0)
    over = drafted(over + lack, how) if web else over
    return closed(over, how.fillet_mm), closed(under, how.fillet_mm)


def kilograms(over: Array, under: Array) -> float:
    thick = np.maximum(over + under, 0.0)
    return 2.0 * math.pi * DENSITY_KG_M3 * 1e-9 * float(np.sum(COLUMNS * thick) * STEP_MM)


def polygon(over: Array, under: Array) -> shapely.Polygon:
    """Return the full section between two surfaces, every tenth column."""
    r, top, bottom = COLUMNS[::10], over[::10], -under[::10]
    last = int(np.flatnonzero(top > bottom)[-1])
    r, top, bottom = (x[: last + 1] for x in (r, top, bottom))
    half = np.concatenate([np.column_stack([top, r]), np.column_stack([bottom, r])[::-1]])
    return shapely.union(shapely.Polygon(half), shapely.Polygon(half * (1.0, -1.0))).buffer(0.0)


@pytest.mark.long
@pytest.mark.parametrize(("radius", "web"), [(8.0, 50.0)])
def test_corners_and_a_least_web_stay_inside_their_band_together(radius: float, web: float) -> None:
    """Lower end: columns filled up to the web without a limit of slope, no fillets, no corners.

    Upper end: what is required grown all round by the least length, found by halving, whose outline of
    columns opened by the corner still holds metal and web.
    """
    project, how = group(), Forgeable(1.0, 2.0, 15.0, web)
    settings = ForgingSettings(how=how, stock_mm=4.0, corner_mm=radius)
    found = composite(project, [WHEEL], settings)
    assert found.corner is not None
    assert stock_left(project, found, settings)[WHEEL] >= 4.0 - 0.03

    ((_, wheel),) = found.held
    hub = [v for v in wheel.points if v[1] <= wheel.points[:, 1].min() + 1e-6]
    closing = shapely.box(min(v[0] for v in hub), 0.0, max(v[0] for v in hub), hub[0][1] + 1e-3)
    required = shapely.union(shapely.Polygon(wheel.flattened(0.002)), closing)
    required = required.buffer(4.0, quad_segs=64).intersection(shapely.box(-500.0, 0.0, 500.0, 500.0))

    over, under = (drafted(tops(required, sign), how) for sign in (1.0, -1.0))
    within = required.bounds[3] >= COLUMNS
    thick = np.where(within, np.maximum(over + under, web), np.maximum(over + under, 0.0))
    least = 2.0 * math.pi * DENSITY_KG_M3 * 1e-9 * float(np.sum(COLUMNS * thick) * STEP_MM)
    assert least > kilograms(over, under) + 0.3  # the web is asked for in earnest
    assert found.mass_kg >= least * (1.0 - 1.5e-3)

    def opened(by: float) -> BaseGeometry:
        area = polygon(*sides(required.buffer(by, quad_segs=64), how, web))
        return area.buffer(-radius, quad_segs=32).buffer(radius, quad_segs=32)

    low, high = 0.0, radius
    while high - low > 0.1:
        middle = (low + high) / 2.0
        holds = required.difference(opened(middle).buffer(0.05)).area < 1e-3
        low, high = (low, middle) if holds else (middle, high)
    most = kilograms(*sides(required.buffer(high, quad_segs=64), how, web))
    assert found.mass_kg <= most * (1.0 + 2e-3)

    # The web stands in every column of what was found, and every convex corner is round but at the parting.
    half = shapely.Polygon(found.path.flattened(0.002))
    lines = shapely.linestrings([[(-600.0, r), (600.0, r)] for r in np.arange(1.0, required.bounds[3], 1.0)])
    assert float(shapely.length(shapely.intersection(lines, half)).min()) >= web - 0.05
    whole = shapely.union(half, affinity.scale(half, yfact=-1.0, origin=(0.0, 0.0)))
    left = whole.difference(whole.buffer(-radius, quad_segs=64).buffer(radius + 0.05, quad_segs=64))
    parting = shapely.box(-400.0, found.found.blank.rim_mm - 2.0, 400.0, 400.0)
    both = shapely.union(parting, affinity.scale(parting, yfact=-1.0, origin=(0.0, 0.0)))
    assert left.difference(both).area < 0.5
