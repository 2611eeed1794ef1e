"""The sheets of a paper gauge: the tile at 1:1, match marks, two bars to measure, and a map of the tiling."""

from __future__ import annotations

from app.reports.drawing import Anchor, Contour, Frame, Pen, Point, Type, arrow, line, wrapped
from app.reports.gauge import BAR, FOOT, HEAD, OVERLAP, STAMP, Gauge, GaugeOf, Tile, Tiling
from app.reports.look import (
    AXLE,
    BODY_BOLD,
    COLOURS,
    FIRST_LINE,
    GAP_LINE,
    HAIR,
    HAIRLINE,
    INK,
    PAPER,
    QUIET,
    RING,
    SHAPE,
    SMALL,
    THIN,
    WHEEL,
)
from app.reports.page import MARGIN, Area, draw_foot
from app.reports.pdf import About, PdfCanvas, identity_of
from geometry.readings.rules import State

_FULL = Frame(0.0, 0.0, 1.0)
#: Cut along this one; its middle is the outline.
_CUT = Pen(0.25, INK)
_BOLD_CUT = Pen(0.5, INK)
_SEAM = Pen(0.13, QUIET, (1.0, 1.5))
_FACE = Pen(0.25, INK, (8.0, 1.5))
#: Half the length of a match mark's strokes.
_MARK = 3.0
_MAP_WIDTH, _MAP_HEIGHT = 26.0, 13.0
_BOX_WIDTH, _BOX_HEIGHT, _BOX_STEP = 16.0, 5.4, 18.0


def write_gauge(gauge: Gauge, plan: Tiling, *, input_sha256: str, version: str | None = None) -> bytes:
    """Return the gauge as the bytes of a PDF, one page for each tile, row by row.

    Args:
        gauge: what it shows.
        plan: its tiles, as `tiling` gave them for this gauge.
        input_sha256: digest of the input, as 64 hex digits.
        version: of the program; None for the installed one.
    """
    identity = identity_of(input_sha256, version)
    about = About(
        f"Paper gauge: {gauge.names} ({gauge.project})",
        gauge.author,
        f"1 : 1, {gauge.revision}, input sha256 {input_sha256}",
    )
    canvas = PdfCanvas(plan.size, about, identity)
    width, height = plan.size
    body = Area(MARGIN, MARGIN + FOOT, width - MARGIN, height - MARGIN)
    parts = [gauge.project, gauge.revision, *([gauge.author] if gauge.author else [])]
    for number, tile in enumerate(plan.tiles, start=1):
        sheet = _Sheet(canvas, gauge, plan, tile)
        canvas.begin_page()
        sheet.draw_tile()
        sheet.draw_bars(body)
        sheet.draw_head(body)
        page = f"sheet {tile.name}, {number} of {len(plan.tiles)}"
        draw_foot(canvas, body, parts, identity, page)
        canvas.end_page()
    return canvas.finished()


class _Sheet:
    """One tile on its paper; the correction stretches everything that is to be measured, and nothing else."""

    def __init__(self, canvas: PdfCanvas, gauge: Gauge, plan: Tiling, tile: Tile) -> None:
        self.canvas, self.gauge, self.plan, self.tile = canvas, gauge, plan, tile
        self.window = plan.window

    def draw_tile(self) -> None:
        """Draw what lies in the tile, in (z, r), cut off at its window."""
        window, area, by = self.window, self.tile.area, self.plan.correction
        with self.canvas.through(window, (area.left, area.bottom), (by.x, by.y)):
            if self.gauge.of is GaugeOf.BRAKE:
                self._draw_brake()
            else:
                self._draw_wheel()
            self._draw_datums()
            self._draw_seams()
        frame = Contour.rectangle(window.left, window.bottom, window.width, window.height)
        self.canvas.path([frame], HAIR)

    def _draw_brake(self) -> None:
        shapes = self.gauge.figure.shapes
        for shape in shapes:
            for path in shape.paths:
                self.canvas.path([_FULL.contour(path)], _CUT, SHAPE)
        for shape in shapes:
            self.canvas.path([Contour.polyline(ring, closed=True) for ring in shape.gap_lines], GAP_LINE)

    def _draw_wheel(self) -> None:
        figure = self.gauge.figure
        if figure.outline is not None:
            self.canvas.path([_FULL.contour(figure.outline)], THIN, WHEEL)
        self.canvas.path(self.gauge.skin, _BOLD_CUT)
        for ring in figure.rings:
            self.canvas.path([_FULL.contour(ring)], _CUT, RING)

    def _draw_datums(self) -> None:
        """Draw axle line and mounting face, each named on every sheet that it crosses."""
        area, canvas = self.tile.area, self.canvas
        r_high = self.gauge.bounds[3]
        line(canvas, (area.left, 0.0), (area.right, 0.0), AXLE)
        faces = {0.0: "mounting face, z = 0"}
        if self.gauge.face_z:
            faces = {0.0: "face of the hub, z = 0", self.gauge.face_z: "mounting face"}
        low, high = max(area.bottom, 0.0), min(area.top, r_high)
        for z, words in faces.items():
            line(canvas, (z, 0.0), (z, r_high), _FACE)
            if area.left + 4.0 < z < area.right and high - low > 45.0:
                self._words((z - 1.2, low + 0.35 * (high - low)), words, turned=True)
        if area.bottom < 0.0 < area.top:
            self._words((area.left + 2.0, 1.2), "axle line, r = 0")
            words = "outboard, street side"
            self._words((area.right - 14.0 - canvas.text_width(words, SMALL), 1.2), words)
            start, tip = (area.right - 12.0, 2.0), (area.right - 3.0, 2.0)
            line(canvas, start, tip, THIN)
            arrow(canvas, tip, start, INK)

    def _words(self, at: Point, words: str, turned: bool = False) -> None:
        """Write small words on a white ground."""
        width, (x, y) = self.canvas.text_width(words, SMALL), at
        box = (x - 2.0, y - 0.5, 2.8, width + 1.0) if turned else (x - 0.5, y - 0.7, width + 1.0, 2.8)
        self.canvas.path([Contour.rectangle(*box)], None, PAPER)
        self.canvas.text(at, words, SMALL, turned=turned)

    def _draw_seams(self) -> None:
        """Draw the middles of the overlaps and their match marks, numbered alike on both sheets."""
        area, canvas = self.tile.area, self.canvas
        zs, rs = self.plan.seams
        for z in zs:
            line(canvas, (z, area.bottom), (z, area.top), _SEAM)
        for r in rs:
            line(canvas, (area.left, r), (area.right, r), _SEAM)
        for number, (z, r) in enumerate(self.plan.marks, start=1):
            if area.left < z < area.right and area.bottom < r < area.top:
                line(canvas, (z - _MARK, r), (z + _MARK, r), _CUT)
                line(canvas, (z, r - _MARK), (z, r + _MARK), _CUT)
                canvas.path([Contour.circle((z, r), 1.5)], THIN)
                canvas.text((z + 1.8, r + 0.9), str(number), SMALL)

    def draw_bars(self, body: Area) -> None:
        """Draw both bars outside the window, and boxes to note what they measure."""
        by, canvas, x, y = self.plan.correction, self.canvas, self.window.left, body.bottom + 2.2
        self._bar((x, y), (by.x, 0.0))
        self._bar((body.left + 4.4, self.window.bottom), (0.0, by.y))
        upright = f"must be {BAR:.2f} mm"
        place = (body.left + 2.2, self.window.bottom + BAR * by.y / 2.0)
        canvas.text(place, upright, SMALL, Anchor.MIDDLE, turned=True)
        x += BAR * by.x + 2.5
        canvas.text((x, y + 2.6), f"must be {BAR:.2f} mm;", SMALL)
        canvas.text((x, y - 0.4), "I measured (mm):", SMALL)
        x = body.right - _BOX_STEP - _BOX_WIDTH
        for words in ("level", "upright"):
            canvas.path([Contour.rectangle(x, y - 1.2, _BOX_WIDTH, _BOX_HEIGHT)], THIN)
            canvas.text((x + 0.7, y + 2.0), words, SMALL)
            x += _BOX_STEP

    def _bar(self, start: Point, step: Point) -> None:
        (x, y), (ux, uy) = start, step
        line(self.canvas, start, (x + BAR * ux, y + BAR * uy), Pen(0.25, INK))
        for k in range(11):
            size = 1.8 if k % 5 == 0 else 1.0
            px, py = x + 10.0 * k * ux, y + 10.0 * k * uy
            across = (px, py + size) if ux else (px - size, py)
            line(self.canvas, (px, py), across, THIN)

    def draw_head(self, body: Area) -> None:
        """Draw title, how to use the sheet, the map of the tiling, and the stamp of what is held back."""
        canvas, gauge = self.canvas, self.gauge
        room = body.width - _MAP_WIDTH - 4.0
        y = body.top - FIRST_LINE.size_mm
        what = "the brake" if gauge.of is GaugeOf.BRAKE else "the inside of wheel"
        (title,) = wrapped(canvas, f"Paper gauge of {what}: {gauge.names}", FIRST_LINE, room, 1)
        canvas.text((body.left, y), title, FIRST_LINE)
        words = list(gauge.lines)
        by = self.plan.correction
        if (by.x, by.y) != (1.0, 1.0):
            words.append(
                f"Corrected for this printer: bars that measured {BAR / by.x:.2f} and {BAR / by.y:.2f} mm."
            )
        if len(self.plan.tiles) > 1:
            words.append(
                f"Lay neighbours over each other by {OVERLAP:g} mm, crosses of one number on each other."
            )
        lines = [(k, text) for k, said in enumerate(words) for text in wrapped(canvas, said, _style(k), room)]
        for k, text in lines[:5]:
            y -= 3.0
            canvas.text((body.left, y - 0.6), text, _style(k))
        self._draw_map(body)
        if gauge.hold_back:
            self._draw_stamp(body)

    def _draw_stamp(self, body: Area) -> None:
        top = body.top - HEAD + 0.5
        colour = COLOURS[State.SHORT]
        self.canvas.path(
            [Contour.rectangle(body.left, top - STAMP + 1.5, body.width, STAMP - 1.5)], Pen(0.4, colour)
        )
        head = Type(3.4, bold=True, colour=colour)
        self.canvas.text((body.left + 2.0, top - 4.4), "NOT FOR RELEASE", head)
        x = body.left + 5.0 + self.canvas.text_width("NOT FOR RELEASE", head)
        lines = wrapped(self.canvas, self.gauge.hold_back, SMALL, body.right - x - 1.0, 2)
        for k, words in enumerate(lines):
            self.canvas.text((x, top - (2.7 if len(lines) > 1 else 4.1) - 2.6 * k), words, SMALL)

    def _draw_map(self, body: Area) -> None:
        """Draw the sheets in small, this one filled, with their names."""
        rows, columns = self.plan.rows, self.plan.columns
        tall = self.window.height / self.window.width
        wide = min(_MAP_WIDTH / columns, _MAP_HEIGHT / (rows * tall))
        high = wide * tall
        left, top = body.right - wide * columns, body.top
        for tile in self.plan.tiles:
            x, y = left + tile.column * wide, top - (tile.row + 1) * high
            fill = HAIRLINE if tile is self.tile else None
            self.canvas.path([Contour.rectangle(x, y, wide, high)], THIN, fill)
            size = min(2.6, 0.45 * high, 0.4 * wide)
            self.canvas.text(
                (x + wide / 2.0, y + high / 2.0 - size * 0.36), tile.name, Type(size), Anchor.MIDDLE
            )


def _style(k: int) -> Type:
    """Return the lettering of a head's lines: the first one is what everybody must read."""
    return BODY_BOLD if k == 0 else SMALL
