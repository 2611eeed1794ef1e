"""How long a map of as many cells as 25 x 25 takes, in one process and in all, slid and with the datum kept.

The wheel is drawn in 9 widths at all of 70 insets, 630 cells; in narrower ones an end of them cannot be.
"""

import os
import time

import numpy as np
import pytest

from app.studies.limits import limits
from tests.support import example

pytestmark = pytest.mark.timing


@pytest.mark.parametrize("keep_seat", [False, True])
@pytest.mark.parametrize("cores", [1, 0])
def test_a_map_of_9_by_70(cores: int, keep_seat: bool) -> None:
    widths, insets = np.arange(9) * 0.5 + 9.0, np.arange(70) * 0.7 + 1.5
    project, _ = example.roomy()
    lines, columns = widths.tolist(), insets.tolist()
    limits(project, example.WHEEL, widths=[10.0], insets=[38.0])
    taken = []
    for _ in range(3):
        start = time.perf_counter()
        found = limits(project, example.WHEEL, widths=lines, insets=columns, keep_seat=keep_seat, cores=cores)
        taken.append(time.perf_counter() - start)
    counts = {word: sum(c.word == word for c in found.cells) for word in {c.word for c in found.cells}}
    names = f"{cores or os.cpu_count()} processes, {'datum kept' if keep_seat else 'slid'}"
    print(f"\n{len(found.cells)} cells, {names}: {sorted(taken)[1]:.2f} s; {counts}")
    assert len(found.cells) == 630
    # All are drawn: a cell that cannot be takes next to no time.
    assert all(c.state is not None for c in found.cells)
