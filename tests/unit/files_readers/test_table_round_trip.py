"""A random outline written in a random dialect reads back the same; the fast way equals the careful one."""

import csv
import io
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.files.readers import table_text
from app.files.readers.table_text import text_grid
from tests.support.drawings import read_table

#: A star round z 40, r 150 never crosses itself.
radii = st.lists(st.integers(2000, 9000), min_size=3, max_size=40)


@st.composite
def dialects(draw: st.DrawFn) -> dict[str, object]:
    separator = draw(st.sampled_from([";", "\t", ",", " ", "   ", "|", " ; "]))
    comma = draw(st.booleans()) and separator != ","
    return {
        "separator": separator,
        "comma": comma,
        "names": draw(st.sampled_from(["z_mm,r_mm", "R [mm],Z [mm]", "x (mm),y (mm)", "z,r", ""])),
        "units": draw(st.booleans()),
        "quotes": draw(st.booleans()),
        "trailing": draw(st.booleans()) and separator.strip() != "",
        "index": draw(st.booleans()),
        "comment": draw(st.sampled_from(["", "# left side\n", "% 3 stations; 2 arms\n// by hand\n\n"])),
        "end": draw(st.sampled_from(["\n", "\r\n", "\r"])),
        "encoding": draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1"])),
        "minus": draw(st.sampled_from(["-", "−"])),
    }


def written(rows: list[tuple[float, float]], how: dict[str, object]) -> bytes:
    """Return a table in one dialect; coordinates have four digits."""
    separator, names = str(how["separator"]), str(how["names"])

    def cell(text: str) -> str:
        return f'"{text}"' if how["quotes"] else text

    def line(*cells: str) -> str:
        return separator.join(map(cell, cells)) + (separator.strip() if how["trailing"] else "") + "\n"

    def figure(value: float) -> str:
        text = f"{value:.4f}".replace(
            "-", "−" if how["minus"] == "−" and how["encoding"] != "latin-1" else "-"
        )
        return text.replace(".", ",") if how["comma"] else text

    with_index = how["index"] and names != ""
    blank = " " in separator and not separator.strip()
    heads = [name.replace(" ", "_") if blank else name for name in names.split(",") if name]
    text = str(how["comment"])
    if heads:
        text += line(*(["no"] if with_index else []), *heads)
        if how["units"]:
            text += line(*(["-"] if with_index else []), "mm", "mm")
    for k, (z, r) in enumerate(rows, start=1):
        pair = (figure(r), figure(z)) if names.startswith("R") else (figure(z), figure(r))
        text += line(*([str(k)] if with_index else []), *pair)
    return text.replace("\n", str(how["end"])).encode(str(how["encoding"]))


@settings(max_examples=200)
@given(radii, dialects())
def test_an_outline_reads_back_the_same(sizes: list[int], how: dict[str, object]) -> None:
    rows = []
    for k, size in enumerate(sizes):
        angle = 2.0 * math.pi * k / len(sizes) + 0.1
        z, r = -40.0 + size / 100.0 * math.cos(angle), 150.0 + size / 100.0 * math.sin(angle)
        rows.append((round(z, 4), round(r, 4)))
    found = read_table(written(rows, how), unit="mm")
    assert found.hindrance == ""
    assert [row[:2] for row in found.loops[0]] == rows


@settings(max_examples=100)
@given(
    st.lists(st.lists(st.floats(-1e5, 1e5), min_size=3, max_size=3), min_size=2, max_size=30),
    st.sampled_from([";", "\t", ",", None]),
)
def test_the_fast_way_reads_the_same_numbers(rows: list[list[float]], separator: str | None) -> None:
    between = separator or " "
    text = "\n".join([between.join("xyz"), *(between.join(map(repr, row)) for row in rows)])
    grid = text_grid(text.encode(), 3)
    fast, odd = table_text._in_one_go(grid.lines, separator, grid.width, [0, 1, 2])
    assert fast is not None
    assert odd == []
    assert np.array_equal(fast, grid.numbers([0, 1, 2]))


@pytest.mark.parametrize("separator", [";", ",", "\t"])
def test_second_opinion_of_the_standard_library(separator: str) -> None:
    rows = [(12.5, 100.25), (40.0, 100.0), (40.25, 130.125)]
    text = io.StringIO()
    csv.writer(text, delimiter=separator, quoting=csv.QUOTE_ALL).writerows([("z_mm", "r_mm"), *rows])
    read = list(csv.reader(io.StringIO(text.getvalue()), delimiter=separator))
    again = [tuple(map(float, row)) for row in read[1:]]
    assert [row[:2] for row in read_table(text.getvalue()).loops[0]] == again


def test_second_opinion_of_numpy() -> None:
    rng = np.random.default_rng(7)
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 500))
    places = np.column_stack([20.0 + 40.0 * np.cos(angle), 150.0 + 40.0 * np.sin(angle)])
    text = io.StringIO()
    np.savetxt(text, places, header="z_mm r_mm", comments="# ")
    found = read_table(text.getvalue())
    assert found.unit == "mm"
    assert np.array_equal([row[:2] for row in found.loops[0]], np.loadtxt(io.StringIO(text.getvalue())))


def test_a_long_table_is_read_in_one_go(monkeypatch: pytest.MonkeyPatch) -> None:
    # A circle of as many rows as that takes; cell by cell must not be needed.
    count = table_text._LONG + 5
    turns = [2.0 * math.pi * k / count for k in range(count)]
    rows = "".join(
        f"{k};{30 + 40 * math.cos(t):.6f};{150 + 40 * math.sin(t):.6f};\n" for k, t in enumerate(turns)
    ).replace(".", ",")
    monkeypatch.setattr(table_text, "in_rows", lambda *_: pytest.fail("read cell by cell"))
    found = read_table("no;z_mm;r_mm;\n" + rows)
    assert len(found.loops[0]) == count
    assert found.bounds == pytest.approx((-10.0, 70.0, 110.0, 190.0), abs=1e-6)
