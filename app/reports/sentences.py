"""The report's sentences: what was judged, the least to spare, and why a report is held back."""

from __future__ import annotations

from collections.abc import Sequence

from app.project.coating import Coat, Coating
from app.project.project import Project
from app.reports.numbers import Numbers
from app.reports.rows import AnyRow, rank, rows_of, value_of
from app.studies.fit import Measured
from app.studies.road import Road, whole_state
from app.studies.tyre import NOT_JUDGED
from geometry.readings.measure import GapRow, NamedReading, StockRow, WallRow
from geometry.readings.rules import State
from geometry.readings.stack import StackRow
from geometry.shape.outline import Grade, ShapeKind, StayOut

#: With its word and its line style, each sign is read before any colour.
SIGNS: dict[State, str] = {
    State.TOUCHING: "✕",
    State.SHORT: "▼",
    State.NOT_KNOWN: "?",
    State.TIGHT: "◆",
    State.CLEAR: "●",
}
#: Parts that belong to the brake; every other kind is named by its own word.
_BRAKE = (ShapeKind.CALIPER, ShapeKind.SHIELD)


def revision_words(project: Project) -> str:
    """Return revision and date as printed."""
    return f"revision {project.revision or 'not stated'} of {project.revision_date or 'no date'}"


def coating_words(coating: Coating, numbers: Numbers) -> str:
    """Return kind, thickness and where of a coating as in 'powder, at most 0.10 a side, bore bare'."""
    if coating.kind in (Coat.OPEN, Coat.NONE):
        return str(coating.kind)
    at_most = coating.thickness_mm
    said = [str(coating.kind)]
    said.append("thickness not stated" if at_most is None else f"at most {numbers.length(at_most)} a side")
    if at_most is not None and coating.growth_mm is not None and coating.growth_mm < at_most:
        said.append("half of it out of the metal")
    for name, is_coated in (("bore", coating.on_bore), ("hub pad and seats", coating.on_seats)):
        said.append(f"{name} {'not stated' if is_coated is None else 'coated' if is_coated else 'bare'}")
    return ", ".join(said)


def judged_line(shapes: Sequence[StayOut], tyre: str, has_readings: bool) -> str:
    """Return the report's first line, as in 'Brake only. Tyre to body and suspension not judged.'.

    Args:
        shapes: what the wheel was held against.
        tyre: which parts the tyre was held against, and which not, as a sentence.
        has_readings: the section has no fault.
    """
    if not has_readings:
        return "Nothing judged: the section has faults."
    kinds = dict.fromkeys("brake" if s.kind in _BRAKE else _word(s.kind) for s in shapes)
    if not kinds:
        return f"No gap judged: no stay-out shape is given. {tyre or f'{NOT_JUDGED}.'}"
    return f"{capital(_listed(list(kinds)))} only. {tyre or f'{NOT_JUDGED}.'}"


def shapes_line(shapes: Sequence[StayOut], has_readings: bool) -> str:
    """Return the line that names the stay-out shapes."""
    names = ", ".join(s.name for s in shapes) or "none"
    return (
        f"Stay-out shapes judged: {names}" if has_readings else f"Stay-out shapes drawn, not judged: {names}"
    )


def _word(kind: ShapeKind) -> str:
    return "other part" if kind is ShapeKind.OTHER else kind.value


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def capital(text: str) -> str:
    """Return the words with a capital at their start."""
    return text[:1].upper() + text[1:]


def sentence(row: AnyRow, numbers: Numbers) -> str:
    """Return a reading as one sentence: 'Spoke back to caliper: 4.10 mm, needs 3.00 + 0.30, at r 134'.

    What is needed stands with the shape's stated error, so that value less needs is what there is to spare.
    """
    if isinstance(row, NamedReading):
        value, required, _ = numbers.named(row)
        text, needed, place = (
            f"{row.name}: {_with_unit(value, row, numbers) or 'no reading'}",
            required,
            row.place,
        )
    else:
        grade = row.grade if isinstance(row, GapRow | StackRow) else str(Grade.DRAWING)
        place = row.at_wheel if isinstance(row, GapRow | StackRow) else row.at
        text = f"{subject(row)}: {numbers.length(value_of(row), grade, with_unit=True)}"
        needed = needs(row, numbers)
    text += f", needs {needed}" if needed else ""
    return text + (f", at {numbers.near(place)}" if place is not None else "")


def _with_unit(value: str, row: NamedReading, numbers: Numbers) -> str:
    return f"{value} {numbers.unit}" if value and row.unit == "mm" else value


def needs(row: GapRow | WallRow | StockRow | StackRow, numbers: Numbers) -> str:
    """Return what a row must keep: '3.00', or with the error and gap stated of the shape '3.00 + 0.30'."""
    if row.required_mm is None:
        return ""
    text = numbers.length(row.required_mm)
    if isinstance(row, StackRow):
        return text + (f" − {numbers.length(row.included_mm)}" if row.included_mm else "")
    if isinstance(row, GapRow):
        text += f" + {numbers.length(row.error_mm)}" if row.error_mm else ""
        text += f" − {numbers.length(row.included_mm)}" if row.included_mm else ""
    return text


def subject(row: GapRow | WallRow | StockRow | StackRow) -> str:
    """Return what was measured: 'Spoke back to caliper', 'Barrel wall', 'Barrel stock, tyre side'."""
    if isinstance(row, GapRow | StackRow):
        state = " in the worst state" if isinstance(row, StackRow) else ""
        return f"{capital(row.body or row.zone)} to {row.shape}{state}"
    what = "wall" if isinstance(row, WallRow) else f"stock, {row.side} side"
    return f"{capital(row.zone)} {what}"


def reason_to_hold_back(measured: Measured, road: Road | None, numbers: Numbers) -> str:
    """Return why the report is not for release, or nothing when every check is clear or tight."""
    found = measured.measurements
    if found is None:
        count = len(measured.faults)
        return f"The section has {count} fault{'' if count == 1 else 's'} and therefore no readings."
    state = whole_state(measured, road)
    if state in (State.TIGHT, State.CLEAR):
        return ""
    wrong = [f for f in road.tyre.findings if f.decides] if road is not None else []
    if state is State.SHORT and wrong:
        return f"{capital(state)}: {wrong[0].text}"
    rows: list[AnyRow] = [*rows_of(found)]
    if road is not None:
        rows += [*road.rows, *road.tyre.rows, *road.tyre.worst]
    deciding = [row for row in rows if row.state is state]
    if deciding:
        first = min(deciding, key=rank)
        more = f" and {len(deciding) - 1} more" if len(deciding) > 1 else ""
        asked = f". {first.questions[0]}" if isinstance(first, GapRow) and first.questions else ""
        return f"{capital(state)}: {sentence(first, numbers)}{more}{asked}"
    questions = (*found.questions, *(road.questions if road is not None else ()))
    return f"{capital(state)}: {questions[0] if questions else 'an input is missing.'}"
