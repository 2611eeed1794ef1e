"""Projects for tests: random valid ones, and a small one that uses every class of the schema."""

from __future__ import annotations

import hashlib
import types
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from enum import Enum
from typing import Any, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from app.files.project_file import dumps
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
from app.project.project import Compromise, FatiguePoint, Fitment, Material, MeasuredGap, Project, TrialFit
from app.project.release import Release, digest_of
from app.project.sheet import SheetSettings
from app.project.shop import LOG_PRICE, ShopRates
from app.project.strength import (
    CASES,
    Basis,
    Outcome,
    OwnConstant,
    Rating,
    StrengthSettings,
    Struck,
    TestPrice,
    TestRecord,
)
from app.project.wheel import (
    Fixing,
    Hub,
    RingBody,
    Seat,
    Side,
    SingleNut,
    SizeCode,
    Spokes,
    Unlocked,
    Wheel,
)
from geometry.forging.presses import ABOVE_0, Press
from geometry.readings.conditions import Conditions
from geometry.readings.rules import GapRule, RuleSet, StockRule, WallRule
from geometry.shape.blank import (
    Blank,
    BlankState,
    Cause,
    PriceStep,
    Quote,
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
    Driven,
    Hold,
    Parameter,
)
from geometry.shape.outline import (
    Answer,
    Brake,
    CarEnd,
    CarSide,
    Corner,
    Extent,
    Grade,
    Known,
    Motion,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
)
from geometry.shape.rim import RimContour
from geometry.shape.section import AnchorR, AnchorZ, Vertex, Zone
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


def every_class() -> Project:
    """Return a small invented project that uses every class of the schema; its wheel need not be sensible."""
    vertices = (
        Vertex(-178.0, 244.6, 1.5, 0.0, Zone.INNER_LIP, AnchorZ.INNER_FLANGE, AnchorR.BEAD_SEAT),
        Vertex(0.0, 74.0, 0.0, 0.25, Zone.HUB_PAD, AnchorZ.MOUNTING_FACE, AnchorR.AXLE_LINE),
        Vertex(102.0, 244.6, 1.5, 0.0, Zone.OUTER_LIP),
    )
    wheel = Wheel(
        "Track 18",
        SizeCode(18.0, 10.0),
        38.0,
        vertices,
        rim=RimContour(18.0, 10.0),
        hub=Hub(spigot_mm=71.9),
        fixing=Fixing(seat=Seat.BALL, ball_radius_mm=14.0),
        spokes=Spokes(5, ((72.0, 90.0), (215.0, 80.0)), 76.0, (48.0, 207.0), (92.0, 222.0)),
        rings=(RingBody("weight band", -40.0, -20.0, 216.0, 220.2, 0.06),),
        clears=("Caliper 380",),
        rules="starting, road",
        conditions="road",
        blank="A18",
        load_kg=690.0,
        rating=Rating(Basis.RACE, static_kg=520.0, aero_kg=110.0, factor=1.08, edition="invented, 2026"),
        reference="Track 18 frei ±½",
        made_from="Track 18 frei ±½",
        why="lighter spokes, rim locked again",
        parameters=(
            Parameter("pad", "148/2", "mm", "invented", (Drive(Driven.R, (32,)),)),
            Parameter("lip_radius", "pad / 74 * 1.5", drives=(Drive(Driven.RADIUS, (33,)),)),
        ),
        constraints=(
            Constraint(Hold.ALONG_Z, (31, 33), 280.0),
            Constraint(Hold.CLEAR, (32,), 2.5, "Caliper 380"),
        ),
        dimensions=(
            AddedDimension(Dimensioned.ALONG_R, (31, 33)),
            AddedDimension(Dimensioned.WALL, (32,), 0.375),
        ),
        side=Side.PAIR,
        coating=Coating(Coat.HARD, 0.05, True, False),
        notes={"drawn by": "test bench", "seen": [1, 2.5, None, True]},
    )
    free = replace(
        wheel,
        name="Track 18 frei ±½",
        rim=None,
        unlocked=Unlocked("test bench", "2026-02-03", RimContour(18.0, 10.0)),
        fixing=SingleNut(60.0, 84.0, 12.0, 6, 104.0, 14.0),
        spokes=None,
        rating=Rating(),
        reference=None,
        made_from=None,
        why="",
        parameters=(),
        constraints=(),
        dimensions=(),
        side=Side.EITHER,
        coating=Coating(),
        notes={},
    )
    card = SourceCard("invented drawing", Grade.DRAWING, 0.3, unit=Answer(Known.ANSWERED, "mm", "test bench"))
    outline = NamedOutline("straight", (Corner(-74.0, 116.0), Corner(-30.0, 203.0, 4.0), Corner(46.0, 134.0)))
    shape = StayOut(
        "Caliper 380",
        (outline,),
        ShapeKind.CALIPER,
        Motion.WITH_KNUCKLE,
        None,
        -35.0,
        35.0,
        "invented owner",
        card,
        Extent(-74.0),
        Brake("Front", 380.0, 48.5, CarSide.BOTH, CarEnd.FRONT),
    )
    rules = RuleSet(
        "starting, road",
        gap=(GapRule(3.0, 0.5, 0.5, ShapeKind.CALIPER, None, "to the barrel"), GapRule(6.0, 3.0, 0.5)),
        wall=(WallRule(Zone.BARREL, 3.5, 0.2),),
        stock=(StockRule(2.0, 0.1),),
    )
    corners = (Corner(-2.9, 0.0), Corner(104.6, 251.6, 6.0), Corner(43.0, 0.0))
    return Project(
        "Every class",
        revision_date="2026-02-03",
        wheels=(wheel, free),
        blanks=(
            Blank(
                "A18",
                corners,
                Supply.OWN,
                BlankState.PROVED,
                0.5,
                tolerances=(Tolerance(Cause.CLOSURE, 0.0, 2.6, "invented"), Tolerance(Cause.DENTS, 0.3)),
                parting_mm=40.0,
                measured_least="A18, least of 12",
                measured_pieces=12,
                price=214.5,
                die_cost=96000.0,
                die_shared_by=1200,
                holder="18 inch",
                tools=ToolLimits(48.5, 57.0, -4.0, 6.5, 28.0, 36.0, True, "invented"),
                slug_kg=0.85,
                run_setup=6500.0,
                price_steps=(PriceStep(100, 201.5),),
                quotes=(Quote("invented forge", "2026-02-11", 62000.0, 26000.0, 198.0, least_run=150),),
            ),
            Blank("A18, least of 12", corners, source="invented"),
            Blank(
                "S18",
                corners,
                Supply.SPUN,
                spun=SpunFrom(corners, 18000.0, 41.5, 6.0, 0.48, 2, 10.0, 12.0, "invented"),
            ),
        ),
        shapes=(shape,),
        rule_sets=(rules,),
        conditions=(Conditions("road"),),
        materials=(
            Material("6061-T6", 2712.6, "MIL-HDBK-5J, table 3.6.2.0: 0.098 lb/in3"),
            Material(
                "Own 6xxx",
                2705.0,
                "invented",
                *(69500.0, 0.33, 265.0, 291.0),
                "invented",
                (FatiguePoint(1e5, 171.5), FatiguePoint(1e7, 108.2)),
                fatigue_source="invented",
            ),
        ),
        fitments=(
            Fitment(
                "R-1",
                wheel="Track 18",
                must=True,
                first_year=2027,
                contribution=310.0,
                compromise=Compromise("half an inch narrower", 9.5, share=0.6, contribution=240.0),
            ),
        ),
        trial_fits=(
            TrialFit(
                "T-1",
                "Track 18",
                "Caliper 380",
                "2026-02-10",
                "test bench",
                turned=True,
                measured=(MeasuredGap(Zone.BARREL, 3.6, -20.0, 207.0),),
            ),
        ),
        programme=Programme(
            2027, budgets=(YearMoney(2027, 180000.0),), holders=(Holder("18 inch", 62000.0),)
        ),
        presses=(Press("invented press", 62.5, 5.5, 1620.0, 280.0, 1080.0, 1350.0),),
        strength=StrengthSettings(
            ("R124 bending", "inflation"),
            (OwnConstant("inflation", "p", 0.52),),
            surface=0.85,
            prices=(TestPrice("13 degree impact", 640.0),),
        ),
        test_records=(
            TestRecord(
                *("P-1", "Track 18", "Track", "R124 bending", 3237.5, 251000.0),
                Outcome.FAILED,
                *("spoke back", "invented laboratory", "2026-02-11"),
            ),
            TestRecord(
                *("P-2", "Track 18", "Track", "13 degree impact"),
                drawing="0f3a9c5d71e2b846",
                forging="5b1e07ac93d2f468",
                striker_kg=594.0,
                drop_mm=230.0,
                tyre="245/40R18",
                struck=Struck.BETWEEN,
            ),
        ),
        sheet=SheetSettings(owner="invented owner", inset_mm=0.15, starting_values=False),
        releases=(_released(),),
        notes={"invented": True},
    )


def _released() -> Release:
    """Return a whole record of a sheet of two lines; nothing else in it is real."""
    frozen = b"{}"
    record = Release(
        "Track 18",
        "A",
        "2026-02-12",
        "test bench",
        "second test bench",
        "first release",
        "A3",
        "0",
        hashlib.sha256(frozen).hexdigest(),
        "eNqrrgUAAXUA+Q==",  # frozen and pdf, packed; written out, since compressors differ
        "eNpTDXBx0zXUM+FSVXX1d+MCABjhAvg=",
        "",
    )
    return replace(record, sha256=digest_of(record))


def compact() -> Project:
    """Return a project as short as one can be that has vertices, a reference and notes."""
    vertices = (
        Vertex(-1.5, 40.0, zone=Zone.HUB_PAD, anchor_z=AnchorZ.MOUNTING_FACE, anchor_r=AnchorR.AXLE_LINE),
        Vertex(20.0, 36.0, 2.5, zone=Zone.BORE),
        Vertex(20.0, 200.25, 0.0, 0.125, Zone.BARREL),
    )
    wheel = Wheel("Disc", SizeCode(18.0, 10.0), 38.0, vertices, clears=("Block",), notes={"by": ["me", 1]})
    corners = (Corner(-10.0, 60.0), Corner(10.0, 60.0), Corner(10.0, 140.0, 3.0))
    block = StayOut("Block", (NamedOutline("at rest", corners),))
    return Project("Compact", wheels=(wheel,), shapes=(block,), materials=(Material("6061-T6"),))


def signed(body: bytes) -> bytes:
    """Return a file with this text after its first line and the digest that belongs to it."""
    return b'{"sha256": "%s",\n%s' % (hashlib.sha256(body).hexdigest().encode(), body)


def changed(old: str, new: str, data: bytes | None = None) -> bytes:
    """Return a file, `compact` unless given, with one piece of its text exchanged and a digest that holds."""
    body = (data or dumps(compact())).split(b"\n", 1)[1]
    assert body.count(old.encode()) == 1, old
    return signed(body.replace(old.encode(), new.encode()))
