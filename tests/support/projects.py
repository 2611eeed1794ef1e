"""Random valid projects for tests."""

from __future__ import annotations

import types
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from enum import Enum
from typing import Any, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from app.files.schema import CHOICES, LARGEST_WHOLE, NOT_NEGATIVE, WITHIN_REACH
from app.files.sense import (
    CONDITION_LIMITS,
    LARGEST_HAT_MM,
    LARGEST_INCLUDED_MM,
    MOST_FILM_MM,
    MOST_TOLERANCE_MM,
    SHEET_LIMITS,
)
from app.project.coating import Coat, Coating
from app.project.programme import Holder, Programme, YearMoney
from app.project.project import Compromise, FatiguePoint, Fitment, Material, Project, TrialFit
from app.project.sheet import SheetSettings
from app.project.shop import LOG_PRICE, ShopRates
from app.project.strength import (
    CASES,
    OwnConstant,
    StrengthSettings,
    TestPrice,
    TestRecord,
)
from app.project.wheel import (
    RingBody,
    SizeCode,
    Spokes,
    Wheel,
)
from geometry.forging.presses import ABOVE_0, Press
from geometry.readings.conditions import Conditions
from geometry.readings.rules import RuleSet
from geometry.shape.blank import (
    Blank,
    SpunFrom,
    Supply,
    Tolerance,
    ToolLimits,
)
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
from geometry.shape.outline import (
    Extent,
    NamedOutline,
    SourceCard,
    StayOut,
)
from geometry.shape.rim import RimContour
from geometry.tolerances import LARGEST_MM

numbers = st.floats(allow_nan=False, allow_infinity=False)
not_negative = st.floats(0.0, allow_nan=False, allow_infinity=False)
whole = st.integers(-LARGEST_WHOLE, LARGEST_WHOLE)
raw_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
text = raw_text.map(lambda s: unicodedata.normalize("NFC", s))
names = text.filter(lambda s: bool(s.strip()))
notes = st.dictionaries(
    raw_text,
    st.recursive(
        st.none() | st.booleans() | whole | numbers | raw_text,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(raw_text, inner, max_size=3),
        max_leaves=5,
    ),
    max_size=2,
)
drawable = st.sampled_from([RimContour(18.0, 10.0), RimContour(17.0, 8.5), RimContour(19.0, 12.0)])


def _rising(part: Any, low: str, high: str) -> Any:
    """Return a part whose two limits, where both are given, rise."""
    a, b = getattr(part, low), getattr(part, high)
    if a is None or b is None or a < b:
        return part
    return replace(part, **{low: b, high: a} if b < a else {low: 0.0, high: 1.0})


def _clock(part: StayOut) -> StayOut:
    if (part.clock_low_deg is None) != (part.clock_high_deg is None):
        return replace(part, clock_low_deg=None, clock_high_deg=None)
    return part


def _spokes(part: Spokes) -> Spokes:
    widths = tuple(sorted((abs(r), abs(w)) for r, w in part.widths))
    return replace(part, widths=widths or ((75.0, 60.0),))


def _wheel(part: Wheel) -> Wheel:
    if part.rim is None:
        return part
    return replace(part, size=SizeCode(part.rim.diameter_code, part.rim.width_code, part.size.flange))


def _blank(part: Blank) -> Blank:
    once = {tolerance.cause: tolerance for tolerance in part.tolerances}
    steps = {step.pieces: step for step in sorted(part.price_steps, key=lambda step: step.pieces)}
    spun = part.spun if part.supply is Supply.SPUN else None
    return replace(part, tolerances=tuple(once.values()), price_steps=tuple(steps.values()), spun=spun)


def _material(part: Material) -> Material:
    """Own numbers all or none, by the fatigue ratio's sign; a fatigue table that rises and falls."""
    points = sorted({p.cycles: p for p in part.fatigue}.values(), key=lambda p: p.cycles)
    falling = [replace(p, stress_mpa=1e4 / (k + 1)) for k, p in enumerate(points)]
    part = replace(part, fatigue=tuple(falling) if len(falling) > 1 else ())
    if part.fatigue_ratio < 0.0:
        return part
    return replace(part, elastic_mpa=None, poisson=None, yield_mpa=None, ultimate_mpa=None)


def _spun(part: SpunFrom) -> SpunFrom:
    return part if len(part.ring) > 2 else replace(part, ring=())


def _tools(part: ToolLimits) -> ToolLimits:
    for low in ("charge_low_kg", "closing_low_mm", "disc_low_mm"):
        part = _rising(part, low, low.replace("_low_", "_high_"))
    return part


def _drive(part: Drive) -> Drive:
    return replace(part, vertices=_as_many(part.vertices, DRIVEN_COUNTS[part.what][-1]))


def _constraint(part: Constraint) -> Constraint:
    kind = part.kind if part.shape is not None or part.kind is not Hold.CLEAR else Hold.DISTANCE
    return replace(
        part,
        kind=kind,
        vertices=_as_many(part.vertices, COUNTS[kind][-1]),
        value=(part.value or 0.0) if kind in VALUED else None,
        shape=part.shape if kind is Hold.CLEAR else None,
    )


def _dimension(part: AddedDimension) -> AddedDimension:
    share = (part.share or 0.0) if part.what is Dimensioned.WALL else None
    return replace(part, vertices=_as_many(part.vertices, DIMENSION_COUNTS[part.what][0]), share=share)


def _coating(part: Coating) -> Coating:
    return Coating(part.kind) if part.kind in (Coat.OPEN, Coat.NONE) else part


def _as_many(numbers: tuple[int, ...], count: int) -> tuple[int, ...]:
    return tuple(max(abs(n), 1) for n in (*numbers, *range(1, 7)))[:count]


def _constraints(shapes: tuple[Any, ...] = ()) -> st.SearchStrategy[tuple[Constraint, ...]]:
    named = st.sampled_from([None, *(shape.name for shape in shapes)])
    return st.lists(built(Constraint, shape=named, value=st.floats(0.0, LARGEST_MM)), max_size=2).map(tuple)


#: What makes the fields of a random part agree with each other, as app/files/sense.py asks.
AGREEING: dict[type, Callable[[Any], Any]] = {
    StayOut: _clock,
    Extent: lambda e: _rising(_rising(e, "z_low", "z_high"), "cut_r_low", "cut_r_high"),
    Blank: _blank,
    SpunFrom: _spun,
    Material: _material,
    ToolLimits: _tools,
    RingBody: lambda r: _rising(_rising(r, "z_low", "z_high"), "r_low", "r_high"),
    Spokes: _spokes,
    Wheel: _wheel,
    Drive: _drive,
    Constraint: _constraint,
    AddedDimension: _dimension,
    Coating: _coating,
}


def _values(hint: Any) -> st.SearchStrategy[Any]:
    """Return a strategy for a type of the schema."""
    leaves: dict[Any, st.SearchStrategy[Any]] = {
        float: numbers,
        int: whole,
        str: text,
        bool: st.booleans(),
        types.NoneType: st.none(),
    }
    if hint in leaves:
        return leaves[hint]
    arguments = get_args(hint)
    if get_origin(hint) is types.UnionType:
        return st.one_of([_values(argument) for argument in arguments])
    if get_origin(hint) is tuple and arguments[-1] is Ellipsis:
        return st.lists(_values(arguments[0]), max_size=3).map(tuple)
    if get_origin(hint) is tuple:
        return st.tuples(*map(_values, arguments))
    if get_origin(hint) is dict:
        return notes
    if issubclass(hint, Enum):
        return st.sampled_from(hint)
    return built(hint)


def built(cls: type[Any], **known: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Return a strategy for a class of the schema, every field random within its limits."""
    hints = get_type_hints(cls)
    within = {name: st.floats(-LARGEST_MM, LARGEST_MM) for name in WITHIN_REACH.get(cls, ())}
    above: dict[str, st.SearchStrategy[Any]] = {}
    for name in NOT_NEGATIVE.get(cls, ()):
        above[name] = st.floats(0.0, LARGEST_MM) if name in within else not_negative
        if hints[name] is int or int in get_args(hints[name]):
            above[name] = st.integers(0, LARGEST_WHOLE)
        if types.NoneType in get_args(hints[name]):
            above[name] = st.one_of(st.none(), above[name])
    chosen = {name: st.sampled_from(allowed) for name, allowed in CHOICES.get(cls, {}).items()}
    given = {**within, **above, **chosen, **_narrower(cls), **known}
    parts = st.builds(cls, **{name: given.get(name, _values(hint)) for name, hint in hints.items()})
    return parts.map(AGREEING[cls]) if cls in AGREEING else parts


def _narrower(cls: type[Any]) -> dict[str, st.SearchStrategy[Any]]:
    """Return the fields whose limits app/files/sense.py draws closer than the schema does."""
    if cls is Material:
        more = st.floats(0.0, exclude_min=True, allow_infinity=False)
        return {
            "density_kg_m3": more,
            **dict.fromkeys(("elastic_mpa", "yield_mpa", "ultimate_mpa"), more),
            "poisson": st.floats(0.0, 0.5, exclude_max=True),
            "fatigue_ratio": st.floats(-1.0, 1.0, exclude_max=True),
        }
    if cls is FatiguePoint:
        return {"cycles": st.floats(1.0, 1e9), "stress_mpa": st.floats(1.0, 1e4)}
    if cls is StrengthSettings:
        return {
            "cases": st.lists(st.sampled_from(CASES), unique=True).map(tuple),
            "constants": st.lists(
                built(OwnConstant, case=st.sampled_from(CASES)),
                max_size=3,
                unique_by=lambda c: (c.case, c.symbol),
            ).map(tuple),
            "dent_mm": st.floats(0.1, 100.0),
            "prices": st.lists(
                built(TestPrice, case=st.sampled_from(CASES)), max_size=2, unique_by=lambda p: p.case
            ).map(tuple),
            **dict.fromkeys(("surface", "size", "forging", "temperature", "coating"), st.floats(0.01, 1.0)),
        }
    if cls is SourceCard:
        return {
            "included_gap_mm": st.floats(0.0, LARGEST_INCLUDED_MM),
            "hat_mm": st.none() | st.floats(0.0, LARGEST_HAT_MM),
        }
    if cls is StayOut:
        return {
            "outlines": st.lists(built(NamedOutline), min_size=1, max_size=2).map(tuple),
            "clock_low_deg": st.none() | st.floats(-360.0, 0.0),
            "clock_high_deg": st.none() | st.floats(0.0, 360.0),
        }
    if cls is Conditions:
        limits = {name: st.floats(0.0, most) for name, most in CONDITION_LIMITS.items()}
        return limits | {"bearing_z_mm": st.floats(-1000.0, 1000.0)}
    if cls is ShopRates:
        above = ("turning_cm3_min", "milling_cm3_min", "drilling_cm3_min", "energy_j_mm3")
        prices = ("setup_min", "hour_price", "log_price_kg", "forging_price", "treatment_price_kg")
        return {
            **dict.fromkeys(above, st.floats(1e-3, 1e6)),
            **dict.fromkeys(prices, st.floats(0.0, 1e6)),
            **dict.fromkeys(("loss", "chip_share", "slug_share"), st.floats(0.0, 1.0)),
            "efficiency": st.floats(1e-3, 1.0),
            "setups": st.integers(0, 100),
            "bought_price": st.none() | st.floats(0.0, 1e6),
            "chip_price_name": st.just(LOG_PRICE),
            "chip_price_kg": st.none(),
        }
    if cls is Press:
        return dict.fromkeys(ABOVE_0, st.floats(1e-3, 1e6))
    if cls is Tolerance:
        return dict.fromkeys(("minus_mm", "plus_mm"), st.floats(0.0, MOST_TOLERANCE_MM))
    if cls is Blank:
        counted = dict.fromkeys(
            ("measured_pieces", "die_shared_by"), st.none() | st.integers(1, LARGEST_WHOLE)
        )
        # What they name is drawn where a project is.
        unnamed = dict.fromkeys(("measured_least", "measured_greatest", "variant_of"), st.none())
        return {**counted, **unnamed, "constraints": _constraints()}
    if cls is AddedDimension:
        return {"share": st.floats(0.0, 1.0)}
    if cls is Coating:
        return {"thickness_mm": st.none() | st.floats(0.0, MOST_FILM_MM)}
    if cls is SpunFrom:
        return {
            "reduction": st.none() | st.floats(0.0, 1.0, exclude_max=True),
            "passes": st.none() | st.integers(1, LARGEST_WHOLE),
        }
    if cls is Compromise:
        return {"share": st.floats(0.0, 1.0)}
    if cls is Programme:
        return {
            "rate": st.floats(0.0, 0.9),
            "most_dies": st.none() | st.integers(0, 99),
            **dict.fromkeys(("order_share", "tryout_share"), st.floats(0.0, 0.5)),
            **dict.fromkeys(("carrying_share", "write_off_share"), st.floats(0.0, 1.0)),
            "holders": _named(Holder, cost=st.floats(0.0, 1e9)),
            "budgets": st.lists(
                st.builds(YearMoney, st.integers(1900, 2200), st.floats(0.0, 1e9)),
                max_size=3,
                unique_by=lambda b: b.year,
            ).map(tuple),
        }
    if cls is NamedOutline:
        return {"constraints": _constraints()}
    if cls is SheetSettings:
        return {name: st.none() | st.floats(0.0, most) for name, most in SHEET_LIMITS.items()}
    return {}


def _named(
    cls: type[Any], least: int = 0, **known: st.SearchStrategy[Any]
) -> st.SearchStrategy[tuple[Any, ...]]:
    parts = st.lists(built(cls, name=names, **known), min_size=least, max_size=3, unique_by=lambda p: p.name)
    return parts.map(tuple)


@st.composite
def projects(draw: st.DrawFn) -> Project:
    """Draw a valid project: every field random, names unique, references met."""

    def one_of(parts: tuple[Any, ...]) -> st.SearchStrategy[str | None]:
        return st.sampled_from([None, *(part.name for part in parts)])

    blanks, shapes = draw(_named(Blank)), draw(_named(StayOut))
    rules, materials = draw(_named(RuleSet)), draw(_named(Material, least=1))
    conditions = draw(_named(Conditions))
    several = st.lists(st.sampled_from([s.name for s in shapes])).map(tuple) if shapes else st.just(())
    wheels = draw(
        _named(
            Wheel,
            rim=st.none() | drawable,
            inset_mm=st.floats(-100.0, 100.0),
            material=st.sampled_from([m.name for m in materials]),
            clears=several,
            rules=one_of(rules),
            conditions=one_of(conditions),
            blank=one_of(blanks),
            constraints=_constraints(shapes),
            # What it names is drawn before any wheel is.
            reference=st.none(),
            made_from=st.none(),
        )
    )
    fitments = draw(
        _named(
            Fitment,
            shape=one_of(shapes),
            compromise_shape=one_of(shapes),
            rules=one_of(rules),
            wheel=one_of(wheels),
        )
    )
    trial_fits = draw(_named(TrialFit, shape=one_of(shapes), wheel=one_of(wheels)))
    project: Project = draw(
        built(
            Project,
            name=text,
            wheels=st.just(wheels),
            blanks=st.just(blanks),
            shapes=st.just(shapes),
            rule_sets=st.just(rules),
            conditions=st.just(conditions),
            materials=st.just(materials),
            fitments=st.just(fitments),
            trial_fits=st.just(trial_fits),
            test_records=_named(TestRecord, wheel=one_of(wheels)),
        )
    )
    return project
