"""The blank of a group on paper: the forging drawing, what it takes, and what is asked of the forge."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

from app.project.project import Project
from app.reports.blank_masses import (
    bare_mass,
    mass_bars,
    mass_unit,
    masses_sheet,
    spun_ladder,
    turned_ladder,
)
from app.reports.blank_sheet import blank_sheet
from app.reports.drawing import Canvas, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.look import HAIR, HEADING
from app.reports.metal_pages import metal_sheets
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.press_words import (
    capacity_words,
    press_area,
    press_load,
    press_stress,
    press_units,
)
from app.reports.spun_pages import spun_sheet, spun_tables
from app.reports.tables import Column, Row, Table
from app.reports.usable_figure import WAYS, breakdown_columns
from app.reports.variant_words import ABOUT_TOOLS, variant_table
from app.studies.blank_variant import VariantCheck
from app.studies.composite import Composite
from app.studies.drafts import ON_PUNCH, outside
from app.studies.forging_needs import ForgingSettings
from app.studies.machining import WheelMachining
from app.studies.spun import SpunBlank
from geometry.forging.plan import WINDOW_C
from geometry.forging.starting import starting_tolerances
from geometry.forging.thickest import row_words, thickest
from geometry.readings.solid import volume_mm3

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
    tools: VariantCheck | None = None,
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
        tools: the outline to draw held against tools of another blank; the house's alone, None for none.
    """

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        flow = Flow(canvas, area, partial(_head, name, area))
        for table in _tables(project, result, settings, () if for_forge else cut, for_forge):
            flow.table(table)
        sheets: list[Draw] = [partial(blank_sheet, project, result, settings, name, area)]
        numbers = Numbers(unit_of(project))
        if not for_forge:
            bars = mass_bars(result.forged.lathe_kg, result.wheels, numbers.unit)
            sheets += masses_sheet(bars, turned_ladder(project, result), numbers.unit, name, area)
            sheets += metal_sheets(result.rungs, result.forged.path, result.held, numbers.unit, name, area)
        if spun is not None:
            for table in spun_tables(spun, numbers, for_forge):
                flow.table(table)
            sheets.append(partial(spun_sheet, spun, numbers, name, area))
            if not for_forge:
                title = f"{name}, forged and spun"
                bars = mass_bars(spun.forged.mass_kg, spun.wheels, numbers.unit)
                sheets += masses_sheet(bars, spun_ladder(project, spun), numbers.unit, title, area)
                sheets += metal_sheets(spun.rungs, spun.found.path, spun.held, numbers.unit, title, area)
        if tools is not None and not for_forge:
            flow.table(variant_table(tools, numbers, (ABOUT_TOOLS,)))
        flow.paragraphs("Asked of the forge", ENQUIRY)
        return [*sheets, *flow.drawn()]

    return study_pages(project, f"Blank: {name}", input_sha256, pages)


def _head(name: str, area: Area, canvas: Canvas) -> None:
    (words,) = wrapped(canvas, f"{name} · forging", HEADING, area.width, 1)
    canvas.text((area.left, area.top - HEADING.size_mm), words, HEADING)
    y = area.top - HEADING.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)


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
    yield _plan(result, settings, numbers)
    yield _tolerances(result, numbers)
    if cut:
        yield _cost(cut, project)


def _blank(result: Composite, settings: ForgingSettings, numbers: Numbers) -> Table:
    forged = result.forged
    z0, z1, _, r1 = forged.path.bounds
    area = math.pi * r1**2
    thick, _ = thickest(forged.path)
    stock = "by rule set of each wheel"
    if settings.stock_mm is not None:
        stock = f"{numbers.length(settings.stock_mm)} everywhere"
    elif settings.stock is not None:
        stock = f"set '{settings.stock.name}', from memory"
    rows = [
        ("Mass as forged", numbers.mass(forged.mass_kg)),
        ("Of it usable", numbers.mass(result.mass_kg)),
        *(
            [("Closure, wear and a long ring end add up to", numbers.mass(forged.surplus_kg))]
            if forged.surplus_kg > 0.0
            else []
        ),
        ("Volume as forged", numbers.volume(volume_mm3(forged.path))),
        ("Projected area, without flash", numbers.area(area)),
        ("Greatest diameter, height", f"{numbers.length(2.0 * r1)}, {numbers.length(z1 - z0)}"),
        ("Least web", numbers.length(forged.sizes.web_mm)),
        ("Thickest place as forged", f"{numbers.length(thick)}: {row_words(thick)}"),
        ("Stock at the finished wheel", stock),
        (
            "Trim, grip, test ring",
            ", ".join(numbers.length(x) for x in (settings.trim_mm, settings.grip_mm, settings.test_ring_mm)),
        ),
        ("Dies", f"{'with' if settings.steel.ejects else 'without'} an ejector; {_drafts(settings)}"),
        *(
            [("Hub pierced", f"{numbers.length(settings.pierced_mm)}, slug {numbers.mass(forged.slug_kg)}")]
            if settings.pierced_mm is not None
            else []
        ),
        (
            "Proof",
            f"the usable outline no lighter than {numbers.mass(result.found.bound_kg)} without fillets",
        ),
        ("Temper", "T6: solution 529 to 532 °C, quenched; aged 8 h at 177 or 18 h at 160 °C"),
    ]
    rows += [(f"Window of {words}", f"+{numbers.mass(kg)} a blank") for words, kg in result.windows]
    if result.corner is not None:
        rows.append(
            (
                "Corner radius",
                f"{numbers.radius(result.corner.corner_mm)}: usable from "
                f"{numbers.mass(result.found.mass_kg)} to {numbers.mass(result.mass_kg)}",
            )
        )
    columns = (Column("", 3.0), Column("", 9.0))
    return Table("The blank", columns, tuple(Row(row) for row in rows))


def _drafts(settings: ForgingSettings) -> str:
    """Return both drafts, each with the band that is usual."""
    how, out = settings.how, outside(settings.steel.ejects)
    return f"draft outside {how.outside_deg:g}° ({out.band}), inside {how.inside_deg:g}° ({ON_PUNCH.band})"


def _wheels(result: Composite, numbers: Numbers) -> Table:
    unit = mass_unit(numbers.unit)
    mass = partial(bare_mass, unit=numbers.unit)
    columns = (
        Column("Wheel", 5.0),
        Column("Seat", 2.0, True),
        Column(f"Wheel, {unit}", 2.0, True),
        Column(f"Chips, {unit}", 2.0, True),
        Column("Blank over wheel", 2.0, True),
        Column(f"Costs the others, usable {unit}", 3.0, True),
    )
    rows = []
    for w in result.wheels:
        costs = "alone" if w.costs_others_kg is None else mass(w.costs_others_kg) if w.decides else "nothing"
        ratio = f"{result.forged.lathe_kg / w.mass_kg:.2f}"
        rows.append(Row((w.name, numbers.length(w.seat_mm), mass(w.mass_kg), mass(w.chips_kg), ratio, costs)))
    return Table("Wheels cut from it", columns, tuple(rows))


def _plan(result: Composite, settings: ForgingSettings, numbers: Numbers) -> Table:
    area, stress, load = press_units(numbers)
    columns = (
        Column("Step", 2.0),
        Column("Press", 3.0),
        Column("Across", 1.5, True),
        Column("Height", 1.5, True),
        Column(f"Area, {area.replace('2', '²')}", 1.5, True),
        Column(f"Flow stress, {stress}", 2.0, True),
        Column(f"Load, {load}", 2.0, True),
        Column("Enough", 4.0),
    )
    rows = tuple(
        Row(
            (
                s.name,
                f"{s.press.name}, {capacity_words(numbers, s.press.capacity_mn)}",
                numbers.length(s.diameter_mm),
                numbers.length(s.height_mm),
                press_area(numbers, s.area_cm2),
                press_stress(numbers, s.stress_mpa),
                " to ".join(press_load(numbers, x) for x in (s.low_mn, s.high_mn)),
                s.refused_words(numbers.long) or str(s.fits),
            )
        )
        for s in result.steps
    )
    log, (low, high) = result.log, WINDOW_C
    buckles = "; it may buckle" if log.may_buckle else ""
    notes = [
        f"Log {numbers.length(log.diameter_mm)} x {numbers.length(log.length_mm)}, "
        f"{numbers.mass(log.mass_kg, 1)} with {settings.loss:.0%} loss, "
        f"{log.slenderness:.2f} diameters long{buckles}. Log, areas and loads are of the outline as forged.",
        f"Metal at {settings.temperature_c:g} °C; 6061 is forged from {low:g} to {high:g} °C. Loads: what "
        "moves the metal, and what fills corners against flash; thin webs, sharp corners and high rings add.",
        f"Dies have steel of {numbers.length(settings.steel.wall_mm)} round the flash and "
        f"{numbers.length(settings.steel.base_mm)} behind the cavity (starting values from memory): bed, "
        "daylight, stroke and ejector of each press are held against that.",
        *(
            (f"By what a press proved on a like blank: {press_load(numbers, result.proved_mn)} {load}.",)
            if result.proved_mn is not None
            else ()
        ),
        *(found.words(numbers.long, numbers.mass) for found in result.warnings),
    ]
    return Table("Forging plan", columns, rows, tuple(notes))


def _tolerances(result: Composite, numbers: Numbers) -> Table:
    forged = result.forged
    rows = tuple(
        Row((str(t.cause), numbers.length(t.minus_mm), numbers.length(t.plus_mm), WAYS[t.cause], t.source))
        for t in forged.tolerances or starting_tolerances(result.path, result.mass_kg)
    )
    drawn = "lies between the two lines drawn" if forged.tolerances else "is held by the stock, none is added"
    notes = (f"Starting values until the forge's own; what may be missing {drawn}.",)
    return Table("Tolerances asked about", breakdown_columns(numbers), rows, notes)


def _sums(wheel: WheelMachining) -> tuple[str, ...]:
    m = wheel.money
    return tuple(f"{x:.2f}" for x in (m.metal, m.cutting, m.setting, m.chips + m.slug, m.net))


def _cost(cut: Sequence[WheelMachining], project: Project) -> Table:
    unit = unit_of(project)
    columns = (
        Column("Wheel", 4.0),
        Column(f"Chips, {mass_unit(unit)}", 1.6, True),
        Column("Cutting, min", 1.6, True),
        Column("Energy, kWh", 1.6, True),
        Column("Metal", 1.8, True),
        Column("Cutting", 1.8, True),
        Column("Set-ups", 1.8, True),
        Column("Scrap's value", 1.8, True),
        Column("Net", 1.8, True),
    )
    rows = tuple(
        Row(
            (
                w.name,
                bare_mass(w.chips_kg, unit),
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
