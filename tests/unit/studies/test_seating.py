"""The seat of greatest least spare stock: in a plain block by arithmetic, and in a blank by a scan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from app.studies.seating import Seating, seated, spare_mm
from geometry.errors import GeometryError
from geometry.readings.rows import StockRow
from geometry.shape.blank import Blank
from geometry.shape.outline import Corner
from tests.support import example

WHEEL = example.WHEEL


def tight(found: tuple[StockRow, ...]) -> list[float]:
    return sorted(spare_mm(row) for row in found)


def boxed(low: float, high: float, top: float = 270.0) -> tuple[Project, Wheel]:
    """The example's wheel in a plain block of metal: only its ends and its top limit it."""
    project = example.project()
    corners = ((low, 0.0), (high, 0.0), (high, top), (low, top))
    block = Blank("block", tuple(Corner(z, r) for z, r in corners))
    wheel = replace(project.wheels[0], blank="block", seat_mm=7.0)
    return replace(project, blanks=(*project.blanks, block), wheels=(wheel,)), wheel


def stock_at(project: Project, wheel: Wheel, seat: float) -> tuple[StockRow, ...]:
    found = measure_wheel(project, replace(wheel, seat_mm=seat, clears=())).measurements
    assert found is not None
    return found.stock


def test_two_square_sides_come_out_equal_and_a_millimetre_moves_both() -> None:
    """The lips stand at z -178 and 102: a block from -190 to 110 leaves 20 in all, 10 on either side."""
    project, wheel = boxed(-190.0, 110.0)
    found = seated(project, wheel)
    assert isinstance(found, Seating)
    rules = {spare_mm(row) - row.least_mm for row in found.rows}
    assert len(rules) == 1  # one rule for all zones
    first, second = (row.least_mm for row in found.rows[:2])
    assert first == pytest.approx(second, abs=0.05)
    assert first == pytest.approx(10.0, abs=0.01)
    for step in (1.0, -1.0):
        ends = [row.least_mm for row in stock_at(project, wheel, found.seat_mm + step)]
        assert min(ends) == pytest.approx(9.0, abs=0.01)


def test_where_the_top_is_tightest_the_next_sides_decide() -> None:
    """A block 1 mm over the flanges (r 248.5): every side of both lips is nearest to its top.

    The tightest sides that the place matters to are those of the two seats that look along the axle.
    """
    project, wheel = boxed(-190.0, 110.0, 249.5)
    found = seated(project, wheel)
    least = {(row.zone, row.side): row.least_mm for row in found.rows}
    assert found.rows[0].least_mm == pytest.approx(1.0, abs=0.01)
    assert least["inner seat", "brake"] == pytest.approx(least["outer seat", "street"], abs=0.05)
    there = {(r.zone, r.side): r.least_mm for r in stock_at(project, wheel, found.seat_mm + 1.0)}
    assert there["inner seat", "brake"] == pytest.approx(least["inner seat", "brake"] - 1.0, abs=0.01)
    assert there["outer seat", "street"] == pytest.approx(least["outer seat", "street"] + 1.0, abs=0.01)


@pytest.mark.parametrize("seat", [-6.0, 0.0, 4.0])
def test_no_place_of_a_scan_is_better(seat: float) -> None:
    project = example.project()
    wheel = replace(project.wheels[0], seat_mm=seat)
    found = seated(project, wheel)
    best = tight(found.rows)[0]
    for place in np.arange(found.seat_mm - 25.0, found.seat_mm + 25.0, 0.5):
        assert tight(stock_at(project, wheel, float(place)))[0] <= best + 0.02
    # What the study says of the place is what the editor reads there.
    assert tight(stock_at(project, wheel, found.seat_mm)) == pytest.approx(tight(found.rows), abs=0.02)
    assert tight(found.before) == pytest.approx(tight(stock_at(project, wheel, seat)), abs=0.02)


def test_the_seat_does_not_hang_on_where_the_wheel_sat_before() -> None:
    project = example.project()
    wheels = [replace(project.wheels[0], seat_mm=seat) for seat in (-9.0, 0.0, 30.0)]
    places = [seated(project, wheel).seat_mm for wheel in wheels]
    assert max(places) - min(places) <= 0.05


def test_a_wheel_without_a_blank_is_told_so() -> None:
    project = example.project()
    with pytest.raises(GeometryError, match="names no blank"):
        seated(project, replace(project.wheels[0], blank=None))
