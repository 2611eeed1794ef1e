"""Numbers of vertices through an edit: which vertex of the new outline was which of the old one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from app.project.parameters import drive_words
from geometry.shape.held import Constraint, Hold, Parameter
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex

Vertices = Sequence[Vertex | Corner]


def followed(before: Vertices, after: Vertices, locked: tuple[int, int] = (0, 0)) -> dict[int, int]:
    """Return, for numbers from 1 of the outline before, the number after; a vertex that went is not there.

    As many vertices as before are the same ones, moved. Else those that stayed where they were are the same:
    an edit that adds or takes away vertices leaves the others in their place.

    Args:
        before: vertices before.
        after: vertices after.
        locked: how many of each belong to a locked contour.
    """
    if len(before) == len(after):
        return {n: n for n in range(1, len(before) + 1)}
    free = tuple(len(v) - k for v, k in zip((before, after), locked, strict=True))
    if locked[0] and locked[1] and free[0] == free[1]:  # another contour; the free part is as it was
        found = _same(before[: locked[0]], after[: locked[1]])
        return found | {locked[0] + k: locked[1] + k for k in range(1, free[0] + 1)}
    return _same(before, after)


def _same(before: Vertices, after: Vertices) -> dict[int, int]:
    a, b = ([(v.z, v.r) for v in vertices] for vertices in (before, after))
    found: dict[int, int] = {}
    for match in SequenceMatcher(None, a, b, autojunk=False).get_matching_blocks():
        found |= {match.a + k + 1: match.b + k + 1 for k in range(match.size)}
    return found


def renumbered(
    parameters: Sequence[Parameter], constraints: Sequence[Constraint], numbers: Mapping[int, int], count: int
) -> tuple[tuple[Parameter, ...], tuple[Constraint, ...], list[str]]:
    """Return parameters and constraints for the new numbers, with a sentence on each thing that was dropped.

    What names a vertex that went is dropped, and an arc that is no single edge any more.
    """
    said: list[str] = []
    new: list[Parameter] = []
    for p in parameters:
        drives = []
        for drive in p.drives:
            if all(n in numbers for n in drive.vertices):
                drives.append(replace(drive, vertices=tuple(numbers[n] for n in drive.vertices)))
            else:
                said.append(f"{p.name} drives no more: {drive_words(drive)}, which is gone.")
        new.append(replace(p, drives=tuple(drives)) if tuple(drives) != p.drives else p)
    kept: list[Constraint] = []
    for c in constraints:
        vertices = tuple(numbers.get(n, 0) for n in c.vertices)
        is_edge = c.kind in (Hold.RADIUS, Hold.CLEAR) and len(vertices) == 2
        if 0 in vertices or (is_edge and vertices[1] != vertices[0] % count + 1):
            said.append(f"Dropped, since a vertex or edge of it is gone: {constraint_words(c)}.")
        else:
            kept.append(replace(c, vertices=vertices) if vertices != c.vertices else c)
    return tuple(new), tuple(kept), said


def constraint_words(c: Constraint, unit: str = "mm") -> str:
    """Return a constraint in words: 'distance 30 mm, vertices 12 and 14'."""
    numbers = [str(n) for n in c.vertices]
    where = (
        f"vertex {numbers[0]}"
        if len(numbers) == 1
        else f"vertices {', '.join(numbers[:-1])} and {numbers[-1]}"
    )
    value = "" if c.value is None else f" {value_words(c, unit)}"
    if c.kind is Hold.CLEAR:
        return f"clear of {c.shape}{' by' if value else ''}{value}, {where}"
    return f"{c.kind}{value}, {where}"


def value_words(c: Constraint, unit: str = "mm") -> str:
    """Return what a constraint holds as text with its unit; empty where it holds no number."""
    if c.value is None:
        return ""
    if c.kind is Hold.ANGLE:
        return f"{round(c.value, 4):g}°"
    return f"{round(c.value / 25.4, 5):g} in" if unit == "in" else f"{round(c.value, 4):g} mm"
