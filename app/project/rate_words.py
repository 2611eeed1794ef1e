"""What the shop's rates are called where people read them."""

from __future__ import annotations

#: By the field of `ShopRates`.
RATE_WORDS = {
    "turning_cm3_min": "turning, cm³ a minute",
    "milling_cm3_min": "milling, cm³ a minute",
    "drilling_cm3_min": "drilling, cm³ a minute",
    "energy_j_mm3": "energy at the edge, J a mm³",
    "efficiency": "efficiency of the machine",
    "setups": "set-ups of a wheel",
    "setup_min": "minutes of a set-up",
    "hour_price": "machine and operator, an hour",
    "log_price_kg": "log, a kg",
    "loss": "flash, scale and saw, of the blank",
    "forging_price": "forging, a piece",
    "treatment_price_kg": "heat treatment, a kg",
    "bought_price": "every blank bought, a piece",
    "chip_share": "chips, share of the named price",
    "chip_price_kg": "named price, a kg",
    "slug_share": "slug, share of that price",
}
