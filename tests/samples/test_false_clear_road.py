"""False "clears" on the road, in windows, sweeps, match, trial fits and customers' copies.

Each case is a change to a clear sample that once read clear, or was released, and must not. What it does to a
real wheel is plain from its name.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from app.project import edits
from app.project.project import Fitment, MeasuredGap, Project, TrialFit
from app.project.wheel import Fixing, RingBody, Wheel
from app.project.wheel_edits import unlocked, with_inset
from app.reports.audience import Audience, NameShownError, shown_to
from app.reports.content import build_content
from app.reports.gauge import GaugeOf
from app.reports.outputs import gauge
from app.session.edited import Edited, Kind, with_vertices
from app.studies.fit import measure_wheel
from app.studies.match import match
from app.studies.road import on_the_road, whole_state
from app.studies.sweep import Over, sweep, verdict, window
from geometry.readings.measure import Measurements
from geometry.readings.rules import GapRule, State
from geometry.shape.outline import Corner, Extent, Grade, Motion, NamedOutline, ShapeKind, StayOut
from geometry.shape.section import Zone
from tests.support.make_samples import OWN, samples

PROJECT = samples()[OWN]
WHEEL, SHAPE, RULES = replace(PROJECT.wheels[0], blank=None), PROJECT.shapes[0], PROJECT.rule_sets[0]


def box(z0: float, z1: float, r0: float, r1: float, **changes: Any) -> StayOut:
    corners = (Corner(z0, r0), Corner(z1, r0), Corner(z1, r1), Corner(z0, r1))
    return replace(SHAPE, outlines=(NamedOutline("straight", corners),), **changes)


def among(shape: StayOut, wheel: Wheel = WHEEL, **changes: Any) -> Project:
    wheel = replace(wheel, clears=(shape.name,))
    return replace(PROJECT, wheels=(wheel,), shapes=(shape,), fitments=(), **changes)


def whole(project: Project, wheel: Wheel | None = None) -> State:
    wheel = project.wheels[0] if wheel is None else wheel
    measured = measure_wheel(project, wheel)
    return whole_state(measured, on_the_road(project, wheel, measured))


def found(project: Project, wheel: Wheel) -> Measurements:
    measurements = measure_wheel(project, wheel).measurements
    assert measurements is not None
    return measurements


def test_the_sample_is_clear() -> None:
    assert whole(replace(PROJECT, wheels=(WHEEL,))) in (State.CLEAR, State.TIGHT)


@pytest.mark.parametrize("kind", [ShapeKind.SHIELD, ShapeKind.CALIPER])
def test_a_part_of_the_brake_that_stands_in_the_tyre(kind: ShapeKind) -> None:
    shape = box(-196.0, -190.0, 200.0, 290.0, kind=kind, motion=Motion.WITH_KNUCKLE)
    project = among(shape, replace(WHEEL, tyre="295/35R18 101Y"))
    assert whole(project) is State.TOUCHING
    assert match(project).pairs[0].state is State.TOUCHING


class TestUnseen:
    """Cut off at r 90 inboard of the hub pad: run-out brings the hub pad to what nobody saw."""

    EXTENT = Extent(None, None, True, True, confirmed_by="test bench")

    @pytest.mark.parametrize("run_out", [0.3, 1.0])
    def test_where_a_body_goes_on_the_road_is_asked_too(self, run_out: float) -> None:
        cut = box(
            -80.0, -4.4, 90.0, 120.0, kind=ShapeKind.KNUCKLE, extent=replace(self.EXTENT, cut_r_low=90.0)
        )
        conditions = tuple(replace(c, axial_run_out_mm=run_out) for c in PROJECT.conditions)
        drawn = among(box(-80.0, -4.4, 40.0, 120.0, kind=ShapeKind.KNUCKLE, extent=self.EXTENT))
        assert whole(replace(drawn, conditions=conditions)) in (State.TIGHT, State.SHORT)
        project = among(cut, conditions=conditions)
        assert whole(project) is State.NOT_KNOWN
        assert match(project).pairs[0].state is State.NOT_KNOWN

    def test_a_ring_body_asks_by_its_own_rule(self) -> None:
        cut = box(
            -80.0, -4.4, 90.0, 120.0, kind=ShapeKind.KNUCKLE, extent=replace(self.EXTENT, cut_r_low=90.0)
        )
        strict = replace(RULES, gap=(*RULES.gap, GapRule(8.0, 2.0, 0.5, ShapeKind.KNUCKLE, None, "", True)))
        capped = replace(WHEEL, rings=(RingBody("cap", 2.0, 10.0, 20.0, 30.0),))
        row = next(r for r in found(among(cut, capped, rule_sets=(strict,)), capped).gap if r.body)
        assert row.state is not State.CLEAR


class TestWindowsAndSweeps:
    def test_what_touches_holds_at_no_inset_though_no_rule_speaks_of_it(self) -> None:
        rules = replace(RULES, gap=tuple(r for r in RULES.gap if r.kind is not None))
        hose = box(-100.0, -90.0, 215.0, 222.0, kind=ShapeKind.HOSE, motion=Motion.WITH_KNUCKLE)
        project = among(hose, rule_sets=(replace(rules, gap=()),))
        wheel = project.wheels[0]
        read = verdict(project, wheel)
        assert not isinstance(read, str)
        assert read.spare_mm < 0.0
        edge = window(project, wheel, Over.INSET)
        assert edge is None or not edge.holds_now
        at = sweep(project, wheel, Over.SPACER, [0.0, 5.0])
        assert all(p.spare_mm is not None and p.spare_mm < 0.0 for p in at.points)

    def test_a_wheel_that_cannot_be_bolted_on_holds_at_no_inset(self) -> None:
        overhangs = replace(WHEEL, hub=replace(WHEEL.hub, flange_mm=WHEEL.hub.hub_pad_mm - 48.0))
        project = replace(PROJECT, wheels=(overhangs,))
        assert window(project, overhangs, Over.INSET) is None
        loose = replace(WHEEL, hub=replace(WHEEL.hub, spigot_mm=WHEEL.hub.bore_mm - 22.0))
        assert window(replace(PROJECT, wheels=(loose,)), loose, Over.INSET) is None

    def test_a_sweep_counts_the_tyre(self) -> None:
        arm = box(-220.0, -165.0, 300.0, 330.0, kind=ShapeKind.ARM, motion=Motion.AGAINST_KNUCKLE, swept=True)
        project = among(arm, replace(WHEEL, tyre="265/35R18"))
        wheel = project.wheels[0]
        (point,) = sweep(project, wheel, Over.INSET, [wheel.inset_mm]).points
        read = verdict(project, wheel)
        assert not isinstance(read, str)
        assert point.body == "tyre"
        assert point.spare_mm == pytest.approx(read.spare_mm, abs=1e-6)


class TestHub:
    def hub(self, **changes: Any) -> tuple[Project, Wheel]:
        wheel = replace(WHEEL, hub=replace(WHEEL.hub, **changes))
        return replace(PROJECT, wheels=(wheel,)), wheel

    def test_a_spigot_that_runs_into_the_cap(self) -> None:
        project, wheel = self.hub(spigot_length_mm=35.0)
        capped = replace(wheel, rings=(RingBody("cap", 20.0, 40.0, 0.0, 35.9),))
        row = next(r for r in found(project, capped).hub if r.key == "spigot_to_cap")
        assert row.value == pytest.approx(20.0 - 35.0)
        assert row.state in (State.SHORT, State.TOUCHING)

    def test_no_more_of_a_spigot_is_engaged_than_there_is_bore(self) -> None:
        """The sample's hub is 40 thick at its bore."""
        project, wheel = self.hub(spigot_length_mm=200.0)
        row = next(r for r in found(project, wheel).hub if r.key == "spigot_engaged")
        assert row.value <= 40.0 - wheel.hub.chamfer_mm + 1e-9

    def test_a_thread_of_no_diameter_is_not_known(self) -> None:
        assert whole(*self.hub(thread_mm=0.0)) is State.NOT_KNOWN

    def test_bores_for_the_socket_that_run_into_each_other(self) -> None:
        """Five on 120: 70.53 apart, by 120 sin 36 degrees."""
        assert isinstance(WHEEL.fixing, Fixing)
        wheel = replace(WHEEL, fixing=replace(WHEEL.fixing, socket_mm=75.0))
        rows = {r.key: r for r in found(PROJECT, wheel).hub}
        assert rows["socket_to_next"].value == pytest.approx(70.534 - 75.0, abs=1e-3)
        assert rows["socket_to_next"].state in (State.SHORT, State.TOUCHING)

    def test_match_asks_for_the_seat_land(self) -> None:
        project = replace(PROJECT, wheels=(WHEEL,), rule_sets=(replace(RULES, seat_land_mm=None),))
        assert match(project).pairs[0].state is State.NOT_KNOWN


class TestTrialFits:
    def tried(self, wheel: Wheel, gap_mm: float) -> TrialFit:
        rows = [r for r in found(PROJECT, WHEEL).gap if not r.body and r.zone == "barrel"]
        row = min(rows, key=lambda r: r.least_mm)
        place = MeasuredGap(Zone(row.zone), gap_mm, *row.at_wheel)
        return TrialFit("T-9", wheel.name, SHAPE.name, turned=True, measured=(place,))

    def misfit(self) -> Project:
        """Another wheel in the same place found 1 mm where 4 are computed."""
        other = replace(with_inset(WHEEL, WHEEL.inset_mm - 0.5), name="Other wheel")
        return replace(PROJECT, wheels=(WHEEL, other), trial_fits=(self.tried(other, 1.0),))

    def test_a_misfit_of_another_wheel_holds_a_customers_copy_back_and_does_not_name_it(self) -> None:
        project = self.misfit()
        assert whole(project) is State.NOT_KNOWN
        content = build_content(project, WHEEL, measure_wheel(project, WHEEL), audience=Audience(""))
        assert content.state is State.NOT_KNOWN
        assert "trial fit" in content.hold_back
        assert "Other wheel" not in repr(content)
        _, reason = gauge(project, WHEEL, GaugeOf.BRAKE, audience=Audience(""))
        assert "trial fit" in reason

    def test_a_copy_under_another_name_does_not_escape_it(self) -> None:
        project, name = edits.duplicated(self.misfit(), edits.SHAPE, SHAPE.name)
        wheel = replace(WHEEL, name="Third wheel", clears=(name,))
        assert whole(replace(project, wheels=(*project.wheels, wheel)), wheel) is State.NOT_KNOWN

    def test_redrawing_takes_proof_and_confirmation_away(self) -> None:
        proved = replace(SHAPE, card=replace(SHAPE.card, grade=Grade.PROVED))
        project = replace(PROJECT, wheels=(WHEEL,), shapes=(proved,))
        corners = list(proved.outlines[0].corners)
        corners[0] = replace(corners[0], z=corners[0].z + 30.0)
        project = with_vertices(project, Edited(Kind.SHAPE, proved.name, 0), corners)
        assert project.shapes[0].card.grade is not Grade.PROVED
        assert whole(project) is State.NOT_KNOWN


@pytest.mark.parametrize("first", range(0, 45, 5))
def test_a_narrow_gap_is_the_same_wherever_the_outline_begins(first: int) -> None:
    free = unlocked(WHEEL, "test bench", "2026-02-03")
    plate = replace(
        SHAPE,
        kind=ShapeKind.SHIELD,
        outlines=(
            NamedOutline("a", (Corner(-140, 150), Corner(-40, 150), Corner(-40, 213), Corner(-140, 217))),
        ),
    )
    turned = replace(free, vertices=free.vertices[first:] + free.vertices[:first])
    wide = tuple(replace(c, debris_gap_mm=9.0, debris_length_mm=70.0) for c in PROJECT.conditions)

    def runs(wheel: Wheel) -> list[tuple[float, tuple[str, ...]]]:
        project = among(plate, wheel, conditions=wide)
        wheel = project.wheels[0]
        road = on_the_road(project, wheel, measure_wheel(project, wheel))
        assert road is not None
        return [(round(n.length_mm, 6), n.zones) for n in road.narrow]

    assert len(runs(free)) == 1
    assert runs(turned) == runs(free)


def test_a_hot_disc_grows_by_its_radius() -> None:
    """Handbook F15: an iron disc of R190 grows 1.0 mm at +500 K; 12e-6 a K, from memory, makes it 1.14."""
    disc = box(-40.0, -6.5, 60.0, 190.0, kind=ShapeKind.OTHER, motion=Motion.WITH_KNUCKLE)
    hot = tuple(replace(c, brake_hot_k=500.0, brake_per_k=12e-6) for c in PROJECT.conditions)
    project = among(disc, conditions=hot)
    road = on_the_road(project, project.wheels[0], measure_wheel(project, project.wheels[0]))
    assert road is not None
    losses = {x.loss_mm for row in road.rows for x in row.losses if x.key == "brake_hot_k"}
    assert losses
    assert all(x == pytest.approx(190.0 * 500.0 * 12e-6) for x in losses)


class TestNames:
    def owned(self) -> Project:
        theirs = replace(SHAPE, owner="Acme")
        rival = replace(SHAPE, name="Rival 390", owner="Rival Racing")
        wheel = replace(WHEEL, clears=(theirs.name,))
        return replace(PROJECT, wheels=(wheel,), shapes=(theirs, rival), fitments=())

    @pytest.mark.parametrize("name", ["Acmee", "Acme Ltd", "acm"])
    def test_a_customer_whom_nobody_knows_is_refused(self, name: str) -> None:
        project = self.owned()
        with pytest.raises(NameShownError, match=f"Nobody called '{name}'"):
            shown_to(project, project.wheels[0], Audience(name))

    def test_one_with_a_fitment_is_known(self) -> None:
        project = replace(self.owned(), fitments=(Fitment("Enquiry", customer="Omega"),))
        shown_to(project, project.wheels[0], Audience("Omega"))

    @pytest.mark.parametrize("name", ["Rival Racing 18", "W for Rival 390", "job_Rival Racing_18"])
    def test_a_name_that_names_another_is_refused(self, name: str) -> None:
        project = self.owned()
        wheel = replace(project.wheels[0], name=name)
        with pytest.raises(NameShownError, match="Rival"):
            shown_to(replace(project, wheels=(wheel,)), wheel, Audience("Acme"))
        rules = replace(project.rule_sets[0], name=name)
        wheel = replace(project.wheels[0], rules=name)
        with pytest.raises(NameShownError, match="Rival"):
            shown_to(replace(project, wheels=(wheel,), rule_sets=(rules,)), wheel, Audience("Acme"))

    def test_people_of_the_house_are_not_named(self) -> None:
        card = replace(SHAPE.card, datum_checked_by="N. Bodoni")
        project = replace(self.owned(), shapes=(replace(SHAPE, card=card),))
        part, _ = shown_to(project, project.wheels[0], Audience(""))
        assert "Bodoni" not in repr(part)
        assert part.shapes[0].card.datum_checked_by
