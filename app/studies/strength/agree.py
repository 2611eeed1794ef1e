"""What a spoke carries of a moment by the smeared section and by single beams, and how far both agree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.readings.chords import along_z
from geometry.shape.curve import Array, Path
from geometry.strength.cuts import across, carried_nmm
from geometry.strength.joined import joined_spokes
from geometry.strength.loads import Clamp
from geometry.strength.spokes import Bent, Root, Spoke, Twisted, of_resultant
from geometry.strength.wheel import Body

#: A cut through this share more metal than the spokes' passes rim or hub too.
_PURE = 0.005
#: From the hub pad to the first cut, mm: its edge still holds what lies over it.
_OFF_PAD_MM = 3.0
#: A ring that is metal but for this share is full.
_FULL = 1e-12
#: Rings of spokes on which section and beams are compared under a torque.
_RINGS = 12
#: Nearer than this to one another, as a share, two figures agree.
AGREES = 0.15

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
_HEAD = "one spoke, single beams over smeared section, at hub / rim"


@dataclass(frozen=True)
class Carried:
    """What one spoke carries of a moment on the hub, hub first, at the same radii in both models.

    Attributes:
        smeared: by the section. beams: by single beams between elastic hub and rim.
        smeared_nmm: moment that crosses the smeared spokes half way along them.
    """

    smeared: tuple[Root, ...]
    beams: Bent
    smeared_nmm: float

    def times(self, share: float) -> Carried:
        """Return it under that share of the moment, which is above 0."""
        return Carried(
            tuple(r.times(share) for r in self.smeared), self.beams.times(share), share * self.smeared_nmm
        )

    def missing_mpa(self, body: Body) -> Array:
        """Return (n,) nominal stress by which single beams exceed the section at the nodes of spokes, or 0.

        Beams bring their twist and side force, of which the section's bending holds nothing. Linear between
        the radii, even beyond the first and the last. Off the spokes there is none.
        """
        r = [root.r_mm for root in self.smeared]
        pairs = zip(self.beams.roots, self.smeared, strict=True)
        more = [max(0.0, b.equivalent_mpa - s.bending_mpa) for b, s in pairs]
        spoked = body.smear.metal(body.mesh.points) < 1.0 - _FULL
        return np.asarray(np.interp(body.mesh.points[:, 1], r, more) * spoked)


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
    path: Path,
    spoke: Spoke,
    fine: Body,
    moved: Mapping[int, Array],
    coarse: Body,
    clamp: Clamp,
    moment_nmm: float,
) -> Carried:
    """Return what a spoke carries of a moment.

    Args:
        path: the section's outline.
        spoke: of it.
        fine: the wheel.
        moved: its displacements under the moment, by harmonic.
        coarse: the same wheel, whose hub and rim the single spokes join.
        clamp: the flange that is held.
        moment_nmm: on the hub pad.

    Raises:
        GeometryError: spokes without rim or hub, or a section that a cut does not part.
    """
    pad_mm = float(coarse.mesh.points[coarse.pad, 1].max())
    roots = tuple(of_resultant(spoke, across(fine, moved, r)) for r in cuts_of(path, spoke, pad_mm))
    beams = joined_spokes(coarse, spoke, moment_nmm, clamp, [root.r_mm for root in roots])
    return Carried(roots, beams, carried_nmm(fine, moved, float(spoke.r[0] + spoke.r[-1]) / 2.0))


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


def agreement_words(smeared: Sequence[Root], beams: Sequence[Root]) -> str:
    """Return beams over smeared section, component by component, and which of the two is nearer the truth.

    Args:
        smeared: at the same radii as the beams, hub first.
        beams: of single spokes.
    """
    ends = [(smeared[0], beams[0]), (smeared[-1], beams[-1])]
    ratios = (
        ("axial force", [b.axial_n / s.axial_n for s, b in ends]),
        ("moment", [b.moment_nmm / s.moment_nmm for s, b in ends]),
        ("radial force", [b.radial_n / s.radial_n for s, b in ends]),
        ("bending stress", [b.bending_mpa / s.bending_mpa for s, b in ends]),
    )
    words = f"{_HEAD}: " + ", ".join(f"{name}: {hub:.2f} / {rim:.2f}" for name, (hub, rim) in ratios)
    apart = [name for name, pair in ratios if any(abs(x - 1.0) > AGREES for x in pair)]
    if not apart:
        return words
    differ = f"they do not agree within {100.0 * AGREES:g} % on {', '.join(apart)}"
    return "; ".join([words, differ, READ, COUNTED, BEAMS_ARE, SECTION_IS])
