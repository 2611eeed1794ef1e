"""One spoke as a load goes round the wheel, and what all spokes carry together."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from geometry.shape.curve import Array
from geometry.strength.cuts import Cut, Total
from geometry.strength.spokes import Root, Spoke, nominal, of_resultant
from geometry.strength.wheel import Body

#: Half a turn is looked at in so many steps: the other half is its mirror image.
_ANGLES = np.radians(np.arange(0.0, 181.0, 10.0))


@dataclass(frozen=True, eq=False)
class Borne:
    """What the rim hands to single spokes.

    Attributes:
        by_harmonic: (6,) at the rim end of a spoke at an angle psi from the load, in the order of
            `spokes.Stiff`, N and N mm: three times cos(m psi), three times sin(m psi); of the harmonic 0 all
            as they are.
    """

    spoke: Spoke
    by_harmonic: Mapping[int, Array]

    def at(self, r_mm: float, psi_rad: float) -> Array:
        """Return (6,) what a spoke carries at a radius."""
        out = np.zeros(6)
        for m, force in self.by_harmonic.items():
            out[:3] += force[:3] * math.cos(m * psi_rad)
            out[3:] += force[3:] * (math.sin(m * psi_rad) if m else 1.0)
        farther = float(self.spoke.r[-1]) - r_mm
        higher = float(self.spoke.z[-1]) - self._z(r_mm)
        out[2] += out[0] * farther - out[1] * higher
        out[4] += out[3] * farther
        out[5] -= out[3] * higher
        return out

    def total(self, r_mm: float) -> Total:
        """Return the sum over all spokes, one of them under the load, of what they carry at a radius."""
        z = self._z(r_mm)
        found = np.zeros(4)
        for psi in 2.0 * math.pi * np.arange(self.spoke.count) / self.spoke.count:
            axial, radial, moment, along, about_z, about_r = self.at(r_mm, float(psi)).tolist()
            cos, sin = math.cos(psi), math.sin(psi)
            tilts = (axial * r_mm - radial * z + moment) * cos + (along * z - about_r) * sin
            found += (axial, radial * cos - along * sin, tilts, along * r_mm + about_z)
        return Total(*found.tolist())

    def root(self, r_mm: float) -> Root:
        """Return one spoke at a radius where it is bent most in its plane, and its worst of the turn."""
        seen = []
        for psi in _ANGLES:
            axial, radial, moment, *across = self.at(r_mm, float(psi)).tolist()
            seen.append(nominal(self.spoke, r_mm, axial, radial, moment, (across[0], across[1], across[2])))
        return _worst(seen)

    def _z(self, r_mm: float) -> float:
        return float(np.interp(r_mm, self.spoke.r, self.spoke.z))


def section_root(spoke: Spoke, cut: Cut, body: Body) -> Root:
    """Return the same by the smeared section: the resultant of a cut over the arc of one spoke.

    Its force along theta bends the spoke across its width about the place without moment
    (`spoked.Sideways`).
    """
    beam = body.smear.beam
    lever = 0.0 if beam is None else abs(float(np.interp(cut.r, beam.r, beam.bent)))
    arc = 2.0 * math.pi / spoke.count
    seen = []
    for psi in _ANGLES:
        at = cut.at(float(psi))
        root = of_resultant(spoke, at)
        bent = (0.0, at.along * arc * lever, 0.0)
        seen.append(nominal(spoke, cut.r, root.axial_n, root.radial_n, root.moment_nmm, bent))
    return _worst([replace(root, twist_mpa=0.0) for root in seen])


def _worst(seen: list[Root]) -> Root:
    """Return the root that is bent most in its plane, with what is greatest of the turn beside it.

    Bending both ways adds up at an edge of the rectangle, where there is no shear.
    """
    at = int(np.argmax([root.bending_mpa for root in seen]))
    turn = max(max(root.bending_mpa + root.side_mpa, math.sqrt(3.0) * root.twist_mpa) for root in seen)
    return replace(
        seen[at],
        side_mpa=max(root.side_mpa for root in seen),
        twist_mpa=max(root.twist_mpa for root in seen),
        at_deg=math.degrees(float(_ANGLES[at])),
        turn_mpa=turn,
    )
