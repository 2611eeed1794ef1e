"""Points in the half-plane, in any order, as the outline that is handed back."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from app.files.readers.answer import ReadError, ReadOutline, Request
from app.files.readers.outlines import bounds_of
from app.files.readers.probe_ball import ball_words, can_take_off, check_ball
from app.files.readers.rows import Points
from geometry.errors import GeometryError
from geometry.shape.cloud import gathered

Array = NDArray[np.float64]

#: Places nearer to the axle than this lie on it, mm.
_SAME = 1e-6
#: Points handed back for a picture, and of those left outside.
_SHOWN = 3000


def cloud_outline(points: Points, unit: str, request: Request, why: str) -> ReadOutline:
    """Return the outline round points.

    Args:
        points: in mm, or in the file's own unit while that is not known.
        unit: of the file.
        request: what is asked for.
        why: they are taken as points in any order.

    Raises:
        ReadError: they make no outline.
    """
    said = [*points.said, why]
    check_ball(request, points.places)
    ball = request.ball_mm if request.ball_mm and can_take_off(request, unit, said) else 0.0
    try:
        found = gathered(points.places, request.quantile, ball)
    except GeometryError as error:
        raise ReadError(f"{str(error)[0].lower()}{str(error)[1:].rstrip('.')}") from None
    hindrance = ball_words(found.lost, found.short, ball, said) if ball else ""
    said.append(
        f"along the outline points lie up to {found.step:.3g} apart; what stands out between them is not seen"
    )
    if len(found.rings) > 1:
        said.append(f"the points make {len(found.rings)} bodies that lie apart")
    loops = tuple(
        tuple((z, max(r, 0.0) if r > -_SAME else r, 0.0) for z, r in ring.tolist()) for ring in found.rings
    )
    return ReadOutline(
        kind="points",
        unit=unit,
        loops=loops,
        within=(-1,) * len(loops),
        bounds=bounds_of(loops),
        tolerance_mm=found.tolerance,
        ball_mm=ball,
        cloud=_shown(points.places),
        outside=_shown(found.outside),
        outside_count=len(found.outside),
        skipped=dict(points.skipped),
        hindrance=hindrance or ("" if loops else "the points make no outline"),
        warnings=tuple(said),
        sha256="",
    )


def _shown(places: Array) -> tuple[tuple[float, float], ...]:
    step = max(math.ceil(len(places) / _SHOWN), 1)
    return tuple((z, r) for z, r in places[::step].tolist())
