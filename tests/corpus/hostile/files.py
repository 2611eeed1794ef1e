"""Files whose name and content do not go together, and files of no kind at all."""

import random
from collections.abc import Iterator

from tests.corpus.cases import SHARP
from tests.corpus.hostile.inputs import EMPTY, NO_NUMBER, WRONG_KIND, Hostile, fixed
from tests.corpus.hostile.packages import PLAIN
from tests.corpus.hostile.pictures import OUTLINE, PAGE
from tests.corpus.write_dxf import Drawing, separate
from tests.corpus.write_mesh import three_mf

ANY = (
    WRONG_KIND
    + r"|(?:dwg|pdf|svg|dxf|stl|obj|ply|3mf|xlsx|zip|xml|damaged|no (outline|face|triangle|number))|"
    + NO_NUMBER
)


def inputs() -> Iterator[Hostile]:
    """All of this kind."""
    garbage = random.Random(7).randbytes(4000)
    for suffix in ("dxf", "svg", "stl", "obj", "ply", "3mf", "xlsx"):
        yield Hostile(f"empty.{suffix}", "Nothing at all.", lambda: b"", EMPTY + "|zip")
        yield Hostile(f"one_byte.{suffix}", "One byte.", lambda: b"0", ANY + "|" + EMPTY)
        yield Hostile(f"garbage.{suffix}", "Random bytes.", lambda: garbage, ANY)
    drawing = Drawing(separate(SHARP), version="AC1009").text().encode()
    picture, pdf = PAGE.text(OUTLINE).encode(), b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<<>>\nendobj\n%%EOF\n"
    dwg = b"AC1032\x00\x00\x00\x00\x00" + garbage
    for name, about, content in (
        ("dwg_called.dxf", "The binary sister format under this name.", dwg),
        ("pdf_called.dxf", "A PDF under this name.", pdf),
        ("svg_called.dxf", "An SVG under this name.", picture),
        ("dxf_called.svg", "A DXF under this name.", drawing),
        ("dxf_called.csv", "A DXF under this name: full of numbers, none of them in columns.", drawing),
        ("3mf_called.stl", "A package under this name.", three_mf(PLAIN)),
        ("pdf_called.xlsx", "A PDF under this name.", pdf),
    ):
        # A reader that looks at the content may see what it is and read it rightly.
        yield Hostile(name, about, fixed(content), ANY, opens=content not in (dwg, pdf))
    for name in ("drawing.dwg", "part.step.txt.exe", "no_suffix"):
        yield Hostile(
            name,
            "A name that belongs to no kind that is read.",
            lambda: garbage,
            r"unknown|not|kind|suffix|read|type",
        )
    wide = Drawing(separate(SHARP)).text().encode("utf-16")
    yield Hostile(
        "utf16.dxf",
        "A drawing in UTF-16, which the format does not know.",
        lambda: wide,
        ANY + "|utf|encod",
        opens=True,
    )
