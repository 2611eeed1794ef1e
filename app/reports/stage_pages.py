"""The stages of a wheel in its blank on pages: a table of all, then a drawing of each with its notes."""

from __future__ import annotations

import hashlib
from functools import partial

from app.files.project_file import dumps
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.blank_masses import bare_mass, mass_unit
from app.reports.drawing import Canvas, Frame, Pen, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.look import AXLE, BODY, FIRST_LINE, HAIR, INK
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.stage_drawing import holding_lines, stage_notes
from app.reports.tables import Column, Row, Table
from app.studies.stages import Followed, StageReading
from geometry.forging.stages import StageName

_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
_METAL, _PART, _AFTER = "#EEECE6", Pen(0.5, INK), Pen(0.3, "#2F6DB5", (2.4, 1.2))
_WHEEL = Pen(0.18, INK, (6.0, 1.2, 1.0, 1.2, 1.0, 1.2))
_DATUM, _JAWS = Pen(1.0, "#2F6DB5"), Pen(1.0, "#C2472D")
#: Height of the drawing, and of a line of notes, mm on paper.
_DRAWN, _STEP = 118.0, 3.5
_LEGEND = "chain lines: the finished wheel; blue: datum; red: jaws"
_LEGEND_SPUN = f"{_LEGEND}; dashed: as spun, the next stage"


def stages_pdf(project: Project, found: Followed) -> bytes:
    """Return all stages of a wheel as the bytes of a PDF; its digest is of the project and what was asked."""
    asked = repr((found.wheel, found.settings))
    digest = hashlib.sha256(dumps(project) + asked.encode()).hexdigest()
    title = f"Stages of {found.wheel} in blank {found.blank}"
    numbers = Numbers(unit_of(project))

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        flow = Flow(canvas, area, partial(_title, title, area))
        flow.table(_table(found, numbers))
        flow.table(_holding(found, numbers))
        looked = [
            f"{s.name}: {f.words(numbers.length, numbers.mass)}" for s in found.stages for f in s.warnings
        ]
        flow.paragraphs("To look at", looked or ["Nothing to look at."])
        exact = partial(numbers.length, with_unit=True)
        flow.paragraphs("Notes", [*(note.words(exact) for note in found.notes), CAUTION])
        drawn = [partial(_sheet, found, k, numbers, area) for k in range(len(found.stages))]
        return [*flow.drawn(), *drawn]

    return study_pages(project, title, digest, pages)


def _title(title: str, area: Area, canvas: Canvas) -> None:
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)


def _table(found: Followed, numbers: Numbers) -> Table:
    rows, unit = [], mass_unit(numbers.unit)
    for stage in found.stages:
        row = stage.least
        least = ("", "") if row is None else (numbers.length(row.least_mm), f"{row.zone}, {row.side} side")
        masses = (bare_mass(kg, numbers.unit) for kg in (stage.mass_kg, stage.chips_kg))
        rows.append(Row((str(stage.name), *masses, *least)))
    columns = (
        Column("Stage", 4.0),
        Column(unit, 1.4, True),
        Column(f"Chips, {unit}", 1.4, True),
        Column("Least stock", 1.8, True),
        Column("Where", 4.0),
    )
    treated = found.treated
    notes = (
        f"With windows and holes {numbers.mass(found.wheel_kg)}. Thickest place at heat treatment "
        f"{numbers.length(treated.thickest_mm, with_unit=True)}: {treated.row}; as forged "
        f"{treated.ratio:.2f} times that (at most 2).",
    )
    return Table("Stages", columns, tuple(rows), notes)


def _holding(found: Followed, numbers: Numbers) -> Table:
    """Return how each stage is held and what soft jaws are turned to."""
    of, rows = numbers.length, []
    for stage in found.stages:
        held = stage.holding
        if held is not None:
            jaws = "" if held.jaws is None else held.jaws.words(of)
            rows.append(Row((str(stage.name), held.datum_words(of), held.grip_words(of), jaws)))
    columns = (Column("Stage", 2.4), Column("Datum", 3.4), Column("Held", 4.6), Column("Soft jaws", 4.6))
    return Table("How each is held", columns, tuple(rows))


def _sheet(found: Followed, k: int, numbers: Numbers, area: Area, canvas: Canvas) -> None:
    """Draw one stage with its notes."""
    stage = found.stages[k]
    _title(f"{k + 1} {stage.name}: {found.wheel} in blank {found.blank}", area, canvas)
    after = found.stages[k + 1] if k + 1 < len(found.stages) else None
    spun = after is not None and after.name is StageName.SPUN
    top, bottom = area.top - 14.0, area.top - 14.0 - _DRAWN
    scale = _draw(found, stage, after if spun else None, Area(area.left, bottom, area.right, top), canvas)
    y = bottom - 4.0
    legend = f"scale 1 : {scale:g}; {_LEGEND_SPUN if spun else _LEGEND}"
    for text in (legend, *stage_notes(found, stage, numbers)):
        for words in wrapped(canvas, text, BODY, area.width):
            y -= _STEP
            if y < area.bottom + _STEP:
                canvas.text((area.left, y), "There is more to look at: see the first page.", BODY)
                return
            canvas.text((area.left, y), words, BODY)


def _draw(
    found: Followed, stage: StageReading, after: StageReading | None, area: Area, canvas: Canvas
) -> float:
    """Draw the section at one place for all stages; return the scale's second number."""
    bounds = [each.path.bounds for each in found.stages]
    z0, z1, r1 = min(b[0] for b in bounds), max(b[1] for b in bounds), max(b[3] for b in bounds)
    fits = (s for s in _SCALES if (z1 - z0) / s <= area.width - 20.0 and r1 / s <= area.height - 10.0)
    scale = next(fits, _SCALES[-1])
    middle = (area.left + area.right) / 2.0 - (z0 + z1) / 2.0 / scale
    frame = Frame(middle, area.bottom + 4.0, scale)
    canvas.path([frame.contour(stage.path)], _PART, _METAL)
    if after is not None:
        canvas.path([frame.contour(after.path)], _AFTER)
    if stage.name is not StageName.FINISHED:
        canvas.path([frame.contour(found.outline.path)], _WHEEL)
    datum, grip = holding_lines(stage.holding, found.settings.route.jaw_mm)
    for pen, lines in ((_DATUM, datum), (_JAWS, grip)):
        for start, end in lines:
            line(canvas, frame.at(start), frame.at(end), pen)
    (x0, y), (x1, _) = frame.at((z0, 0.0)), frame.at((z1, 0.0))
    line(canvas, (x0 - 6.0, y), (x1 + 6.0, y), AXLE)
    return scale
