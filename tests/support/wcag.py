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


#: Machado, Oliveira and Fernandes (2009), A Physiologically-based Model for Simulation of Color Vision
#: Deficiency, doi 10.1109/TVCG.2009.113, table of severity 1.0; rows of the matrix on linear RGB.
DEFICITS = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
#: Grey of the same luminance.
GREY = ((0.2126, 0.7152, 0.0722),) * 3
SEEN = {"grey": GREY, **DEFICITS}


def seen(coded: Array, how: str) -> Array:
    """Return (..., 3) sRGB colours as they are seen in grey or with a deficit of `SEEN`."""
    light = np.clip(linear(coded) @ np.array(SEEN[how]).T, 0.0, 1.0)
    again: Array = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    return again
