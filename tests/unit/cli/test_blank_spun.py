"""`blankwright blank --spun`: what it prints, writes and refuses."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from ezdxf.filemanagement import readfile
from pypdf import PdfReader

from app.cli.command_line import main
from app.files.project_file import load, save
from tests.unit.studies.test_composite import WHEEL, group


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    path = tmp_path / "p.blankwright"
    save(group(), path)
    return path


def run(saved: Path, *more: str) -> int:
    return main(["blank", str(saved), "--wheel", WHEEL, "--stock", "4", *more])


def test_json(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ("--reduction", "47,5:20", "--mandrel", "1,5", "--rollers", "25:8,5", "--spin-trim", "12")
    assert run(saved, "--spun", *asked, "--json") == 0
    values = json.loads(capsys.readouterr().out)
    spun = values["spun"]
    assert spun["settings"]["mandrel_deg"] == 1.5
    assert (spun["settings"]["roller_deg"], spun["settings"]["nose_mm"]) == (25.0, 8.5)
    assert (spun["settings"]["reduction"], spun["settings"]["per_pass"]) == (0.475, 0.2)
    assert spun["turned_kg"] == values["mass_kg"]
    parts = spun["parts_kg"]
    paid = parts["disc"] + parts["barrel"] + parts["lip_bulge"] + parts["trim"]
    assert spun["mass_kg"] == pytest.approx(paid, rel=1e-9)
    assert spun["ladder"][-2]["mass_kg"] == pytest.approx(spun["mass_kg"], rel=1e-9)
    assert spun["ladder"][-1]["mass_kg"] == spun["forged_kg"] > spun["mass_kg"]
    assert spun["reduction"] <= 0.475
    masses = [row["mass_kg"] for row in spun["ladder"]]
    assert all(after >= before for before, after in pairwise(masses))
    assert spun["lip_mm"] >= spun["wall_mm"] >= 10.0 - 1e-6
    assert any("coarse grain" in note for note in spun["notes"])


def test_text_and_files(saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dxf, pdf = tmp_path / "a.dxf", tmp_path / "a.pdf"
    assert run(saved, "--spun", "--spinning-price", "40", "--mandrel-price", "18000", "--out", str(dxf)) == 0
    said = capsys.readouterr().out
    assert "forge, spin (heated" in said
    assert "coarse grain" in said
    assert "the mandrel is paid from" in said
    layers = {entity.dxf.layer for entity in readfile(dxf).modelspace()}
    assert {"SPUN", "PREFORM", "PARTING", "DATUM", f"WHEEL {WHEEL}"} <= layers
    notes = " ".join(text.dxf.text for text in readfile(dxf).modelspace().query("TEXT"))
    for words in (
        "draft",
        "fillets R",
        "parting line at z",
        "datum: raw outboard end",
        "chucked outside",
        "soft jaws bored",
    ):
        assert words in notes
    assert run(saved, "--spun", "--out", str(pdf)) == 0
    assert pdf.read_bytes().startswith(b"%PDF")
    # The first page is of the turned blank.
    assert f"spun blank of {WHEEL}" not in PdfReader(pdf).pages[0].extract_text()
    assert run(saved, "--spun", "--out", str(saved)) == 0
    blank = load(saved).blanks[-1]
    assert blank.name == f"spun blank of {WHEEL}"
    assert blank.source.startswith("forged and spun blank of ")
    assert blank.spun is not None
    assert (blank.spun.mandrel_price, blank.spun.spinning_price) == (None, None)
    priced = ("--spinning-price", "40,5", "--mandrel-price", "18000", "--name", "S18")
    assert run(saved, "--spun", *priced, "--out", str(saved)) == 0
    told = load(saved).blanks[-1].spun
    assert told is not None
    assert (told.mandrel_price, told.spinning_price, told.trim_mm) == (18000.0, 40.5, 10.0)
    assert len(told.ring) > 8


def test_an_inch_project_is_told_inches_pounds_and_short_tons(
    saved: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A pound is 0.45359237 kg (1959), a short ton 2,000 pounds-force: 1 MN is 112.404 of them."""
    save(replace(load(saved), display_unit="in"), saved)
    assert run(saved, "--spun", "--json") == 0
    spun = json.loads(capsys.readouterr().out)["spun"]
    assert run(saved, "--spun") == 0
    said = capsys.readouterr().out
    said = said[said.index("Forged and spun: ") :]
    kg = spun["forged_kg"]
    assert said.startswith(f"Forged and spun: {kg / 0.45359237:.2f} lb ({kg:.2f} kg) as forged")
    end, root = (mm / 25.4 for mm in spun["mandrel_mm"])
    assert f"mandrel {root:.3f} across at the disc, {end:.3f} at the open end" in said
    low, high = (mn * 112.404 for mn in spun["plan"][-1]["load_mn"])
    assert f"({low:.0f} to {high:.0f} short tons)" in said
    assert "where the pounds are" in said
    assert f" {spun['ladder'][0]['mass_kg'] / 0.45359237:.2f} " in said
    assert "mm" not in said[: said.index("Order of work")]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--ring-wall", "40"), "--ring-wall: only with --spun"),
        (("--spun", "--ring-wall", "12"), "spinning makes a wall thinner, never thicker"),
        (("--spun", "--reduction", "much"), "--reduction much: a number is missing"),
        (("--spun", "--reduction", "50:30:20"), "give 2 numbers at most"),
        (("--spun", "--reduction", "50,30,20"), "one decimal mark"),
        (
            ("--spun", "--reduction", "50,30"),
            "write 50:30 for the reductions in all and in one pass, or 50.30",
        ),
        (("--spun", "--reduction", "99"), "it must be from 1 % to 90 %"),
        (("--spun", "--rollers", "30:10:5"), "give 2 numbers at most, with a colon"),
        (("--spun", "--mandrel-price", "1:2"), "give one number"),
        (("--spun", "--web", "60"), "without a least web"),
    ],
)
def test_bad_input(
    saved: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...], words: str
) -> None:
    assert run(saved, *more) == 2
    assert words in capsys.readouterr().err
