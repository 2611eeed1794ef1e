"""What is missing for a full answer; while anything is, the wheel's state is 'not known'."""

from __future__ import annotations

from geometry.readings.drawn import FACE_MM, Drawn, drawn_of
from geometry.readings.places import HubGeometry, RimPlaces
from geometry.readings.rows import GapRow, Held, StockRow, WallRow
from geometry.shape.outline import AGAINST_KINDS, ShapeKind
from geometry.shape.section import Outline, Zone

#: Flange height and width of a rim as drawn lie within these of its size: published limits and then some.
FLANGE_OFF_MM = 2.5
LEAST_LIP_MM = 6.0
MOST_LIP_MM = 20.0

#: No wall is asked for here: the hub is judged by seat land and hub fit.
_HUB_PAD, _BORE, _OUTER_LIP, _INNER_LIP = Zone.HUB_PAD, Zone.BORE, Zone.OUTER_LIP, Zone.INNER_LIP
_HUB_ZONES = (_HUB_PAD, _BORE, Zone.HUB_FACE)
_HUB = tuple(str(zone) for zone in _HUB_ZONES)

#: A hub ends within this of its hub pad; an edge farther out by a hub's name would escape its wall rule.
HUB_MARGIN_MM = 30.0


def questions(
    outline: Outline,
    held: Held,
    gap: tuple[GapRow, ...],
    wall: tuple[WallRow, ...],
    stock: tuple[StockRow, ...],
) -> tuple[str, ...]:
    """Return plain sentences: no shape or rule set, readings without a rule, a hub not drawn in place."""
    out: list[str] = []
    if not held.shapes:
        out.append("No stay-out shape: choose what the wheel must clear.")
    if held.envelope is not True:
        out.append("Does the section hold the envelope of the spoke backs (ribs, bosses, pocket edges)?")
    out += _far_off(outline, held)
    out += drawn_questions(outline, held)
    if held.rules is None:
        return (*out, "No rule set: choose one.")
    out += _without_rule(held, gap)
    zones = [row.zone for row in wall if row.required_mm is None and row.zone not in _HUB]
    if zones:
        out.append(f"No wall rule for {_listed(zones)}: add one to the rule set.")
    zones = [row.zone for row in stock if row.required_mm is None]
    if zones:
        out.append(f"No stock rule for {_listed(zones)}: add one to the rule set.")
    return (*out, *seat_land_questions(held))


def seat_land_questions(held: Held) -> tuple[str, ...]:
    """Return what the rule set leaves open of the seat land."""
    if held.fixing is None or held.rules is None or held.rules.seat_land_mm is not None:
        return ()
    return ("How much seat land is needed? The rule set says nothing of it.",)


def drawn_questions(outline: Outline, held: Held) -> tuple[str, ...]:
    """Return what of a wheel's own rim and hub is not drawn where its record says."""
    out: list[str] = []
    if held.rim is not None:
        out += _rim_as_drawn(drawn_of(outline), held.rim)
    if held.hub is not None:
        out += _hub_as_drawn(drawn_of(outline), held.hub, held.spacer_mm)
    return tuple(out)


def gap_questions(outline: Outline, held: Held, gap: tuple[GapRow, ...]) -> tuple[str, ...]:
    """Return what keeps the gaps alone from being judged: a shape out of place, a zone without a rule."""
    return (*_far_off(outline, held), *(_without_rule(held, gap) if held.rules is not None else ()))


def _without_rule(held: Held, gap: tuple[GapRow, ...]) -> list[str]:
    out = []
    for shape, _ in held.shapes:
        zones = [row.zone for row in gap if row.shape == shape.name and row.required_mm is None]
        if zones:
            out.append(f"No gap rule for a {shape.kind} at {_listed(zones)}: add one to the rule set.")
    return out


def _listed(zones: list[str]) -> str:
    return ", ".join(dict.fromkeys(zones))


#: Parts of body and suspension may lie outside the wheel's own radius, where only its tyre meets them.
_OUTSIDE = (*AGAINST_KINDS, ShapeKind.KNUCKLE, ShapeKind.OTHER)


def _far_off(outline: Outline, held: Held) -> list[str]:
    """Shapes that lie wholly inside the bore or outside the wheel: a unit or a place that is wrong."""
    _, _, least, most = drawn_of(outline).skin
    out = []
    for shape, positions in held.shapes:
        low, high = min(p.bounds[2] for p in positions), max(p.bounds[3] for p in positions)
        if high < least:
            out.append(
                f"{shape.name} lies wholly inside the bore (r up to {high:.1f} mm): is its unit right?"
            )
        elif low > most and shape.kind not in _OUTSIDE:
            out.append(
                f"{shape.name} lies wholly outside the wheel (r from {low:.1f} mm): is its unit right?"
            )
    return out


def _rim_as_drawn(drawn: Drawn, rim: RimPlaces) -> list[str]:
    """The lips must stand where size and inset put them; an unlocked section may be of another size."""
    top = drawn.skin.r_high
    wanted = rim.diameter_mm / 2.0 + rim.flange_height_mm
    if abs(top - wanted) > FLANGE_OFF_MM:
        return [
            f"The section reaches r {top:.1f} mm, its size code asks for {wanted:.1f} mm: which size is it?"
        ]
    outer, inner = drawn.of(_OUTER_LIP), drawn.of(_INNER_LIP)
    for zone, beyond in (
        (_OUTER_LIP, 0.0 if outer is None else outer.z_high - rim.outer_face_z),
        (_INNER_LIP, 0.0 if inner is None else rim.inner_face_z - inner.z_low),
    ):
        if not LEAST_LIP_MM <= beyond <= MOST_LIP_MM:
            return [
                f"The {zone} ends {beyond:.1f} mm outside the flange face of its size and inset, which no "
                "flange does: which size and inset is it?"
            ]
    return []


def _hub_as_drawn(drawn: Drawn, hub: HubGeometry, spacer_mm: float) -> list[str]:
    """The mounting face must lie where the wheel is seated, and bore and hub pad must be named."""
    pad, limit = drawn.of(_HUB_PAD), hub.hub_pad_mm / 2.0 + HUB_MARGIN_MM
    out = [
        f"The section has no edge named {zone}: name it, so that the hub can be judged."
        for zone, found in ((_HUB_PAD, pad), (_BORE, drawn.of(_BORE)))
        if found is None
    ]
    for zone in _HUB_ZONES:
        found = drawn.of(zone)
        if found is not None and found.r_high > limit:
            out.append(
                f"An edge named {zone} lies at r {found.r_high:.1f} mm, beyond the hub: which zone is it?"
            )
    if pad is not None:
        if drawn.face_z is None:
            out.append("The hub pad has no flat square to the axle: draw the mounting face at z 0.")
        elif abs(z := drawn.face_z - spacer_mm) > FACE_MM:
            out.append(f"The section's mounting face lies at z {z:.2f} mm instead of 0: move it there.")
    return out
