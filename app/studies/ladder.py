"""The ladder of a group's blank: where its kilograms are, rung by rung, and which wheel asks for them.

The order is that of practice, section 3: finished wheel, full body, hull, stock by surface, draft by wall,
ends of the ring, headroom, web, fillets, windows, corners, what may be missing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.affinity import translate

from app.studies.fit import spokes_of
from app.studies.forged import Forged
from app.studies.forging_needs import ForgingSettings, GroupBody, need_of
from app.studies.forging_stock import Surface
from geometry.errors import GeometryError
from geometry.forging.composite import Blank, Forgeable
from geometry.forging.corner import FLAT_MM
from geometry.forging.profile import HIGH, LOW, ORIGIN, clipped, heights, turned_over
from geometry.forging.seats import Seated, seated
from geometry.readings.solid import spoke_region
from geometry.shape.curve import Array, Path

#: Rungs that are named elsewhere too.
TO_DRAW = "what may be missing: the outline to draw"
SLUG = "slug pierced out of the hub"
MET = "dies meeting at the height asked for"
#: The least draft that the envelope takes; here it stands for none.
_NO_DRAFT_DEG = 0.1
#: A surface whose stock adds less has no rung, kg.
_LEAST_KG = 0.005
#: Rings at which it is asked which wheel a rung's metal is for.
_RINGS = 1500
#: Parts of a rung's metal that are smaller are rounding, mm2.
_CRUMB_MM2 = 0.01


@dataclass(frozen=True, eq=False)
class Rung:
    """One rung: what is added, and the mass reached.

    Attributes:
        words: what it stands for.
        mass_kg: reached with it.
        metal: half-section (z, r), mm, of what it adds.
        wheels_kg: for each wheel of the group how much of it that wheel asks for, kg; empty where it is not
            asked for by wheels (the finished wheel itself, fillets, corners).
    """

    words: str
    mass_kg: float
    metal: shapely.geometry.base.BaseGeometry
    wheels_kg: tuple[float, ...] = ()

    @property
    def parts(self) -> tuple[shapely.Polygon, ...]:
        """The parts of the metal, crumbs of rounding left out."""
        # What was mended may hold collections of collections.
        flat = shapely.get_parts(shapely.get_parts(self.metal))
        found = [p for p in flat if isinstance(p, shapely.Polygon)]
        return tuple(p for p in found if p.area > _CRUMB_MM2)


@dataclass(frozen=True, eq=False)
class LadderOf:
    """What a ladder is of.

    Attributes:
        group: the drawn wheels.
        drawn: the blank of these alone, without windows. found: with them; the same where there are none.
        settings: that both were found with.
        density_kg_m3: of the metal.
        wheels: number of the wheel of each need of `found`.
        corners: mass and outline with the dies' corner radius, None where there is none.
        forged: the forging round the usable outline.
    """

    group: Sequence[GroupBody]
    drawn: Seated
    found: Seated
    settings: ForgingSettings
    density_kg_m3: float
    wheels: Sequence[int]
    corners: tuple[float, Path] | None
    forged: Forged

    def rungs(self) -> tuple[Rung, ...]:
        """Return all rungs, from the finished wheel to the forging as it comes to the lathe."""
        k = max(range(len(self.group)), key=lambda i: self.group[i].full_kg)
        heaviest, seat = self.group[k], self.drawn.seats_mm[k]
        body = area_of(heaviest.drawn.moved(dz=seat))
        found = [
            Rung(f"{heaviest.wheel.name}, finished", heaviest.mass_kg, body),
            Rung("the same as a full body of revolution", heaviest.full_kg, _windows(heaviest, seat, body)),
        ]
        before: Blank | None = None
        for words, blank, kg, fillets in self._blanks():
            held = body if before is None else area_of(before.path)
            metal = area_of(blank.path).difference(held)
            asked = () if fillets else self._asked(blank, before, kg - found[-1].mass_kg)
            if kg - found[-1].mass_kg >= _LEAST_KG or not words.startswith("stock"):
                found.append(Rung(words, kg, metal, asked))
                before = blank
        if self.corners is not None:
            kg, path = self.corners
            metal = area_of(path).difference(area_of(self.found.blank.path))
            found.append(Rung("corners of the dies' radius, at most", kg, metal))
        usable = self.found.blank.path if self.corners is None else self.corners[1]
        whole, forged = area_of(self.forged.path), self.forged
        if forged.tolerances:
            found.append(Rung(TO_DRAW, forged.mass_kg, whole.difference(area_of(usable))))
        if forged.slug_kg > 0.0:
            found.append(Rung(SLUG, forged.lathe_kg, whole.difference(area_of(forged.lathe))))
        return tuple(found)

    def _blanks(self) -> list[tuple[str, Blank, float, bool]]:
        """Return words, blank, mass and whether it is the rung of fillets, of each rung between two dies."""
        settings, how = self.settings, self.settings.how
        none = Forgeable(_NO_DRAFT_DEG, _NO_DRAFT_DEG, 0.0)
        inside = replace(none, inside_deg=how.inside_deg)
        drafted = replace(how, fillet_mm=0.0, web_mm=0.0, parting_mm=None)
        bare = [replace(g, stock_mm=np.zeros(len(g.path))) for g in self.group]
        rows: list[tuple[str, Blank, float, bool]] = []

        def rung(
            words: str,
            group: Sequence[GroupBody],
            cut: Forgeable,
            longer: float = 0.0,
            roomy: bool = False,
        ) -> None:
            needs = [need_of(g, cut, longer, roomy=roomy) for g in group]
            at = seated(needs, cut, seats_mm=self.drawn.seats_mm, density_kg_m3=self.density_kg_m3)
            rows.append((words, at.blank, at.mass_kg, False))

        rung("all of them between two dies, no stock, next to no draft", bare, none)
        stocked = list(bare)
        for surface in Surface:
            stocked = [_stocked(now, full, surface) for now, full in zip(stocked, self.group, strict=True)]
            rung(f"stock: {surface}", stocked, none)
        rung("draft inside", self.group, inside)
        rung("draft outside", self.group, drafted)
        longer = 0.0
        for words, length in (
            ("ring-end trim", settings.trim_mm),
            ("grip for the chuck", settings.grip_mm),
            ("test ring", settings.test_ring_mm),
        ):
            longer += length
            if length:
                rung(words, self.group, drafted, longer)
        room = settings.headroom
        if room.ring_mm:
            longer += room.ring_mm
            rung("headroom: ring height", self.group, drafted, longer)
        given: tuple[Surface, ...] = ()
        for surface in (s for s in Surface if room.of(s)):
            given = (*given, surface)
            part = [_roomy(g, given) for g in self.group]
            rung(f"headroom: {surface}", part, drafted, longer, roomy=True)
        if how.web_mm:
            drafted = replace(drafted, web_mm=how.web_mm)
            rung("least web", self.group, drafted, longer, roomy=True)
        if how.parting_mm is not None:
            rung(MET, self.group, replace(drafted, parting_mm=how.parting_mm), longer, roomy=True)
        rows.append(("fillets", self.drawn.blank, self.drawn.mass_kg, True))
        if self.found is not self.drawn:
            words = "windows of inset and width"
            if len(settings.windows) > 1:
                words = "all windows of inset and width together"
            rows.append((words, self.found.blank, self.found.mass_kg, False))
        return rows

    def _asked(self, blank: Blank, before: Blank | None, more_kg: float) -> tuple[float, ...]:
        """Return how much of a rung each wheel asks for: whose need the die's surface lies on, ring by ring.

        Metal on no need's surface (fillets) is shared out with the rest.
        """
        rim = blank.rim_mm
        r = (np.arange(_RINGS) + 0.5) * rim / _RINGS
        shares = np.zeros(len(self.group))
        middle = _middle(blank, r)
        for this, last in (
            (blank.upper, None if before is None else before.upper),
            (blank.lower, None if before is None else before.lower),
        ):
            upper = this is blank.upper
            high = heights(this, r)
            under = middle if upper else -middle
            if last is not None and before is not None:
                held = heights(last, r)
                under = np.where(r < before.rim_mm, held, under)
            more = np.maximum(high - under, 0.0) * r
            origin = _origins(this, r)
            known = origin >= 0
            wheels = np.asarray(self.wheels)[np.maximum(origin, 0)]
            shares += np.bincount(wheels[known], more[known], len(self.group))
        whole = float(shares.sum())
        if whole <= 0.0 or more_kg < _LEAST_KG:
            return ()
        return tuple((shares / whole * more_kg).tolist())


def _stocked(now: GroupBody, full: GroupBody, surface: Surface) -> GroupBody:
    return replace(now, stock_mm=np.where(full.lies_on(surface), full.stock_mm, now.stock_mm))


def _roomy(group: GroupBody, given: Sequence[Surface]) -> GroupBody:
    """Return a wheel with its headroom on some surfaces alone."""
    on = np.any([group.lies_on(surface) for surface in given], axis=0)
    return replace(group, room_mm=np.where(on, group.room_mm, 0.0))


def _middle(blank: Blank, r: Array) -> Array:
    return (heights(blank.upper, r) + heights(turned_over(blank.lower), r)) / 2.0


def _origins(profile: Array, r: Array) -> Array:
    """Return the number of the need that a profile rests on at each radius."""
    rows = clipped(profile, float(r[0]), float(r[-1]))
    k = np.clip(np.searchsorted(rows[:, HIGH], r), 0, len(rows) - 1)
    inside = (r >= rows[k, LOW] - 1e-9) & (r <= rows[k, HIGH] + 1e-9)
    return np.where(inside, rows[k, ORIGIN], -1.0).astype(int)


def area_of(path: Path) -> shapely.geometry.base.BaseGeometry:
    """Return the area of a half-section."""
    return shapely.make_valid(shapely.Polygon(path.flattened(FLAT_MM)))


def _windows(
    group: GroupBody, seat_mm: float, body: shapely.geometry.base.BaseGeometry
) -> shapely.geometry.base.BaseGeometry:
    """Return where a wheel's windows lie in its half-section; all of it where that is not known."""
    spokes = spokes_of(replace(group.wheel, spacer_mm=0.0))
    if spokes is None:
        return shapely.Polygon()
    try:
        region = spoke_region(group.drawn, spokes)
    except GeometryError:
        return body
    return translate(area_of(region), xoff=seat_mm)
