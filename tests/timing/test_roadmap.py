"""How long a pasted roadmap takes; 5,000 rows, each with an error, are to be listed within a few seconds."""

import time

import pytest

from app.project.roadmap_columns import COLUMNS, HEADS
from app.project.roadmap_rows import read_table
from tests.support import example

pytestmark = pytest.mark.timing


def test_five_thousand_rows_with_errors() -> None:
    rows: list[list[str]] = [list(HEADS)]
    for k in range(5000):
        cells = dict.fromkeys((column.key for column in COLUMNS), "")
        cells |= {"name": f"R-{k % 4000}", "inset_low_mm": "38 kg", "shape": f"Brake {k}", "volume_low": "-1"}
        rows.append(list(cells.values()))
    taken = []
    for _ in range(5):
        start = time.perf_counter()
        table = read_table(rows, example.project())
        taken.append(time.perf_counter() - start)
    print(f"\n{len(table.all_problems)} problems of 5,000 rows: {sorted(taken)[2]:.2f} s")
    assert len(table.rows) == 5000
