"""How long a solve of the screening takes: 50 ms for a preview of seven harmonics; the study beside it."""

import time
from collections.abc import Callable
from statistics import median

import numpy as np
import pytest

from app.studies.fit import spokes_of
from geometry.shape.section import Outline, build
from geometry.strength.harmonic import Recovery, at_angles, parts_of, places_of_stiffness, von_mises
from geometry.strength.loads import Clamp
from geometry.strength.mesh import mesh_of, moved
from geometry.strength.metals import METALS
from geometry.strength.rim_loads import seat_load
from geometry.strength.sizes import PREVIEW, STUDY, SizeRule
from geometry.strength.wheel import Body, body_of
from tests.support.example import wheel

pytestmark = pytest.mark.timing

ANGLES = np.radians(np.arange(0.0, 181.0, 10.0))


def milliseconds(work: Callable[[], object], runs: int) -> tuple[float, float]:
    """Return median and least of the runs."""
    work()
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        taken.append(1e3 * (time.perf_counter() - start))
    return median(taken), min(taken)


def example() -> Outline:
    found = build(wheel().section)
    assert isinstance(found, Outline)
    return found


def fresh(body: Body) -> Body:
    """The same body with nothing computed yet."""
    return Body(body.mesh, body.metal, body.smear, body.zone, body.side)


@pytest.mark.parametrize(
    ("name", "rule", "runs"), [("preview", PREVIEW, 40), ("study", STUDY, 8)], ids=["preview", "study"]
)
def test_seven_harmonics(name: str, rule: SizeRule, runs: int) -> None:
    """Assembly, factor, solution and stress under the rolling load, on a pattern that stands already."""
    outline = example()
    body = body_of(outline, METALS[0], spokes_of(wheel()), rule)
    pattern = body.pattern(Clamp.HUB_PAD)
    load = {n: f for n, f in seat_load(body, 16_922.0, 40.0).items() if n <= 6}
    assert len(load) == 7
    parts = body.parts
    solution = pattern.solve(parts, load)

    def whole() -> float:
        one = fresh(body)
        found = pattern.solve(one.parts, load)
        stress = {n: one.recovery.stress(n, u) for n, u in found.items()}
        return float(von_mises(at_angles(stress, ANGLES)).max())

    def assembled() -> object:
        one = fresh(body)
        law = one.smear.law(places_of_stiffness(one.mesh), one.metal.elastic_mpa, one.metal.poisson)
        return parts_of(one.mesh, law)

    def stressed() -> object:
        one: Recovery = fresh(body).recovery
        return von_mises(at_angles({n: one.stress(n, u) for n, u in solution.items()}, ANGLES)).max(axis=0)

    def followed() -> object:
        interior = body.mesh.points[len(body.mesh.edges) : body.mesh.corners]
        return moved(body.mesh, outline.path, interior).corner_deg

    assert whole() > 0.0
    budget = "50 ms" if name == "preview" else "none, in a worker"
    print(
        f"\n{name}: {body.mesh.unknowns} unknowns, {len(body.mesh.triangles)} triangles; median (least), ms"
    )
    for what, work in (
        ("nodes moved and judged", followed),
        ("assembled", assembled),
        ("seven factored and solved", lambda: pattern.solve(parts, load)),
        ("stress, 19 angles", stressed),
        (f"all but the move, budget {budget}", whole),
        ("meshed anew", lambda: mesh_of(outline.path, rule)),
        ("pattern anew", lambda: body.pattern(Clamp.HUB_PAD)),
    ):
        middle, least = milliseconds(work, runs if what != "meshed anew" else max(3, runs // 4))
        print(f"  {what}: {middle:.1f} ({least:.1f})")
