"""The last page of a customer's copy: the whole wheel as a shaded picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.reports.content import ReportContent
from app.reports.drawing import wrapped
from app.reports.flow import draw_head
from app.reports.look import SMALL
from app.reports.page import Area, body
from app.reports.shaded import Shaded

if TYPE_CHECKING:
    from app.reports.pdf import PdfCanvas

_HEAD, _NOTE = 12.0, 12.0
NOTE = (
    "Picture of the model: the section turned about the axle, with windows between spokes and bolt holes. "
    "Radii along the spokes, valve hole, marks and finish are not in it. It is no drawing to measure from."
)


def picture_page(canvas: PdfCanvas, content: ReportContent, picture: Shaded) -> None:
    """Draw the page."""
    area = body(content.paper)
    draw_head(content, area, canvas)
    canvas.picture(Area(area.left, area.bottom + _NOTE, area.right, area.top - _HEAD), picture)
    for k, words in enumerate(wrapped(canvas, NOTE, SMALL, area.width)):
        canvas.text((area.left, area.bottom + 6.0 - 3.1 * k), words, SMALL)
