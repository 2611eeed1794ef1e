"""What is asked of the dies: where they meet, a pierced hub, drafts with and without an ejector."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from app.project import edits
from app.studies.composite import composite
from app.studies.drafts import EJECTED, NOT_EJECTED, ON_PUNCH, draft_findings
from app.studies.fit import measure_wheel
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import as_forged
from app.studies.ladder import MET
from app.studies.ladder_money import turned_money
from app.studies.machining import machining
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable
from geometry.readings.solid import volume_mm3
from tests.unit.studies.test_composite import WHEEL, group, stock_left


def test_a_height_for_the_dies_to_meet_keeps_the_stock_and_stands_in_the_ladder() -> None:
    """The wheels' stock by the editor's own readings; what the height costs by the masses of both blanks."""
    project, bare = group(), ForgingSettings(stock_mm=3.0)
    names = [w.name for w in project.wheels]
    free = composite(project, names, bare)
    settings = replace(bare, how=replace(bare.how, parting_mm=-30.0))
    found = composite(project, names, settings)
    assert found.parting_mm[0] == pytest.approx(-30.0, abs=1e-4)
    assert min(stock_left(project, found, settings).values()) >= 3.0 - 1e-6
    words = [rung.words for rung in found.rungs]
    met = words.index(MET)
    assert words[met + 1] == "fillets"
    assert MET not in [rung.words for rung in free.rungs]
    step = found.rungs[met].mass_kg - found.rungs[met - 1].mass_kg
    assert step > 0.0
    assert found.mass_kg - free.mass_kg == pytest.approx(step, abs=0.1)
    assert found.found.bound_kg == pytest.approx(free.found.bound_kg)
    # In another first wheel's frame the same height gives the same blank, and each wheel costs the same.
    turned = names[::-1]
    at = found.wheels[names.index(turned[0])].seat_mm
    other = composite(project, turned, replace(bare, how=replace(bare.how, parting_mm=-30.0 - at)))
    assert other.mass_kg == pytest.approx(found.mass_kg, rel=1e-6)
    for each in found.wheels:
        same = next(w for w in other.wheels if w.name == each.name)
        assert same.costs_others_kg == pytest.approx(each.costs_others_kg, abs=2e-3)


def test_a_height_at_which_the_dies_cannot_meet_says_what_is_possible() -> None:
    with pytest.raises(GeometryError, match=r"beyond the outboard end of the ring; z -?[\d.]+ to [\d.]+ is"):
        composite(group(), [WHEEL], ForgingSettings(stock_mm=3.0, how=Forgeable(parting_mm=400.0)))
    with pytest.raises(GeometryError, match="the inboard end"):
        composite(group(), [WHEEL], ForgingSettings(stock_mm=3.0, how=Forgeable(parting_mm=-400.0)))
    with pytest.raises(GeometryError, match="give a length"):
        Forgeable(parting_mm=float("nan"))


def test_a_pierced_hub_leaves_its_slug_out_of_chips() -> None:
    """The slug by Pappus on the outline within r 25; the stock of the bore by the editor's own reading."""
    project, settings = group(), ForgingSettings(stock_mm=3.0, pierced_mm=50.0, missing_in_stock=True)
    solid, found = (composite(project, [WHEEL], replace(settings, pierced_mm=d)) for d in (None, 50.0))
    within = shapely.Polygon(solid.path.flattened(0.002)).intersection(shapely.box(-500.0, 0.0, 500.0, 25.0))
    density = solid.mass_kg / volume_mm3(solid.path)
    slug = 2.0 * math.pi * within.centroid.y * within.area * density
    assert found.forged.slug_kg == pytest.approx(slug, rel=1e-4)
    assert found.mass_kg == pytest.approx(solid.mass_kg, rel=1e-12)
    assert found.wheels[0].chips_kg == pytest.approx(solid.wheels[0].chips_kg - slug, rel=1e-5)
    blank = as_forged(found, "pierced", settings)
    assert blank.slug_kg == found.forged.slug_kg
    assert min(corner.r for corner in blank.corners) == pytest.approx(25.0, abs=1e-5)
    held = edits.add(project, edits.BLANK, blank)
    wheel = next(w for w in held.wheels if w.name == WHEEL)
    read = measure_wheel(held, replace(wheel, blank="pierced", seat_mm=0.0, clears=())).measurements
    assert read is not None
    # Exact lines and arcs: what was asked for is there, and the hole is farther off the bore than that.
    assert min(row.least_mm for row in read.stock) == pytest.approx(3.0, abs=1e-6)
    assert min(v.r for v in wheel.section.vertices) - 25.0 == pytest.approx(11.0)
    # The ladder's money still ends at the wheel's own metal and cutting.
    (cut,) = machining(project, found)
    density_m3 = density * 1e9
    last = turned_money(found.ladder, density_m3, project.rates, found.forged.slug_kg)
    before = turned_money(solid.ladder, density_m3, project.rates)
    (whole,) = machining(project, solid)
    assert last is not None
    assert before is not None
    assert cut.money.slug == pytest.approx(slug * 0.45 * 4.60, rel=1e-4)
    saved = whole.money.metal_and_cutting - cut.money.metal_and_cutting
    assert before[-1] - last[-1] == pytest.approx(saved, rel=0.02)


def test_a_hole_that_takes_the_bores_stock_says_what_is_possible() -> None:
    bore = 2.0 * min(v.r for v in group().wheels[0].section.vertices)
    with pytest.raises(GeometryError, match=f"up to {bore - 6.0:.2f} mm"):
        composite(group(), [WHEEL], ForgingSettings(stock_mm=3.0, pierced_mm=bore, missing_in_stock=True))


def test_starting_drafts_are_those_of_the_page_and_less_is_said() -> None:
    """Practice 14: outside 1 (0.5 to 1.5) in an ejecting die, without 3 to 5; on the punch 2 (1.5 to 3)."""
    bands = [(d.start_deg, d.low_deg, d.high_deg) for d in (EJECTED, NOT_EJECTED, ON_PUNCH)]
    assert bands == [(1.0, 0.5, 1.5), (4.0, 3.0, 5.0), (2.0, 1.5, 3.0)]
    assert (Forgeable().outside_deg, Forgeable().inside_deg) == (1.0, 2.0)
    assert draft_findings(Forgeable(), True) == ()
    (sticks,) = draft_findings(Forgeable(), False)
    assert "without an ejector) is 1°: 3 to 5°" in sticks.text
    (thin,) = draft_findings(Forgeable(1.0, 1.0), True)
    assert "punch" in thin.text
