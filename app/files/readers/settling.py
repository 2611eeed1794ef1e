"""What is done with chains that do not close: completed, closed or left out as far as that is clear.

Words:
    dead end    a straight line that leaves an outline and meets nothing else, or any chain that ends within
                one: it bounds nothing
    hindrance   what stays unclear, so that the outlines cannot be used yet
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from app.files.readers.answer import JOIN_MM, NOT_KNOWN, Request, plain
from app.files.readers.chains import largest_gap, tidy_rings
from app.files.readers.completing import Mirror, closing_line, looks_halved, mirror_of, opened
from app.files.readers.nearby import Chain, Nearby
from app.files.readers.net import LEVEL_MM, SAME, Chained
from app.files.readers.pieces import Piece, Point, distance, leftward, length

#: A line whose loose end comes this near to an outline or another end, mm, may be meant to meet it.
_NEAR_MM = 1.0

#: Layers named in a message.
_NAMED = 6


@dataclass
class Settling:
    """Settles what was chained, in place, and keeps count.

    Attributes:
        found: what came of the pieces.
        request: what is asked for.
        skipped: entities left out, by type or reason.
        said: what the user should look at.
    """

    found: Chained
    request: Request
    skipped: Counter[str]
    said: list[str]
    _completed: bool = False

    def hindrance(self, unit: str, layers: Counter[str]) -> str:
        """Settle what can be; return what hinders the rest, empty where nothing does."""
        self._drop_axis_lines()
        self._drop_doubles()
        if self.request.mirror:
            self._complete()
        self._close()
        self._drop_dead_ends()
        self._say_inside()
        found = self.found
        if found.open and found.rings and self.request.drop_open:
            self.skipped["open chains"] += len(found.open)
            self.said.append(f"{len(found.open)} open chains left out, as asked")
            found.open = []
        if found.trees and found.rings and self.request.drop_open:
            self.skipped["lines that meet, but enclose nothing"] += len(found.trees)
            self.said.append(f"{len(found.trees)} lines left out that meet, but enclose nothing, as asked")
            found.trees = []
        if self.request.mirror and not (self._completed or found.open or found.tangled or found.trees):
            self._complete_closed()
        if found.tangled:
            return self._branch_message()
        if found.open:
            return self._open_message(unit, layers)
        if found.trees:
            return self._tree_message()
        return self._half_message()

    def _drop_axis_lines(self) -> None:
        """Drop loose lines on z = 0 or r = 0 beside other pieces: no outline leans on them."""
        found = self.found
        loose = [c for c in found.open if any(all(_on_axis(p, k) for p in c) for k in (0, 1))]
        if loose and (len(loose) < len(found.open) or found.rings or found.tangled or found.trees):
            found.open = _without(found.open, loose)
            self.skipped["loose lines on z = 0 or r = 0"] += len(loose)

    def _drop_doubles(self) -> None:
        """Drop chains that lie all along on outlines: they are drawn a second time."""
        rings = Nearby(self.found.rings, LEVEL_MM)
        doubles = [c for c in self.found.open if any(ring.carries(c) for ring in rings.at(c[0].start))]
        self.found.doubles += sum(map(len, doubles))
        self.found.open = _without(self.found.open, doubles)

    # Completed and closed

    def _complete(self) -> None:
        """Complete half-drawn outlines by their image, in one line for all of them where there is one."""
        found, join = self.found, self.request.join_mm
        mirror = mirror_of(found.open, join)
        if mirror is not None:
            side = mirror.side(found.open[0], join)
            beside = [ring for ring in found.rings if mirror.side(ring, join) == side]
            self._say_completed(mirror, f", {len(beside)} closed outlines beside it too" if beside else "")
            found.rings += [mirror.ring(chain) for chain in found.open]
            found.rings += [leftward(mirror.back(ring)) for ring in beside]
            found.open = []
            self._completed = True
            tidy_rings(found)
            return
        # Halves with lines of their own: what lies beside them belongs to none of them for certain.
        rest = []
        for chain in found.open:
            own = mirror_of([chain], join)
            if own is None:
                rest.append(chain)
            else:
                self._completed = True
                self._say_completed(own)
                found.rings.append(own.ring(chain))
        tidy_rings(found)
        if rest:
            self.said.append(
                "nothing more to complete by an image: what is open has no line of its own to be half of"
            )
        found.open = rest

    def _complete_closed(self) -> None:
        """Complete closed outlines by their image in the straight edge by which they are closed as halves."""
        found, join = self.found, self.request.join_mm
        mirror = closing_line(found.rings, join)
        if mirror is None:
            return
        (z, _), side = mirror.base, next((s for ring in found.rings if (s := mirror.side(ring, join))), 0)
        if not side:
            return  # all within the joining distance of that line: there is no half to complete
        rings: list[Chain] = []
        for ring in found.rings:
            chains = opened(ring, z, join)
            rings += [mirror.ring(chain) for chain in chains] if chains else [ring]
            if not chains and mirror.side(ring, join) == side:
                rings.append(leftward(mirror.back(ring)))
        self._say_completed(mirror, "; the straight edge along it is left out")
        found.rings = rings
        self._completed = True
        tidy_rings(found)

    def _say_completed(self, mirror: Mirror, more: str = "") -> None:
        (z0, r0), (z1, r1) = mirror.base, mirror.far
        self.said.append(
            f"completed by its image in the line from z {z0:.3f}, r {r0:.3f} to z {z1:.3f}, r {r1:.3f}{more}"
        )

    def _close(self) -> None:
        """Close chains that end on r = 0 along it, and a single open outline by a straight line if asked."""
        found = self.found
        on_axle = [c for c in found.open if max(abs(c[0].start[1]), abs(c[-1].end[1])) <= JOIN_MM]
        along_axle = [c for c in on_axle if not _is_straight(c)]
        single = self.request.close and len(found.open) == 1 and not _is_straight(found.open[0])
        by_line = found.open if single else []
        for chain in along_axle or by_line:
            start, end = chain[0].start, chain[-1].end
            way = "along the axle line" if along_axle else "by a straight line"
            self.said.append(
                f"closed {way} from z {end[0]:.3f}, r {end[1]:.3f} to z {start[0]:.3f}, r {start[1]:.3f} "
                f"({math.dist(start, end):.3f} long)"
            )
            closing = [Piece(end, start, 0.0, chain[-1].layer)] if math.dist(start, end) > SAME else []
            found.rings.append(leftward([*chain, *closing]))
        found.open = _without(found.open, [*along_axle, *by_line])
        tidy_rings(found)

    # Left out

    def _drop_dead_ends(self) -> None:
        """Drop chains that start on an outline and bound nothing, whichever way they were meant."""
        found, near = self.found, max(_NEAR_MM, 2.0 * self.request.join_mm)
        if not found.open or not found.rings:
            return
        reach = max(self.request.join_mm, LEVEL_MM)
        rings = Nearby(found.rings, reach)
        everything = Nearby([*found.rings, *found.open, *([p] for p in (*found.tangled, *found.trees))], near)
        dead: list[Chain] = []
        parting: list[Chain] = []
        for chain in found.open:
            start, end = chain[0].start, chain[-1].end
            for base, tip in ((start, end), (end, start)):
                ring = next((g for g in rings.at(base) if g.apart(base, reach) <= reach), None)
                if ring is None:
                    continue
                if ring.keeps(chain):
                    (dead if ring.apart(tip, reach) > reach else parting).append(chain)
                    break
                # What lies about the end on the outline is the outline.
                free = _shortened(base, tip, near)
                if free is None or not _is_straight(chain):
                    continue
                others = (held for held in everything.along(free) if held.chain is not chain)
                if not any(held.meets(free, base, near) for held in others):
                    dead.append(chain)
                    break
        if self.request.side == "outward":
            found.inside += [p for chain in parting for p in chain]
            found.open = _without(found.open, parting)
        if not dead:
            return
        found.open = _without(found.open, dead)
        self.skipped["dead ends"] += len(dead)
        longest = max(dead, key=length)
        (z, r), (other_z, other_r) = longest[0].start, longest[-1].end
        self.said.append(
            f"{len(dead)} dead ends left out: lines that leave an outline and bound nothing, the longest "
            f"from z {z:.3f}, r {r:.3f} to z {other_z:.3f}, r {other_r:.3f}"
        )

    def _say_inside(self) -> None:
        inside = len(self.found.inside)
        if inside:
            self.skipped["lines within the outline"] += inside
            self.said.append(
                f"{inside} lines and arcs part an outline inside; they are left out, its outer edge is taken"
            )

    # What hinders

    def _branch_message(self) -> str:
        first, more = self.found.branches[0], len(self.found.branches) - 1
        (z, r), names = first.place, ", ".join(map(plain, first.layers[:4]))
        places = f" and {more} more places" if more else ""
        return (
            f"{first.count} lines meet at z {z:.3f}, r {r:.3f}{places} (layers: {names}), so the outline is "
            "not clear; delete what does not belong to it or read one layer with --layer"
        )

    def _tree_message(self) -> str:
        first, count = self.found.forks[0], len(self.found.trees)
        (z, r), names = first.place, ", ".join(map(plain, first.layers[:4]))
        way = "leave them out with --drop-open, or " if self.found.rings else ""
        return (
            f"{count} lines meet, but enclose nothing, {first.count} of them at z {z:.3f}, r {r:.3f} "
            f"(layers: {names}); {way}delete what does not belong there or read one layer with --layer"
        )

    def _half_message(self) -> str:
        """Return what hinders where a half was to be completed and was not; else ask whether it is one."""
        found, join = self.found, self.request.join_mm
        halves = [ring for ring in found.rings if looks_halved(ring, join)]
        if self.request.mirror and found.rings and (halves or not self._completed):
            return (
                "a half was to be completed by its image, but no outline is open, and none is closed by one "
                "straight line on z = 0 or upright along its end; delete the line that closes the half, or "
                "read without --mirror"
            )
        if halves and not self._completed:
            self.said.append(
                f"{len(halves)} of {len(found.rings)} outlines end square on a straight line on z = 0: is "
                "this half of it? If so, complete it with --mirror"
            )
        return ""

    def _open_message(self, unit: str, layers: Counter[str]) -> str:
        found = self.found
        gap, (z, r), (other_z, other_r), layer = largest_gap(found.open)
        mm = "" if unit == NOT_KNOWN else " mm"
        more = f" ({len(found.open)} open chains in all)" if len(found.open) > 1 else ""
        ways = ["close it in the drawing"]
        if gap < 1.0:
            ways.append(f"read again with --join {math.ceil(gap * 100.0 + 1e-6) / 100.0:g}")
        if not self.request.mirror and mirror_of(found.open, self.request.join_mm) is not None:
            ways.append("complete a half-drawn one with --mirror")
        if found.rings:
            ways.append("leave it out with --drop-open")
        elif len(found.open) == 1 and not _is_straight(found.open[0]):
            ways.append("close it by a straight line with --close")
        if found.rings or len({p.layer for chain in found.open for p in chain}) > 1:
            names = ", ".join(f"{plain(name)}: {n}" for name, n in layers.most_common(_NAMED))
            ways.append(f"read one layer with --layer ({names})")
        return (
            f"the outline is open: a gap of {gap:.4g}{mm} between z {z:.3f}, r {r:.3f} and z {other_z:.3f}, "
            f"r {other_r:.3f} on layer {plain(layer)}{more}; {', or '.join(ways)}"
        )


def _on_axis(p: Piece, axis: int) -> bool:
    """True for a line on z = 0 (axis 0) or r = 0 (axis 1)."""
    return p.bulge == 0.0 and max(abs(p.start[axis]), abs(p.end[axis])) <= JOIN_MM


def _is_straight(chain: Chain) -> bool:
    """True for a chain that is one straight line."""
    line = Piece(chain[0].start, chain[-1].end)
    return all(p.bulge == 0.0 and distance(line, p.end) <= LEVEL_MM for p in chain)


def _shortened(base: Point, tip: Point, by: float) -> Piece | None:
    """Return the line from a base to a tip, shortened at the base; None where nothing stays of it."""
    span = math.dist(base, tip)
    if span <= 2.0 * by:
        return None
    share = by / span
    return Piece((base[0] + share * (tip[0] - base[0]), base[1] + share * (tip[1] - base[1])), tip)


def _without(chains: list[Chain], gone: list[Chain]) -> list[Chain]:
    ids = set(map(id, gone))
    return [c for c in chains if id(c) not in ids]
