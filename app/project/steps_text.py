"""Rows of numbers as a person types them: '8, 8.5, 9' or '0:45:5', or both."""

from __future__ import annotations

import math
import re

from geometry.errors import GeometryError

#: A row longer than this is a slip of the finger.
MOST = 1000


def steps(text: str, what: str) -> tuple[float, ...]:
    """Return the numbers in a text, in rising order, each once.

    Args:
        text: numbers, or low:high:step, parted by commas, semicolons or spaces; decimals by a point.
        what: what they are, for the message.

    Raises:
        GeometryError: something else stands there, or there is nothing, or too much.
    """
    found: set[float] = set()
    for part in re.split(r"[,;\s]+", text.strip()):
        found.update(_part(part, text, what))
    if len(found) > MOST:
        raise GeometryError(f"{what} '{text}': {len(found)} numbers; at most {MOST}, take larger steps.")
    return tuple(sorted(found))


def _part(part: str, text: str, what: str) -> list[float]:
    try:
        numbers = [float(word) for word in part.replace("−", "-").split(":")]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 3) or not all(math.isfinite(x) and abs(x) <= 1000.0 for x in numbers):
        how = "numbers as 8,8.5,9 or low:high:step as 0:45:5"
        raise GeometryError(f"{what} '{text}': '{part}' cannot be read; give {how}, within 1000.")
    if len(numbers) == 1:
        return numbers
    low, high, step = numbers
    if step <= 0.0 or high < low:
        raise GeometryError(f"{what} '{text}': in low:high:step the step is above 0, and high not below low.")
    count = int((high - low) / step + 1e-9) + 1
    if count > MOST:
        raise GeometryError(f"{what} '{text}': {count} numbers; at most {MOST}, take larger steps.")
    return [round(low + k * step, 9) for k in range(count)]


def written(numbers: tuple[float, ...]) -> str:
    """Return the shortest text that is read as these numbers: low:high:step where they are even."""
    if len(numbers) > 2:
        step = round(numbers[1] - numbers[0], 9)
        text = f"{numbers[0]:g}:{numbers[-1]:g}:{step:g}"
        if step > 0.0 and _part(text, text, "") == list(numbers):
            return text
    return ", ".join(f"{x:g}" for x in numbers)
