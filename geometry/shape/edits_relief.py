"""Relief: the skin cut back to the line round shapes; and a stretch taken over from another section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.distance import holds
from geometry.shape.edits_pieces import SAME_MM, Piece, distance, grown, meetings, pieces_of, stretch
from geometry.shape.edits_stretch import Cut, Skin, Spot, replaced
from geometry.shape.section import Section, Zone

#: Skin that lies less than this too near is at the line already, mm.
_AT_LINE_MM = 1e-6
#: So many separate cuts at most.
_MOST_CUTS = 50
_PARTS = "The cut would go through the metal and part it; take a smaller gap, or move the wheel first."


def relieved(section: Section, shapes: Sequence[Path], gap_mm: float) -> tuple[Section, int]:
    """Return the section with its skin cut back so far from closed shapes, and the number of separate cuts.

    Args:
        section: without faults, in the frame of the shapes.
        shapes: closed counterclockwise outlines, all to be cleared.
        gap_mm: least distance that is left, 0 or more.

    Raises:
        GeometryError: the cut reaches into the locked contour, would part the metal, or a shape lies wholly
            inside it.
    """
    if gap_mm < 0.0:
        raise GeometryError(f"A gap is 0 or more, not {gap_mm:g} mm.")
    loops = [pieces_of(path) for path in shapes]
    line = grown(loops, gap_mm) if gap_mm > 0.0 else [piece for loop in loops for piece in loop]

    def too_near(place: complex) -> bool:
        inside = any(holds(path.table, place.real, place.imag) for path in shapes)
        return inside or distance([p for loop in loops for p in loop], place)[0] < gap_mm - _AT_LINE_MM

    for done in range(_MOST_CUTS):
        skin = Skin.of(section)
        runs = _runs(skin, line, too_near)
        if not runs:
            _refuse_inside(skin, line)
            return section, done
        start, end = runs[0]
        new = _along_line(skin, line, start, end)
        try:
            section = replaced(skin, start, end, new)
        except GeometryError as error:
            if _crosses(new, skin):
                raise GeometryError(_PARTS, error.place) from error
            raise
    raise GeometryError("The shape's line meets the skin in too many places; draw the relief by hand.")


def _runs(skin: Skin, line: Sequence[Piece], too_near: object) -> list[tuple[Cut, Cut]]:
    """Return the stretches of the skin that lie too near."""
    assert callable(too_near)
    parts: list[tuple[int, float, float, bool]] = []
    for k, piece in enumerate(skin.pieces):
        cuts = {0.0, 1.0}
        for other in line:
            cuts.update(share for share, _ in meetings(piece, other))
        shares = sorted(cuts)
        for low, high in pairwise(shares):
            if (high - low) * piece.length > SAME_MM:
                parts.append((k, low, high, bool(too_near(piece.at((low + high) / 2.0)))))
    if all(part[3] for part in parts):
        raise GeometryError("All of the section lies nearer to the shape than that; nothing would be left.")
    runs = []
    for i, (k, low, _, near) in enumerate(parts):
        if near and not parts[i - 1][3]:
            j = i
            while parts[(j + 1) % len(parts)][3]:
                j += 1
            last = parts[j % len(parts)]
            runs.append((skin.at(k, low, starts=True), skin.at(last[0], last[2], starts=False)))
    return runs


def _along_line(skin: Skin, line: Sequence[Piece], start: Cut, end: Cut) -> list[Piece]:
    """Return the line's pieces from the start of a cut to its end, metal to their left."""
    here = skin.pieces[start.piece].at(start.share)
    there = skin.pieces[end.piece].at(end.share)
    # The line runs round the shape with the shape to its left; the new skin runs it backwards.
    back = [piece.reversed() for piece in line]
    found: list[Piece] = []
    at = here
    for _ in range(2 * len(back) + 2):
        on = [(distance([piece], at), piece) for piece in back]
        on = [(near, piece) for near, piece in on if near[0] < 1e-5 and (1.0 - near[2]) * piece.length > 1e-5]
        if not on:
            break
        (_, _, share), piece = on[0]
        stop = distance([piece], there)
        if stop[0] < 1e-5 and stop[2] > share:
            found.append(replace(piece.part(share, stop[2]), start=at, end=there))
            return found
        found.append(replace(piece.part(share, 1.0), start=at))
        at = piece.end
    raise GeometryError(_PARTS, (here.real, here.imag))


def _crosses(new: Sequence[Piece], skin: Skin) -> bool:
    """Return True where a new chain meets the old skin anywhere but at its two ends."""
    ends = new[0].start, new[-1].end
    met = [p.at(share) for p in new for other in skin.pieces for share, _ in meetings(p, other)]
    return any(min(abs(place - end) for end in ends) > 1e-3 for place in met)


def _refuse_inside(skin: Skin, line: Sequence[Piece]) -> None:
    path = skin.outline.path
    for piece in line:
        place = piece.at(0.5)
        near = distance(skin.pieces, place)[0]
        if near > _AT_LINE_MM and holds(path.table, place.real, place.imag):
            raise GeometryError(
                "The shape lies wholly inside the metal there; no cut from the skin reaches it.",
                (place.real, place.imag),
            )


def taken_over(section: Section, other: Section, a: Spot, b: Spot) -> Section:
    """Return the section with the stretch between two places of its skin replaced by that of another section.

    The other's stretch runs between its places nearest to the two; where it lies apart from them, a straight
    step leads to it. Corner radii, arcs and zones come with it.

    Raises:
        GeometryError: either section has a fault, the stretch reaches into the locked contour, or no valid
            section comes out.
    """
    skin, source = Skin.of(section), Skin.of(other)
    start, end = skin.between(a, b)
    ends = skin.pieces[start.piece].at(start.share), skin.pieces[end.piece].at(end.share)
    first, last = (source.nearest(Spot(p.real, p.imag)) for p in ends)
    found = stretch(source.pieces, first, last)
    own = sum(piece.length for piece in skin.chain(start, end))
    length = sum(piece.length for _, piece in found)
    if not found or length > 2.0 * own + 100.0:
        raise GeometryError(
            "The other wheel has no such stretch: its skin runs the other way round between these places.",
            (a.z, a.r),
        )
    chain = [piece for _, piece in found]
    zones: list[Zone] = [source.zone(k) for k, _ in found]
    start, end = replace(start, corner=None), replace(end, corner=None)
    start, end = skin.at(*start.place, starts=True), skin.at(*end.place, starts=False)
    if abs(chain[0].start - ends[0]) > SAME_MM:
        chain, zones = [Piece(ends[0], chain[0].start), *chain], [zones[0], *zones]
    else:
        chain[0] = replace(chain[0], start=ends[0])
    if abs(chain[-1].end - ends[1]) > SAME_MM:
        chain, zones = [*chain, Piece(chain[-1].end, ends[1])], [*zones, zones[-1]]
    else:
        chain[-1] = replace(chain[-1], end=ends[1])
    return replaced(skin, start, end, chain, zones)
