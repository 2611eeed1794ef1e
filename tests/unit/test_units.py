"""Typed numbers: the grammar, its refusals, and factors against the published ones.

Factors: international yard and pound agreement of 1959, as in NIST SP 811 (2008), appendix B:
1 in = 25.4 mm and 1 lb = 0.45359237 kg exactly; with standard gravity 9.80665 m/s2 one short ton-force is
2000 x 4.4482216152605 N.
"""

import subprocess
import sys
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app import units
from app.units import (
    LONGEST_TEXT,
    UnitsError,
    format_angle,
    format_force,
    format_length,
    format_mass,
    length_in,
    parse_angle_deg,
    parse_length_mm,
    parse_mass_kg,
    parse_number,
)


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("12.5", 12.5),
        ("12,5", 12.5),
        ("12,5 mm", 12.5),
        ("12.5MM", 12.5),
        ("  7 ", 7.0),
        (",5", 0.5),
        (".5", 0.5),
        ("1,234", 1.234),
        ("5 1/2 in", 139.7),
        ('5 1/2"', 139.7),
        ("5 1/2″", 139.7),
        ("-5 1/2 in", -139.7),
        ("1/4 in", 6.35),
        ("1⁄4 inch", 6.35),
        ("2 cm", 20.0),
        ("−3", -3.0),
        ("–3", -3.0),
        ("+3", 3.0),
        ("- 3", -3.0),
        ("12.7 + 3", 15.7),
        ("12,7+3", 15.7),
        ("10 − 2,5", 7.5),
        ("0.1 + 0.2", 0.3),
        ("5 - 1/2", 4.5),
        ("5 1/2 + 1/4", 5.75),
        ("1 in + 3 mm", 28.4),
        ("12 + 3 mm", 15.0),
        ("10\u00a0mm", 10.0),
        ("10000", 10_000.0),
        ("-10000", -10_000.0),
    ],
)
def test_a_typed_length_is_read(text: str, length_mm: float) -> None:
    assert parse_length_mm(text) == length_mm


@pytest.mark.parametrize(
    ("text", "length_mm"), [("1", 25.4), ("5 1/2", 139.7), ("1 mm", 1.0), ("1 + 1/2 in", 38.1)]
)
def test_a_bare_number_is_in_the_default_unit(text: str, length_mm: float) -> None:
    assert parse_length_mm(text, "in") == length_mm


@pytest.mark.parametrize(
    ("text", "position", "mend"),
    [
        ("", 0, "a number is missing"),
        ("   ", 3, "a number is missing"),
        ("+", 1, "a number is missing"),
        ("5 +", 3, "a number is missing"),
        ("5 + - 3", 4, "a number is missing"),
        ("mm", 0, "a number is missing"),
        ("1,234.5", 5, "write 1234.5"),
        ("1.234,5", 5, "write 1234.5"),
        ("1,234,567", 5, "write 1234.5"),
        ("12,", 2, "decimal mark with digits after it"),
        ("1 234", 2, "put + or - between them"),
        ("1'234", 1, "has no meaning"),
        ("9**9**9", 1, "has no meaning"),
        ("(1+2)", 0, "has no meaning"),
        ("½", 0, "has no meaning"),
        ("٣", 0, "has no meaning"),
        ("1e400", 1, "not a unit of length"),
        ("1e3", 1, "not a unit of length"),
        ("0x10", 1, "not a unit of length"),
        ("3 ft", 2, "not a unit of length"),
        ("nan", 0, "a number is missing"),
        ("inf", 0, "a number is missing"),
        ("1/0", 2, "divided by zero"),
        ("5 1/0 in", 4, "divided by zero"),
        ("1/2/3", 3, "one stroke"),
        ("1.5/2", 0, "whole numbers"),
        ("5,5 1/2", 4, "before a fraction"),
        ("5-1/2 in", 1, "5 1/2"),
        ("5 −1/2", 2, "5 1/2"),
        ("1 + 3 in", 0, "unit behind every number"),
        ("3 mm 2", 5, "put + or -"),
        ("10000.001", 0, "at most 10 000 mm"),
        ("394 in", 0, "at most 10 000 mm"),
        ("1 + 99999999999999999999", 4, "at most 10 000 mm"),
        ("9" * (LONGEST_TEXT + 1), LONGEST_TEXT, "longer than"),
    ],
)
def test_anything_else_is_refused_with_its_place(text: str, position: int, mend: str) -> None:
    with pytest.raises(UnitsError, match=r"at character \d+") as caught:
        parse_length_mm(text)
    assert caught.value.position == position
    assert mend in str(caught.value)


def test_other_quantities_are_read_in_their_own_unit() -> None:
    assert parse_angle_deg("7,5°") == 7.5
    assert parse_angle_deg("-15 deg") == -15.0
    assert parse_mass_kg("1 lb") == 0.45359237
    assert parse_mass_kg("24", "lb") == pytest.approx(24 * 0.45359237, rel=1e-15)
    assert parse_mass_kg("850 g") == 0.85
    assert parse_number("2712,6") == 2712.6
    for read, text in [(parse_angle_deg, "361"), (parse_mass_kg, "1 mm"), (parse_number, "5 mm")]:
        with pytest.raises(UnitsError):
            read(text)


def test_shown_numbers_carry_their_unit() -> None:
    assert format_length(139.7) == "139.70 mm"
    assert format_length(139.7, "in") == "5.500 in"
    assert format_length(139.7, "in", 1, with_unit=False) == "5.5"
    assert format_mass(0.45359237, "lb") == "1.00 lb"
    assert format_mass(9.876) == "9.88 kg"
    assert format_force(2000 * 4.4482216152605e-6, "short ton") == "1.0 short ton"
    assert format_force(80.0) == "80.0 MN"
    assert format_angle(15) == "15.0°"
    assert format_length(-0.004) == "0.00 mm"
    assert format_length(-0.006) == "-0.01 mm"


@given(st.fractions(-10_000, 10_000, max_denominator=10_000), st.sampled_from(".,"), st.sampled_from("-−–"))
def test_a_decimal_is_read_to_the_nearest_float(value: Fraction, mark: str, minus: str) -> None:
    text = f"{float(value):.4f}"
    shown = text.replace(".", mark).replace("-", minus)
    assert parse_length_mm(shown) == float(text)


@given(st.integers(0, 99), st.integers(0, 63))
def test_a_mixed_fraction_of_inches_is_exact(whole: int, sixtyfourths: int) -> None:
    expected = float((whole + Fraction(sixtyfourths, 64)) * Fraction(254, 10))
    assert parse_length_mm(f"{whole} {sixtyfourths}/64 in") == expected


@given(st.lists(st.decimals(0, 900, places=3), min_size=1, max_size=8))
def test_a_sum_is_rounded_once(terms: list[Fraction]) -> None:
    assert parse_length_mm(" + ".join(f"{term:f}" for term in terms)) == float(sum(terms))


@given(st.text(alphabet="0123456789,.+-−–/ minM\"'e*²½x", max_size=20))
def test_any_text_gives_a_bounded_number_or_a_place_in_the_text(text: str) -> None:
    value, position = 0.0, 0
    try:
        value = parse_length_mm(text)
    except UnitsError as error:
        position = error.position
    assert abs(value) <= 10_000.0
    assert 0 <= position <= len(text)


@given(st.floats(-9_999, 9_999), st.sampled_from(["mm", "in"]))
def test_what_is_shown_reads_back_within_its_last_digit(length_mm: float, unit: str) -> None:
    shown = format_length(length_mm, "in" if unit == "in" else "mm", 4)
    half_digit_mm = 0.5e-4 * (25.4 if unit == "in" else 1.0)
    assert parse_length_mm(shown) == pytest.approx(length_mm, rel=0, abs=half_digit_mm * 1.001)


def test_length_in_inches() -> None:
    assert length_in(254.0, "in") == 10.0


def test_millimetres_are_read_without_loading_the_unit_table() -> None:
    code = "import sys, app.units as u; u.parse_length_mm('12,5 mm'); sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_inch_and_the_pound_are_those_of_the_unit_table() -> None:
    # International yard and pound agreement, 1959: 25.4 mm and 0.453 592 37 kg exactly.
    registry = units._registry()
    for (unit, wanted), factor in units._EXACT.items():
        assert registry.convert(Fraction(1), unit, wanted) == factor
