"""Readings as lines of text: what the panel shows and in which order.

Pure: measurements in, frozen lines out; the panel only paints them.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from app.language import spoken, tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import walls_in_order
from app.reports.sentences import capital, needs
from app.session.shown import Shown
from app.studies.road import Road
from app.studies.tyre import Finding, Word, tyre_findings, tyre_meets, value_words, worst_word
from app.units import MassUnit, format_mass
from app.views.last_made import LastMade, but_vertices
from app.views.readings_line import FAULTY, Line
from app.views.readings_text import open_words
from geometry.readings.debris import NarrowGap
from geometry.readings.measure import BlankReading, GapRow, NamedReading, StockRow, WallRow
from geometry.readings.rules import State, worst
from geometry.readings.solid import Solid
from geometry.readings.stack import StackRow
from geometry.shape.outline import QUESTIONS

#: Lines kept from state to state: rows are immutable, and while a wheel is dragged few of them change.
_KEPT = 512
_Body = tuple[str, str, str]  # a gap's shape and zone, and the body of the wheel that it was read to
_ON_RELEASE = tr("Read when the gesture has ended.")


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
    numbers, found, wheel, road = Numbers(unit_of(shown.project)), shown.measurements, shown.wheel, shown.road
    last = last or LastMade()
    bodies = tuple((row.shape, row.zone, row.body) for row in found.gap)
    missing_mm3 = found.blank.missing_mm3 if found.blank is not None else 0.0
    project, still = shown.project, (but_vertices(wheel), shown.project.shapes)
    groups = (
        last(_gap, found.gap, numbers, bool(wheel.clears)),
        last(_worst, wheel.conditions, bodies, road, before, numbers),
        last(_stock, found.stock, missing_mm3, wheel.blank, numbers),
        last(_wall, found.lip, found.wall, numbers),
        last(_hub, found.hub, numbers),
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
    states = [line.state for line in children if line.state is not None]
    return Line(key, label, state=worst(states) if states else None, children=tuple(children))


def _gap(gap: tuple[GapRow, ...], numbers: Numbers, has_shapes: bool) -> Line:
    by_shape: dict[str, list[GapRow]] = {}
    for row in gap:
        by_shape.setdefault(row.shape, []).append(row)
    shapes = []
    for name, rows in by_shape.items():
        zones = [_gap_line(row, numbers) for row in rows]
        questions = list(dict.fromkeys(_general(q) for row in rows for q in row.questions))
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
        states = [row.state for row in rows if row.state is not None]
        state = worst(states) if states else None
        shapes.append(
            Line(
                f"gap {name}",
                tr("To {name}", name=name),
                note,
                state=state,
                shape=name,
                children=(*asked, *zones),
            )
        )
    empty = (
        tr("No gap to read: the shapes have no outline.")
        if has_shapes
        else tr("No stay-out shape: choose one in Wheel details.")
    )
    return _of_group("gap", tr("Gap"), shapes, empty)


def _general(question: str) -> str:
    """Return a question without what it comes to in one zone: that stands with the zone's own line."""
    return next((q for q in QUESTIONS.values() if question.startswith(q)), question)


@lru_cache(_KEPT)
def _gap_line(row: GapRow, numbers: Numbers) -> Line:
    known = row.state is not State.NOT_KNOWN
    name = capital(row.body or row.zone)
    return Line(
        f"gap {row.shape} {row.zone} {row.body}".rstrip(),
        name,
        numbers.near(row.at_wheel),
        numbers.length(row.least_mm, row.grade),
        numbers.unit,
        needs(row, numbers),
        numbers.length(row.spare_mm, row.grade),
        state=row.state,
        known=known,
        row=row,
        place=row.at_wheel,
        zone=row.zone,
        shape=row.shape,
    )


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
        waiting = [_waiting_line(*body) for body in bodies]
        narrow = [] if before is None else [_waiting(_stones_line(each, numbers)) for each in before.narrow]
        return Line("worst", label, tr("on release"), children=(*_by_shape(waiting), *narrow))
    children = _by_shape([_stack_line(row, numbers) for row in road.rows])
    children += [_stones_line(narrow, numbers) for narrow in road.narrow]
    return _of_group("worst", label, children, tr("No gap to read."))


def _by_shape(lines: list[Line]) -> list[Line]:
    groups: dict[str, list[Line]] = {}
    for line in lines:
        groups.setdefault(line.shape or "", []).append(line)
    made = []
    for name, of in groups.items():
        states = [line.state for line in of if line.state is not None]
        state = worst(states) if states else None
        made.append(
            Line(f"worst {name}", tr("To {name}", name=name), state=state, shape=name, children=tuple(of))
        )
    return made


@lru_cache(_KEPT)
def _stones_line(narrow: NarrowGap, numbers: Numbers) -> Line:
    return Line(
        f"stones {narrow.shape} {narrow.start[0]:.1f}",
        tr("Holds stones: {zones}", zones=tr(" and ").join(map(spoken, narrow.zones))),
        tr("to {shape}", shape=narrow.shape),
        numbers.length(narrow.least_mm),
        numbers.unit,
        aside=tr("along {length_mm}", length_mm=numbers.length(narrow.length_mm)),
        detail=tr(
            "The gap to {shape} stays narrow along {length_mm} {unit} of the skin: on "
            "loose ground use the larger rule.",
            shape=narrow.shape,
            length_mm=numbers.length(narrow.length_mm),
            unit=numbers.unit,
        ),
        place=narrow.start,
        shape=narrow.shape,
    )


def _waiting(line: Line) -> Line:
    """Return a line without what is read at the end of a gesture."""
    return replace(
        line, value="", unit="", aside=tr("on release"), known=False, detail=_ON_RELEASE, place=None
    )


def _waiting_line(shape: str, zone: str, body: str) -> Line:
    return Line(
        f"worst {shape} {zone} {body}".rstrip(),
        capital(body or zone),
        aside=tr("on release"),
        known=False,
        detail=_ON_RELEASE,
        zone=zone,
        shape=shape,
    )


@lru_cache(_KEPT)
def _stack_line(row: StackRow, numbers: Numbers) -> Line:
    return Line(
        f"worst {row.shape} {row.zone} {row.body}".rstrip(),
        capital(row.body or row.zone),
        numbers.near(row.at_wheel),
        numbers.length(row.worst_mm, row.grade),
        numbers.unit,
        needs(row, numbers),
        numbers.length(row.spare_mm, row.grade),
        state=row.state,
        known=row.state is not State.NOT_KNOWN,
        row=row,
        place=row.at_wheel,
        zone=row.zone,
        shape=row.shape,
    )


def _stock(stock: tuple[StockRow, ...], missing_mm3: float, blank: str | None, numbers: Numbers) -> Line:
    children = [_plain_line("stock", row, row.side, numbers) for row in stock]
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
        group = replace(
            group,
            children=(
                Line("missing", tr("Missing metal"), words, detail=capital(words) + "."),
                *group.children,
            ),
        )
    return group


def _wall(lip: tuple[NamedReading, ...], wall: tuple[WallRow, ...], numbers: Numbers) -> Line:
    children = [_named_line("lip", reading, numbers) for reading in lip]
    children += [_plain_line("wall", row, "", numbers) for row in walls_in_order(wall)]
    # What a rule judges stands before what is only read; the lip first in both.
    children.sort(key=lambda line: not line.rule and line.state is None)
    return _of_group("wall", tr("Wall"), children, tr("No place where two skins face each other."))


def _hub(hub: tuple[NamedReading, ...], numbers: Numbers) -> Line:
    children = [_named_line("hub", reading, numbers) for reading in hub]
    return _of_group("hub", tr("Hub"), children, tr("No fixing: state it in Wheel details."))


def _tyre(project: Project, wheel: Wheel, road: Road | None, numbers: Numbers) -> Line:
    """Return what there is to know about the tyre; its gaps wait while a gesture is under way."""
    findings = tyre_findings(wheel)
    children = [_finding_line(finding, numbers) for finding in findings]
    rows = {row.shape: row for row in road.tyre.rows} if road is not None else {}
    worst_rows = {row.shape: row for row in road.tyre.worst} if road is not None else {}
    for name in tyre_meets(project, wheel):
        waiting = Line("", "", aside=tr("on release"), known=False, detail=_ON_RELEASE, shape=name)
        line = _gap_line(rows[name], numbers) if name in rows else waiting
        children.append(replace(line, key=f"tyre to {name}", label=tr("To {name}", name=name)))
        if wheel.conditions is not None:
            line = _stack_line(worst_rows[name], numbers) if name in worst_rows else waiting
            key, label = f"tyre to {name}, worst state", tr("To {name}, worst state", name=name)
            children.append(replace(line, key=key, label=label))
    judged = road.tyre.judged if road is not None else _ON_RELEASE
    children.append(Line("tyre judged", judged, known=False, detail=judged))
    states = road.tyre.states if road is not None else []
    state, word = worst(states) if states else None, worst_word(findings)
    note = wheel.tyre if word is Word.FINE else f"{wheel.tyre or tr('not stated')}: {spoken(word)}"
    return Line("tyre", tr("Tyre and size"), note, state=state, children=tuple(children))


@lru_cache(_KEPT)
def _finding_line(finding: Finding, numbers: Numbers) -> Line:
    unit = numbers.unit_shown(finding.unit)
    said = {
        Word.WRONG: tr("▸ wrong"),
        Word.LOOK: tr("? look"),
        Word.FINE: tr("fine") if finding.needs else "",
    }
    aside = [said[finding.word], unit if unit != numbers.unit else ""]
    return Line(
        f"tyre {finding.key}",
        finding.name,
        value=value_words(finding, numbers.unit),
        unit=unit,
        rule=spoken(finding.needs),
        aside=" · ".join(filter(None, aside)),
        known=finding.word is not Word.LOOK,
        detail=tr("{value_text} Rests on: {source}.", value_text=finding.text, source=finding.source),
    )


@lru_cache(_KEPT)
def _plain_line(kind: str, row: WallRow | StockRow, side: str, numbers: Numbers) -> Line:
    return Line(
        f"{kind} {row.zone} {side}",
        f"{capital(row.zone)}, {side}" if side else capital(row.zone),
        numbers.near(row.at),
        numbers.length(row.least_mm),
        numbers.unit,
        numbers.length(row.required_mm),
        numbers.length(row.spare_mm),
        state=row.state,
        row=row,
        place=row.at,
        zone=row.zone,
    )


@lru_cache(_KEPT)
def _named_line(kind: str, reading: NamedReading, numbers: Numbers) -> Line:
    unit = numbers.unit_shown(reading.unit)
    value = numbers.number(reading.value, reading.unit)
    return Line(
        f"{kind} {reading.key}",
        reading.name,
        "" if value else reading.note,
        value,
        unit,
        numbers.number(reading.required, reading.unit),
        numbers.number(reading.spare, reading.unit),
        aside=unit if value and unit != numbers.unit and reading.required is None else "",
        state=reading.state,
        known=bool(value) and reading.state is not State.NOT_KNOWN,
        row=reading,
        place=reading.place,
    )


def _mass(solid: Solid, blank: BlankReading | None, numbers: Numbers) -> Line:
    def of(key: str, label: str, mass_kg: float, detail: str) -> Line:
        both: tuple[MassUnit, MassUnit] = ("lb", "kg") if numbers.unit == "in" else ("kg", "lb")
        value = format_mass(mass_kg, both[0], with_unit=False)
        second = format_mass(mass_kg, both[1])
        words = f"{label} {value} {both[0]}, {second}. {detail}"
        return Line(key, label, value=value, unit=both[0], aside=f"{both[0]} · {second}", detail=words)

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
