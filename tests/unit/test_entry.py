"""The entry sends each kind of arguments to its own part and loads nothing else."""

import sys
import types

import pytest

import app
from app import entry

Calls = list[tuple[str, list[str]]]


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Calls:
    """Put stand-ins in place of reader, commands, window and Qt; return the calls they get."""
    made: Calls = []

    def stand_in(name: str, function: str, code: int) -> None:
        def called(arguments: list[str]) -> int:
            made.append((name, arguments))
            return code

        module = types.ModuleType(name)
        setattr(module, function, called)
        parent, _, last = name.rpartition(".")
        monkeypatch.setitem(sys.modules, name, module)
        monkeypatch.setattr(sys.modules.get(parent, app), last, module, raising=False)

    for package in ("app.window", "app.cli", "app.files.readers", "PySide6", "PySide6.QtWidgets"):
        monkeypatch.setitem(sys.modules, package, types.ModuleType(package))
    stand_in("app.files.readers.worker", "main", 3)
    stand_in("app.cli.command_line", "main", 4)
    stand_in("app.window.main", "run", 5)
    settings = types.ModuleType("app.window.settings")
    settings.Settings = lambda: types.SimpleNamespace(language="en")  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "app.window.settings", settings)
    return made


@pytest.mark.parametrize(
    ("arguments", "part", "passed", "code"),
    [
        (["--reader", "dxf"], "app.files.readers.worker", ["dxf"], 3),
        (
            ["check", "a.blankwright", "--json"],
            "app.cli.command_line",
            ["check", "a.blankwright", "--json"],
            4,
        ),
        (["report"], "app.cli.command_line", ["report"], 4),
        (["export"], "app.cli.command_line", ["export"], 4),
        (["wheel"], "app.cli.command_line", ["wheel"], 4),
        (["--help"], "app.cli.command_line", ["--help"], 4),
        (["--version"], "app.cli.command_line", ["--version"], 4),
        (["--no-such-option"], "app.cli.command_line", ["--no-such-option"], 4),
        ([], "app.window.main", [], 5),
        (["a.blankwright"], "app.window.main", ["a.blankwright"], 5),
    ],
)
def test_dispatch(calls: Calls, arguments: list[str], part: str, passed: list[str], code: int) -> None:
    assert entry.main(arguments) == code
    assert calls == [(part, passed)]


def test_the_command_line_is_the_default(calls: Calls, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "argv", ["blankwright", "check", "x"])
    assert entry.main() == 4
    assert calls == [("app.cli.command_line", ["check", "x"])]


@pytest.mark.parametrize("arguments", [["--reader"], ["check"], ["--help"]])
def test_reader_and_commands_run_without_qt(
    calls: Calls, monkeypatch: pytest.MonkeyPatch, arguments: list[str]
) -> None:
    monkeypatch.setitem(sys.modules, "PySide6", None)
    monkeypatch.setitem(sys.modules, "PySide6.QtWidgets", None)
    entry.main(arguments)
    assert len(calls) == 1


def test_a_missing_qt_is_one_clear_line(
    calls: Calls, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "PySide6.QtWidgets", None)
    assert entry.main(["a.blankwright"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("blankwright: the window cannot open")
    assert "blankwright check" in said
    assert said.count("\n") == 1
    assert calls == []


def test_an_unknown_command_opens_no_window(capsys: pytest.CaptureFixture[str]) -> None:
    assert entry.main(["redraw", "a.dxf", "--json"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert "'redraw' is no command" in shown.err
