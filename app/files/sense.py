"""Values of a project that contradict each other or cannot be: each would turn into a wrong reading."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from app.project.coating import Coat, Coating
from app.project.project import Compromise, Material, Project
from app.project.sheet import SheetSettings
from app.project.strength import CASES, StrengthSettings
from app.project.wheel import RingBody, Spokes, Wheel
from geometry.forging.presses import ABOVE_0, MOST_PRESSES, Press
from geometry.readings.conditions import Conditions
from geometry.shape.blank import Blank, SpunFrom, Supply, Tolerance, ToolLimits
from geometry.shape.held import (
    COUNTS,
    DIMENSION_COUNTS,
    DRIVEN_COUNTS,
    VALUED,
    AddedDimension,
    Constraint,
    Dimensioned,
    Drive,
    Hold,
)
from geometry.shape.outline import Extent, SourceCard, StayOut
from geometry.tolerances import LARGEST_MM

#: No drawing holds more gap than this; a larger number is a typing error that would hide a short one.
LARGEST_INCLUDED_MM = 20.0
#: A hat beyond this is its height or a typing error.
LARGEST_HAT_MM = 30.0


def nonsense(part: Any) -> Iterator[tuple[str, str]]:
    """Yield field and sentence of what is wrong with one part of a project, itself and not its parts."""
    check = _CHECKS.get(type(part))
    if check is not None:
        yield from check(part)


def _material(m: Material) -> Iterator[tuple[str, str]]:
    if m.density_kg_m3 <= 0.0:
        yield "density_kg_m3", f"is {m.density_kg_m3:g}; it must be above zero"

    given = [v for v in (m.elastic_mpa, m.poisson, m.yield_mpa, m.ultimate_mpa) if v is not None]
    if given and len(given) < 4:
        yield "elastic_mpa", "goes with Poisson's ratio, yield and tensile strength; give all four or none"
    if m.poisson is not None and not 0.0 <= m.poisson < 0.5:
        yield "poisson", f"is {m.poisson:g}; it must be from 0 to below 0.5"
    for name in ("elastic_mpa", "yield_mpa", "ultimate_mpa"):
        if getattr(m, name) == 0.0:
            yield name, "is 0; it must be above zero"
    if not -1.0 <= m.fatigue_ratio < 1.0:
        yield "fatigue_ratio", f"is {m.fatigue_ratio:g}; it must be from -1 to below 1"
    if len(m.fatigue) == 1:
        yield "fatigue", "has one point; a table needs two or more"
    if any(p.cycles < 1.0 or p.stress_mpa <= 0.0 for p in m.fatigue):
        yield "fatigue", "has a point without a cycle or without stress"
    if any(b.cycles <= a.cycles or b.stress_mpa >= a.stress_mpa for a, b in pairwise(m.fatigue)):
        yield "fatigue", "must rise in cycles and fall in stress"


def _strength(s: StrengthSettings) -> Iterator[tuple[str, str]]:
    for name in ("surface", "size", "forging", "temperature", "coating"):
        if not 0.0 < getattr(s, name) <= 1.0:
            yield name, f"is {getattr(s, name):g}; it must be above 0 and up to 1, 1 leaves it out"
    if s.dent_mm == 0.0:
        yield "dent_mm", "is 0; it must be above zero"
    named = (*s.cases, *(own.case for own in s.constants), *(p.case for p in s.prices))
    unknown = [c for c in named if c not in CASES]
    if unknown:
        yield "cases", f'names "{unknown[0]}"; there are {", ".join(CASES)}'
    if len(set(s.cases)) < len(s.cases):
        yield "cases", "names a case twice"
    symbols = [(own.case, own.symbol) for own in s.constants]
    if len(set(symbols)) < len(symbols):
        yield "constants", "sets a constant twice"
    if len({p.case for p in s.prices}) < len(s.prices):
        yield "prices", "gives a test two prices"


def _shape(s: StayOut) -> Iterator[tuple[str, str]]:
    if not s.outlines:
        yield "outlines", "is empty; a stay-out shape has at least one outline"
    if any(c.kind is Hold.CLEAR for o in s.outlines for c in o.constraints):
        yield "outlines", f"are held '{Hold.CLEAR}' a shape; that is for wheels"
    low, high = s.clock_low_deg, s.clock_high_deg
    if (low is None) != (high is None):
        yield "clock_high_deg", "and clock_low_deg belong together; give both angles or neither"
    elif low is not None and high is not None and not -360.0 <= low <= high <= 360.0:
        yield "clock_high_deg", f"is {high:g} with clock_low_deg {low:g}; angles rise, within 360 either way"


#: More than this is no condition of the road but a wrong unit.
MOST_TILT_DEG, MOST_LOSS_MM, MOST_K, MOST_PER_K = 5.0, 20.0, 1000.0, 1e-4
CONDITION_LIMITS = {
    "camber_deg": MOST_TILT_DEG,
    "toe_deg": MOST_TILT_DEG,
    "axial_run_out_mm": MOST_LOSS_MM,
    "radial_run_out_mm": MOST_LOSS_MM,
    "inset_mm": MOST_LOSS_MM,
    "spacer_mm": MOST_LOSS_MM,
    "surface_mm": MOST_LOSS_MM,
    "coating_mm": MOST_LOSS_MM,
    "wheel_hot_k": MOST_K,
    "brake_hot_k": MOST_K,
    "wheel_per_k": MOST_PER_K,
    "brake_per_k": MOST_PER_K,
    "spread_mm": MOST_LOSS_MM,
    "brake_outboard_mm": 3.0 * MOST_LOSS_MM,
    "barrel_mm": MOST_LOSS_MM,
    "lip_mm": MOST_LOSS_MM,
}


def _conditions(c: Conditions) -> Iterator[tuple[str, str]]:
    for name, most in CONDITION_LIMITS.items():
        if getattr(c, name) > most:
            yield name, f"is {getattr(c, name):g}; more than {most:g} is no condition of the road"
    if abs(c.bearing_z_mm) > 1000.0:
        yield "bearing_z_mm", f"is {c.bearing_z_mm:g}; the bearing lies within 1000 of the mounting face"


def _included(c: SourceCard) -> Iterator[tuple[str, str]]:
    if c.included_gap_mm > LARGEST_INCLUDED_MM:
        yield (
            "included_gap_mm",
            f"is {c.included_gap_mm:g}; no outline holds more than {LARGEST_INCLUDED_MM:g}",
        )


def _hat(c: SourceCard) -> Iterator[tuple[str, str]]:
    yield from _included(c)
    if c.hat_mm is not None and c.hat_mm > LARGEST_HAT_MM:
        yield "hat_mm", f"is {c.hat_mm:g}; no disc hat is thicker than {LARGEST_HAT_MM:g}"


def _extent(e: Extent) -> Iterator[tuple[str, str]]:
    for low, high in (("z_low", "z_high"), ("cut_r_low", "cut_r_high")):
        a, b = getattr(e, low), getattr(e, high)
        if a is not None and b is not None and a >= b:
            yield high, f"is {b:g}, not above {low} {a:g}; exchange them"


def _ring(r: RingBody) -> Iterator[tuple[str, str]]:
    for low, high in (("z_low", "z_high"), ("r_low", "r_high")):
        a, b = getattr(r, low), getattr(r, high)
        if a >= b:
            yield high, f"is {b:g}, not above {low} {a:g}; give the ring body a size"


def _spokes(s: Spokes) -> Iterator[tuple[str, str]]:
    if s.count > 0 and not s.widths:
        yield "widths", "is empty; name at least one radius and width"
    if any(b[0] < a[0] for a, b in zip(s.widths[:-1], s.widths[1:], strict=True)):
        yield "widths", "do not rise in r; put them in order"
    if any(r < 0.0 or w < 0.0 for r, w in s.widths):
        yield "widths", "hold a negative number; radius and width are zero or more"


def _wheel(w: Wheel) -> Iterator[tuple[str, str]]:
    rim, size = w.rim, w.size
    if rim is not None and (rim.diameter_code, rim.width_code) != (size.diameter_code, size.width_code):
        drawn = f"{rim.diameter_code:g} x {rim.width_code:g}"
        yield "size", f"is {size}, but the locked contour is {drawn}; make them agree"


#: More than this is no tolerance of a turned wheel but a wrong unit.
_MOST_MM, _MOST_DEG, _MOST_RA_UM = 20.0, 45.0, 100.0
SHEET_LIMITS = {
    "inset_mm": _MOST_MM,
    "width_mm": _MOST_MM,
    "seat_diameter_mm": _MOST_MM,
    "radial_run_out_mm": _MOST_MM,
    "axial_run_out_mm": _MOST_MM,
    "flatness_mm": _MOST_MM,
    "bore_mm": _MOST_MM,
    "hole_mm": _MOST_MM,
    "hole_position_mm": _MOST_MM,
    "seat_land_mm": _MOST_MM,
    "seat_angle_deg": _MOST_DEG,
    "surface_mm": _MOST_MM,
    "coating_mm": _MOST_MM,
    "face_ra_um": _MOST_RA_UM,
    "seat_ra_um": _MOST_RA_UM,
    "other_ra_um": _MOST_RA_UM,
}


def _sheet(s: SheetSettings) -> Iterator[tuple[str, str]]:
    for name, most in SHEET_LIMITS.items():
        value = getattr(s, name)
        if value is not None and value > most:
            yield name, f"is {value:g}; more than {most:g} is no tolerance of a turned wheel"


#: More than this is no tolerance of a forging but a wrong unit.
MOST_TOLERANCE_MM = 30.0


def _tolerance(t: Tolerance) -> Iterator[tuple[str, str]]:
    for name in ("minus_mm", "plus_mm"):
        if getattr(t, name) > MOST_TOLERANCE_MM:
            yield name, f"is {getattr(t, name):g}; no forging differs by more than {MOST_TOLERANCE_MM:g}"


def _blank(b: Blank) -> Iterator[tuple[str, str]]:
    causes = [t.cause for t in b.tolerances]
    for cause in sorted({c for c in causes if causes.count(c) > 1}):
        yield "tolerances", f"name '{cause}' twice; keep one"
    if any(c.kind is Hold.CLEAR for c in b.constraints):
        yield "constraints", f"hold it '{Hold.CLEAR}' a shape; that is for wheels"
    for name in ("measured_least", "measured_greatest"):
        if getattr(b, name) == b.name:
            yield name, "is the blank itself; name the blank that holds the measured outline"
    for name in ("measured_pieces", "die_shared_by"):
        if getattr(b, name) is not None and getattr(b, name) < 1:
            yield name, f"is {getattr(b, name)}; it must be one or more"
    if b.variant_of == b.name:
        yield "variant_of", "is the blank itself; name the blank whose dies it is forged with"
    pieces = [step.pieces for step in b.price_steps]
    if pieces != sorted(set(pieces)):
        yield "price_steps", "do not rise in pieces; put them in order, each once"
    if b.spun is not None and b.supply is not Supply.SPUN:
        yield "spun", f"is given of a blank whose supply is '{b.supply}'; make that 'spun', or leave it out"


def _spun(s: SpunFrom) -> Iterator[tuple[str, str]]:
    if s.reduction is not None and not 0.0 <= s.reduction < 1.0:
        yield "reduction", f"is {s.reduction:g}; give the share that a wall loses, from 0 to below 1"
    if s.passes is not None and s.passes < 1:
        yield "passes", f"is {s.passes}; it must be one or more"
    if 0 < len(s.ring) < 3:
        yield "ring", f"has {len(s.ring)} corners; an outline has three or more, or none if it is not known"


def _tools(t: ToolLimits) -> Iterator[tuple[str, str]]:
    for name in ("charge_{}_kg", "closing_{}_mm", "disc_{}_mm"):
        low, high = (getattr(t, name.format(end)) for end in ("low", "high"))
        if low is not None and high is not None and low > high:
            yield name.format("low"), f"is {low:g}, over the greatest, {high:g}; put them in order"


def _press(p: Press) -> Iterator[tuple[str, str]]:
    for name in ABOVE_0:
        if getattr(p, name) <= 0.0:
            yield name, f"is {getattr(p, name):g}; it must be above zero"


def _project(p: Project) -> Iterator[tuple[str, str]]:
    if len(p.presses) > MOST_PRESSES:
        yield "presses", f"holds {len(p.presses)}; a forging takes one to {MOST_PRESSES}"


def _compromise(c: Compromise) -> Iterator[tuple[str, str]]:
    if not 0.0 <= c.share <= 1.0:
        yield "share", f"is {c.share:g}; give the share of the volume that would still sell, from 0 to 1"


def _constraint(c: Constraint) -> Iterator[tuple[str, str]]:
    yield from _numbers(c.vertices, COUNTS[c.kind])
    if (c.value is not None) != (c.kind in VALUED):
        yield (
            "value",
            f"is {'missing' if c.value is None else 'given'} of '{c.kind}'; "
            + ("give mm, or degrees for an angle" if c.value is None else "leave it out"),
        )
    least = -LARGEST_MM if c.kind in (Hold.ALONG_Z, Hold.ALONG_R, Hold.ANGLE) else 0.0
    if c.value is not None and not least <= c.value <= LARGEST_MM:
        yield "value", f"is {c.value:g}; it lies from {least:g} to {LARGEST_MM:g}"
    if (c.shape is not None) != (c.kind is Hold.CLEAR):
        yield "shape", f"goes with '{Hold.CLEAR}' alone, which needs one"


def _drive(d: Drive) -> Iterator[tuple[str, str]]:
    yield from _numbers(d.vertices, DRIVEN_COUNTS[d.what])


def _dimension(d: AddedDimension) -> Iterator[tuple[str, str]]:
    yield from _numbers(d.vertices, DIMENSION_COUNTS[d.what])
    if (d.share is None) != (d.what is not Dimensioned.WALL):
        yield "share", f"is {'missing' if d.share is None else 'given'} of '{d.what}'; a wall alone has one"
    elif d.share is not None and not 0.0 <= d.share <= 1.0:
        yield "share", f"is {d.share:g}; it lies from 0 to 1"


#: No film on a wheel is thicker, mm.
MOST_FILM_MM = 2.0


def _coating(c: Coating) -> Iterator[tuple[str, str]]:
    if c.thickness_mm is not None and c.thickness_mm > MOST_FILM_MM:
        yield "thickness_mm", f"is {c.thickness_mm:g}; no film is thicker than {MOST_FILM_MM:g} (mm, not µm)"
    if c.kind in (Coat.OPEN, Coat.NONE) and (c.thickness_mm is not None or c.on_bore or c.on_seats):
        yield "kind", f"is '{c.kind}', but more is said of the coating; name it, or leave the rest out"


def _numbers(vertices: tuple[int, ...], counts: tuple[int, ...]) -> Iterator[tuple[str, str]]:
    if len(vertices) not in counts:
        yield "vertices", f"names {len(vertices)}; it must name {' or '.join(map(str, counts))}"
    if any(n < 1 for n in vertices):
        yield "vertices", "names a vertex below 1; they are numbered from 1, as in the table of vertices"


_CHECKS: dict[type, Any] = {
    Constraint: _constraint,
    Drive: _drive,
    AddedDimension: _dimension,
    Coating: _coating,
    Blank: _blank,
    SpunFrom: _spun,
    ToolLimits: _tools,
    Press: _press,
    Project: _project,
    Tolerance: _tolerance,
    Material: _material,
    StayOut: _shape,
    Conditions: _conditions,
    SourceCard: _hat,
    Extent: _extent,
    RingBody: _ring,
    Spokes: _spokes,
    Wheel: _wheel,
    SheetSettings: _sheet,
    Compromise: _compromise,
    StrengthSettings: _strength,
}
