"""The shop's rates and prices for cutting and metal, each a starting value until it is the shop's own."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

from app.project.rate_words import RATE_WORDS
from geometry.errors import GeometryError

#: The named price that chips are a share of, unless another is given.
LOG_PRICE = "log price"

_INVENTED = "invented starting value"

#: Where the number comes from that a rate starts with.
STARTING_VALUES: Mapping[str, str] = {
    "turning_cm3_min": f"{_INVENTED}: middle of 150, 300 and 600",
    "milling_cm3_min": f"{_INVENTED}: middle of 150, 300 and 600",
    "drilling_cm3_min": f"{_INVENTED}: lowest of 150, 300 and 600",
    "energy_j_mm3": "textbook table for aluminium alloys of 100 to 150 HB, sharp tool",
    "efficiency": f"{_INVENTED}: 85 %",
    "setups": f"{_INVENTED}: two for turning and one for milling and drilling",
    "setup_min": _INVENTED,
    "hour_price": _INVENTED,
    "log_price_kg": _INVENTED,
    "loss": f"{_INVENTED}: 8 % of the blank, from memory",
    "forging_price": _INVENTED,
    "treatment_price_kg": _INVENTED,
    "chip_share": f"{_INVENTED} (0.25 to 0.35 of the price of bar)",
    "slug_share": f"{_INVENTED}: clean solid scrap of one alloy fetches more than chips, from memory",
}


_FROM_0 = (
    *("setups", "setup_min", "hour_price", "log_price_kg", "forging_price"),
    *("treatment_price_kg", "bought_price", "chip_price_kg"),
)


@dataclass(frozen=True)
class ShopRates:
    """The shop's rates and prices, in the project's currency.

    Attributes:
        turning_cm3_min, milling_cm3_min, drilling_cm3_min: average rates of removal while cutting.
        energy_j_mm3: specific energy at the edge. efficiency: of the machine, edge over motor.
        setups, setup_min: clampings of one wheel and minutes for each, handling with it.
        hour_price: of a machine with its operator.
        log_price_kg: of forging stock. loss: flash, scale and saw as a share of the blank's mass.
        forging_price: of one piece. treatment_price_kg: heat treatment, per kg of blank.
        bought_price: of a blank bought as treated, in place of log, forging and treatment; None for own ones.
        chip_share: value of a kg of chips as a share of a named price. chip_price_name: its name.
        chip_price_kg: that price; None for the log price. Flash and saw loss are given no value.
        slug_share: value of a kg of solid scrap, the slug of a pierced hub, as a share of that price.

    Raises:
        GeometryError: a value is out of bounds, or the price that chips are a share of has no name.
    """

    turning_cm3_min: float = 300.0
    milling_cm3_min: float = 300.0
    drilling_cm3_min: float = 150.0
    energy_j_mm3: float = 0.8
    efficiency: float = 0.85
    setups: int = 3
    setup_min: float = 20.0
    hour_price: float = 95.0
    log_price_kg: float = 4.60
    loss: float = 0.08
    forging_price: float = 95.0
    treatment_price_kg: float = 1.10
    bought_price: float | None = None
    chip_share: float = 0.30
    chip_price_name: str = LOG_PRICE
    chip_price_kg: float | None = None
    slug_share: float = 0.45

    def __post_init__(self) -> None:
        for name in ("turning_cm3_min", "milling_cm3_min", "drilling_cm3_min", "energy_j_mm3"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise GeometryError(f"The rate '{RATE_WORDS[name]}' is {value:g}; it must be above 0.")
        for name in _FROM_0:
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value >= 0.0):
                raise GeometryError(f"The rate '{RATE_WORDS[name]}' is {value:g}; it must be from 0.")
        if not 0.0 < self.efficiency <= 1.0:
            raise GeometryError(
                f"The rate '{RATE_WORDS['efficiency']}' is {self.efficiency:g}; give a share above 0, up "
                "to 1."
            )
        for name in ("loss", "chip_share", "slug_share"):
            value = getattr(self, name)
            if not 0.0 <= value <= 1.0:
                raise GeometryError(f"The rate '{RATE_WORDS[name]}' is {value:g}; give a share from 0 to 1.")
        if not self.chip_price_name or (self.chip_price_kg is None) != (self.chip_price_name == LOG_PRICE):
            raise GeometryError(
                f"Chips are a share of '{self.chip_price_name}'; name a price and give it, or take the "
                "log price."
            )

    @property
    def starting(self) -> tuple[str, ...]:
        """Names of the rates that still are what they start with."""
        start = {f.name: f.default for f in fields(self)}
        return tuple(name for name in STARTING_VALUES if getattr(self, name) == start[name])

    @property
    def chip_value_kg(self) -> float:
        """What a kg of chips brings."""
        return self.chip_share * self._scrap_price_kg

    @property
    def slug_value_kg(self) -> float:
        """What a kg of solid scrap brings."""
        return self.slug_share * self._scrap_price_kg

    @property
    def _scrap_price_kg(self) -> float:
        return self.log_price_kg if self.chip_price_kg is None else self.chip_price_kg


#: What every new project starts with.
SHIPPED_RATES = ShopRates()
