"""What a section report says, as plain values: every printed number is text here, formed once.

The sheet and the PDF only place these texts; nothing is computed or rounded after this.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from app.project.coating import Coat
from app.project.project import Project
from app.project.sides import side_words
from app.project.wheel import Fixing, SingleNut, Wheel
from app.reports import chance, closing, house, sources, tables, trials, tyre_table
from app.reports.audience import INTERNAL, Audience, shown_to
from app.reports.figure import Figure, build_figure
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import worst_three
from app.reports.sentences import (
    capital,
    coating_words,
    judged_line,
    reason_to_hold_back,
    revision_words,
    sentence,
    shapes_line,
)
from app.reports.shaded import Shaded, shaded
from app.reports.tables import Card, Pairs, Table
from app.studies.face import body_of
from app.studies.fit import Measured, hold, measure_wheel
from app.studies.misfits import unnamed_questions
from app.studies.road import Road, on_the_road, whole_state
from app.studies.tyre import tyre_ring
from geometry.errors import GeometryError
from geometry.readings.rows import GapRow
from geometry.readings.rules import RuleSet, State
from geometry.readings.rules import worst as worst_state
from geometry.readings.stack import StackRow
from geometry.shape.curve import Path
from geometry.shape.outline import StayOut

#: Side of the picture of the whole wheel, pixels: 60 to the inch on 150 mm, enough for a shaded surface.
_PICTURE_PIXELS = 360


@dataclass(frozen=True)
class ReportContent:
    """Everything a section report prints.

    Attributes:
        judged: the first line: what was judged and what was not.
        shapes_judged: the second line: the stay-out shapes, by name.
        side: of the vehicle that the design is for, empty for either.
        state: worst of all readings; 'not known' when there are none.
        hold_back: why the report is not for release; empty when it may go out.
        worst: up to three states and sentences, the least to spare first.
        facts: label and text of size, inset, hub and the like.
        figure: the drawing, with its dimensions as text.
        tables, cards: in reading order: gap, stock, lip, wall, hub, mass, rules; then a card for each shape.
        questions: what is open beyond the questions on the shapes' cards.
        faults: what keeps the section from having readings.
        unit: mm or in, of every length.
        paper: A4 or Letter.
        head: which copy it is, in the corner of the first page.
        closing: titled paragraphs after the cards.
        sign_off: who signs, a box each; none on an internal copy.
        picture: the whole wheel shaded, on a customer's copy; None where it cannot be drawn.
    """

    judged: str
    shapes_judged: str
    project: str
    revision: str
    author: str
    wheel: str
    size: str
    side: str
    state: State
    hold_back: str
    worst: tuple[tuple[State | None, str], ...]
    facts: Pairs
    figure: Figure
    tables: tuple[Table, ...]
    cards: tuple[Card, ...]
    questions: tuple[str, ...]
    faults: tuple[str, ...]
    unit: str
    paper: str
    head: str = "Section report"
    closing: tuple[tuple[str, tuple[str, ...]], ...] = ()
    sign_off: tuple[str, ...] = ()
    picture: Shaded | None = None


def with_shapes(wheel: Wheel, names: tuple[str, ...] | None) -> Wheel:
    """Return the wheel held against these of its shapes only; against all where no names are given.

    Raises:
        ValueError: a name is not among the shapes that the wheel must clear.
    """
    if names is None:
        return wheel
    unknown = [name for name in names if name not in wheel.clears]
    if unknown:
        raise ValueError(
            f"Wheel '{wheel.name}' is not held against a stay-out shape called '{unknown[0]}'; "
            f"it must clear: {', '.join(wheel.clears) or 'none'}."
        )
    return replace(wheel, clears=tuple(name for name in wheel.clears if name in names))


def build_content(
    project: Project,
    wheel: Wheel,
    measured: Measured,
    shape_names: tuple[str, ...] | None = None,
    audience: Audience = INTERNAL,
) -> ReportContent:
    """Return the report of one wheel.

    Args:
        project: holds the wheel's shapes, blank, rules and material.
        wheel: the wheel that was measured.
        measured: its readings against all its shapes.
        shape_names: judge these of the wheel's shapes only.
        audience: whom it is for. Where that leaves less than the wheel names, the readings are made anew
            against what is left, so that no state hangs on what the report does not show.

    Raises:
        ValueError: a name is not among the shapes that the wheel must clear.
        NameShownError: a customer's copy would name what it must not show.
    """
    all_of_it, whole = project, wheel
    project, wheel = shown_to(project, with_shapes(wheel, shape_names), audience)
    if wheel != whole:
        measured = measure_wheel(project, wheel)
    numbers = Numbers(unit_of(project))
    shapes = tuple(s for name in wheel.clears for s in project.shapes if s.name == name)
    rules = next((r for r in project.rule_sets if r.name == wheel.rules), None)
    found = measured.measurements
    held = hold(project, wheel)
    road = on_the_road(project, wheel, measured)
    if road is not None and audience.is_customer:
        road = _with_all_trials(road, unnamed_questions(all_of_it, replace(whole, clears=wheel.clears)))
    worst = () if found is None else worst_three(found, _on_road(road))
    hold_back = reason_to_hold_back(measured, road, numbers) or _not_judged(all_of_it, whole, wheel, audience)
    return ReportContent(
        judged=judged_line(shapes, road.tyre.judged if road is not None else "", found is not None),
        shapes_judged=shapes_line(shapes, found is not None),
        project=project.name,
        revision=revision_words(project),
        author=project.author,
        wheel=wheel.name,
        size=str(wheel.size),
        side=side_words(wheel),
        state=whole_state(measured, road),
        hold_back=hold_back,
        worst=tuple((r.state, sentence(r, numbers)) for r in worst),
        facts=(
            *closing.facts(shapes, hold_back, audience),
            *_facts(wheel, measured, rules, numbers, audience),
        ),
        figure=build_figure(
            wheel, measured, held if not isinstance(held, tuple) else None, numbers, _tyre_drawn(wheel, road)
        ),
        tables=_tables(project, wheel, measured, road, rules, numbers, audience),
        cards=(
            *(sources.source_card(shape, numbers) for shape in shapes),
            *(() if audience.is_customer else _blank_card(project, wheel, numbers)),
        ),
        questions=_asked(project, wheel, measured, road, shapes, audience),
        faults=tuple(f.message for f in measured.faults),
        unit=numbers.unit,
        paper="Letter" if project.paper == "Letter" else "A4",
        head=audience.words,
        closing=closing.paragraphs() if audience.is_customer else tuple(house.sequence(wheel)),
        sign_off=closing.sign_off(project, audience) if audience.is_customer else (),
        picture=_picture(wheel, measured) if audience.is_customer else None,
    )


def _picture(wheel: Wheel, measured: Measured) -> Shaded | None:
    """Return the whole wheel shaded; none of a section with faults or spokes that cannot be drawn."""
    if measured.outline is None:
        return None
    try:
        return shaded(body_of(wheel, measured.outline.path), _PICTURE_PIXELS)
    except GeometryError:
        return None


def _with_all_trials(road: Road, asked: tuple[str, ...]) -> Road:
    """Return the road's state with what trial fits of the whole house leave open, other wheels' with it."""
    if not asked or road.questions:
        return road
    return replace(road, questions=asked, state=worst_state([road.state, State.NOT_KNOWN]))


def _not_judged(project: Project, whole: Wheel, wheel: Wheel, audience: Audience) -> str:
    """Return why a report on some of the shapes is held back; nothing where it is on all it may show."""
    shown = [shape.name for shape in project.shapes if audience.may_see(shape)]
    left = [name for name in whole.clears if name in shown and name not in wheel.clears]
    return f"Not judged here, though the wheel must clear it: {', '.join(left)}." if left else ""


def _asked(
    project: Project,
    wheel: Wheel,
    measured: Measured,
    road: Road | None,
    shapes: tuple[StayOut, ...],
    audience: Audience,
) -> tuple[str, ...]:
    """Return what is open: to a customer what only the customer can answer, else what the house must mend."""
    if audience.is_customer:
        return closing.questions(wheel, shapes)
    return (*_questions(measured, shapes), *(road.questions if road is not None else ()))


def _on_road(road: Road | None) -> tuple[GapRow | StackRow, ...]:
    return (*road.rows, *road.tyre.rows, *road.tyre.worst) if road is not None else ()


def _facts(
    wheel: Wheel, measured: Measured, rules: RuleSet | None, numbers: Numbers, audience: Audience
) -> Pairs:
    hub = f"bore {numbers.length(wheel.hub.bore_mm)}, hub pad {numbers.length(wheel.hub.hub_pad_mm)}"
    facts = [("Size code", str(wheel.size)), ("Inset", numbers.length(wheel.inset_mm, with_unit=True))]
    if side_words(wheel):
        facts.append(("Side", side_words(wheel)))
    if measured.outline is not None:
        facts += tables.edge_distances(wheel, measured.outline, numbers)
    facts += [("Hub", hub), ("Fixing", _fixing(wheel, numbers))]
    if wheel.coating.kind is not Coat.OPEN:
        facts.append(("Coating", coating_words(wheel.coating, numbers)))
    if not audience.is_customer:
        facts.append(("Blank", wheel.blank or "none stated"))
    if wheel.spacer_mm:
        facts.append(("Spacer", numbers.length(wheel.spacer_mm, with_unit=True)))
    facts.append(("Wheel load", "not stated" if wheel.load_kg is None else numbers.mass(wheel.load_kg, 0)))
    facts.append(("Tyre", wheel.tyre or "not stated"))
    if measured.measurements is not None:
        facts.append(("Mass", numbers.mass(measured.measurements.solid.mass_kg)))
    facts.append(("Rules", "none" if rules is None else sources.rules_name(rules)))
    facts.append(("Lengths in", "inch" if numbers.unit == "in" else "mm"))
    return tuple(facts)


def _fixing(wheel: Wheel, numbers: Numbers) -> str:
    fixing = wheel.fixing
    if isinstance(fixing, SingleNut):
        return f"single nut, {fixing.pins} drive pins on {numbers.length(fixing.pin_circle_mm)}"
    if isinstance(fixing, Fixing):
        return f"{fixing.count} on {numbers.length(fixing.circle_mm)}, {fixing.seat.value}"
    return "not stated"


def _tables(
    project: Project,
    wheel: Wheel,
    measured: Measured,
    road: Road | None,
    rules: RuleSet | None,
    numbers: Numbers,
    audience: Audience,
) -> tuple[Table, ...]:
    found, inside = measured.measurements, not audience.is_customer
    ruled = tuple(sources.rules(rules, numbers, with_reasons=inside)) if rules is not None else ()
    if found is None:
        return (*trials.recorded(project, wheel, numbers), *ruled)
    several = {s.name for s in project.shapes if len(s.outlines) > 1}
    material = next((m for m in project.materials if m.name == wheel.material), None)
    return (
        tables.gap(found, several, numbers),
        *(tables.road(road, numbers) if road is not None else ()),
        *(chance.table(project, wheel, measured, road) if inside else ()),
        *((tables.stock(found, wheel.blank, numbers),) if inside else ()),
        *tables.named("Lip, spoke and seat", found.lip, numbers),
        tables.wall(found, numbers),
        *tables.named("Hub and fixing", found.hub, numbers),
        tables.mass(wheel, found, material, numbers),
        *(tyre_table.tyre(wheel, road.tyre, numbers) if road is not None else ()),
        *trials.recorded(project, wheel, numbers),
        *(_for_the_house(project, wheel, measured, road, numbers) if inside else ()),
        *ruled,
    )


def _for_the_house(
    project: Project, wheel: Wheel, measured: Measured, road: Road | None, numbers: Numbers
) -> Iterator[Table]:
    yield from house.near_misses(measured, road, numbers)
    yield from house.offered(project, wheel)
    yield from trials.misfits(project, wheel, numbers)
    yield from house.machining_table(project, wheel, numbers)


def _blank_card(project: Project, wheel: Wheel, numbers: Numbers) -> tuple[Card, ...]:
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    material = next((m for m in project.materials if m.name == wheel.material), None)
    if blank is None or material is None:
        return ()
    return (house.blank_card(project, wheel, blank, material.density_kg_m3, numbers),)


def _tyre_drawn(wheel: Wheel, road: Road | None) -> Path | None:
    """Return the tyre's ring where it was held against something; else it would only shrink the drawing."""
    return tyre_ring(wheel) if road is not None and road.tyre.rows else None


def _questions(measured: Measured, shapes: tuple[StayOut, ...]) -> tuple[str, ...]:
    """Return what is open beyond the shapes' own questions, which stand on their cards."""
    found = measured.measurements
    if found is None:
        return ()
    own = {shape.name: shape.open_questions() for shape in shapes}
    asked = list(found.questions)
    for row in found.gap:
        new = (q for q in row.questions if q not in own.get(row.shape, ()))
        asked += [f"{capital(row.zone)} to {row.shape}: {question}" for question in new]
    return tuple(dict.fromkeys(asked))
