"""Rows of numbers as typed."""

import pytest

from app.project.steps_text import steps, written
from geometry.errors import GeometryError


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("8,8.5, 9", (8.0, 8.5, 9.0)),
        ("0:20:5", (0.0, 5.0, 10.0, 15.0, 20.0)),
        ("-10:5:7 38", (-10.0, -3.0, 4.0, 38.0)),
        ("9; 8 9", (8.0, 9.0)),
        ("0:0.3:0.1", (0.0, 0.1, 0.2, 0.3)),
        ("\N{MINUS SIGN}5", (-5.0,)),
    ],
)
def test_numbers_and_even_steps_are_read(text: str, numbers: tuple[float, ...]) -> None:
    assert steps(text, "insets") == numbers
    assert steps(written(numbers), "insets") == numbers


@pytest.mark.parametrize(
    "text", ["", "eight", "1:2", "1:2:3:4", "5:1:1", "1:5:0", "1:5:-1", "nan", "inf", "1e9", "0:900:0.001"]
)
def test_what_is_no_row_is_said_with_its_name(text: str) -> None:
    with pytest.raises(GeometryError, match="insets"):
        steps(text, "insets")
