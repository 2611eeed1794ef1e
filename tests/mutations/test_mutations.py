"""Ten and more named mutations of the geometry; each must turn a test red.

Every mutation is one changed line in a copy of the sources. A mutation that no test notices fails here, and
so does one whose line is no longer in the source: then the list must follow the code.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GAP = "tests/reference/test_gap_rows.py"
BODIES = "tests/reference/test_turned_bodies.py"
MEASURE = "tests/unit/readings/test_measure.py"
RELEASE = "tests/unit/project/test_release.py"
SHEET = "tests/unit/reports/test_section_sheet.py"
TYRE = "tests/unit/studies/test_tyre.py"


@dataclass(frozen=True)
class Mutation:
    """One changed line, and the tests of which at least one must fail."""

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


MUTATIONS = (
    Mutation(
        "the centre of an arc on the wrong side",
        "geometry/shape/curve.py",
        "off = (1.0 - b * b) / (4.0 * b)",
        "off = (b * b - 1.0) / (4.0 * b)",
        (BODIES,),
    ),
    Mutation(
        "arcs nearest to arcs are dropped",
        "geometry/shape/distance.py",
        "best = _centre_line(a, i, b, j, best)",
        "pass",
        ("tests/reference/test_arcs_facing.py",),
    ),
    Mutation(
        "arcs nearest to lines are dropped",
        "geometry/shape/distance.py",
        "best = _normals(a, i, b, j, best)",
        "pass",
        ("tests/reference/test_arcs_facing.py",),
    ),
    Mutation(
        "z and r swapped in the sums",
        "geometry/readings/solid.py",
        "out[m, 0], out[m, 1] =",
        "out[m, 1], out[m, 0] =",
        (BODIES,),
    ),
    Mutation(
        "every direction points at every arc",
        "geometry/shape/distance.py",
        "inside: bool = sign * (az * dr - ar * dz) >= -slack and ",
        "inside: bool = sign * (az * dr - ar * dz) >= -1e9 or ",
        (GAP, "tests/reference/test_arcs_facing.py"),
    ),
    Mutation(
        "the caps between chord and arc do not count",
        "geometry/shape/distance.py",
        "if (turn < 0.0) if sweep > 0.0 else (turn >= 0.0):",
        "if False:",
        (GAP, "tests/reference/test_arcs_facing.py"),
    ),
    Mutation(
        "depth of the shape in the metal is not looked for",
        "geometry/readings/gap.py",
        "for walks_skin in (True, False):",
        "for walks_skin in (True,):",
        (GAP,),
    ),
    Mutation(
        "the stated error is added",
        "geometry/readings/gap_rows.py",
        "least - card.error_mm + card.included_gap_mm - _needed(rule)",
        "least + card.error_mm + card.included_gap_mm - _needed(rule)",
        (MEASURE,),
    ),
    Mutation(
        "the skin of a blank is added",
        "geometry/readings/measure.py",
        "least = f.least_mm - held.skin_mm",
        "least = f.least_mm + held.skin_mm",
        (MEASURE,),
    ),
    Mutation(
        "spokes wider than the ring count in full",
        "geometry/readings/solid.py",
        "full = slope * mid + offset >= turn * mid",
        "full = False",
        ("tests/unit/readings/test_spokes.py",),
    ),
    Mutation(
        "a corner arc turns the wrong way",
        "geometry/shape/rounding.py",
        "left = 1.0 if turn > 0.0 else -1.0",
        "left = -1.0 if turn > 0.0 else 1.0",
        (MEASURE, "tests/unit/geometry_shape/test_rounding.py"),
    ),
    Mutation(
        "contacts 120 degrees apart make a wall",
        "geometry/tolerances.py",
        "WALL_CONTACT_DEG = 150.0",
        "WALL_CONTACT_DEG = 120.0",
        ("tests/unit/readings/test_wall.py",),
    ),
    Mutation(
        "an end of a body that nobody saw counts as its end",
        "geometry/readings/gap_rows.py",
        "far_in = z_low if extent.ends_inboard else -LARGEST_MM",
        "far_in = z_low",
        (MEASURE,),
    ),
    Mutation(
        "a spacer moves the wheel inboard",
        "geometry/shape/section.py",
        "return replace(self, path=self.path.moved(dz)) if dz else self",
        "return replace(self, path=self.path.moved(-dz)) if dz else self",
        ("tests/unit/studies/test_fit.py",),
    ),
    Mutation(
        "a tyre does not grow",
        "app/studies/tyre.py",
        "growth = 1.0 + wheel.tyre_growth_percent / 100.0",
        "growth = 1.0",
        (TYRE,),
    ),
    Mutation(
        "a tyre that touches leaves the wheel's state alone",
        "app/studies/road.py",
        "*tyre.states, *([State.NOT_KNOWN] if misfits",
        "*([State.NOT_KNOWN] if misfits",
        (TYRE,),
    ),
    Mutation(
        "a measured gap smaller than computed agrees",
        "app/studies/trial_fit.py",
        "abs(difference) <= ",
        "difference <= ",
        ("tests/unit/studies/test_trial_fit.py",),
    ),
    Mutation(
        "one person draws and checks a released sheet",
        "app/project/release.py",
        "return _folded(a) == _folded(b)",
        "return False",
        (RELEASE,),
    ),
    Mutation(
        "a record that was changed counts as whole",
        "app/project/release.py",
        "if digest_of(release) != release.sha256:",
        "if False:",
        (RELEASE,),
    ),
    Mutation(
        "a sheet allows more than the worst state was judged with",
        "app/reports/section_sheet.py",
        "allowed > judged",
        "allowed > 10.0 * judged",
        (f"{SHEET}::test_a_tolerance_wider_than_the_worst_state_was_judged_with_keeps_the_sheet_back",),
    ),
    Mutation(
        "a wheel that touches is released",
        "app/reports/section_sheet.py",
        "    if reason:\n",
        "    if False:\n",
        (f"{SHEET}::test_a_wheel_that_is_not_clear_is_kept_back",),
    ),
)


#: Those that take most of a minute are tried before a release.
SLOW = ("the caps between chord and arc do not count",)


@pytest.mark.parametrize(
    "mutation",
    [pytest.param(m, id=m.name, marks=[pytest.mark.long] if m.name in SLOW else []) for m in MUTATIONS],
)
def test_mutation_turns_a_test_red(mutation: Mutation, tmp_path: Path) -> None:
    for part in ("app", "geometry", "tests", "sample_projects", "icons"):
        shutil.copytree(ROOT / part, tmp_path / part, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    source = tmp_path / mutation.file
    text = source.read_text(encoding="utf-8")
    assert text.count(mutation.old) >= 1, f"{mutation.file} no longer holds: {mutation.old}"
    source.write_text(text.replace(mutation.old, mutation.new), encoding="utf-8")
    # The copy must be found before an installed checkout; plain Python spares the time to compile every copy.
    env = {
        **os.environ,
        "PYTHONPATH": str(tmp_path),
        "PYTHONDONTWRITEBYTECODE": "1",
        "NUMBA_DISABLE_JIT": "1",
    }
    run = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-x",
            "-p",
            "no:cacheprovider",
            *mutation.tests,
        ],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert run.returncode == 1, f"no test noticed: {mutation.name}\n{run.stdout[-2000:]}{run.stderr[-2000:]}"
    assert str(tmp_path) in run.stdout or "failed" in run.stdout
