"""What a group of wheels needs of a blank: drawn wheels and windows, grown by stock and headroom."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from app.project import edits, wheel_edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from app.studies.forging_stock import Headroom, StockSet, Surface, surfaces
from app.studies.limits import check_insets
from geometry.errors import GeometryError
from geometry.forging import press
from geometry.forging.composite import Forgeable, Need, need
from geometry.forging.corner import FLAT_MM
from geometry.forging.hub import hub_closed
from geometry.forging.presses import DIE_STEEL, PRESSES, DieSteel, Press
from geometry.forging.profile import merged
from geometry.forging.seats import seated
from geometry.shape.curve import Array, Path
from geometry.shape.published import GREATEST_WIDTH_CODE, LEAST_WIDTH_CODE
from geometry.shape.section import ZONES, Outline, Zone

#: What lies this near to the inboard end of a wheel is the end of its ring, mm.
_END_MM = 8.0


@dataclass(frozen=True)
class NeedWindow:
    """Insets, and widths, of a drawn wheel that the blank must yield as well.

    Attributes:
        width_low, width_high: codes; None for the drawn one alone.
    """

    wheel: str
    inset_low: float
    inset_high: float
    width_low: float | None = None
    width_high: float | None = None

    @property
    def words(self) -> str:
        """As 'Track 18, inset 25 to 45, width 9 to 10'."""
        widths = "" if self.width_low is None else f", width {self.width_low:g} to {self.width_high:g}"
        return f"{self.wheel}, inset {self.inset_low:g} to {self.inset_high:g}{widths}"

    @property
    def widths(self) -> tuple[float, ...]:
        """Every width code of the window, which come in halves; empty for the drawn one alone."""
        if self.width_low is None or self.width_high is None:
            return ()
        count = round(2.0 * (self.width_high - self.width_low))
        return tuple(self.width_low + k / 2.0 for k in range(count + 1))

    def check(self) -> None:
        """Refuse a window that cannot be.

        Raises:
            GeometryError: an end is no number, they stand the wrong way round, or a width is no code.
        """
        ends = ("insets", self.inset_low, self.inset_high), ("widths", self.width_low, self.width_high)
        for what, low, high in ends:
            if low is None or high is None:
                continue
            if not (math.isfinite(low) and math.isfinite(high)):
                raise GeometryError(
                    f"The {what} of '{self.wheel}' go from {low:g} to {high:g}: give numbers."
                )
            if low > high:
                raise GeometryError(f"The {what} of '{self.wheel}' go from {low:g} down; exchange them.")
        for code in (self.width_low, self.width_high):
            if code is not None and (
                (2.0 * code) % 1.0 or not LEAST_WIDTH_CODE <= code <= GREATEST_WIDTH_CODE
            ):
                offered = f"{LEAST_WIDTH_CODE:g} to {GREATEST_WIDTH_CODE:g}"
                raise GeometryError(
                    f"The width {code:g} of the window of '{self.wheel}' is no code; they come in halves, "
                    f"{offered}."
                )


@dataclass(frozen=True)
class ForgingSettings:
    """How a blank is forged; every number is a starting value until it is the shop's own.

    Attributes:
        how: draft and fillets (practice 14: outside 1, inside 2, from memory), and where the dies meet.
        steel: of the dies, and whether they eject; without an ejector `drafts.NOT_EJECTED` is usual outside.
        pierced_mm: diameter of the hole that the forge pierces in the hub; None for a solid one.
        stock_mm: metal left on everywhere; None takes `stock`, and where that is None too the rule set of
            each wheel, zone by zone.
        stock: metal left on by surface.
        missing_in_stock: whether the stock holds what may be missing of a forging; None where it is as the
            stock is given, see `holds_missing`.
        corner_mm: radius of the dies' convex corners; 0 leaves those of the stock.
        windows: of insets and widths that the blank must yield beside the drawn wheels.
        headroom: metal beyond what the drawn wheels need, for wheels that nobody has drawn yet.
        test_ring_mm: length of ring that tests are cut from.
        trim_mm: ring end that is turned off, since a ring extruded backwards ends uneven (practice 14:
            starting 5, from memory; 0 leaves it out).
        grip_mm: length of ring for the chuck beyond the inner lip (practice 14: starting 10, from memory).
        loss: flash, scale and saw as a share of the blank's mass (handbook 2.3: 8 %, from memory).
        flash_land_mm: width of the flash round the blank that the press must close (handbook 2.4); the area
            of steps and loads is out to it.
        log_diameters_mm: that the forge holds.
        temperature_c, speed_mm_s, friction: of the last press (handbook 2.3; the others: from memory).
        shape_class: of the fill factor, a key of press.FACTORS.
        presses: one to three, in the order of the steps.
        proved: load, MN, that made a like blank, and that blank's area with flash, cm2.
    """

    how: Forgeable = field(default_factory=Forgeable)
    stock_mm: float | None = None
    stock: StockSet | None = None
    missing_in_stock: bool | None = None
    corner_mm: float = 0.0
    windows: tuple[NeedWindow, ...] = ()
    headroom: Headroom = field(default_factory=Headroom)
    test_ring_mm: float = 0.0
    trim_mm: float = 0.0
    grip_mm: float = 0.0
    loss: float = 0.08
    flash_land_mm: float = 15.0
    log_diameters_mm: tuple[float, ...] = press.LOG_DIAMETERS_MM
    temperature_c: float = 450.0
    speed_mm_s: float = 6.0
    friction: float = 0.3
    shape_class: str = "complex"
    presses: tuple[Press, ...] = PRESSES
    proved: tuple[float, float] | None = None
    steel: DieSteel = DIE_STEEL
    pierced_mm: float | None = None

    @property
    def holds_missing(self) -> bool:
        """True where the stock holds what may be missing: dies are drawn to the usable outline.

        Else starting values for it are added. A set of stock holds it unless otherwise said: its rows differ
        by how well a forging is known (practice 14).
        """
        if self.missing_in_stock is not None:
            return self.missing_in_stock
        return self.stock is not None and self.stock_mm is None

    @property
    def fits_drawn_alone(self) -> bool:
        """True for a blank made from points: no window and no headroom stands beside the drawn wheels."""
        return not self.windows and self.headroom.is_none


def presses_at_hand(project: Project) -> tuple[Press, ...]:
    """Return the project's presses; the invented ones where it names none."""
    return project.presses or PRESSES


@dataclass(frozen=True, eq=False)
class GroupBody:
    """A wheel closed at its hub, with surface, stock and headroom, mm, of each piece of its outline.

    `hole_mm` is the diameter of the largest hole in its blank that leaves the stock of its bore.
    """

    wheel: Wheel
    drawn: Path
    path: Path
    where: tuple[Surface, ...]
    stock_mm: Array
    room_mm: Array
    mass_kg: float
    full_kg: float
    hole_mm: float

    def lies_on(self, surface: Surface) -> NDArray[np.bool_]:
        """Return (n,) which pieces of the outline lie on a surface."""
        return np.array([each is surface for each in self.where])


def group_body(project: Project, wheel: Wheel, settings: ForgingSettings) -> GroupBody:
    """Return a wheel as a blank has to hold it.

    Raises:
        GeometryError: it has no outline or no bore, or there is no stock for a zone.
    """
    name = wheel.name
    bare = replace(wheel, clears=(), blank=None, spacer_mm=0.0)
    measured = measure_wheel(project, bare)
    if not isinstance(measured.outline, Outline) or measured.measurements is None:
        raise GeometryError(f"Wheel '{name}' cannot be read: {measured.faults[0].message}")
    try:
        path, zone, side = hub_closed(measured.outline)
    except GeometryError as error:
        raise GeometryError(f"Wheel '{name}': {error}") from error
    where = surfaces(path, zone, side)
    if settings.stock_mm is not None:
        stock, of_bore = np.full(len(path), settings.stock_mm), settings.stock_mm
    elif settings.stock is not None:
        by_surface = dict(zip(Surface, settings.stock.mm, strict=True))
        of_bore = by_surface[Surface.HUB]
        stock = np.array([by_surface[surface] for surface in where])
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
        of_bore = by_zone[ZONES.index(Zone.BORE)] or 0.0
    body = measured.measurements.solid
    room = np.array([settings.headroom.of(surface) for surface in where])
    return GroupBody(
        wheel,
        measured.outline.path,
        path,
        tuple(where),
        stock,
        room,
        body.mass_kg,
        body.full_mass_kg,
        2.0 * (measured.outline.path.bounds[2] - of_bore),
    )


def need_of(
    group: GroupBody, how: Forgeable, longer_mm: float, stocked: bool = True, roomy: bool = True
) -> Need:
    """Return what a wheel needs, its ring longer by so much beyond the inner lip."""
    stock = group.stock_mm if stocked else np.zeros(len(group.path))
    stock = stock + group.room_mm if roomy else stock
    found = need(group.wheel.name, group.path, stock, how)
    if longer_mm <= 0.0:
        return found
    z0, low, high, lip = ring_end(group, stock)
    rows = [(z0 - longer_mm, low), (z0, low), (z0, high), (z0 - longer_mm, high)]
    ring = need(group.wheel.name, Path.closed(rows), np.full(4, lip), how)
    return Need(
        found.name,
        merged(found.upper, ring.upper),
        merged(found.lower, ring.lower),
        max(found.reach_mm, ring.reach_mm),
    )


def required_of(group: GroupBody, longer_mm: float) -> BaseGeometry:
    """Return the half-section that a wheel needs with stock and headroom, its ring longer by so much."""
    path, grown = group.path, group.stock_mm + group.room_mm
    parts = [shapely.Polygon(path.flattened(FLAT_MM, "inward"))]
    for k in np.flatnonzero(path.off_axle & (grown > 0.0)):
        share = np.linspace(0.0, 1.0, 33 if path.is_arc[k] else 2)
        line = shapely.LineString(path.at(np.full(len(share), k), share))
        parts.append(line.buffer(float(grown[k]), quad_segs=32))
    if longer_mm > 0.0:
        z0, low, high, lip = ring_end(group, grown)
        parts.append(shapely.box(z0 - longer_mm, low, z0, high).buffer(lip, quad_segs=32))
    return shapely.union_all(parts)


def ring_end(group: GroupBody, stock: Array) -> tuple[float, float, float, float]:
    """Return z of a wheel's inboard end, the radii between which it lies, and its stock."""
    z0, _, _, _ = group.path.bounds
    end = group.path.points[group.path.points[:, 0] <= z0 + _END_MM]
    lip = float(stock[int(np.argmin(group.path.points[:, 0]))])
    return z0, float(end[:, 1].min()), float(end[:, 1].max()), lip


#: A window is sampled closer until the blank grows by no more than this, kg, or so many times.
_SAME_KG, _MOST_SAMPLINGS = 0.01, 3


def sampled_bodies(
    project: Project,
    window: NeedWindow,
    names: Sequence[str],
    settings: ForgingSettings,
    longer_mm: float,
    density: float,
) -> list[GroupBody]:
    """Return the wheels of a window: in every width, in insets until they alone need no larger blank.

    Raises:
        GeometryError: the window cannot be, or a wheel in it cannot be drawn or read.
    """
    if window.wheel not in names:
        raise GeometryError(f"The window of '{window.wheel}' is of no wheel of the group; name it with them.")
    window.check()
    wheel: Wheel = edits.find(project, edits.WHEEL, window.wheel)
    widths = window.widths or (wheel.size.width_code,)
    check_insets((window.inset_low, window.inset_high), max(widths))
    made: dict[tuple[float, float], GroupBody] = {}
    before = 0.0
    for halvings in range(_MOST_SAMPLINGS):
        share = [k / 2**halvings for k in range(2**halvings + 1)]
        insets = sorted({window.inset_low + s * (window.inset_high - window.inset_low) for s in share})
        for size in product(widths, insets):
            if size not in made:
                try:
                    made[size] = group_body(project, _in_size(wheel, *size), settings)
                except GeometryError as error:
                    code, inset = size
                    raise GeometryError(
                        f"Window of '{wheel.name}', width {code:g}, inset {inset:g}: {error} Ask for insets "
                        f"nearer to the drawn one, {wheel.inset_mm:g}.",
                        error.place,
                    ) from error
        needs = [need_of(body, settings.how, longer_mm) for body in made.values()]
        bare = replace(settings.how, fillet_mm=0.0, parting_mm=None)
        mass = seated(needs, bare, density_kg_m3=density).draft_mass_kg
        if mass - before <= _SAME_KG:
            break
        before = mass
    return list(made.values())


def _in_size(wheel: Wheel, width: float, inset: float) -> Wheel:
    made = wheel if width == wheel.size.width_code else wheel_edits.with_width(wheel, width)
    return made if inset == made.inset_mm else wheel_edits.with_inset(made, inset)
