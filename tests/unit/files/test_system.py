"""What a report of a fault says of the machine."""

from __future__ import annotations

import platform
from importlib.metadata import version
from pathlib import Path

import pytest

from app.entry import main
from app.files import system


def test_the_version_alone_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"blankwright {version('blankwright')}\n"


def test_verbose_says_what_a_report_of_a_fault_needs(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    home = tmp_path / "home of someone"
    monkeypatch.setenv("HOME", str(home))
    for name in ("STATE", "CONFIG", "CACHE"):
        monkeypatch.delenv(f"XDG_{name}_HOME", raising=False)
    assert main(["--version", "--verbose"]) == 0
    said = capsys.readouterr().out
    lines = said.splitlines()
    assert lines[0] == f"blankwright {version('blankwright')}"
    for words in (
        f"Python {platform.python_version()}",
        f"system {platform.system()}",
        f"numpy {version('numpy')}",
        f"scipy {version('scipy')}",
    ):
        assert any(line.startswith(words) for line in lines), words
    assert any(line.startswith("Qt ") for line in lines)
    # Freedesktop's base directory specification: state and log under ~/.local/state.
    assert "unsaved work and earlier states: ~/.local/state/blankwright" in lines
    assert any(line.startswith("log: ~/.local/state/blankwright") for line in lines)
    assert "someone" not in said


def test_every_library_that_is_needed_is_named() -> None:
    import re
    import tomllib

    needed = tomllib.loads(Path(__file__).parents[3].joinpath("pyproject.toml").read_text("utf-8"))["project"]
    packages = {re.split(r"[>=<]", line)[0] for line in needed["dependencies"]}
    assert packages <= {package for _, package in system._LIBRARIES}


@pytest.mark.parametrize("arguments", [["--verbose"], []])
def test_verbose_alone_is_no_command(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    from app.cli.command_line import main as command

    with pytest.raises(SystemExit) as ended:
        command(arguments)
    assert ended.value.code == 2
    assert "blankwright: " in capsys.readouterr().err
