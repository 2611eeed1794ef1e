"""A few kills at random moments; `python -m tests.kills` makes a thousand."""

from __future__ import annotations

import subprocess
import sys


def test_a_few_kills_lose_nothing() -> None:
    command = [sys.executable, "-m", "tests.kills", "--count", "15", "--workers", "3", "--seconds", "1.2"]
    ended = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stdout + ended.stderr
    assert "15 kills" in ended.stdout
    assert ended.stdout.endswith("0 amiss\n")
