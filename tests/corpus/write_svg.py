"""A small writer of SVG as text."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tests.corpus.shapes import Chain, Point, pieces
from tests.corpus.write_dxf import number


@dataclass(frozen=True)
class Affine:
    """x' = a x + c y + e, y' = b x + d y + f, in SVG's order of letters."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __call__(self, place: Point) -> Point:
        x, y = place
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def __matmul__(self, first: "Affine") -> "Affine":
        """The map that does `first` and then this one: a group within this one's group."""
        e, f = self((first.e, first.f))
        return Affine(
            self.a * first.a + self.c * first.b, self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d, self.b * first.c + self.d * first.d, e, f,
        )  # fmt: skip

    @property
    def determinant(self) -> float:
        return self.a * self.d - self.b * self.c

    def inverse(self) -> "Affine":
        """The map back."""
        k = self.determinant
        a, b, c, d = self.d / k, -self.b / k, -self.c / k, self.a / k
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))


def turn(degrees: float) -> Affine:
    """rotate(degrees)."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return Affine(c, s, -s, c)


def grow(x: float, y: float | None = None) -> Affine:
    """scale(x, y)."""
    return Affine(a=x, d=x if y is None else y)


def shift(x: float, y: float) -> Affine:
    """translate(x, y)."""
    return Affine(e=x, f=y)


DOWN = Affine(d=-1.0)
"""From (z, r) to (x, y) with y downwards and the axle at y = 0."""


def path_data(chain: Chain, to_user: Affine = DOWN, closed: bool = True) -> str:
    """A chain as path data with absolute M, L, A; `to_user` must keep circles round."""
    size = math.sqrt(abs(to_user.determinant))
    words = []
    parts = pieces(chain, closed)
    words.append("M " + place(to_user(parts[0].start)))
    for part in parts:
        end = place(to_user(part.end))
        if part.bulge == 0.0:
            words.append("L " + end)
            continue
        sweep = int((part.bulge > 0.0) == (to_user.determinant > 0.0))
        radius = number(part.radius * size)
        words.append(f"A {radius} {radius} 0 {int(abs(part.sweep) > math.pi)} {sweep} {end}")
    return " ".join(words) + (" Z" if closed else "")


def place(at: Point) -> str:
    """A place as text."""
    return f"{number(at[0])},{number(at[1])}"


def path(chain: Chain, to_user: Affine = DOWN, closed: bool = True, more: str = "") -> str:
    """A path element."""
    return f'<path fill="none" stroke="black"{more} d="{path_data(chain, to_user, closed)}"/>'


def group(transform: str, *items: str, more: str = "") -> str:
    """A group; an empty transform is left out."""
    attribute = f' transform="{transform}"' if transform else ""
    return f"<g{attribute}{more}>\n" + "\n".join(items) + "\n</g>"


def points(places: Sequence[Point], to_user: Affine = DOWN) -> str:
    """The value of a `points` attribute."""
    return " ".join(place(to_user(at)) for at in places)


@dataclass(frozen=True)
class Sheet:
    """The outermost element: its size with units, its viewBox, and what one user unit is in mm."""

    width: str | None
    height: str | None
    view_box: tuple[float, float, float, float] | None
    unit_mm: float
    page_offset_mm: Point = (0.0, 0.0)
    """Where the viewBox begins on the page, if the two differ in shape."""

    def text(self, *items: str, more: str = "") -> str:
        """The whole file."""
        head = (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1"'
        )
        head += f' width="{self.width}"' if self.width else ""
        head += f' height="{self.height}"' if self.height else ""
        if self.view_box:
            head += f' viewBox="{" ".join(number(v) for v in self.view_box)}"'
        return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}{more}>\n' + "\n".join(items) + "\n</svg>\n"

    def page_shift(self, shift_mm: Point) -> Point:
        """The shift that counts from the page's left and upper edge, for one from the viewBox's origin."""
        x0, y0 = self.view_box[:2] if self.view_box else (0.0, 0.0)
        return (
            shift_mm[0] + self.unit_mm * x0 - self.page_offset_mm[0],
            shift_mm[1] - self.unit_mm * y0 + self.page_offset_mm[1],
        )
