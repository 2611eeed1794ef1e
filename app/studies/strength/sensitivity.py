"""What a millimetre buys: stress and mass as a zone of the skin is moved out, by re-solving.

The skin of one zone away from the tyre is moved along its normal by a small step, running out at its ends;
the same mesh follows, so that two solutions differ by the step alone. Figures are per mm, for small changes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from app.studies.strength.inputs import Ready
from app.studies.strength.zones import forces_of, solved
from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags
from geometry.shape.section import ZONES, Side, Zone
from geometry.strength.elements import GAUSS, WEIGHTS, fields
from geometry.strength.harmonic import Pattern, places_of_stiffness, von_mises
from geometry.strength.loads import EXERCISED, Kind, TestLoad
from geometry.strength.mesh import LEAST_CORNER_DEG, Mesh
from geometry.strength.morph import Morph
from geometry.strength.sizes import STUDY
from geometry.strength.wheel import Body, bent, body_of

#: Step of the skin, mm, and the way over which it runs out at the ends of a zone.
STEP_MM, RUN_OUT_MM = 0.2, 8.0
#: Zones that may be moved: not the locked tyre side, nor what bears on the hub.
MOVED: tuple[Zone, ...] = tuple(z for z in ZONES if z not in (Zone.HUB_PAD, Zone.BORE))


@dataclass(frozen=True)
class Gain:
    """What 1 mm more metal on a zone does under one case.

    Attributes:
        zone: whose skin moves out, away from the tyre side.
        kg: mass per mm. mpa: change of the greatest stress of each exercised zone per mm, - is lower.
        best: the zone that gains most, None where none gains; best_mpa_kg: of it, MPa lower per kg.
    """

    zone: Zone
    kg: float
    mpa: Mapping[Zone, float]
    best: Zone | None
    best_mpa_kg: float


def gains(
    ready: Ready, case: TestLoad, progress: Callable[[int, int, str], None] = lambda done, of, words: None
) -> tuple[Gain, ...]:
    """Return what each zone's millimetre buys under a case, the most MPa per kg first.

    Args:
        ready: the wheel.
        case: rotating bending or a load at the rim.
        progress: told after each zone; what it raises ends the work.

    Raises:
        GeometryError: the case has no stress, or this section cannot be put to it.
    """
    if case.kind in (Kind.IMPACT_13, Kind.IMPACT_90):
        raise GeometryError(f"{case.name} has an energy and no stress; see the lips for its effect.")
    start = body_of(ready.outline, ready.metal, ready.spokes, STUDY)
    pattern = start.pattern(case.clamp)
    before, mass = _greatest(start, case, pattern, ready), mass_kg(start)
    morph = Morph(start.mesh)
    zones = [z for z in MOVED if _away_from_tyre(start, z).any()]
    out: list[Gain] = []
    for k, zone in enumerate(zones):
        progress(k, len(zones), zone.value)
        mesh = morph.by(start.mesh, *_ways(start, zone))
        if mesh.corner_deg.min() < LEAST_CORNER_DEG / 2.0 or mesh.flatness.min() <= 0.0:
            continue
        body = Body(mesh, ready.metal, start.smear, start.zone, start.side)
        after = _greatest(body, case, pattern, ready)
        change = {z: (after[z] - before[z]) / STEP_MM for z in before}
        kg = (mass_kg(body) - mass) / STEP_MM
        best = min(change, key=lambda z: change[z])
        lower = -change[best]
        out.append(Gain(zone, kg, change, best if lower > 0.0 else None, lower / kg if kg > 0.0 else 0.0))
    progress(len(zones), len(zones), "")
    return tuple(sorted(out, key=lambda g: -g.best_mpa_kg))


def mass_kg(body: Body) -> float:
    """Return the mass of a body from its elements, windows taken off, kg."""
    at = fields(body.mesh.points, body.mesh.triangles, GAUSS)
    share = body.smear.metal(places_of_stiffness(body.mesh))
    volume = float((at.area * at.r * WEIGHTS * share).sum()) * 2.0 * np.pi
    return volume * body.metal.density_kg_m3 * 1e-9


def _greatest(body: Body, case: TestLoad, pattern: Pattern, ready: Ready) -> dict[Zone, float]:
    """Return the greatest von Mises stress of each exercised zone, MPa."""
    if case.kind is Kind.BENDING:
        moved: Mapping[int, Array] = bent(body, (case.moment_nm or 0.0) * 1000.0, pattern)
    else:
        moved = pattern.solve(body.parts, forces_of(body, case, ready.tyre.outside_mm))
    solution = solved(body, moved)
    out: dict[Zone, float] = {}
    for k, zone in enumerate(ZONES):
        nodes = np.flatnonzero(body.zone_of_node == k)
        if len(nodes) and zone.value in EXERCISED[case.kind]:
            out[zone] = float(von_mises(solution.round_turn(nodes)).max())
    return out


def _away_from_tyre(body: Body, zone: Zone) -> Flags:
    """Return (b,) True for the edges of a zone that do not look at the tyre."""
    return np.asarray((body.zone == ZONES.index(zone)) & (body.side != list(Side).index(Side.TYRE)))


def _ways(body: Body, zone: Zone) -> tuple[Array, Array]:
    """Return (b, 2) ways of the skin's corners and middles, mm: out along the normal, running out."""
    mesh = body.mesh
    chosen = _away_from_tyre(body, zone)
    at = mesh.points[mesh.edges]
    along = at[:, 1] - at[:, 0]
    length = np.hypot(*along.T)
    out = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
    before = np.roll(out, 1, axis=0)
    corner = out + before
    corner /= np.maximum(np.linalg.norm(corner, axis=1), 1e-9)[:, None]
    share = _share(mesh, chosen, length)
    middle = (share + np.roll(share, -1)) / 2.0
    return STEP_MM * share[:, None] * corner, STEP_MM * (middle * chosen)[:, None] * out


def _share(mesh: Mesh, chosen: Flags, length: Array) -> Array:
    """Return (b,) share of the step at each corner: 0 at the ends of the zone's stretches, 1 inside them."""
    count = len(chosen)
    far = np.where(chosen & np.roll(chosen, 1), np.inf, 0.0)
    for _ in range(2):
        for k in range(count):
            far[k] = min(far[k], far[k - 1] + length[k - 1])
        for k in range(count - 1, -1, -1):
            far[k] = min(far[k], far[(k + 1) % count] + length[k])
    ease = np.clip(far / min(RUN_OUT_MM, max(float(far[np.isfinite(far)].max(initial=0.0)), 1e-9)), 0.0, 1.0)
    return np.asarray(ease * ease * (3.0 - 2.0 * ease))
