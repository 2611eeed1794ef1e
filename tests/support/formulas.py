"""Random texts for formulas, and what must hold of each: it gives a number or the one error, and no more."""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from app.project.formula import value_of
from app.project.formula_tree import FormulaError, Value

#: Pieces that texts are put together from: the grammar's own, what code is made of, and what is near both.
PIECES = (
    *(
        "1",
        "0",
        "5",
        "12,5",
        ".5",
        "3.25",
        "1/2",
        "5 1/2",
        "99999999",
        "1e5",
        "0x1F",
        "00",
        "1_000",
        "٣",
        "½",
    ),
    *(
        "+",
        "-",
        "−",
        "*",
        "/",
        "⁄",
        "^",
        "**",
        "//",
        "%",
        "(",
        ")",
        "((",
        "))",
        ";",
        ",",
        "=",
        "==",
        "<",
        ":",
    ),
    *(" mm", " in", '"', "''", " deg", "°", " cm", " m", " kg", " ", "\t", "\n", "\x00", "\u200b", "\ud800"),
    *("min(", "max(", "abs(", "sqrt(", "sin(", "cos(", "tan(", "pi", "a", "b", "wall", "angle", "count"),
    *("eval(", "exec(", "__import__('os')", "().__class__", "lambda:0", "open('x')", "[0]*9", "{}", "a.b"),
    *("'", "`", "$", "\\", "import os", "None", "True", "inf", "nan", "-inf", "1j", "λ", "\u017fin(", "ﬁ"),
)
KNOWN = {
    "a": Value(7.25, 1),
    "b": Value(-3),
    "wall": Value(5, 1),
    "angle": Value(30, 0, 1),
    "count": Value(5),
}
_FAMILIES = ("open", "os", "socket", "subprocess", "exec", "compile", "import", "object", "ctypes", "shutil")


def text(rng: random.Random) -> str:
    """Return one random text; now and then one that is long or deep."""
    kind = rng.random()
    if kind < 0.02:
        return rng.choice(PIECES) * rng.randrange(1, 400)
    if kind < 0.5:
        return "".join(rng.choice(PIECES) for _ in range(rng.randrange(1, 14)))
    return _sound(rng, 4)


def _sound(rng: random.Random, depth: int) -> str:
    """Return a text that follows the grammar for the most part."""
    way = rng.randrange(6) if depth else 5
    if way < 2:
        return f"{_sound(rng, depth - 1)} {rng.choice('+-*/')} {_sound(rng, depth - 1)}"
    if way == 2:
        return f"({_sound(rng, depth - 1)})"
    if way == 3:
        return f"{rng.choice(('min', 'max'))}({_sound(rng, depth - 1)}; {_sound(rng, depth - 1)})"
    if way == 4:
        function = rng.choice(("abs", "sqrt", "sin", "cos", "tan"))
        return f"{function}({_sound(rng, depth - 1)})^{rng.randrange(10)}"
    return rng.choice(("1", "2,5", "1/2 in", "30 deg", "0", "1e9", *KNOWN)) + rng.choice(
        ("", "", " mm", "^8")
    )


def tried(words: str, unit: str = "mm") -> str:
    """Read and reckon one text; return 'value' or 'refused'.

    Raises:
        AssertionError: it gave something that is no finite number, or its place lies outside the text.
    """
    try:
        found = value_of(words, unit, KNOWN.get)
    except FormulaError as error:
        place = error.position
    else:
        assert math.isfinite(float(found.number)), words
        return "value"
    assert 0 <= place <= len(words), words
    return "refused"


_watching: list[list[str]] = []
_is_hooked = False


@contextmanager
def untouched() -> Iterator[list[str]]:
    """Note what is touched meanwhile beside numbers: files, processes, code."""
    global _is_hooked
    if not _is_hooked:
        sys.addaudithook(_hook)
        _is_hooked = True
    touched: list[str] = []
    _watching.append(touched)
    try:
        yield touched
    finally:
        _watching.remove(touched)


def _hook(event: str, arguments: tuple[object, ...]) -> None:
    if _watching and event.split(".")[0] in _FAMILIES:
        _watching[-1].append(f"{event} {arguments!r}"[:200])
