"""Harm that fits every kind of file: bytes, lines, numbers, parts moved or of other files."""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random

#: What does harm where a number is expected; also what other programs write there.
NUMBERS = (
    *("nan", "-nan", "inf", "-inf", "1e308", "-1e308", "1e400", "1e-320", "1e20", "-1e20", "1e6", "999999.9"),
    *("0", "-0", "0.0", "1", "-1", "2", "1e-9", "-1e-12", "0.01", "0.0101", "360", "180", "90", "1e5"),
    *("", " ", "-", "+", ".", "e5", "1,5", "1.000,5", "1'000", "0x10", "1_000", "٣", "1e", "--1", "1/2", "½"),
    *("2147483647", "-2147483648", "4294967295", "9223372036854775808", "1" * 400, "0." + "1" * 400),
    *("1e1e1", "NULL", "None", "#N/A", "#DIV/0!", "true", "1d5", "1.#QNAN", "5mm", "100%"),
)

MOST_BYTES = 400_000

_NUMBER = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")

Mutation = Callable[[bytes, Random, bytes], bytes]


def number(rng: Random) -> bytes:
    """Return what stands in place of a number: as often as not one that can be read."""
    kind = rng.random()
    if kind < 0.35:
        return rng.choice(NUMBERS).encode()
    if kind < 0.75:
        return repr(round(rng.uniform(-300.0, 300.0), rng.randrange(6))).encode()
    if kind < 0.9:
        return repr(rng.uniform(-1.0, 1.0) * 10.0 ** rng.randint(-18, 18)).encode()
    return str(rng.randint(-5, 70)).encode()


def near(text: bytes, rng: Random) -> bytes:
    """Return a number beside one: reversed, a rounding off, scaled, or cut."""
    try:
        value = float(text)
    except ValueError:
        return number(rng)
    changed = (
        -value,
        value + rng.choice((1e-12, 1e-9, 1e-6, 0.005, 0.01, 0.5)) * rng.choice((-1, 1)),
        value * rng.choice((10.0, 0.1, 1000.0, 0.001, 25.4, 1e6)),
        float(round(value)) if abs(value) < 1e15 else value,
    )
    return repr(rng.choice(changed)).encode()


def with_numbers(data: bytes, rng: Random, most: int = 3, hostile: float = 0.25) -> bytes:
    """Return a text in which a few numbers are others: hostile, beside themselves, or of another place.

    Args:
        data: the text.
        rng: chooses.
        most: numbers that are changed.
        hostile: share of them that may become what no number is.
    """
    spans = [match.span() for match in _NUMBER.finditer(data[:MOST_BYTES])]
    if not spans:
        return data
    picked = sorted(rng.sample(spans, min(len(spans), rng.randint(1, most))), reverse=True)
    for start, end in picked:
        kind = rng.random()
        if kind < hostile:
            new = number(rng)
        elif kind < 0.6:
            new = near(data[start:end], rng)
        else:
            a, b = rng.choice(spans)
            new = data[a:b]
        data = data[:start] + new + data[end:]
    return data


def _span(length: int, rng: Random, most: int) -> tuple[int, int]:
    start = rng.randrange(length + 1)
    return start, min(length, start + int(most ** rng.random()))


def flip_bits(data: bytes, rng: Random, other: bytes) -> bytes:
    """Flip one to eight bits."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 8) if changed else 0):
        changed[rng.randrange(len(changed))] ^= 1 << rng.randrange(8)
    return bytes(changed)


def put_bytes(data: bytes, rng: Random, other: bytes) -> bytes:
    """Put a few bytes in place of others."""
    start, end = _span(len(data), rng, 8)
    new = rng.choice((b"\0", b"\xff", b"\r", b"\n", b"\x1a", b"\xff\xfe", b"\x80", b'"', rng.randbytes(4)))
    return data[:start] + new + data[end:]


def delete(data: bytes, rng: Random, other: bytes) -> bytes:
    """Leave a part out."""
    start, end = _span(len(data), rng, 2000)
    return data[:start] + data[end:]


def repeat(data: bytes, rng: Random, other: bytes) -> bytes:
    """Put a part in again, seldom many times."""
    start, end = _span(len(data), rng, 2000)
    times = rng.choice((1, 1, 1, 2, 3, 10, 200))
    return data[:end] + data[start:end] * times + data[end:]


def swap(data: bytes, rng: Random, other: bytes) -> bytes:
    """Exchange two parts."""
    a, b = _span(len(data), rng, 500)
    c, d = _span(len(data), rng, 500)
    if c < b:
        return data[:c] + data[a:b] + data[d:]
    return data[:a] + data[c:d] + data[b:c] + data[a:b] + data[d:]


def cut(data: bytes, rng: Random, other: bytes) -> bytes:
    """Cut the end or the beginning off."""
    at = rng.randrange(len(data) + 1)
    return data[:at] if rng.random() < 0.8 else data[at:]


def splice(data: bytes, rng: Random, other: bytes) -> bytes:
    """Put a part of another file in, or go on with it."""
    at, start = rng.randrange(len(data) + 1), rng.randrange(len(other) + 1)
    if rng.random() < 0.3:
        return data[:at] + other[start:]
    return data[:at] + other[start : start + int(3000 ** rng.random())] + data[at:]


def lines(data: bytes, rng: Random, other: bytes) -> bytes:
    """Delete, repeat, exchange or replace lines."""
    held = data.splitlines(keepends=True)
    if not held:
        return data
    for _ in range(rng.randint(1, 3)):
        a, b = rng.randrange(len(held)), rng.randrange(len(held))
        kind = rng.randrange(5)
        if kind == 0 and len(held) > 1:
            del held[a]
        elif kind == 1:
            held.insert(b, held[a])
        elif kind == 2:
            held[a], held[b] = held[b], held[a]
        elif kind == 3:
            held[a] = held[b]
        else:
            held[a] = number(rng) + b"\n"
    return b"".join(held)


def numbers(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change a few numbers of a text."""
    return with_numbers(data, rng)


def encoding(data: bytes, rng: Random, other: bytes) -> bytes:
    """Write a text in another way: marks, line ends, wide characters."""
    kind = rng.randrange(5)
    if kind == 0:
        return b"\xef\xbb\xbf" + data
    if kind == 1:
        return data.replace(b"\n", b"\r")
    if kind == 2:
        return data.replace(b"\n", b"\r\n")
    if kind == 3:
        return data.decode("latin-1").encode(rng.choice(("utf-16", "utf-16-be", "utf-8", "utf-32")))
    return data.upper()


BYTES: tuple[Mutation, ...] = (flip_bits, put_bytes, delete, repeat, swap, cut, splice)
TEXT: tuple[Mutation, ...] = (*(numbers,) * 8, *(lines,) * 4, encoding)
