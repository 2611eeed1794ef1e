"""The smallest blank that holds a group of wheels and can be forged between two dies closing along the axle.

For given seats it is the intersection of all admissible blanks and so smallest by construction: each die's
surface is the envelope of the required metal under the draft angles, closed by the disc of the fillet radius.
Where the die's surface is not given a radius, the mass is a convex function of the seats; cutting planes find
its least value and prove it (J. E. Kelley, "The cutting-plane method for solving convex programs", Journal of
the Society for Industrial and Applied Mathematics 8, 1960).

Words:
    required   a wheel closed at its hub and grown by its stock
    draft      angle between a wall and the axle; outside the wall looks away from the axle, inside towards it
    seat       how far a wheel is moved along the axle; the first one stands still
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.errors import GeometryError
from geometry.forging.profile import (
    AT_R,
    AT_Z,
    COLUMNS,
    HIGH,
    LEAST_MM,
    LOW,
    ORIGIN,
    RADIUS,
    SLOPE,
    clipped,
    height,
    hill,
    last_meeting,
    line,
    merged,
    moment,
    shifted,
    turned_over,
    upper,
    valley,
)
from geometry.shape.curve import CR, CZ, R0, R1, START, SWEEP, Z0, Z1, Array, Path
from geometry.shape.curve import RADIUS as ARC_RADIUS

#: Density of 6061, kg/m3 (handbook 1.1).
DENSITY_KG_M3 = 2712.63

#: Beside a corner the disc's path turns by rounding; a fillet this narrow is none.
_LEAST_FILLET_MM = 1e-5

#: Walls fall by 45 degrees or steeper, and so meet within the length of all that one blank holds, mm. A piece
#: may be far shorter than that: the end of a ring.
_WALLS_MM = 1000.0

#: What a fillet comes from: no need alone.
NO_NEED = -1

#: Shorter edges are left out of the outline, mm.
_CRUMB_MM = 2e-5


@dataclass(frozen=True)
class Forgeable:
    """What a blank must be like to be forged.

    Attributes:
        outside_deg, inside_deg: draft of walls that look away from the axle, and towards it.
        fillet_mm: least radius of hollows in the section; 0 for none.
        web_mm: least height of the blank out to its wheels' largest radius; 0 for none.
        parting_mm: z at which the dies meet on the outside wall, the first need's at its seat 0; None leaves
            it where it weighs least.

    Raises:
        GeometryError: an angle is not between 0.1 and 45 degrees, the radius is below 0, or the parting
            height is no number.
    """

    outside_deg: float = 1.0
    inside_deg: float = 2.0
    fillet_mm: float = 15.0
    web_mm: float = 0.0
    parting_mm: float | None = None

    def __post_init__(self) -> None:
        if self.parting_mm is not None and not math.isfinite(self.parting_mm):
            raise GeometryError(f"The parting height is {self.parting_mm:g}; give a length.")
        for name, angle in (("outside", self.outside_deg), ("inside", self.inside_deg)):
            if not 0.1 <= angle <= 45.0:
                raise GeometryError(f"The {name} draft is {angle:g} degrees; it must be from 0.1 to 45.")
        if not 0.0 <= self.fillet_mm <= 200.0:
            raise GeometryError(f"The fillet radius is {self.fillet_mm:g} mm; it must be from 0 to 200.")


@dataclass(frozen=True, eq=False)
class Need:
    """Metal that a blank must hold.

    Attributes:
        name: of the wheel.
        upper, lower: surfaces of both dies round it alone, as profiles; the lower one is turned over.
        reach_mm: its largest radius.
    """

    name: str
    upper: Array
    lower: Array
    reach_mm: float


def need(name: str, path: Path, stock_mm: Array, how: Forgeable) -> Need:
    """Return what a wheel needs of a blank.

    Args:
        name: of the wheel.
        path: closed outline of the wheel, closed at its hub, counterclockwise.
        stock_mm: (n,) growth of each of its pieces; what lies on the axle does not grow.
        how: the drafts.

    Raises:
        GeometryError: a stock is below 0.
    """
    if not np.all((stock_mm >= 0.0) & np.isfinite(stock_mm)):
        raise GeometryError(f"A stock of '{name}' is below 0; give the metal to leave on, from 0.")
    high, low = (upper(as_table(grown_pieces(path, stock_mm, sign))) for sign in (1.0, -1.0))
    reach = float(max(high[-1, HIGH], low[-1, HIGH]))
    z0, z1, _, _ = path.bounds
    far = reach + max(z1 - z0, _WALLS_MM) + 2.0 * float(stock_mm.max()) + 1.0
    return Need(name, _drafted(high, how, far), _drafted(low, how, far), reach)


def as_table(pieces: Sequence[Sequence[float]]) -> Array:
    """Return pieces as a table (n, COLUMNS)."""
    return np.array(pieces, dtype=float).reshape(-1, COLUMNS)


def grown_pieces(path: Path, stock_mm: Array, sign: float) -> list[list[float]]:
    """Return the upper sides of all pieces of an outline, each swept by its disc; z times sign counts."""
    found: list[list[float]] = []
    for k, row in enumerate(path.table):
        s = float(stock_mm[k])
        if not path.off_axle[k]:
            continue
        (z0, r0), (z1, r1) = (sign * row[Z0], row[R0]), (sign * row[Z1], row[R1])
        if s > 0.0:
            found += [hill(r - s, r + s, r, z, s) for z, r in ((z0, r0), (z1, r1))]
        if row[SWEEP] != 0.0:
            found += _grown_arc(row, s, sign)
        elif abs(r1 - r0) > LEAST_MM:
            m = (z1 - z0) / (r1 - r0)
            long = math.hypot(1.0, m)
            dr, dz = -s * m / long, s / long
            found.append(line(min(r0, r1) + dr, max(r0, r1) + dr, r0 + dr, z0 + dz, m))
    return found


def _grown_arc(row: Array, s: float, sign: float) -> list[list[float]]:
    """Return the upper sides of an arc swept by a disc: of the outer circle, of the inner one in a hollow."""
    cz, cr, radius = sign * row[CZ], row[CR], row[ARC_RADIUS]
    start, stop = sorted((row[START], row[START] + row[SWEEP]))
    found = []
    # Quarter turns part a circle into stretches that look up or down.
    edges = [start, *(q for k in range(-8, 9) if start < (q := math.pi / 2.0 + math.pi * k) < stop), stop]
    for a, b in itertools.pairwise(edges):
        looks_up = sign * math.cos((a + b) / 2.0) > 0.0
        of = radius + s if looks_up else radius - s
        if of <= LEAST_MM:
            continue  # the discs at its ends reach higher than those between
        low, high = sorted((cr + of * math.sin(a), cr + of * math.sin(b)))
        found.append((hill if looks_up else valley)(low, high, cr, cz, of))
    return found


def _drafted(required: Array, how: Forgeable, far: float) -> Array:
    """Return the envelope of required metal under the draft angles, from the axle to `far`."""
    falls = 1.0 / math.tan(math.radians(how.outside_deg))
    rises = 1.0 / math.tan(math.radians(how.inside_deg))
    return ramped(required, -falls, rises, far)


def ramped(required: Array, after: float, before: float, far: float) -> Array:
    """Return the envelope of a profile and of ramps from all of its places, from 0 to `far`.

    Args:
        required: profile.
        after: slope of the ramps towards greater abscissae; the result falls off no faster.
        before: slope of the ramps towards lesser ones, rising to the place they start from.
        far: end of the result.
    """
    pieces = [list(row) for row in required]
    for k, row in enumerate(required):
        places = [row[LOW], row[HIGH]]
        if row[RADIUS] > 0.0:
            for steep in (after, before):
                at = row[AT_R] - row[RADIUS] * steep / math.hypot(1.0, steep)
                if row[LOW] < at < row[HIGH]:
                    places.append(at)
        for r in places:
            z = height(required, k, r)
            pieces += [line(r, far, r, z, after), line(0.0, r, r, z, before)]
    return clipped(upper(as_table(pieces)), 0.0, far)


# Group


def united(needs: Sequence[Need], seats_mm: Sequence[float]) -> tuple[Array, Array]:
    """Return both dies' surfaces round all needs, the lower one turned over; ORIGIN is the need's number."""
    found: list[Array | None] = [None, None]
    for k, (each, seat) in enumerate(zip(needs, seats_mm, strict=True)):
        for side, (profile, dz) in enumerate(((each.upper, seat), (each.lower, -seat))):
            mine = shifted(profile, dz)
            mine[:, ORIGIN] = float(k)
            held = found[side]
            found[side] = mine if held is None else merged(held, mine)
    high, low = found
    if high is None or low is None:
        raise GeometryError("A blank is asked for no wheel; name one or more.")
    return high, low


@dataclass(frozen=True, eq=False)
class Blank:
    """An outline between two dies.

    Attributes:
        upper, lower: surfaces of the dies, the lower one turned over.
        rim_mm: radius at which they meet.
    """

    upper: Array
    lower: Array
    rim_mm: float

    @property
    def volume_mm3(self) -> float:
        """Volume of the blank, solid to the axle."""
        both = moment(self.upper, 0.0, self.rim_mm) + moment(self.lower, 0.0, self.rim_mm)
        return 2.0 * math.pi * float(both)

    def mass_kg(self, density_kg_m3: float = DENSITY_KG_M3) -> float:
        """Return the mass."""
        return self.volume_mm3 * density_kg_m3 * 1e-9

    @property
    def path(self) -> Path:
        """Closed counterclockwise outline: along the axle, up the upper die's side, down the lower die's."""
        under = clipped(self.lower, 0.0, self.rim_mm)
        up = piece_starts(clipped(self.upper, 0.0, self.rim_mm))
        down = [(-z, r, bulge) for z, r, bulge in piece_starts(under)]
        # Going down, a piece starts where the next one up begins; the last starts at the rim.
        rim = (-float(height(under, len(under) - 1, self.rim_mm)), self.rim_mm)
        starts = [rim, *((z, r) for z, r, _ in reversed(down[1:]))]
        back = [(z, r, row[2]) for (z, r), row in zip(starts, reversed(down), strict=True)]
        return Path.closed(without_crumbs([*up, *back, (down[0][0], 0.0, 0.0)]))


def without_crumbs(rows: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """Leave out edges that are rounding: beside a tangent two curves cross twice."""
    return [a for a, b in zip(rows, [*rows[1:], rows[0]], strict=True) if math.dist(a[:2], b[:2]) > _CRUMB_MM]


def piece_starts(profile: Array) -> list[tuple[float, float, float]]:
    """Return the start of each piece of a profile and its bulge, + for hills."""
    found = []
    for k, row in enumerate(profile):
        bulge = 0.0
        if row[RADIUS] != 0.0:
            size = abs(row[RADIUS])
            first, last = (
                math.asin(max(-1.0, min(1.0, (x - row[AT_R]) / size))) for x in (row[LOW], row[HIGH])
            )
            bulge = math.copysign(math.tan((last - first) / 4.0), row[RADIUS])
        found.append((float(height(profile, k, row[LOW])), float(row[LOW]), bulge))
    return found


def blank_of(high: Array, low: Array) -> Blank:
    """Return the blank between two surfaces."""
    return Blank(high, low, float(last_meeting(high, turned_over(low))))


# Fillets


def closed(profile: Array, radius_mm: float) -> Array:
    """Return a surface whose hollows have at least a radius: a disc rolled over it touches it everywhere.

    The path of the disc's centre is the upper envelope of the surface moved out by the radius and of discs
    about its corners. Where that path turns upwards the disc rests on two places: its own edge between them
    is the fillet.
    """
    if radius_mm <= 0.0 or not len(profile):
        return profile
    f, size = radius_mm, len(profile)
    # Beyond the axle the surface goes on level.
    level = line(-4.0 * f, 0.0, 0.0, float(height(profile, 0, 0.0)), 0.0)
    table = np.vstack([as_table([level]), profile])
    moved: list[list[float]] = []
    for k, row in enumerate(table):
        out = _moved_out(row, f)
        if out is not None:
            out[ORIGIN] = float(k)
            moved.append(out)
    corners = [(float(row[LOW]), float(height(table, k, row[LOW]))) for k, row in enumerate(table)]
    moved += [hill(r - f, r + f, r, z, f, size + 1 + n) for n, (r, z) in enumerate(corners)]
    centre = upper(as_table(moved))
    found: list[list[float]] = []
    for k, row in enumerate(centre):
        origin = int(row[ORIGIN])
        feet = [_foot(table, corners, origin, f, float(x)) for x in (row[LOW], row[HIGH])]
        if origin <= size and feet[1] - feet[0] > LEAST_MM:
            found.append([*feet, *table[origin, RADIUS:]])
        if k + 1 < len(centre):
            other = _foot(table, corners, int(centre[k + 1, ORIGIN]), f, float(row[HIGH]))
            if other - feet[1] > _LEAST_FILLET_MM:
                z = float(height(centre, k, row[HIGH]))
                found.append(valley(feet[1], other, float(row[HIGH]), z, f, NO_NEED))
    return clipped(_joined(found), 0.0, float(profile[-1, HIGH]))


def _moved_out(row: Array, f: float) -> list[float] | None:
    """Return a piece moved out by a radius; None for a hollow that the disc does not enter."""
    out = [float(x) for x in row]
    if row[RADIUS] == 0.0:
        long = math.hypot(1.0, row[SLOPE])
        dr, dz = -f * row[SLOPE] / long, f / long
        out[LOW], out[HIGH], out[AT_R], out[AT_Z] = (
            out[LOW] + dr,
            out[HIGH] + dr,
            out[AT_R] + dr,
            out[AT_Z] + dz,
        )
        return out
    radius = row[RADIUS] + f
    if row[RADIUS] < 0.0 and radius >= -LEAST_MM:
        return None
    share = radius / row[RADIUS]
    out[LOW], out[HIGH] = (row[AT_R] + (x - row[AT_R]) * share for x in (row[LOW], row[HIGH]))
    out[RADIUS] = radius
    return out


def _foot(table: Array, corners: Sequence[tuple[float, float]], origin: int, f: float, r: float) -> float:
    """Return the radius at which a disc about a place of the centre's path touches the surface."""
    if origin >= len(table):
        return corners[origin - len(table)][0]
    row = table[origin]
    if row[RADIUS] == 0.0:
        return float(r + f * row[SLOPE] / math.hypot(1.0, row[SLOPE]))
    return float(row[AT_R] + (r - row[AT_R]) * row[RADIUS] / (row[RADIUS] + f))


def _joined(pieces: Sequence[Sequence[float]]) -> Array:
    """Return pieces that follow each other but for rounding as a profile without holes."""
    table = as_table(pieces)
    table[1:, LOW] = table[:-1, HIGH]
    return table[table[:, HIGH] - table[:, LOW] > LEAST_MM]


def filleted(high: Array, low: Array, how: Forgeable) -> Blank:
    """Return the blank between two surfaces with its hollows closed by the fillet radius."""
    return blank_of(closed(high, how.fillet_mm), closed(low, how.fillet_mm))
