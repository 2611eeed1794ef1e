"""Limits of a blank: cells against the single check, windows of a plain block by arithmetic, cores."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from app import resources
from app.files.project_file import load
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies import limits as study
from app.studies import quick_seat as module
from app.studies.fit import measure_wheel
from app.studies.limits import EDGE_MM, Cell, limits
from app.studies.limits_against import against
from app.studies.quick_seat import FOUND_MM, quick_seat
from app.studies.seating import seated, spare_mm
from geometry.errors import GeometryError
from geometry.readings.rows import StockRow
from geometry.readings.rules import STATES, RuleSet, State, StockRule
from geometry.shape.blank import Blank
from geometry.shape.outline import Corner
from geometry.shape.section import build
from tests.support import example
from tests.support.example import roomy

#: The example's free outline ends at z -178 and 102 (its section sheet), which follow the flanges.
INNER, OUTER, TOP = -178.0, 102.0, 244.6
NEEDS, RESERVE = 2.5, 0.5


def boxed(low: float, high: float, top: float = 270.0) -> tuple[Project, Wheel]:
    """The example's wheel in a plain block of metal under one rule: only ends and top limit it."""
    project = example.project()
    corners = ((low, 0.0), (high, 0.0), (high, top), (low, top))
    block = Blank("block", tuple(Corner(z, r) for z, r in corners))
    rules = RuleSet("one rule", stock=(StockRule(NEEDS, RESERVE),))
    wheel = replace(project.wheels[0], blank="block", seat_mm=0.0, rules="one rule")
    whole = replace(
        project, blanks=(*project.blanks, block), wheels=(wheel,), rule_sets=(*project.rule_sets, rules)
    )
    return whole, wheel


def single(project: Project, wheel: Wheel, cell: Cell) -> tuple[StockRow, ...] | None:
    """The stock rows of the single check of a cell's wheel at its seat; None where it has no readings."""
    try:
        made = replace(
            study.drawn(wheel, cell.width_code, cell.inset_mm), seat_mm=cell.seat_mm, spacer_mm=0.0
        )
    except GeometryError:
        return None
    made = replace(made, seat_mm=cell.seat_mm, spacer_mm=0.0, clears=())
    found = measure_wheel(project, made).measurements
    return None if found is None else found.stock


@pytest.mark.parametrize(
    ("keep_seat", "count"), [(False, 40), (True, 100), pytest.param(False, 200, marks=pytest.mark.long)]
)
def test_random_cells_say_what_the_single_check_says(keep_seat: bool, count: int) -> None:
    """The state is the worst of the rows, by the order of STATES."""
    rng = np.random.default_rng(7)
    project = example.project()
    project, own = roomy()
    kinds = set()
    for _ in range(count):
        width, inset = float(rng.choice([7.0, 8.0, 9.0, 9.5, 10.0, 10.5, 11.0])), float(rng.uniform(0, 70))
        kept = own.seat_mm if keep_seat else None
        cell = study.cell(project, own, width, inset, kept)
        rows = single(project, own, cell)
        kinds.add(cell.word)
        if rows is None:
            assert cell.state is None
            assert cell.why
            assert not cell.is_cuttable
            continue
        least = min(row.spare_mm for row in rows if row.spare_mm is not None)
        assert cell.spare_mm == pytest.approx(least, abs=1e-6)
        states = [row.state for row in rows]
        assert None not in states
        assert cell.state is min((s for s in states if s is not None), key=STATES.index)
        (decides,) = [row for row in rows if (row.zone, row.side) == (cell.zone, cell.side)]
        assert decides.spare_mm == pytest.approx(least, abs=1e-6)
    assert {"cuttable", "not", "not drawn"} <= kinds


def test_the_quick_seat_is_as_good_as_the_thorough_one() -> None:
    """`seated` proves its place by halving intervals; the quick one may be worse by what it says, no more."""
    project, own = roomy()
    for width, inset in ((9.0, 20.0), (9.5, 31.0), (10.0, 38.0), (10.0, 45.0), (10.5, 25.0)):
        made = study.drawn(own, width, inset)
        cell = study.cell(project, own, width, inset, None)
        most = spare_mm(seated(project, made).rows[0])
        assert cell.spare_mm is not None
        assert most - FOUND_MM - 0.02 <= cell.spare_mm <= most + 0.02


def test_a_block_is_slid_in_with_few_readings(monkeypatch: pytest.MonkeyPatch) -> None:
    """Over a long top every place reads alike: the bound by the straight piece ends the search at once."""
    project, wheel = boxed(-300.0, 300.0, 249.5)
    held = study._parts(project, wheel)
    assert held.stock_path is not None
    outline = build(wheel.section)
    assert not isinstance(outline, tuple)
    count = 0
    read = module.rows_at

    def counted(*args: Any) -> tuple[StockRow, ...]:
        nonlocal count
        count += 1
        return read(*args)

    monkeypatch.setattr(module, "rows_at", counted)
    _, rows = quick_seat(outline, held, held.stock_path)
    assert rows[0].least_mm == pytest.approx(249.5 - outline.path.bounds[3], abs=0.01)
    assert count < 60


def test_the_window_of_a_block_is_its_room_when_the_datum_is_kept() -> None:
    """The lips stand at -178 and 102 at the drawn inset; a millimetre of inset moves both by one inboard."""
    project, wheel = boxed(INNER - NEEDS - 6.0, OUTER + NEEDS + 3.0)
    now = wheel.inset_mm
    found = limits(
        project,
        wheel.name,
        widths=[wheel.size.width_code],
        insets=[now - 12.0, now - 8.0, now, now + 8.0, now + 12.0],
        keep_seat=True,
    )
    (row,) = found.rows
    assert [c.word for c in row.cells] == ["not", "not", "cuttable", "not", "not"]
    # Missing by the way moved less the room; the lips' square corners look straight at the block's ends.
    assert row.cells[0].spare_mm == pytest.approx(-9.0, abs=0.01)
    assert row.cells[4].spare_mm == pytest.approx(-6.0, abs=0.01)
    (window,) = row.windows
    assert now - 3.0 - 0.01 <= window.low <= now - 3.0 + EDGE_MM + 0.01
    assert now + 6.0 - EDGE_MM - 0.01 <= window.high <= now + 6.0 + 0.01
    assert window.closed_low_by.startswith("outer lip")
    assert window.closed_high_by.startswith("inner lip")


def test_a_width_more_takes_what_the_block_has_left() -> None:
    """Code 10 is 254.0 mm and 10 1/2 is 266.5 (JIS D 4218, rounded to 0.5): half of 12.5 at each lip."""
    project, wheel = boxed(INNER - NEEDS - 6.0, OUTER + NEEDS + 3.0)
    codes = [wheel.size.width_code, wheel.size.width_code + 0.5]
    found = limits(project, wheel.name, widths=codes, insets=[wheel.inset_mm])
    narrow, wide = (row.cells[0] for row in found.rows)
    # Slid to the middle: 9 of room in all, then 9 less 12.5.
    assert narrow.spare_mm == pytest.approx(4.5, abs=1e-5)
    assert wide.spare_mm == pytest.approx((9.0 - 12.5) / 2.0, abs=1e-5)
    assert (narrow.word, wide.word) == ("cuttable", "not")


def test_the_reserve_makes_tight_and_the_rule_makes_not() -> None:
    project, wheel = boxed(INNER - NEEDS - 0.25, OUTER + NEEDS + 0.25)
    now, code = wheel.inset_mm, wheel.size.width_code
    inside = study.cell(project, wheel, code, now, 0.0)
    assert inside.word == "tight"
    assert inside.spare_mm == pytest.approx(0.25, abs=0.01)
    assert study.cell(project, wheel, code, now + 0.5, 0.0).word == "not"


@pytest.mark.parametrize("keep_seat", [False, True])
def test_ends_of_windows_hold_inside_and_not_outside(keep_seat: bool) -> None:
    project, own = roomy()
    found = limits(
        project, own.name, widths=[9.0, 9.5, 10.0], insets=np.arange(10.0, 61.0, 5.0).tolist(),
        keep_seat=keep_seat,
    )  # fmt: skip
    ends = 0
    for row in found.rows:
        for window in row.windows:
            for end, way, closed in (
                (window.low, -1.0, window.closed_low_by),
                (window.high, 1.0, window.closed_high_by),
            ):
                if not closed:
                    assert end in (found.insets[0], found.insets[-1])
                    continue
                ends += 1
                assert best_spare(project, own, row.width_code, end, keep_seat) >= -0.01
                beyond = end + way * (EDGE_MM + 0.15)
                assert best_spare(project, own, row.width_code, beyond, keep_seat) < 0.0
            for inset in np.linspace(window.low, window.high, 7):
                assert best_spare(project, own, row.width_code, float(inset), keep_seat) >= -0.01
    assert ends >= 3


def best_spare(project: Project, own: Wheel, width: float, inset: float, keep_seat: bool) -> float:
    """Least spare by the single check; at its thorough best seat. Minus infinity where nothing is drawn."""
    try:
        made = study.drawn(own, width, inset)
        if not keep_seat:
            made = replace(made, seat_mm=seated(project, made).seat_mm)
    except GeometryError:
        return -math.inf
    found = measure_wheel(project, replace(made, clears=())).measurements
    if found is None:
        return -math.inf
    return min(row.spare_mm for row in found.stock if row.spare_mm is not None)


def test_a_hole_between_two_cells_is_not_jumped_over() -> None:
    """Spares of 1 at both sides of 10 mm say nothing of the middle."""

    def read(inset: float) -> Cell:
        spare = min(abs(inset - 4.0) - 0.6, 1.0)
        return Cell(
            8.0, inset, State.CLEAR if spare >= 0.0 else State.SHORT, 0.0, spare, spare, "well", "brake"
        )

    first, second = study._windows(read, [read(0.0), read(10.0)])
    assert (first.low, second.high) == (0.0, 10.0)
    assert 3.4 - EDGE_MM <= first.high <= 3.4
    assert 4.6 <= second.low <= 4.6 + EDGE_MM


def spares(of: Callable[[float], float]) -> Callable[[float], Cell]:
    """Return a reader of cells whose spare is a function of the inset."""

    def read(inset: float) -> Cell:
        state = State.CLEAR if of(inset) >= 0.0 else State.SHORT
        return Cell(8.0, inset, state, 0.0, of(inset), of(inset), "well", "brake")

    return read


@pytest.mark.parametrize("half", [2.4, 0.3, 0.11])
def test_a_window_between_two_cells_that_cannot_be_cut_is_found(half: float) -> None:
    """The spare rises by half of the way, as where a wheel is slid, to its greatest at 4.3."""
    read = spares(lambda inset: 0.5 * (half - abs(inset - 4.3)))
    (window,) = study._windows(read, [read(0.0), read(10.0)])
    assert 4.3 - half <= window.low <= 4.3 - half + EDGE_MM
    assert 4.3 + half - EDGE_MM <= window.high <= 4.3 + half
    assert window.closed_low_by == window.closed_high_by == "well, brake side"


def test_a_hole_before_the_end_of_a_window_is_not_jumped_over() -> None:
    read = spares(lambda inset: min(abs(inset - 2.0) - 0.4, 1.0, 8.0 - inset))
    first, second = study._windows(read, [read(0.0), read(10.0)])
    assert (first.low, first.closed_low_by) == (0.0, "")
    assert 1.6 - EDGE_MM <= first.high <= 1.6
    assert 2.4 <= second.low <= 2.4 + EDGE_MM
    assert 8.0 - EDGE_MM <= second.high <= 8.0


def test_a_width_between_two_that_are_cut_is_cut_at_the_inset_between_theirs() -> None:
    """9 and 10 J come out of the sample's blank near ET 25 and 38; 9.5 J at neither end of ET 30 to 35."""
    project = load(resources.sample("1-track-18-own-blank"))
    (wheel,) = project.wheels
    (row,) = limits(project, wheel.name, widths=[9.5], insets=[30.0, 35.0]).rows
    assert [cell.word for cell in row.cells] == ["not", "not"]
    (window,) = row.windows
    for inset in (window.low, window.high, (window.low + window.high) / 2.0):
        assert best_spare(project, wheel, 9.5, inset, keep_seat=False) >= -0.01
    assert best_spare(project, wheel, 9.5, window.low - 0.2, keep_seat=False) < 0.0
    assert best_spare(project, wheel, 9.5, window.high + 0.2, keep_seat=False) < 0.0


def test_several_processes_give_the_same_and_progress_cancels() -> None:
    project, own = roomy()
    asked = partial(limits, project, own.name, widths=[9.0, 9.5, 10.0], insets=[25.0, 30.0, 38.0])
    one = asked()
    assert asked(cores=2) == one
    told = []

    def stop(done: int, of: int) -> bool:
        told.append((done, of))
        return done < 2

    some = asked(progress=stop)
    assert told == [(1, 3), (2, 3)]
    assert some.rows == one.rows[:2]
    assert not some.is_whole


def test_without_a_rule_nothing_is_cuttable() -> None:
    project, wheel = boxed(-200.0, 120.0)
    bare = replace(project, wheels=(replace(wheel, rules=None),))
    found = limits(bare, wheel.name, widths=[wheel.size.width_code], insets=[wheel.inset_mm])
    assert [c.word for c in found.cells] == ["not known"]
    assert found.rows[0].windows == ()
    # Where metal is missing no rule is needed to know.
    short = boxed(-170.0, 120.0)[0]
    short = replace(short, wheels=(replace(wheel, rules=None),))
    found = limits(short, wheel.name, widths=[10.0], insets=[wheel.inset_mm], keep_seat=True)
    assert [c.word for c in found.cells] == ["not"]


def test_what_cannot_be_read_is_said() -> None:
    project, wheel = boxed(-200.0, 120.0)
    with pytest.raises(GeometryError, match="one width and one inset"):
        limits(project, wheel.name, widths=[], insets=[1.0])
    with pytest.raises(GeometryError, match="at most"):
        limits(project, wheel.name, widths=range(1000), insets=range(1000))
    loose = replace(project, wheels=(replace(wheel, blank=None),))
    with pytest.raises(GeometryError, match="names no blank"):
        limits(loose, wheel.name, widths=[8.0], insets=[1.0])


@pytest.mark.parametrize("keep_seat", [False, True])
def test_a_block_shorter_at_one_end_gives_up_that_much_there(keep_seat: bool) -> None:
    """A plate of 4 mm and radius 270 less: its mass by hand, and the cells that the room of 4 mm decides."""
    project, wheel = boxed(INNER - NEEDS - 6.0, OUTER + NEEDS + 5.0)
    long = project.blanks[-1]
    z1, z0 = OUTER + NEEDS + 1.0, INNER - NEEDS - 6.0
    corners = ((z0, 0.0), (z1, 0.0), (z1, 270.0), (z0, 270.0))
    short = Blank("short", tuple(Corner(z, r) for z, r in corners))
    project = replace(project, blanks=(*project.blanks, short))
    now = wheel.inset_mm
    insets = [now - 3.0, now, now + 7.0]
    first, second = (
        limits(project, wheel.name, name, widths=[10.0], insets=insets, keep_seat=keep_seat)
        for name in (long.name, "short")
    )
    found = against(project, first, second)
    density = next(m for m in project.materials if m.name == wheel.material).density_kg_m3
    assert found.lighter_kg == pytest.approx(math.pi * 270.0**2 * 4.0 * density * 1e-9, rel=1e-9)
    spares = {(s.zone, s.side): s for s in found.sides}
    outer = spares["outer lip", "street"]
    # As drawn in its own, whatever the cells are slid to; at its best, the middle of 7 of room, in the other.
    assert outer.first_mm == pytest.approx(5.0, abs=1e-5)
    assert outer.second_mm == pytest.approx(3.5, abs=1e-5)
    assert found.as_drawn == (True, False)
    # Room of 6 inboard and 1 outboard at seat 0: slid outboard by half of what they differ.
    assert found.seats_mm == pytest.approx((0.0, 2.5), abs=1e-5)
    cut = [[c.inset_mm for c in cells] for cells in (found.only_first, found.only_second)]
    assert cut == [[], []]
    with pytest.raises(GeometryError, match="same wheel"):
        against(project, first, limits(project, wheel.name, widths=[10.0], insets=[now]))


@pytest.mark.long
def test_cells_that_only_one_blank_cuts_are_listed() -> None:
    project, wheel = boxed(INNER - NEEDS - 6.0, OUTER + NEEDS + 5.0)
    corners = ((-300.0, 0.0), (300.0, 0.0), (300.0, 270.0), (-300.0, 270.0))
    large = Blank("large", tuple(Corner(z, r) for z, r in corners))
    project = replace(project, blanks=(*project.blanks, large))
    first, second = (
        limits(project, wheel.name, n, widths=[10.0, 11.0], insets=[38.0]) for n in ("block", "large")
    )
    found = against(project, first, second)
    # 25.5 more of width (254.0 to 279.5, JIS D 4218) do not go into 11 of room.
    assert [(c.width_code, c.inset_mm) for c in found.only_second] == [(11.0, 38.0)]
    assert found.only_first == ()
    assert found.lighter_kg < 0.0
