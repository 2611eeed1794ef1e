"""Pages of tables, cards and paragraphs: broken into pages first, drawn afterwards."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from app.reports.content import ReportContent
from app.reports.drawing import Anchor, Canvas, Contour, Point, Type, line, wrapped
from app.reports.look import BODY, BODY_BOLD, COLOURS, HAIR, HEADING, LABEL, SMALL, THIN
from app.reports.page import Area, body, state_mark
from app.reports.tables import STATE, Card, Column, Row, Table
from geometry.readings.rules import State

Draw = Callable[[Canvas], None]

_LINE, _GUTTER, _HEAD = 3.4, 3.0, 8.0
_ROW_SPACE = 1.5
#: Between lines of a table's heads.
_HEAD_LINE = 2.9
_CARD_LABEL = 46.0
#: Height of a box to sign in.
_BOX = 27.0
#: Part of a page up to which a table is not broken.
_SMALL = 0.5


def table_pages(canvas: Canvas, content: ReportContent) -> list[Draw]:
    """Return the pages after the first, each as what draws it; `canvas` only measures text here."""
    area = body(content.paper)
    flow = Flow(canvas, area, partial(draw_head, content, area))
    for table in content.tables:
        flow.table(table)
    if content.faults:
        flow.paragraphs("Faults", content.faults)
    for card in (Card(f"Wheel {content.wheel}", content.facts), *content.cards):
        flow.card(card)
    if content.questions:
        flow.paragraphs("Open questions to you" if content.sign_off else "Open questions", content.questions)
    for title, texts in content.closing:
        flow.paragraphs(title, texts)
    if content.sign_off:
        flow.sign_off(content.sign_off)
    return flow.drawn()


def _draw_all(page: Sequence[Draw], canvas: Canvas) -> None:
    for draw in page:
        draw(canvas)


class Flow:
    """Takes blocks from top to bottom and starts a page where one does not fit.

    Args:
        canvas: measures text.
        area: of the page that may be filled.
        head: draws the head of every page, at the upper edge of the area.
    """

    def __init__(self, canvas: Canvas, area: Area, head: Draw) -> None:
        self.canvas, self.area, self.head = canvas, area, head
        self.pages: list[list[Draw]] = []
        self.y = self.area.bottom

    def drawn(self) -> list[Draw]:
        """Return the pages, each as what draws it."""
        return [partial(_draw_all, page) for page in self.pages]

    def _new_page(self) -> None:
        self.pages.append([self.head])
        self.y = self.area.top - _HEAD

    def _room(self, height: float) -> bool:
        """Start a page where `height` does not fit; return whether it did."""
        if self.pages and self.y - height >= self.area.bottom:
            return False
        self._new_page()
        return True

    def _add(self, draw: Draw) -> None:
        self.pages[-1].append(draw)

    def _text(self, at: Point, words: str, style: Type, anchor: Anchor = Anchor.LEFT) -> None:
        self._add(lambda canvas: canvas.text(at, words, style, anchor))

    def _wrapped(self, words: str, style: Type) -> list[str]:
        return wrapped(self.canvas, words, style, self.area.width)

    def _title(self, words: str) -> None:
        for k, text in enumerate(self._wrapped(words, HEADING)):
            self.y -= HEADING.size_mm + (1.2 if k else 0.0)
            self._text((self.area.left, self.y), text, HEADING)

    def table(self, table: Table) -> None:
        """Lay out a table; head and title come again on every page it reaches."""
        edges = _edges(table.columns, self.area)
        rows = [_Row(self.canvas, row, table.columns, edges) for row in table.rows]
        notes = 1.0 + _LINE * sum(len(self._wrapped(note, SMALL)) for note in table.notes)
        heads = [
            wrapped(self.canvas, c.head, SMALL, right - left + _GUTTER - 0.8) if table.rows else []
            for c, (left, right) in zip(table.columns, edges, strict=True)
        ]
        above = 11.5 + _HEAD_LINE * (max(map(len, heads), default=1) - 1)
        whole = above + sum(row.height for row in rows) + notes
        # A small table stays whole; in a large one the head stays with the first row, notes with the last.
        small = whole <= _SMALL * (self.area.height - _HEAD)
        self._room(whole if small or not rows else above + rows[0].height)
        self._table_head(table, edges, heads, "")
        for row in rows:
            if self._room(row.height + (notes if row is rows[-1] else 0.5)):
                self._table_head(table, edges, heads, ", continued")
            self._add(partial(row.draw, self.y))
            self.y -= row.height
        self.y -= 1.0
        self._lines(table.notes, SMALL)
        self.y -= 4.5

    def _table_head(
        self,
        table: Table,
        edges: Sequence[tuple[float, float]],
        heads: Sequence[Sequence[str]],
        more: str,
    ) -> None:
        self._title(table.title + more)
        if not table.rows:
            self.y -= 2.0
            return
        self.y -= 4.6 + _HEAD_LINE * (max(map(len, heads)) - 1)
        for column, (left, right), lines in zip(table.columns, edges, heads, strict=True):
            x, anchor = (right, Anchor.RIGHT) if column.number else (left, Anchor.LEFT)
            for k, words in enumerate(reversed(lines)):
                self._text((x, self.y + _HEAD_LINE * k), words, SMALL, anchor)
        self.y -= 1.2
        y = self.y
        self._add(lambda canvas: line(canvas, (self.area.left, y), (self.area.right, y), THIN))

    def _lines(self, texts: Sequence[str], style: Type) -> None:
        for text in texts:
            for words in self._wrapped(text, style):
                self._room(_LINE)
                self.y -= _LINE
                self._text((self.area.left, self.y), words, style)

    def paragraphs(self, title: str, texts: Sequence[str]) -> None:
        """Lay out a title with lines below it."""
        # A short list stays whole; a long one keeps two lines with its title.
        count = sum(len(self._wrapped(text, BODY)) for text in texts)
        whole = HEADING.size_mm + 1.5 + _LINE * count
        small = whole <= _SMALL * (self.area.height - _HEAD)
        self._room(whole if small else HEADING.size_mm + 1.5 + 2 * _LINE)
        self._title(title)
        self.y -= 1.0
        self._lines(texts, BODY)
        self.y -= 4.5

    def sign_off(self, who: Sequence[str]) -> None:
        """Lay out a box for each who signs, side by side."""
        self._room(HEADING.size_mm + 3.0 + _BOX)
        self._title("Sign-off")
        top = self.y - 3.0
        width = (self.area.width - _GUTTER * (len(who) - 1)) / len(who)
        for k, name in enumerate(who):
            left = self.area.left + k * (width + _GUTTER)
            self._add(partial(_draw_box, name, left, top, width))
        self.y = top - _BOX - 4.5

    def card(self, card: Card) -> None:
        """Lay out a card: labels in one column, texts in the other."""
        width = self.area.width - _CARD_LABEL
        texts = [(label, wrapped(self.canvas, words, BODY, width)) for label, words in card.lines]
        whole = HEADING.size_mm + 2.0 + sum(_LINE * len(lines) + 0.4 for _, lines in texts)
        self._room(min(whole, self.area.height - _HEAD))
        self._title(card.title)
        self.y -= 1.2
        for label, lines in texts:
            self._room(_LINE)
            self._text((self.area.left, self.y - _LINE), label, LABEL)
            for words in lines:
                self._room(_LINE)
                self.y -= _LINE
                self._text((self.area.left + _CARD_LABEL, self.y), words, BODY)
            self.y -= 0.4
        self.y -= 4.5


def _draw_box(who: str, left: float, top: float, width: float, canvas: Canvas) -> None:
    """Draw a box to sign in: who, then lines for name, date and signature."""
    canvas.path([Contour.rectangle(left, top - _BOX, width, _BOX)], THIN)
    (name,) = wrapped(canvas, who, BODY_BOLD, width - 4.0, 1)
    canvas.text((left + 2.0, top - 4.2), name, BODY_BOLD)
    for k, words in enumerate(("Name", "Date", "Signature")):
        y = top - 10.5 - 6.5 * k
        canvas.text((left + 2.0, y), words, LABEL)
        line(canvas, (left + 18.0, y - 0.6), (left + width - 2.0, y - 0.6), HAIR)


def _edges(columns: Sequence[Column], area: Area) -> list[tuple[float, float]]:
    """Return left and right edge of each column's text."""
    unit = (area.width - _GUTTER * (len(columns) - 1)) / sum(c.share for c in columns)
    found, x = [], area.left
    for column in columns:
        found.append((x, x + column.share * unit))
        x += column.share * unit + _GUTTER
    return found


class _Row:
    """A table's row with its texts wrapped to the columns."""

    def __init__(
        self, canvas: Canvas, row: Row, columns: Sequence[Column], edges: Sequence[tuple[float, float]]
    ) -> None:
        self.state = row.state
        self.cells: list[tuple[list[str], Column, tuple[float, float]]] = []
        texts = iter(row.cells)
        for column, edge in zip(columns, edges, strict=True):
            words = [] if column is STATE else wrapped(canvas, next(texts), BODY, edge[1] - edge[0])
            self.cells.append((words, column, edge))
        most = max((len(words) for words, _, _ in self.cells), default=1)
        self.height = _LINE * max(most, 1) + _ROW_SPACE

    def draw(self, top: float, canvas: Canvas) -> None:
        """Draw the row with its upper edge at `top`."""
        y = top - _LINE
        for words, column, (left, right) in self.cells:
            if column is STATE:
                if self.state is not None:
                    state_mark(canvas, (left, y), self.state, BODY.size_mm)
                continue
            for k, text in enumerate(words):
                at, anchor = ((right, 0.0), Anchor.RIGHT) if column.number else ((left, 0.0), Anchor.LEFT)
                canvas.text((at[0], y - _LINE * k), text, BODY, anchor)
        left, right = self.cells[0][2][0], self.cells[-1][2][1]
        line(canvas, (left, top - self.height + 0.2), (right, top - self.height + 0.2), HAIR)


def draw_head(content: ReportContent, area: Area, canvas: Canvas) -> None:
    """Draw the head of a page of tables: which wheel, how it stands, and whether it is held back."""
    y = area.top - HEADING.size_mm
    (name,) = wrapped(canvas, content.wheel, HEADING, area.width - 100.0, 1)
    canvas.text((area.left, y), name, HEADING)
    x = area.left + canvas.text_width(name, HEADING) + 4.0
    what = f"{content.size}, {content.side}" if content.side else content.size
    canvas.text((x, y), f"{what} · all lengths in {'inch' if content.unit == 'in' else content.unit}", BODY)
    if content.hold_back:
        style = Type(BODY_BOLD.size_mm + 0.6, True, COLOURS[State.SHORT])
        canvas.text((area.right, y), "NOT FOR RELEASE", style, Anchor.RIGHT)
    line(canvas, (area.left, y - 1.8), (area.right, y - 1.8), HAIR)
