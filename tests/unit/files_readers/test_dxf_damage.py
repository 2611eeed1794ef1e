"""Damaged, hostile and hopeless DXF files: each ends at its limit with one clear line."""

import random
from collections.abc import Iterator

import pytest

from app.files.readers import limits
from app.files.readers.answer import ReadError, Request
from app.files.readers.worker import read
from tests.support.drawings import arc, block, circle, dxf, insert, line, lines, pairs, polyline, read_dxf

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))
GOOD = dxf(lines(*BOX))


def refused(data: bytes) -> str:
    with pytest.raises(ReadError) as error:
        read_dxf(data).loops_mm()
    return str(error.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b" \n \n", "the file is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not a DXF file (other binary data)"),
        (bytes(range(256)) * 20, "not a DXF file (other binary data)"),
        (b"hello\nworld\n", "not a DXF file: line 1"),
        (b"10\n5\n", "not a DXF file: it holds no group of code 0"),
        (dxf(), "no outline in the file"),
        (dxf(pairs(0, "TEXT", 8, "0", 1, "x")), "no outline in the file; left out: 1 TEXT"),
        (dxf(line(0, 50, 30, 50), line(30, 50, 0, 50)), "the outline is open: a gap of 30 mm"),
        (dxf(line(5, 50, 5, 50)), "no closed outline in the file"),
        (
            dxf(line(0, -5, 40, -5), line(40, -5, 40, 8), line(40, 8, 0, -5)),
            "reaches r = -5 mm at z = 0.000, below the",
        ),
        (dxf(circle(0, 19, 20)), "reaches r = -1 mm at z = 0.000, below the axle line"),
        (dxf(lines((20_000, 5), (20_060, 5), (20_000, 9))), "reaches 20060 mm, more than 10000"),
        (dxf(circle(0, 50, -3)), "CIRCLE at line 28 of the file has the radius -3"),
        (dxf(pairs(0, "LINE", 8, "0", 10, 1, 20, 2, 11, 3)), "has no value for group code 21"),
        (dxf(pairs(0, "VERTEX", 8, "0", 10, 1, 20, 2)), "belongs to no POLYLINE"),
        (dxf(pairs(0, "LWPOLYLINE", 8, "0", 10, 1, 10, 2, 20, 2)), "has a vertex without y"),
    ],
)
def test_one_line_says_what_is_wrong(data: bytes, words: str) -> None:
    message = refused(data)
    assert words in message
    assert "\n" not in message


@pytest.mark.parametrize(
    "value", ["nan", "NaN", "inf", "-inf", "1e400", "1e308", "1_0", "0x10", "", "1,5", "٣"]
)
def test_what_is_no_number_is_refused_with_its_line(value: str) -> None:
    for entity in (
        pairs(0, "LINE", 8, "0", 10, value, 20, 0, 11, 1, 21, 1),
        pairs(0, "ARC", 8, "0", 10, 0, 20, 0, 40, value, 50, 0, 51, 1),
        pairs(0, "LWPOLYLINE", 8, "0", 70, 1, 10, 0, 20, 5, 42, value),
        insert("B", extra=pairs(41, value)),
    ):
        message = refused(dxf(entity, blocks=block("B", circle(0, 5, 2))))
        assert "at line" in message
        assert repr(value) in message


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.95, 0.99])
def test_a_file_cut_off_is_refused(share: float) -> None:
    assert any(word in refused(GOOD[: int(len(GOOD) * share)]) for word in ("cut off", "group code"))


def test_no_cut_of_a_file_gives_an_outline() -> None:
    for end in range(1, len(GOOD) - len(b"\n")):
        refused(GOOD[:end])


def test_a_line_lost_in_the_middle_is_noticed() -> None:
    rows = GOOD.decode().split("\n")
    del rows[len(rows) // 2]
    assert "should be a group code" in refused("\n".join(rows).encode())


def test_a_block_that_holds_itself() -> None:
    looped = block("A", lines(*BOX), insert("A"))
    assert "more than 16 deep within each other at 'A' (does it hold itself?)" in refused(
        dxf(insert("A"), blocks=looped)
    )


def test_two_blocks_that_hold_each_other() -> None:
    both = block("A", insert("B")) + block("B", insert("A"), circle(0, 50, 5))
    assert "does it hold itself?" in refused(dxf(insert("A"), blocks=both))


def test_blocks_that_multiply_end_at_the_limit() -> None:
    levels = [block("L0", circle(0, 50, 5))]
    levels += [block(f"L{k}", *[insert(f"L{k - 1}", 0.1 * i) for i in range(10)]) for k in range(1, 9)]
    assert "more than 50000 entities in all" in refused(dxf(insert("L8"), blocks="".join(levels)))


def test_an_array_of_nothing_ends_at_the_limit() -> None:
    huge = pairs(70, 30_000, 71, 30_000, 44, 1, 45, 1)
    assert "more than 50000 entities in all" in refused(dxf(insert("E", extra=huge), blocks=block("E")))


def test_too_many_entities() -> None:
    assert "more than 50000 entities" in refused(dxf(line(0, 1, 2, 3) * (limits.DRAWING.entities + 1)))


def test_too_many_points() -> None:
    rows = ((float(i % 7), 50.0 + i % 5) for i in range(limits.POLYLINE_POINTS + 1))
    assert "more than 20000 points" in refused(dxf(polyline(*rows)))


def test_too_large() -> None:
    data = GOOD + b" " * limits.DRAWING.size_bytes
    with pytest.raises(ReadError, match="larger than 20 MB"):
        read(data, Request(".dxf"))


def test_names_from_the_file_stay_short_and_printable() -> None:
    name = "\x1b[31m" + "x" * 5000
    message = refused(dxf(lines(*BOX, layer=name), line(20, 140, 60, 150, layer=name)))
    assert "\x1b" not in message
    assert len(message) < 600


def mutated(count: int) -> Iterator[bytes]:
    """Yield files with a few lines of a good one exchanged, dropped or replaced by odd values."""
    rng = random.Random(20)
    part = block("P", arc(0, 100, 10, 0, 180), line(-10, 100, 10, 100), insert("Q", 3, 4))
    part += block("Q", polyline((0, 90), (5, 95, 0.3), (9, 90)))
    good = dxf(lines(*BOX), insert("P", 50, 0, pairs(41, 2, 42, 1, 50, 30)), blocks=part).decode().split("\n")
    odd = [
        "nan",
        "inf",
        "1e308",
        "-1",
        "0",
        "",
        "999999999999",
        "LINE",
        "SPLINE",
        "ENDSEC",
        "10",
        "70",
        "\x00",
    ]
    for _ in range(count):
        rows = list(good)
        for _ in range(rng.randint(1, 3)):
            i, j = rng.randrange(len(rows)), rng.randrange(len(rows))
            change = rng.randrange(3)
            if change == 0:
                rows[i] = rng.choice(odd)
            elif change == 1:
                rows[i], rows[j] = rows[j], rows[i]
            else:
                del rows[i]
        yield "\n".join(rows).encode()


def test_mutated_files_give_an_outline_or_one_line() -> None:
    outcomes = {"read": 0, "refused": 0}
    for data in mutated(2000):
        try:
            loops = read_dxf(data).loops_mm()
        except ReadError:
            outcomes["refused"] += 1
        else:
            outcomes["read"] += 1
            assert min(r for loop in loops for _, r, _ in loop) >= 0.0
    # Both must happen often, or the mutations test nothing.
    assert min(outcomes.values()) > 50
