"""The child process: what it may do, how it ends, and what its parent believes."""

import hashlib
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict, replace
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import Workbook

import app
from app.files.readers import late, worker
from app.files.readers import read as parent
from app.files.readers.answer import CancelledError, ReadError, Request
from app.files.readers.limits import Limits
from app.files.readers.read import Options, read_outline
from app.resources import program
from tests.support.drawings import dxf, lines, polyline, read_dxf
from tests.support.mesh_text import stl
from tests.support.meshes import block

ROOT = Path(app.__file__).resolve().parents[1]
BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))
GOOD = dxf(lines(*BOX))


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    path = tmp_path / "brake ä.DXF"
    path.write_bytes(GOOD)
    return path


def replaced_child(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """Let the parent start a script in place of the reader."""
    monkeypatch.setattr(parent, "program", lambda _: [sys.executable, "-I", "-c", script])


def test_a_file_is_read_in_another_process_with_the_same_answer(drawing: Path) -> None:
    found = read_outline(drawing)
    assert found.file_name == "brake ä.DXF"
    assert found.sha256 == hashlib.sha256(GOOD).hexdigest()
    assert found.reader == "outline reader 3"
    assert found.loops == read_dxf(GOOD).loops


def test_options_reach_the_child(tmp_path: Path) -> None:
    path = tmp_path / "open.dxf"
    path.write_bytes(dxf(polyline(*BOX, closed=False, layer="A"), lines(*BOX, layer="B"), unit=None))
    found = read_outline(path, unit="in", layers=("A",), close=True, join_mm=0.5, side="outward")
    assert (found.unit, found.layers, found.skipped) == ("in", {"A": 1, "B": 4}, {"on other layers": 4})
    assert found.bounds[3] == pytest.approx(130 * 25.4)


def test_an_error_is_one_line_with_the_file_name(tmp_path: Path) -> None:
    path = tmp_path / "cut.dxf"
    path.write_bytes(GOOD[:200])
    with pytest.raises(ReadError, match=r"^cut\.dxf: .*(cut off|group code)"):
        read_outline(path)


def test_the_child_never_sees_this_home_and_leaves_nothing(
    drawing: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SECRET_OF_TEST", "x")
    said = "[os.environ['HOME'], os.getcwd(), 'SECRET_OF_TEST' in os.environ]"
    answer = f"print(json.dumps({{'error': ' '.join(map(str, {said}))}}))"
    replaced_child(monkeypatch, f"import os, sys, json; {answer}; sys.exit(2)")
    with pytest.raises(ReadError) as error:
        read_outline(drawing)
    home, cwd, secret = str(error.value).split()[-3:]
    assert "blankwright-reader-" in home
    assert Path(home).resolve() == Path(cwd).resolve()
    assert secret == "False"
    assert not Path(cwd).exists()


@pytest.mark.parametrize(
    "script",
    [
        "",
        "print('not json')",
        "import os; os._exit(3)",
        "import os; os.kill(os.getpid(), 9)",
        "raise RuntimeError('a fault of the reader')",
        "print('{\"error\": 5}')",
        'print(\'{"kind": "drawing"}\')',
    ],
)
def test_a_child_that_fails_is_one_clear_line(
    drawing: Path, monkeypatch: pytest.MonkeyPatch, script: str
) -> None:
    replaced_child(monkeypatch, script)
    with pytest.raises(ReadError, match="the reader ended without an answer"):
        read_outline(drawing)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e400", "null", '"5"'])
def test_the_parent_believes_finite_numbers_only(
    drawing: Path, monkeypatch: pytest.MonkeyPatch, number: str
) -> None:
    good = asdict(read_dxf(GOOD))
    text = json.dumps(good).replace("130.0", number, 1)
    replaced_child(monkeypatch, f"print({text!r})")
    with pytest.raises(ReadError, match="without an answer"):
        read_outline(drawing)


def test_a_child_that_never_ends_is_killed(
    drawing: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    pid_file = tmp_path / "pid"
    replaced_child(
        monkeypatch,
        f"import os, pathlib; pathlib.Path({str(pid_file)!r}).write_text(str(os.getpid()))\nwhile True: pass",
    )
    monkeypatch.setattr(parent, "limits_of", lambda _: Limits(10_000, 0.7, 1, 1, 1, 1))
    with pytest.raises(ReadError, match=r"took over 0\.7 s and was stopped"):
        read_outline(drawing)
    with pytest.raises(ProcessLookupError):
        os.kill(int(pid_file.read_text()), 0)


@pytest.mark.parametrize("was_prepared", [True, False])
def test_a_child_with_more_libraries_has_what_the_first_left_of_the_time(
    drawing: Path, monkeypatch: pytest.MonkeyPatch, was_prepared: bool
) -> None:
    """Time in which machine code was made is not the file's; the refusal names what a file may take."""
    replaced_child(
        monkeypatch,
        f"import sys, time\nif sys.argv[-1] == {late.WORD!r}: time.sleep(60)\n"
        f"time.sleep(1.0)\nsys.exit({late.CODE})",
    )
    monkeypatch.setattr(parent, "limits_of", lambda _: Limits(10_000, 1.5, 1, 1, 1, 1))
    monkeypatch.setattr(parent, "is_prepared", lambda: was_prepared)
    monkeypatch.setattr(parent, "PREPARING_S", 0.0)
    begun = time.monotonic()
    with pytest.raises(ReadError, match=r"took over 1\.5 s and was stopped"):
        read_outline(drawing)
    took = time.monotonic() - begun
    assert took < 2.4 if was_prepared else took > 2.4


def test_a_read_can_be_cancelled(drawing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    replaced_child(monkeypatch, "import time; time.sleep(60)")
    asked: list[float] = []

    def cancelled() -> bool:
        asked.append(time.monotonic())
        return len(asked) == 3

    with pytest.raises(CancelledError):
        read_outline(drawing, cancelled=cancelled)
    assert len(asked) == 3


@pytest.mark.skipif(sys.platform != "linux", reason="other systems lack some of these limits")
@pytest.mark.parametrize(
    ("limits", "work", "end"),
    [
        ("1000, 5.0, 300_000_000, 1, 1, 1", "bytearray(400_000_000)", "MemoryError"),
        ("1000, 1.0, 4_000_000_000, 1, 1, 1", "while True: pass", "-24|-9"),
        (
            "1000, 5.0, 4_000_000_000, 1, 1, 1",
            "open('big', 'wb').write(bytes(2_000_000))",
            "-25|File too large",
        ),
        (
            "1000, 5.0, 4_000_000_000, 1, 1, 1",
            "[open('/dev/null') for _ in range(100)]",
            "Too many open files",
        ),
    ],
)
def test_the_systems_limits_hold(limits: str, work: str, end: str, tmp_path: Path) -> None:
    script = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
        "from app.files.readers import worker\n"
        f"from app.files.readers.limits import Limits\nworker._limit_this_process(Limits({limits}))\n{work}\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, cwd=tmp_path, timeout=60
    )
    assert any(word in f"{done.stderr} {done.returncode}" for word in end.split("|"))


def test_reading_opens_no_file_and_no_socket(tmp_path: Path) -> None:
    script = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
from app.files.readers import worker, dxf
import resource, encodings.utf_8_sig
events = []
sys.addaudithook(lambda name, args: events.append([name, repr(args)]) if name.split(".")[0] in
    ("open", "socket", "subprocess", "os", "shutil", "ctypes", "urllib") and name != "os.fspath" else None)
code = worker.main(['{{"suffix": ".dxf"}}'])
print(events, code, file=sys.stderr)
"""
    done = subprocess.run(
        [sys.executable, "-c", script], input=GOOD, capture_output=True, cwd=tmp_path, timeout=60
    )
    assert done.stderr.decode().strip() == "[] 0"
    assert json.loads(done.stdout)["unit"] == "mm"


def test_the_reader_loads_no_library_that_it_does_not_need(tmp_path: Path) -> None:
    script = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
from app.entry import main
main(["--reader", '{{"suffix": ".dxf"}}'])
print([m for m in sys.modules if m.split(".")[0] in ("PySide6", "numpy", "ezdxf", "pint")], file=sys.stderr)
"""
    done = subprocess.run([sys.executable, "-I", "-c", script], input=GOOD, capture_output=True, timeout=60)
    assert done.stderr.decode().strip() == "[]"


@pytest.mark.parametrize("argv", [[], ["a", "b"], ["{}"], ["not json"], ['{"suffix": ".exe"}']])
def test_a_request_that_is_none_ends_with_an_error(argv: list[str], tmp_path: Path) -> None:
    start = f"import sys; sys.path.insert(0, {str(ROOT)!r})"
    script = f"{start}\nfrom app.files.readers.worker import main\nsys.exit(main(sys.argv[1:]))"
    done = subprocess.run([sys.executable, "-c", script, *argv], input=b"x", capture_output=True, timeout=60)
    assert done.returncode == 2
    assert "error" in json.loads(done.stdout)


class TestRefusedBeforeAnyChild:
    @pytest.fixture(autouse=True)
    def no_child(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(parent, "_ask", lambda *_: pytest.fail("a child was started"))

    def test_missing_file(self, tmp_path: Path) -> None:
        with pytest.raises(ReadError, match=r"^no\.dxf: there is no such file"):
            read_outline(tmp_path / "no.dxf")

    def test_folder_and_device(self, tmp_path: Path) -> None:
        folder = tmp_path / "x.dxf"
        folder.mkdir()
        with pytest.raises(ReadError, match="no ordinary file"):
            read_outline(folder)

    def test_unknown_kind(self, tmp_path: Path) -> None:
        path = tmp_path / "brake.dwg"
        path.write_text("x")
        with pytest.raises(ReadError, match=r"files of this kind are not read; bring \.dxf, .*\.csv"):
            read_outline(path)

    def test_too_large(self, tmp_path: Path) -> None:
        path = tmp_path / "big.dxf"
        with path.open("wb") as file:
            file.truncate(20_000_001)
        with pytest.raises(ReadError, match="has 20 MB, more than the 20 MB"):
            read_outline(path)

    @pytest.mark.parametrize(
        ("how", "words"),
        [
            ({"unit": "yd"}, "is mm, in, cm, m, ft"),
            ({"side": "left"}, "it is one of nearest, outward, inward"),
            ({"axle": "w"}, "it is one of x, y, z, fitted"),
            ({"points": "some"}, "it is one of auto, outline, cloud"),
            ({"ball_mm": -1.0}, "a probe ball of radius -1 mm is none"),
            ({"ball_mm": 50.0}, "a probe ball of radius 50 mm is none"),
            ({"quantile": 0.2}, "a share of 0.2 of the points is no envelope"),
            ({"axle_at": (float("nan"), 0.0)}, "the place of the axle line is not a number"),
            ({"join_mm": -1.0}, "is no distance"),
            ({"join_mm": float("nan")}, "is no distance"),
        ],
    )
    def test_impossible_options(self, drawing: Path, how: dict[str, object], words: str) -> None:
        with pytest.raises(ReadError, match=words):
            read_outline(drawing, **how)  # type: ignore[arg-type]


def test_an_unreadable_suffix_is_refused_in_the_child_too() -> None:
    with pytest.raises(ReadError, match=r"'\.exe' are not read"):
        worker.read(b"x", Request(".exe"))


def test_what_a_killed_parent_left_of_its_readers_is_swept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    names = [f"blankwright-reader-{pid}-abc" for pid in (int(ended.stdout), os.getpid())]
    for name in (*names, "blankwright-reader-x-1", "other"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "ready").write_bytes(b"")
    link = tmp_path / f"blankwright-reader-{int(ended.stdout)}-link"
    link.symlink_to(tmp_path / "other")
    assert [path.name for path in parent.sweep_homes()] == names[:1]
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {
        names[1],
        "blankwright-reader-x-1",
        "other",
        f"blankwright-reader-{int(ended.stdout)}-link",
    }
    assert (tmp_path / "other" / "ready").exists()


@pytest.mark.skipif(sys.platform != "linux", reason="other systems do not limit the address space")
@pytest.mark.parametrize("suffix", [".dxf", ".csv"])
def test_a_child_without_memory_refuses_in_one_line(suffix: str) -> None:
    """The child has 64 MiB in all, which its libraries have taken already."""
    script = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
        "from dataclasses import replace\nfrom app.files.readers import worker\n"
        "real = worker.limits_of\n"
        "worker.limits_of = lambda suffix: replace(real(suffix), memory_bytes=64 << 20)\n"
        "sys.exit(worker.main(sys.argv[1:]))\n"
    )
    rows = b"z,r\n" + b"1.25,100.5\n" * 900_000
    data = dxf(lines(*BOX) * 20_000) if suffix == ".dxf" else rows
    done = subprocess.run(
        [sys.executable, "-c", script, json.dumps(asdict(Request(suffix, unit="mm")))],
        input=data,
        capture_output=True,
        timeout=120,
    )
    assert done.returncode == 2, done.stderr[-500:]
    assert json.loads(done.stdout) == {
        "error": "the file asks for more memory than a reader may take; export less"
    }


@pytest.mark.parametrize(
    ("suffix", "without"),
    [
        (".dxf", {"numpy", "numba", "scipy", "shapely"}),
        (".csv", {"numba", "scipy", "shapely", "openpyxl"}),
        (".xlsx", {"numba", "scipy", "shapely"}),
        (".stl", {"scipy.optimize", "scipy.ndimage", "openpyxl"}),
    ],
)
def test_a_reader_loads_no_library_that_its_files_do_not_need(suffix: str, without: set[str]) -> None:
    script = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
from app.files.readers import worker
worker.main(['{{"suffix": "{suffix}"}}'])
print("", *({without!r} & set(sys.modules)), sep="\\n", end="")
"""
    book = Workbook()
    for row in (("z", "r"), *BOX):
        book.active.append(row)
    kept = BytesIO()
    book.save(kept)
    data = {
        ".dxf": GOOD,
        ".csv": "\n".join(["z,r", *(f"{z},{r}" for z, r in BOX)]).encode(),
        ".xlsx": kept.getvalue(),
        ".stl": stl(block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0))),
    }
    done = subprocess.run(
        [sys.executable, "-c", script], input=data[suffix], capture_output=True, timeout=120
    )
    answer, *loaded = done.stdout.decode().split("\n")
    assert json.loads(answer)["loops"], done.stderr
    assert loaded == []


@pytest.mark.parametrize(
    ("how", "starts"),
    [
        ({"unit": "mm"}, 2),
        ({"unit": "mm", "points": "cloud"}, 1),
        ({"unit": "mm", "points": "outline"}, 1),
        ({"unit": "mm", "ball_mm": 1.0}, 1),
    ],
)
def test_what_few_files_need_is_loaded_by_a_child_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: Options, starts: int
) -> None:
    """The rows cross each other, which is seen only once they are read: then nothing is loaded any more."""
    rng = random.Random(7)
    turns = [rng.uniform(0.0, math.tau) for _ in range(400)]
    rows = [f"{20.0 + 9.0 * math.cos(t):.4f},{150.0 + 9.0 * math.sin(t):.4f}" for t in turns]
    data = "\n".join(["z,r", *rows]).encode()
    path = tmp_path / "scan.csv"
    path.write_bytes(data)
    begun = []

    def counted(word: str) -> list[str]:
        begun.append(word)
        return program(word)

    monkeypatch.setattr(parent, "program", counted)
    found = read_outline(path, **how)
    here = worker.read(data, Request(".csv", **how))
    assert found == replace(here, file_name="scan.csv")
    assert len(begun) == starts
