"""Outlines that no wheel has: refused with their path, or a fault with a message; never a number."""

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from app.cli.check import check
from app.cli.command_line import main
from app.files.project_file import ProjectFileError, dumps, load, loads, save
from app.project.project import Project
from app.resources import sample
from geometry.shape.section import Vertex

RING = ((0.0, 60.0), (40.0, 60.0), (40.0, 200.0), (0.0, 200.0))


def drawn(*places: tuple[float, float], bulge: float = 0.0, radius: float = 0.0) -> Project:
    """Return the first sample with this as the whole outline of its wheel; the bulge is that of one edge."""
    project = load(sample("1-track-18-own-blank"))
    vertices = tuple(Vertex(z, r, radius, bulge if k == 0 else 0.0) for k, (z, r) in enumerate(places))
    wheel = replace(
        project.wheels[0], rim=None, unlocked=None, vertices=vertices, parameters=(), constraints=()
    )
    return replace(project, wheels=(wheel,))


REFUSED = {
    "not a number": drawn(*RING[:3], (math.nan, 200.0)),
    "infinite": drawn(*RING[:3], (math.inf, 200.0)),
    "minus infinite": drawn(*RING[:3], (0.0, -math.inf)),
    "beyond reach": drawn(*RING[:3], (1e308, 200.0)),
    "below the axle": drawn(*RING[:3], (0.0, -5.0)),
    "radius below zero": drawn(*RING, radius=-1.0),
    "bulge that is no number": drawn(*RING, bulge=math.nan),
}


@pytest.mark.parametrize("project", REFUSED.values(), ids=REFUSED)
def test_a_value_that_cannot_be_is_never_written(project: Project) -> None:
    with pytest.raises(ProjectFileError, match=r"wheels\[0\]\.vertices\[\d\]\.(z|r|radius|bulge) ") as caught:
        dumps(project)
    assert caught.value.errors


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-Infinity", "1e400", "-1e400", "1" + "0" * 400])
def test_a_number_that_cannot_be_is_never_read(text: str) -> None:
    data = dumps(drawn(*RING)).replace(b'{"z": 40.0, "r": 200.0', b'{"z": %s, "r": 200.0' % text.encode(), 1)
    with pytest.raises(ProjectFileError, match=r"wheels\[0\]\.vertices\[2\]\.z |too many digits"):
        loads(data, ignore_digest=True)


FAULTY = {
    "no vertex": drawn(),
    "one vertex": drawn(RING[0]),
    "two vertices": drawn(*RING[:2]),
    "one place four times": drawn(*(RING[0],) * 4),
    "one place twice": drawn(RING[0], *RING),
    "all in one line": drawn((0.0, 60.0), (10.0, 60.0), (20.0, 60.0), (30.0, 60.0)),
    "there and back": drawn((0.0, 60.0), (40.0, 60.0), (40.0, 200.0), (40.0, 60.0)),
    "the other way round": drawn(*RING[::-1]),
    "crossing itself": drawn((0.0, 60.0), (40.0, 200.0), (40.0, 60.0), (0.0, 200.0)),
    "a corner radius that does not fit": drawn(*RING, radius=500.0),
    "an arc through the rest": drawn(*RING, bulge=-3.0),
    "no size but one": drawn((0.0, 60.0), (5e-324, 60.0), (5e-324, 60.0 + 1e-300), (0.0, 60.0)),
}


@pytest.mark.parametrize("project", FAULTY.values(), ids=FAULTY)
def test_a_fault_has_a_message_and_no_reading_and_keeps_from_release(
    project: Project, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = tmp_path / "a.blankwright", tmp_path / "a.pdf"
    save(project, path)
    (wheel,) = check(project, project.wheels)["wheels"]
    assert wheel["state"] == "not known"
    assert wheel["faults"]
    assert all(fault["message"].strip() for fault in wheel["faults"])
    assert [wheel[key] for key in ("gap", "wall", "stock", "named", "hub")] == [[]] * 5
    assert (wheel["solid"], wheel["blank"], wheel["road"]) == (None, None, None)
    json.dumps(wheel, allow_nan=False)
    name = ["--wheel", project.wheels[0].name, "--out"]
    assert main(["report", str(path), *name, str(out)]) == 1
    (said,) = capsys.readouterr().err.strip().splitlines()
    assert "stamped 'not for release': The section has" in said
    assert main(["export", str(path), *name, str(out.with_suffix(".dxf"))]) == 2
    assert not out.with_suffix(".dxf").exists()
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


@pytest.mark.long
def test_an_outline_of_a_hundred_thousand_vertices_is_saved_and_read() -> None:
    count = 100_000
    circle = [
        (100.0 * math.cos(2 * math.pi * k / count), 300.0 + 100.0 * math.sin(2 * math.pi * k / count))
        for k in range(count)
    ]
    project = drawn(*circle)
    assert loads(dumps(project)) == project
