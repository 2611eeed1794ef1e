"""What would make a wheel cuttable: plain blocks by arithmetic, each offer applied and read again."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.cuttable import lack_words, what_would_cut
from app.studies.fit import measure_wheel
from app.studies.seating import spare_mm
from geometry.errors import GeometryError
from geometry.readings.rules import RuleSet, StockRule
from geometry.shape.blank import Blank
from geometry.shape.outline import Corner
from geometry.shape.section import Outline, build
from tests.support import example
from tests.support.make_samples import samples

#: The example's free outline ends at z -178 and 102, which follow the flanges, and at r 244.6.
INNER, OUTER, TOP = -178.0, 102.0, 244.6
NEEDS = 2.5


def boxed(low: float, high: float, top: float = 270.0) -> tuple[Project, Wheel]:
    """The example's wheel in a plain block under one rule of stock alone."""
    project = example.project()
    corners = ((low, 0.0), (high, 0.0), (high, top), (low, top))
    block = Blank("block", tuple(Corner(z, r) for z, r in corners))
    rules = RuleSet("one rule", stock=(StockRule(NEEDS, 0.2),))
    wheel = replace(project.wheels[0], blank="block", seat_mm=0.0, rules="one rule", clears=())
    return replace(project, blanks=(block,), wheels=(wheel,), rule_sets=(*project.rule_sets, rules)), wheel


def least(project: Project, wheel: Wheel) -> float:
    found = measure_wheel(project, wheel).measurements
    assert found is not None
    return min(spare_mm(row) for row in found.stock)


def test_a_block_that_only_lies_wrong_is_slid() -> None:
    """2 short inboard, 7 to spare outboard: the middle of the 5 over is 4.5 away."""
    project, wheel = boxed(INNER - NEEDS + 2.0, OUTER + NEEDS + 7.0)
    found = what_would_cut(project, wheel)
    (offer,) = found.offers
    assert offer.words == "slid 4.5 outboard in the blank"
    assert offer.by_mm == pytest.approx(4.5, abs=0.05)
    assert offer.mass_kg == 0.0
    assert found.lack is None
    assert least(project, offer.wheel) == pytest.approx(2.5, abs=0.05)


def test_a_block_that_is_too_short_asks_for_less_width_or_more_metal() -> None:
    """3 short in all: half a code is 12.7, and the lack is the body between the block's end and the stock."""
    project, wheel = boxed(INNER - NEEDS + 3.0, OUTER + NEEDS)
    found = what_would_cut(project, wheel)
    assert not found.is_cuttable
    assert found.offers
    assert any(o.words.startswith("width 9.5 instead of 10") for o in found.offers)
    assert found.lack is not None
    assert max(mm for _, _, mm, _ in found.lack.sides) <= 3.01
    # All that lies beyond the block, counted on a grid of places.
    built = build(wheel.section)
    assert isinstance(built, Outline)
    body = shapely.Polygon(built.path.flattened(0.005)).buffer(NEEDS, quad_segs=32)
    seat = found.lack.seat_mm
    z, r = np.meshgrid(np.arange(INNER - 4.0, OUTER + 4.0, 0.05), np.arange(150.0, 250.0, 0.1))
    outside = (z < INNER - NEEDS + 3.0 + seat) | (z > OUTER + NEEDS + seat)
    inside = shapely.contains_xy(body, z[outside], r[outside])
    volume = float(np.sum(2.0 * math.pi * r[outside][inside]) * 0.05 * 0.1)
    assert found.lack.mass_kg == pytest.approx(volume * 2712.6e-9, rel=0.03)


@pytest.mark.parametrize(
    ("low", "high", "top"), [(3.0, 0.0, 270.0), pytest.param(0.0, 5.0, 248.0, marks=pytest.mark.long)]
)
def test_every_offer_is_cuttable_when_it_is_applied(low: float, high: float, top: float) -> None:
    project, wheel = boxed(INNER - NEEDS + low, OUTER + NEEDS + high, top)
    for offer in what_would_cut(project, wheel).offers:
        assert least(project, offer.wheel) >= -1e-9, offer.words


def test_a_side_that_no_change_reaches_leaves_what_the_blank_lacks() -> None:
    """Demo: the bought blank is short by 4.6 at the barrel, 2.5 at the well and 1.0 at the inner lip."""
    project = samples()["2-track-18-bought-blank"]
    found = what_would_cut(project, project.wheels[0])
    assert found.offers == ()
    assert found.lack is not None
    missing = {(zone, side): mm for zone, side, mm, _ in found.lack.sides}
    assert missing["barrel", "brake"] == pytest.approx(4.6, abs=0.1)
    assert missing["well", "brake"] == pytest.approx(2.5, abs=0.1)
    assert missing["inner lip", "brake"] == pytest.approx(1.0, abs=0.1)
    words = lack_words(found.lack, lambda mm: f"{mm:.1f}", lambda kg: f"{kg:.1f} kg")
    assert words.startswith("The blank would need about 1.9 kg more metal")
    assert "barrel, brake side 4.6" in words


def test_what_can_be_cut_and_what_names_no_blank_say_so() -> None:
    project = samples()["1-track-18-own-blank"]
    assert what_would_cut(project, project.wheels[0]).is_cuttable
    with pytest.raises(GeometryError, match="names no blank"):
        what_would_cut(project, replace(project.wheels[0], blank=None))


def test_it_can_be_cancelled_between_kinds_of_change() -> None:
    project, wheel = boxed(INNER - NEEDS + 3.0, OUTER + NEEDS)
    assert what_would_cut(project, wheel, lambda: True).offers == ()
