"""Names out of a file are shown by a terminal and never obeyed (ECMA-48, clause 5; Unicode, annex 9)."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from app.cli.command_line import main
from app.files.project_file import load, save
from app.resources import sample

#: Sets a terminal's title, clears it, goes back to the line's start, and writes the rest from right to left.
NAME = "A \x1b]0;title\x07\x1b[2J\x9b2J\r\u202e\x7f18"
OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


@pytest.fixture
def project(tmp_path: Path) -> Path:
    found = load(sample("1-track-18-own-blank"))
    fitments = tuple(replace(fitment, wheel=NAME) for fitment in found.fitments)
    wheels = (replace(found.wheels[0], name=NAME),)
    path = tmp_path / "p.blankwright"
    save(replace(found, wheels=wheels, fitments=fitments), path)
    return path


@pytest.mark.parametrize("command", ["check", "match"])
def test_what_is_printed_commands_no_terminal(
    project: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    assert main([command, str(project)]) in (0, 1)
    out, errors = capsys.readouterr()
    assert "title" in out + errors
    assert not OBEYED.search(out + errors)


def test_json_holds_the_same_name_in_escapes(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(project), "--json"])
    out = capsys.readouterr().out
    assert not OBEYED.search(out)
    assert NAME in [value for wheel in json.loads(out)["wheels"] for value in wheel.values()]


def test_a_refusal_commands_no_terminal(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(project), "--wheel", "B \x1b[2J"]) == 2
    project.write_bytes(project.read_bytes()[:-20])
    assert main(["check", str(project)]) == 2
    assert not OBEYED.search(capsys.readouterr().err)


@pytest.mark.parametrize("command", ["check", "match", "roadmap"])
def test_a_name_with_line_ends_prints_no_line_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    found = load(sample("1-track-18-own-blank"))
    path = tmp_path / "p.blankwright"
    hostile = "A\n  gap: clear\u2028  gap: clear\x85  gap: clear"
    first = found.shapes[0]
    wheel = replace(found.wheels[0], name=hostile, clears=(hostile,))
    fitments = tuple(replace(fitment, name=hostile, wheel=hostile) for fitment in found.fitments[:1])
    shapes = (replace(first, name=hostile), *found.shapes)
    save(replace(found, wheels=(wheel,), shapes=shapes, fitments=fitments), path)
    assert main([command, str(path)]) in (0, 1)
    out, errors = capsys.readouterr()
    assert "gap: clear" in out
    assert not any(line.strip() == "gap: clear" for line in (out + errors).splitlines())
