"""A made-up sheet with the half view of a brake, drawn to a known scale and turned askew, to be traced."""

from __future__ import annotations

import cmath
import io
import math

from PIL import Image, ImageDraw

#: The brake as drawn, (z, r) in mm: invented.
BRAKE = (
    (-62.0, 116.0), (24.0, 116.0), (46.0, 134.0), (46.0, 176.0), (36.0, 199.0), (-50.0, 203.0), (-62.0, 180.0)
)  # fmt: skip
WIDTH, HEIGHT = 1100, 1400
#: Pixels to a mm along z and r: copied a hundredth narrower than high.
PER_Z, PER_R = 4.95, 5.0
TILT_DEG = 1.2
#: Where z = 0, r = 0 lies, pixels.
ZERO = (560.0, 1290.0)


def pixel(z: float, r: float, tilt_deg: float = TILT_DEG) -> tuple[float, float]:
    """Return the pixel at which a place is drawn, x to the right, y down."""
    turned = complex(z * PER_Z, r * PER_R) * cmath.exp(1j * math.radians(tilt_deg))
    return ZERO[0] + turned.real, ZERO[1] - turned.imag


def drawn(tilt_deg: float = TILT_DEG) -> Image.Image:
    """Return the sheet."""
    image = Image.new("RGB", (WIDTH, HEIGHT), (247, 245, 240))
    draw = ImageDraw.Draw(image)

    def line(a: tuple[float, float], b: tuple[float, float], width: int = 2) -> None:
        draw.line([pixel(*a, tilt_deg), pixel(*b, tilt_deg)], fill=(40, 40, 44), width=width)

    line((-100.0, 0.0), (100.0, 0.0))
    line((0.0, -8.0), (0.0, 70.0))
    line((0.0, 70.0), (-7.0, 70.0))
    draw.polygon(
        [pixel(z, r, tilt_deg) for z, r in BRAKE], fill=(214, 208, 198), outline=(40, 40, 44), width=3
    )
    for a, b in (
        ((46.0, 134.0), (84.0, 134.0)),
        ((36.0, 199.0), (94.0, 199.0)),
        ((46.0, 176.0), (46.0, 232.0)),
    ):
        line(a, b, 1)
    line((-62.0, 203.0), (-62.0, 232.0), 1)
    line((-62.0, 226.0), (46.0, 226.0), 1)
    line((80.0, 0.0), (80.0, 134.0), 1)
    line((90.0, 0.0), (90.0, 199.0), 1)
    for words, at in (
        ("108", (-12.0, 234.0)),
        ("134", (70.0, 60.0)),
        ("199", (92.0, 100.0)),
        ("no real brake", (-90.0, 16.0)),
    ):
        draw.text(pixel(*at, tilt_deg), words, fill=(40, 40, 44), font_size=28)
    return image


def png(tilt_deg: float = TILT_DEG) -> bytes:
    """Return the sheet as a PNG file."""
    file = io.BytesIO()
    drawn(tilt_deg).save(file, "PNG")
    return file.getvalue()


def pdf() -> bytes:
    """Return a PDF of two pages: an empty one, and the sheet."""
    file = io.BytesIO()
    blank = Image.new("RGB", (WIDTH, HEIGHT), "white")
    blank.save(file, "PDF", save_all=True, append_images=[drawn()], resolution=150.0)
    return file.getvalue()
