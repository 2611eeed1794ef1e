"""Ten and more named mutations of the geometry; each must turn a test red.

Every mutation is one changed line in a copy of the sources. A mutation that no test notices fails here, and
so does one whose line is no longer in the source: then the list must follow the code.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from importlib.util import cache_from_source
from pathlib import Path

import pytest

from tests.mutations.table import FORGING, MUTATIONS, SLOW, Mutation
from tests.support.one_of import one_of

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the sources and their tests; who breaks a line of it mends it again."""
    path = tmp_path_factory.mktemp("sources")
    for part in ("app", "geometry", "tests", "sample_projects", "icons"):
        shutil.copytree(ROOT / part, path / part, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", path)
    return path


@pytest.mark.parametrize(
    "mutation",
    [
        *one_of(3, (m for m in MUTATIONS if m.name not in SLOW), lambda m: m.name),
        *(pytest.param(m, id=m.name, marks=pytest.mark.long) for m in MUTATIONS if m.name in SLOW),
    ],
)
def test_mutation_turns_a_test_red(mutation: Mutation, copy: Path) -> None:
    source = copy / mutation.file
    text = source.read_text(encoding="utf-8")
    assert text.count(mutation.old) >= 1, f"{mutation.file} no longer holds: {mutation.old}"
    put(source, text.replace(mutation.old, mutation.new))
    try:
        run = tried(copy, mutation.tests)
    finally:
        put(source, text)
    assert run.returncode == 1, f"no test noticed: {mutation.name}\n{run.stdout[-2000:]}{run.stderr[-2000:]}"
    assert str(copy) in run.stdout or "failed" in run.stdout


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda m: m.name)
def test_every_mutation_still_has_its_line(mutation: Mutation) -> None:
    assert mutation.old in (ROOT / mutation.file).read_text("utf-8")


def put(source: Path, text: str) -> None:
    """Write a source, and drop its byte code: a change of the same size within a second would not be seen."""
    source.write_text(text, encoding="utf-8")
    Path(cache_from_source(str(source))).unlink(missing_ok=True)


def tried(copy: Path, tests: tuple[str, ...]) -> subprocess.CompletedProcess[str]:
    """Run tests in a copy of the sources."""
    # The copy must be found before an installed checkout; plain Python spares the time to compile every copy.
    env = {**os.environ, "PYTHONPATH": str(copy), "NUMBA_DISABLE_JIT": "1"}
    # Byte code of what is not broken is kept from one mutation to the next.
    env = {k: v for k, v in env.items() if k not in ("PYTHONDONTWRITEBYTECODE", "PYTHONPYCACHEPREFIX")}
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests],
        cwd=copy,
        env=env,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def test_the_copy_passes_while_nothing_is_broken(copy: Path) -> None:
    """Else a mutation would count as noticed for another reason."""
    run = tried(copy, (f"{FORGING}/test_walls.py", f"{FORGING}/test_corner.py"))
    assert run.returncode == 0, run.stdout[-2000:]
