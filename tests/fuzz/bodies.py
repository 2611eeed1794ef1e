"""Harm that knows tables and bodies: cells, counts, triangles, headers, corners that faces name."""

from __future__ import annotations

import struct
from random import Random

from tests.fuzz.mutate import near, number, with_numbers

# Tables


def cells(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change cells, columns and rows, separators and decimal marks."""
    rows = data.split(b"\n")
    mark = max((b";", b",", b"\t", b" "), key=data.count)
    kind = rng.randrange(8)
    if kind == 0:
        to = rng.choice((b";", b",", b"\t", b" ", b"|", b", ", b";;"))
        return data.replace(mark, to)
    if kind == 1:
        return data.replace(b".", b",")
    table = [row.split(mark) for row in rows]
    width = max(map(len, table))
    column = rng.randrange(width)
    if kind == 2:
        swapped = rng.randrange(width)
        for row in table:
            if max(column, swapped) < len(row):
                row[column], row[swapped] = row[swapped], row[column]
    elif kind == 3:
        table = [row[:column] + row[column + 1 :] for row in table]
    elif kind == 4:
        # One value down a column: points in a line, or on each other.
        value = number(rng)
        table = [[value if k == column else c for k, c in enumerate(row)] for row in table]
    elif kind == 5:
        rng.shuffle(table)
    else:
        for _ in range(rng.randint(1, 6)):
            row = rng.choice(table)
            at = rng.randrange(len(row))
            row[at] = near(row[at], rng) if rng.random() < 0.4 else number(rng)
    return b"\n".join(mark.join(row) for row in table)


# Triangles

_FLOATS = (
    *map(float, ("nan", "inf", "-inf")),
    *(0.0,) * 6,
    10.0,
    50.0,
    -50.0,
    99.99,
    -0.0,
    1e38,
    -1e38,
    1e-40,
    1.0,
    1e6,
    100.0,
    -100.0,
)


def counted(data: bytes) -> bytes:
    """Return a binary STL file that says how many whole triangles it holds."""
    if len(data) < 134 or (data[:5] == b"solid" and b"facet" in data[:400]):
        return data
    count = (len(data) - 84) // 50
    return data[:80] + struct.pack("<I", count) + data[84 : 84 + 50 * count]


def stl(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change the count, the floats and whole triangles of a binary file; an ASCII one as a text."""
    if len(data) < 134 or (data[:5] == b"solid" and b"facet" in data[:400]):
        return with_numbers(data, rng, 9, hostile=0.05)
    changed = bytearray(data)
    count = (len(data) - 84) // 50
    for _ in range(rng.randint(1, 8)):
        kind, a, b = (
            rng.randrange(1 if rng.random() < 0.95 else 0, 6),
            84 + 50 * rng.randrange(count),
            84 + 50 * rng.randrange(count),
        )
        if kind == 0:
            said = rng.choice((0, 1, count - 1, count + 1, count // 2, 2**31, 2**32 - 1))
            changed[80:84] = struct.pack("<I", max(said, 0))
        elif kind <= 2:
            struct.pack_into("<f", changed, a + 4 * rng.randrange(12), rng.choice(_FLOATS))
        elif kind == 3:
            changed[a : a + 50] = changed[b : b + 50]
        elif kind == 4:
            corner = 12 + 12 * rng.randrange(3)
            changed[a + corner : a + corner + 12] = changed[b + corner : b + corner + 12]
        else:
            turned = changed[a + 12 : a + 24]
            changed[a + 12 : a + 24] = changed[a + 24 : a + 36]
            changed[a + 24 : a + 36] = turned
    return bytes(changed)


_PLY = tuple(
    b"format ascii 1.0|format binary_little_endian 1.0|format binary_big_endian 1.0|format|comment|"
    b"end_header|element vertex 0|element vertex 3|element vertex 4000000000|element vertex -1|"
    b"element face 1|element face 99999999|element edge 3|property float x|property double y|"
    b"property uchar z|property list uchar int vertex_indices|property list float int vertex_index|"
    b"property list int uchar vertex_indices|property int8 nx|property float64 x|"
    b"property list uchar uchar x|property half q|obj_info nothing".split(b"|")
)


def ply(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change the lines of the header, or the numbers behind it."""
    head, end, body = data.partition(b"end_header")
    if not end or rng.random() < 0.75:
        if b"ascii" in head:
            rows = body.split(b"\n")
            places = [k for k, row in enumerate(rows) if b"." in row or rng.random() < 0.03]
            for k in rng.sample(places, min(len(places), rng.randint(1, 6))):
                rows[k] = with_numbers(rows[k], rng, 2, hostile=0.1)
            return head + end + b"\n".join(rows)
        changed = bytearray(body)
        for _ in range(rng.randint(1, 6) if len(changed) > 16 else 0):
            struct.pack_into(
                rng.choice(("<f", ">f")), changed, rng.randrange(len(changed) - 8), rng.choice(_FLOATS)
            )
        return head + end + bytes(changed)
    rows = head.split(b"\n")
    for _ in range(rng.randint(1, 3)):
        at = rng.randrange(len(rows))
        kind = rng.randrange(4)
        if kind == 0:
            rows[at] = rng.choice(_PLY)
        elif kind == 1:
            rows.insert(at, rng.choice(_PLY))
        elif kind == 2:
            rows[at] = with_numbers(rows[at], rng)
        elif len(rows) > 1:
            del rows[at]
    return b"\n".join(rows) + end + body


def obj(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change the corners that faces name, and lines."""
    rows = data.split(b"\n")
    faces = [k for k, row in enumerate(rows) if row.startswith((b"f ", b"v ", b"l "))]
    for _ in range(rng.randint(1, 5) if faces else 0):
        at = rng.choice(faces)
        words = rows[at].split()
        if len(words) < 2:
            continue
        k = rng.randrange(1, len(words))
        if words[0] == b"f" and rng.random() < 0.3:
            words[k] = rng.choice(
                (b"0", b"-1", b"-999999", b"999999999999", b"1/", b"1//", b"/1", b"1/2/3/4", words[1])
            )
        elif words[0] == b"f":
            others = [row for row in rng.choices(rows, k=9) if row[:2] == b"f "]
            words[k] = rng.choice(others[0].split()[1:] or [b"1"]) if others else b"1"
        else:
            words[k] = near(words[k], rng) if rng.random() < 0.8 else number(rng)
        if rng.random() < 0.1:
            words = words[: k + 1]
        rows[at] = b" ".join(words)
    return b"\n".join(rows)
