"""A spun blank on the pages of a group's blank: its drawing, and what forging and spinning take."""

from __future__ import annotations

from collections.abc import Iterator

from app.reports.drawing import Canvas, Frame, Pen, line, wrapped
from app.reports.look import AXLE, BODY, FIRST_LINE, INK, SMALL
from app.reports.numbers import Numbers
from app.reports.page import Area
from app.reports.press_words import load_band
from app.reports.tables import Column, Row, Table
from app.studies.spun import GRAIN, ORDER, THIN, SpunBlank

_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 10.0)
_SPUN, _FORGED = Pen(0.5, INK), Pen(0.35, "#9a3b1f", (2.4, 1.2))
_WHEEL = Pen(0.18, INK, (6.0, 1.2, 1.0, 1.2, 1.0, 1.2))


def spun_sheet(spun: SpunBlank, numbers: Numbers, name: str, area: Area, canvas: Canvas) -> None:
    """Draw the page: forging dashed, outline as spun in full, finished wheels phantom."""
    (first,) = wrapped(canvas, f"{name}: forged and spun, usable outline", FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), first, FIRST_LINE)
    bounds = [path.bounds for path in (spun.found.path, spun.found.preform.path)]
    z0, z1 = min(b[0] for b in bounds), max(b[1] for b in bounds)
    r1 = max(b[3] for b in bounds)
    top = area.top - 14.0
    drawing = Area(area.left + 4.0, area.bottom + 58.0, area.right - 4.0, top)
    fits = (s for s in _SCALES if (z1 - z0) / s <= drawing.width - 20.0 and r1 / s <= drawing.height - 10.0)
    scale = next(fits, _SCALES[-1])
    middle = (drawing.left + drawing.right) / 2.0 - (z0 + z1) / 2.0 / scale
    frame = Frame(middle, drawing.bottom + 6.0, scale)
    canvas.path([frame.contour(spun.found.path)], _SPUN, "#EEECE6")
    for _, path in spun.held:
        canvas.path([frame.contour(path)], _WHEEL)
    canvas.path([frame.contour(spun.found.preform.path)], _FORGED)
    (x0, y), (x1, _) = frame.at((z0, 0.0)), frame.at((z1, 0.0))
    line(canvas, (x0 - 6.0, y), (x1 + 6.0, y), AXLE)
    x, low = frame.at((spun.found.root[0], spun.found.root[1] - 12.0))
    line(canvas, (x, low), (x, frame.at((0.0, r1))[1] + 4.0), AXLE)
    canvas.text((x - 1.0 - canvas.text_width("spun", SMALL), frame.at((0.0, r1))[1] + 2.0), "spun", SMALL)
    canvas.text((x + 1.0, frame.at((0.0, r1))[1] + 2.0), "forged", SMALL)
    y = area.bottom + 52.0
    mandrel = spun.mandrel_in(numbers.length, f" {numbers.unit}")
    for text in (
        f"scale 1 : {scale:g}; full: as spun and trimmed; dashed: the forging; chain lines: finished wheels",
        f"{numbers.mass(spun.forged.mass_kg)} as forged, {numbers.mass(spun.mass_kg)} of it usable; "
        f"{mandrel}",
        ORDER,
        GRAIN,
        THIN,
        *spun.warnings,
    ):
        for words in wrapped(canvas, text, BODY, area.width):
            y -= 3.6
            canvas.text((area.left, y), words, BODY)
        y -= 1.0


def spun_tables(spun: SpunBlank, numbers: Numbers, for_forge: bool) -> Iterator[Table]:
    """Return the tables of the spun blank; the forge's copy has no money and nothing of the turned one."""
    found, by = spun.found, spun.settings.by
    of = numbers.length
    rows = [
        ("Forging, with what may be missing", numbers.mass(spun.forged.mass_kg)),
        ("Of it usable, the ring that is spun", numbers.mass(spun.mass_kg)),
        ("As spun, its end trimmed", numbers.mass(spun.spun_kg)),
        ("Forged ring", f"{of(found.ring_wall_mm)} at its end, {of(found.thickest_mm)} at its root"),
        ("Height of the ring, forged and spun", f"{of(found.ring_height_mm)}, {of(found.barrel_mm)}"),
        ("Wall as spun", f"{of(found.wall_mm)} at least; {of(found.lip_mm)} at the inner lip"),
        (
            "Reduction",
            f"{found.reduction:.1%} of {by.reduction:.0%} in {spun.passes_words} of {by.per_pass:.0%}",
        ),
        ("Mandrel", f"{spun.mandrel_in(of)}; draft {by.mandrel_deg:g}°"),
        ("Ring's end widened by, radius", of(found.widened_mm)),
        ("Rollers", f"flanks {by.roller_deg:g}° at most, nose {numbers.radius(by.nose_mm)}"),
        ("Back-flow at the root, trim", f"{of(by.back_flow_mm)}, {of(by.trim_mm)}"),
        (
            "Price of the mandrel, of spinning",
            f"{_price(spun.settings.mandrel_price)}, {_price(spun.settings.spinning_price)}",
        ),
        (
            "Log",
            f"{of(spun.log.diameter_mm)} x {of(spun.log.length_mm)}, {numbers.mass(spun.log.mass_kg, 1)}",
        ),
        *(
            (
                f"{s.name}, {s.press.name}",
                f"{load_band(numbers, s.low_mn, s.high_mn)}: {s.refused_words(numbers.long) or s.fits}",
            )
            for s in spun.steps
        ),
    ]
    if for_forge:
        rows = [row for row in rows if not row[0].startswith("Price")]
    else:
        rows.insert(0, ("Turned blank of the same wheels, usable", numbers.mass(spun.turned_kg)))
    columns = (Column("", 4.0), Column("", 8.0))
    notes = ("Settings of spinning are starting values until the spinner's own.",)
    yield Table("Forged and spun", columns, tuple(Row(row) for row in rows), notes)


def _price(price: float | None) -> str:
    return "asked" if price is None else f"{price:.2f}"
