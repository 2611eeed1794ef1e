"""Dialogs that make a wheel, its size, details and family, filled in by keys."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project import demo, edits
from app.project.coating import Coat, Coating
from app.project.project import Project
from app.project.strength import Basis, Rating
from app.project.wheel import Fixing, RingBody, Seat, Side, SingleNut
from app.window.dialogs.change_size import ChangeSizeDialog
from app.window.dialogs.family import FamilyDialog
from app.window.dialogs.new_wheel import NewWheelDialog
from app.window.dialogs.wheel_details import WheelDetailsDialog
from geometry.readings.conditions import Conditions
from geometry.readings.rules import State
from geometry.shape.section import Outline, build
from tests.gui.conftest import Opened, typed
from tests.support import example
from tests.support.panels import CALIPER, project


def test_a_new_wheel_from_the_keyboard_is_valid(ask: Opened) -> None:
    dialog = NewWheelDialog(project())
    asked = ask(dialog)
    typed(dialog.name, "Track 19")
    typed(dialog.diameter_code, "19")
    typed(dialog.width_code, "9 1/2")
    typed(dialog.inset.inset, "35")
    typed(dialog.bore, "66,6")
    typed(dialog.circle, "112")
    dialog.clears.boxes[CALIPER].click()
    asked.ok()
    made = asked.result
    wheel = made.wheels[-1]
    assert asked.applied[0][1] == "New wheel Track 19"
    assert (str(wheel.size), wheel.inset_mm, wheel.hub.bore_mm) == ("19 x 9.5 J", 35.0, 66.6)
    assert isinstance(wheel.fixing, Fixing)
    assert wheel.fixing.circle_mm == 112.0
    assert wheel.clears == (CALIPER,)
    assert wheel.rules == "starting, road"
    assert isinstance(build(wheel.section), Outline)


def test_backspace_and_inset_are_two_fields_of_one_number(ask: Opened) -> None:
    """Backspace = A / 2 + B + inset (definition); 18 x 10 J: A 254 (from memory), B 13. 7 in = 177.8."""
    dialog = NewWheelDialog(project())
    asked = ask(dialog)
    typed(dialog.inset.inset, "25")
    assert dialog.inset.backspace.number() == pytest.approx(127.0 + 13.0 + 25.0)
    typed(dialog.inset.backspace, "7 in")
    assert dialog.inset.number() == pytest.approx(177.8 - 140.0)
    typed(dialog.width_code, "9")  # A 228.5: what was typed last, the backspace, stays
    assert dialog.inset.backspace.number() == pytest.approx(177.8)
    assert dialog.inset.number() == pytest.approx(177.8 - 13.0 - 114.25)
    asked.ok()
    assert asked.result.wheels[-1].inset_mm == pytest.approx(50.55)


def test_a_size_that_does_not_fit_says_by_how_much(ask: Opened) -> None:
    dialog = NewWheelDialog(project())
    asked = ask(dialog)
    typed(dialog.bore, "110")
    assert "cuts into the bolt holes" in dialog.outcome.text()
    asked.ok()
    assert asked.applied == []
    assert "it must be under 105" in dialog.message.text()


def test_a_new_wheel_in_an_empty_project_brings_its_material(ask: Opened) -> None:
    dialog = NewWheelDialog(Project("Empty"))
    asked = ask(dialog)
    asked.ok()
    made = asked.result
    assert [m.name for m in made.materials] == [made.wheels[0].material]
    assert made.materials[0].density_kg_m3 == 2712.6  # 0.098 lb/in3 (MIL-HDBK-5J) x 27679.9


def test_a_spoke_back_that_follows_the_brake_keeps_its_gap(ask: Opened) -> None:
    whole = replace(example.project(), wheels=())
    dialog = NewWheelDialog(whole)
    asked = ask(dialog)
    dialog.clears.boxes[example.CALIPER].click()
    dialog.follow.box.click()
    asked.ok()
    made = asked.result
    from app.studies.fit import measure_wheel

    found = measure_wheel(made, made.wheels[0])
    assert found.measurements is not None
    back = [row for row in found.measurements.gap if row.zone == "spoke back"]
    assert back[0].least_mm == pytest.approx(4.1, abs=0.06)


@pytest.mark.parametrize(
    ("keep", "inset"),
    # Width code x 25.4 to 0.5, from memory: 9.5 to 10 grows A from 241.5 to 254.0, so by 12.5; half is 6.25.
    [("inset", 38.0), ("backspace", 38.0 - 6.25), ("inboard", 38.0 + 6.25)],
)
def test_a_change_of_width_asks_what_is_kept(ask: Opened, keep: str, inset: float) -> None:
    whole = example.project()
    start = whole.wheels[0]
    narrow = ChangeSizeDialog(whole, start.name)
    first = ask(narrow)
    typed(narrow.width_code, "9.5")
    first.ok()
    dialog = ChangeSizeDialog(first.result, start.name)
    asked = ask(dialog)
    dialog.keep.choose(keep)
    typed(dialog.width_code, "10")
    assert dialog.inset.number() == pytest.approx(inset)
    asked.ok()
    wheel = asked.result.wheels[0]
    assert wheel.inset_mm == pytest.approx(inset)
    assert wheel.size.width_code == 10.0


def test_an_inset_typed_beside_a_new_width_wins(ask: Opened) -> None:
    whole = example.project()
    dialog = ChangeSizeDialog(whole, whole.wheels[0].name)
    asked = ask(dialog)
    typed(dialog.inset.inset, "30")
    typed(dialog.width_code, "10.5")
    assert dialog.inset.number() == 30.0
    asked.ok()
    assert asked.result.wheels[0].inset_mm == pytest.approx(30.0)
    assert "inset 30.00 mm" in asked.applied[0][1]


def test_a_width_that_is_not_made_is_refused_with_its_reason(ask: Opened) -> None:
    whole = example.project()
    dialog = ChangeSizeDialog(whole, whole.wheels[0].name)
    asked = ask(dialog)
    typed(dialog.width_code, "10.3")
    asked.ok()
    assert asked.applied == []
    assert "10.3" in dialog.message.text()
    assert dialog.width_code.line.text() == "10.3"


def test_shipped_conditions_come_with_the_wheel_that_takes_them(ask: Opened) -> None:
    """A project from before there were any holds none; a shipped set comes with the wheel that takes it."""
    assert project().conditions == ()
    dialog = WheelDetailsDialog(project(), "Track 18")
    asked = ask(dialog)
    dialog.conditions.choose("starting, race")
    asked.ok()
    made = asked.result
    assert made.wheels[0].conditions == "starting, race"
    assert made.conditions == (Conditions("starting, race", camber_deg=0.4),)


def test_details_of_a_wheel(ask: Opened) -> None:
    dialog = WheelDetailsDialog(project(), "Track 18")
    asked = ask(dialog)
    typed(dialog.load, "1500 lb")
    typed(dialog.tyre, "265/35R18")
    typed(dialog.spacer, "5")
    dialog.blank.choose("C18")
    dialog.fixing.seat.choose(Seat.BALL)
    typed(dialog.fixing.ball, "12")
    typed(dialog.hub.spigot, "71.9")
    dialog.rings.rows.add_row(("weight band", -32.0, -28.0, 215.7, 220.2, 0.05))
    asked.ok()
    wheel = asked.result.wheels[0]
    assert wheel.load_kg == pytest.approx(680.388555)  # 1500 x 0.45359237
    assert (wheel.tyre, wheel.spacer_mm, wheel.blank) == ("265/35R18", 5.0, "C18")
    assert isinstance(wheel.fixing, Fixing)
    assert (wheel.fixing.seat, wheel.fixing.ball_radius_mm) == (Seat.BALL, 12.0)
    assert wheel.hub.spigot_mm == 71.9
    assert wheel.rings == (RingBody("weight band", -32.0, -28.0, 215.7, 220.2, 0.05),)


def test_side_and_coating_are_told(ask: Opened) -> None:
    dialog = WheelDetailsDialog(project(), "Track 18")
    asked = ask(dialog)
    dialog.side.choose(Side.PAIR)
    page = dialog.coating
    dialog.pages.setCurrentIndex(4)
    assert not page.thickness.isVisible()  # nothing is asked of a coating that is not stated
    page.coat.choose(Coat.HARD)
    assert page.thickness.isVisible()
    assert page.grows.isVisible()
    assert not page.cure.isVisible()
    typed(page.thickness, "0,05")
    page.bore.choose(True)
    page.seats.choose(False)
    asked.ok()
    wheel = asked.result.wheels[0]
    assert wheel.side is Side.PAIR
    assert wheel.coating == Coating(Coat.HARD, 0.05, True, False)


def test_what_is_said_of_a_coating_goes_with_it(ask: Opened) -> None:
    whole = project()
    coated = replace(whole.wheels[0], coating=Coating(Coat.POWDER, 0.1, True, None))
    dialog = WheelDetailsDialog(replace(whole, wheels=(coated, *whole.wheels[1:])), coated.name)
    asked = ask(dialog)
    dialog.pages.setCurrentIndex(4)
    assert dialog.coating.cure.isVisible()
    dialog.coating.coat.choose(Coat.NONE)
    asked.ok()
    assert asked.result.wheels[0].coating == Coating(Coat.NONE)


def test_a_single_nut_shows_its_own_fields(ask: Opened) -> None:
    dialog = WheelDetailsDialog(project(), "Track 18")
    asked = ask(dialog)
    dialog.pages.setCurrentIndex(2)
    dialog.fixing.which.choose("nut")
    assert dialog.fixing.cone.isVisible()
    assert not dialog.fixing.circle.isVisible()
    assert dialog.fixing.nut_land.isVisible()
    assert not dialog.fixing.land.isVisible()
    typed(dialog.fixing.nut_seat, "84 mm")
    typed(dialog.fixing.nut_land, "0.5 in")  # 12.7
    typed(dialog.fixing.pins, "6")
    asked.ok()
    assert asked.result.wheels[0].fixing == SingleNut(60.0, 84.0, 12.7, 6, 120.0, 15.0)


def test_sizes_of_a_nut_stand_in_the_unit_of_the_project(ask: Opened) -> None:
    whole = replace(project(), display_unit="in")
    nut = SingleNut(60.0, 84.0, 12.7, 6, 104.0, 14.0)
    whole = replace(whole, wheels=(replace(whole.wheels[0], fixing=nut), *whole.wheels[1:]))
    dialog = WheelDetailsDialog(whole, "Track 18")
    asked = ask(dialog)
    for field in (dialog.fixing.nut_seat, dialog.fixing.nut_land, dialog.fixing.pin_circle):
        assert field.kind.unit == "in"
    assert float(dialog.fixing.nut_land.line.text()) == 0.5
    typed(dialog.fixing.nut_land, "0")
    asked.ok()
    assert "too small" in dialog.fixing.nut_land.message.text()
    typed(dialog.fixing.nut_land, "0.25")
    asked.ok()
    fixing = asked.result.wheels[0].fixing
    assert isinstance(fixing, SingleNut)
    assert fixing.seat_diameter_mm == 84.0
    assert fixing.seat_land_mm == pytest.approx(6.35)  # 0.25 x 25.4


def test_a_hub_ring_closes_the_question_of_a_loose_bore(ask: Opened) -> None:
    """A bore 1 mm over the spigot centres nothing by itself; a ring between them does."""
    from app.studies.fit import measure_wheel

    whole = example.project()
    wheel = edits.find(whole, edits.WHEEL, example.WHEEL)
    loose = replace(wheel, hub=replace(wheel.hub, spigot_mm=wheel.hub.bore_mm - 1.0))
    whole = edits.replaced(whole, edits.WHEEL, wheel.name, loose)

    def fit(project: Project) -> tuple[State | None, str]:
        found = measure_wheel(project, edits.find(project, edits.WHEEL, wheel.name)).measurements
        assert found is not None
        return next((row.state, row.note) for row in found.hub if row.key == "bore_over_spigot")

    assert fit(whole)[0] is State.SHORT
    dialog = WheelDetailsDialog(whole, wheel.name)
    asked = ask(dialog)
    assert not dialog.hub.hub_ring.read()
    dialog.hub.hub_ring.box.click()
    asked.ok()
    assert edits.find(asked.result, edits.WHEEL, wheel.name).hub.hub_ring
    assert fit(asked.result) == (State.CLEAR, "Centred by a hub ring.")


def test_spokes_and_their_widths(ask: Opened) -> None:
    dialog = WheelDetailsDialog(project(), "Track 18")
    asked = ask(dialog)
    dialog.pages.setCurrentIndex(4)
    dialog.spokes.spoked.box.click()
    typed(dialog.spokes.widths.cells[0][0], "90")
    typed(dialog.spokes.widths.cells[1][0], "80")
    asked.ok()
    assert "must rise" in dialog.message.text()
    typed(dialog.spokes.widths.cells[0][0], "75")
    dialog.spokes.envelope.choose(False)
    asked.ok()
    spokes = asked.result.wheels[0].spokes
    assert spokes is not None
    assert [r for r, _ in spokes.widths] == [75.0, 80.0]
    assert spokes.holds_envelope is False


def test_the_rim_is_unlocked_with_a_record(ask: Opened) -> None:
    whole = example.project()
    name = whole.wheels[0].name
    dialog = WheelDetailsDialog(whole, name)
    asked = ask(dialog)
    dialog.pages.setCurrentIndex(6)
    dialog.rim.unlock.box.click()
    asked.ok()
    assert "say who does it" in dialog.message.text()
    typed(dialog.rim.by, "R. Kern")
    typed(dialog.rim.on, "2026-03-09")
    asked.ok()
    wheel = asked.result.wheels[0]
    assert wheel.rim is None
    assert wheel.unlocked is not None
    assert (wheel.unlocked.by, wheel.unlocked.on) == ("R. Kern", "2026-03-09")
    assert len(wheel.vertices) == len(whole.wheels[0].section.vertices)


def test_a_parameter_of_the_rim_that_cannot_be_is_refused(ask: Opened) -> None:
    whole = example.project()
    dialog = WheelDetailsDialog(whole, whole.wheels[0].name)
    asked = ask(dialog)
    typed(dialog.rim.numbers["shelf_depth_mm"], "40")
    asked.ok()
    assert asked.applied == []
    assert "shelf depth" in dialog.message.text()


def test_a_wheel_says_where_its_load_comes_from(ask: Opened) -> None:
    dialog = WheelDetailsDialog(project(), project().wheels[0].name)
    asked = ask(dialog)
    dialog.rating.basis.choose(Basis.HALF_AXLE)
    typed(dialog.rating.axle, "1380")
    typed(dialog.rating.edition, "invented, 2026")
    asked.ok()
    assert asked.result.wheels[0].rating == Rating(Basis.HALF_AXLE, 1380.0, edition="invented, 2026")


# Families


def test_a_wheel_of_the_same_design_in_another_size(ask: Opened) -> None:
    """practice 37: a drawn wheel becomes a family; its wheel is an ordinary one, edited by hand."""
    whole = example.project()
    dialog = FamilyDialog(whole, example.WHEEL)
    asked = ask(dialog)
    base = whole.wheels[0]
    assert dialog.barrel.number() == pytest.approx(3.8, abs=0.01)  # the drawn barrel is 3.8 thick
    typed(dialog.name, "Track 18 narrow")
    typed(dialog.width_code, "9 1/2")
    typed(dialog.inset.inset, "35")
    asked.ok()
    wheel = asked.result.wheels[-1]
    assert (str(wheel.size), wheel.inset_mm) == ("18 x 9.5 J", 35.0)
    assert isinstance(build(wheel.section), Outline)
    assert (wheel.rules, wheel.fixing, wheel.load_kg) == (base.rules, base.fixing, base.load_kg)
    assert wheel.rim is not None
    assert wheel.rim.width_code == 9.5
    assert asked.result.wheels[0] == base


def test_the_same_size_of_a_family_is_the_drawn_wheel_again(ask: Opened) -> None:
    base = demo.track_18()
    whole = Project("Family", wheels=(base,), materials=(demo.material_6061(),))
    dialog = FamilyDialog(whole, base.name)
    asked = ask(dialog)
    asked.ok()
    wheel = asked.result.wheels[-1]
    for new, old in zip(wheel.vertices, base.vertices, strict=True):
        assert (new.z, new.r) == pytest.approx((old.z, old.r), abs=1e-6)


def test_a_wheel_that_gives_no_family_says_why(ask: Opened) -> None:
    dialog = FamilyDialog(project(), "Track 18")
    asked = ask(dialog)
    assert "unlocked" in dialog.outcome.text()
    asked.ok()
    assert asked.applied == []
