"""Words and numbers of the die programme that a person reads: each has a sign and a unit that make sense."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from app.project.project import Project
from app.studies.programme.inputs import Kind, Mode, Option, Programme, Question, Row
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.dossier import Dossier, Wanted, dossier
from app.studies.roadmap.family_words import _gap_words
from app.studies.roadmap.plan_tables import sheets
from app.studies.roadmap.plan_words import (
    NO_TOOLS,
    amount,
    chosen_words,
    proof_words,
    spare_words,
    tools_words,
    worse_words,
)
from app.studies.roadmap.risk_tables import set_name
from app.studies.roadmap.scenarios import May, ScenarioSettings
from app.studies.roadmap.sheet import Head, Sheet
from tests.support.small_roadmap import small

pytestmark = pytest.mark.usefixtures("solved_here")


@pytest.mark.parametrize(
    ("cell", "form", "words"),
    [
        (-0.2, ",.0f", "0"),
        (0.2, "+,.0f", "0"),
        (-0.004, ".2f", "0.00"),
        (-0.2, ".1f", "-0.2"),
        (1234.0, "+,.0f", "+1,234"),
        (None, ",.0f", ""),
        ("leaves R-11", ",.0f", "leaves R-11"),
    ],
)
def test_nothing_is_neither_above_nor_below_nothing(cell: float | str | None, form: str, words: str) -> None:
    assert Head("key", "Words", form).shown(cell) == words


def test_money_has_no_minus_before_nothing_and_words_in_place_of_signs() -> None:
    assert amount(-0.3, "EUR") == "0 EUR"
    assert amount(1999.6) == "2,000"
    # The objective of the greatest value is minus the value: above 0 it is worse.
    assert worse_words(Question.GREATEST_VALUE, -29_056.0, "USD") == "worth 29,056 USD more"
    assert worse_words(Question.GREATEST_VALUE, 29_056.0, "USD") == "worth 29,056 USD less"
    assert worse_words(Question.LEAST_COST, 29_056.0, "USD") == "29,056 USD dearer"
    assert worse_words(Question.LEAST_COST, -29_056.0) == "29,056 cheaper"
    assert worse_words(Question.LEAST_COST, 0.2) == "nothing changes in money"


def test_a_miss_never_reads_as_nothing() -> None:
    assert spare_words(-0.004) == "0.01 mm short"
    assert spare_words(-1.3) == "1.3 mm short"
    assert spare_words(0.42) == "0.4 mm to spare"


def test_sets_of_tools_have_letters_beyond_z() -> None:
    assert [set_name(k) for k in (0, 1, 25, 26, 27, 52)] == ["A, least bad", "B", "Z", "AA", "AB", "BA"]


def test_a_plan_without_tools_says_so_and_one_that_is_not_there_says_why() -> None:
    none = Plan("proven", Question.LEAST_COST)
    assert chosen_words(none) == tools_words(none) == NO_TOOLS
    impossible = Plan("impossible", Question.LEAST_COST, impossible=("the budget is too small",))
    assert chosen_words(impossible) == "no plan keeps the limits: the budget is too small"


# A whole programme


@pytest.fixture(scope="module")
def project() -> Project:
    return small()


@pytest.fixture(scope="module")
def covered(project: Project) -> Coverage:
    return coverage(project)


def whole(project: Project, covered: Coverage, question: Question) -> Dossier:
    kinds = frozenset(May) - {May.BRAKE}
    wanted = Wanted(question, None, True, True, True, ScenarioSettings(kinds=kinds))
    return dossier(project, wanted, known=covered)


def shown(project: Project, found: Dossier) -> dict[str, Sheet]:
    return {sheet.key: sheet for sheet in sheets(project, found)}


@pytest.mark.parametrize("question", [Question.LEAST_COST, Question.GREATEST_VALUE])
def test_dearer_dies_raise_the_cost_and_lower_the_value(
    project: Project, covered: Coverage, question: Question
) -> None:
    tables = shown(project, whole(project, covered, question))
    sheet = tables["sensitivity"]
    change = [head.key for head in sheet.heads].index("change")
    (dearer,) = [r[change] for r in sheet.rows if r[:2] == ("price of dies and holders", 1.2)]
    assert isinstance(dearer, float)
    assert sheet.heads[change].words == (
        "Cost changes by" if question is Question.LEAST_COST else "Value changes by"
    )
    assert (dearer > 0.0) is (question is Question.LEAST_COST)
    scenarios = tables["scenarios"]
    chosen = [head.key for head in scenarios.heads].index("chosen")
    assert all(row[chosen] != "proven" for row in scenarios.rows)
    assert [row[0] for row in scenarios.rows][:2] == ["as expected", "demand halves"]


def test_no_number_that_is_read_is_minus_nothing_or_not_a_number(project: Project, covered: Coverage) -> None:
    found = whole(project, covered, Question.GREATEST_VALUE)
    none = replace(project, currency="")
    for each in (project, none):
        for sheet in sheets(each, found):
            for row in sheet.rows:
                cells = [head.shown(cell) for head, cell in zip(sheet.heads, row, strict=True)]
                assert not any(re.fullmatch(r"[-+]0(\.0+)?|-?nan|-?inf", cell) for cell in cells), cells
            assert not sheet.title.endswith(", ")


def test_only_the_kinds_of_scenarios_that_are_asked_for_are_looked_at(
    project: Project, covered: Coverage
) -> None:
    wanted = Wanted(scenarios=True, settings=ScenarioSettings(kinds=frozenset({May.DEMAND})))
    found = dossier(project, wanted, known=covered)
    assert found.regrets is not None
    assert [s.name for s in found.regrets.scenarios] == ["as expected", "demand halves"]


def test_a_gap_without_a_bound_is_no_number() -> None:
    """Where time ends before there is a bound, nothing is said in per cent."""
    programme = Programme((Row("a", {2030: 10.0}, (Mode({"b": 1.0}),)),), (Option("b", Kind.BOUGHT, 1.0),))
    plan = replace(solve(programme), verdict="gap left")
    assert proof_words(replace(plan, bound=0.99 * plan.objective)).startswith(
        "not proven: time ended with 1.0"
    )
    for words in (proof_words(replace(plan, bound=-math.inf)), _gap_words(math.inf)):
        assert "inf" not in words
        assert "before it was known" in words
    assert _gap_words(0.013) == "no family of any groups is better by more than 1.3 %"
