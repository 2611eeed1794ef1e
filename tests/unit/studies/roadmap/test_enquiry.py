"""An enquiry that only its compromise can serve."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.project import Compromise, Project
from app.studies.executor import StoppedError
from app.studies.programme.highs import CancelledError
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.enquiry import enquire
from app.studies.roadmap.risk_tables import takes_words
from tests.support.small_roadmap import BOUGHT, NARROW, OWN, small

pytestmark = pytest.mark.usefixtures("solved_here")

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


def test_no_mend_is_looked_for_in_a_blank_of_another_diameter(project: Project, found: Coverage) -> None:
    """The blanks end 12.7 mm less their outer stock inside the flanges of a 19-inch wheel."""
    larger = replace(project.fitments[0], name="larger", diameter_code=19.0, wheel=None)
    told = enquire(project, found, larger)
    assert told.answer == "not"
    assert told.no_blank
    assert told.mends == ()
    if not told.cures:
        assert takes_words(told) == "a new blank: none at hand is of its diameter"
    assert not enquire(project, found, project.fitments[1]).no_blank


@pytest.mark.parametrize("after", [0, 1, 3])
def test_it_stops_within_its_look(project: Project, found: Coverage, after: int) -> None:
    """An enquiry that misses its blanks is in several parts; none after the stop is done."""
    seen: list[tuple[int, int]] = []

    def told(done: int, of: int) -> bool:
        seen.append((done, of))
        return done < after

    wide = replace(project.fitments[1], compromise=None)
    with pytest.raises((StoppedError, CancelledError)):
        enquire(project, found, wide, progress=told)
    assert max(done for done, _ in seen) <= max(after, 1)
    assert {of for _, of in seen} == {6}
