"""What differs between two versions of a wheel, zone by zone: wall, gap, stock, mass and inertia."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import Measured, measure_wheel, spokes_of
from geometry.errors import GeometryError
from geometry.readings.metal_change import MetalChange, metal_change
from geometry.readings.rows import GapRow, Measurements, StockRow, WallRow
from geometry.readings.solid import SpokeRegion
from geometry.shape.section import ZONES, Outline

#: What changes without the section.
REST = "windows, holes, metal"


@dataclass(frozen=True)
class Thresholds:
    """A change that is larger than this is marked: lengths in mm, mass in g, inertia in g m2."""

    length_mm: float = 0.1
    grams: float = 5.0
    g_m2: float = 0.2


@dataclass(frozen=True)
class Pair:
    """A reading before and after; None where there is none."""

    before: float | None
    after: float | None

    @property
    def change(self) -> float | None:
        """After less before; None where one of them is absent."""
        return None if self.before is None or self.after is None else self.after - self.before


@dataclass(frozen=True)
class ZoneDifference:
    """One zone of both versions: least wall, gap on paper and stock, mm, and what changes of the mass.

    The last row, of no zone (`REST`), holds what changes of the mass without the section.
    """

    zone: str
    wall: Pair
    gap: Pair
    stock: Pair
    grams: float
    g_m2: float

    def over(self, limits: Thresholds) -> tuple[str, ...]:
        """Return what changes by more than its threshold, or came or went, by name."""
        found = []
        for name, pair in (("wall", self.wall), ("gap", self.gap), ("stock", self.stock)):
            one_sided = (pair.before is None) != (pair.after is None)
            if one_sided or (pair.change is not None and abs(pair.change) > limits.length_mm):
                found.append(name)
        if abs(self.grams) > limits.grams:
            found.append("mass")
        if abs(self.g_m2) > limits.g_m2:
            found.append("inertia")
        return tuple(found)


@dataclass(frozen=True)
class Differences:
    """Two versions held against each other.

    Attributes:
        zones: those of either version, in the order of the outline; last the rest.
        mass_kg, g_m2: of both wheels, before and after.
        metal: what was added and taken away, in the wheels' own frame.
    """

    zones: tuple[ZoneDifference, ...]
    mass_kg: tuple[float, float]
    g_m2: tuple[float, float]
    metal: MetalChange


def differences(
    before: tuple[Project, Wheel], after: tuple[Project, Wheel], found: Measured | None = None
) -> Differences:
    """Return what differs between two wheels, each of its own project.

    Args:
        before: the earlier wheel with the project whose parts it names.
        after: the later one, likewise.
        found: the readings of `after` where they are at hand.

    Raises:
        GeometryError: one of them has a fault; the message names it.
    """
    (outline_0, read_0), (outline_1, read_1) = _whole(*before), _whole(*after, found)
    own_0, own_1 = outline_0.moved(-before[1].spacer_mm), outline_1.moved(-after[1].spacer_mm)
    density = next(m.density_kg_m3 for m in after[0].materials if m.name == after[1].material)
    metal = metal_change(own_0, own_1, density, (_spokes(before[1]), _spokes(after[1])))
    solids = read_0.solid, read_1.solid
    masses = solids[0].mass_kg, solids[1].mass_kg
    inertias = solids[0].polar_kg_mm2 * 1e-3, solids[1].polar_kg_mm2 * 1e-3
    rows = [
        ZoneDifference(
            zone,
            Pair(*(_least(r.wall, zone) for r in (read_0, read_1))),
            Pair(*(_least(r.gap, zone) for r in (read_0, read_1))),
            Pair(*(_least(r.stock, zone) for r in (read_0, read_1))),
            metal.grams.get(zone, 0.0),
            metal.g_m2.get(zone, 0.0),
        )
        for zone in _zones((outline_0, outline_1))
    ]
    none = Pair(None, None)
    rest = (masses[1] - masses[0]) * 1000.0 - sum(row.grams for row in rows)
    turning = inertias[1] - inertias[0] - sum(row.g_m2 for row in rows)
    return Differences(
        (*rows, ZoneDifference(REST, none, none, none, rest, turning)), masses, inertias, metal
    )


def _whole(project: Project, wheel: Wheel, found: Measured | None = None) -> tuple[Outline, Measurements]:
    found = measure_wheel(project, wheel) if found is None else found
    if found.outline is None or found.measurements is None:
        words = found.faults[0].message if found.faults else "it has no readings"
        place = found.faults[0].place if found.faults else None
        raise GeometryError(f"{wheel.name} has a fault, to be mended first: {words}", place)
    return found.outline, found.measurements


def _spokes(wheel: Wheel) -> SpokeRegion | None:
    """Return the spokes in the wheel's own frame."""
    region = spokes_of(wheel)
    if region is None or wheel.spokes is None:
        return None
    return SpokeRegion(
        region.count,
        region.widths,
        region.hub_circle_mm,
        wheel.spokes.shoulder_cut,
        wheel.spokes.lip_cut,
    )


def _least(rows: Iterable[WallRow | GapRow | StockRow], zone: str) -> float | None:
    return min((row.least_mm for row in rows if row.zone == zone), default=None)


def _zones(outlines: Iterable[Outline]) -> list[str]:
    seen = {int(k) for outline in outlines for k in outline.zone[outline.skin]}
    return [str(zone) for k, zone in enumerate(ZONES) if k in seen]


def change_words(found: Differences, most: int = 3) -> str:
    """Return 'barrel −120 g, well +15 g; −105 g in all', the zones that change most first, by whole grams."""
    rows = [row for row in found.zones if round(row.grams)]
    rows.sort(key=lambda row: -abs(row.grams))
    whole = (found.mass_kg[1] - found.mass_kg[0]) * 1000.0
    if not rows:
        return f"{_grams(whole)} in all" if round(whole) else "mass as before"
    named = [f"{row.zone} {_grams(row.grams)}" for row in rows[:most]]
    if len(rows) > most:
        named.append(f"{len(rows) - most} more")
    return f"{', '.join(named)}; {_grams(whole)} in all"


def _grams(value: float) -> str:
    number = round(value)
    return f"{'+' if number > 0 else chr(0x2212) if number < 0 else '±'}{abs(number)} g"
