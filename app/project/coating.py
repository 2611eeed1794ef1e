"""What a wheel is coated with, where, and how much of it stands out of the machined size."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from geometry.readings.places import CoatingGeometry


class Coat(StrEnum):
    """Kinds of coating."""

    OPEN = "not stated"
    NONE = "none"
    PAINT = "paint"
    POWDER = "powder"
    ANODISED = "anodised"
    HARD = "hard anodised"


#: Films that grow into the metal as well as out of it, and how much of their thickness stands out: practice
#: for hard ones; others grow less, so it is on the safe side for them.
ANODIC = (Coat.ANODISED, Coat.HARD)
ANODIC_SHARE = 0.5

#: 6061-T6 held hot keeps at least its minimum yield so long: 177 C 64 h, 199 C 16 h, 218 C 4 h; it adds up.
CURE = (
    "Powder is cured near 200 °C, and time at heat adds up over a wheel's life: 6061-T6 falls below its "
    "least yield strength after 16 h at 199 °C, after 4 h at 218 °C. State oven temperature and time, also "
    "of a second coat, and measure the hardness after it."
)


@dataclass(frozen=True)
class Coating:
    """The coating of a wheel.

    Attributes:
        thickness_mm: of the film, at most; None while it is not known.
        on_bore, on_seats: bore, and hub pad with seats, are coated; None while nobody has said.
    """

    kind: Coat = Coat.OPEN
    thickness_mm: float | None = None
    on_bore: bool | None = None
    on_seats: bool | None = None

    @property
    def growth_mm(self) -> float | None:
        """How much larger a coated surface is, mm a side; None while it is not known."""
        if self.kind is Coat.NONE:
            return 0.0
        if self.kind is Coat.OPEN or self.thickness_mm is None:
            return None
        return self.thickness_mm * (ANODIC_SHARE if self.kind in ANODIC else 1.0)

    @property
    def geometry(self) -> CoatingGeometry | None:
        """The same as the readings take it; None where nothing is said."""
        if self.kind is Coat.OPEN:
            return None
        return CoatingGeometry(str(self.kind), self.growth_mm, self.on_bore, self.on_seats)


#: Nobody has said anything of a coating.
NOTHING_SAID = Coating()
