"""The roadmap table: exact round trip, and every problem of every row with its mend."""

from __future__ import annotations

import string
from dataclasses import replace
from typing import Any, TypeVar

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from app.files.readers.answer import ReadError
from app.files.readers.roadmap_file import as_text, grid_of, guarded, split
from app.files.writers.roadmap import roadmap_csv, texts_of
from app.project.edits import EditError
from app.project.programme import Programme
from app.project.project import Compromise, Fitment, Project
from app.project.roadmap_columns import COLUMNS, HEADS, cell_text
from app.project.roadmap_rows import ReadTable, read_rows, read_table, taken
from tests.support import example

T = TypeVar("T")

PROJECT = example.project()
BRAKES = [s.name for s in PROJECT.shapes]

WORDS = st.text(st.sampled_from(string.ascii_letters + "äß '\"=+-@,;\t\n0"), max_size=12).map(str.strip)
NAMES = st.text(st.sampled_from(string.ascii_letters + "äß '\"=+-@,;0"), min_size=1, max_size=12).map(
    str.strip
)


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Any double of a range; nearer to zero than 1e-60 its digits would not go into a cell."""
    return st.floats(low, high).filter(lambda x: x == 0.0 or abs(x) > 1e-60)


def perhaps(strategy: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    return st.none() | strategy


def pair(low: float, high: float) -> st.SearchStrategy[list[float]]:
    return st.lists(floats(low, high), min_size=2, max_size=2).map(sorted)


@st.composite
def fitments(draw: st.DrawFn) -> Fitment:
    """Fitments without a contradiction; they leave open what they like."""
    inset, years = (
        draw(pair(-60.0, 120.0)),
        sorted(draw(st.lists(st.integers(2020, 2040), min_size=2, max_size=2))),
    )
    volumes = sorted(draw(st.lists(st.integers(0, 900), min_size=3, max_size=3)))
    money = floats(-1e6, 1e6)
    brake = draw(perhaps(st.sampled_from(BRAKES)))
    given = None
    if draw(st.booleans()):
        window = draw(pair(-60.0, 120.0))
        given = Compromise(
            draw(WORDS),
            draw(perhaps(floats(3.0, 18.0))),
            window[0],
            window[1],
            draw(perhaps(floats(1.0, 80.0))),
            draw(floats(0.0, 1.0)),
            draw(perhaps(money)),
        )
    others = [b for b in BRAKES if b != brake]
    return Fitment(
        draw(NAMES.filter(bool)),
        customer=draw(WORDS),
        car=draw(WORDS),
        axle=draw(st.sampled_from(["", "front", "rear, lowered"])),
        use=draw(WORDS),
        diameter_code=draw(perhaps(floats(10.0, 30.0))),
        width_code=draw(perhaps(floats(3.0, 18.0))),
        flange=draw(st.sampled_from(["J", "JJ", "B"])),
        inset_low_mm=draw(st.sampled_from([None, inset[0]])),
        inset_high_mm=draw(st.sampled_from([None, inset[1]])),
        tyre=draw(WORDS),
        load_kg=draw(perhaps(floats(50.0, 6000.0))),
        bolt_count=draw(perhaps(st.integers(1, 20))),
        bolt_circle_mm=draw(perhaps(floats(90.0, 500.0))),
        bore_mm=draw(perhaps(floats(20.0, 89.0))),
        shape=brake,
        must=draw(st.sampled_from([None, True, False])),
        certainty=draw(perhaps(floats(0.0, 1.0))),
        first_year=draw(st.sampled_from([None, years[0]])),
        last_year=draw(st.sampled_from([None, years[1]])),
        volume_low=draw(st.sampled_from([None, volumes[0]])),
        volume_likely=draw(st.sampled_from([None, volumes[1]])),
        volume_high=draw(st.sampled_from([None, volumes[2]])),
        contribution=draw(perhaps(money)),
        car_class=draw(WORDS),
        lip_mm=draw(perhaps(floats(1.0, 80.0))),
        spoke_mm=draw(perhaps(floats(1.0, 250.0))),
        compromise=given,
        compromise_shape=draw(st.none() | st.sampled_from(others)) if given and others else None,
        multi_piece_price=draw(perhaps(floats(0.0, 1e6))),
        notes=draw(st.sampled_from([{}, {"by": "me"}])),
    )


@settings(max_examples=30, deadline=None)
@given(st.lists(fitments(), min_size=1, max_size=4, unique_by=lambda f: f.name))
def test_fitments_written_and_read_again_are_equal(rows: list[Fitment]) -> None:
    project = replace(PROJECT, fitments=tuple(rows))
    for text in (
        roadmap_csv(rows).decode("utf-8-sig"),
        as_text([HEADS, *map(texts_of, rows)], "\t").replace("\n", "\r\n"),
    ):
        table = read_table(grid_of(text.replace("\r\n", "\n")), project)
        assert table.all_problems == ()
        # Over themselves the notes stay; into a project without them they are not in the table.
        assert taken(project, table).fitments == tuple(rows)
        alone = taken(replace(PROJECT, fitments=()), read_table(grid_of(text), PROJECT))
        assert alone.fitments == tuple(replace(f, notes={}) for f in rows)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (18.0, "18"),
        (9.5, "9.5"),
        (1.25, "1.25"),
        (1.125, "1.1250"),
        (1e-7, "0.0000001"),
        (140, "140"),
        (None, ""),
    ],
)
def test_numbers_are_written_in_their_shortest_exact_form(value: float | None, text: str) -> None:
    assert cell_text(value) == text


def one(project: Project = PROJECT, **cells: Any) -> ReadTable:
    """Read a sound row with some cells changed, by key; a point of a key is written __."""
    sound = {
        "name": "R-1",
        "diameter_code": "18",
        "width_code": "10",
        "inset_low_mm": "32",
        "inset_high_mm": "45",
        "must": "must",
        "certainty": "0.8",
        "first_year": "2027",
        "last_year": "2032",
        "volume_low": "60",
        "volume_likely": "140",
        "volume_high": "220",
        "contribution": "310",
    }
    sound |= {key.replace("__", "."): text for key, text in cells.items()}
    return read_table([HEADS, [sound.get(c.key, "") for c in COLUMNS]], project)


def test_the_row_of_the_handbook_is_sound() -> None:
    """R-1 of the invented demo: 18 x 10 J, 32 to 45, must, 0.8, 2027 to 2032, 60 / 140 / 220, 310."""
    (row,) = one().sound
    assert row.fitment == Fitment(
        "R-1",
        diameter_code=18.0,
        width_code=10.0,
        inset_low_mm=32.0,
        inset_high_mm=45.0,
        must=True,
        certainty=0.8,
        first_year=2027,
        last_year=2032,
        volume_low=60,
        volume_likely=140,
        volume_high=220,
        contribution=310.0,
    )
    assert {"brake", "rule set", "bolts", "bore", "wheel load"} <= set(row.open)


@pytest.mark.parametrize(
    ("cells", "key", "words"),
    [
        ({"name": ""}, "name", "is missing"),
        ({"width_code": "254"}, "width_code", "254 mm would be 10"),
        ({"width_code": "18 x 10"}, "width_code", "a column each"),
        ({"diameter_code": "457,2"}, "diameter_code", "457.2 mm would be 18"),
        ({"diameter_code": "180"}, "diameter_code", "10 to 30"),
        ({"inset_low_mm": "38 kg"}, "inset_low_mm", "'kg' is not a unit of length"),
        ({"inset_low_mm": "ET 38"}, "inset_low_mm", "a number is missing"),
        ({"inset_high_mm": "4500"}, "inset_high_mm", "too large for an inset"),
        ({"bolt_circle_mm": "4.5"}, "bolt_circle_mm", "4.5 in is meant (114.30 mm)"),
        ({"bore_mm": "2.83"}, "bore_mm", "write the unit behind it"),
        ({"lip_mm": "0.25"}, "lip_mm", "0.25 in is meant (6.35 mm)"),
        ({"lip_mm": "-6"}, "lip_mm", "too small"),
        ({"load_kg": "0.69"}, "load_kg", "too small for the load"),
        ({"load_kg": "690 mm"}, "load_kg", "'mm' is not a unit of mass"),
        ({"bolt_count": "5x120"}, "bolt_count", "not a whole number"),
        ({"volume_low": "-60"}, "volume_low", "-60 is negative"),
        ({"volume_likely": "1.000"}, "volume_likely", "thousands without a mark: 1000"),
        ({"volume_likely": "140.5"}, "volume_likely", "not a whole number"),
        ({"volume_likely": "many"}, "volume_likely", "not a whole number"),
        ({"volume_low": "230"}, "volume_low", "do not rise: low 230, likely 140, high 220"),
        ({"first_year": "2033"}, "first_year", "from 2033 to 2032"),
        ({"first_year": "27"}, "first_year", "as 2027"),
        ({"first_year": "2027-03-01"}, "first_year", "is a date"),
        ({"first_year": "1927"}, "first_year", "1990 to 2200"),
        ({"certainty": "80"}, "certainty", "write 0.8"),
        ({"certainty": "80 %"}, "certainty", "write 0.8"),
        ({"certainty": "-0.1"}, "certainty", "from 0 to 1"),
        ({"certainty": "likely"}, "certainty", "from 0 to 1"),
        ({"must": "must, want"}, "must", "says both"),
        ({"must": "yes"}, "must", "must or want"),
        ({"inset_low_mm": "46"}, "inset_low_mm", "from 46 mm to 45 mm"),
        ({"shape": BRAKES[0].upper()}, "shape", f"the nearest is '{BRAKES[0]}'"),
        ({"shape": BRAKES[0][:7]}, "shape", f"the nearest is '{BRAKES[0]}'"),
        ({"rules": "no such set"}, "rules", "the project has no rule set 'no such set'"),
        ({"wheel": example.WHEEL, "diameter_code": "17"}, "diameter_code", "is not the diameter of"),
        ({"bolt_circle_mm": "112", "bore_mm": "112"}, "bore_mm", "not smaller than the bolt circle"),
        ({"contribution": "1,250"}, "contribution", "can be 1250 or 1.250"),
        ({"contribution": "310 EUR"}, "contribution", "currency"),
        ({"multi_piece_price": "-900"}, "multi_piece_price", "negative"),
        ({"compromise__words": "less lip"}, "compromise.share", "is missing"),
        ({"compromise__share": "70"}, "compromise.share", "write 0.7"),
        ({"compromise_shape": BRAKES[0]}, "compromise_shape", "no share"),
        (
            {"compromise__share": "1", "compromise__inset_low_mm": "46"},
            "compromise.inset_low_mm",
            "from 46 mm to 45 mm",
        ),
        (
            {"shape": BRAKES[0], "compromise_shape": BRAKES[0], "compromise__share": "1"},
            "compromise_shape",
            "itself",
        ),
        ({"car": "a\x07b"}, "car", "cannot be printed"),
    ],
)
def test_a_bad_cell_is_named_with_its_mend_and_the_row_is_not_taken(
    cells: dict[str, Any], key: str, words: str
) -> None:
    table = one(**cells)
    assert [p.key for p in table.all_problems] == [key]
    (problem,) = table.all_problems
    assert words in problem.words
    assert (problem.row, table.sound) == (2, ())
    assert taken(PROJECT, table) == PROJECT


def test_a_row_that_ends_before_the_programme_begins_is_a_contradiction() -> None:
    late = replace(PROJECT, programme=replace(Programme(), first_year=2033))
    assert "before the programme begins in 2033" in one(late).all_problems[0].words


def test_every_problem_of_a_row_is_listed_and_not_the_first_alone() -> None:
    table = one(width_code="254", first_year="27", volume_low="230", must="yes")
    assert {p.key for p in table.all_problems} == {"width_code", "first_year", "volume_low", "must"}


def test_units_stand_in_the_head_or_behind_the_number_and_are_never_guessed() -> None:
    rows = [["Name", "Inset from, in", "Bore, mm", "Wheel load, lb"], ["a", "1.5", "2 7/8 in", "1500"]]
    (row,) = read_table(rows, PROJECT).sound
    assert row.fitment is not None
    # 25.4 mm to the inch and 0.45359237 kg to the pound, exactly (international yard and pound, 1959).
    assert row.fitment.inset_low_mm == 38.1
    assert row.fitment.bore_mm == 73.025
    assert row.fitment.load_kg == pytest.approx(1500 * 0.45359237, abs=1e-9)
    bare = read_table([["Name", "Inset from"], ["a", "38"]], PROJECT)
    assert "'Inset from, mm' or 'Inset from, in'" in bare.problems[0].words
    assert bare.sound == ()


def test_heads_that_are_misspelt_doubled_or_strange_are_listed() -> None:
    table = read_table(
        [["Name", "Widht code", "Car", "car", "Colour", ""], ["a", "9", "x", "y", "red", "7"]], PROJECT
    )
    assert [p.words.split(";")[0] for p in table.problems] == [
        "is not a head of this table",
        "stands twice in the row of heads",
        "has cells but no head",
    ]
    assert "'Width code' is the nearest" in table.problems[0].words
    assert table.left_out == ("Colour",)
    assert table.sound == ()


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], "the table is empty"),
        ([["", " "]], "the table is empty"),
        ([list(HEADS)], "no row below the heads"),
        ([["R-1", "18"], ["R-2", "17"]], "no column Name"),
    ],
)
def test_a_table_without_rows_or_heads_is_said(rows: list[list[str]], words: str) -> None:
    table = read_table(rows, PROJECT)
    assert words in table.all_problems[-1].words
    assert table.rows == ()


def test_doubles_are_refused_in_both_rows() -> None:
    table = read_table([["Name"], ["a"], [""], ["b"], ["a"]], PROJECT)
    assert [(p.row, p.words.split(" as")[0]) for p in table.all_problems] == [
        (2, "'a' stands in row 5"),
        (5, "'a' stands in row 2"),
    ]
    assert [row.name for row in table.sound] == ["b"]


def test_what_the_table_lacks_stays_and_an_empty_cell_is_not_known() -> None:
    old = Fitment(
        "a", customer="Team", car="Car", bore_mm=72.0, notes={"k": 1}, compromise=Compromise(share=0.5)
    )
    project = replace(PROJECT, fitments=(old, Fitment("b")))
    table = read_table([["Name", "Car", "Use"], ["b", "x", ""], ["a", "", "road"], ["c", "", ""]], project)
    made = taken(project, table).fitments
    assert made == (replace(old, car="", use="road"), Fitment("b", car="x"), Fitment("c"))
    # What a row takes away is said, so that an empty cell costs nobody a value unseen.
    assert [row.emptied for row in table.sound] == [(), ("Car",), ()]


def test_heads_may_stand_below_titles_which_are_said() -> None:
    rows = [["", ""], ["Plan 27"], [], ["Name", "Bolts"], ["a", "five"]]
    table = read_table(rows, PROJECT)
    assert [(p.row, p.key) for p in table.all_problems] == [(5, "bolt_count")]
    assert table.said == ("above the heads, row 2 is passed over",)


def test_a_row_with_more_cells_than_heads_is_refused() -> None:
    table = read_table([["Name", "Car"], ["a", "x", "y"], ["b"]], PROJECT)
    assert "3 cells where 2 belong" in table.all_problems[0].words
    assert [row.name for row in table.sound] == ["b"]


def test_names_may_be_exchanged_but_never_doubled() -> None:
    project = replace(PROJECT, fitments=(Fitment("a"), Fitment("b"), Fitment("c")))
    a, b, c = project.fitments
    swapped = read_rows([(1, {"name": "b"}, a), (2, {"name": "a"}, b)], project)
    assert [f.name for f in taken(project, ReadTable(tuple(swapped))).fitments] == ["b", "a", "c"]
    (taken_name,) = read_rows([(1, {"name": "c"}, a)], project)
    assert "already" in taken_name.problems[0].words
    chain = read_rows([(1, {"name": "b"}, a), (2, {"name": "x", "must": "?"}, b)], project)
    assert not any(row.fitment for row in chain)
    with pytest.raises(EditError, match="called 'c'"):
        taken(project, ReadTable((replace(swapped[0], fitment=Fitment("c"), replaces="a"),)))
    assert c.name == "c"


def test_five_thousand_rows_with_errors_are_all_listed() -> None:
    rows: list[list[str]] = [list(HEADS)]
    for k in range(5000):
        row = dict.fromkeys((c.key for c in COLUMNS), "")
        row |= {"name": f"R-{k % 4000}", "inset_low_mm": "38 kg", "shape": f"Brake {k}", "volume_low": "-1"}
        rows.append(list(row.values()))
    table = read_table(rows, PROJECT)
    assert len(table.rows) == 5000
    # Three in every row, and 1,000 names twice.
    assert len(table.all_problems) == 3 * 5000 + 2 * 1000
    assert [p.row for p in table.all_problems] == sorted(p.row for p in table.all_problems)


def test_insets_that_are_likely_inches_are_doubted_and_not_changed() -> None:
    heads = ["Name", "Inset from, mm", "Inset to, mm"]
    inches = read_table([heads, ["a", "1.25", "1.5"], ["b", "0.5", "1.75"]], PROJECT)
    assert "if they are inches" in inches.said[0]
    assert inches.rows[0].fitment is not None
    assert inches.rows[0].fitment.inset_low_mm == 1.25
    for plain in (["a", "1", "2"], ["a", "32.5", "45"]):
        assert read_table([heads, plain, ["b", "0", "1"]], PROJECT).said == ()


ODD = st.sampled_from(
    [
        "",
        "1",
        "-1",
        "1e5",
        "nan",
        "inf",
        "0",
        "9" * 40,
        "1/0",
        "5 1/2",
        "1,000",
        "80 %",
        "=A1",
        "ET 38",
        "\x00",
        "٣",
        "²",
    ]
)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.lists(ODD | st.text(max_size=8), min_size=len(COLUMNS), max_size=len(COLUMNS)), max_size=4)
)
def test_no_text_breaks_the_reading_and_no_row_is_lost(rows: list[list[str]]) -> None:
    table = read_table([list(HEADS), *rows], PROJECT)
    filled = [k for k, row in enumerate(rows, start=2) if any(cell.strip() for cell in row)]
    assert [row.number for row in table.rows] == filled
    assert all((row.fitment is None) == bool(row.problems) for row in table.rows)
    assert all(p.words and p.row >= 1 for p in table.all_problems)
    made = taken(PROJECT, table).fitments
    # What is taken reads back: nothing is taken that the table would refuse.
    again = read_table(
        [list(HEADS), *([c.text(f) for c in COLUMNS] for f in made)], replace(PROJECT, fitments=made)
    )
    assert [row.fitment for row in again.rows] == list(made)


@given(st.text(st.sampled_from("ab\"\t\n\r;,'=") | st.characters(), max_size=30))
def test_any_text_is_cut_or_refused_and_reads_back_as_it_was_cut(text: str) -> None:
    try:
        grid = grid_of(text)
    except ReadError:
        # Only an open quotation mark refuses a text.
        assume(False)
    cells = [[cell.removeprefix("'") for cell in row] for row in grid]
    assert split(as_text([[guarded(cell) for cell in row] for row in cells], "\t"), "\t") == cells
