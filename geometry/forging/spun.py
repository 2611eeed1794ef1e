"""A forged-and-spun blank: a short thick ring is forged on the disc and its barrel drawn out over a mandrel.

The disc and all that lies outboard of its root comes from two dies, as the composite does. Inboard of the
root a mandrel makes the bore, which opens towards the inner end, and rollers make the outside: they follow
the wheels, so that wells stay open but for flanks steeper than the rollers' angle and hollows narrower than
their nose. The forged ring holds the same volume in less height (practice 19).

All envelopes are those of profile.py. Dies are functions z(r); mandrel and rollers are functions r(x), x from
the inner end outboard, so that they are exact lines and arcs as well.

Words:
    root        where the wall of the ring's bore meets the disc; spinning begins there
    shoulder    the forged wall beside the root that the rollers leave: metal flows back there
    lip bulge   the end of the ring, kept as thick as the inner lip needs it
    reduction   1 - spun wall / forged wall, walls measured square to the axle
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.forging.composite import (
    Blank,
    Forgeable,
    as_table,
    blank_of,
    closed,
    grown_pieces,
    need,
    piece_starts,
    ramped,
    united,
    without_crumbs,
)
from geometry.forging.profile import (
    AT_Z,
    HIGH,
    LOW,
    RADIUS,
    SLOPE,
    clipped,
    height,
    heights,
    line,
    turned_over,
    upper,
)
from geometry.forging.root import ends_of_ring
from geometry.forging.spinning import Spinning, Spun, SpunSkins, SpunVolumes
from geometry.forging.walls import (
    as_wall,
    at_level,
    backwards,
    beside,
    bulge_end,
    joined,
    narrowest,
    places_of,
    turned_mm3,
    value_at,
    widest,
    within,
)
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Array, Path

#: A wheel's outline, closed at its hub, at its seat, and the stock of each of its pieces, mm.
Body = tuple[Path, Array]

#: The forged ring's height is found to this, mm.
_SAME_MM = 1e-10

#: Places along the ring at which metal is followed.
_FOLLOWED = 1000

#: A wall that grows by a lesser share does not; how often the greatest reduction is tried for.
_SAME_SHARE, _MOST_TRIES = 2e-3, 12

#: By no more than this share may the forging's volume miss what is spun from it.
_SAME_VOLUME = 1e-7


def spun(bodies: Sequence[Body], how: Forgeable, by: Spinning) -> Spun:
    """Return the forged-and-spun blank of least metal at given seats.

    Args:
        bodies: what it must hold.
        how: draft and fillets of the dies; a least web is not taken.
        by: how the ring is drawn out.

    Raises:
        GeometryError: there is no body, a setting is out of bounds, or there is no such blank; says why.
    """
    if not bodies:
        raise GeometryError("A blank is asked for no wheel; name one or more.")
    if how.web_mm:
        raise GeometryError("A spun blank is found without a least web; leave that out.")
    return _Ring(bodies, how, by).drawn()


class _Ring:
    """The parts of a group's spun blank that do not depend on the height of its forged ring."""

    def __init__(self, bodies: Sequence[Body], how: Forgeable, by: Spinning) -> None:
        self._how, self._by = how, by
        self._falls = 1.0 / math.tan(math.radians(how.outside_deg))
        self._rises = 1.0 / math.tan(math.radians(how.inside_deg))
        self._flank = math.tan(math.radians(by.roller_deg))
        needs = [need(f"{k + 1}", path, stock, how) for k, (path, stock) in enumerate(bodies)]
        _, low = united(needs, [0.0] * len(needs))
        reach = max(each.reach_mm for each in needs)
        self.end, self.root, self.root_r = ends_of_ring(low, reach, by.root_mm)
        self.long = self.root - self.end
        # A ring that stands out beyond the wheels meets the upper die there.
        self.far = float(low[-1, HIGH]) + 200.0
        self._dies(bodies)
        self._turned(bodies)
        self.ring_wall = self._ring_wall()
        self._stretch = 1.0 - by.reduction

    def _dies(self, bodies: Sequence[Body]) -> None:
        """Make both dies' surfaces round the metal outboard of the root, and round hub and disc."""
        surfaces = []
        for sign in (1.0, -1.0):
            kept: list[list[float]] = []
            for path, stock in bodies:
                for piece in grown_pieces(path, stock, sign):
                    row = np.array(piece)
                    kept += within(row, -math.inf, self.root_r)
                    beyond = as_table(within(row, self.root_r, math.inf))
                    # The lower surface is turned over: outboard of the root is below it there.
                    for part in beyond:
                        kept += beside(part, sign * self.root, sign)
            drafted = ramped(joined(upper(as_table(kept))), -self._falls, self._rises, self.far)
            surfaces.append(joined(drafted))
        self.open_high, self.disc = surfaces
        self.high = closed(self.open_high, self._how.fillet_mm)

    def _turned(self, bodies: Sequence[Body]) -> None:
        """Make the mandrel's surface and the outside that the wheels ask for, both over x from the end."""
        skins: list[Array] = []
        for sign in (1.0, -1.0):
            kept: list[list[float]] = []
            for path, stock in bodies:
                across = Path(path.points[:, ::-1] - np.array([0.0, self.end]), -path.bulges)
                for piece in grown_pieces(across, stock, sign):
                    for part in as_table(within(np.array(piece), 0.0, self.long)):
                        kept += beside(part, sign * self.root_r, sign)
            skins.append(joined(upper(as_table(kept))))
        self.asked, bore = skins
        self.bore = bore
        draft = math.tan(math.radians(self._by.mandrel_deg))
        self.mandrel = self._over(bore, draft, self._flank)
        self.mandrel_r = turned_over(self.mandrel)
        self.reached = self._rolled([self.asked])
        self.lip = widest(self.reached, self.mandrel_r, 0.0, self.long)
        die = math.tan(math.radians(self._how.inside_deg))
        #: Bore of the forged ring: it slips over the mandrel and leaves the die.
        self.slip = self._over(self.mandrel_r, -self._flank, -die)

    def _rolled(self, profiles: Sequence[Array]) -> Array:
        """Return the outside that rollers can leave round profiles."""
        return closed(
            self._over(joined(upper(np.vstack(profiles))), -self._flank, self._flank), self._by.nose_mm
        )

    def _over(self, profile: Array, after: float, before: float) -> Array:
        """Return a profile's envelope with ramps over the whole ring."""
        # Ramps go on beyond the root, so that rounding there leaves no hole.
        return joined(clipped(ramped(profile, after, before, self.long + 1.0), 0.0, self.long))

    # At a height of the forged ring

    def drawn(self) -> Spun:
        """Return the blank whose forged ring holds what is spun from it."""
        from scipy.optimize import brentq

        low, high = min(self._by.back_flow_mm + 1.0, self.long), self.long
        if self._surplus(high) < 0.0:
            raise GeometryError(
                f"A ring {self.ring_wall:.1f} thick holds too little: it would have to be longer than the "
                f"{self.long:.1f} mm of the spun barrel. Nothing is left to draw out; turn this blank."
            )
        if self._surplus(low) > 0.0:
            raise GeometryError(
                f"A ring {self.ring_wall:.1f} thick holds the whole barrel within {low:.1f} mm of the disc, "
                f"which {self._by.back_flow_mm:g} mm of back-flow take; give a thinner ring or less of that."
            )
        nearest, thicker = math.inf, 0.0
        for _ in range(_MOST_TRIES):
            if self._surplus(low) > 0.0:
                break
            tall = float(brentq(self._surplus, low, high, xtol=_SAME_MM, rtol=1e-15))
            made = self._made(tall)
            over_mm3 = self._surplus(tall)
            if abs(over_mm3) > _SAME_VOLUME * made.preform.volume_mm3:
                raise GeometryError(
                    f"No height of the forged ring gives the volume that is spun: near {tall:.1f} mm it "
                    f"jumps by {abs(over_mm3) / 1000.0:.0f} cm3. Give more back-flow, or another wall of "
                    "the ring."
                )
            grows, reduction = self._reductions(made, tall)
            over = (1.0 - reduction) / (1.0 - self._by.reduction)
            if grows <= _SAME_SHARE and over >= 1.0:
                return self._found(made, tall, reduction)
            if reduction < nearest:
                nearest, thicker = reduction, grows
            # Metal that goes to a lesser radius gets longer than by its wall alone.
            self._stretch = 1.0 - (1.0 - self._stretch) * 0.5 if over >= 1.0 else self._stretch * over * 0.99
            if self._surplus(high) < 0.0:
                break
        raise GeometryError(
            f"The forged ring would be {self.ring_wall:.1f} mm thick at its end and {made.thickest_mm:.1f} "
            f"at its root, by drafts over {tall:.0f} mm; a reduction of {self._by.reduction:.0%} in total "
            f"cannot even that out: {_missed(nearest, self._by.reduction, thicker)}. Allow more reduction, "
            "or less draft."
        )

    def _ring_wall(self) -> float:
        """Return the forged ring's wall at its end."""
        by, thick = self._by, max(self.lip, self._by.wall_mm)
        if by.ring_wall_mm is None:
            return thick
        if by.ring_wall_mm < thick - 1e-6:
            what = "the inner lip needs" if self.lip >= by.wall_mm else "the least wall as spun is"
            raise GeometryError(
                f"The forged ring is {by.ring_wall_mm:.1f} mm thick and {what} {thick:.1f}: spinning makes a "
                f"wall thinner, never thicker. Give {thick:.1f} mm or more."
            )
        return by.ring_wall_mm

    def _reductions(self, made: _Made, tall: float) -> tuple[float, float]:
        """Return by what share a wall grows at most, and the greatest reduction of any metal.

        Metal is followed by its volume from the shoulder on.
        """
        at, low = self.long - self._by.back_flow_mm, self.long - tall
        x = _followed(0.0, at, made.outside, self.mandrel_r)[::-1]
        before = _followed(low, at, self.slip, self.mandrel_r)[::-1]
        skin = made.shoulder - (at - before) / self._falls
        forged, bore = skin, heights(self.slip, before)
        spun_r, mandrel = heights(made.outside, x), heights(self.mandrel_r, x)
        from scipy.integrate import cumulative_trapezoid

        held = cumulative_trapezoid(forged**2 - bore**2, before, initial=0.0)
        drawn = cumulative_trapezoid(spun_r**2 - mandrel**2, x, initial=0.0)
        was = np.interp(-drawn, -held, before)
        now, outer = spun_r - mandrel, np.interp(-was, -before, skin)
        share = 1.0 - now[1:] / (outer - heights(self.slip, was))[1:]
        # Beside the shoulder the gap to the mandrel closes first: that is no wall that grows.
        grown = now[1:] / (outer - heights(self.mandrel_r, was))[1:] - 1.0
        return float(grown.max()), float(share.max())

    def _surplus(self, tall: float) -> float:
        """Return by how much the forging holds more than is spun from it, mm3."""
        made = self._made(tall)
        return made.preform.volume_mm3 - volume_mm3(made.path) - made.trim_mm3

    def _made(self, tall: float) -> _Made:
        preform = self._preform(tall)
        at = self.long - self._by.back_flow_mm
        shoulder = _outermost(preform, self.root - self._by.back_flow_mm)
        thickest = shoulder - value_at(self.slip, at)
        floor = self._floor(at, shoulder, self.long - tall)
        # Beside the shoulder the forged skin goes on: no roller comes there.
        left = as_table([line(at, self.long + 1.0, at, shoulder, 0.0)])
        walls = [self.asked, floor]
        outside = clipped(self._rolled([*walls, left]), 0.0, at)
        path = self._outline(preform, outside, shoulder)
        end = value_at(outside, 0.0), value_at(self.mandrel_r, 0.0)
        trim = math.pi * (end[0] ** 2 - end[1] ** 2) * self._by.trim_mm
        return _Made(preform, path, outside, self._rolled(walls), shoulder, thickest, trim)

    def _floor(self, at: float, shoulder: float, low: float) -> Array:
        """Return the outside over the mandrel that keeps the least wall and the greatest reduction.

        Metal that is drawn out by the greatest reduction gets as many times longer: what lies at some
        distance from the shoulder came from no nearer to it than that share of the distance. The forged wall
        is thickest at the root, so that this bounds what it was from above; `drawn` follows the metal and
        takes a lesser share where it went to another radius.
        """
        left = 1.0 - self._by.reduction
        ends = [x for row in self.slip for x in places_of(row) if low < x < at]
        before = np.array(sorted({low, *ends, at}))
        skin = shoulder - (at - before) / self._falls
        walls = np.maximum(left * (skin - heights(self.slip, before)), self._by.wall_mm)
        knots = at - (at - before) / self._stretch
        rows: list[list[float]] = []
        over = clipped(self.mandrel_r, 0.0, self.long)
        for k, row in enumerate(over):
            inside = [x for x in knots.tolist() if row[LOW] < x < row[HIGH]]
            for a, b in itertools.pairwise([float(row[LOW]), *inside, float(row[HIGH])]):
                wall = np.interp([a, b], knots, walls)
                if row[RADIUS] == 0.0:
                    rise = float(wall[1] - wall[0]) / (b - a)
                    rows.append(line(a, b, a, float(height(over, k, a) + wall[0]), float(row[SLOPE]) + rise))
                else:
                    part = row.copy()
                    part[[LOW, HIGH]] = a, b
                    part[AT_Z] += float(wall.max())
                    rows.append(part.tolist())
        return joined(upper(as_table(rows)))

    def _lower(self, bore: Array, low: float, tip: float) -> Array:
        """Return the side of lower die or mandrel: disc, bore from the root to x `low`, end out to `tip`."""
        wall = as_wall(clipped(bore, low, self.long), self.end)
        # From the wall's own ends, to the last digit: no hole is left beside it.
        inner, root = wall[0][HIGH], wall[-1][LOW]
        z = -(self.end + low)
        rows = [
            line(0.0, root, root, -self.root, self._rises),
            *wall,
            line(inner, tip, inner, z, 0.0),
            line(tip, self.far, tip, z, -self._falls),
        ]
        return closed(joined(upper(np.vstack([self.disc, as_table(rows)]))), self._how.fillet_mm)

    def _preform(self, tall: float) -> Blank:
        tip = value_at(self.slip, self.long - tall) + self.ring_wall
        over = tip + tall / self._falls
        high = self.high
        if over > high[-1, HIGH] or float(heights(high, np.array([over]))[0]) < self.root:
            # The ring stands out beyond the outer lip: the dies meet no farther inboard than its root.
            ring = [
                line(self.root_r, over, over, self.root, 0.0),
                line(over, self.far, over, self.root, -self._falls),
            ]
            high = closed(joined(upper(np.vstack([self.open_high, as_table(ring)]))), self._how.fillet_mm)
        return blank_of(high, self._lower(self.slip, self.long - tall, tip))

    def _outline(self, preform: Blank, outside: Array, shoulder: float) -> Path:
        """Return the outline as spun: upper die, forged skin, rolled skin from the shoulder, end, mandrel."""
        inner = value_at(self.mandrel_r, 0.0)
        inside = self._lower(self.mandrel_r, 0.0, value_at(outside, 0.0))
        skin = clipped(preform.lower, shoulder, preform.rim_mm)
        rows = [
            *piece_starts(clipped(preform.upper, 0.0, preform.rim_mm)),
            *((-z, r, bulge) for z, r, bulge in backwards(skin)),
            *((self.end + x, r, bulge) for r, x, bulge in backwards(outside)),
            (self.end, value_at(outside, 0.0), 0.0),
            *((-z, r, bulge) for z, r, bulge in backwards(clipped(inside, 0.0, inner))),
            (-value_at(inside, 0.0), 0.0, 0.0),
        ]
        return Path.closed(without_crumbs(rows))

    def _found(self, made: _Made, tall: float, reduction: float) -> Spun:
        at = float(made.outside[-1, HIGH])
        root = _outermost(made.preform, self.root)
        # Beside the shoulder the forged skin is a cone.
        cone = (made.shoulder**2 + made.shoulder * root + root**2) / 3.0
        beside = math.pi * (self.long - at) * cone - turned_mm3(self.mandrel_r, at, self.long)
        rolled = turned_mm3(made.outside, 0.0, at) - turned_mm3(self.mandrel_r, 0.0, at)
        thin = narrowest(made.outside, self.mandrel_r, 0.0, at)
        tip = bulge_end(made.outside, self.mandrel_r, at)
        bulge = turned_mm3(made.outside, 0.0, tip) - turned_mm3(self.mandrel_r, 0.0, tip)
        asked, bore, reached, mandrel = (
            turned_mm3(f, 0.0, self.long) for f in (self.asked, self.bore, self.reached, self.mandrel)
        )
        # Beside the shoulder no roller comes: what a wall would be kept at there is no metal.
        walled, under = (turned_mm3(f, 0.0, at) for f in (made.walled, self.mandrel))
        below, around = turned_mm3(self.reached, 0.0, at) - under, reached - mandrel
        volumes = SpunVolumes(
            disc=volume_mm3(made.path) - rolled - beside,
            barrel=rolled + beside - bulge,
            lip_bulge=bulge,
            trim=made.trim_mm3,
            needed=asked - bore,
            draft=bore - mandrel,
            flanks=reached - asked,
            least_wall=walled - under - below,
            root=rolled + beside - (walled - under) - (around - below),
        )
        passes = math.ceil(math.log(1.0 - reduction) / math.log(1.0 - self._by.per_pass) - 1e-9)
        return Spun(
            path=made.path,
            preform=made.preform,
            volumes=volumes,
            root=(self.root, self.root_r),
            end_mm=self.end,
            ring_end_mm=self.root - tall,
            mandrel=self.mandrel_r,
            outside=made.outside,
            skins=SpunSkins(turned_over(self.bore), self.asked, self.reached, made.walled),
            ring_wall_mm=self.ring_wall,
            thickest_mm=made.thickest_mm,
            wall_mm=thin,
            lip_mm=widest(made.outside, self.mandrel_r, 0.0, at / 2.0),
            reduction=reduction,
            passes=max(passes, 1),
        )


@dataclass(frozen=True, eq=False)
class _Made:
    """A blank at one height of its ring; `walled` is its outside without the shoulder."""

    preform: Blank
    path: Path
    outside: Array
    walled: Array
    shoulder: float
    thickest_mm: float
    trim_mm3: float


def _missed(nearest: float, allowed: float, grows: float) -> str:
    """Return by how much the ring that came nearest misses."""
    if nearest > allowed:
        off = 100.0 * (nearest - allowed)
        return f"the nearest ring thins its metal by {nearest:.1%}, {off:.1f} points too much"
    return f"the nearest ring would have to thicken a wall by {grows:.1%}, and spinning thickens none"


def _followed(low: float, high: float, *profiles: Array) -> Array:
    """Return places at which metal is followed, those where a profile turns among them."""
    turns = np.concatenate([profile[:, LOW] for profile in profiles])
    inside = turns[(turns > low) & (turns < high)]
    return np.unique(np.concatenate([np.linspace(low, high, _FOLLOWED), inside]))


def _outermost(blank: Blank, z: float) -> float:
    """Return the radius of a blank's outer skin at a height inboard of where its dies meet."""
    low, level = clipped(blank.lower, 0.0, blank.rim_mm), -z
    for k in reversed(range(len(low))):
        if height(low, k, low[k, LOW]) >= level:
            inside = [r for r in at_level(low[k], level) if low[k, LOW] <= r <= low[k, HIGH]]
            return max(inside, default=float(low[k, LOW]))
    raise GeometryError(f"The forging does not reach z {z:.1f}.")
