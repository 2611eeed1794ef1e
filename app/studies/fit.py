"""The live study: one wheel of a project held against its shapes, rules and blank."""

from __future__ import annotations

import operator
from dataclasses import dataclass, fields, replace

from app.project.project import Project
from app.project.wheel import Fixing, SingleNut, Wheel
from app.studies.usable_blank import normal_mm, usable_path
from geometry.errors import GeometryError
from geometry.readings.measure import Held, Measurements, Ring, measure
from geometry.readings.places import FixingGeometry, HubGeometry, RimPlaces, SingleNutGeometry
from geometry.readings.solid import BoltHoles, SpokeRegion
from geometry.shape.curve import Path
from geometry.shape.faults import Fault
from geometry.shape.outline import StayOut, placed_outline
from geometry.shape.published import flange_row, specified_diameter_mm, width_mm
from geometry.shape.section import Outline, build

#: Of a wheel all but its vertices, which `hold` does not look at.
_BUT_VERTICES = operator.attrgetter(*(f.name for f in fields(Wheel) if f.name != "vertices"))
#: What was held last, with what it was made from: values are immutable, so identity tells.
_LAST: dict[str, tuple[tuple[object, ...], Held | tuple[Fault, ...]]] = {}


@dataclass(frozen=True)
class Measured:
    """A wheel's outline in the hub's frame and every reading, or its faults and neither.

    Attributes:
        faults: empty exactly when outline and measurements are there.
    """

    outline: Outline | None
    faults: tuple[Fault, ...]
    measurements: Measurements | None


def measure_wheel(project: Project, wheel: Wheel) -> Measured:
    """Return the readings of one wheel of the project, or the faults that keep it from having any."""
    try:
        built = build(wheel.section)
    except GeometryError as error:
        return Measured(None, (Fault("not an outline", str(error), error.place),), None)
    if isinstance(built, tuple):
        return Measured(None, tuple(_moved(f, wheel.spacer_mm) for f in built), None)
    outline = built.moved(wheel.spacer_mm)
    held = hold(project, wheel)
    if isinstance(held, tuple):
        return Measured(None, held, None)
    try:
        return Measured(outline, (), measure(outline, held))
    except GeometryError as error:
        return Measured(None, (Fault("no readings", str(error), error.place),), None)


def hold(project: Project, wheel: Wheel) -> Held | tuple[Fault, ...]:
    """Return what the wheel is held against, in the hub's frame, or the faults of its shapes and blank.

    A name that the project does not hold, or a part that no outline can have, gives a fault that says so.
    What a drag of vertices leaves as it was is the same object again, with all that was worked out of it.
    """
    key = (project.shapes, project.blanks, project.rule_sets, project.materials, *_BUT_VERTICES(wheel))
    last = _LAST.get("held")
    if last is not None and all(map(operator.is_, last[0], key)):
        return last[1]
    try:
        held = _hold(project, wheel)
    except GeometryError as error:
        return (Fault("not an outline", str(error), error.place),)
    _LAST["held"] = (key, held)
    return held


def held_against(project: Project, held: Held, name: str) -> Held | tuple[Fault, ...]:
    """Return what a wheel is held against with one shape in place of all, or that shape's faults."""
    try:
        shapes, faults = _placed(project, (name,))
    except GeometryError as error:
        return (Fault("not an outline", str(error), error.place),)
    return tuple(faults) or replace(held, shapes=tuple(shapes))


def _placed(
    project: Project, names: tuple[str, ...]
) -> tuple[list[tuple[StayOut, tuple[Path, ...]]], list[Fault]]:
    """Return the named shapes with their outlines in the hub's frame, and their faults."""
    faults: list[Fault] = []
    shapes: list[tuple[StayOut, tuple[Path, ...]]] = []
    for name in names:
        shape = next((s for s in project.shapes if s.name == name), None)
        if shape is None:
            faults.append(_absent("stay-out shape", name))
            continue
        if not shape.outlines:
            faults.append(Fault("no outline", f"The stay-out shape '{name}' has no outline; draw one.", None))
            continue
        paths = [placed_outline(o.corners, shape.shift_mm) for o in shape.outlines]
        faults += [_named(f, f"stay-out shape '{name}'") for p in paths if isinstance(p, tuple) for f in p]
        shapes.append((shape, tuple(p for p in paths if isinstance(p, Path))))
    return shapes, faults


def _hold(project: Project, wheel: Wheel) -> Held | tuple[Fault, ...]:
    shapes, faults = _placed(project, wheel.clears)
    blank = blank_path = usable = None
    if wheel.blank is not None:
        blank = next((b for b in project.blanks if b.name == wheel.blank), None)
        if blank is None:
            faults.append(_absent("blank", wheel.blank))
        else:
            path = placed_outline(blank.corners, wheel.seat_mm + wheel.spacer_mm)
            if isinstance(path, tuple):
                faults += [_named(f, f"blank '{blank.name}'") for f in path]
            else:
                blank_path = path
                try:
                    usable = usable_path(project, blank)
                except GeometryError as error:
                    faults.append(Fault("blank", f"blank '{blank.name}': {error}", error.place))
    rules = next((r for r in project.rule_sets if r.name == wheel.rules), None)
    if wheel.rules is not None and rules is None:
        faults.append(_absent("rule set", wheel.rules))
    material = next((m for m in project.materials if m.name == wheel.material), None)
    if material is None:
        faults.append(_absent("material", wheel.material))
    if faults or material is None:
        return tuple(faults)
    return Held(
        shapes=tuple(shapes),
        rules=rules,
        rings=tuple(
            _ring(r.name, r.z_low, r.z_high, r.r_low, r.r_high, wheel.spacer_mm) for r in wheel.rings
        ),
        blank_name=blank.name if blank is not None else "",
        blank=blank_path,
        usable=None if usable is None else usable.moved(dz=wheel.seat_mm + wheel.spacer_mm),
        skin_mm=normal_mm(blank) if blank is not None else 0.0,
        density_kg_m3=material.density_kg_m3,
        spokes=spokes_of(wheel),
        holes=holes_of(wheel),
        spacer_mm=wheel.spacer_mm,
        envelope=wheel.spokes.holds_envelope if wheel.spokes is not None else None,
        rim=_rim_places(wheel),
        fixing=_fixing(wheel),
        hub=HubGeometry(**vars(wheel.hub)),
        coating=wheel.coating.geometry,
    )


def _absent(kind: str, name: str) -> Fault:
    return Fault("missing part", f"The {kind} '{name}' is not in the project; choose another.", None)


def _named(fault: Fault, what: str) -> Fault:
    return Fault(fault.kind, f"{what}: {fault.message}", fault.place)


def _moved(fault: Fault, dz: float) -> Fault:
    place = None if fault.place is None else (fault.place[0] + dz, fault.place[1])
    return Fault(fault.kind, fault.message, place, fault.vertices)


def _ring(name: str, z0: float, z1: float, r0: float, r1: float, dz: float) -> Ring:
    return Ring(name, Path.closed([(z0, r0), (z1, r0), (z1, r1), (z0, r1)]).moved(dz))


def _rim_places(wheel: Wheel) -> RimPlaces | None:
    """Flange faces half the width either side of the rim centre plane; None for an unknown size."""
    try:
        half = width_mm(wheel.size.width_code) / 2.0
        diameter = specified_diameter_mm(wheel.size.diameter_code)
        height = flange_row(wheel.size.diameter_code, wheel.size.flange).g.value
    except GeometryError:
        return None
    centre = wheel.spacer_mm - wheel.inset_mm
    return RimPlaces(centre + half, centre - half, diameter, height)


def _fixing(wheel: Wheel) -> FixingGeometry | SingleNutGeometry | None:
    f = wheel.fixing
    if isinstance(f, SingleNut):
        return SingleNutGeometry(f.seat_land_mm, f.pins, f.pin_circle_mm, f.pin_hole_mm)
    if isinstance(f, Fixing):
        return FixingGeometry(f.count, f.circle_mm, f.hole_mm, f.seat_land_mm, f.socket_mm)
    return None


def spokes_of(wheel: Wheel) -> SpokeRegion | None:
    """Return the wheel's spoke region in the frame of the hub, None for a full disc."""
    s = wheel.spokes
    if s is None or s.count == 0:
        return None
    dz = wheel.spacer_mm
    return SpokeRegion(
        s.count,
        s.widths,
        s.hub_circle_mm,
        (s.shoulder_cut[0] + dz, s.shoulder_cut[1]),
        (s.lip_cut[0] + dz, s.lip_cut[1]),
    )


def holes_of(wheel: Wheel) -> tuple[BoltHoles, ...]:
    """Return through holes, and socket bores from the street side down to the seat as their larger part."""
    dz = wheel.spacer_mm
    f = wheel.fixing
    if isinstance(f, SingleNut):
        return (BoltHoles(f.pins, f.pin_circle_mm, f.pin_hole_mm),) if f.pins else ()
    if not isinstance(f, Fixing) or f.count == 0:
        return ()
    if f.socket_mm <= f.hole_mm:
        return (BoltHoles(f.count, f.circle_mm, f.hole_mm),)
    seat = f.seat_land_mm + dz
    return (
        BoltHoles(f.count, f.circle_mm, f.hole_mm, z_high=seat),
        BoltHoles(f.count, f.circle_mm, f.socket_mm, z_low=seat),
    )
