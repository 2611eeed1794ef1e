"""DXF: lines, arcs, circles, polylines, ellipses, splines and placed blocks, joined into closed outlines.

x is z along the axle, y is r from it. Lines and arcs come in exactly. Everything is scaled to mm at once,
so all lengths here are mm, or the file's own unit while that is not known.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.files.readers.answer import NOT_KNOWN, UNITS, ReadError, ReadOutline, Request, plain
from app.files.readers.curves import fitted
from app.files.readers.entities import DRAWN_KINDS, Drawn, draw, plane
from app.files.readers.limits import DRAWING
from app.files.readers.pieces import Piece
from app.files.readers.placing import Placing
from app.files.readers.strokes import Strokes
from app.files.readers.tags import Entity, Tags, scan

#: $INSUNITS as published with the format; other values are named but not converted.
_INSUNITS = {1: "in", 4: "mm", 5: "cm", 6: "m"}
_OTHER_UNITS = {2: "feet", 8: "microinches", 9: "mils", 13: "micrometres", 14: "decimetres"}


def read_dxf(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the closed outlines of a DXF file.

    Raises:
        ReadError: the file is damaged or too big, the layer is missing, or nothing is drawn.
    """
    tags = scan(data)
    unit, warnings = _unit(tags, request)
    doubt = warnings[0] if unit == NOT_KNOWN and warnings else ""
    strokes = Strokes(request, tags.hidden)
    drawing = _Drawing(tags, strokes)
    drawing.add(tags.entities, Placing.scaled(UNITS.get(unit, 1.0)), None, 0)
    if drawing.heights:
        warnings.append(f"{drawing.heights} entities leave the drawing plane; their heights are dropped")
    return strokes.outline(unit, doubt, warnings, sha256)


def _unit(tags: Tags, request: Request) -> tuple[str, list[str]]:
    """Return the unit that the user or the file states, and what is doubtful about it."""
    code = tags.header.get("$INSUNITS", "0")
    number = int(code) if code.isdigit() else 0
    stated = _INSUNITS.get(number, NOT_KNOWN)
    imperial = {"0": True, "1": False}.get(tags.header.get("$MEASUREMENT", ""))
    if request.unit is not None:
        differs = stated not in (NOT_KNOWN, request.unit)
        said = f"the file states {stated}; read as {request.unit}, as asked"
        return request.unit, [said] if differs else []
    if stated == NOT_KNOWN:
        name = _OTHER_UNITS.get(number)
        return NOT_KNOWN, [f"the file states {name}, which is not converted"] if name else []
    if imperial is not None and imperial != (stated == "in"):
        hint = "inches" if imperial else "mm"
        return NOT_KNOWN, [f"the file's header contradicts itself: unit {stated}, but set up for {hint}"]
    return stated, []


@dataclass
class _Drawing:
    """Places the entities of a drawing and hands what they draw to the strokes."""

    tags: Tags
    strokes: Strokes
    heights: int = 0
    count: int = 0

    def add(self, entities: list[Entity], placing: Placing, block: Entity | None, depth: int) -> None:
        """Add entities as placed; those on layer 0 of a block take the layer of the block's reference."""
        for entity in entities:
            self._count()
            layer = block.layer if entity.layer == "0" and block is not None else entity.layer
            if entity.kind == "INSERT":
                self._add_block(entity, placing, layer, depth)
            elif entity.kind in DRAWN_KINDS:
                self._add_drawn(entity, placing, layer, block)
            else:
                self.strokes.skipped[plain(entity.kind)] += 1

    def _count(self) -> None:
        self.count += 1
        if self.count > DRAWING.entities:
            raise ReadError(
                f"the blocks draw more than {DRAWING.entities} entities in all; export the outline alone"
            )

    def _add_block(self, entity: Entity, placing: Placing, layer: str, depth: int) -> None:
        block = self.tags.blocks.get(entity.name(2).upper())
        name, own_plane = plain(entity.name(2)), plane(entity)
        if block is None or own_plane is None:
            reason = "of a missing block" if block is None else "out of the drawing plane"
            self.strokes.skipped[f"INSERT {reason}"] += 1
            return
        if depth == DRAWING.nesting:
            raise ReadError(
                f"blocks lie more than {DRAWING.nesting} deep within each other at {name!r} (does it hold "
                "itself?); explode the blocks and export again"
            )
        inner = (
            Placing.turned(entity.number(50, 0.0))
            .after(Placing.scaled(entity.number(41, 1.0), entity.number(42, 1.0)))
            .after(Placing.shifted(-block.head.number(10, 0.0), -block.head.number(20, 0.0)))
        )
        turned = Placing.turned(entity.number(50, 0.0))
        reference = Entity(
            entity.kind, entity.line, [*((c, v) for c, v in entity.pairs if c != 8), (8, layer)]
        )
        for row in range(max(int(entity.number(71, 1.0)), 1)):
            for column in range(max(int(entity.number(70, 1.0)), 1)):
                self._count()
                step = turned.point((column * entity.number(44, 0.0), row * entity.number(45, 0.0)))
                at = Placing.shifted(entity.number(10) + step[0], entity.number(20) + step[1])
                self.add(
                    block.entities, placing.after(own_plane).after(at).after(inner), reference, depth + 1
                )

    def _add_drawn(self, entity: Entity, placing: Placing, layer: str, block: Entity | None) -> None:
        if entity.flags(67) or entity.flags(60):
            self.strokes.skipped["in paper space" if entity.flags(67) else "invisible"] += 1
            return
        if not self.strokes.wants(layer, self.tags.colour(entity, layer, block), entity.kind):
            return
        drawn = draw(entity)
        if isinstance(drawn, str):
            self.strokes.skipped[drawn] += 1
            return
        self.heights += drawn.has_height
        self.strokes.add(self._placed(drawn, placing, layer), drawn.is_closed)

    def _placed(self, drawn: Drawn, placing: Placing, layer: str) -> list[Piece]:
        pieces = placing.pieces(drawn.pieces, layer)
        curve = drawn.curve
        if curve is not None:
            pieces += fitted(lambda t: placing.point(curve(t)), drawn.breaks, layer)
        return pieces
