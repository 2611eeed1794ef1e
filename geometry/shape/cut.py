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
