"""The section sheet on paper: drawing, notes, revision block and title block; what has no room goes on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.reports.callouts import Callout
from app.reports.drawing import Anchor, Canvas, Contour, Frame, Pen, Type, hatch, line, wrapped
from app.reports.figure import Figure
from app.reports.look import EXTENSION, INK, OUTLINE, QUIET, THIN
from app.reports.page import PAPERS, Area, body, draw_foot, stamp
from app.reports.pdf import About, PdfCanvas, identity_of
from app.reports.section_sheet import ISO_5455, Issue, SheetContent
from app.reports.sheet import draw_bars, draw_figure, lay_out
from app.reports.sheet_figure import NOT_STATED

#: Thin long-dashed double-dotted line for what is not of the part itself: ISO 128, from memory.
_PHANTOM = Pen(0.18, QUIET, (6.0, 1.0, 0.6, 1.0, 0.6, 1.0))
_NOTE, _NOTE_HEAD = Type(2.3, colour=INK), Type(2.3, bold=True, colour=INK)
_SMALL_LABEL = Type(1.8, colour=QUIET)
_LINE, _HEAD = 2.95, 3.4
_COLUMN, _NARROW_COLUMN = 104.0, 52.0
_PAD, _GUTTER = 1.5, 3.0
_CELL, _ISSUE_ROW = 7.2, 3.4
_MOST_ISSUES = 5
#: What a cell keeps free of its width.
_CELL_PAD = 1.6
_ISSUE_TYPE, _ISSUE_SHARES = Type(2.0, colour=INK), (0.1, 0.22, 0.36, 0.32)


@dataclass(frozen=True)
class _Line:
    """A line of the notes; a head stays with the line below it."""

    words: str
    is_head: bool

    @property
    def height(self) -> float:
        return _HEAD if self.is_head else _LINE


def write_sheet(content: SheetContent, *, input_sha256: str, version: str | None = None) -> bytes:
    """Return the section sheet as the bytes of a PDF; the same content gives the same bytes.

    Args:
        content: what it says.
        input_sha256: digest of what it rests on, as 64 hex digits.
        version: of the program; None for the installed one.
    """
    identity = identity_of(input_sha256, version)
    issue = content.issue
    said = "not released" if issue is None else f"revision {issue.revision} of {issue.on}"
    about = About(
        f"Section sheet: {content.identification} ({content.project}), {said}",
        content.owner if content.owner != NOT_STATED else "",
        f"{content.size}, {said}, input sha256 {input_sha256}",
    )
    canvas = PdfCanvas(PAPERS[content.paper], about, identity)
    sheet = _Sheet(canvas, content)
    pages = sheet.pages()
    for number, (areas, lines) in enumerate(pages, start=1):
        canvas.begin_page()
        sheet.draw(number, len(pages), areas, lines)
        parts = [content.project, f"section sheet {content.identification}", said]
        draw_foot(canvas, body(content.paper), parts, identity, f"sheet {number} of {len(pages)}")
        canvas.end_page()
    return canvas.finished()


class _Sheet:
    """One sheet's layout: the drawing on the first page, notes in a column, the blocks in its corner."""

    def __init__(self, canvas: Canvas, content: SheetContent) -> None:
        self.canvas, self.content = canvas, content
        self.area = body(content.paper)
        self.width = _COLUMN if self.area.width > 350.0 else _NARROW_COLUMN
        self.inside = Area(
            self.area.left + _PAD, self.area.bottom + _PAD, self.area.right - _PAD, self.area.top - _PAD
        )
        self.column = Area(
            self.inside.right - self.width, self.area.bottom, self.inside.right, self.inside.top
        )
        left = Area(self.inside.left, self.inside.bottom, self.column.left - _GUTTER, self.inside.top)
        self.layout = lay_out(content.figure, left, ISO_5455)
        self.scale = f"1 : {self.layout.frame.scale:g}"
        self.left_out = self._draw_drawing(_Nothing(canvas))

    def pages(self) -> list[tuple[list[Area], list[list[_Line]]]]:
        """Return the columns of each page with their lines; the first page has one column."""
        waiting = self._lines()
        pages: list[tuple[list[Area], list[list[_Line]]]] = []
        while waiting or not pages:
            areas = self._columns(first=not pages)
            pages.append((areas, [_taken(waiting, area.height) for area in areas]))
        return pages

    def _columns(self, first: bool) -> list[Area]:
        """Return where notes stand: above the blocks, and on further pages in columns beside them too."""
        top = self.column.top - (self._stamp_height() if self.content.issue is None else 0.0)
        last = Area(self.column.left, self._blocks_top() + 2.0, self.column.right, top)
        if first:
            return [last]
        step = self.width + _GUTTER
        count = int((self.column.left - self.inside.left) / step)
        before = [self.inside.left + step * k for k in range(count)]
        areas = [Area(x, self.inside.bottom, x + self.width, self.column.top) for x in before]
        return [*areas, last]

    def _lines(self) -> list[_Line]:
        """Return all notes as lines, what keeps the sheet from release first."""
        content = self.content
        blocks = list(content.notes)
        if content.issue is None and content.hindrances:
            blocks.insert(0, ("What keeps it from release", content.hindrances))
        cut = self._cut_short()
        if cut:
            blocks.append(("In full, where the blocks have no room", tuple(cut)))
        if self.left_out:
            words = "; ".join(f"{c.name} {c.number}".strip() for c in self.left_out)
            blocks.append(("No room on the drawing", (f"{words}.",)))
        lines: list[_Line] = []
        for title, texts in blocks:
            lines.append(_Line(title, True))
            for text in texts:
                lines += [_Line(words, False) for words in wrapped(self.canvas, text, _NOTE, self.width)]
        return lines

    def draw(self, number: int, count: int, areas: Sequence[Area], lines: Sequence[Sequence[_Line]]) -> None:
        """Draw a page but for its foot."""
        area = self.area
        self.canvas.path([Contour.rectangle(area.left, area.bottom, area.width, area.height)], OUTLINE)
        if number == 1:
            self._draw_drawing(self.canvas)
            draw_bars(self.canvas, self.layout)
        x = self.column.left - _GUTTER / 2.0
        line(self.canvas, (x, area.bottom), (x, area.top), THIN)
        if self.content.issue is None:
            stamp(
                self.canvas,
                "NOT RELEASED",
                self._stamp_words(),
                self.column.left,
                self.column.top,
                self.width,
            )
        for column, words in zip(areas, lines, strict=True):
            y = column.top
            for row in words:
                y -= row.height
                self.canvas.text((column.left, y + 0.6), row.words, _NOTE_HEAD if row.is_head else _NOTE)
        self._draw_title(number, count)
        self._draw_issues()

    def _stamp_words(self) -> list[str]:
        said = f"Draft; a release would be revision {self.content.next_revision}."
        count = len(self.content.hindrances)
        if not count:
            return [said]
        things = "One thing keeps" if count == 1 else f"{count} things keep"
        return [said, f"{things} it from release: see the notes."]

    def _stamp_height(self) -> float:
        style = Type(2.3)
        lines = [w for t in self._stamp_words() for w in wrapped(self.canvas, t, style, self.width - 5.0)]
        return 8.4 + 3.1 * len(lines) + 2.0

    def _cut_short(self) -> list[str]:
        """Return in full what title and revision block cut short or leave out."""
        width, found = self.area.right - self.column.left + _GUTTER / 2.0, []
        for row in self._rows(1, 1):
            for label, words, share in row:
                room = share * width - _CELL_PAD
                if self.canvas.text_width(words, _fitting(self.canvas, words, room)) > room:
                    found.append(f"{label}: {words}.")
        rows = self._issue_rows()
        hidden = len(self.content.issues) > len(self._shown_issues())
        if hidden or any(
            self.canvas.text_width(words, _ISSUE_TYPE) > share * width - _CELL_PAD
            for row in rows
            for words, share in zip(row, _ISSUE_SHARES, strict=True)
        ):
            found += [
                f"Revision {i.revision} of {i.on}, drawn by {i.drawn_by}, checked by {i.checked_by}: "
                f"{i.change}."
                for i in reversed(self.content.issues)
            ]
        return found

    # The drawing

    def _draw_drawing(self, canvas: Canvas) -> list[Callout]:
        return draw_figure(canvas, self.content.figure, self.layout, _draw_cut)

    # Title block (fields as in ISO 7200, from memory) and revision block

    def _rows(self, number: int, count: int) -> list[list[tuple[str, str, float]]]:
        """Return the title block's cells from the bottom up: label, words, share of the width."""
        content, issue = self.content, self.content.issue
        return [
            [
                ("Identification number", content.identification, 0.5),
                ("Rev.", "-" if issue is None else issue.revision, 0.14),
                ("Sheet", f"{number} / {count}", 0.14),
                ("Size", content.paper, 0.22),
            ],
            [
                ("Document type", "section sheet", 0.5),
                ("Status", "NOT RELEASED" if issue is None else "released", 0.5),
            ],
            [
                ("Date of issue", NOT_STATED if issue is None else issue.on, 0.36),
                ("Scale", self.scale, 0.24),
                ("Lengths in", content.unit, 0.2),
                ("Projection", "", 0.2),
            ],
            [
                ("Drawn by", NOT_STATED if issue is None else issue.drawn_by, 0.5),
                ("Checked by", NOT_STATED if issue is None else issue.checked_by, 0.5),
            ],
            [("Load rating", content.load, 0.5), ("Mass, drawn part", content.mass, 0.5)],
            [("Material", content.material, 0.5), ("State", str(content.state), 0.5)],
            [("Title", f"{content.identification}: half-section", 1.0)],
            [("Supplementary title", content.size, 1.0)],
            [("Legal owner", content.owner, 1.0)],
        ]

    def _draw_title(self, number: int, count: int) -> None:
        left, y = self.column.left - _GUTTER / 2.0, self.area.bottom
        width = self.area.right - left
        for row in self._rows(number, count):
            x = left
            for label, words, share in row:
                self._cell(Area(x, y, x + share * width, y + _CELL), label, words)
                x += share * width
            y += _CELL
        line(self.canvas, (left, y), (left + width, y), OUTLINE)

    def _cell(self, box: Area, label: str, words: str) -> None:
        canvas = self.canvas
        canvas.path([Contour.rectangle(box.left, box.bottom, box.width, box.height)], THIN)
        canvas.text((box.left + 0.8, box.top - 2.2), label, _SMALL_LABEL)
        if label == "Projection":
            _draw_projection(canvas, box, self.content.third_angle)
            return
        style = _fitting(canvas, words, box.width - _CELL_PAD)
        (text,) = wrapped(canvas, words, style, box.width - _CELL_PAD, 1)
        canvas.text((box.left + 0.8, box.bottom + 1.5), text, style)

    def _shown_issues(self) -> Sequence[Issue]:
        return self.content.issues[-_MOST_ISSUES:]

    def _title_top(self) -> float:
        return self.area.bottom + _CELL * len(self._rows(1, 1))

    def _blocks_top(self) -> float:
        return self._title_top() + _ISSUE_ROW * (1 + max(1, len(self._shown_issues()))) + 1.0

    def _issue_rows(self) -> list[tuple[str, str, str, str]]:
        return [
            (issue.revision, issue.on, f"{issue.drawn_by} / {issue.checked_by}", issue.change)
            for issue in self._shown_issues()
        ]

    def _draw_issues(self) -> None:
        """Draw the revision block, the newest revision on top; what it does not hold stands in the notes."""
        canvas, left = self.canvas, self.column.left - _GUTTER / 2.0
        width = self.area.right - left
        y = self._title_top() + 1.0
        rows = [("Rev", "Date", "Drawn / checked", "Change"), *self._issue_rows()]
        if len(rows) == 1:
            rows.append(("-", "", "never released", ""))
        for k, row in enumerate(rows):
            x = left
            for words, share in zip(row, _ISSUE_SHARES, strict=True):
                style = replace(_ISSUE_TYPE, colour=QUIET if k == 0 else INK)
                (text,) = wrapped(canvas, words, style, share * width - _CELL_PAD, 1)
                canvas.text((x + 0.8, y + 0.5), text, style)
                x += share * width
            y += _ISSUE_ROW
            line(canvas, (left, y - 0.6), (left + width, y - 0.6), THIN)


def _taken(waiting: list[_Line], height: float) -> list[_Line]:
    """Take lines off the front as far as a column holds them; a head is not parted from what follows."""
    taken: list[_Line] = []
    room = height
    while waiting:
        need = waiting[0].height
        if waiting[0].is_head and len(waiting) > 1:
            need += waiting[1].height
        if need > room and (taken or height < need):
            break
        room -= waiting[0].height
        taken.append(waiting.pop(0))
    return taken


def _draw_cut(canvas: Canvas, figure: Figure, frame: Frame) -> None:
    """Draw the blank as a thin line, and the wheel as cut metal."""
    if figure.blank is not None:
        canvas.path([frame.contour(figure.blank)], _PHANTOM)
    if figure.outline is not None:
        outline = frame.contour(figure.outline)
        hatch(canvas, [outline], EXTENSION, 2.5)
        canvas.path([outline], OUTLINE)
    for ring in figure.rings:
        canvas.path([frame.contour(ring)], THIN)


def _fitting(canvas: Canvas, words: str, width: float) -> Type:
    """Return the largest lettering in which words fit, down to the smallest that can be read."""
    for size in (2.8, 2.5, 2.2, 2.0):
        style = Type(size, bold=True, colour=INK)
        if canvas.text_width(words, style) <= width:
            break
    return style


def _draw_projection(canvas: Canvas, box: Area, third_angle: bool) -> None:
    """Draw the projection symbol of ISO 5456-2, from memory: a cut cone beside its view along the axis.

    In first angle the circles stand on the side of the cone's large end, in third angle on that of the small.
    """
    y, r = box.bottom + 2.6, 1.5
    x = (box.left + box.right) / 2.0
    cone, rings = (x + 2.6, x - 2.6) if third_angle else (x - 2.6, x + 2.6)
    half = 1.8
    # The small end looks to the left.
    ends = [(cone - half, y - r / 2), (cone + half, y - r), (cone + half, y + r), (cone - half, y + r / 2)]
    canvas.path([Contour.polyline(ends, closed=True)], THIN)
    canvas.path([Contour.circle((rings, y), r)], THIN)
    canvas.path([Contour.circle((rings, y), r / 2)], THIN)


class _Nothing:
    """A canvas that measures and draws nothing: what has no room is known before the pages are counted."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas

    def path(self, contours: Sequence[Contour], pen: Pen | None, fill: str | None = None) -> None:
        """Draw nothing."""

    def text(
        self,
        at: tuple[float, float],
        words: str,
        style: Type,
        anchor: Anchor = Anchor.LEFT,
        turned: bool = False,
    ) -> None:
        """Write nothing."""

    def text_width(self, words: str, style: Type) -> float:
        """Return the width of the words, mm."""
        return self._canvas.text_width(words, style)
