"""A variant of a brake, typed as a person would: another disc moves the outline, and nothing reads clear."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

from app.project import edits
from app.project.project import Project
from app.project.variants import usual_move, variant
from app.studies.fit import measure_wheel
from app.window.dialogs.brake_variant import BrakeVariantDialog
from geometry.readings.rules import State
from geometry.shape.outline import Brake, CarSide, Grade, Known
from tests.gui.conftest import Asked, typed
from tests.support import example


@pytest.fixture
def dialog(qtbot: QtBot) -> BrakeVariantDialog:
    made = BrakeVariantDialog(example.project())
    qtbot.addWidget(made)
    return made


def test_a_larger_disc_moves_the_outline_by_half_and_a_higher_hat_inboard() -> None:
    # 355 to 380: 12.5 outwards; hat 48 to 52: 4 inboard.
    assert usual_move(Brake(disc_mm=355.0, hat_height_mm=48.0), 380.0, 52.0) == (-4.0, 12.5)
    assert usual_move(Brake(), 380.0, 52.0) == (0.0, 0.0)


def test_a_variant_is_made_by_typing_both_discs(dialog: BrakeVariantDialog) -> None:
    before = dialog.project.shapes[0]
    asked = Asked(dialog)
    typed(dialog.family, "Front 6-piston")
    typed(dialog.disc, "355")
    typed(dialog.new_disc, "380")
    typed(dialog.hat, "48")
    typed(dialog.new_hat, "52,5")
    assert dialog.along_r.read() == 12.5
    assert dialog.along_z.read() == -4.5
    typed(dialog.name, "Front 380")
    asked.ok()
    old, *_, made = asked.result.shapes
    assert (made.name, made.brake.family, made.brake.disc_mm) == ("Front 380", "Front 6-piston", 380.0)
    assert (old.brake.family, old.brake.disc_mm, old.brake.moved_from) == ("Front 6-piston", 355.0, "")
    for corner, was in zip(made.outlines[0].corners, before.outlines[0].corners, strict=True):
        assert (corner.z, corner.r) == pytest.approx((was.z - 4.5, was.r + 12.5))
    assert made.card.grade is Grade.TRACING
    assert "not measured" in made.card.source
    assert old.card == before.card


def test_a_typed_move_is_not_overwritten(dialog: BrakeVariantDialog) -> None:
    asked = Asked(dialog)
    typed(dialog.family, "Front")
    typed(dialog.along_r, "9")
    typed(dialog.disc, "355")
    typed(dialog.new_disc, "380")
    asked.ok()
    assert asked.result.shapes[-1].brake.moved_r_mm == 9.0


def test_below_the_axle_line_keeps_the_dialog_open(dialog: BrakeVariantDialog) -> None:
    asked = Asked(dialog)
    typed(dialog.along_r, "-500")
    asked.ok()
    assert dialog.isVisible()
    assert not asked.applied
    assert "below the axle line" in dialog.message.text()


def test_a_wheel_held_against_a_variant_is_not_known() -> None:
    project = example.project()
    shape = project.shapes[0]
    moved = variant(
        shape, "Rear", 0.0, -20.0, family="X", disc_mm=None, hat_height_mm=None, side=CarSide.LEFT
    )
    assert moved.card.disc_and_pads.state is Known.OPEN
    wheel = replace(project.wheels[0], clears=("Rear",))
    changed = edits.replaced(edits.add(project, edits.SHAPE, moved), edits.WHEEL, wheel.name, wheel)
    found = measure_wheel(changed, changed.wheels[0]).measurements
    assert found is not None
    rows = [row for row in found.gap if row.shape == "Rear"]
    assert rows
    assert all(row.state in (State.NOT_KNOWN, State.SHORT, State.TOUCHING) for row in rows)
    assert any(row.state is State.NOT_KNOWN for row in rows)


def test_a_grade_worse_than_a_tracing_stays(dialog: BrakeVariantDialog) -> None:
    shape = dialog.project.shapes[0].with_card(grade=Grade.HEARSAY)
    made = variant(shape, "x", 0.0, 0.0, family="X", disc_mm=None, hat_height_mm=None)
    assert made.card.grade is Grade.HEARSAY


def test_without_a_family_it_is_refused() -> None:
    project: Project = example.project()
    with pytest.raises(edits.EditError, match="belongs to a family"):
        variant(project.shapes[0], "x", 0.0, 0.0, family=" ", disc_mm=None, hat_height_mm=None)
