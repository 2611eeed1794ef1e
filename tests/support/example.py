"""An invented project for the tests of the window: a track wheel in its own blank over a caliper."""

from __future__ import annotations

from dataclasses import replace

from app.project.project import Material, Project
from app.project.wheel import Fixing, Hub, SizeCode, Spokes, Wheel
from geometry.readings.rules import GapRule, RuleSet, StockRule, WallRule
from geometry.shape.blank import Blank, BlankState
from geometry.shape.outline import (
    Answer,
    Corner,
    Extent,
    Grade,
    Known,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
)
from geometry.shape.rim import RimContour
from geometry.shape.section import AnchorR, AnchorZ, Vertex, Zone

WHEEL = "Track 18"
BLANK = "A18"
CALIPER = "Caliper over a 380 disc"
TIE_ROD = "Tie-rod end"

_INNER, _CENTRE, _FACE = AnchorZ.INNER_FLANGE, AnchorZ.OUTER_FLANGE, AnchorZ.MOUNTING_FACE

#: z, r, radius, zone of the leaving edge, anchor along the axle.
_FREE = (
    (-178.0, 244.6, 1.5, Zone.INNER_LIP, _INNER),
    (-171.6, 240.8, 3.0, Zone.INNER_LIP, _INNER),
    (-171.6, 229.4, 5.0, Zone.INNER_SEAT, _INNER),
    (-150.9, 224.6, 8.0, Zone.INNER_SEAT, _INNER),
    (-133.6, 220.2, 6.0, Zone.BARREL, _INNER),
    (-14.6, 220.2, 8.0, Zone.BARREL, _CENTRE),
    (18.7, 207.1, 6.0, Zone.WELL, _CENTRE),
    (54.6, 206.7, 5.0, Zone.SHOULDER, _CENTRE),
    (52.3, 196.4, 5.0, Zone.SPOKE_BACK, _CENTRE),
    (50.3, 160.0, 0.0, Zone.SPOKE_BACK, _CENTRE),
    (50.1, 134.0, 18.0, Zone.SPOKE_BACK, _CENTRE),
    (41.8, 112.0, 10.0, Zone.SPOKE_BACK, _FACE),
    (9.3, 76.2, 4.0, Zone.SPOKE_BACK, _FACE),
    (9.3, 74.0, 0.0, Zone.HUB_PAD, _FACE),
    (0.0, 74.0, 0.0, Zone.HUB_PAD, _FACE),
    (0.0, 36.0, 0.0, Zone.BORE, _FACE),
    (40.0, 36.0, 2.0, Zone.HUB_FACE, _FACE),
    (40.0, 71.4, 14.0, Zone.SPOKE_FACE, _FACE),
    (66.2, 112.6, 24.0, Zone.SPOKE_FACE, _CENTRE),
    (73.3, 160.0, 0.0, Zone.SPOKE_FACE, _CENTRE),
    (75.5, 185.0, 60.0, Zone.SPOKE_FACE, _CENTRE),
    (78.6, 205.1, 10.0, Zone.OUTER_SEAT, _CENTRE),
    (84.4, 225.3, 3.0, Zone.OUTER_SEAT, _CENTRE),
    (94.8, 227.6, 5.0, Zone.OUTER_LIP, _CENTRE),
    (94.8, 240.9, 3.0, Zone.OUTER_LIP, _CENTRE),
    (102.0, 244.6, 1.5, Zone.OUTER_LIP, _CENTRE),
)

_OTHER_WALLS = (
    Zone.OUTER_LIP,
    Zone.OUTER_SEAT,
    Zone.INNER_SEAT,
    Zone.SHOULDER,
    Zone.SPOKE_BACK,
    Zone.SPOKE_FACE,
)

_BLANK = (
    (-2.9, 0), (-2.9, 74.8), (30.7, 107.4), (39.0, 119.6), (42.6, 133.4), (46.2, 159.5), (47.6, 188.5),
    (51.7, 203.5), (16.9, 204.3), (-13.2, 215.2), (-129.7, 217.3), (-139.0, 220.9), (-180.8, 224.4),
    (-180.8, 251.6), (-33.2, 252.8), (104.6, 251.6), (104.6, 224.5), (86.8, 222.5), (82.2, 203.0),
    (81.5, 197.7), (79.0, 188.4), (77.6, 159.5), (74.0, 133.2), (70.4, 119.0), (62.1, 106.8), (60.2, 100.5),
    (43.0, 71.2), (43.0, 0),
)  # fmt: skip

_CALIPER = (
    (-74, 116), (-74, 168), (-68, 194), (-52, 202), (-30, 203), (20, 203), (36, 199.5), (43, 190), (46, 176),
    (46, 134), (41, 122), (24, 116),
)  # fmt: skip

_TIE_ROD = ((-126, 176), (-126, 199.2), (-122, 203.2), (-108, 203.2), (-104, 199.2), (-104, 176))


def wheel() -> Wheel:
    """Return an 18 x 10 J wheel with inset 38 on its locked standard contour."""
    vertices = tuple(
        Vertex(
            z,
            r,
            radius,
            zone=zone,
            anchor_z=anchor,
            anchor_r=AnchorR.AXLE_LINE if r < 150 else AnchorR.BEAD_SEAT,
        )
        for z, r, radius, zone, anchor in _FREE
    )
    widths = ((72.0, 90.0), (95.0, 60.0), (150.0, 58.0), (190.0, 62.0), (215.0, 80.0))
    return Wheel(
        WHEEL,
        SizeCode(18.0, 10.0),
        38.0,
        vertices,
        rim=RimContour(18.0, 10.0),
        hub=Hub(),
        fixing=Fixing(),
        spokes=Spokes(5, widths, 76.0, (48.0, 201.0), (82.0, 204.0), holds_envelope=True),
        clears=(CALIPER,),
        rules="starting, road",
        blank=BLANK,
        load_kg=690.0,
        tyre="265/35R18",
    )


def project() -> Project:
    """Return the whole project: a wheel, its blank, a verified caliper, a tie-rod end with open questions."""
    answered = Answer(Known.ANSWERED, "as drawn", "test bench")
    card = SourceCard(
        "invented drawing",
        Grade.DRAWING,
        error_mm=0.3,
        datum_checked_by="test bench",
        datum_checked_on="2026-02-03",
        unit=answered,
        zero_face=answered,
        whole_body=answered,
        gap_included=answered,
        disc_and_pads=answered,
    )
    caliper = StayOut(
        CALIPER,
        (NamedOutline("as drawn", tuple(Corner(*map(float, c)) for c in _CALIPER)),),
        card=card,
        extent=Extent(-74.0, 46.0, True, True, confirmed_by="test bench"),
    )
    rod = StayOut(
        TIE_ROD,
        (NamedOutline("straight ahead", tuple(Corner(*map(float, c)) for c in _TIE_ROD)),),
        ShapeKind.TIE_ROD,
    )
    rules = RuleSet(
        "starting, road",
        gap=(GapRule(3.0, 0.5, 0.7), GapRule(4.0, 2.0, 0.5, ShapeKind.TIE_ROD)),
        wall=(
            WallRule(Zone.BARREL, 3.5, 0.2),
            WallRule(Zone.WELL, 3.5, 0.2),
            WallRule(Zone.INNER_LIP, 5.0, 0.5),
            *(WallRule(zone, 3.0, 0.2) for zone in _OTHER_WALLS),
        ),
        stock=(StockRule(2.0, 0.1),),
        seat_land_mm=10.0,
    )
    blank = Blank(
        BLANK, tuple(Corner(float(z), float(r)) for z, r in _BLANK), state=BlankState.PROVED, skin_mm=0.0
    )
    return Project(
        "Example",
        revision="3",
        revision_date="2026-02-03",
        wheels=(wheel(),),
        blanks=(blank,),
        shapes=(caliper, rod),
        rule_sets=(rules,),
        materials=(Material("6061-T6", 2712.6, "MIL-HDBK-5J, table 3.6.2.0: 0.098 lb/in3"),),
    )


def roomy() -> tuple[Project, Wheel]:
    """A two-step blank with room round the example's wheel, so that all kinds of cell occur."""
    whole = project()
    corners = (
        (-14.0, 0.0), (-14.0, 60.0), (0.0, 90.0), (30.0, 120.0), (34.0, 200.0), (-20.0, 205.0),
        (-135.0, 207.0), (-190.0, 218.0), (-190.0, 256.0), (116.0, 256.0), (116.0, 215.0), (92.0, 200.0),
        (90.0, 120.0), (60.0, 70.0), (60.0, 0.0),
    )  # fmt: skip
    blank = Blank("roomy", tuple(Corner(z, r) for z, r in corners))
    wheel = replace(whole.wheels[0], blank="roomy")
    return replace(whole, blanks=(*whole.blanks, blank), wheels=(wheel,)), wheel
