"""Dimensions of a whole wheel: inset, backspace, widths, and where the hub's face lies."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache
from types import MappingProxyType

import numpy as np

from app.language import language, tr
from app.project.wheel import Wheel
from app.project.wheel_edits import backspace_mm
from app.session.dimension import LEAST_MM, OF_WHEEL, Dimension, Measure, Place, Wanted, Way
from app.session.edited import Edited, Kind
from geometry.errors import GeometryError
from geometry.shape.published import width_mm
from geometry.shape.section import ZONES, Zone

_HUB_FACE = ZONES.index(Zone.HUB_FACE)


@cache
def wanted_of(name: str) -> tuple[Wanted, ...]:
    """Return what names the dimensions of the wheel called `name`."""
    return tuple(Wanted(measure, Edited(Kind.WHEEL, name)) for measure in OF_WHEEL)


def all_measured(wheel: Wheel) -> Mapping[Wanted, Dimension]:
    """Return the wheel's own dimensions that there are, in the order of OF_WHEEL."""
    section = wheel.section
    if not section.vertices:
        return {}
    try:
        half, backspace = width_mm(wheel.size.width_code) / 2.0, backspace_mm(wheel)
    except GeometryError:
        return {}
    face, top, inset = wheel.spacer_mm, section.top_mm, wheel.inset_mm
    return _all_of_numbers(
        wheel.name, wheel.locked, face, top, inset, half, backspace, _hub_face_at(wheel), language()
    )


# A drag leaves most of them as they are: they are the same objects again.
@lru_cache(maxsize=16)
def _all_of_numbers(
    name: str,
    is_locked: bool,
    face: float,
    top: float,
    inset: float,
    half: float,
    backspace: float,
    plane: Place | None,
    _language: str,
) -> Mapping[Wanted, Dimension]:
    """Return all that `_of_numbers` gives for the wheel called `name`, in a language."""
    why, found = said_locked(name) if is_locked else "", {}
    for wanted in wanted_of(name):
        of_face = plane if wanted.measure is Measure.HUB_FACE else None
        dimension = _of_numbers(wanted, face, top, inset, half, backspace, of_face, why, _language)
        if dimension is not None:
            found[wanted] = dimension
    return MappingProxyType(found)


# Of those of another step each by itself: the hub's face may move and leave the others.
@lru_cache(maxsize=64)
def _of_numbers(
    wanted: Wanted,
    face: float,
    top: float,
    inset: float,
    half: float,
    backspace: float,
    plane: Place | None,
    why: str,
    _language: str,
) -> Dimension | None:
    """Return one of a wheel's own dimensions, with its name in a language.

    The mounting face lies at z = `face`, the greatest radius is `top`; `half` is half the width between the
    flanges. `plane` is z over the mounting face and least radius of the hub's face, None where that is not
    one plane; `why` says why those that could be typed cannot.
    """
    centre, edge = face - inset, backspace - inset
    match wanted.measure:
        case Measure.INSET:
            a, b = (centre, top), (face, top)
            return Dimension(wanted, tr("Inset"), inset, Way.Z, a, b, drawn_from=(False, False), why_not=why)
        case Measure.BACKSPACE:
            a, b = (face - backspace, top), (face, top)
            return Dimension(
                wanted, tr("Backspace"), backspace, Way.Z, a, b, drawn_from=(True, False), why_not=why
            )
        case Measure.WIDTH:
            a, b = (centre - half, top), (centre + half, top)
            return Dimension(wanted, tr("Width between the flanges"), 2.0 * half, Way.Z, a, b, why_not=why)
        case Measure.OVERALL:
            a, b = (centre - edge, top), (centre + edge, top)
            words = tr("Overall width is the width and both flanges' thickness: type the width.")
            return Dimension(wanted, tr("Overall width"), 2.0 * edge, Way.Z, a, b, why_not=words)
        case _:
            if plane is None:
                return None
            z, low = plane
            a, b, out = (face, low), (face + z, low), (0.0, -1.0)
            return Dimension(
                wanted, tr("Hub face from the mounting face"), z, Way.Z, a, b, out=out, why_not=why
            )


def said_locked(name: str) -> str:
    """Return why nothing can be typed into the dimensions of a part that is locked."""
    return tr("{name} is locked; unlock it in the list of parts to edit it.", name=name)


def _hub_face_at(wheel: Wheel) -> Place | None:
    """Return z and the least radius of the hub's face, where it is one plane."""
    plane = hub_face(wheel)
    z, r = wheel.section.rows[plane, :2].T.tolist() if plane else ([], [])
    return (z[0], min(r)) if plane else None


def hub_face(wheel: Wheel) -> list[int]:
    """Return the vertices in the plane of the hub's face; none where that face is not one plane."""
    section = wheel.section
    if not section.vertices:
        return []
    ends = _ends(section.zones.tobytes(), section.locked)
    z = section.rows[ends, 0].tolist() if ends else [0.0]
    return [*ends] if z[0] > 0.0 and max(z) - min(z) < LEAST_MM else []


@lru_cache(maxsize=16)
def _ends(zones: bytes, locked: int) -> list[int]:
    """Return the ends of the hub face's edges, rising, from all edges' zones; none where one is locked."""
    edges = (np.frombuffer(zones, dtype=np.intp) == _HUB_FACE).nonzero()[0].tolist()
    ends = sorted({*edges, *((i + 1) % (len(zones) // np.intp().itemsize) for i in edges)})
    return ends if len(ends) > 1 and ends[0] >= locked else []
