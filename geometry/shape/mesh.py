"""The surface of a body in space as triangles: what hangs together, and whether it is closed.

Words:
    edge       a side of a triangle; on a sound surface two triangles share it, run through once either way
    open       an edge that one triangle alone has
    crowded    an edge that more than two triangles have
    body       triangles that hang together by shared corners
    flipped    a triangle turned against most of those that it hangs together with by edges of two
    fragment   a body so much smaller than the largest that it is likely to be dirt of a scan
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.compiled import compiled
from geometry.shape.curve import Array, Flags, Indices

#: Corners of open edges that lie this near to each other, as a part of the whole size, are one place: they
#: differ by the rounding of a 32-bit number.
_NEAR = 2.0**-22
#: With more open corners than this, or more pairs of them so near, it is no rounding that is to be mended.
_MOST_OPEN, _MOST_PAIRS = 200_000, 4_000_000
#: A fragment has fewer triangles than the first part of the largest body's, and is smaller than the second.
_FEW, _SMALL = 0.01, 0.2


@dataclass(frozen=True, eq=False)
class Surface:
    """What a heap of triangles is.

    Attributes:
        body: (n,) number of the body of each triangle, the one with most triangles first.
        triangles, open_edges, crowded_edges, flipped: how many, per body.
        low, high: (m, 3) box of each body.
        degenerate: triangles with two corners in one place.
    """

    body: Indices
    triangles: Indices
    open_edges: Indices
    crowded_edges: Indices
    flipped: Indices
    low: Array
    high: Array
    degenerate: int

    def is_closed(self, body: int) -> bool:
        """Return True where no edge of a body is open."""
        return not self.open_edges[body]

    @property
    def is_sound(self) -> bool:
        """True where all bodies are closed, and every triangle is turned like its neighbours."""
        return not (self.open_edges.any() or self.crowded_edges.any() or self.flipped.any())

    @property
    def fragments(self) -> Indices:
        """The numbers of the loose fragments."""
        size = np.linalg.norm(self.high - self.low, axis=1)
        few = self.triangles < max(_FEW * self.triangles[0], 2)
        return np.flatnonzero(few & (size < _SMALL * size[0]))


def surface_of(triangles: Array) -> Surface:
    """Return the bodies of (n, 3, 3) triangles and what is wrong with them.

    Corners are one place where their coordinates are equal; where edges stay open, also where those of open
    edges differ by rounding.
    """
    corners = np.ascontiguousarray(triangles, dtype=float).reshape(-1, 3)
    ids, count = welded(corners)
    sides = _sides(ids, count)
    if sides[0].any():
        ids, count = _mended(corners, ids, count, sides[0])
        sides = _sides(ids, count)
    is_open, crowded, flipped, degenerate = sides
    body, bodies = _bodies(ids, count)
    amount = np.bincount(body, minlength=bodies)
    order = np.argsort(-amount, kind="stable")
    rank = np.empty(bodies, dtype=np.int64)
    rank[order] = np.arange(bodies)
    body = rank[body]
    low, high = _boxes(corners, body, bodies)

    def per_body(counted: Indices | Flags) -> Indices:
        return np.bincount(body, weights=counted, minlength=bodies).astype(np.int64)

    return Surface(
        body, amount[order], per_body(is_open), per_body(crowded), per_body(flipped), low, high, degenerate
    )


def prepare() -> None:
    """Have the machine code made that a sound body does not need."""
    _unite(np.arange(2), np.array([(0, 1)]))


def _mended(corners: Array, ids: Indices, count: int, is_open: Indices) -> tuple[Indices, int]:
    """Return the places with those of open edges made one where they differ by rounding."""
    loose = np.unique(ids.reshape(-1, 3)[is_open > 0])
    if len(loose) > _MOST_OPEN:
        return ids, count
    first = np.empty(count, dtype=np.int64)
    first[ids] = np.arange(len(ids))
    near = _NEAR * float(np.ptp(corners, axis=0).max())
    tree = cKDTree(corners[first[loose]])
    if not len(loose) < tree.count_neighbors(tree, near) < _MOST_PAIRS:
        return ids, count
    same = np.arange(count)
    _unite(same, loose[tree.query_pairs(near, output_type="ndarray")])
    is_kept = same == np.arange(count)
    return (np.cumsum(is_kept) - 1)[same][ids], int(is_kept.sum())


@compiled
def _hash(a: float, b: float, c: float, bits: Indices, floats: Array) -> int:
    floats[0], floats[1], floats[2] = a, b, c
    h = bits[0]
    for k in range(3):
        h = (h ^ (h >> 29) ^ bits[k]) * -7046029254386353131
    return int(h ^ (h >> 32))


@compiled
def welded(corners: Array) -> tuple[Indices, int]:
    """Return the number of the place of each of (m, 3) corners, and how many places there are."""
    table = np.full(1 << 12, -1, dtype=np.int32)
    first = np.empty(1 << 11, dtype=np.int32)
    ids = np.empty(len(corners), dtype=np.int64)
    floats = np.zeros(3)
    bits = floats.view(np.int64)
    count = 0
    for k in range(len(corners)):
        # Adding zero makes -0 and 0 one.
        x, y, z = corners[k, 0] + 0.0, corners[k, 1] + 0.0, corners[k, 2] + 0.0
        slot = _hash(x, y, z, bits, floats) & (len(table) - 1)
        while table[slot] >= 0:
            f = first[table[slot]]
            if corners[f, 0] == x and corners[f, 1] == y and corners[f, 2] == z:
                break
            slot = (slot + 1) & (len(table) - 1)
        if table[slot] >= 0:
            ids[k] = table[slot]
            continue
        table[slot] = count
        first[count] = k
        ids[k] = count
        count += 1
        if count < len(first):
            continue
        # Half full: twice as large.
        first = np.concatenate((first, np.empty(len(first), dtype=np.int32)))
        table = np.full(2 * len(table), -1, dtype=np.int32)
        for n in range(count):
            f = first[n]
            h = _hash(corners[f, 0] + 0.0, corners[f, 1] + 0.0, corners[f, 2] + 0.0, bits, floats)
            slot = h & (len(table) - 1)
            while table[slot] >= 0:
                slot = (slot + 1) & (len(table) - 1)
            table[slot] = n
    return ids, count


@compiled
def _root(parent: Indices, k: int) -> int:
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = int(parent[k])
    return k


@compiled
def _unite(same: Indices, pairs: Indices) -> None:
    """Let the places of (m, 2) pairs have the same number, the lowest of all that hang together."""
    for k in range(len(pairs)):
        one, two = _root(same, pairs[k, 0]), _root(same, pairs[k, 1])
        same[max(one, two)] = min(one, two)
    for k in range(len(same)):
        same[k] = _root(same, k)


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
def _boxes(corners: Array, body: Indices, bodies: int) -> tuple[Array, Array]:
    low, high = np.full((bodies, 3), np.inf), np.full((bodies, 3), -np.inf)
    for k in range(len(corners)):
        n = body[k // 3]
        for c in range(3):
            low[n, c], high[n, c] = min(low[n, c], corners[k, c]), max(high[n, c], corners[k, c])
    return low, high


@compiled
def _sides(ids: Indices, count: int) -> tuple[Indices, Indices, Flags, int]:
    """Return for each triangle its open and crowded edges, whether it is flipped; and how many have no area.

    A crowded edge is counted with the first of its triangles.
    """
    total = len(ids) // 3
    # The edges of each place to places of higher number: begin[n] to begin[n + 1].
    begin = np.zeros(count + 1, dtype=np.int32)
    degenerate = 0
    for n in range(total):
        a, b, c = ids[3 * n], ids[3 * n + 1], ids[3 * n + 2]
        if a == b or b == c or c == a:
            degenerate += 1
            continue
        begin[min(a, b) + 1] += 1
        begin[min(b, c) + 1] += 1
        begin[min(c, a) + 1] += 1
    for k in range(count):
        begin[k + 1] += begin[k]
    # The place at the other end, the triangle, and which way it runs through the edge, in one number.
    edges, filled = np.empty(begin[count], dtype=np.int64), begin[:-1].copy()
    for n in range(total):
        a, b, c = ids[3 * n], ids[3 * n + 1], ids[3 * n + 2]
        if a == b or b == c or c == a:
            continue
        for k in range(3):
            p, q = ids[3 * n + k], ids[3 * n + (k + 1) % 3]
            low, high = min(p, q), max(p, q)
            edges[filled[low]] = (np.int64(high) << 32) | (n << 1) | (p == low)
            filled[low] += 1
    is_open, crowded = np.zeros(total, dtype=np.int64), np.zeros(total, dtype=np.int64)
    parent, turned = np.arange(total), np.zeros(total, dtype=np.bool_)
    for k in range(count):
        group = edges[begin[k] : begin[k + 1]]
        _sort(group)
        m = 0
        while m < len(group):
            end = m + 1
            while end < len(group) and group[end] >> 32 == group[m] >> 32:
                end += 1
            one = (group[m] & 0xFFFFFFFF) >> 1
            if end == m + 1:
                is_open[one] += 1
            elif end == m + 2:
                _hang_together(
                    parent, turned, one, (group[m + 1] & 0xFFFFFFFF) >> 1, (group[m] ^ group[m + 1]) & 1
                )
            else:
                crowded[one] += 1
            m = end
    return is_open, crowded, _minority(parent, turned), degenerate


@compiled
def _sort(numbers: Indices) -> None:
    """Sort in place; most groups are a handful."""
    if len(numbers) > 24:
        numbers.sort()
        return
    for n in range(1, len(numbers)):
        value, k = numbers[n], n - 1
        while k >= 0 and numbers[k] > value:
            numbers[k + 1] = numbers[k]
            k -= 1
        numbers[k + 1] = value


@compiled
def _way(parent: Indices, turned: Flags, n: int) -> tuple[int, bool]:
    """Return the root of a triangle, and whether it is turned against it."""
    root, against = n, False
    while parent[root] != root:
        against ^= turned[root]
        root = parent[root]
    # Everything on the way is hung to the root itself.
    total = against
    while parent[n] != root and n != root:
        after, step = parent[n], turned[n]
        parent[n], turned[n] = root, total
        total ^= step
        n = after
    return root, against


@compiled
def _hang_together(parent: Indices, turned: Flags, a: int, b: int, alike: int) -> None:
    """Note that two triangles share an edge; `alike` is 1 where they run through it in opposite ways."""
    one, against_one = _way(parent, turned, a)
    two, against_two = _way(parent, turned, b)
    if one != two:
        parent[two] = one
        turned[two] = against_one ^ against_two ^ (alike == 0)


@compiled
def _minority(parent: Indices, turned: Flags) -> Flags:
    """Return which triangles are turned against most of those they hang together with."""
    total = len(parent)
    amount, against = np.zeros(total, dtype=np.int64), np.zeros(total, dtype=np.int64)
    for n in range(total):
        root, way = _way(parent, turned, n)
        amount[root] += 1
        against[root] += way
    out = np.zeros(total, dtype=np.bool_)
    for n in range(total):
        root, way = _way(parent, turned, n)
        out[n] = way == (2 * against[root] <= amount[root])
    return out
