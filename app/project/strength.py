"""What a project says about screening for strength: loads, factors, own values, and tests that were made."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum


class Basis(StrEnum):
    """Where a wheel load comes from."""

    STATED = "as stated"
    HALF_AXLE = "half of the heaviest axle"
    TYRE_INDEX = "load index of the tyre"
    RACE = "static and aerodynamic load times a factor"


@dataclass(frozen=True)
class Rating:
    """Where a wheel's load rating comes from, and which edition of the rule it is made for.

    Attributes:
        axle_kg: heaviest axle, for half of it. static_kg, aero_kg, factor: of a race duty.
        edition: of the standard, as the user names it.
    """

    basis: Basis = Basis.STATED
    axle_kg: float | None = None
    static_kg: float | None = None
    aero_kg: float | None = None
    factor: float | None = None
    edition: str = ""

    def load_kg(self, index_kg: float | None) -> float | None:
        """Return what the wheel load comes to by its basis; None where a number lacks, or it is only stated.

        Args:
            index_kg: load of the tyre's index, None where it is not known.
        """
        if self.basis is Basis.HALF_AXLE:
            return None if self.axle_kg is None else self.axle_kg / 2.0
        if self.basis is Basis.TYRE_INDEX:
            return index_kg
        if self.basis is Basis.RACE and self.static_kg is not None:
            return (self.static_kg + (self.aero_kg or 0.0)) * (1.0 if self.factor is None else self.factor)
        return None


#: A load that is only stated.
STATED = Rating()


class Outcome(StrEnum):
    """How a physical test ended."""

    PASSED = "passed"
    FAILED = "failed"


class Struck(StrEnum):
    """Where a striker hits a wheel at 13 degrees."""

    NOT_SAID = "not said"
    SPOKE = "at a spoke-to-rim joint"
    BETWEEN = "between two spokes"


@dataclass(frozen=True)
class TestRecord:
    """A physical test that was made on one sample of a wheel.

    Attributes:
        wheel: version it was made on; None for one that is not drawn here. family: wheels whose name
            begins so.
        case: name of the load case. load: its moment in N m, or force in N, as run; cycles: as run.
        zone: where it broke, of a failed one. laboratory, on: who and when (YYYY-MM-DD).
        drawing, forging: digests of the wheel and of its blank as they were drawn for the sample; empty where
            nobody said.
        striker_kg, drop_mm, tyre, struck: of an impact, as run.
    """

    __test__ = False

    name: str
    wheel: str | None = None
    family: str = ""
    case: str = ""
    load: float | None = None
    cycles: float | None = None
    outcome: Outcome = Outcome.PASSED
    zone: str = ""
    laboratory: str = ""
    on: str = ""
    drawing: str = ""
    forging: str = ""
    striker_kg: float | None = None
    drop_mm: float | None = None
    tyre: str = ""
    struck: Struck = Struck.NOT_SAID
    notes: dict[str, object] = field(default_factory=dict)


#: Load cases by name, in the order of a report.
CASES: tuple[str, ...] = (
    "R124 bending",
    "JWL bending",
    "J328 bending front",
    "J328 bending rear",
    "R124 rolling",
    "JWL rolling",
    "inflation",
    "cornering",
    "braking torque",
    "13 degree impact",
    "radial impact",
)
#: Those that a laboratory runs on samples.
TESTS = tuple(c for c in CASES if c not in ("inflation", "cornering", "braking torque"))


@dataclass(frozen=True)
class OwnConstant:
    """A constant of a load case that the user sets: case of CASES, symbol, value."""

    case: str
    symbol: str
    value: float


@dataclass(frozen=True)
class TestPrice:
    """What one sample's test costs, in the project's currency: case of CASES, price."""

    __test__ = False

    case: str
    price: float


@dataclass(frozen=True)
class StrengthSettings:
    """How the project screens for strength.

    Attributes:
        cases: load cases in use, by name of CASES.
        constants: the user's own values in place of the shipped ones.
        surface, size, forging, temperature, coating: factors on fatigue strength; 1.0 is 'not included'.
        outer_flange: rotating bending holds the outer flange instead of the inner one.
        dent_mm: of the plastic estimate of the lips.
        prices: of one sample's test, where they are known.
    """

    cases: tuple[str, ...] = CASES
    constants: tuple[OwnConstant, ...] = ()
    surface: float = 1.0
    size: float = 1.0
    forging: float = 1.0
    temperature: float = 1.0
    coating: float = 1.0
    outer_flange: bool = False
    dent_mm: float = 5.0
    prices: tuple[TestPrice, ...] = ()

    def own(self, case: str) -> dict[str, float]:
        """Return the user's own values of a case by symbol."""
        return {c.symbol: c.value for c in self.constants if c.case == case}


SHIPPED_STRENGTH = StrengthSettings()
