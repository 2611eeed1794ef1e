"""The fuzzer that goes on from what reached more."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.fuzz import guided, reached, seeds
from tests.fuzz.made import make
from tests.fuzz.seeds import CYCLE

ROOT = Path(__file__).resolve().parents[2]
NUMBERS = [k * len(CYCLE) + CYCLE.index(".formula") for k in range(60)]

RUN = """
import json
from tests.fuzz import guided
from tests.fuzz.seeds import CYCLE, further
guided._ROUND = 150
guided.begin([".formula"])
first = CYCLE.index(".formula")
kept = []
for number, end in guided.guided(3, [k * len(CYCLE) + first for k in range(450)], 1):
    assert end.kind in ("read", "refused"), end
    kept.append((len(further(".formula")), end.lines))
print(json.dumps(kept))
"""


def test_inputs_go_on_from_what_reached_more(monkeypatch: pytest.MonkeyPatch) -> None:
    before = [make(7, number) for number in NUMBERS]
    assert make(7, NUMBERS[0]) == before[0]
    mark = b"1" * 150
    monkeypatch.setattr(seeds, "_FURTHER", {".formula": [mark]})
    after = [make(7, number) for number in NUMBERS]
    assert sum(b"1" * 30 in each.data for each in before) == 0
    assert sum(b"1" * 30 in each.data for each in after) > 3


@pytest.mark.skipif(not reached.is_told(), reason="this Python does not tell which lines are reached")
def test_each_round_goes_on_from_the_rounds_before() -> None:
    done = subprocess.run([sys.executable, "-c", RUN], cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    said, listed = done.stdout.splitlines()
    kept = json.loads(listed)
    assert [held for held, _ in kept[:150]] == [0] * 150
    assert 0 < kept[150][0] <= kept[449][0]
    # What one round reached is nothing new to the next.
    first, last = (sum(lines for _, lines in kept[k : k + 150]) for k in (0, 300))
    assert last < first
    assert int(said.split()[0]) >= kept[449][0]


def test_an_older_python_is_refused_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reached, "is_told", lambda: False)
    with pytest.raises(SystemExit, match=r"--guided needs Python 3\.12"):
        guided.begin([".formula"])
