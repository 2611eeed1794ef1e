"""`blankwright plan --design`: new blanks for rows that no blank serves."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from app import resources
from app.cli import main
from app.files.project_file import load, save

ASKED = ["--design", "--stock", "2.1", "--lead-weeks", "20"]


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """Two must rows of the shipped roadmap and no blank."""
    whole = load(resources.sample("4-roadmap-36-fitments"))
    rows = tuple(f for f in whole.fitments if f.name in ("R-10", "R-12"))
    path = tmp_path / "rows.blankwright"
    save(replace(whole, blanks=(), fitments=rows), path)
    return path


def test_what_is_designed_serves_what_nothing_served(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    added = tmp_path / "added.blankwright"
    assert main(["plan", str(project), *ASKED, "--json", "--add-blanks", str(added)]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["uncovered"] == ["R-10", "R-12"]
    design = found["design"]
    assert design["result"] == "proven"
    assert design["bound"] <= design["objective"] * (1.0 + 1e-9)
    assert sorted(n for blank in design["blanks"] for n in blank["members"]) == ["R-10", "R-12"]
    assert len(load(added).blanks) == len(design["blanks"])
    # The project with them in it is planned as any other.
    assert main(["plan", str(added), "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    assert again["uncovered"] == []
    assert again["cost"] == pytest.approx(design["objective"], rel=0.03)


def test_a_number_below_zero_is_refused(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(project), *ASKED, "--die-cost", "-1"]) == 2
    assert "--die-cost -1: give a number from 0" in capsys.readouterr().err
