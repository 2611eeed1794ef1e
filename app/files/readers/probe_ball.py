"""The probe ball whose centres a table holds: whether its radius can be taken off, and what is said of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from app.files.readers.answer import LEAST_BALL_MM, NOT_KNOWN, ReadError, Request

Array = NDArray[np.float64]

#: Points span no more than this many of the probe ball that measured them.
_MOST_BALLS = 20_000
#: How much farther than its radius a ball's centre may lie from the surface without a word, in radii.
_SHORT = 0.05


def check_ball(request: Request, places: Array) -> None:
    """Refuse a radius that fits no ball, or not the (n, 2) places.

    Raises:
        ReadError: it is too small, or the places span far too many of it.
    """
    size = float(np.ptp(places, axis=0).max()) if len(places) else 0.0
    if request.ball_mm and size > _MOST_BALLS * request.ball_mm:
        raise ReadError(
            f"the points span {size:g}, more than {_MOST_BALLS} times the ball's radius of "
            f"{request.ball_mm:g}; check the unit, and look for a point far off"
        )
    if 0.0 < request.ball_mm < LEAST_BALL_MM:
        raise ReadError(f"a probe ball of radius {request.ball_mm:g} mm is none; give 0 for surface points")


def can_take_off(request: Request, unit: str, said: list[str]) -> bool:
    """Return False where the unit is not known yet, and say so."""
    if unit == NOT_KNOWN:
        said.append(f"the ball's radius of {request.ball_mm:g} mm is taken off once the unit is known")
    return unit != NOT_KNOWN


def ball_words(lost: tuple[float, float] | None, short: float, ball: float, said: list[str]) -> str:
    """Return why the ball cannot be taken off, empty where it can; say what stays uncertain."""
    said.append(
        f"corners into the body tighter than the ball of radius {ball:g} mm are not reached: it reads larger"
    )
    if short > _SHORT * ball:
        said.append(
            f"at corners the centres lie up to {short:.3f} farther off than the ball's radius; the body may "
            "stand out as much more there: measure more points round its corners"
        )
    if lost is None:
        return ""
    return (
        f"near z {lost[0]:.3f}, r {lost[1]:.3f} the body is too thin for a ball of radius {ball:g} mm and "
        "would vanish; check the radius, or read the centres themselves without --ball"
    )
