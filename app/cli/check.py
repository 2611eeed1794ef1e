"""`blankwright check`: every reading and rule of a project's wheels, as JSON or as text."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from app.cli.terminal import printed
from app.project.constraining import is_held, states
from app.project.holding import settled
from app.project.parameters import reckoned
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.numbers import Numbers
from app.reports.sentences import SIGNS
from app.studies.fit import Measured, measure_wheel
from app.studies.flash_line import flash_line_finding
from app.studies.road import Road, on_the_road, whole_state
from app.studies.tyre import NOT_JUDGED, Word, tyre_findings, value_words, worst_word
from app.units import LengthUnit
from geometry.readings.measure import GapRow, Measurements, NamedReading, StockRow, WallRow
from geometry.readings.rules import State, worst
from geometry.readings.stack import StackRow

#: Version of the JSON that `check --json` prints.
FORMAT = 1


def check(project: Project, wheels: tuple[Wheel, ...]) -> dict[str, Any]:
    """Return the readings of the wheels as plain values, keys as in DEVELOPERS.md; lengths in mm."""
    entries = [_entry(project, wheel) for wheel in wheels]
    states = [State(entry["state"]) for entry in entries]
    return {"format": FORMAT, "state": str(worst(states)), "wheels": entries}


def exit_code(result: dict[str, Any]) -> int:
    """Return 0 when every wheel is clear or tight, else 1."""
    return 0 if result["state"] in (State.CLEAR, State.TIGHT) else 1


def _entry(project: Project, wheel: Wheel) -> dict[str, Any]:
    measured = measure_wheel(project, wheel)
    entry = _wheel(project, wheel, measured, on_the_road(project, wheel, measured))
    return entry if entry["faults"] else {**entry, "notes": _notes(project, wheel, Numbers("mm"))}


def _notes(project: Project, wheel: Wheel, numbers: Numbers) -> list[str]:
    """Return what is to be known beside the state, which it leaves as it is."""
    flash = flash_line_finding(project, wheel)
    if flash is None:
        return []
    at, band = flash.lengths_mm
    in_hub_frame = replace(flash, lengths_mm=(at + wheel.spacer_mm, band))
    return [in_hub_frame.words(numbers.length)]


def _wheel(project: Project, wheel: Wheel, measured: Measured, road: Road | None) -> dict[str, Any]:
    found, parameters = measured.measurements, _parameters(wheel)
    constraints = _constraints(project, wheel)
    if found is None:
        return {
            "wheel": wheel.name,
            "state": str(State.NOT_KNOWN),
            "faults": [
                {"kind": f.kind, "message": f.message, "at": _place(f.place)} for f in measured.faults
            ],
            "gap": [],
            "wall": [],
            "stock": [],
            "named": [],
            "hub": [],
            "solid": None,
            "blank": None,
            "road": None,
            "tyre": _tyre(wheel, None),
            "questions": [],
            "parameters": parameters,
            "notes": [],
            "constraints": constraints,
            **_stated(wheel),
        }
    return {
        "wheel": wheel.name,
        "state": str(whole_state(measured, road)),
        "faults": [],
        "gap": [_gap(row) for row in found.gap],
        "wall": [_wall(row) for row in found.wall],
        "stock": [_stock(row) for row in found.stock],
        "named": [_named(row) for row in found.lip],
        "hub": [_named(row) for row in found.hub],
        "solid": {
            "area_mm2": found.solid.area_mm2,
            "volume_mm3": found.solid.volume_mm3,
            "mass_kg": found.solid.mass_kg,
            "full_mass_kg": found.solid.full_mass_kg,
            "centre_z_mm": found.solid.centre_z_mm,
            "polar_kg_mm2": found.solid.polar_kg_mm2,
            "diametral_kg_mm2": found.solid.diametral_kg_mm2,
        },
        "blank": _blank(found),
        "road": None if road is None else _road(road),
        "tyre": _tyre(wheel, road),
        "questions": [*found.questions, *(road.questions if road is not None else ())],
        "parameters": parameters,
        "constraints": constraints,
        **_stated(wheel),
    }


def _stated(wheel: Wheel) -> dict[str, Any]:
    """Return what is said of the wheel and not drawn: its side and its coating."""
    coating = wheel.coating
    return {
        "side": str(wheel.side),
        "coating": {
            "kind": str(coating.kind),
            "thickness_mm": coating.thickness_mm,
            "growth_mm": coating.growth_mm,
            "on_bore": coating.on_bore,
            "on_seats": coating.on_seats,
        },
    }


def _constraints(project: Project, wheel: Wheel) -> list[dict[str, Any]]:
    return [
        {
            "kind": str(c.kind),
            "vertices": list(c.vertices),
            "value": c.value,
            "shape": c.shape,
            "held": is_held(state),
            "off_mm": None if state is None or not math.isfinite(state) else state,
        }
        for c, state in zip(wheel.constraints, states(project, wheel), strict=True)
    ]


def _parameters(wheel: Wheel) -> list[dict[str, Any]]:
    _, errors = settled(wheel)
    return [
        {
            "name": p.name,
            "formula": p.formula,
            "unit": p.unit,
            "value": row.value,
            "error": errors.get(k),
            "drives": [{"what": str(d.what), "vertices": list(d.vertices)} for d in p.drives],
            "note": p.note,
        }
        for k, (p, row) in enumerate(zip(wheel.parameters, reckoned(wheel.parameters), strict=True))
    ]


def _place(place: tuple[float, float] | None) -> list[float] | None:
    return None if place is None else [place[0], place[1]]


def _state(state: State | None) -> str | None:
    return None if state is None else str(state)


def _gap(row: GapRow) -> dict[str, Any]:
    return {
        "shape": row.shape,
        "zone": row.zone,
        "least_mm": row.least_mm,
        "error_mm": row.error_mm,
        "included_mm": row.included_mm,
        "radial_mm": row.radial_mm,
        "axial_mm": row.axial_mm,
        "required_mm": row.required_mm,
        "spare_mm": row.spare_mm,
        "state": _state(row.state),
        "at_wheel": _place(row.at_wheel),
        "at_shape": _place(row.at_shape),
        "grade": row.grade,
        "rule": row.rule,
        "acts_on": "paper",
        "required_worst_mm": row.worst_mm,
        "position": row.position,
        "body": row.body or None,
        "questions": list(row.questions),
        "move_radial_mm": row.move_radial_mm,
        "move_axial_mm": row.move_axial_mm,
    }


def _road(road: Road) -> dict[str, Any]:
    return {
        "conditions": None if road.conditions is None else road.conditions.name,
        "state": str(road.state),
        "rows": [_stack(row) for row in road.rows],
        "narrow": [
            {
                "shape": narrow.shape,
                "length_mm": narrow.length_mm,
                "least_mm": narrow.least_mm,
                "zones": list(narrow.zones),
                "start": _place(narrow.start),
                "end": _place(narrow.end),
            }
            for narrow in road.narrow
        ],
    }


def _stack(row: StackRow) -> dict[str, Any]:
    return {
        "shape": row.shape,
        "zone": row.zone,
        "body": row.body or None,
        "nominal_mm": row.nominal_mm,
        "included_mm": row.included_mm,
        "losses": [{"key": e.key, "name": e.words, "loss_mm": e.loss_mm} for e in row.losses],
        "grade": row.grade,
        "worst_mm": row.worst_mm,
        "rss_mm": row.rss_mm,
        "condition": row.condition,
        "required_mm": row.required_mm,
        "spare_mm": row.spare_mm,
        "state": _state(row.state),
        "at_wheel": _place(row.at_wheel),
        "at_shape": _place(row.at_shape),
    }


def _tyre(wheel: Wheel, road: Road | None) -> dict[str, Any]:
    findings = tyre_findings(wheel)
    return {
        "size": wheel.tyre,
        "word": str(worst_word(findings)),
        "findings": [
            {
                "key": f.key,
                "name": f.name,
                "word": str(f.word),
                "value": f.value,
                "unit": f.unit,
                "needs": f.needs,
                "text": f.text,
                "source": f.source,
            }
            for f in findings
        ],
        "growth_percent": wheel.tyre_growth_percent,
        "judged": _judged_words(road),
        "gap": [_gap(row) for row in road.tyre.rows] if road is not None else [],
        "worst": [_stack(row) for row in road.tyre.worst] if road is not None else [],
    }


def _judged_words(road: Road | None) -> str:
    return f"{NOT_JUDGED}." if road is None else road.tyre.judged


def _wall(row: WallRow) -> dict[str, Any]:
    least = {"zone": row.zone, "least_mm": row.least_mm, "gauge_mm": row.gauge_mm}
    return least | _judged(row)


def _stock(row: StockRow) -> dict[str, Any]:
    return {"zone": row.zone, "side": row.side, "least_mm": row.least_mm} | _judged(row)


def _judged(row: WallRow | StockRow) -> dict[str, Any]:
    return {
        "required_mm": row.required_mm,
        "spare_mm": row.spare_mm,
        "state": _state(row.state),
        "at": _place(row.at),
        "rule": row.rule,
    }


def _named(row: NamedReading) -> dict[str, Any]:
    return {
        "key": row.key,
        "name": row.name,
        "value": row.value,
        "unit": row.unit,
        "at": _place(row.place),
        "required": row.required,
        "spare": row.spare,
        "state": _state(row.state),
        "note": row.note,
    }


def _blank(found: Measurements) -> dict[str, Any] | None:
    blank = found.blank
    if blank is None:
        return None
    return {
        "name": blank.name,
        "mass_kg": blank.mass_kg,
        "chips_kg": blank.chips_kg,
        "mass_ratio": blank.mass_ratio,
        "missing_mm2": blank.missing_mm2,
        "missing_mm3": blank.missing_mm3,
    }


def as_text(project: Project, wheels: tuple[Wheel, ...]) -> str:
    """Return the readings as a table for a person, in the project's unit."""
    unit: LengthUnit = "in" if project.display_unit == "in" else "mm"
    return "\n\n".join(_wheel_text(project, w, Numbers(unit)) for w in wheels)


def _wheel_text(project: Project, wheel: Wheel, numbers: Numbers) -> str:
    measured = measure_wheel(project, wheel)
    road = on_the_road(project, wheel, measured)
    head = f"{wheel.name}: {wheel.size}, inset {numbers.length(wheel.inset_mm, with_unit=True)}"
    found = measured.measurements
    if found is None:
        return printed([f"{head}: no readings", *(f"  fault: {f.message}" for f in measured.faults)])
    rows: list[tuple[str, ...]] = []
    for gap in (*found.gap, *(road.tyre.rows if road is not None else ())):
        what = f"{gap.body or gap.zone} to {gap.shape}"
        grade = gap.grade
        rows.append(
            (
                "gap",
                what,
                numbers.length(gap.least_mm, grade),
                numbers.length(gap.required_mm, grade),
                numbers.length(gap.spare_mm, grade),
                _words(gap.state),
                numbers.place(gap.at_wheel),
            )
        )
    for stack in (*road.rows, *road.tyre.worst) if road is not None else ():
        grade = stack.grade
        rows.append(
            (
                "worst",
                f"{stack.body or stack.zone} to {stack.shape}",
                numbers.length(stack.worst_mm, grade),
                numbers.length(stack.required_mm, grade),
                numbers.length(stack.spare_mm, grade),
                _words(stack.state),
                numbers.place(stack.at_wheel),
            )
        )
    for stock in found.stock:
        rows.append(_row("stock", f"{stock.zone}, {stock.side} side", stock, numbers))
    for wall in found.wall:
        rows.append(_row("wall", wall.zone, wall, numbers))
    for group, named in (("by name", found.lip), ("hub", found.hub)):
        for reading in named:
            value, required, spare = numbers.named(reading)
            place = numbers.place(reading.place)
            rows.append((group, reading.name, value, required, spare, _words(reading.state), place))
    state = whole_state(measured, road)
    lines = [f"{head}: {SIGNS[state]} {state}", *_table(rows)]
    solid = found.solid
    lines.append(f"  mass {numbers.mass(solid.mass_kg)}, polar inertia {numbers.inertia(solid.polar_kg_mm2)}")
    if found.blank is not None:
        blank = found.blank
        chips = f"chips {numbers.mass(blank.chips_kg)}, blank over wheel {blank.mass_ratio:.2f}"
        lines.append(f"  blank '{blank.name}' {numbers.mass(blank.mass_kg)}, {chips}")
        if blank.missing_mm2 > 0.0:
            area, volume = numbers.area(blank.missing_mm2), numbers.volume(blank.missing_mm3)
            lines.append(f"  missing metal: about {area} of the section, about {volume} of the wheel")
    lines += [f"  hub: {row.name}: {row.note}" for row in found.hub if row.note and _is_open(row.state)]
    lines += _road_note(road, numbers)
    lines += _tyre_text(wheel, road, numbers)
    held = (*found.gap, *(road.tyre.rows if road is not None else ()))
    asked = dict.fromkeys([*found.questions, *(q for row in held for q in row.questions)])
    asked |= dict.fromkeys(road.questions if road is not None else ())
    lines += [f"  open: {question}" for question in asked]
    lines += [f"  note: {note}" for note in _notes(project, wheel, numbers)]
    return printed(lines)


def _is_open(state: State | None) -> bool:
    return state is not None and state is not State.CLEAR


def _road_note(road: Road | None, numbers: Numbers) -> list[str]:
    """Return what eats most of the gap with the least spare, and the gaps that hold stones."""
    if road is None or road.conditions is None:
        return []
    lines = []
    judged = [row for row in road.rows if row.spare_mm is not None]
    for row in sorted(judged, key=lambda row: row.spare_mm or 0.0)[:1]:
        eaten = ", ".join(f"{e.words} {numbers.length(e.loss_mm)}" for e in row.losses if e.loss_mm > 0.0)
        start = ", starting values" if road.conditions.starting_values else ""
        lines += [
            f"  worst state by '{road.conditions.name}'{start}: {row.zone} to {row.shape}: {row.condition}",
            f"    takes: {eaten}",
        ]
    for narrow in road.narrow:
        lines.append(
            f"  holds stones: {' and '.join(narrow.zones)} to {narrow.shape}, down to "
            f"{numbers.length(narrow.least_mm)} along {numbers.length(narrow.length_mm, with_unit=True)}"
        )
    return lines


def _tyre_text(wheel: Wheel, road: Road | None, numbers: Numbers) -> list[str]:
    """Return a line for each finding, each that is not fine with its word and what it rests on."""
    lines = []
    for f in tyre_findings(wheel):
        unit = "" if f.unit == "code" else numbers.unit_shown(f.unit)
        shown = f" {value_words(f, numbers.unit)} {unit}".rstrip()
        rest = "" if f.word is Word.FINE else f" [{f.source}]"
        lines.append(f"  tyre: {f.word}: {f.name.lower()}{shown}: {f.text}{rest}")
    return [*lines, f"  tyre: {_judged_words(road)}"]


def _row(group: str, what: str, row: WallRow | StockRow, numbers: Numbers) -> tuple[str, ...]:
    return (
        group,
        what,
        numbers.length(row.least_mm),
        numbers.length(row.required_mm),
        numbers.length(row.spare_mm),
        _words(row.state),
        numbers.place(row.at),
    )


def _words(state: State | None) -> str:
    return "" if state is None else f"{SIGNS[state]} {state}"


def _table(rows: list[tuple[str, ...]]) -> list[str]:
    head = ("", "", "least", "needs", "spare", "state", "at")
    every = [head, *rows]
    widths = [max(len(row[k]) for row in every) for k in range(len(head))]
    return [
        "  "
        + "  ".join(
            cell.rjust(width) if k in (2, 3, 4) else cell.ljust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in every
    ]
