"""Parts of other versions to be taken over: which versions there are, and a whole zone of one of them."""

from __future__ import annotations

from dataclasses import replace

from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.edited import EditError
from geometry.shape.edits_pieces import distance, pieces_of
from geometry.shape.edits_relief import taken_over
from geometry.shape.edits_stretch import Spot
from geometry.shape.section import ZONES, Outline, Section, build

#: The edited wheel itself as it was last saved, among the versions to copy from.
SAVED = tr("as last saved")


def sources(project: Project, saved: Project | None, wheel: Wheel) -> dict[str, Wheel]:
    """Return the versions of one size that a wheel's section can be copied from, by what they are called.

    First what it was made from, then the others, last its own saved state where that differs.
    """
    alike = [w for w in project.wheels if w.name != wheel.name and w.size == wheel.size]
    alike.sort(key=lambda w: w.name != wheel.made_from)
    found = {w.name: w for w in alike}
    before = next((w for w in saved.wheels if w.name == wheel.name), None) if saved is not None else None
    if before is not None and before.size == wheel.size and before.section != wheel.section:
        found[SAVED] = before
    return found


def with_zone(section: Section, other: Section, spot: Spot) -> tuple[Section, str]:
    """Return a section with the zone at a place as another section has it, and the zone's name.

    Where both have the same vertices in the same zones those of the zone are taken as they are, with the one
    that ends it; else the stretch of skin is copied.

    Raises:
        EditError: the zone is of the locked contour.
        GeometryError: a section has a fault, or no valid one comes out.
    """
    built = build(section)
    if not isinstance(built, Outline):
        raise EditError(
            tr("The outline has a fault, to be mended first: {message}", message=built[0].message)
        )
    pieces = pieces_of(built.path)
    _, at, _ = distance(pieces, complex(spot.z, spot.r))
    zone = ZONES[int(built.zone[at])]
    vertices, n = section.vertices, len(section.vertices)
    first = last = int(built.vertex[at])
    if vertices[first].zone is not zone:  # a corner's arc before its vertex is of the zone before
        first = last = (first - 1) % n
    while vertices[first - 1].zone is zone and (first - 1) % n != last:
        first = (first - 1) % n
    while vertices[(last + 1) % n].zone is zone and (last + 1) % n != first:
        last = (last + 1) % n
    taken = [(first + k) % n for k in range((last - first) % n + 2)]
    free = [k for k in taken if k >= section.locked]
    if not free or (section.locked and first < section.locked and last < section.locked):
        raise EditError(
            tr("The {zone} is of the locked rim contour, which follows from the size code.", zone=zone)
        )
    if [v.zone for v in vertices] == [v.zone for v in other.vertices] and section.locked == other.locked:
        mixed = tuple(other.vertices[k] if k in free else v for k, v in enumerate(vertices))
        whole = replace(section, vertices=mixed)
        if isinstance(build(whole), Outline):
            return whole, str(zone)
    start, end = vertices[first], vertices[(last + 1) % n]
    return taken_over(section, other, Spot(start.z, start.r), Spot(end.z, end.r)), str(zone)
