"""A measured first wheel held against the nominal section: deviation by zone, shift, form error."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from app.project.wheel import Wheel
from geometry.errors import GeometryError
from geometry.readings.first_off import Deviation, FirstOff, first_off
from geometry.readings.rows import Place
from geometry.shape.curve import Array
from geometry.shape.section import Outline, build

#: Stands under every result.
LIMITS = (
    "One line of points shows one angle of the wheel: run-out, ovality and what lies between the points are "
    "not seen. A shift can be the datum of the measuring as well as the wheel. A zone without a point is not "
    "measured, and nothing is said of it."
)


@dataclass(frozen=True)
class FirstOffSettings:
    """How points are brought into the wheel's frame, and which count.

    Attributes:
        face_z_mm: z of the mounting face in the file. flipped: z of the file runs inboard.
        reach_mm: points farther from the nominal skin are left out and counted.
        ball_mm: radius of the probe ball whose centres the points are; 0 for places of the skin.
    """

    face_z_mm: float = 0.0
    flipped: bool = False
    reach_mm: float = 3.0
    ball_mm: float = 0.0


@dataclass(frozen=True)
class Measured:
    """What was found, with what it was found of.

    Attributes:
        outline: nominal, in the wheel's own frame (mounting face at z = 0).
        source: name of the file.
    """

    wheel: str
    source: str
    settings: FirstOffSettings
    outline: Outline
    found: FirstOff


def measured(
    wheel: Wheel, points: Sequence[Place], settings: FirstOffSettings | None = None, source: str = ""
) -> Measured:
    """Return how measured points lie to a wheel's nominal section.

    Args:
        wheel: as drawn.
        points: (z, r) in the file's frame, mm.
        settings: how they lie there.
        source: where they come from, for the page.

    Raises:
        GeometryError: the wheel has a fault, or too few points lie near its skin.
    """
    settings = settings or FirstOffSettings()
    built = build(wheel.section)
    if not isinstance(built, Outline):
        raise GeometryError(
            f"{wheel.name} has a fault, to be mended first: {built[0].message}", built[0].place
        )
    if settings.reach_mm <= 0.0 or settings.ball_mm < 0.0:
        raise GeometryError("The reach must be above zero, and the ball's radius zero or more.")
    places = np.asarray(points, dtype=float).reshape(-1, 2) - np.array([settings.face_z_mm, 0.0])
    if settings.flipped:
        places = places * np.array([-1.0, 1.0])
    found = first_off(built, places, settings.reach_mm, settings.ball_mm)
    return Measured(wheel.name, source, settings, built, found)


def shift_words(found: FirstOff, length: Callable[[float], str]) -> str:
    """Return where the measured section lies, in words; `length` writes a length without its sign."""
    words = []
    for way, value, more, less in (
        ("z", found.dz_mm, "outboard", "inboard"),
        ("r", found.dr_mm, "away from the axle", "towards the axle"),
    ):
        if way in found.not_determined:
            words.append(f"no shift along {way} can be seen in these points")
        elif abs(value) < 5e-4:
            words.append(f"none along {way}")
        else:
            words.append(f"{length(abs(value))} {more if value > 0.0 else less}")
    return ", ".join(words)


def whiskers(found: FirstOff, of: Deviation, ball_mm: float, times: float) -> Array:
    """Return (n, 2, 2) a line for each point: from its foot on the skin, its deviation so many times long."""
    shift = np.zeros(2) if of is found.measured else np.array([found.dz_mm, found.dr_mm])
    way = found.points - shift - of.feet
    length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
    outward = way / length * np.where(of.mm + ball_mm >= 0.0, 1.0, -1.0)[:, None]
    return np.stack([of.feet, of.feet + times * of.mm[:, None] * outward], axis=1)


def times_of(of: Deviation, longest_mm: float) -> float:
    """Return how many times larger deviations are drawn: the greatest up to a length in the drawing."""
    most = max(float(np.abs(of.mm).max()), 1e-6)
    steps = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
    return max((s for s in steps if s * most <= longest_mm), default=1.0)
