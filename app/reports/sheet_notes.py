"""The notes of a section sheet: tolerances, walls, surfaces, stage and blank, and what it was judged by."""

from __future__ import annotations

from collections.abc import Sequence

from app.project.coating import CURE, Coat, Coating
from app.project.project import Project
from app.project.sheet import SheetSettings
from app.project.sides import PAIR, side_words
from app.project.wheel import Side, Wheel
from app.reports.numbers import Numbers
from app.reports.sentences import coating_words
from app.reports.sheet_figure import (
    NOT_STATED,
    angle_either_way,
    at_most,
    either_way,
    over,
    seat_name,
    wall_words,
)
from app.reports.sources import rules_name
from app.studies.fit import Measured

Notes = tuple[tuple[str, tuple[str, ...]], ...]


def notes(
    project: Project,
    wheel: Wheel,
    measured: Measured,
    least: Sequence[str],
    missing: Sequence[str],
    starting: Sequence[str],
    numbers: Numbers,
) -> Notes:
    """Return titled lines in reading order.

    Args:
        project: holds what the wheel names, and the sheet's settings.
        wheel: whose sheet it is.
        measured: its readings.
        least: sentences, the least to spare first.
        missing: what is not stated.
        starting: what still has the value it was shipped with.
        numbers: the project's unit.
    """
    settings = project.sheet
    found: list[tuple[str, tuple[str, ...]]] = []
    if missing:
        found.append(("Not stated", (f"{'; '.join(missing)}.",)))
    found += [
        (
            "Datums",
            ("A: mounting face. B: axis of the bore. Run-out and position are to A-B, run-out total.",),
        ),
        ("Tolerances", tuple(_tolerances(settings, wheel, numbers))),
        ("Walls", _walls(measured, numbers)),
        ("Surfaces and finish", tuple(_surfaces(settings, wheel.coating, numbers))),
        ("Stage and blank", (settings.stage or NOT_STATED, f"Blank: {_blank(project, wheel)}")),
        ("Rim and hub", tuple(_rim(wheel, numbers))),
        ("Marking place", (settings.marking or NOT_STATED,)),
        ("Judged by", tuple(_judged(project, wheel, least, numbers))),
    ]
    if starting:
        found.append(("Starting values, not yet our own", (f"{'; '.join(starting)}.",)))
    return tuple((title, lines) for title, lines in found if lines)


def _tolerances(s: SheetSettings, wheel: Wheel, n: Numbers) -> list[str]:
    lines = [
        f"Inset {either_way(s.inset_mm, n)}; width between the flanges {either_way(s.width_mm, n)}.",
        f"Bead seats: diameter {either_way(s.seat_diameter_mm, n)}; run-out of seats and flanges radial "
        f"{at_most(s.radial_run_out_mm, n)}, axial {at_most(s.axial_run_out_mm, n)}.",
        f"Mounting face: flat within {at_most(s.flatness_mm, n)}. Bore {over(s.bore_mm, n)}.",
        f"Holes {over(s.hole_mm, n)}, axes within Ø {at_most(s.hole_position_mm, n)}.",
    ]
    if wheel.fixing is not None:
        lines.append(
            f"Bolt seats: {seat_name(wheel.fixing, s, n)}; depth {either_way(s.seat_land_mm, n)}, "
            f"angle {angle_either_way(s.seat_angle_deg)}."
        )
    lines.append(f"Brake side, all of it: {either_way(s.surface_mm, n)}.")
    lines.append(s.general or f"General tolerance: {NOT_STATED}.")
    return lines


def _walls(measured: Measured, n: Numbers) -> tuple[str, ...]:
    if measured.measurements is None:
        return ()
    rows = [
        f"{row.zone} {wall_words(row, n)} (drawn {n.length(row.least_mm)})"
        for row in measured.measurements.wall
    ]
    return (f"Least anywhere in the zone, tolerances included: {'; '.join(rows)}.",)


def _surfaces(s: SheetSettings, coating: Coating, n: Numbers) -> list[str]:
    def ra(value: float | None) -> str:
        return NOT_STATED if value is None else f"Ra {value:g} µm"

    return [
        f"Mounting face and bore {ra(s.face_ra_um)}; bead seats {ra(s.seat_ra_um)}; all else "
        f"{ra(s.other_ra_um)}.",
        f"Edges: {s.edges or NOT_STATED}.",
        f"Finish: {s.finish or NOT_STATED}.",
        f"Coating on the brake side: at most {at_most(s.coating_mm, n)}.",
        f"Coating: {NOT_STATED if coating.kind is Coat.OPEN else coating_words(coating, n)}.",
        *([CURE] if coating.kind is Coat.POWDER else []),
    ]


def _blank(project: Project, wheel: Wheel) -> str:
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    if blank is None:
        return NOT_STATED if wheel.blank is None else f"{wheel.blank}, which the project does not hold"
    source = f" {blank.source}" if blank.source else ""
    return f"{blank.name} ({blank.supply}, {blank.state}), the thin double-dotted line.{source}"


def _rim(wheel: Wheel, n: Numbers) -> list[str]:
    rim, hub = wheel.rim, wheel.hub
    if rim is not None:
        lines = [f"Tyre side: locked contour {wheel.size}, humps: {rim.humps}, well {rim.well}."]
    elif wheel.unlocked is not None:
        lines = [f"Tyre side: as drawn; unlocked by {wheel.unlocked.by} on {wheel.unlocked.on}."]
    else:
        lines = ["Tyre side: as drawn; it never was a locked contour."]
    lines.append(
        f"Hub pad Ø {n.length(hub.hub_pad_mm)}, bore Ø {n.length(hub.bore_mm)}, for a spigot of "
        f"{'Ø ' + n.length(hub.spigot_mm) if hub.spigot_mm is not None else NOT_STATED}."
    )
    if side_words(wheel):
        lines.append(PAIR if wheel.side is Side.PAIR else f"For the {side_words(wheel)} side of the vehicle.")
    lines += [f"Ring body: {ring.name}." for ring in wheel.rings]
    return lines


def _judged(project: Project, wheel: Wheel, least: Sequence[str], numbers: Numbers) -> list[str]:
    shapes = [s for name in wheel.clears for s in project.shapes if s.name == name]
    rules = next((r for r in project.rule_sets if r.name == wheel.rules), None)
    road = next((c for c in project.conditions if c.name == wheel.conditions), None)
    named = "; ".join(f"{s.name} ({s.card.grade})" for s in shapes) or "no stay-out shape"
    lines = [
        f"Held against: {named}.",
        f"Rules: {NOT_STATED if rules is None else rules_name(rules)}.",
        f"Worst state: {NOT_STATED if road is None else f'{road.name}, revision {road.revision}'}.",
    ]
    if wheel.spacer_mm:
        lines.append(f"With a spacer of {numbers.length(wheel.spacer_mm, with_unit=True)}.")
    return lines + [f"Least to spare: {words}." for words in least[:1]]
