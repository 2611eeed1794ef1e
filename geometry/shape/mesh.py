"""The surface of a body in space as triangles: what hangs together, and whether it is closed.

Words:
    edge      a side of a triangle, from one corner to the next; on a sound surface it is run through once in
              either direction
    open      an edge that one triangle alone has
    flipped   an edge that two triangles run through in the same direction: one of them is turned inwards
    body      triangles that hang together by shared corners
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.compiled import compiled
from geometry.shape.curve import Array, Indices

#: Corners equal to this many decimals of a mm are one place.
_SAME_DIGITS = 6


@dataclass(frozen=True, eq=False)
class Surface:
    """What a heap of triangles is.

    Attributes:
        body: (n,) number of the body of each triangle, the one with most triangles first.
        triangles, open_edges, flipped_edges, crowded_edges: per body; crowded ones belong to more than two
            triangles.
        degenerate: triangles without area.
    """

    body: Indices
    triangles: Indices
    open_edges: Indices
    flipped_edges: Indices
    crowded_edges: Indices
    degenerate: int

    def is_closed(self, body: int) -> bool:
        """Return True where every edge of a body belongs to two triangles, or to more in even number."""
        return not self.open_edges[body]

    @property
    def is_sound(self) -> bool:
        """True where all bodies are closed and every triangle is turned like its neighbours."""
        return not (self.open_edges.any() or self.flipped_edges.any() or self.crowded_edges.any())


def surface_of(triangles: Array) -> Surface:
    """Return the bodies of (n, 3, 3) triangles and what is wrong with them."""
    # Corners that differ by rounding are one; adding zero makes -0 and 0 one as well.
    corners = np.round(np.ascontiguousarray(triangles, dtype=float).reshape(-1, 3), _SAME_DIGITS) + 0.0
    size = 1 << max(4, int(np.ceil(np.log2(2.0 * len(corners)))))
    ids = np.empty(len(corners), dtype=np.int64)
    count = _weld(corners.view(np.int64), np.full(size, -1, dtype=np.int64), ids)
    body, bodies = _bodies(ids, count)
    keys = np.full(size, -1, dtype=np.int64)
    seen = np.zeros((size, 2), dtype=np.int64)
    of = np.zeros(size, dtype=np.int64)
    degenerate = _edges(ids, count, body, keys, seen, of)
    there = keys >= 0
    one, other, of = seen[there, 0], seen[there, 1], of[there]
    order = np.argsort(-np.bincount(body, minlength=bodies), kind="stable")
    rank = np.empty(bodies, dtype=np.int64)
    rank[order] = np.arange(bodies)

    def per_body(which: Indices) -> Indices:
        return np.bincount(rank[of[which]], minlength=bodies)

    total = one + other
    return Surface(
        rank[body],
        np.bincount(rank[body], minlength=bodies),
        per_body(np.flatnonzero(total % 2 == 1)),
        per_body(np.flatnonzero((total == 2) & (one != other))),
        per_body(np.flatnonzero((total > 2) & (total % 2 == 0))),
        degenerate,
    )


@compiled
def _weld(bits: Indices, table: Indices, ids: Indices) -> int:
    """Fill in one number for each place, equal for equal coordinates; return how many there are."""
    mask, count = len(table) - 1, 0
    first = np.empty(len(bits), dtype=np.int64)
    for k in range(len(bits)):
        h = (bits[k, 0] * 73856093) ^ (bits[k, 1] * 19349663) ^ (bits[k, 2] * 83492791)
        h ^= h >> 29
        h *= 1540483477
        slot = (h ^ (h >> 32)) & mask
        while True:
            j = table[slot]
            if j < 0:
                table[slot] = count
                first[count] = k
                ids[k] = count
                count += 1
                break
            f = first[j]
            if bits[f, 0] == bits[k, 0] and bits[f, 1] == bits[k, 1] and bits[f, 2] == bits[k, 2]:
                ids[k] = j
                break
            slot = (slot + 1) & mask
    return count


@compiled
def _root(parent: Indices, k: int) -> int:
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@compiled
def _bodies(ids: Indices, count: int) -> tuple[Indices, int]:
    """Return the number of the body of each triangle, and how many bodies there are."""
    parent = np.arange(count)
    for n in range(len(ids) // 3):
        a = _root(parent, ids[3 * n])
        for c in range(1, 3):
            b = _root(parent, ids[3 * n + c])
            if a != b:
                parent[b] = a
    number = np.full(count, -1)
    body, found = np.empty(len(ids) // 3, dtype=np.int64), 0
    for n in range(len(body)):
        root = _root(parent, ids[3 * n])
        if number[root] < 0:
            number[root] = found
            found += 1
        body[n] = number[root]
    return body, found


@compiled
def _edges(ids: Indices, count: int, body: Indices, keys: Indices, seen: Indices, of: Indices) -> int:
    """Count how often each edge is run through either way; return how many triangles have no area."""
    mask, degenerate = len(keys) - 1, 0
    for n in range(len(body)):
        a, b, c = ids[3 * n], ids[3 * n + 1], ids[3 * n + 2]
        if a == b or b == c or c == a:
            degenerate += 1
            continue
        for side in range(3):
            p, q = ids[3 * n + side], ids[3 * n + (side + 1) % 3]
            low, high = min(p, q), max(p, q)
            key = low * count + high
            h = key * 1540483477
            h ^= h >> 31
            slot = (h * 73856093) & mask
            while keys[slot] >= 0 and keys[slot] != key:
                slot = (slot + 1) & mask
            keys[slot] = key
            of[slot] = body[n]
            seen[slot, 0 if p == low else 1] += 1
    return degenerate
