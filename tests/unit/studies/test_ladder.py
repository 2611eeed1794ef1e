"""The ladder of kilograms: each rung's metal, turned about the axle, is the mass that it adds."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from app.project import edits
from app.project.wheel_edits import with_inset
from app.studies.composite import Composite, composite
from app.studies.forging_needs import ForgingSettings, NeedWindow
from app.studies.forging_stock import STOCK_SETS, Headroom, Surface
from app.studies.ladder import TO_DRAW, Rung
from app.studies.spun import spun_blank
from tests.unit.studies.test_composite import WHEEL, group

SETTINGS = ForgingSettings(
    stock=STOCK_SETS[0],
    missing_in_stock=False,
    trim_mm=5.0,
    grip_mm=10.0,
    headroom=Headroom(bore_mm=2.0),
    windows=(NeedWindow(WHEEL, 30.0, 40.0),),
)


@pytest.fixture(scope="module")
def found() -> Composite:
    project = group()
    return composite(project, [w.name for w in project.wheels], SETTINGS)


def turned_kg(rung: Rung, density_kg_mm3: float) -> float:
    """Return the mass of a rung's metal turned about the axle, by Pappus's second theorem."""
    return sum(2.0 * math.pi * p.centroid.y * p.area for p in rung.parts) * density_kg_mm3


def test_the_metal_of_each_rung_weighs_what_it_adds(found: Composite) -> None:
    density = found.found.mass_kg / found.found.blank.volume_mm3
    rungs = found.rungs
    # The first is the wheel's body with its windows, which the second fills; the third lies round it.
    full = rungs[1].mass_kg
    assert turned_kg(rungs[0], density) == pytest.approx(full, rel=0.01)
    assert 0.0 < turned_kg(rungs[1], density) < full
    for before, rung in pairwise(rungs[1:]):
        if rung.words.startswith("windows"):
            continue
        assert turned_kg(rung, density) == pytest.approx(rung.mass_kg - before.mass_kg, abs=0.02), rung.words


def test_stock_stands_by_surface_and_drafts_by_wall(found: Composite) -> None:
    words = [rung.words for rung in found.rungs]
    stock = [w for w in words if w.startswith("stock")]
    # The hub is closed: what its bore's stock would add is in the hull already.
    assert stock == [f"stock: {s}" for s in Surface if s is not Surface.HUB]
    assert words.index("draft inside") == words.index(stock[-1]) + 1
    masses = [mass for _, mass in found.ladder]
    assert masses == sorted(masses)
    assert masses[-2:] == [found.mass_kg, found.forged.mass_kg]
    outside = next(rung for rung in found.rungs if rung.words == "stock: outside")
    # All of it lies outside the wheels' largest radius.
    assert min(p.bounds[1] for p in outside.parts) > found.made.sizes.bore_mm


def test_a_window_costs_the_same_in_its_line_and_on_its_rung(found: Composite) -> None:
    ((_, costs),) = found.windows
    before, last, missing = found.rungs[-3:]
    assert missing.words == TO_DRAW
    assert last.words == "windows of inset and width"
    assert last.mass_kg - before.mass_kg == pytest.approx(costs, abs=1e-9)
    alone = composite(
        group(),
        [w.name for w in group().wheels],
        ForgingSettings(stock=STOCK_SETS[0], missing_in_stock=False),
    )
    assert [w for w, _ in alone.ladder][-2:] == ["fillets", TO_DRAW]


def test_a_rung_is_shared_out_among_the_wheels_that_ask_for_it(found: Composite) -> None:
    for before, rung in pairwise(found.rungs):
        if rung.wheels_kg:
            assert sum(rung.wheels_kg) == pytest.approx(rung.mass_kg - before.mass_kg, rel=1e-6)
            assert min(rung.wheels_kg) >= 0.0


def test_the_ring_that_reaches_farthest_inboard_asks_for_the_trim() -> None:
    project = group()
    wheel = edits.find(project, edits.WHEEL, WHEEL)
    deeper = replace(with_inset(wheel, wheel.inset_mm + 6.0), name="deeper")
    project = edits.add(project, edits.WHEEL, deeper)
    settings = ForgingSettings(stock_mm=3.0, trim_mm=5.0)
    in_line = composite(project, [WHEEL, "deeper"], settings, seats_mm=[0.0, 0.0])
    trim = next(rung for rung in in_line.rungs if rung.words == "ring-end trim")
    assert trim.wheels_kg[0] == pytest.approx(0.0, abs=0.01)
    assert trim.wheels_kg[1] > 0.5
    # It ends where the blank does; a longer ring is wider at the parting too, by its draft.
    assert min(p.bounds[0] for p in trim.parts) == pytest.approx(in_line.path.bounds[0], abs=1e-6)


def test_the_metal_of_a_spun_blanks_rungs_weighs_what_they_add() -> None:
    project, settings = group(), ForgingSettings(stock_mm=4.0)
    spun = spun_blank(project, composite(project, [WHEEL], settings), settings)
    density = spun.mass_kg / spun.found.preform.volume_mm3
    reached = 0.0
    for rung in spun.rungs:
        assert turned_kg(rung, density) == pytest.approx(rung.mass_kg - reached, abs=0.02), rung.words
        reached = rung.mass_kg
