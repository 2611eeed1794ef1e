"""DXF: lines, arcs, circles, polylines, ellipses, splines and placed blocks, joined into closed outlines.

x is z along the axle, y is r from it. Lines and arcs come in exactly. Everything is scaled to mm at once,
so all lengths here are mm, or the file's own unit while that is not known.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field

from app.files.readers.answer import JOIN_MM, NOT_KNOWN, UNITS, ReadError, ReadOutline, Request, plain
from app.files.readers.chains import Chained, chained, largest_gap
from app.files.readers.curves import error_mm, fitted
from app.files.readers.entities import DRAWN_KINDS, Drawn, draw, plane
from app.files.readers.limits import DRAWING
from app.files.readers.outlines import checked_bounds, rows_of, size_warnings
from app.files.readers.pieces import Piece, area
from app.files.readers.placing import Placing
from app.files.readers.tags import Entity, Tags, scan

#: $INSUNITS as published with the format; other values are named but not converted.
_INSUNITS = {1: "in", 4: "mm"}
_OTHER_UNITS = {2: "feet", 5: "centimetres", 6: "metres", 8: "microinches", 9: "mils", 13: "micrometres"}


def read_dxf(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the closed outlines of a DXF file.

    Raises:
        ReadError: the file is damaged or too big, the layer is missing, or an outline is open, unclear or
            reaches below the axle line.
    """
    tags = scan(data)
    unit, warnings = _unit(tags, request)
    doubt = warnings[0] if unit == NOT_KNOWN and warnings else ""
    drawing = _Drawing(tags, request)
    drawing.add(tags.entities, Placing.scaled(UNITS.get(unit, 1.0)), None, 0)
    drawing.check_layers()
    found = chained(drawing.pieces, drawing.rings, request.join_mm)
    if found.empty:
        drawing.skipped["without length or area"] += found.empty
    warnings += _settle_open(found, drawing, request, unit)
    if not found.rings:
        raise ReadError(f"no closed outline in the file{drawing.left_out()}")
    loops = tuple(rows_of(ring, request.side) for ring in found.rings)
    bounds = checked_bounds(loops, unit)
    if drawing.heights:
        warnings.append(f"{drawing.heights} entities leave the drawing plane; their heights are dropped")
    return ReadOutline(
        kind="drawing",
        unit=unit,
        loops=loops,
        bounds=bounds,
        layers=dict(sorted(drawing.layers.items())),
        skipped=dict(sorted(drawing.skipped.items())),
        joined=found.joined,
        largest_join_mm=found.largest_join,
        doubles=found.doubles,
        curves=drawing.curves,
        curve_error_mm=max((error_mm(p, request.side) for ring in found.rings for p in ring), default=0.0),
        warnings=(*warnings, *size_warnings(bounds, unit)),
        sha256=sha256,
        unit_doubt=doubt,
    )


def _unit(tags: Tags, request: Request) -> tuple[str, list[str]]:
    """Return the unit that the user or the file states, and what is doubtful about it."""
    code = tags.header.get("$INSUNITS", "0")
    number = int(code) if code.isdigit() else 0
    stated = _INSUNITS.get(number, NOT_KNOWN)
    hint = {"0": "in", "1": "mm"}.get(tags.header.get("$MEASUREMENT", ""), stated)
    if request.unit is not None:
        differs = stated not in (NOT_KNOWN, request.unit)
        said = f"the file states {stated}; read as {request.unit}, as asked"
        return request.unit, [said] if differs else []
    if stated == NOT_KNOWN:
        name = _OTHER_UNITS.get(number)
        return NOT_KNOWN, [f"the file states {name}, which is not converted"] if name else []
    if hint != stated:
        return NOT_KNOWN, [f"the file's header contradicts itself: unit {stated}, but set up for {hint}"]
    return stated, []


@dataclass
class _Drawing:
    """What the entities of a drawing draw, and what was left out."""

    tags: Tags
    request: Request
    pieces: list[Piece] = field(default_factory=list)
    rings: list[list[Piece]] = field(default_factory=list)
    layers: Counter[str] = field(default_factory=Counter)
    skipped: Counter[str] = field(default_factory=Counter)
    seen: set[str] = field(default_factory=set)
    curves: int = 0
    heights: int = 0
    count: int = 0
    points: int = 0

    def add(self, entities: list[Entity], placing: Placing, block_layer: str | None, depth: int) -> None:
        """Add entities as placed; those on layer 0 of a block take the layer of the block's reference."""
        for entity in entities:
            self._count()
            layer = block_layer if entity.layer == "0" and block_layer is not None else entity.layer
            if entity.kind == "INSERT":
                self._add_block(entity, placing, layer, depth)
            elif entity.kind in DRAWN_KINDS:
                self._add_drawn(entity, placing, layer)
            else:
                self.skipped[plain(entity.kind)] += 1

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
            self.skipped[f"INSERT {reason}"] += 1
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
        for row in range(max(int(entity.number(71, 1.0)), 1)):
            for column in range(max(int(entity.number(70, 1.0)), 1)):
                self._count()
                step = turned.point((column * entity.number(44, 0.0), row * entity.number(45, 0.0)))
                at = Placing.shifted(entity.number(10) + step[0], entity.number(20) + step[1])
                self.add(block.entities, placing.after(own_plane).after(at).after(inner), layer, depth + 1)

    def _add_drawn(self, entity: Entity, placing: Placing, layer: str) -> None:
        self.seen.add(layer)
        reason = self._left_out(entity, layer)
        drawn = reason or draw(entity)
        if isinstance(drawn, str):
            self.skipped[drawn] += 1
            return
        pieces = self._placed(drawn, placing, layer)
        self.points += len(pieces)
        if self.points > DRAWING.points:
            raise ReadError(f"more than {DRAWING.points} points; read one layer, or export the outline alone")
        self.layers[layer] += 1
        self.heights += drawn.has_height
        if drawn.is_closed:
            self.rings.append(pieces)
        else:
            self.pieces += pieces

    def _placed(self, drawn: Drawn, placing: Placing, layer: str) -> list[Piece]:
        pieces = placing.pieces(drawn.pieces, layer)
        curve = drawn.curve
        if curve is not None:
            pieces += fitted(lambda t: placing.point(curve(t)), drawn.breaks, layer)
        self.curves += any(p.spread is not None for p in pieces)
        return pieces

    def _left_out(self, entity: Entity, layer: str) -> str:
        """Return why an entity is not read, empty where it is."""
        wanted = {name.upper() for name in self.request.layers}
        if wanted and layer.upper() not in wanted:
            return "on other layers"
        if not wanted and layer.upper() in self.tags.hidden:
            return "on hidden layers"
        if entity.flags(67):
            return "in paper space"
        return "invisible" if entity.flags(60) else ""

    def check_layers(self) -> None:
        """Raise ReadError where a layer that was asked for holds nothing."""
        present = {name.upper() for name in self.seen}
        missing = [name for name in self.request.layers if name.upper() not in present]
        if missing:
            have = ", ".join(sorted(map(plain, self.seen))[:12]) or "none"
            raise ReadError(f"no lines on layer {plain(missing[0])!r}; layers with lines: {have}")

    def left_out(self) -> str:
        """Return what was skipped, for messages."""
        most = self.skipped.most_common(6)
        return f"; left out: {', '.join(f'{n} {kind}' for kind, n in most)}" if most else ""


def _settle_open(found: Chained, drawing: _Drawing, request: Request, unit: str) -> list[str]:
    """Close what may be closed, drop loose axis lines, and return what the user should know.

    Raises:
        ReadError: an outline stays open.
    """
    reference = [c for c in found.open if any(all(_on_axis(p, k) for p in c) for k in (0, 1))]
    if reference and (len(reference) < len(found.open) or found.rings):
        found.open = [c for c in found.open if c not in reference]
        drawing.skipped["loose lines on z = 0 or r = 0"] += len(reference)
    said: list[str] = []
    ends_on_axle = [c for c in found.open if max(abs(c[0].start[1]), abs(c[-1].end[1])) <= JOIN_MM]
    along_axle = [c for c in ends_on_axle if c not in reference]
    by_line = found.open if request.close and len(found.open) == 1 and not found.rings else []
    for chain in along_axle or by_line:
        start, end = chain[0].start, chain[-1].end
        way = "along the axle line" if along_axle else "by a straight line"
        said.append(
            f"closed {way} from z {end[0]:.3f}, r {end[1]:.3f} to z {start[0]:.3f}, r {start[1]:.3f} "
            f"({math.dist(start, end):.3f} long)"
        )
        ring = [*chain, Piece(end, start, 0.0, chain[-1].layer)]
        found.rings.append(ring if area(ring) > 0.0 else [p.reversed() for p in reversed(ring)])
    found.open = [c for c in found.open if c not in along_axle and c not in by_line]
    if found.open:
        raise ReadError(_open_message(found, drawing, unit))
    return said


def _on_axis(p: Piece, axis: int) -> bool:
    """True for a line on z = 0 (axis 0) or r = 0 (axis 1): no outline leans on it where it hangs loose."""
    return p.bulge == 0.0 and max(abs(p.start[axis]), abs(p.end[axis])) <= JOIN_MM


def _open_message(found: Chained, drawing: _Drawing, unit: str) -> str:
    gap, (z, r), (other_z, other_r), layer = largest_gap(found.open)
    mm = "" if unit == NOT_KNOWN else " mm"
    more = f" ({len(found.open)} open chains in all)" if len(found.open) > 1 else ""
    join = f", read again with --join {math.ceil(gap * 100.0 + 1e-6) / 100.0:g}" if gap < 1.0 else ""
    one_layer = f", or read one layer with --layer ({_layers(drawing)})" if len(drawing.layers) > 1 else ""
    return (
        f"the outline is open: a gap of {gap:.4g}{mm} between z {z:.3f}, r {r:.3f} and z {other_z:.3f}, "
        f"r {other_r:.3f} on layer {plain(layer)}{more}; close it in the drawing{join}{one_layer}"
    )


def _layers(drawing: _Drawing) -> str:
    return ", ".join(f"{plain(name)}: {n}" for name, n in drawing.layers.most_common(6))
