"""Stress of one case by zone: on two meshes, with its cycle, life and use of the metal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.shape.curve import Array, Indices
from geometry.shape.section import ZONES, Zone
from geometry.strength.bend import cornered
from geometry.strength.harmonic import von_mises
from geometry.strength.life import SAME_RATIO, Factors, Life, cycles_words, half_and_mean, life, stress_for
from geometry.strength.loads import EXERCISED, TestLoad
from geometry.strength.metals import Metal, SnCurve, SnTable
from geometry.strength.rim_loads import inflated, seat_load, twisted
from geometry.strength.wheel import Body

#: A figure that changes less between two meshes, the second twice as fine, is printed as converged.
CONVERGED = 0.015
#: The same for a mean life, which moves some ten times as much as its stress.
LIFE_CONVERGED = 0.02
#: The turn is looked at in so many steps.
_ANGLES = np.radians(np.arange(0.0, 360.0, 10.0))
#: Lives that 95 % of specimens reach: so many standard errors below the mean.
_LOWER = 1.645
#: Exponent of 1 - R that ranks cycles where a curve has none (Smith, Watson, Topper, from memory).
_EXPONENT = 0.5
#: A mean in compression below this share of half the range is none.
_LEAST_MEAN = 1e-6

#: What notes say of stress that single spokes add, and of lives that move with the mesh.
SINGLE_SPOKES = "by single spokes"
LIFE_MOVES = "life moves"


@dataclass(frozen=True)
class Level:
    """One load level of a test: share of the load, cycles asked, and life at it."""

    share: float
    cycles: float
    life: Life

    @property
    def damage(self) -> float | None:
        """Cycles asked over the mean life."""
        return None if self.life.mean is None else self.cycles / self.life.mean


@dataclass(frozen=True)
class ZoneStress:
    """What a case does to a zone.

    Attributes:
        von_mises_mpa: greatest round the turn, at (z, r) `at`; before_mpa: on the mesh half as fine.
        converged: the two differ by less than CONVERGED.
        exercised: the test judges this zone at all; else no use and no life are given.
        greatest_mpa, ratio: of the worst cycle; None for a load that does not repeat.
        levels: life at each level of the test.
        use: greatest of stress over yield and, for a test with cycles, stress over that at which 95 % of
            specimens last as long; None where the zone is not exercised or the data do not reach.
        note: plain words, empty where there is nothing to say.
        growth: of the cycle that decides its life, from the coarser mesh to the finer.
        beams_mpa: by how much what counts for use, cycle and life is above `von_mises_mpa`, since spokes as
            single beams show more at their roots than the section does; 0 elsewhere.
        lives_before: mean life at each level on the mesh half as fine.
        above_yield: an exercised zone's stress is over the yield strength; so also where `use` is not known.
    """

    zone: Zone
    case: str
    von_mises_mpa: float
    at: tuple[float, float]
    before_mpa: float
    converged: bool
    exercised: bool
    greatest_mpa: float | None
    ratio: float | None
    levels: tuple[Level, ...]
    use: float | None
    note: str
    growth: float = 1.0
    beams_mpa: float = 0.0
    lives_before: tuple[float | None, ...] = ()
    above_yield: bool = False

    @property
    def life_converged(self) -> bool:
        """True where stress is converged and both meshes give the same lives within LIFE_CONVERGED."""
        pairs = zip((level.life.mean for level in self.levels), self.lives_before, strict=True)
        return self.converged and all(_steady(now, before) for now, before in pairs)

    @property
    def life_cycles(self) -> float | None:
        """Mean life at the test's first level, None where there is none."""
        return self.levels[0].life.mean if self.levels else None

    @property
    def life_is_bound(self) -> bool:
        """True where that life is only the end of the data: the metal lasts longer."""
        return bool(self.levels) and "beyond" in self.levels[0].life.note


@dataclass(frozen=True, eq=False)
class Solved:
    """A body under a case: displacements and stress by harmonic."""

    body: Body
    moved: Mapping[int, Array]
    stress: Mapping[int, Array]

    def round_turn(self, nodes: Indices) -> Array:
        """Return (a, m k, 6) stresses of k nodes round the turn, MPa: all that each may see, k after k."""
        return self.body.round_turn(self.stress, _ANGLES, nodes)


def solved(body: Body, moved: Mapping[int, Array]) -> Solved:
    """Return a body that is displaced so, with its stress."""
    return Solved(body, moved, {n: body.recovery.stress(n, u) for n, u in moved.items()})


def forces_of(body: Body, case: TestLoad, tyre_outside_mm: float) -> dict[int, Array]:
    """Return nodal forces of a case that bolts the hub pad, by harmonic.

    Raises:
        GeometryError: the section lacks what the case loads.
    """
    out: dict[int, Array] = {}
    c = case.constants
    if case.force_n is not None and case.lateral_n is not None:
        half_deg = c["theta0"].value
        _add(out, cornered(body, case.force_n, case.lateral_n, case.hub_moment_nm or 0.0, half_deg))
    elif case.force_n is not None:
        _add(out, seat_load(body, case.force_n, c["theta0"].value))
    if case.torque_nm is not None:
        _add(out, twisted(body, case.torque_nm * 1000.0))
    if case.pressure_mpa is not None:
        bead = c["bead"].value if "bead" in c else 0.0
        _add(out, inflated(body, case.pressure_mpa, tyre_outside_mm, bead))
    return out


def _add(to: dict[int, Array], more: Mapping[int, Array]) -> None:
    for n, f in more.items():
        to[n] = to[n] + f if n in to else f


def zone_rows(
    fine: Solved,
    coarse: Solved,
    case: TestLoad,
    metal: Metal,
    factors: Factors,
    more: Array | None = None,
) -> tuple[ZoneStress, ...]:
    """Return the zones of a wheel under a case, in the order of the list of zones.

    Args:
        fine: of the mesh whose figures are printed.
        coarse: of that half as fine.
        case: the load.
        metal: row of properties.
        factors: on fatigue strength.
        more: (n,) stress in MPa that is added at the nodes of the fine mesh for use and life, since another
            model shows more there: von Mises of a sum is at most the sum of both.
    """
    none = np.zeros(len(fine.body.mesh.points))
    rows = (_zone_row(z, fine, coarse, case, metal, factors, none if more is None else more) for z in ZONES)
    return tuple(row for row in rows if row is not None)


def _worst(solution: Solved, zone: Zone) -> tuple[int, float, Array] | None:
    """Return node, greatest von Mises stress and (a, m k, 6) stresses of a zone; None without nodes."""
    nodes = np.flatnonzero(solution.body.zone_of_node == ZONES.index(zone))
    if not len(nodes):
        return None
    stress = solution.round_turn(nodes)
    mises = von_mises(stress).max(axis=0)
    at = int(mises.argmax())
    return int(nodes[at % len(nodes)]), float(mises[at]), stress


def _zone_row(
    zone: Zone,
    fine: Solved,
    coarse: Solved,
    case: TestLoad,
    metal: Metal,
    factors: Factors,
    more: Array,
) -> ZoneStress | None:
    found, before = _worst(fine, zone), _worst(coarse, zone)
    if found is None or before is None:
        return None
    node, mises, stress = found
    z, r = fine.body.mesh.points[node].tolist()
    exercised = zone.value in EXERCISED[case.kind]
    growth = _growth(stress, before[2], metal.sn) if case.levels and exercised else 1.0
    converged = abs(mises - before[1]) <= CONVERGED * mises and abs(growth - 1.0) <= CONVERGED
    nodes = np.flatnonzero(fine.body.zone_of_node == ZONES.index(zone))
    added = np.tile(more[nodes], stress.shape[1] // len(nodes))
    judged = float((von_mises(stress).max(axis=0) + added).max())
    notes: list[str] = []
    if not converged:
        notes.append("not converged, a fillet or an edge of the clamp")
    if not exercised:
        notes.append("not exercised by this test")
    elif judged > mises:
        notes.append(
            f"use and life by single spokes, {judged:.1f} MPa: they show more at their roots than the section"
            if case.levels
            else f"use by single spokes, {judged:.1f} MPa: they show more at their roots than the section"
        )
    cycle: tuple[float, float] | None = None
    levels: tuple[Level, ...] = ()
    lives: tuple[float | None, ...] = ()
    use: float | None = judged / metal.yield_mpa if exercised else None
    if case.levels and exercised:
        *cycle_, held = worst_cycle(stress, metal.sn, added)
        cycle = cycle_[0], cycle_[1]
        notes += [held] if held else []
        levels, by_life, said = _lives(cycle, case, metal.sn, factors)
        notes += said
        use = None if by_life is None or use is None else max(use, by_life)
        moved = cycle[0] / growth if growth > 0.0 else 0.0
        lives = tuple(level.life.mean for level in _lives((moved, cycle[1]), case, metal.sn, factors)[0])
    if judged > metal.yield_mpa:
        notes.append("above the yield strength: linear figures no longer hold")
    row = ZoneStress(
        zone,
        case.name,
        mises,
        (z, r),
        before[1],
        converged,
        exercised,
        cycle[0] if cycle is not None else None,
        cycle[1] if cycle is not None else None,
        levels,
        use,
        "",
        growth,
        judged - mises if exercised else 0.0,
        lives,
        exercised and judged > metal.yield_mpa,
    )
    return replace(row, note="; ".join([*notes, *_band(row)]))


def _lives(
    cycle: tuple[float, float], case: TestLoad, curve: SnCurve | SnTable | None, factors: Factors
) -> tuple[tuple[Level, ...], float | None, list[str]]:
    """Return life at each level, greatest use of the fatigue strength or None, and what is to be said.

    Args:
        cycle: greatest stress in MPa of the worst cycle under the whole load, and its ratio.
        case: the test.
        curve: of the metal.
        factors: on fatigue strength.
    """
    if curve is None:
        return (), None, ["no fatigue curve: use not known"]
    greatest, ratio = cycle
    levels = tuple(
        Level(share, cycles, life(curve, share * greatest, ratio, factors)) for share, cycles in case.levels
    )
    notes = [level.life.note for level in levels if level.life.note][:1]
    uses = [_use(curve, greatest * share, ratio, cycles, factors) for share, cycles in case.levels]
    known = [u for u in uses if u is not None]
    if len(known) < len(uses):
        notes.append("the data of the fatigue curve do not reach the cycles asked: use not known")
    if curve.standard_error == 0.0:
        notes.append("a table without scatter: use against its mean life")
    return levels, max(known, default=0.0) if len(known) == len(uses) else None, notes


def _band(row: ZoneStress) -> list[str]:
    """Return how mean lives move with the mesh, level by level, in words; nothing where they do not."""
    if row.life_converged or not row.levels:
        return []
    said = [
        f"{cycles_words(before)} \u2192 {cycles_words(now)}"
        for level, before in zip(row.levels, row.lives_before, strict=True)
        if (now := level.life.mean) is not None and before is not None and not _steady(now, before)
    ]
    if not said:
        return []
    moved = ", ".join(said)
    return [f"life moves: {moved} cycles as the mesh is halved, and a finer one may give less"]


def _steady(now: float | None, before: float | None) -> bool:
    """Return True for lives of two meshes that are alike, or that neither mesh has."""
    if now is None or before is None:
        return now is before
    return abs(now - before) <= LIFE_CONVERGED * now


def worst_cycle(
    stress: Array, curve: SnCurve | SnTable | None, more: Array | None = None
) -> tuple[float, float, str]:
    """Return greatest stress and ratio of the worst cycle of a zone, and what was left out.

    The worst cycle is that with the shortest life, of the greatest Smax (1 - R) ^ exponent: a smaller range
    about a mean in tension may be worse than a greater one about a mean in compression.

    Args:
        stress: (a, n, 6) round the turn, MPa.
        curve: of the metal.
        more: (n,) MPa that is added to half of each range; None for nothing.
    """
    more = np.zeros(stress.shape[1]) if more is None else more
    exponent = curve.exponent if isinstance(curve, SnCurve) else _EXPONENT
    ratios = curve.ratios if isinstance(curve, SnCurve) else (-1.0, 1.0)
    # Half a range and a mean are at most the greatest stress of the turn, so that what counts of a cycle is
    # at most twice it: places that cannot reach the most stressed one's need not be looked at.
    most = von_mises(stress).max(axis=0) + more
    top_at = [int(most.argmax())]
    half, mean = half_and_mean(stress[:, top_at])
    first = _counted(half + more[top_at], mean, exponent, ratios)[0]
    chosen = 2.0 * most >= first
    half, mean = half_and_mean(stress[:, chosen])
    half = half + more[chosen]
    at = int(_counted(half, mean, exponent, ratios).argmax())
    # A mean in compression lengthens life; it is left out rather than counted.
    pull, top = max(float(mean[at]), 0.0), max(float(mean[at]), 0.0) + float(half[at])
    held = "mean stress in compression left out" if mean[at] < -_LEAST_MEAN * half[at] else ""
    return top, (pull - float(half[at])) / top if top > 0.0 else -1.0, held


def _growth(fine: Array, coarse: Array, curve: SnCurve | SnTable | None) -> float:
    """Return what counts for life of the worst cycle on the finer mesh over that on the coarser."""
    exponent = curve.exponent if isinstance(curve, SnCurve) else _EXPONENT
    now, before = (
        top * (1.0 - ratio) ** exponent for top, ratio, _ in (worst_cycle(s, curve) for s in (fine, coarse))
    )
    return now / before if before > 0.0 else 1.0


def _counted(half: Array, mean: Array, exponent: float, ratios: tuple[float, float]) -> Array:
    """Return (n,) stress in MPa that counts for life, Smax (1 - R) ^ exponent, of half ranges and means."""
    top = np.maximum(mean, 0.0) + half
    share = 2.0 * half / np.where(top > 0.0, top, 1.0)
    return np.asarray(top * np.clip(share, 1.0 - ratios[1], 1.0 - ratios[0]) ** exponent)


def _use(
    curve: SnCurve | SnTable, greatest: float, ratio: float, cycles: float, factors: Factors
) -> float | None:
    """Return stress over that at which 95 % of specimens last the cycles; None where the data do not reach.

    A stress ratio above the data's is taken as theirs, which is the safe side; one below them is not.
    """
    wanted = cycles * 10.0 ** (_LOWER * curve.standard_error)
    low, high = curve.ratios
    if not curve.lives[0] <= wanted <= curve.lives[1] or ratio < low - SAME_RATIO:
        return None
    return greatest / factors.all / stress_for(curve, wanted, min(max(ratio, low), high))
