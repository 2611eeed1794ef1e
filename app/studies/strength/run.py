"""The whole screening of one wheel: cases, zones, spokes, bolts, lips; long work that can be cancelled."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from app.project.caution import CAUTION
from app.project.project import Project
from app.project.strength import StrengthSettings
from app.project.wheel import Wheel
from app.studies.strength.agree import SAME_LOAD, Carried, carried, carried_at_rim
from app.studies.strength.calibration import (
    Calibration,
    Unread,
    calibration,
    in_order,
    sample_of,
    speaks_for,
    unread,
)
from app.studies.strength.cases import cases_of, factors_of, has_stress
from app.studies.strength.inputs import Ready, ready
from app.studies.strength.spoked import Spoked, Turned, more_of_torque, spoked, spoked_at_rim, turned
from app.studies.strength.zones import CONVERGED, Solved, ZoneStress, forces_of, solved, zone_rows
from geometry.errors import GeometryError
from geometry.shape.curve import Array
from geometry.shape.section import Zone
from geometry.strength.harmonic import solve_all, von_mises
from geometry.strength.life import Factors
from geometry.strength.lip import Lip, push, pushed
from geometry.strength.loads import Clamp, Kind, TestLoad
from geometry.strength.ringed import Ringed
from geometry.strength.sizes import STUDY
from geometry.strength.spokes import spoke_of
from geometry.strength.wheel import Body, bent, body_of

#: Told how far the work is: done, of how many, what is next. Raises to stop it.
Progress = Callable[[int, int, str], None]

#: Moment that bending is solved for once, N mm.
_UNIT_NMM = 1e6


def _quiet(done: int, of: int, words: str) -> None:
    """Say nothing."""


@dataclass(frozen=True)
class Series:
    """How many harmonics a load was summed over, and what the later half of them changes."""

    case: str
    harmonics: int
    change: float


@dataclass(frozen=True, eq=False)
class Screening:
    """What was found of a wheel.

    Attributes:
        ready: what it rests on. cases: every load, impacts too. zones: of those that have a stress.
        spoked: of each case that loads spokes. turned: of a braking torque. lips: inner and outer.
        moving_lips: those whose load and energy to first yield are not converged.
        series: of each load on an arc.
        solved: by case name, for pictures: the fine mesh.
        calibrations: what recorded tests of its family say, to be printed with every figure.
        unread: recorded tests of its family that give no factor, those that failed and still stand first.
        notes: what a reader must know; missing: cases left out, with the reason.
    """

    ready: Ready
    cases: tuple[TestLoad, ...]
    zones: tuple[ZoneStress, ...]
    spoked: tuple[Spoked, ...]
    turned: tuple[Turned, ...]
    series: tuple[Series, ...]
    lips: tuple[Lip, ...]
    solved: dict[str, Solved]
    factors: Factors
    notes: tuple[str, ...]
    missing: tuple[str, ...]
    calibrations: tuple[Calibration, ...] = ()
    unread: tuple[Unread, ...] = ()
    moving_lips: tuple[Zone, ...] = ()
    caution: str = CAUTION

    def zone(self, case: str, zone: Zone) -> ZoneStress | None:
        """Return one row, None where there is none."""
        return next((z for z in self.zones if z.case == case and z.zone is zone), None)

    def worst(self) -> ZoneStress | None:
        """Return the row with the greatest use."""
        used = [z for z in self.zones if z.use is not None]
        return max(used, key=lambda z: z.use or 0.0, default=None)


class _Bodies:
    """Both meshes of a wheel, the finer first, and everything solved on them."""

    def __init__(self, ready: Ready) -> None:
        self.both = tuple(
            body_of(ready.outline, ready.metal, ready.spokes, rule) for rule in (STUDY.halved(), STUDY)
        )
        self.ready = ready
        self._unit: dict[Clamp, list[dict[int, Array]]] = {}
        self._carried: dict[Clamp, tuple[Carried, Carried]] = {}

    def bent(self, case: TestLoad) -> list[Solved]:
        """Return both meshes under a moment; the moments of one clamp are multiples of one another."""
        if case.clamp not in self._unit:
            self._unit[case.clamp] = [bent(b, _UNIT_NMM, b.pattern(case.clamp)) for b in self.both]
        share = (case.moment_nm or 0.0) * 1000.0 / _UNIT_NMM
        units = self._unit[case.clamp]
        return [
            solved(b, {n: share * u for n, u in m.items()}) for b, m in zip(self.both, units, strict=True)
        ]

    def carried(self, case: TestLoad) -> Carried | None:
        """Return what spokes carry of a moment that `bent` was asked for; None for a full disc.

        Raises:
            GeometryError: spokes that reach no hub or no rim.
        """
        r = self.ready
        if r.spokes is None:
            return None
        if case.clamp not in self._carried:
            spoke, path, units = spoke_of(r.outline.path, r.spokes), r.outline.path, self._unit[case.clamp]
            fine, coarse = (
                carried(path, spoke, b, m, case.clamp, _UNIT_NMM)
                for b, m in zip(self.both, units, strict=True)
            )
            self._carried[case.clamp] = fine, coarse
        share = (case.moment_nm or 0.0) * 1000.0 / _UNIT_NMM
        mine, coarser = (one.times(share) for one in self._carried[case.clamp])
        return mine.marked(coarser, CONVERGED)

    @cached_property
    def _ringed(self) -> tuple[Ringed, ...]:
        r = self.ready
        if r.spokes is None:
            return ()
        spoke = spoke_of(r.outline.path, r.spokes)
        return tuple(Ringed(b, spoke) for b in self.both)

    def carried_at_rim(
        self, moved: Sequence[dict[int, Array]], load: Callable[[Body], dict[int, Array]]
    ) -> Carried | None:
        """Return what spokes carry of a load at the rim that moved both meshes; None for a full disc.

        Raises:
            GeometryError: fewer than three spokes, or spokes that reach no hub or no rim.
        """
        if not self._ringed:
            return None
        fine, coarse = (
            carried_at_rim(self.ready.outline.path, b, m, ringed, load(b))
            for b, m, ringed in zip(self.both, moved, self._ringed, strict=True)
        )
        return fine.marked(coarse, CONVERGED)

    def bolted(
        self, loads: Mapping[str, Callable[[Body], dict[int, Array]]]
    ) -> list[dict[str, dict[int, Array]]]:
        """Return displacements of all loads with the hub pad bolted, of both meshes."""
        return [
            solve_all(b.pattern(Clamp.HUB_PAD), b.parts, {name: load(b) for name, load in loads.items()})
            for b in self.both
        ]


def screen(
    project: Project, wheel: Wheel, settings: StrengthSettings, progress: Progress = _quiet
) -> Screening:
    """Return the screening of a wheel.

    A case that this section cannot be put to is left out and named with its reason.

    Args:
        project: that holds it.
        wheel: to be screened.
        settings: cases, constants, factors.
        progress: told after each step; what it raises ends the work.

    Raises:
        GeometryError: load, tyre, metal or section cannot be used, or no case is left.
    """
    found = _screened(project, wheel, settings, progress)
    learned, without = _calibrations(project, wheel, settings, found)
    return replace(found, calibrations=learned, unread=without)


def _calibrations(
    project: Project, wheel: Wheel, settings: StrengthSettings, own: Screening
) -> tuple[tuple[Calibration, ...], tuple[Unread, ...]]:
    """Return what the records that speak for a wheel say, and those that give no factor."""
    found: list[Calibration] = []
    without: list[Unread] = []
    for record in project.test_records:
        if not speaks_for(record, wheel):
            continue
        try:
            tested = sample_of(record, wheel, project)
            same = tested == wheel and any(c.key == record.case for c in own.cases)
            alone = replace(settings, cases=(record.case,))
            held = own if same else _screened(project, tested, alone, _quiet, lips=False)
            found.append(calibration(record, held, project))
        except GeometryError as error:
            without.append(unread(record, str(error).removesuffix("."), wheel, project))
    return in_order(found), tuple(sorted(without, key=lambda u: not u.failed))


def _screened(
    project: Project,
    wheel: Wheel,
    settings: StrengthSettings,
    progress: Progress,
    *,
    lips: bool = True,
) -> Screening:
    start = ready(project, wheel)
    cases = cases_of(start, settings)
    if not cases:
        raise GeometryError("No load case is in use; choose at least one in the settings of strength.")
    factors = factors_of(settings)
    _ = factors.all
    bending = [c for c in cases if c.kind is Kind.BENDING]
    steps = len(bending) + 3
    progress(0, steps, "mesh")
    bodies = _Bodies(start)
    fine = bodies.both[0]
    _ = fine.pad
    rows: dict[str, tuple[ZoneStress, ...]] = {}
    by_spokes: list[Spoked] = []
    found: dict[str, Solved] = {}
    missing: list[str] = list(start.short)
    for k, case in enumerate(bending):
        progress(k + 1, steps, case.name)
        try:
            both = bodies.bent(case)
        except GeometryError as error:
            missing.append(f"{case.name}: {error}")
            continue
        spokes = spoked(start, case, both[0], bodies.carried)
        more = spokes.carried.missing_mpa(fine) if spokes.carried is not None else None
        rows[case.name] = zone_rows(both[0], both[1], case, start.metal, factors, more)
        found[case.name] = both[0]
        by_spokes.append(spokes)
    progress(len(bending) + 1, steps, "loads at the rim")
    bolted = {c.name: c for c in cases if has_stress(c) and c.kind is not Kind.BENDING}
    loads, pushed_at = _loads(fine, bolted, start, missing, lips=lips)
    moved = bodies.bolted(loads)
    torques = {c.name: turned(start, c) for c in cases if c.torque_nm is not None}
    for name, case in bolted.items():
        if name in loads:
            both = [solved(b, m[name]) for b, m in zip(bodies.both, moved, strict=True)]
            more = more_of_torque(start, both[0], torques[name]) if name in torques else None
            held = spoked_at_rim(case, partial(bodies.carried_at_rim, [m[name] for m in moved], loads[name]))
            if held is not None:
                by_spokes.append(held)
                if held.carried is not None:
                    added = held.carried.missing_mpa(fine)
                    more = added if more is None else np.maximum(more, added)
            rows[name] = zone_rows(both[0], both[1], case, start.metal, factors, more)
            found[name] = both[0]
    missing += [_apart(one) for one in by_spokes if one.carried is not None and not one.carried.agrees]
    progress(steps - 1, steps, "lips")
    pushes: list[Lip] = []
    moving: list[Zone] = []
    notes = list(start.notes)
    for lip in pushed_at:
        try:
            both_lips = [
                pushed(b, lip, m[lip.value], start.outline.path, settings.dent_mm)
                for b, m in zip(bodies.both, moved, strict=True)
            ]
            pushes.append(both_lips[0])
            said = _lip_note(*both_lips)
            notes += said
            moving += [lip] if said else []
        except GeometryError as error:
            missing.append(f"{lip}: {error}")
    progress(steps, steps, "")
    series = tuple(
        _series(c.name, found[c.name]) for c in cases if c.name in found and len(found[c.name].stress) > 2
    )
    zones = tuple(row for case in cases for row in rows.get(case.name, ()))
    return Screening(
        start,
        cases,
        zones,
        tuple(by_spokes),
        tuple(torques.values()),
        series,
        tuple(pushes),
        found,
        factors,
        tuple(notes),
        tuple(missing),
        moving_lips=tuple(moving),
    )


def _apart(one: Spoked) -> str:
    """Return what is said where both models of the spokes do not carry the same load."""
    most = max(total.off for total in one.sums)
    return (
        f"{one.case}: section and beams do not carry the same load, they differ by {100.0 * most:.2g} % of"
        f" it; within {100.0 * SAME_LOAD:g} % would be the same"
    )


def _lip_note(fine: Lip, coarse: Lip) -> list[str]:
    """Return what is to be said where a lip's peak still moves with the mesh."""
    if abs(fine.peak_mpa_kn - coarse.peak_mpa_kn) <= CONVERGED * fine.peak_mpa_kn:
        return []
    return [
        f"{fine.lip}: load and energy to first yield are not converged, {fine.yield_n:.0f} N against"
        f" {coarse.yield_n:.0f} N on a mesh half as fine"
    ]


def _loads(
    body: Body, cases: Mapping[str, TestLoad], ready: Ready, missing: list[str], *, lips: bool
) -> tuple[dict[str, Callable[[Body], dict[int, Array]]], list[Zone]]:
    """Return the loads that this section can be put to with its hub bolted, and the lips it can be pushed at.

    What cannot be is added to `missing` with its reason.
    """
    loads: dict[str, Callable[[Body], dict[int, Array]]] = {}
    asked = (Zone.INNER_LIP, Zone.OUTER_LIP) if lips else ()
    for name, case in cases.items():
        loads[name] = partial(forces_of, case=case, tyre_outside_mm=ready.tyre.outside_mm)
    for lip in asked:
        loads[lip.value] = partial(push, lip=lip)
    for name, load in list(loads.items()):
        try:
            load(body)
        except GeometryError as error:
            missing.append(f"{name}: {error}")
            del loads[name]
    return loads, [lip for lip in asked if lip.value in loads]


def _series(case: str, solution: Solved) -> Series:
    """Return what the later half of the harmonics changes of the greatest stress of the skin."""
    skin = np.flatnonzero(solution.body.zone_of_node >= 0)
    last = max(solution.stress)
    whole = float(von_mises(solution.round_turn(skin)).max())
    few = Solved(
        solution.body, solution.moved, {n: s for n, s in solution.stress.items() if n <= (last + 1) // 2}
    )
    return Series(case, last + 1, abs(float(von_mises(few.round_turn(skin)).max()) - whole) / whole)
