"""The first start: two processes make machine code side by side, and neither outlives the one that asked."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

from app import resources
from app.cli import prepare
from app.files.readers import mesh

ROOT = Path(__file__).parents[3]


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What this process does, in order; nothing of it takes time."""
    said: list[str] = []

    def samples() -> list[object]:
        said.append("measures")
        return []

    monkeypatch.setattr(prepare, "kept_in", lambda: "somewhere")
    monkeypatch.setattr(prepare, "_samples", samples)
    for where, name in ((prepare, "_draw_samples"), (prepare, "load_rare"), (mesh, "prepare")):
        monkeypatch.setattr(where, name, lambda name=name: said.append(name))
    monkeypatch.setattr(prepare, "set_prepared", lambda: said.append("set"))
    return said


def _beside(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    monkeypatch.setattr(resources, "program", lambda _: [sys.executable, "-I", "-c", script])


WHOLE = ["measures", "_draw_samples", "load_rare", "prepare", "set"]


def test_it_waits_for_the_process_beside(
    done: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    made = tmp_path / "made"
    _beside(monkeypatch, f"import time; time.sleep(0.5); open({str(made)!r}, 'w').close()")
    monkeypatch.setattr(prepare, "_draw_samples", lambda: done.append(f"after it: {made.exists()}"))
    prepare.prepare()
    assert done == ["measures", "after it: True", "load_rare", "prepare", "set"]


@pytest.mark.parametrize("script", ["raise SystemExit(3)", "import os; os.kill(os.getpid(), 9)"])
def test_what_it_could_not_do_is_done_here(
    done: list[str], monkeypatch: pytest.MonkeyPatch, script: str
) -> None:
    _beside(monkeypatch, script)
    prepare.prepare()
    assert done == WHOLE


def test_one_that_hangs_is_given_up(done: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    _beside(monkeypatch, "import time; time.sleep(600)")
    monkeypatch.setattr(prepare, "_LONGEST_S", 0.3)
    start = time.monotonic()
    prepare.prepare()
    assert time.monotonic() - start < 60.0
    assert done == WHOLE


def test_without_such_a_process_or_a_place_for_what_it_makes_all_is_done_here(
    done: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(resources, "program", lambda _: ["/there/is/no/such/program"])
    prepare.prepare()
    assert done == WHOLE
    done.clear()
    monkeypatch.setattr(prepare, "kept_in", lambda: "")
    monkeypatch.setattr(resources, "program", lambda _: pytest.fail("nothing that it makes could be found"))
    prepare.prepare()
    assert done == WHOLE


def _working(seconds: float) -> subprocess.Popen[str]:
    """Return a process that prepares beside for so long."""
    script = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import time; from app.cli import prepare; "
    script += f"from app.files.readers import mesh; mesh.prepare = lambda: time.sleep({seconds}); "
    script += "prepare._draw_samples = lambda: None; prepare.prepare_beside()"
    pipe = subprocess.PIPE
    return subprocess.Popen([sys.executable, "-c", script], stdin=pipe, stderr=pipe, text=True)


def test_it_ends_in_order_when_it_is_done() -> None:
    with _working(0.2) as child:
        assert child.wait(60.0) == 0
        assert child.stderr is not None
        assert child.stderr.read() == ""


def test_it_ends_with_the_process_that_asked() -> None:
    """Its standard input is closed then, also where that process was killed."""
    with _working(600.0) as child:
        assert child.stdin is not None
        time.sleep(0.5)
        assert child.poll() is None
        child.stdin.close()
        assert child.wait(60.0) == 1
