"""XLSX: harmful XML, parts that are missing, cells without end."""

from collections.abc import Callable, Iterator

from tests.corpus.hostile.inputs import (
    DAMAGED,
    ENTITY,
    NO_NUMBER,
    NO_OUTLINE,
    NOT_FINITE,
    TOO_LARGE,
    TOO_MANY,
    Hostile,
    either,
    harmless,
    laughs,
)
from tests.corpus.hostile.packages import SHEET, workbook_with
from tests.corpus.workbooks import OFFICE, workbook
from tests.corpus.write_mesh import package


def inputs() -> Iterator[Hostile]:
    """All of this kind."""
    yield from _parts()
    yield from _cells()


def _parts() -> Iterator[Hostile]:

    def with_type(part: str, root: str, entities: str, use: str, where: str) -> Callable[[], bytes]:
        doctype = f"<!DOCTYPE {root} [{entities}]><{root} "
        return lambda: workbook_with(
            {part: lambda t: t.replace(f"<{root} ", doctype, 1).replace(where, use, 1)}
        )

    yield Hostile(
        "entities_billion.xlsx",
        "Entities of entities in a sheet.",
        with_type(SHEET, "worksheet", laughs(), "<v>&e9;</v>", "<v>-58.1</v>"),
        ENTITY,
    )
    strings = "xl/sharedStrings.xml"
    spy = '<!ENTITY x SYSTEM "file:///etc/passwd">'
    yield Hostile(
        "entity_of_a_file.xlsx",
        "An entity in the texts refers to a file of the system.",
        with_type(strings, "sst", spy, "&x;", "z [mm]"),
        ENTITY,
    )
    outside = (
        "xl/_rels/other.xml.rels",
        f'<Relationships><Relationship Id="r" Type="{OFFICE}/externalLink" '
        'Target="file:///etc/passwd" TargetMode="External"/></Relationships>',
    )
    yield harmless(
        "external_link.xlsx",
        "A link to a file of the system; it must not be opened.",
        lambda: workbook_with({}, outside),
    )
    yield Hostile(
        "sheet_missing.xlsx",
        "The sheet's part is not there.",
        lambda: workbook_with(
            {"xl/_rels/workbook.xml.rels": lambda t: t.replace("sheet1.xml", "sheet9.xml")}
        ),
        DAMAGED + "|sheet|part",
    )
    yield Hostile(
        "no_workbook.xlsx",
        "A package that is no workbook.",
        lambda: package([("word/document.xml", "<w/>")]),
        DAMAGED + "|workbook|sheet|xlsx",
    )
    old = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(4096)
    yield Hostile(
        "old_or_encrypted.xlsx",
        "The container of old or encrypted workbooks.",
        lambda: old,
        r"encrypt|password|protected|old|not a|zip|xls|damaged",
    )
    yield Hostile(
        "cut.xlsx", "The file ends in the middle.", lambda: workbook_with({})[:1500], DAMAGED + "|zip"
    )


def _cells() -> Iterator[Hostile]:
    row = "</row></sheetData>"

    def with_cell(cell: str) -> Callable[[], bytes]:
        return lambda: workbook_with({SHEET: lambda t: t.replace(row, f"</row>{cell}</sheetData>")})

    far = with_cell('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')
    yield either(
        "cell_in_last_corner.xlsx",
        "One cell in the last row and column: seventeen thousand million cells between.",
        far,
        TOO_MANY + "|" + TOO_LARGE + "|" + NO_NUMBER,
    )
    yield either(
        "cell_without_end.xlsx",
        "A cell in row 99,999,999,999.",
        with_cell('<row r="99999999999"><c r="A99999999999"><v>1</v></c></row>'),
        TOO_MANY + "|" + DAMAGED + "|" + NO_NUMBER,
    )
    everything = '</sheetData><mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'

    def merged() -> bytes:
        return workbook_with({SHEET: lambda t: t.replace("</sheetData>", everything)})

    yield either(
        "merged_all.xlsx",
        "All seventeen thousand million cells are merged.",
        merged,
        TOO_MANY + "|" + TOO_LARGE + "|merge",
    )
    yield Hostile(
        "text_beyond.xlsx",
        "A cell names text 999 of 2.",
        with_cell('<row r="8"><c r="A8" t="s"><v>999</v></c><c r="B8"><v>170</v></c></row>'),
        DAMAGED + "|" + NO_NUMBER + "|text|string|999",
    )
    yield Hostile(
        "nan.xlsx",
        "A cell's number is NaN.",
        with_cell('<row r="8"><c r="A8"><v>3</v></c><c r="B8"><v>NaN</v></c></row>'),
        NOT_FINITE,
    )
    yield Hostile(
        "1e400.xlsx",
        "A cell's number is 1e400.",
        with_cell('<row r="8"><c r="A8"><v>3</v></c><c r="B8"><v>1e400</v></c></row>'),
        NOT_FINITE,
    )
    yield Hostile(
        "error_cell.xlsx",
        "A cell holds #DIV/0!.",
        with_cell('<row r="8"><c r="A8"><v>3</v></c><c r="B8" t="e"><v>#DIV/0!</v></c></row>'),
        NO_NUMBER + "|#DIV|cell|error",
    )
    yield Hostile(
        "formulas_without_values.xlsx",
        "Formulas whose values were never worked out.",
        lambda: workbook_with({SHEET: lambda t: t.replace("<v>103.7</v>", "<f>A2*2</f>")}),
        NO_NUMBER + "|formula|value|cell|empty",
    )
    yield Hostile(
        "no_numbers.xlsx",
        "A sheet of words.",
        lambda: workbook({"Sheet1": [["supplier", "sheet"], ["see", "drawing"]]}),
        NO_OUTLINE + "|" + NO_NUMBER,
    )
    yield Hostile(
        "empty_sheet.xlsx",
        "A sheet without cells.",
        lambda: workbook({"Sheet1": []}),
        NO_OUTLINE + "|empty|sheet",
    )
