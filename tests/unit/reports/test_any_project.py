"""A report is written for whatever a project file can hold, each page with its caution."""

import io
from typing import Any

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings

from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.audience import Audience, NameShownError
from app.reports.content import build_content
from app.reports.gauge import GaugeOf
from app.reports.outputs import gauge, report
from app.reports.pdf import write_pdf
from app.reports.releases import Facts, HeldBackError, draft, hindered, release, standing
from app.studies.fit import measure_wheel
from geometry.readings.rules import State
from tests.support.examples import OF_PROJECTS, share
from tests.support.projects import names, projects

_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]


# Absurd numbers may overflow on their way to a fault.
@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@settings(max_examples=share(OF_PROJECTS / 2), suppress_health_check=_SLOW)
@given(project=projects())
def test_any_project_gives_a_report(project: Project) -> None:
    for wheel in project.wheels:
        measured = measure_wheel(project, wheel)
        content = build_content(project, wheel, measured)
        may_go_out = measured.measurements is not None and measured.measurements.state in (
            State.TIGHT,
            State.CLEAR,
        )
        assert (content.hold_back == "") == may_go_out
        pages: Any = pypdf.PdfReader(io.BytesIO(write_pdf(content, input_sha256="0" * 64))).pages
        assert len(pages) >= 2
        for page in pages:
            assert "".join(CAUTION.split()) in "".join(page.extract_text().split())


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@settings(max_examples=share(OF_PROJECTS / 2), suppress_health_check=_SLOW)
@given(project=projects(), customer=names)
def test_any_project_gives_a_customers_copy_and_a_gauge_or_says_why_not(
    project: Project, customer: str
) -> None:
    audience = Audience(customer)
    for wheel in project.wheels:
        try:
            pdf, held_back = report(project, wheel, None, audience)
        except NameShownError:
            continue
        pages: Any = pypdf.PdfReader(io.BytesIO(pdf)).pages
        for page in pages:
            text = page.extract_text()
            assert "".join(CAUTION.split()) in "".join(text.split())
            assert ("NOT FOR RELEASE" in text) == (held_back != "")
        for of in GaugeOf:
            try:
                pdf, _ = gauge(project, wheel, of, audience=audience)
            except ValueError:  # nothing to draw, or far too large
                continue
            assert pdf.startswith(b"%PDF-")


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@settings(max_examples=share(OF_PROJECTS / 2), suppress_health_check=_SLOW)
@given(project=projects())
def test_any_project_gives_a_section_sheet_and_none_that_is_not_settled_is_released(project: Project) -> None:
    for wheel in project.wheels:
        for paper in ("A3", "Letter"):
            pdf, held_back = draft(project, wheel, paper)
            for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
                text = page.extract_text()
                assert "".join(CAUTION.split()) in "".join(text.split())
                assert "NOT RELEASED" in text
        assert standing(project, wheel).words
        if hindered(project, wheel):
            with pytest.raises(HeldBackError):
                release(project, wheel, Facts("2026-03-01", "A. One", "B. Two", "random"))
        else:
            assert not held_back
