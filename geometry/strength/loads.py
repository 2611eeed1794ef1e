"""Loads of the published wheel tests from wheel load, tyre and inset.

Each constant carries its source and how far it is confirmed; what was not read in the standard itself is a
setting of the user's. Loads in N, moments in N m, radii in mm, wheel load in kg; gravity 9.81 m/s2.

Note: the moment grows with inset in these formulas, so a wheel of low inset is not the worst by formula.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from geometry.errors import GeometryError
from geometry.shape.published import Number, Status
from geometry.strength.constants import constants_of

GRAVITY_M_S2 = 9.81


class Kind(StrEnum):
    """What a test does to the wheel."""

    BENDING = "rotating bending"
    ROLLING = "rolling"
    INFLATION = "inflation"
    CORNERING = "cornering bead load"
    TORQUE = "braking torque"
    IMPACT_13 = "13 degree impact"
    IMPACT_90 = "radial impact"


class Clamp(StrEnum):
    """Where a test holds the wheel."""

    INNER_FLANGE = "inner flange clamped, moment at the hub"
    OUTER_FLANGE = "outer flange clamped, moment at the hub"
    HUB_PAD = "hub pad bolted, load at the rim"


@dataclass(frozen=True)
class Tyre:
    """What a load needs of the tyre, mm: rolling radius, static loaded radius, overall diameter."""

    dynamic_mm: float
    static_mm: float
    outside_mm: float


@dataclass(frozen=True)
class TestLoad:
    """One test's load.

    Attributes:
        key: of CONSTANTS; name: of the case; standard: of the test.
        moment_nm, force_n, energy_j: the load; None where it is not of that kind.
        lateral_n: axial part of a cornering load; hub_moment_nm: of both parts about the hub face.
        torque_nm: about the axle.
        pressure_mpa: of inflation.
        levels: (share of the load, least cycles) that a sample must stand; one level to a sample.
        constants: by symbol.
        clamp: how the wheel is held. note: what a reader must know.
        striker_kg, speed_m_s, drop_mm: of an impact.
    """

    __test__ = False  # its name begins as pytest's classes do

    key: str
    name: str
    standard: str
    kind: Kind
    clamp: Clamp
    constants: dict[str, Number]
    moment_nm: float | None = None
    force_n: float | None = None
    lateral_n: float | None = None
    hub_moment_nm: float | None = None
    torque_nm: float | None = None
    energy_j: float | None = None
    pressure_mpa: float | None = None
    levels: tuple[tuple[float, float], ...] = ()
    striker_kg: float | None = None
    speed_m_s: float | None = None
    drop_mm: float | None = None
    note: str = ""

    @property
    def status(self) -> Status:
        """The weakest status of the constants."""
        order = list(Status)
        return max((c.status for c in self.constants.values()), key=order.index, default=Status.READ)

    @property
    def source(self) -> str:
        """The constants with their sources, one line."""
        return "; ".join(f"{k} {c.value:g} ({c.source}, {c.status})" for k, c in self.constants.items())


#: Least cycles of light alloy, M1: (share of the greatest moment, cycles).
_R124_CYCLES = ((0.75, 2.0e5), (0.5, 1.8e6))
#: Steel by the same guideline, for comparison.
R124_STEEL_CYCLES = ((0.75, 6.0e4), (0.5, 6.0e5))


def wheel_force_n(load_kg: float) -> float:
    """Return the greatest static wheel load as a force, N.

    Raises:
        GeometryError: the load is not a number above zero.
    """
    if not (math.isfinite(load_kg) and load_kg > 0.0):
        raise GeometryError(f"The wheel load is {load_kg:g} kg; the tests need one above zero.")
    return load_kg * GRAVITY_M_S2


def check_tyre(tyre: Tyre, flange_mm: float) -> None:
    """Raise GeometryError where a tyre is not larger than the rim's flange, radius in mm."""
    radii = (tyre.dynamic_mm, tyre.static_mm, tyre.outside_mm / 2.0)
    least = min(radii)
    if not all(map(math.isfinite, radii)):
        raise GeometryError("A radius of the tyre is not a number; check the tyre size.")
    if least <= flange_mm:
        raise GeometryError(
            f"The tyre is smaller than the rim: its least radius {least:.1f} mm is within the flange's"
            f" {flange_mm:.1f} mm; check the tyre size."
        )


def bending(
    test: str, load_kg: float, tyre: Tyre, inset_mm: float, own: dict[str, float] | None = None
) -> TestLoad:
    """Return the rotating bending load M = S F (mu r + d).

    Args:
        test: "R124 bending" (r rolling, S 2.0), "JWL bending", "J328 bending front" or "J328 bending rear"
            (r static).
        load_kg: the wheel's rating.
        tyre: the largest.
        inset_mm: d of the formula.
        own: constants of the user's own.
    """
    c = constants_of(test, own)
    factor, mu = c["S" if "S" in c else "Sm"].value, c["mu"].value
    radius = tyre.dynamic_mm if test.startswith("R124") else tyre.static_mm
    moment = factor * wheel_force_n(load_kg) * (mu * radius + inset_mm) / 1000.0
    if not 0.0 < moment < math.inf:
        raise GeometryError(
            f"{test}: with an inset of {inset_mm:g} mm the moment is {moment:.0f} N m, not above 0."
        )
    names = {
        "R124 bending": (
            "UN R124",
            _R124_CYCLES,
            "cycles as test laboratories quote the guideline;"
            " each level on samples of its own, so that damage stands by level and is not summed",
        ),
        "JWL bending": ("JWL", ((1.0, 1.0e5),), "100,000 revolutions, secondary"),
        "J328 bending front": ("SAE J328", ((1.0, 5.0e4),), "50,000 cycles, Weibull B10 C50"),
        "J328 bending rear": ("SAE J328", ((1.0, 5.0e4),), "50,000 cycles, Weibull B10 C50"),
    }
    standard, levels, note = names[test]
    name = f"{standard} rotating bending rear" if test.endswith("rear") else f"{standard} rotating bending"
    return TestLoad(
        test,
        name,
        standard,
        Kind.BENDING,
        Clamp.INNER_FLANGE,
        c,
        moment_nm=moment,
        levels=levels,
        note=note,
    )


def rolling(test: str, load_kg: float, own: dict[str, float] | None = None) -> TestLoad:
    """Return the rolling load S F, shared by both bead seats over the contact arc; test: "R124 rolling" ...

    A distance of 2,000 km is turned into revolutions by the study, which knows the tyre.
    """
    c = constants_of(test, own)
    r124 = test.startswith("R124")
    return TestLoad(
        test,
        "UN R124 rolling" if r124 else "JWL rolling",
        "UN R124" if r124 else "JWL",
        Kind.ROLLING,
        Clamp.HUB_PAD,
        c,
        force_n=c["S"].value * wheel_force_n(load_kg),
        pressure_mpa=c["p"].value,
        levels=() if r124 else ((1.0, 5.0e5),),
        note="2,000 km straight (secondary)" if r124 else "500,000 revolutions (secondary)",
    )


def revolutions(distance_km: float, rolling_circumference_mm: float) -> float:
    """Return how often a wheel turns over a distance.

    Raises:
        GeometryError: the circumference is not above zero.
    """
    if not rolling_circumference_mm > 0.0:
        raise GeometryError(f"A tyre of {rolling_circumference_mm:g} mm circumference does not roll.")
    return distance_km * 1e6 / rolling_circumference_mm


def inflation(own: dict[str, float] | None = None) -> TestLoad:
    """Return inflation with the bead's pull on the flanges; a load that does not repeat."""
    c = constants_of("inflation", own)
    return TestLoad(
        "inflation",
        "inflation",
        "none",
        Kind.INFLATION,
        Clamp.HUB_PAD,
        c,
        pressure_mpa=c["p"].value,
        note="static",
    )


def cornering(load_kg: float, tyre: Tyre, inset_mm: float, own: dict[str, float] | None = None) -> TestLoad:
    """Return a cornering load at the rim: S F radial on both seats and mu S F axial on the inner flange.

    Its moment at the hub is the bending formula's, S F (mu r + d) with the static radius.
    """
    c = constants_of("cornering", own)
    force = c["S"].value * wheel_force_n(load_kg)
    moment = force * (c["mu"].value * tyre.static_mm + inset_mm) / 1000.0
    if not 0.0 < moment < math.inf:
        raise GeometryError(
            f"cornering: with an inset of {inset_mm:g} mm the moment is {moment:.0f} N m, not above 0."
        )
    return TestLoad(
        "cornering",
        "cornering bead load",
        "after SAE J328",
        Kind.CORNERING,
        Clamp.HUB_PAD,
        c,
        force_n=force,
        lateral_n=c["mu"].value * force,
        hub_moment_nm=moment,
        note=f"the force of the bending formula, put at the beads; what the road's greater radius adds is a"
        f" couple on both seats, so that the moment at the hub is the formula's, {moment:.0f} N m; without"
        " inflation; not a test of its own",
    )


def torque(load_kg: float, tyre: Tyre, own: dict[str, float] | None = None) -> TestLoad:
    """Return the torque of braking on the limit of grip, between seats and hub pad: mu x transfer x F x r.

    No published test of light-alloy wheels asks for it (annex 9 of UN R124, alternating torque, is reserved):
    for single-nut wheels it is what the drive pins carry.
    """
    c = constants_of("braking torque", own)
    moment = c["mu"].value * c["transfer"].value * wheel_force_n(load_kg) * tyre.static_mm / 1000.0
    return TestLoad(
        "braking torque",
        "braking torque",
        "none",
        Kind.TORQUE,
        Clamp.HUB_PAD,
        c,
        torque_nm=moment,
        note="static: nominal stress against the yield strength alone; no fatigue level with a source is at"
        " hand, so that neither cycles nor life are given; grip and load transfer are assumptions",
    )


def impact_13(load_kg: float, own: dict[str, float] | None = None) -> TestLoad:
    """Return the 13 degree impact: striker D = 0.6 W + 180 kg from 230 mm."""
    c = constants_of("13 degree impact", own)
    wheel_force_n(load_kg)
    mass = c["mass factor"].value * load_kg + c["mass offset"].value
    return _impact("13 degree impact", "SAE J175, ISO 7141", Kind.IMPACT_13, c, mass, c["drop"].value)


def impact_90(own: dict[str, float] | None = None) -> TestLoad:
    """Return the radial impact on the inner half."""
    c = constants_of("radial impact", own)
    return _impact("radial impact", "SAE J3203", Kind.IMPACT_90, c, c["striker"].value, c["drop"].value)


def _impact(
    name: str, standard: str, kind: Kind, c: dict[str, Number], mass_kg: float, drop_mm: float
) -> TestLoad:
    fall = drop_mm / 1000.0
    return TestLoad(
        name,
        name,
        standard,
        kind,
        Clamp.HUB_PAD,
        c,
        energy_j=mass_kg * GRAVITY_M_S2 * fall,
        striker_kg=mass_kg,
        speed_m_s=math.sqrt(2.0 * GRAVITY_M_S2 * fall),
        drop_mm=drop_mm,
        note="energy only: how much of it tyre and mounts take is not known",
    )


#: Which zones each kind of test exercises (what practitioners hold: the rim is clamped at one flange in
#: rotating bending and free at the other, so that neither lip is loaded). Common practice, no source.
EXERCISED: dict[Kind, frozenset[str]] = {
    Kind.BENDING: frozenset(
        {
            "hub pad",
            "hub face",
            "bore",
            "spoke back",
            "spoke face",
            "shoulder",
            "outer seat",
            "well",
        }
    ),
    Kind.ROLLING: frozenset(
        {
            "outer lip",
            "outer seat",
            "well",
            "barrel",
            "inner seat",
            "inner lip",
            "shoulder",
            "spoke back",
            "spoke face",
        }
    ),
    Kind.INFLATION: frozenset({"outer lip", "outer seat", "well", "barrel", "inner seat", "inner lip"}),
    Kind.CORNERING: frozenset(
        {
            "outer seat",
            "well",
            "barrel",
            "inner seat",
            "inner lip",
            "shoulder",
            "spoke back",
            "spoke face",
            "hub pad",
            "hub face",
            "bore",
        }
    ),
    Kind.TORQUE: frozenset({"well", "shoulder", "spoke back", "spoke face", "hub pad", "hub face", "bore"}),
    Kind.IMPACT_13: frozenset({"outer lip", "outer seat", "shoulder", "spoke face"}),
    Kind.IMPACT_90: frozenset({"inner lip", "inner seat"}),
}
