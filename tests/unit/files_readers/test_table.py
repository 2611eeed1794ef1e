"""Tables of points in: separators, decimal commas, names, units, encodings, and what is refused."""

import math

import pytest

from app.files.readers.answer import ReadError
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
    found = read_table("z_mm,r_mm\n0,100\n30,100\n60,105\n90,100\n")
    assert found.warnings == ("the last point is joined to the first by a straight line of 90.000",)


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
        ("1;2;3\n4;5;6\n", "3 columns without names"),
        ("length,height\n1,2\n3,4\n", "name the columns z_mm, r_mm"),
        ("z_mm,diameter_mm\n1,2\n3,4\n", "name the columns z_mm, r_mm"),
        ("z_mm,r_mm,r_mm\n1,2,3\n3,4,5\n", "name the columns z_mm, r_mm"),
        ("nan;2\n3;4\n5;7\n", "neither names nor numbers"),
        ("z_mm,r_mm\n0,-1\n5,2\n9,3\n", "reaches r = -1 mm at z = 0.000, below the axle line"),
        ("z_mm,r_mm,bulge\n0,3,2\n10,3,0\n", "below the axle line"),
        ("z_mm,r_mm\n0,1\n50000,2\n9,3\n", "more than 10000; check the unit"),
    ],
)
def test_what_is_refused(text: str, words: str) -> None:
    with pytest.raises(ReadError) as error:
        read_table(text)
    assert words in str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    "data", [b"\x00\x01\x02", b"PK\x03\x04\x00\x00", b"\xff\xfez\x00,", bytes(range(256))]
)
def test_binary_data_is_refused(data: bytes) -> None:
    with pytest.raises(ReadError, match=r"binary data|broken UTF-16|no row of numbers"):
        read_table(data)


def test_too_many_points() -> None:
    rows = "".join(f"{i % 7},{50 + i % 5}\n" for i in range(200_001))
    with pytest.raises(ReadError, match="more than 200000 points"):
        read_table("z_mm,r_mm\n" + rows)
