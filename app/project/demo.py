"""Sample items that hang together: wheels, blanks, brakes and rules. All invented; no real part or firm.

Names say only what a thing is. The shipped sample projects are made of these.
"""

from __future__ import annotations

from dataclasses import replace

from app.project.new_items import FILL_STEPS, spoke_widths
from app.project.project import Material, Project
from app.project.wheel import Fixing, Hub, SizeCode, Spokes, Wheel
from geometry.readings.conditions import Conditions
from geometry.readings.rules import GapRule, RuleSet, StockRule, WallRule
from geometry.shape.blank import Blank, BlankState, PriceStep, Quote, Supply, ToolLimits
from geometry.shape.family import Family, family_section
from geometry.shape.outline import (
    Answer,
    Corner,
    Extent,
    Grade,
    Known,
    Motion,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
    ZeroFace,
)
from geometry.shape.rim import RimContour, contour_vertices
from geometry.shape.section import Zone

INVENTED = "Invented for a sample; no real car, brake, wheel or blank."
ROAD_RULES = "starting, road"
ROAD, RACE = "starting, road", "starting, race"
BRAKE_380, BRAKE_410, TIE_ROD_410 = "Brake 380 x 34", "Brake 410 x 36", "Tie rod by brake 410"
BLANK_A18, BLANK_C18 = "A18", "C18"
HOLDER_18 = "18 inch holder"

_TRACK = Family(
    "Track 18",
    back=((112.0, 41.0), (128.0, 50.02), (185.0, 50.5)),
    depth=((103.5, 24.2), (120.4, 19.4), (160.0, 23.0), (185.0, 25.0)),
    shoulder_radius_mm=5.8,
    shoulder_lean_deg=23.0,
    face_lean_deg=8.0,
)
_GT = Family(
    "GT 19",
    back=((114.0, 44.0), (131.0, 54.18), (202.0, 54.47)),
    depth=((104.5, 24.4), (122.4, 21.6), (160.0, 23.0), (185.0, 24.0)),
    shoulder_radius_mm=5.8,
    shoulder_lean_deg=23.0,
    face_lean_deg=13.0,
)


def track_18() -> Wheel:
    """Return the 18 x 10 J inset 38 track wheel, held against brake 380 and blank A18."""
    return _wheel(_TRACK, SizeCode(18, 10), 38.0, (BRAKE_380,), BLANK_A18, "265/35R18", 690.0)


def gt_19() -> Wheel:
    """Return the 19 x 12 J inset 45 wheel whose well touches brake 410."""
    return _wheel(_GT, SizeCode(19, 12), 45.0, (BRAKE_410, TIE_ROD_410), None, "305/30R19", 800.0)


def _wheel(
    family: Family,
    size: SizeCode,
    inset: float,
    clears: tuple[str, ...],
    blank: str | None,
    tyre: str,
    load_kg: float,
) -> Wheel:
    rim = RimContour(size.diameter_code, size.width_code, size.flange)
    drawn = family_section(contour_vertices(rim), inset, family)
    hub = family.hub_face_mm / 2.0
    steps = (*FILL_STEPS[:-1], (rim.diameter_mm / 2.0, FILL_STEPS[-1][1]))
    return Wheel(
        family.name,
        size,
        inset,
        drawn.vertices,
        rim=rim,
        hub=Hub(
            bore_mm=family.bore_mm,
            hub_pad_mm=family.hub_pad_mm,
            chamfer_mm=1.6,
            spigot_mm=71.94,
            spigot_length_mm=9.5,
            spigot_root_radius_mm=0.8,
            flange_mm=152.0,
            stud_length_mm=38.5,
            thread_mm=14.0,
        ),
        fixing=Fixing(),
        spokes=Spokes(
            count=10,
            widths=spoke_widths(hub, steps, 10),
            hub_circle_mm=hub,
            shoulder_cut=drawn.shoulder_cut,
            lip_cut=drawn.lip_cut,
            fixed_to=family.fixed_to,
            holds_envelope=True,
        ),
        clears=clears,
        rules=ROAD_RULES,
        conditions=ROAD,
        blank=blank,
        load_kg=load_kg,
        tyre=tyre,
        notes={"source": INVENTED},
    )


def _corners(rows: str) -> tuple[Corner, ...]:
    """Read corners written as 'z,r' or 'z,r,radius', parted by blanks."""
    return tuple(Corner(*(float(x) for x in row.split(","))) for row in rows.split())


def blank_a18() -> Blank:
    """Return the heavy own blank for 18-inch wheels, proved."""
    rows = """
    -2.9,0 -2.9,74.8,6 30.7,107.4,18 39.0,119.6,18 42.6,133.4,25 46.2,159.5,25 47.6,188.5,12 51.7,203.5,8
    16.9,204.3,22 -13.2,215.2,22 -129.7,217.3,12 -139.0,220.9,12 -180.8,224.4,6 -180.8,251.6,6 -33.2,252.8
    104.6,251.6,6 104.6,224.5,6 86.8,222.5,8 82.2,203.0,12 81.5,197.7,12 79.0,188.4,25 77.6,159.5,25
    74.0,133.2,20 70.4,119.0,15 62.1,106.8,8 60.2,100.5,8 43.0,71.2,14 43.0,0
    """
    source = f"Own forging drawing, revision 4. {INVENTED}"
    return Blank(BLANK_A18, _corners(rows), Supply.OWN, BlankState.PROVED, source=source)


def blank_c18() -> Blank:
    """Return the bought blank with a thinner ring, not measured."""
    rows = """
    -2.5,0 -2.5,79,4 2.4,81,6 40.5,118,18 45.6,134,20 46.5,196,8 32,203.5,12 8,212,22 -20,220,22
    -150,223.3,25 -179,224,3 -179,251.2,3 -37,252.5 104.6,251.2,3 104.6,220.5,3 92,219.5,8 86.5,207,18
    84.2,190,25 78.2,150,25 62.2,103,18 43.2,72,14 43.2,0
    """
    source = f"Drawing from a quotation, not measured. {INVENTED}"
    return Blank(BLANK_C18, _corners(rows), Supply.BOUGHT, BlankState.QUOTED, source=source)


def with_offers(blank: Blank) -> Blank:
    """Return a bought blank with what two forges offered for it, and the price that was taken over."""
    offers = (
        Quote(
            "Forge 1 (invented)", "2026-01-08", piece=455.0, least_run=20, lead_weeks=10.0, payment="30 days"
        ),
        Quote("Forge 2 (invented)", "2026-01-12", piece=472.0, run_setup=900.0, least_run=10, lead_weeks=7.0),
    )
    steps = (PriceStep(60, 441.0), PriceStep(150, 424.0))
    return replace(blank, price=455.0, price_steps=steps, least_order=20, lead_weeks=10.0, quotes=offers)


def with_dies(blank: Blank) -> Blank:
    """Return an own blank with what its dies cost, and what they make beside it; invented."""
    return replace(
        blank,
        die_cost=26000.0,
        die_shared_by=840,
        holder=HOLDER_18,
        least_run=60,
        tools=ToolLimits(51.0, 58.5, -2.0, 4.0, 30.0, 35.5, source=INVENTED),
    )


def brake_380() -> StayOut:
    """Return the front caliper over a 380 x 34 disc, six pistons, fixed."""
    rows = "-74,116 -74,168 -68,194 -52,202 -30,203 20,203 36,199.5 43,190 46,176 46,134 41,122 24,116"
    source = f"Caliper drawing, revision B, disc 380 x 34, front. {INVENTED}"
    return _caliper(BRAKE_380, rows, source, "Disc 380 x 34, hat 7.0, new brake pads, front, both sides.")


def brake_410() -> StayOut:
    """Return the front caliper over a 410 x 36 disc with a square shoulder."""
    rows = "-80,124 -80,184 -73,211 -56,220 -32,221 44,221 48.5,216 50,200 50,146 45,133 26,124"
    source = f"Caliper drawing, revision A, disc 410 x 36, front. {INVENTED}"
    return _caliper(BRAKE_410, rows, source, "Disc 410 x 36, hat 7.0, new brake pads, front, both sides.")


def tie_rod_410() -> StayOut:
    """Return the tie-rod end beside brake 410: straight ahead, and 2.4 mm higher at full lock."""
    straight = _corners("-126,176 -126,199.2 -122,203.2 -108,203.2 -104,199.2 -104,176")
    lock = tuple(Corner(c.z, c.r + 2.4) for c in straight)
    card = _card(
        f"Suspension drawing, swept lock to lock and over full travel. {INVENTED}",
        "No disc or brake pads in this outline; front, both sides.",
        hat_mm=None,
        left_out="",
    )
    return StayOut(
        TIE_ROD_410,
        (NamedOutline("straight ahead", straight), NamedOutline("full lock", lock)),
        kind=ShapeKind.TIE_ROD,
        motion=Motion.AGAINST_KNUCKLE,
        swept=True,
        card=card,
        extent=_SEEN,
        notes={"source": INVENTED},
    )


_BY, _ON = "demo", "2026-01-15"
#: Known over its own points; both ends were seen.
_SEEN = Extent(ends_inboard=True, ends_outboard=True, confirmed_by=_BY)


def caliper(name: str, rows: str, disc: str) -> StayOut:
    """Return a front caliper over a disc of this size, as its invented drawing has it."""
    source = f"Caliper drawing, revision A, disc {disc}, front. {INVENTED}"
    return _caliper(name, rows, source, f"Disc {disc}, hat 7.0, new brake pads, front, both sides.")


def _caliper(name: str, rows: str, source: str, disc: str) -> StayOut:
    card = _card(source, disc, hat_mm=7.0, left_out="Bleed screws and cross pipe.")
    outline = (NamedOutline("as mounted", _corners(rows)),)
    return StayOut(name, outline, card=card, extent=_SEEN, notes={"source": INVENTED})


def _card(source: str, disc: str, hat_mm: float | None, left_out: str) -> SourceCard:
    def answer(text: str) -> Answer:
        return Answer(Known.ANSWERED, text, _BY)

    zero = "Hub flange." if hat_mm is None else f"Outer face of the disc hat, {hat_mm:.1f} thick."
    return SourceCard(
        source=source,
        grade=Grade.DRAWING,
        error_mm=0.3,
        hat_mm=hat_mm,
        zero_at=ZeroFace.BEARING,
        datum_checked_by=_BY,
        datum_checked_on=_ON,
        unit=answer("mm"),
        zero_face=answer(zero),
        whole_body=answer("r is the largest over the whole body."),
        gap_included=answer("No gap included."),
        disc_and_pads=answer(disc),
        left_out=left_out,
    )


_MEMORY = "starting value, from memory"
_STOCK_SETS = (
    (ROAD_RULES, 2.0, 0.1, "own, measured: blank measured, die proved"),
    ("starting, road, new die", 4.0, 0.5, "new die: nothing measured yet"),
    ("starting, road, bought blank", 5.0, 0.5, "bought, not measured"),
)


def rule_sets() -> tuple[RuleSet, ...]:
    """Return the shipped rule sets, all starting values: they differ in the stock that a blank must leave."""
    return tuple(
        RuleSet(
            name,
            gap=_GAP,
            wall=_WALL,
            stock=(StockRule(stock, reserve, reason=f"{why} ({_MEMORY})"),),
            seat_land_mm=10.0,
        )
        for name, stock, reserve, why in _STOCK_SETS
    )


def conditions() -> tuple[Conditions, ...]:
    """Return the shipped conditions, all starting values: they differ in the tilt of the wheel."""
    return Conditions(ROAD), Conditions(RACE, camber_deg=0.4)


def offered_conditions(project: Project) -> tuple[str, ...]:
    """Return the names of a project's conditions; those shipped where it holds none."""
    return tuple(c.name for c in project.conditions or conditions())


def with_conditions(project: Project, name: str | None) -> Project:
    """Return the project with the shipped conditions of a name, where it holds none of its own."""
    if project.conditions:
        return project
    return replace(project, conditions=tuple(c for c in conditions() if c.name == name))


_STEERED = "steering and suspension at full lock and travel"
_GAP = (
    GapRule(
        3.0, 0.5, 0.7, ShapeKind.CALIPER, reason="caliper to wheel, new brake pads; trade guideline 3 mm"
    ),
    GapRule(
        3.0,
        1.0,
        0.7,
        ShapeKind.CALIPER,
        reason=f"caliper to a balance-weight band or another ring body, to its top ({_MEMORY})",
        rings=True,
    ),
    *(
        GapRule(4.0, 2.0, 0.7, kind, reason=f"{_STEERED} ({_MEMORY})")
        for kind in (ShapeKind.KNUCKLE, ShapeKind.TIE_ROD, ShapeKind.ARM, ShapeKind.DAMPER)
    ),
    GapRule(6.0, 3.0, 0.7, reason=f"anything else; general trade rule 1/4 in ({_MEMORY})"),
)
_WALL = tuple(
    WallRule(zone, least, reserve, reason=f"{why} ({_MEMORY})")
    for zone, least, reserve, why in (
        (Zone.OUTER_LIP, 5.5, 0.3, "road forged, outer lip"),
        (Zone.OUTER_SEAT, 5.0, 0.3, "road forged, bead seat"),
        (Zone.WELL, 3.5, 0.2, "well floor"),
        (Zone.BARREL, 3.5, 0.2, "barrel"),
        (Zone.INNER_SEAT, 5.0, 0.3, "road forged, bead seat"),
        (Zone.INNER_LIP, 6.0, 0.3, "road forged, inner lip: most service damage is here"),
        (Zone.SHOULDER, 10.0, 1.0, "spoke depth at the rim end; the root needs more, set by test"),
        (Zone.SPOKE_BACK, 10.0, 1.0, "spoke depth at the rim end; the root needs more, set by test"),
        (Zone.SPOKE_FACE, 10.0, 1.0, "spoke depth at the rim end; the root needs more, set by test"),
    )
)


def material_6061() -> Material:
    """Return the alloy of the samples."""
    return Material(
        "6061-T6", 2712.6, "0.098 lb/in3 (MIL-HDBK-5J, table 3.6.2.0), 2712.63 kg/m3 to one decimal"
    )
