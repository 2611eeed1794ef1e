"""Tables of an outline's places in order: separators, decimal marks, headings, units, encodings."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from tests.corpus.cases import EVEN, FOUR_PISTON, INCH, REAR, STEPPED, Case, case
from tests.corpus.cases import SHARP as SHARP_CHAIN
from tests.corpus.shapes import Chain, Point, flattened, polygon
from tests.corpus.truth import Options

IN_ORDER = Options(in_order=True)
ASK_UNIT: dict[str, Any] = {"questions": ("unit",), "options": Options(unit="mm", in_order=True)}


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _separators()
    yield from _encodings()
    yield from _units()
    yield from _rows()
    yield from _columns()
    yield from _numbers()


def rounded_places(chain: Chain, digits: int = 3, chord_mm: float = 0.02) -> list[Point]:
    """Places along an outline as a table would give them: the truth is the polygon through them."""
    return [(round(z, digits) + 0.0, round(r, digits)) for z, r in flattened(chain, chord_mm)]


CALIPER = rounded_places(FOUR_PISTON)
STEPS = rounded_places(STEPPED)
SMALL = rounded_places(REAR)
BOTH_SIDES = rounded_places(EVEN)
SHARP = rounded_places(SHARP_CHAIN, 1)

Number = Callable[[float], str]


def plain(value: float) -> str:
    """Three decimals at most, with a point."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def comma(value: float) -> str:
    """With a decimal comma, as 203,7."""
    return plain(value).replace(".", ",")


def rows(places: Sequence[Point], separator: str, number: Number = plain, end: str = "\n") -> str:
    """One place to a line."""
    return "".join(f"{number(z)}{separator}{number(r)}{end}" for z, r in places)


def table(
    name: str,
    content: bytes | str,
    defect: str,
    places: Sequence[Point],
    unit: str | None = "mm",
    **more: Any,
) -> Case:
    """A table of places in order."""
    more.setdefault("options", IN_ORDER)
    more.setdefault("tol", 1e-6)
    return case(name, content, "table", defect, [polygon(places)], unit, joined=None, doubles=None, **more)


def _separators() -> Iterator[Case]:
    yield table(
        "table_comma.csv",
        "z_mm,r_mm\n" + rows(CALIPER, ","),
        "The plain case: comma, point, unit in the headings.",
        CALIPER,
    )
    yield table(
        "table_semicolon_decimal_comma.csv",
        "z [mm];r [mm]\n" + rows(STEPS, ";", comma),
        "Semicolons and decimal commas: 9,99 is not 999.",
        STEPS,
    )
    yield table("table_tab.txt", "z mm\tr mm\n" + rows(SMALL, "\t"), "Tabs.", SMALL)
    yield table(
        "table_tab_decimal_comma.txt",
        "z (mm)\tr (mm)\n" + rows(CALIPER, "\t", comma),
        "Tabs and decimal commas.",
        CALIPER,
    )
    padded = "".join(f"{plain(z):>12}{plain(r):>14}\n" for z, r in STEPS)
    yield table(
        "table_spaces.txt",
        "# z, r in mm\n" + padded,
        "Columns set with blanks; the unit in a comment.",
        STEPS,
    )
    yield table(
        "table_spaces_no_heading.txt",
        rows(SMALL, "  "),
        "Two columns, no heading, no unit.",
        SMALL,
        unit=None,
        options=Options(unit="mm", in_order=True, columns={"z": "1", "r": "2"}),
        questions=("unit", "columns"),
    )
    quoted = "".join(f'"{comma(z)}","{comma(r)}"\n' for z, r in CALIPER)
    yield table(
        "table_quoted_decimal_comma.csv",
        '"z [mm]","r [mm]"\n' + quoted,
        "Commas between columns and within numbers, the numbers in quotation marks.",
        CALIPER,
    )
    trailing = "z;r;\nmm;mm;\n" + "".join(f"{comma(z)};{comma(r)};\n" for z, r in SMALL)
    yield table(
        "table_trailing_separator.csv",
        trailing,
        "A separator at every line's end makes an empty column.",
        SMALL,
    )


def _encodings() -> Iterator[Case]:
    text = "z_mm,r_mm\n" + rows(STEPS, ",")
    yield table(
        "table_bom.csv",
        b"\xef\xbb\xbf" + text.encode(),
        "UTF-8 with a byte order mark before the first heading.",
        STEPS,
    )
    german = "Achse z [mm];Halbmesser r [mm]\r\n" + rows(CALIPER, ";", comma, "\r\n")
    yield table(
        "table_utf16.csv",
        german.encode("utf-16"),
        "UTF-16 with byte order mark, CRLF, decimal comma.",
        CALIPER,
    )
    yield table(
        "table_utf16_big_endian.txt",
        b"\xfe\xff" + ("z mm\tr mm\n" + rows(SMALL, "\t")).encode("utf-16-be"),
        "UTF-16, high byte first, tabs.",
        SMALL,
    )
    yield table(
        "table_cp1252.csv",
        ("Maß z [mm];Höhe r [mm]\n# Prüfstück ± 0,1\n" + rows(STEPS, ";", comma)).encode("cp1252"),
        "Headings and a comment in the western code page: not valid UTF-8.",
        STEPS,
        options=Options(in_order=True, columns={"z": "1", "r": "2"}),
    )
    yield table("table_crlf.csv", text.replace("\n", "\r\n"), "Lines end with CRLF.", STEPS)
    yield table("table_cr.csv", text.replace("\n", "\r"), "Lines end with CR alone.", STEPS)


def _units() -> Iterator[Case]:
    inch = [(round(z / INCH, 4) + 0.0, round(r / INCH, 4)) for z, r in CALIPER]
    mm = [(z * INCH, r * INCH) for z, r in inch]
    lines = "".join(f"{z:.4f},{r:.4f}\n" for z, r in inch)
    yield table(
        "table_unit_row_mm.csv",
        "z,r\nmm,mm\n" + rows(STEPS, ","),
        "A row of units under the headings.",
        STEPS,
    )
    yield table("table_unit_row_inch.csv", "z,r\nin,in\n" + lines, "A row of units: inches.", mm, unit="in")
    yield table("table_inch_heading.csv", "z [in],r [in]\n" + lines, "Inches in the headings.", mm, unit="in")
    yield table(
        "table_no_unit_inch.csv",
        "z,r\n" + lines,
        "No unit; the numbers are inches.",
        mm,
        unit=None,
        options=Options(unit="in", in_order=True),
        questions=("unit",),
    )
    yield table(
        "table_no_unit_mm.csv",
        "z,r\n" + rows(SMALL, ","),
        "No unit; the numbers are mm.",
        SMALL,
        unit=None,
        **ASK_UNIT,
    )
    mixed = "".join(f"{z:.4f},{r * INCH:.3f}\n" for z, r in inch)
    mixed_mm = [(z * INCH, round(r * INCH, 3)) for z, r in inch]
    yield table(
        "table_mixed_units.csv",
        "z [in],r [mm]\n" + mixed,
        "Mixed units: z in inches, r in mm, as the headings say.",
        mixed_mm,
        unit="in",
        may_refuse=r"(?i)unit|mixed|inch",
    )
    marks = "".join(f'"{z:.4f}""","{r:.4f}"""\n' for z, r in inch)
    yield table(
        "table_inch_marks.csv",
        "z,r\n" + marks,
        'Every number carries the inch mark, as 8.0157", doubled within quotation marks.',
        mm,
        unit="in",
        may_refuse=r"(?i)number|unit|inch|\"",
    )


def _rows() -> Iterator[Case]:
    body = rows(CALIPER, ",").splitlines(keepends=True)
    loose = ["\n", *body[:5], "\n", "   \n", *(line.replace("\n", "  \n") for line in body[5:]), "\n\n"]
    yield table(
        "table_empty_lines.csv", "z_mm,r_mm\n" + "".join(loose), "Empty lines, blanks at line ends.", CALIPER
    )
    commented = [
        line.replace("\n", f",  # point {i + 1}\n" if i % 7 == 0 else "\n") for i, line in enumerate(body)
    ]
    yield table(
        "table_comments.csv",
        "# caliper, new brake pads\n; drawn from sheet 2\nz_mm,r_mm\n" + "".join(commented),
        "Comment lines before the headings and comments behind some rows.",
        CALIPER,
    )
    preface = "Supplier sheet;;\nRevision;C;\nDate;2031-02-11;\nReach;203,7;mm\n\nNo;z [mm];r [mm]\n"
    numbered = "".join(f"{i + 1};{comma(z)};{comma(r)}\n" for i, (z, r) in enumerate(STEPS))
    yield table(
        "table_preface_and_numbers.csv",
        preface + numbered,
        "Lines of other data before the headings, one of them with a number; a running number in "
        "the first column.",
        STEPS,
    )
    twice = [place for place in SMALL for _ in range(2)] + [SMALL[0]]
    yield table(
        "table_duplicates.csv",
        "z_mm,r_mm\n" + rows(twice, ","),
        "Every place twice, the first again at the end.",
        SMALL,
    )
    clockwise = list(reversed(CALIPER))
    yield table(
        "table_clockwise.csv", "z_mm,r_mm\n" + rows(clockwise, ","), "The outline runs clockwise.", CALIPER
    )
    upper = [p for p in CALIPER if p[1] > 150.0]
    yield case(
        "table_upper_edge_only.csv",
        "z_mm,r_mm\n" + rows(upper, ","),
        "table",
        "Only the upper edge is given, open at both ends: below it, and beyond its ends, nothing is known.",
        [polygon(upper)],
        "mm",
        IN_ORDER,
        closed=False,
        tol=1e-6,
        joined=None,
        doubles=None,
        questions=("extent",),
        may_refuse=r"(?i)open|not closed|gap",
    )


def _columns() -> Iterator[Case]:
    turned = "".join(f"{plain(r)},{plain(z)}\n" for z, r in STEPS)
    yield table("table_r_before_z.csv", "r_mm,z_mm\n" + turned, "r stands before z.", STEPS)
    yield table(
        "table_other_names.csv",
        "radius [mm],axial [mm]\n" + turned,
        "Other words for r and z.",
        STEPS,
        options=Options(in_order=True, columns={"z": "axial [mm]", "r": "radius [mm]"}),
    )
    across = [(z, round(2.0 * r, 3)) for z, r in SMALL]
    yield table(
        "table_diameters.csv",
        "z [mm],dia [mm]\n" + rows(across, ","),
        "Diameters instead of radii.",
        SMALL,
        options=Options(in_order=True, columns={"z": "z [mm]", "d": "dia [mm]"}),
        questions=("columns",),
    )
    extra = "".join(f"P{i:03d},{plain(z)},{plain(r)},ok,0.0{i % 9}\n" for i, (z, r) in enumerate(CALIPER))
    yield table(
        "table_more_columns.csv",
        "name,z [mm],r [mm],state,error\n" + extra,
        "Names, remarks and errors in further columns.",
        CALIPER,
    )
    yield table(
        "table_x_for_z.csv",
        "x [mm],r [mm]\n" + rows(BOTH_SIDES, ","),
        "The axial column is called x.",
        BOTH_SIDES,
        options=Options(in_order=True, columns={"z": "x [mm]", "r": "r [mm]"}),
        questions=("columns",),
    )


def _numbers() -> Iterator[Case]:
    yield table(
        "table_exponents.csv",
        "z_mm,r_mm\n" + "".join(f"{z:.6e},{r:+.6E}\n" for z, r in STEPS),
        "Exponents and plus signs.",
        STEPS,
    )
    yield table(
        "table_typographic_minus.csv",
        "z_mm;r_mm\n" + rows(CALIPER, ";", lambda v: comma(v).replace("-", "\N{MINUS SIGN}")),
        "The minus is the typographic sign, not the hyphen.",
        CALIPER,
    )
    yield table(
        "table_unit_with_each_number.csv",
        "z;r\n" + rows(SHARP, ";", lambda v: comma(v) + " mm"),
        "Every number carries its unit.",
        SHARP,
        may_refuse=r"(?i)number|unit|mm",
    )
    eighths = [(-2.125, 4.25), (0.625, 3.875), (1.75, 4.5), (2.0, 6.375), (0.75, 7.25), (-2.125, 7.0)]
    yield table(
        "table_inch_fractions.csv",
        "z [in],r [in]\n" + rows(eighths, ",", _fraction),
        "Inch fractions, as 7 1/4 or -2 1/8.",
        [(z * INCH, r * INCH) for z, r in eighths],
        unit="in",
        may_refuse=r"(?i)number|fraction|1/8|1/4",
    )


def _fraction(value: float) -> str:
    whole, eighths = divmod(round(abs(value) * 8), 8)
    sign = "-" if value < 0.0 else ""
    if eighths == 0:
        return f"{sign}{whole}"
    top, below = eighths, 8
    while top % 2 == 0:
        top, below = top // 2, below // 2
    return f"{sign}{whole} {top}/{below}" if whole else f"{sign}{top}/{below}"
