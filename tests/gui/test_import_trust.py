"""What an import says of its trust: the least gap over the shown wheel, grade, questions, what stays open."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.project import edits
from app.project.project import Project
from app.studies.fit import measure_wheel
from app.window.dialogs.import_outline import ImportDialog
from geometry.readings.rules import State
from geometry.shape.outline import Grade, Known, Motion, ShapeKind, ZeroFace
from tests.gui.conftest import Asked
from tests.support.importing import BOX, Reader, found, opened, ready, said, tick, typed
from tests.support.panels import project

WHEEL = "Track 18"


def brought(
    qtbot: QtBot, tmp_path: Path, read: Reader, whole: Project | None = None
) -> tuple[ImportDialog, Asked]:
    return opened(qtbot, tmp_path / "box.dxf", whole=whole, wheel=WHEEL, read=read)


def answer_all(dialog: ImportDialog) -> None:
    """Answer everything that keeps a gap from being judged, by typing."""
    for field in dialog.trust.answers.values():
        field.state.setCurrentText(str(Known.ANSWERED))
        for line, words in ((field.text, "as the sheet says"), (field.by, "R. Kern")):
            line.setText(words)
            line.textEdited.emit(words)
    typed(dialog.trust.checked_by, "R. Kern")
    typed(dialog.trust.confirmed_by, "R. Kern")
    dialog.trust.ends_inboard.box.click()
    dialog.trust.ends_outboard.box.click()
    ready(dialog)


# The least gap


def test_the_least_gap_is_said_and_not_known_while_anything_is_open(qtbot: QtBot, tmp_path: Path) -> None:
    """The box reaches r 85 under a barrel at r 90: 5.00 by subtraction. Its rule asks for 3.00."""
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX)))
    words = dialog.look.gap.text()
    assert words.startswith("Nearest: barrel 5.00 mm at z ")
    assert "? not known" in words
    assert dialog.picture.mark is not None
    assert dialog.picture.mark.state is State.NOT_KNOWN
    answer_all(dialog)
    near, worst = dialog.look.gap.text().split("; spoke back ")
    assert near.endswith("r 90.00; ● clear")
    # Nobody has said whether the section holds the highest places of the spoke backs.
    assert worst.startswith("9.00 mm at z 0.00, r ")
    assert "; ? not known (1 question open: Does the section hold the envelope" in worst
    typed(dialog.place.dr, "2,5")
    ready(dialog)
    assert dialog.look.gap.text().startswith("Nearest: barrel 2.50 mm")
    assert "▼ short" in dialog.look.gap.text()
    typed(dialog.place.dr, "9")
    ready(dialog)
    assert "barrel −4.00 mm" in dialog.look.gap.text()
    assert "inside each other; ✕ touching" in dialog.look.gap.text()


def test_the_gap_said_is_the_gap_read_after_ok(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = brought(qtbot, tmp_path, Reader(found(BOX)))
    answer_all(dialog)
    mark = dialog.picture.mark
    asked.ok()
    made = asked.result
    measured = measure_wheel(made, edits.find(made, edits.WHEEL, WHEEL)).measurements
    assert measured is not None
    near = min((row for row in measured.gap if row.shape == "box"), key=lambda row: row.least_mm)
    assert mark is not None
    assert (mark.at_wheel, mark.at_shape, mark.state) == (near.at_wheel, near.at_shape, near.state)


def test_an_open_unit_says_every_reading_and_is_never_clear(qtbot: QtBot, tmp_path: Path) -> None:
    """As inches the box lies far inboard of the rim and reaches over it."""
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX, unit="not known")))
    answer_all(dialog)
    lines = dialog.look.gap.text().splitlines()
    assert lines[0].startswith("If mm: barrel 5.00 mm")
    assert lines[1].startswith("If in: ")
    assert all("? not known" in line for line in lines)
    assert dialog.picture.mark is None


def test_an_outline_that_cannot_be_used_yet_is_never_clear(qtbot: QtBot, tmp_path: Path) -> None:
    line = ((30.0, 100.0, 0.0), (40.0, 120.0, 0.0))
    read = Reader(found(BOX, open=(line,), hindrance="the outline is open: a gap of 4 mm"))
    dialog, asked = brought(qtbot, tmp_path, read)
    answer_all(dialog)
    assert "? not known" in dialog.look.gap.text()
    assert "clear" not in dialog.look.gap.text()
    asked.ok()
    assert asked.applied == []


def test_an_outline_that_crosses_itself_has_no_gap(qtbot: QtBot, tmp_path: Path) -> None:
    bow = ((-18.0, 50.0, 0.0), (-5.0, 80.0, 0.0), (-5.0, 50.0, 0.0), (-18.0, 80.0, 0.0))
    dialog, _ = brought(qtbot, tmp_path, Reader(found(bow)))
    assert dialog.look.gap.text().startswith("? ")
    assert "crosses itself" in dialog.look.gap.text()


def test_nothing_taken_and_no_wheel_are_said(qtbot: QtBot, tmp_path: Path) -> None:
    other = tuple((z - 40.0, r, b) for z, r, b in BOX)
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX, other)))
    for key in ("0", "1"):
        tick(dialog.outline.loops, key)
    ready(dialog)
    assert "Nothing is taken" in dialog.look.gap.text()
    alone, _ = opened(qtbot, tmp_path / "box.dxf", read=Reader(found(BOX)))
    assert "No wheel is shown" in alone.look.gap.text()


def test_digits_follow_the_grade(qtbot: QtBot, tmp_path: Path) -> None:
    """practice 45: two decimals for a drawing, one for a scan, none for a tracing."""
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX)))
    for grade, words in ((Grade.SCAN, "barrel 5.0 mm"), (Grade.TRACING, "barrel 5 mm")):
        dialog.trust.grade.choose(grade)
        ready(dialog)
        assert words in dialog.look.gap.text()


# The card


@pytest.mark.parametrize(
    ("kind", "grades"),
    [
        ("drawing", ["drawing", "scan", "tracing", "hearsay"]),
        ("mesh", ["scan", "tracing", "hearsay"]),
        ("points", ["scan", "tracing", "hearsay"]),
        ("table", ["hearsay"]),
    ],
)
def test_a_grade_is_proposed_and_can_only_be_lowered(
    qtbot: QtBot, tmp_path: Path, kind: str, grades: list[str]
) -> None:
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX, kind=kind)))
    box = dialog.trust.grade.box
    assert [box.itemText(k) for k in range(box.count())] == grades
    assert dialog.trust.grade.read() == grades[0]


def test_a_lowered_grade_outlives_another_reading(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = brought(qtbot, tmp_path, Reader(found(BOX)))
    dialog.trust.grade.choose(Grade.HEARSAY)
    dialog.look.stop.click()
    ready(dialog)
    asked.ok()
    assert asked.result.shapes[-1].card.grade is Grade.HEARSAY


def test_what_is_open_stands_in_one_line_and_in_the_report(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = brought(qtbot, tmp_path, Reader(found(BOX)))
    line = (
        "not known until settled (6): zero face, whole body, gap included, disc and pads, datum check, extent"
    )
    assert dialog.trust.open_label.text() == f"? {line}"
    assert f"? drawing; {line}" in said(dialog)
    answer_all(dialog)
    assert dialog.trust.open_label.text() == "Nothing is open: gaps to this shape are judged."
    asked.ok()
    assert asked.result.shapes[-1].open_questions() == ()


def test_the_card_is_filled_in_by_typing(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = brought(qtbot, tmp_path, Reader(found(BOX)))
    for field, text in (
        (dialog.trust.who, "A. Lind"),
        (dialog.trust.when, "2026-03-09"),
        (dialog.trust.how, "portable arm, 6 mm ball"),
        (dialog.trust.error, "0,3"),
        (dialog.trust.left_out, "cross pipe"),
        (dialog.trust.included, "1,5"),
        (dialog.trust.cut_low, "40"),
    ):
        typed(field, text)
    ready(dialog)
    asked.ok()
    shape = asked.result.shapes[-1]
    assert shape.card.source == "portable arm, 6 mm ball; by A. Lind on 2026-03-09; read from box.dxf"
    assert (shape.card.error_mm, shape.card.included_gap_mm, shape.card.left_out) == (0.3, 1.5, "cross pipe")
    assert shape.extent.cut_r_low == 40.0
    assert shape.card.unit.by == "the file"


def test_a_cards_fields_that_do_not_fit_together_keep_the_dialog_open(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, asked = brought(qtbot, tmp_path, Reader(found(BOX)))
    typed(dialog.trust.checked_on, "2026-03-09")
    asked.ok()
    assert "nobody who checked it" in dialog.message.text()
    typed(dialog.trust.checked_on, "9.3.2026")
    asked.ok()
    assert asked.applied == []
    assert dialog.pages.currentIndex() == 3
    assert "is no date" in dialog.trust.checked_on.message.text()


def test_a_hose_moves_against_the_knuckle(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX)))
    dialog.outline.kind.choose(ShapeKind.HOSE)
    assert dialog.trust.motion.read() is Motion.AGAINST_KNUCKLE
    assert "sweep" in dialog.trust.open_label.text()


def test_an_unknown_hat_keeps_the_gap_open(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX)))
    answer_all(dialog)
    dialog.trust.zero_at.choose(ZeroFace.HUB_FLANGE)
    ready(dialog)
    assert "hat thickness" in dialog.trust.open_label.text()
    assert "? not known" in dialog.look.gap.text()
    typed(dialog.trust.hat, "2")
    ready(dialog)
    assert "barrel 5.00 mm at z −11.00" in dialog.look.gap.text()  # the corner at z -9, less the hat
    assert "● clear" in dialog.look.gap.text()


def test_a_shape_is_held_against_the_shown_wheel_only_if_wanted(qtbot: QtBot, tmp_path: Path) -> None:
    for wanted in (True, False):
        dialog, asked = brought(qtbot, tmp_path, Reader(found(BOX)))
        if not wanted:
            dialog.outline.hold.box.click()
        asked.ok()
        assert ("box" in asked.result.wheels[0].clears) is wanted


def test_a_wheel_with_faults_is_not_drawn_and_said(qtbot: QtBot, tmp_path: Path) -> None:
    whole = project()
    wheel = replace(whole.wheels[0], vertices=tuple(whole.wheels[0].vertices[k] for k in (0, 3, 1, 4, 2, 5)))
    whole = replace(whole, wheels=(wheel, *whole.wheels[1:]))
    dialog, _ = brought(qtbot, tmp_path, Reader(found(BOX)), whole)
    assert dialog.look.gap.text().startswith("? ")
    assert dialog.picture._behind.wheel is None
