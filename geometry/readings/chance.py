"""Share of the states of the road in which a wheel touches a shape, by drawing states at random."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.readings.conditions import Conditions, Effect, Pose, Spread, effects, together
from geometry.readings.rows import Held
from geometry.readings.stack import Body, Least, reach_mm, reader, ring_body, size_mm
from geometry.shape.curve import Array
from geometry.shape.section import Outline


@dataclass(frozen=True)
class Chance:
    """Share of sampled states in which the areas touch.

    Attributes:
        samples, contacts: counted. low, high: of the 95 % interval (Wilson); it is sampling error only.
        rests_on: the guessed inputs.
    """

    samples: int
    contacts: int
    low: float
    high: float
    rests_on: tuple[str, ...]


def chance_of_contact(
    outline: Outline,
    held: Held,
    conditions: Conditions,
    shape: str,
    samples: int = 2000,
    seed: int = 1,
    cancelled: Callable[[], bool] | None = None,
) -> Chance:
    """Return the share of states of the road in which a wheel touches a shape.

    Every effect is drawn independently between its limits, as its Spread says. A state is read exactly where
    it could touch at all; elsewhere the farthest that any place moves is less than the gap as drawn.

    Raises:
        KeyError: no such shape is held.
    """
    stay_out, positions = next(((s, p) for s, p in held.shapes if s.name == shape), (None, ()))
    if stay_out is None:
        raise KeyError(shape)
    found = effects(conditions, stay_out, size_mm(stay_out, positions), held.spacer_mm)
    body = Body(outline.path, outline.zone, outline.skin, "")
    bodies = [body, *(ring_body(ring) for ring in held.rings)]
    readers = [reader(b, positions) for b in bodies]
    nominal = [min(least.mm for least in read(Pose(), "").values()) for read in readers]
    shares = _shares(found, samples, np.random.default_rng(seed))
    reach = max(reach_mm(b.path, conditions.bearing_z_mm) for b in bodies)
    far = _farthest_mm(found, shares, reach)
    contacts, done = 0, samples
    for k in np.flatnonzero(far >= min(nominal)).tolist():
        if cancelled is not None and cancelled():
            done = k
            break
        drawn = [(e, _part(e.poses[0], share)) for e, share in zip(found, shares[k].tolist(), strict=True)]
        pose = together(tuple(p for e, p in drawn if not e.zones))
        contacts += any(
            near <= far[k] and _touches(read, pose, drawn, b)
            for read, near, b in zip(readers, nominal, bodies, strict=True)
        )
    low, high = wilson(contacts, done)
    return Chance(done, contacts, low, high, tuple(e.words for e in found))


def _touches(
    read: Callable[[Pose, str], dict[int, Least]],
    pose: Pose,
    drawn: list[tuple[Effect, Pose]],
    body: Body,
) -> bool:
    for z, least in read(pose, "").items():
        local = 0.0 if body.name else sum(p.loss_mm for e, p in drawn if e.zones and e.acts_on(z))
        if least.mm - local <= 0.0:
            return True
    return False


def _shares(found: Sequence[Effect], samples: int, rng: np.random.Generator) -> Array:
    """Return (samples, m): how much of each of m effects' first limit acts in each state, as they spread."""

    def drawn(spread: Spread) -> float:
        if spread is Spread.ONE_WAY:
            return rng.random()
        if spread is Spread.UNIFORM:
            return 2.0 * rng.random() - 1.0
        share = rng.normal(0.0, 1.0 / 3.0)
        while abs(share) > 1.0:
            share = rng.normal(0.0, 1.0 / 3.0)
        return share

    spreads = [effect.spread for effect in found]
    return np.array([[drawn(spread) for spread in spreads] for _ in range(samples)]).reshape(
        samples, len(spreads)
    )


def _part(limit: Pose, share: float) -> Pose:
    """Return the pose a share of the way from the drawn place to a limit."""
    return Pose(
        limit.tilt_deg * share,
        limit.centre_z_mm,
        limit.dz_mm * share,
        limit.dr_mm * share,
        1.0 + (limit.scale - 1.0) * share,
        limit.loss_mm * share,
    )


def _farthest_mm(found: Sequence[Effect], shares: Array, reach_mm: float) -> Array:
    """Return (n,) how far any place moves in each state, at most, and what is taken off: Pose.farthest_mm."""
    everywhere = np.array([not e.zones for e in found], dtype=bool)
    first = [e.poses[0] for e in found]
    acting = shares * everywhere

    def added(values: Iterable[float]) -> Array:
        return np.asarray(acting @ np.fromiter(values, float, len(first)))

    tilt_deg = added(p.tilt_deg for p in first)
    scale = np.prod(1.0 + acting * np.array([p.scale - 1.0 for p in first]), axis=1)
    moved = np.hypot(added(p.dz_mm for p in first), added(p.dr_mm for p in first))
    local = np.where(everywhere, 0.0, shares * np.array([p.loss_mm for p in first]))
    return np.asarray(
        2.0 * np.sin(np.radians(np.abs(tilt_deg)) / 2.0) * reach_mm * scale
        + moved
        + np.abs(scale - 1.0) * reach_mm
        + added(p.loss_mm for p in first)
        + local.max(axis=1, initial=0.0)
    )


def wilson(hits: int, trials: int) -> tuple[float, float]:
    """Return the 95 % score interval of a share (Wilson 1927); 0 to 1 without a trial."""
    if not trials:
        return 0.0, 1.0
    z, p = 1.959963984540054, hits / trials
    middle = p + z * z / (2.0 * trials)
    half = z * math.sqrt(p * (1.0 - p) / trials + z * z / (4.0 * trials * trials))
    scale = 1.0 + z * z / trials
    return max((middle - half) / scale, 0.0), min((middle + half) / scale, 1.0)
