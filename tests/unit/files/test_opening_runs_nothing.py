"""Opening a document or an import runs no code of it, reads no other file and uses no network.

The events are those of the standard library's audit events table (PEP 578).
"""

import ast
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
PROGRAM = ROOT / "tests" / "support" / "watched_opening.py"

#: Never while something is opened, once all code is loaded.
FORBIDDEN = (
    *("socket.", "pickle.", "ctypes.", "marshal.", "http.", "urllib.", "ftplib.", "smtplib.", "webbrowser."),
    *("os.system", "os.exec", "os.fork", "os.posix_spawn", "os.spawn", "os.startfile", "pty.", "code."),
    *("exec", "compile", "builtins.input", "cpython.run", "sqlite3.", "mmap.", "import"),
)


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="opening-") as name:
        yield Path(name).resolve()


@pytest.fixture(scope="module")
def notes(folder: Path) -> list[tuple[str, str, list[str]]]:
    """What was noted: what was being opened, event, arguments as they print."""
    return noted(folder)


def noted(folder: Path, *how: str) -> list[tuple[str, str, list[str]]]:
    done = subprocess.run(
        [sys.executable, str(PROGRAM), str(ROOT), str(folder), *how],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "opened" in done.stdout
    refused = [line for line in done.stdout.splitlines() if not line.startswith("opened")]
    assert refused == [], refused  # what is refused at the door shows nothing
    lines = (folder / "notes").read_text("utf-8").splitlines()
    return [tuple(json.loads(line)) for line in lines]


def test_no_network_no_code_no_process_but_the_readers_child(notes: list[tuple[str, str, list[str]]]) -> None:
    assert len(notes) > 100
    hit = [n for n in notes if n[1].startswith(FORBIDDEN)]
    assert hit == [], hit[:5]
    started = [n for n in notes if n[1] == "subprocess.Popen"]
    assert len(started) >= 3  # an import, a picture, a workbook
    assert all("'--reader'" in n[2][1] for n in started), started


def test_no_file_is_opened_but_the_named_one_and_the_programs_own(
    notes: list[tuple[str, str, list[str]]], folder: Path
) -> None:
    assert others(notes, folder) == []


@pytest.mark.long
def test_the_window_opens_a_project_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("PySide6.QtWidgets", reason="the window's packages are not installed")
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    folder = tmp_path.resolve()
    found = noted(folder, "window")
    assert len(found) > 100
    assert [n for n in found if n[1].startswith(FORBIDDEN)] == []
    assert [n for n in found if n[1] == "subprocess.Popen"] == []
    assert others(found, folder) == []


def others(notes: list[tuple[str, str, list[str]]], folder: Path) -> list[tuple[str, str]]:
    """Return what was opened beside the named file, the program's state and its code, and while what was."""
    opened = [(what, ast.literal_eval(args[0])) for what, event, args in notes if event == "open"]
    assert len(opened) > 20
    other = []
    for what, path in opened:
        if isinstance(path, int):
            continue  # a pipe that is open already
        real = Path(os.path.realpath(os.fsdecode(path)))
        named = what.removesuffix(" damaged").removesuffix(" by the child")
        is_named = real.name == named and real.parent in (folder, folder / "import")
        is_state = folder / "state" in real.parents or (
            real.suffix == ".lock" and real.parent == folder and real.name.startswith(".blankwright-")
        )
        is_first = named in ("state/kept", "lock", "roadmap.csv", "roadmap.xlsx") and real.parent == folder
        readers = (real.name, real.parent.name)
        is_readers = any(n.startswith("blankwright-reader-") for n in readers) or str(real) == os.devnull
        is_code = any(Path(p) in real.parents for p in (ROOT, sys.prefix, sys.base_prefix) if p)
        if not (is_named or is_state or is_first or is_readers or is_code):
            other.append((what, str(real)))
    return other


#: What may run a text as code, or make objects out of bytes as their writer likes.
_RUNS = {"eval", "exec", "compile", "__import__", "execfile"}
_MODULES = {
    "pickle",
    "cPickle",
    "marshal",
    "shelve",
    "dill",
    "cloudpickle",
    "yaml",
    "ctypes",
    "code",
    "codeop",
}

#: Where a module is chosen by name among the program's own, and where a person asks for a script to be run.
_ALLOWED = {("app/cli/run.py", "runpy")}


def _suspects(path: Path) -> Iterator[str]:
    text = path.read_text("utf-8")
    if not re.search(
        "|".join(_RUNS | _MODULES) + r"|runpy|load\(|np\.|shell|subprocess|os\.|allow_pickle", text
    ):
        return  # nothing to be looked at more closely
    tree = ast.parse(text)
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names]
            yield from (name for name in names if name.split(".")[0] in _MODULES | {"runpy"})
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        given = {k.arg: ast.unparse(k.value) for k in node.keywords}
        if called in _RUNS or called in ("os.system", "os.popen", "subprocess.getoutput"):
            yield called
        if called in ("np.load", "numpy.load", "np.memmap", "np.fromfile") or "allow_pickle" in given:
            yield called
        if given.get("shell", "False") != "False":
            yield f"{called} by a shell"
        if (
            called.startswith("subprocess.")
            and node.args
            and isinstance(node.args[0], ast.Constant | ast.JoinedStr)
        ):
            yield f"{called} of a text"


def test_no_source_runs_a_text_or_unpacks_objects() -> None:
    found = set()
    count = 0
    for top in ("app", "geometry"):
        for path in sorted((ROOT / top).rglob("*.py")):
            count += 1
            found |= {(path.relative_to(ROOT).as_posix(), word) for word in _suspects(path)}
    assert count > 400
    assert found <= _ALLOWED, found - _ALLOWED


@pytest.mark.parametrize(
    "text",
    [
        "eval('1')",
        "import pickle",
        "from pickle import loads",
        "np.load(p, allow_pickle=True)",
        "subprocess.run('ls', shell=True)",
        "os.system(x)",
        "exec(compile(t, '', 'exec'))",
    ],
)
def test_the_scan_sees_what_it_is_for(text: str, tmp_path: Path) -> None:
    path = tmp_path / "a.py"
    path.write_text(text)
    assert list(_suspects(path))
