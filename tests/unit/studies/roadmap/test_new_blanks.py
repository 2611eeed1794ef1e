"""New blanks of a roadmap: what is chosen can be forged and holds every member over its whole window."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from app import resources
from app.files.project_file import load
from app.project.project import Project
from app.studies.forging_needs import ForgingSettings
from app.studies.programme.inputs import Question
from app.studies.roadmap.allowance import Allowance
from app.studies.roadmap.coverage import coverage
from app.studies.roadmap.new_blanks import (
    FamilyPlan,
    FamilySettings,
    design_family,
    forgeable,
    member,
)
from geometry.forging.composite import DENSITY_KG_M3
from geometry.forging.presses import Press
from geometry.forging.seats import seated

ROWS = ("R-10", "R-12", "R-14")
#: A tenth more than the rule asks, so that rounding never decides.
SETTINGS = FamilySettings(forging=ForgingSettings(stock_mm=2.1), lead_weeks=20.0)


@pytest.fixture(scope="module")
def asked() -> Project:
    """Three must rows of the shipped roadmap and no blank at all."""
    project = load(resources.sample("4-roadmap-36-fitments"))
    return replace(project, blanks=(), fitments=tuple(f for f in project.fitments if f.name in ROWS))


@pytest.fixture(scope="module")
def found(asked: Project) -> FamilyPlan:
    return design_family(asked, coverage(asked), SETTINGS)


def test_every_row_is_served_and_the_choice_is_proven(found: FamilyPlan) -> None:
    plan = found.family.plan
    assert plan.verdict == "proven"
    assert not plan.uncovered
    assert {s.row for s in plan.served} == set(ROWS)
    assert sorted(name for blank in found.blanks for name in blank.members) == sorted(ROWS)
    assert found.family.is_whole


def test_what_is_chosen_holds_its_members_over_their_windows(asked: Project, found: FamilyPlan) -> None:
    """Each new blank is put into the project and read as any other is."""
    with_new = replace(asked, blanks=tuple(new.blank for new in found.blanks))
    again = coverage(with_new)
    for new in found.blanks:
        assert all(again.cell(name, new.blank.name).is_covered for name in new.members)


def test_a_new_blank_says_where_its_dies_meet(found: FamilyPlan) -> None:
    """The parting lies where the outline is widest: drafts run away from it on either side."""
    for new in found.blanks:
        widest = max(new.blank.corners, key=lambda c: c.r)
        assert new.blank.parting_mm == pytest.approx(widest.z, abs=0.01)
        below = [c.r for c in new.blank.corners if c.z < widest.z]
        above = [c.r for c in new.blank.corners if c.z > widest.z]
        assert max(below) < widest.r
        assert max(above) < widest.r


def test_seats_found_without_fillets_serve_with_them(asked: Project) -> None:
    """The search for lighter seats with fillets, which the family leaves out, finds 0.02 kg at most."""
    rows = {r.fitment: r for r in coverage(asked).rows if not r.compromise}
    forging = SETTINGS.forging
    members = [member(asked, rows[name], forging) for name in ROWS]
    for size in (2, 3):
        for group in combinations(members, size):
            needs = [need for m in group if m is not None for need in m.needs]
            quick, full = forgeable(needs, forging, DENSITY_KG_M3, Allowance()), seated(needs, forging.how)
            assert quick is not None
            assert full.mass_kg <= quick.mass_kg <= full.mass_kg + 0.02
            assert quick.bound_kg <= full.mass_kg
            assert quick.bound_kg == pytest.approx(full.bound_kg, rel=1e-5)


def test_a_group_weighs_no_less_than_any_of_its_members_alone(found: FamilyPlan) -> None:
    for new in found.blanks:
        assert all(wasted >= -0.01 for _, wasted in new.wasted_kg)
        # Practice 16: the band of a press, not one number; logs to 320.
        assert new.load_mn[0] < new.load_mn[1]
        assert new.log.diameter_mm <= 320.0


@pytest.mark.long
def test_dear_dies_make_few_and_cheap_ones_many(asked: Project) -> None:
    known = coverage(asked)
    cheap = replace(SETTINGS, die_cost=0.0, proof_cost=0.0, holder_cost=0.0, run_setup=0.0, least_run=0)
    dear = replace(SETTINGS, die_cost=3e6)
    many, few = (design_family(asked, known, how) for how in (cheap, dear))
    assert len(few.blanks) == 1
    # Without any cost of its own every row has a blank to itself, the lightest there is for it.
    assert len(many.blanks) == len(ROWS)
    assert all(wasted == pytest.approx(0.0, abs=0.02) for new in many.blanks for _, wasted in new.wasted_kg)


def test_without_a_press_that_is_strong_enough_there_is_no_new_die(asked: Project) -> None:
    weak = ForgingSettings(stock_mm=2.1, presses=(Press("small press", 2.0),))
    found = design_family(asked, coverage(asked), replace(SETTINGS, forging=weak))
    assert not found.blanks
    assert {u.row for u in found.family.plan.uncovered} == set(ROWS)


def test_a_row_that_earns_too_little_is_refused(asked: Project) -> None:
    want = replace(asked, fitments=tuple(replace(f, must=False, contribution=100.0) for f in asked.fitments))
    found = design_family(want, coverage(want), SETTINGS, Question.GREATEST_VALUE)
    assert not found.blanks
    assert {r.row for r in found.family.plan.refused} == set(ROWS)
