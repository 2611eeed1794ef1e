"""Printing the drawing: true to a stated scale, with a scale bar in each axis and the caution."""

from __future__ import annotations

from PySide6.QtCore import QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPageLayout, QPageSize, QPainter, QPen, QTransform
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QDialog, QWidget

from app.language import spoken, tr
from app.project.caution import CAUTION
from app.reports.numbers import unit_of
from app.reports.rows import worst_three
from app.session.shown import Shown
from app.views.canvas.drawn import blank_of, shapes_of
from app.views.canvas.items import painter_path, segments
from app.views.readings_text import sentence
from app.views.theme import LIGHT
from geometry.shape.curve import Path
from geometry.shape.hatch import hatch
from geometry.shape.outline import outline_path

#: Scales that a drawing office uses, largest first (ISO 5455).
SCALES = (1.0, 0.5, 0.2, 0.1)
_MARGIN_MM, _TEXT_MM, _BAR_MM = 12.0, 30.0, 100.0


def print_drawing(parent: QWidget, shown: Shown) -> str:
    """Ask for a printer and print; return what was printed, empty when it was not."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    prepare(printer, shown)
    dialog = QPrintDialog(printer, parent)
    if dialog.exec() != QDialog.DialogCode.Accepted:
        return ""
    scale = paint(printer, shown)
    return tr("Printed at {scale_words}; measure the bars before you use it.", scale_words=scale_words(scale))


def prepare(printer: QPrinter, shown: Shown) -> None:
    """Set the project's paper, landscape."""
    letter = shown.project.paper == "Letter"
    page = QPageSize(QPageSize.PageSizeId.Letter if letter else QPageSize.PageSizeId.A4)
    layout = QPageLayout(page, QPageLayout.Orientation.Landscape, QMarginsF(0, 0, 0, 0))
    printer.setPageLayout(layout)
    printer.setFullPage(True)
    printer.setDocName(shown.project.name)


def paint(printer: QPrinter, shown: Shown) -> float:
    """Paint one page and return its scale, paper over drawing; the largest usual one that fits."""
    painter = QPainter(printer)
    try:
        per_mm = printer.logicalDpiX() / 25.4
        painter.scale(per_mm, per_mm)
        page = printer.pageLayout().fullRect(QPageLayout.Unit.Millimeter)
        return _page(painter, shown, page)
    finally:
        painter.end()


def _page(painter: QPainter, shown: Shown, page: QRectF) -> float:
    paths = _paths(shown)
    bounds = QRectF()
    for path in (p for found in paths.values() for p in found):
        z0, z1, r0, r1 = path.bounds
        bounds = bounds.united(QRectF(z0, r0, z1 - z0, r1 - r0))
    bounds = bounds.united(QRectF(bounds.left(), 0.0, max(bounds.width(), 1.0), 1.0))
    room = page.adjusted(_MARGIN_MM, _MARGIN_MM, -_MARGIN_MM, -_MARGIN_MM - _TEXT_MM)
    fits = [s for s in SCALES if bounds.width() * s <= room.width() and bounds.height() * s <= room.height()]
    scale = fits[0] if fits else SCALES[-1]
    centre = bounds.center().x()
    to_page = QTransform(scale, 0.0, 0.0, -scale, room.center().x() - scale * centre, room.bottom())
    for name, fill, edge, hatched in (
        ("shapes", LIGHT.shape, LIGHT.shape_edge, False),
        ("blank", "", LIGHT.blank, True),
        ("wheel", LIGHT.wheel, LIGHT.ink, False),
    ):
        for path in paths[name]:
            picture = to_page.map(painter_path(path))
            if fill:
                painter.fillPath(picture, QColor(fill))
            painter.setPen(QPen(QColor(edge), 0.25))
            if hatched:
                lines = segments(hatch(path.flattened(0.05), 4.0 / scale))
                painter.setPen(QPen(QColor(edge), 0.1))
                painter.drawPath(to_page.map(lines))
                painter.setPen(QPen(QColor(edge), 0.25))
            painter.drawPath(picture)
    axle = QPen(QColor(LIGHT.ink), 0.18)
    axle.setDashPattern([60.0, 15.0, 5.0, 15.0])
    painter.setPen(axle)
    painter.drawLine(QPointF(room.left(), room.bottom()), QPointF(room.right(), room.bottom()))
    _bars(painter, room, scale)
    _words(painter, shown, page, scale)
    return scale


def _paths(shown: Shown) -> dict[str, list[Path]]:
    blank, wheel = blank_of(shown), shown.wheel
    found: dict[str, list[Path]] = {"shapes": [], "blank": [], "wheel": []}
    for shape in shapes_of(shown):
        found["shapes"] += [p for o in shape.outlines if isinstance(p := outline_path(o.corners), Path)]
    if blank is not None:
        path = outline_path(blank.corners)
        shift = wheel.spacer_mm + (wheel.seat_mm if wheel.blank == blank.name else 0.0) if wheel else 0.0
        found["blank"] = [path.moved(shift)] if isinstance(path, Path) else []
    if shown.outline is not None:
        found["wheel"] = [shown.outline.path]
    return found


def _bars(painter: QPainter, room: QRectF, scale: float) -> None:
    """Draw a bar along each axis that measures 100 mm on the paper."""
    painter.setPen(QPen(QColor(LIGHT.ink), 0.25))
    corner = QPointF(room.left() + 4.0, room.bottom() - 6.0)
    for end, tick in (
        (QPointF(_BAR_MM, 0.0), QPointF(0.0, 1.5)),
        (QPointF(0.0, -_BAR_MM), QPointF(1.5, 0.0)),
    ):
        painter.drawLine(corner, corner + end)
        for at in (corner, corner + end):
            painter.drawLine(at - tick, at + tick)
    painter.setFont(_font(3))
    text = tr("each bar 100 mm on paper = {bar_mm:g} mm on the wheel", bar_mm=_BAR_MM / scale)
    painter.drawText(QRectF(corner.x() + 3.0, corner.y() - 6.0, 120.0, 5.0), Qt.AlignmentFlag.AlignLeft, text)


def _words(painter: QPainter, shown: Shown, page: QRectF, scale: float) -> None:
    wheel, unit = shown.wheel, unit_of(shown.project)
    box = QRectF(_MARGIN_MM, page.bottom() - _TEXT_MM - 6.0, page.width() - 2 * _MARGIN_MM, _TEXT_MM)
    title = (
        tr("{name}, {size}, inset {inset_mm:g}", name=wheel.name, size=wheel.size, inset_mm=wheel.inset_mm)
        if wheel
        else shown.project.name
    )
    head = tr(
        "{title}    scale {scale_words}    {name}, revision {revision}",
        title=title,
        scale_words=scale_words(scale),
        name=shown.project.name,
        revision=shown.project.revision,
    )
    if shown.project.revision_date:
        head += tr(" of {revision_date}", revision_date=shown.project.revision_date)
    lines = []
    if shown.measurements is not None:
        lines.append(tr("State: {state}", state=shown.state))
        lines += [sentence(row, unit) for row in worst_three(shown.measurements)]
    elif shown.faults:
        lines.append(tr("No readings: {message}", message=shown.faults[0].message))
    painter.setPen(QPen(QColor(LIGHT.ink)))
    painter.setFont(_font(4, bold=True))
    painter.drawText(box, Qt.AlignmentFlag.AlignTop, head)
    painter.setFont(_font(3))
    painter.drawText(box.adjusted(0.0, 6.0, 0.0, 0.0), Qt.AlignmentFlag.AlignTop, "\n".join(lines))
    painter.drawText(box, Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap, spoken(CAUTION))


def _font(height_mm: int, bold: bool = False) -> QFont:
    """Return a font of a height in the painter's mm; hinting would spoil its widths at this size."""
    font = QFont()
    font.setPixelSize(height_mm)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setBold(bold)
    return font


def scale_words(scale: float) -> str:
    """Return a scale as drawings write it: 1 : 2."""
    return f"1 : {1.0 / scale:g}"
