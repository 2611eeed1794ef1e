"""The first read on a machine: making machine code is no part of what a file may take."""

from __future__ import annotations

import json
import math
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import app
from geometry.compiled import KEPT_IN
from tests.support.drawings import dxf, lines
from tests.support.mesh_text import stl
from tests.support.meshes import block, turned

ROOT = Path(app.__file__).resolve().parents[1]
START = f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
#: The clock of the reads below, s: less than making the code takes, far more than reading a block.
SECONDS = 6.0
BOX = block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0))

READ = f"""
import json, time
from dataclasses import replace
from pathlib import Path
from app.files.readers import read
limits = read.limits_of
read.limits_of = lambda suffix: replace(limits(suffix), seconds={SECONDS})
for name in sys.argv[1:]:
    start = time.monotonic()
    found = read.read_outline(Path(name), unit="mm", axle="fitted" if "hub" in name else "x")
    print(json.dumps([found.kind, found.bounds, time.monotonic() - start]), flush=True)
"""


def run(script: str, kernels: Path, *arguments: str) -> list[list[object]]:
    """What a script prints that keeps its machine code in a folder, line by line."""
    done = subprocess.run(
        [sys.executable, "-c", START + script, *arguments],
        env=os.environ | {KEPT_IN: str(kernels)},
        capture_output=True,
        text=True,
        timeout=900,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return [json.loads(line) for line in done.stdout.splitlines()]


def made(kernels: Path) -> set[str]:
    """The pieces of machine code in a folder."""
    return {str(path.relative_to(kernels)) for path in kernels.rglob("*.nbc")}


@pytest.fixture(scope="module")
def kernels(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kernels")


@pytest.fixture(scope="module")
def arrived(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """One file of each kind."""
    folder = tmp_path_factory.mktemp("arrived")
    rows = [(10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0)]
    hub = [(-30.0, 32.0), (0.0, 32.0), (0.0, 74.0), (-45.0, 80.0), (-45.0, 165.0), (-57.0, 165.0)]
    turn = np.random.default_rng(4).uniform(0.0, 2.0 * math.pi, 900)
    cloud = np.column_stack([20.0 + 9.0 * np.cos(turn), 150.0 + 9.0 * np.sin(turn)])
    written: dict[str, str | bytes] = {
        "block.stl": stl(BOX),
        "hub.stl": stl(turned([*hub, (-57.0, 70.0)], 180)),
        "drawing.dxf": dxf(lines(*rows)),
        "table.csv": "z,r\n" + "".join(f"{z},{r}\n" for z, r in rows),
        "cloud.csv": "z,r\n" + "".join(f"{z:.4f},{r:.4f}\n" for z, r in cloud),
    }
    for name, content in written.items():
        (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    return [str(folder / name) for name in written]


@pytest.mark.long
def test_the_first_read_of_all_is_not_stopped_by_its_clock(kernels: Path, arrived: list[str]) -> None:
    """An empty folder: the child makes what it needs before its time runs."""
    assert not made(kernels)
    ((kind, bounds, took),) = run(READ, kernels, arrived[0])
    assert kind == "mesh"
    assert bounds == pytest.approx((-30.0, 25.0, 140.0, math.hypot(195.0, 60.0)), abs=0.02)
    assert len(made(kernels)) > 30
    if isinstance(took, float) and took < SECONDS:
        pytest.skip("this machine makes all code in less than the clock: nothing is proved")


@pytest.mark.long
def test_preparing_makes_all_that_readers_need(kernels: Path, arrived: list[str]) -> None:
    run("from app.entry import main; main(['--prepare'])", kernels)
    ready = made(kernels)
    found = run(READ, kernels, *arrived)
    assert [kind for kind, _, _ in found] == ["mesh", "mesh", "drawing", "table", "points"]
    assert made(kernels) == ready


@pytest.mark.skipif(sys.platform != "linux", reason="other systems lack this limit")
@pytest.mark.parametrize(("more", "code"), [(0.5, 0), (4.0, -24)])
def test_processor_time_counts_from_when_the_limits_are_set(more: float, code: int) -> None:
    script = f"""
import time
from app.files.readers import worker
from app.files.readers.limits import Limits
while time.process_time() < 1.5: pass
worker._limit_this_process(Limits(1000, 1.0, 4_000_000_000, 1, 1, 1))
start = time.process_time()
while time.process_time() < start + {more}: pass
"""
    done = subprocess.run([sys.executable, "-c", START + script], capture_output=True, timeout=120)
    assert done.returncode in (code, -9 if code else 0)


def test_the_child_tells_where_it_was_asked_to_that_it_is_ready(tmp_path: Path) -> None:
    from app.files.readers.worker import READY

    script = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
from pathlib import Path
from app.files.readers import worker
ready = Path({str(tmp_path / "ready")!r})
read = worker.read
worker.read = lambda *how: (print(ready.exists(), file=sys.stderr), read(*how))[1]
assert not ready.exists()
worker.main(['{{"suffix": ".dxf"}}'])
"""
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=dxf(lines((0.0, 9.0), (9.0, 9.0), (9.0, 19.0))),
        env=os.environ | {READY: str(tmp_path / "ready")},
        capture_output=True,
        timeout=60,
    )
    assert done.stderr.decode().strip() == "True"


def test_sources_installed_anew_are_prepared_anew(tmp_path: Path) -> None:
    """Code is found by place and date of its source: the mark of another installation says nothing."""

    def prepared(place: str, script: str = "") -> list[str]:
        begin = f"import sys; sys.path.insert(0, {str(tmp_path / place)!r})\nfrom geometry import compiled\n"
        done = subprocess.run(
            [sys.executable, "-I", "-c", f"{begin}{script}print(compiled.is_prepared())"],
            env=os.environ | {KEPT_IN: str(tmp_path)},
            capture_output=True,
            text=True,
            timeout=120,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout.split()

    for place in ("one", "two"):
        ignored = shutil.ignore_patterns("__pycache__", "strength")
        shutil.copytree(ROOT / "geometry", tmp_path / place / "geometry", ignore=ignored)
    assert prepared("one", "compiled.set_prepared()\n") == ["True"]
    assert prepared("one") == ["True"]
    assert prepared("two") == ["False"]
    os.utime(tmp_path / "one" / "geometry" / "shape" / "mesh.py", (1e9, 1e9))
    assert prepared("one") == ["False"]
