"""Dialogs of blanks, shapes, rules, materials, fitments and names, filled in by keys."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project import edits
from app.project.project import FatiguePoint, Fitment, Project
from app.window.dialogs.blank_details import BlankDialog
from app.window.dialogs.fitment import FitmentDialog
from app.window.dialogs.materials import MaterialDialog
from app.window.dialogs.new_blank import NewBlankDialog
from app.window.dialogs.new_shape import NewShapeDialog
from app.window.dialogs.rename import RenameDialog
from app.window.dialogs.rules import RuleSetDialog
from geometry.shape.blank import BlankState
from geometry.shape.curve import Path
from geometry.shape.outline import Motion, ShapeKind, outline_path
from tests.gui.conftest import Opened, typed
from tests.support.panels import CALIPER, project

# Blanks and shapes


def test_a_new_blank_from_five_numbers(ask: Opened) -> None:
    dialog = NewBlankDialog(project())
    asked = ask(dialog)
    typed(dialog.outside, "19,8 in")
    asked.ok()
    blank = asked.result.blanks[-1]
    path = outline_path(blank.corners)
    assert isinstance(path, Path)
    assert path.bounds[3] == pytest.approx(19.8 * 25.4 / 2.0)


def test_a_disc_that_stands_out_of_its_ring_is_refused(ask: Opened) -> None:
    dialog = NewBlankDialog(project())
    asked = ask(dialog)
    typed(dialog.position, "260")
    asked.ok()
    assert asked.applied == []
    assert "out of a ring" in dialog.message.text()


def test_details_of_a_blank(ask: Opened) -> None:
    dialog = BlankDialog(project(), "A18")
    asked = ask(dialog)
    dialog.state.choose(BlankState.QUOTED)
    typed(dialog.skin, "1.5")
    typed(dialog.name, "A18 b")
    asked.ok()
    made = asked.result
    assert (made.blanks[0].name, made.blanks[0].state, made.blanks[0].skin_mm) == (
        "A18 b",
        BlankState.QUOTED,
        1.5,
    )
    assert made.wheels[0].blank == "A18 b"


def test_a_new_shape_starts_with_every_question_open(ask: Opened) -> None:
    dialog = NewShapeDialog(project())
    asked = ask(dialog)
    dialog.kind.choose(ShapeKind.TIE_ROD)
    typed(dialog.r_low, "300")
    asked.ok()
    assert "The box is empty" in dialog.message.text()
    typed(dialog.r_low, "100")
    asked.ok()
    shape = asked.result.shapes[-1]
    assert shape.motion is Motion.AGAINST_KNUCKLE
    assert len(shape.open_questions()) == 9


# Rules, materials, fitments, names


def test_editing_a_rule_takes_the_mark_off_and_raises_the_revision(ask: Opened) -> None:
    dialog = RuleSetDialog(project(), "starting, road")
    asked = ask(dialog)
    assert dialog.starting.read() is True
    typed(dialog.gap.cells[0][3], "3,5")
    assert dialog.starting.read() is False
    assert dialog.revision.read() == "2"
    asked.ok()
    rules = asked.result.rule_sets[0]
    assert (rules.gap[0].paper_mm, rules.revision, rules.starting_values) == (3.5, "2", False)
    assert rules.gap[1] == project().rule_sets[0].gap[1]


def test_two_rules_for_one_place_are_refused(ask: Opened) -> None:
    dialog = RuleSetDialog(project(), "starting, road")
    asked = ask(dialog)
    dialog.wall.add_row((dialog.wall.cells[0][0].read(), 4.0, 0.5, "again"))
    asked.ok()
    assert asked.applied == []
    assert "two wall rules for barrel" in dialog.message.text()


def test_a_new_rule_set_starts_from_the_shipped_values_and_says_so(ask: Opened) -> None:
    dialog = RuleSetDialog(Project("Empty"))
    asked = ask(dialog)
    asked.ok()
    rules = asked.result.rule_sets[0]
    assert rules.starting_values
    # practice 5: caliper 3.0 on paper and 0.5 in the worst state.
    caliper = next(g for g in rules.gap if g.kind is ShapeKind.CALIPER)
    assert (caliper.paper_mm, caliper.worst_mm) == (3.0, 0.5)
    assert all(g.reason for g in rules.gap)


def test_a_new_rule_set_can_start_from_one_of_the_project(ask: Opened) -> None:
    dialog = RuleSetDialog(project())
    asked = ask(dialog)
    dialog.start.choose(project().rule_sets[0])
    asked.ok()
    made = asked.result.rule_sets
    assert made[1].name == "starting, road 2"
    assert made[1].gap == made[0].gap


def test_a_material_and_a_name_that_is_taken(ask: Opened) -> None:
    dialog = MaterialDialog(project())
    asked = ask(dialog)
    typed(dialog.name, "6061-T6")
    asked.ok()
    assert 'already a material called "6061-T6"' in dialog.message.text()
    typed(dialog.name, "2014-T6")
    typed(dialog.density, "2796")
    asked.ok()
    assert [m.name for m in asked.result.materials] == ["6061-T6", "2014-T6"]


def test_a_material_takes_its_own_row_whole_and_a_table_that_falls(ask: Opened) -> None:
    dialog = MaterialDialog(project(), "6061-T6")
    asked = ask(dialog)
    typed(dialog.elastic, "69500")
    asked.ok()
    assert "give all four or none" in dialog.message.text()
    typed(dialog.poisson, "0,33")
    typed(dialog.yields, "265")
    typed(dialog.ultimate, "291")
    for cycles, stress in (("100000", "108,2"), ("10000000", "171,5")):
        dialog.fatigue.add_row()
        for cell, text in zip(dialog.fatigue.cells[-1], (cycles, stress), strict=True):
            typed(cell, text)
    asked.ok()
    assert "rise in cycles and fall in stress" in dialog.message.text()
    typed(dialog.fatigue.cells[0][1], "171,5")
    typed(dialog.fatigue.cells[1][1], "108,2")
    asked.ok()
    made = asked.result.materials[0]
    assert (made.elastic_mpa, made.poisson, made.yield_mpa, made.ultimate_mpa) == (
        69500.0,
        0.33,
        265.0,
        291.0,
    )
    assert made.fatigue == (FatiguePoint(1e5, 171.5), FatiguePoint(1e7, 108.2))


def test_a_fitment_keeps_what_is_not_known_open(ask: Opened) -> None:
    dialog = FitmentDialog(project())
    asked = ask(dialog)
    typed(dialog.name, "R-1")
    typed(dialog.diameter_code, "18")
    typed(dialog.inset_low, "45")
    typed(dialog.inset_high, "32")
    typed(dialog.load, "690")
    dialog.shape.choose(CALIPER)
    dialog.must.choose(True)
    asked.ok()
    assert "Inset: 45, 32 runs backwards" in dialog.message.text()
    typed(dialog.inset_low, "32")
    typed(dialog.inset_high, "45")
    asked.ok()
    assert asked.result.fitments[0] == Fitment(
        "R-1",
        diameter_code=18.0,
        inset_low_mm=32.0,
        inset_high_mm=45.0,
        load_kg=690.0,
        shape=CALIPER,
        must=True,
    )


def test_axle_and_use_are_chosen_and_an_older_word_is_kept(ask: Opened) -> None:
    whole = replace(project(), fitments=(Fitment("R-1", axle="front, lowered"),))
    dialog = FitmentDialog(whole, "R-1")
    asked = ask(dialog)
    words = [dialog.axle.box.itemText(k) for k in range(dialog.axle.box.count())]
    assert words == ["not stated", "front", "rear", "both", "front, lowered"]
    assert dialog.axle.read() == "front, lowered"
    dialog.use.choose("track")
    asked.ok()
    assert (asked.result.fitments[0].axle, asked.result.fitments[0].use) == ("front, lowered", "track")


def test_a_new_name_is_followed_by_its_users(ask: Opened) -> None:
    dialog = RenameDialog(project(), edits.BLANK, "A18")
    asked = ask(dialog)
    typed(dialog.name, "C18")
    asked.ok()
    assert 'already a blank called "C18"' in dialog.message.text()
    assert dialog.name.line.text() == "C18"
    typed(dialog.name, "A18 proved")
    asked.ok()
    assert asked.result.wheels[0].blank == "A18 proved"
