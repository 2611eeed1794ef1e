"""Section sheets by command: draft, release, list and reprint, with their exit codes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from app.cli.command_line import main
from app.files.project_file import dumps, load, save
from app.project.release import unpacked
from app.resources import sample
from app.studies.fit import measure_wheel

OWN, TOUCHING = sample("1-track-18-own-blank"), sample("3-gt-19-touching")
WHEEL = ["--wheel", "Track 18"]
PEOPLE = ["--drawn-by", "A. Drawer", "--checked-by", "B. Checker"]
Captured = pytest.CaptureFixture[str]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "p.blankwright"
    path.write_bytes(OWN.read_bytes())
    return path


def test_a_draft_is_written_and_changes_nothing(path: Path, tmp_path: Path, capsys: Captured) -> None:
    out, before = tmp_path / "s.pdf", path.read_bytes()
    assert main(["sheet", str(path), *WHEEL, "--out", str(out)]) == 0
    assert out.read_bytes().startswith(b"%PDF-")
    assert path.read_bytes() == before
    assert capsys.readouterr().err == ""


def test_a_draft_of_what_is_not_settled_says_why(tmp_path: Path, capsys: Captured) -> None:
    out = tmp_path / "s.pdf"
    assert main(["sheet", str(TOUCHING), "--wheel", "GT 19", "--out", str(out), "--paper", "A4"]) == 1
    assert out.exists()
    said = capsys.readouterr().err
    assert "keeps it from release: GT 19: Touching" in said
    assert "Blank: not stated" in said


def test_a_release_is_kept_and_printed_again(path: Path, tmp_path: Path, capsys: Captured) -> None:
    out, again = tmp_path / "s.pdf", tmp_path / "again.pdf"
    release = ["sheet", str(path), *WHEEL, "--release", *PEOPLE]
    assert main(["sheet", str(path), *WHEEL, "--list"]) == 1
    assert "never released" in capsys.readouterr().out
    assert main([*release, "--on", "2026-03-01", "--out", str(out)]) == 0
    assert "Track 18, revision A: released on 2026-03-01" in capsys.readouterr().out
    assert main(["sheet", str(path), *WHEEL, "--list"]) == 0
    said = capsys.readouterr().out
    assert "A  2026-03-01  drawn by A. Drawer, checked by B. Checker, A3: first release" in said
    assert "Track 18: as released, revision A." in said
    project = load(path)
    save(replace(project, wheels=(replace(project.wheels[0], load_kg=650.0),)), path)
    assert main(["sheet", str(path), *WHEEL, "--list"]) == 1
    assert "edited since revision A: load 690 to 650" in capsys.readouterr().out
    assert main(["sheet", str(path), *WHEEL, "--reprint", "A", "--out", str(again)]) == 0
    assert again.read_bytes() == out.read_bytes()
    assert main([*release, "--note", "load 650", "--on", "2026-03-02"]) == 0
    assert [r.revision for r in load(path).releases] == ["A", "B"]
    assert main(["sheet", str(path), *WHEEL, "--reprint", "A", "--out", str(again)]) == 0
    assert again.read_bytes() == out.read_bytes()


def test_today_is_the_date_where_none_is_given(path: Path) -> None:
    before = date.today().isoformat()
    assert main(["sheet", str(path), *WHEEL, "--release", *PEOPLE]) == 0
    assert before <= load(path).releases[0].on <= date.today().isoformat()


def test_what_is_held_back_leaves_the_project_as_it_was(tmp_path: Path, capsys: Captured) -> None:
    path = tmp_path / "p.blankwright"
    path.write_bytes(TOUCHING.read_bytes())
    assert main(["sheet", str(path), "--wheel", "GT 19", "--release", *PEOPLE]) == 1
    assert "not released: GT 19: Touching" in capsys.readouterr().err
    assert path.read_bytes() == TOUCHING.read_bytes()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--release", "--drawn-by", "A. One", "--checked-by", "a one"], "two different people"),
        (["--release", "--drawn-by", "A. One"], "--checked-by"),
        (["--release", *PEOPLE, "--on", "1.3.2026"], "is no date"),
        (["--note", "x", "--out", "s.pdf"], "add --release"),
        (["--reprint", "A", "--out", "s.pdf"], "never released"),
        (["--reprint", "A"], "--out is missing"),
        (["--list", "--out", "s.pdf"], "leave --out away"),
        (["--list", "--paper", "A4"], "--paper"),
        (["--out", "s.png"], "ends in .pdf"),
        ([], "--out is missing"),
    ],
)
def test_bad_input_is_said_in_one_line(path: Path, options: list[str], words: str, capsys: Captured) -> None:
    before = path.read_bytes()
    assert main(["sheet", str(path), *WHEEL, *options]) == 2
    said = capsys.readouterr().err
    assert words in said
    assert len(said.strip().splitlines()) == 1
    assert path.read_bytes() == before


def test_a_damaged_record_is_said_by_every_command_and_not_printed(
    path: Path, tmp_path: Path, capsys: Captured
) -> None:
    out = tmp_path / "s.pdf"
    assert main(["sheet", str(path), *WHEEL, "--release", *PEOPLE]) == 0
    project = load(path)
    bad = replace(project.releases[0], checked_by="Somebody else")
    path.write_bytes(dumps(replace(project, releases=(bad,))))
    capsys.readouterr()
    assert main(["sheet", str(path), *WHEEL, "--reprint", "A", "--out", str(out)]) == 1
    assert "damaged or edited outside" in capsys.readouterr().err
    assert not out.exists()
    assert main(["check", str(path)]) == 0
    assert "Track 18, revision A was damaged" in capsys.readouterr().err
    assert main(["sheet", str(path), *WHEEL, "--list"]) == 1


def test_what_is_frozen_can_be_opened_again(path: Path) -> None:
    import json

    from app.files.project_file import loads

    assert main(["sheet", str(path), *WHEEL, "--release", *PEOPLE]) == 0
    frozen = json.loads(unpacked(load(path).releases[0].frozen))
    inputs = loads(frozen["inputs"].encode())
    found = measure_wheel(inputs, inputs.wheels[0]).measurements
    assert found is not None
    assert frozen["results"]["readings"]["solid"]["mass_kg"] == pytest.approx(found.solid.mass_kg, rel=1e-12)
    assert frozen["results"]["state"] == "clear"
