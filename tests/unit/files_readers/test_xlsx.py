"""Workbooks in: sheets, heads, text that is a number, dates, formulas, and packages that burst."""

import datetime
import io
import math
import time
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from app.files.readers import xlsx
from app.files.readers.answer import ReadError, ReadOutline, Request
from app.files.readers.limits import Limits
from app.files.readers.read import read_outline
from app.files.readers.worker import read

ROWS = ((12.5, 100.0), (40.25, 100.0), (40.25, 130.0))
HEAD = ("z_mm", "r_mm")


def workbook(*sheets: tuple[str, Sequence[Sequence[Any]]]) -> bytes:
    """Return a workbook of named sheets, each of rows from A1 on."""
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets:
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def table(*rows: Sequence[Any]) -> bytes:
    return workbook(("Points", rows))


def read_xlsx(data: bytes, **how: object) -> ReadOutline:
    return read(data, Request(".xlsx", **how))  # type: ignore[arg-type]


def places(found: ReadOutline) -> tuple[tuple[float, ...], ...]:
    return tuple(row[:2] for row in found.loops[0])


@pytest.mark.parametrize(
    "rows",
    [
        [HEAD, *ROWS],
        [("Caliper, left",), (), HEAD, *ROWS],
        [("z", "r"), ("mm", "mm"), *ROWS],
        [("R [mm]", None, "Z [mm]"), *((r, None, z) for z, r in ROWS)],
        [HEAD, *((str(z), str(r)) for z, r in ROWS)],
        [HEAD, *((str(z).replace(".", ","), r) for z, r in ROWS)],
        [HEAD, *((f" {z} ", r) for z, r in ROWS)],
        [HEAD, ROWS[0], (), (None, None), *ROWS[1:]],
        [(None, None), (None, *HEAD), *((None, *row) for row in ROWS)],
        [("no", *HEAD, "note"), *((k, *row, "by hand") for k, row in enumerate(ROWS, 1))],
        [HEAD, *ROWS, (), ("measured by the shop",)],
        [("z\n(mm)", "r\n(mm)"), *ROWS],
        [("z_mm", "diameter_mm"), *((z, 2 * r) for z, r in ROWS)],
    ],
)
def test_one_outline_in_many_dresses(rows: list[Sequence[Any]]) -> None:
    found = read_xlsx(table(*rows))
    assert (found.kind, found.unit, found.hindrance) == ("table", "mm", "")
    assert places(found) == ROWS
    assert found.sheets == ("Points",)


def test_whole_numbers_and_numbers_of_many_digits() -> None:
    rows = ((-1, 100), (1e-05, 130.000000001), (30, 1.25e2))
    assert set(places(read_xlsx(table(HEAD, *rows)))) == {
        (-1.0, 100.0),
        (1e-05, 130.000000001),
        (30.0, 125.0),
    }


class TestSheets:
    BOOK = workbook(
        ("Notes", [("left caliper",), ("measured", "by hand")]),
        ("Outer", [HEAD, *ROWS]),
        ("Inner", [("z_in", "r_in"), (1, 4), (2, 4), (2, 5)]),
    )

    def test_the_first_that_holds_numbers_is_read_and_said(self) -> None:
        found = read_xlsx(self.BOOK)
        assert places(found) == ROWS
        assert found.sheets == ("Notes", "Outer", "Inner")
        assert found.warnings[0] == "read from sheet 'Outer', the first of 3 that holds numbers"

    def test_one_that_is_asked_for(self) -> None:
        found = read_xlsx(self.BOOK, sheet="Inner")
        assert found.unit == "in"
        assert found.bounds == pytest.approx((25.4, 50.8, 101.6, 127.0))

    def test_one_that_is_missing(self) -> None:
        with pytest.raises(
            ReadError, match="there is no sheet 'Other'; the workbook has Notes, Outer, Inner"
        ):
            read_xlsx(self.BOOK, sheet="Other")

    def test_one_without_numbers(self) -> None:
        with pytest.raises(ReadError, match="sheet 'Notes' holds no row of numbers"):
            read_xlsx(self.BOOK, sheet="Notes")
        with pytest.raises(ReadError, match="no sheet holds a table of points; sheets: Empty"):
            read_xlsx(workbook(("Empty", [])))

    def test_no_unit_is_never_guessed(self) -> None:
        assert read_xlsx(table(("z", "r"), *ROWS)).unit == "not known"
        assert read_xlsx(table(*ROWS), unit="mm").warnings[0].startswith("no column names")


def test_merged_cells_hold_their_first_value() -> None:
    book = Workbook()
    sheet = book.active
    sheet.title = "Points"
    for row in [("Outline", None), HEAD, *ROWS]:
        sheet.append(row)
    sheet.merge_cells("A1:B1")
    out = io.BytesIO()
    book.save(out)
    assert places(read_xlsx(out.getvalue())) == ROWS


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (datetime.date(2024, 3, 12), "row 3: 'a date or a time' is no plain number"),
        (datetime.datetime(2024, 3, 12, 5, 6), "row 3: 'a date or a time' is no plain number"),
        (datetime.time(5, 6), "row 3: 'a date or a time' is no plain number"),
        (True, "row 3: 'true' is no plain number"),
        (None, "row 3: a number is missing"),
        ("", "row 3: a number is missing"),
        ("12,5 mm", "row 3: '12,5 mm' is no plain number"),
        ("#DIV/0!", "row 3: '#DIV/0!' is no plain number"),
        ("=A1+1", "row 3: a number is missing"),
        ("=A1+1", "a formula counts once a spreadsheet program has computed and saved it"),
        ("nan", "row 3: 'nan' is no plain number"),
        (2e6, "row 3: '2000000' is too large"),
        ("1.234,5", "row 3: '1.234,5' is no plain number"),
    ],
)
def test_what_is_no_number_is_refused_with_its_place(cell: object, words: str) -> None:
    with pytest.raises(ReadError, match="sheet Points, ") as error:
        read_xlsx(table(HEAD, ROWS[0], (cell, 100.0), *ROWS[1:]))
    assert words in str(error.value)


def test_formulas_have_the_values_that_were_computed() -> None:
    data = repacked(
        table(HEAD, (12.5, 100.0), (40.25, 7.0), (40.25, 130.0)),
        "xl/worksheets/sheet1.xml",
        lambda text: text.replace(b"<v>7</v>", b"<f>60+40</f><v>100</v>"),
    )
    assert places(read_xlsx(data)) == ROWS


def test_points_in_any_order_and_in_space() -> None:
    rows = [
        (z, r * math.cos(t), r * math.sin(t))
        for z in range(0, 41, 4)
        for r in range(100, 141, 4)
        for t in (0, 1)
    ]
    found = read_xlsx(table(("x_mm", "y_mm", "z_mm"), *rows))
    assert found.kind == "points"
    assert found.bounds == pytest.approx((0.0, 40.0, 100.0, 140.0), abs=1e-6)


# Packages


def repacked(data: bytes, name: str, change: Any) -> bytes:
    """Return a package with one member changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.infolist():
            content = old.read(member)
            new.writestr(member.filename, change(content) if member.filename == name else content)
    return out.getvalue()


def with_member(name: str, content: bytes) -> bytes:
    out = io.BytesIO(table(HEAD, *ROWS))
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as package:
        package.writestr(name, content)
    return out.getvalue()


GOOD = table(HEAD, *ROWS)


class TestPackages:
    @pytest.mark.parametrize(
        ("data", "words"),
        [
            (b"hello", "not a workbook"),
            (b"PK\x03\x04" + b"\0" * 50, "not a workbook"),
            (GOOD[:-30], "not a workbook"),
            (GOOD[: len(GOOD) // 2], "not a workbook"),
            (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "locked with a password, or of an old kind"),
            (with_member("../../outside.xml", b"x"), "leads out of it"),
            (with_member("/etc/passwd", b"x"), "leads out of it"),
            (with_member("..\\outside.xml", b"x"), "leads out of it"),
            (with_member("C:/outside.xml", b"x"), "leads out of it"),
            (with_member("xl/media/a.bin", bytes(1_000_001)), "unpacks to more than 200 times its size"),
            (repacked(GOOD, "xl/workbook.xml", lambda _: b"<x"), "the workbook is damaged"),
            (
                repacked(GOOD, "xl/worksheets/sheet1.xml", lambda t: t[: len(t) // 2]),
                "the workbook is damaged",
            ),
            (
                repacked(GOOD, "xl/worksheets/sheet1.xml", lambda t: t.replace(b"12.5", b"12,5x")),
                "damaged|is no plain",
            ),
            (repacked(GOOD, "xl/_rels/workbook.xml.rels", lambda _: b"<Relationships/>"), "damaged|no sheet"),
            (
                repacked(
                    GOOD,
                    "xl/worksheets/sheet1.xml",
                    lambda t: b'<!DOCTYPE x [<!ENTITY a "1">]>' + t[t.index(b"<worksheet") :],
                ),
                "the workbook is damaged",
            ),
        ],
    )
    def test_one_clear_line(self, data: bytes, words: str) -> None:
        with pytest.raises(ReadError) as error:
            read_xlsx(data)
        assert any(word in str(error.value) for word in words.split("|")), str(error.value)
        assert "\n" not in str(error.value)

    def test_a_package_without_workbook(self) -> None:
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as package:
            package.writestr("a.xml", "x")
        with pytest.raises(ReadError, match="holds no workbook"):
            read_xlsx(out.getvalue())

    @pytest.mark.filterwarnings("ignore:Duplicate name")
    def test_two_members_of_one_name(self) -> None:
        with pytest.raises(ReadError, match="two members of one name"):
            read_xlsx(with_member("xl/workbook.xml", b"<x/>"))

    def test_a_locked_member(self) -> None:
        at = GOOD.index(b"PK\x01\x02")
        locked = GOOD[: at + 8] + b"\x01" + GOOD[at + 9 :]
        with pytest.raises(ReadError, match="locked with a password; save it without one"):
            read_xlsx(locked)

    def test_unpacked_size_at_the_limit_and_one_more(self, monkeypatch: pytest.MonkeyPatch) -> None:
        with zipfile.ZipFile(io.BytesIO(GOOD)) as package:
            total = sum(member.file_size for member in package.infolist())
        monkeypatch.setattr(xlsx, "UNPACKED_BYTES", total)
        assert places(read_xlsx(GOOD)) == ROWS
        monkeypatch.setattr(xlsx, "UNPACKED_BYTES", total - 1)
        with pytest.raises(ReadError, match="unpacks to"):
            read_xlsx(GOOD)

    def test_a_small_package_of_300_mb(self) -> None:
        start = time.monotonic()
        bomb = with_member("xl/worksheets/sheet2.xml", b"<row/>" * 50_000_000)
        assert len(bomb) < 2_000_000
        with pytest.raises(ReadError, match="unpacks to"):
            read_xlsx(bomb)
        assert time.monotonic() - start < 20.0

    def test_rows_at_the_limit_and_one_more(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(xlsx, "WORKBOOK", Limits(1, 1.0, 1, 4, 1, 1))
        assert places(read_xlsx(GOOD)) == ROWS
        with pytest.raises(ReadError, match="more than 4 rows in a sheet"):
            read_xlsx(table(HEAD, *ROWS, (10.0, 130.0)))

    def test_cells_far_out_cost_nothing(self) -> None:
        far = repacked(
            GOOD,
            "xl/worksheets/sheet1.xml",
            lambda t: t.replace(b'<dimension ref="A1:B4"', b'<dimension ref="A1:XFD1048576"').replace(
                b"</sheetData>",
                b'<row r="1048576"><c r="XFD1048576"><v>5</v></c></row></sheetData>',
            ),
        )
        start = time.monotonic()
        assert places(read_xlsx(far)) == ROWS
        assert time.monotonic() - start < 10.0


def test_through_the_child(tmp_path: Path) -> None:
    path = tmp_path / "Räder.xlsx"
    path.write_bytes(GOOD)
    assert places(read_outline(path)) == ROWS
    path.write_bytes(GOOD[:-30])
    with pytest.raises(ReadError, match=r"^Räder\.xlsx: not a workbook"):
        read_outline(path)
