"""Workbooks (XLSX), written as the XML parts they consist of."""

from collections.abc import Iterator, Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

from tests.corpus.cases import INCH, Case
from tests.corpus.shapes import Point
from tests.corpus.tables import CALIPER, IN_ORDER, SHARP, SMALL, STEPS, comma, plain, table
from tests.corpus.truth import Options
from tests.corpus.write_mesh import package

Cell = float | str | tuple[str, float]
"""A number, a text, or a formula with the value it last had."""

Rows = Sequence[Sequence[Cell | None]]
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
XML = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


def column(index: int) -> str:
    """A, B, ... for 0, 1, ..."""
    return chr(ord("A") + index)


def sheet_xml(rows: Rows, texts: list[str], merged: str = "") -> str:
    """One sheet; texts go into the shared list."""
    lines = []
    for i, row in enumerate(rows, start=1):
        cells = []
        for k, cell in enumerate(row):
            at = f'r="{column(k)}{i}"'
            if cell is None:
                continue
            if isinstance(cell, str):
                if cell not in texts:
                    texts.append(cell)
                cells.append(f'<c {at} t="s"><v>{texts.index(cell)}</v></c>')
            elif isinstance(cell, tuple):
                cells.append(f"<c {at}><f>{escape(cell[0])}</f><v>{cell[1]!r}</v></c>")
            else:
                cells.append(f"<c {at}><v>{cell!r}</v></c>")
        if cells:
            lines.append(f'<row r="{i}">{"".join(cells)}</row>')
    end = f'<mergeCells count="1"><mergeCell ref="{merged}"/></mergeCells>' if merged else ""
    return f'{XML}<worksheet xmlns="{MAIN}"><sheetData>{"".join(lines)}</sheetData>{end}</worksheet>'


def workbook(sheets: Mapping[str, Rows], hidden: Sequence[str] = (), merged: str = "") -> bytes:
    """A workbook of named sheets."""
    texts: list[str] = []
    parts = [sheet_xml(rows, texts, merged) for rows in sheets.values()]
    entries, relations, types = "", "", ""
    for i, name in enumerate(sheets, start=1):
        state = ' state="hidden"' if name in hidden else ""
        entries += f'<sheet name={quoteattr(name)} sheetId="{i}"{state} r:id="rId{i}"/>'
        relations += f'<Relationship Id="rId{i}" Type="{OFFICE}/worksheet" Target="worksheets/sheet{i}.xml"/>'
        types += f'<Override PartName="/xl/worksheets/sheet{i}.xml" ContentType="{_part("worksheet")}"/>'
    n = len(sheets) + 1
    relations += f'<Relationship Id="rId{n}" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/>'
    relations += f'<Relationship Id="rId{n + 1}" Type="{OFFICE}/styles" Target="styles.xml"/>'
    types += f'<Override PartName="/xl/workbook.xml" ContentType="{_part("sheet.main")}"/>'
    types += f'<Override PartName="/xl/sharedStrings.xml" ContentType="{_part("sharedStrings")}"/>'
    types += f'<Override PartName="/xl/styles.xml" ContentType="{_part("styles")}"/>'
    shared = "".join(f'<si><t xml:space="preserve">{escape(text)}</t></si>' for text in texts)
    styles = (
        '<fonts count="1"><font><sz val="11"/><name val="Arial"/></font></fonts>'
        '<fills count="2"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill></fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        '<cellXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/></cellXfs>'
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>'
    )
    members = [
        (
            "[Content_Types].xml",
            f'{XML}<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Default Extension="xml" ContentType="application/xml"/>{types}</Types>',
        ),
        (
            "_rels/.rels",
            f'{XML}<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1" '
            f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        ),
        (
            "xl/workbook.xml",
            f'{XML}<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>{entries}</sheets></workbook>',
        ),
        (
            "xl/_rels/workbook.xml.rels",
            f'{XML}<Relationships xmlns="{PACKAGE}/relationships">{relations}</Relationships>',
        ),
        *((f"xl/worksheets/sheet{i}.xml", part) for i, part in enumerate(parts, start=1)),
        (
            "xl/sharedStrings.xml",
            f'{XML}<sst xmlns="{MAIN}" count="{len(texts)}" uniqueCount="{len(texts)}">{shared}</sst>',
        ),
        ("xl/styles.xml", f'{XML}<styleSheet xmlns="{MAIN}">{styles}</styleSheet>'),
    ]
    return package(members, compressed=True)


def _part(kind: str) -> str:
    return f"application/vnd.openxmlformats-officedocument.spreadsheetml.{kind}+xml"


def listed(places: Sequence[Point]) -> list[list[Cell | None]]:
    """One place to a row."""
    return [[z, r] for z, r in places]


def cases() -> Iterator[Case]:
    """All files of this group."""
    notes: Rows = [["Supplier sheet"], ["Reach", 203.7, "mm"], ["Print at 100 %"]]
    yield table(
        "xlsx_two_sheets.xlsx",
        workbook(
            {"Notes": notes, "Outline": [["Caliper, new brake pads"], ["z [mm]", "r [mm]"], *listed(CALIPER)]}
        ),
        "The outline stands on the second of two sheets, under a title and headings.",
        CALIPER,
        options=Options(in_order=True, sheet="Outline"),
        questions=("sheet",),
    )
    old = [(z, round(r - 4.0, 3)) for z, r in STEPS]
    head: list[Cell | None] = ["z_mm", "r_mm"]
    yield table(
        "xlsx_two_revisions.xlsx",
        workbook({"Rev A": [head, *listed(old)], "Rev B": [head, *listed(STEPS)]}),
        "Two sheets of the same form hold two revisions; the second is valid.",
        STEPS,
        options=Options(in_order=True, sheet="Rev B"),
        questions=("sheet",),
    )
    yield table(
        "xlsx_hidden_sheet.xlsx",
        workbook({"old": [head, *listed(old)], "valid": [head, *listed(STEPS)]}, hidden=["old"]),
        "The first sheet is hidden and holds an older outline.",
        STEPS,
        options=Options(in_order=True, sheet="valid"),
    )
    words: Rows = [["z [mm]", "r [mm]"], *([comma(z), f" {comma(r)} "] for z, r in SMALL)]
    yield table(
        "xlsx_numbers_as_text.xlsx",
        workbook({"Sheet1": words}),
        "Numbers are texts with decimal commas and blanks.",
        SMALL,
    )
    spread: list[list[Cell | None]] = [
        [None],
        [None, None, "Caliper envelope"],
        [],
        [None, None, "z mm", None, "r mm"],
    ]
    for i, (z, r) in enumerate(CALIPER):
        spread += [[]] if i % 9 == 4 else []
        spread.append([None, None, z, None, r])
    yield table(
        "xlsx_empty_rows_merged.xlsx",
        workbook({"Sheet1": [*spread, [], [None, None, None]]}, merged="C2:F2"),
        "The table begins in C4, with an empty column within, empty rows between, and a merged title.",
        CALIPER,
    )
    formulas: list[list[Cell | None]] = [["z [mm]", "dia", "r [mm]"]]
    formulas += [[z, 2.0 * r, (f"B{i}/2", r)] for i, (z, r) in enumerate(SMALL, start=2)]
    yield table(
        "xlsx_formulas.xlsx",
        workbook({"Sheet1": formulas}),
        "r is a formula; its last value is stored with it. The diameter stands beside it.",
        SMALL,
    )
    inch = [(round(z / INCH, 4) + 0.0, round(r / INCH, 4)) for z, r in STEPS]
    yield table(
        "xlsx_inch_row.xlsx",
        workbook({"Sheet1": [["z", "r"], ["in", "in"], *listed(inch)]}),
        "A row of units, inches, under the headings.",
        [(z * INCH, r * INCH) for z, r in inch],
        unit="in",
    )
    noted: list[list[Cell | None]] = [["z [mm]", "r [mm]", "remark"]]
    noted += [[z, r, "outer half" if z > 0.0 else None] for z, r in SHARP]
    mixed = [
        noted[0],
        *(
            [plain(row[0]) if i % 2 else row[0], *row[1:]]
            for i, row in enumerate(noted[1:])
            if isinstance(row[0], float)
        ),
    ]
    yield table(
        "xlsx_mixed_cells.xlsx",
        workbook({"Sheet1": mixed}),
        "Some numbers are numbers, some are texts; a column of remarks.",
        SHARP,
        options=IN_ORDER,
    )
