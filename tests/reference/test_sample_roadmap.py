"""The shipped roadmap proved again: what cannot be cut by `check`, and what plans cost by hand.

`check` reads one wheel in one blank and knows nothing of roadmaps; the sums of
tests/support/programme_sums.py share no code with the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from app import resources
from app.cli.check import check
from app.files.project_file import load
from app.project.project import Project
from app.studies.executor import CORES
from app.studies.forging_needs import ForgingSettings
from app.studies.limits import drawn
from app.studies.programme.inputs import Programme, Question
from app.studies.programme.plans import Plan
from app.studies.programme.solve import solve
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow, coverage
from app.studies.roadmap.family_choice import with_options
from app.studies.roadmap.new_blanks import FamilySettings, design_family
from app.studies.roadmap.scenarios import ask
from app.studies.seating import seated
from tests.support.programme_sums import added

pytestmark = pytest.mark.usefixtures("solved_here")


@pytest.fixture(scope="module")
def sample() -> Project:
    return load(resources.sample("4-roadmap-36-fitments"))


@pytest.fixture(scope="module")
def found(sample: Project) -> Coverage:
    """Of the whole sample: half a minute on two cores, and so for releases."""
    return coverage(sample, where=CORES)


def some(sample: Project, *names: str) -> Coverage:
    few = tuple(f for f in sample.fitments if f.name in names)
    assert len(few) == len(names)
    return coverage(replace(sample, fitments=few))


def nots(found: Coverage) -> list[tuple[CoverRow, CoverCell]]:
    return [(row, cell) for row in found.rows for cell in row.cells if cell.word == "not"]


def prove(sample: Project, cells: Sequence[tuple[CoverRow, CoverCell]]) -> None:
    """At the inset that decides, the wheel fails `check` in the seat that suits it best, and in no blank."""
    for row, cell in cells:
        assert row.need.wheel is not None
        assert cell.inset_mm is not None
        wheel = drawn(row.need.wheel, row.need.wheel.size.width_code, cell.inset_mm)
        wheel = replace(wheel, blank=cell.blank, spacer_mm=0.0)
        where = (cell.fitment, cell.blank, cell.compromise)
        if cell.of_wheel:
            alone = check(sample, (replace(wheel, blank=None),))
            assert alone["state"] in ("short", "touching"), where
            continue
        best = seated(sample, wheel)
        result = check(sample, (replace(wheel, seat_mm=best.seat_mm),))
        assert result["state"] in ("short", "touching"), where
        (entry,) = result["wheels"]
        least = min(s["spare_mm"] for s in entry["stock"] if s["spare_mm"] is not None)
        assert least < 0.0, where
        # The quick seat of the coverage is within 0.04 mm of the thorough one.
        assert cell.spare_mm == pytest.approx(least, abs=0.04), where


@pytest.mark.long
def test_cells_that_cannot_be_cut_fail_check(sample: Project) -> None:
    every = nots(some(sample, "R-02", "R-12", "R-21", "R-30"))
    assert len(every) > 8
    prove(sample, every)


def test_an_inset_that_alone_cannot_be_drawn_closes_no_window(sample: Project) -> None:
    """At inset 40.06 two corners of R-20's section lie in one line; on both sides 0.15 mm is to spare."""
    found = some(sample, "R-20")
    row = next(r for r in found.rows if r.fitment == "R-20" and not r.compromise)
    cell = found.cell("R-20", "K18")
    assert (cell.word, cell.insets) == ("cuttable", ((30.0, 45.0),))
    assert row.need.wheel is not None
    for inset in (40.04, 40.12):
        wheel = replace(drawn(row.need.wheel, 10.0, inset), blank="K18", spacer_mm=0.0)
        best = seated(sample, wheel)
        assert min(s.spare_mm for s in best.rows if s.spare_mm is not None) > 0.1


@pytest.mark.long
def test_every_cell_that_cannot_be_cut_fails_check(sample: Project, found: Coverage) -> None:
    every = nots(found)
    assert len(every) > 150
    prove(sample, every)


def assert_added(programme: Programme, plan: Plan) -> None:
    cost, contribution = added(programme, plan)
    assert plan.cost == pytest.approx(cost, rel=1e-9)
    assert plan.contribution == pytest.approx(contribution, rel=1e-9)


@pytest.mark.long
@pytest.mark.parametrize("question", Question)
def test_its_plan_costs_what_its_lists_add_up_to(
    sample: Project, found: Coverage, question: Question
) -> None:
    programme = ask(sample, found, question).programme
    plan = solve(programme)
    assert plan.verdict == "proven"
    assert_added(programme, plan)


@pytest.mark.long
def test_a_designed_family_costs_what_its_lists_add_up_to(sample: Project) -> None:
    """Five 18-inch fitments and no blank that is there, so that every group is tried and dies are chosen."""
    names = ("R-10", "R-11", "R-12", "R-13", "R-20")
    few = replace(sample, blanks=(), fitments=tuple(f for f in sample.fitments if f.name in names))
    settings = FamilySettings(ForgingSettings(stock_mm=2.2), lead_weeks=20.0)
    made = design_family(few, coverage(few), settings, Question.GREATEST_VALUE)
    family = made.family
    assert family.is_proven
    assert family.chosen
    arcs: dict[str, dict[str, float]] = {}
    for candidate in family.chosen:
        for name, cost in candidate.costs.items():
            arcs.setdefault(name, {})[candidate.name] = cost
    asked = with_options(made.asked.programme, made.options, arcs)
    assert_added(asked, family.plan)
