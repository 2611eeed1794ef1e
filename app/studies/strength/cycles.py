"""Numbers of cycles as the study and everything that shows it write them."""

from __future__ import annotations


def cycles_words(cycles: float) -> str:
    """Return a number of cycles, two digits and a power of ten: '2.0e5'."""
    mantissa, power = f"{cycles:.1e}".split("e")
    return f"{mantissa}e{int(power)}"
