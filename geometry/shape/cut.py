"""Where a straight cut crosses an outline."""

from __future__ import annotations

import numpy as np

from geometry.shape.curve import Array, Path
from geometry.shape.distance import crossings_of, fraction_at
from geometry.shape.faults import meeting_points

Cut = tuple[int, float, Array]


def cuts(path: Path, start: tuple[float, float], end: tuple[float, float]) -> list[Cut]:
    """Return where the segment from start to end crosses a closed path: piece, fraction, place (z, r).

    In the order of the path; a crossing at a joint is named once.
    """
    knife = Path(np.array([start, end], dtype=float), np.zeros(2))
    n = len(path)
    every = np.arange(n)
    pairs = crossings_of(path, every, knife, np.zeros(n, dtype=np.intp))
    found = [(int(i), x) for rows, places in pairs for i, x in zip(rows, places, strict=True)]
    if len(found) % 2:
        # A joint a rounding off the cut falls between its pieces; look again with the tolerance of joints.
        found = [(i, x) for i in range(n) for x in meeting_points(path, i, knife, 0)]
    out: list[Cut] = []
    for i, place in sorted(found, key=lambda f: f[0]):
        if not any(np.hypot(*(place - other)) < 1e-7 for _, _, other in out):
            out.append((i, fraction_at(path, i, place), place))
    return sorted(out, key=lambda cut: (cut[0], cut[1]))


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
