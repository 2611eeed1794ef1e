"""The stages of a wheel in its blank: what stands in the chuck after each step, as outlines.

    as forged     the blank; of a spun one the ring that it is drawn from
    pierced       less the hole in its hub
    as spun       the ring drawn out and trimmed; the blank from here on
    rough turned  cut to the wheel grown by the rough stock, first one side, then all round; raw skin stays
                  where the blank has less
    treated       the same, solution-treated and aged
    first side    less what belongs to that side of what lies outside the wheel grown by the finishing stock
    second side   cut to that all round
    finished      the wheel, windows and holes filled

The brake side is bore, inside and what lies beyond the inboard end; the street side is face and what lies
beyond the outboard end. Outside and undercuts are cut with the street side; but where the street side is cut
first, the outside of the end that the jaws hold, and undercuts, wait for the second side. What a cut leaves
without hold falls off and is counted as chips; what it would close off stays until it is open.

Booleans are taken on polygons with vertices on the true arcs, and the arcs found again afterwards
(`geometry.forging.arcs`): an outline lies within OFF_MM of the true one.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import shapely
from shapely.geometry.base import BaseGeometry

from geometry.errors import GeometryError
from geometry.forging.arcs import FLAT_MM, circles_of, with_arcs
from geometry.forging.areas import common, largest, less, united
from geometry.forging.grown import grown
from geometry.forging.parting import parted
from geometry.forging.usable import check_size
from geometry.shape.curve import Path

#: More is no stock of a wheel, mm.
MOST_MM = 100.0


class StageName(StrEnum):
    """The stages, in their order."""

    FORGED = "as forged"
    PIERCED = "pierced"
    SPUN = "as spun"
    ROUGH_FIRST = "rough turned on the first side"
    ROUGH = "rough turned"
    TREATED = "solution-treated and aged"
    FIRST = "first side"
    SECOND = "second side"
    FINISHED = "finished"


@dataclass(frozen=True)
class Route:
    """How a wheel is cut from its blank, mm.

    Attributes:
        pierced_mm: diameter of the hole in the hub; None where it is not pierced.
        rough_mm: stock left by rough turning before heat treatment; None where it is treated as forged.
        finishing_mm: stock left after both sides: at least the movement when the skin comes off.
        brake_first: the brake side is cut before the street side.
        jaw_mm: length that the jaws hold, at the end that they hold.
    """

    pierced_mm: float | None = None
    rough_mm: float | None = None
    finishing_mm: float = 0.6
    brake_first: bool = True
    jaw_mm: float = 10.0


@dataclass(frozen=True, eq=False)
class Stage:
    """The outline after one step, closed and counterclockwise."""

    name: StageName
    path: Path


def stages(
    blank: Path, wheel: Path, route: Route, *, ring: Path | None = None, is_spun: bool = False
) -> tuple[Stage, ...]:
    """Return the stages of a wheel in its blank, in order.

    Each lies within the one before, and holds the wheel wherever the blank does, both within OFF_MM; the
    finished one is the wheel itself, also where the blank has not its metal. The ring of a spun blank is
    another shape of the same metal: it neither holds the spun outline nor lies in it.

    Args:
        blank: closed counterclockwise half-section; it may reach the axle.
        wheel: the same of the wheel's full body of revolution, in the same frame.
        route: how it is cut.
        ring: the same of the forging that a spun blank is drawn from; None where it is not known.
        is_spun: the blank is spun: its outline is not the forging's.

    Raises:
        GeometryError: a setting is out of bounds, an outline is none, or the wheel lies outside the blank.
    """
    _check(blank, wheel, route, ring)
    area = shapely.Polygon(blank.flattened(FLAT_MM))
    circles = [*circles_of(blank)]
    spun = is_spun or ring is not None
    found = [] if spun and ring is None else [Stage(StageName.FORGED, ring or blank)]
    if route.pierced_mm is not None:
        hole = _within(route.pierced_mm / 2.0)
        area = _held(less(area, hole))
        if not spun:
            found.append(Stage(StageName.PIERCED, with_arcs(area, circles)))
        elif ring is not None:
            pierced = _held(less(shapely.Polygon(ring.flattened(FLAT_MM)), hole))
            found.append(Stage(StageName.PIERCED, with_arcs(pierced, [*circles_of(ring)])))
    if spun:
        path = blank if route.pierced_mm is None else with_arcs(area, circles)
        found.append(Stage(StageName.SPUN, path))
    if route.rough_mm is not None:
        rough, of_rough = grown(wheel, route.rough_mm)
        circles += of_rough
        area = _held(_first_side(area, rough, route))
        found.append(Stage(StageName.ROUGH_FIRST, with_arcs(area, circles)))
        area = _held(common(area, rough))
        found.append(Stage(StageName.ROUGH, with_arcs(area, circles)))
    found.append(Stage(StageName.TREATED, found[-1].path))
    kept, of_kept = grown(wheel, route.finishing_mm)
    circles += of_kept
    area = _held(_first_side(area, kept, route))
    found.append(Stage(StageName.FIRST, with_arcs(area, circles)))
    area = _held(common(area, kept))
    found.append(Stage(StageName.SECOND, with_arcs(area, circles)))
    return (*found, Stage(StageName.FINISHED, wheel))


def _check(blank: Path, wheel: Path, route: Route, ring: Path | None) -> None:
    for words, path in (("blank", blank), ("wheel", wheel), ("forged ring", ring)):
        if path is None:
            continue
        if not path.area > 0.0:
            raise GeometryError(f"The section of the {words} runs clockwise; turn its vertices round.")
        check_size(path)
    for words, value in (
        ("rough stock", route.rough_mm),
        ("finishing stock", route.finishing_mm),
        ("length in the jaws", route.jaw_mm),
    ):
        if value is not None and not 0.0 <= value <= MOST_MM:
            raise GeometryError(f"The {words} is {value:g} mm; it must be from 0 to {MOST_MM:g}.")
    if route.rough_mm is not None and route.rough_mm <= route.finishing_mm:
        raise GeometryError(
            f"The rough stock of {route.rough_mm:g} mm must be more than the finishing stock of "
            f"{route.finishing_mm:g} mm: nothing would be left to cut after heat treatment."
        )
    if not shapely.Polygon(blank.flattened(FLAT_MM)).intersects(shapely.Polygon(wheel.flattened(FLAT_MM))):
        z, _, r, _ = wheel.bounds
        raise GeometryError("The wheel lies outside the blank; check its seat in the blank.", (z, r))
    if route.pierced_mm is not None:
        for path in (blank,) if ring is None else (blank, ring):
            _check_hole(2.0 * path.bounds[2], 2.0 * wheel.bounds[2], route.pierced_mm)


def _check_hole(open_mm: float, bore_mm: float, hole_mm: float) -> None:
    if not hole_mm > 0.0:
        raise GeometryError(f"The hole is {hole_mm:g} mm in diameter; it must be more than 0.")
    if hole_mm <= open_mm:
        raise GeometryError(
            f"The blank is open to {open_mm:g} mm already: a hole of {hole_mm:g} mm takes nothing off it."
        )
    if hole_mm >= bore_mm:
        raise GeometryError(
            f"A hole of {hole_mm:g} mm takes metal of the wheel, whose bore is {bore_mm:g} mm; pierce less."
        )


def _within(radius: float) -> BaseGeometry:
    return shapely.box(-1e5, -1.0, 1e5, radius)


def _first_side(area: BaseGeometry, kept: shapely.Polygon, route: Route) -> BaseGeometry:
    sides = parted(less(area, kept), kept)
    if route.brake_first:
        return less(area, united(sides.brake, sides.plug))
    jaws = shapely.box(-1e5, -1.0, area.bounds[0] + route.jaw_mm, 1e5)
    return less(area, united(sides.street, sides.plug, less(sides.outside, jaws)))


def _held(area: BaseGeometry) -> shapely.Polygon:
    """Return the largest part, with what it closes off.

    Raises:
        GeometryError: nothing is left.
    """
    part = largest(area)
    if part.is_empty:
        raise GeometryError("Nothing is left of the blank; check the wheel's seat in it.")
    return part
