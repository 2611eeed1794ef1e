"""What a drawing draws, whichever format it came in, built into closed outlines.

Words:
    stroke   one entity as placed: its lines and arcs, with layer, colour and kind
    off      a layer whose name says text, dimension, frame or axis: left out unless it is asked for

Everything is scaled to mm by the format's reader, or in the file's own unit while that is not known.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from app.files.readers.answer import JOIN_MM, NOT_KNOWN, Loop, ReadError, ReadOutline, Request, plain
from app.files.readers.chains import Chained, chained, largest_gap
from app.files.readers.curves import error_mm
from app.files.readers.limits import DRAWING
from app.files.readers.outlines import bounds_of, rows_of, size_doubt
from app.files.readers.overlaps import without_overlaps
from app.files.readers.pieces import Piece, Point, area

#: Layers that hold no outline, by their whole name. Common practice, no source.
_OFF = re.compile(
    r"(dim|dims|dimension|dimensions|text|texts|note|notes|title|title.?block|border|frame|sheet|defpoints|"
    r"hatch|centre.?lines?|center.?lines?|axis|axes|annotation|annotations)",
    re.IGNORECASE,
)

#: Chains and joins handed back for a picture; a drawing that is all loose ends would flood it.
_SHOWN = 400


@dataclass
class Strokes:
    """Gathers the strokes of one file, keeps count, and leaves out what is not asked for.

    Attributes:
        request: what is asked for.
        hidden: upper-case names of layers that are switched off.
        skipped: entities left out, by type or reason.
    """

    request: Request
    hidden: set[str] = field(default_factory=set)
    skipped: Counter[str] = field(default_factory=Counter)
    pieces: list[Piece] = field(default_factory=list)
    rings: list[list[Piece]] = field(default_factory=list)
    layers: Counter[str] = field(default_factory=Counter)
    colours: Counter[str] = field(default_factory=Counter)
    kinds: Counter[str] = field(default_factory=Counter)
    off: set[str] = field(default_factory=set)
    curves: int = 0
    points: int = 0

    def wants(self, layer: str, colour: str, kind: str) -> bool:
        """Return True where an entity is to be read; count it either way."""
        self.layers[layer] += 1
        self.colours[colour] += 1
        self.kinds[kind] += 1
        if not _OFF.fullmatch(layer):
            is_off = False
        else:
            is_off = True
            self.off.add(layer)
        reason = ""
        asked = {name.upper() for name in self.request.layers}
        if asked and layer.upper() not in asked:
            reason = "on other layers"
        elif not asked and layer.upper() in self.hidden:
            reason = "on hidden layers"
        elif not asked and is_off:
            reason = f"on layer {plain(layer)}, off at first"
        elif self.request.colours and colour not in self.request.colours:
            reason = "in other colours"
        elif self.request.kinds and kind not in self.request.kinds:
            reason = "of other kinds"
        if reason:
            self.skipped[reason] += 1
        return not reason

    def add(self, pieces: list[Piece], is_closed: bool) -> None:
        """Add the pieces of one entity.

        Raises:
            ReadError: there are more points than the limit.
        """
        self.points += len(pieces)
        if self.points > DRAWING.points:
            raise ReadError(f"more than {DRAWING.points} points; read one layer, or export the outline alone")
        self.curves += any(p.spread is not None for p in pieces)
        if is_closed:
            self.rings.append(pieces)
        else:
            self.pieces += pieces

    def outline(self, unit: str, doubt: str, warnings: Sequence[str], sha256: str) -> ReadOutline:
        """Return the closed outlines that the strokes make, or what hinders them.

        Raises:
            ReadError: a layer that was asked for holds nothing, or nothing was drawn.
        """
        self._check_layers()
        if not self.pieces and not self.rings:
            raise ReadError(f"no outline in the file{self._left_out()}")
        lines, overlaps = without_overlaps(self.pieces)
        said, hindrance = list(warnings), ""
        try:
            found = chained(lines, self.rings, self.request.join_mm)
        except ReadError as error:
            hindrance = str(error)
            found = Chained(open=[[p] for p in lines])
        else:
            hindrance = self._settle_open(found, said, unit)
        if found.empty:
            self.skipped["without length or area"] += found.empty
        if not found.rings and not hindrance:
            hindrance = f"no closed outline in the file{self._left_out()}"
        side = self.request.side
        loops = tuple(rows_of(ring, side) for ring in found.rings)
        chains = tuple(_open_rows(chain) for chain in found.open[:_SHOWN])
        bounds = bounds_of(loops, chains)
        if unit != NOT_KNOWN and self.request.unit is None:
            doubt = size_doubt(bounds, unit)
        elif unit != NOT_KNOWN and size_doubt(bounds, unit):
            said.append(size_doubt(bounds, unit))
        return ReadOutline(
            kind="drawing",
            unit=unit,
            loops=loops,
            within=nesting(found.rings),
            bounds=bounds,
            layers=dict(sorted(self.layers.items())),
            colours=dict(sorted(self.colours.items())),
            kinds=dict(sorted(self.kinds.items())),
            off=tuple(sorted(self.off)),
            skipped=dict(sorted(self.skipped.items())),
            joined=found.joined,
            largest_join_mm=found.largest_join,
            joins=tuple(found.joins[:_SHOWN]),
            doubles=found.doubles + overlaps,
            open=chains,
            hindrance=hindrance,
            curves=self.curves,
            curve_error_mm=max((error_mm(p, side) for ring in found.rings for p in ring), default=0.0),
            unit_doubt=doubt,
            warnings=tuple(said),
            sha256=sha256,
        )

    def _check_layers(self) -> None:
        present = {name.upper() for name in self.layers}
        missing = [name for name in self.request.layers if name.upper() not in present]
        if missing:
            have = ", ".join(sorted(map(plain, self.layers))[:12]) or "none"
            raise ReadError(f"no lines on layer {plain(missing[0])!r}; layers with lines: {have}")

    def _left_out(self) -> str:
        most = self.skipped.most_common(6)
        return f"; left out: {', '.join(f'{n} {kind}' for kind, n in most)}" if most else ""

    # Open chains

    def _settle_open(self, found: Chained, said: list[str], unit: str) -> str:
        """Close what may be closed, drop loose axis lines, and return what hinders the rest."""
        reference = [c for c in found.open if any(all(_on_axis(p, k) for p in c) for k in (0, 1))]
        if reference and (len(reference) < len(found.open) or found.rings):
            found.open = [c for c in found.open if c not in reference]
            self.skipped["loose lines on z = 0 or r = 0"] += len(reference)
        if self.request.mirror:
            self._complete(found, said)
        ends_on_axle = [c for c in found.open if max(abs(c[0].start[1]), abs(c[-1].end[1])) <= JOIN_MM]
        along_axle = [c for c in ends_on_axle if c not in reference]
        by_line = found.open if self.request.close and len(found.open) == 1 and not found.rings else []
        for chain in along_axle or by_line:
            start, end = chain[0].start, chain[-1].end
            way = "along the axle line" if along_axle else "by a straight line"
            said.append(
                f"closed {way} from z {end[0]:.3f}, r {end[1]:.3f} to z {start[0]:.3f}, r {start[1]:.3f} "
                f"({math.dist(start, end):.3f} long)"
            )
            found.rings.append(_leftward([*chain, Piece(end, start, 0.0, chain[-1].layer)]))
        found.open = [c for c in found.open if c not in along_axle and c not in by_line]
        if found.open and found.rings and self.request.drop_open:
            self.skipped["open chains"] += len(found.open)
            said.append(f"{len(found.open)} open chains left out, as asked: they bound nothing")
            found.open = []
        return self._open_message(found, unit) if found.open else ""

    def _complete(self, found: Chained, said: list[str]) -> None:
        """Complete each open chain by its image in the line through its ends."""
        rest: list[list[Piece]] = []
        for chain in found.open:
            ring = mirrored_ring(chain)
            if ring is None:
                rest.append(chain)
                continue
            (z0, r0), (z1, r1) = chain[0].start, chain[-1].end
            said.append(
                f"completed by its image in the line from z {z0:.3f}, r {r0:.3f} to z {z1:.3f}, r {r1:.3f}"
            )
            found.rings.append(ring)
        found.open = rest

    def _open_message(self, found: Chained, unit: str) -> str:
        gap, (z, r), (other_z, other_r), layer = largest_gap(found.open)
        mm = "" if unit == NOT_KNOWN else " mm"
        more = f" ({len(found.open)} open chains in all)" if len(found.open) > 1 else ""
        join = f", read again with --join {math.ceil(gap * 100.0 + 1e-6) / 100.0:g}" if gap < 1.0 else ""
        drawn = Counter(p.layer for chain in found.open for p in chain)
        one_layer = ", or read one layer with --layer" if len(drawn) > 1 or found.rings else ""
        names = ", ".join(f"{plain(name)}: {n}" for name, n in self.layers.most_common(6))
        return (
            f"the outline is open: a gap of {gap:.4g}{mm} between z {z:.3f}, r {r:.3f} and z {other_z:.3f}, "
            f"r {other_r:.3f} on layer {plain(layer)}{more}; close it in the drawing{join}"
            f"{one_layer + f' ({names})' if one_layer else ''}"
        )


def mirrored_ring(chain: list[Piece]) -> list[Piece] | None:
    """Return the ring of an open chain and its image in the line through its ends; None without such a line.

    Ends that differ in z or in r by less than the join distance are taken as upright or level.
    """
    start, end = chain[0].start, chain[-1].end
    dz, dr = end[0] - start[0], end[1] - start[1]
    span = math.hypot(dz, dr)
    if span <= JOIN_MM:
        return None
    uz, ur = (
        (0.0, 1.0) if abs(dz) <= JOIN_MM else (1.0, 0.0) if abs(dr) <= JOIN_MM else (dz / span, dr / span)
    )

    def image(p: Point) -> Point:
        along, off = (
            (p[0] - start[0]) * uz + (p[1] - start[1]) * ur,
            (p[1] - start[1]) * uz - (p[0] - start[0]) * ur,
        )
        return start[0] + along * uz + off * ur, start[1] + along * ur - off * uz

    back = [
        Piece(image(p.end), image(p.start), p.bulge, p.layer, p.stated, p.spread) for p in reversed(chain)
    ]
    # The ends lie on the line; a rounding off it must not open the ring.
    back[0] = back[0]._replace(start=end)
    back[-1] = back[-1]._replace(end=start)
    return _leftward([*chain, *back])


def nesting(rings: Sequence[list[Piece]]) -> tuple[int, ...]:
    """Return for each ring the number of the smallest ring round it, -1 for an outer one."""
    sizes = [area(ring) for ring in rings]
    boxes = [_box(ring) for ring in rings]
    found = []
    for k, ring in enumerate(rings):
        round_it = [
            j
            for j in range(len(rings))
            if sizes[j] > sizes[k] and _boxed(boxes[k], boxes[j]) and _holds(rings[j], ring[0].start)
        ]
        found.append(min(round_it, key=lambda j: sizes[j], default=-1))
    return tuple(found)


def _box(ring: list[Piece]) -> tuple[float, float, float, float]:
    zs, rs = [p.start[0] for p in ring], [p.start[1] for p in ring]
    return min(zs), max(zs), min(rs), max(rs)


def _boxed(inner: tuple[float, ...], outer: tuple[float, ...]) -> bool:
    """True where two boxes overlap: arcs may bulge beyond a box of corners."""
    return inner[0] <= outer[1] and outer[0] <= inner[1] and inner[2] <= outer[3] and outer[2] <= inner[3]


def _holds(ring: list[Piece], place: Point) -> bool:
    """Return True where a place lies within a ring, arcs taken by their chords in eighths."""
    z, r = place
    odd = False
    for p in ring:
        for (z0, r0), (z1, r1) in _chords(p):
            if (r0 > r) != (r1 > r) and z < z0 + (r - r0) * (z1 - z0) / (r1 - r0):
                odd = not odd
    return odd


def _chords(p: Piece) -> list[tuple[Point, Point]]:
    if not p.bulge:
        return [(p.start, p.end)]
    from app.files.readers.pieces import arc_centre

    centre, radius = arc_centre(p.start, p.end, p.bulge)
    first, sweep = math.atan2(p.start[1] - centre[1], p.start[0] - centre[0]), 4.0 * math.atan(p.bulge)
    places = [p.start]
    for k in range(1, 8):
        angle = first + sweep * k / 8.0
        places.append((centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)))
    return list(zip(places, [*places[1:], p.end], strict=True))


def _leftward(ring: list[Piece]) -> list[Piece]:
    return ring if area(ring) > 0.0 else [p.reversed() for p in reversed(ring)]


def _on_axis(p: Piece, axis: int) -> bool:
    """True for a line on z = 0 (axis 0) or r = 0 (axis 1): no outline leans on it where it hangs loose."""
    return p.bulge == 0.0 and max(abs(p.start[axis]), abs(p.end[axis])) <= JOIN_MM


def _open_rows(chain: list[Piece]) -> Loop:
    rows = tuple((p.start[0], p.start[1], p.bulge) for p in chain)
    return (*rows, (chain[-1].end[0], chain[-1].end[1], 0.0))
