"""A small writer of drawing files (DXF) as text: group code and value line by line, nothing hidden.

R12 ("AC1009") is written as old programs did, without handles and subclass marks; later releases with both.
Numbers keep nine decimals.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from tests.corpus.shapes import Chain, Piece, Point, pieces

Tag = tuple[int, str]
Entity = list[Tag]
BELOW = (0.0, 0.0, -1.0)
"""Extrusion of a plane seen from behind."""


def number(value: float) -> str:
    """A coordinate as text."""
    text = f"{value:.9f}".rstrip("0")
    text += "0" if text.endswith(".") else ""
    return "0.0" if text == "-0.0" else text


def entity(kind: str, marks: str, layer: str, *tags: tuple[int, float | int | str]) -> Entity:
    """One entity: its type, layer, subclass marks and values."""
    head: Entity = [(0, kind), (100, "AcDbEntity"), (8, layer), (100, marks)]
    return head + [(code, number(v) if isinstance(v, float) else str(v)) for code, v in tags]


def extruded(item: Entity, direction: tuple[float, float, float]) -> Entity:
    """The same entity with the normal of its own plane given (an arc's belongs to its circle part)."""
    normal: Entity = [(210 + 10 * i, number(value)) for i, value in enumerate(direction)]
    at = item.index((100, "AcDbArc")) if (100, "AcDbArc") in item else len(item)
    return item[:at] + normal + item[at:]


def line(a: Point, b: Point, layer: str = "0", heights: tuple[float, float] = (0.0, 0.0)) -> Entity:
    """A straight line."""
    return entity(
        "LINE", "AcDbLine", layer,
        (10, a[0]), (20, a[1]), (30, heights[0]), (11, b[0]), (21, b[1]), (31, heights[1]),
    )  # fmt: skip


def arc(centre: Point, radius: float, start_deg: float, end_deg: float, layer: str = "0") -> Entity:
    """An arc, counterclockwise from start to end."""
    item = entity("ARC", "AcDbCircle", layer, (10, centre[0]), (20, centre[1]), (30, 0.0), (40, radius))
    return [*item, (100, "AcDbArc"), (50, number(start_deg % 360.0)), (51, number(end_deg % 360.0))]


def circle(centre: Point, radius: float, layer: str = "0") -> Entity:
    """A full circle."""
    return entity("CIRCLE", "AcDbCircle", layer, (10, centre[0]), (20, centre[1]), (30, 0.0), (40, radius))


def piece(item: Piece, layer: str = "0") -> Entity:
    """A piece of a chain as LINE or ARC."""
    if item.bulge == 0.0:
        return line(item.start, item.end, layer)
    ends = (item.start, item.end) if item.bulge > 0.0 else (item.end, item.start)
    first, last = (math.degrees(math.atan2(p[1] - item.centre[1], p[0] - item.centre[0])) for p in ends)
    return arc(item.centre, item.radius, first, last, layer)


def separate(chain: Chain, layer: str = "0", closed: bool = True) -> list[Entity]:
    """A chain as single lines and arcs."""
    return [piece(item, layer) for item in pieces(chain, closed)]


def lwpolyline(chain: Chain, layer: str = "0", closed: bool = True, *more: tuple[int, float]) -> Entity:
    """A chain as one light polyline with bulges; `more` are values before the places, such as (43, width)."""
    tags: list[tuple[int, float | int | str]] = [(90, len(chain)), (70, int(closed)), *more]
    for z, r, bulge in chain:
        tags += [(10, z), (20, r)] + ([(42, bulge)] if bulge else [])
    return entity("LWPOLYLINE", "AcDbPolyline", layer, *tags)


def polyline(
    chain: Chain, layer: str = "0", closed: bool = True, heights: Sequence[float] = (), kind: int = 0
) -> list[Entity]:
    """An old-style polyline: POLYLINE, one VERTEX a place, SEQEND. With heights it is one in space."""
    marks = "AcDb3dPolyline" if heights else "AcDb2dPolyline"
    flags = int(closed) + (8 if heights else 0) + kind
    start = (10, 0.0), (20, 0.0), (30, 0.0)
    items = [entity("POLYLINE", marks, layer, (66, 1), *start, (70, flags))]
    for i, (z, r, bulge) in enumerate(chain):
        items.append(vertex((z, r), layer, bulge, heights[i] if heights else 0.0, 32 if heights else 0))
    return [*items, sequence_end(layer)]


def vertex(place: Point, layer: str = "0", bulge: float = 0.0, height: float = 0.0, flags: int = 0) -> Entity:
    """One vertex of an old-style polyline."""
    marks = "AcDb3dPolylineVertex" if flags & 32 else "AcDb2dVertex"
    tags: list[tuple[int, float | int]] = [(10, place[0]), (20, place[1]), (30, height), (70, flags)]
    item = entity("VERTEX", "AcDbVertex", layer, *tags, *([(42, bulge)] if bulge else []))
    return [*item[:4], (100, marks), *item[4:]]


def sequence_end(layer: str = "0") -> Entity:
    """The end of an old-style polyline."""
    return [(0, "SEQEND"), (100, "AcDbEntity"), (8, layer)]


def insert(
    name: str,
    at: Point,
    scale: tuple[float, float] = (1.0, 1.0),
    turn_deg: float = 0.0,
    layer: str = "0",
    array: tuple[int, int, float, float] | None = None,
) -> Entity:
    """A block put in its place; `array` is columns, rows, column spacing, row spacing."""
    item = entity(
        "INSERT", "AcDbBlockReference", layer,
        (2, name), (10, at[0]), (20, at[1]), (30, 0.0),
        (41, scale[0]), (42, scale[1]), (43, 1.0), (50, turn_deg),
    )  # fmt: skip
    if array:
        item += [(70, str(array[0])), (71, str(array[1])), (44, number(array[2])), (45, number(array[3]))]
    return item


def text(words: str, at: Point, height: float = 3.5, layer: str = "0") -> Entity:
    """A line of text."""
    return entity("TEXT", "AcDbText", layer, (10, at[0]), (20, at[1]), (30, 0.0), (40, height), (1, words))


def spline(
    degree: int,
    controls: Sequence[Point],
    knots: Sequence[float],
    weights: Sequence[float] = (),
    layer: str = "0",
    flags: int = 8,
) -> Entity:
    """A spline by control places and knots."""
    tags: list[tuple[int, float | int | str]] = [
        (70, flags | (4 if weights else 0)), (71, degree), (72, len(knots)), (73, len(controls)), (74, 0),
    ]  # fmt: skip
    tags += [(40, float(knot)) for knot in knots] + [(41, float(weight)) for weight in weights]
    for place in controls:
        tags += [(10, place[0]), (20, place[1]), (30, 0.0)]
    return entity("SPLINE", "AcDbSpline", layer, *tags)


def ellipse(
    centre: Point, major: Point, ratio: float, start: float, end: float, layer: str = "0", up: float = 1.0
) -> Entity:
    """An ellipse, or part of one between two parameters in radians; `up` is the z of its normal."""
    return entity(
        "ELLIPSE", "AcDbEllipse", layer,
        (10, centre[0]), (20, centre[1]), (30, 0.0), (11, major[0]), (21, major[1]), (31, 0.0),
        (210, 0.0), (220, 0.0), (230, up), (40, ratio), (41, start), (42, end),
    )  # fmt: skip


@dataclass(frozen=True)
class Layer:
    """A layer: hidden by a negative colour (off) or by flag 1 (frozen)."""

    name: str
    colour: int = 7
    flags: int = 0
    linetype: str = "CONTINUOUS"


@dataclass(frozen=True)
class Block:
    """A named block with its base place; `unit` is its own insertion unit (R2000 and later)."""

    name: str
    entities: Sequence[Entity]
    base: Point = (0.0, 0.0)
    flags: int = 0
    unit: int | None = None
    path: str = ""


HeaderValue = tuple[int, float | int | str | tuple[float, float, float]]
"""Group code and value of a header variable; three numbers make a place."""


@dataclass
class Drawing:
    """A whole drawing file."""

    entities: Sequence[Entity]
    version: str = "AC1015"
    header: dict[str, HeaderValue] = field(default_factory=dict)
    layers: Sequence[Layer] = ()
    blocks: Sequence[Block] = ()

    def text(self, line_end: str = "\n", pad: bool = True) -> str:
        """The file's text; `pad` right-aligns group codes as most programs do."""
        self._handle = 0x100
        tags: list[Tag] = []
        tags += _section("HEADER", self._header())
        tags += _section("TABLES", self._tables())
        tags += _section("BLOCKS", self._blocks())
        tags += _section("ENTITIES", self._with_handles(self.entities))
        tags.append((0, "EOF"))
        rows = (f"{f'{code:>3}' if pad else code}{line_end}{value}{line_end}" for code, value in tags)
        return "".join(rows)

    @property
    def _old(self) -> bool:
        return self.version == "AC1009"

    def _header(self) -> Iterable[Tag]:
        yield from [(9, "$ACADVER"), (1, self.version)]
        for name, (code, value) in self.header.items():
            yield (9, name)
            if isinstance(value, tuple):
                yield from ((code + 10 * i, number(part)) for i, part in enumerate(value))
            else:
                yield (code, number(value) if isinstance(value, float) else str(value))

    def _tables(self) -> Iterable[Tag]:
        yield from self._table(
            "LTYPE", [[(2, "CONTINUOUS"), (70, "0"), (3, "Solid line"), (72, "65"), (73, "0"), (40, "0.0")]]
        )
        layers = {layer.name: layer for layer in [Layer("0"), *self.layers]}.values()
        yield from self._table("LAYER", [
            [(2, la.name), (70, str(la.flags)), (62, str(la.colour)), (6, la.linetype)] for la in layers
        ])  # fmt: skip
        if not self._old:
            names = ["*Model_Space", "*Paper_Space", *(block.name for block in self.blocks)]
            units = {block.name: [(70, str(block.unit))] for block in self.blocks if block.unit is not None}
            yield from self._table("BLOCK_RECORD", [[(2, name), *units.get(name, [])] for name in names])

    def _table(self, kind: str, rows: Sequence[Entity]) -> Iterable[Tag]:
        marks = {"LTYPE": "AcDbLinetypeTableRecord", "LAYER": "AcDbLayerTableRecord"}
        yield from [(0, "TABLE"), (2, kind)]
        if not self._old:
            yield from [(5, self._next()), (100, "AcDbSymbolTable")]
        yield (70, str(len(rows)))
        for row in rows:
            yield (0, kind)
            if not self._old:
                yield from [(5, self._next()), (100, "AcDbSymbolTableRecord")]
                yield (100, marks.get(kind, "AcDbBlockTableRecord"))
            yield from row
        yield (0, "ENDTAB")

    def _blocks(self) -> Iterable[Tag]:
        spaces = [] if self._old else [Block("*Model_Space", ()), Block("*Paper_Space", ())]
        for block in [*spaces, *self.blocks]:
            begin = entity(
                "BLOCK", "AcDbBlockBegin", "0",
                (2, block.name), (70, block.flags), (10, block.base[0]), (20, block.base[1]), (30, 0.0),
                (3, block.name), (1, block.path),
            )  # fmt: skip
            end: Entity = [(0, "ENDBLK"), (100, "AcDbEntity"), (8, "0"), (100, "AcDbBlockEnd")]
            yield from self._with_handles([begin, *block.entities, end])

    def _with_handles(self, items: Sequence[Entity]) -> Iterable[Tag]:
        for item in items:
            yield item[0]
            if not self._old:
                yield (5, self._next())
            yield from (tag for tag in item[1:] if not (self._old and tag[0] == 100))

    def _next(self) -> str:
        self._handle += 1
        return f"{self._handle:X}"


def _section(name: str, tags: Iterable[Tag]) -> list[Tag]:
    return [(0, "SECTION"), (2, name), *tags, (0, "ENDSEC")]
