"""Single spokes between an elastic rim that is loaded and an elastic hub whose pad is bolted.

n spokes hold a rim at n places, so that a load of harmonic m bends it in the harmonics m + j n too: so it
hands the load from spoke to spoke. Rim and hub at the rings where spokes end are those of the elements, as in
`joined`; a harmonic below 0 is the mirror image of that above it. With q the motions of a joint, K its
stiffness, F what the loaded rim hands to its joint while that is held, k the stiffness of a spoke and s what
its rim end moves against its hub end:

    s = sum of feel q over rim and hub;    c K q + n feel^T k s = F    (c 1 for harmonic 0, else 2)

since in complex waves half of a cosine stands on either side of 0. What moves the whole rim is felt as it is,
so that the spokes' forces balance the load. Derived here; checked by equilibrium and against wheels with
separate spokes solved as solids in space.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from geometry.errors import GeometryError
from geometry.shape.curve import Array, Flags, Indices
from geometry.strength.around import Borne
from geometry.strength.harmonic import Parts, Pattern
from geometry.strength.joined import (
    MULTIPLES,
    feels,
    joint_of,
    mirrored,
    motions,
    parts_beside,
    rigid_way,
    spoke_stiffness,
    turns_of_end,
)
from geometry.strength.spokes import Spoke
from geometry.strength.wheel import Body

#: A force on nodes beside the rim is none below this share of the greatest.
_NONE = 1e-9


class Ringed:
    """A wheel's rim, hub and single spokes, for any load on the rim."""

    def __init__(self, body: Body, spoke: Spoke) -> None:
        """Take the wheel apart.

        Args:
            body: the wheel.
            spoke: of its section.

        Raises:
            GeometryError: fewer than three spokes, or spokes without rim or hub.
        """
        if spoke.count < 3:
            raise GeometryError(
                "Fewer than three spokes carry a load unevenly over the turn; no sum is given."
            )
        rim, hub = parts_beside(body, spoke)
        none = body.pad[:0]
        self.spoke = spoke
        self._rim = _Joint(body, rim, none, joint_of(body, rim, hub, none), spoke, -1)
        self._hub = _Joint(body, hub, body.pad, joint_of(body, hub, rim, body.pad), spoke, 0)
        self._stiff = spoke_stiffness(spoke, body)
        self._far = rigid_way(spoke)

    def borne(self, load: Mapping[int, Array]) -> Borne:
        """Return what single spokes carry of a load.

        Args:
            load: (n, 3) nodal forces in N on the rim by harmonic.

        Raises:
            GeometryError: the load pushes metal beside the rim.
        """
        return Borne(self.spoke, {m: self._of(m, force) for m, force in load.items()})

    def _of(self, m: int, force: Array) -> Array:
        """Return (6,) force on a spoke's rim end in the order of `spokes.Stiff`, under one harmonic."""
        if np.abs(force[~self._rim.free]).max(initial=0.0) > _NONE * np.abs(force).max():
            raise GeometryError("The load pushes metal that is no part of the rim; move the spoke cuts.")
        n = self.spoke.count
        waves = [m + j * n for j in range(-MULTIPLES, MULTIPLES + 1)]
        size = 6 * len(waves)
        works, feel, right = np.zeros((2 * size, 2 * size)), np.zeros((6, 2 * size)), np.zeros(2 * size)
        for k, wave in enumerate(waves):
            rim, hub = slice(6 * k, 6 * k + 6), slice(size + 6 * k, size + 6 * k + 6)
            both = 2.0 if wave else 1.0
            works[rim, rim] = both * self._rim.stiffness(wave)
            works[hub, hub] = both * self._hub.stiffness(wave)
            feel[:, rim] = _felt(self.spoke, wave)
            feel[:, hub] = -self._far @ feels(self.spoke, 0, wave)
            if wave == m:
                right[rim] = self._rim.handed(m, force)
        moved = np.linalg.solve(works + n * feel.T @ self._stiff @ feel, right)
        # The wave of -m is the mirror image, and adds as much.
        return np.asarray((2.0 if m else 1.0) * (turns_of_end() @ self._stiff @ feel @ moved))


class _Joint:
    """The ring of a part where spokes end, moving as a plane: its stiffness, and what a load hands to it."""

    def __init__(
        self, body: Body, inside: Flags, held: Indices, nodes: Indices, spoke: Spoke, end: int
    ) -> None:
        parts, count = body.parts, len(body.mesh.points)
        self._parts = Parts(
            parts.triangles[inside], parts.none[inside], parts.once[inside], parts.twice[inside]
        )
        fixed = np.ones((count, 3), dtype=np.bool_)
        fixed[np.unique(self._parts.triangles)] = False
        fixed[held] = fixed[nodes] = True
        self._ways = np.zeros((6, count, 3))
        self._ways[:, nodes] = motions(body.mesh.points[nodes], float(spoke.z[end]), float(spoke.r[end]))
        self._pattern = Pattern(self._parts.triangles, count, fixed)
        self._known: dict[int, Array] = {}
        #: (n,) nodes of the part that move of themselves.
        self.free = ~fixed[:, 0]

    def stiffness(self, m: int) -> Array:
        """Return (6, 6) forces on the joint for its motions, over the whole turn."""
        size = abs(m)
        if size not in self._known:
            moved = self._pattern.solve(self._parts, {size: np.zeros_like(self._ways)}, {size: self._ways})[
                size
            ]
            forces = np.array([self._parts.forces(size, u) for u in moved])
            self._known[size] = np.einsum("inj,knj->ik", self._ways, forces)
        return mirrored(self._known[size], m)

    def handed(self, m: int, load: Array) -> Array:
        """Return (6,) forces that a load on the part hands to its joint while that is held."""
        moved = self._pattern.solve(self._parts, {m: load})[m]
        return np.asarray(np.einsum("inj,nj->i", self._ways, load - self._parts.forces(m, moved)))


def _felt(spoke: Spoke, m: int) -> Array:
    """Return (6, 6) as `feels` at the rim; but what moves the whole rim is felt as it is."""
    feel = feels(spoke, -1, m)
    if abs(m) > 1:
        return feel
    z, r, d = float(spoke.z[-1]), float(spoke.r[-1]), float(spoke.axial_depth[-1])
    tilt, shift = [r, -z, 1.0, m * z, m, 0.0], [0.0, 1.0, 0.0, -m, 0.0, 0.0]
    along, turn = [1.0, 0.0, 0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, r, 0.0, 1.0]
    whole = np.array([tilt, shift] if m else [along, turn]).T
    # The share of a motion that moves the whole: least squares over the spoke's depth.
    weight = np.array([1.0, 1.0, d**2 / 12.0, 1.0, d**2 / 12.0, d**2 / 12.0])
    share = np.linalg.solve(whole.T @ (weight[:, None] * whole), whole.T * weight)
    return np.asarray(feel + (np.eye(6) - feel) @ whole @ share)
