"""What only the house's own copy of a report holds: near misses, offers, the blank and how it is paid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.reports.rows import AnyRow, place_of, rank, rows_of, spare_of
from app.reports.sentences import capital, subject
from app.reports.tables import STATE, Card, Column, Row, Table
from app.studies.fit import Measured
from app.studies.flash_line import flash_line_finding
from app.studies.machining import WheelMachining, machining_in_blank
from app.studies.offers import Offer, offers
from app.studies.road import Road
from app.studies.told import Told
from app.studies.usable_blank import drawn_path, greatest_mm3
from geometry.errors import GeometryError
from geometry.forging.thickest import row_words, thickest
from geometry.readings.measure import NamedReading
from geometry.shape.blank import Blank, Tolerance

#: What misses or meets its rule by less than this is worth a second look; common practice, no source.
NEAR_MM = 1.0


def near_misses(measured: Measured, road: Road | None, numbers: Numbers) -> Iterator[Table]:
    """Yield what meets or misses its rule by less than NEAR_MM, the least to spare first."""
    if measured.measurements is None:
        return
    rows: list[AnyRow] = rows_of(measured.measurements)
    if road is not None:
        rows += [*road.rows, *road.tyre.rows, *road.tyre.worst]
    near = [row for row in rows if _is_near(row)]
    if not near:
        return
    columns = (Column("Reading", 6.0), Column("Spare", 1.4, True), STATE, Column("At", 3.0))
    made = tuple(
        Row((_words(row), numbers.length(spare_of(row)), numbers.place(place_of(row))), row.state)
        for row in sorted(near, key=rank)
    )
    note = f"What meets or misses its rule by less than {numbers.length(NEAR_MM, with_unit=True)}."
    yield Table("Near misses (internal)", columns, made, (note,))


def _is_near(row: AnyRow) -> bool:
    spare = spare_of(row)
    lengths = not isinstance(row, NamedReading) or row.unit == "mm"
    return lengths and spare is not None and abs(spare) < NEAR_MM


def _words(row: AnyRow) -> str:
    return row.name if isinstance(row, NamedReading) else subject(row)


def offered(project: Project, wheel: Wheel) -> Iterator[Table]:
    """Yield what would make a wheel fit that misses a gap; nothing for one that misses none."""
    found = offers(project, wheel)
    if not found:
        return
    unit = unit_of(project)
    named = "inches" if unit == "in" else "mm"
    columns = (
        Column("Change", 4.0),
        Column("Mass, lb" if unit == "in" else "Mass, kg", 1.2, True),
        Column("Every rule holds", 1.6),
        Column("What else it does", 8.0),
    )
    rows = tuple(Row(_offer(offer, Told(unit))) for offer in found)
    note = (
        f"The least change of each kind that clears every gap, in {named}. "
        "What breaks another rule is no cure."
    )
    yield Table("What would make it fit (internal)", columns, rows, (note,))


def _offer(offer: Offer, told: Told) -> tuple[str, ...]:
    said = (*(f"breaks: {rule}" for rule in offer.breaks), *offer.effects)
    return (
        offer.words,
        told.more_mass(offer.mass_kg, with_unit=False),
        "yes" if offer.is_cure else "no",
        "; ".join(said),
    )


def machining_table(project: Project, wheel: Wheel, numbers: Numbers) -> Iterator[Table]:
    """Yield chips, time and money of the wheel cut from its blank; nothing where it stands in none."""
    if wheel.blank is None:
        return
    try:
        found = machining_in_blank(project, wheel.name)
    except GeometryError as error:
        yield Table("Chips, time and money (internal)", (), (), (f"Not known: {error}",))
        return
    columns = (
        Column("Operation", 4.0),
        Column("Volume", 2.0, True),
        Column("Chips, kg", 1.6, True),
        Column("Minutes", 1.6, True),
        Column("Energy, kWh", 1.6, True),
    )
    rows = [
        Row((o.name, numbers.volume(o.volume_mm3), *_taken(o.chips_kg, o.minutes, o.energy_kwh)))
        for o in found.operations
        if o.volume_mm3 > 0.5
    ]
    whole = _taken(found.chips_kg, found.cutting_minutes, found.energy_kwh)
    rows.append(Row(("all cutting", numbers.volume(found.volume_mm3), *whole)))
    yield Table(
        "Chips, time and money (internal)", columns, tuple(rows), tuple(_money(project, found, numbers))
    )


def _taken(chips_kg: float, minutes: float, energy_kwh: float) -> tuple[str, str, str]:
    return f"{chips_kg:.2f}", f"{minutes:.1f}", f"{energy_kwh:.2f}"


def _money(project: Project, found: WheelMachining, numbers: Numbers) -> Iterator[str]:
    m, money = found.money, f" {project.currency}" if project.currency else ""
    if not found.is_whole:
        yield (
            f"It cannot be cut from this blank: {numbers.volume(found.missing_mm3)} of it lie outside, the "
            f"most at {numbers.place(found.missing_at)}."
        )
    metal = (
        f"blank, bought, {m.bought:.2f}"
        if m.bought
        else f"log {m.log:.2f}, forging {m.forging:.2f}, treatment {m.treatment:.2f}"
        + (f", spinning {m.spinning:.2f}" if m.spinning else "")
    )
    slug = f" and slug {m.slug:.2f}" if m.slug else ""
    yield (
        f"{capital(metal)}; cutting {m.cutting:.2f}; set-ups, {found.setup_minutes:.0f} minutes, "
        f"{m.setting:.2f}; less chips {m.chips:.2f}{slug}: {m.net:.2f}{money} a wheel, without dies, "
        "transport, proof and coating."
    )
    starting = project.rates.starting
    if starting:
        yield f"{len(starting)} of the shop's rates are starting values: see Shop rates and prices."


def blank_card(project: Project, wheel: Wheel, blank: Blank, density_kg_m3: float, numbers: Numbers) -> Card:
    """Return where a blank comes from, what it may differ by, and how its dies are paid."""
    lines = [
        ("Supply, state", f"{blank.supply}, {blank.state}"),
        ("Source", blank.source or "not stated"),
        ("Skin to come off", numbers.length(blank.skin_mm, with_unit=True)),
    ]
    lines += [(str(t.cause).capitalize(), _tolerance(t, numbers)) for t in blank.tolerances]
    if blank.measured_least is not None:
        count = "" if blank.measured_pieces is None else f" of {blank.measured_pieces} forgings"
        words = f"'{blank.measured_least}'{count}: it stands in place of the forging's own minus sides"
        lines.append(("Measured, least", words))
    if blank.tolerances or blank.measured_greatest is not None:
        lines.append(("Greatest mass", _greatest(project, blank, density_kg_m3, numbers)))
    lines += _treated(blank, numbers)
    warning = flash_line_finding(project, wheel)
    if warning is not None:
        lines.append(("Flash line", warning.words(numbers.length)))
    lines += _paid(blank, project.currency)
    return Card(f"Blank {blank.name}", tuple(lines))


def _treated(blank: Blank, numbers: Numbers) -> Iterator[tuple[str, str]]:
    try:
        diameter, place = thickest(drawn_path(blank))
    except GeometryError:
        return
    at = numbers.place(place)
    yield (
        "Thickest place",
        f"{numbers.length(diameter, with_unit=True)} at {at} as drawn: {row_words(diameter)}",
    )


def _tolerance(tolerance: Tolerance, numbers: Numbers) -> str:
    minus, plus = (numbers.length(x) for x in (tolerance.minus_mm, tolerance.plus_mm))
    return f"−{minus} / +{plus} ({tolerance.source or 'source not stated'})"


def _greatest(project: Project, blank: Blank, density_kg_m3: float, numbers: Numbers) -> str:
    try:
        mass = numbers.mass(greatest_mm3(project, blank) * density_kg_m3 * 1e-9)
    except GeometryError as error:
        return str(error)
    if blank.measured_greatest is not None:
        return f"{mass}, of '{blank.measured_greatest}'"
    return f"{mass}, with every plus side"


def _paid(blank: Blank, currency: str) -> Iterator[tuple[str, str]]:
    money = f" {currency}" if currency else ""
    if blank.price is not None:
        yield "Price", f"{blank.price:,.2f}{money} a piece, without its dies"
    if blank.least_order is not None:
        yield "Least order", f"{blank.least_order} pieces"
    if blank.lead_weeks is not None:
        yield "Lead time", f"{blank.lead_weeks:g} weeks"
    yield "Share of the dies", die_share(blank, currency)


def die_share(blank: Blank, currency: str) -> str:
    """Return the rule by which the dies are paid, in words."""
    money = f" {currency}" if currency else ""
    cost = blank.tools_cost
    if cost is None:
        return "no price of dies is stated"
    tools = "dies" if cost == blank.die_cost else "dies and mandrel"
    if blank.die_shared_by is None:
        return f"{tools} {cost:,.0f}{money}; by how many wheels they are shared is not stated"
    share = cost / blank.die_shared_by
    shared = f"{tools} {cost:,.0f}{money} shared by {blank.die_shared_by:,} wheels"
    return f"{shared}: {share:,.2f}{money} a wheel"


def sequence(wheel: Wheel) -> Sequence[tuple[str, tuple[str, ...]]]:
    """Return the note on the machining sequence as a titled paragraph; nothing without one."""
    lines = tuple(line for line in wheel.sequence.splitlines() if line.strip())
    return (("Machining sequence (internal)", lines),) if lines else ()
