"""Numbers of vertices through an edit: which vertex of the new outline was which of the old one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from app.project.parameters import drive_words
from geometry.shape.edits import nearest_edge
from geometry.shape.held import AddedDimension, Constraint, Hold, Parameter
from geometry.shape.outline import Corner
from geometry.shape.section import Vertex

Vertices = Sequence[Vertex | Corner]

#: A wall is measured this share of its edge off the ends.
EDGE_END = 0.02


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
    parameters: Sequence[Parameter],
    constraints: Sequence[Constraint],
    numbers: Mapping[int, int],
    count: int,
    unit: str,
) -> tuple[tuple[Parameter, ...], tuple[Constraint, ...], list[str]]:
    """Return parameters and constraints for the new numbers, with a sentence on each thing that was dropped.

    What names a vertex that went is dropped, and an arc that is no single edge any more. `unit` is that of
    lengths in the sentences.
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
            said.append(f"Dropped, since a vertex or edge of it is gone: {constraint_words(c, unit)}.")
        else:
            kept.append(replace(c, vertices=vertices) if vertices != c.vertices else c)
    return tuple(new), tuple(kept), said


def dimensions_followed(
    dimensions: Sequence[AddedDimension], before: Vertices, after: Vertices, numbers: Mapping[int, int]
) -> tuple[tuple[AddedDimension, ...], list[str]]:
    """Return added dimensions for the new numbers, with a sentence on each whose vertex went.

    A wall stays at its place, whatever became of its edge.
    """
    kept: list[AddedDimension] = []
    said: list[str] = []
    for d in dimensions:
        if d.share is not None and after and d.vertices[0] <= len(before):
            v, w = before[d.vertices[0] - 1], before[d.vertices[0] % len(before)]
            place = v.z + (w.z - v.z) * d.share, v.r + (w.r - v.r) * d.share
            edge, share, _ = nearest_edge(after, *place)
            kept.append(replace(d, vertices=(edge + 1,), share=min(max(share, EDGE_END), 1.0 - EDGE_END)))
        elif all(n in numbers for n in d.vertices):
            vertices = tuple(numbers[n] for n in d.vertices)
            kept.append(d if vertices == d.vertices else replace(d, vertices=vertices))
        else:
            said.append(f"A dimension went with its vertex: {d.what}, {vertex_words(d.vertices)}.")
    return tuple(kept), said


def vertex_words(numbers: Sequence[int]) -> str:
    """Return vertices by their numbers: 'vertices 3, 4 and 7'."""
    words = [str(n) for n in numbers]
    return f"vertex {words[0]}" if len(words) == 1 else f"vertices {', '.join(words[:-1])} and {words[-1]}"


def constraint_words(c: Constraint, unit: str = "mm") -> str:
    """Return a constraint in words: 'distance 30 mm, vertices 12 and 14'."""
    where = vertex_words(c.vertices)
    value = "" if c.value is None else f" {value_words(c, unit)}"
    if c.kind is Hold.CLEAR:
        return f"clear of {c.shape}{' by' if value else ''}{value}, {where}"
    return f"{c.kind}{value}, {where}"


def value_words(c: Constraint, unit: str = "mm") -> str:
    """Return what a constraint holds as text with its unit; empty where it holds no number."""
    if c.value is None:
        return ""
    if c.kind is Hold.ANGLE:
        return f"{round(c.value, 2):g}°"
    return f"{round(c.value / 25.4, 3):g} in" if unit == "in" else f"{round(c.value, 2):g} mm"
