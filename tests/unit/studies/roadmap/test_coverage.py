"""Coverage against the single check of the same wheel, plain arithmetic, and what is not known."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from app import resources
from app.files.project_file import load
from app.project.project import Compromise, Fitment, Project
from app.studies.executor import CORES, StoppedError, opened, run_all
from app.studies.fit import measure_wheel
from app.studies.limits import drawn
from app.studies.roadmap.coverage import Coverage, CoverCell, coverage, usable_blanks
from app.studies.roadmap.need import STEP_MM, need_wheel
from app.studies.seating import seated
from geometry.readings.rules import State
from geometry.shape.blank import Blank, BlankState
from geometry.shape.outline import Corner, ShapeKind

OWN, BOUGHT = "A18", "C18"


@pytest.fixture(scope="module")
def sample() -> Project:
    """A track wheel, its own blank and a thinner bought one; all invented."""
    return load(resources.sample("2-track-18-bought-blank"))


def row(sample: Project, name: str = "R-1", low: float = 38.0, high: float = 38.0, **more: Any) -> Fitment:
    wheel = sample.wheels[0]
    return Fitment(
        name,
        wheel=wheel.name,
        diameter_code=18.0,
        width_code=10.0,
        inset_low_mm=low,
        inset_high_mm=high,
        must=True,
        **more,
    )


def found(sample: Project, *rows: Fitment, **how: Any) -> Coverage:
    return coverage(replace(sample, fitments=rows), **how)


def cell(sample: Project, fitment: Fitment, blank: str = OWN) -> CoverCell:
    return found(sample, fitment, blanks=[blank]).rows[0].cells[0]


class TestCells:
    @pytest.mark.parametrize("blank", [OWN, BOUGHT])
    @pytest.mark.parametrize("inset", [36.0, 38.0])
    def test_a_cell_is_the_single_check_at_the_best_seat(
        self, sample: Project, blank: str, inset: float
    ) -> None:
        one = cell(sample, row(sample, low=inset, high=inset), blank)
        made = replace(drawn(sample.wheels[0], 10.0, inset), blank=blank, spacer_mm=0.0)
        best = seated(sample, made)
        checked = measure_wheel(sample, replace(made, seat_mm=best.seat_mm)).measurements
        assert checked is not None
        stock = min(r.spare_mm for r in checked.stock if r.spare_mm is not None)
        states = [r.state for r in checked.stock]
        assert one.is_covered == (stock >= 0.0)
        assert (one.state is State.SHORT) == (State.SHORT in states)
        if not one.of_wheel:
            # The quick seat is within 0.04 mm of the thorough one.
            assert one.spare_mm == pytest.approx(stock, abs=0.04)

    @pytest.mark.long
    def test_every_cell_that_cannot_be_cut_is_proved_by_the_thorough_seat(self) -> None:
        """The shipped roadmap: at the inset that decides no seat at all gives what the rules ask."""
        whole = load(resources.sample("4-roadmap-36-fitments"))
        names = ("R-05", "R-13", "R-21", "R-28")
        rows = tuple(f for f in whole.fitments if f.name in names)
        blanks = [OWN, BOUGHT, "K18"]
        proved = 0
        for row in found(whole, *rows, blanks=blanks).rows:
            assert row.need.wheel is not None
            for one in row.cells:
                if one.word != "not" or one.of_wheel or one.inset_mm is None:
                    continue
                made = drawn(row.need.wheel, row.need.wheel.size.width_code, one.inset_mm)
                best = seated(whole, replace(made, blank=one.blank, spacer_mm=0.0))
                least = min(r.spare_mm for r in best.rows if r.spare_mm is not None)
                assert least < 0.0, (one.fitment, one.blank)
                assert one.spare_mm == pytest.approx(least, abs=0.04)
                proved += 1
        assert proved >= 6

    def test_a_miss_of_the_lip_reads_as_what_is_missing(self, sample: Project) -> None:
        """A block with room for all but the inboard flange: flange radius 462 / 2 + 17.5 = 248.5, stock 2.0.

        Specified diameter and flange height as in the rim tables of the handbook (T02, T08).
        """
        outside = 462.0 / 2.0 + 17.5 + 2.0 - 1.3
        places = (
            (-190.0, 0.0),
            (114.0, 0.0),
            (114.0, 300.0),
            (-90.0, 300.0),
            (-90.0, outside),
            (-190.0, outside),
        )
        block = Blank("block", tuple(Corner(z, r) for z, r in places))
        only = cell(replace(sample, blanks=(block,)), row(sample), "block")
        assert (only.word, only.what, only.of_wheel) == ("not", "inner lip, tyre side", False)
        assert only.spare_mm == pytest.approx(-1.3, abs=0.01)

    def test_the_whole_window_must_hold(self, sample: Project) -> None:
        narrow, wide = (cell(sample, row(sample, low=low, high=38.0)) for low in (37.9, 20.0))
        assert narrow.is_covered
        assert wide.word == "not"
        assert wide.insets[-1][1] == 38.0
        assert 20.0 < wide.insets[-1][0] < 37.9

    def test_a_wheel_that_touches_its_brake_is_not_covered_by_any_blank(self, sample: Project) -> None:
        """Spokes fixed to the rim come inboard with every mm of inset: by 7 mm they meet the brake."""
        both = found(sample, row(sample, low=38.0, high=45.0)).rows[0]
        assert both.own is not None
        assert both.own.state is State.TOUCHING
        assert both.own.inset_mm == 45.0
        assert [c.of_wheel for c in both.cells] == [True, True]
        assert not both.is_covered

    def test_it_says_what_a_wheel_costs_beside_its_blank_and_which_blank_is_unproved(
        self, sample: Project
    ) -> None:
        idea = replace(sample, blanks=tuple(replace(b, state=BlankState.IDEA) for b in sample.blanks))
        proved = replace(sample, blanks=tuple(replace(b, state=BlankState.PROVED) for b in sample.blanks))
        one, other = (cell(p, row(sample)) for p in (idea, proved))
        assert one.unproved
        assert not other.unproved
        assert one.cost is not None
        assert one.chips_kg is not None
        assert one.wheel_kg is not None
        # Practice 23's way of reckoning: 95 an hour at 300 cm3/min turned, chips at 0.30 of 4.60 a kg.
        turned = one.chips_kg / 2712.6e-9 / 1000.0 / 300.0
        windows_are_turned = turned / 60.0 * 95.0 - one.chips_kg * 0.3 * 4.6 + 3 * 20.0 / 60.0 * 95.0
        assert one.cost == pytest.approx(windows_are_turned, rel=0.02)

    def test_retired_blanks_and_measured_outlines_are_left_out(self, sample: Project) -> None:
        own = next(b for b in sample.blanks if b.name == OWN)
        least = replace(own, name="least of 12", measured_least=None)
        more = replace(
            sample,
            blanks=(
                replace(own, measured_least="least of 12"),
                least,
                replace(own, name="old", state=BlankState.RETIRED),
            ),
        )
        assert usable_blanks(more) == (OWN,)


class TestUnknown:
    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"inset_low_mm": None, "inset_high_mm": None}, "inset is not known"),
            ({"wheel": None}, "brake is not known"),
            ({"wheel": None, "shape": "Brake 380 x 34", "rules": None}, "No rule set"),
            ({"wheel": None, "shape": "Brake 380 x 34", "rules": "starting, road"}, "hub is not known"),
            ({"wheel": None, "diameter_code": None}, "size is not known"),
            ({"inset_low_mm": 45.0}, "runs backwards"),
        ],
    )
    def test_a_row_that_lacks_something_is_not_known_on_every_blank(
        self, sample: Project, change: dict[str, Any], words: str
    ) -> None:
        only = found(sample, replace(row(sample), **change)).rows[0]
        assert any(words in each for each in only.unknown)
        assert [c.word for c in only.cells] == ["not known", "not known"]
        assert not only.is_covered

    def test_a_brake_with_open_questions_is_not_known(self, sample: Project) -> None:
        shape = sample.shapes[0]
        open_card = replace(shape, card=replace(shape.card, unit=type(shape.card.unit)()))
        asked = replace(sample, shapes=(open_card, *sample.shapes[1:]))
        only = found(asked, row(sample), blanks=[OWN]).rows[0]
        assert only.cells[0].word == "not known"
        assert not only.is_covered


class TestNeeds:
    def test_lip_and_spokes_are_at_least_what_is_asked_for(self, sample: Project) -> None:
        need = need_wheel(sample, row(sample, lip_mm=6.5, spoke_mm=19.0))
        assert need.wheel is not None
        read = measure_wheel(sample, replace(need.wheel, clears=())).measurements
        assert read is not None
        values = {r.key: r.value for r in read.lip}
        assert values["inner_lip_under_heel"] >= 6.49
        assert values["spoke_depth_least"] >= 18.99

    def test_bore_and_bolt_circle_are_cut_to_order(self, sample: Project) -> None:
        need = need_wheel(sample, row(sample, bore_mm=66.0, bolt_count=5, bolt_circle_mm=114.3))
        assert need.wheel is not None
        assert need.wheel.hub.bore_mm == 66.0
        assert min(v.r for v in need.wheel.section.vertices) == 33.0
        assert vars(need.wheel.fixing)["circle_mm"] == 114.3

    def test_a_row_without_a_wheel_gets_one_of_the_starting_family_and_says_so(self, sample: Project) -> None:
        asked = Fitment(
            "R-9",
            diameter_code=18.0,
            width_code=9.5,
            inset_low_mm=30.0,
            shape="Brake 380 x 34",
            rules="starting, road",
            bolt_count=5,
            bolt_circle_mm=120.0,
            bore_mm=72.0,
        )
        need = need_wheel(sample, asked)
        assert need.wheel is not None
        assert (need.wheel.size.width_code, need.wheel.inset_mm, need.insets) == (9.5, 30.0, (30.0,))
        assert any("starting family" in note for note in need.notes)
        gap = measure_wheel(sample, need.wheel).measurements
        assert gap is not None
        assert min(r.least_mm for r in gap.gap if "spoke" in r.zone) > 3.0

    def test_what_else_the_drawn_wheel_must_clear_is_held_against_too(self, sample: Project) -> None:
        """A fitment names its brake; the tie rod of the drawn wheel's car stays."""
        rod = replace(sample.shapes[0], name="Tie rod", kind=ShapeKind.TIE_ROD)
        other = replace(sample.shapes[0], name="Other brake")
        wheel = replace(sample.wheels[0], clears=(sample.shapes[0].name, "Tie rod"))
        more = replace(sample, shapes=(*sample.shapes, rod, other), wheels=(wheel,))
        need = need_wheel(more, row(more, shape="Other brake"))
        assert need.wheel is not None
        assert need.wheel.clears == ("Other brake", "Tie rod")

    def test_another_flange_than_the_wheels_is_asked_about(self, sample: Project) -> None:
        need = need_wheel(sample, row(sample, flange="B"))
        assert any("flange asked is B" in words for words in need.unknown)
        assert not need_wheel(sample, row(sample, flange="JJ")).unknown

    def test_insets_of_a_window_are_no_farther_apart_than_the_step(self, sample: Project) -> None:
        insets = need_wheel(sample, row(sample, low=30.0, high=41.0)).insets
        assert (insets[0], insets[-1]) == (30.0, 41.0)
        assert max(b - a for a, b in pairwise(insets)) <= STEP_MM

    def test_a_compromise_is_a_row_of_its_own(self, sample: Project) -> None:
        given = Compromise("half an inch narrower", 9.5, share=0.6, contribution=120.0)
        rows = found(sample, row(sample, compromise=given), blanks=[OWN]).rows
        assert [r.compromise for r in rows] == [False, True]
        assert rows[1].need.wheel is not None
        assert rows[1].need.wheel.size.width_code == 9.5


class TestExecutors:
    def test_all_cores_give_the_same(self, sample: Project) -> None:
        rows = (row(sample), row(sample, "R-2", low=30.0, high=45.0))
        assert found(sample, *rows) == found(sample, *rows, where=CORES)

    def test_a_cluster_of_two_workers_on_loopback_gives_the_same(self, sample: Project) -> None:
        distributed = pytest.importorskip("distributed", reason="Dask (extra cluster) is not installed")
        rows = (row(sample), row(sample, "R-2", low=30.0, high=45.0))
        cluster = distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None
        )
        with cluster:
            assert found(sample, *rows, where=cluster.scheduler_address) == found(sample, *rows)

    def test_it_can_be_stopped_and_a_failure_comes_out(self) -> None:
        # `int` is found by a process that has imported nothing.
        with opened() as executor:
            assert run_all(executor, int, [("2",), ("4",), ("6",)]) == [2, 4, 6]
            with pytest.raises(StoppedError):
                run_all(executor, int, [("2",), ("4",), ("6",)], lambda done, of: done < 2)
            with pytest.raises(ValueError, match="ninety"):
                run_all(executor, int, [("ninety",)])
        with opened(CORES, 2) as executor:
            assert run_all(executor, int, [("2",), ("4",), ("6",)], lambda done, of: True) == [2, 4, 6]
            with pytest.raises(StoppedError):
                run_all(executor, int, [(str(k),) for k in range(20)], lambda done, of: False)
            with pytest.raises(ValueError, match="ninety"):
                run_all(executor, int, [("2",), ("ninety",)], lambda done, of: True)
