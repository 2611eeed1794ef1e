"""Left and right of one section: said, and never drawn twice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.cli.check import check
from app.project.sides import twin
from app.project.wheel import Side, Wheel
from app.reports.audience import Audience
from app.reports.content import build_content
from app.reports.section_sheet import build_sheet, judge
from tests.support import example


def sided(side: Side, name: str = "Track 18") -> Wheel:
    return replace(example.project().wheels[0], name=name, side=side)


def test_a_twin_is_the_same_section_for_the_other_side() -> None:
    left, right = sided(Side.LEFT), sided(Side.RIGHT, "Track 18 R")
    project = replace(example.project(), wheels=(left, right))
    assert twin(project, left) == right
    assert twin(project, right) == left
    v = right.vertices[0]
    other = replace(right, vertices=(replace(v, radius=v.radius + 0.5), *right.vertices[1:]))
    assert twin(replace(project, wheels=(left, other)), left) is None
    for side in (Side.EITHER, Side.PAIR, Side.LEFT):
        assert twin(replace(project, wheels=(left, replace(right, side=side))), left) is None


def test_a_sheet_names_the_side_and_the_twin_hinders_it() -> None:
    left, right = sided(Side.LEFT), sided(Side.RIGHT, "Track 18 R")
    project = replace(example.project(), wheels=(left, right))
    sheet = build_sheet(judge(project, left), "A3")
    assert sheet.size.endswith(", left")
    assert any("same section as Track 18 R (right)" in reason for reason in sheet.hindrances)
    pair = sided(Side.PAIR)
    sheet = build_sheet(judge(replace(project, wheels=(pair,)), pair), "A3")
    assert not any("same section" in reason for reason in sheet.hindrances)
    assert any("left and right of this one section" in line for _, lines in sheet.notes for line in lines)


@pytest.mark.parametrize("side", list(Side))
def test_check_and_report_say_it(side: Side) -> None:
    wheel = sided(side)
    project = replace(example.project(), wheels=(wheel,))
    (entry,) = check(project, (wheel,))["wheels"]
    assert entry["side"] == str(side)
    content = build_content(project, wheel, judge(project, wheel).measured, audience=Audience(""))
    assert content.side == ("" if side is Side.EITHER else str(side))
    assert any(name == "Side" for name, _ in content.facts) is (side is not Side.EITHER)
