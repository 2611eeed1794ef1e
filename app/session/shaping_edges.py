"""Edits of edges and vertices by values: chains, blends, arcs, trims, lengths and angles, moves together."""

from __future__ import annotations

import math

from app.language import tr
from app.session.asked import Asked, Made, cost
from app.session.edited import Edited, EditError, Kind, offset_mm, section_of, vertices_of
from geometry.shape import edits_lines
from geometry.shape.edits_pieces import Piece, pieces_of
from geometry.shape.outline import placed_outline
from geometry.shape.section import Outline, build


def legs(asked: Asked) -> Made:
    """Draw a chain by lengths and angles between two places."""
    a, b = asked.chosen[0].spot, asked.chosen[1].spot
    legs = asked.legs
    if asked.values["length"] > 0.0:
        legs = (*legs, (asked.values["length"], asked.values["angle"]))
    if not legs:
        raise EditError(tr("Type the length and the angle of the first leg."))
    project = asked.with_change(lambda section: edits_lines.with_legs(section, a, b, legs))
    count = tr("One leg") if len(legs) == 1 else tr("{legs} legs", legs=len(legs))
    return Made(
        project,
        cost(asked, project)
        + tr("{count} from the first place; a straight edge leads to the second.", count=count),
    )


def blend(asked: Asked) -> Made:
    """Blend two edges by a tangent arc."""
    first, second = (c.edge for c in asked.chosen)
    project = asked.with_change(lambda s: edits_lines.blended(s, first, second, asked.values["radius"]))
    return Made(
        project, cost(asked, project) + tr("Blended by {say}.", say=asked.say(asked.values["radius"]))
    )


def arc_to(asked: Asked) -> Made:
    """Lead a tangent arc from an edge to a vertex."""
    edge, vertex = asked.chosen[0].edge, asked.chosen[1].spot.corner
    if vertex is None:
        raise EditError(tr("The arc ends at a vertex: choose one."))
    radius = asked.values["radius"]
    project = asked.with_change(lambda s: edits_lines.through(s, edge, vertex, radius))
    return Made(
        project,
        cost(asked, project)
        + tr("An arc of {say} leaves the edge and ends at the vertex.", say=asked.say(radius)),
    )


def lead(asked: Asked) -> Made:
    """Trim or extend an edge to another edge, a shape or the blank."""
    first, second = asked.chosen
    at_end = first.share >= 0.5
    if second.of == asked.edited:
        edge, other = first.edge, second.edge
        project = asked.with_change(lambda s: edits_lines.blended(s, edge, other, 0.0))
        return Made(project, cost(asked, project) + tr("The two edges meet."))
    target = _pieces(asked, second.of)
    project = asked.with_change(lambda s: edits_lines.led_to(s, first.edge, at_end, target))
    return Made(project, cost(asked, project) + tr("The edge ends at {name}.", name=second.of.name))


def _pieces(asked: Asked, of: Edited) -> list[Piece]:
    """Return the outline of another thing in the frame of the edited one."""
    shift = offset_mm(asked.project, of, asked.wheel) - offset_mm(asked.project, asked.edited, asked.wheel)
    built = build(section_of(asked.project, of)) if of.kind is Kind.WHEEL else None
    if isinstance(built, Outline):
        return pieces_of(built.path.moved(shift))
    corners = tuple(c for c in vertices_of(asked.project, of))
    path = placed_outline(corners, shift)
    if isinstance(path, tuple):
        raise EditError(f"{of.name}: {path[0].message}")
    return pieces_of(path)


def edge_of(asked: Asked) -> dict[str, float]:
    """Return the length and the angle of the chosen edge."""
    vertices, edge = vertices_of(asked.project, asked.edited), asked.chosen[0].edge
    v, w = vertices[edge], vertices[(edge + 1) % len(vertices)]
    return {
        "length": math.hypot(w.z - v.z, w.r - v.r),
        "angle": math.degrees(math.atan2(w.r - v.r, w.z - v.z)),
    }


def edge(asked: Asked) -> Made:
    """Give an edge a length and an angle."""
    edge, length, angle = asked.chosen[0].edge, asked.values["length"], asked.values["angle"]
    project = asked.with_change(lambda s: edits_lines.with_edge(s, edge, length, angle))
    words = tr("The start, vertex {edge}, stays; the end moves.", edge=edge + 1)
    return Made(project, cost(asked, project) + words)


def middle_of(asked: Asked) -> dict[str, float]:
    """Return the place that stays when the chosen vertices turn: the middle of their box."""
    vertices = vertices_of(asked.project, asked.edited)
    chosen = [vertices[i] for i in asked.group if i < len(vertices)]
    if not chosen:
        return {}
    zs, rs = [v.z for v in chosen], [v.r for v in chosen]
    return {"about z": (min(zs) + max(zs)) / 2.0, "about r": (min(rs) + max(rs)) / 2.0}


def move(asked: Asked) -> Made:
    """Move and turn the chosen vertices."""
    if not asked.group:
        raise EditError(
            tr("Choose vertices first: click one, Shift-click more, or draw a box with Shift held.")
        )
    v = asked.values
    about = (v["about z"], v["about r"])
    project = asked.with_change(
        lambda s: edits_lines.together(s, asked.group, v["dz"], v["dr"], v["angle"], about)
    )
    count = tr("One vertex") if len(asked.group) == 1 else tr("{group} vertices", group=len(asked.group))
    return Made(project, cost(asked, project) + tr("{count} moved.", count=count))
