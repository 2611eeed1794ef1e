"""The blank of a group as it is made, with the dies' corner radius: every size, plan and drawing reads it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.affinity import translate

from app.studies.forging_needs import ForgingSettings, GroupBody, need_of, required_of
from app.studies.stage_words import Finding
from geometry.errors import GeometryError
from geometry.forging.composite import NO_NEED, Blank, need
from geometry.forging.corner import FLAT_MM, Cornered, cornered
from geometry.forging.plan import BlankSizes
from geometry.forging.profile import HIGH, LOW, ORIGIN, RADIUS, clipped, height, heights, turned_over
from geometry.forging.seats import Seated, seated
from geometry.forging.to_draw import outermost
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Array, Path

#: Radii at which the height of a blank is read.
_PLACES = 2001
#: A piece of a rounded outline no farther from what was rounded lies on it, mm.
_ON_MM = 10.0 * FLAT_MM


@dataclass(frozen=True, eq=False)
class MadeBlank:
    """A blank as it leaves the dies.

    Attributes:
        path: its outline. mass_kg: of it, solid to the axle.
        sizes: what of it decides its forging.
        parting_mm: place (z, r) at which the dies meet, on its greatest radius.
        stretches: (n, 2) rows (z, r) of the outline off the axle, each with the number of the need that it
            rests on, NO_NEED for fillets, corners of a radius, and what is drawn out under them.
    """

    path: Path
    mass_kg: float
    sizes: BlankSizes
    parting_mm: tuple[float, float]
    stretches: tuple[tuple[int, Array], ...]


@dataclass(frozen=True, eq=False)
class Corners:
    """A blank with the dies' corner radius.

    Attributes:
        rounded: its outline. sharp: what was rounded, at the same places. needs: number of true needs in it.
    """

    rounded: Cornered
    sharp: Blank
    needs: int


def made_blank(found: Seated, corners: Corners | None) -> MadeBlank:
    """Return the blank that is made: what was found, or with its corners where they have a radius."""
    blank = found.blank
    if corners is None:
        rim = blank.rim_mm
        parting = float(-heights(blank.lower, np.array([rim]))[0]), rim
        return MadeBlank(blank.path, found.mass_kg, blank_sizes(blank), parting, _stretches(blank))
    path = corners.rounded.path
    mass_kg = found.mass_kg * corners.rounded.volume_mm3 / volume_mm3(blank.path)
    first, last, rim = outermost(path)
    parting = (first + last) / 2.0, rim
    return MadeBlank(path, mass_kg, outline_sizes(path), parting, _rounded_stretches(corners))


def with_corners(
    group: Sequence[GroupBody],
    longer_mm: float,
    found: Seated,
    settings: ForgingSettings,
    go_on: Callable[[], None],
) -> Corners | None:
    """Return the blank with corners of the dies' radius at its seats; None where the stock's suffice.

    Args:
        group: drawn wheels, then the samples of windows.
        longer_mm: of the ring's end.
        found: the blank without corner radius.
        settings: that it was found with.
        go_on: called at each try; raises where it was cancelled.

    Raises:
        GeometryError: the radius is out of bounds, or leaves no blank.
    """
    radius, how = settings.corner_mm, settings.how
    if not 0.0 <= radius <= 100.0:
        raise GeometryError(f"The corner radius is {radius:g} mm; it must be from 0 to 100.")
    least = min(float(g.stock_mm.min()) for g in group)
    if radius <= least:
        return None

    def sharp(grown: float, pieces: Sequence[Path]) -> Blank:
        go_on()
        wider = [replace(g, stock_mm=g.stock_mm + grown) for g in group]
        needs = [need_of(g, how, longer_mm) for g in wider]
        needs += [need("under a corner", piece, np.full(len(piece), grown), how) for piece in pieces]
        seats = [*found.seats_mm, *(0.0 for _ in pieces)]
        return seated(needs, how, seats_mm=seats).blank

    seats = zip(group, found.seats_mm, strict=True)
    required = shapely.union_all([translate(required_of(g, longer_mm), xoff=seat) for g, seat in seats])
    rounded = cornered(
        lambda grown, pieces: sharp(grown, pieces).path,
        required,
        radius,
        how.fillet_mm,
        how.web_mm,
        keeps_rim=how.parting_mm is not None,
    )
    return Corners(rounded, sharp(rounded.all_round_mm, rounded.pieces), len(group))


def corner_warnings(found: Seated, corners: Corners | None) -> tuple[Finding, ...]:
    """Return what a corner radius costs where two corners do not fit side by side on the ring's end."""
    if corners is None:
        return ()
    sizes, radius = blank_sizes(found.blank), corners.rounded.corner_mm
    wall = sizes.rim_mm - sizes.bore_mm
    if 2.0 * radius <= wall:
        return ()
    more = made_blank(found, corners).mass_kg - found.mass_kg
    than = "exceed" if radius > wall else "are over half of"
    said = (
        f"Corners of radius {{0}} {than} the wall of the ring, about {{1}}: two of them do not fit on its "
        "end, the blank grows by {3}. The largest sensible radius is about {2}."
    )
    return (Finding(said, (radius, wall, wall / 2.0), masses_kg=(more,)),)


# Sizes


def blank_sizes(blank: Blank) -> BlankSizes:
    """Return what of a blank decides its forging."""
    r = np.linspace(0.0, blank.rim_mm, _PLACES)
    top, bottom = heights(blank.upper, r), heights(turned_over(blank.lower), r)
    return _sizes(r, top - bottom, float(np.nanmax(top) - np.nanmin(bottom)))


def outline_sizes(path: Path) -> BlankSizes:
    """Return what of an outline decides its forging."""
    z0, z1, _, rim = path.bounds
    r = np.linspace(0.0, rim, _PLACES)
    # On the axle and on the rim a line would run along the outline.
    read = np.clip(r, 1e-6, rim - 1e-6)
    ends = np.stack([np.full((len(r), 2), z0 - 1.0), np.full((len(r), 2), z1 + 1.0)], axis=1)
    ends[:, :, 1] = read[:, None]
    area = shapely.Polygon(path.flattened(FLAT_MM))
    shapely.prepare(area)
    lines = shapely.intersection(shapely.linestrings(ends), area)
    return _sizes(r, np.asarray(shapely.length(lines)), z1 - z0)


def _sizes(r: Array, high: Array, tall_mm: float) -> BlankSizes:
    """Return the sizes of a blank by its heights at radii (n,) from axle to rim, and its whole height.

    The ring begins where the blank is half as high again between web and its greatest height.
    """
    rim, top = float(r[-1]), int(np.nanargmax(high))
    most, web = float(high[top]), float(np.nanmin(high[: top + 1]))
    ring = np.flatnonzero(high[: top + 1] > (web + most) / 2.0)
    bore = float(r[ring[0]]) if len(ring) and web < 0.9 * most else 0.9 * rim
    return BlankSizes(rim, web, bore, min(max(bore, 1.0), 0.99 * rim), most, tall_mm)


# Stretches


def _stretches(blank: Blank) -> tuple[tuple[int, Array], ...]:
    found: list[tuple[int, Array]] = []
    for profile, side in ((blank.upper, 1.0), (blank.lower, -1.0)):
        for row in clipped(profile, 0.0, blank.rim_mm):
            r = np.linspace(row[LOW], row[HIGH], 2 if row[RADIUS] == 0.0 else 24)
            z = side * np.array([height(row[None], 0, float(x)) for x in r])
            found.append((int(row[ORIGIN]), np.column_stack([z, r])))
    return tuple(found)


def _rounded_stretches(corners: Corners) -> tuple[tuple[int, Array], ...]:
    """Return the rounded outline in runs of one need, that of the sharp stretch that a piece lies on."""
    sharp = [(n, rows) for n, rows in _stretches(corners.sharp) if 0 <= n < corners.needs]
    tree = shapely.STRtree([shapely.LineString(rows) for _, rows in sharp])
    rows = corners.rounded.path.flattened(FLAT_MM)
    rows = np.vstack([rows, rows[:1]])
    middles = np.asarray(shapely.points((rows[:-1] + rows[1:]) / 2.0))
    numbers = np.full(len(middles), NO_NEED)
    on, nearest = tree.query_nearest(middles, max_distance=_ON_MM, all_matches=False)
    numbers[on] = [sharp[k][0] for k in nearest]
    off_axle = (rows[:-1, 1] > 1e-9) | (rows[1:, 1] > 1e-9)
    found: list[tuple[int, Array]] = []
    start = 0
    for k in range(1, len(numbers) + 1):
        if k == len(numbers) or numbers[k] != numbers[start] or off_axle[k] != off_axle[start]:
            if off_axle[start]:
                found.append((int(numbers[start]), rows[start : k + 1]))
            start = k
    return tuple(found)
