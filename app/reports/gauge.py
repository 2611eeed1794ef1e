"""The paper gauge as plain geometry: what is cut out, at 1:1, and how it is tiled over sheets of paper.

A gauge is never shrunk: what one sheet does not hold goes on the next, and neighbours overlap.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import product

from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.drawing import Contour
from app.reports.figure import Figure, build_figure
from app.reports.numbers import Numbers, unit_of
from app.reports.page import MARGIN, PAPERS, Area
from app.reports.sentences import revision_words
from app.studies.fit import hold, measure_wheel
from geometry.readings.rows import Held
from geometry.shape.outline import StayOut
from geometry.shape.section import Outline, Side

#: Length that each bar must have on paper, mm.
BAR = 100.0
#: What one sheet shows is shown again on its neighbour over this width, mm.
OVERLAP = 10.0
#: White kept round what is drawn, mm.
_ROUND = 6.0
#: Height of a gauge's head and foot, of the stamp, and of the strips that hold the bars, mm.
HEAD, FOOT, STAMP, STRIP_X, STRIP_Y = 18.0, 16.0, 8.0, 8.0, 9.0
#: A bar outside this length is not a print gone wrong by a few per cent, it is another bar.
LEAST_BAR, MOST_BAR = 90.0, 110.0

_ROWS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
#: More sheets than this nobody glues together.
_MOST_SHEETS = 60

_BRAKE_SIDE = tuple(Side).index(Side.BRAKE)


class GaugeOf(StrEnum):
    """What a gauge shows: the brake, to hold against a wheel, or the wheel's inside, for a car."""

    BRAKE = "brake"
    WHEEL = "wheel"


@dataclass(frozen=True)
class Correction:
    """Factors, along x and y of the paper, that make a printer's 100 mm bars measure 100 mm."""

    x: float = 1.0
    y: float = 1.0

    @staticmethod
    def of_bars(x_mm: float, y_mm: float) -> Correction:
        """Return the correction for bars of 100 mm that measured so on an uncorrected print.

        Raises:
            ValueError: a bar is too far from 100 mm to be one.
        """
        for axis, value in (("level", x_mm), ("upright", y_mm)):
            if not LEAST_BAR <= value <= MOST_BAR:
                raise ValueError(
                    f"The {axis} bar measures {value:g} mm: expected {LEAST_BAR:g} to {MOST_BAR:g}. Print "
                    "without a correction, at 100 %, and measure both bars in mm."
                )
        return Correction(BAR / x_mm, BAR / y_mm)


UNCORRECTED = Correction()


@dataclass(frozen=True)
class Gauge:
    """What a gauge shows, in mm of the hub's half-plane (z, r).

    Attributes:
        names: of what is drawn, for the title.
        figure: holds shapes, their required-gap lines, the wheel and its rings.
        skin: chains of the wheel's skin that looks at the brake; empty on a gauge of the brake.
        face_z: the wheel's mounting face; not 0 where there is a spacer.
        bounds: (z low, z high, r low, r high) of what goes on paper, axle and mounting face among it.
        lines: sentences for the head of every page.
        hold_back: why it is not for release; empty when it may go out.
    """

    of: GaugeOf
    names: str
    wheel: str
    project: str
    revision: str
    author: str
    paper: str
    figure: Figure
    skin: tuple[Contour, ...]
    face_z: float
    bounds: tuple[float, float, float, float]
    lines: tuple[str, ...]
    hold_back: str


def build_gauge(project: Project, wheel: Wheel, of: GaugeOf) -> Gauge:
    """Return the gauge of the shapes that a wheel must clear, or of its inside.

    Raises:
        ValueError: there is nothing to draw: no shape, a shape or section with faults.
    """
    numbers = Numbers(unit_of(project))
    held = hold(project, wheel)
    if not isinstance(held, Held):
        raise ValueError(f"No gauge can be drawn: {held[0].message}")
    measured = measure_wheel(project, wheel)
    figure = build_figure(wheel, measured, held, numbers)
    skin: tuple[Contour, ...] = ()
    if of is GaugeOf.WHEEL:
        if measured.outline is None or measured.measurements is None:
            raise ValueError(f"Wheel '{wheel.name}' has no section to draw: {measured.faults[0].message}")
        skin = tuple(_brake_side(measured.outline))
        names, asked = wheel.name, list(measured.measurements.questions[:1])
    else:
        if not any(shape.paths for shape in figure.shapes):
            raise ValueError(f"Wheel '{wheel.name}' must clear no stay-out shape: there is no brake to draw.")
        shapes = [shape for shape, _ in held.shapes]
        names, asked = ", ".join(s.name for s in shapes), list(_open(shapes))
    return Gauge(
        of=of,
        names=names,
        wheel=wheel.name,
        project=project.name,
        revision=revision_words(project),
        author=project.author,
        paper="Letter" if project.paper == "Letter" else "A4",
        figure=figure,
        skin=skin,
        face_z=wheel.spacer_mm,
        bounds=_bounds(figure, skin, wheel.spacer_mm),
        lines=_lines(wheel, of, figure, numbers),
        hold_back=asked[0] if asked else "",
    )


def _open(shapes: list[StayOut]) -> Iterator[str]:
    for shape in shapes:
        yield from (f"{shape.name}: {question}" for question in shape.open_questions())


def _brake_side(outline: Outline) -> Iterator[Contour]:
    """Yield the chains of lines and arcs that look at the brake."""
    path, count = outline.path, len(outline.path)
    on = [bool(outline.skin[i]) and int(outline.side[i]) == _BRAKE_SIDE for i in range(count)]
    points = [(float(z), float(r)) for z, r in path.points]
    for first in (i for i in range(count) if on[i] and not on[i - 1]):
        chain = [first]
        while on[(chain[-1] + 1) % count] and len(chain) < count:
            chain.append((chain[-1] + 1) % count)
        places = [points[i] for i in (*chain, (chain[-1] + 1) % count)]
        yield Contour(tuple(places), (*(float(path.bulges[i]) for i in chain), 0.0), closed=False)


def _bounds(figure: Figure, skin: tuple[Contour, ...], face_z: float) -> tuple[float, float, float, float]:
    places = [(0.0, 0.0), (face_z, 0.0)]
    if skin:
        places += [p for chain in skin for p in chain.points]
        boxes = [ring.bounds for ring in figure.rings]
    else:
        boxes = [path.bounds for shape in figure.shapes for path in shape.paths]
        places += [p for shape in figure.shapes for ring in shape.gap_lines for p in ring]
    places += [(z, r) for z0, z1, r0, r1 in boxes for z, r in ((z0, r0), (z1, r1))]
    zs, rs = [p[0] for p in places], [p[1] for p in places]
    return min(zs) - _ROUND, max(zs) + _ROUND, min(rs) - _ROUND, max(rs) + _ROUND


def _lines(wheel: Wheel, of: GaugeOf, figure: Figure, numbers: Numbers) -> tuple[str, ...]:
    inset = numbers.length(wheel.inset_mm, with_unit=True)
    against = "wheel's mounting face" if of is GaugeOf.BRAKE else "hub"
    words = [
        "Scale 1 : 1, not mirrored. Hold against the mounting face; "
        "trust only if both bars measure 100.00 mm.",
    ]
    if of is GaugeOf.BRAKE:
        line = figure.gap_line_words
        needs = f" The broken line is the gap that must be kept: {line}." if line else ""
        words.append(f"Cut along the full line and hold it against the {against}.{needs}")
    else:
        words.append(
            f"Wheel {wheel.size}, inset {inset}. Keep the grey card, cut along the bold line, "
            f"and hold it against the {against}, over the brake."
        )
    if wheel.spacer_mm:
        words.append(
            f"With a spacer of {numbers.length(wheel.spacer_mm, with_unit=True)} on the hub: "
            "the mounting face lies that far outboard of the hub's face."
        )
    return tuple(words)


@dataclass(frozen=True)
class Tile:
    """One sheet: its name (row letter from above, column number from inboard) and what it shows.

    Attributes:
        area: (z, r) in mm, by its edges.
    """

    name: str
    row: int
    column: int
    area: Area


@dataclass(frozen=True)
class Tiling:
    """How a gauge lies on sheets of paper.

    Attributes:
        size: width and height of the paper, mm.
        window: where each sheet shows its tile, paper mm; all alike.
        correction: paper mm = correction x mm of the gauge, by axis.
        marks: places (z, r) of the match marks; each lies on two neighbouring sheets.
    """

    size: tuple[float, float]
    window: Area
    correction: Correction
    rows: int
    columns: int
    tiles: tuple[Tile, ...]
    marks: tuple[tuple[float, float], ...]

    @property
    def seams(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Z and r of the middles of the overlaps."""
        top, side = self.tiles[0 : self.columns], self.tiles[0 :: self.columns]
        zs = tuple(tile.area.right - OVERLAP / 2.0 for tile in top[:-1])
        return zs, tuple(tile.area.bottom + OVERLAP / 2.0 for tile in side[:-1])


def tiling(gauge: Gauge, correction: Correction) -> Tiling:
    """Return the sheets that hold the gauge: the way round, level or upright, that takes fewer of them.

    Raises:
        ValueError: it takes more sheets than anybody would glue together.
    """
    width, height = PAPERS[gauge.paper]
    ways = [_Way(gauge, correction, size) for size in ((width, height), (height, width))]
    found = min(ways, key=lambda way: way.columns * way.rows)
    count = found.columns * found.rows
    if count > _MOST_SHEETS or found.rows > len(_ROWS):
        raise ValueError(f"The gauge would take {count} sheets of {gauge.paper}: is the unit right?")
    return found.tiling()


class _Way:
    """Paper laid one way round: how many tiles it takes, and the tiles."""

    def __init__(self, gauge: Gauge, correction: Correction, size: tuple[float, float]) -> None:
        self.size, self.correction = size, correction
        top = size[1] - MARGIN - HEAD - (STAMP if gauge.hold_back else 0.0)
        self.window = Area(MARGIN + STRIP_X, MARGIN + FOOT + STRIP_Y, size[0] - MARGIN, top)
        self.wide, self.high = self.window.width / correction.x, self.window.height / correction.y
        z_low, z_high, r_low, r_high = gauge.bounds
        self.columns, self.z0 = _shares(z_low, z_high, self.wide)
        self.rows, self.r0 = _shares(r_low, r_high, self.high)

    def tiling(self) -> Tiling:
        wide, high = self.wide, self.high
        tiles, marks = [], []
        for row, column in product(range(self.rows), range(self.columns)):
            left = self.z0 + column * (wide - OVERLAP)
            bottom = self.r0 + (self.rows - 1 - row) * (high - OVERLAP)
            area = Area(left, bottom, left + wide, bottom + high)
            tiles.append(Tile(f"{_ROWS[row]}{column + 1}", row, column, area))
            if column + 1 < self.columns:
                marks += [(area.right - OVERLAP / 2.0, bottom + part * high) for part in (0.2, 0.8)]
            if row + 1 < self.rows:
                marks += [(left + part * wide, bottom + OVERLAP / 2.0) for part in (0.2, 0.8)]
        return Tiling(
            self.size, self.window, self.correction, self.rows, self.columns, tuple(tiles), tuple(marks)
        )


def _shares(low: float, high: float, tile: float) -> tuple[int, float]:
    """Return how many tiles cover an interval, and where the first starts; what is left over is halved."""
    count = max(1, math.ceil((high - low - OVERLAP) / (tile - OVERLAP) - 1e-9))
    covered = count * (tile - OVERLAP) + OVERLAP
    return count, low - (covered - (high - low)) / 2.0
