"""Where spokes meet full rings a place sees the stress of either, not the mean of both."""

from __future__ import annotations

import numpy as np

from app.files.project_file import load
from app.resources import samples
from app.studies.fit import spokes_of
from geometry.shape.section import Outline, build
from geometry.strength.harmonic import places_of_stress, von_mises
from geometry.strength.loads import Clamp
from geometry.strength.metals import METALS
from geometry.strength.sizes import PREVIEW
from geometry.strength.wheel import bent, body_of


def test_a_joint_of_spokes_and_ring_sees_the_greater_of_both_sides() -> None:
    wheel = load(samples()[0]).wheels[0]
    outline = build(wheel.section)
    assert isinstance(outline, Outline)
    body = body_of(outline, METALS[0], spokes_of(wheel), PREVIEW)
    moved = bent(body, 4.0e6, body.pattern(Clamp.INNER_FLANGE))[1]
    read = von_mises(body.round_turn({1: body.recovery.stress(1, moved)}, np.zeros(1))[0])
    read = read.reshape(-1, len(body.mesh.points)).max(axis=0)

    # By hand: each side's elements averaged by their area, in the moment's plane.
    each = body.recovery.elements(1, moved)
    spoked = (body.smear.metal(places_of_stress(body.mesh)) < 1.0 - 1e-12).sum(axis=1) > 1
    corner = body.mesh.points[body.mesh.triangles[:, :3]]
    a, b = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    gaps = []
    for node in range(len(body.mesh.points)):
        holds, place = np.nonzero(body.mesh.triangles == node)
        if not 0 < spoked[holds].sum() < len(holds):
            continue
        both = []
        for kind in (True, False):
            mine = spoked[holds] == kind
            stress = np.average(each[holds[mine], place[mine]], axis=0, weights=area[holds[mine]])
            stress[4:] = 0.0  # the sine parts are nothing at theta = 0
            both.append(float(von_mises(stress)))
        assert read[node] >= max(both) * 0.97
        gaps.append(abs(both[0] - both[1]))
    assert max(gaps) > 20.0  # there is a jump to be seen
