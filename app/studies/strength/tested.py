"""Which drawing a physical test was made on: digests of a wheel and of its blank, as they are drawn.

A test speaks for metal that was cut, not for what is drawn today. A record keeps the digests of both drawings
as they were; where today's differ, whoever prints the record says so.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from typing import Any

from app.project.project import Project
from app.project.strength import TestRecord
from app.project.wheel import Wheel

#: Of a wheel whose blank is not named.
NO_BLANK = "no blank named"
#: What is said where nobody recorded the drawing.
NOT_RECORDED = "which drawing it was made on is not recorded"
#: Stands for the digests of a sample of another drawing than the project holds, as the user says.
ANOTHER = "another drawing"
_OTHER_SAID = "it was made on another drawing than is drawn now, as it is recorded"

_WHEEL = ("size", "inset_mm", "rim", "vertices", "hub", "fixing", "spokes", "rings", "material")
_BLANK = ("corners", "supply", "spun")
_METAL = ("elastic_mpa", "poisson", "yield_mpa", "ultimate_mpa", "fatigue", "fatigue_ratio")


def drawing_of(project: Project, wheel: Wheel) -> str:
    """Return the digest of a wheel's form and metal; its name, load and tyre are not in it."""
    own = next((m for m in project.materials if m.name == wheel.material), None)
    return _digest(
        [_plain(getattr(wheel, name)) for name in _WHEEL], [_plain(getattr(own, n, None)) for n in _METAL]
    )


def forging_of(project: Project, wheel: Wheel) -> str:
    """Return the digest of the blank that a wheel is cut from, as it is drawn."""
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    return NO_BLANK if blank is None else _digest([_plain(getattr(blank, name)) for name in _BLANK])


def differs(project: Project, wheel: Wheel, record: TestRecord) -> str:
    """Return why a record was not made on a wheel as it is drawn now; empty where it was."""
    if not record.drawing:
        return NOT_RECORDED
    if record.drawing == ANOTHER:
        return _OTHER_SAID
    changed = []
    if record.drawing != drawing_of(project, wheel):
        changed.append("the wheel's drawing")
    if record.forging != forging_of(project, wheel):
        changed.append("its blank")
    return f"{', '.join(changed)} changed since it was made" if changed else ""


def _digest(*parts: object) -> str:
    text = json.dumps(parts, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _plain(value: Any) -> Any:
    """Return a value as JSON; fields at their defaults are left out, so a new field changes no digest."""
    if is_dataclass(value):
        return {
            f.name: _plain(x)
            for f in fields(value)
            if f.name != "notes"
            if (x := getattr(value, f.name)) != _default(f)
        }
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple | list):
        return [_plain(x) for x in value]
    # A file holds no -0.0, and may hold a whole number for the same double.
    return float(value) + 0.0 if isinstance(value, int | float) and not isinstance(value, bool) else value


def _default(of: Any) -> Any:
    return (
        of.default
        if of.default is not MISSING
        else of.default_factory()
        if of.default_factory is not MISSING
        else MISSING
    )
