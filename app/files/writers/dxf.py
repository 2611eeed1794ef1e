"""DXF of a half-section for drawing and turning programs: mm, named layers, closed polylines with exact arcs.

x is z along the axle, y is r from it, the hub face at x = 0. The same drawing gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, BinaryIO

from app.files.atomic import save_bytes
from geometry.shape.curve import Path

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

Line = tuple[tuple[float, float], tuple[float, float]]

WHEEL, BLANK, SHAPE, HUB_FACE, AXLE_LINE, NOTES = "WHEEL", "BLANK", "SHAPE", "HUB FACE", "AXLE LINE", "NOTES"

#: Characters that the format forbids in a name, and those that start a code inside a text.
_NOT_IN_NAMES = '<>/\\":;?*|=`,'
_NOT_IN_TEXTS = "\\{}%^"
_NAME_CHARACTERS = 100

#: Height of the notes and how far lines reach past the section, mm.
_TEXT_MM = 3.0
_OVERHANG_MM = 20.0


@dataclass(frozen=True)
class Layer:
    """One layer: closed outlines and loose lines, mm."""

    name: str
    outlines: tuple[Path, ...] = ()
    lines: tuple[Line, ...] = ()
    color: int = 7
    chain_dotted: bool = False
    dashed: bool = False


@dataclass(frozen=True)
class Drawing:
    """What is written: layers in order, and notes as lines of plain text below the axle line."""

    layers: tuple[Layer, ...]
    notes: tuple[str, ...] = ()


def section_drawing(
    wheel: Path, blank: Path | None, shapes: Sequence[tuple[str, Path]], notes: Sequence[str] = ()
) -> Drawing:
    """Return the drawing of a half-section with its blank and named shapes, all in the hub's frame."""
    outlines = [wheel, *([] if blank is None else [blank]), *(path for _, path in shapes)]
    bounds = [path.bounds for path in outlines]
    low, high, top = min(b[0] for b in bounds), max(b[1] for b in bounds), max(b[3] for b in bounds)
    axle: Line = ((low - _OVERHANG_MM, 0.0), (high + _OVERHANG_MM, 0.0))
    layers = [Layer(WHEEL, (wheel,))]
    if blank is not None:
        layers.append(Layer(BLANK, (blank,), color=8))
    layers += [Layer(f"{SHAPE} {name}", (path,), color=1) for name, path in shapes]
    layers.append(Layer(HUB_FACE, lines=(((0.0, 0.0), (0.0, top + _OVERHANG_MM)),), color=5))
    layers.append(Layer(AXLE_LINE, lines=(axle,), color=5, chain_dotted=True))
    return Drawing(tuple(layers), tuple(notes))


def write_dxf(target: FilePath | BinaryIO, drawing: Drawing) -> None:
    """Write a drawing to a file, whole or not at all, or to a stream of bytes.

    Raises:
        SaveError: the file could not be written.
    """
    content = dxf_bytes(drawing)
    if isinstance(target, FilePath):
        save_bytes(target, content)
    else:
        target.write(content)


def dxf_bytes(drawing: Drawing) -> bytes:
    """Return a drawing as the bytes of a DXF file, release 2000."""
    from ezdxf.filemanagement import new  # takes 0.4 s, so only a real export pays for it

    with _fixed_dates():
        document = new("R2000", units=4)
        document.header["$MEASUREMENT"] = 1
        document.linetypes.add("CHAINDOT", [50.0, 32.0, -6.0, 6.0, -6.0])
        document.linetypes.add("DASHED", [9.0, 6.0, -3.0])
        names: set[str] = set()
        for layer in drawing.layers:
            _add_layer(document, layer, layer_name(layer.name, names))
        if drawing.notes:
            _add_notes(document, drawing.notes, layer_name(NOTES, names))
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


@contextmanager
def _fixed_dates() -> Iterator[None]:
    """Keep dates and random identifiers of the library out of the file."""
    from ezdxf import options  # type: ignore[attr-defined]  # documented, but not marked as exported

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _add_layer(document: Document, layer: Layer, name: str) -> None:
    linetype = "CHAINDOT" if layer.chain_dotted else "DASHED" if layer.dashed else "CONTINUOUS"
    document.layers.add(name, color=layer.color, linetype=linetype)
    space, style = document.modelspace(), {"layer": name}
    for path in layer.outlines:
        rows = [(z + 0.0, r + 0.0, bulge + 0.0) for z, r, bulge in path.rows()]
        space.add_lwpolyline(rows, format="xyb", close=True, dxfattribs=style)
    for start, end in layer.lines:
        space.add_line(start, end, dxfattribs=style)


def _add_notes(document: Document, notes: Sequence[str], name: str) -> None:
    document.layers.add(name)
    low = -_TEXT_MM * 3.0
    for i, note in enumerate(notes):
        place = (0.0, low - 1.6 * _TEXT_MM * i)
        text = document.modelspace().add_text(safe_text(note), height=_TEXT_MM, dxfattribs={"layer": name})
        text.set_placement(place)


def safe_text(text: str) -> str:
    """Return a text without line breaks, control characters and the format's own codes (fields, fonts)."""
    return "".join(c if c.isprintable() and c not in _NOT_IN_TEXTS else " " for c in text)


def layer_name(name: str, taken: set[str]) -> str:
    """Return a name that the format allows and no other layer has, and note it as taken (in upper case)."""
    clean = "".join("_" if c in _NOT_IN_NAMES or not c.isprintable() else c for c in name).strip()
    clean = clean[:_NAME_CHARACTERS] or "_"
    unique, n = clean, 1
    while unique.upper() in taken or unique == "0":
        n += 1
        unique = f"{clean} {n}"
    taken.add(unique.upper())
    return unique
