"""Small invented projects, one with every class of the schema and one as short as can be; changed files."""

from __future__ import annotations

import hashlib
from dataclasses import replace

from app.files.project_file import dumps
from app.project.coating import Coat, Coating
from app.project.programme import Holder, Programme, YearMoney
from app.project.project import Compromise, FatiguePoint, Fitment, Material, MeasuredGap, Project, TrialFit
from app.project.release import Release, digest_of
from app.project.sheet import SheetSettings
from app.project.strength import (
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
from geometry.forging.presses import Press
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
