"""The shipped rule for calipers against a published guide value."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project import demo
from app.project.project import Material, Project
from app.project.wheel import SizeCode, Wheel
from app.studies.fit import measure_wheel
from geometry.readings.rules import State
from geometry.shape.outline import Corner, NamedOutline
from geometry.shape.section import Vertex, Zone

#: A wheel of boxes whose barrel lies at r 200 and whose spoke back lies at z 60.
ROWS = (
    (90.0, 206.0, Zone.WELL),
    (-100.0, 206.0, Zone.INNER_LIP),
    (-100.0, 200.0, Zone.BARREL),
    (60.0, 200.0, Zone.SPOKE_BACK),
    (60.0, 80.0, Zone.SPOKE_BACK),
    (0.0, 80.0, Zone.HUB_PAD),
    (0.0, 40.0, Zone.BORE),
    (90.0, 40.0, Zone.SPOKE_FACE),
)


# T37, published: a guidance page on rim conditions asks for 3 mm or more between caliper and rim with new
# brake pads: 2.9 fails, 3.0 passes.
@pytest.mark.parametrize(("gap", "passes"), [(2.9, False), (3.0, True), (3.1, True)])
def test_t37_caliper_to_rim_with_new_brake_pads(gap: float, passes: bool) -> None:
    top = 200.0 - gap
    corners = tuple(Corner(z, r) for z, r in ((-60.0, 120.0), (30.0, 120.0), (30.0, top), (-60.0, top)))
    brake = replace(demo.brake_380(), outlines=(NamedOutline("as mounted", corners),)).with_card(error_mm=0.0)
    rules = demo.rule_sets()[0]
    wheel = Wheel(
        "W",
        SizeCode(16, 6),
        20.0,
        tuple(Vertex(z, r, zone=zone) for z, r, zone in ROWS),
        clears=(brake.name,),
        rules=rules.name,
    )
    project = Project(
        "P", wheels=(wheel,), shapes=(brake,), rule_sets=(rules,), materials=(Material("6061-T6"),)
    )
    found = measure_wheel(project, wheel).measurements
    assert found is not None
    (row,) = [row for row in found.gap if row.zone == "barrel"]
    assert row.least_mm == pytest.approx(gap, abs=1e-9)
    assert (row.state in (State.TIGHT, State.CLEAR)) is passes
    assert (row.state is State.SHORT) is not passes
