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
from dataclasses import dataclass, field, replace

from app.files.readers import notes
from app.files.readers.answer import JOIN_MM, NOT_KNOWN, UNITS, Loop, ReadError, ReadOutline, Request, plain
from app.files.readers.chains import chained, without_doubles
from app.files.readers.crossing import chords, self_crossing
from app.files.readers.curves import error_mm
from app.files.readers.limits import DRAWING
from app.files.readers.nesting import frames, nesting, sheets
from app.files.readers.net import LEVEL_MM, Chained
from app.files.readers.outlines import Bounds, bounds_of, in_plausible_unit, is_laid_anywhere, rows_of
from app.files.readers.overlaps import without_overlaps
from app.files.readers.pieces import Piece, area, length, lowest_and_bounds
from app.files.readers.settling import Settling

#: Words of which the names of layers without an outline are made. Common practice, no source. "Centre" alone
#: is not among them: the centre of a wheel may lie there; nor is "sheet", of which shields are made.
_OFF = re.compile(
    r"(dims?|dimensions?|texts?|mtext|notes?|title|title[ _-]?block|border|frame|defpoints|hatch(ing)?|"
    r"cent(re|er)[ _-]?lines?|axis|axes|annotations?)([ _-]?(lines?|layer))?([ _-]?[0-9]+)?"
)

#: Chains and joins handed back for a picture; a drawing that is all loose ends would flood it.
_SHOWN = 400

#: No wheel or brake reaches as far from its origin as this, mm.
_FAR = 1000.0


def is_off_at_first(layer: str) -> bool:
    """Return True for a layer whose whole name says text, dimension, frame or axis.

    Before the name of a layer that was bound from another drawing stands that drawing's name.
    """
    name = re.split(r"[|$]", layer.lower())[-1]
    return _OFF.fullmatch(name) is not None


@dataclass
class Strokes:
    """Gathers the strokes of one file, keeps count, and leaves out what is not asked for.

    Attributes:
        request: what is asked for.
        hidden: upper-case names of layers that are switched off.
        skipped: entities left out, by type or reason.
        hint: what to do where nothing is found.
        scales: words of notes that state a scale other than full size.
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
    hint: str = ""
    scales: set[str] = field(default_factory=set)
    _names: dict[str, str] = field(default_factory=dict)

    def wants(self, layer: str, colour: str, kind: str, frozen_by: str = "") -> bool:
        """Return True where an entity is to be read; count it either way.

        Args:
            layer: its name; two spellings of one name are one layer.
            colour: as the format's reader names it.
            kind: of entity, as the format calls it.
            frozen_by: a layer that hides the entity although it lies on another, as that of a frozen block.
        """
        layer = self._names.setdefault(layer.upper(), layer)
        self.layers[layer] += 1
        self.colours[colour] += 1
        self.kinds[kind] += 1
        is_off = is_off_at_first(layer)
        if is_off or layer.upper() in self.hidden:
            self.off.add(layer)
        asked = {name.upper() for name in self.request.layers}
        hidden_by = frozen_by.upper() or layer.upper()
        reason = ""
        if asked and layer.upper() not in asked:
            reason = "on other layers"
        elif hidden_by in self.hidden and hidden_by not in asked:
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
        # A closed polyline that runs out and back on one line is that line.
        if is_closed and abs(area(pieces)) > LEVEL_MM * LEVEL_MM:
            self.rings.append(pieces)
        else:
            self.pieces += pieces

    def note(self, text: str) -> None:
        """Look at what a note says of the drawing's scale, whatever layer it lies on."""
        scale = notes.scale_in(text)
        if scale:
            self.scales.add(scale)

    def outline(
        self, unit: str, doubt: str, warnings: Sequence[str], sha256: str, unit_mm: float | None = None
    ) -> ReadOutline:
        """Return the closed outlines that the strokes make, or what hinders them.

        Where the size in the stated unit is not plausible, the answer is in the file's own unit.

        Args:
            unit: that the strokes are scaled to mm from, or not known.
            doubt: why it is not known although the file says something about it; empty where it is known.
            warnings: of the format's reader.
            sha256: of the file.
            unit_mm: millimetres in the file's own unit, where it is no key of UNITS.

        Raises:
            ReadError: a layer that was asked for holds nothing, or the file draws nothing at all.
        """
        self._check_layers()
        if not self.layers:
            raise ReadError(f"no outline in the file{self._left_out()}{self.hint}")

        said = [*([notes.warning(self.scales)] if self.scales else []), *warnings]

        def build(as_unit: str) -> ReadOutline:
            factor = 1.0 if as_unit == unit else unit_mm or UNITS[unit]
            pieces = _shrunk(self.pieces, factor)
            rings = [_shrunk(ring, factor) for ring in self.rings]
            return self._built(pieces, rings, as_unit, said)

        answer = in_plausible_unit(unit, self.request, build, unit_mm)
        return replace(answer, unit_doubt=answer.unit_doubt or doubt, sha256=sha256)

    def _built(
        self, pieces: list[Piece], rings: list[list[Piece]], unit: str, warnings: Sequence[str]
    ) -> ReadOutline:
        said, skipped, side = list(warnings), Counter(self.skipped), self.request.side
        found = self._chained(pieces, rings, said)
        hindrance = Settling(found, self.request, skipped, said).hindrance(unit, self.layers)
        if found.empty:
            skipped["without length or area"] += found.empty
        if not found.rings and not hindrance:
            lost = "; one has no area, or crosses itself so that its areas cancel out" if found.empty else ""
            hindrance = f"no closed outline in the file{lost}{self._left_out()}{self.hint}"
        round_all = frames(found.rings)
        off = sheets(found.rings, round_all, tuple(UNITS.values()) if unit == NOT_KNOWN else (1.0,))
        doubtful = [k for k in round_all if k not in off]
        said += [f"outline {k + 1} is a rectangle round all others: a frame?" for k in doubtful]
        loops = tuple(rows_of(ring, side) for ring in found.rings)
        loose = sorted(found.open, key=length, reverse=True)
        loose += [[p] for p in (*found.tangled, *found.trees)]
        chains = tuple(_open_rows(chain) for chain in loose)
        bounds = bounds_of(loops, chains)
        said += _crossed(loops)
        said += _far_off(bounds) + _on_axle_line([loop for k, loop in enumerate(loops) if k not in round_all])
        return ReadOutline(
            kind="drawing",
            unit=unit,
            loops=loops,
            within=nesting(found.rings),
            frames=tuple(off),
            bounds=bounds,
            layers=dict(sorted(self.layers.items())),
            colours=dict(sorted(self.colours.items())),
            kinds=dict(sorted(self.kinds.items())),
            off=tuple(sorted(self.off)),
            skipped=dict(sorted(skipped.items())),
            joined=found.joined,
            largest_join_mm=found.largest_join,
            joins=tuple(found.joins[:_SHOWN]),
            doubles=found.doubles,
            open=chains[:_SHOWN],
            hindrance=hindrance,
            curves=self.curves,
            curve_error_mm=max((error_mm(p, side) for ring in found.rings for p in ring), default=0.0),
            warnings=tuple(said),
            sha256="",
        )

    def _chained(self, pieces: list[Piece], rings: list[list[Piece]], said: list[str]) -> Chained:
        """Return the outlines of the pieces without overlaps, or as they are where only so they are clear.

        Two bodies that share a stretch of edge, each drawn whole, are closed only as they are.
        """
        join, grow = self.request.join_mm, self.request.side == "outward"
        single = without_doubles(pieces)
        doubles = len(pieces) - len(single)
        unstacked = without_overlaps(single)
        if unstacked.is_partial:
            said.append("too many lines lie side by side to look for all that overlap; read fewer layers")
        found = chained(unstacked.pieces, rings, join, grow)
        found.doubles += doubles + unstacked.dropped
        if unstacked.dropped and (found.open or found.tangled or found.trees or found.inside):
            as_drawn = chained(single, rings, join, grow)
            if not (as_drawn.open or as_drawn.tangled or as_drawn.trees):
                as_drawn.doubles += doubles
                return as_drawn
        return found

    def _check_layers(self) -> None:
        present = {name.upper() for name in self.layers}
        missing = [name for name in self.request.layers if name.upper() not in present]
        if missing:
            have = ", ".join(sorted(map(plain, self.layers))[:12]) or "none"
            raise ReadError(f"no lines on layer {plain(missing[0])!r}; layers with lines: {have}")

    def _left_out(self) -> str:
        most = self.skipped.most_common(6)
        return f"; left out: {', '.join(f'{n} {kind}' for kind, n in most)}" if most else ""


def _shrunk(pieces: list[Piece], factor: float) -> list[Piece]:
    if factor == 1.0:
        return pieces
    return [
        p._replace(
            start=(p.start[0] / factor, p.start[1] / factor), end=(p.end[0] / factor, p.end[1] / factor)
        )
        for p in pieces
    ]


def _crossed(loops: Sequence[Loop]) -> list[str]:
    """Return what is said of outlines that meet themselves."""
    found = [(k, self_crossing(chords(loop))) for k, loop in enumerate(loops)]
    return [
        f"outline {k + 1} crosses or touches itself near z {place[0]:.3f}, r {place[1]:.3f}: it gives no "
        "readings until it is mended, in the drawing or by moving a vertex"
        for k, place in found
        if place is not None
    ]


def _far_off(bounds: Bounds) -> list[str]:
    """Return what is said of outlines that lie far from the drawing's origin."""
    z0, z1, r0, r1 = bounds
    off = math.hypot(max(z0, -z1, 0.0), max(r0, -r1, 0.0))
    if off <= _FAR and not is_laid_anywhere(bounds):
        return []
    return [
        f"everything lies {off:.6g} or more from the drawing's origin, about z {(z0 + z1) / 2.0:.6g}, r "
        f"{(r0 + r1) / 2.0:.6g}; it is measured from there, so that no digit is lost: place it with --origin"
    ]


def _on_axle_line(loops: Sequence[Loop]) -> list[str]:
    """Return what is said of outlines that stand on r = 0: so does a drawing moved to its lower corner."""
    lowest = min((lowest_and_bounds(loop)[0] for loop in loops), key=lambda place: place[1], default=None)
    if lowest is None or abs(lowest[1]) > JOIN_MM:
        return []
    return [
        f"the outline reaches down to the axle line, r = 0, at z {lowest[0]:.3f}: is the drawing's origin "
        "the hub's?"
    ]


def _open_rows(chain: list[Piece]) -> Loop:
    rows = tuple((p.start[0], p.start[1], p.bulge) for p in chain)
    return (*rows, (chain[-1].end[0], chain[-1].end[1], 0.0))
