"""The entry in a desktop's menu, by the freedesktop.org specifications that the module names."""

from __future__ import annotations

import configparser
import re
import shutil
import subprocess
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

from app.cli import command_line as cli
from app.files import desktop

SPACE = "{http://www.freedesktop.org/standards/shared-mime-info}"


def _unescaped(value: str) -> str:
    """Undo the escapes of a value of type string (Desktop Entry Specification, Possible value types)."""
    return value.replace("\\\\", "\0").replace("\\s", " ").replace("\0", "\\")


@pytest.mark.parametrize(
    "program",
    [
        ["/usr/bin/blankwright"],
        ["/home/a b/bin/blankwright"],
        ['/opt/100%/a"b/$HOME/`x`/back\\slash', "-m", "app.entry"],
    ],
)
def test_what_is_started_is_read_back_word_by_word(program: list[str]) -> None:
    """Each argument in double quotes, a backslash before what a shell reads there, %% for a per cent sign."""
    entry = configparser.RawConfigParser()
    entry.optionxform = str  # type: ignore[assignment,method-assign]
    entry.read_string(desktop.files(program)["applications/blankwright.desktop"].decode())
    section = entry["Desktop Entry"]
    assert section["Type"] == "Application"
    assert section["MimeType"] == f"{desktop.MIME_TYPE};"
    *words, field = re.findall(r'"(?:[^"\\]|\\.)*"|\S+', _unescaped(section["Exec"]))
    assert field == "%f"
    assert [re.sub(r"\\(.)", r"\1", word[1:-1]).replace("%%", "%") for word in words] == program


def test_every_icon_and_type_is_the_one_that_the_entry_names() -> None:
    made = desktop.files(["/usr/bin/blankwright"])
    (kind,) = ElementTree.fromstring(made["mime/packages/blankwright.xml"]).findall(f"{SPACE}mime-type")
    assert kind.get("type") == desktop.MIME_TYPE
    assert [glob.get("pattern") for glob in kind.findall(f"{SPACE}glob")] == ["*.blankwright"]
    icon = f"icons/hicolor/scalable/mimetypes/{desktop.MIME_TYPE.replace('/', '-')}.svg"
    for name in ("icons/hicolor/scalable/apps/blankwright.svg", icon):
        assert ElementTree.fromstring(made[name]).tag.endswith("svg")


def test_added_then_removed_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert cli.main(["desktop"]) == 0
    written = [Path(line.removeprefix("wrote ")) for line in capsys.readouterr().out.splitlines()]
    assert len(written) == 4
    assert all(path.is_relative_to(tmp_path) and path.is_file() for path in written)
    if shutil.which("update-mime-database"):
        found = (tmp_path / "mime" / "globs2").read_text()
        assert f"{desktop.MIME_TYPE}:*.blankwright" in found
    assert cli.main(["desktop", "--remove"]) == 0
    assert not any(path.exists() for path in written)
    assert cli.main(["desktop", "--remove"]) == 0
    assert "nothing" in capsys.readouterr().out


def test_a_folder_that_cannot_be_written_is_one_line_and_how_to_mend_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "data").write_text("a file where the folder should be")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert cli.main(["desktop"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "XDG_DATA_HOME" in line


def test_a_relative_data_folder_is_not_followed(monkeypatch: pytest.MonkeyPatch) -> None:
    # Base Directory Specification: a path that is not absolute is invalid and ignored.
    monkeypatch.setenv("XDG_DATA_HOME", "somewhere")
    assert desktop.data_folder() == Path.home() / ".local" / "share"


@pytest.mark.skipif(
    shutil.which("desktop-file-validate") is None, reason="desktop-file-utils is not installed"
)
def test_the_reference_validator_finds_nothing(tmp_path: Path) -> None:
    path = tmp_path / "blankwright.desktop"
    path.write_bytes(desktop.files(["/home/a b/blankwright"])["applications/blankwright.desktop"])
    done = subprocess.run(["desktop-file-validate", str(path)], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout + done.stderr) == (0, "")
