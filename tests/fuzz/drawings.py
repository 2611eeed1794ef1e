"""Harm that knows drawings: pairs and entities of DXF, attributes and elements of SVG and other XML."""

from __future__ import annotations

import re
from random import Random

from tests.fuzz.mutate import near, number, with_numbers

# DXF

_ENTITIES = tuple(
    b"LINE ARC CIRCLE LWPOLYLINE POLYLINE VERTEX SEQEND SPLINE ELLIPSE INSERT BLOCK ENDBLK HATCH TEXT "
    b"POINT SOLID 3DFACE DIMENSION LEADER MLINE RAY XLINE HELIX REGION VIEWPORT ATTRIB ENDSEC SECTION "
    b"EOF LAYER".split()
)
_CODES = tuple(
    b"0 2 5 6 8 10 20 30 11 21 31 12 22 40 41 42 43 44 45 50 51 60 62 66 67 70 71 72 73 74 90 100 102 "
    b"210 220 230 330 370 420 999 1001 1071".split()
)


def dxf_pairs(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change codes, values, names of entities, and whole entities, where code and value come in lines."""
    held = data.splitlines()
    if len(held) < 8:
        return data
    codes = [code.strip() for code in held[::2]]
    starts = [2 * k for k, code in enumerate(codes) if code == b"0"]
    # Most of a file is its tables; most harm is done in its entities.
    first = held.index(b"ENTITIES") if b"ENTITIES" in held else 0
    if rng.random() < 0.8:
        starts = [k for k in starts if k > first] or starts
    for _ in range(rng.randint(1, 4)):
        if len(starts) < 2:
            break
        a = rng.randrange(len(starts) - 1)
        low, high = starts[a], starts[a + 1]
        kind = rng.randrange(7)
        if high - low < 2 or high > len(held):
            continue
        pair = low + 2 * rng.randrange((high - low + 1) // 2)
        if pair + 1 >= len(held):
            continue
        if kind <= 2:
            held[pair + 1] = _dxf_value(held, pair, rng)
        elif kind == 3:
            held[pair] = rng.choice(_CODES)
        elif kind == 4:
            held[low + 1] = rng.choice(_ENTITIES)
        elif kind == 5:
            # Another entity's pairs in place of one's own, so that all other places stay.
            b = rng.randrange(len(starts) - 1)
            copy = held[starts[b] : starts[b + 1]]
            held[low:high] = copy + ([] if rng.random() < 0.5 else held[low:high])
            break
        else:
            held[pair : pair + 2] = [] if rng.random() < 0.5 else held[pair : pair + 2] * 2
            break
    return b"\n".join(held) + b"\n"


def _dxf_value(held: list[bytes], pair: int, rng: Random) -> bytes:
    code = held[pair].strip()
    if code == b"0":
        return rng.choice(_ENTITIES)
    if code in (b"70", b"71", b"72", b"73", b"74", b"90", b"62", b"60", b"67", b"66"):
        return rng.choice(
            (b"0", b"1", b"-1", b"2", b"3", b"8", b"16", b"64", b"128", b"300", b"32767", b"100000")
        )
    if rng.random() < 0.3:
        # A value of the same code elsewhere: places that fall together.
        same = [k for k in range(pair % 2, len(held) - 1, 2) if held[k] == held[pair]]
        return held[rng.choice(same) + 1]
    return near(held[pair + 1], rng) if rng.random() < 0.5 else number(rng)


# SVG and other XML

# Words of bounded length, so that a long run of letters is not looked through again from each of them.
_ATTRIBUTE = re.compile(rb"(?<![\w:-])([\w:-]{1,40})\s?=\s?(\"[^\"<]*\"|'[^'<]*')")
_ELEMENT = re.compile(rb"<(/?)([\w:]{1,40})([^<>]*)>")
_VALUES = (
    *(b"5mm", b"100%", b"0", b"-1", b"1e9in", b"nanpx", b"auto", b"none", b"", b"#a", b"url(#a)", b"inherit"),
    *(b"matrix(1 0 0 0 0 0)", b"matrix(1e200 0 0 1e200 0 0)", b"rotate(1e308)", b"scale(0)", b"scale(-1,1)"),
    *(b"skewX(90)", b"translate(nan)", b"rotate(45 1e9 1e9)", b"matrix(1,2", b"scale(1e-300)", b"rotate()"),
    *(b"0 0 0 0", b"-1 -1 1e9 1e9", b"0 0 100", b"1 2 3 4 5", b"M0 0A1 1 0 0 1 2 2Z", b"M0,0h1v1h-1z", b"z"),
    *(
        b"M0 0C1e300 0 0 1e300 5 5z",
        b"M 0 0 A 0 5 0 1 1 9 9 Z",
        b"M 1 1 Z Z m 1 1 z",
        b"M0 0Q1",
        b"m",
        b"0,0 1,1",
    ),
    *(
        b"display:none",
        b"fill:none;stroke-width:1e9",
        b"stroke-dasharray:0 0",
        b"xMidYMid slice",
        b"xMinYMin",
    ),
)
_NAMES = tuple(
    b"d points transform viewBox width height x y x1 y1 x2 y2 r rx ry cx cy style class href xlink:href "
    b"id display preserveAspectRatio stroke-width fill stroke visibility clip-path patternTransform".split()
)
_TAGS = tuple(
    b"g path rect circle ellipse line polyline polygon svg use symbol defs text image style clipPath "
    b"mask marker switch a foreignObject pattern script title".split()
)
_PATH_LETTERS = b"MmLlHhVvCcSsQqTtAaZz"


def xml(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change attributes, tags, nesting and the letters of paths."""
    for _ in range(rng.randint(1, 3)):
        kind = rng.random()
        if kind < 0.65:
            data = _with_attribute(data, rng)
        elif kind < 0.9:
            data = _with_element(data, rng)
        else:
            data = _with_path_letter(data, rng)
    return data


def _begin(data: bytes) -> int:
    """Return where the declaration has ended; seldom 0, so that it is changed as well."""
    return max(data.find(b"?>"), 0) if data[0:1] and data[len(data) // 2] % 16 else 0


def _with_attribute(data: bytes, rng: Random) -> bytes:
    spans = list(_ATTRIBUTE.finditer(data, _begin(data)))
    if not spans:
        return data
    match = rng.choice(spans)
    name, value = match[1], match[2][1:-1]
    kind = rng.randrange(6)
    if kind == 0:
        value = rng.choice(_VALUES)
    elif kind <= 3:
        value = with_numbers(value, rng, 4, hostile=0.06) if re.search(rb"\d", value) else rng.choice(_VALUES)
    elif kind == 4:
        return (
            data[: match.end()]
            + b" "
            + rng.choice(_NAMES)
            + b'="'
            + rng.choice(_VALUES)
            + b'"'
            + data[match.end() :]
        )
    else:
        value = rng.choice(spans)[2][1:-1]
    quote = match[2][:1]
    return data[: match.start()] + name + b"=" + quote + value + quote + data[match.end() :]


def _with_element(data: bytes, rng: Random) -> bytes:
    """Change one element; mostly one without contents, so that what opens is closed."""
    every = list(_ELEMENT.finditer(data, _begin(data)))
    spans = [m for m in every if m[3].endswith(b"/")] if rng.random() < 0.9 else every
    if not spans:
        return data
    match = rng.choice(spans)
    kind = rng.randrange(6)
    start, end = match.span()
    if kind == 0:
        return data[:start] + data[end:]
    if kind == 1:
        return data[:end] + match[0] * rng.choice((1, 1, 2, 300)) + data[end:]
    if kind == 2:
        return data[: match.start(2)] + rng.choice(_TAGS) + data[match.end(2) :]
    if kind == 3:
        return data[:end] + rng.choice(spans)[0] + data[end:]
    tag = rng.choice(_TAGS)
    if kind == 4:
        depth = rng.choice((1, 1, 2, 20))
        opened = b"<" + tag + b" " + _attributes(rng) + b">"
        return data[:start] + opened * depth + match[0] + (b"</" + tag + b">") * depth + data[end:]
    return data[:end] + b"<" + tag + b" " + _attributes(rng) + b"/>" + data[end:]


def _attributes(rng: Random) -> bytes:
    names = dict.fromkeys(rng.choices(_NAMES, k=rng.randint(1, 3)))
    return b" ".join(name + b'="' + rng.choice(_VALUES) + b'"' for name in names)


def _with_path_letter(data: bytes, rng: Random) -> bytes:
    paths = [m for m in _ATTRIBUTE.finditer(data) if m[1] in (b"d", b"points")]
    if not paths:
        return data
    match = rng.choice(paths)
    at = rng.randrange(match.start(2) + 1, max(match.end(2), match.start(2) + 2))
    letter = _PATH_LETTERS[rng.randrange(len(_PATH_LETTERS)) :][:1]
    return data[:at] + letter + data[at + rng.randrange(2) :]
