"""The seat of greatest least spare stock: in a plain block by arithmetic, and in a blank by a scan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from app import resources
from app.files.project_file import load
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from app.studies.seating import Seating, seated, spare_mm
from app.window.seating_words import said
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
    first, second = found.tightest
    assert {first.zone, second.zone} == {"inner lip", "outer lip"}
    assert first.least_mm == pytest.approx(second.least_mm, abs=0.05)
    assert first.least_mm == pytest.approx(10.0, abs=0.01)
    outboard, inboard = (
        row for zone in ("outer lip", "inner lip") for row in (first, second) if row.zone == zone
    )
    for step in (1.0, -1.0):
        moved = {(row.zone, row.side): row.least_mm for row in stock_at(project, wheel, found.seat_mm + step)}
        # The block slides outboard with the seat: more before the outer lip, less behind the inner one.
        assert moved[outboard.zone, outboard.side] == pytest.approx(outboard.least_mm + step, abs=0.01)
        assert moved[inboard.zone, inboard.side] == pytest.approx(inboard.least_mm - step, abs=0.01)


def test_where_the_top_is_tightest_the_next_sides_decide() -> None:
    """A block 1 mm over the flanges (r 248.5): every side of both lips is nearest to its top.

    The tightest sides that the place matters to are those of the two seats that look along the axle.
    """
    project, wheel = boxed(-190.0, 110.0, 249.5)
    found = seated(project, wheel)
    least = {(row.zone, row.side): row.least_mm for row in found.rows}
    assert found.rows[0].least_mm == pytest.approx(1.0, abs=0.01)
    assert least["inner seat", "brake"] == pytest.approx(least["outer seat", "street"], abs=0.05)
    # The top does not hang on the place: the second that is told is one of those that do.
    assert (found.tightest[1].zone, found.tightest[1].side) in {
        ("inner seat", "brake"),
        ("outer seat", "street"),
    }
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


def test_where_no_seat_leaves_the_stock_it_is_said_what_is_missing_and_where() -> None:
    """A block of 270 for a wheel of 280: 5 are missing at either end, and the rule's stock."""
    project, wheel = boxed(-173.0, 97.0)
    found = seated(project, wheel)
    needed = found.rows[0].required_mm
    assert needed is not None
    words = said(found, "mm")
    assert words.startswith("Seated at ")
    assert ", but no seat leaves the stock that is needed: least spare stock " in words
    assert sorted(row.zone for row in found.tightest) == ["inner lip", "outer lip"]
    for row in found.tightest:
        assert spare_mm(row) == pytest.approx(-5.0 - needed, abs=0.02)
        z = {"inner lip": -178.0, "outer lip": 102.0}[row.zone]
        assert row.at[0] == pytest.approx(z, abs=0.01)
        assert f"at the {row.zone}, {row.side} side, z {row.at[0]:.2f}, r {row.at[1]:.2f}" in words


@pytest.mark.parametrize(
    ("corners", "words", "place"),
    [
        (
            ((0.0, 0.0), (0.0, 200.0), (-100.0, 100.0), (50.0, 100.0), (50.0, 0.0)),
            "crosses itself",
            (0.0, 100.0),
        ),
        (
            (
                (-190.0, 0.0),
                (110.0, 0.0),
                (110.0, 270.0, 20.0),
                (90.0, 270.0, 20.0),
                (90.0, 60.0),
                (-190.0, 60.0),
            ),
            r"corner radii at vertices 3 \(z 110.00, r 270.00 mm\) and 4 \(z 90.00, r 270.00 mm\) overlap by "
            r"20.000 mm on their common edge of 20.000 mm. .* or 10 and 10 mm at both",
            None,
        ),
    ],
)
def test_a_blank_that_is_none_is_refused_with_its_place(
    corners: tuple[tuple[float, ...], ...], words: str, place: tuple[float, float] | None
) -> None:
    """Lines over (-100, 100) to (50, 100) cross the edge on z 0; a wall of 20 with two corners of R20."""
    project, wheel = boxed(-190.0, 110.0)
    bad = replace(project.blanks[-1], corners=tuple(Corner(*row) for row in corners))
    with pytest.raises(GeometryError, match=words) as refused:
        seated(replace(project, blanks=(*project.blanks[:-1], bad)), wheel)
    assert place is None or refused.value.place == place


def test_a_wheel_without_a_blank_is_told_so() -> None:
    project = example.project()
    with pytest.raises(GeometryError, match="names no blank"):
        seated(project, replace(project.wheels[0], blank=None))


def test_more_short_sides_than_before_are_said() -> None:
    """The bought blank of the second sample: the worst side gains, and more sides are short than before."""
    project = load(resources.samples()[1])
    wheel = project.wheels[0]
    found = seated(project, wheel)

    def short(seat_mm: float) -> int:
        read = measure_wheel(project, replace(wheel, seat_mm=seat_mm, clears=())).measurements
        assert read is not None
        return sum(row.spare_mm is not None and row.spare_mm < 0.0 for row in read.stock)

    before, after = short(wheel.seat_mm), short(found.seat_mm)
    assert after > before > 0
    assert said(found, "mm").endswith(f" {after} sides are short, {before} were.")
