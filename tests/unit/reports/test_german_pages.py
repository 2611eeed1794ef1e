"""Pages in German: no English is left on them, and no text is cut that English says whole."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pypdf
import pytest

from app import language, resources
from app.files.project_file import load
from app.project.project import Project
from app.reports.audience import Audience
from app.reports.first_off_page import first_off_pdf
from app.reports.gauge import GaugeOf
from app.reports.names import names_of
from app.reports.outputs import blank_pdf, gauge, limits_pdf, report
from app.reports.releases import draft
from app.reports.stage_pages import stages_pdf
from app.studies.composite import composite
from app.studies.extremes import still_to_be_had
from app.studies.first_off import measured
from app.studies.forging_needs import ForgingSettings
from app.studies.limits import in_blank, limits
from app.studies.limits_against import against
from app.studies.machining import machining
from app.studies.spun import SpunSettings, spun_blank, spun_machining
from app.studies.stages import follow
from geometry.shape.section import Outline, build
from tests.support import example, german
from tests.unit.studies.test_composite import group


@pytest.fixture(autouse=True)
def in_german() -> Iterator[None]:
    with language.speaking("de"):
        yield


@pytest.fixture(scope="module")
def projects() -> list[Project]:
    return [load(path) for path in resources.samples()]


def words_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def left(project: Project, pdf: bytes) -> list[str]:
    """Return what stands round each English word; names that people gave are none."""
    return german.left(words_of(pdf), names_of(project))


@pytest.mark.parametrize("sample", [0, 1, 2])
def test_a_section_report_holds_no_english(projects: list[Project], sample: int) -> None:
    project = projects[sample]
    assert left(project, report(project, project.wheels[0])[0]) == []


def test_a_customers_copy_and_the_gauges_hold_no_english(projects: list[Project]) -> None:
    project = projects[2]
    customer = report(project, project.wheels[0], audience=Audience("Meier"))[0]
    assert left(project, customer) == []
    for of in GaugeOf:
        assert left(project, gauge(project, project.wheels[0], of)[0]) == []


def test_a_section_sheet_holds_no_english(projects: list[Project]) -> None:
    for project in projects[:3]:
        assert left(project, draft(project, project.wheels[0])[0]) == []


def test_stages_and_the_drawing_for_the_forge_hold_no_english(projects: list[Project]) -> None:
    spun, own = projects[4], projects[0]
    assert left(spun, stages_pdf(spun, follow(spun, spun.wheels[0].name))) == []
    settings = ForgingSettings()
    found = composite(own, [own.wheels[0].name], settings)
    assert left(own, blank_pdf(own, found, settings, (), "Rohling", for_forge=True)) == []


def test_a_houses_pages_of_turned_and_spun_blanks_hold_no_english() -> None:
    project, settings = replace(group(), currency="EUR"), ForgingSettings()
    found = composite(project, [w.name for w in project.wheels], settings)
    cut = machining(project, found)
    assert left(project, blank_pdf(project, found, settings, cut, "Rohling", for_forge=False)) == []
    spun = spun_blank(project, found, settings, SpunSettings(mandrel_price=18000.0, spinning_price=41.5))
    cut = spun_machining(project, spun)
    for_house = blank_pdf(project, found, settings, cut, "Rohling", for_forge=False, spun=spun)
    assert left(project, for_house) == []


def test_limits_of_two_blanks_hold_no_english() -> None:
    project, _ = example.roomy()
    sizes: dict[str, Any] = {"widths": [10.0, 10.5], "insets": [20.0, 40.0]}
    found = limits(project, example.WHEEL, "roomy", **sizes)
    held = against(project, found, limits(project, example.WHEEL, example.BLANK, **sizes), None)
    still = still_to_be_had(project, in_blank(project, example.WHEEL, "roomy"))
    pdf = limits_pdf(project, found, still, held)
    assert left(project, pdf) == []
    assert "oder mehr" in words_of(pdf)


def test_a_measured_first_wheel_holds_no_english(projects: list[Project]) -> None:
    project = projects[0]
    built = build(project.wheels[0].section)
    assert isinstance(built, Outline)
    pieces = np.flatnonzero(built.skin)
    on = built.path.at(pieces, np.full(len(pieces), 0.4)) + np.array([0.2, 0.05])
    found = measured(project.wheels[0], [(float(z), float(r)) for z, r in on], source="points.csv")
    pdf = first_off_pdf(project, found, "0" * 64)
    assert left(project, pdf) == []
    assert "Verschiebung der besten Anpassung" in " ".join(words_of(pdf).split())


def test_a_name_stays_and_the_check_notices_english(projects: list[Project]) -> None:
    project = projects[0]
    pdf = report(project, project.wheels[0])[0]
    assert "Track 18 in its own blank" in words_of(pdf)
    with language.speaking("en"):
        english = report(project, project.wheels[0])[0]
    assert len(left(project, english)) > 100


def test_table_heads_do_not_run_into_each_other(projects: list[Project]) -> None:
    """ "Ungünstigster Zustand" takes two lines above its narrow column."""
    project = projects[0]
    lines = words_of(report(project, project.wheels[0])[0]).splitlines()
    assert "Ungünstigster" in lines
    assert not any("Ungünstigster Zustand" in line and "Soll" in line for line in lines)
