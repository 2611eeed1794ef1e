"""Edits of a stretch of skin: made to a wall, moved, cut back from a shape, copied from a version."""

from __future__ import annotations

from app.language import tr
from app.project.wheel import Wheel
from app.session.asked import Asked, Made, cost
from app.session.edited import EditError, Kind, find, offset_mm, section_of
from app.session.restoring import SAVED, sources, with_zone
from geometry.readings.rules import GapRule
from geometry.shape import edits_offset, edits_relief
from geometry.shape.edits_pieces import distance, pieces_of
from geometry.shape.outline import StayOut, placed_outline
from geometry.shape.section import Outline, Section, Zone, build


def _stretch_words(asked: Asked, moved: edits_offset.Moved) -> str:
    (z0, r0), (z1, r1) = moved.start, moved.end
    side = _side(asked, moved.start)
    steps = [asked.say(step) for step in moved.steps if step > 5e-4]
    tail = tr("; steps of {fromkeys}", fromkeys=tr(" and ").join(dict.fromkeys(steps))) if steps else ""
    places = tr(
        "z {say}, r {say_2} to z {say_3}, r {say_4}",
        say=asked.say(z0),
        say_2=asked.say(r0),
        say_3=asked.say(z1),
        say_4=asked.say(r1),
    )
    return tr("The {side} moves: {places}{tail}.", side=side, places=places, tail=tail)


def _side(asked: Asked, place: tuple[float, float]) -> str:
    built = build(section_of(asked.project, asked.edited))
    if not isinstance(built, Outline) or asked.edited.kind is not Kind.WHEEL:
        return tr("skin")
    _, piece, _ = distance(pieces_of(built.path), complex(*place))
    return tr("{value} side", value=("tyre", "brake", "street")[int(built.side[piece])])


def wall(asked: Asked) -> Made:
    """Make a wall between two places."""
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
    return Made(project, cost(asked, project) + _stretch_words(asked, found[0]))


def offset(asked: Asked) -> Made:
    """Move a stretch of the skin."""
    a, b = asked.chosen[0].spot, asked.chosen[1].spot
    by = asked.values["by"] * (-1.0 if asked.swapped else 1.0)
    found: list[edits_offset.Moved] = []

    def change(section: Section) -> Section:
        found.append(edits_offset.shifted(section, a, b, by, max(asked.values["slope"], 0.0)))
        return found[0].section

    project = asked.with_change(change)
    way = tr("out of") if by > 0.0 else tr("into")
    words = _stretch_words(asked, found[0]).replace(
        "moves", tr("moves {way} the metal by {say}", way=way, say=asked.say(abs(by))), 1
    )
    return Made(project, cost(asked, project) + words)


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


def relief(asked: Asked) -> Made:
    """Cut the skin back from a shape."""
    shape = find(asked.project, asked.chosen[0].of)
    if asked.edited.kind is not Kind.WHEEL or not isinstance(shape, StayOut):
        raise EditError(
            tr("A relief is cut into a wheel by a stay-out shape: edit the wheel, then choose a shape.")
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
        return Made(
            asked.project,
            tr("Nothing to cut: the skin keeps {gap} from {name} already.", gap=gap, name=shape.name),
        )
    where = tr("one place") if cuts[0] == 1 else tr("{cuts} places", cuts=cuts[0])
    return Made(
        project,
        cost(asked, project)
        + tr("Cut back to {gap} from {name} at {where}.", gap=gap, name=shape.name, where=where),
    )


def versions_of_size(asked: Asked) -> list[str]:
    """Return what the versions of the edited wheel's size are called, that of its last saved state too."""
    own = find(asked.project, asked.edited)
    return list(sources(asked.project, asked.saved, own)) if isinstance(own, Wheel) else []


def _source(asked: Asked) -> Wheel:
    own = find(asked.project, asked.edited)
    found = sources(asked.project, asked.saved, own) if isinstance(own, Wheel) else {}
    if asked.choice not in found:
        raise EditError(
            tr(
                "There is no other wheel of this size to copy from, and no saved state that differs; "
                "make a new "
                "version first."
            )
        )
    return found[asked.choice]


def take_over(asked: Asked) -> Made:
    """Copy a stretch from another version."""
    source = _source(asked)
    a, b = asked.chosen[0].spot, asked.chosen[1].spot
    project = asked.with_change(lambda section: edits_relief.taken_over(section, source.section, a, b))
    return Made(
        project,
        cost(asked, project) + tr("The stretch is now that of {called}.", called=_called(asked, source)),
    )


def take_zone(asked: Asked) -> Made:
    """Copy a whole zone from another version."""
    source = _source(asked)
    zones: list[str] = []

    def change(section: Section) -> Section:
        found, zone = with_zone(section, source.section, asked.chosen[0].spot)
        zones.append(zone)
        return found

    project = asked.with_change(change)
    return Made(
        project,
        cost(asked, project)
        + tr("The {zones} is now that of {called}.", zones=zones[0], called=_called(asked, source)),
    )


def _called(asked: Asked, source: Wheel) -> str:
    return tr("the last saved state") if asked.choice == SAVED else source.name
