"""A measured first wheel on one page: section with enlarged deviations, table by zone, shift and form."""

from __future__ import annotations

import hashlib
from functools import partial

from app.files.project_file import dumps
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.drawing import Canvas, Frame, Pen, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.look import AXLE, FIRST_LINE, HAIR, INK, SMALL, WHEEL
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.tables import Column, Row, Table
from app.studies.first_off import LIMITS, Measured, shift_words, times_of, whiskers
from geometry.readings.first_off import Deviation, FirstOff

_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
_SKIN, _SURPLUS, _MISSING = Pen(0.35, INK), Pen(0.25, "#2F6DB5"), Pen(0.25, "#C2472D", (0.9, 0.5))
#: Share of the page that table and sentences take; the drawing stands beside them.
_WORDS = 0.6
#: Deviations are drawn up to this long on paper, mm.
_LONGEST = 7.0


def first_off_pdf(project: Project, measured: Measured, sha256: str = "") -> bytes:
    """Return the page as the bytes of a PDF; its digest is of project, points and reading."""
    asked = repr((measured.wheel, measured.source, sha256, measured.settings))
    digest = hashlib.sha256(dumps(project) + asked.encode() + measured.found.points.tobytes()).hexdigest()
    title = f"Measured first-off of {measured.wheel}"
    numbers = Numbers(unit_of(project))

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        words = Area(area.left, area.bottom, area.left + _WORDS * area.width, area.top)
        picture = Area(words.right + 6.0, area.bottom, area.right, area.top - 12.0)
        flow = Flow(canvas, words, partial(_head, title, area, picture, measured))
        flow.table(zone_table(measured, numbers))
        flow.paragraphs("Shift and form", result_words(measured, numbers))
        flow.paragraphs("Limits of this page", [LIMITS, CAUTION])
        return flow.drawn()

    return study_pages(project, title, digest, pages)


def zone_table(measured: Measured, numbers: Numbers) -> Table:
    """Return the deviations by zone, as measured and with the shift taken out; + is surplus."""
    found = measured.found
    after = {zone.zone: zone for zone in found.shifted.zones}
    rows = []
    for zone in found.measured.zones:
        cells = [signed(v, numbers) for v in (zone.least_mm, zone.mean_mm, zone.greatest_mm)]
        moved = after.get(zone.zone)
        fitted = (
            ["", "", ""]
            if moved is None
            else [signed(v, numbers) for v in (moved.least_mm, moved.mean_mm, moved.greatest_mm)]
        )
        rows.append(Row((zone.zone, str(zone.count), *cells, *fitted)))
    rows += [Row((zone, "0", "not measured", "", "", "", "", "")) for zone in found.not_measured]
    heads = ("least", "mean", "greatest")
    columns = (
        Column("Zone", 2.6),
        Column("Points", 1.2, True),
        *(Column(head.capitalize(), 1.6, True) for head in heads),
        *(Column(f"Fitted, {head}", 2.2, True) for head in heads),
    )
    unit = numbers.unit
    note = (
        f"Deviation from the nominal skin in {unit}: + outside it (surplus), - inside it (missing metal). "
        "Fitted: with the shift of best fit taken out."
    )
    return Table("Deviation by zone", columns, tuple(rows), (note,))


def result_words(measured: Measured, numbers: Numbers) -> list[str]:
    """Return shift, form error and what was left out, a sentence each."""
    found, settings = measured.found, measured.settings

    def length(value: float) -> str:
        return _plain(value, numbers)

    said = [
        f"Shift of best fit: {shift_words(found, length)} (dz {signed(found.dz_mm, numbers)}, "
        f"dr {signed(found.dr_mm, numbers)} {numbers.unit}).",
        f"As measured: {_spread(found.measured, numbers)}.",
        f"Form error apart from shift: {_spread(found.shifted, numbers)}.",
        f"{len(found.points)} points{' of ' + measured.source if measured.source else ''} held against "
        f"{measured.wheel}; {found.left_out} farther than {length(settings.reach_mm)} from it left out.",
    ]
    if settings.ball_mm:
        said.append(f"A probe ball of radius {length(settings.ball_mm)} was taken off.")
    if settings.flipped or settings.face_z_mm:
        turned = "z reversed, " if settings.flipped else ""
        said.append(
            f"Points brought into the wheel's frame: {turned}mounting face at z {settings.face_z_mm:g}."
        )
    if found.not_measured:
        said.append(f"Not measured: {', '.join(found.not_measured)}.")
    return said


def summary(found: FirstOff, numbers: Numbers) -> str:
    """Return shift and form error in one line."""
    shift = shift_words(found, lambda value: _plain(value, numbers))
    return f"shift {shift}; form error {_plain(found.shifted.form_mm, numbers)} apart from it"


def _spread(of: Deviation, numbers: Numbers) -> str:
    return (
        f"{_plain(of.form_mm, numbers)} from least to greatest, {_plain(of.rms_mm, numbers)} root mean square"
    )


def _plain(value: float, numbers: Numbers) -> str:
    """Return a length to a thousandth of a mm: what measuring machines give."""
    return f"{value:.3f} mm" if numbers.unit == "mm" else f"{value / 25.4:.4f} in"


def signed(value: float, numbers: Numbers) -> str:
    """Return a deviation with its sign, as fine as `_plain`; nought has none."""
    text = f"{value:+.3f}" if numbers.unit == "mm" else f"{value / 25.4:+.4f}"
    return text if text.strip("+-0.") else text[1:]


def _head(title: str, area: Area, picture: Area, measured: Measured, canvas: Canvas) -> None:
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)
    _draw(measured, picture, canvas)


def _draw(measured: Measured, area: Area, canvas: Canvas) -> None:
    """Draw the nominal section and, from its skin, the deviations with the shift taken out, enlarged."""
    found, path = measured.found, measured.outline.path
    z0, z1, _, r1 = path.bounds
    room = area.height - 24.0
    fits = (s for s in _SCALES if (z1 - z0) / s <= area.width - 16.0 and r1 / s <= room)
    scale = next(fits, _SCALES[-1])
    middle = (area.left + area.right) / 2.0 - (z0 + z1) / 2.0 / scale
    frame = Frame(middle, area.top - 8.0 - r1 / scale, scale)
    canvas.path([frame.contour(path)], _SKIN, WHEEL)
    times = times_of(found.shifted, _LONGEST * scale)
    for (foot, end), mm in zip(
        whiskers(found, found.shifted, measured.settings.ball_mm, times), found.shifted.mm, strict=True
    ):
        pen = _SURPLUS if mm >= 0.0 else _MISSING
        line(canvas, frame.at((foot[0], foot[1])), frame.at((end[0], end[1])), pen)
    (x0, y), (x1, _) = frame.at((z0, 0.0)), frame.at((z1, 0.0))
    line(canvas, (x0 - 6.0, y), (x1 + 6.0, y), AXLE)
    words = (
        f"scale 1 : {scale:g}; lines from the skin: deviation of each point with the shift taken out, "
        f"{times:g} times as large; full, outwards: surplus; broken, inwards: missing metal"
    )
    for k, text in enumerate(wrapped(canvas, words, SMALL, area.width, 4)):
        canvas.text((area.left, y - 4.0 - 2.9 * k), text, SMALL)
