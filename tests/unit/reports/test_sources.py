"""The source card in the report: which face is zero, the hat, over what of the body r is the largest."""

from __future__ import annotations

import pytest

from app.reports.numbers import Numbers
from app.reports.sources import source_card
from app.units import LengthUnit
from geometry.shape.outline import Answer, Corner, Known, NamedOutline, Reach, SourceCard, StayOut, ZeroFace

OUTLINE = NamedOutline("straight", (Corner(-74.0, 116.0), Corner(-30.0, 203.0), Corner(46.0, 134.0)))


def lines(card: SourceCard, unit: LengthUnit = "mm") -> dict[str, str]:
    return dict(source_card(StayOut("Caliper", (OUTLINE,), card=card), Numbers(unit)).lines)


@pytest.mark.parametrize(
    ("zero_at", "hat_mm", "words"),
    [
        (ZeroFace.BEARING, None, "face the wheel bears on"),
        (ZeroFace.BEARING, 7.0, "face the wheel bears on; disc hat 7.00 mm"),
        (
            ZeroFace.HUB_FLANGE,
            7.0,
            "hub flange, under the disc hat; disc hat 7.00 mm; the outline is moved inboard by it",
        ),
        (ZeroFace.HUB_FLANGE, None, "hub flange, under the disc hat; thickness of the hat not known"),
    ],
)
def test_the_zero_face_and_what_the_hat_does(zero_at: ZeroFace, hat_mm: float | None, words: str) -> None:
    assert lines(SourceCard(zero_at=zero_at, hat_mm=hat_mm))["Zero face"] == words


def test_the_hat_is_shown_in_the_unit_of_the_project() -> None:
    card = SourceCard(zero_at=ZeroFace.HUB_FLANGE, hat_mm=6.35)
    assert "disc hat 0.250 in" in lines(card, "in")["Zero face"]


def test_what_r_is_the_largest_over_is_shown_and_asked_for() -> None:
    said = Answer(Known.ANSWERED, "sheet 2", "R. Kern")
    whole, one = (lines(SourceCard(whole_body=said, r_over=r)) for r in Reach)
    assert whole["r is the largest"] == "over the whole body"
    assert one["r is the largest"] == "only at one plane"
    assert "at one plane only" in one["Open questions"]
    assert "at one plane only" not in whole["Open questions"]
