"""Spokes, bolts and drive pins of a screening, beside what the section says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from app.project.wheel import Fixing, SingleNut
from app.studies.strength.agree import OF_PRESSURE, OF_RIM, Carried, Sum, agreement_words, turned_missing_mpa
from app.studies.strength.inputs import Ready
from app.studies.strength.zones import Solved
from geometry.errors import GeometryError
from geometry.readings.chords import along_z
from geometry.shape.curve import Array
from geometry.strength.cuts import across
from geometry.strength.harmonic import von_mises
from geometry.strength.loads import Kind, TestLoad
from geometry.strength.spokes import Bolts, Root, Twisted, bolts, pins, spoke_of, twisted_spokes


@dataclass(frozen=True)
class Spoked:
    """Spokes under a case: by the smeared section, and by single beams between elastic hub and rim.

    Attributes:
        case: name of the load.
        bolts: at the bolt circle under a moment, None without one. note: what keeps one of them away, and how
            far the two models agree, component by component.
        carried: by spokes in both models; None without spokes.
    """

    case: str
    bolts: Bolts | None
    note: str = ""
    carried: Carried | None = None

    @property
    def smeared(self) -> tuple[Root, ...]:
        """By the section, near the spokes' ends and where they are weakest, for the worst spoke."""
        return self.carried.smeared if self.carried is not None else ()

    @property
    def beams(self) -> tuple[Root, ...]:
        """By single beams, at the same radii."""
        return self.carried.beams if self.carried is not None else ()

    @property
    def sums(self) -> tuple[Sum, ...]:
        """All spokes together at hub and rim, by both models."""
        return self.carried.sums if self.carried is not None else ()


@dataclass(frozen=True)
class Turned:
    """A torque about the axle in spokes and drive pins.

    Attributes:
        case: name of the load. spokes: as beams, None for a full disc or where they cannot be.
        pin_n, pin_mpa: force on a drive pin and its pressure on the wheel; None without pins.
    """

    case: str
    spokes: Twisted | None
    pin_n: float | None
    pin_mpa: float | None
    note: str = ""


def turned(ready: Ready, case: TestLoad) -> Turned:
    """Return spokes and drive pins under a torque."""
    torque, notes = (case.torque_nm or 0.0) * 1000.0, []
    beams = pin_n = pin_mpa = None
    if ready.spokes is not None:
        try:
            beams = twisted_spokes(spoke_of(ready.outline.path, ready.spokes), ready.metal, torque)
        except GeometryError as error:
            notes.append(str(error))
    f = ready.wheel.fixing
    if isinstance(f, SingleNut) and f.pins > 0:
        thick = sum(high - low for low, high in along_z(ready.outline.path, f.pin_circle_mm / 2.0))
        try:
            pin_n, pin_mpa = pins(torque, f.pins, f.pin_circle_mm, f.pin_hole_mm, thick)
        except GeometryError as error:
            notes.append(str(error))
    return Turned(case.name, beams, pin_n, pin_mpa, "; ".join(notes))


def more_of_torque(ready: Ready, solution: Solved, turned: Turned) -> Array | None:
    """Return (n,) MPa by which spokes as beams exceed the section under a torque; None without beams."""
    if turned.spokes is None or ready.spokes is None:
        return None
    spoke = spoke_of(ready.outline.path, ready.spokes)
    nodes = np.arange(len(solution.body.mesh.points))
    most = von_mises(solution.round_turn(nodes)).max(axis=0).reshape(-1, len(nodes)).max(axis=0)
    return turned_missing_mpa(solution.body, most, spoke, turned.spokes)


def spoked(
    ready: Ready, case: TestLoad, solution: Solved, carry: Callable[[TestLoad], Carried | None]
) -> Spoked:
    """Return spokes and bolts under a bending case that is solved; `carry`: what one spoke carries of it."""
    moment = (case.moment_nm or 0.0) * 1000.0
    bolted, note = None, ""
    f = ready.wheel.fixing
    if isinstance(f, Fixing) and f.count > 0:
        spans = along_z(ready.outline.path, f.circle_mm / 2.0)
        thick = sum(high - low for low, high in spans)
        try:
            at = across(solution.body, solution.moved, f.circle_mm / 2.0)
            bolted = bolts(moment, f.count, f.circle_mm, f.hole_mm, f.seat_land_mm, thick, at.moment)
        except GeometryError as error:
            note = str(error)
    try:
        held = carry(case)
    except GeometryError as error:
        return Spoked(case.name, bolted, str(error))
    if held is None:
        return Spoked(case.name, bolted, note or "full disc: no spokes")
    said = "; ".join(filter(None, [note, agreement_words(held.smeared, held.beams)]))
    return Spoked(case.name, bolted, said, held)


def spoked_at_rim(case: TestLoad, carry: Callable[[], Carried | None]) -> Spoked | None:
    """Return spokes under a load at the rim that is solved; None for a full disc."""
    try:
        held = carry()
    except GeometryError as error:
        return Spoked(case.name, None, f"spokes by the smeared section alone: {error}")
    if held is None:
        return None
    told = OF_PRESSURE if case.kind is Kind.INFLATION else OF_RIM
    return Spoked(case.name, None, agreement_words(held.smeared, held.beams, told), held)
