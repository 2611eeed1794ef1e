"""The page on which the limits of a blank stand whole: map, deciding zones, windows of inset, headroom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.drawing import Anchor, Canvas, Contour, Pen, Type, fitting, line, wrapped
from app.reports.limits_words import alone_words, held_seat_words, mass_words, money_words, relied_words
from app.reports.look import BODY, BODY_BOLD, COLOURS, FIRST_LINE, HAIR, INK, SMALL
from app.reports.numbers import Numbers, unit_of
from app.reports.page import Area
from app.reports.sentences import SIGNS
from app.reports.variant_words import variant_head
from app.studies.blank_variant import VariantCheck
from app.studies.extremes import Extreme, extreme_words
from app.studies.limits import Cell, Limits, WidthRow
from app.studies.limits_against import Against
from geometry.readings.rules import State
from geometry.shape.outline import Grade

#: Widths of the columns beside the cells: of width codes, of windows, mm.
_LEFT, _WINDOWS, _GAP = 13.0, 54.0, 3.0
_LINE, _FOOT_LINE = 3.1, 3.3
_MOST_ROW, _LEAST_ROW, _LEAST_CELL = 11.5, 3.3, 3.6
#: A deciding zone stands in its cell in words where a cell is at least so wide and high, mm.
_WORDS_WIDE, _WORDS_HIGH = 13.3, 7.6
_LEAST_TYPE, _MOST_TYPE = 1.5, 2.5
_NOT_DRAWN, _CANNOT = "–", "cannot be drawn"
_STOCK_ONLY = "Stock in the blank alone counts: gaps to brakes, walls and hub fit are not judged here."


@dataclass(frozen=True)
class LimitsSaid:
    """What stands on the page.

    Attributes:
        maps: of the first blank, and of the second where there is one.
        still: what the drawn wheel can still have in the first blank.
        held: the second blank against the first.
        variants: what the tools of a variant say.
    """

    project: Project
    maps: tuple[Limits, ...]
    still: tuple[Extreme, ...]
    held: Against | None
    variants: tuple[VariantCheck, ...]


def draw_title(title: str, area: Area, canvas: Canvas) -> None:
    """Draw the first line of a page with the rule under it."""
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)


def draw_limits(said: LimitsSaid, title: str, area: Area, canvas: Canvas) -> None:
    """Draw the page: head, map or maps with the windows beside them, and under them what decides."""
    draw_title(title, area, canvas)
    numbers = Numbers(unit_of(said.project))
    foot = _foot_lines(said, numbers, area, canvas)
    bottom = area.bottom + _FOOT_LINE * len(foot) + 1.0
    y = area.top - 6.2
    for text in _head(said, numbers):
        for words in wrapped(canvas, text, SMALL, area.width):
            y -= 2.9
            canvas.text((area.left, y), words, SMALL)
    letters = zone_letters(said.maps)
    y = _legend(canvas, said, area, y - 1.2)
    each = (y - bottom) / len(said.maps)
    for k, found in enumerate(said.maps):
        top = y - k * each
        box = Area(area.left, top - each + 1.5, area.right, top)
        _Map(said, found, letters, numbers, box, canvas).draw()
    y = bottom - 1.0
    for words, style in foot:
        y -= _FOOT_LINE
        canvas.text((area.left, y), words, style)


def _head(said: LimitsSaid, numbers: Numbers) -> list[str]:
    first = said.maps[0]
    kept = "each cell slid to its greatest least spare stock"
    if first.datum_mm is not None:
        places = ", ".join(f"{m.blank} at z {numbers.length(m.datum_mm)}" for m in said.maps)
        kept = f"machining datum kept: {places} from the mounting face"
    masses = ", ".join(f"{found.blank} {numbers.mass(found.blank_kg)}" for found in said.maps)
    unit = "inches" if numbers.unit == "in" else numbers.unit
    relied = " ".join(relied_words(said.project, found.blank) for found in said.maps)
    lines = [
        f"{masses}; {kept}; spare stock in {unit}, insets in mm. {relied} {_STOCK_ONLY}",
        *(f"{variant_head(found)}." for found in said.variants),
    ]
    if said.held is not None:
        words = [read(said.project, said.held) for read in (mass_words, money_words, held_seat_words)]
        lines.append(f"{'; '.join(words)}; {alone_words(said.held)}.")
    return lines


def _legend(canvas: Canvas, said: LimitsSaid, area: Area, top: float) -> float:
    """Write each sign with its word and how many cells have it; return the lower edge."""
    cells = [cell for found in said.maps for cell in found.cells]
    x, y = area.left, top - 2.9
    for state, words in (
        (State.CLEAR, "cuttable"),
        (State.TIGHT, "tight, can be cut"),
        (State.SHORT, "not"),
        (State.NOT_KNOWN, "not known"),
        (None, "cannot be drawn"),
    ):
        count = sum(cell.state is state for cell in cells)
        style = BODY_BOLD if state is None else Type(2.5, True, COLOURS[state])
        text = f"{_NOT_DRAWN if state is None else SIGNS[state]} {words}: {count}"
        canvas.text((x, y), text, style)
        x += canvas.text_width(text, style) + 5.0
    canvas.text((x, y), "framed: the wheel as drawn, or the cell next to it", BODY)
    return y - 1.5


def zone_letters(maps: Sequence[Limits]) -> dict[str, str]:
    """Return a letter for each side that decides, the most frequent first."""
    counts: dict[str, int] = {}
    for found in maps:
        for cell in found.cells:
            if cell.state is not None:
                counts[cell.decides] = counts.get(cell.decides, 0) + 1
    often = sorted(counts, key=lambda words: (-counts[words], words))
    names = [*ascii_lowercase, *(a + b for a in ascii_lowercase for b in ascii_lowercase)]
    return dict(zip(often, names, strict=False))


def _foot_lines(said: LimitsSaid, numbers: Numbers, area: Area, canvas: Canvas) -> list[tuple[str, Type]]:
    """Return the lines under the maps: what decides, and what can still be had."""
    least: dict[str, float] = {}
    counts: dict[str, int] = {}
    for cell in (cell for found in said.maps for cell in found.cells):
        if cell.state is not None and cell.spare_mm is not None:
            words = cell.decides
            counts[words] = counts.get(words, 0) + 1
            least[words] = min(least.get(words, cell.spare_mm), cell.spare_mm)
    letters = zone_letters(said.maps)
    parts = [
        f"{letters[words]} {words}: {n} cell{'s' * (n != 1)}, least {numbers.length(least[words])}"
        for words, n in sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    ]
    rows = [("What decides, with the least spare stock", BODY_BOLD)]
    rows += [(words, BODY) for words in wrapped(canvas, "; ".join(parts) + ".", BODY, area.width)]
    windows = [w for found in said.maps for row in found.rows for w in row.windows]
    if not all(w.closed_low_by and w.closed_high_by for w in windows):
        rows.append(("'or less', 'or more': the window goes on at the end of the insets asked for.", BODY))
    title = f"Headroom: what the drawn wheel can still have in {said.maps[0].blank}, where it sits"
    rows.append((title, BODY_BOLD))
    for extreme in said.still:
        texts = wrapped(canvas, f"{extreme_words(extreme, numbers).rstrip('.')}.", BODY, area.width)
        rows += [(words, BODY) for words in texts]
    return rows


@dataclass(frozen=True)
class _Map:
    """One map on a page: widths down, insets across, the windows beside them."""

    said: LimitsSaid
    found: Limits
    letters: dict[str, str]
    numbers: Numbers
    area: Area
    canvas: Canvas

    def draw(self) -> None:
        """Draw heads, cells and windows."""
        canvas, area, found = self.canvas, self.area, self.found
        top = area.top - 4.4
        if len(self.said.maps) > 1:
            canvas.text((area.left, top + 0.6), found.blank, BODY_BOLD)
            top -= 3.6
        room = area.width - _LEFT - _WINDOWS - _GAP
        # What is too small to read is not drawn: every second one then, or every third.
        across = _every(len(found.insets), room, _LEAST_CELL)
        down = _every(len(found.rows), top - area.bottom - 2.0, _LEAST_ROW)
        rows, columns = found.rows[::down], range(0, len(found.insets), across)
        if not rows:
            return
        wide = room / max(len(columns), 1)
        high = min((top - area.bottom - 2.0) / len(rows), _MOST_ROW)
        head = SMALL if wide >= 5.0 else Type(1.5, colour=SMALL.colour)
        canvas.text((area.left, top), "width", fitting(canvas, "width", SMALL, _LEFT - 5.5, 0.6))
        canvas.text((area.left + _LEFT - 1.5, top), "ET", SMALL, Anchor.RIGHT)
        for k, column in enumerate(columns):
            at = (area.left + _LEFT + (k + 0.5) * wide, top)
            canvas.text(at, f"{found.insets[column]:g}", head, Anchor.MIDDLE)
        canvas.text((area.right - _WINDOWS, top), self._windows_head(across, down), SMALL)
        top -= 1.4
        style = self._style(rows, wide, high)
        now = self._now(rows, columns)
        for i, row in enumerate(rows):
            y = top - (i + 1) * high
            canvas.text((area.left, y + high / 2.0 - 0.9), f"{row.width_code:g}", BODY)
            for k, column in enumerate(columns):
                x = area.left + _LEFT + k * wide
                self._cell(row.cells[column], Area(x, y, x + wide, y + high), style, (i, k) == now)
            self._window(row, Area(area.right - _WINDOWS, y, area.right, y + high))

    def _windows_head(self, across: int, down: int) -> str:
        left_out = [f"every {n}. {what}" for n, what in ((across, "inset"), (down, "width")) if n > 1]
        shown = f" (map: {', '.join(left_out)})" if left_out else ""
        return f"insets that can be cut, mm{shown}"

    def _now(self, rows: Sequence[WidthRow], columns: range) -> tuple[int, int] | None:
        """Return row and column next to the wheel as drawn; None where it lies outside the map."""
        wheel: Wheel = edits.find(self.said.project, edits.WHEEL, self.found.wheel)
        widths, insets = [row.width_code for row in rows], [self.found.insets[k] for k in columns]
        code, inset = wheel.size.width_code, wheel.inset_mm
        if not (widths[0] <= code <= widths[-1] and insets[0] <= inset <= insets[-1]):
            return None
        return (
            min(range(len(widths)), key=lambda k: abs(widths[k] - code)),
            min(range(len(insets)), key=lambda k: abs(insets[k] - inset)),
        )

    def _style(self, rows: Sequence[WidthRow], wide: float, high: float) -> tuple[float, bool]:
        """Return the size of the cells' type, 0 for sign and letter alone, and whether numbers are short."""
        lines = 3.4 if self._has_words(wide, high) else 2.5
        for is_short in (False, True):
            texts = [self._number(cell, is_short) for row in rows for cell in row.cells]
            most = max((self.canvas.text_width(text, Type(1.0, True)) for text in texts), default=1.0)
            size = min(_MOST_TYPE, high / lines, (wide - 1.0) / most)
            if size >= _LEAST_TYPE:
                return size, is_short
        return 0.0, True

    @staticmethod
    def _has_words(wide: float, high: float) -> bool:
        return wide >= _WORDS_WIDE and high >= _WORDS_HIGH

    def _number(self, cell: Cell, is_short: bool) -> str:
        if cell.state is None:
            return _NOT_DRAWN
        grade = Grade.SCAN if is_short else Grade.DRAWING
        space = "" if is_short else " "
        return f"{SIGNS[cell.state]}{space}{self.numbers.length(cell.spare_mm, grade)}"

    def _cell(self, cell: Cell, box: Area, style: tuple[float, bool], is_now: bool) -> None:
        canvas, (size, is_short) = self.canvas, style
        edge = Contour.rectangle(box.left, box.bottom, box.width, box.height)
        canvas.path([edge], Pen(0.1, "#B9B7B0"), None if cell.is_cuttable else "#F1EFEA")
        if is_now:
            inner = Contour.rectangle(box.left + 0.25, box.bottom + 0.25, box.width - 0.5, box.height - 0.5)
            canvas.path([inner], Pen(0.5, INK))
        colour = INK if cell.state is None else COLOURS[cell.state]
        letter = self.letters.get(cell.decides, "")
        left = box.left + 0.7
        if not size:
            sign = _NOT_DRAWN if cell.state is None else SIGNS[cell.state]
            small = min(1.9, box.height / 1.6, 0.42 * box.width)
            canvas.text((left, box.bottom + 0.3 * box.height), f"{sign}{letter}", Type(small, True, colour))
            return
        canvas.text((left, box.top - 1.15 * size), self._number(cell, is_short), Type(size, True, colour))
        under = Type(0.8 * size, colour=INK)
        texts = [letter]
        if self._has_words(box.width, box.height):
            texts = wrapped(canvas, "" if cell.state is None else cell.decides, under, box.width - 1.2, 2)
        for k, words in enumerate(texts):
            canvas.text((left, box.top - (2.15 + 0.95 * k) * size), words, under)

    def _window(self, row: WidthRow, box: Area) -> None:
        """Write the windows of a width beside its cells, with what closes either end."""
        style = BODY if box.height >= 3.6 else SMALL
        most = max(int((box.height - 0.4) / _LINE), 1)
        full, short = (self._windows_words(row, letters) for letters in (False, True))
        texts = wrapped(self.canvas, full, style, box.width)
        if len(texts) > most:
            texts = wrapped(self.canvas, short, style, box.width, most)
        y = (box.bottom + box.top) / 2.0 + _LINE * len(texts) / 2.0
        for words in texts:
            y -= _LINE
            self.canvas.text((box.left, y + 0.7), words, style)

    def _windows_words(self, row: WidthRow, in_letters: bool) -> str:
        def end(by: str, way: str) -> str:
            if not by:
                return f" or {way}"
            if by.startswith(_CANNOT):
                return f" ({_CANNOT})"
            return f" ({self.letters.get(by, by) if in_letters else by})"

        said = [
            f"{w.low:.1f}{end(w.closed_low_by, 'less')} to {w.high:.1f}{end(w.closed_high_by, 'more')}"
            for w in row.windows
        ]
        if said:
            return "; ".join(said)
        judged = [cell for cell in row.cells if cell.spare_mm is not None]
        if not judged:
            return "none"
        best = max(judged, key=lambda cell: cell.spare_mm or 0.0)
        word = "not known" if best.state is State.NOT_KNOWN else "none"
        return f"{word}; most to spare {self.numbers.length(best.spare_mm)} at ET {best.inset_mm:g}"


def _every(count: int, room: float, least: float) -> int:
    """Return 1 where all of a row find room, else every how many of them do."""
    most = max(int(room / least), 1)
    return -(-count // most) if count else 1
