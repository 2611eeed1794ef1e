"""A sheet of paper and what stands on every page: caution, identity, and the stamp of a held-back report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.project.caution import CAUTION
from app.reports.content import ReportContent
from app.reports.drawing import Anchor, Canvas, Contour, Pen, Point, Type, line, wrapped
from app.reports.look import COLOURS, DASHES, HAIR, INK, SMALL, state_colour
from app.reports.sentences import SIGNS
from geometry.readings.rules import State

#: Width and height in mm, long side across.
PAPERS = {
    "A4": (297.0, 210.0),
    "Letter": (279.4, 215.9),
    "A3": (420.0, 297.0),
    "Tabloid": (431.8, 279.4),
}
MARGIN = 10.0

#: Height of the foot of every page: a hairline, the caution, and two lines of identity.
FOOT = 12.5


@dataclass(frozen=True)
class Identity:
    """What ties the paper to its input.

    Attributes:
        input_sha256: digest of what the paper rests on: the wheel and what it names.
        version: of the program.
    """

    input_sha256: str
    version: str


@dataclass(frozen=True)
class Area:
    """A rectangle on paper by its edges, mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Width in mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height in mm."""
        return self.top - self.bottom


def body(paper: str) -> Area:
    """Return the area between the margins and above the foot."""
    width, height = PAPERS[paper]
    return Area(MARGIN, MARGIN + FOOT, width - MARGIN, height - MARGIN)


def foot(canvas: Canvas, content: ReportContent, identity: Identity, number: int, count: int) -> None:
    """Draw what stands below every page."""
    parts = [content.project, content.revision, *([content.author] if content.author else [])]
    draw_foot(canvas, body(content.paper), parts, identity, f"page {number} of {count}")


def draw_foot(canvas: Canvas, area: Area, parts: Sequence[str], identity: Identity, page: str) -> None:
    """Draw caution, parts of the identity and the page's name below an area."""
    y = area.bottom - 2.0
    line(canvas, (area.left, y), (area.right, y), HAIR)
    caution = Type(2.3, bold=True, colour=INK)
    for words in wrapped(canvas, CAUTION, caution, area.width):
        y -= 3.2
        canvas.text((area.left, y), words, caution)
    room = area.width - canvas.text_width(page, SMALL) - 4.0
    (words,) = wrapped(canvas, " · ".join(parts), SMALL, room, 1)
    y -= 3.3
    canvas.text((area.left, y), words, SMALL)
    canvas.text((area.right, y), page, SMALL, Anchor.RIGHT)
    digest = f"Blankwright {identity.version} · sha256 of the input {identity.input_sha256}"
    canvas.text((area.left, y - 3.1), digest, SMALL)


def stamp(canvas: Canvas, words: str, reasons: Sequence[str], left: float, top: float, width: float) -> float:
    """Draw the mark of a paper that is held back, with the reasons; return its lower edge."""
    colour = COLOURS[State.SHORT]
    head, reason = Type(4.0, bold=True, colour=colour), Type(2.3, colour=INK)
    lines = [line for text in reasons for line in wrapped(canvas, text, reason, width - 5.0)]
    height = 8.4 + 3.1 * len(lines)
    for inset, pen in ((0.0, Pen(0.5, colour)), (0.9, Pen(0.15, colour))):
        box = Contour.rectangle(left + inset, top - height + inset, width - 2.0 * inset, height - 2.0 * inset)
        canvas.path([box], pen)
    canvas.text((left + 2.5, top - 5.4), words, head)
    for k, text in enumerate(lines):
        canvas.text((left + 2.5, top - 9.2 - 3.1 * k), text, reason)
    return top - height


def state_mark(canvas: Canvas, at: Point, state: State, size_mm: float) -> float:
    """Write sign, word and line style of a state; return the width used."""
    style = Type(size_mm, bold=True, colour=state_colour(state))
    words = f"{SIGNS[state]} {state}"
    canvas.text(at, words, style)
    width = canvas.text_width(words, style)
    y = at[1] - size_mm * 0.36
    line(canvas, (at[0], y), (at[0] + max(width, 9.0), y), Pen(0.3, style.colour, DASHES[state]))
    return width
