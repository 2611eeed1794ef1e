"""What a cut takes: rate of removal, time and power of turning, facing, tapers and face milling.

Formulas of a manufacturing textbook's chapters on machining (handbook S2 and section 3): rate of removal
v f d, turning time pi D L / (v f), face milling rate w d fr; checks.md Part B 24 to 30 holds its examples.
Cutting speed v is in m/min as the trade writes it; everything else is in mm, s and kW.
"""

from __future__ import annotations

import math

from geometry.errors import GeometryError

#: One horsepower (550 foot-pounds a second) over one cubic inch a minute, J/mm3; by definition of the units.
J_MM3_OF_HP_MIN_IN3 = 550.0 * 12.0 * 25.4e-3 * 4.4482216152605 * 60.0 / 25.4**3

_MM_S_OF_M_MIN = 1000.0 / 60.0


def removal_rate_mm3_s(speed_m_min: float, feed_mm: float, depth_mm: float) -> float:
    """Return the rate of removal of turning, v f d.

    Args:
        speed_m_min: cutting speed.
        feed_mm: per turn.
        depth_mm: of cut, radial.

    Raises:
        GeometryError: a value is not above 0.
    """
    _above_0("Turning", speed_m_min=speed_m_min, feed_mm=feed_mm, depth_mm=depth_mm)
    return speed_m_min * _MM_S_OF_M_MIN * feed_mm * depth_mm


def spindle_rpm(speed_m_min: float, diameter_mm: float) -> float:
    """Return the spindle speed at which a diameter runs at a cutting speed, v / (pi D).

    Raises:
        GeometryError: a value is not above 0.
    """
    _above_0("A spindle", speed_m_min=speed_m_min, diameter_mm=diameter_mm)
    return speed_m_min * 1000.0 / (math.pi * diameter_mm)


def turning_s(diameter_mm: float, length_mm: float, speed_m_min: float, feed_mm: float) -> float:
    """Return the time of one pass along a cylinder, pi D L / (v f).

    Raises:
        GeometryError: a value is not above 0.
    """
    return taper_s(diameter_mm, diameter_mm, length_mm, speed_m_min, feed_mm)


def facing_s(travel_mm: float, spindle_speed_rpm: float, feed_mm: float) -> float:
    """Return the time of one facing pass at constant spindle speed, its radial travel over N f.

    Raises:
        GeometryError: a value is not above 0.
    """
    _above_0("Facing", travel_mm=travel_mm, spindle_speed_rpm=spindle_speed_rpm, feed_mm=feed_mm)
    return 60.0 * travel_mm / (spindle_speed_rpm * feed_mm)


def cone_mm2(start_mm: float, end_mm: float, length_mm: float) -> float:
    """Return the lateral surface of a frustum between two diameters, pi (R + r) times its slant length.

    A length of 0 gives the ring of a face, equal diameters the cylinder (handbook 6).
    """
    return math.pi * (start_mm + end_mm) / 2.0 * math.hypot((start_mm - end_mm) / 2.0, length_mm)


def taper_s(
    start_mm: float,
    end_mm: float,
    length_mm: float,
    speed_m_min: float,
    feed_mm: float,
    greatest_rpm: float | None = None,
) -> float:
    """Return the time of one pass along a taper at constant surface speed: its surface over v f.

    Below the diameter at which the spindle reaches its greatest speed, that speed stays: there the time is
    the slant length over N f.

    Args:
        start_mm: diameter at one end; 0 where a face reaches the axle.
        end_mm: diameter at the other end, likewise.
        length_mm: along the axle; 0 for a face.
        speed_m_min: cutting speed.
        feed_mm: per turn, along the slant.
        greatest_rpm: of the spindle; None for no end.

    Raises:
        GeometryError: a value is out of bounds, the taper has no length, or it runs to the axle without a
            greatest spindle speed.
    """
    _above_0("Turning", speed_m_min=speed_m_min, feed_mm=feed_mm)
    for name, value in (("start diameter", start_mm), ("end diameter", end_mm), ("length", length_mm)):
        if not (math.isfinite(value) and value >= 0.0):
            raise GeometryError(f"The taper's {name} is {value:g} mm; it must be from 0.")
    small, large = sorted((start_mm, end_mm))
    slant = math.hypot((large - small) / 2.0, length_mm)
    if large <= 0.0 or slant <= 0.0:
        raise GeometryError(
            f"The taper from {start_mm:g} to {end_mm:g} mm over {length_mm:g} mm has no surface to turn."
        )
    speed = speed_m_min * _MM_S_OF_M_MIN
    if greatest_rpm is None:
        if small <= 0.0:
            raise GeometryError(
                "Constant surface speed has no spindle speed at the axle; give the spindle's greatest speed."
            )
        return cone_mm2(start_mm, end_mm, length_mm) / (speed * feed_mm)
    _above_0("A spindle", greatest_rpm=greatest_rpm)
    # Between these diameters the surface speed can be held.
    limit = min(max(speed_m_min * 1000.0 / (math.pi * greatest_rpm), small), large)
    if large == small:
        held = slant if small * math.pi * greatest_rpm >= speed_m_min * 1000.0 else 0.0
    else:
        held = slant * (large - limit) / (large - small)
    constant_speed = math.pi * (large + limit) / 2.0 * held / (speed * feed_mm)
    return constant_speed + 60.0 * (slant - held) / (greatest_rpm * feed_mm)


# Face milling


def face_mill_feed_mm_s(diameter_mm: float, speed_m_min: float, teeth: int, tooth_feed_mm: float) -> float:
    """Return the feed rate of a mill, N times teeth times feed per tooth.

    Raises:
        GeometryError: a value is not above 0.
    """
    _above_0("A mill", teeth=teeth, tooth_feed_mm=tooth_feed_mm)
    return spindle_rpm(speed_m_min, diameter_mm) / 60.0 * teeth * tooth_feed_mm


def face_mill_approach_mm(diameter_mm: float, width_mm: float) -> float:
    """Return the travel before a centred face mill cuts its full width, (D - sqrt(D2 - w2)) / 2.

    Raises:
        GeometryError: a value is not above 0, or the mill is narrower than the cut.
    """
    _above_0("A face mill", diameter_mm=diameter_mm, width_mm=width_mm)
    if width_mm > diameter_mm:
        raise GeometryError(
            f"A face mill of {diameter_mm:g} mm cannot cut {width_mm:g} mm in one pass; "
            f"it is {width_mm - diameter_mm:g} mm too narrow."
        )
    return (diameter_mm - math.sqrt(diameter_mm**2 - width_mm**2)) / 2.0


def face_milling_s(length_mm: float, approach_mm: float, feed_mm_s: float) -> float:
    """Return the time of one pass, length and approach over the feed rate.

    Raises:
        GeometryError: length or feed is not above 0, or the approach is below 0.
    """
    _above_0("Face milling", length_mm=length_mm, feed_mm_s=feed_mm_s)
    if not (math.isfinite(approach_mm) and approach_mm >= 0.0):
        raise GeometryError(f"Face milling: the approach is {approach_mm:g} mm; it must be from 0.")
    return (length_mm + approach_mm) / feed_mm_s


def face_milling_rate_mm3_s(width_mm: float, depth_mm: float, feed_mm_s: float) -> float:
    """Return the rate of removal at full width, w d fr.

    Raises:
        GeometryError: a value is not above 0.
    """
    _above_0("Face milling", width_mm=width_mm, depth_mm=depth_mm, feed_mm_s=feed_mm_s)
    return width_mm * depth_mm * feed_mm_s


# Power


def cutting_kw(rate_mm3_s: float, energy_j_mm3: float) -> float:
    """Return the power at the edge, rate of removal times specific energy.

    Raises:
        GeometryError: a value is not above 0.
    """
    _above_0("A cut", rate_mm3_s=rate_mm3_s, energy_j_mm3=energy_j_mm3)
    return rate_mm3_s * energy_j_mm3 * 1e-3


def motor_kw(power_kw: float, efficiency: float) -> float:
    """Return the power that the motor gives for a power at the edge.

    Raises:
        GeometryError: the power is not above 0, or the efficiency not above 0 and up to 1.
    """
    _above_0("A motor", power_kw=power_kw)
    if not 0.0 < efficiency <= 1.0:
        raise GeometryError(
            f"The machine's efficiency is {efficiency:g}; give a share above 0 and up to 1, as 0.85."
        )
    return power_kw / efficiency


def j_mm3(hp_min_in3: float) -> float:
    """Return specific energy in J/mm3 from horsepower per cubic inch a minute.

    Raises:
        GeometryError: it is not above 0.
    """
    _above_0("Specific energy", hp_min_in3=hp_min_in3)
    return hp_min_in3 * J_MM3_OF_HP_MIN_IN3


#: Units as a person writes them, by the end of an argument's name.
_UNITS = {
    "m_min": "m/min",
    "mm_s": "mm/s",
    "mm3_s": "mm3/s",
    "j_mm3": "J/mm3",
    "mm": "mm",
    "rpm": "turns a minute",
    "kw": "kW",
    "hp_min_in3": "hp/(in3/min)",
}


def _above_0(what: str, **values: float) -> None:
    for name, value in values.items():
        if math.isfinite(value) and value > 0.0:
            continue
        unit = max((u for u in _UNITS if name.endswith(u)), key=len, default="")
        words = name.removesuffix(unit).strip("_").replace("_", " ") or "value"
        given = f"{value:g} {_UNITS.get(unit, '')}".rstrip()
        raise GeometryError(f"{what}: the {words} is {given}; it must be above 0.")
