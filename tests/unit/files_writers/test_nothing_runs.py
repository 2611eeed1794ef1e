"""What is written carries no formula, script or action into the program that opens it, whatever names say.

A spreadsheet takes a cell that begins with = + - @, or with a tab or return before them, for a formula
(OWASP, "CSV Injection"). In a PDF an action stands under /AA, /OpenAction or /A (ISO 32000-1, 12.6).
"""

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from ezdxf.filemanagement import read as read_dxf
from openpyxl import load_workbook
from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject

from app.cli.command_line import main
from app.files.project_file import load, save
from app.files.writers.quotes import write_quotes
from app.files.writers.roadmap import write_roadmap
from app.files.writers.table import Cell, table_bytes
from app.files.writers.table_book import sections_csv, sections_xlsx
from app.project import edits
from app.project.cells import tabbed
from app.project.project import Project
from app.resources import sample
from geometry.shape.blank import Quote

ROOT = Path(__file__).resolve().parents[3]

HOSTILE = (
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    " =1+1",
    "\n@x",
    "\uff1d1+1",
    '=HYPERLINK("http://x.invalid")',
    "<script>alert(1)</script>",
    "</text><script/>",
    ")/OpenAction<</S/JavaScript/JS(app.alert(1))>>(",
    "\\U+003D{\\fArial;x} %%c ^M",
    "  0\nSECTION",
)
SPREAD = ("=", "+", "-", "@", "\uff1d", "\t", "\r")


def cells(data: bytes) -> Iterator[str]:
    for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")):
        yield from row


def is_number(text: str) -> bool:
    return re.fullmatch(r"-?[0-9.]+(e[-+]?[0-9]+)?", text) is not None


def assert_harmless_csv(data: bytes) -> None:
    found = list(cells(data))
    assert found
    taken = [c for c in found if c.lstrip(" ").startswith(SPREAD) and not is_number(c)]
    assert taken == []


def assert_harmless_xlsx(data: bytes) -> None:
    book = load_workbook(io.BytesIO(data))
    kinds = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row}
    assert "s" in kinds
    assert "f" not in kinds
    with ZipFile(io.BytesIO(data)) as package:
        assert not [
            n for n in package.namelist() if re.search("vba|macro|external|connection|activeX", n, re.I)
        ]
        assert not any(b"<f>" in package.read(n) or b"<f " in package.read(n) for n in package.namelist())


_ACTIONS = ("/JS", "/JavaScript", "/OpenAction", "/AA", "/Launch", "/EmbeddedFiles", "/URI", "/XFA")


def assert_harmless_pdf(data: bytes) -> None:
    reader = PdfReader(io.BytesIO(data))
    seen: set[int] = set()

    def walk(value: object, key: str = "") -> None:
        if isinstance(value, IndirectObject):
            if value.idnum in seen:
                return
            seen.add(value.idnum)
            value = value.get_object()
        assert key not in (
            "/JS",
            "/JavaScript",
            "/OpenAction",
            "/AA",
            "/Launch",
            "/EmbeddedFiles",
            "/URI",
            "/XFA",
        )
        if isinstance(value, DictionaryObject):
            assert value.get("/S") not in ("/JavaScript", "/Launch", "/URI", "/SubmitForm", "/ImportData")
            for name in value:
                walk(value.raw_get(name), str(name))
        elif isinstance(value, ArrayObject):
            for item in value:
                walk(item)

    walk(reader.trailer)
    assert len(seen) > 5


def assert_harmless_dxf(data: bytes) -> None:
    text = data.decode("utf-8")
    assert "\x00" not in text
    document = read_dxf(io.StringIO(text))
    assert {e.dxftype() for e in document.modelspace()} <= {"LWPOLYLINE", "LINE", "TEXT"}
    assert all("{" not in e.dxf.text and "%%" not in e.dxf.text for e in document.modelspace().query("TEXT"))
    forbidden = re.compile("ACAD_PROXY|OLE|IMAGEDEF|PDFUNDERLAY|XREF|ACIDBLOCKREFERENCE|AcDbField")
    assert not forbidden.search(" ".join(str(o.dxftype()) for o in document.objects))


def hostile(name: str, of: str = "1-track-18-own-blank") -> Project:
    """Return a sample with this as the name of every part, as far as it may be one."""
    project = replace(load(sample(of)), author=name, currency="", revision=name)
    if project.fitments:
        project = replace(project, fitments=project.fitments[:2])
    kinds: tuple[edits.Kind[Any], ...] = (edits.WHEEL, edits.BLANK, edits.SHAPE, edits.RULE_SET)
    for kind in (*kinds, edits.CONDITIONS, edits.FITMENT):
        for part in kind.names(project):
            project = edits.renamed(project, kind, part, edits.free_name(project, kind, name))
    return project


@pytest.mark.parametrize("text", HOSTILE)
def test_tables_and_workbooks(text: str, tmp_path: Path) -> None:
    rows: list[list[Cell]] = [[text, 1.5, -2.5], ["fine", None, 3]]
    assert_harmless_csv(table_bytes(("a", text, "c"), rows))
    assert_harmless_csv(sections_csv([(text, ("a", text, "c"), rows)]))
    assert_harmless_xlsx(sections_xlsx([(text, ("a", text, "c"), rows)]))
    for suffix in (".csv", ".xlsx"):
        path = tmp_path / f"quotes{suffix}"
        write_quotes(path, [(text, [Quote(text, text, payment=text)])], text)
        (assert_harmless_csv if suffix == ".csv" else assert_harmless_xlsx)(path.read_bytes())


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_roadmaps(suffix: str, tmp_path: Path) -> None:
    fitments = load(sample("4-roadmap-36-fitments")).fitments[:1]
    path = tmp_path / f"roadmap{suffix}"
    write_roadmap(path, [replace(fitments[0], name=t, car=t, use=t, tyre=t) for t in HOSTILE])
    (assert_harmless_csv if suffix == ".csv" else assert_harmless_xlsx)(path.read_bytes())


@pytest.mark.parametrize("name", [HOSTILE[0], HOSTILE[1], HOSTILE[12], HOSTILE[13]])
def test_what_the_commands_write(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    project = hostile(name)
    path = tmp_path / "p.blankwright"
    save(project, path)
    wheel = project.wheels[0].name
    one = ["--wheel=" + wheel]
    assert main(["export", str(path), *one, "--out", str(tmp_path / "a.dxf")]) == 0
    assert_harmless_dxf((tmp_path / "a.dxf").read_bytes())
    assert main(["match", str(path), "--insets", "--csv", str(tmp_path / "m.csv")]) == 0
    assert_harmless_csv((tmp_path / "m.csv").read_bytes())
    assert main(["report", str(path), *one, "--out", str(tmp_path / "a.pdf")]) in (0, 1)
    assert_harmless_pdf((tmp_path / "a.pdf").read_bytes())
    assert main(["sheet", str(path), *one, "--out", str(tmp_path / "s.pdf")]) in (0, 1)
    assert_harmless_pdf((tmp_path / "s.pdf").read_bytes())


@pytest.mark.long
@pytest.mark.parametrize("name", [HOSTILE[0], HOSTILE[2], HOSTILE[12], HOSTILE[13]])
def test_what_the_studies_write(name: str, tmp_path: Path) -> None:
    """Pages, tables and drawings of blanks, limits, stages, strength, a first-off and the programme."""
    project, path, points = hostile(name), tmp_path / "p.blankwright", tmp_path / "points.csv"
    planned = tmp_path / "planned.blankwright"
    save(project, path)
    save(hostile(name, "4-roadmap-36-fitments"), planned)
    first = project.wheels[0]
    out = {kind: tmp_path / f"out.{kind}" for kind in ("pdf", "dxf", "csv", "xlsx")}
    harmless = {
        "pdf": assert_harmless_pdf,
        "dxf": assert_harmless_dxf,
        "csv": assert_harmless_csv,
        "xlsx": assert_harmless_xlsx,
    }
    rows = [f"{v.z},{v.r}" for v in first.section.vertices]
    points.write_text("z,r\n" + "\n".join(rows), encoding="utf-8")
    wheel = f"--wheel={first.name}"
    asked: list[tuple[list[str], dict[str, str]]] = [
        (["blank", wheel], {"--out": "pdf"}),
        (["blank", wheel, "--for-forge"], {"--out": "pdf"}),
        (["blank", wheel], {"--out": "dxf"}),
        (["blank", wheel], {"--out": "csv"}),
        (
            ["limits", wheel, "--widths=9,9.5", "--insets=20:40:20", "--mend"],
            {"--out": "pdf", "--csv": "csv"},
        ),
        (["stages", wheel, "--stage=finished"], {"--pdf": "pdf", "--dxf": "dxf"}),
        (["strength", wheel], {"--out": "pdf", "--csv": "csv"}),
        (["first-off", wheel, f"--points={points}", "--unit=mm"], {"--out": "pdf"}),
        (["plan"], {"--out": "pdf", "--xlsx": "xlsx"}),
    ]
    for (command, *options), files in asked:
        given = [f"{option}={out[kind]}" for option, kind in files.items()]
        of = planned if command == "plan" else path
        assert main([command, str(of), *options, *given]) in (0, 1), (command, options)
        for kind in files.values():
            harmless[kind](out[kind].read_bytes())
            out[kind].unlink()


@pytest.mark.parametrize("text", HOSTILE)
def test_what_goes_to_the_clipboard_for_a_spreadsheet(text: str) -> None:
    numbers = ("-0.10", "+1,250", "3", "1e-05")
    copied = tabbed([("a", text), (text, text), numbers])
    *rows, last = copied.splitlines()
    assert last.split("\t") == list(numbers)
    for row in rows:
        assert len(row.split("\t")) == 2
        assert not [c for c in row.split("\t") if c.lstrip(" ").startswith(SPREAD)]


#: Who may make rows or workbooks; each puts every text through a guard, or makes it a text.
_WRITERS = {
    "app/files/writers/table.py",
    "app/files/writers/table_book.py",
    "app/files/writers/roadmap.py",
    "app/studies/match.py",
    "app/studies/limits_table.py",
    "app/reports/strength_table.py",
}


def test_nothing_else_writes_tables() -> None:
    found = set()
    for path in (ROOT / "app").rglob("*.py"):
        if re.search(r"csv\.(Dict)?[wW]riter\(|(?<![.\w])Workbook\(", path.read_text("utf-8")):
            found.add(path.relative_to(ROOT).as_posix())
    assert found == _WRITERS
