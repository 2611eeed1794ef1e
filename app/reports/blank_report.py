"""The blank of a group on paper: the forging drawing, what it takes, and what is asked of the forge."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache, partial

import numpy as np

from app.project.project import Project
from app.reports.drawing import Canvas, Contour, Frame, Pen, Point, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.look import AXLE, BODY, FIRST_LINE, HAIR, HEADING, INK, SMALL, THIN
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.spun_pages import spun_sheet, spun_tables
from app.reports.tables import Column, Row, Table
from app.reports.usable_figure import WAYS, breakdown_columns, label_line
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.machining import WheelMachining
from app.studies.mixed_diameters import mixed_words
from app.studies.spun import SpunBlank
from geometry.forging.plan import WINDOW_C
from geometry.forging.starting import starting_tolerances
from geometry.forging.thickest import row_words, thickest
from geometry.forging.usable import drawn_round
from geometry.readings.solid import volume_mm3
from geometry.shape.curve import Path

#: Scales on offer, 1 to n.
_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
_MEET = "dies meet"
#: Where along the outside wall a line may be named, as shares of its length.
_LABELS = (0.08, 0.38, 0.68)
_COLUMN = 78.0
_OUTLINE, _WHEEL = Pen(0.5, INK), Pen(0.18, INK, (6.0, 1.2, 1.0, 1.2, 1.0, 1.2))
#: Colours of the wheels on paper, as the window has them.
_DRAWN = Pen(0.25, INK, (0.6, 0.9))
_COLOURS = ("#2f6db5", "#b5562b", "#3f8f5b", "#8a5bb0", "#a07a10", "#1f8a9c", "#b23a6b", "#5f6b2b")

#: What a forge is asked, beside what the tables say; common practice, no source.
ENQUIRY = (
    "Price: holder and outer tools, punch and face inserts, a piece, set-up of a run, least run",
    "Lead time of dies, first forgings and runs; payment steps",
    "Die ownership, storage and wear; who pays for renewal",
    "Flash land and gutter; where the flash is cut, and how deep",
    "Ejector: stroke, place and depth of its marks",
    "Limits of the charge and of the closing height with the same tools (variants)",
    "Tolerances: each minus and plus side of the table, or your own",
    "Corner radii that you can fill at this height of the ring",
    "Temper, and hardness that you warrant with its places",
    "Cut-up tests, their places and number; grain-flow macro of the first piece",
    "Surface and crack inspection; how dents and laps are dressed",
    "Number of first articles, and what is measured on them",
)


def write_blank_pdf(
    project: Project,
    result: Composite,
    settings: ForgingSettings,
    cut: Sequence[WheelMachining],
    *,
    name: str,
    input_sha256: str,
    for_forge: bool = False,
    spun: SpunBlank | None = None,
) -> bytes:
    """Return the pages of a group's blank as the bytes of a PDF.

    Args:
        project: holds the wheels.
        result: the blank.
        settings: that it was found with.
        cut: what cutting takes for each wheel.
        name: of the blank.
        input_sha256: digest of what it rests on, as 64 hex digits.
        for_forge: leave out money, chips and what each wheel costs the others, which are the house's alone.
        spun: the same wheels' blank forged and spun, on a page and in tables of its own; None for none.
    """

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        flow = Flow(canvas, area, partial(_head, name, area))
        for table in _tables(project, result, settings, () if for_forge else cut, for_forge):
            flow.table(table)
        sheets: list[Draw] = [partial(_sheet, project, result, settings, name, area)]
        if spun is not None:
            numbers = Numbers(unit_of(project))
            for table in spun_tables(spun, numbers, for_forge):
                flow.table(table)
            sheets.append(partial(spun_sheet, spun, numbers, name, area))
        flow.paragraphs("Asked of the forge", ENQUIRY)
        return [*sheets, *flow.drawn()]

    return study_pages(project, f"Blank: {name}", input_sha256, pages)


def _head(name: str, area: Area, canvas: Canvas) -> None:
    (words,) = wrapped(canvas, f"{name} · forging", HEADING, area.width, 1)
    canvas.text((area.left, area.top - HEADING.size_mm), words, HEADING)
    y = area.top - HEADING.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)


# The drawing


def _sheet(
    project: Project, result: Composite, settings: ForgingSettings, name: str, area: Area, canvas: Canvas
) -> None:
    """Draw the first page: outline in full, finished wheels phantom, deciding stretches by wheel."""
    numbers = Numbers(unit_of(project))
    (first,) = wrapped(canvas, f"{name}: forging drawing, usable outline", FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), first, FIRST_LINE)
    drawing = Area(area.left + 4.0, area.bottom + 10.0, area.right - _COLUMN - 6.0, area.top - 14.0)
    z0, z1, _, r1 = result.path.bounds
    fits = (s for s in _SCALES if (z1 - z0) / s <= drawing.width - 30.0 and r1 / s <= drawing.height - 14.0)
    scale = next(fits, _SCALES[-1])
    frame = Frame((drawing.left + drawing.right) / 2.0 - (z0 + z1) / 2.0 / scale, drawing.bottom + 8.0, scale)
    canvas.path([frame.contour(result.path)], _OUTLINE, "#EEECE6")
    for _, path in result.held:
        canvas.path([frame.contour(path)], _WHEEL)
    for number, rows in result.stretches:
        if number >= 0:
            points = [frame.at((float(z), float(r))) for z, r in rows]
            canvas.path([Contour.polyline(points)], Pen(0.7, _COLOURS[number % len(_COLOURS)]))
    canvas.path([frame.contour(_as_drawn(result))], _DRAWN)
    left, right = _label_shares(canvas, frame, result)
    label_line(canvas, frame, result.path, ("usable line", _OUTLINE), (right, 3.5))
    label_line(canvas, frame, _as_drawn(result), ("outline to draw", _DRAWN), (left, 3.0))
    _axle(canvas, frame, (z0, z1))
    _parting(canvas, frame, result)
    _sizes(canvas, frame, result, numbers)
    _legend(
        canvas,
        Area(area.right - _COLUMN, area.bottom, area.right, area.top - 8.0),
        result,
        settings,
        numbers,
        scale,
    )


@lru_cache(4)
def _as_drawn(result: Composite) -> Path:
    """Return the outline that leaves the usable one when all that may be missing is."""
    return drawn_round(result.path, starting_tolerances(result.path, result.mass_kg))


def _drawn_kg(result: Composite) -> float:
    return result.mass_kg * volume_mm3(_as_drawn(result)) / volume_mm3(result.path)


def _axle(canvas: Canvas, frame: Frame, ends: Point) -> None:
    (x0, y), (x1, _) = frame.at((ends[0], 0.0)), frame.at((ends[1], 0.0))
    line(canvas, (x0 - 6.0, y), (x1 + 6.0, y), AXLE)
    canvas.text((x0 - 6.0, y - 3.2), "axle line; z from the first wheel's mounting face", SMALL)


def _label_shares(canvas: Canvas, frame: Frame, result: Composite) -> tuple[float, float]:
    """Return where along the outside wall two lines are named: under the height, beside where dies meet."""
    z0, z1, _, _ = result.path.bounds
    (x0, _), (x1, _), (met, _) = (frame.at((z, 0.0)) for z in (z0, z1, result.parting_mm[0]))
    room = canvas.text_width("outline to draw", SMALL) + 5.0
    taken = (met - 1.0, met + canvas.text_width(_MEET, SMALL) + 3.0)
    free = [s for s in _LABELS if not taken[0] - room < x0 + s * (x1 - x0) < taken[1]]
    chosen = [*free, *_LABELS]
    return chosen[0], chosen[1]


def _parting(canvas: Canvas, frame: Frame, result: Composite) -> None:
    x, y = frame.at(result.parting_mm)
    line(canvas, (x, y - 4.0), (x, y + 5.0), AXLE)
    canvas.text((x + 1.0, y + 3.0), _MEET, SMALL)


def _sizes(canvas: Canvas, frame: Frame, result: Composite, numbers: Numbers) -> None:
    """Write overall height above the drawing and the greatest diameter beside it."""
    z0, z1, _, r1 = result.path.bounds
    (left, top), (right, _) = frame.at((z0, r1)), frame.at((z1, r1))
    y = top + 8.0
    for x in (left, right):
        line(canvas, (x, top + 1.0), (x, y + 1.0), THIN)
    line(canvas, (left, y), (right, y), THIN)
    words = f"height {numbers.length(z1 - z0)}"
    canvas.text(((left + right) / 2.0 - canvas.text_width(words, BODY) / 2.0, y + 0.8), words, BODY)
    x = right + 7.0
    (_, low), (_, high) = frame.at((0.0, 0.0)), frame.at((0.0, r1))
    line(canvas, (right + 1.0, high), (x + 1.0, high), THIN)
    line(canvas, (x, low), (x, high), THIN)
    canvas.text((x + 3.0, (low + high) / 2.0 - 10.0), f"Ø {numbers.length(2.0 * r1)}", BODY, turned=True)


def _legend(
    canvas: Canvas, area: Area, result: Composite, settings: ForgingSettings, numbers: Numbers, scale: float
) -> None:
    how, (z, r) = settings.how, result.parting_mm
    corner = (
        f"corners R{result.corner.corner_mm:g}"
        if result.corner is not None
        else "corners of the stock's radius"
    )
    lines = [
        f"scale 1 : {scale:g}; all lengths in {'inch' if numbers.unit == 'in' else numbers.unit}",
        numbers.mass(result.mass_kg),
        f"draft {how.outside_deg:g}° outside, {how.inside_deg:g}° inside",
        f"fillets R{how.fillet_mm:g} at least, {corner}",
        f"dies meet at z {numbers.length(z)}, r {numbers.length(r)}",
        f"least web {numbers.length(result.web_mm)}",
        "full line: the blank; chain lines: finished wheels",
        "coloured: the stretch that a wheel decides",
        *(
            f"{k + 1}  {w.name}: mounting face at z {numbers.length(w.seat_mm)}"
            for k, w in enumerate(result.wheels)
        ),
        "The full line is the usable one. Dotted, the outline to draw round it: with all that may be "
        f"missing by the table's starting values, {numbers.mass(_drawn_kg(result))}; closure and wear add.",
        *((mixed_words(result.diameters),) if result.diameters else ()),
        *(("It fits only the drawn wheels.",) if settings.fits_drawn_alone else ()),
        *result.warnings,
    ]
    y = area.top
    line(canvas, (area.left - 3.0, area.bottom), (area.left - 3.0, area.top), HAIR)
    for k, text in enumerate(lines):
        number = k - 8
        if 0 <= number < len(result.wheels):
            colour = _COLOURS[number % len(_COLOURS)]
            line(canvas, (area.left - 2.0, y - 2.2), (area.left - 0.8, y - 2.2), Pen(1.4, colour))
        for words in wrapped(canvas, text, BODY, area.width - 2.0):
            y -= 3.6
            canvas.text((area.left, y), words, BODY)
        y -= 1.0


# The tables


def _tables(
    project: Project,
    result: Composite,
    settings: ForgingSettings,
    cut: Sequence[WheelMachining],
    for_forge: bool,
) -> Iterator[Table]:
    numbers = Numbers(unit_of(project))
    yield _blank(result, settings, numbers)
    if not for_forge:
        yield _wheels(result, numbers)
        yield _ladder(result)
    yield _plan(result, settings, numbers)
    yield _tolerances(result, numbers)
    if cut:
        yield _cost(cut, project)


def _blank(result: Composite, settings: ForgingSettings, numbers: Numbers) -> Table:
    z0, z1, _, r1 = result.path.bounds
    area = math.pi * r1**2
    thick, _ = thickest(result.path)
    stock = "by rule set of each wheel"
    if settings.stock_mm is not None:
        stock = f"{numbers.length(settings.stock_mm)} everywhere"
    elif settings.stock is not None:
        stock = f"set '{settings.stock.name}', from memory"
    rows = [
        ("Mass", numbers.mass(result.mass_kg)),
        ("Volume", numbers.volume(volume_mm3(result.path))),
        ("Projected area, without flash", numbers.area(area)),
        ("Greatest diameter, height", f"{numbers.length(2.0 * r1)}, {numbers.length(z1 - z0)}"),
        ("Least web", numbers.length(result.web_mm)),
        ("Thickest place as forged", f"{numbers.length(thick)}: {row_words(thick)}"),
        ("Stock at the finished wheel", stock),
        (
            "Trim, grip, test ring",
            ", ".join(numbers.length(x) for x in (settings.trim_mm, settings.grip_mm, settings.test_ring_mm)),
        ),
        ("Proof", f"no lighter than {result.found.bound_kg:.2f} kg without fillets"),
        ("Temper", "T6: solution 529 to 532 °C, quenched; aged 8 h at 177 or 18 h at 160 °C"),
    ]
    rows += [(f"Window of {words}", f"{kg:+.2f} kg a blank") for words, kg in result.windows]
    if result.corner is not None:
        rows.append(
            (
                "Corner radius",
                f"R{result.corner.corner_mm:g}: from {result.found.mass_kg:.2f} to {result.mass_kg:.2f} kg",
            )
        )
    columns = (Column("", 3.0), Column("", 9.0))
    return Table("The blank", columns, tuple(Row(row) for row in rows))


def _wheels(result: Composite, numbers: Numbers) -> Table:
    columns = (
        Column("Wheel", 5.0),
        Column("Seat", 2.0, True),
        Column("Wheel, kg", 2.0, True),
        Column("Chips, kg", 2.0, True),
        Column("Blank over wheel", 2.0, True),
        Column("Costs the others, kg", 3.0, True),
    )
    rows = []
    for w in result.wheels:
        costs = (
            "alone" if w.costs_others_kg is None else f"{w.costs_others_kg:.2f}" if w.decides else "nothing"
        )
        ratio = f"{result.mass_kg / w.mass_kg:.2f}"
        rows.append(
            Row((w.name, numbers.length(w.seat_mm), f"{w.mass_kg:.2f}", f"{w.chips_kg:.2f}", ratio, costs))
        )
    return Table("Wheels cut from it", columns, tuple(rows))


def _ladder(result: Composite) -> Table:
    columns = (Column("", 8.0), Column("kg", 1.6, True), Column("Added", 1.6, True))
    masses = [mass for _, mass in result.ladder]
    added = ["", *(f"{d:+.2f}" for d in np.diff(masses))]
    rows = [
        Row((words, f"{mass:.2f}", more)) for (words, mass), more in zip(result.ladder, added, strict=True)
    ]
    return Table("Where the kilograms are", columns, tuple(rows))


def _plan(result: Composite, settings: ForgingSettings, numbers: Numbers) -> Table:
    columns = (
        Column("Step", 2.0),
        Column("Press", 3.0),
        Column("Across", 1.5, True),
        Column("Height", 1.5, True),
        Column("Area, cm²", 1.5, True),
        Column("Flow stress, MPa", 2.0, True),
        Column("Load, MN", 2.0, True),
        Column("Enough", 4.0),
    )
    rows = tuple(
        Row(
            (
                s.name,
                f"{s.press.name}, {s.press.capacity_mn:g} MN",
                numbers.length(s.diameter_mm),
                numbers.length(s.height_mm),
                f"{s.area_cm2:.0f}",
                f"{s.stress_mpa:.1f}",
                f"{s.low_mn:.0f} to {s.high_mn:.0f}",
                s.refused or str(s.fits),
            )
        )
        for s in result.steps
    )
    log, (low, high) = result.log, WINDOW_C
    buckles = "; it may buckle" if log.may_buckle else ""
    notes = [
        f"Log {numbers.length(log.diameter_mm)} x {numbers.length(log.length_mm)}, {log.mass_kg:.1f} kg with "
        f"{settings.loss:.0%} loss, {log.slenderness:.2f} diameters long{buckles}.",
        f"Metal at {settings.temperature_c:g} °C; 6061 is forged from {low:g} to {high:g} °C. Loads: what "
        "moves the metal, and what fills corners against flash; thin webs, sharp corners and high rings add.",
        *(
            (f"By what a press proved on a like blank: {result.proved_mn:.0f} MN.",)
            if result.proved_mn is not None
            else ()
        ),
        *result.warnings,
    ]
    return Table("Forging plan", columns, rows, tuple(notes))


def _tolerances(result: Composite, numbers: Numbers) -> Table:
    rows = tuple(
        Row((str(t.cause), numbers.length(t.minus_mm), numbers.length(t.plus_mm), WAYS[t.cause], t.source))
        for t in starting_tolerances(result.path, result.mass_kg)
    )
    notes = ("Starting values until the forge's own; what may be missing lies between the two lines drawn.",)
    return Table("Tolerances asked about", breakdown_columns(numbers), rows, notes)


def _sums(wheel: WheelMachining) -> tuple[str, ...]:
    m = wheel.money
    return tuple(f"{x:.2f}" for x in (m.metal, m.cutting, m.setting, m.chips, m.net))


def _cost(cut: Sequence[WheelMachining], project: Project) -> Table:
    columns = (
        Column("Wheel", 4.0),
        Column("Chips, kg", 1.6, True),
        Column("Cutting, min", 1.6, True),
        Column("Energy, kWh", 1.6, True),
        Column("Metal", 1.8, True),
        Column("Cutting", 1.8, True),
        Column("Set-ups", 1.8, True),
        Column("Chips' value", 1.8, True),
        Column("Net", 1.8, True),
    )
    rows = tuple(
        Row(
            (
                w.name,
                f"{w.chips_kg:.2f}",
                f"{w.cutting_minutes:.1f}",
                f"{w.energy_kwh:.2f}",
                *_sums(w),
            )
        )
        for w in cut
    )
    money = f" in {project.currency}" if project.currency else ""
    notes = [f"Money{money}, a wheel, without dies, transport, proof and coating."]
    if project.rates.starting:
        notes.append(f"{len(project.rates.starting)} of the shop's rates are invented starting values.")
    return Table("Chips, time and money", columns, rows, tuple(notes))
