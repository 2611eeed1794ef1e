"""Dearer metal against practice.md section 4, iii; brakes that grow against plain geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from app.project.project import Project
from app.project.shop import ShopRates
from app.studies.programme.inputs import Option, Programme
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow
from app.studies.roadmap.need import NeedWheel
from app.studies.roadmap.scenarios import dearer_metal, grown, with_prices
from geometry.readings.rules import State
from geometry.shape.blank import Blank, Supply
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, Extent, NamedOutline, StayOut, outline_path


def cell(blank: str, blank_kg: float, wheel_kg: float) -> CoverCell:
    chips = blank_kg - wheel_kg
    return CoverCell(
        "a", blank, False, State.CLEAR, "", 1.0, 40.0, False, (), False, 80.0, 400.0, chips, wheel_kg
    )


def test_dearer_metal_is_that_of_practice() -> None:
    # practice.md 4, iii: metal +30 %, own blank of 54.5 kg: +63 net a wheel; of a wheel of 10.5 kg.
    square = (Corner(0.0, 0.0), Corner(10.0, 0.0), Corner(10.0, 10.0))
    project = Project("x", blanks=(Blank("own", square), Blank("bought", square, Supply.BOUGHT, price=400.0)))
    row = CoverRow(
        "a", False, NeedWheel(None, (), (), ()), None, (cell("own", 54.5, 10.5), cell("bought", 42.0, 10.5))
    )
    found = Coverage(("own", "bought"), (row,))
    for follow in ((), ("bought",)):
        changed, dearer = dearer_metal(project, found, 0.30, follow, ShopRates())
        own = changed.cell("a", "own")
        assert own.cost is not None
        assert dearer["own"] + own.cost - 80.0 == pytest.approx(63.0, abs=0.05)
        assert ("bought" in dearer) == bool(follow)
    priced = with_prices(
        Programme((), (Option("own", price=400.0, left_over_cost=260.0),)), {"own": 100.0}
    ).options[0]
    assert (priced.price, priced.left_over_cost) == (500.0, 325.0)


def brake(corners: tuple[Corner, ...]) -> StayOut:
    return StayOut("b", (NamedOutline("", corners),), extent=Extent(z_high=20.0, cut_r_high=110.0))


def test_a_brake_grows_out_and_outboard() -> None:
    square = tuple(Corner(z, r) for z, r in ((0.0, 100.0), (10.0, 100.0), (10.0, 110.0), (0.0, 110.0)))
    found = grown(brake(square), 5.0)
    ring = np.array([(c.z, c.r) for c in found.outlines[0].corners])
    assert ring.min(axis=0).tolist() == [0.0, 100.0]
    assert ring.max(axis=0).tolist() == [15.0, 115.0]
    assert shapely.Polygon(ring).area == pytest.approx(225.0)
    assert (found.extent.z_high, found.extent.cut_r_high) == (25.0, 115.0)


def test_nothing_of_a_brake_is_lost_when_it_grows() -> None:
    rng = np.random.default_rng(5)
    corners = tuple(
        Corner(z, r, radius)
        for z, r, radius in (
            (-60.0, 110.0, 0.0),
            (-10.0, 110.0, 0.0),
            (-10.0, 150.0, 8.0),
            (10.0, 150.0, 6.0),
            (10.0, 110.0, 0.0),
            (40.0, 115.0, 4.0),
            (36.0, 190.0, 20.0),
            (-55.0, 180.0, 15.0),
        )
    )
    path = outline_path(corners)
    assert isinstance(path, Path)
    old = shapely.Polygon(path.flattened(0.001, "inward"))
    new = shapely.Polygon([(c.z, c.r) for c in grown(brake(corners), 5.0).outlines[0].corners])
    low, high = np.array(old.bounds[:2]), np.array(old.bounds[2:])
    points = low + (high - low) * rng.random((4000, 2))
    points = points[shapely.contains_xy(old, points)]
    assert len(points) > 1000
    moved = points + 5.0 * rng.random(points.shape)
    assert shapely.contains_xy(new.buffer(1e-6), moved).all()
    # It is no larger than that: every corner of it is within the old outline moved by at most 5.
    assert new.area < old.buffer(5.0 * math.sqrt(2.0)).area
