"""Hub fit after coating: bore, holes and seats that are coated lose room.

0.05 to 0.15 a side, powder more: from memory. A coating is asked for, never assumed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from geometry.readings.places import CoatingGeometry
from geometry.readings.rows import NamedReading
from geometry.readings.rules import State, judge

#: What a coating that nobody has stated may take, mm a side (from memory).
USUAL_MM = 0.15
BORE, THREAD, SEAT = "bore_over_spigot", "hole_over_thread", "seat_land"


def coated(
    rows: Sequence[NamedReading], coating: CoatingGeometry | None, over_mm: float | None
) -> tuple[list[NamedReading], list[str]]:
    """Return the hub's readings with those after coating, and what must be known for them.

    Args:
        rows: readings of the bare wheel.
        coating: None where nothing is said of one.
        over_mm: more room than this over the spigot does not centre; None where a ring centres the wheel.
    """
    if coating is None:
        return [_unsaid(row) for row in rows], []
    if coating.growth_mm == 0.0:
        return list(rows), []
    asked = []
    if coating.growth_mm is None:
        asked.append(f"How thick is the coating ({coating.name}), a side?")
    if coating.on_bore is None:
        asked.append(f"Is the bore coated ({coating.name}), or kept bare?")
    if coating.on_seats is None:
        asked.append(f"Are hub pad and seats coated ({coating.name}), or kept bare?")
    made: list[NamedReading] = []
    for row in rows:
        if row.key == BORE:
            made += _bore(row, coating, over_mm)
        elif row.key == THREAD:
            made += _holes(row, coating)
        elif row.key == SEAT and coating.on_seats:
            made += [row, _on_seats(row, coating)]
        else:
            made.append(row)
    return made, asked


def _unsaid(row: NamedReading) -> NamedReading:
    """A bore that clears bare is not clear without a word on what a coating would leave of it."""
    left = row.value - 2.0 * USUAL_MM
    if row.key != BORE or left >= 0.0:
        return row
    words = f"Bare: no coating is stated, and {USUAL_MM:g} mm a side would leave {left:.2f} mm."
    return replace(row, name="Bore over spigot, if not coated", note=f"{row.note} {words}".strip())


def _bore(row: NamedReading, coating: CoatingGeometry, over_mm: float | None) -> list[NamedReading]:
    if coating.on_bore is False:
        return [replace(row, note=f"{row.note} The bore stays bare.".strip())]
    bare = replace(row, state=None, note="Before coating.") if coating.on_bore else row
    if coating.growth_mm is None:
        return [bare]
    after = _coated(row, coating, coating.growth_mm)
    if over_mm is not None and after.value > over_mm:
        words = f"{after.note} Over {over_mm:g} mm it does not centre without a ring."
        after = replace(after, state=State.SHORT, note=words)
    # Until somebody has said which of the two it will be, that is asked.
    return [bare, after if coating.on_bore else replace(after, state=None)]


def _holes(row: NamedReading, coating: CoatingGeometry) -> list[NamedReading]:
    """Holes are rarely masked: the room that a coating would leave is judged."""
    return [row] if coating.growth_mm is None else [row, _coated(row, coating, coating.growth_mm)]


def _coated(row: NamedReading, coating: CoatingGeometry, growth_mm: float) -> NamedReading:
    """The room over a diameter when both its sides have grown."""
    value = row.value - 2.0 * growth_mm
    return NamedReading(
        *(f"{row.key}_coated", f"{row.name}, coated", value, row.unit, row.place),
        state=judge(value, 0.0),
        note=f"{coating.name}, {growth_mm:g} mm a side.",
    )


def _on_seats(row: NamedReading, coating: CoatingGeometry) -> NamedReading:
    note = "It settles under the bolts and their tension goes: keep hub pad and seats bare (common practice)."
    return NamedReading(
        *("coating_on_seats", "Coating on hub pad and seats", coating.growth_mm or 0.0, "mm", row.place),
        state=State.SHORT,
        note=note,
    )
