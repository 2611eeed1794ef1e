"""`blankwright roadmap` as a person types it."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from app.cli.command_line import main
from app.files.project_file import load, save
from app.project.project import Fitment
from tests.support import example

FITMENTS = (
    Fitment("R-1", diameter_code=18.0, width_code=10.0, inset_low_mm=32.0, inset_high_mm=45.0, must=True),
    Fitment("R-2", first_year=2026, last_year=2030, volume_low=120, volume_likely=200, volume_high=260),
)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "plan.blankwright"
    save(replace(example.project(), fitments=FITMENTS), path)
    return path


def run(*words: str | Path) -> int:
    return main(["roadmap", *map(str, words)])


def test_fitments_are_listed_with_what_they_leave_open(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(project) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].split()[:8] == ["R-1", "18", "x", "10", "J", "32", "to", "45"]
    assert "120 / 200 / 260" in lines[2]
    assert "diameter" in lines[2]
    assert run(project, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert [f["name"] for f in found["fitments"]] == ["R-1", "R-2"]
    assert found["fitments"][0]["inset_high_mm"] == 45.0
    assert "brake" in found["fitments"][0]["not_stated"]


def test_an_empty_roadmap_says_what_to_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "empty.blankwright"
    save(example.project(), path)
    assert run(path, "--csv", tmp_path / "heads.csv") == 0
    assert "--add" in capsys.readouterr().out
    assert run(path, "--add", tmp_path / "heads.csv", "--out", tmp_path / "b.blankwright") == 2
    assert "no row below the heads" in capsys.readouterr().err


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_table_goes_out_and_comes_in_unchanged(project: Path, tmp_path: Path, kind: str) -> None:
    table, out = tmp_path / f"t.{kind}", tmp_path / "new.blankwright"
    assert run(project, f"--{kind}", table) == 0
    assert run(project, "--add", table, "--out", out) == 0
    assert load(out) == load(project)


def test_problems_by_row_and_nothing_taken_unless_asked(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, out = tmp_path / "t.csv", tmp_path / "new.blankwright"
    table.write_text("Name;Width code;First year;Colour\nR-1;254;27;x\nR-3;9,5;2027;\n", encoding="utf-8")
    assert run(project, "--add", table, "--out", out) == 2
    said = capsys.readouterr()
    lines = said.err.splitlines()
    assert lines[0].startswith("t.csv: row 2, Width code: 254 is too large")
    assert lines[1].startswith("t.csv: row 2, First year: 27 is no year")
    assert "column 'Colour' is no part of the table" in lines[2]
    assert lines[3].startswith("t.csv: row 3, R-3: not stated: ")
    assert lines[-1].endswith(
        "2 problems; of 2 rows 1 is sound, and none was taken; --sound-only takes the 1 row without a problem"
    )
    assert said.out == ""
    assert not out.exists()
    assert run(project, "--add", table, "--out", out, "--json") == 2
    assert [p["row"] for p in json.loads(capsys.readouterr().out)["problems"]] == [2, 2]
    assert run(project, "--add", table, "--out", out, "--sound-only") == 0
    assert "1 new, 0 in the place" in capsys.readouterr().out
    assert load(out).fitments == (*FITMENTS, Fitment("R-3", width_code=9.5, first_year=2027))


def test_one_problem_of_one_row_is_said_in_the_singular(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, out = tmp_path / "t.csv", tmp_path / "new.blankwright"
    table.write_text("Name;First year\nR-1;27\n", encoding="utf-8")
    assert run(project, "--add", table, "--out", out) == 2
    assert "1 problem; of 1 row 0 are sound, and none was taken" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--add", "t.csv"), "belong together"),
        (("--sound-only",), "--add"),
        (("--csv", "t.txt"), "ends in .csv"),
        (("--add", "t.csv", "--out", "x.blankwright"), "no such file"),
    ],
)
def test_what_does_not_fit_together_is_refused(
    project: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], says: str
) -> None:
    assert run(project, *words) == 2
    assert says in capsys.readouterr().err
