"""Bodies in space: the area that their triangles sweep about the axle, both edges kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from app.files.readers.answer import (
    NOT_KNOWN,
    UNITS,
    AxleFit,
    Body,
    Flat,
    Loop,
    ReadError,
    ReadOutline,
    Request,
)
from app.files.readers.mesh_formats import load
from app.files.readers.outlines import bounds_of, size_doubt
from geometry.errors import GeometryError
from geometry.shape import mesh, thinning
from geometry.shape.axle_fit import FittedAxle, fit_axle
from geometry.shape.curve import Array
from geometry.shape.envelope import Envelope, swept
from geometry.shape.mesh import Surface, surface_of

#: Which of the file's coordinates are z of the half-plane and the two across it, in cyclic order.
_AXES = {"x": (0, 1, 2), "y": (1, 2, 0), "z": (2, 0, 1)}

#: About the size of a brake, and what can still be one.
_BRAKE_MM, _LEAST_MM, _MOST_MM = 250.0, 25.0, 1400.0

#: Corners nearer than this, mm, are one: rounding of the sweep.
_SAME_MM = 1e-7
#: Bodies that are named one by one.
_NAMED = 50


def prepare(is_fitted: bool = True) -> None:
    """Have the machine code made, or found on the disk, that bodies need; with that of a fitted axle."""
    turn = np.linspace(0.0, 2.0 * np.pi, 25)
    section = [(0.0, 7.0), (9.0, 7.0), (9.0, 9.0), (0.0, 9.0), (0.0, 7.0)]
    rings = [np.column_stack([np.full(25, z), r * np.cos(turn), r * np.sin(turn)]) for z, r in section]
    tube = np.concatenate(
        [
            half
            for p, q in pairwise(rings)
            for half in (
                np.stack([p[:-1], p[1:], q[1:]], axis=1),
                np.stack([p[:-1], q[1:], q[:-1]], axis=1),
            )
        ]
    )
    mesh.prepare()
    thinning.prepare()
    surface_of(tube)
    swept(tube)
    if is_fitted:
        fit_axle(tube)


@dataclass(frozen=True)
class Bodies:
    """What a file holds, in its own axes and unit.

    Attributes:
        triangles: (n, 3, 3) corners.
        stated: the unit that the file states, or NOT_KNOWN.
        grow: how far the true surface may lie outside the triangles.
        warnings, skipped: as in ReadOutline.
    """

    triangles: Array
    stated: str
    grow: float = 0.0
    warnings: tuple[str, ...] = ()
    skipped: dict[str, int] = field(default_factory=dict)


def read_mesh(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the area that the bodies of a mesh file sweep about the axle.

    Raises:
        ReadError: the file is damaged, or holds nothing.
    """
    found = load(data, request.suffix)
    bodies = Bodies(found.triangles, found.unit, 0.0, found.warnings, found.skipped)
    return swept_outline(bodies, request, sha256)


def swept_outline(bodies: Bodies, request: Request, sha256: str) -> ReadOutline:
    """Return the area that bodies sweep about the axle.

    Raises:
        ReadError: a body that is asked for does not exist, no axle can be fitted, or nothing has an area.
    """
    said, skipped = list(bodies.warnings), dict(bodies.skipped)
    unit = request.unit or bodies.stated
    if request.unit is not None and bodies.stated not in (NOT_KNOWN, request.unit):
        said.append(f"the file states {bodies.stated}; read as {request.unit}, as asked")
    surface = surface_of(bodies.triangles)
    if surface.degenerate == len(surface.body):
        raise ReadError("no triangle of the body has an area; export it again")
    said += _words(surface)
    if surface.degenerate:
        skipped["triangles without area"] = surface.degenerate
    chosen = _chosen(surface, request)
    try:
        fit = fit_axle(bodies.triangles) if request.axle == "fitted" else None
        placed = _placed(bodies.triangles, fit, request)
        if fit is not None:
            said += _fit_words(fit, UNITS.get(unit, 1.0), unit)
        if len(chosen) < len(surface.triangles):
            placed = placed[np.isin(surface.body, chosen)]
        envelope, mm = _swept(placed, bodies.grow, UNITS.get(unit))
    except GeometryError as error:
        raise ReadError(f"{str(error)[0].lower()}{str(error)[1:].rstrip('.')}") from None
    said += _axle_words(request, envelope)
    if envelope.filled:
        voids = "1 enclosed void is" if envelope.filled == 1 else f"{envelope.filled} enclosed voids are"
        said.append(f"{voids} filled: nothing can reach into it")
    scale = UNITS.get(unit, 1.0)
    bounds = bounds_of(_loops(envelope, scale / mm))
    doubt = size_doubt(bounds, unit) if unit != NOT_KNOWN else ""
    if doubt and request.unit is not None:
        said.append(doubt)
    elif doubt:
        # The size speaks against the unit that the file states: the user chooses, from its own numbers.
        unit, scale = NOT_KNOWN, 1.0
    loops = _loops(envelope, scale / mm)
    return ReadOutline(
        kind="mesh",
        unit=unit,
        loops=loops,
        within=(-1,) * len(loops),
        bounds=bounds_of(loops),
        sha256=sha256,
        skipped=skipped,
        tolerance_mm=envelope.tolerance_mm * scale / mm,
        bodies=_told(surface, scale),
        fit=None if fit is None else _fit_told(fit, scale),
        unit_doubt=doubt if request.unit is None else "",
        warnings=tuple(said),
    )


def _placed(triangles: Array, fit: FittedAxle | None, request: Request) -> Array:
    """Return the corners as z along the axle and the two coordinates across it, from the axle line on."""
    if fit is not None:
        return fit.placed(triangles)
    found = triangles[:, :, _AXES[request.axle]]
    found -= np.array([0.0, *request.axle_at])
    return np.asarray(found)


def _swept(placed: Array, grow: float, mm: float | None) -> tuple[Envelope, float]:
    """Return the area that bodies sweep, in mm as taken, and how many mm a unit of the file was taken as.

    Without a unit, or with one that makes the body far larger or smaller than any brake, the numbers are
    swept as those of a brake, so that they can be looked at: what the unit is, is judged afterwards.
    """
    flat = placed.reshape(-1, 3)
    size = max(float(np.ptp(flat[:, 0])), float(np.hypot(flat[:, 1], flat[:, 2]).max()))
    if size > 0.0 and not (mm is not None and _LEAST_MM <= size * mm <= _MOST_MM):
        mm = _BRAKE_MM / size
    mm = mm or 1.0
    return swept(placed * mm if mm != 1.0 else placed, grow * mm), mm


def _loops(envelope: Envelope, factor: float) -> tuple[Loop, ...]:
    return tuple(
        tuple((z * factor, r * factor, 0.0) for z, r in _apart(path.points).tolist())
        for path in envelope.outlines
    )


def _apart(points: Array) -> Array:
    """Return corners without those that rounding laid onto the one before."""
    step = np.abs(points - np.roll(points, 1, axis=0)).max(axis=1)
    kept = points[step > _SAME_MM]
    return kept if len(kept) > 2 else points


# What is said


def _words(surface: Surface) -> list[str]:
    """Return what there is to look at on a surface."""
    said = []
    count, loose = len(surface.triangles), surface.fragments
    if count > 1:
        said.append("; ".join([f"{count} bodies", *_fragment_words(surface.triangles[loose].tolist())]))
    open_, crowded = int(surface.open_edges.sum()), int(surface.crowded_edges.sum())
    if open_:
        bodies = int(np.count_nonzero(surface.open_edges))
        where = f" of {bodies} bodies" if count > 1 else ""
        said.append(
            f"the surface{where} is open at {open_} edges: what is missing there is not in the outline"
        )
    if crowded:
        said.append(f"{crowded} edges belong to more than two triangles")
    flipped = int(surface.flipped.sum())
    if flipped:
        said.append(f"{flipped} triangles are turned the wrong way, which does the outline no harm")
    return said


def _axle_words(request: Request, envelope: Envelope) -> list[str]:
    """Return what there is to settle about the axle line."""
    said = []
    # Another word than the one that is taken at first has been named by somebody.
    if not request.axle_named and request.axle == Request.axle:
        said.append(
            f"no axle was named: it is taken along the file's {request.axle}, z and r counted from the "
            "file's origin; confirm or correct it with --axle and --axle-at"
        )
    if min(float(path.points[:, 1].min()) for path in envelope.outlines) <= 0.0:
        said.append("the body reaches the axle line itself, where a hub is: check the axle and its place")
    return said


def _fragment_words(triangles: list[int]) -> list[str]:
    if not triangles:
        return []
    low, high = min(triangles), max(triangles)
    them = "1 loose fragment" if len(triangles) == 1 else f"{len(triangles)} loose fragments"
    if low < high:
        return [f"{them} of {low} to {high} triangles"]
    return [f"{them} of one triangle" if low == 1 else f"{them} of {low} triangles"]


def _fit_words(fit: FittedAxle, scale: float, unit: str) -> list[str]:
    mm = "" if unit == NOT_KNOWN else " mm"
    said = [
        f"axle line fitted to turned surfaces of r {fit.r_low * scale:.4g} to {fit.r_high * scale:.4g}{mm}, "
        f"{100.0 * fit.share:.0f} % of all surface, in {15 * fit.sectors} of 360 degrees round it; its place "
        "along the axle and which way is outboard cannot be told from it: lay the mounting face on 0, and "
        "flip it if need be"
    ]
    if fit.rival is not None:
        said.append(
            f"another line, {fit.rival * scale:.4g}{mm} from it, has turned surface as well, as of a bore or "
            "a pin: see that it is the hub's axle that was found"
        )
    return said


def _chosen(surface: Surface, request: Request) -> list[int]:
    count = len(surface.triangles)
    for n in request.bodies:
        if not 0 <= n < count:
            raise ReadError(
                f"there is no body {n}; the file holds {count}, numbered from 0, the largest first"
            )
    return list(request.bodies) or list(range(count))


def _told(surface: Surface, scale: float) -> tuple[Body, ...]:
    found = []
    for n in range(min(len(surface.triangles), _NAMED)):
        low, high = (surface.low[n] * scale).tolist(), (surface.high[n] * scale).tolist()
        box = (low[0], low[1], low[2]), (high[0], high[1], high[2])
        found.append(Body(int(surface.triangles[n]), *box, surface.is_closed(n)))
    return tuple(found)


def _fit_told(fit: FittedAxle, scale: float) -> AxleFit:
    through, direction = (fit.through * scale).tolist(), fit.direction.tolist()
    flats = tuple(
        Flat(f.z * scale, f.r_low * scale, f.r_high * scale, f.area * scale * scale, f.rms * scale)
        for f in fit.faces
    )
    return AxleFit(
        (through[0], through[1], through[2]),
        (direction[0], direction[1], direction[2]),
        fit.rms * scale,
        flats,
    )
