"""The answers of a corpus file's truth, put to the reader, and what it reads laid into the truth's frame.

Placing is done here in plain arithmetic, so that a mirror or a turn of the program's own would show.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

from app.files.readers import worker
from app.files.readers.answer import NOT_KNOWN, UNITS, ReadError, ReadOutline, Request
from app.files.readers.imported import findings
from tests.corpus.shapes import Chain, Point, flipped, moved, scaled
from tests.corpus.truth import FILES, UNIT_MM, Truth

#: Place of a direction among x, y, z.
_AXES = "xyz"


@cache
def read(name: str, request: Request) -> ReadOutline | ReadError:
    """What the reader makes of a file, in this process; an error is an answer too."""
    try:
        return worker.read((FILES / name).read_bytes(), request)
    except ReadError as error:
        return error


def bare(truth: Truth) -> Request:
    """Nothing answered: what the file says by itself."""
    return Request(Path(truth.file).suffix, side="outward")


def without_unit(truth: Truth) -> Request:
    """All that the truth answers but for the unit."""
    options = truth.options
    asked = replace(
        bare(truth),
        layers=options.layers,
        mirror=options.complete_at_z_mm is not None,
        sheet=options.sheet or "",
        ball_mm=options.ball_radius_mm,
        points={None: "auto", True: "outline", False: "cloud"}[options.in_order],
        columns=_columns(truth),
        axle=_axle(truth),
        axle_at=_axle_at(truth),
    )
    if options.join_mm is not None:
        asked = replace(asked, join_mm=options.join_mm)
    if options.bodies == "largest":
        asked = replace(asked, bodies=_largest_body(truth, asked))
    return asked


def answered(truth: Truth) -> Request:
    """All that the truth answers."""
    unit = truth.options.unit
    if unit is None and "unit" in truth.questions:
        unit = truth.unit_stated
    return replace(without_unit(truth), unit=unit)


def settled(truth: Truth) -> ReadOutline | ReadError:
    """What is read with all answers, and with those to what the reader asks beyond them.

    Loose ends beside an outline are left out where it offers that; the unit is said again where it doubts it.
    """
    request = answered(truth)
    found = read(truth.file, request)
    if isinstance(found, ReadOutline) and found.unit == NOT_KNOWN and truth.unit_stated in UNITS:
        request = replace(request, unit=truth.unit_stated)
        found = read(truth.file, request)
    if isinstance(found, ReadOutline) and found.loops and "--drop-open" in found.hindrance:
        return read(truth.file, replace(request, drop_open=True))
    return found


def _axle(truth: Truth) -> str:
    if truth.kind in ("drawing", "table"):
        return "x"
    return "fitted" if truth.options.axle_direction else truth.options.axle


def _axle_at(truth: Truth) -> tuple[float, float]:
    """The axle's place in the two other coordinates in cyclic order, in the file's unit."""
    if truth.options.axle_direction:
        return 0.0, 0.0
    k = _AXES.index(truth.options.axle)
    origin, unit = truth.options.axle_origin_mm, unit_mm(truth)
    return origin[(k + 1) % 3] / unit, origin[(k + 2) % 3] / unit


def unit_mm(truth: Truth) -> float:
    """Millimetres in a unit of the file."""
    return UNIT_MM[truth.options.unit or truth.unit_stated or "mm"]


def _columns(truth: Truth) -> tuple[str, ...]:
    """What each column is, where the truth names columns."""
    named = truth.options.columns
    if not named or truth.file.endswith(".xlsx"):
        # The headings of a sheet are not looked up here; the reader must understand them.
        return ()
    if all(value.isdigit() for value in named.values()):
        numbers = {int(value): key for key, value in named.items()}
        return tuple(numbers.get(k + 1, "") for k in range(max(numbers)))
    head = next(line for line in _text(truth).splitlines() if all(v in line for v in named.values()))
    separator = next(mark for mark in (";", "\t", ",", " ") if mark in head)
    headings = [cell.strip().strip('"') for cell in head.split(separator)]
    meant = {value: key for key, value in named.items()}
    return tuple(meant.get(heading, "") for heading in headings)


def _text(truth: Truth) -> str:
    content = (FILES / truth.file).read_bytes()
    return content.decode("utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "latin-1")


def _largest_body(truth: Truth, asked: Request) -> tuple[int, ...]:
    """The number of the body with the largest box."""
    found = read(truth.file, asked)
    if isinstance(found, ReadError) or not found.bodies:
        return ()

    def size(k: int) -> float:
        body = found.bodies[k]
        return sum((high - low) ** 2 for low, high in zip(body.low, body.high, strict=True))

    return (max(range(len(found.bodies)), key=size),)


# Laid into the truth's frame


def laid(loop: Chain, truth: Truth, shift: Point) -> Chain:
    """A loop or open chain in mm as the truth has it."""
    options = truth.options
    loop = scaled(loop, options.factor)
    if options.axle == "y" and truth.kind == "drawing":
        # (z, r) = (y, x): a mirror in the diagonal turns arcs the other way.
        loop = [(r, z, -bulge) for z, r, bulge in loop]
    loop = moved(loop, *shift)
    return flipped(loop) if options.flip else loop


def shifts(truth: Truth, found: ReadOutline) -> Iterator[Point]:
    """How what was read is to be moved, one way for each zero that a reader may count from."""
    options = truth.options
    if truth.file.endswith(".svg"):
        yield options.shift_mm
        if options.page_shift_mm is not None:
            yield options.page_shift_mm
        yield options.shift_mm[0], options.shift_mm[1] - _foot_mm(truth)
    elif truth.kind in ("mesh", "points") and found.fit is not None and options.axle_direction:
        yield _along_axle(truth, found), options.shift_mm[1]
    else:
        back = 0.0
        if truth.kind in ("mesh", "points"):
            back = options.axle_origin_mm[_AXES.index(options.axle)]
        yield options.shift_mm[0] - back, options.shift_mm[1]


def _foot_mm(truth: Truth) -> float:
    """The foot of the page below the line y = 0, from the outermost viewBox, or from the page's height."""
    text = (FILES / truth.file).read_text("utf-8")
    root = text[re.search(r"<(\w+:)?svg\b", text).start() :].partition(">")[0]  # type: ignore[union-attr]
    box = re.search(r'viewBox="([^"]*)"', root)
    width, height = (re.search(rf'\b{name}="([\d.]+)([a-z]*)', root) for name in ("width", "height"))
    numbers = [float(word) for word in box[1].replace(",", " ").split()] if box else []
    per_unit = unit_mm(truth) * truth.options.factor
    if numbers and width and height and width[2] in UNIT_MM:
        # One scale for both directions, the smaller, unless the page says otherwise; none in the corpus does.
        sizes = [float(size[1]) * UNIT_MM[size[2]] for size in (width, height)]
        per_unit = min(sizes[0] / numbers[2], sizes[1] / numbers[3])
    foot = numbers[1] + numbers[3] if numbers else float(height[1]) if height else 0.0
    return foot * per_unit


def _along_axle(truth: Truth, found: ReadOutline) -> float:
    """What is added to z for a fitted axle, whose zero is the fit's own place on it."""
    assert found.fit is not None
    assert truth.options.axle_direction
    direction = truth.options.axle_direction
    return sum(
        (a - b) * c
        for a, b, c in zip(found.fit.through, truth.options.axle_origin_mm, direction, strict=True)
    )


def chains(loops: tuple[tuple[tuple[float, float, float], ...], ...]) -> list[Chain]:
    """Loops of an answer as chains."""
    return [list(loop) for loop in loops]


def said(*answers: ReadOutline | ReadError) -> str:
    """All words of answers: findings, warnings, what hinders, errors."""
    words: list[str] = []
    for found in answers:
        if isinstance(found, ReadError):
            words.append(str(found))
            continue
        words += [*findings(found), *found.warnings, found.hindrance, found.unit_doubt, *found.columns]
        try:
            if found.unit != NOT_KNOWN:
                found.loops_mm()
        except ReadError as error:
            words.append(str(error))
    return " | ".join(filter(None, words))
