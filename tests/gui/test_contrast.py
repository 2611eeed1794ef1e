"""Contrast of both themes by the formula of WCAG 2.2: 4.5 : 1 for text, 3 : 1 for marks."""

from __future__ import annotations

from dataclasses import asdict
from itertools import pairwise

import pytest
from PySide6.QtGui import QColor, QPalette

from app.reports.sentences import SIGNS
from app.reports.strength_bands import SCALE
from app.views.coverage_map import _TINT as COVERED
from app.views.limits_map import _TINT as MAPPED
from app.views.programme_regrets import _DEEPEST as REGRETTED
from app.views.strip_picture import _PLAIN, _STYLES
from app.views.theme import DARK, LIGHT, LINES, Colours, Theme
from geometry.readings.rules import State
from geometry.shape.curve import Array
from tests.support.wcag import MARK, SEEN, TEXT, contrast, luminance, over, rgb, seen

STATES = tuple(state.name.lower() for state in State)
#: A selected row's accent, painted so thinly over the paper.
SELECTED = 38

each_theme = pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])


def colours(theme: Colours) -> dict[str, Array]:
    return {role: rgb(written) for role, written in asdict(theme).items()}


def test_the_formula_gives_what_the_recommendation_says() -> None:
    """Black on white is 21 : 1 by definition; #767676 on white is the known lightest grey of 4.5 : 1."""
    white, black = rgb("#FFFFFF"), rgb("#000000")
    assert contrast(black, white) == pytest.approx(21.0)
    assert contrast(white, white) == 1.0
    assert contrast(rgb("#767676"), white) >= 4.5 > contrast(rgb("#777777"), white)


@each_theme
def test_text_stands_out_from_every_ground_it_is_on(theme: Colours) -> None:
    c = colours(theme)
    grounds = {"paper": c["paper"], "panel": c["panel"], "selected": over(c["accent"], c["paper"], SELECTED)}
    low = {
        (role, ground): round(contrast(c[role], grounds[ground]), 2)
        for role in ("ink", "quiet", *STATES)
        for ground in grounds
    }
    low |= {(role, "panel"): round(contrast(c[role], c["panel"]), 2) for role in ("accent", "shape_edge")}
    low["paper", "accent"] = round(contrast(c["paper"], c["accent"]), 2)  # a chosen text
    assert {pair: ratio for pair, ratio in low.items() if ratio < TEXT} == {}


@each_theme
def test_numbers_stand_out_from_the_maps(theme: Colours) -> None:
    c = colours(theme)
    for role in STATES:
        for alpha in (COVERED, MAPPED, REGRETTED):
            assert contrast(c["ink"], over(c[role], c["paper"], alpha)) >= TEXT, (role, alpha)


@each_theme
def test_marks_stand_out_from_what_they_lie_on(theme: Colours) -> None:
    c = colours(theme)
    on = {
        "paper": (*STATES, "ink", "quiet", "accent", "shape_edge", "blank"),
        "panel": (*STATES, "ink", "quiet", "accent", "shape_edge", "blank"),
        "wheel": (*STATES, "ink", "quiet", "accent", "shape_edge", "blank"),
        "shape": ("ink", "shape_edge", *STATES),
    }
    low = {
        (role, ground): round(contrast(c[role], c[ground]), 2)
        for ground, roles in on.items()
        for role in roles
    }
    assert {pair: ratio for pair, ratio in low.items() if ratio < MARK} == {}


@pytest.mark.parametrize("is_dark", [False, True])
def test_widgets_take_these_colours(is_dark: bool) -> None:
    """Text that is switched off keeps its contrast too, though the recommendation does not ask for it."""
    theme = Theme(is_dark)
    palette = theme.palette()
    for group in (QPalette.ColorGroup.Active, QPalette.ColorGroup.Inactive, QPalette.ColorGroup.Disabled):
        for text, ground in (
            (QPalette.ColorRole.WindowText, QPalette.ColorRole.Window),
            (QPalette.ColorRole.Text, QPalette.ColorRole.Base),
            (QPalette.ColorRole.ButtonText, QPalette.ColorRole.Button),
            (QPalette.ColorRole.PlaceholderText, QPalette.ColorRole.Base),
            (QPalette.ColorRole.ToolTipText, QPalette.ColorRole.ToolTipBase),
            (QPalette.ColorRole.Link, QPalette.ColorRole.Window),
        ):
            one, other = (_written(palette.color(group, role)) for role in (text, ground))
            assert contrast(one, other) >= TEXT, (group, text)


def _written(colour: QColor) -> Array:
    return rgb(colour.name())


# Grey and the common colour deficits


def test_the_simulation_keeps_what_it_must() -> None:
    """White, black and greys have no colour to lose; a protanope's red is darker, as is well known."""
    for how in SEEN:
        for grey in ("#FFFFFF", "#000000", "#808080"):
            assert seen(rgb(grey), how) == pytest.approx(rgb(grey), abs=2e-3)
    red = rgb("#FF0000")
    assert luminance(seen(red, "protanopia")) < luminance(red) < luminance(seen(red, "tritanopia"))


def test_each_state_has_a_sign_and_a_line_of_its_own() -> None:
    assert len(set(SIGNS.values())) == len(set(LINES.values())) == len(State)
    assert set(SIGNS) == set(LINES) == set(State)


@pytest.mark.parametrize("how", list(SEEN))
def test_bands_of_stress_grow_darker_step_by_step(how: str) -> None:
    """Which of two places is stressed more is seen without colours."""
    light = [luminance(seen(rgb(colour), how)) for colour in SCALE]
    assert all(b < a for a, b in pairwise(light)), light


@pytest.mark.parametrize("how", list(SEEN))
@each_theme
def test_text_and_marks_keep_most_of_their_contrast(theme: Colours, how: str) -> None:
    """No criterion asks for it: 4 : 1 on paper is what is held here."""
    c = {role: seen(colour, how) for role, colour in colours(theme).items()}
    low = {role: round(contrast(c[role], c["paper"]), 2) for role in (*STATES, "accent", "shape_edge")}
    assert {role: ratio for role, ratio in low.items() if ratio < 4.0} == {}


def test_curves_of_the_strip_differ_in_grey() -> None:
    """Wall is as dark as ink; gap and stock, of one grey, have lines of their own."""
    assert _STYLES["stock"][0] is not _PLAIN[0]
    assert _STYLES["stock"][1] is not _PLAIN[1]
