"""`blankwright match --insets`: what is said where the search for a window ends before the window does."""

from __future__ import annotations

from dataclasses import replace

from app.cli.match import as_text
from app.studies.match import match
from app.studies.sweep import REACH_MM, Window
from tests.support import example


def test_the_end_of_the_search_says_how_far_it_went_and_how_to_go_on() -> None:
    project = example.project()
    found = match(project)
    pair = found.pairs[0]
    here = project.wheels[0].inset_mm
    for window, is_open in (
        (Window(here - REACH_MM, here + 3.0, "", "well to Brake", True), True),
        (Window(here - 2.0, here + 3.0, "spoke back to Brake", "well to Brake", True), False),
    ):
        said = as_text(project, replace(found, pairs=(replace(pair, insets=window),)))
        assert ("or less (end of the search)" in said) is is_open
        assert ("up to 60.00 mm either side of the wheel's own" in said) is is_open
        assert ("save a version of it at the last inset" in said) is is_open
    inches = replace(project, display_unit="in")
    open_both = replace(pair, insets=Window(here - REACH_MM, here, "", "", True))
    said = as_text(inches, replace(found, pairs=(open_both,)))
    # 60 mm are 2.362 in (an inch is 25.4 mm).
    assert "up to 2.362 in either side" in said
