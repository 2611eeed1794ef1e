"""The smallest forgeable blank for a group of wheels: who decides it, and what forging it takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from geometry.errors import GeometryError
from geometry.forging import press
from geometry.forging.composite import Blank, Forgeable, Need, need
from geometry.forging.hub import hub_closed
from geometry.forging.profile import HIGH, LOW, ORIGIN, RADIUS, clipped, height, heights, merged, turned_over
from geometry.forging.seats import CancelledError, Seated, seated
from geometry.shape import blank as shape_blank
from geometry.shape.curve import Array, Path
from geometry.shape.outline import Corner
from geometry.shape.section import ZONES, Outline

#: A wheel decides where the blank would be lighter by more than this without it, kg (composite.md).
DECIDES_KG = 0.01

#: What lies this near to the inboard end of a wheel is the end of its ring, mm.
_END_MM = 8.0

#: The least draft that the envelope takes; in the ladder of kilograms it stands for none.
_NO_DRAFT_DEG = 0.1

#: Told how many steps of how many are done; False cancels.
Progress = Callable[[int, int], bool]


@dataclass(frozen=True)
class ForgingSettings:
    """How a blank is forged; every number is a starting value until it is the shop's own.

    Attributes:
        how: draft and fillets (practice 14: outside 1, inside 2, from memory).
        stock_mm: metal left on everywhere; None takes the rule set of each wheel, zone by zone.
        trim_mm: ring end that is turned off, since a ring extruded backwards ends uneven (practice 14:
            starting 5, from memory; 0 leaves it out).
        grip_mm: length of ring for the chuck beyond the inner lip (practice 14: starting 10, from memory).
        loss: flash, scale and saw as a share of the blank's mass (handbook 2.3: 8 %, from memory).
        flash_land_mm: width of the flash round the blank that the press must close (handbook 2.4).
        log_diameters_mm: that the forge holds.
        temperature_c, speed_mm_s, friction: of the last press (handbook 2.3; the others: from memory).
        shape_class: of the fill factor, a key of press.FACTORS.
    """

    how: Forgeable = field(default_factory=Forgeable)
    stock_mm: float | None = None
    trim_mm: float = 0.0
    grip_mm: float = 0.0
    loss: float = 0.08
    flash_land_mm: float = 15.0
    log_diameters_mm: tuple[float, ...] = press.LOG_DIAMETERS_MM
    temperature_c: float = 450.0
    speed_mm_s: float = 6.0
    friction: float = 0.3
    shape_class: str = "complex"


@dataclass(frozen=True)
class GroupWheel:
    """One wheel of the group.

    Attributes:
        seat_mm: where its mounting face lies in the blank's frame.
        chips_kg: what is cut away.
        costs_others_kg: by how much the blank of the others would be lighter; None where it is alone.
    """

    name: str
    seat_mm: float
    mass_kg: float
    chips_kg: float
    costs_others_kg: float | None

    @property
    def decides(self) -> bool:
        """True where the blank would be lighter without it."""
        return self.costs_others_kg is None or self.costs_others_kg > DECIDES_KG


@dataclass(frozen=True, eq=False)
class Composite:
    """The blank of a group.

    Attributes:
        found: outline, mass, and what proves it.
        wheels: in the order asked for.
        ladder: where the kilograms are: words and the mass reached.
        log: that it is forged from. flow_mn, fill_mn: loads of the last press, practice 16.
        held: outlines of the wheels at their seats, for a picture.
        web_mm, web_radius_mm: least height over the blank's middle, and how far out it goes.
    """

    found: Seated
    wheels: tuple[GroupWheel, ...]
    ladder: tuple[tuple[str, float], ...]
    log: press.Log
    flow_mn: float
    fill_mn: tuple[float, float]
    held: tuple[tuple[str, Path], ...]
    web_mm: float
    web_radius_mm: float

    @property
    def stretches(self) -> tuple[tuple[int, Array], ...]:
        """Stretches (n, 2) of the outline, each with the number of its wheel, -1 for fillets."""
        found: list[tuple[int, Array]] = []
        blank = self.found.blank
        for profile, side in ((blank.upper, 1.0), (blank.lower, -1.0)):
            for row in clipped(profile, 0.0, blank.rim_mm):
                r = np.linspace(row[LOW], row[HIGH], 2 if row[RADIUS] == 0.0 else 24)
                z = side * np.array([height(row[None], 0, float(x)) for x in r])
                found.append((int(row[ORIGIN]), np.column_stack([z, r])))
        return tuple(found)

    @property
    def press_mn(self) -> tuple[float, float]:
        """Least and greatest load of the last press."""
        return min(self.flow_mn, self.fill_mn[0]), max(self.flow_mn, self.fill_mn[1])

    @property
    def parting_mm(self) -> tuple[float, float]:
        """Place (z, r) at which the dies meet."""
        rim = self.found.blank.rim_mm
        return float(-heights(self.found.blank.lower, np.array([rim]))[0]), rim


@dataclass(frozen=True, eq=False)
class _Closed:
    wheel: Wheel
    drawn: Path
    path: Path
    stock_mm: Array
    mass_kg: float
    full_kg: float


def composite(
    project: Project,
    names: Sequence[str],
    settings: ForgingSettings | None = None,
    *,
    seats_mm: Sequence[float] | None = None,
    progress: Progress | None = None,
) -> Composite:
    """Return the smallest forgeable blank of a group of wheels.

    Args:
        project: holds them.
        names: of the wheels, each once.
        settings: starting values where None.
        seats_mm: given seats; None looks for the best.
        progress: told after each wheel that was left out for a try; False cancels.

    Raises:
        EditError: a wheel that the project does not hold.
        GeometryError: a wheel has no outline, no bore or no rule set to take its stock from, or a setting is
            out of bounds.
        CancelledError: it was cancelled.
    """
    settings = settings or ForgingSettings()
    if not names:
        raise GeometryError("A blank is asked for no wheel; name one or more.")
    if len(set(names)) < len(names):
        raise GeometryError("A wheel is named twice; name each once.")
    density = _density(project, names)
    group = [_closed(project, name, settings) for name in names]
    if settings.stock_mm is not None and not 0.0 <= settings.stock_mm <= 100.0:
        raise GeometryError(f"The stock is {settings.stock_mm:g} mm; it must be from 0 to 100.")
    if not (0.0 <= settings.trim_mm <= 200.0 and 0.0 <= settings.grip_mm <= 200.0):
        raise GeometryError("Ring-end trim and grip must be from 0 to 200 mm.")
    needs = [_need(g, settings.how, settings.trim_mm + settings.grip_mm) for g in group]
    steps = len(group) + 1 if len(group) > 1 else 1
    _tell(progress, 0, steps)
    found = seated(needs, settings.how, seats_mm=seats_mm, density_kg_m3=density)
    _tell(progress, 1, steps)
    rows = []
    for k, each in enumerate(group):
        saved = None
        if len(group) > 1:
            rest = [n for i, n in enumerate(needs) if i != k]
            kept = None if seats_mm is None else [s for i, s in enumerate(seats_mm) if i != k]
            other = seated(rest, settings.how, seats_mm=kept, density_kg_m3=density)
            saved = max(found.mass_kg - other.mass_kg, 0.0)
            _tell(progress, 2 + k, steps)
        rows.append(
            GroupWheel(each.wheel.name, found.seats_mm[k], each.mass_kg, found.mass_kg - each.mass_kg, saved)
        )
    web, web_radius, bore = _web(found.blank)
    stress = press.flow_stress_mpa(
        settings.temperature_c, press.rate_per_s(settings.speed_mm_s, max(web, 1.0))
    )
    area = math.pi * (found.blank.rim_mm + settings.flash_land_mm) ** 2
    low, high = press.FACTORS[settings.shape_class]
    return Composite(
        found=found,
        wheels=tuple(rows),
        ladder=_ladder(group, found, settings, density),
        log=press.chosen_log(found.mass_kg, settings.loss, density, settings.log_diameters_mm),
        flow_mn=press.flow_load_mn(stress, settings.friction, web_radius, web, bore, found.blank.rim_mm),
        fill_mn=(press.fill_load_mn(stress, low, area), press.fill_load_mn(stress, high, area)),
        held=tuple((g.wheel.name, g.drawn.moved(dz=s)) for g, s in zip(group, found.seats_mm, strict=True)),
        web_mm=web,
        web_radius_mm=web_radius,
    )


def as_blank(result: Composite, name: str, settings: ForgingSettings) -> shape_blank.Blank:
    """Return the outline as a blank of a project, own and an idea, with where it comes from."""
    rows = zip(result.found.blank.path.points.tolist(), result.found.blank.path.bulges.tolist(), strict=True)
    of = ", ".join(w.name for w in result.wheels)
    how = settings.how
    return shape_blank.Blank(
        name,
        tuple(Corner(z, r, bulge=bulge) for (z, r), bulge in rows),
        source=f"smallest forgeable blank of {of}; draft {how.outside_deg:g} outside, {how.inside_deg:g} "
        f"inside, fillets {how.fillet_mm:g}; the usable outline, without closure and mismatch",
    )


def _tell(progress: Progress | None, done: int, of: int) -> None:
    if progress is not None and not progress(done, of):
        raise CancelledError


def _density(project: Project, names: Sequence[str]) -> float:
    found = set()
    for name in names:
        wheel: Wheel = edits.find(project, edits.WHEEL, name)
        found.add(next((m.density_kg_m3 for m in project.materials if m.name == wheel.material), None))
    if len(found) != 1 or None in found:
        raise GeometryError("The wheels of a group must be of one material that the project holds.")
    return float(next(iter(found)) or 0.0)


def _closed(project: Project, name: str, settings: ForgingSettings) -> _Closed:
    wheel: Wheel = edits.find(project, edits.WHEEL, name)
    bare = replace(wheel, clears=(), blank=None, spacer_mm=0.0)
    measured = measure_wheel(project, bare)
    if not isinstance(measured.outline, Outline) or measured.measurements is None:
        raise GeometryError(f"Wheel '{name}' cannot be read: {measured.faults[0].message}")
    try:
        path, zone = hub_closed(measured.outline)
    except GeometryError as error:
        raise GeometryError(f"Wheel '{name}': {error}") from error
    if settings.stock_mm is not None:
        stock = np.full(len(path), settings.stock_mm)
    else:
        rules = next((r for r in project.rule_sets if r.name == wheel.rules), None)
        if rules is None:
            raise GeometryError(
                f"Wheel '{name}' has no rule set to take its stock from; choose one or give a stock."
            )
        by_zone = [rule.required_mm if (rule := rules.for_stock(z)) is not None else None for z in ZONES]
        missing = sorted({str(ZONES[z]) for z in zone.tolist() if by_zone[z] is None})
        if missing:
            raise GeometryError(
                f"Rule set '{rules.name}' has no stock for the zone {missing[0]}; add it or give a stock."
            )
        stock = np.array([by_zone[z] or 0.0 for z in zone.tolist()])
    body = measured.measurements.solid
    return _Closed(wheel, measured.outline.path, path, stock, body.mass_kg, body.full_mass_kg)


def _need(group: _Closed, how: Forgeable, longer_mm: float, stocked: bool = True) -> Need:
    """Return what a wheel needs, its ring longer by so much beyond the inner lip."""
    stock = group.stock_mm if stocked else np.zeros(len(group.path))
    found = need(group.wheel.name, group.path, stock, how)
    if longer_mm <= 0.0:
        return found
    z0, _, _, _ = group.path.bounds
    end = group.path.points[group.path.points[:, 0] <= z0 + _END_MM]
    lip = float(stock[int(np.argmin(group.path.points[:, 0]))])
    low, high = float(end[:, 1].min()), float(end[:, 1].max())
    rows = [(z0 - longer_mm, low), (z0, low), (z0, high), (z0 - longer_mm, high)]
    ring = need(group.wheel.name, Path.closed(rows), np.full(4, lip), how)
    return Need(
        found.name,
        merged(found.upper, ring.upper),
        merged(found.lower, ring.lower),
        max(found.reach_mm, ring.reach_mm),
    )


def _web(blank: Blank) -> tuple[float, float, float]:
    """Return the least height over the middle, the radius out to where it is one, and the ring's bore, mm.

    The ring begins where the blank is half as high again between web and its greatest height.
    """
    r = np.linspace(0.0, blank.rim_mm, 2001)
    high = heights(blank.upper, r) - heights(turned_over(blank.lower), r)
    top = int(np.nanargmax(high))
    web = float(np.nanmin(high[: top + 1]))
    ring = np.flatnonzero(high[: top + 1] > (web + float(high[top])) / 2.0)
    bore = float(r[ring[0]]) if len(ring) and web < 0.9 * float(high[top]) else 0.9 * blank.rim_mm
    return web, bore, min(max(bore, 1.0), 0.99 * blank.rim_mm)


def _ladder(
    group: Sequence[_Closed], found: Seated, settings: ForgingSettings, density: float
) -> tuple[tuple[str, float], ...]:
    """Return where the kilograms are, at the seats found (practice, section 3)."""
    heaviest = max(group, key=lambda g: g.full_kg)
    how = settings.how

    def mass(stocked: bool, outside: float, inside: float, longer: float = 0.0, web: float = 0.0) -> float:
        cut = Forgeable(outside, inside, 0.0, web)
        needs = [_need(g, cut, longer, stocked) for g in group]
        return seated(needs, cut, seats_mm=found.seats_mm, density_kg_m3=density).mass_kg

    none = _NO_DRAFT_DEG
    drafted = how.outside_deg, how.inside_deg
    longer = settings.trim_mm + settings.grip_mm
    ends: tuple[tuple[str, float], ...] = ()
    if settings.trim_mm:
        ends += (("ring-end trim", mass(True, *drafted, settings.trim_mm)),)
    if settings.grip_mm:
        ends += (("grip for the chuck", mass(True, *drafted, longer)),)
    if how.web_mm:
        ends += (("least web", mass(True, *drafted, longer, how.web_mm)),)
    return (
        (f"{heaviest.wheel.name}, finished", heaviest.mass_kg),
        ("the same as a full body of revolution", heaviest.full_kg),
        ("all of them between two dies, no stock, next to no draft", mass(False, none, none)),
        ("stock", mass(True, none, none)),
        ("draft inside", mass(True, none, how.inside_deg)),
        ("draft outside", mass(True, *drafted)),
        *ends,
        ("fillets", found.mass_kg),
    )
