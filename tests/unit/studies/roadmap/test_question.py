"""A roadmap put to the die programme, with a coverage written by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from app.project.programme import Holder, Programme, Volumes, YearMoney
from app.project.project import Compromise, Fitment, Project
from app.studies.programme.inputs import Kind, Question
from app.studies.programme.solve import solve
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow
from app.studies.roadmap.need import NeedWheel
from app.studies.roadmap.own_part import OwnPart
from app.studies.roadmap.question import Asked, asked, yearly
from geometry.readings.rules import State
from geometry.shape.blank import Blank, BlankState, PriceStep, SpunFrom, Supply

pytestmark = pytest.mark.usefixtures("solved_here")

ROW = Fitment(
    "R-1", must=True, first_year=2027, last_year=2029, volume_low=60, volume_likely=140, volume_high=220
)
OWN = Blank("own", (), Supply.OWN, BlankState.IDEA, die_cost=26000.0, proof_cost=12000.0, lead_weeks=40.0)
BOUGHT = Blank("bought", (), Supply.BOUGHT, BlankState.PROVED, price=455.0, least_order=40)


def cell(
    blank: str, state: State = State.CLEAR, *, compromise: bool = False, cost: float = 50.0
) -> CoverCell:
    covered = state in (State.CLEAR, State.TIGHT)
    price = {"bought": 455.0}.get(blank, 330.0)
    return CoverCell(
        "R-1", blank, False, state, "inner lip, tyre side", 0.4, 38.0, False, (), True,
        50.0 if covered else None, price if covered else None,
    )  # fmt: skip


CLEAR = OwnPart(State.CLEAR, 0.3, "barrel wall", 38.0)


def put(
    fitment: Fitment = ROW,
    blanks: tuple[Blank, ...] = (OWN, BOUGHT),
    cells: tuple[CoverCell, ...] | None = None,
    question: Question = Question.LEAST_COST,
    own: OwnPart = CLEAR,
    **settings: Any,
) -> Asked:
    cells = cells or tuple(cell(b.name) for b in blanks)
    rows = [CoverRow("R-1", False, NeedWheel(None, (), (), ()), own, cells)]
    if fitment.compromise is not None:
        by_compromise = tuple(replace(cell(b.name), compromise=True, cost=60.0) for b in blanks)
        rows.append(CoverRow("R-1", True, NeedWheel(None, (), (), ()), None, by_compromise))
    project = Project("p", blanks=blanks, fitments=(fitment,), programme=Programme(2027, **settings))
    return asked(project, Coverage(tuple(b.name for b in blanks), tuple(rows)), question)


class TestRows:
    def test_years_volumes_and_costs_come_from_fitment_and_coverage(self) -> None:
        (row,) = put().programme.rows
        assert row.volumes == {2027: 140.0, 2028: 140.0, 2029: 140.0}
        assert row.is_must
        assert row.modes[0].costs == {"own": 50.0, "bought": 50.0}

    @pytest.mark.parametrize(
        ("how", "wheels"),
        [
            ({}, 140.0),
            ({"volumes": Volumes.LOW}, 60.0),
            ({"volumes": Volumes.HIGH, "by_certainty": True}, 110.0),
        ],
    )
    def test_the_settings_choose_the_volume(self, how: dict[str, Any], wheels: float) -> None:
        project = Project("p", programme=Programme(**how))
        assert yearly(project, replace(ROW, certainty=0.5)) == wheels

    def test_what_only_tight_holds_is_covered_and_what_does_not_hold_is_no_arc(self) -> None:
        cells = (cell("own", State.SHORT), cell("bought", State.TIGHT))
        (row,) = put(cells=cells).programme.rows
        assert set(row.modes[0].costs) == {"bought"}

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"first_year": None}, "first year is not known"),
            ({"last_year": None}, "last year is not known"),
            ({"must": None}, "must be served or is wanted"),
            ({"volume_likely": None}, "volume is not known"),
            ({"first_year": 2034, "last_year": 2030}, "run backwards"),
            ({"first_year": 2020, "last_year": 2025}, "are over in 2027"),
        ],
    )
    def test_what_nobody_said_is_listed_and_not_filled(self, change: dict[str, Any], words: str) -> None:
        found = put(replace(ROW, **change))
        assert found.programme.rows == ()
        ((name, why),) = found.not_known
        assert name == "R-1"
        assert words in why

    def test_a_row_that_is_not_known_on_any_blank_is_not_planned(self) -> None:
        found = put(cells=(cell("own", State.NOT_KNOWN), cell("bought", State.NOT_KNOWN)))
        assert [name for name, _ in found.not_known] == ["R-1"]

    def test_a_compromise_is_a_mode_with_its_share(self) -> None:
        given = Compromise("half an inch narrower", 9.5, share=0.6, contribution=240.0)
        (row,) = put(
            replace(ROW, compromise=given, contribution=310.0), question=Question.GREATEST_VALUE
        ).programme.rows
        full, less = row.modes
        assert (full.contribution, full.share, full.is_compromise) == (310.0, 1.0, False)
        assert (less.contribution, less.share, less.is_compromise) == (240.0, 0.6, True)
        assert less.name == "half an inch narrower"

    def test_years_before_the_programmes_first_are_over(self) -> None:
        (row,) = put(replace(ROW, first_year=2024)).programme.rows
        assert min(row.volumes) == 2027


class TestOptions:
    def test_a_new_die_costs_once_and_one_that_is_there_does_not(self) -> None:
        new = {o.name: o for o in put().programme.options}["own"]
        assert (new.kind, new.fixed, new.price) == (Kind.OWN_DIE, 38000.0, 330.0)
        assert new.lead_years == pytest.approx(40.0 / 52.0)
        there = put(blanks=(replace(OWN, state=BlankState.PROVED), BOUGHT))
        old = {o.name: o for o in there.programme.options}["own"]
        assert (old.fixed, old.lead_years, old.holder) == (0.0, 0.0, None)

    def test_a_lead_under_half_a_year_is_paid_and_used_in_the_same_year(self) -> None:
        """Once it was paid a year before it could be ordered."""
        found = put(blanks=(replace(OWN, lead_weeks=20.0),))
        (option,) = found.programme.options
        assert option.lead_years == 0.0
        assert [p.years_before for p in option.payments] == [0]
        assert solve(found.programme, most_runners_up=0).verdict == "proven"

    def test_payments_come_to_the_whole(self) -> None:
        (option,) = put(blanks=(OWN,), order_share=0.3, tryout_share=0.5).programme.options
        assert sum(p.share for p in option.payments) == pytest.approx(1.0)

    @pytest.mark.parametrize(
        ("blank", "words"),
        [
            (replace(BOUGHT, price=None), "has no price"),
            (replace(OWN, die_cost=None), "price of its dies is not stated"),
            (replace(OWN, holder="18 inch"), "holder '18 inch' is not in the programme's settings"),
            (replace(OWN, variant_of="gone"), "'gone' whose dies it needs is not in the project"),
        ],
    )
    def test_a_blank_without_what_is_needed_is_left_out_and_said(self, blank: Blank, words: str) -> None:
        found = put(blanks=(blank,))
        assert found.programme.options == ()
        ((name, why),) = found.left_out
        assert name == blank.name
        assert words in why

    def test_holders_variants_steps_and_runs_go_through(self) -> None:
        die = replace(
            OWN, holder="18 inch", run_setup=6500.0, least_run=120, pieces_hour=12.0, setup_hours=6.0,
            price_steps=(PriceStep(200, 310.0),),
        )  # fmt: skip
        variant = replace(OWN, name="variant", variant_of="own", die_cost=4000.0, proof_cost=None)
        found = put(
            blanks=(die, variant),
            holders=(Holder("18 inch", 62000.0),),
            budgets=(YearMoney(2027, 90000.0),),
            press_hours=400.0,
            most_dies=2,
        )
        options = {o.name: o for o in found.programme.options}
        assert (options["own"].holder, options["own"].set_up, options["own"].least_run) == (
            "18 inch",
            6500.0,
            120.0,
        )
        assert options["own"].hours_per_piece == pytest.approx(1.0 / 12.0)
        assert (options["own"].steps[0].pieces, options["own"].steps[0].price) == (200.0, 310.0)
        assert (options["variant"].kind, options["variant"].variant_of) == (Kind.VARIANT, "own")
        limits = found.programme.limits
        assert (limits.most_dies, limits.budget_by_year[2027], limits.press_hours[2028]) == (
            2,
            90000.0,
            400.0,
        )

    def test_several_pieces_serve_their_own_fitment_alone(self) -> None:
        found = put(replace(ROW, multi_piece_price=900.0), blanks=(BOUGHT,))
        option = next(o for o in found.programme.options if o.kind is Kind.MULTI_PIECE)
        assert option.price == 900.0
        assert option.name in found.programme.rows[0].modes[0].costs

    def test_several_pieces_do_not_clear_a_brake_that_the_wheel_touches(self) -> None:
        touches = OwnPart(State.TOUCHING, -4.6, "well to Brake", 38.0)
        cells = (cell("bought", State.TOUCHING),)
        found = put(replace(ROW, multi_piece_price=900.0), (BOUGHT,), cells, own=touches)
        assert all(o.kind is not Kind.MULTI_PIECE for o in found.programme.options)

    def test_a_holder_that_stands_in_the_shop_is_not_paid_again(self) -> None:
        old = replace(OWN, name="old", state=BlankState.PROVED, holder="18 inch")
        new = replace(OWN, holder="18 inch")
        found = put(blanks=(old, new), holders=(Holder("18 inch", 62000.0),))
        assert {o.holder for o in found.programme.options} == {None}

    def test_a_die_that_cuts_nothing_itself_still_yields_its_variant(self) -> None:
        parent = replace(OWN, name="parent", state=BlankState.PROVED)
        variant = replace(OWN, name="variant", variant_of="parent", die_cost=5000.0, lead_weeks=8.0)
        cells = (cell("parent", State.SHORT), cell("variant"))
        found = put(blanks=(parent, variant), cells=cells)
        assert {o.name for o in found.programme.options} == {"parent", "variant"}
        assert solve(found.programme, most_runners_up=0).opened == ("parent", "variant")

    def test_a_variant_whose_insert_nobody_priced_is_no_option(self) -> None:
        variant = replace(OWN, name="variant", variant_of="own", die_cost=None)
        assert [name for name, _ in put(blanks=(OWN, variant)).left_out] == ["variant"]

    def test_dies_that_are_there_are_not_counted(self) -> None:
        there = replace(OWN, state=BlankState.PROVED)
        found = put(blanks=(there, replace(OWN, name="new")), question=Question.FEWEST_DIES)
        plan = solve(found.programme, most_runners_up=0)
        assert plan.dies == 0
        assert {s.option for s in plan.served} == {"own"}

    def test_the_larger_of_least_run_and_least_order_holds(self) -> None:
        (option,) = put(blanks=(replace(BOUGHT, least_order=500, least_run=10),)).programme.options
        assert option.least_run == 500.0

    def test_a_dearer_blank_of_another_material_stands_with_its_wheel(self) -> None:
        """The order of rows changes neither price nor cost."""
        light = replace(cell("own"), fitment="R-2", blank_cost=300.0)
        rows = [
            CoverRow("R-1", False, NeedWheel(None, (), (), ()), CLEAR, (cell("own"),)),
            CoverRow("R-2", False, NeedWheel(None, (), (), ()), CLEAR, (light,)),
        ]
        two = (ROW, replace(ROW, name="R-2"))
        costs = []
        for k in (1, -1):
            project = Project("p", blanks=(OWN,), fitments=two[::k], programme=Programme(2027))
            found = asked(project, Coverage(("own",), tuple(rows[::k])))
            assert found.programme.options[0].price == 300.0
            by_name = {row.name: row.modes[0].costs["own"] for row in found.programme.rows}
            assert by_name == {"R-1": 50.0 + 30.0, "R-2": 50.0}
            costs.append(solve(replace(found.programme, base_year=2026), most_runners_up=0).cost)
        assert costs[0] == pytest.approx(costs[1])


class TestSpun:
    """Dies and mandrel are paid once; a piece is its forging and its spinning, at 95 an hour of the shop."""

    FACTS = SpunFrom(mandrel_price=9000.0, spinning_min=12.0)
    SPUN = replace(
        OWN, name="spun", supply=Supply.SPUN, spun=FACTS, price=300.0, price_steps=(PriceStep(200, 280.0),)
    )
    SPINNING = 12.0 / 60.0 * 95.0

    def test_the_mandrel_is_paid_with_the_dies(self) -> None:
        (option,) = put(blanks=(self.SPUN,)).programme.options
        assert option.fixed == 26000.0 + 9000.0 + 12000.0
        assert option.kind is Kind.SPUN

    def test_spinning_is_in_every_step_of_the_price(self) -> None:
        (option,) = put(blanks=(self.SPUN,)).programme.options
        assert [(s.pieces, s.price) for s in option.steps] == [(200.0, 280.0 + self.SPINNING)]

    def test_its_dies_yield_no_variant(self) -> None:
        variant = replace(OWN, name="variant", variant_of="spun", die_cost=5000.0)
        found = put(blanks=(self.SPUN, variant))
        assert [o.name for o in found.programme.options] == ["spun"]
        assert found.left_out == (
            ("variant", "Only own dies yield variants, and 'spun' is none: it is spun blank."),
        )

    def test_without_a_price_its_metal_and_spinning_stand_for_it(self) -> None:
        found = put(blanks=(replace(self.SPUN, price=None, price_steps=()),))
        assert [o.name for o in found.programme.options] == ["spun"]

    @pytest.mark.parametrize("facts", [None, SpunFrom(mandrel_price=9000.0)])
    def test_without_price_and_spinning_it_is_no_option(self, facts: SpunFrom | None) -> None:
        found = put(blanks=(replace(self.SPUN, price=None, price_steps=(), spun=facts),))
        ((name, why),) = found.left_out
        assert name == "spun"
        assert "spinning" in why
