"""Stress of one case by zone: on two meshes, with its cycle, life and use of the metal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Array, Indices
from geometry.shape.section import ZONES, Zone
from geometry.strength.bend import cornered
from geometry.strength.harmonic import von_mises
from geometry.strength.life import Factors, Life, half_and_mean, life, stress_for
from geometry.strength.loads import EXERCISED, TestLoad
from geometry.strength.metals import Metal, SnCurve, SnTable
from geometry.strength.wheel import Body, inflated, seat_load, twisted

#: A figure that changes less between two meshes, the second twice as fine, is printed as converged.
CONVERGED = 0.015
#: The turn is looked at in so many steps.
_ANGLES = np.radians(np.arange(0.0, 360.0, 10.0))
#: Lives that 95 % of specimens reach: so many standard errors below the mean.
_LOWER = 1.645
#: A stress ratio this little below the data's counts as theirs.
_SAME_RATIO = 0.05
#: Exponent of 1 - R that ranks cycles where a curve has none (Smith, Watson, Topper, from memory).
_EXPONENT = 0.5
#: A mean in compression below this share of half the range is none.
_LEAST_MEAN = 1e-6


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

    @property
    def life_cycles(self) -> float | None:
        """Mean life at the test's first level, None where there is none."""
        return self.levels[0].life.mean if self.levels else None


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
    fine: Solved, coarse: Solved, case: TestLoad, metal: Metal, factors: Factors
) -> tuple[ZoneStress, ...]:
    """Return the zones of a wheel under a case, in the order of the list of zones.

    Args:
        fine: of the mesh whose figures are printed.
        coarse: of that half as fine.
        case: the load.
        metal: row of properties.
        factors: on fatigue strength.
    """
    return tuple(
        row for zone in ZONES if (row := _zone_row(zone, fine, coarse, case, metal, factors)) is not None
    )


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
    zone: Zone, fine: Solved, coarse: Solved, case: TestLoad, metal: Metal, factors: Factors
) -> ZoneStress | None:
    found, before = _worst(fine, zone), _worst(coarse, zone)
    if found is None or before is None:
        return None
    node, mises, stress = found
    z, r = fine.body.mesh.points[node].tolist()
    exercised = zone.value in EXERCISED[case.kind]
    growth = _growth(stress, before[2], metal.sn) if case.levels and exercised else 1.0
    converged = abs(mises - before[1]) <= CONVERGED * mises and abs(growth - 1.0) <= CONVERGED
    notes: list[str] = []
    if not converged:
        notes.append("not converged: a fillet or an edge of the clamp")
    if not exercised:
        notes.append("not exercised by this test")
    greatest = ratio = None
    levels: tuple[Level, ...] = ()
    use: float | None = mises / metal.yield_mpa if exercised else None
    if case.levels and exercised:
        greatest, ratio, held = worst_cycle(stress, metal.sn)
        if held:
            notes.append(held)
        if metal.sn is None:
            notes.append("no fatigue curve: use not known")
            use = None
        else:
            levels = tuple(
                Level(share, cycles, life(metal.sn, share * greatest, ratio, factors))
                for share, cycles in case.levels
            )
            notes += [level.life.note for level in levels if level.life.note][:1]
            uses = [_use(metal.sn, greatest * s, ratio, n, factors) for s, n in case.levels]
            known = [u for u in uses if u is not None]
            if len(known) < len(uses):
                notes.append("the data of the fatigue curve do not reach the cycles asked: use not known")
                use = None
            else:
                use = max([use or 0.0, *known])
            if metal.sn.standard_error == 0.0:
                notes.append("a table without scatter: use against its mean life")
    if mises > metal.yield_mpa:
        notes.append("above the yield strength: linear figures no longer hold")
    return ZoneStress(
        zone,
        case.name,
        mises,
        (z, r),
        before[1],
        converged,
        exercised,
        greatest,
        ratio,
        levels,
        use,
        "; ".join(notes),
        growth,
    )


def worst_cycle(stress: Array, curve: SnCurve | SnTable | None) -> tuple[float, float, str]:
    """Return greatest stress and ratio of the worst cycle of a zone, and what was left out.

    The worst cycle is that with the shortest life, of the greatest Smax (1 - R) ^ exponent: a smaller range
    about a mean in tension may be worse than a greater one about a mean in compression.
    """
    exponent = curve.exponent if isinstance(curve, SnCurve) else _EXPONENT
    ratios = curve.ratios if isinstance(curve, SnCurve) else (-1.0, 1.0)
    # Half a range and a mean are at most the greatest stress of the turn, so that what counts of a cycle is
    # at most twice it: places that cannot reach the most stressed one's need not be looked at.
    most = von_mises(stress).max(axis=0)
    first = _counted(*half_and_mean(stress[:, [int(most.argmax())]]), exponent, ratios)[0]
    half, mean = half_and_mean(stress[:, 2.0 * most >= first])
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
    if not curve.lives[0] <= wanted <= curve.lives[1] or ratio < low - _SAME_RATIO:
        return None
    return greatest / factors.all / stress_for(curve, wanted, min(max(ratio, low), high))
