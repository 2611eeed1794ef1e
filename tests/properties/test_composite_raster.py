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

from geometry.forging.composite import DENSITY_KG_M3, Forgeable, need
from geometry.forging.seats import seated
from geometry.shape.curve import Array, Path
from tests.unit.geometry_forging.test_composite import grown, random_wheel

STEP_MM = 0.02
COLUMNS = np.arange(0.0, 300.0, STEP_MM)


def tops(area: shapely.Geometry, sign: float) -> Array:
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
