"""Constraints asked of vertices that are chosen on the drawing: what each needs, and with which number."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from app.language import tr
from app.project.constraining import NotHeldError, Thing, is_held, refuse_new, rows_of, states, with_held
from app.project.edits import EditError
from app.project.numbering import constraint_words
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.edited import Edited, outline_of, with_asked
from app.session.shown import Shown
from app.units import LengthUnit, format_length
from geometry.errors import GeometryError
from geometry.shape.constraints import value_of
from geometry.shape.constraints_clear import near
from geometry.shape.curve import Array, Path
from geometry.shape.held import COUNTS, VALUED, Constraint, Hold
from geometry.shape.outline import placed_outline

#: What is to be chosen, for each kind.
CHOOSE: dict[Hold, str] = {
    Hold.RADIUS: tr("Choose a vertex with a corner radius, or the two ends of an arc."),
    Hold.TANGENT: tr("Choose the vertex at which an arc and its neighbour meet."),
    Hold.HORIZONTAL: tr("Choose two vertices."),
    Hold.VERTICAL: tr("Choose two vertices."),
    Hold.ANGLE: tr(
        "Choose two vertices for the angle of their line, or three for the angle at the middle one."
    ),
    Hold.DISTANCE: tr("Choose two vertices, or one and the two ends of an edge."),
    Hold.ALONG_Z: tr("Choose two vertices."),
    Hold.ALONG_R: tr("Choose two vertices."),
    Hold.EQUAL_WALL: tr("Choose four vertices: the ends of two walls."),
    Hold.CLEAR: tr("Choose a vertex, or the two ends of an edge."),
}
#: A gap to begin with where no rule says one, mm; common practice, no source.
_GAP_MM = 3.0


def asked(shown: Shown, kind: Hold) -> Constraint:
    """Return the constraint that is asked of the chosen vertices, with the number that it has now.

    Raises:
        EditError: others are to be chosen; says which.
    """
    outline = outline_of(shown.project, shown.edited) if shown.edited is not None else None
    chosen = shown.group
    # One pair of walls square to lines is for files alone: six vertices cannot be told apart.
    if outline is None or len(chosen) not in COUNTS[kind] or len(chosen) == 6:
        raise EditError(tr("{choose} Shift-click adds to what is chosen.", choose=CHOOSE[kind]))
    rows = rows_of(outline)
    numbers = _ordered(kind, chosen, rows)
    if kind is Hold.CLEAR:
        return _clear(shown, numbers)
    if kind not in VALUED:
        return Constraint(kind, numbers)
    try:
        value = value_of(Constraint(kind, numbers), rows)
    except GeometryError as refused:
        raise EditError(f"{refused} {CHOOSE[kind]}") from refused
    if kind in (Hold.ALONG_Z, Hold.ALONG_R) and value < 0.0:
        numbers, value = (numbers[1], numbers[0]), -value
    if kind is Hold.ANGLE and len(numbers) == 2:  # of a line, which has no direction
        value = (value + 90.0) % 180.0 - 90.0
    if kind is Hold.RADIUS and value == 0.0:
        raise EditError(
            tr("Vertex {numbers} is sharp: round it first. {choose}", numbers=numbers[0], choose=CHOOSE[kind])
        )
    return Constraint(kind, numbers, round(value, 9))


def _ordered(kind: Hold, chosen: Sequence[int], rows: Array) -> tuple[int, ...]:
    """Return the numbers of chosen vertices in the order that a constraint means them in."""
    numbers = tuple(i + 1 for i in chosen)
    n = len(rows)
    if len(chosen) == 2 and chosen[0] == 0 and chosen[1] == n - 1 and kind in (Hold.RADIUS, Hold.CLEAR):
        return (numbers[1], numbers[0])  # the edge that returns to the first vertex
    if kind is Hold.DISTANCE and len(chosen) == 3:
        a, b, c = numbers
        if b - a == 1 and c - b > 1:
            return (c, a, b)
        if c == n and a == 1 and b - a > 1:
            return (b, c, a)
        return (a, b, c)
    if kind is Hold.EQUAL_WALL:
        pairs = [(0, 1, 2, 3), (0, 2, 1, 3), (0, 3, 1, 2)]
        at = [complex(*rows[i, :2]) for i in chosen]
        best = min(pairs, key=lambda p: abs(at[p[1]] - at[p[0]]) + abs(at[p[3]] - at[p[2]]))
        return tuple(numbers[k] for k in best)
    return numbers


def _clear(shown: Shown, numbers: tuple[int, ...]) -> Constraint:
    wheel = shown.wheel
    outline = outline_of(shown.project, shown.edited) if shown.edited is not None else None
    if not isinstance(outline, Wheel) or wheel is None:
        raise EditError(tr("A wheel alone is held clear of a shape: edit the wheel."))
    n = len(outline.section.vertices)
    if len(numbers) == 2 and numbers[1] != numbers[0] % n + 1:
        raise EditError(tr("The two vertices are no edge. {choose}", choose=CHOOSE[Hold.CLEAR]))
    gaps = []
    for shape in shown.project.shapes:
        if shape.name in wheel.clears:
            paths = [placed_outline(o.corners, -wheel.spacer_mm) for o in shape.outlines]
            whole = [path for path in paths if isinstance(path, Path)]
            if whole:
                c = Constraint(Hold.CLEAR, numbers, 0.0, shape.name)
                gaps.append((near(c, outline.section.rows, {shape.name: whole}).gap_mm, shape))
    if not gaps:
        raise EditError(tr("The wheel must clear no shape yet: choose its shapes in Wheel details."))
    _, shape = min(gaps, key=lambda found: found[0])
    rules = next((r for r in shown.project.rule_sets if r.name == wheel.rules), None)
    rule = (
        rules.for_gap(shape.kind, outline.section.vertices[numbers[0] - 1].zone)
        if rules is not None
        else None
    )
    gap = _GAP_MM if rule is None else rule.paper_mm + shape.card.error_mm - shape.card.included_gap_mm
    return Constraint(Hold.CLEAR, numbers, max(gap, 0.0), shape.name)


def with_new(project: Project, edited: Edited, new: Constraint) -> Project:
    """Return the project with a constraint added; the outline moves as little as holds it.

    Raises:
        EditError: it cannot be held beside the others, or says nothing new; says which ones.
    """
    outline = outline_of(project, edited)
    if outline is None:
        raise EditError(tr("There is no {kind} called {name}.", kind=edited.kind, name=edited.name))
    refuse_new(project, outline, new)
    asking = with_asked(project, edited, constraints=(*outline.constraints, new))
    changed = outline_of(asking, edited)
    assert changed is not None
    with_held(asking, None, changed)
    return asking


def with_value(project: Project, edited: Edited, k: int, value: float) -> Project:
    """Return the project with the number of constraint k changed.

    Raises:
        EditError: it cannot be held beside the others; says which ones.
    """
    outline = outline_of(project, edited)
    if outline is None or k >= len(outline.constraints):
        raise EditError(tr("This constraint is gone."))
    c = outline.constraints[k]
    if value < 0.0 and c.kind is not Hold.ANGLE:
        words = constraint_words(c, project.display_unit)
        raise EditError(tr("{constraint_words} cannot be below zero.", constraint_words=words))
    changed = tuple(replace(o, value=value) if o is c else o for o in outline.constraints)
    asking = with_asked(project, edited, constraints=changed)
    made = outline_of(asking, edited)
    assert made is not None
    with_held(asking, None, made)
    return asking


def without(project: Project, edited: Edited, k: int) -> Project:
    """Return the project without constraint k.

    Raises:
        EditError: it is gone, or the thing is locked.
    """
    outline = outline_of(project, edited)
    if outline is None or k >= len(outline.constraints):
        raise EditError(tr("This constraint is gone."))
    kept = (*outline.constraints[:k], *outline.constraints[k + 1 :])
    return with_asked(project, edited, constraints=kept)


def state_words(project: Project, edited: Edited) -> list[tuple[bool, str]]:
    """Return of each constraint whether it is held, and its state in words."""
    outline = outline_of(project, edited)
    if outline is None:
        return []
    found = []
    unit: LengthUnit = "in" if project.display_unit == "in" else "mm"
    least = _conflict(project, outline)
    for c, state in zip(outline.constraints, states(project, outline), strict=True):
        if is_held(state):
            found.append((True, tr("held")))
        elif state is None:
            found.append((False, tr("cannot be read here")))
        elif len(least) > 1 and c in least:
            others = "; ".join(constraint_words(other, unit) for other in least if other != c)
            found.append((False, tr("conflict with {others}", others=others)))
        else:
            off = (
                tr("points the other way")
                if math.isinf(state)
                else tr("off by {length}", length=format_length(max(state, 0.01), unit))
            )
            found.append((False, tr("not held: {off}", off=off)))
    return found


def _conflict(project: Project, outline: Thing) -> tuple[Constraint, ...]:
    """Return the least set of constraints that cannot be held on an outline as it is; none where all can."""
    try:
        with_held(project, None, outline)
    except NotHeldError as refused:
        return refused.of
    return ()
