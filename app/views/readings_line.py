"""One line of the readings: what it says, and lines as a table for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from app.language import spoken, tr
from app.project.cells import tabbed
from app.reports.rows import AnyRow
from geometry.readings.measure import Place
from geometry.readings.rules import State

#: Said in place of readings.
FAULTY = tr("No readings while the outline has faults")


class Line(NamedTuple):
    """One line of the panel.

    Attributes:
        key: what the line is; lines of one key follow each other from frame to frame.
        note: small words beside the label.
        aside: words behind the value in the place of a state: its unit, the same in another unit.
        known: False where an input is missing or unverified: the number is shown grey.
        detail: what there is to say about the line beside its row, as sentences.
        row: the reading behind it; readings_text.detail says everything about it when it is asked for.
        place: (z, r) in mm in the hub's frame, where a click goes.
        zone, shape: what the line speaks of, by name.
        unit: of the value, for a copied table.
    """

    key: str
    label: str
    note: str = ""
    value: str = ""
    unit: str = ""
    rule: str = ""
    spare: str = ""
    aside: str = ""
    state: State | None = None
    known: bool = True
    detail: str = ""
    row: AnyRow | None = None
    place: Place | None = None
    zone: str | None = None
    shape: str | None = None
    children: tuple[Line, ...] = ()


def emptied(groups: tuple[Line, ...]) -> tuple[Line, ...]:
    """Return the lines without a number, state or place: what stands there while the outline has faults."""
    return tuple(
        Line(
            line.key,
            line.label,
            aside=tr("fault") if line.children else "",
            known=line.known,
            detail=FAULTY,
            zone=line.zone,
            shape=line.shape,
            children=emptied(line.children),
        )
        for line in groups
    )


def tsv(groups: tuple[Line, ...]) -> str:
    """Return lines and all below them as a table for a spreadsheet, one head row, tabs between columns."""
    head = [
        tr("group"),
        tr("reading"),
        tr("value"),
        tr("unit"),
        tr("needs"),
        tr("spare"),
        tr("state"),
        tr("z mm"),
        tr("r mm"),
    ]
    rows = [head]
    for path, line in _walk(groups, ()):
        if line.value or line.place or not line.children:
            at = [f"{x:.2f}" for x in line.place] if line.place else ["", ""]
            state = spoken(line.state) if line.state else ""
            words = " ".join(spoken(part) for part in (*path[1:], line.label))
            group = spoken(path[0]) if path else ""
            cells = [group, words, line.value, line.unit, line.rule, line.spare, state, *at]
            rows.append(cells)
    return tabbed(rows)


def _walk(groups: tuple[Line, ...], path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Line]]:
    for line in groups:
        yield path, line
        yield from _walk(line.children, (*path, line.label))
