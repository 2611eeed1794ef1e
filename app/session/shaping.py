"""Edits that need more than one vertex: what each asks for, and what it makes of the answers.

No window is needed. A tool is data: places to be chosen on the drawing, values to be typed, and a function
that gives the new project with a sentence on what was done. Places are in the frame of the edited thing, mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum

from app.project.project import Project
from app.project.wheel import Wheel
from app.session.drag import changed
from app.session.edited import Edited, EditError, Kind, find, offset_mm, section_of, vertices_of, with_section
from app.session.restoring import SAVED, sources, with_zone
from app.studies.fit import measure_wheel
from app.units import LengthUnit, format_length
from geometry.errors import GeometryError
from geometry.readings.rules import GapRule
from geometry.shape import edits_lines, edits_offset, edits_relief
from geometry.shape.edits_pieces import Piece, distance, pieces_of
from geometry.shape.edits_stretch import Spot
from geometry.shape.outline import StayOut, placed_outline
from geometry.shape.section import Outline, Section, Zone, build


class Pick(Enum):
    """What is chosen by a click."""

    PLACE = "a place on the skin, or a corner"
    EDGE = "an edge"
    VERTEX = "a vertex"
    SHAPE = "a stay-out shape"
    OUTLINE = "another edge, a shape or the blank"


@dataclass(frozen=True)
class Chosen:
    """What a click chose.

    Attributes:
        spot: the place, in the frame of the edited thing.
        of: the thing whose outline was hit.
        edge, share: the edge hit and the fraction along it.
    """

    spot: Spot
    of: Edited
    edge: int
    share: float


@dataclass(frozen=True)
class Value:
    """A number to be typed: a length in mm, or an angle in degrees."""

    name: str
    hint: str
    start: float = 0.0
    is_angle: bool = False


@dataclass(frozen=True)
class Asked:
    """The answers so far."""

    project: Project
    edited: Edited
    wheel: Wheel | None
    chosen: tuple[Chosen, ...] = ()
    values: dict[str, float] = field(default_factory=dict)
    swapped: bool = False
    choice: str = ""
    group: tuple[int, ...] = ()
    legs: tuple[tuple[float, float], ...] = ()
    zone: str | None = None
    saved: Project | None = None

    @property
    def unit(self) -> LengthUnit:
        """Unit of lengths in words."""
        return "in" if self.project.display_unit == "in" else "mm"

    def with_change(self, change: Callable[[Section], Section]) -> Project:
        """Return the project with the edited thing changed, unless it is locked."""
        return with_section(self.project, self.edited, changed(self.project, self.edited, change))

    def say(self, length_mm: float) -> str:
        """Return a length in words."""
        return format_length(length_mm, self.unit)


@dataclass(frozen=True)
class Made:
    """A new project, and a sentence on what was done."""

    project: Project
    words: str


@dataclass(frozen=True)
class Tool:
    """One edit.

    Attributes:
        name: stable.
        title: in the row under the drawing, and of its undo step.
        picks: what is chosen, with a prompt for each.
        values: what is typed.
        make: the edit; raises EditError or GeometryError.
        swap: words of the button that takes the other side; empty for none.
        starts: starting values that depend on what was chosen, by name.
        choices: names of which one is to be chosen.
        repeats: Enter adds another leg; the edit is finished by a key or button of its own.
    """

    name: str
    title: str
    picks: tuple[tuple[Pick, str], ...]
    values: tuple[Value, ...]
    make: Callable[[Asked], Made]
    swap: str = ""
    starts: Callable[[Asked], dict[str, float]] = lambda asked: {}
    choices: Callable[[Asked], Sequence[str]] = lambda asked: ()
    repeats: bool = False


# What the tools do


def _stretch_words(asked: Asked, moved: edits_offset.Moved) -> str:
    (z0, r0), (z1, r1) = moved.start, moved.end
    side = _side(asked, moved.start)
    steps = [asked.say(step) for step in moved.steps if step > 5e-4]
    tail = f"; steps of {' and '.join(dict.fromkeys(steps))}" if steps else ""
    places = f"z {asked.say(z0)}, r {asked.say(r0)} to z {asked.say(z1)}, r {asked.say(r1)}"
    return f"The {side} moves: {places}{tail}."


def _side(asked: Asked, place: tuple[float, float]) -> str:
    built = build(section_of(asked.project, asked.edited))
    if not isinstance(built, Outline) or asked.edited.kind is not Kind.WHEEL:
        return "skin"
    _, piece, _ = distance(pieces_of(built.path), complex(*place))
    return f"{('tyre', 'brake', 'street')[int(built.side[piece])]} side"


def _wall(asked: Asked) -> Made:
    a, b = asked.chosen[0].spot, asked.chosen[1].spot
    found: list[edits_offset.Moved] = []

    def change(section: Section) -> Section:
        found.append(
            edits_offset.walled(
                section, a, b, asked.values["wall"], asked.swapped, max(asked.values["slope"], 0.0)
            )
        )
        return found[0].section

    project = asked.with_change(change)
    return Made(project, _cost(asked, project) + _stretch_words(asked, found[0]))


def _offset(asked: Asked) -> Made:
    a, b = asked.chosen[0].spot, asked.chosen[1].spot
    by = asked.values["by"] * (-1.0 if asked.swapped else 1.0)
    found: list[edits_offset.Moved] = []

    def change(section: Section) -> Section:
        found.append(edits_offset.shifted(section, a, b, by, max(asked.values["slope"], 0.0)))
        return found[0].section

    project = asked.with_change(change)
    way = "out of" if by > 0.0 else "into"
    words = _stretch_words(asked, found[0]).replace(
        "moves", f"moves {way} the metal by {asked.say(abs(by))}", 1
    )
    return Made(project, _cost(asked, project) + words)


def _cost(asked: Asked, project: Project) -> str:
    """Return what an edit changes of the shown wheel's mass, in words."""
    before = asked.wheel
    after = next((w for w in project.wheels if before is not None and w.name == before.name), None)
    if before is None or after is None or asked.edited.kind is not Kind.WHEEL:
        return ""
    masses = [
        found.measurements.solid.mass_kg
        for p, w in ((asked.project, before), (project, after))
        if (found := measure_wheel(p, w)).measurements is not None
    ]
    if len(masses) < 2:
        return ""
    grams = round((masses[1] - masses[0]) * 1000.0)
    return f"{abs(grams)} g {'more' if grams > 0 else 'less'}. " if grams else "Mass as before. "


def required_mm(asked: Asked) -> dict[str, float]:
    """Return the gap that the chosen shape asks of the wheel, as its line is drawn; none without a rule."""
    shape = find(asked.project, asked.chosen[0].of)
    wanted = asked.wheel.rules if asked.wheel is not None else None
    rules = next((r for r in asked.project.rule_sets if r.name == wanted), None)
    if not isinstance(shape, StayOut) or rules is None:
        return {}
    rule: GapRule | None = rules.largest_gap(shape.kind)
    if asked.zone is not None and asked.zone in set(Zone):
        rule = rules.for_gap(shape.kind, Zone(asked.zone))
    if rule is None:
        return {}
    return {"gap": rule.paper_mm + shape.card.error_mm - shape.card.included_gap_mm}


def _relief(asked: Asked) -> Made:
    shape = find(asked.project, asked.chosen[0].of)
    if asked.edited.kind is not Kind.WHEEL or not isinstance(shape, StayOut):
        raise EditError(
            "A relief is cut into a wheel by a stay-out shape: edit the wheel, then choose a shape."
        )
    own = offset_mm(asked.project, asked.edited, asked.wheel)
    paths = [placed_outline(o.corners, -own) for o in shape.outlines]
    faults = [p for p in paths if isinstance(p, tuple)]
    if faults:
        raise EditError(f"{shape.name}: {faults[0][0].message}")
    whole = [p for p in paths if not isinstance(p, tuple)]
    cuts: list[int] = []

    def change(section: Section) -> Section:
        found, count = edits_relief.relieved(section, whole, asked.values["gap"])
        cuts.append(count)
        return found

    project = asked.with_change(change)
    gap = asked.say(asked.values["gap"])
    if not cuts[0]:
        return Made(asked.project, f"Nothing to cut: the skin keeps {gap} from {shape.name} already.")
    where = "one place" if cuts[0] == 1 else f"{cuts[0]} places"
    return Made(project, _cost(asked, project) + f"Cut back to {gap} from {shape.name} at {where}.")


def versions_of_size(asked: Asked) -> list[str]:
    """Return what the versions of the edited wheel's size are called, that of its last saved state too."""
    own = find(asked.project, asked.edited)
    return list(sources(asked.project, asked.saved, own)) if isinstance(own, Wheel) else []


def _source(asked: Asked) -> Wheel:
    own = find(asked.project, asked.edited)
    found = sources(asked.project, asked.saved, own) if isinstance(own, Wheel) else {}
    if asked.choice not in found:
        raise EditError(
            "There is no other wheel of this size to copy from, and no saved state that differs; make a new "
            "version first."
        )
    return found[asked.choice]


def _take_over(asked: Asked) -> Made:
    source = _source(asked)
    a, b = asked.chosen[0].spot, asked.chosen[1].spot
    project = asked.with_change(lambda section: edits_relief.taken_over(section, source.section, a, b))
    return Made(project, _cost(asked, project) + f"The stretch is now that of {_called(asked, source)}.")


def _take_zone(asked: Asked) -> Made:
    source = _source(asked)
    zones: list[str] = []

    def change(section: Section) -> Section:
        found, zone = with_zone(section, source.section, asked.chosen[0].spot)
        zones.append(zone)
        return found

    project = asked.with_change(change)
    return Made(project, _cost(asked, project) + f"The {zones[0]} is now that of {_called(asked, source)}.")


def _called(asked: Asked, source: Wheel) -> str:
    return "the last saved state" if asked.choice == SAVED else source.name


def _legs(asked: Asked) -> Made:
    a, b = asked.chosen[0].spot, asked.chosen[1].spot
    legs = asked.legs
    if asked.values["length"] > 0.0:
        legs = (*legs, (asked.values["length"], asked.values["angle"]))
    if not legs:
        raise EditError("Type the length and the angle of the first leg.")
    project = asked.with_change(lambda section: edits_lines.with_legs(section, a, b, legs))
    count = "One leg" if len(legs) == 1 else f"{len(legs)} legs"
    return Made(
        project, _cost(asked, project) + f"{count} from the first place; a straight edge leads to the second."
    )


def _blend(asked: Asked) -> Made:
    first, second = (c.edge for c in asked.chosen)
    project = asked.with_change(lambda s: edits_lines.blended(s, first, second, asked.values["radius"]))
    return Made(project, _cost(asked, project) + f"Blended by {asked.say(asked.values['radius'])}.")


def _arc_to(asked: Asked) -> Made:
    edge, vertex = asked.chosen[0].edge, asked.chosen[1].spot.corner
    if vertex is None:
        raise EditError("The arc ends at a vertex: choose one.")
    radius = asked.values["radius"]
    project = asked.with_change(lambda s: edits_lines.through(s, edge, vertex, radius))
    return Made(
        project,
        _cost(asked, project) + f"An arc of {asked.say(radius)} leaves the edge and ends at the vertex.",
    )


def _lead(asked: Asked) -> Made:
    first, second = asked.chosen
    at_end = first.share >= 0.5
    if second.of == asked.edited:
        edge, other = first.edge, second.edge
        project = asked.with_change(lambda s: edits_lines.blended(s, edge, other, 0.0))
        return Made(project, _cost(asked, project) + "The two edges meet.")
    target = _pieces(asked, second.of)
    project = asked.with_change(lambda s: edits_lines.led_to(s, first.edge, at_end, target))
    return Made(project, _cost(asked, project) + f"The edge ends at {second.of.name}.")


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


def _edge(asked: Asked) -> Made:
    edge = asked.chosen[0].edge
    now, typed = edge_of(asked), asked.values
    # A box that nobody has typed in shows a rounded number; the exact one stays.
    length, angle = (
        now[k] if abs(now[k] - typed[k]) < least else typed[k]
        for k, least in (("length", 0.006), ("angle", 0.06))
    )
    project = asked.with_change(lambda s: edits_lines.with_edge(s, edge, length, angle))
    words = f"The start, vertex {edge + 1}, stays; the end moves."
    return Made(project, _cost(asked, project) + words)


def middle_of(asked: Asked) -> dict[str, float]:
    """Return the place that stays when the chosen vertices turn: the middle of their box."""
    vertices = vertices_of(asked.project, asked.edited)
    chosen = [vertices[i] for i in asked.group if i < len(vertices)]
    if not chosen:
        return {}
    zs, rs = [v.z for v in chosen], [v.r for v in chosen]
    return {"about z": (min(zs) + max(zs)) / 2.0, "about r": (min(rs) + max(rs)) / 2.0}


def _move(asked: Asked) -> Made:
    if not asked.group:
        raise EditError("Choose vertices first: click one, Shift-click more, or draw a box with Shift held.")
    v = asked.values
    about = (v["about z"], v["about r"])
    project = asked.with_change(
        lambda s: edits_lines.together(s, asked.group, v["dz"], v["dr"], v["angle"], about)
    )
    count = "One vertex" if len(asked.group) == 1 else f"{len(asked.group)} vertices"
    return Made(project, _cost(asked, project) + f"{count} moved.")


_FROM_HERE = (
    (Pick.PLACE, "Choose where it begins: a place on the skin, or a corner."),
    (Pick.PLACE, "Choose where it ends."),
)
_SLOPE = Value("slope", "Length along the skin over which a step at an end is led over; 0 for a square step")

TOOLS: dict[str, Tool] = {
    tool.name: tool
    for tool in (
        Tool(
            "wall", "Make a wall", _FROM_HERE,
            (Value("wall", "Wall from the skin across the metal", 5.0), _SLOPE),
            _wall, swap="Move the other side",
        ),
        Tool(
            "offset", "Move a stretch of skin", _FROM_HERE,
            (Value("by", "How far the skin moves out of the metal; with a minus sign, into it", 1.0), _SLOPE),
            _offset, swap="The other way",
        ),
        Tool(
            "relief", "Cut a relief",
            ((Pick.SHAPE, "Choose the stay-out shape to be cleared."),),
            (Value("gap", "Gap from the shape's outline that the cut leaves", 3.0),),
            _relief, starts=required_mm,
        ),
        Tool("take_over", "Copy a stretch from", _FROM_HERE, (), _take_over, choices=versions_of_size),
        Tool(
            "take_zone", "Copy a zone from",
            ((Pick.PLACE, "Choose the zone: a place on its skin."),),
            (), _take_zone, choices=versions_of_size,
        ),
        Tool(
            "legs", "Draw by lengths and angles", _FROM_HERE,
            (
                Value("length", "Length of the next leg", 0.0),
                Value("angle", "Its direction: 0 outboard, 90 away from the axle", 0.0, is_angle=True),
            ),
            _legs, repeats=True,
        ),
        Tool(
            "blend", "Blend two edges",
            ((Pick.EDGE, "Choose the first edge."), (Pick.EDGE, "Choose the second edge.")),
            (Value("radius", "Radius of the arc that touches both; 0 lets them meet", 5.0),),
            _blend,
        ),
        Tool(
            "arc_to", "Arc to a vertex",
            ((Pick.EDGE, "Choose the edge that the arc leaves."), (Pick.VERTEX, "Choose where it ends.")),
            (Value("radius", "Radius of the arc", 20.0),),
            _arc_to,
        ),
        Tool(
            "edge", "Length and angle",
            ((Pick.EDGE, "Choose the edge; its start stays, along the outline, and its end moves."),),
            (
                Value("length", "Length of the edge; of an arc, of its chord"),
                Value("angle", "Its direction: 0 outboard, 90 away from the axle", is_angle=True),
            ),
            _edge, starts=edge_of,
        ),
        Tool(
            "lead", "Trim or extend an edge",
            (
                (Pick.EDGE, "Choose the edge, near the end that moves."),
                (Pick.OUTLINE, "Choose what it shall meet: another edge, a shape or the blank."),
            ),
            (), _lead,
        ),
        Tool(
            "move", "Move together", (),
            (
                Value("dz", "Along the axle, + outboard"),
                Value("dr", "Away from the axle"),
                Value("angle", "Turn, + from outboard away from the axle", is_angle=True),
                Value("about z", "Place that stays when they turn"),
                Value("about r", "Place that stays when they turn"),
            ),
            _move, starts=middle_of,
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
