"""`blankwright plan --design`: new blanks for rows that no blank serves."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import readfile

from app import resources
from app.cli.command_line import main
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
    added, briefs = tmp_path / "added.blankwright", tmp_path / "briefs"
    files = ["--add-blanks", str(added), "--briefs", str(briefs)]
    assert main(["plan", str(project), *ASKED, "--json", *files]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["uncovered"] == ["R-10", "R-12"]
    design = found["design"]
    assert design["result"] == "proven"
    assert design["bound"] <= design["objective"] * (1.0 + 1e-9)
    assert sorted(n for blank in design["blanks"] for n in blank["members"]) == ["R-10", "R-12"]
    assert len(load(added).blanks) == len(design["blanks"])
    assert_briefs(briefs, design["blanks"])
    # The project with them in it is planned as any other.
    assert main(["plan", str(added), "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    assert again["uncovered"] == []
    assert again["cost"] == pytest.approx(design["objective"], rel=0.03)


def assert_briefs(folder: Path, blanks: list[dict[str, Any]]) -> None:
    """Each new blank's pages without money, and its outline as the design has it, read by a library."""
    names = {blank["name"] for blank in blanks}
    wanted = {f"{n}.{kind}" for n in names for kind in ("pdf", "dxf")}
    assert {p.name for p in folder.iterdir()} == wanted | {"new blanks.csv"}
    for blank in blanks:
        pages = pypdf.PdfReader(folder / f"{blank['name']}.pdf").pages
        text = "\n".join(page.extract_text() for page in pages)
        assert f"Blank: {blank['name']}" in text or blank["name"] in text
        assert all(member in text for member in blank["members"])
        assert f"{blank['mass_kg']:.2f} kg" in text
        assert "USD" not in text
        drawing = readfile(folder / f"{blank['name']}.dxf").modelspace()
        lines = [e for e in drawing if isinstance(e, LWPolyline)]
        (outline,) = [e for e in lines if len(e) > 3 and e.dxf.layer == "BLANK"]
        drawn = [(x, y) for x, y in outline.get_points("xy")]
        for z, r, _ in blank["outline"]:
            assert min(math.hypot(z - x, r - y) for x, y in drawn) < 0.02
    table = (folder / "new blanks.csv").read_text(encoding="utf-8-sig")
    assert all(name in table for name in names)
    assert "carries more than its own blank, kg" in table


def test_briefs_go_into_a_folder(project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "briefs"
    file.write_text("x")
    assert main(["plan", str(project), *ASKED, "--briefs", str(file)]) == 2
    assert "--briefs briefs: it is a file; name a folder" in capsys.readouterr().err


def test_a_number_below_zero_is_refused(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(project), *ASKED, "--die-cost", "-1"]) == 2
    assert "--die-cost -1: give a number from 0" in capsys.readouterr().err
