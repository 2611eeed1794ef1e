"""A forging in steps over up to three presses: flat upset, blocking, finishing.

Each step has its area with flash, flow stress by temperature and rate, and its load as a band against the
press at hand. Formulas and their sources stand in press.py. What the steps are shaped to (how far the log is
upset, how thick the blocked web is) is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from geometry.errors import GeometryError
from geometry.forging import press
from geometry.forging.presses import (
    DIE_STEEL,
    PRESSES,
    DieSteel,
    Press,
    Refusal,
    check_presses,
    closed_refusals,
    upset_refusals,
)

#: The upset cake is this share of the die's diameter, so that it drops in.
_DROPS_IN = 0.98
#: The blocked web is so many times the finished one.
_BLOCKED = 1.5
#: A rib higher than this share of its thickness does not fill (handbook 2.3, secondary source).
RING_SHARE = 6.0
#: 6061 is forged between these, deg C (750 to 900 F: handbook 2.3, read).
WINDOW_C = (399.0, 482.0)


class Fits(StrEnum):
    """Whether a press does a step."""

    ENOUGH = "enough"
    PERHAPS = "perhaps"
    TOO_SMALL = "too small"


@dataclass(frozen=True)
class ForgingStep:
    """One stroke.

    Attributes:
        area_cm2: projected, with flash. height_mm: of what is pressed, at the end.
        stress_mpa: flow stress at that height and the press's speed.
        low_mn, high_mn: least and greatest load.
        refused: why the press cannot do it whatever its load; empty where it can.
    """

    name: str
    press: Press
    diameter_mm: float
    height_mm: float
    area_cm2: float
    stress_mpa: float
    low_mn: float
    high_mn: float
    refused: tuple[Refusal, ...] = ()

    def refused_words(self, length: Callable[[float], str]) -> str:
        """Return why the press cannot do it, its lengths written with their unit; empty where it can."""
        return "; ".join(each.words(length) for each in self.refused)

    @property
    def fits(self) -> Fits:
        """Whether the press is enough for the whole band, for part of it, or too small."""
        if self.refused or self.press.capacity_mn < self.low_mn:
            return Fits.TOO_SMALL
        return Fits.ENOUGH if self.press.capacity_mn >= self.high_mn else Fits.PERHAPS


@dataclass(frozen=True)
class BlankSizes:
    """What of a blank decides its forging, mm.

    Attributes:
        rim_mm: its greatest radius. web_mm: its least height over the middle.
        web_radius_mm: out to where it is a web. bore_mm: radius at which the ring begins.
        ring_mm: height of the ring. height_mm: of the whole blank along the axle, where it is more.
    """

    rim_mm: float
    web_mm: float
    web_radius_mm: float
    bore_mm: float
    ring_mm: float
    height_mm: float = 0.0

    @property
    def tall_mm(self) -> float:
        """Height of the whole blank along the axle."""
        return max(self.height_mm, self.ring_mm)

    @property
    def ring_share(self) -> float:
        """Height of the ring over its thickness."""
        return self.ring_mm / max(self.rim_mm - self.bore_mm, 1e-6)


def steps(
    sizes: BlankSizes,
    log: press.Log,
    presses: Sequence[Press] = PRESSES,
    *,
    temperature_c: float = 450.0,
    friction: float = 0.3,
    flash_land_mm: float = 15.0,
    shape_class: str = "complex",
    steel: DieSteel = DIE_STEEL,
) -> tuple[ForgingStep, ...]:
    """Return the steps, each on its own press: with fewer presses the last one does what is left.

    Args:
        sizes: of the blank.
        log: that it is forged from.
        presses: one to three, in the order of the steps.
        temperature_c: of the metal, held over all steps.
        friction: between die and metal.
        flash_land_mm: width of the flash round the blank.
        shape_class: of the finishing step, a key of press.FACTORS.
        steel: of the dies beyond their cavities.

    Raises:
        GeometryError: no press or more than three, or a value of a press is not above 0.
    """
    check_presses(presses)
    on = [presses[min(k, len(presses) - 1)] for k in range(3)]
    cake = 2.0 * _DROPS_IN * sizes.rim_mm
    flashed = 2.0 * (sizes.rim_mm + flash_land_mm)
    return (
        _upset(log, cake, on[0], temperature_c, friction, steel),
        _closed("blocking", sizes, _BLOCKED, flashed, "simple", on[1], temperature_c, friction, steel),
        _closed("finishing", sizes, 1.0, flashed, shape_class, on[2], temperature_c, friction, steel),
    )


def _upset(
    log: press.Log, cake_mm: float, on: Press, temperature_c: float, friction: float, steel: DieSteel
) -> ForgingStep:
    """Return the upset of the log to a cake of a diameter, by constant volume."""
    volume = math.pi / 4.0 * log.diameter_mm**2 * log.length_mm
    diameter = max(cake_mm, log.diameter_mm)
    area = math.pi / 4.0 * diameter**2
    height = volume / area
    stress = press.flow_stress_mpa(temperature_c, press.rate_per_s(on.speed_mm_s, height))
    load = press.upset_load_mn(stress, friction, diameter, height)
    refused = upset_refusals(log.length_mm, height, diameter, on, steel)
    if log.may_buckle:
        refused.insert(0, Refusal(f"the log is {log.slenderness:.1f} diameters long: it may buckle", ()))
    # Without friction at least, with it at most.
    return ForgingStep(
        "flat upset",
        on,
        diameter,
        height,
        area / 100.0,
        stress,
        stress * area * 1e-6,
        load,
        tuple(refused),
    )


def _closed(
    name: str,
    sizes: BlankSizes,
    web_share: float,
    flashed_mm: float,
    shape_class: str,
    on: Press,
    temperature_c: float,
    friction: float,
    steel: DieSteel,
) -> ForgingStep:
    """Return a step between shaped dies: from what moves the metal to what fills corners against flash."""
    web = web_share * sizes.web_mm
    area = math.pi / 4.0 * flashed_mm**2
    stress = press.flow_stress_mpa(temperature_c, press.rate_per_s(on.speed_mm_s, max(web, 1.0)))
    flow = press.flow_load_mn(stress, friction, sizes.web_radius_mm, web, sizes.bore_mm, sizes.rim_mm)
    fill = [press.fill_load_mn(stress, factor, area) for factor in press.FACTORS[shape_class]]
    loads = (flow, *fill)
    refused = closed_refusals(flashed_mm, sizes.tall_mm, sizes.ring_mm, on, steel)
    return ForgingStep(
        name, on, flashed_mm, web, area / 100.0, stress, min(loads), max(loads), tuple(refused)
    )


def warnings(sizes: BlankSizes, temperature_c: float) -> tuple[str, ...]:
    """Return what speaks against the forging whatever the press."""
    found = []
    if sizes.ring_share > RING_SHARE:
        found.append(
            f"Ring height over thickness is {sizes.ring_share:.1f}: over {RING_SHARE:g} it fills badly."
        )
    low, high = WINDOW_C
    if not low <= temperature_c <= high:
        found.append(f"{temperature_c:g} °C is outside the forging window of 6061, {low:g} to {high:g} °C.")
    return tuple(found)


def proved_load_mn(load_mn: float, area_cm2: float, like_cm2: float) -> float:
    """Return the load by what a press proved on a like blank: its pressure over this blank's area.

    Args:
        load_mn: that made the like blank.
        area_cm2: of this blank with flash.
        like_cm2: of the like blank with flash.

    Raises:
        GeometryError: an area is not above 0.
    """
    if not (area_cm2 > 0.0 and like_cm2 > 0.0):
        raise GeometryError("The areas of both blanks must be above 0.")
    return load_mn * area_cm2 / like_cm2
