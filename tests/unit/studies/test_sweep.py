"""Sweeps and windows against sections whose answer is known by plain arithmetic."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from app.project import demo
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from app.studies.road import on_the_road
from app.studies.sweep import EDGE_MM, Over, StoppedError, changed, sweep, verdict, window
from geometry.shape.outline import Corner, NamedOutline
from tests.support.example import project
from tests.support.make_samples import samples


def with_block(corners: tuple[tuple[float, float], ...], **changes: object) -> tuple[Project, Wheel]:
    """The example's wheel, without blank and rings, held against one answered block."""
    whole = project()
    caliper = whole.shapes[0]
    block = replace(
        caliper,
        name="block",
        outlines=(NamedOutline("at rest", tuple(Corner(z, r) for z, r in corners)),),
        extent=replace(caliper.extent, z_low=None, z_high=None),
        card=replace(caliper.card, error_mm=0.0),
    )
    wheel = replace(whole.wheels[0], clears=("block",), blank=None, **changes)  # type: ignore[arg-type]
    return replace(whole, shapes=(block,), wheels=(wheel,)), wheel


@pytest.mark.parametrize(("angle", "share"), [(0.0, 5.0), (30.0, 4.33), (60.0, 2.5), (90.0, 0.0)])
def test_a_spacer_opens_by_the_cosine(angle: float, share: float) -> None:
    """checks.md G2 and handbook F10: 5 mm against a surface whose normal lies at an angle to the axle."""
    assert 5.0 * math.cos(math.radians(angle)) == pytest.approx(share, abs=0.005)
    if angle != 0.0:
        return
    # The spoke back of the example is all but square to the axle at r 160: a flat face opens by all of it.
    whole, wheel = with_block(((20.0, 150.0), (45.0, 150.0), (45.0, 170.0), (20.0, 170.0)))
    near, far = sweep(whole, wheel, Over.SPACER, [0.0, 5.0]).points
    assert near.zone == far.zone == "spoke back"
    assert near.least_mm is not None
    assert far.least_mm is not None
    assert far.least_mm - near.least_mm == pytest.approx(5.0, abs=0.05)


def test_more_spacer_is_not_always_more_room() -> None:
    """Handbook F11: between a spoke back and an inboard well the best spacer lies inside."""
    whole, wheel = with_block(((-60.0, 150.0), (40.0, 150.0), (40.0, 200.0), (-60.0, 200.0)))
    caliper = whole.shapes[0]
    hook = NamedOutline(
        "behind the lip",
        tuple(Corner(z, r) for z, r in ((-200.0, 180.0), (-184.0, 180.0), (-184.0, 240.0), (-200.0, 240.0))),
    )
    both = replace(caliper, outlines=(*caliper.outlines, hook))
    values = np.arange(0.0, 20.5, 0.5)
    found = sweep(replace(whole, shapes=(both,)), wheel, Over.SPACER, values.tolist())
    # The wheel moves away from the block and never towards the hook: it only opens.
    assert found.is_monotone
    ahead = NamedOutline(
        "ahead of the lip",
        tuple(Corner(z, r) for z, r in ((112.0, 200.0), (140.0, 200.0), (140.0, 260.0), (112.0, 260.0))),
    )
    # What looks at the street side counts where it comes near: a wheel that walks outboard meets it.
    pinched = replace(caliper, outlines=(*caliper.outlines, ahead))
    wheel = replace(wheel, tyre="")  # it would lie in the tyre
    found = sweep(replace(whole, shapes=(pinched,)), wheel, Over.SPACER, values.tolist())
    assert not found.is_monotone
    assert found.best is not None
    assert 0.0 < found.best.value < 20.0
    spares = [p.spare_mm for p in found.points]
    assert found.best.spare_mm == max(s for s in spares if s is not None)


def test_a_curve_reads_the_stricter_of_paper_and_worst_state() -> None:
    """With conditions a point is the least spare of both; recomputed here from the rows themselves."""
    whole = samples()["1-track-18-own-blank"]
    wheel = whole.wheels[0]
    (point,) = sweep(whole, wheel, Over.INSET, [wheel.inset_mm + 4.0]).points
    made = changed(wheel, Over.INSET, wheel.inset_mm + 4.0)
    measured = measure_wheel(whole, made)
    road = on_the_road(whole, made, measured)
    assert measured.measurements is not None
    assert road is not None
    paper = [r.spare_mm for r in measured.measurements.gap if r.spare_mm is not None]
    worst = [r.spare_mm for r in road.rows if r.spare_mm is not None]
    assert point.spare_mm == pytest.approx(min(*paper, *worst), abs=1e-9)
    assert bool(point.condition) == (min(worst) < min(paper))
    # A closer look at the brake makes the worst state decide somewhere on the curve, and it says so.
    hard = replace(whole.conditions[0], camber_deg=1.0)
    strict = replace(whole, conditions=(hard, *whole.conditions[1:]))
    (worse,) = sweep(strict, wheel, Over.INSET, [wheel.inset_mm + 4.0]).points
    assert worse.condition
    assert worse.spare_mm is not None
    assert point.spare_mm is not None
    assert worse.spare_mm < point.spare_mm


def test_inset_with_spokes_fixed_to_the_rim_takes_its_whole_change() -> None:
    """Issue and handbook F13: inset +4 with spokes fixed to the rim takes 4.00 mm of spoke gap."""
    whole, wheel = with_block(((20.0, 150.0), (44.0, 150.0), (44.0, 170.0), (20.0, 170.0)))
    near, far = sweep(whole, wheel, Over.INSET, [wheel.inset_mm, wheel.inset_mm + 4.0]).points
    assert near.zone == far.zone == "spoke back"
    assert near.least_mm is not None
    assert far.least_mm is not None
    assert near.least_mm - far.least_mm == pytest.approx(4.0, abs=0.02)


def test_tilt_is_read_at_both_signs() -> None:
    whole, wheel = with_block(((20.0, 150.0), (45.0, 150.0), (45.0, 170.0), (20.0, 170.0)))
    minus, none, plus = sweep(whole, wheel, Over.TILT, [-0.5, 0.0, 0.5]).points
    assert None not in (minus.least_mm, none.least_mm, plus.least_mm)
    # F14: half a degree at r 150 to 170 moves the spoke back by 1.3 to 1.5 along the axle, either way.
    moves = sorted((minus.least_mm or 0.0, plus.least_mm or 0.0))
    assert (none.least_mm or 0.0) - moves[0] == pytest.approx(1.4, abs=0.15)
    assert moves[1] - (none.least_mm or 0.0) == pytest.approx(1.4, abs=0.15)


class TestWindow:
    @pytest.mark.parametrize("over", [Over.INSET, Over.SPACER])
    def test_every_value_inside_holds_and_what_lies_beyond_does_not(self, over: Over) -> None:
        whole = project()
        wheel = replace(whole.wheels[0], blank=None, clears=(whole.shapes[0].name,))
        found = window(whole, wheel, over)
        assert found is not None
        for value in np.linspace(found.low, found.high, 60):
            inside = verdict(whole, changed(wheel, over, float(value)))
            assert not isinstance(inside, str)
            assert inside.spare_mm >= 0.0, f"{value}: {inside}"
        for edge, way, closed in (
            (found.low, -1.0, found.closed_low_by),
            (found.high, 1.0, found.closed_high_by),
        ):
            if closed:
                beyond = verdict(whole, changed(wheel, over, edge + way * 2.0 * EDGE_MM))
                assert not isinstance(beyond, str)
                assert beyond.spare_mm < 0.0
                assert beyond.what == closed

    def test_a_wheel_that_misses_gets_the_nearest_window(self) -> None:
        whole, wheel = with_block(((20.0, 150.0), (49.0, 150.0), (49.0, 170.0), (20.0, 170.0)))
        found = window(whole, wheel, Over.INSET)
        assert found is not None
        assert not found.holds_now
        assert found.high < wheel.inset_mm
        assert found.closed_high_by == "spoke back to block"

    def test_the_blank_limits_it(self) -> None:
        whole = replace(
            project(),
            conditions=demo.conditions(),
            wheels=(replace(project().wheels[0], conditions=demo.ROAD),),
        )
        wheel = replace(whole.wheels[0], clears=(whole.shapes[0].name,))
        narrow, wide = window(whole, wheel, Over.INSET), window(whole, replace(wheel, blank=None), Over.INSET)
        assert wide is not None
        assert narrow is None or narrow.high - narrow.low < wide.high - wide.low


def test_a_shape_alone_can_be_asked_for() -> None:
    whole = project()
    wheel = whole.wheels[0]
    caliper, rod = (s.name for s in whole.shapes)
    alone = verdict(whole, wheel, caliper)
    assert not isinstance(alone, str)
    assert rod not in alone.what


@pytest.mark.parametrize("asked", [0, 1, 5])
def test_a_cancelled_window_never_looks_finished(asked: int) -> None:
    own = samples()["1-track-18-own-blank"]
    answers = iter([False] * asked)
    with pytest.raises(StoppedError):
        window(own, own.wheels[0], Over.INSET, cancelled=lambda: next(answers, True))
