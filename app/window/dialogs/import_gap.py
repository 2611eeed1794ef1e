"""The least gap of what is imported to the shown wheel, by the same call as every other reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import rank
from app.reports.sentences import SIGNS, capital
from app.studies.fit import hold, measure_wheel
from app.units import LengthUnit
from app.views.readings_text import minus, open_words
from app.window.dialogs.import_paint import Backdrop, GapMark
from geometry.errors import GeometryError
from geometry.readings.measure import GapRow, Held
from geometry.readings.rules import State
from geometry.shape.outline import StayOut
from geometry.shape.section import Outline, build

#: Outlines with more vertices are not held against the wheel while they are looked at: it takes too long.
MOST_VERTICES = 4000


@dataclass(frozen=True)
class Nearest:
    """What is said of one reading of the file, and the nearest places; no mark where there is no reading."""

    words: str
    state: State | None
    mark: GapMark | None = None


def backdrop(project: Project, wheel_name: str) -> Backdrop:
    """Return the shown wheel and its blank as the picture draws them; what has faults is left out."""
    wheel = edits.find(project, edits.WHEEL, wheel_name)
    try:
        built = build(wheel.section)
    except GeometryError:
        built = ()
    held = hold(project, replace(wheel, clears=(), rules=None))
    return Backdrop(
        wheel_name,
        built.moved(wheel.spacer_mm).path if isinstance(built, Outline) else None,
        held.blank if isinstance(held, Held) else None,
    )


def nearest(
    project: Project, wheel_name: str, shapes: Sequence[tuple[str, StayOut]], doubt: str = ""
) -> list[Nearest]:
    """Return what to say of each reading of the file.

    Args:
        project: gives rules and material.
        wheel_name: what it is held against.
        shapes: the words of a reading, and the shape it would become.
        doubt: why nothing is known yet, whatever the source card says; empty where it decides.
    """
    return [_nearest(project, wheel_name, words, shape, doubt) for words, shape in shapes]


def _nearest(project: Project, wheel_name: str, words: str, shape: StayOut, doubt: str) -> Nearest:
    count = sum(len(o.corners) for o in shape.outlines)
    before = f"{capital(words)}: " if words else ""
    if count > MOST_VERTICES:
        said = tr(
            "not worked out here: {count} vertices; take fewer outlines, or export them coarser.", count=count
        )
        return Nearest(f"{SIGNS[State.NOT_KNOWN]} {before}{said}", State.NOT_KNOWN)
    wheel = replace(edits.find(project, edits.WHEEL, wheel_name), clears=(shape.name,), blank=None)
    measured = measure_wheel(replace(project, shapes=(shape,)), wheel)
    found = measured.measurements
    if found is None:
        said = measured.faults[0].message if measured.faults else tr("there is no reading.")
        return Nearest(f"{SIGNS[State.NOT_KNOWN]} {before}{minus(said)}", State.NOT_KNOWN)
    if not found.gap:
        return Nearest(
            tr(
                "{sign} {before}no zone of the wheel looks at it.",
                sign=SIGNS[State.NOT_KNOWN],
                before=before,
            ),
            State.NOT_KNOWN,
        )
    rows = [_doubted(row, doubt) for row in found.gap]
    near = min(rows, key=lambda row: row.least_mm)
    unit = unit_of(project)
    said = f"{before or tr('Nearest: ')}{_sentence(near, unit)}"
    worst = min(rows, key=rank)
    if worst is not near and worst.state is not near.state:
        said += f"; {_sentence(worst, unit)}"
    numbers = Numbers(unit)
    label = minus(numbers.length(near.least_mm, near.grade, with_unit=True))
    return Nearest(said, near.state, GapMark(near.at_wheel, near.at_shape, label, near.state))


def _doubted(row: GapRow, doubt: str) -> GapRow:
    """Return the row as not known where there is a doubt."""
    return replace(row, state=State.NOT_KNOWN, questions=(doubt, *row.questions)) if doubt else row


def _sentence(row: GapRow, unit: LengthUnit) -> str:
    """Return 'barrel 3.60 mm at z −23.4, r 203.0; ? not known (5 questions open)'."""
    numbers = Numbers(unit)
    zone = row.body or row.zone
    said = tr(
        "{zone} {least_mm} at {at_wheel}",
        zone=zone,
        least_mm=numbers.length(row.least_mm, row.grade, with_unit=True),
        at_wheel=numbers.place(row.at_wheel),
    )
    if row.least_mm < 0.0:
        said += tr(", inside each other")
    if row.state is not None:
        said += f"; {SIGNS[row.state]} {spoken(row.state)}"
    count = len(row.questions)
    if count:
        said += f" ({open_words(count)}{f': {spoken(row.questions[0])}' if count == 1 else ''})"
    return minus(said)
