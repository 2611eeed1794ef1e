"""Tables and points: quotes that do not end, numbers that are none, sizes."""

import random
from collections.abc import Callable, Iterator

from tests.corpus.cases import SHARP
from tests.corpus.hostile.inputs import (
    EMPTY,
    LIMIT_BYTES,
    NO_NUMBER,
    NO_OUTLINE,
    NOT_FINITE,
    TOO_FAR,
    TOO_LARGE,
    TOO_MANY,
    WRONG_KIND,
    Hostile,
    either,
)

HEAD = "z_mm,r_mm\n"
ROWS = "".join(f"{z},{r}\n" for z, r, _ in SHARP)


def said(text: str) -> Callable[[], bytes]:
    """The text as UTF-8."""
    return lambda: text.encode()


def inputs() -> Iterator[Hostile]:
    """All of this kind."""
    yield from _numbers()
    yield from _layout()
    yield from _sizes()
    yield from _bytes()


def _numbers() -> Iterator[Hostile]:
    for word in ("NaN", "inf", "-Infinity", "1e400", "1e308"):
        name = word.lower().strip("-")
        yield Hostile(f"{name}.csv", f"One r is {word}.", said(HEAD + ROWS + f"10,{word}\n"), NOT_FINITE)
    yield Hostile("beyond_10_m.csv", "One r is 10,001.", said(HEAD + ROWS + "10,10001\n"), TOO_FAR)
    yield Hostile(
        "below_axle.csv",
        "One r is -120.",
        said(HEAD + ROWS + "-58,-120\n"),
        r"negative|below|r < 0|-120|axle",
    )
    yield Hostile(
        "underscore.csv",
        "A number is 1_2, which one programming language reads as 12.",
        said(HEAD + ROWS + "1_2,1_70\n"),
        NO_NUMBER,
    )
    arabic = "".join(chr(0x660 + int(c)) if c.isdigit() else c for c in "10,170")
    yield either("other_digits.csv", "A row in Arabic digits.", said(HEAD + ROWS + arabic + "\n"), NO_NUMBER)
    yield Hostile("hex.csv", "A number is 0x1F.", said(HEAD + ROWS + "0x1F,170\n"), NO_NUMBER)
    yield Hostile(
        "words.csv",
        "A row of words among the numbers.",
        said(HEAD + ROWS + "about ten,far out\n"),
        NO_NUMBER,
        opens=True,
    )
    yield Hostile(
        "two_commas.csv",
        "Decimal commas between commas: 12,5,103,7 can be read in three ways.",
        said("z_mm,r_mm\n" + "".join(f"{z},{r}\n".replace(".", ",") for z, r, _ in SHARP)),
        NO_NUMBER,
    )
    big = "".join(f"{z}".replace(".", ",") + ";1." + f"{r:05.1f}\n".replace(".", ",") for z, r, _ in SHARP)
    marks = "z [mm];r [mm]\n" + big
    yield either(
        "thousands_marks.csv",
        "Points as marks for thousands beside decimal commas: 1.203,7 is not 1.2037.",
        said(marks),
        NO_NUMBER,
    )
    formula = said(HEAD + ROWS + '"=HYPERLINK(""http://127.0.0.1:9/"")",170\n')
    yield Hostile(
        "formula.csv",
        "A cell begins with = and would be run by a spreadsheet.",
        formula,
        NO_NUMBER,
        opens=True,
    )


def _layout() -> Iterator[Hostile]:
    body = ROWS.splitlines(keepends=True)
    quoted = HEAD + "".join(body[:2]) + '"12.9,95.3\n' + "".join(body[2:]) * 300
    yield Hostile(
        "open_quote.csv",
        "A quotation mark opens in row 3 and never closes: it would swallow the rest.",
        said(quoted),
        NO_NUMBER + '|(?:quot|")',
    )
    yield Hostile(
        "open_quote_long.csv",
        "The same with 5 MB behind it.",
        lambda: (HEAD + '"' + ROWS * 60_000).encode(),
        NO_NUMBER + '|(?:quot|"|field|large)',
    )
    yield Hostile(
        "one_line_20_mb.csv",
        "One line of 20 MB.",
        lambda: b"1" * 20_000_000,
        TOO_LARGE + "|" + NO_NUMBER + "|" + NOT_FINITE,
    )
    yield Hostile(
        "ten_million_commas.csv",
        "A line of ten million commas.",
        lambda: b"," * 10_000_000 + b"\n",
        TOO_LARGE + "|" + TOO_MANY + "|" + NO_NUMBER + "|" + NO_OUTLINE,
    )
    yield Hostile(
        "million_separators.txt",
        "Twenty rows of 100,000 numbers each.",
        lambda: (" ".join(["1"] * 100_000) + "\n").encode() * 20,
        TOO_MANY + "|" + TOO_LARGE + "|" + NO_NUMBER,
    )
    yield Hostile(
        "ragged.csv",
        "Rows of one, two, three and seven columns.",
        said("1\n1,2\n1,2,3\n1,2,3,4,5,6,7\n" * 5),
        NO_NUMBER,
    )
    yield Hostile(
        "heading_only.csv", "Headings and nothing below.", said(HEAD), NO_OUTLINE + "|rows|points|few"
    )
    yield Hostile(
        "one_point.csv", "One place.", said(HEAD + "1,100\n"), r"point|few|at least|outline|two|three"
    )
    yield Hostile(
        "two_points.csv",
        "Two places.",
        said(HEAD + "1,100\n5,120\n"),
        r"point|few|at least|outline|three|area",
        opens=True,
    )
    yield Hostile(
        "same_point.csv",
        "A thousand times the same place.",
        said(HEAD + "1,100\n" * 1000),
        r"point|few|same|outline|area|at least",
    )
    yield Hostile(
        "in_a_row.csv",
        "A hundred places on one line: no area.",
        said(HEAD + "".join(f"{i},{100 + i}\n" for i in range(100))),
        r"area|line|outline|cross|itself",
        opens=True,
    )
    yield either(
        "heading_escapes.csv",
        "Headings with terminal codes and a turn of writing.",
        said("\x1b[31mz [mm]\x1b[0m,\N{RIGHT-TO-LEFT OVERRIDE}r [mm]\n" + ROWS),
        "column|heading|\\bz\\b",
    )


def _sizes() -> Iterator[Hostile]:
    yield Hostile(
        "weighs_50_mb_and_1.csv",
        "One byte more than a table may weigh.",
        lambda: HEAD.encode() + ROWS.encode(),
        TOO_LARGE,
        size=LIMIT_BYTES["csv"] + 1,
    )

    def cloud() -> bytes:
        draw = random.Random(5)
        block = "".join(
            f"{draw.uniform(-40, 40):.2f} {draw.uniform(150, 170):.2f} {draw.uniform(-50, 50):.2f}\n"
            for _ in range(10_000)
        )
        return block.encode() * 100

    yield either("million_points.xyz", "A million points.", cloud, TOO_MANY + "|" + TOO_LARGE)


def _bytes() -> Iterator[Hostile]:
    garbage = random.Random(6).randbytes(5000)
    for suffix in ("csv", "xyz", "txt"):
        yield Hostile(
            f"garbage.{suffix}",
            "Random bytes.",
            lambda: garbage,
            WRONG_KIND + "|" + NO_NUMBER + "|encod|text|utf",
        )
        yield Hostile(f"empty.{suffix}", "Nothing at all.", lambda: b"", EMPTY)
    yield Hostile(
        "one_byte.csv",
        "One byte.",
        lambda: b"7",
        r"point|few|at least|outline|empty|number|row|column|no ",
    )
    odd = b"\xff\xfe" + "z,r\n1,2\n".encode("utf-16-le") + b"\x00"
    yield Hostile(
        "utf16_odd.csv",
        "UTF-16 of an odd number of bytes.",
        lambda: odd,
        r"encod|utf|text|damaged|byte|point|few|number",
        opens=True,
    )
    lone = b"\xff\xfe" + b"\x00\xd8" * 500
    yield Hostile(
        "utf16_surrogates.csv",
        "UTF-16 of nothing but halves of pairs.",
        lambda: lone,
        r"encod|utf|text|damaged|number|row",
    )
    nul = HEAD + ROWS.replace(",", "\0,")
    yield Hostile(
        "nul_bytes.csv",
        "Zero bytes between the columns.",
        said(nul),
        NO_NUMBER + "|" + WRONG_KIND + "|nul|byte|text",
    )
    yield Hostile(
        "blank_lines.csv",
        "A hundred thousand empty lines.",
        lambda: b"\n" * 100_000,
        EMPTY + "|" + NO_OUTLINE,
    )
