"""The drawing for the forge, read back by a general library: what stands where, and nothing over another."""

from __future__ import annotations

from io import BytesIO, StringIO

import pytest
from ezdxf import bbox
from ezdxf.document import Drawing as Document
from ezdxf.filemanagement import read

from app.files.writers.dxf import write_dxf
from app.project.caution import CAUTION
from app.reports.blank_drawing import blank_drawing
from app.studies.composite import composite
from app.studies.forging_needs import ForgingSettings
from tests.unit.studies.test_composite import group


@pytest.fixture(scope="module")
def document() -> Document:
    project, settings = group(), ForgingSettings(grip_mm=10.0)
    found = composite(project, [w.name for w in project.wheels], settings)
    stream = BytesIO()
    write_dxf(stream, blank_drawing("Blank of a group with a name that is quite long", found, settings))
    return read(StringIO(stream.getvalue().decode()))


def test_all_that_a_forge_needs_stands_on_layers_of_its_own(document: Document) -> None:
    layers = {entity.dxf.layer for entity in document.modelspace()}
    wheels = {f"WHEEL {w.name}" for w in group().wheels}
    assert {"BLANK", "USABLE", "PARTING", "DATUM", "GRIP", "AXLE LINE", "NOTES", *wheels} == layers
    types = {layer.dxf.name: layer.dxf.linetype for layer in document.layers}
    # Phantom and axle lines are chain lines, the forging is drawn in full (ISO 128).
    assert {types[name] for name in (*wheels, "AXLE LINE", "PARTING")} == {"CHAINDOT"}
    assert types["BLANK"] == "CONTINUOUS"


def test_notes_stand_under_the_section_one_below_the_other(document: Document) -> None:
    texts = document.modelspace().query("TEXT")
    drawn = bbox.extents(e for e in document.modelspace() if e.dxftype() != "TEXT")
    boxes = [bbox.extents([text]) for text in texts]
    width = drawn.extmax.x - drawn.extmin.x
    for above, below in zip([drawn, *boxes[:-1]], boxes, strict=True):
        assert below.extmax.y < above.extmin.y
    assert max(box.extmax.x for box in boxes) - drawn.extmin.x < 1.3 * width
    said = " ".join(" ".join(text.dxf.text for text in texts).split())
    for words in (
        CAUTION,
        "mm, z along the axle",
        "parting line at z",
        "draft 1 deg",
        "fillets R15",
        "datum:",
    ):
        assert words in said
