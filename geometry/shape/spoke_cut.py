"""The straight cut between spokes and rim: from the shoulder to the outer lip's root, ends off the skin.

Fillets at both roots exist only where spokes are, so they belong to the spokes: the cut starts where the
shoulder's fillet leaves the rim's inside and ends where the lip root's does. Both ends then run on into the
open, so that the cut still parts the section when a vertex near it is dragged.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from geometry.shape.curve import Array, Indices, Path
from geometry.shape.cut import cuts
from geometry.shape.distance import contains, nearest_of
from geometry.shape.section import Outline, Section, Vertex, Zone, build

Place = tuple[float, float]

#: How far the ends run on into the open, and how far off every skin they then lie at least, mm.
SHOULDER_RUN_MM, ROOT_RUN_MM, LEAST_OFF_MM = 9.0, 5.0, 1.5
#: The cut stays so far from the tyre side, mm.
TYRE_SIDE_MM = 2.0


def spoke_cut(section: Section) -> tuple[Place, Place] | None:
    """Return shoulder end and lip end of the cut, or None where the section has no shoulder or spoke face.

    Where the line would come too near to the tyre side, it starts further down the shoulder and spoke back.
    A section that no straight cut parts cleanly gets the last one tried.
    """
    outline = build(section)
    vertices = section.vertices
    joints = [(vertices[i - 1].zone, v.zone) for i, v in enumerate(vertices)]
    shoulder = next((i for i, (a, b) in enumerate(joints) if b is Zone.SHOULDER and a is not b), None)
    root = next((i for i, (a, b) in enumerate(joints) if a is Zone.SPOKE_FACE and b is not a), None)
    if not isinstance(outline, Outline) or shoulder is None or root is None:
        return None
    tyre = _points(outline.path, np.flatnonzero(outline.side == 0))
    lip = _fillet_end(vertices, root, (root + 1) % len(vertices))
    cut: tuple[Place, Place] | None = None
    for start in _starts(vertices, shoulder):
        way = math.atan2(lip[1] - start[1], lip[0] - start[0])
        a = _in_the_open(outline.path, start, way + math.pi, SHOULDER_RUN_MM, 1.0)
        b = _in_the_open(outline.path, lip, way, ROOT_RUN_MM, -1.0)
        if a is None or b is None:
            continue
        cut = (a, b)
        if _to_segment(tyre, a, b) >= TYRE_SIDE_MM and len(cuts(outline.path, a, b)) == 2:
            return cut
    return cut


def parts(section: Section, shoulder_cut: Place, lip_cut: Place) -> bool:
    """Return True where a cut crosses the section's skin exactly twice; also where there is no skin yet."""
    outline = build(section)
    return not isinstance(outline, Outline) or len(cuts(outline.path, shoulder_cut, lip_cut)) == 2


def _starts(vertices: Sequence[Vertex], shoulder: int) -> Iterator[Place]:
    """Yield places on the skin: the fillet's two ends, then down the shoulder and the spoke back."""
    n = len(vertices)
    yield _fillet_end(vertices, shoulder, shoulder - 1)
    lowest = _fillet_end(vertices, shoulder, (shoulder + 1) % n)
    yield lowest
    for k in (shoulder, shoulder + 1):
        a, b = vertices[k % n], vertices[(k + 1) % n]
        for t in np.linspace(0.0, 1.0, 40)[1:-1].tolist():
            place = (a.z + t * (b.z - a.z), a.r + t * (b.r - a.r))
            if place[1] < lowest[1]:
                yield place


def _fillet_end(vertices: Sequence[Vertex], i: int, towards: int) -> Place:
    """Return where the fillet in corner i ends on the edge towards a neighbour."""
    a, v, b = vertices[i - 1], vertices[i], vertices[(i + 1) % len(vertices)]
    to = vertices[towards]
    share = v.radius * half_turn_tan(a, v, b) / math.hypot(to.z - v.z, to.r - v.r)
    return v.z + share * (to.z - v.z), v.r + share * (to.r - v.r)


def half_turn_tan(a: Vertex, v: Vertex, b: Vertex) -> float:
    """Return tan(half the turn) at v between straight edges: what a fillet cuts off per mm of radius."""
    before, after = math.atan2(v.r - a.r, v.z - a.z), math.atan2(b.r - v.r, b.z - v.z)
    turn = abs((after - before + math.pi) % (2.0 * math.pi) - math.pi)
    return math.tan(turn / 2.0)


def _in_the_open(path: Path, skin: Place, way: float, run: float, sense: float) -> Place | None:
    """Return a place `run` from the skin off all metal: along `way`, or turned the least towards the axle."""
    for turn in range(0, 120, 5):
        angle = way + sense * math.radians(turn)
        place = (skin[0] + run * math.cos(angle), skin[1] + run * math.sin(angle))
        x = np.array([place])
        off = nearest_of(path, np.arange(len(path)), x)[0][0]
        if off >= LEAST_OFF_MM and not contains(path, x)[0]:
            return place
    return None


def _points(path: Path, pieces: Indices) -> Array:
    """Return places along the named pieces, about 20 on each."""
    return path.at(np.repeat(pieces, 21), np.tile(np.linspace(0.0, 1.0, 21), len(pieces)))


def _to_segment(points: Array, a: Place, b: Place) -> float:
    """Return the least distance from points to a segment, mm."""
    start, way = np.array(a), np.array(b) - np.array(a)
    t = np.clip((points - start) @ way / (way @ way), 0.0, 1.0)
    return float(np.hypot(*(points - start - t[:, None] * way).T).min())
