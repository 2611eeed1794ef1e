"""What spokes carry by the smeared section and by single beams: one by one, and all together.

All together both must carry the load, whatever lies between: equilibrium. Each model's sum is that of its own
forces. How a load is shared among spokes is where the two differ.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.readings.chords import along_z
from geometry.shape.curve import Array, Path
from geometry.strength.around import Borne, section_root
from geometry.strength.cuts import Cut, Total, cut_at
from geometry.strength.joined import joined_spokes
from geometry.strength.loads import Clamp
from geometry.strength.ringed import Ringed
from geometry.strength.spokes import Root, Spoke, Twisted, of_resultant
from geometry.strength.wheel import Body

#: A cut through this share more metal than the spokes' passes rim or hub too.
_PURE = 0.005
#: From the hub pad to the first cut, mm: its edge still holds what lies over it.
_OFF_PAD_MM = 3.0
#: A ring that is metal but for this share is full.
_FULL = 1e-12
#: Rings of spokes on which section and beams are compared under a torque.
_RINGS = 12
#: Nearer than this to one another, as a share, two figures of one spoke agree.
AGREES = 0.15
#: A force or moment of one spoke below this share of its greatest is not compared.
_SMALL = 0.02
#: Both models carry the same load where their sums differ by less than this share of it.
SAME_LOAD = 1e-3
#: Figures of one spoke, and from which difference on they are printed as others: N, N mm, MPa.
_FIGURES = {
    **dict.fromkeys(("axial_n", "radial_n"), 1.0),
    "moment_nmm": 100.0,
    **dict.fromkeys(("bending_mpa", "shear_mpa", "side_mpa", "twist_mpa", "equivalent_mpa"), 0.1),
}
#: A sum below this share of what single spokes carry is that of a load which is balanced in itself; a force
#: below the other is none, N.
_BALANCED, _NO_FORCE_N = 1e-3, 1.0

#: What plain wheels with separate spokes, solved as solids in space, say of both (tests/reference).
BEAMS_ARE = (
    "on plain wheels with separate spokes, solved as solids in space, beams have axial force within 1 %,"
    " moment within 6 % of the hub's, stress at the hub up to 5 % more, radial force a seventh to over half"
    " less, whose pull is no more than 3 % of the stress at the hub"
)
SECTION_IS = (
    "the section has axial force 10 to 25 % more there, moment at the rim 7 to 17 % of the hub's off, radial"
    " force up to 3 times, no twist"
)
READ = "read the beams, which stand nearer solids in space"
COUNTED = "use and life by zone count the greater stress of both"
#: Said where a moment on the hub bends the spokes.
OF_MOMENT = (READ, COUNTED, BEAMS_ARE, SECTION_IS)
#: The same of a load at the rim.
OF_RIM = (
    READ,
    COUNTED,
    "on the same wheels pressed on an arc of the rim, beams have radial force within 5 %, axial force up to"
    " 7 % more, stress at the hub within 4 %, shear by twist up to 15 % less",
    "the section has radial force at the rim 1.1 to 1.7 times, bending stress there 1.15 to 1.7 times,"
    " no twist",
)
#: The same of inflation, which presses the rim all round and is balanced in itself.
OF_PRESSURE = (
    COUNTED,
    "on the same wheels pressed evenly all round solids lie between: beams have radial force 0.4 to 0.8 of"
    " theirs, the section 1.2 to 2.4 times",
)
_HEAD = "one spoke, single beams over smeared section, at hub / rim"


@dataclass(frozen=True)
class Sum:
    """What all spokes carry together at one radius, each model by its own forces there.

    Attributes:
        place: "hub" or "rim". section, beams: the load that crosses, signed as the load is.
        lever_mm: radius of the cut at the rim, over which moments are held against forces.
        spokes_n: number of spokes times the force on one, for a load that is balanced in itself.
    """

    place: str
    r_mm: float
    section: Total
    beams: Total
    lever_mm: float
    spokes_n: float

    @property
    def off(self) -> float:
        """Greatest difference of a component as a share of the load's greatest."""
        one, other = (self._forces(total) for total in (self.section, self.beams))
        load = max(map(abs, (*one, *other)))
        if load < _BALANCED * self.spokes_n:
            load = max(self.spokes_n, _NO_FORCE_N)
        return max(abs(x - y) for x, y in zip(one, other, strict=True)) / load

    @property
    def agrees(self) -> bool:
        """True where both carry the same load within SAME_LOAD."""
        return self.off <= SAME_LOAD

    def _forces(self, total: Total) -> tuple[float, float, float, float]:
        moments = total.moment_nmm / self.lever_mm, total.torque_nmm / self.lever_mm
        return total.axial_n, total.across_n, *moments

    def times(self, share: float) -> Sum:
        """Return it under that share of the load."""
        section, beams = self.section.times(share), self.beams.times(share)
        return Sum(self.place, self.r_mm, section, beams, self.lever_mm, abs(share) * self.spokes_n)


@dataclass(frozen=True)
class Carried:
    """What spokes carry of a load, hub first, at the same radii in both models.

    Attributes:
        smeared: one spoke by the section. beams: one as a single beam between elastic hub and rim.
        sums: all spokes together, at the first radius and at the last.
    """

    smeared: tuple[Root, ...]
    beams: tuple[Root, ...]
    sums: tuple[Sum, Sum]

    def marked(self, coarser: Carried, share: float) -> Carried:
        """Return it with the figures named that differ by more than a share from those of a coarser mesh."""
        smeared, beams = (
            tuple(replace(x, moving=_moving(x, y, share)) for x, y in zip(mine, theirs, strict=True))
            for mine, theirs in ((self.smeared, coarser.smeared), (self.beams, coarser.beams))
        )
        return Carried(smeared, beams, self.sums)

    @property
    def agrees(self) -> bool:
        """True where both models carry the same load at hub and rim."""
        return all(one.agrees for one in self.sums)

    def times(self, share: float) -> Carried:
        """Return it under that share of the load, which is above 0."""
        hub, rim = self.sums
        smeared, beams = (tuple(r.times(share) for r in roots) for roots in (self.smeared, self.beams))
        return Carried(smeared, beams, (hub.times(share), rim.times(share)))

    def missing_mpa(self, body: Body) -> Array:
        """Return (n,) nominal stress by which single beams exceed the section at the nodes of spokes, or 0.

        Under a moment beams bring their twist and side force, of which the section's bending holds nothing.
        Linear between the radii, even beyond the first and the last. Off the spokes there is none.
        """
        r = [root.r_mm for root in self.smeared]
        pairs = zip(self.beams, self.smeared, strict=True)
        more = [max(0.0, b.equivalent_mpa - _counted(s)) for b, s in pairs]
        spoked = body.smear.metal(body.mesh.points) < 1.0 - _FULL
        return np.asarray(np.interp(body.mesh.points[:, 1], r, more) * spoked)


def _moving(fine: Root, coarse: Root, share: float) -> tuple[str, ...]:
    def moves(name: str, least: float) -> bool:
        now = float(getattr(fine, name))
        return abs(now - float(getattr(coarse, name))) > max(share * abs(now), least)

    return tuple(name for name, least in _FIGURES.items() if moves(name, least))


def _counted(section: Root) -> float:
    return section.bending_mpa if section.turn_mpa is None else section.turn_mpa


def turned_missing_mpa(body: Body, most: Array, spoke: Spoke, turned: Twisted) -> Array:
    """Return (n,) nominal stress by which spokes bent across their width by a torque exceed the section.

    A spoke between hub and rim is bent one way at its hub and the other way at its rim.

    Args:
        body: the wheel.
        most: (n,) greatest von Mises stress of the section at its nodes, MPa.
        spoke: of it.
        turned: what a spoke carries of the torque.
    """
    section = spoke.depth * spoke.width**2 / 6.0
    moment = turned.root_mpa[0] * section[0] - abs(turned.force_n) * (spoke.r - spoke.r[0])
    spoked = np.flatnonzero(body.smear.metal(body.mesh.points) < 1.0 - _FULL)
    r = body.mesh.points[spoked, 1]
    nominal = np.interp(r, spoke.r, np.abs(moment) / section)
    out = np.zeros(len(body.mesh.points))
    of = np.digitize(r, np.linspace(r.min(), r.max(), _RINGS + 1)[1:-1])
    for k in np.unique(of):
        out[spoked[of == k]] = np.maximum(0.0, nominal[of == k] - most[spoked[of == k]].max())
    return out


def carried(
    path: Path, spoke: Spoke, body: Body, moved: Mapping[int, Array], clamp: Clamp, moment_nmm: float
) -> Carried:
    """Return what spokes carry of a moment on the hub.

    Args:
        path: the section's outline.
        spoke: of it.
        body: the wheel, whose hub and rim the single spokes join.
        moved: its displacements under the moment, by harmonic.
        clamp: the flange that is held.
        moment_nmm: on the hub pad.

    Raises:
        GeometryError: spokes without rim or hub, or a section that a cut does not part.
    """
    cuts = _cuts(path, spoke, body, moved)
    roots = tuple(of_resultant(spoke, cut.at(0.0)) for cut in cuts)
    bent = joined_spokes(body, spoke, moment_nmm, clamp, [cut.r for cut in cuts])
    borne = Borne(spoke, {1: np.array(bent.rim)})
    # The hub is loaded, so that it hands the load to the rim.
    hub, rim = _sums(cuts, borne, roots)
    return Carried(roots, bent.roots, (hub.times(-1.0), rim.times(-1.0)))


def carried_at_rim(
    path: Path, body: Body, moved: Mapping[int, Array], ringed: Ringed, load: Mapping[int, Array]
) -> Carried:
    """Return what spokes carry of a load on the rim, the hub pad bolted.

    Args:
        path: the section's outline.
        body: the wheel.
        moved: its displacements under the load, by harmonic.
        ringed: the same wheel as single spokes between rim and hub.
        load: nodal forces by harmonic.

    Raises:
        GeometryError: a section that a cut does not part, or a load beside the rim.
    """
    cuts, borne = _cuts(path, ringed.spoke, body, moved), ringed.borne(load)
    smeared = tuple(section_root(ringed.spoke, cut, body) for cut in cuts)
    return Carried(smeared, tuple(borne.root(cut.r) for cut in cuts), _sums(cuts, borne, smeared))


def _cuts(path: Path, spoke: Spoke, body: Body, moved: Mapping[int, Array]) -> list[Cut]:
    pad_mm = float(body.mesh.points[body.pad, 1].max())
    return [cut_at(body, moved, r) for r in cuts_of(path, spoke, pad_mm)]


def _sums(cuts: Sequence[Cut], borne: Borne, one: Sequence[Root]) -> tuple[Sum, Sum]:
    def at(place: str, k: int) -> Sum:
        cut, force = cuts[k], math.hypot(one[k].axial_n, one[k].radial_n)
        spokes_n = borne.spoke.count * force
        return Sum(place, cut.r, cut.total, borne.total(cut.r), cuts[-1].r, spokes_n)

    return at("hub", 0), at("rim", -1)


def cuts_of(path: Path, spoke: Spoke, pad_mm: float) -> list[float]:
    """Return the radii, rising, where both models are held against each other: hub, weakest place, rim.

    Only cuts through nothing but spokes count: nearer the rim a cylinder also passes the rim's own metal,
    whose hoop it would read as the spokes' force.

    Args:
        path: the section's outline.
        spoke: of it.
        pad_mm: outer radius of the hub pad.
    """
    pure = [
        float(r)
        for r, depth in zip(spoke.r, spoke.axial_depth, strict=True)
        if r > pad_mm + _OFF_PAD_MM and sum(b - a for a, b in along_z(path, float(r))) <= (1 + _PURE) * depth
    ]
    # One station from the ends: a cut follows edges of the mesh.
    inner = pure[1:-1] or [float(spoke.r[len(spoke.r) // 2])]
    weakest = min(max(spoke.weakest_mm, inner[0]), inner[-1])
    return sorted({inner[0], weakest, inner[-1]})


def agreement_words(smeared: Sequence[Root], beams: Sequence[Root], told: Sequence[str] = OF_MOMENT) -> str:
    """Return beams over smeared section, component by component, and which of the two is nearer the truth.

    Args:
        smeared: at the same radii as the beams, hub first.
        beams: of single spokes.
        told: which to read, and what solids in space say of both models under such a load.
    """
    ends = [(smeared[0], beams[0]), (smeared[-1], beams[-1])]
    force = max(math.hypot(r.axial_n, r.radial_n) for r in smeared)
    moment = max(abs(r.moment_nmm) for r in smeared)
    stress = max(r.bending_mpa for r in smeared)
    found: list[tuple[str, list[float]]] = []
    for name, key, most in (
        ("axial force", "axial_n", force),
        ("moment", "moment_nmm", moment),
        ("radial force", "radial_n", force),
        ("bending stress", "bending_mpa", stress),
    ):
        pairs = [(float(getattr(s, key)), float(getattr(b, key))) for s, b in ends]
        if most > 0.0 and all(abs(s) > _SMALL * most for s, _ in pairs):
            found.append((name, [b / s for s, b in pairs]))
    if not found:
        return ""
    words = f"{_HEAD}: " + ", ".join(f"{name}: {hub:.2f} / {rim:.2f}" for name, (hub, rim) in found)
    apart = [name for name, pair in found if any(abs(x - 1.0) > AGREES for x in pair)]
    if not apart:
        return words
    differ = f"they do not agree within {100.0 * AGREES:g} % on {', '.join(apart)}"
    return "; ".join([words, differ, *told])
