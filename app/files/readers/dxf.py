"""DXF: lines, arcs, circles, polylines, ellipses, splines and placed blocks, joined into closed outlines.

x is z along the axle, y is r from it. Lines and arcs come in exactly. Everything is scaled to mm at once,
so all lengths here are mm, or the file's own unit while that is not known.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from app.files.readers import dimensions, notes
from app.files.readers.answer import NOT_KNOWN, UNIT_WORDS, UNITS, ReadError, ReadOutline, Request, plain
from app.files.readers.curves import fitted
from app.files.readers.entities import DRAWN_KINDS, Drawn, draw, plane
from app.files.readers.limits import DRAWING
from app.files.readers.pieces import Piece
from app.files.readers.placing import Placing
from app.files.readers.strokes import Strokes
from app.files.readers.tags import DEFAULT_COLOUR, Block, Entity, Tags, number_in, scan, whole

#: $INSUNITS as published with the format.
_INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}

#: Its other values: the unit and the millimetres in it. A survey foot is 1200 / 3937 m, an international foot
#: 304.8 mm by definition.
_FOOT, _SURVEY_FOOT = 304.8, 1200.0 / 3937.0 * 1000.0
_OTHER_UNITS = {
    3: ("miles", 5280.0 * _FOOT),
    7: ("kilometres", 1e6),
    8: ("microinches", 25.4e-6),
    9: ("mils", 25.4e-3),
    10: ("yards", 3.0 * _FOOT),
    11: ("ångströms", 1e-7),
    12: ("nanometres", 1e-6),
    13: ("micrometres", 1e-3),
    14: ("decimetres", 100.0),
    15: ("decametres", 1e4),
    16: ("hectometres", 1e5),
    21: ("survey feet", _SURVEY_FOOT),
    22: ("survey inches", _SURVEY_FOOT / 12.0),
    23: ("survey yards", 3.0 * _SURVEY_FOOT),
    24: ("survey miles", 5280.0 * _SURVEY_FOOT),
}

#: What is written on a drawing; the text of an attribute's definition in a block is only a pattern.
_NOTES = frozenset(("TEXT", "MTEXT", "ATTRIB"))

#: Bodies and surfaces in the format of their modeller, which no outline can be read from.
_BODIES = frozenset(("3DSOLID", "BODY", "REGION", "SURFACE", "EXTRUDEDSURFACE", "REVOLVEDSURFACE"))

#: Bit of a block's flags: its content lies in another file.
_EXTERNAL = 4


def read_dxf(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the closed outlines of a DXF file.

    Raises:
        ReadError: the file is damaged or too big, the layer is missing, or nothing is drawn.
    """
    tags = scan(data)
    unit, unit_mm, said = _unit(tags, request)
    strokes = Strokes(request, tags.hidden)
    drawing = _Drawing(tags, strokes, unit_mm)
    drawing.add(tags.entities, _Reference(Placing.scaled(unit_mm or 1.0)))
    if strokes.skipped.keys() & _BODIES:
        strokes.hint = "; solid bodies are not read out of a DXF, ask for STEP or STL"
    return strokes.outline(unit, "", [*said, *drawing.findings()], sha256, unit_mm)


def _unit(tags: Tags, request: Request) -> tuple[str, float | None, list[str]]:
    """Return the unit that the user or the file states, the millimetres in it, and what is said of it.

    $MEASUREMENT is not looked at: it chooses hatch patterns and line types and says nothing of lengths.
    """
    number = whole(tags.header.get("$INSUNITS", "0"))
    stated = _INSUNITS.get(number, NOT_KNOWN)
    words, other_mm = _OTHER_UNITS.get(number, (UNIT_WORDS.get(stated, ""), None))
    if request.unit is not None:
        said = f"the file states {words}; read as {request.unit}, as asked"
        return request.unit, UNITS[request.unit], [said] if words and stated != request.unit else []
    if other_mm is not None:
        return "mm", other_mm, [f"the file states {words}; converted to mm, {other_mm:.10g} to each"]
    return stated, UNITS.get(stated), []


@dataclass(frozen=True)
class _Reference:
    """How the entities of a block are placed, and what they take from the reference to it.

    Attributes:
        placing: of the block within the drawing, mm.
        layer: of the reference, for entities on layer 0; None outside every block.
        colour: of the reference, for entities that take their block's.
        frozen_by: the frozen layer of a reference round them.
        depth: blocks round them.
    """

    placing: Placing
    layer: str | None = None
    colour: str = DEFAULT_COLOUR
    frozen_by: str = ""
    depth: int = 0

    def layer_of(self, entity: Entity) -> str:
        """Return the layer that an entity lies on as placed."""
        return self.layer if entity.layer == "0" and self.layer is not None else entity.layer


@dataclass
class _Drawing:
    """Places the entities of a drawing and hands what they draw to the strokes.

    Attributes:
        unit_mm: millimetres per unit of the file, None where it is not known.
        notes: entities by what is to be said of them.
        wrong: what dimensions say and what is drawn.
        damaged: entities left out that hold what is no number, and the place of the first.
        scaled: blocks whose own unit differs from the drawing's and that are placed without regard to it.
    """

    tags: Tags
    strokes: Strokes
    unit_mm: float | None
    notes: Counter[str] = field(default_factory=Counter)
    wrong: list[tuple[float, float]] = field(default_factory=list)
    damaged: int = 0
    first_damaged: str = ""
    scaled: dict[str, str] = field(default_factory=dict)
    count: int = 0

    def findings(self) -> list[str]:
        """Return what the user should look at, one sentence each."""
        said = [f"{count} entities {note}" for note, count in sorted(self.notes.items())]
        if self.wrong:
            said.append(dimensions.warning(self.wrong))
        if self.damaged:
            said.append(
                f"{self.damaged} of what is left out is damaged (no number where one belongs), "
                f"first {self.first_damaged}"
            )
        placed = [
            f"block {plain(n)} is drawn in {UNIT_WORDS[u]} and placed at its own size"
            for n, u in self.scaled.items()
        ]
        return said + placed

    def add(self, entities: list[Entity], within: _Reference) -> None:
        """Add entities as placed; those on layer 0 of a block take the layer of the block's reference."""
        for entity in entities:
            self._count()
            if entity.kind == "INSERT":
                self._add_block(entity, within)
            elif entity.kind in DRAWN_KINDS:
                self._add_drawn(entity, within)
            else:
                self._skip(entity, within)

    def _count(self) -> None:
        self.count += 1
        if self.count > DRAWING.entities:
            raise ReadError(
                f"the blocks draw more than {DRAWING.entities} entities in all; export the outline alone"
            )

    def _is_unseen(self, entity: Entity) -> bool:
        reason = "in paper space" if entity.flags(67) else "invisible" if entity.flags(60) else ""
        if reason:
            self.strokes.skipped[reason] += 1
        return bool(reason)

    # What is left out

    def _skip(self, entity: Entity, within: _Reference) -> None:
        self.strokes.skipped[plain(entity.kind)] += 1
        if entity.kind in _NOTES and whole(entity.text(67)) == 0:
            self.strokes.note(_words(entity))
        if not self._is_damaged(entity) and entity.kind == "DIMENSION" and whole(entity.text(67)) == 0:
            if within.frozen_by or within.layer_of(entity).upper() in self.tags.hidden:
                return
            own_unit = Placing.scaled(1.0 / (self.unit_mm or 1.0)).after(within.placing)
            wrong = dimensions.disagreement(entity, self.tags, own_unit, self.unit_mm)
            if wrong is not None:
                self.wrong.append(wrong)

    def _is_damaged(self, entity: Entity) -> bool:
        """Return True where something left out holds what is no number; note it."""
        if all(math.isfinite(number_in(value)) for code, value in entity.pairs if 10 <= code < 60):
            return False
        self.damaged += 1
        self.first_damaged = self.first_damaged or entity.where
        return True

    # Blocks

    def _add_block(self, entity: Entity, within: _Reference) -> None:
        if self._is_unseen(entity):
            return
        name, own_plane = entity.name(2).upper(), plane(entity)
        block = self.tags.blocks.get(name)
        reason = ""
        if block is None:
            reason = "of a missing block"
        elif own_plane is None:
            reason = "out of the drawing plane"
        elif block.head.flags() & _EXTERNAL:
            reason = "of a block that lies in another file"
        if block is None or own_plane is None or reason:
            for code in (10, 20, 41, 42, 50):
                entity.numbers(code)  # what is left out may hold no nonsense either
            self.strokes.skipped[f"INSERT {reason}"] += 1
            return
        if within.depth == DRAWING.nesting:
            raise ReadError(
                f"blocks lie more than {DRAWING.nesting} deep within each other at {plain(entity.name(2))!r} "
                "(does it hold itself?); explode the blocks and export again"
            )
        self._look_at_unit(name, entity)
        layer = within.layer_of(entity)
        for placing in self._steps(entity, block, within.placing.after(own_plane)):
            self.add(
                block.entities,
                _Reference(
                    placing,
                    layer,
                    self.tags.colour(entity, layer, within.colour),
                    within.frozen_by or (layer if layer.upper() in self.tags.frozen else ""),
                    within.depth + 1,
                ),
            )

    def _steps(self, entity: Entity, block: Block, outer: Placing) -> Iterator[Placing]:
        """Yield where a reference places its block, once for each row and column."""
        turned = Placing.turned(entity.number(50, 0.0))
        inner = turned.after(Placing.scaled(entity.number(41, 1.0), entity.number(42, 1.0))).after(
            Placing.shifted(-block.head.number(10, 0.0), -block.head.number(20, 0.0))
        )
        for row in range(max(int(entity.number(71, 1.0)), 1)):
            for column in range(max(int(entity.number(70, 1.0)), 1)):
                self._count()
                step = turned.point((column * entity.number(44, 0.0), row * entity.number(45, 0.0)))
                at = Placing.shifted(entity.number(10) + step[0], entity.number(20) + step[1])
                yield outer.after(at).after(inner)

    def _look_at_unit(self, name: str, entity: Entity) -> None:
        """Note a block in another unit that is placed at its own size: no program converts it afterwards."""
        unit = _INSUNITS.get(whole(self.tags.block_units.get(name, "0")))
        if unit is None or self.unit_mm is None or UNITS[unit] == self.unit_mm:
            return
        if abs(entity.number(41, 1.0)) == 1.0:
            self.scaled[entity.name(2)] = unit

    # Lines and curves

    def _add_drawn(self, entity: Entity, within: _Reference) -> None:
        if self._is_unseen(entity):
            return
        layer = within.layer_of(entity)
        colour = self.tags.colour(entity, layer, within.colour)
        if not self.strokes.wants(layer, colour, entity.kind, within.frozen_by):
            self._is_damaged(entity)
            return
        drawn = draw(entity)
        if isinstance(drawn, str):
            self.strokes.skipped[drawn] += 1
            return
        self.notes.update(drawn.notes)
        self.strokes.add(_placed(drawn, within.placing, layer), drawn.is_closed)


def _words(entity: Entity) -> str:
    """Return what a note shows; an attribute stands behind its name, as 'SCALE' does before '1:2'."""
    text = notes.shown("".join(value for code, value in entity.pairs if code in (1, 3)))
    return f"{entity.name(2)} {text}" if entity.kind == "ATTRIB" else text


def _placed(drawn: Drawn, placing: Placing, layer: str) -> list[Piece]:
    pieces = placing.pieces(drawn.pieces, layer)
    curve = drawn.curve
    if curve is not None:
        pieces += fitted(lambda t: placing.point(curve(t)), drawn.breaks, layer)
    return pieces
