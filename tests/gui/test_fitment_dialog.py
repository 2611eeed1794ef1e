"""The fitment's page: lip, spokes, price of several pieces, and the compromise that would still sell."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pytestqt.qtbot import QtBot

from app.project.project import Compromise, Fitment, Project
from app.window.dialogs.fitment import FitmentDialog
from app.window.dialogs.typed_fields import NumberField
from tests.support import example

NEED = Fitment("R-1", inset_low_mm=32.0, inset_high_mm=45.0)
WHOLE = replace(
    NEED,
    car_class="track",
    lip_mm=6.5,
    spoke_mm=30.0,
    multi_piece_price=900.0,
    compromise=Compromise("38 alone", 9.5, 38.0, 38.0, 6.0, 0.7, 120.0),
    compromise_shape=example.CALIPER,
)


def opened(qtbot: QtBot, fitment: Fitment) -> tuple[FitmentDialog, list[Project]]:
    dialog = FitmentDialog(replace(example.project(), fitments=(fitment,)), fitment.name)
    qtbot.addWidget(dialog)
    dialog.show()
    made: list[Project] = []
    dialog.applied.connect(lambda project, _text: made.append(project))
    return dialog, made


def typed(field: NumberField, text: str) -> None:
    field.line.setText(text)


def test_what_is_not_touched_stays_as_it_is(qtbot: QtBot) -> None:
    for fitment in (NEED, WHOLE, replace(NEED, compromise=Compromise())):
        dialog, made = opened(qtbot, fitment)
        assert dialog.made()[0].fitments == (fitment,)
        dialog.accept()
        assert made == []


def test_every_field_of_the_roadmap_can_be_typed(qtbot: QtBot) -> None:
    dialog, made = opened(qtbot, NEED)
    dialog.car_class.line.setText("track")
    dialog.given_words.line.setText("38 alone")
    dialog.given_shape.choose(example.CALIPER)
    for field, text in (
        (dialog.lip, "6,5"),
        (dialog.spoke, "30"),
        (dialog.multi_piece, "900"),
        (dialog.given_width, "9 1/2"),
        (dialog.given_low, "38"),
        (dialog.given_high, "38"),
        (dialog.given_lip, "6"),
        (dialog.share, "0.7"),
        (dialog.given_contribution, "120"),
    ):
        typed(field, text)
    dialog.accept()
    assert made[0].fitments == (WHOLE,)


def test_an_emptied_share_with_nothing_given_up_is_no_compromise(qtbot: QtBot) -> None:
    dialog, made = opened(qtbot, replace(NEED, compromise=Compromise(share=0.5)))
    typed(dialog.share, "")
    dialog.accept()
    assert made[0].fitments == (NEED,)


@pytest.mark.parametrize("field", ["given_width", "given_low", "given_lip", "given_contribution"])
def test_a_compromise_without_its_share_is_refused(qtbot: QtBot, field: str) -> None:
    dialog, made = opened(qtbot, NEED)
    typed(getattr(dialog, field), "9")
    dialog.accept()
    assert "state the share" in dialog.message.text()
    assert made == []


def test_an_inset_of_the_compromise_that_runs_backwards_with_the_need_is_refused(qtbot: QtBot) -> None:
    dialog, made = opened(qtbot, NEED)
    typed(dialog.share, "0.7")
    typed(dialog.given_low, "46")
    dialog.accept()
    assert "Inset of the compromise: 46, 45 runs backwards" in dialog.message.text()
    assert made == []
