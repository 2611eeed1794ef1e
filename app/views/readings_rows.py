"""Lines of the readings, each of one row: what it is called, reads, needs and has to spare."""

from __future__ import annotations

from app.language import spoken, tr
from app.reports.numbers import Numbers
from app.reports.sentences import capital, needs
from app.studies.tyre import Finding, Word, value_words
from app.views.readings_line import Line
from geometry.readings.debris import NarrowGap
from geometry.readings.measure import GapRow, NamedReading, StockRow, WallRow
from geometry.readings.rules import State
from geometry.readings.stack import StackRow

#: Said in place of what is read at the end of a gesture.
ON_RELEASE = tr("Read when the gesture has ended.")


def gap_line(row: GapRow, numbers: Numbers) -> Line:
    """Return what the gap of a zone to a shape reads."""
    known = row.state is not State.NOT_KNOWN
    name = capital(row.body or row.zone)
    return Line(
        f"gap {row.shape} {row.zone} {row.body}".rstrip(),
        name,
        numbers.near(row.at_wheel),
        numbers.length(row.least_mm, row.grade),
        numbers.unit,
        needs(row, numbers),
        numbers.length(row.spare_mm, row.grade),
        state=row.state,
        known=known,
        row=row,
        place=row.at_wheel,
        zone=row.zone,
        shape=row.shape,
    )


def stack_line(row: StackRow, numbers: Numbers) -> Line:
    """Return what the road leaves of a gap."""
    return Line(
        f"worst {row.shape} {row.zone} {row.body}".rstrip(),
        capital(row.body or row.zone),
        numbers.near(row.at_wheel),
        numbers.length(row.worst_mm, row.grade),
        numbers.unit,
        needs(row, numbers),
        numbers.length(row.spare_mm, row.grade),
        state=row.state,
        known=row.state is not State.NOT_KNOWN,
        row=row,
        place=row.at_wheel,
        zone=row.zone,
        shape=row.shape,
    )


def wall_line(row: WallRow, numbers: Numbers) -> Line:
    """Return what a wall reads."""
    return _plain_line(f"wall {row.zone} ", capital(row.zone), row, numbers)


def stock_line(row: StockRow, numbers: Numbers) -> Line:
    """Return what the stock on one side of a zone reads."""
    return _plain_line(f"stock {row.zone} {row.side}", f"{capital(row.zone)}, {row.side}", row, numbers)


def _plain_line(key: str, label: str, row: WallRow | StockRow, numbers: Numbers) -> Line:
    return Line(
        key,
        label,
        numbers.near(row.at),
        numbers.length(row.least_mm),
        numbers.unit,
        numbers.length(row.required_mm),
        numbers.length(row.spare_mm),
        state=row.state,
        row=row,
        place=row.at,
        zone=row.zone,
    )


def lip_line(reading: NamedReading, numbers: Numbers) -> Line:
    """Return what is read at a lip."""
    return _named_line(f"lip {reading.key}", reading, numbers)


def hub_line(reading: NamedReading, numbers: Numbers) -> Line:
    """Return what is read at the hub."""
    return _named_line(f"hub {reading.key}", reading, numbers)


def _named_line(key: str, reading: NamedReading, numbers: Numbers) -> Line:
    unit = numbers.unit_shown(reading.unit)
    value = numbers.number(reading.value, reading.unit)
    return Line(
        key,
        reading.name,
        "" if value else reading.note,
        value,
        unit,
        numbers.number(reading.required, reading.unit),
        numbers.number(reading.spare, reading.unit),
        aside=unit if value and unit != numbers.unit and reading.required is None else "",
        state=reading.state,
        known=bool(value) and reading.state is not State.NOT_KNOWN,
        row=reading,
        place=reading.place,
    )


def finding_line(finding: Finding, numbers: Numbers) -> Line:
    """Return what the sources say of the tyre."""
    unit = numbers.unit_shown(finding.unit)
    said = {
        Word.WRONG: tr("▸ wrong"),
        Word.LOOK: tr("? look"),
        Word.FINE: tr("fine") if finding.needs else "",
    }
    aside = [said[finding.word], unit if unit != numbers.unit else ""]
    return Line(
        f"tyre {finding.key}",
        finding.name,
        value=value_words(finding, numbers.unit),
        unit=unit,
        rule=spoken(finding.needs),
        aside=" · ".join(filter(None, aside)),
        known=finding.word is not Word.LOOK,
        detail=tr("{value_text} Rests on: {source}.", value_text=finding.text, source=finding.source),
    )


def stones_line(narrow: NarrowGap, numbers: Numbers) -> Line:
    """Return where a gap holds stones."""
    return Line(
        f"stones {narrow.shape} {narrow.start[0]:.1f}",
        tr("Holds stones: {zones}", zones=tr(" and ").join(map(spoken, narrow.zones))),
        tr("to {shape}", shape=narrow.shape),
        numbers.length(narrow.least_mm),
        numbers.unit,
        aside=tr("along {length_mm}", length_mm=numbers.length(narrow.length_mm)),
        detail=tr(
            "The gap to {shape} stays narrow along {length_mm} {unit} of the skin: on "
            "loose ground use the larger rule.",
            shape=narrow.shape,
            length_mm=numbers.length(narrow.length_mm),
            unit=numbers.unit,
        ),
        place=narrow.start,
        shape=narrow.shape,
    )


def waiting(line: Line) -> Line:
    """Return a line without what is read at the end of a gesture."""
    return line._replace(
        value="", unit="", aside=tr("on release"), known=False, detail=ON_RELEASE, place=None
    )


def waiting_line(shape: str, zone: str, body: str) -> Line:
    """Return the line of a gap that is read at the end of a gesture."""
    return Line(
        f"worst {shape} {zone} {body}".rstrip(),
        capital(body or zone),
        aside=tr("on release"),
        known=False,
        detail=ON_RELEASE,
        zone=zone,
        shape=shape,
    )
