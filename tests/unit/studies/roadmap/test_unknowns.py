"""What knowing an unknown fitment would change, against plans of the same roadmap with it known."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.project import Fitment, Project
from app.studies.executor import opened
from app.studies.programme.inputs import Question
from app.studies.programme.solve import solve
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.dossier import Dossier, Wanted, dossier
from app.studies.roadmap.scenarios import ask
from app.studies.roadmap.unknown_tables import unknown_sentences, unknowns_sheet
from app.studies.roadmap.unknowns import Unknown, unknowns
from tests.support.small_roadmap import BOUGHT, NARROW, OWN, WIDE, small

pytestmark = pytest.mark.usefixtures("solved_here")


def told(project: Project, found: Coverage, question: Question = Question.LEAST_COST) -> tuple[Unknown, ...]:
    asked = ask(project, found, question)
    with opened() as executor:
        return unknowns(project, found, asked, solve(asked.programme), executor, question)


def few(fitment: Fitment) -> Fitment:
    """So few wheels that the die does not pay for them alone."""
    return replace(fitment, volume_likely=20)


@pytest.fixture(scope="module")
def covered() -> Coverage:
    return coverage(small())


def test_a_brake_that_is_not_known_is_like_its_twin_of_which_it_is(covered: Coverage) -> None:
    """The twin of the narrow row, its brake not known: known, it costs what that row costs once more."""
    project = small()
    twin = replace(few(project.fitments[1]), name="twin", shape=None, wheel=None, volume_likely=150)
    known = few(project.fitments[1])
    whole = replace(project, fitments=(known, twin))
    rows = coverage(replace(whole, fitments=(twin,))).rows
    narrow = [row for row in covered.rows if row.fitment == NARROW]
    found = Coverage(covered.blanks, (*narrow, *rows))
    (one,) = told(whole, found)
    assert one.fitment == "twin"
    assert "brake is not known" in one.why
    assert [case.words for case in one.cases] == [
        "no blank cuts it",
        "any blank of its diameter cuts it",
        f"{OWN} alone cuts it",
        f"{BOUGHT} alone cuts it",
    ]
    assert [case.is_served for case in one.cases] == [False, True, True, True]
    before = solve(ask(replace(whole, fitments=(known,)), found, Question.LEAST_COST).programme)
    # Outside the study: a second fitment of the same needs and 150 wheels, known from the start.
    again = replace(twin, shape=known.shape, wheel=known.wheel)
    same = tuple(
        replace(r, fitment="twin", cells=tuple(replace(c, fitment="twin") for c in r.cells)) for r in narrow
    )
    both = replace(whole, fitments=(known, again))
    after = solve(ask(both, Coverage(found.blanks, (*narrow, *same)), Question.LEAST_COST).programme)
    assert one.cases[0].change == pytest.approx(0.0, abs=1e-6)
    assert one.cases[1].change == pytest.approx(after.objective - before.objective)
    assert before.opened == ()
    assert one.cases[1].added == tuple(n for n in after.opened if n not in before.opened)
    assert one.cases[3].added == ()
    assert one.range is not None
    assert one.range[0] == pytest.approx(0.0, abs=1e-6)
    assert any(f"{OWN} as {NARROW}" in words for words in one.taken)


def test_years_and_volume_that_nobody_said_are_taken_and_said(covered: Coverage) -> None:
    project = small()
    open_row = replace(
        project.fitments[0],
        first_year=None,
        must=None,
        volume_low=None,
        volume_likely=None,
        volume_high=None,
    )
    whole = replace(project, fitments=(open_row, project.fitments[1]))
    (one,) = told(whole, covered)
    assert one.why == "Its first year is not known."
    assert one.taken == (
        "Its first year is taken as 2028.",
        "It is taken as a must row.",
        "Its volume is taken as 100 a year, the median of the others.",
    )
    # Taken so it is the whole small roadmap.
    plan, rest = (
        solve(ask(p, covered, Question.LEAST_COST).programme)
        for p in (project, replace(project, fitments=project.fitments[1:]))
    )
    assert one.cases[1].change == pytest.approx(plan.objective - rest.objective)


def test_no_blank_of_its_diameter(covered: Coverage) -> None:
    project = small()
    other = replace(project.fitments[0], name="15 inch", diameter_code=15.0, shape=None, wheel=None)
    rows = coverage(replace(project, fitments=(other,))).rows
    whole = replace(project, fitments=(*project.fitments, other))
    (one,) = told(whole, Coverage(covered.blanks, (*covered.rows, *rows)))
    assert one.cases == ()
    assert one.range is None
    assert not one.may_change_dies


def test_it_stands_with_the_risk_as_a_table_and_in_words(covered: Coverage) -> None:
    project = small()
    open_row = replace(project.fitments[0], volume_likely=None)
    whole = replace(project, fitments=(open_row, project.fitments[1]))
    asked = ask(whole, covered, Question.LEAST_COST)
    made = dossier(whole, Wanted(), known=covered)
    with opened() as executor:
        found = unknowns(whole, covered, asked, made.planned.plan, executor, Question.LEAST_COST)
    full: Dossier = replace(made, unknowns=found)
    sheet = unknowns_sheet(whole, full)
    assert [row[0] for row in sheet.rows] == [WIDE] * 4
    assert len(sheet.heads) == len(sheet.rows[0])
    (words,) = unknown_sentences(whole, full)
    assert words.startswith(f"{WIDE}: Its volume is not known. If no blank cuts it, nothing changes in money")
