"""A foreign half-section looked at: which way round it lies, its flanges, and where it bears on the hub."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.rim_measure import Half, measured_half, mirrored

#: Vertices this far below the highest flange still belong to a flange.
FLANGE_MM = 8.0
#: Flanges nearer to each other than this are no rim.
LEAST_RIM_MM = 60.0
#: The mounting face lies in this band of radii, and is at least so long along r.
HUB_R_MM, LEAST_FACE_MM = (15.0, 110.0), 5.0
#: A face counts as flat along r, and as lying at the z pointed at, within this.
FLAT_MM, POINTED_MM = 0.01, 0.1
#: A mirrored drawing is told by its inset: within this of the stated one when turned round, and farther off
#: as it stands.
MIRROR_MM = 2.0

Loops = Sequence[Sequence[tuple[float, float, float]]]


def chosen(loops: Loops, body: int | None) -> Path:
    """Return the outline of the wheel, counterclockwise.

    Raises:
        GeometryError: there is none, or several and none was chosen; they are listed.
    """
    paths = [Path.closed(loop).counterclockwise() for loop in loops]
    if not paths:
        raise GeometryError("The drawing holds no closed outline.")
    if body is not None and not 1 <= body <= len(paths):
        raise GeometryError(f"Body {body} was chosen; the drawing has {len(paths)}.")
    if body is None and len(paths) > 1:
        listed = "; ".join(
            f"{k}: z {b[0]:.1f} to {b[1]:.1f}, r {b[2]:.1f} to {b[3]:.1f}"
            for k, b in enumerate((p.bounds for p in paths[:6]), start=1)
        )
        raise GeometryError(
            f"The drawing has {len(paths)} closed bodies; say which one is the wheel (joints between "
            f"bodies are not judged): {listed}."
        )
    return paths[(body or 1) - 1]


def started(path: Path) -> Path:
    """Return the path begun at its outboard flange edge."""
    return _rolled(path, _flange_edge(path, outboard=True))


def _rolled(path: Path, first: int) -> Path:
    return Path(np.roll(path.points, -first, axis=0), np.roll(path.bulges, -first))


def _flange_edge(path: Path, outboard: bool) -> int:
    """Return the vertex at the end of a flange: farthest out, highest where several are."""
    z, r = path.points[:, 0], path.points[:, 1]
    high = r >= path.bounds[3] - FLANGE_MM
    farthest = np.where(high, z if outboard else -z, -np.inf)
    return int(np.argmax(np.where(farthest >= farthest.max() - 1e-6, r, -np.inf)))


def tyre_count(path: Path) -> int:
    """Return how many pieces of a started path are tyre side."""
    return _flange_edge(path, outboard=False)


def tyre_side(path: Path) -> Path:
    """Return the tyre side of a started path, closed by one straight line."""
    n = tyre_count(path)
    points = np.vstack([path.points[:n], path.ends[n - 1][None, :]])
    return Path(points, np.append(path.bulges[:n], 0.0))


def check_scale(path: Path, diameter: float) -> None:
    """Refuse an outline that is no rim, or a rim of quite another scale.

    Raises:
        GeometryError: it is.
    """
    flanges = path.points[0, 0] - path.points[tyre_count(path), 0]
    reach = 2.0 * path.bounds[3] / diameter
    for factor, word in (
        (25.4, "inches read as mm"),
        (10.0, "centimetres read as mm"),
        (0.5, "diameters as r"),
        (1.0 / 25.4, "mm read as inches"),
        (0.1, "mm read as centimetres"),
    ):
        if 0.9 < reach * factor < 1.2:
            raise GeometryError(f"The outline reaches r {path.bounds[3]:.2f} mm; it looks like {word}.")
    if flanges < LEAST_RIM_MM:
        raise GeometryError(
            f"No two flanges were found: the highest places lie within {flanges:.1f} mm of each other along "
            "the axle; the half-section of a wheel has a flange at either end."
        )


@dataclass(frozen=True)
class Face:
    """A flat face of the hub: its place along the axle, its radii, and whether it looks inboard."""

    z: float
    low_r: float
    high_r: float
    looks_inboard: bool


@dataclass(frozen=True)
class View:
    """The outline seen one way round: what its rim measures, and where it bears on the hub.

    Attributes:
        outer_face_z, inner_face_z: flange faces; one that was not found is placed by the width code.
        missing: sides whose flange face was not found.
    """

    path: Path
    outer: Half
    inner: Half
    outer_face_z: float
    inner_face_z: float
    missing: tuple[str, ...]
    face: Face | None
    is_mirrored: bool

    @property
    def centre_z(self) -> float:
        """The rim centre plane."""
        return (self.outer_face_z + self.inner_face_z) / 2.0

    def off(self, inset_mm: float) -> float:
        """Return how far the inset of this view is from the stated one; infinite without a face."""
        return np.inf if self.face is None else abs(self.face.z - self.centre_z - inset_mm)


def oriented(path: Path, width: float, inset_mm: float, face_z: float | None) -> tuple[View, list[str]]:
    """Return the outline the right way round, and what is to be said about it."""
    as_drawn = _view(path, width, face_z, is_mirrored=False)
    turned = _view(started(path.mirrored()), width, None if face_z is None else -face_z, is_mirrored=True)
    if face_z is not None:
        is_mirrored = as_drawn.face is None and turned.face is not None
    else:
        is_mirrored = turned.off(inset_mm) <= MIRROR_MM < as_drawn.off(inset_mm)
    view = turned if is_mirrored else as_drawn
    said = ["The drawing is mirrored (outboard to the left); it was turned round."] if is_mirrored else []
    if view.face is None:
        where = "" if face_z is None else f" at z {face_z:.3f} of the drawing"
        said.append(
            f"No mounting face was found{where}: no flat face that looks inboard between r {HUB_R_MM[0]:g} "
            f"and {HUB_R_MM[1]:g}. The section is placed by the stated inset."
        )
    said += [f"No {side} flange face was found; it is placed by the width code." for side in view.missing]
    return view, said


def _view(path: Path, width: float, face_z: float | None, is_mirrored: bool) -> View:
    tyre = tyre_side(path)
    outer, inner = measured_half(tyre), measured_half(mirrored(tyre))
    outer_z, inner_z = outer.face_z, None if inner.face_z is None else -inner.face_z
    missing = [side for side, z in (("outer", outer_z), ("inner", inner_z)) if z is None]
    if outer_z is None:
        if inner_z is None:
            raise GeometryError("Neither flange has a face along r; this is no drop-centre rim.")
        outer_z = inner_z + width
    if inner_z is None:
        inner_z = outer_z - width
    face = _mounting_face(path, face_z)
    return View(path, outer, inner, outer_z, inner_z, tuple(missing), face, is_mirrored)


def _mounting_face(path: Path, face_z: float | None) -> Face | None:
    """Return the most inboard flat face of the hub that looks inboard, or the one at face_z."""
    faces = [f for f in _hub_faces(path) if f.looks_inboard]
    if face_z is not None:
        faces = [f for f in faces if abs(f.z - face_z) <= POINTED_MM]
    if not faces:
        return None
    least = min(faces, key=lambda f: f.z)
    plane = [f for f in faces if abs(f.z - least.z) <= POINTED_MM]
    return replace(least, low_r=min(f.low_r for f in plane), high_r=max(f.high_r for f in plane))


def _hub_faces(path: Path) -> list[Face]:
    """Return the flat faces along r in the hub's band of radii; metal lies to the left of travel."""
    found = []
    for (z0, r0), (z1, r1), arc in zip(path.points.tolist(), path.ends.tolist(), path.is_arc, strict=True):
        low, high = min(r0, r1), max(r0, r1)
        if arc or abs(z1 - z0) > FLAT_MM or high - low < LEAST_FACE_MM:
            continue
        if low >= HUB_R_MM[0] and high <= HUB_R_MM[1]:
            found.append(Face(z0, low, high, looks_inboard=r1 < r0))
    return found
