"""What a shape leaves open: each is asked until it is said."""

import pytest

from geometry.shape.outline import (
    Corner,
    Grade,
    Motion,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
    motion_of,
)

OUTLINES = (NamedOutline("as drawn", (Corner(0.0, 100.0), Corner(10.0, 100.0), Corner(10.0, 110.0))),)


def asked(shape: StayOut) -> str:
    return " ".join(shape.open_questions())


@pytest.mark.parametrize("grade", list(Grade))
def test_an_outline_by_hearsay_is_asked_how_far_it_may_be_off(grade: Grade) -> None:
    for error, is_asked in ((0.0, grade is Grade.HEARSAY), (1.5, False)):
        shape = StayOut("s", OUTLINES, card=SourceCard(grade=grade, error_mm=error))
        assert ("How far may the outline be off?" in asked(shape)) is is_asked


@pytest.mark.parametrize("kind", list(ShapeKind))
def test_what_may_be_anything_is_asked_how_it_moves(kind: ShapeKind) -> None:
    shape = StayOut("s", OUTLINES, kind=kind, motion=motion_of(kind))
    assert ("How does it move" in asked(shape)) is (kind is ShapeKind.OTHER)
    said = StayOut("s", OUTLINES, kind=ShapeKind.OTHER, motion=Motion.WITH_KNUCKLE)
    assert "How does it move" not in asked(said)
