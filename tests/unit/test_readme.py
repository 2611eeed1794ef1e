"""README holds what it says: its example prints what stands there, its picture is there, two lines set up."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, flags=re.DOTALL | re.MULTILINE)


def test_the_example_prints_what_stands_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(blocks("python")[0], "README.md", "exec"), {})
    assert out.getvalue() == blocks("text")[0]


def test_exactly_two_command_lines() -> None:
    assert [block.count("\n") for block in blocks("sh")] == [1, 1]


def test_the_picture_and_the_linked_files_are_there() -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", README)
    assert "icons/window.png" in links
    assert all((ROOT / link).exists() for link in links)


def test_the_caution_stands_in_readme() -> None:
    from app.project.caution import CAUTION

    assert CAUTION in README
