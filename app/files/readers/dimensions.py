"""What the dimensions of a drawing say, held against what is drawn: "not to scale" shows here first.

Words:
    says      the number that a dimension shows: its own text, else what is drawn times its style's factor
    drawn     the distance of its definition points, else the measurement that is kept with it
"""

from __future__ import annotations

import math
import re

from app.files.readers.placing import Placing
from app.files.readers.tags import Entity, Tags, number_in, whole

#: A text may be rounded by this share of its number before it is doubted.
_SHARE = 0.02

#: Factors by which units are mistaken.
_FACTORS = (25.4, 1.0 / 25.4, 10.0, 0.1, 1000.0, 0.001)

#: Kinds in the lowest bits of group code 70.
_ROTATED, _ALIGNED, _DIAMETER, _RADIUS = 0, 1, 3, 4
_LENGTHS = (_ROTATED, _ALIGNED, _DIAMETER, _RADIUS)

#: Dimensions named one by one in a warning.
_NAMED = 3

#: A longer text is a note, no number.
_CHARACTERS = 80

#: Formatting codes of a text, and what begins a tolerance.
_MARKS = re.compile(r"%%[a-oq-z]|\\[ACFHQTWacfhqtw][^;]*;|\\[A-RT-Za-z~]|[{}]")
_TOLERANCE = re.compile(r"±|%%p|\+|\\S")
_ALONE = re.compile(
    r"\s*(?:[0-9]+ ?[xX×] ?)?[ØøΦ⌀∅RrSsDd~≈=(\s]*([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*"
    r"(mm\b|cm\b|m\b|in\b|\"|″)?[^0-9]*"
)
_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, '"': 25.4, "″": 25.4}


def disagreement(
    entity: Entity, tags: Tags, placing: Placing, unit_mm: float | None
) -> tuple[float, float] | None:
    """Return what a dimension says and what is drawn, None where they agree or one of them is not told.

    Args:
        entity: a DIMENSION.
        tags: of its file.
        placing: of the entity within the drawing, in the file's own unit.
        unit_mm: millimetres per unit of the file, None where it is not known.
    """
    if whole(entity.text(70, "0").strip()) & 7 not in _LENGTHS:
        return None
    drawn = _drawn(entity, placing)
    says = _says(entity, tags, drawn, unit_mm)
    if not (drawn > 0.0 and says > 0.0) or abs(says / drawn - 1.0) <= _SHARE:
        return None
    return says, drawn


def warning(found: list[tuple[float, float]]) -> str:
    """Return what is said of dimensions that disagree with what is drawn."""
    pairs = ", ".join(f"{says:.6g} where {drawn:.6g} is drawn" for says, drawn in found[:_NAMED])
    more = f" and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    ratio = found[0][0] / found[0][1]
    factor = next((f for f in _FACTORS if abs(ratio / f - 1.0) <= _SHARE), None)
    by = f", {factor:.4g} times as much: is the unit right?" if factor is not None else "; is it to scale?"
    return f"a dimension says {pairs}{more}{by}"


def _drawn(entity: Entity, placing: Placing) -> float:
    kind = whole(entity.text(70, "0").strip()) & 7
    first, second = ((10, 20), (15, 25)) if kind in (_DIAMETER, _RADIUS) else ((13, 23), (14, 24))
    numbers = [number_in(entity.text(code)) for code in (*first, *second)]
    if not all(map(math.isfinite, numbers)):
        return number_in(entity.text(42))
    a, b = placing.point((numbers[0], numbers[1])), placing.point((numbers[2], numbers[3]))
    if kind != _ROTATED:
        return math.dist(a, b)
    turn = number_in(entity.text(50, "0"))
    along = placing.direction(math.radians(turn)) if math.isfinite(turn) else (1.0, 0.0)
    return abs((b[0] - a[0]) * along[0] + (b[1] - a[1]) * along[1])


def _says(entity: Entity, tags: Tags, drawn: float, unit_mm: float | None) -> float:
    """Return the number that a dimension shows, in the file's unit; nan where it shows none."""
    text = entity.text(1).strip()
    if text not in ("", "<>"):
        if "<>" in text or len(text) > _CHARACTERS:
            return math.nan
        match = _ALONE.fullmatch(_MARKS.sub("", _TOLERANCE.split(text)[0]))
        if match is None:
            return math.nan
        number = float(match[1].replace(",", "."))
        return number if match[2] is None or unit_mm is None else number * _MM[match[2]] / unit_mm
    factor = number_in(tags.dimension_factors.get(entity.name(3).upper(), "1"))
    # Below zero it counts in paper space only.
    return drawn * factor if factor > 0.0 else math.nan
