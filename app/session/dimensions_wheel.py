"""Dimensions of a whole wheel: inset, backspace, widths, and where the hub's face lies."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, lru_cache

import numpy as np

from app.language import language, tr
from app.project.wheel import Wheel
from app.project.wheel_edits import backspace_mm
from app.session.dimension import LEAST_MM, OF_WHEEL, Dimension, Place, Wanted, Way
from app.session.edited import Edited, Kind
from geometry.errors import GeometryError
from geometry.shape.published import width_mm
from geometry.shape.section import ZONES, Zone

_HUB_FACE = ZONES.index(Zone.HUB_FACE)


@cache
def wanted_of(name: str) -> tuple[Wanted, ...]:
    """Return what names the dimensions of the wheel called `name`."""
    return tuple(Wanted(measure, Edited(Kind.WHEEL, name)) for measure in OF_WHEEL)


def all_measured(wheel: Wheel) -> list[Dimension]:
    """Return the wheel's own dimensions that there are, in the order of OF_WHEEL."""
    section = wheel.section
    if not section.vertices:
        return []
    try:
        half, backspace = width_mm(wheel.size.width_code) / 2.0, backspace_mm(wheel)
    except GeometryError:
        return []
    name, face, why = wheel.name, wheel.spacer_mm, said_locked(wheel.name) if wheel.locked else ""
    of_rim = _of_rim(name, face, section.top_mm, wheel.inset_mm, half, backspace, why, language())
    of_hub = _of_hub_face(name, face, _hub_face_at(wheel), why, language())
    return [*of_rim, *of_hub]


# A drag leaves most of them as they are: they are the same objects again.
@lru_cache(maxsize=16)
def _of_rim(
    name: str,
    face: float,
    top: float,
    inset: float,
    half: float,
    backspace: float,
    why: str,
    _language: str,
) -> tuple[Dimension, ...]:
    """Return inset, backspace and widths of the wheel called `name`, with their names in a language.

    The mounting face lies at z = `face`, the greatest radius is `top`; `half` is half the width between the
    flanges; `why` says why those that could be typed cannot.
    """
    of_inset, of_backspace, of_width, of_overall, _ = wanted_of(name)
    centre, edge = face - inset, backspace - inset

    def at(z: float) -> Place:
        return z, top

    def along(wanted: Wanted, words: str, value: float, low: float, high: float) -> Dimension:
        return Dimension(wanted, words, value, Way.Z, at(low), at(high), why_not=why)

    overall = along(of_overall, tr("Overall width"), 2.0 * edge, centre - edge, centre + edge)
    how = tr("Overall width is the width and both flanges' thickness: type the width.")
    return (
        replace(along(of_inset, tr("Inset"), inset, centre, face), drawn_from=(False, False)),
        replace(
            along(of_backspace, tr("Backspace"), backspace, face - backspace, face), drawn_from=(True, False)
        ),
        along(of_width, tr("Width between the flanges"), 2.0 * half, centre - half, centre + half),
        replace(overall, why_not=how),
    )


@lru_cache(maxsize=16)
def _of_hub_face(
    name: str, face: float, plane: Place | None, why: str, _language: str
) -> tuple[Dimension, ...]:
    """Return where the hub's face lies; nothing where that is not one plane.

    `plane` is its z over the mounting face and its least radius; the others are as for `_of_rim`.
    """
    if plane is None:
        return ()
    z, low = plane
    words, a, b = tr("Hub face from the mounting face"), (face, low), (face + z, low)
    return (Dimension(wanted_of(name)[-1], words, z, Way.Z, a, b, out=(0.0, -1.0), why_not=why),)


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
