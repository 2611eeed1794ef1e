"""An enquiry that only its compromise can serve."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.project import Compromise, Project
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.enquiry import enquire
from tests.support.small_roadmap import BOUGHT, NARROW, OWN, small

WORDS = "half an inch narrower"


@pytest.fixture(scope="module")
def project() -> Project:
    """The narrow row, and an enquiry for 12 inches that would also take its 9.5."""
    whole = small()
    wide = replace(
        whole.fitments[1],
        name="wide",
        width_code=12.0,
        contribution=400.0,
        compromise=Compromise(WORDS, 9.5, share=0.6, contribution=900.0),
    )
    return replace(whole, fitments=(whole.fitments[1], wide))


@pytest.fixture(scope="module")
def found(project: Project) -> Coverage:
    return coverage(replace(project, fitments=project.fitments[:1]))


def test_it_says_so_and_by_which_blanks(project: Project, found: Coverage) -> None:
    told = enquire(project, found, project.fitments[1], Question.GREATEST_VALUE)
    assert (told.answer, told.compromise_words) == ("by compromise", WORDS)
    assert told.blanks == (OWN, BOUGHT)
    assert told.compromise is not None
    assert told.compromise.is_covered
    assert not told.row.is_covered
    assert told.served_as == WORDS
    assert {s.row for s in told.after.served} == {NARROW, "wide"}


def test_least_cost_serves_in_full_alone(project: Project, found: Coverage) -> None:
    told = enquire(project, found, project.fitments[1])
    assert told.answer == "by compromise"
    assert (told.served_as, told.is_served) == ("", False)
    without = enquire(project, found, replace(project.fitments[1], compromise=None))
    assert without.answer in ("nearly", "not")
    assert without.compromise is None
