"""A stretch of the skin moved by a distance, or to a wall: "make this wall 5.0 from here to here".

The new skin of a wall is the curve at that distance from the skin across the metal, so that every place of it
is exactly so far from the other side; arcs stay arcs about the same centres. At a corner that was chosen, the
edge beyond is drawn out or cut back to it; elsewhere a step, or a slope of a given length, leads to it.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from geometry.errors import GeometryError
from geometry.shape.edits_pieces import (
    SAME_MM,
    Piece,
    distance,
    length_between,
    meetings,
    parallel,
    run_on,
)
from geometry.shape.edits_stretch import Cut, Skin, Spot, replaced
from geometry.shape.section import Section

#: An edge is drawn out to the new skin over at most so many times what the skin moves: at 20 degrees or more.
#: A flatter one would change the wall far beyond the chosen place, and a step is made.
_DRAWN_OUT = 3.0
#: The skin across ends where it turns round the metal by more than this.
_LEVEL_RAD = math.radians(30.0)
#: A chain is drawn out by this much to be met, mm.
_LONG_MM = 200.0
#: The largest value that fits is found to this, mm, and said to the next coarser hundredth.
_FIT_MM = 0.002


@dataclass(frozen=True)
class Moved:
    """What an edit of a stretch gave.

    Attributes:
        section: the new section.
        start, end: (z, r) of the two places on the skin that moves, in the order of the outline.
        steps: heights of the steps at both ends, mm; 0 where an edge was drawn out or nothing steps.
    """

    section: Section
    start: tuple[float, float]
    end: tuple[float, float]
    steps: tuple[float, float]


def walled(
    section: Section, a: Spot, b: Spot, wall_mm: float, across: bool = False, slope_mm: float = 0.0
) -> Moved:
    """Return the section with a wall between two places of its skin.

    Args:
        section: without faults.
        a: one place on the skin.
        b: the other; the shorter stretch between the two counts.
        wall_mm: distance of every new place from the skin across the metal.
        across: the skin across the metal moves, and the chosen stretch stays.
        slope_mm: length along the skin, beyond the places, over which a step is led to the new skin.

    Raises:
        GeometryError: there is no skin across, the stretch is locked, or no valid section comes out; then
            the wall nearest to the one asked for that does fit is named.
    """
    if not wall_mm > 0.0:
        raise GeometryError(f"A wall is more than 0, not {wall_mm:g} mm.")
    skin = Skin.of(section)
    start, end = skin.between(a, b)
    facing = _facing(skin, start, end)
    if across:
        start, end = facing
        facing = _facing(skin, start, end)
    feet, there = _feet(skin, start, end, facing)

    def made(mm: float) -> Moved:
        runs = parallel(there, mm)
        new = [[piece.reversed() for piece in reversed(run)] for run in reversed(runs)]
        return _moved(skin, start, end, new, feet, mm, slope_mm)

    now = min(abs(p - f) for p, f in zip(_ends(skin, start, end), feet, strict=True))
    return _fitted(made, wall_mm, now, "wall")


def shifted(section: Section, a: Spot, b: Spot, by_mm: float, slope_mm: float = 0.0) -> Moved:
    """Return the section with a stretch of its skin moved out by a distance; into the metal if negative.

    Sharp corners stay sharp; a corner radius grows or shrinks by the distance.

    Raises:
        GeometryError: as `walled`.
    """
    if not by_mm:
        raise GeometryError("The skin is moved by a distance other than 0.")
    skin = Skin.of(section)
    start, end = skin.between(a, b)
    chain = skin.chain(start, end)
    ends = _ends(skin, start, end)

    def made(mm: float) -> Moved:
        ways = chain[0].direction(0.0), chain[-1].direction(1.0)
        feet = ends[0] - ways[0] * 1j * mm, ends[1] - ways[1] * 1j * mm
        return _moved(skin, start, end, parallel(chain, -mm, pointed=True), feet, 0.0, slope_mm)

    return _fitted(made, by_mm, 0.0, "distance")


def _ends(skin: Skin, start: Cut, end: Cut) -> tuple[complex, complex]:
    return skin.pieces[start.piece].at(start.share), skin.pieces[end.piece].at(end.share)


def _facing(skin: Skin, start: Cut, end: Cut) -> tuple[Cut, Cut]:
    """Return the stretch across the metal, between the places straight across from the ends of another.

    Raises:
        GeometryError: there is none: the metal ends between the two.
    """
    from_end, from_start = (_across(skin, cut) for cut in (end, start))
    own = length_between(skin.pieces, start.place, end.place)
    back = length_between(skin.pieces, from_end.place, from_start.place)
    round_to = length_between(skin.pieces, end.place, from_end.place)
    whole = sum(piece.length for piece in skin.pieces)
    if round_to + back + own > whole + SAME_MM or back <= SAME_MM:
        place = skin.pieces[start.piece].at(start.share)
        raise GeometryError(
            "The metal between these places has no other side: the skin straight across is not one stretch. "
            "Choose places with a wall between them.",
            (place.real, place.imag),
        )
    return from_end, from_start


def _across(skin: Skin, cut: Cut) -> Cut:
    """Return the place on the skin that is met first, straight into the metal from a place."""
    piece = skin.pieces[cut.piece]
    place, way = piece.at(cut.share), piece.direction(cut.share) * 1j
    ray = Piece(place + way * 1e-4, place + way * 10_000.0)
    met = [(along, k, share) for k, other in enumerate(skin.pieces) for along, share in meetings(ray, other)]
    if not met:
        raise GeometryError("There is no skin across from this place.", (place.real, place.imag))
    _, k, share = min(met)
    return Cut(k, share)


def _feet(
    skin: Skin, start: Cut, end: Cut, facing: tuple[Cut, Cut]
) -> tuple[tuple[complex, complex], list[Piece]]:
    """Return the places across nearest to both ends, start's first, and the skin across between them."""
    ends = _ends(skin, start, end)
    near = [c.place for c in facing]
    reach = max(abs(e - skin.pieces[k].at(share)) for e, (k, share) in zip(ends, near[::-1], strict=True))
    free = (
        length_between(skin.pieces, end.place, near[0]),
        length_between(skin.pieces, near[1], start.place),
    )
    across = skin.chain(*facing)
    ways = across[0].direction(0.0), across[-1].direction(1.0)
    low = _level_to(skin, near[0], -min(2.0 * reach, 0.9 * free[0]), ways[0])
    high = _level_to(skin, near[1], min(2.0 * reach, 0.9 * free[1]), ways[1])
    wide = skin.chain(Cut(*low), Cut(*high))
    (_, j, high_share), (_, i, low_share) = (distance(wide, place) for place in ends)
    if (i, low_share) >= (j, high_share):
        raise GeometryError("The skin across from these places is one point; choose a longer stretch.")
    there = [
        wide[k].part(low_share if k == i else 0.0, high_share if k == j else 1.0) for k in range(i, j + 1)
    ]
    feet = wide[j].at(high_share), wide[i].at(low_share)
    return feet, [piece for piece in there if piece.length > SAME_MM]


def _level_to(skin: Skin, place: tuple[int, float], by_mm: float, way: complex) -> tuple[int, float]:
    """Return how far the skin runs on from a place, at most by a length, before it turns off to the metal."""
    if abs(by_mm) <= SAME_MM:
        return place
    forward = by_mm > 0.0
    far = run_on(skin.pieces, place, by_mm)
    found = skin.chain(Cut(*place), Cut(*far)) if forward else skin.chain(Cut(*far), Cut(*place))
    if not found:
        return place
    length = 0.0
    for piece in found if forward else reversed(found):
        turns = [
            cmath.phase(d / way) if forward else cmath.phase(way / d)
            for d in map(piece.direction, (0.0, 1.0))
        ]
        if max(turns) > _LEVEL_RAD:
            break
        length += piece.length
    return run_on(skin.pieces, place, length if forward else -length) if length > SAME_MM else place


def _moved(
    skin: Skin,
    start: Cut,
    end: Cut,
    runs: Sequence[Sequence[Piece]],
    feet: tuple[complex, complex],
    wall_mm: float,
    slope_mm: float,
) -> Moved:
    """Return the section with a stretch led to a new skin.

    `runs` is the new skin in the order of the outline. For a wall `feet` are the places across, for a shift
    (wall_mm 0) where the new skin begins and ends.
    """
    places = _ends(skin, start, end)
    room = length_between(skin.pieces, end.place, start.place)
    firsts = [
        f + (p - f) * (wall_mm / abs(p - f)) if wall_mm else f for p, f in zip(places, feet, strict=True)
    ]
    chain = next((list(run) for run in runs if all(distance(run, p)[0] < 1e-5 for p in firsts)), None)
    if chain is None:
        raise GeometryError("there is no room for the new skin between the two places")
    head, tail = (
        _met(skin, cut, chain, p, first)
        for cut, p, first in ((start, places[0], firsts[0]), (end, places[1], firsts[1]))
    )
    first, start, lead_in = _led(skin, start, head, places[0], firsts[0], slope_mm, starts=True)
    last, end, lead_out = _led(skin, end, tail, places[1], firsts[1], slope_mm, starts=False)
    if slope_mm * (bool(lead_in) + bool(lead_out)) > room - SAME_MM:
        raise GeometryError(
            "the slopes beyond the places would meet round the outline; choose a shorter slope"
        )
    new = [*lead_in, *_trimmed(chain, first, last), *lead_out]
    steps = [
        0.0 if met is not None else abs(p - f) for met, p, f in zip((head, tail), places, firsts, strict=True)
    ]
    section = replaced(skin, start, end, new)
    one, other = ((p.real, p.imag) for p in places)
    return Moved(section, one, other, (steps[0], steps[1]))


def _met(skin: Skin, cut: Cut, chain: list[Piece], place: complex, first: complex) -> complex | None:
    """Return where the edge beyond a chosen corner meets the new skin; None where a step is made."""
    if cut.corner is None:
        return None
    starts = skin.pieces[cut.piece].at(cut.share) == place and cut.share == 0.0
    beyond = skin.sharp[cut.corner - 1] if starts else skin.sharp[cut.corner]
    corner = skin.section.vertices[cut.corner]
    at = complex(corner.z, corner.r)
    long = [_drawn_out(chain[0], back=True), *chain, _drawn_out(chain[-1], back=False)]
    met = [beyond.at(share) for piece in long for share, _ in meetings(beyond, piece, prolonged=True)]
    near = min(met, key=lambda p: abs(p - at), default=None)
    reach = _DRAWN_OUT * max(abs(place - first), SAME_MM) + abs(place - at)
    return near if near is not None and abs(near - at) <= reach else None


def _drawn_out(piece: Piece, back: bool) -> Piece:
    """Return what a piece is prolonged by at one end: straight on, or a third of a turn of its circle."""
    by = min(_LONG_MM / piece.length, 2.0 / abs(piece.sweep)) if piece.is_arc else _LONG_MM / piece.length
    return piece.part(-by, 0.0) if back else piece.part(1.0, 1.0 + by)


def _led(
    skin: Skin,
    cut: Cut,
    met: complex | None,
    place: complex,
    first: complex,
    slope_mm: float,
    *,
    starts: bool,
) -> tuple[complex, Cut, list[Piece]]:
    """Return where the new skin begins (or ends), where the old one is cut, and what leads over."""
    if met is not None:
        return met, cut, []
    if abs(place - first) <= SAME_MM:
        return first, skin.at(*cut.place, starts), []
    outer = cut.place
    if slope_mm > 0.0:
        outer = run_on(skin.pieces, outer, -slope_mm if starts else slope_mm)
    foot = skin.pieces[outer[0]].at(outer[1])
    lead = Piece(foot, first) if starts else Piece(first, foot)
    return first, skin.at(*outer, starts), [lead]


def _trimmed(chain: list[Piece], first: complex, last: complex) -> list[Piece]:
    """Return a chain from one place on it, or on it drawn out, to another."""
    long = [_drawn_out(chain[0], back=True), *chain, _drawn_out(chain[-1], back=False)]
    (_, i, low), (_, j, high) = distance(long, first), distance(long, last)
    if (i, low) >= (j, high):
        raise GeometryError("the two ends of the new skin pass each other")
    found = []
    for k in range(i, j + 1):
        part = long[k].part(low if k == i else 0.0, high if k == j else 1.0)
        if part.length > SAME_MM:
            found.append(part)
    merged = _merged(found)
    merged[0] = replace(merged[0], start=first)
    merged[-1] = replace(merged[-1], end=last)
    return merged


def _merged(pieces: list[Piece]) -> list[Piece]:
    """Return pieces with what was drawn out joined to the piece that it prolongs."""
    found = pieces[:1]
    for piece in pieces[1:]:
        before = found[-1]
        if not before.is_arc and not piece.is_arc:
            turn = before.direction(1.0).conjugate() * piece.direction(0.0)
            if turn.real > 0.0 and abs(turn.imag) < 1e-9:
                found[-1] = Piece(before.start, piece.end)
                continue
        found.append(replace(piece, start=before.end))
    return found


def _fitted(made: Callable[[float], Moved], asked: float, fits: float, what: str) -> Moved:
    """Return what is made of the value asked for, or say which value towards it still fits.

    Args:
        made: raises GeometryError where a value gives no valid section.
        asked: the value, mm.
        fits: what is there now.
        what: its name.
    """
    try:
        return made(asked)
    except GeometryError as error:
        refused = error
    best, worst = None, asked
    low = fits
    while abs(worst - low) > _FIT_MM:
        middle = (low + worst) / 2.0
        try:
            made(middle)
        except GeometryError:
            worst = middle
        else:
            best = low = middle
    words = f"{str(refused)[:1].lower()}{str(refused)[1:]}".rstrip(".")
    if best is None:
        raise GeometryError(f"A {what} of {asked:g} mm cannot be had here: {words}.", refused.place)
    limit = "at most" if asked > fits else "at least"
    # Towards what is there, so that the value named is one that fits.
    coarse = (int(best * 100.0) if best > fits else -int(-best * 100.0 // 1)) / 100.0
    raise GeometryError(
        f"A {what} of {asked:g} mm cannot be had here: {words}. {limit.capitalize()} {coarse:.2f} mm fits.",
        refused.place,
    )
