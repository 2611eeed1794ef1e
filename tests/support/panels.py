"""A made-up state of the window for the tests of its panels: numbers chosen by hand, not computed."""

from __future__ import annotations

from app.project.project import Material, Project
from app.project.wheel import Fixing, Hub, SizeCode, Wheel
from app.session.document import Document
from app.studies.fit import Measured
from geometry.readings.measure import BlankReading, GapRow, Measurements, NamedReading, StockRow, WallRow
from geometry.readings.rules import GapRule, RuleSet, State, StockRule, WallRule, worst
from geometry.readings.solid import Solid
from geometry.shape.blank import Blank
from geometry.shape.faults import Fault
from geometry.shape.outline import Corner, NamedOutline, ShapeKind, StayOut
from geometry.shape.section import Vertex, Zone, build

CALIPER = "Caliper over 380 disc"
QUESTIONS = ("Which unit is the outline in?", "Who checked the zero face and the axle line, and when?")

#: A plain ring with a disc: 20 wide in z, r 36 to 100; enough for tables and panels.
VERTICES = (
    Vertex(20.0, 100.0, 2.0, zone=Zone.OUTER_LIP),
    Vertex(-20.0, 100.0, 0.0, zone=Zone.INNER_LIP),
    Vertex(-20.0, 90.0, 0.0, zone=Zone.BARREL),
    Vertex(0.0, 90.0, 3.0, zone=Zone.SPOKE_BACK),
    Vertex(0.0, 36.0, 0.0, zone=Zone.BORE),
    Vertex(20.0, 36.0, 0.0, bulge=0.1, zone=Zone.SPOKE_FACE),
)


def project() -> Project:
    """Return a project with one of each kind, a second wheel and a second blank."""
    wheel = Wheel(
        "Track 18",
        SizeCode(18.0, 10.0),
        38.0,
        VERTICES,
        hub=Hub(),
        fixing=Fixing(),
        clears=(CALIPER,),
        rules="starting, road",
        blank="A18",
        load_kg=690.0,
    )
    box = (Corner(-74.0, 116.0), Corner(46.0, 116.0), Corner(46.0, 203.0), Corner(-74.0, 203.0))
    ring = (Corner(-30.0, 30.0), Corner(30.0, 30.0), Corner(30.0, 110.0), Corner(-30.0, 110.0))
    rules = RuleSet(
        "starting, road",
        gap=(GapRule(3.0, 0.5, 0.7, reason="starting value"), GapRule(4.0, 2.0, 0.5, ShapeKind.TIE_ROD)),
        wall=(WallRule(Zone.BARREL, 3.5, 0.3), WallRule(Zone.INNER_LIP, 6.0, 0.5)),
        stock=(StockRule(2.0, 0.5),),
    )
    return Project(
        "Demo",
        wheels=(wheel, Wheel("Club 17", SizeCode(17.0, 9.0), 38.0, VERTICES)),
        blanks=(Blank("A18", ring), Blank("C18", ring)),
        shapes=(StayOut(CALIPER, (NamedOutline("as drawn", box),)),),
        rule_sets=(rules,),
        materials=(Material("6061-T6", source="MIL-HDBK-5J, table 3.6.2.0"),),
    )


def gap_row(zone: str, least: float, state: State, **changes: object) -> GapRow:
    """Return a gap row against a rule of 3."""
    values: dict[str, object] = {
        "shape": CALIPER,
        "zone": zone,
        "least_mm": least,
        "error_mm": 0.3,
        "included_mm": 0.0,
        "radial_mm": 0.5,
        "axial_mm": least,
        "required_mm": 3.0,
        "worst_mm": 0.5,
        "spare_mm": least - 0.3 - 3.0,
        "state": state,
        "at_wheel": (50.25, 134.0),
        "at_shape": (46.0, 134.0),
        "position": "as drawn",
        "grade": "drawing",
        "rule": "starting, road",
    }
    return GapRow(**(values | changes))  # type: ignore[arg-type]


def measurements(*gap: GapRow) -> Measurements:
    """Return readings with the gap rows given, else with three of them, one touching and one not known."""
    rows = gap or (
        gap_row("barrel", -1.333, State.TOUCHING, move_radial_mm=-1.5, move_axial_mm=9.0),
        gap_row("shoulder", 3.2, State.SHORT, at_wheel=(43.0, 190.0)),
        gap_row("spoke back", 4.1234, State.NOT_KNOWN, questions=QUESTIONS),
    )
    wall = (
        WallRow("well", 4.0, 4.0, None, None, None, (-10.0, 207.0), (-10.0, 211.0), None),
        WallRow("barrel", 3.8, 3.81, 3.5, 0.3, State.TIGHT, (-90.0, 220.2), (-90.0, 224.0), "starting, road"),
        WallRow(
            "inner lip", 6.5, 6.5, 6.0, 0.5, State.CLEAR, (-176.0, 240.0), (-170.0, 240.0), "starting, road"
        ),
    )
    stock = (
        StockRow("barrel", "brake", 2.2, 2.0, 0.2, State.TIGHT, (-133.0, 220.2), (-133.0, 218.0), "own"),
        StockRow("outer seat", "tyre", 14.75, 2.0, 12.75, State.CLEAR, (80.0, 231.0), (80.0, 246.0), "own"),
    )
    lip = (
        NamedReading(
            "lip_axial", "Inner lip, axial", 6.5, "mm", (-178.0, 240.0), note="at half flange height"
        ),
        NamedReading("lip_area", "Inner lip, section", 182.44, "mm2", None),
        NamedReading("lip_second", "Inner lip, second moment", 12345.0, "mm4", None),
    )
    hub = (NamedReading("seat_land", "Seat land", 13.0, "mm", (0.0, 60.0), 10.0, 3.0, State.CLEAR),)
    judged: list[State | None] = [r.state for r in rows]
    judged += [r.state for r in wall]
    judged += [r.state for r in stock]
    states = [state for state in judged if state is not None]
    return Measurements(
        gap=rows,
        wall=wall,
        stock=stock,
        solid=Solid(9000.0, 3.72e6, 10.1, -12.3, 381_000.0, 250_000.0, 16.0),
        blank=BlankReading("A18", 55.0, 44.9, 5.4455, 0.0, 0.0),
        lip=lip,
        hub=hub,
        questions=("No tyre: state it in Wheel details.",),
        state=worst(states),
    )


def document(found: Measurements | None = None, faults: tuple[Fault, ...] = ()) -> Document:
    """Return the open project with these readings or faults, whatever is edited."""

    def measured(_project: Project, wheel: Wheel) -> Measured:
        outline = build(wheel.section)
        if faults or isinstance(outline, tuple):
            return Measured(None, faults or outline, None)  # type: ignore[arg-type]
        return Measured(outline, (), found or measurements())

    opened = Document(measure=measured)
    opened.start(project())
    return opened
