"""A second look at the SVG files: Qt draws them, and the true outline must lie on what is drawn.

Qt knows SVG Tiny 1.2: it leaves out nested pictures and does not keep to the units of single attributes. The
two files about these were held against another library by hand.
"""

import re

import numpy as np
import pytest
from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from tests.corpus.read_back import chain_path
from tests.corpus.truth import FILES, UNIT_MM, Truth, truths

NOT_IN_TINY = ("svg_nested_svg.svg", "svg_units_in_attributes.svg")
DOTS_PER_MM = 5
PICTURES = [t for t in truths().values() if t.file.endswith(".svg") and t.file not in NOT_IN_TINY]


def page_size_mm(content: str, view_box: QRectF, truth: Truth) -> tuple[float, float]:
    found = re.search(r'width="([\d.]+)([a-z%]*)"\s+height="([\d.]+)', content)
    assert found
    if found[2] == "%":
        return view_box.width(), view_box.height()
    size = UNIT_MM[found[2]] if found[2] else truth.options.factor
    return float(found[1]) * size, float(found[3]) * size


@pytest.mark.qt_log_ignore("Could not create image")
@pytest.mark.parametrize("truth", PICTURES, ids=lambda t: t.file)
def test_drawn_where_the_truth_says(truth: Truth, qapp: object) -> None:
    content = (FILES / truth.file).read_text("utf-8")
    renderer = QSvgRenderer(QByteArray(content.encode()))
    assert renderer.isValid()
    renderer.setAspectRatioMode(Qt.AspectRatioMode.KeepAspectRatio)
    width, height = page_size_mm(content, renderer.viewBoxF(), truth)
    image = QImage(round(width * DOTS_PER_MM), round(height * DOTS_PER_MM), QImage.Format.Format_Grayscale8)
    image.fill(255)
    painter = QPainter(image)
    renderer.render(painter, QRectF(0, 0, width * DOTS_PER_MM, height * DOTS_PER_MM))
    painter.end()
    grey = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    dark = grey[:, : image.width()] < 250
    assert 0.002 < dark.mean() < 0.5
    assert truth.options.page_shift_mm
    shift = np.array(truth.options.page_shift_mm)
    for chain in (*truth.outlines, *truth.other_outlines):
        dots = (chain_path(chain, step_mm=0.5) - shift) * [DOTS_PER_MM, -DOTS_PER_MM]
        for x, y in dots.astype(int):
            assert dark[max(0, y - 2) : y + 3, max(0, x - 2) : x + 3].any(), (
                x / DOTS_PER_MM,
                y / DOTS_PER_MM,
            )
