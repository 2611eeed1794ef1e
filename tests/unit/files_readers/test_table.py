"""Tables of rows along an outline: separators, decimal commas, names, units, encodings, what is refused."""

import math
import time

import pytest

from app.files.readers.answer import ReadError
from app.files.readers.limits import Limits
from geometry.shape.curve import Path
from tests.support.drawings import read_table

ROWS = ((12.5, 100.0), (40.25, 100.0), (40.25, 130.0))


@pytest.mark.parametrize(
    "text",
    [
        "z_mm,r_mm\n12.5,100\n40.25,100\n40.25,130\n",
        "z_mm;r_mm\n12,5;100\n40,25;100\n40,25;130\n",
        "z_mm;r_mm\n12.5;100.0\n40.25;1e2\n+40.25;1.3E2\n",
        "z_mm\tr_mm\r\n12,5\t100\r\n40,25\t100\r\n40,25\t130\r\n",
        "z_mm r_mm\n12,5 100\n40,25 100\n40,25 130",
        "  z_mm   r_mm\n  12.5   100\n 40.25  100\n 40.25  130\n",
        "R [mm], Z [mm]\n100, 12.5\n100, 40.25\n130, 40.25\n",
        '"z_mm","r_mm"\n"12.5","100"\n"40.25","100"\n"40.25","130"\n',
        "# measured on the bench\n\nz_mm;r_mm;\n12,5;100;\n\n40,25;100;\n40,25;130;\n",
        "point;z (mm);r (mm)\n1;12,5;100\n2;40,25;100\n3;40,25;130\n",
        "axial_mm,radius_mm,bulge\n12.5,100,0\n40.25,100,0\n40.25,130,0\n",
        "z;r\nmm;mm\n12,5;100\n40,25;100\n40,25;130\n",
        "Z,R\n[mm],[mm]\n12.5,100\n40.25,100\n40.25,130\n",
        "x (mm);y (mm)\n12,5;100,0\n40,25;100,0\n40,25;130,0\n",
        "x/mm;r/mm\n12,5;100,0\n40,25;100,0\n40,25;130,0\n",
        "z in mm;r in mm\n12,5;100,0\n40,25;100,0\n40,25;130,0\n",
        "Axial position [mm]|Radius [mm]\n12.5|100\n40.25|100\n40.25|130\n",
        "z_mm,diameter_mm\n12.5,200\n40.25,200\n40.25,260\n",
        '"z_mm","r_mm"\n"12,5","100,0"\n"40,25","100,0"\n"40,25","130,0"\n',
        "# z_mm r_mm\n12.5 100\n40.25 100\n40.25 130\n",
        "% unit: mm\nz r\n12.5 100\n40.25 100\n40.25 130\n",
        "Bench 4, left caliper\nAll dimensions in mm\n\nz,r\n12.5,100\n40.25,100\n40.25,130\nEND\n",
        ";z_mm;r_mm;\n;12,5;100;\n;;;\n;40,25;100;\n;40,25;130;\n",
        "name;z_mm;r_mm;note\nA;12,5;100;\nB;40,25;100;fillet R5\nC;40,25;130;\n",
        "x_mm;y_mm;z_mm;r_mm\n1;2;12,5;100\n1;2;40,25;100\n1;2;40,25;130\n",
        "z_mm,r_mm\r12.5,100\r40.25,100\r40.25,130\r\x1a",
    ],
)
def test_one_outline_in_many_dresses(text: str) -> None:
    found = read_table(text)
    assert found.kind == "table"
    assert found.unit == "mm"
    assert tuple(row[:2] for row in found.loops[0]) == ROWS
    assert found.bounds == (12.5, 40.25, 100.0, 130.0)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "latin-1"])
def test_encodings(encoding: str) -> None:
    text = "# Prüfstand\nz_mm;r_mm\n−12,5;100\n40,25;100\n40,25;130\n"
    if encoding == "latin-1":
        text = text.replace("−", "-")
    assert read_table(text.encode(encoding)).loops[0][0] == (-12.5, 100.0, 0.0)


@pytest.mark.parametrize("mark", ["\xfe\xff", "\xff\xfe"])
def test_utf_16_both_ways_round(mark: str) -> None:
    order = "utf-16-be" if mark == "\xfe\xff" else "utf-16-le"
    data = mark.encode("latin-1") + "z_mm;r_mm\n1;2\n5;2\n5;9\n".encode(order)
    assert read_table(data).bounds == (1.0, 5.0, 2.0, 9.0)


class TestUnit:
    def test_inches_in_the_header(self) -> None:
        assert read_table("z_in,r_in\n0,4\n1,4\n1,5\n").bounds == pytest.approx((0.0, 25.4, 101.6, 127.0))

    def test_no_unit_is_never_guessed(self) -> None:
        found = read_table("z,r\n0,100\n30,100\n30,130\n")
        assert found.unit == "not known"
        with pytest.raises(ReadError, match="--unit mm or --unit in"):
            found.loops_mm()
        assert read_table("z,r\n0,100\n30,100\n30,130\n", unit="mm").loops_mm()[0][1] == (30.0, 100.0, 0.0)

    def test_a_given_unit_beats_the_header_and_says_so(self) -> None:
        found = read_table("z_in,r_in\n0,100\n30,100\n30,130\n", unit="mm")
        assert (found.unit, found.bounds[3]) == ("mm", 130.0)
        assert "the header states in; read as mm, as asked" in found.warnings

    def test_two_units_are_refused(self) -> None:
        with pytest.raises(ReadError, match="different units"):
            read_table("z_mm,r_in\n0,4\n1,4\n1,5\n")


def test_without_names_the_order_is_said() -> None:
    found = read_table("0;100\n30;100\n30;130\n")
    assert found.unit == "not known"
    assert "the first column is taken as z, the second as r" in found.warnings[0]


def test_arcs_by_bulge() -> None:
    # A half disc of radius 10 on a chord of 20.
    path = Path.closed(read_table("z_mm,r_mm,bulge\n20,100,1\n0,100,0\n").loops[0])
    assert path.area == pytest.approx(50.0 * math.pi, abs=1e-9)


def test_a_clockwise_table_is_turned() -> None:
    rows = read_table("z_mm,r_mm\n0,100\n0,130\n30,100\n").loops[0]
    assert rows == ((0.0, 100.0, 0.0), (30.0, 100.0, 0.0), (0.0, 130.0, 0.0))


def test_a_first_point_repeated_at_the_end_is_one_point() -> None:
    found = read_table("z_mm,r_mm\n0,100\n30,100\n30,130\n0,100\n")
    assert (len(found.loops[0]), found.skipped, found.warnings) == (3, {}, ())


def test_repeated_points_are_counted() -> None:
    assert read_table("z_mm,r_mm\n0,100\n30,100\n30,100\n30,130\n").skipped == {"repeated points": 1}


def test_a_long_way_back_to_the_first_point_is_said() -> None:
    found = read_table("z_mm,r_mm\n0,100\n30,110\n60,115\n90,100\n")
    assert found.warnings == ("the last point is joined to the first by a straight line of 90.000",)


def test_a_leap_between_rows_evenly_spaced_is_said() -> None:
    # Round an arch of 1 degree steps; the last 60 degrees were not seen.
    rows = [(60 * math.cos(math.radians(a)), 100 + 60 * math.sin(math.radians(a))) for a in range(120)]
    low = [(50 * z / 60, 100 + 50 * (r - 100) / 60) for z, r in reversed(rows)]
    shifted = [*rows, *low][100:] + [*rows, *low][:100]
    found = read_table("z_mm,r_mm\n" + "".join(f"{z:.6f},{r:.6f}\n" for z, r in shifted))
    assert found.warnings == ()
    gone = shifted[:40] + shifted[90:]
    (said,) = read_table("z_mm,r_mm\n" + "".join(f"{z:.6f},{r:.6f}\n" for z, r in gone)).warnings
    assert "there is no point over" in said
    assert "a straight line is drawn there" in said


class TestColumns:
    def test_the_user_says_what_unnamed_columns_are(self) -> None:
        text = "1;100;0;12,5\n2;100;0;40,25\n3;130;0;40,25\n"
        hindered = read_table(text, unit="mm")
        assert "4 columns without names, the first of which counts the rows" in hindered.hindrance
        assert (hindered.loops, hindered.columns) == ((), ("", "", "", ""))
        with pytest.raises(ReadError, match="--columns"):
            hindered.loops_mm()
        found = read_table(text, unit="mm", columns=("", "r", "", "z"))
        assert tuple(row[:2] for row in found.loops[0]) == ROWS
        assert found.columns == ("", "r", "", "z")

    def test_the_user_beats_the_names_and_that_is_said(self) -> None:
        text = "z_mm;r_mm\n100;12,5\n100;40,25\n130;40,25\n"
        found = read_table(text, columns=("r", "z"))
        assert {row[:2] for row in found.loops[0]} == set(ROWS)
        assert found.warnings[0] == "the columns are named 'z_mm, r_mm'; read as r, z, as asked"

    def test_names_that_say_nothing_are_settled_by_the_user(self) -> None:
        text = "length,height\n12.5,100\n40.25,100\n40.25,130\n"
        assert "the columns are named 'length, height'" in read_table(text, unit="mm").hindrance
        found = read_table(text, unit="mm", columns=("x", "y"))
        assert tuple(row[:2] for row in found.loops[0]) == ROWS

    @pytest.mark.parametrize(
        "names", ["z_mm,y_mm", "x_mm,z_mm", "y_mm,z_mm", "a,b", "z_mm,z_mm", "r_mm,diameter_mm"]
    )
    def test_names_that_can_mean_two_things_hinder(self, names: str) -> None:
        found = read_table(names + "\n1,2\n5,2\n5,9\n")
        assert "name the columns z_mm, r_mm" in found.hindrance

    def test_a_column_of_red_is_no_radius(self) -> None:
        found = read_table("x,y,z,r,g,b\n0,100,0,9,9,9\n30,100,0,9,9,9\n30,0,130,7,7,7\n", unit="mm")
        assert found.columns == ("x", "y", "z", "", "", "")

    @pytest.mark.parametrize(
        ("columns", "words"),
        [
            (("z", "q"), "'q' is not known"),
            (("z",), "one column each must be z and r"),
            (("z", "y"), "one column each must be z and r"),
            (("z", "z"), "one column each must be z and r"),
            (("z", "r", "x"), "names 3 columns, the table has 2"),
        ],
    )
    def test_impossible_columns_are_refused(self, columns: tuple[str, ...], words: str) -> None:
        with pytest.raises(ReadError, match=words):
            read_table("1;2\n5;2\n5;9\n", columns=columns)

    def test_columns_settle_what_a_comma_means(self) -> None:
        text = "12,100,7\n40,100,7\n40,130,7\n"
        with pytest.raises(ReadError, match="two numbers, one with a decimal comma, or three"):
            read_table(text)
        assert read_table(text, unit="mm", columns=("z", "r", "")).bounds == (12.0, 40.0, 100.0, 130.0)


class TestStatedUnits:
    @pytest.mark.parametrize(
        ("head", "unit"),
        [
            ("# units: mm\n", "mm"),
            ("# Unit = inch\n", "in"),
            ("# z and r in inches\n", "in"),
            ("Einheit: cm\n", "cm"),
            ("# [mm]\n", "mm"),
            ("# measured on 3 May in the shop\n", "not known"),
            ("# 3 stations\n", "not known"),
        ],
    )
    def test_in_notes(self, head: str, unit: str) -> None:
        rows = "z;r\n1;2\n8;2\n8;9\n" if unit != "mm" else "z;r\n10;20\n80;20\n80;90\n"
        assert read_table(head + rows).unit == unit

    def test_two_in_notes_are_none(self) -> None:
        found = read_table("# units: mm\n# values in inch\nz;r\n10;20\n80;20\n80;90\n")
        assert (found.unit, found.unit_doubt) == ("not known", "notes in the file speak of in and of mm")

    def test_one_that_is_not_converted(self) -> None:
        found = read_table("z [µm];r [µm]\n10;20\n80;20\n80;90\n")
        assert (found.unit, found.unit_doubt) == ("not known", "the file states µm, which is not converted")

    def test_an_unlikely_size_makes_it_not_known(self) -> None:
        found = read_table("z_in,r_in\n10,100\n80,100\n80,190\n")
        assert found.unit == "not known"
        assert (
            "with the unit taken as in the outline is 2286 mm large; it would be 90 mm with mm"
            in found.unit_doubt
        )
        assert found.bounds == (10.0, 80.0, 100.0, 190.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the file is empty"),
        ("# nothing\n", "the table is empty"),
        ("z_mm,r_mm\n", "is no row of numbers"),
        ("hello world\nthis is prose\n", "is no row of numbers"),
        ("z_mm,r_mm\n0,1\n0,2\n0,3\n", "the 3 points enclose no area"),
        ("z_mm,r_mm\n0,1\nnan,2\n9,3\n", "line 3: 'nan' is no plain number"),
        ("z_mm,r_mm\n0,1\n-inf,2\n9,3\n", "line 3: '-inf' is no plain number"),
        ("z_mm,r_mm\n0,1\n1e400,2\n9,3\n", "line 3: '1e400' is too large"),
        ("z_mm,r_mm\n0,1\n1_0,2\n9,3\n", "line 3: '1_0' is no plain number"),
        ("z_mm;r_mm\n0;1\n1.234,5;2\n9;3\n", "line 3: '1.234,5' is no plain number"),
        ("z_mm;r_mm\n0,5;1\n1.5;2\n9;3\n", "line 3: '1.5': the table mixes decimal commas and points"),
        ("z_mm,r_mm\n0,1\n5 mm,2\n9,3\n", "line 3: '5 mm' is no plain number"),
        ("z_mm,r_mm\n0,1\n5\n9,3\n", "line 3: 1 cells where 2 belong"),
        ("z_mm,r_mm\n0,1\n5,,2\n9,3\n", "line 3: 3 cells where 2 belong"),
        ("z_mm,r_mm\n12,5,34,2\n3,4,5,6\n", "two numbers with a decimal comma or four; save with semicolons"),
        ("length,height\n1,2\n3,4\n", "name the columns z_mm, r_mm"),
        ("z_mm,r_mm,r_mm\n1,2,3\n3,4,5\n", "name the columns z_mm, r_mm"),
        ("z_mm;r_mm\n0;1\n;2\n9;3\n", "line 3: a number is missing"),
        ("z_mm;r_mm\n0;1\nend of upper side\n9;3\n", "line 3: 1 cells where 2 belong"),
        ("z_mm;r_mm\n12.03.2024;1\n5;2\n9;3\n", "line 2: '12.03.2024' is no plain number|line 2 holds"),
        ("nan;2\n3;4\n5;7\n", "neither names nor numbers"),
        ("z_mm,r_mm\n0,-1\n5,2\n9,3\n", "reaches r = -1 mm at z = 0.000, below the axle line"),
        ("z_mm,r_mm,bulge\n0,3,2\n10,3,0\n", "below the axle line"),
        ("z_mm,r_mm\n0,1\n50000,2\n9,3\n", "more than 10000; check the unit"),
    ],
)
def test_what_is_refused(text: str, words: str) -> None:
    with pytest.raises(ReadError) as error:
        read_table(text, unit="mm").loops_mm()
    assert any(word in str(error.value) for word in words.split("|")), str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    "data",
    [
        b"\x00\x01\x02",
        b"PK\x03\x04\x00\x00",
        b"\xff\xfez\x00,",
        bytes(range(256)),
        b"\x00" * 5000,
        b"\x00z\x00",
    ],
)
def test_binary_data_is_refused(data: bytes) -> None:
    with pytest.raises(ReadError, match=r"binary data|broken UTF-16|no row of numbers"):
        read_table(data)


class TestLimits:
    def test_more_rows_than_an_outline_may_have(self) -> None:
        rows = "".join(f"{50 + i % 7},{50 + i % 5}\n" for i in range(200_001))
        with pytest.raises(ReadError, match="more than 200000 points along one outline"):
            read_table("z_mm,r_mm\n" + rows, points="outline")

    def test_rows_at_the_limit_and_one_more(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("app.files.readers.table_text.TABLE", Limits(10**6, 10.0, 2 << 30, 4, 4, 1))
        assert len(read_table("z_mm,r_mm\n0,50\n30,50\n30,80\n").loops[0]) == 3
        with pytest.raises(ReadError, match="more than 4 rows"):
            read_table("z_mm,r_mm\n0,50\n30,50\n30,80\n0,80\n")


class TestHostile:
    """Each ends in one clear line, soon."""

    @pytest.mark.parametrize(
        "text",
        [
            '"' + "1,2\n" * 200_000,
            "z_mm,r_mm\n" + '"1,2\n' * 100_000,
            "1" * 3_000_000,
            "1," * 1_500_000,
            " " * 3_000_000 + "x",
            ";" * 3_000_000,
            "z_mm," * 100_000 + "\n" + "1," * 100_000,
            "#" * 3_000_000,
            "# in " * 500_000 + "\n1;2\n",
            "z_mm;r_mm\n" + "1;2;3\n" * 100_000,
            "z_mm;r_mm\n" + "9" * 400 + ";1\n" * 3,
        ],
    )
    def test_long_and_broken(self, text: str) -> None:
        start = time.monotonic()
        with pytest.raises(ReadError) as error:
            read_table(text, unit="mm").loops_mm()
        assert "\n" not in str(error.value)
        assert time.monotonic() - start < 10.0

    @pytest.mark.parametrize(
        "cell", ["nan", "inf", "-Infinity", "1e400", "1e309", "0x10", "1e", "--1", "1_000", "\u0661"]
    )
    @pytest.mark.parametrize("rows", [3, 30_000])
    def test_what_is_no_finite_number(self, cell: str, rows: int) -> None:
        text = (
            "z_mm;r_mm\n" + "".join(f"{k % 90};{50 + k % 70}\n" for k in range(rows)) + f"{cell};60\n5;70\n"
        )
        with pytest.raises(ReadError, match=f"line {rows + 2}: .* (is no plain number|is too large)"):
            read_table(text)

    def test_a_formula_is_text(self) -> None:
        with pytest.raises(ReadError, match="is no plain number"):
            read_table("z_mm;r_mm\n0;50\n=1+1;60\n5;70\n")


class TestOddDresses:
    ROWS = ((12.5, 100.0), (40.25, 100.0), (40.25, 130.0))

    @pytest.mark.parametrize(
        ("text", "unit"),
        [
            ("z_mm,r_mm\n12.5,100 # one\n40.25,100\n40.25,130  // last\n", "mm"),
            ("Achse z [mm];Halbmesser r [mm]\n12,5;100\n40,25;100\n40,25;130\n", "mm"),
            ("z;r\n12,5 mm;100 mm\n40,25 mm;100 mm\n40,25 mm;130 mm\n", "mm"),
            ("z [mm],dia [mm]\n12.5,200\n40.25,200\n40.25,260\n", "mm"),
        ],
    )
    def test_is_read(self, text: str, unit: str) -> None:
        found = read_table(text)
        assert (found.unit, tuple(row[:2] for row in found.loops[0])) == (unit, self.ROWS)

    def test_an_error_beside_a_coordinate_is_none(self) -> None:
        found = read_table("z_mm,r_mm,z error,delta r\n12.5,100,9,9\n40.25,100,9,9\n40.25,130,9,9\n")
        assert found.columns == ("z", "r", "", "")

    def test_different_units_behind_numbers_are_refused(self) -> None:
        with pytest.raises(ReadError, match="different units"):
            read_table("z;r\n1 in;100 mm\n2 in;100 mm\n2 in;130 mm\n")

    def test_a_unit_that_the_user_says_leaves_no_doubt(self) -> None:
        text = "# unit: mil\nz,r\n12.5,100\n40.25,100\n40.25,130\n"
        assert "mil" in read_table(text).unit_doubt
        found = read_table(text, unit="mm")
        assert (found.unit, found.unit_doubt) == ("mm", "")

    def test_an_upper_edge_alone_is_open_until_it_is_closed(self) -> None:
        edge = "".join(f"{z},{200 - z * z / 100}\n" for z in range(-60, 61, 2))
        found = read_table("z_mm,r_mm\n" + edge)
        assert (found.loops, len(found.open)) == ((), 1)
        assert found.open[0][-1] == (60.0, 164.0, 0.0)
        with pytest.raises(ReadError, match="--close"):
            found.usable_loops_mm()
        assert len(read_table("z_mm,r_mm\n" + edge, close=True).usable_loops_mm()) == 1
