"""Roadmap tables as they arrive: files of several makes, and what spreadsheets put on the clipboard."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook

from app.files.atomic import SaveError
from app.files.readers.answer import ReadError
from app.files.readers.roadmap_file import decoded, grid_of, guarded, pasted, read_roadmap
from app.files.readers.workbook_cells import workbook_cells
from app.files.writers.roadmap import roadmap_xlsx, write_roadmap
from app.project.project import Compromise, Fitment, Project
from app.project.roadmap_rows import read_table, taken

PLAIN = Project("p")
ROWS = (
    Fitment(
        "R-1", car='18" "club", black\nor red', inset_low_mm=38.125, must=True, certainty=0.8, bolt_count=5
    ),
    Fitment(
        "R-2",
        bore_mm=1.5 * 25.4,
        car="=1+1",
        customer="'-x",
        contribution=1.25,
        compromise=Compromise("less", share=0.5),
    ),
)


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("Name\tCar\r\nR-1\tClub\r\n", [["Name", "Car"], ["R-1", "Club"]]),
        ("Name\tCar\r\nR-1\t\r\n", [["Name", "Car"], ["R-1", ""]]),
        ('Name\tCar\r\nR-1\t"two\nlines"\r\n', [["Name", "Car"], ["R-1", "two\nlines"]]),
        ('Name\tCar\nR-1\t"a ""b"" c"\n', [["Name", "Car"], ["R-1", 'a "b" c']]),
        ('Name\tCar\r\nR-1\t18" rim\r\n', [["Name", "Car"], ["R-1", '18" rim']]),
        ('Name\tCar\r\nR-1\t"club" 17\r\nR-2\tx', [["Name", "Car"], ["R-1", '"club" 17'], ["R-2", "x"]]),
        ("Name\tInset from, mm\rR-1\t38,5\r", [["Name", "Inset from, mm"], ["R-1", "38,5"]]),
        ("Name;Inset from, mm\nR-1;38,5\n", [["Name", "Inset from, mm"], ["R-1", "38,5"]]),
        ('Name,"Inset from, mm"\nR-1,"38,5"\n', [["Name", "Inset from, mm"], ["R-1", "38,5"]]),
        ("R-1\n", [["R-1"]]),
        ("Plan, 27\nName;Car\nR-1;a, b\n", [["Plan, 27"], ["Name", "Car"], ["R-1", "a, b"]]),
        ("", [[""]]),
        ("a\t\tb", [["a", "", "b"]]),
        ("'=1+1\t'-5\t''=x\t'quoted'", [["=1+1", "-5", "'=x", "'quoted'"]]),
    ],
)
def test_text_is_cut_as_spreadsheets_write_it(text: str, cells: list[list[str]]) -> None:
    assert grid_of(text) == cells


def test_a_quotation_mark_that_never_closes_does_not_swallow_the_rest() -> None:
    with pytest.raises(ReadError, match=r"row 2: a quotation mark opens at .* and never closes"):
        grid_of('Name\tCar\nR-1\t"Club\nR-2\tx\n')


@pytest.mark.parametrize("text", ["=1", "+1", "-1", "@a", " =1", "'=1", "''-", "'plain", "a=b", ""])
def test_a_guarded_text_is_no_formula_and_reads_back(text: str) -> None:
    assert not guarded(text).lstrip().startswith(("=", "+", "-", "@"))
    assert grid_of(guarded(text) + "\tx")[0][0] == text


def test_a_clipboard_has_tabs_unless_it_holds_heads() -> None:
    assert pasted("a, b\r\nc; d\r\n") == [["a, b"], ["c; d"]]
    assert pasted("Name;Car\r\nc;d\r\n") == [["Name", "Car"], ["c", "d"]]


def test_bytes_of_text_in_the_usual_encodings() -> None:
    for encoding in ("utf-8", "utf-8-sig", "utf-16"):
        assert decoded("Größe".encode(encoding)) == "Größe"
    with pytest.raises(ReadError, match="line 2 is not UTF-8"):
        decoded("a\nGröße".encode("latin-1"))
    with pytest.raises(ReadError, match="no text"):
        decoded(b"PK\0\0")


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_files_round_trip(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"roadmap{suffix}"
    write_roadmap(path, ROWS)
    table = read_roadmap(path, PLAIN)
    assert table.all_problems == ()
    assert taken(PLAIN, table).fitments == ROWS


def test_other_suffixes_are_refused(tmp_path: Path) -> None:
    with pytest.raises(SaveError, match=r"\.csv or \.xlsx"):
        write_roadmap(tmp_path / "roadmap.ods", ROWS)
    with pytest.raises(ReadError, match="kind"):
        read_roadmap(tmp_path / "roadmap.ods", PLAIN)
    with pytest.raises(ReadError, match="no such file"):
        read_roadmap(tmp_path / "roadmap.csv", PLAIN)


def book(*rows: list[object]) -> bytes:
    made = Workbook()
    for row in rows:
        made.active.append(row)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def test_a_workbook_holds_numbers_as_numbers_and_no_formula() -> None:
    with zipfile.ZipFile(io.BytesIO(roadmap_xlsx(ROWS))) as package:
        sheet = package.read("xl/worksheets/sheet1.xml").decode()
    assert "<f>" not in sheet
    assert "<v>38.125</v>" in sheet


def test_cells_of_a_workbook_are_exact_texts_with_rows_where_they_stand() -> None:
    cells = workbook_cells(
        book([], ["Name", "x"], ["a", 0.3], ["b", 140.0], [None, date(2027, 3, 1)], [True])
    )
    numbers = [["Name", "x"], ["a", "0.3"], ["b", "140"]]
    assert cells.rows == [[], *numbers, ["", "2027-03-01"], ["true"]]
    assert cells.said == []


def test_the_stored_value_of_a_formula_is_taken_and_said_and_one_without_is_refused() -> None:
    bare = book(["Name", "Bolts"], ["a", "=2+3"])
    with pytest.raises(ReadError, match=r"1 formulas have no stored value \(B2\)"):
        workbook_cells(bare)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(bare)) as old, zipfile.ZipFile(out, "w") as new:
        for member in old.namelist():
            data = old.read(member)
            if member == "xl/worksheets/sheet1.xml":
                assert b"<v></v>" in data or b"<v/>" in data or b"<v />" in data
                for empty in (b"<v></v>", b"<v/>", b"<v />"):
                    data = data.replace(empty, b"<v>5</v>")
            new.writestr(member, data)
    cells = workbook_cells(out.getvalue())
    assert cells.rows[1] == ["a", "5"]
    assert cells.said == ["the stored value of a formula is taken (B2)"]


def test_a_damaged_or_empty_workbook_is_one_line(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(b"PK no workbook")
    with pytest.raises(ReadError, match=r"a\.xlsx: not a workbook"):
        read_roadmap(path, PLAIN)
    with pytest.raises(ReadError, match="no sheet holds a cell"):
        workbook_cells(book())


def test_rows_are_numbered_as_in_the_sheet(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("\n\nName;Bolts\n\nR-1;five\n", encoding="utf-8")
    (problem,) = read_roadmap(path, replace(PLAIN)).all_problems
    assert problem.row == 5


def test_what_cannot_be_shown_does_not_come_into_a_message() -> None:
    """Found by the fuzzer: a head with a byte order mark or control signs in it."""
    table = read_table(grid_of("\ufeffN\x00ame,Cus\x07tomer\n1,2\n"), PLAIN)
    assert table.problems
    assert all(problem.words.isprintable() for problem in table.problems)
