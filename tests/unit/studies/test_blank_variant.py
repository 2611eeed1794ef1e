"""Limits of a die set against its variants: inside, outside by how much, asked."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project import demo
from app.project.project import Project
from app.reports.numbers import Numbers
from app.reports.variant_words import variant_head, variant_json, variant_lines
from app.studies.blank_variant import Answer, VariantCheck, variant_check
from app.studies.usable_blank import drawn_path
from geometry.errors import GeometryError
from geometry.forging.pierced import pierced
from geometry.shape.blank import Blank, ToolLimits
from geometry.shape.outline import Corner

#: Stops 5 higher: the disc is thicker by as much, the charge by 5 mm over the area out to the rim.
OWN = demo.blank_a18()


def thick(by: float) -> Blank:
    first = next(k for k, corner in enumerate(OWN.corners) if corner.z == 104.6)
    corners = tuple(replace(c, z=c.z + by * (k >= first)) for k, c in enumerate(OWN.corners))
    return replace(OWN, name="thick", corners=corners, variant_of=OWN.name)


def checked(variant: Blank, tools: ToolLimits | None) -> VariantCheck:
    project = Project("p", blanks=(replace(OWN, tools=tools), variant))
    found = variant_check(project, variant.name)
    assert found is not None
    return found


def answer(found: VariantCheck, what: str) -> tuple[Answer, float]:
    (one,) = (c for c in found.checks if c.what == what)
    return one.answer, one.beyond


def test_until_the_forge_has_answered_limits_are_asked() -> None:
    found = checked(thick(5.0), None)
    assert found.answer is Answer.ASKED
    assert {c.what: c.answer for c in found.checks} == {
        "charge": Answer.ASKED,
        "closing height": Answer.ASKED,
        "disc": Answer.ASKED,
        "inserts": Answer.WITHIN,
        "outside wall": Answer.WITHIN,
    }


def test_what_lies_outside_is_told_by_how_much() -> None:
    found = checked(thick(5.0), ToolLimits(50.0, 58.5, -3.0, 3.0, 30.0, 36.0))
    assert found.answer is Answer.OUTSIDE
    closing, by = answer(found, "closing height")
    assert closing is Answer.OUTSIDE
    assert by == pytest.approx(2.0, abs=1e-6)
    state, beyond = answer(found, "disc")
    assert state is Answer.OUTSIDE
    # 31.4 of its own, 5 thicker, 36 at most.
    assert beyond == pytest.approx(0.4, abs=0.01)
    assert answer(found, "charge") == (Answer.WITHIN, 0.0)
    assert "cannot be made with the tools of A18" in variant_head(found)
    said = "\n".join(variant_lines(found, Numbers("mm")))
    assert "2.00 mm over what the tools make (-3.00 mm to 3.00 mm)" in said
    assert "r 16" in said


def test_inside_all_limits_it_is_within() -> None:
    found = checked(thick(2.0), ToolLimits(50.0, 60.0, -3.0, 3.0, 30.0, 36.0, False))
    assert found.answer is Answer.WITHIN
    assert variant_json(found)["answer"] == "within"


def test_one_open_side_stays_asked_and_the_other_still_refuses() -> None:
    assert answer(checked(thick(2.0), ToolLimits(closing_high_mm=3.0)), "closing height")[0] is Answer.ASKED
    assert answer(checked(thick(5.0), ToolLimits(closing_high_mm=3.0)), "closing height")[0] is Answer.OUTSIDE


@pytest.mark.parametrize(
    ("inserts", "expected"), [(None, Answer.ASKED), (True, Answer.WITHIN), (False, Answer.OUTSIDE)]
)
def test_another_dish_needs_inserts(inserts: bool | None, expected: Answer) -> None:
    corners = tuple(replace(c, z=c.z - 3.0 * (c.z == 77.6)) for c in OWN.corners)
    dished = replace(OWN, name="dished", corners=corners, variant_of=OWN.name)
    assert answer(checked(dished, ToolLimits(inserts=inserts)), "inserts")[0] is expected


def test_another_outside_wall_is_never_made_with_these_tools() -> None:
    corners = tuple(replace(c, r=c.r + 1.5 * (c.r > 250.0)) for c in OWN.corners)
    wide = replace(OWN, name="wide", corners=corners, variant_of=OWN.name)
    state, beyond = answer(checked(wide, ToolLimits(inserts=True)), "outside wall")
    assert state is Answer.OUTSIDE
    assert beyond == pytest.approx(1.5, abs=0.02)


def test_a_blank_with_its_own_tools_is_no_variant_and_a_circle_is_said() -> None:
    assert variant_check(Project("p", blanks=(OWN,)), OWN.name) is None
    one, other = replace(OWN, variant_of="B"), replace(OWN, name="B", variant_of=OWN.name)
    with pytest.raises(GeometryError, match="its own variant's"):
        variant_check(Project("p", blanks=(one, other)), "B")


def test_a_pierced_blank_is_held_as_it_left_the_dies() -> None:
    """With its slug: hole and slug ask nothing of the tools, and the charge counts both."""
    solid = thick(5.0)
    hole = 2.0 * 20.0
    path = pierced(drawn_path(solid), hole)
    corners = tuple(Corner(z, r, bulge=bulge) for z, r, bulge in path.rows())
    tools = ToolLimits(50.0, 58.5, -3.0, 3.0, 30.0, 36.0)
    whole, holed = checked(solid, tools), checked(replace(solid, corners=corners, slug_kg=0.4), tools)
    for one, other in zip(whole.checks, holed.checks, strict=True):
        assert other.answer is one.answer
        assert other.value == pytest.approx(one.value, abs=1e-3)
    assert min(c.r for c in corners) == pytest.approx(20.0)
