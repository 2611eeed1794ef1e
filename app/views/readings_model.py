"""Readings as lines of text: what the panel shows and in which order.

Pure: measurements in, frozen lines out; the panel only paints them.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from itertools import compress
from operator import attrgetter, not_

from app.language import spoken, tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import walls_in_order
from app.reports.sentences import capital
from app.session.shown import Shown
from app.studies.road import Road
from app.studies.tyre import Word, tyre_findings, tyre_meets, worst_word
from app.units import LENGTHS, MassUnit, format_mass
from app.views.last_made import LastMade, but_vertices
from app.views.readings_line import FAULTY, Line
from app.views.readings_rows import (
    ON_RELEASE,
    finding_line,
    gap_line,
    hub_line,
    lip_line,
    stack_line,
    stock_line,
    stones_line,
    waiting,
    waiting_line,
    wall_line,
)
from app.views.readings_text import open_words
from geometry.readings.measure import BlankReading, GapRow, NamedReading, StockRow, WallRow
from geometry.readings.rules import State, worst
from geometry.readings.solid import Solid
from geometry.shape.outline import QUESTIONS

_Body = tuple[str, str, str]  # a gap's shape and zone, and the body of the wheel that it was read to
_body: Callable[[GapRow], _Body] = attrgetter("shape", "zone", "body")
_state: Callable[[Line], State | None] = attrgetter("state")
_rule_and_state: Callable[[Line], tuple[str, State | None]] = attrgetter("rule", "state")
#: One object for each unit: what was made with it last is found the sooner.
_IN = {unit: Numbers(unit) for unit in LENGTHS}


def lines(shown: Shown, before: Road | None = None, last: LastMade | None = None) -> tuple[Line, ...]:
    """Return the groups: gap, worst state, stock, wall (lip first), hub, tyre, mass; or the faults alone.

    Args:
        shown: the state.
        before: what the road left before a gesture, at whose end it is read anew; its lines wait, empty.
        last: the groups of the state before; those of the same readings are given again.
    """
    if shown.wheel is None:
        return (Line("empty", tr("No wheel: make one with New, or open a project.")),)
    if shown.measurements is None:
        return (_faults(shown),)
    numbers, found, wheel, road = _IN[unit_of(shown.project)], shown.measurements, shown.wheel, shown.road
    last = last or LastMade()
    missing_mm3 = found.blank.missing_mm3 if found.blank is not None else 0.0
    project, still = shown.project, (but_vertices(wheel), shown.project.shapes)
    gap, stock, lip, wall, hub = found.gap, found.stock, found.lip, found.wall, found.hub
    bodies, has_shapes = tuple(map(_body, gap)), bool(wheel.clears)
    groups = (
        last(_gap, gap, has_shapes, numbers, last, by=(gap, has_shapes, numbers)),
        last(_worst, wheel.conditions, bodies, road, before, numbers),
        last(
            _stock,
            stock,
            missing_mm3,
            wheel.blank,
            numbers,
            last,
            by=(stock, missing_mm3, wheel.blank, numbers),
        ),
        last(_wall, lip, wall, numbers, last, by=(lip, wall, numbers)),
        last(_hub, hub, numbers, last, by=(hub, numbers)),
        last(_tyre, project, wheel, road, numbers, by=(still, road, numbers)),
        last(_mass, found.solid, found.blank, numbers),
    )
    left = road or before
    asked = (*found.questions, *(left.questions if left is not None else ()))
    return (*_asked(asked), *groups)


@lru_cache(8)
def _asked(questions: tuple[str, ...]) -> tuple[Line, ...]:
    if not questions:
        return ()
    asked = tuple(Line(f"asks {q}", q, known=False, detail=q) for q in questions)
    return (Line("asks", tr("Missing for a full answer"), state=State.NOT_KNOWN, children=asked),)


def _faults(shown: Shown) -> Line:
    faults = tuple(
        Line(f"fault {k}", f.message, place=f.place, detail=f.message) for k, f in enumerate(shown.faults)
    )
    return Line("faults", FAULTY, children=faults or (Line("none", tr("This wheel has no outline yet.")),))


def _of_group(key: str, label: str, children: list[Line], empty: str) -> Line:
    if not children:
        state = State.NOT_KNOWN if key == "gap" else None
        return Line(
            key, label, state=state, children=(Line(f"{key} empty", empty, known=False, detail=empty),)
        )
    return Line(key, label, state=_worst_of(children), children=tuple(children))


def _worst_of(lines: list[Line]) -> State | None:
    """Return the worst state of lines, None where none has one."""
    states = list(filter(None, map(_state, lines)))
    return worst(states) if states else None


def _gap(gap: tuple[GapRow, ...], has_shapes: bool, numbers: Numbers, last: LastMade) -> Line:
    by_shape: dict[str, list[tuple[GapRow, Line]]] = {}
    for row, line in zip(gap, last.each(gap_line, gap, numbers), strict=True):
        by_shape.setdefault(row.shape, []).append((row, line))
    shapes = []
    for name, of in by_shape.items():
        zones = [line for _, line in of]
        questions = list(dict.fromkeys(_general(q) for row, _ in of for q in row.questions))
        asked = [
            Line(
                f"gap {name} asks {q}",
                q,
                known=False,
                state=None,
                shape=name,
                detail=tr("Open question on {name}: {q}", name=name, q=q),
            )
            for q in questions
        ]
        note = open_words(len(questions)) if questions else ""
        label, children = tr("To {name}", name=name), (*asked, *zones)
        shapes.append(Line(f"gap {name}", label, note, state=_worst_of(zones), shape=name, children=children))
    empty = (
        tr("No gap to read: the shapes have no outline.")
        if has_shapes
        else tr("No stay-out shape: choose one in Wheel details.")
    )
    return _of_group("gap", tr("Gap"), shapes, empty)


def _general(question: str) -> str:
    """Return a question without what it comes to in one zone: that stands with the zone's own line."""
    return next((q for q in QUESTIONS.values() if question.startswith(q)), question)


def _worst(
    conditions: str | None,
    bodies: tuple[_Body, ...],
    road: Road | None,
    before: Road | None,
    numbers: Numbers,
) -> Line:
    """Return what the road leaves of the gaps; while a gesture is under way their lines wait, empty."""
    if conditions is None:
        empty = tr("No conditions: choose a set in Wheel details.")
        line = Line("worst empty", empty, known=False, detail=empty)
        return Line("worst", tr("Worst state"), state=State.NOT_KNOWN, children=(line,))
    label = tr("Worst state by {conditions}", conditions=conditions)
    if road is None:
        awaited = [waiting_line(*body) for body in bodies]
        narrow = [] if before is None else [waiting(stones_line(each, numbers)) for each in before.narrow]
        return Line("worst", label, tr("on release"), children=(*_by_shape(awaited), *narrow))
    children = _by_shape([stack_line(row, numbers) for row in road.rows])
    children += [stones_line(narrow, numbers) for narrow in road.narrow]
    return _of_group("worst", label, children, tr("No gap to read."))


def _by_shape(lines: list[Line]) -> list[Line]:
    groups: dict[str, list[Line]] = {}
    for line in lines:
        groups.setdefault(line.shape or "", []).append(line)
    made = []
    for name, of in groups.items():
        label, state = tr("To {name}", name=name), _worst_of(of)
        made.append(Line(f"worst {name}", label, state=state, shape=name, children=tuple(of)))
    return made


def _stock(
    stock: tuple[StockRow, ...], missing_mm3: float, blank: str | None, numbers: Numbers, last: LastMade
) -> Line:
    children = last.each(stock_line, stock, numbers)
    empty = (
        tr("No blank: choose or draw one.")
        if blank is None
        else tr("No stock to read in {blank}.", blank=blank)
    )
    group = _of_group(
        "stock", tr("Stock") if blank is None else tr("Stock in {blank}", blank=blank), children, empty
    )
    if missing_mm3 > 0.0:
        words = tr(
            "about {missing_mm3:.2f} cm³ of the wheel lies outside the blank",
            missing_mm3=missing_mm3 / 1000.0,
        )
        missing = Line("missing", tr("Missing metal"), words, detail=capital(words) + ".")
        group = group._replace(children=(missing, *group.children))
    return group


def _wall(lip: tuple[NamedReading, ...], wall: tuple[WallRow, ...], numbers: Numbers, last: LastMade) -> Line:
    children = last.each(lip_line, lip, numbers) + last.each(wall_line, walls_in_order(wall), numbers)
    # What a rule judges stands before what is only read; the lip first in both.
    judged = list(map(any, map(_rule_and_state, children)))
    ordered = [*compress(children, judged), *compress(children, map(not_, judged))]
    return _of_group("wall", tr("Wall"), ordered, tr("No place where two skins face each other."))


def _hub(hub: tuple[NamedReading, ...], numbers: Numbers, last: LastMade) -> Line:
    children = last.each(hub_line, hub, numbers)
    return _of_group("hub", tr("Hub"), children, tr("No fixing: state it in Wheel details."))


def _tyre(project: Project, wheel: Wheel, road: Road | None, numbers: Numbers) -> Line:
    """Return what there is to know about the tyre; its gaps wait while a gesture is under way."""
    findings = tyre_findings(wheel)
    children = [finding_line(finding, numbers) for finding in findings]
    rows = {row.shape: row for row in road.tyre.rows} if road is not None else {}
    worst_rows = {row.shape: row for row in road.tyre.worst} if road is not None else {}
    for name in tyre_meets(project, wheel):
        awaited = Line("", "", aside=tr("on release"), known=False, detail=ON_RELEASE, shape=name)
        line = gap_line(rows[name], numbers) if name in rows else awaited
        children.append(line._replace(key=f"tyre to {name}", label=tr("To {name}", name=name)))
        if wheel.conditions is not None:
            line = stack_line(worst_rows[name], numbers) if name in worst_rows else awaited
            key, label = f"tyre to {name}, worst state", tr("To {name}, worst state", name=name)
            children.append(line._replace(key=key, label=label))
    judged = road.tyre.judged if road is not None else ON_RELEASE
    children.append(Line("tyre judged", judged, known=False, detail=judged))
    states = road.tyre.states if road is not None else []
    state, word = worst(states) if states else None, worst_word(findings)
    note = wheel.tyre if word is Word.FINE else f"{wheel.tyre or tr('not stated')}: {spoken(word)}"
    return Line("tyre", tr("Tyre and size"), note, state=state, children=tuple(children))


def _mass(solid: Solid, blank: BlankReading | None, numbers: Numbers) -> Line:
    both: tuple[MassUnit, MassUnit] = ("lb", "kg") if numbers.unit == "in" else ("kg", "lb")
    unit, other = both

    def of(key: str, label: str, mass_kg: float, detail: str) -> Line:
        value, second = format_mass(mass_kg, unit, with_unit=False), format_mass(mass_kg, other)
        words = f"{label} {value} {unit}, {second}. {detail}"
        return Line(key, label, value=value, unit=unit, aside=f"{unit} · {second}", detail=words)

    polar = f"{solid.polar_kg_mm2 * 1e-6:.3f}"
    centre = numbers.length(solid.centre_z_mm)
    children = [
        of("mass", tr("Wheel"), solid.mass_kg, tr("Spokes, bolt holes and pockets taken off.")),
        of(
            "mass full",
            tr("As a full body"),
            solid.full_mass_kg,
            tr("The same section turned without spoke windows or holes."),
        ),
        Line(
            "polar",
            tr("Polar inertia"),
            value=polar,
            unit=tr("kg m²"),
            aside=tr("kg m²"),
            detail=tr("About the axle: {polar} kg m².", polar=polar),
        ),
        Line(
            "centre",
            tr("Centre of mass"),
            value=centre,
            unit=numbers.unit,
            aside=tr("{unit} along z", unit=numbers.unit),
            detail=tr("Along the axle z {centre} {unit}.", centre=centre, unit=numbers.unit),
        ),
    ]
    if blank is not None:
        ratio = f"{blank.mass_ratio:.2f}"
        children += [
            of("blank mass", tr("Blank {name}", name=blank.name), blank.mass_kg, tr("As drawn.")),
            of("chips", tr("Chips"), blank.chips_kg, tr("Blank less wheel.")),
            Line(
                "ratio",
                tr("Mass ratio"),
                value=ratio,
                aside=tr("blank to wheel"),
                detail=tr("Blank mass over wheel mass {ratio}.", ratio=ratio),
            ),
        ]
    return Line("mass group", tr("Mass"), children=tuple(children))
