"""The report as PDF: exact paths, embedded fonts, no pictures, and the same bytes for the same input."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, partial
from importlib import metadata
from typing import Any

from app import resources
from app.language import spoken
from app.project.project import Project
from app.reports.content import ReportContent
from app.reports.drawing import Anchor, Canvas, Contour, Pen, Point, Type, curves, said
from app.reports.flow import Draw, table_pages
from app.reports.names import keeping_names
from app.reports.page import PAPERS, Area, Identity, body, draw_foot, foot
from app.reports.picture_page import picture_page
from app.reports.sentences import revision_words
from app.reports.shaded import Shaded
from app.reports.sheet import draw_sheet

REGULAR, BOLD = "DejaVuSans", "DejaVuSans-Bold"
_POINTS_PER_MM = 72.0 / 25.4


def write_pdf(content: ReportContent, *, input_sha256: str, version: str | None = None) -> bytes:
    """Return the report as the bytes of a PDF.

    Args:
        content: what it says.
        input_sha256: digest of what it rests on, as 64 hex digits.
        version: of the program; None for the installed one.
    """
    identity = identity_of(input_sha256, version)
    about = About(
        f"Section report: {content.wheel} ({content.project})",
        content.author,
        f"{content.size}, {content.revision}, input sha256 {input_sha256}",
    )
    canvas = PdfCanvas(PAPERS[content.paper], about, identity)
    pages = [lambda c: draw_sheet(c, content), *table_pages(canvas, content)]
    if content.picture is not None:
        pages.append(partial(picture_page, content=content, picture=content.picture))
    for number, draw in enumerate(pages, start=1):
        canvas.begin_page()
        draw(canvas)
        foot(canvas, content, identity, number, len(pages))
        canvas.end_page()
    return canvas.finished()


def study_pages(
    project: Project, title: str, input_sha256: str, pages_of: Callable[[Canvas, Area], Sequence[Draw]]
) -> bytes:
    """Return the pages of a study as the bytes of a PDF, each with its foot.

    Args:
        project: whose study it is; its paper is used.
        title: of the file.
        input_sha256: digest of what it rests on, as 64 hex digits.
        pages_of: returns what draws each page, of a canvas that measures text and the area to fill.
    """
    paper = "Letter" if project.paper == "Letter" else "A4"
    identity, area = identity_of(input_sha256), body(paper)
    subject = f"{revision_words(project)}, {input_sha256}"
    about = About(f"{title} ({project.name})", project.author, subject)
    parts = [project.name, revision_words(project), *([project.author] if project.author else [])]
    with keeping_names(project):
        canvas = PdfCanvas(PAPERS[paper], about, identity)
        pages = pages_of(canvas, area)
        for number, draw in enumerate(pages, start=1):
            canvas.begin_page()
            draw(canvas)
            draw_foot(canvas, area, parts, identity, f"page {number} of {len(pages)}")
            canvas.end_page()
    return canvas.finished()


def identity_of(input_sha256: str, version: str | None = None) -> Identity:
    """Return what ties the paper to its input; without a version that of the installed program."""
    return Identity(input_sha256, version or metadata.version("blankwright"))


@dataclass(frozen=True)
class About:
    """What the file says of itself."""

    title: str
    author: str
    subject: str


@cache
def _register_fonts() -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (REGULAR, BOLD):
        pdfmetrics.registerFont(TTFont(name, str(resources.font(name))))


def text_width(words: str, style: Type) -> float:
    """Return the width of words, in the language of the page, in the shipped font, mm."""
    from reportlab.pdfbase import pdfmetrics

    _register_fonts()
    return float(pdfmetrics.stringWidth(said(words), BOLD if style.bold else REGULAR, style.size_mm))


class PdfCanvas:
    """A `drawing.Canvas` on PDF pages; mm from the lower left corner."""

    def __init__(self, size_mm: tuple[float, float], about: About, identity: Identity) -> None:
        from reportlab.pdfgen.canvas import Canvas as PdfPages

        _register_fonts()
        self._buffer = io.BytesIO()
        width, height = size_mm
        # invariant: no date, no random name; the first font is ours, so that no other one is named.
        self._pages: Any = PdfPages(
            self._buffer,
            pagesize=(width * _POINTS_PER_MM, height * _POINTS_PER_MM),
            invariant=1,
            pageCompression=1,
            initialFontName=REGULAR,
        )
        self._pages.setTitle(spoken(about.title))
        self._pages.setAuthor(about.author)
        self._pages.setSubject(spoken(about.subject))
        self._pages.setKeywords(f"input sha256 {identity.input_sha256}")
        self._pages.setCreator(f"Blankwright {identity.version}")
        # A viewer that heeds it prints at 100 % of itself.
        self._pages.setViewerPreference("PrintScaling", "None")

    def begin_page(self) -> None:
        """Start a page in mm."""
        self._pages.scale(_POINTS_PER_MM, _POINTS_PER_MM)
        self._pages.setLineCap(0)
        self._pages.setLineJoin(1)

    def path(self, contours: Sequence[Contour], pen: Pen | None, fill: str | None = None) -> None:
        """Draw contours as one area (even-odd): filled first, then stroked."""
        if not contours:
            return
        path = self._pages.beginPath()
        for contour in contours:
            path.moveTo(*contour.points[0])
            for start, end, bulge in contour.edges():
                if bulge == 0.0:
                    path.lineTo(*end)
                else:
                    for first, second, last in curves(start, end, bulge):
                        path.curveTo(*first, *second, *last)
            if contour.closed:
                path.close()
        if fill is not None:
            self._pages.setFillColor(_colour(fill))
        if pen is not None:
            self._pages.setStrokeColor(_colour(pen.colour))
            self._pages.setLineWidth(pen.width_mm)
            self._pages.setDash(list(pen.dash_mm))
        even_odd = 0
        self._pages.drawPath(path, stroke=int(pen is not None), fill=int(fill is not None), fillMode=even_odd)

    def text(
        self, at: Point, words: str, style: Type, anchor: Anchor = Anchor.LEFT, turned: bool = False
    ) -> None:
        """Write words with a point of their baseline at `at`; turned reads from below."""
        if not words:
            return
        words = said(words)
        shift = anchor.value * self.text_width(words, style)
        x, y = (at[0], at[1] - shift) if turned else (at[0] - shift, at[1])
        text = self._pages.beginText()
        text.setFont(BOLD if style.bold else REGULAR, style.size_mm)
        text.setFillColor(_colour(style.colour))
        text.setTextTransform(*((0, 1, -1, 0) if turned else (1, 0, 0, 1)), x, y)
        text.textOut(words)
        self._pages.drawText(text)

    def text_width(self, words: str, style: Type) -> float:
        """Return the width of the words, mm."""
        return text_width(words, style)

    def picture(self, area: Area, shaded: Shaded) -> None:
        """Draw a square grey picture in the middle of an area, as large as that allows."""
        from PIL import Image
        from reportlab.lib.utils import ImageReader

        side = min(area.width, area.height)
        left, bottom = (area.left + area.right - side) / 2.0, (area.bottom + area.top - side) / 2.0
        image = Image.frombytes("L", (shaded.size, shaded.size), shaded.grey)
        self._pages.drawImage(ImageReader(image), left, bottom, side, side)

    @contextmanager
    def through(self, window: Area, origin: Point, scale: tuple[float, float]) -> Iterator[None]:
        """Draw in other coordinates, seen through a window of the paper only.

        Args:
            window: on paper, mm.
            origin: the coordinates of its lower left corner.
            scale: paper mm for one unit of x and of y; exact for arcs too.
        """
        pages = self._pages
        pages.saveState()
        edge = pages.beginPath()
        edge.rect(window.left, window.bottom, window.width, window.height)
        pages.clipPath(edge, stroke=0, fill=0)
        pages.translate(window.left, window.bottom)
        pages.scale(*scale)
        pages.translate(-origin[0], -origin[1])
        yield
        pages.restoreState()

    def end_page(self) -> None:
        """End the page."""
        self._pages.showPage()

    def finished(self) -> bytes:
        """Return the bytes of all pages that were ended."""
        self._pages.save()
        return self._buffer.getvalue()


def _colour(text: str) -> Any:
    from reportlab.lib.colors import HexColor

    return HexColor(text)
