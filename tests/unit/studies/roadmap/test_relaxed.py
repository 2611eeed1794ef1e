"""What relaxing a rule gains, on the small roadmap: only near misses are read again, and nothing is kept."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.project import Project
from app.studies.executor import opened
from app.studies.fit import measure_wheel
from app.studies.programme.inputs import Question
from app.studies.programme.solve import solve
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.enquiry import enquire
from app.studies.roadmap.relaxed import GAP_MM, INSET_MM, Relaxed, relaxations
from app.studies.roadmap.scenarios import ask
from geometry.shape.blank import Blank, Supply
from geometry.shape.outline import Corner
from tests.support.small_roadmap import NARROW, OWN, WIDE, small

pytestmark = pytest.mark.usefixtures("solved_here")


def relaxed(project: Project, found: Coverage) -> tuple[Relaxed, ...]:
    plan = solve(ask(project, found, Question.LEAST_COST).programme)
    with opened() as executor:
        return relaxations(project, found, Question.LEAST_COST, plan, executor)


def with_window(low: float, high: float) -> Project:
    project = small()
    narrow = replace(project.fitments[1], inset_low_mm=low, inset_high_mm=high)
    return replace(project, fitments=(narrow,), blanks=project.blanks[:1])


def test_a_window_nearly_all_of_which_can_be_cut() -> None:
    project = with_window(32.0, 38.2)
    found = coverage(project)
    (cell,) = found.rows[0].cells
    assert not cell.is_covered
    lip, gap, inset = relaxed(project, found)
    assert (lip.gained, gap.gained) == ((), ())
    (gained,) = inset.gained
    assert (gained.fitment, gained.blank, inset.new_rows) == (NARROW, OWN, (NARROW,))
    assert inset.newly_served == (NARROW,)
    assert inset.change is None
    words, low, to, high = gained.words.split()
    assert (words, to) == ("inset", "to")
    assert 32.0 <= float(low) < float(high) <= 38.2
    assert float(high) - float(low) >= 6.2 - INSET_MM - 0.2
    # What is said to be cut is cut.
    narrower = with_window(float(low), float(high))
    assert coverage(narrower).rows[0].is_covered


def test_a_window_of_which_much_is_missing_is_not_read_again() -> None:
    project = with_window(25.0, 38.0)
    assert relaxed(project, coverage(project))[2].looked_at == 0


@pytest.mark.parametrize(("missing", "is_gained"), [(1.0, True), (GAP_MM + 0.5, False)])
def test_a_gap_that_misses_by_less_than_the_relaxation(missing: float, is_gained: bool) -> None:
    project = small()
    project = replace(project, fitments=project.fitments[:1], blanks=project.blanks[:1])
    wheel = coverage(project).rows[0].need.wheel
    assert wheel is not None
    measured = measure_wheel(project, wheel).measurements
    assert measured is not None
    spare = min(row.spare_mm for row in measured.gap if row.spare_mm is not None)
    more = tuple(
        replace(
            rules,
            gap=tuple(replace(g, paper_mm=g.paper_mm + spare + missing) for g in rules.gap),
        )
        for rules in project.rule_sets
    )
    strict = replace(project, rule_sets=more)
    found = coverage(strict)
    (cell,) = found.rows[0].cells
    assert cell.spare_mm == pytest.approx(-missing, abs=0.02)
    _, gap, _ = relaxed(strict, found)
    assert [g.fitment for g in gap.gained] == ([WIDE] if is_gained else [])
    assert gap.looked_at == int(is_gained)


@pytest.mark.parametrize(("missing", "is_gained"), [(0.4, True), (1.3, False)])
def test_stock_that_is_missing_at_a_lip(missing: float, is_gained: bool) -> None:
    """A block with room for all but the inboard flange: flange radius 462 / 2 + 17.5 = 248.5, stock 2.0.

    Specified diameter and flange height as in the rim tables of the handbook (T02, T08).
    """
    outside = 462.0 / 2.0 + 17.5 + 2.0 - missing
    places = (
        (-190.0, 0.0),
        (114.0, 0.0),
        (114.0, 300.0),
        (-90.0, 300.0),
        (-90.0, outside),
        (-190.0, outside),
    )
    block = Blank("block", tuple(Corner(z, r) for z, r in places), Supply.BLOCK, price=900.0)
    project = small()
    project = replace(project, fitments=project.fitments[:1], blanks=(block,))
    found = coverage(project)
    (cell,) = found.rows[0].cells
    assert (cell.what, cell.of_wheel) == ("inner lip, tyre side", False)
    assert cell.spare_mm == pytest.approx(-missing, abs=0.01)
    lip, _, _ = relaxed(project, found)
    assert lip.looked_at == int(is_gained)
    assert [(g.fitment, g.blank) for g in lip.gained] == ([(WIDE, "block")] if is_gained else [])
    if is_gained:
        assert lip.gained[0].words == "0.5 mm less stock at the lips"
        assert lip.newly_served == (WIDE,)


@pytest.mark.long
def test_an_enquiry_that_is_nearly_covered_says_what_it_takes() -> None:
    project = with_window(32.0, 38.2)
    found = coverage(project)
    told = enquire(project, found, project.fitments[0])
    assert (told.answer, told.blanks) == ("nearly", ())
    assert told.mends[0].cell.blank == OWN
    assert told.before.must_uncovered == ()
    assert told.after.must_uncovered == (NARROW,)
    unknown = replace(project.fitments[0], name="new", shape=None, wheel=None)
    assert enquire(project, found, unknown).answer == "not known"
