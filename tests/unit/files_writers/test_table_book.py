"""Several tables in one file, read back by the library of workbooks and by the csv module."""

from __future__ import annotations

import csv
import io

from openpyxl import load_workbook

from app.files.writers.table_book import sections_csv, sections_xlsx

HEADS = ("Name", "money", "why")
ROWS = (("K18, B17", 38000.5, "a; b, c"), ("=1+1", None, '"so"'), ("é", 3, ""))


def test_a_workbook_holds_numbers_as_numbers_and_no_formula() -> None:
    book = load_workbook(io.BytesIO(sections_xlsx([("One", HEADS, ROWS)])))
    rows = list(book["One"].iter_rows(values_only=True))
    assert rows[0] == HEADS
    assert rows[1] == ROWS[0]
    assert rows[2] == ROWS[1]
    assert rows[3][:2] == ("é", 3)
    assert {cell.data_type for cell in book["One"]["A"]} == {"s"}
    assert book["One"]["B2"].data_type == "n"


def test_sheets_are_named_by_their_titles_as_far_as_names_may_go() -> None:
    # A sheet's name has 31 signs at most, none of []:*?/\, and differs from others in more than case.
    titles = ["Plans: 0/1", "a" * 40, "A" * 40, ""]
    names = load_workbook(io.BytesIO(sections_xlsx([(t, HEADS, ()) for t in titles]))).sheetnames
    assert names == ["Plans  0 1", "a" * 31, "A" * 29 + " 2", "Table"]


def test_text_has_a_section_for_each_table() -> None:
    data = sections_csv([("Rows, and why", HEADS, ROWS), ("Empty", HEADS, ())])
    assert data.startswith(b"\xef\xbb\xbf")
    lines = list(csv.reader(io.StringIO(data.decode("utf-8-sig"))))
    assert lines == [
        ["Rows, and why"],
        list(HEADS),
        ["K18, B17", "38000.5", "a; b, c"],
        ["'=1+1", "", '"so"'],
        ["é", "3", ""],
        [],
        ["Empty"],
        list(HEADS),
    ]
