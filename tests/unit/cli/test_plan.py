"""`blankwright plan` as a person types it: contract, exit codes, tables, board paper, what is refused."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pypdf
import pytest

from app import language
from app.cli.command_line import main
from app.cli.plan import as_json, as_text, exit_code
from app.files.project_file import save
from app.files.writers.table_book import sections_xlsx
from app.project.caution import CAUTION
from app.project.programme import Programme
from app.project.project import Project
from app.reports.board_paper import write_board_paper
from app.reports.names import names_of
from app.studies.programme.inputs import Question
from app.studies.roadmap.coverage import Coverage, coverage
from app.studies.roadmap.dossier import Dossier, Wanted, dossier
from geometry.errors import GeometryError
from tests.support import german
from tests.support.small_roadmap import BOUGHT, DIE, NARROW, OWN, PRICE, WIDE, small

pytestmark = pytest.mark.usefixtures("solved_here")

KEYS = ["format", "result", "cost", "bound", "chosen", "uncovered", "served_by"]


@pytest.fixture(scope="module")
def project() -> Project:
    return small()


@pytest.fixture(scope="module")
def covered(project: Project) -> Coverage:
    return coverage(project)


@pytest.fixture(scope="module")
def whole(project: Project, covered: Coverage) -> Dossier:
    return dossier(project, Wanted(Question.GREATEST_VALUE, None, True, True, True), known=covered)


def written(project: Project, folder: Path) -> Path:
    path = folder / "small.blankwright"
    save(project, path)
    return path


def run(*words: str | Path) -> int:
    return main(["plan", *map(str, words)])


def answer(project: Project, found: Coverage, wanted: Wanted | None = None) -> tuple[dict[str, Any], int]:
    made = dossier(project, wanted or Wanted(), known=found)
    return as_json(project, made), exit_code(made)


def test_contract_with_every_file_that_it_writes(
    project: Project, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, book, folder = written(project, tmp_path), tmp_path / "plan.xlsx", tmp_path / "tables"
    assert run(path, "--json", "--xlsx", book, "--csv", folder, "--curve", "--enquiry", WIDE) == 0
    found = json.loads(capsys.readouterr().out)
    assert list(found)[: len(KEYS)] == KEYS
    assert (found["format"], found["result"], found["question"]) == (1, "proven", "cost")
    assert (found["chosen"], found["uncovered"]) == ([OWN], [])
    assert found["served_by"] == {WIDE: OWN, NARROW: OWN}
    assert found["bound"] <= found["cost"] + 1e-9
    # Two rows of 100 wheels in 2028 to 2031, discounted to 2027; 40 % of the die a year before its use.
    cells = {(c["fitment"], c["blank"]): c for c in found["tables"]["coverage"]}
    a_wheel = [cells[row, OWN]["cost"] + cells[row, OWN]["blank_cost"] for row in (WIDE, NARROW)]
    wheels = sum(100.0 * each / 1.1**k for each in a_wheel for k in (1, 2, 3, 4))
    assert found["cost"] == pytest.approx(wheels + 0.4 * DIE + 0.6 * DIE / 1.1)
    # The bought blank in place of own ones and their die.
    beside = [cells[row, BOUGHT]["cost"] for row in (WIDE, NARROW)]
    bought = sum(100.0 * (each + PRICE) / 1.1**k for each in beside for k in (1, 2, 3, 4))
    assert [row["cost"] for row in found["tables"]["curve"]] == pytest.approx([bought, found["cost"]])
    (enquiry,) = found["tables"]["enquiries"]
    assert (enquiry["answer"], enquiry["blanks"]) == ("covered", f"{OWN}, {BOUGHT}")
    assert_same_tables(found["tables"], book, folder)


def assert_same_tables(tables: dict[str, Any], book: Path, folder: Path) -> None:
    """Every table reads back from workbook and text as JSON has it."""
    sheets = openpyxl.load_workbook(io.BytesIO(book.read_bytes()))
    assert sheets.sheetnames == list(tables)
    assert {p.stem for p in folder.glob("*.csv")} == set(tables)
    for key, records in tables.items():
        rows = [list(row) for row in sheets[key].iter_rows(values_only=True)]
        with (folder / f"{key}.csv").open(encoding="utf-8", newline="") as file:
            text = list(csv.DictReader(file))
        assert len(rows) - 1 == len(text) == len(records)
        for record, cells, line in zip(records, rows[1:], text, strict=True):
            assert rows[0] == list(record) == list(line)
            for value, cell, word in zip(record.values(), cells, line.values(), strict=True):
                if isinstance(value, int | float):
                    assert cell == pytest.approx(value)
                    assert float(word) == pytest.approx(value)
                else:
                    assert (cell or "", word) == (value or "", value or "")


def test_text_has_the_verdict_first_and_the_coverage_with_signs(project: Project, covered: Coverage) -> None:
    made = dossier(project, Wanted(), known=covered)
    lines = as_text(project, made).splitlines()
    assert lines[0].startswith(f"Every must row is served; dies: 1 to commission ({OWN}); cost ")
    assert lines[0].endswith("EUR at present value; proven: no plan is better.")
    assert f"hang 2 fitments: {NARROW}, {WIDE}" in lines[1]
    (head,) = [k for k, line in enumerate(lines) if line.startswith("coverage, mm")]
    assert lines[head].split()[-3:] == [OWN, BOUGHT, "by"]
    row = lines[head + 1].split()
    assert (row[0], row[1], row[-1]) == (WIDE, "must", OWN)
    assert [row[k] for k in (2, 4)] == ["●", "●"]
    assert row[3].endswith("*")
    assert not row[5].endswith("*")


def test_few_wheels_are_cut_from_the_bought_blank(project: Project, covered: Coverage) -> None:
    few = replace(project, fitments=tuple(replace(f, volume_likely=5) for f in project.fitments))
    found, code = answer(few, covered)
    assert (found["chosen"], set(found["served_by"].values()), code) == ([], {BOUGHT}, 0)
    within, code = answer(project, covered, Wanted(budget=DIE / 2.0))
    assert (within["chosen"], set(within["served_by"].values()), code) == ([], {BOUGHT}, 0)


def test_the_order_of_the_rows_changes_nothing(project: Project, covered: Coverage) -> None:
    turned = replace(project, fitments=project.fitments[::-1], blanks=project.blanks[::-1])
    other = replace(covered, rows=covered.rows[::-1])
    one, two = answer(project, covered)[0], answer(turned, other)[0]
    for key in ("cost", "chosen", "uncovered", "served_by"):
        assert one[key] == two[key]


def test_a_must_row_that_nothing_serves(project: Project) -> None:
    wide = replace(project.fitments[0], width_code=12.0)
    changed = replace(project, fitments=(wide, project.fitments[1]))
    made = dossier(changed, Wanted(Question.LEAST_COST))
    found = as_json(changed, made)
    assert (exit_code(made), found["uncovered"], found["must_uncovered"]) == (1, [WIDE], [WIDE])
    # 100 wheels a year alone do not pay the die.
    assert found["served_by"] == {NARROW: BOUGHT}
    said = as_text(changed, made)
    assert said.startswith(f"1 must row uncovered ({WIDE})")
    assert "no blank serves it; nearest: " in said


def test_a_must_row_whose_blanks_are_left_out_says_which_and_why(project: Project, covered: Coverage) -> None:
    own, bought = project.blanks
    changed = replace(project, blanks=(replace(own, die_cost=None), replace(bought, price=None)))
    said = as_text(changed, dossier(changed, Wanted(Question.LEAST_COST), known=covered))
    assert f"no blank serves it; {OWN} could be cut to it, but is left out: The price of its dies" in said


def test_a_must_row_without_wheels_is_not_called_served(project: Project, covered: Coverage) -> None:
    none = replace(project.fitments[0], volume_low=0, volume_likely=0, volume_high=0)
    changed = replace(project, fitments=(none, project.fitments[1]))
    said = as_text(changed, dossier(changed, Wanted(Question.LEAST_COST), known=covered))
    assert said.startswith("Every must row with wheels is served")


def test_what_is_not_known_is_uncovered_and_named(project: Project, covered: Coverage) -> None:
    unsaid = replace(project.fitments[0], must=None)
    found, code = answer(replace(project, fitments=(unsaid, project.fitments[1])), covered)
    assert (found["uncovered"], found["must_uncovered"], code) == ([WIDE], [WIDE], 1)
    (row,) = found["tables"]["not_served"]
    assert (row["how"], row["why"]) == (
        "not known",
        "Nobody said whether it must be served or is wanted.",
    )
    # A want row of which something is not known is uncovered too, but no must row.
    want = replace(project.fitments[0], must=False, first_year=None)
    found, code = answer(replace(project, fitments=(want, project.fitments[1])), covered)
    assert (found["uncovered"], found["must_uncovered"], code) == ([WIDE], [], 0)


def test_a_budget_below_the_cheapest_cover(project: Project, covered: Coverage) -> None:
    own_only = replace(project, blanks=(project.blanks[0], replace(project.blanks[1], price=None)))
    for wanted in (Wanted(budget=DIE - 1.0), Wanted(Question.GREATEST_VALUE, budget=DIE - 1.0)):
        found, code = answer(own_only, covered, wanted)
        assert (code, found["verdict"], found["cost"], found["chosen"]) == (1, "impossible", None, [])
        assert found["must_uncovered"] == [NARROW, WIDE]
        assert "budget of 99,999.00" in found["impossible"][0]
        assert "no plan keeps the limits" in as_text(own_only, dossier(own_only, wanted, known=covered))
    none = replace(own_only, programme=Programme(2027, most_dies=0))
    found, code = answer(none, covered)
    assert (code, found["verdict"]) == (1, "impossible")
    # The most wheels within no money: both must rows are left, and named.
    found, code = answer(own_only, covered, Wanted(Question.BEST_COVER, budget=0.0))
    assert (code, found["must_uncovered"], found["served_by"]) == (1, [NARROW, WIDE], {})


def test_an_empty_roadmap_and_wrong_words(
    project: Project, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(replace(project, fitments=()), tmp_path)
    said = {
        (): "The roadmap is empty: add fitments, or paste them from a spreadsheet.",
        ("--budget", "-1"): "--budget -1: give a number from 0",
        ("--most-dies", "-2"): "--most-dies -2: give a number from 0",
        ("--time-limit", "0"): "--time-limit 0: give seconds above 0",
        ("--out", "paper.txt"): "--out paper.txt: name a file that ends in .pdf",
        ("--xlsx", "paper.csv"): "--xlsx paper.csv: name a file that ends in .xlsx",
        ("--csv", str(path)): "--csv small.blankwright: it is a file; name a folder",
        ("--cores", "2", "--cluster", "tcp://127.0.0.1:1"): "give one of the two",
        ("--metal-follows", OWN): f"no bought blank is called so; there are {BOUGHT}",
        ("--known-from", "27"): "--known-from 27: give a calendar year",
    }
    for words, error in said.items():
        assert run(path, *words) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert error in err
        assert len(err.splitlines()) == 1


def test_a_setting_that_cannot_be_planned_with_is_said_in_one_line(
    project: Project, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # A row that ended before the programme begins has no wheels; the other one is planned.
    old = replace(project.fitments[0], first_year=2020, last_year=2022)
    path = written(replace(project, fitments=(old, project.fitments[1])), tmp_path)
    assert run(path, "--json", "--enquiry", "nobody") == 2
    assert "nobody" in capsys.readouterr().err
    with pytest.raises(GeometryError, match="roadmap is empty"):
        dossier(replace(project, fitments=()), Wanted())


def test_regrets_and_worth_of_a_whole_project(project: Project, whole: Dossier) -> None:
    regrets = whole.regrets
    assert regrets is not None
    names = [s.name for s in regrets.scenarios]
    assert names[:4] == ["as expected", "demand halves", "low volumes", "high volumes"]
    assert f"supplier of {BOUGHT} stops" in names
    assert f"{OWN} late by a year" in names
    assert "Brake 380 x 34 grows 5 mm" in names
    for row in regrets.candidates:
        for outcome in row.outcomes:
            assert outcome.regret is None or outcome.regret >= 0.0
    (late,) = [s for s in regrets.scenarios if s.is_late]
    assert late.lost == ()
    (money,) = whole.money
    (without,) = [c for c in regrets.candidates if f"without {OWN}" in c.candidate.names]
    # What a die is worth is what committing nothing would be sorry for, where all goes as expected.
    assert money.worth.worth == pytest.approx(without.outcomes[0].regret)
    assert money.own_wheels == 0.0
    found = as_json(project, whole)
    assert {"worth", "sensitivity", "scenarios", "regrets", "relaxed"} <= set(found["tables"])
    assert len(found["tables"]["sensitivity"]) == 10


def test_a_german_board_paper_holds_no_english(project: Project, whole: Dossier) -> None:
    with language.speaking("de"):
        data = write_board_paper(project, whole)
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    assert german.left(text, names_of(project)) == []
    assert "bezahlt" in text


def test_board_paper(project: Project, whole: Dossier) -> None:
    data = write_board_paper(project, whole)
    assert data == write_board_paper(project, whole)
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    assert len(texts) >= 5
    for k, text in enumerate(texts, start=1):
        assert CAUTION[:60] in text
        assert f"page {k} of {len(texts)}" in text
    first = texts[0]
    assert "Every must row is served; dies: 1 to commission (A18); value" in first
    assert "hang 2 fitments: narrow, wide; must rows among them: narrow, wide" in first
    for head in ("Dies and tools", "Cash by year", "Least bad over all scenarios"):
        assert head in first
    every = " ".join(texts)
    for head in (
        "Coverage: fitments against blanks",
        "Family: the chosen blanks over one another",
        "Over the number of dies, and over the years",
        "What each die is worth",
        "Regret, the least bad set first",
        "Refused, uncovered and not known",
        "Assumptions",
        "starting value: common practice, no source",
        "Cautions",
    ):
        assert head in every
    assert "NaN" not in every
    assert "nan" not in every.split()
    letter = replace(project, paper="Letter")
    size = pypdf.PdfReader(io.BytesIO(write_board_paper(letter, whole))).pages[0].mediabox
    assert [float(size.width), float(size.height)] == pytest.approx([792.0, 612.0], abs=0.5)


def test_board_paper_without_a_plan(project: Project, covered: Coverage) -> None:
    own_only = replace(project, blanks=(project.blanks[0], replace(project.blanks[1], price=None)))
    made = dossier(own_only, Wanted(budget=1.0, curve=True, worth=True, scenarios=True), known=covered)
    pages = pypdf.PdfReader(io.BytesIO(write_board_paper(own_only, made))).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    assert "2 must rows uncovered (narrow, wide); no plan keeps the limits" in text
    assert "left out: It is not forged in own dies and has no price" in text


@pytest.mark.parametrize("question", [Question.LEAST_COST, Question.GREATEST_VALUE])
def test_board_paper_of_a_roadmap_without_any_blank(project: Project, question: Question) -> None:
    """Nothing costs and nothing brings anything: the charts have a scale all the same."""
    bare = replace(project, blanks=())
    made = dossier(bare, Wanted(question, curve=True, worth=True), known=coverage(bare))
    pages = pypdf.PdfReader(io.BytesIO(write_board_paper(bare, made))).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    assert "2 must rows uncovered (narrow, wide)" in text


def test_the_most_cover_says_wheels_and_compares_no_money(project: Project, covered: Coverage) -> None:
    own_only = replace(project, blanks=(project.blanks[0], replace(project.blanks[1], price=None)))
    wanted = Wanted(Question.BEST_COVER, curve=True, worth=True)
    made = dossier(own_only, wanted, known=covered)
    tables = as_json(own_only, made)["tables"]
    # 100 wheels a year of each of two rows, 2028 to 2031; without a die there is nothing.
    assert [(r["most_dies"], r["wheels"]) for r in tables["curve"]] == [(0, 0.0), (1, 800.0)]
    assert tables["curve"][0]["must_uncovered"] == f"{NARROW}, {WIDE}"
    assert [row["worth"] for row in tables["worth"]] == [None]
    assert {row["change"] for row in tables["sensitivity"]} == {None}


def test_a_large_coverage_goes_on_over_several_pages(project: Project, whole: Dossier) -> None:
    cover = whole.planned.coverage
    rows = tuple(replace(row, cells=row.cells * 6) for row in cover.rows) * 30
    large = replace(
        whole,
        planned=replace(whole.planned, coverage=Coverage(cover.blanks * 6, rows)),
        curve=(),
        money=(),
        sensitivity=(),
        regrets=None,
    )
    maps = [
        page
        for page in pypdf.PdfReader(io.BytesIO(write_board_paper(project, large))).pages
        if "Coverage: fitments against blanks" in page.extract_text()
    ]
    # 60 rows by 12 blanks: 40 rows and 9 blanks are on a page.
    assert len(maps) == 4
    assert sum(page.extract_text().count("ET 38") for page in maps) == 2 * 30


def test_the_workbook_is_the_same_bytes_and_holds_no_formula(tmp_path: Path) -> None:
    tables = [("names", ("a", "=b"), [("=1+1", 2.5), ("plain", None)]), ("empty", ("a",), [])]
    data = sections_xlsx(tables)
    assert data == sections_xlsx(tables)
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert {item.date_time for item in package.infolist()} == {(2000, 1, 1, 0, 0, 0)}
        assert b">2000-01-01T00:00:00Z</dcterms:modified>" in package.read("docProps/core.xml")
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert book.sheetnames == ["names", "empty"]
    assert [[c.value for c in row] for row in book["names"]] == [
        ["a", "=b"],
        ["=1+1", 2.5],
        ["plain", None],
    ]
    assert {c.data_type for row in book["names"] for c in row} <= {"s", "n"}
