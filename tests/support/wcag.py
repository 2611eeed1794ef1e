"""Contrast of two colours, and what colours become for eyes that see less of them.

Contrast: Web Content Accessibility Guidelines 2.2, W3C Recommendation, definitions "relative luminance" and
"contrast ratio" (https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio); 4.5 : 1 for text by success criterion
1.4.3, 3 : 1 for marks by 1.4.11.
"""

from __future__ import annotations

import numpy as np

from geometry.shape.curve import Array

TEXT, MARK = 4.5, 3.0


def rgb(written: str) -> Array:
    """Return (3,) red, green and blue from 0 to 1 of '#RRGGBB'."""
    return np.array([int(written[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0


def linear(coded: Array) -> Array:
    """Return sRGB values in linear light."""
    light: Array = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return light


def luminance(coded: Array) -> float:
    """Return the relative luminance of an sRGB colour."""
    return float(linear(coded) @ np.array([0.2126, 0.7152, 0.0722]))


def contrast(one: Array, other: Array) -> float:
    """Return the contrast ratio, from 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def over(colour: Array, ground: Array, alpha: float) -> Array:
    """Return a colour painted over a ground, alpha 0 to 255; mixed as painters mix, in coded values."""
    share = alpha / 255.0
    mixed: Array = colour * share + ground * (1.0 - share)
    return mixed
