"""The edits that need more than one vertex: a table of tools, each with what it asks and what it makes."""

from __future__ import annotations

from app.language import tr
from app.session import shaping_edges, shaping_stretch
from app.session.asked import Asked, Made, Pick, Tool, Value
from app.session.edited import EditError
from geometry.errors import GeometryError

_FROM_HERE = (
    (Pick.PLACE, tr("Choose where it begins: a place on the skin, or a corner.")),
    (Pick.PLACE, tr("Choose where it ends.")),
)
_SLOPE = Value(
    "slope", tr("Length along the skin over which a step at an end is led over; 0 for a square step")
)

TOOLS: dict[str, Tool] = {
    tool.name: tool
    for tool in (
        Tool(
            "wall", tr("Make a wall"), _FROM_HERE,
            (Value("wall", tr("Wall from the skin across the metal"), 5.0), _SLOPE),
            shaping_stretch.wall, swap=tr("Move the other side"),
        ),
        Tool(
            "offset", tr("Move a stretch of skin"), _FROM_HERE,
            (Value("by", tr("How far the skin moves out of the metal; with a minus sign, into "
                "it"), 1.0), _SLOPE),
            shaping_stretch.offset, swap=tr("The other way"),
        ),
        Tool(
            "relief", tr("Cut a relief"),
            ((Pick.SHAPE, tr("Choose the stay-out shape to be cleared.")),),
            (Value("gap", tr("Gap from the shape's outline that the cut leaves"), 3.0),),
            shaping_stretch.relief, starts=shaping_stretch.required_mm,
        ),
        Tool(
            "take_over", tr("Copy a stretch from"), _FROM_HERE, (),
            shaping_stretch.take_over, choices=shaping_stretch.versions_of_size,
        ),
        Tool(
            "take_zone", tr("Copy a zone from"),
            ((Pick.PLACE, tr("Choose the zone: a place on its skin.")),),
            (), shaping_stretch.take_zone, choices=shaping_stretch.versions_of_size,
        ),
        Tool(
            "legs", tr("Draw by lengths and angles"), _FROM_HERE,
            (
                Value("length", tr("Length of the next leg"), 0.0),
                Value("angle", tr("Its direction: 0 outboard, 90 away from the axle"), 0.0, is_angle=True),
            ),
            shaping_edges.legs, repeats=True,
        ),
        Tool(
            "blend", tr("Blend two edges"),
            ((Pick.EDGE, tr("Choose the first edge.")), (Pick.EDGE, tr("Choose the second edge."))),
            (Value("radius", tr("Radius of the arc that touches both; 0 lets them meet"), 5.0),),
            shaping_edges.blend,
        ),
        Tool(
            "arc_to", tr("Arc to a vertex"),
            ((Pick.EDGE, tr("Choose the edge that the arc "
                "leaves.")), (Pick.VERTEX, tr("Choose where it ends."))),
            (Value("radius", tr("Radius of the arc"), 20.0),),
            shaping_edges.arc_to,
        ),
        Tool(
            "edge", tr("Length and angle"),
            ((Pick.EDGE, tr("Choose the edge; its start stays, along the outline, and its end moves.")),),
            (
                Value("length", tr("Length of the edge; of an arc, of its chord")),
                Value("angle", tr("Its direction: 0 outboard, 90 away from the axle"), is_angle=True),
            ),
            shaping_edges.edge, starts=shaping_edges.edge_of,
        ),
        Tool(
            "lead", tr("Trim or extend an edge"),
            (
                (Pick.EDGE, tr("Choose the edge, near the end that moves.")),
                (Pick.OUTLINE, tr("Choose what it shall meet: another edge, a shape or the blank.")),
            ),
            (), shaping_edges.lead,
        ),
        Tool(
            "move", tr("Move together"), (),
            (
                Value("dz", tr("Along the axle, + outboard")),
                Value("dr", tr("Away from the axle")),
                Value("angle", tr("Turn, + from outboard away from the axle"), is_angle=True),
                Value("about z", tr("Place that stays when they turn")),
                Value("about r", tr("Place that stays when they turn")),
            ),
            shaping_edges.move, starts=shaping_edges.middle_of,
        ),
    )
}  # fmt: skip


def made(tool: Tool, asked: Asked) -> Made:
    """Return what a tool makes of the answers.

    Raises:
        EditError: it cannot be done; what, where and how to mend it.
    """
    try:
        return tool.make(asked)
    except GeometryError as refused:
        raise EditError(str(refused)) from refused
