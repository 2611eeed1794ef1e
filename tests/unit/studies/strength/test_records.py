"""Tests on record: what they say of a screening, and which tests they spare."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.project import Project
from app.project.strength import (
    SHIPPED_STRENGTH,
    Outcome,
    OwnConstant,
    Struck,
    TestPrice,
    TestRecord,
)
from app.project.wheel import Fixing
from app.reports.strength_family import Evidence, total_words
from app.reports.strength_words import Verdict, cells, is_open, summary
from app.studies.strength import run
from app.studies.strength.calibration import calibration, speaks_for
from app.studies.strength.proof_tests import Planned, plan_of
from app.studies.strength.run import Screening, screen
from app.studies.strength.tested import ANOTHER, drawing_of, forging_of
from geometry.errors import GeometryError
from geometry.shape.section import Zone
from geometry.strength.life import life
from geometry.strength.metals import SnTable
from tests.support.screened import FEW, screened, track

#: Moment in N m and cycles of both levels of the test, a little above those asked.
RUN = [(3240.0, 2.0e5), (2160.0, 1.8e6)]


def record(**changes: object) -> TestRecord:
    start = TestRecord("T1", wheel="Track 18", family="Track", case="R124 bending", load=3240.0, cycles=2.0e5)
    project, wheel = track()
    start = replace(start, drawing=drawing_of(project, wheel), forging=forging_of(project, wheel))
    return replace(start, **changes)  # type: ignore[arg-type]


def test_a_failed_test_gives_a_factor_and_a_passed_one_a_bound() -> None:
    row = screened().zone("UN R124 rotating bending", Zone.SPOKE_FACE)
    assert row is not None
    assert row.greatest_mpa is not None
    broke = calibration(record(outcome=Outcome.FAILED, zone="spoke face"), screened(), track()[0])
    assert not broke.at_most
    # The factor times the screened stress has a mean life of the cycles run.
    curve = screened().ready.metal.sn
    assert curve is not None
    stress = broke.factor * row.greatest_mpa * 3240.0 / 4315.62
    assert life(curve, stress, -1.0).mean == pytest.approx(2.0e5, rel=1e-3)
    passed = calibration(record(), screened(), track()[0])
    assert passed.at_most
    assert "at most" in passed.words
    assert passed.factor <= broke.factor


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"case": "nothing"}, "no load case"),
        ({"load": None}, "load and the cycles"),
        ({"cycles": 5e8}, "outside the data"),
        ({"outcome": Outcome.FAILED, "zone": "inner lip"}, "name the zone"),
    ],
)
def test_a_record_that_says_too_little_is_refused(changes: dict[str, object], says: str) -> None:
    with pytest.raises(GeometryError, match=says):
        calibration(record(**changes), screened(), track()[0])


def test_the_plan_tests_the_worst_version_and_counts_what_was_done() -> None:
    project, wheel = track()
    assert isinstance(wheel.fixing, Fixing)
    near = replace(wheel, name="Near", inset_mm=35.0)
    far = replace(wheel, name="Far", inset_mm=20.0)
    other = replace(wheel, name="Circle", fixing=replace(wheel.fixing, circle_mm=108.0))
    family = replace(project, wheels=(wheel, near, far, other))
    one = plan_of(family, (wheel, near, far), ())
    bending = [p for p in one if p.test == "R124 bending"]
    # One bolt circle: 2 + 2 on the greatest inset; 5 mm or less one more, more than 5 mm 1 + 1.
    assert [(p.wheel, p.count) for p in bending] == [(wheel.name, 4), ("Far", 2), ("Near", 1)]
    several = [p for p in plan_of(family, (wheel, other), ()) if p.test == "R124 bending"]
    assert [(p.wheel, p.count) for p in several] == [("Circle", 2), (wheel.name, 2)]
    priced = replace(family, strength=replace(SHIPPED_STRENGTH, prices=(TestPrice("R124 bending", 1500.0),)))
    done = plan_of(priced, (wheel,), (record(),))
    assert done[0].covered_by == ("T1",)
    assert done[0].cost == 4500.0, "of the three samples that are open"
    # One record is one sample of the four.
    assert all(p.is_open for p in done)
    four = [record(name=f"T{k}", load=load, cycles=n) for k, (load, n) in enumerate(2 * RUN)]
    assert not plan_of(family, (wheel,), four)[0].is_open
    # Passed at 75 % of 4320 N m: 8 % more load asks for 1 + 1, 20 % more for all four again.
    for more, count in ((1.08, 2), (1.2, 4)):
        heavier = replace(wheel, load_kg=690.0 * more)
        assert plan_of(replace(project, wheels=(wheel,)), (heavier,), four)[0].count == count
    # One record of the four does not make an earlier approval.
    assert (
        plan_of(replace(project, wheels=(wheel,)), (replace(wheel, load_kg=745.2),), four[:1])[0].count == 4
    )


def test_samples_are_counted_level_by_level_and_one_that_broke_opens_the_line() -> None:
    project, wheel = track()
    told = replace(project, wheels=(wheel,))
    high = [record(name=f"T{k}") for k in range(4)]
    line = plan_of(told, (wheel,), high)[0]
    # Four at 75 % cover two there, none at 50 % for 1.8e6 cycles; two are more than is asked.
    assert [(level.count, len(level.covered_by)) for level in line.levels] == [(2, 2), (2, 0)]
    assert line.open_count == 2
    assert [words.split(": ")[1] for words in line.not_counted] == ["one more than is asked"] * 2
    whole = [record(name=f"T{k}", load=load, cycles=n) for k, (load, n) in enumerate(2 * RUN)]
    assert not plan_of(told, (wheel,), whole)[0].is_open
    broke = record(name="B", outcome=Outcome.FAILED, zone="spoke back", cycles=1.0e5)
    line = plan_of(told, (wheel,), [*whole, broke])[0]
    assert (line.is_open, line.failed) == (True, ("B",))
    assert total_words(Evidence((), (), (line,))) == (
        "every sample that is listed is covered; broke before they had stood what is asked: B"
    )
    # Nobody knows of which drawing: it may be this one. Of another it says nothing here.
    for drawing, failed in (("", ("B",)), ("0" * 16, ())):
        line = plan_of(told, (wheel,), [*whole, replace(broke, drawing=drawing)])[0]
        assert (line.is_open, line.failed) == (bool(failed), failed)
    later = replace(broke, load=4000.0)
    assert not plan_of(told, (wheel,), [*whole, later])[0].is_open, "it broke under 24 % more than is asked"


def test_a_test_of_another_drawing_covers_nothing_and_its_factor_says_so() -> None:
    project, wheel = track()
    moved = replace(wheel, vertices=(wheel.vertices[0].moved(dz=0.1), *wheel.vertices[1:]))
    told = replace(project, wheels=(moved,))
    line = plan_of(told, (moved,), (record(),))[0]
    assert line.covered_by == ()
    assert line.not_counted == ("T1: the wheel's drawing changed since it was made",)
    unknown = plan_of(project, (wheel,), (record(drawing=""),))[0]
    assert unknown.covered_by == ()
    assert "not recorded" in unknown.not_counted[0]
    blank = next(b for b in project.blanks if b.name == wheel.blank)
    corner = replace(blank.corners[0], r=blank.corners[0].r + 0.5)
    reforged = replace(project, blanks=(replace(blank, corners=(corner, *blank.corners[1:])),))
    assert "its blank changed" in plan_of(reforged, (wheel,), (record(),))[0].not_counted[0]
    learned = calibration(record(drawing="0" * 16), screened(), project)
    assert "changed since it was made" in learned.words
    assert learned.words.count("one sample") == 1
    assert calibration(record(), screened(), project).drawing == ""
    # Name, load, tyre and what it is held against are not of the drawing.
    assert drawing_of(project, replace(wheel, name="X", load_kg=1.0, tyre="", clears=())) == record().drawing


def test_an_impact_is_covered_by_striker_fall_place_and_tyre() -> None:
    project, wheel = track()
    told = replace(project, wheels=(wheel,))
    hit = record(
        case="13 degree impact", load=None, cycles=None, striker_kg=594.0, drop_mm=230.0, tyre="245/35R18"
    )
    # D = 0.6 x 690 + 180 = 594 kg from 230 mm (SAE J175, ISO 7141, summary); the wheel's tyre is 265/35R18.
    hit = replace(hit, struck=Struck.SPOKE)

    def line(*records: TestRecord) -> Planned:
        return next(p for p in plan_of(told, (wheel,), records) if p.test == "13 degree impact")

    assert [level.covered_by for level in line(hit).levels] == [("T1",), ()]
    assert not line(hit, replace(hit, name="T2", struck=Struck.BETWEEN)).is_open
    for changes, says in (
        ({"striker_kg": 580.0}, "striker 580 kg, 594 kg asked"),
        ({"drop_mm": None}, "fall not recorded"),
        ({"tyre": ""}, "tyre is not recorded"),
        ({"tyre": "275/35R18"}, "larger than"),
        ({"struck": Struck.NOT_SAID}, "place of the blow"),
    ):
        assert says in line(replace(hit, **changes)).not_counted[0]


def test_a_record_speaks_for_its_family_in_every_later_screening() -> None:
    project, wheel = track()
    narrow = replace(wheel, name="Track 18 narrow", inset_mm=35.0)
    other = replace(wheel, name="Club")
    told = replace(
        project,
        wheels=(wheel, narrow, other),
        test_records=(
            record(family="Track 18"),
            record(name="T2", outcome=Outcome.FAILED, zone="spoke face", cycles=6e5),
            record(name="T3", wheel=None, family="Track 18"),
        ),
    )
    few = replace(FEW, cases=("JWL bending",))
    mine = screen(told, narrow, few)
    # Measured factors before bounds; the record without a drawn wheel says that it says nothing.
    assert [c.record for c in mine.calibrations] == ["T2", "T1"]
    assert [c.at_most for c in mine.calibrations] == [False, True]
    assert [(u.record, u.failed) for u in mine.unread] == [("T3", False)]
    assert "not drawn" in mine.unread[0].words
    assert screen(told, other, few).calibrations == ()


def test_a_family_is_whole_words_and_of_one_metal() -> None:
    project, wheel = track()
    told = record(wheel="Club 17", family="Tr")
    assert not speaks_for(told, wheel)
    assert speaks_for(replace(told, family=" track "), wheel)
    assert speaks_for(replace(told, family="Track 18"), replace(wheel, name="track 18 narrow"))
    assert not speaks_for(replace(told, family="Track 18"), replace(wheel, name="Track 180"))
    forged = replace(project.materials[0], name="another")
    sample_ = replace(wheel, name="Track 18 sample", material="another")
    told_of = replace(
        project,
        wheels=(wheel, sample_),
        materials=(*project.materials, forged),
        test_records=(record(wheel="Track 18 sample", family="Track 18"),),
    )
    found = screen(told_of, wheel, replace(FEW, cases=("JWL bending",)))
    assert found.calibrations == ()
    assert "of another, which says nothing of" in found.unread[0].words


def test_a_stress_ratio_that_the_data_do_not_hold_gives_no_factor() -> None:
    """A table at R -1 says little of R -0.5, whose greatest stress may be higher: a factor too low."""
    project, wheel = track()
    found = screen(project, wheel, replace(FEW, cases=("JWL bending",)))
    table = SnTable(((1e3, 260.0), (1e7, 90.0)), -1.0, "invented")
    own = replace(found, ready=replace(found.ready, metal=replace(found.ready.metal, sn=table)))
    (row, *_) = [z for z in found.zones if z.exercised and z.greatest_mpa]

    def at(ratio: float) -> Screening:
        return replace(own, zones=(replace(row, ratio=ratio),))

    told = record(case="JWL bending", outcome=Outcome.FAILED, zone=row.zone.value, cycles=1e5)
    assert calibration(told, at(-0.97), project).factor > 0.0
    with pytest.raises(GeometryError, match=r"stress ratio -0.53 is outside the data of the curve \(-1\)"):
        calibration(told, at(-0.53), project)


BENT = {
    *("hub pad", "hub face", "bore", "spoke back"),
    *("spoke face", "shoulder", "outer seat", "well"),
}
ROLLED = {
    *("outer lip", "outer seat", "well", "barrel", "inner seat"),
    *("inner lip", "shoulder", "spoke back", "spoke face"),
}
HIT = {"outer lip", "outer seat", "shoulder", "spoke face"}
BENDINGS = {"R124 bending": BENT, "JWL bending": BENT}
BACK = {"spoke back"}


@pytest.mark.parametrize(
    ("changes", "why", "closed"),
    [
        # Without a zone every zone that its kind of load exercises; the two moments differ by a share alone.
        ({"wheel": None}, "draw it and name it in the record", BENDINGS),
        ({"zone": ""}, "name the zone where it broke, one that UN R124", BENDINGS),
        # With one it alone, under every load with a stress, as a factor would count.
        (
            {"load": None, "zone": "spoke back"},
            "give it the load and the cycles",
            {"R124 bending": BACK, "JWL bending": BACK, "R124 rolling": BACK},
        ),
        (
            {"zone": "inner lip"},
            "one that UN R124 rotating bending exercises",
            {**BENDINGS, "R124 rolling": {"inner lip"}},
        ),
        ({"case": "13 degree impact"}, "a blow has an energy and no stress", {"13 degree impact": HIT}),
        (
            {"case": "13 degree impact", "zone": "outer lip", "wheel": None},
            "a blow has an energy and no stress",
            {"13 degree impact": {"outer lip"}},
        ),
        (
            {"case": ""},
            "name the load case that was run",
            {**BENDINGS, "R124 rolling": ROLLED, "13 degree impact": HIT},
        ),
        # Of a load that is not in use no cell speaks; the screening stays open.
        ({"case": "radial impact"}, "a blow has an energy and no stress", {}),
    ],
)
def test_a_failed_test_without_a_factor_closes_what_it_speaks_of(
    changes: dict[str, object], why: str, closed: dict[str, set[str]]
) -> None:
    """Zones by hand from what each test exercises (practice.md 2A 7)."""
    project, wheel = track()
    none = screened()
    for outcome in Outcome:
        told = replace(project, test_records=(record(outcome=outcome, **changes),))
        learned, without = run._calibrations(told, wheel, FEW, none)
        if outcome is Outcome.PASSED:
            assert not any(one.failed for one in without)
            continue
        assert learned == ()
        (one,) = without
        assert why in one.words
        found = replace(none, unread=without)
        shut = {(c.case.key, c.zone.value) for c in cells(found) if c.failed}
        assert shut == {(key, zone) for key, zones in closed.items() for zone in zones}
        assert is_open(found)
        assert "failed on record, without a factor: T1" in summary(found)
        for before, now in zip(cells(none), cells(found), strict=True):
            if not now.failed:
                assert now == before
                continue
            # What is over stays so; all else is not known, and a blow too: none reads 'under' or 'energy'.
            over = before.verdict is Verdict.OVER
            assert now.verdict is (Verdict.OVER if over else Verdict.NOT_KNOWN)
            assert over or now.use == "? failed"
            assert one.words in now.why


HIT_BY = {"load": None, "cycles": None, "striker_kg": 594.0, "drop_mm": 230.0, "struck": Struck.SPOKE}
BLOW = {"case": "13 degree impact", "tyre": "265/35R18", **HIT_BY}
BROKE = {"outcome": Outcome.FAILED, "on": "2026-02-03", "drawing": "0" * 16}
STOOD = {"name": "T2", "on": "2026-03-01"}


@pytest.mark.parametrize(
    ("of_both", "of_failed", "of_passed", "lacks"),
    [
        (BLOW, {}, {}, ""),
        (BLOW, {"drawing": ANOTHER, "forging": ANOTHER, "wheel": None}, {}, ""),
        (BLOW, {"drop_mm": 220.0}, {}, ""),
        (BLOW, {"struck": Struck.SPOKE}, {"struck": Struck.BETWEEN}, "struck between two spokes, that which"),
        (BLOW, {"drop_mm": 260.0}, {}, "fall 230 mm, that which failed 260 mm"),
        (BLOW, {"striker_kg": None}, {}, "striker and fall of the sample that failed, recorded"),
        (BLOW, {"struck": Struck.NOT_SAID}, {}, "the place of the blow of the sample that failed"),
        (BLOW, {"tyre": "255/35R18"}, {}, "run on 265/35R18, larger than 255/35R18, which failed"),
        (BLOW, {"striker_kg": 500.0}, {"striker_kg": 540.0}, "striker 540 kg, 594 kg asked"),
        (BLOW, {}, {"on": "2026-02-03"}, "on 2026-02-03, not after 2026-02-03"),
        (BLOW, {}, {"on": ""}, "its date is not recorded"),
        (BLOW, {"on": ""}, {}, "the date of the sample that failed, recorded"),
        (BLOW, {}, {"drawing": "1" * 16}, "the wheel's drawing changed since it was made"),
        (BLOW, {}, {"outcome": Outcome.FAILED}, "a record of this test that passed later"),
        # The same drawing: that another sample passed is scatter.
        (BLOW, {"drawing": None}, {}, "a change of the drawing, and a later record that passed"),
        (BLOW, {"drawing": ""}, {}, "the drawing of the sample that failed, recorded as another"),
        # 3236.7 and 2157.8 N m are 75 and 50 % of 4315.6; each asks its own cycles.
        ({}, {"wheel": None}, {}, ""),
        ({}, {"wheel": None, "cycles": 1e5}, {}, ""),
        ({}, {"wheel": None, "cycles": 1e5}, {"cycles": 1.9e5}, "cycles 190000, 200000 asked"),
        ({}, {"wheel": None, "cycles": 3e5}, {}, "cycles 200000, that which failed 300000"),
        ({}, {"wheel": None, "load": 3500.0}, {}, "load 3240, that which failed 3500"),
        ({}, {"wheel": None, "load": 2160.0, "cycles": 1e5}, {}, "cycles 200000, 1.8e+06 asked"),
        ({}, {"wheel": None, "load": 2160.0, "cycles": 1e5}, {"load": 2160.0, "cycles": 1.8e6}, ""),
        ({}, {"wheel": None, "load": None}, {}, "load and cycles of the sample that failed, recorded"),
        ({}, {"case": ""}, {}, "its load case, named"),
    ],
)
def test_a_later_test_of_a_changed_drawing_lifts_one_that_failed(
    of_both: dict[str, object], of_failed: dict[str, object], of_passed: dict[str, object], lacks: str
) -> None:
    """All else stays not known, and says what would lift it."""
    project, wheel = track()
    failed = {**BROKE, **of_failed}
    if failed["drawing"] is None:
        failed = {k: v for k, v in failed.items() if k != "drawing"}
    first, second = record(**{**of_both, **failed}), record(**{**of_both, **STOOD, **of_passed})
    told = replace(project, test_records=(second, first))
    none = screened()
    _, without = run._calibrations(told, wheel, FEW, none)
    one = next(u for u in without if u.record == "T1")
    found = replace(none, unread=without)
    assert one.failed == bool(lacks)
    if lacks:
        assert f"What would lift it: {lacks}" in one.words or f"; record T2 passed, but {lacks}" in one.words
        assert is_open(found)
        return
    assert "record T2, of today's, stood the same later" in one.words
    assert [c.use for c in cells(found)] == [c.use for c in cells(none)]


def test_a_record_covers_only_what_was_run_as_long_and_as_hard() -> None:
    project, wheel = track()
    told = replace(project, wheels=(wheel,))

    def covers(one: TestRecord, of: Project = told) -> bool:
        return any(p.covered_by for p in plan_of(of, (wheel,), (one,)))

    # 4315.6 N m by hand: 75 % is 3236.7 for 2e5 cycles, 50 % is 2157.8 for 1.8e6.
    assert covers(record())
    assert not covers(record(cycles=1.0e4))
    assert not covers(record(cycles=None))
    assert covers(record(load=2160.0, cycles=1.8e6))
    assert not covers(record(load=2160.0))
    # 2,000 km at 2 pi x 311.98 mm are 1.020e6 turns; 2.5 x 690 x 9.81 = 16922 N.
    assert covers(record(case="R124 rolling", load=16_922.3, cycles=1.021e6))
    assert not covers(record(case="R124 rolling", load=15_000.0, cycles=1.021e6))
    assert not covers(record(case="R124 rolling", load=16_922.3, cycles=5.0e5))
    # A factor of the user's own, 2.2 for 2.0, asks for a greater moment.
    own = replace(SHIPPED_STRENGTH, constants=(OwnConstant("R124 bending", "S", 2.2),))
    assert not covers(record(), replace(told, strength=own))
