"""What can be relied on of a blank: the drawn outline, the line inside it, and what lies between."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.drawing import Canvas, Frame, Pen, line, wrapped
from app.reports.look import AXLE, BODY, FIRST_LINE, HAIR, INK, SMALL
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.tables import Column, Row, Table
from app.studies.usable_blank import drawn_path, usable_path
from geometry.forging import usable
from geometry.forging.composite import DENSITY_KG_M3
from geometry.forging.starting import starting_tolerances
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Blank, Cause, Tolerance
from geometry.shape.curve import Path
from geometry.shape.section import Outline, build

#: Scales on offer, 1 to n.
_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
DRAWN, USABLE = Pen(0.5, INK), Pen(0.35, "#2f6db5", (2.4, 1.2))
_NOT_COUNTED = Pen(0.3, "#2f6db5", (0.6, 0.9))
_WHEEL = Pen(0.18, INK, (6.0, 1.2, 1.0, 1.2, 1.0, 1.2))
_MEMORY = "starting value"

#: In which direction the metal of each cause may be missing.
WAYS = {
    Cause.CLOSURE: "axially, off the upper die's side",
    Cause.SIZE: "half of it all round",
    Cause.MISMATCH: "half of it radially",
    Cause.RING_END: "off the inboard end",
    Cause.CORNERS: "radius that convex corners are left with",
    Cause.ROUND: "half of it radially",
    Cause.FLAT: "half of it axially",
    Cause.DENTS: "square to the skin",
    Cause.GRAIN: "square to the skin",
    Cause.CENTRING: "half of it radially",
    Cause.FLASH: "radially, off the outside wall at the parting line",
    Cause.WEAR: "none: a worn die leaves more metal",
}


@dataclass(frozen=True, eq=False)
class UsableFigure:
    """What the figure shows, in the blank's own frame.

    Attributes:
        inner: outline less all that may be missing; None where that is the drawn one.
        not_counted: the same with starting values, of a blank of which no tolerance is stated; else None.
        wheel: finished wheel at its seat, None for none.
    """

    blank: Blank
    drawn: Path
    inner: Path | None
    not_counted: Path | None
    wheel: Path | None


def usable_figure(project: Project, blank_name: str, wheel_name: str, seat_mm: float) -> UsableFigure:
    """Return a blank's drawn and inner line, and the drawn wheel in it.

    Args:
        project: holds both.
        blank_name: of the blank.
        wheel_name: of the wheel.
        seat_mm: z of the blank's own zero in the wheel's frame.

    Raises:
        EditError: a part that the project does not hold.
        GeometryError: an outline is not one, or nothing is left of it.
    """
    blank: Blank = edits.find(project, edits.BLANK, blank_name)
    wheel: Wheel = edits.find(project, edits.WHEEL, wheel_name)
    outline = build(wheel.section)
    drawn, left = drawn_path(blank), usable_path(project, blank)
    depth = blank.skin_mm + usable.normal_mm(blank.tolerances)
    inner = usable.less_skin(left or drawn, depth)
    return UsableFigure(
        blank,
        drawn,
        None if inner is drawn else inner,
        None if blank.tolerances or left is not None else _with_starting(blank, drawn),
        outline.path.moved(dz=-seat_mm) if isinstance(outline, Outline) else None,
    )


def _with_starting(blank: Blank, drawn: Path) -> Path:
    tolerances = _starting(drawn)
    left = usable.usable(drawn, tolerances, blank.parting_mm)
    return usable.less_skin(left, blank.skin_mm + usable.normal_mm(tolerances))


def _starting(drawn: Path) -> tuple[Tolerance, ...]:
    return starting_tolerances(drawn, volume_mm3(drawn) * DENSITY_KG_M3 * 1e-9)


def draw_usable(project: Project, found: UsableFigure, area: Area, canvas: Canvas) -> None:
    """Draw the drawn outline in full, what can be relied on dashed and labelled, the wheel phantom."""
    numbers = Numbers(unit_of(project))
    title = f"Blank {found.blank.name}: drawn outline, and the line that can be relied on"
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)
    frame = fitted(found.drawn, Area(area.left + 4.0, area.bottom + 10.0, area.right - 60.0, area.top - 14.0))
    canvas.path([frame.contour(found.drawn)], DRAWN, "#EEECE6")
    if found.wheel is not None:
        canvas.path([frame.contour(found.wheel)], _WHEEL)
    if found.inner is not None:
        canvas.path([frame.contour(found.inner)], USABLE)
        label_line(canvas, frame, found.inner, ("usable line", USABLE))
    if found.not_counted is not None:
        canvas.path([frame.contour(found.not_counted)], _NOT_COUNTED)
        label_line(canvas, frame, found.not_counted, ("with starting values, not counted", _NOT_COUNTED))
    label_line(canvas, frame, found.drawn, ("drawn outline", DRAWN), (0.35, 8.0))
    z0, z1, _, _ = found.drawn.bounds
    (x0, y), (x1, _) = frame.at((z0, 0.0)), frame.at((z1, 0.0))
    line(canvas, (x0 - 6.0, y), (x1 + 6.0, y), AXLE)
    legend = [
        f"scale 1 : {frame.scale:g}; lengths in {'inch' if numbers.unit == 'in' else numbers.unit}",
        "full line: the outline as drawn",
        "dashed: less all that may be missing; stock is read to it"
        if found.inner is not None
        else "nothing is stated that may be missing: stock is read to the drawn outline itself",
        *(
            ("dotted: less the starting values of the table; not counted until they are the blank's own",)
            if found.not_counted is not None
            else ()
        ),
        "chain line: the wheel as drawn, where it sits",
    ]
    y = area.top - 16.0
    for text in legend:
        for words in wrapped(canvas, text, BODY, 54.0):
            y -= 3.6
            canvas.text((area.right - 54.0, y), words, BODY)
        y -= 1.0


def fitted(path: Path, area: Area) -> Frame:
    """Return the frame in which an outline fills an area at a round scale."""
    z0, z1, _, r1 = path.bounds
    fits = (s for s in _SCALES if (z1 - z0) / s <= area.width - 20.0 and r1 / s <= area.height - 14.0)
    scale = next(fits, _SCALES[-1])
    return Frame((area.left + area.right) / 2.0 - (z0 + z1) / 2.0 / scale, area.bottom + 8.0, scale)


def label_line(
    canvas: Canvas, frame: Frame, path: Path, label: tuple[str, Pen], where: tuple[float, float] = (0.65, 4.0)
) -> None:
    """Write a line's name beside it with a leader: at a share of its outside wall, so many mm above it."""
    (words, pen), (share, rise) = label, where
    z0, z1, _, r1 = path.bounds
    x, y = frame.at((z0 + share * (z1 - z0), r1))
    text_y = y + rise
    line(canvas, (x, y), (x + 3.0, text_y), replace(pen, dash_mm=()))
    canvas.text((x + 3.6, text_y - 0.6), words, SMALL)


def breakdown(project: Project, blank: Blank) -> Table:
    """Return what is taken off an outline, cause by cause, each with its value and source."""
    numbers = Numbers(unit_of(project))
    measured = blank.measured_least
    if not blank.tolerances and measured is None:
        rows = [_row(t, numbers, False) for t in _starting(drawn_path(blank))]
        notes = (
            "No tolerance of this blank is stated: these are starting values, drawn but NOT counted; stock "
            "is read to the drawn outline. State them in the blank's details, page Tolerances.",
        )
        title = f"What may be missing of {blank.name}: not stated, starting values not counted"
        return Table(title, breakdown_columns(numbers), tuple(rows), notes)
    rows = [
        _row(t, numbers, measured is not None and t.cause in usable.OF_THE_FORGING) for t in blank.tolerances
    ]
    if blank.skin_mm:
        rows.append(
            Row(
                (
                    "skin to come off",
                    numbers.length(blank.skin_mm),
                    "",
                    "square to the skin",
                    _source(blank.source),
                )
            )
        )
    stated = {t.cause for t in blank.tolerances}
    silent = [str(cause) for cause in Cause if cause not in stated]
    said = [
        *([f"Not stated, and so taken as nothing: {', '.join(silent)}."] if silent else []),
        *(
            [
                f"Measured on {blank.measured_pieces or 'some'} forgings: the least outline, '{measured}', "
                "stands in place of the forging's own minus sides."
            ]
            if measured is not None
            else []
        ),
    ]
    return Table(f"What may be missing of {blank.name}", breakdown_columns(numbers), tuple(rows), tuple(said))


def breakdown_columns(numbers: Numbers) -> tuple[Column, ...]:
    """Return the columns of a table of tolerances."""
    return (
        Column("Cause", 3.0),
        Column(f"May be missing, {numbers.unit}", 2.2, True),
        Column("Surplus", 1.3, True),
        Column("Taken off", 4.0),
        Column("Source", 5.0),
    )


def _row(t: Tolerance, numbers: Numbers, is_replaced: bool) -> Row:
    way = "measured outline instead" if is_replaced else WAYS[t.cause]
    return Row((str(t.cause), numbers.length(t.minus_mm), numbers.length(t.plus_mm), way, _source(t.source)))


def _source(source: str) -> str:
    """Return where a value comes from; one without a source is a starting value."""
    return source or _MEMORY
