"""Meshes: counts that do not hold, numbers that are none, indices that lead nowhere."""

import struct
from collections.abc import Callable, Iterator

from tests.corpus.bodies import Body, block, block_area
from tests.corpus.hostile.inputs import (
    DAMAGED,
    LIMIT_BYTES,
    LIMIT_TRIANGLES,
    NO_OUTLINE,
    NOT_FINITE,
    TOO_FAR,
    TOO_LARGE,
    TOO_MANY,
    WRONG_KIND,
    Hostile,
    either,
    fixed,
    harmless,
)
from tests.corpus.write_mesh import obj, ply, stl_ascii, stl_binary

PROFILE = [(-40.0, 150.0), (30.0, 150.0), (30.0, 190.0), (-40.0, 190.0)]
BODY = block(PROFILE, 50.0)
INDEX = r"index|vertex|number|range|missing|damaged|place|face|triangle"
CLAIM = DAMAGED + "|" + TOO_MANY + "|" + TOO_LARGE + "|claim|header|count|face|triangle|vert"


def inputs() -> Iterator[Hostile]:
    """All of this kind."""
    yield from _stl()
    yield from _obj()
    yield from _ply()


def _with_place(value: float) -> Body:
    x, y, _ = BODY.places[0]
    return Body([(x, y, value), *BODY.places[1:]], BODY.faces)


def _stl() -> Iterator[Hostile]:
    plain = stl_binary(BODY)
    yield Hostile(
        "claims_4e9.stl",
        "The header claims four thousand million triangles; there are twelve.",
        lambda: stl_binary(BODY, count=4_000_000_000),
        CLAIM,
    )
    yield Hostile(
        "claims_none.stl",
        "The header claims no triangles; there are twelve.",
        lambda: stl_binary(BODY, count=0),
        CLAIM + "|" + NO_OUTLINE,
    )
    yield Hostile("cut.stl", "Binary, cut in the middle of a triangle.", lambda: plain[:-77], CLAIM)
    yield Hostile(
        "header_only.stl", "Eighty bytes and no more.", lambda: plain[:80], CLAIM + "|" + NO_OUTLINE
    )
    yield either("bytes_behind.stl", "Thirteen bytes too many at the end.", lambda: plain + b"x" * 13, CLAIM)
    for word, value in (("nan", float("nan")), ("inf", float("inf"))):
        yield Hostile(
            f"{word}.stl",
            f"One place is {word}.",
            fixed(stl_binary(_with_place(value))),
            NOT_FINITE,
        )
    yield Hostile(
        "nan_everywhere.stl",
        "All places are nan.",
        lambda: plain[:84] + struct.pack("<12fH", *[float("nan")] * 12, 0) * 12,
        NOT_FINITE + "|" + NO_OUTLINE,
    )
    yield Hostile("1e30.stl", "One place is 1e30.", lambda: stl_binary(_with_place(1e30)), TOO_FAR)
    text = stl_ascii(BODY)
    yield Hostile(
        "nan_text.stl", "Text with nan.", lambda: text.replace("-4.000000e+01", "nan", 1).encode(), NOT_FINITE
    )
    yield Hostile(
        "words.stl",
        "Text with a word for a number.",
        lambda: text.replace("-4.000000e+01", "forty", 1).encode(),
        DAMAGED + "|number|forty|line",
    )
    yield Hostile(
        "cut_text.stl",
        "Text, cut within a triangle.",
        lambda: text[: len(text) // 2].encode(),
        DAMAGED,
        opens=True,
    )
    yield Hostile(
        "no_triangles.stl", "A solid without triangles.", lambda: b"solid x\nendsolid x\n", NO_OUTLINE
    )
    yield Hostile(
        "one_flat_triangle.stl",
        "One triangle whose corners lie on a line along the axle.",
        lambda: stl_binary(Body([(0.0, 100.0, 0.0), (0.0, 100.0, 5.0), (0.0, 100.0, 9.0)], [(0, 1, 2)])),
        NO_OUTLINE + "|flat|thin|degenerate",
        opens=True,
    )

    def many() -> bytes:
        one = struct.pack("<12fH", 0, 0, 1, 0, 150, 0, 5, 150, 0, 0, 160, 5, 0)
        return b"many".ljust(80) + struct.pack("<I", LIMIT_TRIANGLES + 1) + one * (LIMIT_TRIANGLES + 1)

    yield Hostile(
        "triangles_2000001.stl",
        "One triangle more than are allowed (100 MB).",
        many,
        TOO_MANY + "|" + TOO_LARGE,
    )
    yield Hostile(
        "weighs_300_mb_and_1.stl",
        "One byte more than a mesh may weigh.",
        lambda: plain,
        TOO_LARGE,
        size=LIMIT_BYTES["stl"] + 1,
    )


def _obj() -> Iterator[Hostile]:
    plain = obj(BODY)
    for name, about, more in (
        ("index_beyond", "A face names place 1,000,000.", "f 1 2 1000000\n"),
        ("index_zero", "A face names place 0; numbers begin at 1.", "f 0 1 2\n"),
        ("index_before", "A face names the hundredth place from the end; there are eight.", "f -100 1 2\n"),
        ("index_word", "A face names a word.", "f one two three\n"),
        ("index_huge", "A face names place 1e30.", f"f 1 2 {10**30}\n"),
    ):
        yield Hostile(f"{name}.obj", about, fixed((plain + more).encode()), INDEX)
    yield Hostile("nan.obj", "A place is nan.", lambda: ("v nan 150 0\n" + plain).encode(), NOT_FINITE)
    yield Hostile("1e400.obj", "A place is 1e400.", lambda: ("v 1e400 150 0\n" + plain).encode(), NOT_FINITE)
    yield either(
        "face_of_100000.obj",
        "A face of a hundred thousand corners.",
        lambda: (plain + "f " + " ".join(str(1 + i % 8) for i in range(100_000)) + "\n").encode(),
        TOO_MANY + "|" + INDEX,
    )
    yield harmless(
        "material_outside.obj",
        "The material file lies elsewhere in the system; it must not be opened.",
        lambda: ("mtllib ../../../etc/passwd\nmtllib /etc/passwd\nusemtl x\n" + plain).encode(),
        block_area(PROFILE, 50.0),
    )
    yield Hostile(
        "no_faces.obj",
        "Places without faces.",
        lambda: plain[: plain.index("f ")].encode(),
        NO_OUTLINE,
        opens=True,
    )
    yield Hostile(
        "faces_before_places.obj",
        "Faces of places that follow only later, and too few of them.",
        lambda: b"f 1 2 3\nv 0 150 0\n",
        INDEX,
    )


def _ply() -> Iterator[Hostile]:
    text, binary = ply(BODY), ply(BODY, "binary_little_endian")

    def changed(old: bytes, new: bytes, of: bytes = text) -> Callable[[], bytes]:
        assert old in of
        return lambda: of.replace(old, new, 1)

    yield Hostile(
        "vertices_4e9.ply",
        "Four thousand million places are announced, eight are there.",
        changed(b"vertex 8", b"vertex 4000000000", binary),
        CLAIM,
    )
    yield Hostile(
        "vertices_negative.ply", "-8 places are announced.", changed(b"vertex 8", b"vertex -8", binary), CLAIM
    )
    yield Hostile(
        "faces_4e9.ply",
        "Four thousand million faces are announced.",
        changed(b"face 12", b"face 4000000000", binary),
        CLAIM,
    )
    wide = ply(BODY, "binary_little_endian", [])
    head = wide.replace(b"end_header", b"element face 1\nproperty list uint int vertex_indices\nend_header")
    yield Hostile(
        "list_of_4e9.ply",
        "A face of four thousand million corners.",
        lambda: head + struct.pack("<I3i", 4_000_000_000, 0, 1, 2),
        CLAIM,
    )
    yield Hostile("index_beyond.ply", "A face names place 99 of 8.", changed(b"3 0 1 5", b"3 0 1 99"), INDEX)
    yield Hostile("index_negative.ply", "A face names place -3.", changed(b"3 0 1 5", b"3 0 1 -3"), INDEX)
    yield Hostile("rows_missing.ply", "Half the rows are missing.", lambda: text[: len(text) - 60], CLAIM)
    yield Hostile("nan.ply", "A place is nan.", changed(b"\n50.0 ", b"\nnan "), NOT_FINITE)
    yield Hostile(
        "type_unknown.ply",
        "A property of a type that does not exist.",
        changed(b"float x", b"quad x"),
        DAMAGED + "|type|property|quad|unknown",
    )
    yield Hostile(
        "header_endless.ply",
        "The header never ends.",
        changed(b"end_header\n", b""),
        DAMAGED + "|header",
    )
    yield Hostile(
        "form_unknown.ply",
        "A form that does not exist.",
        changed(b"format ascii 1.0", b"format morse 1.0"),
        WRONG_KIND + "|format|morse",
    )
    yield Hostile(
        "properties_10000.ply",
        "Ten thousand elements of ten properties each in the header.",
        lambda: text.replace(
            b"end_header",
            b"".join(b"element e%d 0\n" % i + b"property int a\n" * 10 for i in range(10_000))
            + b"end_header",
        ),
        TOO_MANY + "|" + TOO_LARGE + "|header",
        opens=True,
    )
