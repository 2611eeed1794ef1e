"""Left and right wheels of a directional design: one section, two faces, nothing mirrored."""

from __future__ import annotations

from app.project.project import Project
from app.project.wheel import Side, Wheel

#: A pair in words for paper.
PAIR = (
    "Made left and right of this one section: every size holds for both, only the spokes of the face turn "
    "the other way."
)
_OTHER = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT}


def side_words(wheel: Wheel) -> str:
    """Return the side in words; empty for a wheel that goes on either side."""
    return "" if wheel.side is Side.EITHER else str(wheel.side)


def twin(project: Project, wheel: Wheel) -> Wheel | None:
    """Return the wheel that is the same section for the other side, which need not be drawn twice."""
    other = _OTHER.get(wheel.side)
    return next(
        (
            w
            for w in project.wheels
            if w.side is other and (w.size, w.inset_mm) == (wheel.size, wheel.inset_mm)
            if w.section == wheel.section and (w.hub, w.fixing) == (wheel.hub, wheel.fixing)
        ),
        None,
    )
