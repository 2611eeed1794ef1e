"""How long the family of new blanks takes for 60 fitments: figures, no verdict."""

import time
from dataclasses import replace
from itertools import islice

import pytest

from app import resources
from app.files.project_file import load
from app.project.project import Project
from app.studies.executor import CORES
from app.studies.forging_needs import ForgingSettings
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.new_blanks import FamilySettings, design_family

pytestmark = pytest.mark.timing


@pytest.fixture(scope="module")
def project() -> Project:
    """The fitments of the sample whose brake is known, and as many neighbours as make 60."""
    sample = load(resources.sample("4-roadmap-36-fitments"))
    known = [f for f in sample.fitments if f.shape is not None]
    more = islice(
        (
            replace(f, name=f"{f.name} wider", inset_low_mm=f.inset_low_mm - 2.0)
            for f in known
            if f.inset_low_mm is not None
        ),
        60 - len(known),
    )
    made = replace(sample, fitments=(*known, *more))
    assert len(made.fitments) == 60
    return made


@pytest.fixture(scope="module")
def covered(project: Project) -> Coverage:
    start = time.perf_counter()
    found = coverage(project, where=CORES)
    print(f"\ncoverage 60 x 5 {time.perf_counter() - start:.1f} s")
    return found


def test_coverage_of_sixty_fitments(covered: Coverage) -> None:
    """Apart from the family, so that each has the time that a single test may take."""
    assert len({row.fitment for row in covered.rows}) == 60


def test_family_of_sixty_fitments(project: Project, covered: Coverage) -> None:
    settings = FamilySettings(forging=ForgingSettings(stock_mm=2.2))
    start = time.perf_counter()
    made = design_family(project, covered, settings, Question.LEAST_COST, where=CORES, time_limit_s=30.0)
    print(
        f"\nfamily {time.perf_counter() - start:.1f} s, {made.family.tried} groups, "
        f"{len(made.blanks)} new dies, gap {made.family.gap:.1%}"
    )
