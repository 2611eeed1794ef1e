"""Readings as lines of text: what the panel shows, in which order, with how many digits.

Pure: measurements in, frozen lines out; the panel only paints them. Digits follow the grade of what was
measured against: two decimals in mm for a drawing or better, one for a scan, none for a tracing or hearsay;
an inch is 25 times coarser and gets one more. Files and JSON keep every digit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from app.project.project import Project
from app.session.shown import Shown
from app.units import LengthUnit, MassUnit, format_length, format_mass, length_in
from geometry.readings.measure import GapRow, Measurements, NamedReading, Place, StockRow, WallRow
from geometry.readings.rules import State, worst
from geometry.shape.outline import Grade

AnyRow = GapRow | WallRow | StockRow | NamedReading

_DECIMALS = {Grade.PROVED: 2, Grade.DRAWING: 2, Grade.SCAN: 1, Grade.TRACING: 0, Grade.HEARSAY: 0}

#: Walls are read lip first, then where wheels are thinnest.
_WALL_ORDER = ("outer lip", "inner lip", "barrel", "well", "outer seat", "inner seat", "shoulder")


@dataclass(frozen=True)
class Line:
    """One line of the panel.

    Attributes:
        key: what the line is; lines of one key follow each other from frame to frame.
        note: small words beside the label.
        aside: words behind the value in the place of rule and spare: its unit, the same in another unit.
        known: False where an input is missing or unverified: the number is shown grey.
        detail: everything about the line, as sentences.
        place: (z, r) in mm in the hub's frame, where a click goes.
        zone, shape: what the line speaks of, by name.
        unit: of the value, for a copied table.
    """

    key: str
    label: str
    note: str = ""
    value: str = ""
    unit: str = ""
    rule: str = ""
    spare: str = ""
    aside: str = ""
    state: State | None = None
    known: bool = True
    detail: str = ""
    place: Place | None = None
    zone: str | None = None
    shape: str | None = None
    children: tuple[Line, ...] = ()


def unit_of(project: Project) -> LengthUnit:
    """Return the unit in which lengths of the project are shown."""
    return "in" if project.display_unit == "in" else "mm"


def decimals(grade: str, unit: LengthUnit) -> int:
    """Return how many decimals a length measured against something of this grade is worth."""
    return _DECIMALS.get(Grade(grade), 0) + (1 if unit == "in" else 0)


def lines(shown: Shown) -> tuple[Line, ...]:
    """Return the groups: gap, stock, wall (lip first), hub, mass; or the faults and no number at all."""
    if shown.wheel is None:
        return (Line("empty", "No wheel: make one with New, or open a project."),)
    if shown.measurements is None:
        return (_faults(shown),)
    unit, found = unit_of(shown.project), shown.measurements
    groups = [
        _gap(found, unit, bool(shown.wheel.clears)),
        _stock(found, unit, shown.wheel.blank),
        _wall(found, unit),
        _hub(found, unit),
        _mass(found, unit),
    ]
    if found.questions:
        asked = tuple(Line(f"asks {q}", q, known=False, detail=q) for q in found.questions)
        groups.insert(0, Line("asks", "Missing for a full answer", state=State.NOT_KNOWN, children=asked))
    return tuple(groups)


def worst_three(found: Measurements) -> list[AnyRow]:
    """Return the three rows of all groups with the least spare, least first."""
    rows: list[AnyRow] = [*found.gap, *found.stock, *found.wall, *found.lip, *found.hub]
    judged = [(spare, k) for k, row in enumerate(rows) if (spare := spare_of(row)) is not None]
    return [rows[k] for _, k in sorted(judged)[:3]]


def spare_of(row: AnyRow) -> float | None:
    """Return what a row has to spare, mm, or None without a rule."""
    return row.spare if isinstance(row, NamedReading) else row.spare_mm


def place_of(row: AnyRow) -> Place | None:
    """Return where a row was read on the wheel."""
    if isinstance(row, NamedReading):
        return row.place
    return row.at_wheel if isinstance(row, GapRow) else row.at


def sentence(row: AnyRow, unit: LengthUnit) -> str:
    """Return a reading as one sentence: 'Spoke back to caliper 4.10, needs 3.00, at r 134'."""
    if isinstance(row, GapRow):
        digits = decimals(row.grade, unit)
        start, least, needs = f"{capital(row.body or row.zone)} to {row.shape}", row.least_mm, row.required_mm
    elif isinstance(row, NamedReading):
        digits, start, least, needs = decimals("drawing", unit), row.name, row.value, row.required
    else:
        digits, least, needs = decimals("drawing", unit), row.least_mm, row.required_mm
        what = "wall" if isinstance(row, WallRow) else f"stock ({row.side} side)"
        start = f"{capital(row.zone)} {what}"
    text = f"{start} {_length(least, unit, digits)}"
    if needs is not None:
        text += f", needs {_length(needs, unit, digits)}"
    place = place_of(row)
    if place is not None:
        text += f", at {_radius(place, unit)}"
    if isinstance(row, GapRow) and row.questions:
        text += f" ({_open(len(row.questions))})"
    return text


def capital(text: str) -> str:
    """Return the words with a capital at their start."""
    return text[:1].upper() + text[1:]


def tsv(groups: tuple[Line, ...]) -> str:
    """Return lines and all below them as a table for a spreadsheet, one head row, tabs between columns."""
    head = ["group", "reading", "value", "unit", "needs", "spare", "state", "z mm", "r mm"]
    rows = ["\t".join(head)]
    for path, line in _walk(groups, ()):
        if line.value or line.place or not line.children:
            at = [f"{x:.2f}" for x in line.place] if line.place else ["", ""]
            state = line.state.value if line.state else ""
            words = " ".join([*path[1:], line.label])
            group = path[0] if path else ""
            cells = [group, words, line.value, line.unit, line.rule, line.spare, state, *at]
            rows.append("\t".join(cell.replace("\t", " ").replace("\n", " ") for cell in cells))
    return "\n".join(rows) + "\n"


def _walk(groups: tuple[Line, ...], path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Line]]:
    for line in groups:
        yield path, line
        yield from _walk(line.children, (*path, line.label))


def _length(value_mm: float, unit: LengthUnit, digits: int) -> str:
    return format_length(value_mm, unit, digits, with_unit=False)


def _radius(place: Place, unit: LengthUnit) -> str:
    return f"r {_length(place[1], unit, 0 if unit == 'mm' else 2)}"


def _open(count: int) -> str:
    return f"{count} question{'s' if count > 1 else ''} open"


def _at(place: Place, unit: LengthUnit) -> str:
    digits = decimals("drawing", unit)
    return f"z {_length(place[0], unit, digits)}, r {_length(place[1], unit, digits)} {unit}"


def _faults(shown: Shown) -> Line:
    faults = tuple(
        Line(f"fault {k}", f.message, place=f.place, detail=f.message) for k, f in enumerate(shown.faults)
    )
    words = "No readings while the outline has faults"
    return Line("faults", words, children=faults or (Line("none", "This wheel has no outline yet."),))


def _of_group(key: str, label: str, children: list[Line], empty: str) -> Line:
    if not children:
        state = State.NOT_KNOWN if key == "gap" else None
        return Line(
            key, label, state=state, children=(Line(f"{key} empty", empty, known=False, detail=empty),)
        )
    states = [line.state for line in children if line.state is not None]
    return Line(key, label, state=worst(states) if states else None, children=tuple(children))


def _gap(found: Measurements, unit: LengthUnit, has_shapes: bool) -> Line:
    by_shape: dict[str, list[GapRow]] = {}
    for row in found.gap:
        by_shape.setdefault(row.shape, []).append(row)
    shapes = []
    for name, rows in by_shape.items():
        zones = [_gap_line(row, unit) for row in rows]
        questions = list(dict.fromkeys(q for row in rows for q in row.questions))
        asked = [
            Line(
                f"gap {name} asks {q}",
                q,
                known=False,
                state=None,
                shape=name,
                detail=f"Open question on {name}: {q}",
            )
            for q in questions
        ]
        note = _open(len(questions)) if questions else ""
        states = [row.state for row in rows if row.state is not None]
        state = worst(states) if states else None
        shapes.append(
            Line(f"gap {name}", f"To {name}", note, state=state, shape=name, children=(*asked, *zones))
        )
    empty = (
        "No gap to read: the shapes have no outline."
        if has_shapes
        else "No stay-out shape: choose one in Wheel details."
    )
    return _of_group("gap", "Gap", shapes, empty)


def _gap_line(row: GapRow, unit: LengthUnit) -> Line:
    digits = decimals(row.grade, unit)
    known = row.state is not State.NOT_KNOWN
    name = capital(row.body or row.zone)
    said = [
        f"{name} to {row.shape}" + (f", position {row.position}" if row.position else "") + ":",
        f"gap {_length(row.least_mm, unit, digits)} {unit},",
        f"radial {_length(row.radial_mm, unit, digits)}, axial {_length(row.axial_mm, unit, digits)}.",
        f"Outline {row.grade}, error ±{_length(row.error_mm, unit, 2)} {unit} taken off.",
    ]
    if row.included_mm:
        said.append(f"Gap already in the outline: {_length(row.included_mm, unit, digits)} {unit}.")
    said.append(_rule_words(row.rule, row.required_mm, unit, digits))
    if row.worst_mm is not None:
        said.append(f"In the worst state {_length(row.worst_mm, unit, digits)} must remain.")
    if row.move_radial_mm is not None and row.move_axial_mm is not None:
        said.append(
            f"Just clear if the shape moves {_length(row.move_radial_mm, unit, digits)} along r"
            f" or {_length(row.move_axial_mm, unit, digits)} along z."
        )
    said.append(f"At the wheel {_at(row.at_wheel, unit)}; at the shape {_at(row.at_shape, unit)}.")
    if row.questions:
        said.append("Not known until answered: " + " ".join(row.questions))
    return Line(
        f"gap {row.shape} {row.zone} {row.body}".rstrip(),
        name,
        _radius(row.at_wheel, unit),
        _length(row.least_mm, unit, digits),
        unit,
        "" if row.required_mm is None else _length(row.required_mm, unit, digits),
        "" if row.spare_mm is None else _length(row.spare_mm, unit, digits),
        state=row.state,
        known=known,
        detail=" ".join(said),
        place=row.at_wheel,
        zone=row.zone,
        shape=row.shape,
    )


def _rule_words(rule: str | None, required: float | None, unit: LengthUnit, digits: int) -> str:
    if rule is None or required is None:
        return "No rule for this zone."
    return f"Rule {rule}: {_length(required, unit, digits)} {unit}."


def _stock(found: Measurements, unit: LengthUnit, blank: str | None) -> Line:
    children = [_plain_line("stock", row, f"{row.side} side", unit) for row in found.stock]
    empty = "No blank: choose or draw one." if blank is None else f"No stock to read in {blank}."
    group = _of_group("stock", "Stock" if blank is None else f"Stock in {blank}", children, empty)
    if found.blank is not None and found.blank.missing_mm3 > 0.0:
        words = f"about {found.blank.missing_mm3 / 1000.0:.2f} cm³ of the wheel lies outside the blank"
        group = replace(
            group,
            children=(Line("missing", "Missing metal", words, detail=capital(words) + "."), *group.children),
        )
    return group


def _wall(found: Measurements, unit: LengthUnit) -> Line:
    children = [_named_line("lip", reading, unit) for reading in found.lip]

    def rank(row: WallRow) -> int:
        return _WALL_ORDER.index(row.zone) if row.zone in _WALL_ORDER else len(_WALL_ORDER)

    children += [_plain_line("wall", row, "", unit) for row in sorted(found.wall, key=rank)]
    return _of_group("wall", "Wall", children, "No place where two skins face each other.")


def _hub(found: Measurements, unit: LengthUnit) -> Line:
    children = [_named_line("hub", reading, unit) for reading in found.hub]
    return _of_group("hub", "Hub", children, "No fixing: state it in Wheel details.")


def _plain_line(kind: str, row: WallRow | StockRow, side: str, unit: LengthUnit) -> Line:
    digits = decimals("drawing", unit)
    where = f"{kind}, {side}" if side else kind
    said = [f"{capital(row.zone)} {where}: {_length(row.least_mm, unit, digits)} {unit}."]
    if isinstance(row, WallRow):
        said.append(f"Along the normal there {_length(row.gauge_mm, unit, digits)} {unit}.")
    said.append(_rule_words(row.rule, row.required_mm, unit, digits))
    said.append(f"At {_at(row.at, unit)}.")
    note = " ".join(word for word in (side, _radius(row.at, unit)) if word)
    return Line(
        f"{kind} {row.zone} {side}",
        capital(row.zone),
        note,
        _length(row.least_mm, unit, digits),
        unit,
        "" if row.required_mm is None else _length(row.required_mm, unit, digits),
        "" if row.spare_mm is None else _length(row.spare_mm, unit, digits),
        state=row.state,
        detail=" ".join(said),
        place=row.at,
        zone=row.zone,
    )


_POWERS = {"mm": 1, "mm2": 2, "mm4": 4}
_RAISED = {1: "", 2: "²", 4: "⁴"}


def _named_line(kind: str, reading: NamedReading, unit: LengthUnit) -> Line:
    power = _POWERS.get(reading.unit, 0)
    shown_unit = f"{unit}{_RAISED[power]}" if power else reading.unit

    def words(value: float | None) -> str:
        if value is None or not math.isfinite(value):
            return ""
        if power == 0:
            return f"{value:.2f}"
        scaled = value * length_in(1.0, unit) ** power
        return f"{scaled:.{_named_digits(power, unit)}f}"

    value = words(reading.value)
    said = [
        f"{reading.name}: {value} {shown_unit}." if value else f"{reading.name}: no reading.",
        reading.note,
    ]
    if reading.required is not None:
        said.append(f"Needs {words(reading.required)} {shown_unit}.")
    if reading.place is not None:
        said.append(f"At {_at(reading.place, unit)}.")
    return Line(
        f"{kind} {reading.key}",
        reading.name,
        "" if value else reading.note,
        value,
        shown_unit,
        words(reading.required),
        words(reading.spare),
        aside=shown_unit if value and shown_unit != unit and reading.required is None else "",
        state=reading.state,
        known=bool(value) and reading.state is not State.NOT_KNOWN,
        detail=" ".join(s for s in said if s),
        place=reading.place,
    )


def _named_digits(power: int, unit: LengthUnit) -> int:
    if unit == "mm":
        return {1: 2, 2: 1}.get(power, 0)
    return {1: 3, 2: 3}.get(power, 4)


def _mass(found: Measurements, unit: LengthUnit) -> Line:
    solid, blank = found.solid, found.blank

    def of(key: str, label: str, mass_kg: float, detail: str) -> Line:
        both: tuple[MassUnit, MassUnit] = ("lb", "kg") if unit == "in" else ("kg", "lb")
        value = format_mass(mass_kg, both[0], with_unit=False)
        second = format_mass(mass_kg, both[1])
        words = f"{label} {value} {both[0]}, {second}. {detail}"
        return Line(key, label, value=value, unit=both[0], aside=f"{both[0]} · {second}", detail=words)

    polar = f"{solid.polar_kg_mm2 * 1e-6:.3f}"
    centre = _length(solid.centre_z_mm, unit, decimals("drawing", unit))
    children = [
        of("mass", "Wheel", solid.mass_kg, "Spokes, bolt holes and pockets taken off."),
        of(
            "mass full",
            "As a full body",
            solid.full_mass_kg,
            "The same section turned without spoke windows or holes.",
        ),
        Line(
            "polar",
            "Polar inertia",
            value=polar,
            unit="kg m²",
            aside="kg m²",
            detail=f"About the axle: {polar} kg m².",
        ),
        Line(
            "centre",
            "Centre of mass",
            value=centre,
            unit=unit,
            aside=f"{unit} along z",
            detail=f"Along the axle z {centre} {unit}.",
        ),
    ]
    if blank is not None:
        ratio = f"{blank.mass_ratio:.2f}"
        children += [
            of("blank mass", f"Blank {blank.name}", blank.mass_kg, "As drawn."),
            of("chips", "Chips", blank.chips_kg, "Blank less wheel."),
            Line(
                "ratio",
                "Mass ratio",
                value=ratio,
                aside="blank to wheel",
                detail=f"Blank mass over wheel mass {ratio}.",
            ),
        ]
    return Line("mass group", "Mass", children=tuple(children))
