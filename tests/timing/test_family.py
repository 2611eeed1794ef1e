"""How long the family of new blanks takes for 60 fitments: figures, no verdict."""

import time
from dataclasses import replace
from itertools import islice

import pytest

from app import resources
from app.files.project_file import load
from app.studies.executor import CORES
from app.studies.forging_needs import ForgingSettings
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import coverage
from app.studies.roadmap.new_blanks import FamilySettings, design_family

pytestmark = pytest.mark.timing


def test_sixty_fitments_of_the_sample_and_their_neighbours() -> None:
    project = load(resources.sample("4-roadmap-36-fitments"))
    known = [f for f in project.fitments if f.shape is not None]
    more = islice(
        (
            replace(f, name=f"{f.name} wider", inset_low_mm=f.inset_low_mm - 2.0)
            for f in known
            if f.inset_low_mm is not None
        ),
        60 - len(known),
    )
    project = replace(project, fitments=(*known, *more))
    assert len(project.fitments) == 60
    start = time.perf_counter()
    found = coverage(project, where=CORES)
    covered = time.perf_counter() - start
    settings = FamilySettings(forging=ForgingSettings(stock_mm=2.2))
    start = time.perf_counter()
    made = design_family(project, found, settings, Question.LEAST_COST, where=CORES, time_limit_s=30.0)
    took = time.perf_counter() - start
    print(
        f"\ncoverage 60 x 5 {covered:.1f} s; family {took:.1f} s, {made.family.tried} groups, "
        f"{len(made.blanks)} new dies, gap {made.family.gap:.1%}"
    )
