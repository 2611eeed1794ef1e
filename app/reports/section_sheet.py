"""What a section sheet says, as plain values: drawing, title block, notes, and what keeps it from release."""

from __future__ import annotations

from dataclasses import dataclass

from app.project.coating import Coat
from app.project.project import Project
from app.project.sheet import MAY_BE_OPEN, NAMES, SheetSettings, not_stated, started_with
from app.project.sides import side_words, twin
from app.project.wheel import Fixing, Side, Wheel
from app.reports.figure import Figure
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import worst_three
from app.reports.sentences import capital, reason_to_hold_back, sentence
from app.reports.sheet_figure import NOT_STATED, sheet_figure
from app.reports.sheet_notes import notes
from app.studies.fit import Measured, hold, measure_wheel
from app.studies.road import Road, on_the_road, whole_state
from geometry.readings.conditions import Conditions
from geometry.readings.measure import Held
from geometry.readings.rules import State
from geometry.shape.section import Zone

#: Enlargements, full size and reductions that a drawing may have, as 1 to n: ISO 5455, from memory.
ISO_5455 = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)

#: Zones whose least wall a maker must be told; hub and bore follow from their sizes.
MINIMA = (
    Zone.OUTER_LIP,
    Zone.OUTER_SEAT,
    Zone.WELL,
    Zone.BARREL,
    Zone.INNER_SEAT,
    Zone.INNER_LIP,
    Zone.SHOULDER,
    Zone.SPOKE_BACK,
    Zone.SPOKE_FACE,
)

#: A tolerance of the sheet beside the condition that it was judged with: a wheel at the sheet's limit must
#: not be worse than what the worst state took off.
JUDGED_WITH = (
    ("inset_mm", "inset_mm"),
    ("radial_run_out_mm", "radial_run_out_mm"),
    ("axial_run_out_mm", "axial_run_out_mm"),
    ("surface_mm", "surface_mm"),
    ("coating_mm", "coating_mm"),
)

SETTINGS_AT = "Project, Sheet tolerances and notes"


@dataclass(frozen=True)
class Issue:
    """What a released sheet says of its release; a row of its revision block."""

    revision: str
    on: str
    drawn_by: str
    checked_by: str
    change: str


@dataclass(frozen=True)
class SheetContent:
    """Everything a section sheet prints.

    Attributes:
        cells: title block: rows of (label, words, share of the width).
        issues: revision block, the newest last.
        notes: titled lines, in reading order.
        missing: what is not stated, by name.
        hindrances: why it cannot be released, each with what, where and how to mend it.
        issue: its own release; None for a draft.
        paper: A4, A3, Letter or Tabloid.
        identification: what the drawing is called.
    """

    project: str
    identification: str
    size: str
    state: State
    figure: Figure
    notes: tuple[tuple[str, tuple[str, ...]], ...]
    missing: tuple[str, ...]
    hindrances: tuple[str, ...]
    issue: Issue | None
    issues: tuple[Issue, ...]
    next_revision: str
    owner: str
    material: str
    mass: str
    load: str
    unit: str
    paper: str
    third_angle: bool


def paper_of(project: Project) -> str:
    """Return the paper that the project's settings ask for."""
    if project.paper == "Letter":
        return "Tabloid" if project.sheet.large else "Letter"
    return "A3" if project.sheet.large else "A4"


@dataclass(frozen=True)
class Judged:
    """A wheel with all that was read from it."""

    project: Project
    wheel: Wheel
    measured: Measured
    road: Road | None


def judge(project: Project, wheel: Wheel) -> Judged:
    """Return a wheel's readings on paper and on the road."""
    measured = measure_wheel(project, wheel)
    return Judged(project, wheel, measured, on_the_road(project, wheel, measured))


def build_sheet(
    judged: Judged,
    paper: str,
    issues: tuple[Issue, ...] = (),
    next_revision: str = "A",
    issue: Issue | None = None,
) -> SheetContent:
    """Return the sheet of a wheel.

    Args:
        judged: the wheel and its readings.
        paper: A4, A3, Letter or Tabloid.
        issues: of the revisions before.
        next_revision: what a release would be called.
        issue: the release that is being drawn; None for a draft.
    """
    project, wheel, measured, road = judged.project, judged.wheel, judged.measured, judged.road
    numbers, settings = Numbers(unit_of(project)), project.sheet
    found, held = measured.measurements, hold(project, wheel)
    figure = sheet_figure(wheel, measured, held if isinstance(held, Held) else None, settings, numbers)
    missing = tuple(_missing(judged, figure))
    worst = () if found is None else worst_three(found, road.rows if road is not None else ())
    return SheetContent(
        project=project.name,
        identification=wheel.name,
        size=", ".join(
            word
            for word in (
                *(
                    str(wheel.size),
                    f"inset {numbers.length(wheel.inset_mm, with_unit=True)}",
                    side_words(wheel),
                ),
            )
            if word
        ),
        state=whole_state(measured, road),
        figure=figure,
        notes=notes(
            project,
            wheel,
            measured,
            tuple(sentence(row, numbers) for row in worst),
            missing,
            tuple(NAMES[key] for key in started_with(settings)),
            numbers,
        ),
        missing=missing,
        hindrances=tuple(hindrances(judged, figure, numbers)),
        issue=issue,
        issues=(*issues, issue) if issue is not None else issues,
        next_revision=next_revision,
        owner=settings.owner or NOT_STATED,
        material=wheel.material,
        mass=NOT_STATED if found is None else numbers.mass(found.solid.mass_kg),
        load=NOT_STATED if wheel.load_kg is None else numbers.mass(wheel.load_kg, 0),
        unit="inch" if numbers.unit == "in" else "mm",
        paper=paper,
        third_angle=settings.third_angle,
    )


def _missing(judged: Judged, figure: Figure) -> list[str]:
    """Return by name what is not stated."""
    wheel, found = judged.wheel, judged.measured.measurements
    names = [NAMES[key] for key in not_stated(judged.project.sheet)]
    names += [word for value, word in _of_wheel(wheel) if value is None]
    names += [] if wheel.tyre else ["tyre"]
    names += ["coating"] if wheel.coating.kind is Coat.OPEN else []
    if found is not None:
        names += [f"least wall of the {row.zone}" for row in found.wall if row.required_mm is None]
        names += [] if figure.datum_a is not None else ["datum A (mounting face)"]
        names += [] if figure.datum_b is not None else ["datum B (bore)"]
    if not any("valve" in ring.name.casefold() for ring in wheel.rings):
        names.append("valve hole (as a ring body)")
    return names


def _of_wheel(wheel: Wheel) -> tuple[tuple[object, str], ...]:
    return (
        (wheel.load_kg, "load rating"),
        (wheel.blank, "blank"),
        (wheel.fixing, "fixing"),
        (wheel.rules, "rule set"),
        (wheel.conditions, "conditions of the road"),
    )


def hindrances(judged: Judged, figure: Figure, numbers: Numbers) -> list[str]:
    """Return why a wheel's sheet cannot be released: what, where, how to mend it; empty where it can."""
    project, wheel, measured = judged.project, judged.wheel, judged.measured
    found: list[str] = []
    reason = reason_to_hold_back(measured, judged.road, numbers)
    if reason:
        found.append(f"{wheel.name}: {reason}{'' if reason.endswith(('.', '?')) else '.'}")
    found += [
        f"{capital(word)}: {NOT_STATED}. Choose or type it in Project, Wheel details."
        for value, word in _of_wheel(wheel)
        if value is None
    ]
    found += [
        f"{capital(NAMES[key])}: {NOT_STATED}. Type it in {SETTINGS_AT}."
        for key in not_stated(project.sheet)
        if key not in MAY_BE_OPEN
    ]
    other = twin(project, wheel)
    if other is not None:
        found.append(
            f"{wheel.name} ({wheel.side}) is the same section as {other.name} ({other.side}): keep one of "
            f"them, say '{Side.PAIR}' in Project, Wheel details, and release it once."
        )
    found += _undrawn(judged, figure)
    conditions = next((c for c in project.conditions if c.name == wheel.conditions), None)
    if conditions is not None:
        found += _wider(project.sheet, conditions, numbers)
    return found


def _undrawn(judged: Judged, figure: Figure) -> list[str]:
    """Return what a sheet must show and the section does not have."""
    found = judged.measured.measurements
    if found is None or figure.outline is None:
        return []
    names = {callout.name.partition(",")[0] for callout in figure.callouts}
    said = [
        f"{word}: the section has none. Give its edges the zone '{zone}' in the vertex table."
        for word, zone, there in (
            ("Datum A (mounting face)", Zone.HUB_PAD, figure.datum_a is not None),
            ("Datum B (bore)", Zone.BORE, figure.datum_b is not None),
            ("Inner bead seat", Zone.INNER_SEAT, "inner seat" in names),
            ("Outer bead seat", Zone.OUTER_SEAT, "outer seat" in names),
        )
        if not there
    ]
    read = {row.zone for row in found.wall if row.required_mm is None}
    zones = [zone for zone in MINIMA if zone in read]
    if zones and judged.wheel.rules is not None:
        listed = ", ".join(zones)
        said.append(
            f"Least wall: {NOT_STATED} for {listed}. Add wall rules to the rule set '{judged.wheel.rules}'."
        )
    fixing = judged.wheel.fixing
    if isinstance(fixing, Fixing) and fixing.count == 0:
        said.append("Fixing: no holes. Type their number in Project, Wheel details, Fixing.")
    elif fixing is not None and figure.bolt_line is None:
        said.append("Fixing: its circle meets no metal. Mend the circle in Project, Wheel details, Fixing.")
    return said


def _wider(settings: SheetSettings, conditions: Conditions, numbers: Numbers) -> list[str]:
    """Return which tolerances let a wheel be made worse than the worst state was judged with."""
    found = []
    for key, condition in JUDGED_WITH:
        allowed, judged = getattr(settings, key), getattr(conditions, condition)
        if allowed is not None and allowed > judged:
            found.append(
                f"{capital(NAMES[key])}: the sheet allows {numbers.length(allowed)}, but the worst state was "
                f"judged with {numbers.length(judged)} ('{conditions.name}'). Type the smaller one in "
                f"{SETTINGS_AT}, or judge with the larger one in the conditions."
            )
    return found
