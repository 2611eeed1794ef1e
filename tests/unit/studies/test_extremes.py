"""What can still be had: each is applied and read again, and ends where its rule ends."""

from dataclasses import replace

import pytest

from app.reports.numbers import Numbers
from app.studies.extremes import FOUND_MM, extreme_words, still_to_be_had
from app.studies.fit import measure_wheel
from app.studies.offers import relief
from app.studies.seating import spare_mm
from geometry.errors import GeometryError
from geometry.shape.outline import Corner
from geometry.shape.section import Side, Zone
from tests.support.make_samples import samples


def test_lip_spoke_and_brake_end_where_stock_and_wall_end() -> None:
    project = samples()["1-track-18-own-blank"]
    wheel = replace(project.wheels[0], clears=())
    found = measure_wheel(project, wheel).measurements
    assert found is not None
    lip, spoke, reach, overhang = still_to_be_had(project, wheel)
    stock = {(r.zone, r.side): spare_mm(r) for r in found.stock}
    assert spoke.now_mm is not None
    assert spoke.most_mm is not None
    assert spoke.wheel is not None
    assert overhang.wheel is not None
    # Along the axle a sloped face moves farther than its stock gets thinner, never less far.
    assert spoke.most_mm - spoke.now_mm >= stock["spoke back", "brake"] + stock["spoke face", "street"] - 0.1
    sides = (Zone.SPOKE_BACK, Zone.SHOULDER), (Zone.SPOKE_FACE,)
    for changed, zones, side, dz in (
        (spoke.wheel, sides[0], Side.BRAKE, -1.0),
        (spoke.wheel, sides[1], Side.STREET, 1.0),
        (overhang.wheel, sides[1], Side.STREET, 1.0),
    ):
        names = [str(zone) for zone in zones]
        for more, holds in ((0.0, True), (4.0 * FOUND_MM, False)):
            made = relief(changed, zones, side, dz, 0.0)(more) if more else changed
            read = measure_wheel(project, made).measurements
            assert read is not None
            least = min(spare_mm(r) for r in read.stock if r.zone in names and r.side == str(side))
            assert (least >= -1e-9) is holds
    assert lip.now_mm is not None
    assert lip.most_mm is not None
    assert lip.most_mm - lip.now_mm == pytest.approx(
        min(stock["inner seat", "brake"], stock["inner lip", "brake"]), abs=0.1
    )
    walls = {r.zone: r.spare_mm for r in found.wall}
    assert reach.now_mm is not None
    assert reach.most_mm is not None
    assert walls["barrel"] is not None
    assert reach.most_mm - reach.now_mm <= walls["barrel"] + 0.1
    assert overhang.most_mm is not None
    thinner = relief(wheel, (Zone.BARREL, Zone.WELL), Side.BRAKE, 0.0, 1.0)
    by = reach.most_mm - reach.now_mm
    for change, holds in ((by, True), (by + 3.0 * FOUND_MM, False)):
        walled = measure_wheel(project, thinner(change)).measurements
        assert walled is not None
        least = min(
            r.spare_mm for r in walled.wall if r.zone in ("barrel", "well") and r.spare_mm is not None
        )
        assert (least >= 0.0) is holds


def test_what_is_short_already_is_said() -> None:
    project = samples()["2-track-18-bought-blank"]
    lip = still_to_be_had(project, project.wheels[0])[0]
    assert lip.most_mm is None
    assert "short already" in extreme_words(lip, Numbers("mm"))
    with pytest.raises(GeometryError, match="names no blank"):
        still_to_be_had(project, replace(project.wheels[0], blank=None))


def test_what_the_drawing_ends_is_said_by_place_and_how_to_mend_it() -> None:
    # In a block that holds all, nothing ends by its stock.
    project = samples()["1-track-18-own-blank"]
    roomy = replace(project.blanks[0], corners=_wider(project.blanks[0].corners))
    project = replace(project, blanks=(roomy, *project.blanks[1:]))
    said = [extreme_words(each, Numbers("mm")) for each in still_to_be_had(project, project.wheels[0])]
    ended = [words for words in said if "the drawing" in words]
    assert ended
    for words in ended:
        assert "Vertex" not in words
        assert "read again" in words
        assert any(f"the {zone}" in words.split("the drawing")[1] for zone in Zone)


def _wider(corners: tuple[Corner, ...]) -> tuple[Corner, ...]:
    """Return a plain block about a blank."""
    z, r = [c.z for c in corners], [c.r for c in corners]
    low, high, top = min(z) - 60.0, max(z) + 60.0, max(r) + 60.0
    return Corner(low, 0.0), Corner(high, 0.0), Corner(high, top), Corner(low, top)
