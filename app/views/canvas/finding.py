"""What lies under a place of the drawing: an edge, something to be edited, an answer to a tool."""

from __future__ import annotations

import math

from app.session.asked import Chosen, Pick
from app.session.document import Document
from app.session.edited import Edited, Kind, offset_mm, vertices_of
from app.session.shown import Shown
from app.views.canvas.drawn import blank_of, shapes_of
from app.views.canvas.plot import Sheet
from geometry.shape.edits import nearest_edge
from geometry.shape.edits_stretch import Spot

Place = tuple[float, float]

#: Points and lines attract within this many logical pixels; an edge is hit within the same.
REACH_PX = 8.0


class Finding:
    """Finds what lies at a place, (z, r) in mm of the hub's frame, within reach on the screen."""

    def __init__(self, document: Document, sheet: Sheet) -> None:
        self._document, self._sheet = document, sheet

    @property
    def reach_mm(self) -> float:
        """How far a hit may lie off."""
        return REACH_PX * self._sheet.mm_per_pixel

    def edge_at(self, place: Place, edited: Edited | None = None) -> tuple[int, float, float] | None:
        """Return edge, fraction along it and distance in mm of the edge at a place, or None."""
        document = self._document
        edited = edited or document.edited
        vertices = vertices_of(document.project, edited) if edited is not None else ()
        if edited is None or len(vertices) < 2:
            return None
        shift = offset_mm(document.project, edited, document.wheel)
        edge, t, distance = nearest_edge(vertices, place[0] - shift, place[1])
        return (edge, t, distance) if distance <= self.reach_mm else None

    def thing_at(self, place: Place) -> Edited | None:
        """Return the thing whose outline is nearest to a place, or None."""
        things = drawn(self._document.state)
        near = [(hit[2], k) for k, e in enumerate(things) if (hit := self.edge_at(place, e)) is not None]
        return things[min(near)[1]] if near else None

    def chosen_at(self, place: Place, kind: Pick) -> Chosen | None:
        """Return what a click chooses for an edit under way."""
        document = self._document
        if document.edited is None:
            return None
        things = [document.edited]
        if kind in (Pick.SHAPE, Pick.OUTLINE):
            every = [e for e in drawn(document.state) if e != document.edited]
            things = every if kind is Pick.OUTLINE else [e for e in every if e.kind is Kind.SHAPE]
            things += [document.edited] if kind is Pick.OUTLINE else []
        near = [(hit, e) for e in things if (hit := self.edge_at(place, e)) is not None]
        if not near:
            return None
        (edge, share, _), thing = min(near, key=lambda found: found[0][2])
        shift = offset_mm(document.project, thing, document.wheel)
        vertices = vertices_of(document.project, thing)
        at = (place[0] - shift, place[1])
        apart = [math.hypot(v.z - at[0], v.r - at[1]) for v in vertices]
        nearest = apart.index(min(apart))
        corner = nearest if apart[nearest] <= self.reach_mm else None
        if kind is Pick.VERTEX and corner is None:
            return None
        spot = (
            Spot(at[0], at[1], corner)
            if corner is None
            else Spot(vertices[corner].z, vertices[corner].r, corner)
        )
        return Chosen(spot, thing, edge, share)


def drawn(shown: Shown) -> list[Edited]:
    """Return everything on the sheet whose vertices could be edited."""
    result = []
    if shown.wheel is not None and shown.wheel.visible:
        result.append(Edited(Kind.WHEEL, shown.wheel.name))
    blank = blank_of(shown)
    if blank is not None:
        result.append(Edited(Kind.BLANK, blank.name))
    for shape in shapes_of(shown):
        result += [Edited(Kind.SHAPE, shape.name, k) for k in range(len(shape.outlines))]
    return result
