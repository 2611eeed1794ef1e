"""Where a straight cut crosses an outline."""

from __future__ import annotations

import math

import numpy as np

from geometry.shape.curve import Array, Path
from geometry.shape.distance import fraction_at, in_sector
from geometry.shape.faults import meeting_points

Cut = tuple[int, float, Array]


def cuts(path: Path, start: tuple[float, float], end: tuple[float, float]) -> list[Cut]:
    """Return where the segment from start to end crosses a closed path: piece, fraction, place (z, r).

    In the order of the path; a crossing at a joint is named once.
    """
    found = _crossed(path, np.array(start, dtype=float), np.array(end, dtype=float))
    if len(found) % 2:
        # A joint a rounding off the cut falls between its pieces; look again with the tolerance of joints.
        knife = Path(np.array([start, end], dtype=float), np.zeros(2))
        found = [(i, x) for i in range(len(path)) for x in meeting_points(path, i, knife, 0)]
    out: list[Cut] = []
    for i, place in sorted(found, key=lambda f: f[0]):
        if not any(math.dist(place, other) < 1e-7 for _, _, other in out):
            out.append((i, fraction_at(path, i, place), place))
    return sorted(out, key=lambda cut: (cut[0], cut[1]))


def _crossed(path: Path, start: Array, end: Array) -> list[tuple[int, Array]]:
    """Return piece and place of every crossing of a segment with the pieces of a path."""
    knife = end - start
    span = float(np.hypot(*knife))
    along = knife / span
    normal = np.array([-along[1], along[0]])
    # Heights over the line of the cut: a straight piece crosses at height 0, an arc where its circle does.
    p, d = path.points, path.ends - path.points
    height, rise = (p - start) @ normal, d @ normal
    t = -height / np.where(rise != 0.0, rise, 1.0)
    lines = np.flatnonzero(~path.is_arc & (rise != 0.0) & (t >= 0.0) & (t <= 1.0))
    at_lines = p[lines] + d[lines] * t[lines][:, None]
    c = path.centres
    off = (c - start) @ normal
    half2 = np.where(path.is_arc, path.radii, 0.0) ** 2 - off**2
    arcs = np.flatnonzero(path.is_arc & (half2 >= 0.0))
    piece, at = lines, at_lines
    if len(arcs):
        foot = c[arcs] - off[arcs][:, None] * normal
        step = np.sqrt(half2[arcs])[:, None] * along
        both, places = np.concatenate([arcs, arcs]), np.concatenate([foot + step, foot - step])
        on = in_sector(path, both, places - c[both])
        piece, at = np.concatenate([lines, both[on]]), np.concatenate([at_lines, places[on]])
    reach = (at - start) @ along
    on_cut = (reach >= 0.0) & (reach <= span)
    return list(zip(piece[on_cut].tolist(), at[on_cut], strict=True))


def parts(path: Path, start: tuple[float, float], end: tuple[float, float]) -> tuple[Path, Path] | None:
    """Return the two closed parts of a path that a segment crosses exactly twice, or None if it does not."""
    found = cuts(path, start, end)
    if len(found) != 2:
        return None
    return _between(path, found[0], found[1]), _between(path, found[1], found[0])


def _between(path: Path, a: Cut, b: Cut) -> Path:
    """Return the closed part that runs along the path from cut a to cut b and straight back."""
    n = len(path)
    steps = (b[0] - a[0]) % n
    if steps == 0 and b[1] < a[1]:
        steps = n
    k = np.arange(steps + 1)
    piece = (a[0] + k) % n
    low, high = np.where(k == 0, a[1], 0.0), np.where(k == steps, b[1], 1.0)
    points = path.points[piece]
    points[0] = a[2]
    long = high > low
    bulges = np.tan(path.sweeps[piece] * (high - low) / 4.0)
    return Path(np.vstack([points[long], b[2]]), np.append(bulges[long], 0.0))
