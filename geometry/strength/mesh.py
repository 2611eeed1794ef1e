"""A mesh of six-node triangles over a half-section.

Points along the skin by a size field, hexagonal points inside, Delaunay, what lies outside dropped, smoothed.
An edge of the skin is split until no other point of the skin lies in its circle; it is then an edge of the
Delaunay triangulation (J. Ruppert, J. Algorithms 18 (1995) 548, from memory). Middles of skin edges lie on
their arcs. Quality is measured and stated; a mesh that misses the least is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from scipy.spatial import Delaunay, cKDTree

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags, Indices, Path
from geometry.strength.elements import NODES, slopes
from geometry.strength.sizes import SizeField, SizeRule, size_field

#: Smallest corner of a triangle in a mesh that is used, degrees; a fillet that meets a thin wall gives 15.
LEAST_CORNER_DEG = 8.0
#: An element whose mapping shrinks below this share at a node gets straight edges.
LEAST_FLATNESS = 0.2
#: A joint that turns more is a sharp corner, which no edge runs over, degrees.
SHARP_DEG = 12.0
#: Smooth joints nearer to another node than this share of an edge there are run over.
_NEAR_SHARE = 0.6
#: Rounds of splitting skin edges, and of smoothing.
_SPLITS, _SMOOTHINGS = 24, 6


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles over a half-section, and where their nodes lie on its skin.

    Attributes:
        points: (n, 2) nodes in mm, (z, r): corners first, then middles of edges.
        triangles: (e, 6) nodes of each element, counterclockwise, middles of 0-1, 1-2, 2-0 last.
        edges: (b, 3) start, end and middle of each edge of the skin, metal to the left.
        start_piece, start_share: (b,) piece of the outline and fraction of it where an edge starts.
        piece, share: (b,) those of its middle. curved: (b,) False where the middle stays on the chord.
        corners: how many nodes are corners.
        sides: (m, 2) ends of every edge of the mesh, by corner; node corners + k is the middle of edge k.
    """

    points: Array
    triangles: Indices
    edges: Indices
    start_piece: Indices
    start_share: Array
    piece: Indices
    share: Array
    curved: Flags
    corners: int
    sides: Indices

    @cached_property
    def corner_deg(self) -> Array:
        """(e, 3) angles at the corners of each triangle, degrees."""
        at = self.points[self.triangles[:, :3]]
        out = np.empty((len(at), 3))
        for k in range(3):
            a, b = at[:, (k + 1) % 3] - at[:, k], at[:, (k + 2) % 3] - at[:, k]
            cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
            out[:, k] = np.degrees(np.arctan2(cross, (a * b).sum(axis=1)))
        return out

    @cached_property
    def flatness(self) -> Array:
        """(e,) least determinant of each mapping at its nodes over the straight triangle's; 1 is straight."""
        corner = self.points[self.triangles[:, :3]]
        a, b = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
        area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
        return np.asarray(_determinants(self.points[self.triangles]).min(axis=1) / area)

    @property
    def unknowns(self) -> int:
        """Displacements of all nodes, three to a node."""
        return 3 * len(self.points)


def mesh_of(path: Path, rule: SizeRule) -> Mesh:
    """Return a mesh of a closed counterclockwise path that does not cross itself, as fine as the rule says.

    Raises:
        GeometryError: the mesh misses LEAST_CORNER_DEG or an element is turned over, with the place.
    """
    field = size_field(path, rule)
    way = _split_near(path, _along_skin(path, field))
    skin = _on_skin(path, way)
    polygon = shapely.Polygon(skin)
    shapely.prepare(polygon)
    points = np.vstack([skin, _inside(skin, polygon, field)])
    triangles = _triangles(points, polygon)
    for _ in range(_SMOOTHINGS):
        points = _smoothed(points, triangles, len(skin), field)
        triangles = _triangles(points, polygon)
    return checked(_straightened(_with_middles(path, points, triangles, way)))


def checked(mesh: Mesh) -> Mesh:
    """Return the mesh, or raise GeometryError naming its worst place."""
    worst = int(mesh.corner_deg.min(axis=1).argmin())
    least = float(mesh.corner_deg[worst].min())
    z, r = mesh.points[mesh.triangles[worst, :3]].mean(axis=0).tolist()
    if least < LEAST_CORNER_DEG:
        raise GeometryError(
            f"The mesh has a corner of {least:.1f} degrees at z {z:.1f}, r {r:.1f}, less than"
            f" {LEAST_CORNER_DEG:g}: the outline has a sliver or a very sharp tip there; round or remove it.",
            (z, r),
        )
    if mesh.flatness.min() <= 0.0:
        z, r = mesh.points[mesh.triangles[int(mesh.flatness.argmin()), :3]].mean(axis=0).tolist()
        raise GeometryError(f"An element near z {z:.1f}, r {r:.1f} is turned over.", (z, r))
    return mesh


def _determinants(nodes: Array) -> Array:
    """Return (e, 6) determinants of the mappings at the nodes of elements, (e, 6, 2) places."""
    at = np.einsum("mki,ekj->emij", slopes(NODES), nodes)
    return np.asarray(at[..., 0, 0] * at[..., 1, 1] - at[..., 0, 1] * at[..., 1, 0])


def _straightened(mesh: Mesh) -> Mesh:
    """Return the mesh with straight edges where an arc bends an element too far."""
    bad = mesh.flatness < LEAST_FLATNESS
    if not bad.any():
        return mesh
    points = mesh.points.copy()
    middle = np.unique(mesh.triangles[bad, 3:])
    points[middle] = points[mesh.sides[middle - mesh.corners]].mean(axis=1)
    return replace(mesh, points=points, curved=~np.isin(mesh.edges[:, 2], middle))


def moved(mesh: Mesh, path: Path, interior: Array) -> Mesh:
    """Return the mesh with its skin on another path of the same pieces and given interior corners.

    Args:
        mesh: of the path before.
        path: the moved one.
        interior: (k, 2) corners that are not on the skin, in their order.
    """
    corner = np.vstack([path.at(mesh.start_piece, mesh.start_share), interior])
    middle = corner[mesh.sides].mean(axis=1)
    curved = mesh.curved
    middle[mesh.edges[curved, 2] - mesh.corners] = path.at(mesh.piece[curved], mesh.share[curved])
    return replace(mesh, points=np.vstack([corner, middle]))


def _joints(path: Path, field: SizeField) -> Indices:
    """Return the pieces whose start is a node: every sharp corner, and smooth joints not too near to others.

    A piece shorter than its neighbours' elements would make slivers of them; the edge of an element then runs
    over its smooth joint, through three points of the skin.
    """
    count = len(path)
    arriving = path.tangents(np.arange(-1, count - 1) % count, np.ones(count))
    leaving = path.tangents(np.arange(count), np.zeros(count))
    sharp = (arriving * leaving).sum(axis=1) < math.cos(math.radians(SHARP_DEG))
    sizes = field.at(path.points)
    at = np.concatenate([[0.0], np.cumsum(path.lengths)])
    whole = float(at[-1])
    kept = np.flatnonzero(sharp).tolist()
    for k in np.argsort(-np.minimum(path.lengths, np.roll(path.lengths, 1)), kind="stable").tolist():
        way = [abs(at[k] - at[j]) for j in kept]
        if k not in kept and all(min(w, whole - w) >= _NEAR_SHARE * sizes[k] for w in way):
            kept.append(k)
    return np.array(sorted(kept), dtype=np.intp)


def _along_skin(path: Path, field: SizeField) -> Array:
    """Return the way along the skin, mm from the first piece's start, of each node; rising."""
    at = np.concatenate([[0.0], np.cumsum(path.lengths)])
    joints = at[_joints(path, field)]
    ends = np.append(joints[1:], joints[0] + at[-1])
    return np.concatenate(
        [low + _spaced(path, low, high, field) for low, high in zip(joints, ends, strict=True)]
    )


def _spaced(path: Path, low: float, high: float, field: SizeField) -> Array:
    """Return ways from 0 up to but without the end that part a stretch of the skin evenly by the field."""
    count = max(8, int(high - low))
    size = field.at(_on_skin(path, low + (high - low) * (np.arange(count) + 0.5) / count))
    along = np.concatenate([[0.0], np.cumsum((high - low) / count / size)])
    edges = max(1, math.ceil(along[-1] - 0.2))
    return np.asarray(
        np.interp(along[-1] * np.arange(edges) / edges, along, np.linspace(0.0, high - low, count + 1))
    )


def _placed(path: Path, way: Array) -> tuple[Indices, Array]:
    """Return piece and fraction at ways along the skin, mm."""
    at = np.concatenate([[0.0], np.cumsum(path.lengths)])
    way = way % at[-1]
    piece = np.clip(np.searchsorted(at, way + 1e-9, side="right") - 1, 0, len(path) - 1)
    return piece, np.clip((way - at[piece]) / path.lengths[piece], 0.0, 1.0)


def _on_skin(path: Path, way: Array) -> Array:
    return path.at(*_placed(path, way))


def _split_near(path: Path, way: Array) -> Array:
    """Halve edges of the skin until no other point of it lies in the circle over any of them."""
    whole = float(path.lengths.sum())
    for _ in range(_SPLITS):
        skin = _on_skin(path, way)
        after = np.roll(skin, -1, axis=0)
        middle, radius = (skin + after) / 2.0, np.hypot(*(after - skin).T) / 2.0
        near, _ = cKDTree(skin).query(middle, k=3)
        # The two nearest are the ends themselves unless another point lies in the circle.
        bad = (near[:, :2].max(axis=1) < radius * (1.0 - 1e-6)) | (near[:, 2] < radius * (1.0 - 1e-6))
        bad[radius < 0.02] = False
        if not bad.any():
            break
        end = np.append(way[1:], way[0] + whole)
        way = np.sort(np.concatenate([way, ((way + end) / 2.0)[bad]]))
    return way


def _inside(skin: Array, polygon: shapely.Polygon, field: SizeField) -> Array:
    """Return hexagonal points inside, by the field and clear of the skin; finer ones first."""
    low, high = skin.min(axis=0), skin.max(axis=0)
    kept = skin
    size = float(field.sizes.min())
    while size <= field.most_mm:
        n_z, n_r = int((high[0] - low[0]) / size) + 2, int((high[1] - low[1]) / (size * math.sqrt(0.75))) + 2
        i, j = np.meshgrid(np.arange(n_z), np.arange(n_r))
        grid = np.column_stack([(i + 0.5 * (j % 2)).ravel() * size, j.ravel() * size * math.sqrt(0.75)]) + low
        grid = grid[shapely.contains_xy(polygon, grid)]
        if len(grid):
            wanted = field.at(grid)
            mine = (wanted >= size) & ((wanted < 1.25 * size) | (1.25 * size > field.most_mm))
            grid, wanted = grid[mine], wanted[mine]
        if len(grid):
            clear, _ = cKDTree(kept).query(grid)
            kept = np.vstack([kept, grid[clear > 0.72 * wanted]])
        size *= 1.25
    return kept[len(skin) :]


def _triangles(points: Array, polygon: shapely.Polygon) -> Indices:
    """Return the counterclockwise triangles of the Delaunay triangulation that lie in the polygon."""
    found = np.asarray(Delaunay(points).simplices, dtype=np.intp)
    a, b, c = points[found[:, 0]], points[found[:, 1]], points[found[:, 2]]
    cross = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    found[cross < 0.0] = found[cross < 0.0][:, [0, 2, 1]]
    longest = np.maximum.reduce([((p - q) ** 2).sum(axis=1) for p, q in ((a, b), (b, c), (c, a))])
    real = np.abs(cross) > 1e-9 * longest
    return np.asarray(found[real & shapely.contains_xy(polygon, (a + b + c) / 3.0)])


def _smoothed(points: Array, triangles: Indices, fixed: int, field: SizeField) -> Array:
    """Return the points, the free ones in the middle of their triangles, fine ones weighing more."""
    at = points[triangles]
    centre = at.mean(axis=1)
    a, b = at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]
    weight = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / field.at(centre) ** 2
    total = np.bincount(triangles.ravel(), np.repeat(weight, 3), len(points))
    sums = [np.bincount(triangles.ravel(), np.repeat(weight * centre[:, k], 3), len(points)) for k in (0, 1)]
    free = np.arange(len(points)) >= fixed
    free &= total > 0.0
    out = points.copy()
    out[free] = np.column_stack(sums)[free] / total[free, None]
    return out


def _with_middles(path: Path, points: Array, triangles: Indices, way: Array) -> Mesh:
    """Return the mesh with a node in the middle of each edge, on the arc where the edge is of the skin."""
    used = np.unique(triangles)
    count = len(way)
    if len(used) < len(points):
        # A point that no triangle holds lies inside a gap of the triangulation; only free ones may.
        lost = np.setdiff1d(np.arange(count), used)
        if len(lost):
            z, r = points[lost[0]].tolist()
            raise GeometryError(f"The mesh loses the skin at z {z:.2f}, r {r:.2f}.", (z, r))
        number = np.full(len(points), -1, dtype=np.intp)
        number[used] = np.arange(len(used))
        points, triangles = points[used], number[triangles]
    pairs = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    sides, of = np.unique(pairs, axis=0, return_inverse=True)
    middle_of = len(points) + of.reshape(-1, 3)
    start = np.arange(count)
    end = (start + 1) % count
    key = sides[:, 0] * len(points) + sides[:, 1]
    wanted = np.minimum(start, end) * len(points) + np.maximum(start, end)
    at = np.searchsorted(key, wanted)
    missing = np.flatnonzero(key[np.minimum(at, len(key) - 1)] != wanted)
    if len(missing):
        z, r = points[missing[0]].tolist()
        raise GeometryError(f"The mesh does not follow the skin at z {z:.2f}, r {r:.2f}.", (z, r))
    middle = points[sides].mean(axis=1)
    half = (way + np.append(way[1:], way[0] + path.lengths.sum())) / 2.0
    middle[at] = _on_skin(path, half)
    return Mesh(
        np.vstack([points, middle]),
        np.hstack([triangles, middle_of]),
        np.column_stack([start, end, len(points) + at]),
        *_placed(path, way),
        *_placed(path, half),
        np.ones(count, dtype=np.bool_),
        len(points),
        sides,
    )
