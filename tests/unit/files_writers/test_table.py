"""Tables out: exact, flattened, and harmless in a spreadsheet."""

import csv
import io
from pathlib import Path as FilePath

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.files.writers.table import Cell, table_bytes, write_table
from app.project.cells import no_formula
from geometry.shape.curve import Path
from tests.support.drawings import read_table
from tests.support.sections import random_outline

HALF_DISC = Path.closed([(20, 100, 1), (-20, 100, 0)])


def test_exact_rows(tmp_path: FilePath) -> None:
    path = tmp_path / "half.csv"
    write_table(path, HALF_DISC)
    assert path.read_bytes() == b"z_mm,r_mm,bulge\n20.0,100.0,1.0\n-20.0,100.0,0.0\n"


def test_negative_zero_is_zero() -> None:
    assert table_bytes(("z_mm", "r_mm"), [(-0.0, 1.5)]) == b"z_mm,r_mm\n0.0,1.5\n"


@given(st.integers(0, 10**9))
@settings(max_examples=40)
def test_out_and_in_gives_the_same_lines_and_arcs(seed: int) -> None:
    path = random_outline(np.random.default_rng(seed)).path
    stream = io.BytesIO()
    write_table(stream, path)
    found = read_table(stream.getvalue())
    assert found.unit == "mm"
    assert np.array(found.loops[0]) == pytest.approx(np.array(path.rows()), abs=1e-9)


@pytest.mark.parametrize(("side", "sign"), [("outward", 1), ("inward", -1)])
def test_flattened_on_the_asked_side_within_the_asked_distance(side: str, sign: int) -> None:
    stream = io.BytesIO()
    write_table(stream, HALF_DISC, chord_error_mm=0.01, side=side)
    found = read_table(stream.getvalue())
    beyond = Path.closed(found.loops[0]).area - HALF_DISC.area
    assert 0.0 < sign * beyond < 0.01 * np.pi * 20.0
    assert all(row[2] == 0.0 for row in found.loops[0])


@pytest.mark.parametrize("text", ["=1+1", "+SUM(A1)", "-x", "@cmd", "\t=x", "\r=x", " -x", "=cmd|' /C x'!A0"])
def test_no_text_is_taken_for_a_formula(text: str) -> None:
    ((cell, number),) = csv.reader(
        io.StringIO(table_bytes((), [(text, -5.25)]).decode().split("\n", 1)[1], newline="")
    )
    assert cell == no_formula(text) == "'" + text.replace("\t", " ").replace("\r", " ").replace("\n", " ")
    assert number == "-5.25"


def test_plain_cells_stay_as_they_are() -> None:
    rows: list[tuple[Cell, ...]] = [("a=b", 'say "x"', None, 3, 0.1)]
    assert table_bytes(("n",), rows) == b'n\na=b,"say ""x""",,3,0.1\n'
