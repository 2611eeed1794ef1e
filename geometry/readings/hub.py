"""Fixing and hub fit: seat land, holes, hub pad, bore, spigot and thread.

Starting values: spigot engagement 4 mm; engaged thread 1.0 x thread diameter, 1.5 x in aluminium nuts (common
practice, no source). A bore no more than 0.2 mm over the hub: asked for by one fitting sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from geometry.readings.chords import Span, along_z
from geometry.readings.coating import coated
from geometry.readings.places import CoatingGeometry, FixingGeometry, HubGeometry, SingleNutGeometry
from geometry.readings.rows import NamedReading, Place, Ring, reading
from geometry.readings.rules import State, judge
from geometry.shape.curve import Path

SPIGOT_MM = 4.0
THREAD_DIAMETERS = 1.0
THREAD_DIAMETERS_ALUMINIUM = 1.5
BORE_OVER_MM = 0.2
NO_COATING = "No coating on hub pad and seats (common practice)."
#: A drawn bore agrees with its record within this, a hub pad within its edge radius.
DRAWN_MM = 0.05
PAD_DRAWN_MM = 2.0


def hub_readings(
    path: Path,
    fixing: FixingGeometry | SingleNutGeometry | None,
    hub: HubGeometry,
    *,
    spacer_mm: float,
    seat_land_rule_mm: float | None,
    drawn_bore_mm: float | None = None,
    drawn_pad_mm: float | None = None,
    rings: Sequence[Ring] = (),
    coating: CoatingGeometry | None = None,
) -> tuple[tuple[NamedReading, ...], tuple[str, ...]]:
    """Return the readings of fixing and hub fit, and what must be known for the missing ones.

    The section is in the hub's frame, its mounting face at z = spacer_mm; seat_land_rule_mm is the least
    metal between seat and mounting face, None without a rule. drawn_bore_mm and drawn_pad_mm are the
    section's own diameters, read where there are any; a record that differs is asked about. rings are bodies
    on the wheel: a cap may stand in the spigot's way. coating is None where nothing is said of one.
    """
    bore = hub.bore_mm if drawn_bore_mm is None else drawn_bore_mm
    pad = hub.hub_pad_mm if drawn_pad_mm is None else drawn_pad_mm
    under = None
    if fixing is not None:
        radius = fixing.circle_mm / 2.0 if isinstance(fixing, FixingGeometry) else bore / 2.0 + 1.0
        under = _under_seat(path, radius, spacer_mm + fixing.seat_land_mm)
    end = _bore_end(path, bore / 2.0 + hub.chamfer_mm + DRAWN_MM, spacer_mm)
    return _rows(fixing, hub, spacer_mm, seat_land_rule_mm, bore, pad, under, end, tuple(rings), coating)


# A drag away from hub and seats leaves all of it as it is.
@lru_cache(maxsize=16)
def _rows(
    fixing: FixingGeometry | SingleNutGeometry | None,
    hub: HubGeometry,
    spacer_mm: float,
    seat_land_rule_mm: float | None,
    bore_mm: float,
    pad_mm: float,
    under: Span | None,
    bore_end: float | None,
    rings: tuple[Ring, ...],
    coating: CoatingGeometry | None,
) -> tuple[tuple[NamedReading, ...], tuple[str, ...]]:
    """Return what hub_readings does: bore and hub pad are as drawn, `under` is the metal under the seat."""
    rows: list[NamedReading] = []
    asked: list[str] = []
    hub = _as_drawn(hub, bore_mm, pad_mm, asked)
    if fixing is None or (isinstance(fixing, FixingGeometry) and fixing.count == 0):
        asked.append("How is the wheel fixed: bolts or nuts on which circle, or a single nut?")
    elif isinstance(fixing, FixingGeometry):
        place = (spacer_mm + fixing.seat_land_mm, fixing.circle_mm / 2.0)
        rows.append(_seat(under, place, seat_land_rule_mm))
        rows += _holes(fixing.count, fixing.circle_mm, fixing.hole_mm, hub, "hole", spacer_mm)
        rows += _sockets(fixing, hub, spacer_mm)
    else:
        place = (spacer_mm + fixing.seat_land_mm, hub.bore_mm / 2.0 + 1.0)
        rows.append(_seat(under, place, seat_land_rule_mm))
        if fixing.pins:
            rows += _holes(fixing.pins, fixing.pin_circle_mm, fixing.pin_hole_mm, hub, "pin hole", spacer_mm)
    _fit(hub, spacer_mm, bore_end, rings, rows, asked)
    if isinstance(fixing, FixingGeometry):
        _thread(fixing, hub, spacer_mm, rows, asked)
    rows, more = coated(rows, coating, None if hub.hub_ring else BORE_OVER_MM)
    return tuple(rows), (*asked, *more)


def _as_drawn(hub: HubGeometry, bore: float, pad: float, asked: list[str]) -> HubGeometry:
    """Return the hub with bore and hub pad as the section draws them."""
    if abs(bore - hub.bore_mm) > DRAWN_MM:
        asked.append(
            f"The section's bore is {bore:.2f} mm, the record says {hub.bore_mm:.2f} mm: which holds?"
        )
    if abs(pad - hub.hub_pad_mm) > PAD_DRAWN_MM:
        record = f"{hub.hub_pad_mm:.2f}"
        asked.append(f"The section's hub pad is {pad:.2f} mm, the record says {record} mm: which holds?")
    return replace(hub, bore_mm=bore, hub_pad_mm=max(pad, hub.hub_pad_mm))


def _row(
    key: str,
    name: str,
    value: float,
    required: float | None,
    note: str = "",
    place: Place | None = None,
) -> NamedReading:
    spare = None if required is None else value - required
    state = None if spare is None else judge(spare, 0.0)
    return reading(key, name, value, place, note, "mm", required, spare, state)


def _room(key: str, name: str, value: float, note: str, place: Place | None = None) -> NamedReading:
    """A room that may be small but not negative: judged without a number that it must keep."""
    return reading(key, name, value, place, note, "mm", None, None, judge(value, 0.0))


def _under_seat(path: Path, radius: float, seat_z: float) -> Span | None:
    """Return the metal at a radius that starts under the seat, the nearest to it; None without any."""
    under = [span for span in along_z(path, radius) if span[0] < seat_z]
    return under[-1] if under else None


def _seat(under: Span | None, place: Place, rule_mm: float | None) -> NamedReading:
    """Metal under the seat: from where the metal starts on the bolt circle up to the seat."""
    if under is None:
        return _row("seat_land", "Seat land", 0.0, rule_mm, "No metal under the seat.", place)
    low, high = under
    row = _row("seat_land", "Seat land", min(place[0], high) - low, rule_mm, NO_COATING, place)
    if high < place[0] - DRAWN_MM:
        row = replace(row, state=State.SHORT, note="The seat lies above the metal.")
    return row


def _holes(
    count: int, circle_mm: float, hole_mm: float, hub: HubGeometry, what: str, face_z: float
) -> list[NamedReading]:
    key = what.replace(" ", "_")
    next_mm = circle_mm * math.sin(math.pi / count) - hole_mm if count > 1 else None
    place = (face_z, circle_mm / 2.0)
    edges = [
        (f"{key}_to_bore", f"{what.capitalize()} edge to bore", (circle_mm - hole_mm - hub.bore_mm) / 2.0),
        (
            f"{key}_to_pad",
            f"{what.capitalize()} edge to hub-pad edge",
            (hub.hub_pad_mm - circle_mm - hole_mm) / 2.0,
        ),
    ]
    if next_mm is not None:
        edges.append((f"{key}_to_next", f"{what.capitalize()} edge to the next", next_mm))
    return [_room(k, name, value, "It must not break through.", place) for k, name, value in edges]


def _sockets(fixing: FixingGeometry, hub: HubGeometry, spacer_mm: float) -> list[NamedReading]:
    """Bores for the socket, which are wider than the holes and lie on the street side."""
    if fixing.socket_mm <= fixing.hole_mm:
        return []
    place = (spacer_mm + fixing.seat_land_mm, fixing.circle_mm / 2.0)
    room = (fixing.circle_mm - fixing.socket_mm - hub.bore_mm) / 2.0
    rows = [_room("socket_to_bore", "Socket bore to the bore", room, "It must not break through.", place)]
    if fixing.count > 1:
        room = fixing.circle_mm * math.sin(math.pi / fixing.count) - fixing.socket_mm
        rows.append(
            _room("socket_to_next", "Socket bore to the next", room, "It must not break through.", place)
        )
    return rows


def _bore_end(path: Path, radius: float, spacer_mm: float) -> float | None:
    """Return z of the bore's outboard end, at a radius beside it; None where no metal bears on the hub."""
    beside = [s for s in along_z(path, radius) if s[1] > spacer_mm]
    return beside[0][1] if beside else None


def _fit(
    hub: HubGeometry,
    spacer_mm: float,
    bore_end: float | None,
    rings: Sequence[Ring],
    rows: list[NamedReading],
    asked: list[str],
) -> None:
    if hub.flange_mm is None:
        asked.append("What is the flat outside diameter of the hub flange or disc hat?")
    else:
        note = "The hub pad may not overhang the flat."
        rows.append(
            _room("pad_on_flange", "Hub pad inside the flat", (hub.flange_mm - hub.hub_pad_mm) / 2.0, note)
        )
    if hub.spigot_mm is None:
        asked.append("What is the diameter of the hub's spigot?")
    else:
        row = _room("bore_over_spigot", "Bore over spigot, diameter", hub.bore_mm - hub.spigot_mm, "")
        if row.value > BORE_OVER_MM and not hub.hub_ring:
            row = replace(
                row, state=State.SHORT, note=f"Over {BORE_OVER_MM:g} mm it does not centre without a ring."
            )
        elif hub.hub_ring:
            row = replace(row, note="Centred by a hub ring.")
        rows.append(row)
    if hub.spigot_root_radius_mm is None:
        asked.append("What is the root radius of the hub's spigot?")
    else:
        note = "A smaller chamfer rides on the radius: the wheel sits proud."
        row = _row(
            "chamfer_over_root",
            "Bore chamfer against spigot root",
            hub.chamfer_mm,
            hub.spigot_root_radius_mm,
            note,
        )
        rows.append(row)
    if hub.spigot_length_mm is None:
        asked.append("How long is the hub's spigot?")
    else:
        reach = hub.spigot_length_mm if bore_end is None else min(hub.spigot_length_mm, bore_end)
        engaged = reach - spacer_mm - hub.chamfer_mm
        rows.append(
            _row("spigot_engaged", "Spigot engaged", engaged, SPIGOT_MM, "Starting value, common practice.")
        )
        if hub.spigot_mm is not None:
            rows += _before_the_spigot(hub.spigot_mm / 2.0, hub.spigot_length_mm, rings)


def _before_the_spigot(radius: float, length: float, rings: Sequence[Ring]) -> list[NamedReading]:
    """Room between the spigot's end and what of the wheel's own bodies, a cap say, lies before it."""
    found = []
    for ring in rings:
        z_low, _, r_low, _ = ring.path.bounds
        if r_low < radius:
            name = f"Spigot end to {ring.name}"
            found.append(
                _room(
                    f"spigot_to_{ring.name}", name, z_low - length, "It may not run into it.", (length, r_low)
                )
            )
    return found


def _thread(
    fixing: FixingGeometry, hub: HubGeometry, spacer_mm: float, rows: list[NamedReading], asked: list[str]
) -> None:
    if hub.stud_length_mm is None or hub.thread_mm is None or hub.thread_mm <= 0.0:
        asked.append("How long are the studs over the hub face, and what is their thread?")
        return
    note = "The stud must pass."
    rows.append(_room("hole_over_thread", "Hole over thread, diameter", fixing.hole_mm - hub.thread_mm, note))
    engaged = hub.stud_length_mm - spacer_mm - fixing.seat_land_mm
    share = THREAD_DIAMETERS_ALUMINIUM if hub.aluminium_nut else THREAD_DIAMETERS
    note = f"{share:g} x thread diameter: starting value, common practice."
    rows.append(_row("thread_engaged", "Thread engaged", engaged, share * hub.thread_mm, note))
