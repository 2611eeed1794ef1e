"""What the fuzzer found once stays mended, and a short run of it finds nothing.

Each file in `found` has a `.json` beside it: why it was kept, and the request that it is read with.
"""

import json
import os
import signal
import struct
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import msgspec
import pytest

from app.files.readers import read as parent
from app.files.readers.answer import ReadError, ReadOutline, Request
from app.files.readers.limits import Limits
from tests.fuzz import __main__ as command
from tests.fuzz import reading, supervise
from tests.fuzz.holds import of_answer, of_message
from tests.fuzz.inside import of_places
from tests.fuzz.made import Made, make, suffix_of
from tests.fuzz.reading import (
    DIED,
    FINDINGS,
    HUNG,
    MEMORY,
    RAISED,
    READ,
    REFUSED,
    TOUCHED,
    Outcome,
    outcome,
    through_child,
)
from tests.fuzz.seeds import STEPS, seeds

FOUND = Path(__file__).parent / "found"
KEPT = sorted(path for path in FOUND.iterdir() if path.suffix != ".json") if FOUND.exists() else []

#: Seed and count of the short run; larger numbers of the same seed are the long run's.
SEED, COUNT = 1, 150


def about(path: Path) -> dict[str, Any]:
    """What stands beside an input: why it was kept, its request, whether reading it takes long even so."""
    return dict(json.loads(path.with_name(f"{path.name}.json").read_text("utf-8")))


@pytest.mark.parametrize(
    "path",
    [pytest.param(p, id=p.name, marks=[pytest.mark.long] * bool(about(p).get("is_long"))) for p in KEPT],
)
def test_what_was_found_stays_mended(path: Path, tmp_path: Path) -> None:
    why, asked = about(path)["why"], about(path)["request"]
    made = Made(path.read_bytes(), msgspec.convert(asked, Request))
    # What once hung, died or took all memory is left to a child that can be killed.
    is_tame = not why.startswith((HUNG, DIED, MEMORY))
    end = outcome(made) if is_tame else through_child(made, tmp_path / "found")
    assert end.kind not in FINDINGS, f"{why}\n{end.key}\n{end.text}"


def test_every_request_beside_a_file_belongs_to_one() -> None:
    beside = {path.name.removesuffix(".json") for path in FOUND.glob("*.json")}
    assert beside == {path.name for path in KEPT}


def test_a_short_run_finds_nothing() -> None:
    ends = {}
    for number in range(COUNT):
        if suffix_of(number) not in STEPS:
            ends[number] = outcome(make(SEED, number))
    assert {number: end for number, end in ends.items() if end.kind in FINDINGS} == {}
    kinds = [end.kind for end in ends.values()]
    # It has teeth only where a good part is read to its end.
    assert kinds.count(READ) > len(ends) / 10
    assert kinds.count(REFUSED) > len(ends) / 10


# The fuzzer itself


def test_an_input_is_made_again_from_its_numbers() -> None:
    first = [make(5, number) for number in range(62)]
    assert first == [make(5, number) for number in range(62)]
    assert first != [make(6, number) for number in range(62)]


def test_inputs_differ_from_what_they_start_from() -> None:
    whole = {data for groups in seeds().values() for held in groups for data in held}
    made = [make(SEED, number).data for number in range(300)]
    assert sum(data in whole for data in made) < 30
    assert len({*made}) > 270


BOX = ((0.0, 50.0, 0.0), (10.0, 50.0, 0.0), (10.0, 60.0, 0.0), (0.0, 60.0, 0.0))
ANSWER = ReadOutline("drawing", "mm", (BOX,), (0.0, 10.0, 50.0, 60.0), "0" * 64, within=(-1,))


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({}, None),
        ({"bounds": (0.0, 10.0, 50.0, float("inf"))}, "finite"),
        ({"bounds": (0.0, 9.0, 50.0, 60.0)}, "bounds"),
        ({"loops": (BOX[::-1],)}, "clockwise"),
        ({"loops": (BOX[:1],), "bounds": (0.0, 0.0, 50.0, 50.0)}, "too few"),
        ({"loops": ((*BOX, BOX[0]),)}, "no length"),
        ({"loops": (((*BOX[0][:2], 1.5), *BOX[1:]),)}, "half a circle"),
        # A half circle below the lower edge reaches 5 below it.
        ({"loops": (((*BOX[0][:2], 1.0), *BOX[1:]),)}, "bounds"),
        ({"loops": ()}, "nothing was read"),
        ({"open": (BOX[:2],)}, "nothing hinders"),
        ({"unit": "furlong"}, "no unit"),
        ({"within": (0,)}, "lies within none"),
        ({"joined": -1}, "negative"),
        ({"layers": {"0": 0}}, "less than once"),
        ({"warnings": ("two\nlines",)}, "printable"),
        ({"hindrance": "IndexError: list index out of range"}, "inside"),
        ({"warnings": ("x" * 501,)}, "characters"),
    ],
)
def test_what_is_wrong_with_an_answer_is_noticed(changes: dict[str, object], wrong: str | None) -> None:
    said = list(of_answer(replace(ANSWER, **changes), Request(".dxf")))  # type: ignore[arg-type]
    assert said == [] if wrong is None else any(wrong in text for text in said)


def test_a_unit_that_was_asked_for_must_be_kept() -> None:
    assert any("asked for" in text for text in of_answer(ANSWER, Request(".dxf", unit="in")))


def test_a_message_of_the_programs_inside_is_noticed() -> None:
    assert list(of_message("line 7: 'x' is no number; mend the row")) == []
    assert list(of_message("could not convert string to float: 'x'")) != []
    assert list(of_message(" ")) != []


@pytest.mark.parametrize(("reach", "count"), [(60.0, 0), (59.9, 1)])
def test_a_corner_outside_its_outline_is_noticed(reach: float, count: int) -> None:
    # One triangle in the plane z = 5: its corners lie at r 50, 60 (by 36 and 48) and 55.
    corners = (5.0, 50.0, 0.0, 5.0, 36.0, 48.0, 5.0, 0.0, 55.0)
    data = bytes(80) + struct.pack("<I12fH", 1, 1.0, 0.0, 0.0, *corners, 0)
    loop = ((4.0, 50.0, 0.0), (6.0, 50.0, 0.0), (6.0, reach, 0.0), (4.0, reach, 0.0))
    found = replace(ANSWER, kind="mesh", loops=(loop,), bounds=(4.0, 6.0, 50.0, reach))
    assert len(list(of_places(data, found, Request(".stl", axle="x")))) == count


def test_a_point_outside_its_outline_is_noticed() -> None:
    found = replace(ANSWER, kind="points", cloud=((5.0, 55.0), (5.0, 60.1)))
    assert list(of_places(b"", found, Request(".csv"))) == ["a point lies outside its outline"]
    assert list(of_places(b"", replace(found, outside_count=1), Request(".csv"))) == []


# The supervisor, with a reader that does what no reader may


def _bad(made: Made) -> Outcome:
    number = int(made.data)
    if number == 3:
        os.kill(os.getpid(), signal.SIGSEGV)
    if number == 5:
        time.sleep(60.0)
    while number == 7:
        pass
    return Outcome(REFUSED, "", f"{number}")


@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_a_reader_that_dies_or_hangs_is_noted_and_the_rest_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(supervise, "make", lambda _, number: Made(b"%d" % number, Request(".dxf")))
    monkeypatch.setattr(supervise, "outcome", _bad)
    monkeypatch.setattr(supervise, "seconds_for", lambda _: 0.2)
    ends = list(supervise.supervised(SEED, list(range(12)), 2))
    assert sorted(number for number, _ in ends) == list(range(12))
    kinds = {number: end.kind for number, end in ends}
    assert (kinds.pop(3), kinds.pop(5), kinds.pop(7)) == (DIED, HUNG, HUNG)
    assert {*kinds.values()} == {REFUSED}


@pytest.mark.parametrize(
    ("does", "kind"),
    [
        (lambda: Path("/etc/hostname").open().close(), TOUCHED),
        (lambda: [][1], RAISED),
        (lambda: (_ for _ in ()).throw(MemoryError), MEMORY),
        (lambda: (_ for _ in ()).throw(ReadError("line 1: 'x' is no number; mend the row")), REFUSED),
    ],
)
def test_what_a_reader_does_is_noticed(
    monkeypatch: pytest.MonkeyPatch, does: Callable[[], object], kind: str
) -> None:
    reading.watch()

    def read(data: bytes, request: Request) -> ReadOutline:
        does()
        return ANSWER

    monkeypatch.setattr(reading, "read", read)
    assert outcome(Made(b"", Request(".dxf"))).kind == kind


# Through the real child: a wait of a busy machine is no hang

_SLOW = """
import sys, time
time.sleep(1.5)
print('{"error": "line 1: no number; mend the row"}')
sys.exit(2)
"""
_ENDLESS = """
import resource
resource.setrlimit(resource.RLIMIT_CPU, (1, 1))
while True: pass
"""


@pytest.mark.parametrize(("script", "kinds"), [(_SLOW, (HUNG, REFUSED)), (_ENDLESS, (HUNG, HUNG))])
def test_what_comes_late_is_judged_by_its_processor_time(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, script: str, kinds: tuple[str, str]
) -> None:
    limits = Limits(10_000, 0.5, 1, 1, 1, 1)
    monkeypatch.setattr(parent, "program", lambda _: [sys.executable, "-I", "-c", script])
    monkeypatch.setattr(parent, "limits_of", lambda _: limits)
    monkeypatch.setattr(reading, "limits_of", lambda _: limits)
    made = Made(b"z,r\n", Request(".csv"))
    ends = [through_child(made, tmp_path / "late", is_patient) for is_patient in (False, True)]
    assert (ends[0].kind, ends[1].kind) == kinds


def test_late_ones_count_once_they_are_late_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    def again(made: Made, stem: Path, is_patient: bool) -> Outcome:
        return Outcome(HUNG if is_patient and stem.name == "5" else REFUSED, "", "it took long")

    monkeypatch.setattr(command, "through_child", again)
    monkeypatch.setattr(command, "keep", lambda *_: "kept")
    found = command.Findings(SEED)
    found.is_child = True
    for number in (4, 5):
        found.add(number, Outcome(HUNG, "hung", "30 s"))
    assert not found.counts
    found.read_late_again()
    assert found.unconfirmed == [4]
    assert sum(found.counts.values()) == 1
    assert found.say() == 1
