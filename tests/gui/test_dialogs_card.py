"""The source card of a shape, filled in by keys: what is open stands at the top and follows every key."""

from __future__ import annotations

from app.files.schema import problems
from app.project import edits
from app.project.project import Project
from app.studies.fit import measure_wheel
from app.window.dialogs.source_card import SourceCardDialog
from geometry.readings.rules import State
from geometry.shape.outline import (
    Answer,
    Grade,
    Known,
    Motion,
    Reach,
    ShapeKind,
    SourceCard,
    StayOut,
    ZeroFace,
)
from tests.gui.conftest import Opened, typed, write
from tests.support import example
from tests.support.panels import CALIPER, project


def answer(dialog: SourceCardDialog, key: str, words: str, by: str) -> None:
    field = dialog.answers[key]
    field.state.setCurrentText("answered")
    for line, text in ((field.text, words), (field.by, by)):
        line.setFocus()
        line.selectAll()
        write(line, text)


def test_one_dialog_confirms_a_shape(ask: Opened) -> None:
    """An imported shape reads 'not known' until its card is filled in; then its gaps are judged."""
    whole = example.project()
    caliper = edits.find(whole, edits.SHAPE, example.CALIPER)
    bare = StayOut(caliper.name, caliper.outlines, card=SourceCard(grade=Grade.DRAWING))
    whole = edits.replaced(whole, edits.SHAPE, caliper.name, bare)

    def states(project: Project) -> set[State | None]:
        found = measure_wheel(project, project.wheels[0]).measurements
        assert found is not None
        return {row.state for row in found.gap if row.shape == caliper.name}

    assert states(whole) == {State.NOT_KNOWN}
    dialog = SourceCardDialog(whole, caliper.name)
    asked = ask(dialog)
    assert "not known until settled (7)" in dialog.open_label.text()
    for key in dialog.answers:
        answer(dialog, key, "seen on the drawing", "R. Kern")
    assert "(2): datum check, extent" in dialog.open_label.text()
    typed(dialog.checked_by, "R. Kern")
    typed(dialog.checked_on, "2026-03-09")
    typed(dialog.confirmed_by, "R. Kern")
    dialog.ends_inboard.box.click()
    dialog.ends_outboard.box.click()
    assert "Nothing is open" in dialog.open_label.text()
    asked.ok()
    made = asked.result
    card = edits.find(made, edits.SHAPE, caliper.name).card
    assert (card.unit.state, card.unit.text, card.unit.by) == (
        Known.ANSWERED,
        "seen on the drawing",
        "R. Kern",
    )
    assert (card.datum_checked_by, card.datum_checked_on) == ("R. Kern", "2026-03-09")
    assert State.NOT_KNOWN not in states(made)


def test_an_answer_needs_words_and_a_name(ask: Opened) -> None:
    dialog = SourceCardDialog(project(), CALIPER)
    asked = ask(dialog)
    field = dialog.answers["unit"]
    field.state.setCurrentText("assumed")
    asked.ok()
    assert "nothing was said" in field.message.text()
    write(field.text, "mm")
    asked.ok()
    assert "by whom" in field.message.text()
    write(field.by, "R. Kern")
    asked.ok()
    assert asked.result.shapes[0].card.unit.state is Known.ASSUMED


def test_what_moves_against_the_knuckle_must_say_whether_it_is_swept(ask: Opened) -> None:
    dialog = SourceCardDialog(project(), CALIPER)
    asked = ask(dialog)
    dialog.pages.setCurrentIndex(2)
    assert not dialog.swept.isVisible()
    dialog.motion.choose(Motion.AGAINST_KNUCKLE)
    assert dialog.swept.isVisible()
    assert "sweep" in dialog.open_label.text()
    dialog.swept.choose(True)
    assert "sweep" not in dialog.open_label.text()
    typed(dialog.z_low, "50")
    typed(dialog.z_high, "-50")
    asked.ok()
    assert "the first must be the smaller" in dialog.message.text()
    typed(dialog.z_low, "-60")
    asked.ok()
    assert asked.result.shapes[0].extent.z_low == -60.0
    assert asked.result.shapes[0].swept is True


def test_a_zero_on_the_hub_flange_asks_for_the_hat_and_moves_the_outline(ask: Opened) -> None:
    """An outline drawn from the hub flange lies a hat's thickness further inboard of the wheel's face."""
    dialog = SourceCardDialog(project(), CALIPER)
    asked = ask(dialog)
    dialog.pages.setCurrentIndex(1)
    assert dialog.zero_at.read() is ZeroFace.BEARING
    assert not dialog.hat.isEnabled()
    typed_before = dialog.hat.read()
    dialog.zero_at.choose(ZeroFace.HUB_FLANGE)
    assert dialog.hat.isEnabled()
    assert typed_before is None
    assert "hat thickness" in dialog.open_label.text()
    typed(dialog.hat, "seven")
    asked.ok()
    assert asked.applied == []
    assert dialog.hat.message.text()
    typed(dialog.hat, "7")
    assert "hat thickness" not in dialog.open_label.text()
    asked.ok()
    shape = asked.result.shapes[0]
    assert (shape.card.zero_at, shape.card.hat_mm, shape.shift_mm) == (ZeroFace.HUB_FLANGE, 7.0, -7.0)


def test_a_hat_that_does_not_count_is_kept_and_moves_nothing(ask: Opened) -> None:
    whole = project()
    shape = whole.shapes[0].with_card(zero_at=ZeroFace.HUB_FLANGE, hat_mm=7.0)
    dialog = SourceCardDialog(edits.replaced(whole, edits.SHAPE, shape.name, shape), shape.name)
    asked = ask(dialog)
    typed(dialog.hat, "8 7")  # Not to be read, and out of use a moment later.
    dialog.zero_at.choose(ZeroFace.BEARING)
    asked.ok()
    made = asked.result.shapes[0]
    assert (made.card.zero_at, made.card.hat_mm, made.shift_mm) == (ZeroFace.BEARING, 7.0, 0.0)


def test_r_at_one_plane_only_is_an_open_question(ask: Opened) -> None:
    whole = project()
    said = Answer(Known.ANSWERED, "sheet 2", "R. Kern")
    shape = whole.shapes[0].with_card(whole_body=said)
    dialog = SourceCardDialog(edits.replaced(whole, edits.SHAPE, shape.name, shape), shape.name)
    asked = ask(dialog)
    assert "r over the whole body" not in dialog.open_label.text()
    dialog.r_over.choose(Reach.ONE_PLANE)
    assert "r over the whole body" in dialog.open_label.text()
    asked.ok()
    made = asked.result.shapes[0]
    assert made.card.r_over is Reach.ONE_PLANE
    assert [q for q in made.open_questions() if "one plane only: how large" in q]


def test_kind_and_motion_that_disagree_are_named(ask: Opened) -> None:
    dialog = SourceCardDialog(project(), CALIPER)
    asked = ask(dialog)
    dialog.pages.setCurrentIndex(2)
    assert not dialog.motion_note.isVisible()
    dialog.kind.choose(ShapeKind.TIE_ROD)  # follows by itself
    assert dialog.motion.read() is Motion.AGAINST_KNUCKLE
    assert not dialog.motion_note.isVisible()
    dialog.motion.choose(Motion.WITH_KNUCKLE)
    assert dialog.motion_note.isVisible()
    assert "a tie rod, which does not steer with the wheel" in dialog.motion_note.text()
    assert "motion" in dialog.open_label.text()
    dialog.kind.choose(ShapeKind.CALIPER)
    assert not dialog.motion_note.isVisible()
    dialog.motion.choose(Motion.AGAINST_KNUCKLE)
    assert "a caliper, which steers with the wheel" in dialog.motion_note.text()
    asked.ok()  # said, not refused: it is only judged more strictly
    assert asked.result.shapes[0].motion is Motion.AGAINST_KNUCKLE


def test_what_no_file_may_hold_is_refused_by_the_card(ask: Opened) -> None:
    dialog = SourceCardDialog(project(), CALIPER)
    asked = ask(dialog)
    typed(dialog.included, "25")
    asked.ok()
    assert "the most is 20 mm" in dialog.included.message.text()
    typed(dialog.included, "1.5")
    typed(dialog.cut_low, "150")
    typed(dialog.cut_high, "90")
    asked.ok()
    assert "was cut off at r 150.00 to 90.00: the first must be the smaller" in dialog.message.text()
    typed(dialog.cut_high, "190")
    asked.ok()
    assert problems(asked.result) == []
    assert asked.result.shapes[0].card.included_gap_mm == 1.5


def test_angles_round_the_axle_are_typed_as_a_pair(ask: Opened) -> None:
    dialog = SourceCardDialog(project(), CALIPER)
    asked = ask(dialog)
    typed(dialog.clock_low, "55")
    asked.ok()
    assert not asked.applied
    assert "give both, or neither" in dialog.message.text()
    typed(dialog.clock_high, "125")
    asked.ok()
    shape = edits.find(asked.result, edits.SHAPE, CALIPER)
    assert (shape.clock_low_deg, shape.clock_high_deg) == (55.0, 125.0)
