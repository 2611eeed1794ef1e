"""Formulas: the grammar, units, bounds, and random texts."""

from __future__ import annotations

import ast
import inspect
import math
import random
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.project import formula, formula_tree
from app.project.formula import reckon, value_of
from app.project.formula_tree import (
    DEEPEST,
    LONGEST_FORMULA,
    LONGEST_NAME,
    MOST_DIGITS,
    FormulaError,
    Value,
    name_trouble,
)
from app.units import parse_length_mm
from tests.support.formulas import text, tried, untouched

KNOWN = {"wall": Value(5, 1), "tilt": Value(30, 0, 1), "n": Value(5)}


def give(words: str, unit: str = "mm") -> float:
    return reckon(words, unit, KNOWN.get)


def refused(words: str, unit: str = "mm") -> FormulaError:
    with pytest.raises(FormulaError) as caught:
        give(words, unit)
    return caught.value


@pytest.mark.parametrize(
    ("words", "mm"),
    [
        ("12.7 + 3", 15.7),
        ("12,5", 12.5),
        ("5 1/2 in", 139.7),
        ('1/2" + 2 mm', 14.7),
        ("2 * wall + 3", 13.0),
        ("-(wall - 7)", 2.0),
        ("-2^2", -4.0),
        ("3 * 1/2 in", 38.1),
        ("10/4/5", 0.5),
        ("wall * wall / wall", 5.0),
        ("sqrt(wall * wall)", 5.0),
        ("sqrt(3 mm ^ 2 + 4 mm ^ 2)", 5.0),
        ("min(wall; 7; 3,5)", 3.5),
        ("max(wall; 3)", 5.0),
        ("abs(-wall)", 5.0),
        ("wall * sin(tilt)", 2.5),
        ("wall * cos(60)", 2.5),
        ("wall * tan(45 deg)", 5.0),
        ("wall × 2 ÷ 4 · 1", 2.5),
        ("wall − 1", 4.0),
        ("1 cm + 1 m", 1010.0),
        ("n * wall / 5", 5.0),
    ],
)
def test_lengths(words: str, mm: float) -> None:
    assert give(words) == mm


def test_functions_agree_with_the_mathematics_library() -> None:
    for degrees in range(-401, 401, 7):  # 90 and its like are not among them
        for name in ("sin", "cos", "tan"):
            expected = getattr(math, name)(math.radians(degrees))
            assert give(f"{name}({degrees} deg)", "") == pytest.approx(expected, rel=1e-12, abs=1e-12)
    assert give("pi", "") == math.pi
    assert give("sqrt(2)", "") == math.sqrt(2.0)


def test_a_number_without_a_unit_is_of_the_parameters_own() -> None:
    assert give("1", "in") == 25.4
    assert give("wall + 1", "in") == 30.4
    assert give("1/2", "in") == 12.7
    assert give("2 * 3", "in") == 152.4
    assert give("45", "deg") == 45.0
    assert give("tilt + 15", "deg") == 45.0
    assert give("n + 1", "") == 6.0
    assert "every number" in str(refused("wall + 1 in + 3"))
    assert "write the unit" in str(refused("wall / (wall + 3)", ""))


@pytest.mark.parametrize(
    ("words", "unit", "says", "at"),
    [
        ("wall * wall", "mm", "an area, where a length is needed", 5),
        ("wall * wall * wall", "mm", "a volume", 12),
        ("wall + tilt", "mm", "a length and an angle", 5),
        ("2 * wall + sin(tilt)", "mm", "a length and a plain number", 9),
        ("wall", "deg", "a length, where an angle is needed", 0),
        ("wall / wall", "mm", "a plain number, where a length is needed", 5),
        ("n", "mm", "a plain number, where a length is needed", 0),
        ("sqrt(wall)", "mm", "no square root", 0),
        ("sin(wall)", "", "sin is of an angle, and this is a length", 0),
        ("min(wall; tilt)", "mm", "do not go together", 0),
        ("wall^3 + wall", "mm", "a volume and a length", 7),
        ("5 kg", "mm", "not a unit", 2),
        ("2 wall", "mm", "put *", 2),
        ("max(wall, 2)", "mm", "comma is a decimal mark", 8),
        ("min(1,2,3)", "mm", "one decimal mark", 7),
        ("hight + 1", "mm", "no parameter called hight", 0),
        ("root(2)", "", "no function root", 0),
        ("5-1/2", "mm", "a half more or a half less", 1),
        ("10 mm / 1/2 in", "mm", "two ways", 8),
        ("(1 + 2", "mm", ") is missing", 6),
        ("1 + 2)", "mm", ") without (", 5),
        ("", "mm", "a formula is missing", 0),
        ("1 / 0", "mm", "divided by zero", 2),
        ("1/0 in", "mm", "divided by zero", 2),
        ("0^-2", "mm", "divided by zero", 1),
        ("tan(90)", "", "no value at 90", 0),
        ("sqrt(-1)", "", "negative", 0),
        ("9^8^8", "", "power of a power", 3),
        ("2^0.5", "", "whole number", 2),
        ("2^99", "", "largest power", 2),
        ("99999999^8", "", "too large", 8),
        ("1 = 1", "mm", "no meaning", 2),
        ("mm", "mm", "behind a number", 0),
    ],
)
def test_what_is_wrong_is_named_with_its_place(words: str, unit: str, says: str, at: int) -> None:
    error = refused(words, unit)
    assert says in str(error)
    assert error.position == at
    assert error.text == words


def test_bounds() -> None:
    assert "characters" in str(refused("1" * (LONGEST_FORMULA + 1)))
    assert "digits" in str(refused("1" * (MOST_DIGITS + 1)))
    assert "parentheses" in str(refused("(" * (DEEPEST + 1) + "1" + ")" * (DEEPEST + 1)))
    assert give("(" * (DEEPEST - 1) + "1" + ")" * (DEEPEST - 1)) == 1.0
    assert give("+".join("1" * ((LONGEST_FORMULA + 1) // 2))) == 100.0
    start = time.process_time()
    for words in ("(" * 100, "((((((3^8)^8)^8)^8)^8)^8)/9", "(((((1/3)^8)^8)^8)^8)^8", "-" * 200, "a(" * 66):
        tried(words, "")
    assert time.process_time() - start < 5.0  # each hangs for minutes without its bound


def test_names() -> None:
    assert name_trouble("lip_height2") == ""
    assert name_trouble("Wandstärke") == ""
    for wrong in ("", "2lip", "lip height", "in", "Min", "pi", "_x", "a.b", "x" * (LONGEST_NAME + 1), '"'):
        assert name_trouble(wrong), wrong
    assert "Lip" in name_trouble("lip", {"Lip": 0})


@given(st.from_regex(r"\A[0-9]{1,3}([.,][0-9]{1,3})?( (mm|in|cm))?( [+-] [0-9]{1,3}( (mm|in))?)?\Z"))
def test_what_typed_lengths_read_gives_the_same_number_to_the_last_bit(words: str) -> None:
    try:
        typed = parse_length_mm(words)
    except ValueError:
        return
    assert give(words) == typed


@given(st.text(max_size=60), st.sampled_from(["mm", "in", "deg", ""]))
def test_any_text_gives_a_number_or_the_one_error(words: str, unit: str) -> None:
    tried(words, unit)


def _many(count: int, seed: int) -> None:
    rng = random.Random(seed)
    texts = [text(rng) for _ in range(count)]
    slowest, ends = 0.0, {"value": 0, "refused": 0}
    for first in ("1 cm + 1 m + 1 in", "1 deg"):  # what converts units is loaded on first use
        tried(first)
    with untouched() as touched:
        for words in texts:
            start = time.process_time()
            ends[tried(words, rng.choice(("mm", "in", "deg", "")))] += 1
            slowest = max(slowest, time.process_time() - start)
    assert touched == []
    assert min(ends.values()) > count / 50, ends  # both ways are tried
    assert slowest < 1.0


def test_random_texts_touch_nothing_but_numbers() -> None:
    _many(4000, 1)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 120))
def test_a_million_random_texts_touch_nothing_but_numbers(seed: int) -> None:
    _many(50_000, seed)


def test_nothing_of_the_reader_runs_code_or_looks_into_objects() -> None:
    banned = {"eval", "exec", "compile", "getattr", "setattr", "globals", "locals", "__import__", "vars"}
    for module in (formula, formula_tree):
        tree = ast.parse(inspect.getsource(module))
        calls = {
            node.func.id
            for node in ast.walk(tree)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert not calls & banned


def test_a_value_says_what_it_is() -> None:
    assert value_of("wall * tilt / tilt", "mm", KNOWN.get).words == "a length"
    assert "mm^2 deg^1" in str(refused("wall^2 * tilt"))
