"""`blankwright first-off` as a person types it: a shifted wheel, what is said of it, and its page."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pypdf
import pytest

from app.cli.command_line import main
from app.files.project_file import save
from app.project.caution import CAUTION
from geometry.shape.section import Outline, build
from tests.support import example


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project, and points of its wheel 0.20 mm outboard of where they belong, without an order."""
    folder = tmp_path_factory.mktemp("measured")
    project = example.project()
    save(project, folder / "track.blankwright")
    built = build(project.wheels[0].section)
    assert isinstance(built, Outline)
    pieces = np.flatnonzero(built.skin)
    each = np.linspace(0.1, 0.9, 4)
    on = built.path.at(np.repeat(pieces, 4), np.tile(each, len(pieces))) + np.array([0.2, 0.0])
    rows = "".join(f"{z:.6f};{r:.6f}\n" for z, r in on.tolist())
    (folder / "points.csv").write_text(f"z_mm;r_mm\n{rows}", encoding="utf-8")
    return folder


def run(folder: Path, *words: str | Path) -> int:
    project, points = folder / "track.blankwright", folder / "points.csv"
    asked = ["first-off", project, "--wheel", example.WHEEL, "--points", points, *words]
    return main([str(word) for word in asked])


def test_shift_and_form_are_told_apart(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = folder / "page.pdf"
    assert run(folder, "--out", page) == 0
    said = capsys.readouterr().out
    assert "Shift of best fit: 0.200 mm outboard, none along r" in said
    assert "Form error apart from shift: 0.000 mm from least to greatest" in said
    assert CAUTION in said
    reader = pypdf.PdfReader(page)
    assert len(reader.pages) == 1
    text = " ".join(reader.pages[0].extract_text().split())
    assert "0.200 mm outboard" in text
    assert "Deviation by zone" in text
    assert "not a strength" in text


def test_json_has_the_same(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(folder, "--json") == 0
    values = json.loads(capsys.readouterr().out)
    assert values["dz_mm"] == pytest.approx(0.2, abs=1e-5)
    assert values["dr_mm"] == pytest.approx(0.0, abs=1e-5)
    assert values["shifted"]["form_mm"] == pytest.approx(0.0, abs=1e-4)
    assert values["not_measured"] == []
    assert values["points"] == sum(zone["count"] for zone in values["measured"]["zones"])


def test_points_in_another_frame_are_brought_back(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(folder, "--face", "0,2", "--json") == 0
    assert json.loads(capsys.readouterr().out)["dz_mm"] == pytest.approx(0.0, abs=1e-5)


def test_what_does_not_lie_near_the_wheel_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(folder, "--face", "5000") == 2
    assert "lie within 3 mm of the nominal section" in capsys.readouterr().err
    assert run(folder, "--out", folder / "page.txt") == 2
    assert "ends in .pdf" in capsys.readouterr().err
