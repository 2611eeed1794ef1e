"""What an SVG says about lengths: units, the size of its page, and how that maps to the drawing.

The page is the root's width and height; its viewBox says which part of the drawing fills it. Only a page
size in a unit of length together with a viewBox states a scale. Pixels state none: that 96 make an inch is
an assumption of web pages, and older programs wrote 72 or 90.

y runs down in SVG and is reversed. Where the line y = 0 lies in the upper half of the page, as it does where
the page starts there, nothing above the axle could be drawn on it: r then counts from the foot of the page.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from app.files.readers.answer import NOT_KNOWN, ReadError, plain
from app.files.readers.pieces import Point
from app.files.readers.placing import Placing
from app.files.readers.svg_path import bounded

_LENGTH = re.compile(r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*([A-Za-z]*|%)\s*")

#: Millimetres in a unit of length, and the unit that the drawing is then said to be in.
_UNITS_MM = {
    "mm": (1.0, "mm"),
    "cm": (10.0, "cm"),
    "q": (0.25, "mm"),
    "in": (25.4, "in"),
    "pt": (25.4 / 72.0, "in"),
    "pc": (25.4 / 6.0, "in"),
}

#: Pixels to a millimetre where a length within the drawing has a unit, as the recommendation has it.
PX_PER_MM = 96.0 / 25.4

#: Width and height of the page that scale differently by no more than this are rounded, not stretched.
_ROUNDED = 1e-3


@dataclass(frozen=True)
class Page:
    """The page of a drawing.

    Attributes:
        mm_per_unit: millimetres to a unit of the drawing along x and y; None where none is stated.
        unit: of the page size, a key of UNITS or not known.
        doubt: why the scale is not known although the page has a size.
        box: x, y, width and height of the page in units of the drawing; None where it has no size.
        said: what is to be said of the scale, empty where that is nothing.
    """

    mm_per_unit: Point | None
    unit: str
    doubt: str
    box: tuple[float, float, float, float] | None
    said: str = ""

    @property
    def foot(self) -> float:
        """The y that becomes r = 0; see the module's text."""
        if self.box is None:
            return 0.0
        _, top, _, height = self.box
        return 0.0 if -top >= height / 2.0 else top + height

    def placing(self, scale: Point) -> Placing:
        """Return the map from the drawing to z, r at so many millimetres, or other units, to its own."""
        return Placing(a=scale[0], d=-scale[1], f=scale[1] * self.foot)


def length(text: str, whole: float, what: str) -> tuple[float, bool]:
    """Return a length within the drawing in its units, and whether it is told in a unit of its own.

    Args:
        text: as written.
        whole: what 100 % is.
        what: whose length it is, for the message.

    Raises:
        ReadError: it is no length.
    """
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise ReadError(f"{what} is {plain(text)!r}, which is no length; export the drawing anew")
    number, unit = bounded(float(match[1])), match[2].lower()
    if unit in ("", "px"):
        return number, False
    if unit == "%":
        return number * whole / 100.0, False
    if unit in _UNITS_MM:
        return number * _UNITS_MM[unit][0] * PX_PER_MM, True
    raise ReadError(f"{what} is {plain(text)!r}, which depends on something else; export the drawing anew")


def view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """Return the four numbers of a viewBox, None where there is none or it has no size.

    Raises:
        ReadError: it is not four numbers.
    """
    if text is None:
        return None
    parts = text.replace(",", " ").split()
    matches = [_LENGTH.fullmatch(part) for part in parts]
    numbers = [bounded(float(m[1])) for m in matches if m is not None and not m[2]]
    if len(parts) != 4 or len(numbers) != 4:
        raise ReadError(f"the viewBox {plain(text)!r} is not four numbers; export the drawing anew")
    x, y, width, height = numbers
    return (x, y, width, height) if width > 0.0 and height > 0.0 else None


def page_of(root: Element) -> Page:
    """Return the page that the root element states.

    Raises:
        ReadError: its size or its viewBox is damaged.
    """
    box = view_box(root.get("viewBox"))
    sizes = [_page_size(root.get(name), name) for name in ("width", "height")]
    if box is None:
        plain_sizes = [size[0] * (PX_PER_MM if size[1] else 1.0) if size else 0.0 for size in sizes]
        drawn = (0.0, 0.0, plain_sizes[0], plain_sizes[1]) if min(plain_sizes) > 0.0 else None
        stated = any(size and size[1] for size in sizes)
        return Page(None, NOT_KNOWN, _no_box(stated, sizes), drawn)
    units = {size[1] for size in sizes if size}
    if not units:
        return Page(None, NOT_KNOWN, "", box)
    if "" in units:
        return Page(None, NOT_KNOWN, _no_box(False, sizes), box)
    scales = [size[0] / box[2 + k] if size else None for k, size in enumerate(sizes)]
    along_x, along_y = scales[0] or scales[1] or 0.0, scales[1] or scales[0] or 0.0
    unit = next(size[1] for size in sizes if size)
    if not min(along_x, along_y) > 0.0:
        return Page(None, NOT_KNOWN, "", box)
    if abs(along_x - along_y) > _ROUNDED * along_x:
        ratio = root.get("preserveAspectRatio", "").split()
        if ratio[:1] == ["none"]:
            said = "the page stretches the drawing along one direction"
            return Page((along_x, along_y), unit, "", box, said)
        scale = max(along_x, along_y) if "slice" in ratio else min(along_x, along_y)
        said = (
            f"the page and its viewBox differ in shape: {along_x:.6g} mm to a unit by the width, "
            f"{along_y:.6g} by the height; the format takes {scale:.6g}, look at the size"
        )
        return Page((scale, scale), unit, "", box, said)
    # Sizes are rounded to some digits; the larger one has more that count.
    scale = along_x if scales[0] and (not scales[1] or box[2] >= box[3]) else along_y
    return Page((scale, scale), unit, "", box)


def _page_size(text: str | None, name: str) -> tuple[float, str] | None:
    """Return a side of the page in mm with its unit, or in pixels with none; None where it has no size."""
    if text is None or text.strip() in ("", "auto") or text.strip().endswith("%"):
        return None
    match = _LENGTH.fullmatch(text)
    if match is None or not math.isfinite(float(match[1])):
        raise ReadError(f"the page's {name} is {plain(text)!r}, which is no length; export the drawing anew")
    number, unit = bounded(float(match[1])), match[2].lower()
    if unit in _UNITS_MM:
        return number * _UNITS_MM[unit][0], _UNITS_MM[unit][1]
    return (number, "") if unit in ("", "px") else None


def _no_box(is_stated: bool, sizes: list[tuple[float, str] | None]) -> str:
    """Return why a page without viewBox, or in pixels, states no scale."""
    if is_stated:
        return "its page has a size but no viewBox, so that its lines are in pixels, which have no fixed size"
    if any(sizes):
        return "its size is in pixels, which have no fixed size (96 to an inch is an assumption)"
    return ""
