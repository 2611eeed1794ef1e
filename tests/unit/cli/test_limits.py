"""`blankwright limits` as a person types it: text, JSON, table, and what is refused."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from openpyxl import load_workbook

from app import resources
from app.cli.command_line import main
from app.files.project_file import load, save
from app.project.caution import CAUTION
from app.reports.limits_words import window_words
from app.studies.limits import InsetWindow, limits
from geometry.shape.blank import Cause, Tolerance
from tests.support import example

WIDTHS, INSETS = "9,9.5,10", "20:50:10"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "track.blankwright"
    save(example.roomy()[0], path)
    return path


def run(*words: str | Path) -> int:
    return main(["limits", *map(str, words)])


def test_text_has_a_row_for_each_width_and_says_that_stock_alone_counts(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(project, "--wheel", example.WHEEL, "--widths", WIDTHS, "--insets", INSETS) == 0
    said = capsys.readouterr().out
    lines = said.splitlines()
    (head,) = [k for k, line in enumerate(lines) if line.split()[:1] == ["width"]]
    assert lines[head].split() == ["width", "ET", "20", "ET", "30", "ET", "40", "ET", "50"]
    assert [line.split()[0] for line in lines[head + 1 : head + 4]] == ["9", "9.5", "10"]
    assert "Stock in the blank alone counts" in said
    assert "insets that can be cut" in said
    assert CAUTION in said
    assert run(project, "--wheel", example.WHEEL) == 0


def test_inches_stand_alone_and_one_inset_is_said_to_be_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An inch is 25.4 mm."""
    made = replace(example.roomy()[0], display_unit="in")
    path = tmp_path / "inch.blankwright"
    save(made, path)
    (one,) = limits(made, example.WHEEL, widths=[10], insets=[38]).cells
    assert run(path, "--wheel", example.WHEEL, "--widths", "10", "--insets", "38") == 0
    said = capsys.readouterr().out
    assert one.spare_mm is not None
    assert f"1 cell, least {one.spare_mm / 25.4:.3f}" in said
    assert "what decides, in to spare" in said
    assert " mm" not in said
    assert "  10: only ET 38.0 was asked for, and can be cut" in said


def test_json_and_table_hold_the_cells_of_the_study(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "cells.csv"
    asked = ("--widths", WIDTHS, "--insets", INSETS, "--keep-seat", "--json", "--csv", out)
    assert run(project, "--wheel", example.WHEEL, *asked) == 0
    found = json.loads(capsys.readouterr().out)
    study = limits(load(project), example.WHEEL, widths=[9, 9.5, 10], insets=[20, 30, 40, 50], keep_seat=True)
    assert (found["format"], found["counts"], found["keeps_seat"]) == (1, "stock", True)
    assert [(c["width"], c["inset_mm"], c["state"], c["spare_mm"]) for c in found["cells"]] == [
        (c.width_code, c.inset_mm, c.word, c.spare_mm) for c in study.cells
    ]
    assert [w["inset_mm"] for w in found["windows"]] == [
        [w.low, w.high] for row in study.rows for w in row.windows
    ]
    rows = list(csv.DictReader(out.read_text("utf-8").splitlines()))
    assert [row["state"] for row in rows] == [c.word for c in study.cells]


def test_a_name_like_a_formula_is_text_in_the_table(project: Path, tmp_path: Path) -> None:
    held = load(project)
    blanks = tuple(replace(b, name="=1+1") if b.name == "roomy" else b for b in held.blanks)
    save(replace(held, blanks=blanks, wheels=(replace(held.wheels[0], blank="=1+1"),)), project)
    out = tmp_path / "cells.csv"
    asked = ("--wheel", example.WHEEL, "--widths", "10", "--insets", "30", "--csv", out)
    assert run(project, *asked) == 0
    (row,) = csv.DictReader(out.read_text("utf-8").splitlines())
    assert row["blank"] == "'=1+1"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--wheel", "nobody"), "nobody"),
        (("--wheel", example.WHEEL, "--blank", "nothing"), "nothing"),
        (("--wheel", example.WHEEL, "--against", "roomy"), "--against roomy: that is the first blank itself"),
        (("--wheel", example.WHEEL, "--widths", "wide"), "--widths 'wide'"),
        (("--wheel", example.WHEEL, "--insets", "9:1:1"), "--insets '9:1:1'"),
        (("--wheel", example.WHEEL, "--cores", "-1"), "--cores -1"),
        (("--wheel", example.WHEEL, "--widths", "3"), "Width 3: a contour is drawn from 4.5 to 13"),
        (("--wheel", example.WHEEL, "--widths", "9,90"), "leave 90 out"),
        (("--wheel", example.WHEEL, "--insets", "400"), "ET 400: the mounting face would lie"),
        (("--wheel", example.WHEEL, "--insets=-900"), "outside the flanges"),
        (("--wheel", example.WHEEL, "--insets", "4000"), "within 1000"),
        (("--wheel", example.WHEEL, "--pieces", "0"), "--pieces 0"),
        (("--wheel", example.WHEEL, "--quotes", "q.pdf"), "ends in .csv or .xlsx"),
        (("--wheel", example.WHEEL, "--quotes", "q.csv"), "no quote of 'roomy' is held"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(
    project: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], says: str
) -> None:
    assert run(project, *words) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert says in error


def test_against_another_blank_says_mm_kg_and_the_cells_lost(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("--wheel", example.WHEEL, "--widths", "9,10", "--insets", "20:40:10", "--against", example.BLANK)
    assert run(project, *asked, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    held = found["against"]
    assert held["blank"] == example.BLANK
    assert held["lighter_kg"] == pytest.approx(found["blank_kg"] - held["blank_kg"])
    cut = [[c["width"], c["inset_mm"]] for c in found["cells"] if c["state"] in ("cuttable", "tight")]
    assert cut
    # The smaller blank cuts nothing that the roomy one does not, and none of these (its own map says so).
    assert run(project, *asked[:-2], "--blank", example.BLANK, "--json") == 0
    own = json.loads(capsys.readouterr().out)["cells"]
    small = [[c["width"], c["inset_mm"]] for c in own if c["state"] in ("cuttable", "tight")]
    assert held["only_first"] == [cell for cell in cut if cell not in small]
    assert held["only_second"] == [cell for cell in small if cell not in cut]
    assert run(project, *asked) == 0
    said = capsys.readouterr().out
    for words in ("lighter blank, and as much in chips", "given up", "cut from roomy alone: "):
        assert words in said


def test_it_is_said_whether_anything_was_taken_off_the_blank(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("--wheel", example.WHEEL, "--widths", "10", "--insets", "30")
    assert run(project, *asked) == 0
    bare = capsys.readouterr().out
    assert "No tolerance of roomy is stated: stock is read to its outline as if nothing" in bare
    held = load(project)
    stated = tuple(replace(b, tolerances=(Tolerance(Cause.DENTS, 0.5),)) for b in held.blanks)
    save(replace(held, blanks=stated), project)
    assert run(project, *asked) == 0
    said = capsys.readouterr().out
    assert "read to what can be relied on of roomy" in said
    assert "No tolerance" not in said


def test_quotes_are_written_as_a_table_and_a_workbook(tmp_path: Path) -> None:
    project = resources.sample("2-track-18-bought-blank")
    asked = ["limits", str(project), "--wheel", "Track 18", "--widths", "10", "--insets", "38", "--quotes"]
    table, book = tmp_path / "quotes.csv", tmp_path / "quotes.xlsx"
    assert main([*asked, str(table)]) == 0
    assert main([*asked, str(book)]) == 0
    held = load(project)
    (blank,) = (b for b in held.blanks if b.name == "C18")
    rows = list(csv.DictReader(table.read_text("utf-8").splitlines()))
    assert [(r["blank"], r["forge"], r["on"]) for r in rows] == [("C18", q.forge, q.on) for q in blank.quotes]
    money = ("holder", "inserts", "piece", "run_setup", "least_run", "lead_weeks")
    for row, quote in zip(rows, blank.quotes, strict=True):
        assert [None if row[name] == "" else float(row[name]) for name in money] == [
            getattr(quote, name) for name in money
        ]
        assert row["currency"] == (held.currency or "not stated")
    sheet = load_workbook(book).active
    assert sheet is not None
    cells = [["" if v is None else v for v in values] for values in sheet.values]
    assert cells[0] == list(rows[0])
    for values, row in zip(cells[1:], rows, strict=True):
        assert [str(v) if isinstance(v, str) else float(v) for v in values] == [
            text if isinstance(v, str) else float(text) for v, text in zip(values, row.values(), strict=True)
        ]


def test_pages_hold_the_map_its_windows_and_what_can_still_be_had(tmp_path: Path) -> None:
    project, out = resources.sample("1-track-18-own-blank"), tmp_path / "limits.pdf"
    cells = ["--widths", "9.5,10", "--insets", "34:42:4"]
    assert main(["limits", str(project), "--wheel", "Track 18", *cells, "--out", str(out)]) == 0
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(out).pages)
    for words in (
        "Limits of blank A18: Track 18",
        "Insets that can be cut",
        "Can still be had of the drawn wheel",
        "thickest inner lip",
        "largest brake by radius",
        CAUTION,
    ):
        assert words in text
    assert main(["limits", str(project), "--wheel", "Track 18", "--out", str(tmp_path / "x.png")]) == 2


def test_json_says_what_can_still_be_had_and_what_would_mend(capsys: pytest.CaptureFixture[str]) -> None:
    project = str(resources.sample("2-track-18-bought-blank"))
    ask = ["limits", project, "--wheel", "Track 18", "--widths", "10", "--insets", "38", "--mend", "--json"]
    assert main(ask) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["still"][0]["most_mm"] is None
    assert "short already" in found["still"][0]["why"]
    assert found["mend"]["is_cuttable"] is False
    barrel = next(s for s in found["mend"]["lack"]["sides"] if (s["zone"], s["side"]) == ("barrel", "brake"))
    assert barrel["missing_mm"] == pytest.approx(4.6, abs=0.1)  # demo.md, B-2


def test_an_open_end_of_a_window_says_what_to_ask_for() -> None:
    open_ends = window_words(InsetWindow(20.0, 45.0, "", ""))
    assert open_ends == (
        "from ET 20.0 (the lowest inset asked for: ask for lower ones) to ET 45.0 "
        "(the highest inset asked for: ask for higher ones)"
    )
    assert (
        window_words(InsetWindow(20.0, 45.0, "well", "hub pad")) == "from ET 20.0 (well) to ET 45.0 (hub pad)"
    )
