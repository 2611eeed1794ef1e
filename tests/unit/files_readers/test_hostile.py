"""Inputs meant to do harm, each through the real child: they end in time, say why, and touch nothing.

About forty run every time, the fastest of every kind; all of them with `-m long`.
"""

import json
import re
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

import app
from app.files.readers import read as parent
from app.files.readers.answer import ReadError, ReadOutline, above_axle
from app.files.readers.limits import MESSAGE_CHARACTERS
from app.files.readers.read import SUFFIXES, read_outline
from app.files.readers.worker import limits_of
from app.resources import program
from geometry.compiled import kept_in
from tests.corpus.compare import compared
from tests.corpus.hostile.inputs import Hostile, inputs
from tests.corpus.shapes import Chain, bounds, moved

ROOT = Path(app.__file__).resolve().parents[1]
WATCHED = ROOT / "tests" / "support" / "watched_child.py"

#: Ends at its limit or in ten seconds, whichever is less; the rest is starting and ending a process here.
MOST_S = 10.0
AROUND_S = 5.0

KERNELS = kept_in() or "no machine code is kept"

ALL = {item.name: item for item in inputs()}

#: Names for every run: one of each sort, each done in a moment.
QUICK = (
    *("nan_arc_centre.dxf", "1e400_line.dxf", "nan_bulge.dxf", "inf_spline_knot.dxf", "beyond_10_m.dxf"),
    *("zero_length_only.dxf", "spline_degree_1000000.dxf", "insert_scale_1e200.dxf", "insert_itself.dxf"),
    *("insert_each_other.dxf", "blocks_8_levels_by_10.dxf", "nesting_16.dxf"),
    *("external_reference_passwd.dxf", "cut_within_entity.dxf", "layer_name_escapes.dxf", "dwg_called.dxf"),
    *("entities_billion.svg", "entity_of_a_file.svg", "use_itself.svg"),
    *("use_of_other_files.svg", "script_and_style.svg", "path_1e308.svg", "viewbox_huge.svg", "unclosed.svg"),
    *("nan.csv", "below_axle.csv", "two_commas.csv", "same_point.csv", "garbage.csv", "garbage.xyz"),
    *("claims_4e9.stl", "nan.stl", "index_beyond.obj", "material_outside.obj"),
    *("vertices_4e9.ply", "index_negative.ply", "member_up.3mf", "entity_of_a_file.3mf"),
    *("components_each_other.3mf", "old_or_encrypted.xlsx", "external_link.xlsx", "error_cell.xlsx"),
    *("empty.dxf", "no_suffix"),
)


@dataclass(frozen=True)
class Ended:
    """How a hostile input ended.

    Attributes:
        found: the answer, None where reading was refused.
        trouble: why it cannot be used, empty where it can.
        seconds: wall clock.
        notes: of the watched child.
    """

    found: ReadOutline | None
    trouble: str
    seconds: float
    notes: list[list[object]]


def written(item: Hostile, folder: Path) -> Path:
    path = folder / item.name
    with path.open("wb") as file:
        file.write(item.make())
        if item.size is not None:
            file.truncate(item.size)
    return path


def ended(item: Hostile, path: Path, notes: Path) -> Ended:
    """Read an input as a customer's file in mm through the child, and try to use it."""
    axle = "x" if path.suffix in (".dxf", ".svg") else "z"
    found, trouble, start = None, "", time.monotonic()
    try:
        found = read_outline(path, unit="mm", axle=axle, side="outward")
        above_axle(found.usable_loops_mm(), found.file_name)
    except ReadError as error:
        trouble = str(error)
    seconds = time.monotonic() - start
    lines = notes.read_text("utf-8").splitlines() if notes.exists() else []
    return Ended(found, trouble, seconds, [json.loads(line) for line in lines])


@pytest.fixture
def notes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The notes of a child that is watched in place of the real one; code and limits are the same."""
    path = tmp_path / "notes"
    start = [sys.executable, "-I", "-X", "utf8", str(WATCHED), str(ROOT), str(path)]
    monkeypatch.setattr(parent, "program", lambda _: start)
    return path


@pytest.mark.parametrize(
    "item",
    [pytest.param(ALL[n], id=n, marks=[] if n in QUICK else [pytest.mark.long]) for n in ALL],
)
def test_ends_in_time_says_why_and_touches_nothing(item: Hostile, tmp_path: Path, notes: Path) -> None:
    path = written(item, tmp_path)
    before = sorted(tmp_path.iterdir())
    end = ended(item, path, notes)
    limits = limits_of(path.suffix)
    assert end.seconds < min(limits.seconds, MOST_S) + AROUND_S
    _check_words(item, end)
    if item.outline is not None and end.found is not None and not end.trouble:
        _check_outline(item.outline, end.found, path.suffix)
    touched = [note for note in end.notes if note[0] == "touched"]
    assert touched == []
    assert all(note[1] < limits.memory_bytes for note in end.notes if note[0] == "peak")  # type: ignore[operator]
    assert sorted({*tmp_path.iterdir()} - {notes}) == before


#: Other words that name the cause as well as those which the makers of the inputs thought of.
ALSO_NAMED = {
    "no_area.dxf": "the outline is open",
    "star_20000_lines.dxf": "20000 lines meet at",
    "grid_20200_lines.dxf": "lines meet at",
    "entities_billion.xlsx": "workbook is damaged",
    "entity_of_a_file.xlsx": "workbook is damaged",
    "nan.xlsx": "workbook is damaged",
    "no_numbers.xlsx": "no sheet holds a table of points",
}


def _check_words(item: Hostile, end: Ended) -> None:
    if not end.trouble:
        assert item.opens, f"read, although {item.about}"
        return
    assert item.refused is not None, f"harmless, but refused: {end.trouble}"
    assert end.trouble.startswith(item.name)
    assert end.trouble.isprintable()
    assert len(end.trouble) <= MESSAGE_CHARACTERS
    cause = end.trouble.removeprefix(item.name)
    assert "ended without an answer" not in cause
    also = ALSO_NAMED.get(item.name)
    named = re.search(item.refused, cause, re.IGNORECASE) is not None or (also is not None and also in cause)
    assert named, f"no word of the cause in {cause!r}"


def _check_outline(outline: Chain, found: ReadOutline, suffix: str) -> None:
    """The outline is the true one; where a picture's zero lies is a convention, so it is laid onto it."""
    loops: list[Chain] = [list(loop) for loop in found.loops]
    assert len(loops) == 1
    if suffix == ".svg":
        there, here = bounds(outline), bounds(loops[0])
        loops = [moved(loops[0], 0.0, there[2] - here[2])]
    if len(outline) > 2000:
        # Straight edges from place to place: the same places are the same outline.
        assert len(loops[0]) == len(outline)
        outline, loops = outline[:: len(outline) // 500], [loops[0]]
        nearest = {(round(z, 3), round(r, 3)) for z, r, _ in loops[0]}
        assert all((round(z, 3), round(r, 3)) in nearest for z, r, _ in outline)
        return
    tol = 0.0505 if found.kind == "mesh" else 1e-3
    apart = compared(loops, [outline], fine=tol / 20.0)
    assert apart.missing.mm <= 1e-3
    assert apart.inside.mm <= 1e-3
    assert apart.hausdorff_mm <= tol


def test_quick_ones_are_of_every_kind() -> None:
    assert set(QUICK) <= set(ALL)
    suffixes = {Path(name).suffix for name in QUICK}
    assert suffixes >= {Path(name).suffix for name in ALL} & set(SUFFIXES) - {".txt"}
    assert len(QUICK) <= 60


TRACED = (
    "external_reference_passwd.dxf",
    "entity_of_a_file.svg",
    "use_of_other_files.svg",
    "nan.csv",
    "material_outside.obj",
    "entity_of_a_file.3mf",
    "member_up.3mf",
    "external_link.xlsx",
)


@pytest.fixture(scope="session")
def strace() -> str:
    found = shutil.which("strace")
    if found is None:
        pytest.skip("strace is missing")
    if subprocess.run([found, "-o", "/dev/null", "true"], capture_output=True).returncode:
        pytest.skip("strace may not trace here")
    return found


@pytest.fixture(scope="module")
def warm() -> set[str]:
    """Return the kinds of files that the child has read once."""
    return set()


@pytest.mark.parametrize("name", TRACED)
def test_system_calls_stay_within_the_code(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, strace: str, warm: set[str]
) -> None:
    """No connection, no second program, nothing written, and nothing of the system read that names people."""
    start, log = program("--reader"), tmp_path / "calls"
    calls = (
        "trace=%network,execve,openat,open,creat,unlink,unlinkat,rename,mkdir,mkdirat,symlink,link,connect"
    )
    traced = [strace, "-f", "-o", str(log), "-e", calls, *start]
    item = ALL[name]
    if (suffix := Path(name).suffix) not in warm:
        # Once before, so that Python has kept its own code of what is imported.
        ended(item, written(item, tmp_path), tmp_path / "none")
        warm.add(suffix)
    monkeypatch.setattr(parent, "program", lambda _: traced)
    ended(item, written(item, tmp_path), tmp_path / "none")
    # What numba looks for in the folder of machine code that the parent keeps comes before the file is seen.
    lines = [line.split(None, 1)[1] for line in log.read_text("utf-8").splitlines() if KERNELS not in line]
    assert sum(line.startswith("execve(") for line in lines) == 1
    told = [line for line in lines if not line.startswith(("execve(", "open", "+++", "---"))]
    assert told == []
    opened = [line for line in lines if line.startswith("open")]
    assert opened
    # The one mark in its throw-away home by which it tells that it is ready, before it sees the file.
    ready = [line for line in opened if re.search(r"blankwright-reader-[^/]*/ready\"", line)]
    assert len(ready) <= 1
    opened = [line for line in opened if line not in ready]
    assert [line for line in opened if re.search(r"O_WRONLY|O_RDWR|O_CREAT|O_TRUNC", line)] == []
    assert [line for line in opened if re.search(r"passwd|shadow|/home/|\.ssh|\.config", line)] == []
    assert [line for line in opened if str(tmp_path) in line] == []
