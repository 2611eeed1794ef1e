"""The report's tables and cards: rows of measurements, rules and sources as text."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from app.project.project import Material
from app.project.wheel import Fixing, SingleNut, Wheel
from app.reports.numbers import Numbers
from app.reports.rows import rank, walls_in_order
from app.studies.road import Road
from geometry.readings.measure import GapRow, Measurements, NamedReading, StockRow, WallRow
from geometry.readings.rules import State
from geometry.shape.section import Outline

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Column:
    """A column: its head, its share of the width, and whether it holds numbers."""

    head: str
    share: float
    number: bool = False


@dataclass(frozen=True)
class Row:
    """One row: a text for each column but the state's, and its state."""

    cells: tuple[str, ...]
    state: State | None = None


@dataclass(frozen=True)
class Table:
    """A table; the column headed 'State' is drawn from each row's state and has no cell.

    Attributes:
        notes: lines below it.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Card:
    """Labelled lines under a title."""

    title: str
    lines: Pairs


STATE = Column("State", 1.9)


def edge_distances(wheel: Wheel, outline: Outline, numbers: Numbers) -> list[tuple[str, str]]:
    """Return backspace and front distance: mounting face to inner and to outer edge of the section."""
    z_low, z_high, _, _ = outline.path.bounds
    return [
        ("Backspace", numbers.length(wheel.spacer_mm - z_low, with_unit=True)),
        ("Front distance", numbers.length(z_high - wheel.spacer_mm, with_unit=True)),
    ]


def gap(found: Measurements, several: Collection[str], numbers: Numbers) -> Table:
    """Return the gaps, least to spare first; `several` names the shapes whose deciding position is told."""
    columns = (
        Column("Shape", 3.4),
        Column("Zone", 1.9),
        Column("Gap", 1.1, True),
        Column("Error ±", 1.1, True),
        Column("Included", 1.2, True),
        Column("Along r", 1.1, True),
        Column("Along z", 1.1, True),
        Column("Needs", 1.1, True),
        Column("Worst state", 1.4, True),
        Column("Spare", 1.1, True),
        STATE,
        Column("At the wheel", 2.7),
        Column("Grade", 1.3),
        Column("Rule", 2.3),
    )
    notes = [_move(row, numbers) for row in found.gap if row.move_radial_mm is not None]
    notes.append(
        "Spare = gap less error, plus gap the outline already includes, less what the rule needs on paper. "
        "Worst state: what must remain there after everything that eats the gap."
    )
    if not found.gap:
        notes = ["No stay-out shape is given: no gap is known."]
    rows = sorted(found.gap, key=rank)
    cells = tuple(_gap_row(row, row.shape in several, numbers) for row in rows)
    return Table("Gap to stay-out shapes", columns, cells, tuple(notes))


def road(found: Road, numbers: Numbers) -> Iterator[Table]:
    """Return the gaps that the road leaves, least to spare first, and what eats them; nothing without any."""
    conditions = found.conditions
    if conditions is None or not found.rows:
        return
    columns = (
        Column("Shape", 3.2),
        Column("Zone", 1.9),
        Column("As drawn", 1.2, True),
        Column("Worst", 1.1, True),
        Column("Root sum sq.", 1.4, True),
        Column("Needs", 1.1, True),
        Column("Spare", 1.1, True),
        STATE,
        Column("What takes most", 6.5),
    )
    rows = tuple(
        Row(
            (
                row.shape,
                f"{row.zone} ({row.body})" if row.body else row.zone,
                numbers.length(row.nominal_mm, row.grade),
                numbers.length(row.worst_mm, row.grade),
                numbers.length(row.rss_mm, row.grade),
                numbers.length(row.required_mm),
                numbers.length(row.spare_mm, row.grade),
                ", ".join(
                    f"{loss.words} {numbers.length(loss.loss_mm)}"
                    for loss in row.losses[:4]
                    if loss.loss_mm > 0.0
                ),
            ),
            row.state,
        )
        for row in sorted(found.rows, key=rank)
    )
    starting = "; starting values, to be set by the user" if conditions.starting_values else ""
    notes = [
        f"Conditions '{conditions.name}', revision {conditions.revision}{starting}. Each effect is tried "
        "alone and with all others at both limits, on the exact outline; the outline's error is one of them.",
        *(
            f"Holds stones: {' and '.join(narrow.zones)} to {narrow.shape}, down to "
            f"{numbers.length(narrow.least_mm)} along {numbers.length(narrow.length_mm, with_unit=True)}: on "
            "loose ground use the larger rule."
            for narrow in found.narrow
        ),
    ]
    yield Table("Gap in the worst state", columns, rows, tuple(notes))


def _gap_row(row: GapRow, with_position: bool, numbers: Numbers) -> Row:
    grade = row.grade
    shape = f"{row.shape}, {row.position}" if with_position and row.position else row.shape
    cells = (
        shape,
        f"{row.zone} ({row.body})" if row.body else row.zone,
        numbers.length(row.least_mm, grade),
        numbers.length(row.error_mm),
        numbers.length(row.included_mm),
        numbers.length(row.radial_mm, grade),
        numbers.length(row.axial_mm, grade),
        numbers.length(row.required_mm),
        numbers.length(row.worst_mm),
        numbers.length(row.spare_mm, grade),
        numbers.place(row.at_wheel),
        grade,
        row.rule or "no rule",
    )
    return Row(cells, row.state)


def _move(row: GapRow, numbers: Numbers) -> str:
    along_r, along_z = (numbers.length(x, row.grade) for x in (row.move_radial_mm, row.move_axial_mm))
    what = f"{row.shape} at {row.body or row.zone}"
    return f"{what}: just clear if the shape moves {along_r} along r or {along_z} along z."


def stock(found: Measurements, blank: str | None, numbers: Numbers) -> Table:
    """Return the stock per zone and side, with what is missing."""
    columns = (
        Column("Zone", 2.0),
        Column("Side", 1.4),
        Column("Stock", 1.2, True),
        Column("Needs", 1.2, True),
        Column("Spare", 1.2, True),
        STATE,
        Column("At the wheel", 3.0),
        Column("At the blank", 3.0),
        Column("Rule", 2.6),
    )
    if found.blank is None:
        return Table("Stock", columns, (), (f"No stock is known: {blank or 'no blank'} is stated.",))
    notes = [
        "Metal between the finished skin and what of the blank can be relied on: its outline less skin and "
        "minus tolerances. Negative where it is missing."
    ]
    if found.blank.missing_mm3 > 0.0:
        volume, area = numbers.volume(found.blank.missing_mm3), numbers.area(found.blank.missing_mm2)
        notes.insert(0, f"Outside the blank: about {volume} of the wheel, {area} of its section.")
    rows = tuple(_stock_row(row, numbers) for row in sorted(found.stock, key=rank))
    return Table(f"Stock in blank {found.blank.name}", columns, rows, tuple(notes))


def _stock_row(row: StockRow, numbers: Numbers) -> Row:
    lengths = (numbers.length(x) for x in (row.least_mm, row.required_mm, row.spare_mm))
    places = numbers.place(row.at), numbers.place(row.at_blank)
    return Row((row.zone, row.side, *lengths, *places, row.rule or "no rule"), row.state)


def wall(found: Measurements, numbers: Numbers) -> Table:
    """Return the least wall per zone, lip first."""
    columns = (
        Column("Zone", 2.0),
        Column("Wall", 1.2, True),
        Column("Gauge", 1.2, True),
        Column("Needs", 1.2, True),
        Column("Spare", 1.2, True),
        STATE,
        Column("At", 3.0),
        Column("Across", 3.0),
        Column("Rule", 2.6),
    )
    notes = (
        "Wall: diameter of the largest disc in the metal; near a rounded end it reads up to 4 % low. "
        "Gauge: length along the normal there. A zone without two skins facing each other has no wall.",
    )
    return Table("Wall", columns, tuple(_wall_row(row, numbers) for row in walls_in_order(found.wall)), notes)


def _wall_row(row: WallRow, numbers: Numbers) -> Row:
    lengths = (numbers.length(x) for x in (row.least_mm, row.gauge_mm, row.required_mm, row.spare_mm))
    return Row(
        (row.zone, *lengths, numbers.place(row.at), numbers.place(row.across), row.rule or "no rule"),
        row.state,
    )


def named(title: str, readings: Sequence[NamedReading], numbers: Numbers) -> Iterator[Table]:
    """Yield the table of readings by name, or nothing where there are none."""
    ruled = any(reading.required is not None or reading.state is not None for reading in readings)
    rules = (Column("Needs", 1.4, True), Column("Spare", 1.4, True), STATE) if ruled else ()
    columns = (
        Column("Reading", 3.6), Column("Value", 1.8, True), *rules, Column("At", 3.0), Column("Note", 5.0)
    )  # fmt: skip
    rows = []
    for reading in readings:
        value, required, spare = numbers.named(reading)
        judged = (required, spare) if ruled else ()
        rows.append(
            Row((reading.name, value, *judged, numbers.place(reading.place), reading.note), reading.state)
        )
    if rows:
        yield Table(title, columns, tuple(rows))


def mass(wheel: Wheel, found: Measurements, material: Material | None, numbers: Numbers) -> Table:
    """Return mass, inertia and blank, with what the mass holds and what it leaves out."""
    columns = (Column("Reading", 3.0), Column("Value", 3.0), Column("What it stands for", 9.0))
    body, blank = found.solid, found.blank
    rows = [
        Row(("Wheel", numbers.mass(body.mass_kg), _holds(wheel, numbers))),
        Row(
            (
                "As a full body",
                numbers.mass(body.full_mass_kg),
                "the section turned, without spoke windows or holes",
            )
        ),
        Row(("Volume", numbers.volume(body.volume_mm3), "of the wheel as stated in the first row")),
        Row(("Section area", numbers.area(body.area_mm2), "of the half-section")),
        Row(
            ("Centre of mass", f"z {numbers.length(body.centre_z_mm)}", "along the axle, from the hub's face")
        ),
        Row(("Polar inertia", numbers.inertia(body.polar_kg_mm2), "about the axle")),
        Row(
            (
                "Diametral inertia",
                numbers.inertia(body.diametral_kg_mm2),
                "about a diameter through the centre of mass",
            )
        ),
    ]
    if blank is not None:
        rows += [
            Row((f"Blank {blank.name}", numbers.mass(blank.mass_kg), "as drawn")),
            Row(("Chips", numbers.mass(blank.chips_kg), "blank less wheel")),
            Row(("Mass ratio", f"{blank.mass_ratio:.2f}", "blank over wheel")),
        ]
    notes = ["Not in the mass: valve, sensor, balance weights, cap, ring bodies, bolts, coating, tyre."]
    if material is not None:
        source = material.source or "source not stated"
        notes.insert(0, f"Material {material.name}: {material.density_kg_m3:.1f} kg/m³ ({source}).")
    return Table("Mass and inertia", columns, tuple(rows), tuple(notes))


def _holds(wheel: Wheel, numbers: Numbers) -> str:
    parts = ["no spokes stated: a full disc"]
    if wheel.spokes is not None and wheel.spokes.count:
        hub = numbers.length(wheel.spokes.hub_circle_mm)
        parts = [f"{wheel.spokes.count} spokes by their width over radius from r {hub} to the rim"]
    fixing = wheel.fixing
    if isinstance(fixing, Fixing) and fixing.count:
        words = f"{fixing.count} bolt holes of {numbers.length(fixing.hole_mm)}"
        if fixing.socket_mm > fixing.hole_mm:
            words += f" with sockets of {numbers.length(fixing.socket_mm)}"
        parts.append(f"{words} taken off")
    elif isinstance(fixing, SingleNut) and fixing.pins:
        parts.append(f"{fixing.pins} pin holes of {numbers.length(fixing.pin_hole_mm)} taken off")
    else:
        parts.append("no bolt holes taken off")
    return "; ".join(parts)
