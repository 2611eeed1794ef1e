"""What is printed as converged keeps to its word on a mesh twice as fine again: two samples, three meshes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from app import resources
from app.files.project_file import load
from app.studies.strength.cases import cases_of, factors_of
from app.studies.strength.inputs import ready
from app.studies.strength.zones import Solved, ZoneStress, forces_of, solved, zone_rows
from geometry.shape.curve import Array
from geometry.strength.loads import Kind, TestLoad
from geometry.strength.sizes import STUDY
from geometry.strength.wheel import bent, body_of

pytestmark = pytest.mark.long

SAMPLES = ("1-track-18-own-blank", "3-gt-19-touching")
CASES = ("R124 bending", "R124 rolling", "inflation")
#: What a figure called converged may move.
WITHIN = 0.02


@dataclass(frozen=True)
class Seen:
    """A zone under a case: as printed, on the next finer mesh, and what its components change there.

    Attributes:
        components: greatest change of a stress component at the printed place, over its von Mises stress.
    """

    name: str
    printed: ZoneStress
    finer: ZoneStress
    components: float


@cache
def seen(sample: str) -> tuple[Seen, ...]:
    project = load(resources.sample(sample))
    start = ready(project, project.wheels[0])
    rules = (STUDY, STUDY.halved(), STUDY.halved().halved())
    bodies = [body_of(start.outline, start.metal, start.spokes, rule) for rule in rules]

    def under(case: TestLoad, k: int) -> Solved:
        pattern = bodies[k].pattern(case.clamp)
        if case.kind is Kind.BENDING:
            return solved(bodies[k], bent(bodies[k], (case.moment_nm or 0.0) * 1000.0, pattern))
        return solved(
            bodies[k], pattern.solve(bodies[k].parts, forces_of(bodies[k], case, start.tyre.outside_mm))
        )

    out = []
    for case in cases_of(start, project.strength):
        if case.key not in CASES:
            continue
        coarse, fine, finest = (under(case, k) for k in range(3))
        pairs = (
            zone_rows(a, b, case, start.metal, factors_of(project.strength))
            for a, b in ((fine, coarse), (finest, fine))
        )
        for printed, finer in zip(*pairs, strict=True):
            if printed.exercised:
                name = f"{sample}, {case.key}, {printed.zone}"
                out.append(Seen(name, printed, finer, _components(fine, finest, printed)))
    return tuple(out)


def _components(fine: Solved, finest: Solved, row: ZoneStress) -> float:
    """Return the change of the components at a row's place, read between the finer mesh's skin nodes."""
    node = int(np.hypot(*(fine.body.mesh.points - row.at).T).argmin())
    edges = finest.body.mesh.edges
    ends = finest.body.mesh.points[edges[:, :2]]
    way = ends[:, 1] - ends[:, 0]
    at = np.clip(((row.at - ends[:, 0]) * way).sum(axis=1) / (way**2).sum(axis=1), 0.0, 1.0)
    on = int(np.hypot(*(ends[:, 0] + at[:, None] * way - row.at).T).argmin())
    before = fine.round_turn(np.array([node]))
    after = finest.round_turn(edges[on])
    share, count = float(at[on]), 3
    # Along an edge from its first node over its middle to its last: corners, then the middle.
    shape = np.array([(1 - share) * (1 - 2 * share), share * (2 * share - 1), 4 * share * (1 - share)])
    read: Array = np.einsum("k,aske->ase", shape, after.reshape(len(after), -1, count, 6))
    return float(np.abs(read - before.reshape(read.shape)).max() / row.von_mises_mpa)


@pytest.mark.parametrize("sample", SAMPLES)
def test_a_stress_called_converged_moves_little_on_a_finer_mesh(sample: str) -> None:
    called = [s for s in seen(sample) if s.printed.converged]
    assert len(called) >= 5
    for one in called:
        assert one.finer.von_mises_mpa == pytest.approx(one.printed.von_mises_mpa, rel=WITHIN), one.name


@pytest.mark.parametrize("sample", SAMPLES)
def test_components_of_a_converged_stress_move_little_on_a_finer_mesh(sample: str) -> None:
    """At the printed place, over its von Mises stress: the places of both meshes are not the same nodes."""
    for one in (s for s in seen(sample) if s.printed.converged):
        assert one.components < WITHIN, one.name


@pytest.mark.parametrize("sample", SAMPLES)
def test_a_life_called_converged_moves_little_on_a_finer_mesh(sample: str) -> None:
    """Lives within the data; a bound does not move. Most of what is marked does: the mark is earned."""
    called = moved = 0
    for one in seen(sample):
        for level, finer in zip(one.printed.levels, one.finer.levels, strict=True):
            now, then = level.life.mean, finer.life.mean
            if now is None or then is None or "beyond" in level.life.note:
                continue
            if one.printed.life_converged:
                called += 1
                assert then == pytest.approx(now, rel=WITHIN), one.name
            else:
                moved += abs(then / now - 1.0) > WITHIN
    assert called >= 1
    assert moved >= 3
