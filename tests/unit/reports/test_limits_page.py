"""The limits of a blank as a report: the first page stands alone."""

from __future__ import annotations

import io
from typing import Any

import pypdf
import pytest

from app.project.caution import CAUTION
from app.reports.limits_page import zone_letters
from app.reports.outputs import limits_pdf
from app.reports.sentences import SIGNS
from app.studies.extremes import still_to_be_had
from app.studies.limits import in_blank, limits
from app.studies.limits_against import against
from tests.support import example


@pytest.mark.parametrize("is_pair", [False, True])
def test_one_page_holds_map_zones_windows_headroom_and_caution(is_pair: bool) -> None:
    project, _ = example.roomy()
    sizes: dict[str, Any] = {"widths": [10.0, 10.5], "insets": [20.0, 40.0]}
    found = limits(project, example.WHEEL, "roomy", **sizes)
    other = limits(project, example.WHEEL, example.BLANK, **sizes) if is_pair else None
    held = None if other is None else against(project, found, other, None)
    still = still_to_be_had(project, in_blank(project, example.WHEEL, "roomy"))
    data = limits_pdf(project, found, still, held, appendix=False)
    (page,) = pypdf.PdfReader(io.BytesIO(data)).pages
    text = " ".join(page.extract_text().split())
    maps = (found,) if other is None else (found, other)
    for each in maps:
        for cell in each.cells:
            assert cell.state is not None
            assert f"{SIGNS[cell.state]} {cell.spare_mm:.2f}" in text
            assert cell.zone in text
        for row in each.rows:
            for window in row.windows:
                assert f"{window.low:.1f}" in text
                assert f"{window.high:.1f}" in text
    for extreme in still:
        assert extreme.words in text
    for words in ("cuttable: ", "not: ", "gaps to brakes, walls and hub fit are not judged"):
        assert words in text
    assert CAUTION in text
    with_more = pypdf.PdfReader(io.BytesIO(limits_pdf(project, found, still, held))).pages
    assert len(with_more) > 1
    assert all("Appendix" in p.extract_text() for p in with_more[1:2])


def test_each_side_that_decides_has_a_letter_of_its_own() -> None:
    project, _ = example.roomy()
    found = limits(project, example.WHEEL, "roomy", widths=[9.0, 10.0, 11.0], insets=[10.0, 40.0, 60.0])
    letters = zone_letters([found])
    assert set(letters) == {cell.decides for cell in found.cells if cell.state is not None}
    assert len(set(letters.values())) == len(letters)
