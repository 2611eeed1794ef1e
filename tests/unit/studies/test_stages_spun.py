"""A spun blank followed from its ring: constant volume, order, jaws, what it costs, bad input."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
import shapely

from app.files.migrations import FORMAT
from app.files.project_file import ProjectFileError, dumps, load, loads, save
from app.project import edits
from app.project.project import Project
from app.project.shop import ShopRates
from app.reports.stage_pages import stages_pdf
from app.studies.composite import composite
from app.studies.forging_needs import ForgingSettings
from app.studies.machining import machining_in_blank
from app.studies.spun import SpunSettings, as_spun_blank, spun_blank
from app.studies.stages import Followed, StageSettings, follow
from geometry.errors import GeometryError
from geometry.forging.arcs import OFF_MM
from geometry.forging.stages import Route, StageName
from geometry.shape.blank import Blank, SpunFrom, Supply
from geometry.shape.outline import Corner
from geometry.shape.section import Zone
from tests.support import example
from tests.unit.studies.test_stages import AROUND, DENSITY, mm, plain, ring

#: A disc of 40 with a ring 38 thick and 70 high: the same metal inboard of the disc as AROUND's ring of
#: 30 x 112 and a trim of 5 (Pappus).
_INBOARD = ring(195.0, 225.0, 112.0 + 5.0)
_TALL = _INBOARD / ring(195.0, 233.0, 1.0)
RING = (
    *((35.0, 0.0), (35.0, 225.0), (-5.0, 225.0), (-5.0, 233.0)),
    *((-5.0 - _TALL, 233.0), (-5.0 - _TALL, 195.0), (-5.0, 195.0), (-5.0, 0.0)),
)


def spun(rows: tuple[tuple[float, float], ...] = RING, trim_mm: float | None = 5.0) -> Project:
    """The disc-with-a-ring wheel in AROUND, drawn from a ring."""
    project = plain(AROUND)
    facts = SpunFrom(tuple(Corner(z, r) for z, r in rows), trim_mm=trim_mm)
    blank = replace(project.blanks[0], supply=Supply.SPUN, spun=facts)
    return replace(project, blanks=(blank,))


def test_the_ring_holds_the_spun_outline_and_its_trim() -> None:
    found = follow(spun(), example.WHEEL)
    assert [stage.name for stage in found.stages] == [
        *("as forged", "as spun", "solution-treated and aged", "first side", "second side", "finished")
    ]
    forged, drawn, treated = found.stages[:3]
    spun_mm3 = ring(0.0, 195.0, 40.0) + ring(195.0, 225.0, 152.0)
    trim = ring(195.0, 225.0, 5.0)
    assert drawn.mass_kg == pytest.approx(DENSITY * spun_mm3, rel=1e-6)
    assert forged.mass_kg == pytest.approx(DENSITY * (spun_mm3 + trim), rel=1e-6)
    assert drawn.chips_kg == pytest.approx(DENSITY * trim, rel=1e-6)
    assert treated.mass_kg == drawn.mass_kg
    # The wheel does not lie in the ring, and that is no fault of it.
    assert (forged.stock, forged.warnings, forged.holding) == ((), (), None)
    assert drawn.least is not None
    assert drawn.least.least_mm == pytest.approx(5.0)
    assert found.warnings == ()
    assert any("forge, spin" in note.text for note in found.notes)
    assert any("springs back by nothing" in note.text for note in found.notes)


def test_every_stage_after_spinning_is_that_of_the_turned_blank() -> None:
    turned, drawn = (follow(project, example.WHEEL) for project in (plain(AROUND), spun()))
    for name in (StageName.TREATED, StageName.FIRST, StageName.SECOND, StageName.FINISHED):
        assert drawn.stage(name).path.rows() == turned.stage(name).path.rows()
        assert drawn.stage(name).warnings == turned.stage(name).warnings


def test_thickest_place_as_forged_is_that_of_the_ring() -> None:
    """In the joint of a disc of 40 and a ring of 38; spun it is of 40 by 30."""

    def across(a: float, b: float) -> float:
        return 2.0 * (a + b - math.sqrt(2.0 * a * b))

    thick = ((35.0, 0.0), (35.0, 233.0), (-75.0, 233.0), (-75.0, 195.0), (-5.0, 195.0), (-5.0, 0.0))
    found = follow(spun(thick), example.WHEEL)
    assert found.treated.thickest_mm == pytest.approx(across(40.0, 30.0), abs=0.06)
    assert found.treated.forged_mm == pytest.approx(across(40.0, 38.0), abs=0.06)


def test_a_pierced_ring_keeps_its_volume_too() -> None:
    found = follow(spun(), example.WHEEL, StageSettings(Route(pierced_mm=50.0, rough_mm=3.0)))
    names = [str(stage.name) for stage in found.stages]
    assert names[:4] == ["as forged", "pierced", "as spun", "rough turned on the first side"]
    pierced, drawn = found.stages[1:3]
    assert pierced.chips_kg == pytest.approx(DENSITY * ring(0.0, 25.0, 40.0), rel=1e-5)
    assert drawn.chips_kg == pytest.approx(DENSITY * ring(195.0, 225.0, 5.0), rel=1e-4)
    assert pierced.stock == ()


@pytest.mark.parametrize(("trim", "words"), [(12.0, "with its trim"), (None, "spun outline ")])
def test_a_ring_of_other_metal_is_told(trim: float | None, words: str) -> None:
    """A trim of 12 in place of 5; and where no trim is known, a ring that ends at z -40.

    Masses are told in the unit that is asked for; a pound is 0.45359237 kg (1959).
    """
    rows = RING if trim is not None else tuple((max(z, -40.0), r) for z, r in RING)
    found = follow(spun(rows, trim), example.WHEEL)
    (finding,) = found.stage("as spun").warnings
    said = finding.words(mm)
    assert "spinning keeps the metal" in said
    assert words in said
    for kg in finding.masses_kg:
        assert f"{kg:.2f} kg" in said
        assert f" {kg / 0.45359237:.1f} pounds" in finding.words(
            mm, lambda kg: f"{kg / 0.45359237:.1f} pounds"
        )


def test_a_spun_blank_without_its_ring_is_not_called_forged() -> None:
    project = spun()
    blank = replace(project.blanks[0], spun=None)
    found = follow(replace(project, blanks=(blank,)), example.WHEEL, StageSettings(Route(pierced_mm=50.0)))
    assert found.stages[0].name is StageName.SPUN
    assert found.stages[0].path.bounds[2] == pytest.approx(25.0, abs=OFF_MM)
    assert any("ring that the blank is drawn from is not known" in f.text for f in found.warnings)


def test_a_ring_that_crosses_itself_is_refused() -> None:
    crossed = (RING[0], RING[3], RING[1], *RING[4:])
    with pytest.raises(GeometryError, match="Forged ring of blank 'plain'"):
        follow(spun(crossed), example.WHEEL)


def drawn_from_wheel() -> tuple[Project, float, float]:
    """The example's wheel in its own spun blank, taken into the project; forging and spun mass, kg."""
    project, wheel = example.roomy()
    settings = ForgingSettings(stock_mm=2.5)
    made = composite(project, [wheel.name], settings, seats_mm=[0.0])
    found = spun_blank(project, made, settings, SpunSettings(mandrel_price=18000.0, spinning_price=41.5))
    project = edits.add(project, edits.BLANK, as_spun_blank(found, "S"))
    project = edits.replaced(project, edits.WHEEL, wheel.name, replace(wheel, blank="S", seat_mm=0.0))
    return project, found.mass_kg, found.spun_kg


def test_a_spun_blank_goes_through_a_file_and_its_stages(tmp_path: Path) -> None:
    project, forged_kg, spun_kg = drawn_from_wheel()
    save(project, tmp_path / "p.blankwright")
    again = load(tmp_path / "p.blankwright")
    assert again.blanks[-1] == project.blanks[-1]
    assert again.blanks[-1].supply is Supply.SPUN
    found = follow(again, example.WHEEL, StageSettings(Route(rough_mm=2.0)))
    assert found.stage("as forged").mass_kg == pytest.approx(forged_kg, rel=1e-9)
    assert found.stage("as spun").mass_kg == pytest.approx(spun_kg, rel=1e-9)
    # The dies of its forging meet beside the outer lip; nothing else is to look at.
    (flash,) = found.warnings
    assert flash.text.startswith("flash line")
    lip = [v.z for v in again.wheels[0].section.vertices if v.zone is Zone.OUTER_LIP]
    assert again.blanks[-1].parting_mm is not None
    assert min(lip) - 10.0 <= again.blanks[-1].parting_mm <= max(lip) + 10.0
    _nested(found)
    assert stages_pdf(again, found) == stages_pdf(again, found)


def _nested(found: Followed) -> None:
    """Every stage after spinning lies in the one before."""
    first = [stage.name for stage in found.stages].index(StageName.SPUN)
    areas = [shapely.Polygon(stage.path.flattened(0.0005)) for stage in found.stages[first:]]
    for before, after in pairwise(areas):
        assert after.difference(before.buffer(2.0 * OFF_MM)).is_empty


def test_soft_jaws_of_a_straight_wall_and_of_a_cone() -> None:
    """10 mm of the outside from z 35 on: 450 on a cylinder; on a wall of 20 degrees it falls to the end.

    Inside, the corner of the wheel grown by 0.6 is an arc from z -100.6 to -100, where the wall begins.
    """
    first = follow(plain(AROUND), example.WHEEL).stage("first side").holding
    assert first is not None
    assert first.jaws is not None
    assert first.jaws.words(mm) == (
        "soft jaws bored to diameter 450.00 at z 35.00 and 450.00 at z 25.00, 10.00 long"
    )
    assert first.jaws.pushes_deg == 0.0
    second = follow(plain(AROUND), example.WHEEL).stage("second side").holding
    assert second is not None
    assert second.jaws is not None
    assert second.jaws.words(mm).startswith("soft jaws turned outside to diameter 398.80 at z -100.00")
    lean = 152.0 * math.tan(math.radians(20.0))
    cone = ((35.0, 0.0), (35.0, 225.0), (-117.0, 225.0 + lean), *AROUND[3:])
    found = follow(plain(cone), example.WHEEL).stage("first side")
    assert found.holding is not None
    assert found.holding.grip is None
    jaws = found.holding.jaws
    assert jaws is not None
    assert jaws.pushes_deg == pytest.approx(20.0, abs=0.1)
    assert jaws.far_mm - jaws.near_mm == pytest.approx(2.0 * 10.0 * math.tan(math.radians(20.0)), abs=0.02)
    assert any("push the part off" in finding.text for finding in found.warnings)


def test_mandrel_is_paid_once_and_spinning_a_piece() -> None:
    blank = Blank("S", (), Supply.SPUN, price=180.0, die_cost=60000.0)
    assert (blank.tools_cost, blank.piece_price(90.0)) == (60000.0, 180.0)
    by_price = replace(blank, spun=SpunFrom(mandrel_price=18000.0, spinning_price=40.0, spinning_min=10.0))
    assert (by_price.tools_cost, by_price.piece_price(90.0)) == (78000.0, 220.0)
    by_minutes = replace(blank, spun=SpunFrom(spinning_min=10.0))
    assert (by_minutes.tools_cost, by_minutes.piece_price(90.0)) == (60000.0, 195.0)
    asked = replace(by_price, price=None, die_cost=None)
    assert (asked.tools_cost, asked.piece_price(90.0)) == (None, None)


def test_a_wheel_from_a_spun_blank_pays_its_ring_and_its_spinning() -> None:
    """Ring and trim by Pappus; the chips of cutting are those of the same blank turned."""
    project = spun()
    rates = ShopRates(loss=0.1, log_price_kg=5.0, treatment_price_kg=1.0, forging_price=90.0, hour_price=60.0)
    blank = project.blanks[0]
    assert blank.spun is not None
    timed = replace(blank, spun=replace(blank.spun, spinning_min=7.0, mandrel_price=18000.0))
    turned = machining_in_blank(plain(AROUND), example.WHEEL, rates)
    found = machining_in_blank(replace(project, blanks=(timed,)), example.WHEEL, rates)
    trim = DENSITY * ring(195.0, 225.0, 5.0)
    forged = DENSITY * (ring(0.0, 195.0, 40.0) + ring(195.0, 225.0, 152.0)) + trim
    assert found.money.log == pytest.approx(forged * 1.1 * 5.0, rel=1e-9)
    assert found.money.treatment == pytest.approx(forged * 1.0, rel=1e-9)
    assert found.money.spinning == 7.0
    assert found.money.cutting == turned.money.cutting
    assert found.money.chips == pytest.approx(turned.money.chips + trim * rates.chip_value_kg, rel=1e-9)
    paid = found.money.log + 90.0 + found.money.treatment + 7.0
    assert found.money.metal == pytest.approx(paid, rel=1e-12)
    assert (found.chips_kg, found.blank_kg) == (turned.chips_kg, turned.blank_kg)


def test_a_file_of_format_6_keeps_a_mandrel_in_the_price_of_its_dies() -> None:
    blank = Blank("S", (Corner(0.0, 0.0),), Supply.SPUN, die_cost=78000.0)
    written = dumps(Project("p", blanks=(blank,))).split(b"\n", 1)[1]
    old = b"{" + written.replace(b'"format": %d' % FORMAT, b'"format": 6').replace(b'"spun": null,\n', b"")
    assert b'"format": 6' in old
    assert b'"spun": null' not in old
    (read,) = loads(old, ignore_digest=True).blanks
    assert (read.spun, read.tools_cost) == (None, 78000.0)


def test_spinning_told_of_a_blank_that_is_not_spun_is_refused() -> None:
    project = spun()
    wrong = replace(project.blanks[0], supply=Supply.OWN)
    with pytest.raises(ProjectFileError, match="supply is 'own'"):
        dumps(replace(project, blanks=(wrong,)))
