"""A fitment turned into the wheel that it needs: its drawn wheel cut to order, or a starting family's."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.project import edits, wheel_edits
from app.project.new_items import new_wheel
from app.project.project import Fitment, Project
from app.project.wheel import Fixing, SizeCode, Wheel
from app.studies.fit import measure_wheel
from app.studies.offers import Change, relief
from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.outline import ShapeKind, placed_outline
from geometry.shape.section import Side, Zone

#: Insets of a window are looked at from one to the next by this, mm; closer where the spare asks for it.
STEP_MM = 5.0
#: A reading that misses its need by less is met, mm.
_MET_MM = 0.01
#: A fitment's brake takes the place of these.
_BRAKES = (ShapeKind.CALIPER, ShapeKind.SHIELD)
_LIP, _BACK = (Zone.INNER_LIP, Zone.INNER_SEAT), (Zone.SPOKE_BACK, Zone.SHOULDER)


@dataclass(frozen=True)
class NeedWheel:
    """The wheel that a fitment asks for.

    Attributes:
        wheel: at the low end of the inset window, under the fitment's name, in no blank; None where it cannot
            be drawn.
        insets: that every one of must be cut and clear, mm, rising.
        unknown: what has to be known first, each a sentence; then nothing about the row is known.
        notes: what was taken from elsewhere, each a sentence.
    """

    wheel: Wheel | None
    insets: tuple[float, ...]
    unknown: tuple[str, ...]
    notes: tuple[str, ...]


def need_wheel(project: Project, fitment: Fitment, *, compromise: bool = False) -> NeedWheel:
    """Return the wheel that a fitment asks for, or that its stated compromise does.

    Raises:
        EditError: a name that the project does not hold.
    """
    asked = compromised(fitment) if compromise else fitment
    notes: list[str] = []
    unknown = list(_unknown(project, asked, notes))
    low, high = asked.inset_low_mm, asked.inset_high_mm
    low = high if low is None else low
    high = low if high is None else high
    if low is None or high is None:
        unknown.append("The inset is not known: give one or a window.")
    elif low > high:
        unknown.append(f"The inset window runs backwards, {low:g} to {high:g}: exchange them.")
    if unknown or low is None or high is None:
        return NeedWheel(None, (), tuple(unknown), tuple(notes))
    try:
        made = (
            _drawn(project, asked, low, notes) if asked.wheel is None else _cut_to_order(project, asked, low)
        )
        made = _with_needs(project, made, asked)
    except GeometryError as error:
        return NeedWheel(None, (), (f"The wheel cannot be drawn: {error}",), tuple(notes))
    made = replace(made, name=fitment.name, blank=None, seat_mm=0.0, spacer_mm=0.0)
    return NeedWheel(made, _insets(low, high), (), tuple(notes))


def compromised(fitment: Fitment) -> Fitment:
    """Return what a fitment asks for by its stated compromise.

    Raises:
        ValueError: it states none.
    """
    given = fitment.compromise
    if given is None:
        raise ValueError(f"Fitment {fitment.name} states no compromise.")
    kept = {
        name: value
        for name in ("width_code", "inset_low_mm", "inset_high_mm", "lip_mm")
        if (value := getattr(given, name)) is not None
    }
    return replace(fitment, shape=fitment.compromise_shape or fitment.shape, **kept)


def _insets(low: float, high: float) -> tuple[float, ...]:
    count = max(1, round((high - low) / STEP_MM + 0.5)) if high > low else 0
    return tuple(low + (high - low) * k / count for k in range(count + 1)) if count else (low,)


def _unknown(project: Project, asked: Fitment, notes: list[str]) -> list[str]:
    """Return what is not known of brake, rules, size and hub."""
    base = None if asked.wheel is None else edits.find(project, edits.WHEEL, asked.wheel)
    found = []
    if asked.shape is None and (base is None or not base.clears):
        found.append("The brake is not known: name its stay-out shape.")
    elif asked.shape is None:
        notes.append("What its wheel must clear stands for the brake.")
    if asked.rules is None and (base is None or base.rules is None):
        found.append("No rule set is named.")
    if base is None:
        if asked.diameter_code is None or asked.width_code is None:
            found.append("The size is not known: give diameter and width.")
        hub = (asked.bolt_count, asked.bolt_circle_mm, asked.bore_mm)
        if None in hub:
            found.append("The hub is not known: give bolts, bolt circle and bore, or name a drawn wheel.")
        return found
    taken = [
        words
        for words, value in (
            ("bolts", asked.bolt_count),
            ("bolt circle", asked.bolt_circle_mm),
            ("bore", asked.bore_mm),
            ("rule set", asked.rules),
        )
        if value is None
    ]
    if taken:
        notes.append(f"What its wheel has stands for what the row leaves open: {', '.join(taken)}.")
    if {asked.flange, base.size.flange} not in ({asked.flange}, {"J", "JJ"}):
        found.append(f"The flange asked is {asked.flange}, its wheel has {base.size.flange}: which holds?")
    if asked.diameter_code is None or asked.width_code is None:
        notes.append(f"Its wheel's size {base.size} stands for what the row leaves open.")
    return found


def _cut_to_order(project: Project, asked: Fitment, inset_mm: float) -> Wheel:
    """Return the named wheel in the size, inset, bore and bolt circle that are asked for."""
    wheel: Wheel = edits.find(project, edits.WHEEL, str(asked.wheel))
    if asked.diameter_code is not None and asked.diameter_code != wheel.size.diameter_code:
        wheel = wheel_edits.with_diameter(wheel, asked.diameter_code)
    if asked.width_code is not None and asked.width_code != wheel.size.width_code:
        wheel = wheel_edits.with_width(wheel, asked.width_code)
    if inset_mm != wheel.inset_mm:
        wheel = wheel_edits.with_inset(wheel, inset_mm)
    if asked.bore_mm is not None:
        wheel = _with_bore(wheel, asked.bore_mm)
    fixing = wheel.fixing
    if isinstance(fixing, Fixing):
        count, circle = asked.bolt_count or fixing.count, asked.bolt_circle_mm or fixing.circle_mm
        wheel = replace(wheel, fixing=replace(fixing, count=count, circle_mm=circle))
    return _held(project, wheel, asked)


def _held(project: Project, wheel: Wheel, asked: Fitment) -> Wheel:
    """Return the wheel with the fitment's brake, rules, tyre and load, and conditions of the road."""
    conditions = wheel.conditions
    if conditions is None and project.conditions:
        conditions = project.conditions[0].name
    return replace(
        wheel,
        clears=_cleared(project, wheel, asked),
        rules=asked.rules or wheel.rules,
        conditions=conditions,
        tyre=asked.tyre or wheel.tyre,
        load_kg=asked.load_kg or wheel.load_kg,
    )


def _cleared(project: Project, wheel: Wheel, asked: Fitment) -> tuple[str, ...]:
    """Return the fitment's brake, and what else of the car the drawn wheel must clear."""
    if asked.shape is None:
        return wheel.clears
    brakes = {s.name for s in project.shapes if s.kind in _BRAKES}
    return (asked.shape, *(name for name in wheel.clears if name not in brakes and name != asked.shape))


def _with_bore(wheel: Wheel, bore_mm: float) -> Wheel:
    """Return the wheel with another bore.

    Raises:
        GeometryError: its bore is no straight edge parallel to the axle.
    """
    section = wheel.section
    old = wheel.hub.bore_mm / 2.0
    if bore_mm / 2.0 == old:
        return wheel
    vertices, n = section.vertices, len(section.vertices)
    at = [k for k in range(n) if vertices[k].zone is Zone.BORE]
    moved = {k for i in at for k in (i, (i + 1) % n) if abs(vertices[k].r - old) < 0.5}
    if not moved:
        raise GeometryError(f"The wheel's bore of {wheel.hub.bore_mm:g} mm is no edge that could be moved.")
    changed = tuple(
        replace(v, r=v.r + bore_mm / 2.0 - old) if k in moved else v for k, v in enumerate(vertices)
    )
    wheel = wheel.with_section(replace(section, vertices=changed))
    return replace(wheel, hub=replace(wheel.hub, bore_mm=bore_mm))


def _drawn(project: Project, asked: Fitment, inset_mm: float, notes: list[str]) -> Wheel:
    """Return a wheel of the starting family whose spoke backs follow the brake."""
    assert asked.diameter_code is not None
    assert asked.width_code is not None
    shape = edits.find(project, edits.SHAPE, str(asked.shape))
    paths = [placed_outline(o.corners, shape.shift_mm) for o in shape.outlines]
    wheel = new_wheel(
        asked.name,
        SizeCode(asked.diameter_code, asked.width_code, asked.flange),
        inset_mm,
        bore_mm=float(asked.bore_mm or 0.0),
        bolt_count=int(asked.bolt_count or 0),
        bolt_circle_mm=float(asked.bolt_circle_mm or 0.0),
        brake=[p for p in paths if isinstance(p, Path)],
    )
    notes.append("No wheel is named: one of the starting family stands for it, its spoke backs at the brake.")
    if project.materials:
        wheel = replace(wheel, material=project.materials[0].name)
    return _held(project, wheel, asked)


def _with_needs(project: Project, wheel: Wheel, asked: Fitment) -> Wheel:
    """Return the wheel with at least the lip and the spoke depth that are asked for.

    Raises:
        GeometryError: they cannot be drawn.
    """
    for need, key, zones, dz, dr in (
        (asked.lip_mm, "inner_lip_under_heel", _LIP, 0.0, -1.0),
        (asked.spoke_mm, "spoke_depth_least", _BACK, -1.0, 0.0),
    ):
        if need is not None:
            wheel = _thickened(project, wheel, need, key, relief(wheel, zones, Side.BRAKE, dz, dr))
    return wheel


def _thickened(project: Project, wheel: Wheel, need: float, key: str, change: Change) -> Wheel:

    def value(of: Wheel) -> float:
        bare = replace(of, clears=(), rings=(), blank=None, spacer_mm=0.0)
        found = measure_wheel(project, bare).measurements
        read = None if found is None else next((r.value for r in found.lip if r.key == key), None)
        if read is None:
            raise GeometryError(
                f"The wheel has no reading '{key.replace('_', ' ')}' to hold the need against."
            )
        return float(read)

    now = value(wheel)
    by = 0.0
    # The reading grows a little slower than the change; a few steps meet it.
    for _ in range(20):
        if now >= need - _MET_MM:
            return wheel if by == 0.0 else change(by)
        by += 1.02 * (need - now)
        now = value(change(by))
    raise GeometryError(f"The {key.replace('_', ' ')} cannot be brought to {need:g} mm; it reads {now:.2f}.")
