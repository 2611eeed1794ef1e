"""What the report says: digits by grade, units, dimensions, sentences, sources and rules."""

import math
from dataclasses import replace

import pytest

from app.project.demo import conditions
from app.project.project import Project
from app.project.wheel import Hub, Wheel
from app.reports.content import ReportContent, build_content
from app.reports.numbers import Numbers, decimals
from app.reports.rows import AnyRow, rank, worst_three
from app.reports.sentences import judged_line, sentence
from app.studies.fit import Measured, measure_wheel
from geometry.readings.measure import GapRow, Measurements, NamedReading, StockRow, WallRow
from geometry.readings.rules import State
from geometry.readings.solid import Solid
from geometry.shape.outline import Grade, ShapeKind, StayOut
from geometry.shape.rim import contour_vertices
from tests.support import example

#: A hub of which everything is known: nothing is left open by it.
HUB = Hub(72.0, 148.0, 1.5, 71.9, 12.0, 1.0, 160.0, 60.0, 14.0)


def built(project: Project, wheel: Wheel) -> ReportContent:
    return build_content(project, wheel, measure_wheel(project, wheel))


def numbers_of(content: ReportContent) -> dict[str, str]:
    return {
        callout.name.split(":")[0]: callout.number for callout in content.figure.callouts if callout.number
    }


def by_hand() -> Measurements:
    """Measurements with one row of each kind, every number chosen by hand."""
    gap = GapRow(
        shape="caliper",
        zone="spoke back",
        least_mm=4.1,
        error_mm=0.3,
        included_mm=0.0,
        radial_mm=0.5,
        axial_mm=-4.069,
        required_mm=3.0,
        worst_mm=0.5,
        spare_mm=0.8,
        state=State.CLEAR,
        at_wheel=(50.1, 134.0),
        at_shape=(46.0, 134.5),
        position="as drawn",
        grade="drawing",
        rule="own",
    )
    wall = WallRow("barrel", 3.8, 3.81, 3.5, 0.3, State.TIGHT, (-60.0, 224.0), (-60.0, 220.2), "own")
    stock = StockRow(
        "inner lip", "tyre", -2.6, 2.0, -4.6, State.SHORT, (-178.0, 247.0), (-175.4, 247.0), "own"
    )
    seat = NamedReading("seat_land", "Seat land", 13.0, "mm", (6.5, 60.0), 10.0, 3.0, State.CLEAR)
    area = NamedReading("lip_area", "Lip area", 412.25, "mm2", None)
    body = Solid(6877.3, 4_262_300.0, 11.56, 4.87, 434_200.0, 295_000.0, 16.46)
    return Measurements((gap,), (wall,), (stock,), body, None, (area,), (seat,), (), State.SHORT)


def test_worst_three_are_sentences_with_the_worst_state_first() -> None:
    assert [(row.state, sentence(row, Numbers("mm"))) for row in worst_three(by_hand())] == [
        (State.SHORT, "Inner lip stock, tyre side: -2.60 mm, needs 2.00, at r 247"),
        (State.TIGHT, "Barrel wall: 3.80 mm, needs 3.50, at r 224"),
        (State.CLEAR, "Spoke back to caliper: 4.10 mm, needs 3.00 + 0.30, at r 134"),
    ]


def test_a_touching_row_without_a_rule_comes_first() -> None:
    found = by_hand()
    touching = replace(found.gap[0], least_mm=-1.0, required_mm=None, spare_mm=None, state=State.TOUCHING)
    assert rank(touching) < rank(found.stock[0])
    assert worst_three(replace(found, gap=(touching,)))[0] is touching


def test_the_rows_that_explain_the_state_come_before_those_with_less_to_spare() -> None:
    found = by_hand()
    open_gap = replace(found.gap[0], spare_mm=None, required_mm=None, state=State.NOT_KNOWN)
    asked = replace(found.gap[0], spare_mm=9.0, state=State.NOT_KNOWN)
    holds = replace(found.wall[0], spare_mm=0.0)
    rows: list[AnyRow] = [holds, open_gap, asked]
    assert sorted(rows, key=rank) == [asked, open_gap, holds]
    measured = replace(found, gap=(open_gap, asked), wall=(holds,), stock=(), hub=())
    assert worst_three(measured) == [asked, open_gap, holds]


def test_short_without_a_number_to_keep_stands_before_what_holds() -> None:
    found = by_hand()
    fits = NamedReading("ring", "Hub ring", 60.0, "mm", None, state=State.SHORT, note="no ring is stated")
    absent = NamedReading("land", "Land", math.nan, "mm", None, state=State.NOT_KNOWN)
    exact = replace(found.wall[0], spare_mm=0.0)
    rows: list[AnyRow] = [found.gap[0], absent, exact, fits, found.stock[0]]
    assert sorted(rows, key=rank) == [found.stock[0], fits, absent, exact, found.gap[0]]
    assert worst_three(replace(found, hub=(fits, absent)))[1] is fits


def test_tables_hold_the_numbers_of_the_rows() -> None:
    project = example.project()
    outline = measure_wheel(project, project.wheels[0]).outline
    content = build_content(project, project.wheels[0], Measured(outline, (), by_hand()))
    cells = {table.title: [row.cells for row in table.rows] for table in content.tables}
    assert cells["Gap to stay-out shapes"] == [
        ("caliper", "spoke back", "4.10", "0.30", "0.00", "0.50", "-4.07", "3.00", "0.50", "0.80",
         "z 50.10, r 134.00", "drawing", "own")
    ]  # fmt: skip
    assert cells["Wall"] == [
        ("barrel", "3.80", "3.81", "3.50", "0.30", "z -60.00, r 224.00", "z -60.00, r 220.20", "own")
    ]
    assert cells["Hub and fixing"] == [("Seat land", "13.00", "10.00", "3.00", "z 6.50, r 60.00", "")]
    # Without any rule in the table, its columns are left out.
    assert cells["Lip, spoke and seat"] == [("Lip area", "412.2 mm²", "", "")]
    assert ("Polar inertia", "0.4342 kg m²", "about the axle") in cells["Mass and inertia"]
    titles = [table.title for table in content.tables]
    order = [
        "Gap to stay-out shapes",
        "Stock",
        "Lip, spoke and seat",
        "Wall",
        "Hub and fixing",
        "Mass and inertia",
    ]
    assert titles[: len(order)] == order


@pytest.mark.parametrize(
    ("grade", "mm", "inch"),
    # Practice: two decimals for a drawing or better, one for a scan, none for a tracing.
    [
        ("proved", "4.13", "0.163"),
        ("drawing", "4.13", "0.163"),
        ("scan", "4.1", "0.16"),
        ("tracing", "4", "0.2"),
        ("hearsay", "4", "0.2"),
    ],
)
def test_digits_follow_the_grade(grade: str, mm: str, inch: str) -> None:
    assert Numbers("mm").length(4.128, grade) == mm
    # 4.128 / 25.4 = 0.16252
    assert Numbers("in").length(4.128, grade) == inch
    assert decimals(Grade(grade), "mm") <= 2


def test_masses_and_powers_of_length_in_both_units() -> None:
    # 1 lb = 0.45359237 kg and 1 in = 25.4 mm by definition.
    assert Numbers("mm").mass(0.45359237 * 22.0) == "9.98 kg (22.00 lb)"
    assert Numbers("in").mass(0.45359237 * 22.0) == "22.00 lb (9.98 kg)"
    assert Numbers("in").volume(25.4**3 * 12.5) == "12.50 in³"
    assert Numbers("mm").volume(12_500.0) == "12.5 cm³"
    second = NamedReading("i", "Second moment", 25.4**4 * 0.5, "mm4", None)
    assert Numbers("in").named(second) == ("0.5000 in⁴", "", "")
    absent = NamedReading("v", "Valve land", float("nan"), "mm", None)
    assert Numbers("mm").named(absent) == ("", "", "")


def test_dimensions_are_those_of_the_published_contour() -> None:
    # 18 x 10 J: G 17.5 (JIS D 4218:2021), D 462.0 (a public listing, secondary), A 254.0 (from memory);
    # drawn well depth 17.3 (JIS D 4218:2021) + 2.7;
    # backspace A / 2 + B + inset = 127 + 13 + 38, front A / 2 + B - inset = 102.
    content = built(example.project(), example.wheel())
    found = numbers_of(content)
    assert found["inner seat"] == found["outer seat"] == "Ø 462.00"
    assert found["inner flange"] == found["outer flange"] == "Ø 497.00"
    assert found["well depth"] == "20.00"
    assert found["hub pad"] == "Ø 148.00"
    assert found["bore"] == "Ø 72.00"
    assert found["barrel inside"] == "Ø 440.40"
    assert content.figure.width is not None
    assert content.figure.width.words == "254.00 between flanges"
    words = [span.words for span in content.figure.spans]
    assert words == ["inset 38.00 from rim centre", "backspace 178.00", "front 102.00"]
    assert dict(content.facts)["Backspace"] == "178.00 mm"
    assert content.size == "18 x 10 J"


def test_an_unlocked_section_gives_the_same_dimensions() -> None:
    project, wheel = example.project(), example.wheel()
    assert wheel.rim is not None
    contour = tuple(v.moved(dz=-wheel.inset_mm) for v in contour_vertices(wheel.rim))
    free = replace(wheel, rim=None, vertices=contour + wheel.vertices)
    assert numbers_of(built(project, free)) == numbers_of(built(project, wheel))


def test_a_spacer_moves_the_wheel_and_not_its_dimensions() -> None:
    project, wheel = example.project(), example.wheel()
    plain, spaced = built(project, wheel), built(project, replace(wheel, spacer_mm=5.0))
    assert plain.figure.outline is not None
    assert spaced.figure.outline is not None
    assert spaced.figure.outline.bounds[0] == pytest.approx(plain.figure.outline.bounds[0] + 5.0)
    assert [s.words for s in spaced.figure.spans] == [*(s.words for s in plain.figure.spans), "spacer 5.00"]
    assert dict(spaced.facts)["Spacer"] == "5.00 mm"


def test_the_gap_line_stands_off_by_rule_and_error() -> None:
    # Rule 3.0 and error 0.3 round E-1, whose outermost r is 203 and whose outboard end is z 46 (demo E-1).
    (shape,) = built(example.project(), example.wheel()).figure.shapes
    (ring,) = shape.gap_lines
    assert max(r for _, r in ring) == pytest.approx(206.3, abs=0.01)
    assert max(z for z, _ in ring) == pytest.approx(49.3, abs=0.01)


def test_the_display_unit_changes_texts_and_not_the_drawing() -> None:
    project, wheel = example.project(), example.wheel()
    mm, inch = built(project, wheel), built(replace(project, display_unit="in"), wheel)
    assert mm.figure.bounds == inch.figure.bounds
    assert numbers_of(inch)["bore"] == "Ø 2.835"  # 72 / 25.4 = 2.8346
    assert dict(inch.facts)["Inset"] == "1.496 in"  # 38 / 25.4 = 1.4961


def _shape(kind: ShapeKind) -> StayOut:
    return replace(example.project().shapes[0], name=str(kind), kind=kind)


@pytest.mark.parametrize(
    ("kinds", "line"),
    [
        ((ShapeKind.CALIPER,), "Brake only. Tyre to body and suspension not judged."),
        ((ShapeKind.CALIPER, ShapeKind.SHIELD), "Brake only. Tyre to body and suspension not judged."),
        ((ShapeKind.TIE_ROD,), "Tie rod only. Tyre to body and suspension not judged."),
        (
            (ShapeKind.CALIPER, ShapeKind.TIE_ROD, ShapeKind.ARM),
            "Brake, tie rod and arm only. Tyre to body and suspension not judged.",
        ),
        ((), "No gap judged: no stay-out shape is given. Tyre to body and suspension not judged."),
    ],
)
def test_what_was_judged(kinds: tuple[ShapeKind, ...], line: str) -> None:
    assert judged_line([_shape(kind) for kind in kinds], "", has_readings=True) == line
    assert judged_line([], "", has_readings=False) == "Nothing judged: the section has faults."


def test_a_report_on_some_shapes_is_measured_against_those_alone() -> None:
    road = conditions()[0]
    project = replace(example.project(), conditions=(road,))
    wheel = replace(
        project.wheels[0],
        clears=(example.CALIPER, example.TIE_ROD),
        blank=None,
        hub=HUB,
        conditions=road.name,
    )
    measured = measure_wheel(project, wheel)
    whole = build_content(project, wheel, measured)
    # The tie-rod end has open questions, so the whole is not known; the caliper alone is.
    assert whole.state is State.NOT_KNOWN
    part = build_content(project, wheel, measured, (example.CALIPER,))
    assert part.state in (State.TIGHT, State.CLEAR)
    assert part.judged.startswith("Brake only.")
    assert [card.title for card in part.cards] == [f"{example.CALIPER} (caliper)"]
    assert {row.cells[0] for row in part.tables[0].rows} == {example.CALIPER}
    with pytest.raises(ValueError, match="is not held against a stay-out shape called 'nobody'"):
        build_content(project, wheel, measured, ("nobody",))


def test_a_source_card_says_all_that_is_known_and_open() -> None:
    project = example.project()
    wheel = replace(project.wheels[0], clears=(example.CALIPER, example.TIE_ROD))
    caliper, rod = (dict(card.lines) for card in built(project, wheel).cards[:2])
    assert caliper["Source"] == "invented drawing"
    assert caliper["Grade"] == "drawing, error ±0.30 mm"
    assert caliper["Datum checked"] == "test bench, 2026-02-03"
    assert caliper["Known"].startswith(
        "from z -74.00 to z 46.00; the body ends inboard; ends outboard; confirmed"
    )
    assert caliper["Open questions"] == "none"
    assert rod["Datum checked"] == "not checked"
    assert "Which unit is the outline in?" in rod["Open questions"]
    assert "not confirmed" in rod["Known"]


def test_rules_are_named_with_their_reasons_and_marked_while_they_are_starting_values() -> None:
    project, wheel = example.project(), example.wheel()
    rules = project.rule_sets[0]
    reasoned = replace(rules, gap=(replace(rules.gap[0], reason="flex and run-out"), *rules.gap[1:]))
    own = replace(project, rule_sets=(replace(reasoned, starting_values=False, revision="7"),))
    shipped, mine = (built(p, wheel).tables[-1] for p in (project, own))
    assert shipped.title == "Rules: starting, road, revision 1 (starting values)"
    assert any("starting values" in note for note in shipped.notes)
    assert mine.title == "Rules: starting, road, revision 7"
    assert not any("starting values" in note for note in mine.notes)
    assert "flex and run-out" in mine.rows[0].cells


def test_the_mass_says_what_it_holds() -> None:
    project, wheel = example.project(), example.wheel()
    table = next(t for t in built(project, wheel).tables if t.title == "Mass and inertia")
    assert table.rows[0].cells[2] == (
        "5 spokes by their width over radius from r 76.00 to the rim; "
        "5 bolt holes of 15.00 with sockets of 27.00 taken off"
    )
    bare = next(
        t
        for t in built(project, replace(wheel, spokes=None, fixing=None)).tables
        if t.title == "Mass and inertia"
    )
    assert bare.rows[0].cells[2] == "no spokes stated: a full disc; no bolt holes taken off"


def test_a_deciding_position_is_named_where_a_shape_has_several() -> None:
    project = example.project()
    rod = project.shapes[1]
    lock = replace(
        rod.outlines[0],
        label="full lock",
        corners=tuple(replace(c, r=c.r + 2.4) for c in rod.outlines[0].corners),
    )
    project = replace(project, shapes=(project.shapes[0], replace(rod, outlines=(*rod.outlines, lock))))
    wheel = replace(project.wheels[0], clears=(example.TIE_ROD,))
    rows = built(project, wheel).tables[0].rows
    barrel = next(row for row in rows if row.cells[1] == "barrel")
    assert barrel.cells[0] == f"{example.TIE_ROD}, full lock"


def test_walls_are_called_out_as_they_were_measured() -> None:
    project, wheel = example.project(), example.wheel()
    measured = measure_wheel(project, wheel)
    assert measured.measurements is not None
    found = numbers_of(build_content(project, wheel, measured))
    walls = {row.zone: row.least_mm for row in measured.measurements.wall}
    lips = {reading.key: reading.value for reading in measured.measurements.lip}
    assert found["barrel wall"] == f"min {walls['barrel']:.2f}"
    assert found["well wall"] == f"min {walls['well']:.2f}"
    assert found["inner lip, axial"] == f"{lips['inner_lip_axial']:.2f}"
    assert found["outer lip, axial"] == f"{lips['outer_lip_axial']:.2f}"
