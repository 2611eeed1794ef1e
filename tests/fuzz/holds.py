"""What must hold of every answer and every refusal, whatever the file was."""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from itertools import pairwise

from app.files.readers.answer import NOT_KNOWN, UNITS, Loop, ReadOutline, Request

#: A message that a person reads to its end.
MOST_CHARACTERS = 500

#: What Python and its libraries say, and a person who brings a drawing cannot use.
_INSIDE = re.compile(
    r"Traceback|\b\w*(Error|Exception)\b|<class|object at 0x|NoneType|subscriptable|unsupported operand|"
    r"invalid literal|list index|index out of|\bnp\.float|numpy|codec|could not convert|to unpack|ufunc|"
    r"positional argument|has no attribute|ended without an answer"
)

#: Rounding of a bound, as a share of the largest coordinate.
_ROUNDING = 1e-9


def of_message(text: str) -> Iterator[str]:
    """Yield what is wrong with a line for a person."""
    if not text.strip():
        yield "a message says nothing"
    if not text.isprintable():
        yield "a message is not one printable line"
    if len(text) > MOST_CHARACTERS:
        yield f"a message has more than {MOST_CHARACTERS} characters"
    inside = _INSIDE.search(text)
    if inside:
        yield f"a message speaks of the program's inside: {inside[0]}"


def of_answer(found: ReadOutline, request: Request) -> Iterator[str]:
    """Yield what is wrong with an answer."""
    if not all(map(math.isfinite, _floats(found))):
        yield "a number is not finite"
        return
    if found.unit not in (*UNITS, NOT_KNOWN):
        yield "the unit is no unit"
    if request.unit is not None and found.unit != request.unit:
        yield "the unit is not the one that was asked for"
    if not (found.hindrance or found.loops or found.open):
        yield "nothing was read, and nothing is said"
    if found.open and not found.hindrance:
        yield "chains are open, and nothing hinders"
    for text in (*found.warnings, *filter(None, (found.hindrance, found.unit_doubt))):
        yield from of_message(text)
    yield from _of_counts(found)
    yield from _of_loops(found)
    yield from _of_bodies(found)


def _of_counts(found: ReadOutline) -> Iterator[str]:
    single = (found.joined, found.doubles, found.curves, found.outside_count, found.tolerance_mm)
    if min(*single, found.ball_mm, found.curve_error_mm, found.largest_join_mm) < 0:
        yield "a count or a size is negative"
    counted = (found.layers, found.colours, found.kinds, found.skipped)
    if any(n <= 0 for counts in counted for n in counts.values()):
        yield "something was counted less than once"
    if bool(found.joined) != (found.largest_join_mm > 0.0):
        yield "joined, but not by a distance, or the other way round"


def _of_loops(found: ReadOutline) -> Iterator[str]:
    count = len(found.loops)
    if found.within and len(found.within) != count:
        yield "it is not said of every outline what lies round it"
    if any(not -1 <= k < count or k == n for n, k in enumerate(found.within)):
        yield "an outline lies within none that there is"
    size = max((abs(x) for loop in (*found.loops, *found.open) for row in loop for x in row[:2]), default=0.0)
    z0, z1, r0, r1 = found.bounds
    slack = _ROUNDING * size
    for loop in found.loops:
        yield from _of_loop(loop)
        if not all(
            z0 - slack <= p.real <= z1 + slack and r0 - slack <= p.imag <= r1 + slack for p in _places(loop)
        ):
            yield "an outline leaves its bounds"
    for chain in found.open:
        if len(chain) < 2:
            yield "an open chain has no edge"
        if not all(z0 - slack <= z <= z1 + slack and r0 - slack <= r <= r1 + slack for z, r, _ in chain):
            yield "an open chain leaves its bounds"


def _of_loop(loop: Loop) -> Iterator[str]:
    if len(loop) < 2 or (len(loop) == 2 and not any(row[2] for row in loop)):
        yield "an outline has too few edges to hold an area"
        return
    if any(abs(bulge) > 1.0 + _ROUNDING for _, _, bulge in loop):
        yield "an arc is longer than half a circle"
    if any(a[:2] == b[:2] for a, b in pairwise((*loop, loop[0]))):
        yield "an edge has no length"
    if area(loop) <= 0.0:
        yield "an outline runs clockwise, or holds no area"


def _places(loop: Loop) -> list[complex]:
    """Return the corners of an outline and the middles of its arcs."""
    found = []
    for (z, r, bulge), (other_z, other_r, _) in pairwise((*loop, loop[0])):
        a, b = complex(z, r), complex(other_z, other_r)
        found += [a, (a + b) / 2.0 - 1j * (b - a) * bulge / 2.0] if bulge else [a]
    return found


def area(loop: Loop) -> float:
    """Return the area that a loop runs round, + counterclockwise: polygon and segments on arcs."""
    start = complex(*loop[0][:2])
    found = 0.0
    for (z, r, bulge), (other_z, other_r, _) in pairwise((*loop, loop[0])):
        # From the first corner on, so that a small outline far away keeps its digits.
        a, b = complex(z, r) - start, complex(other_z, other_r) - start
        found += (a.conjugate() * b).imag / 2.0
        if bulge:
            sweep, radius = 4.0 * math.atan(bulge), abs(b - a) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
            # A flat arc's segment is two thirds of chord times height: sweep - sin(sweep) has no digits left.
            flat = abs(b - a) ** 2 * bulge / 3.0
            found += flat if abs(sweep) < 1e-3 else radius * radius * (sweep - cmath.sin(sweep).real) / 2.0
    return found


def _of_bodies(found: ReadOutline) -> Iterator[str]:
    for body in found.bodies:
        if body.triangles <= 0 or any(a > b for a, b in zip(body.low, body.high, strict=True)):
            yield "a body has no triangles, or a box that is turned over"
    if found.fit is not None:
        if abs(math.hypot(*found.fit.direction) - 1.0) > 1e-6:
            yield "a fitted axle has no unit direction"
        if any(f.r_low_mm > f.r_high_mm or f.area_mm2 < 0.0 for f in found.fit.flats):
            yield "a flat face has no ring"


def _floats(value: object) -> Iterator[float]:
    if isinstance(value, float):
        yield value
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _floats(getattr(value, field.name))
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from _floats(item)
    elif isinstance(value, Sequence) and not isinstance(value, str):
        for item in value:
            yield from _floats(item)
