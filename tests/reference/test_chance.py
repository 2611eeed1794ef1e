"""Share of states of the road that touch, against closed forms and shapely."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy.optimize import brentq
from shapely.affinity import affine_transform

from geometry.readings import chance
from geometry.readings.chance import _farthest_mm, _part, _shares, chance_of_contact, wilson
from geometry.readings.conditions import Pose, Spread, effects, together
from geometry.readings.rows import Held, Ring
from geometry.readings.stack import size_mm
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, NamedOutline, StayOut
from tests.reference.test_stack import ROUGH, barrel_row, flat, held_wheel
from tests.unit.readings.test_conditions import STILL


def test_chance_agrees_with_the_closed_form_of_a_linear_stack() -> None:
    """Radial run-out uniform within +-1 and a cut normal +-0.9 (sigma 0.3) against a gap of 1: integrated."""
    outline, held = flat(1.0)
    loose = replace(STILL, radial_run_out_mm=1.0, surface_mm=0.9)
    sigma, cut = 0.3, 0.9
    x = np.linspace(-cut, cut, 200_001)
    density = np.exp(-(x**2) / (2 * sigma**2))
    density /= np.trapezoid(density, x)
    # Contact when the run-out's radial shift, downwards, and the surface together take 1 or more.
    share = np.clip((1.0 - (1.0 - x)) / 2.0, 0.0, 1.0)
    exact = float(np.trapezoid(density * share, x))
    trials = 20_000
    found = chance_of_contact(outline, held, loose, "block", trials, seed=7)
    standard_error = math.sqrt(exact * (1.0 - exact) / trials)
    assert found.samples == trials
    assert abs(found.contacts / trials - exact) <= 3.0 * standard_error


def test_what_cannot_touch_at_worst_is_never_sampled_touching() -> None:
    outline, held = flat(2.0)
    bounded = replace(STILL, radial_run_out_mm=1.0, surface_mm=0.9, coating_mm=0.09, camber_deg=0.001)
    assert barrel_row(bounded, 2.0).worst_mm > 0.0
    assert chance_of_contact(outline, held, bounded, "block", 5000, seed=2).contacts == 0


def test_interval_of_a_share() -> None:
    """Wilson 1927, worked by hand: 0 of 10 gives 0 to z^2 / (10 + z^2) = 0.2775; 5 of 10 is symmetric."""
    low, high = wilson(0, 10)
    assert low == 0.0
    assert high == pytest.approx(1.96**2 / (10 + 1.96**2), abs=1e-4)
    low, high = wilson(5, 10)
    assert low + high == pytest.approx(1.0)
    assert Spread.NORMAL.value.startswith("normal")


def test_a_ring_that_reaches_farther_than_the_wheel_counts() -> None:
    """A ring body 300 mm out, 2 mm over a block: tilt is uniform, shapely says from which angle they meet."""
    outline, _ = flat(1.0)
    ring = Path.closed([(300.0, 202.0), (320.0, 202.0), (320.0, 210.0), (300.0, 210.0)])
    block = Path.closed([(300.0, 100.0), (320.0, 100.0), (320.0, 200.0), (300.0, 200.0)])
    outlines = (NamedOutline("at rest", tuple(Corner(*place) for place in block.points.tolist())),)
    held = Held(shapes=((StayOut("block", outlines), (block,)),), rings=(Ring("weights", ring),))
    tilts = replace(STILL, camber_deg=0.5, bearing_z_mm=-45.0)

    def overlap(angle_deg: float) -> float:
        """Positive: the overlap's depth; negative: the distance."""
        cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
        moved = affine_transform(
            shapely.Polygon(ring.points), [cos, -sin, sin, cos, -45.0 + 45.0 * cos, 45.0 * sin]
        )
        return math.sqrt(moved.intersection(shapely.Polygon(block.points)).area) - moved.distance(
            shapely.Polygon(block.points)
        )

    assert overlap(0.5) < 0.0 < overlap(-0.5)
    meets_deg = brentq(overlap, -0.5, 0.0)
    exact = (0.5 + meets_deg) / 1.0
    trials = 4000
    found = chance_of_contact(outline, held, tilts, "block", trials)
    assert abs(found.contacts / trials - exact) <= 3.0 * math.sqrt(exact * (1.0 - exact) / trials)


def test_no_state_that_touches_is_left_unread(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counts where every state is read, whatever the bound says of it, are the same."""
    outline, held = held_wheel()
    ring = Ring("weights", Path.closed([(-60.0, 214.0), (-40.0, 214.0), (-40.0, 217.0), (-60.0, 217.0)]))
    some = []
    for conditions in (ROUGH, replace(ROUGH, radial_run_out_mm=4.0, lip_mm=0.5)):
        for name in (shape.name for shape, _ in held.shapes):
            for with_ring in (held, replace(held, rings=(ring,))):
                found = chance_of_contact(outline, with_ring, conditions, name, 150, seed=5)
                with monkeypatch.context() as patch:
                    patch.setattr(
                        chance, "_farthest_mm", lambda _found, shares, _reach: np.full(len(shares), np.inf)
                    )
                    assert chance_of_contact(outline, with_ring, conditions, name, 150, seed=5) == found
                some.append(found.contacts)
    assert min(some) == 0
    assert any(0 < contacts < 150 for contacts in some)


def test_what_is_cancelled_counts_the_states_that_were_decided() -> None:
    """A surface of +-2 against a gap of 1: about a third of the states touch."""
    outline, held = flat(1.0)
    loose = replace(STILL, surface_mm=2.0)
    asked = []

    def cancelled() -> bool:
        asked.append(1)
        return len(asked) > 40

    found = chance_of_contact(outline, held, loose, "block", 1000, cancelled=cancelled)
    assert 40 <= found.samples < 1000
    alone = chance_of_contact(outline, held, loose, "block", found.samples)
    assert (alone.samples, alone.contacts) == (found.samples, found.contacts)
    assert found.contacts > 0


def test_the_bound_of_many_states_is_that_of_each() -> None:
    """What is left unread rests on it: Pose.farthest_mm of each state, and the largest loss of a zone."""
    _, held = held_wheel()
    shape, positions = held.shapes[0]
    found = effects(replace(ROUGH, lip_mm=0.2), shape, size_mm(shape, positions), 5.0)
    assert any(e.zones for e in found)
    assert {e.spread for e in found} == set(Spread)
    shares = _shares(found, 200, np.random.default_rng(3))
    one_way = [k for k, e in enumerate(found) if e.spread is Spread.ONE_WAY]
    assert shares.min() < 0.0 <= shares[:, one_way].min()
    assert np.abs(shares).max() <= 1.0
    for far, state in zip(_farthest_mm(found, shares, 260.0), shares.tolist(), strict=True):
        poses = [(e, _part(e.poses[0], share)) for e, share in zip(found, state, strict=True)]
        pose = together(tuple(p for e, p in poses if not e.zones))
        local = max(p.loss_mm for e, p in poses if e.zones)
        assert far == pytest.approx(pose.farthest_mm(260.0) + local, rel=1e-12)
    assert _farthest_mm((), np.empty((3, 0)), 260.0).tolist() == [Pose().farthest_mm(260.0)] * 3
