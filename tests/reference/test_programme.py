"""The die programme against published optima and instances whose optimum is known by enumeration.

OR-Library: checks.md 41-45, formats and optima in benchmarks/SOURCES.md. Six towns and the greedy trap: 46,
47. LADDER-7 and DIES-6 (48-50): constructed, optima by full enumeration.
"""

from collections.abc import Callable, Iterator

import pytest

from app.studies.programme.highs import Solver
from app.studies.programme.inputs import Kind, Mode, Option, Programme, Question, Row
from app.studies.programme.solve import solve
from tests.support import or_library


@pytest.fixture(scope="module")
def solver() -> Iterator[Solver]:
    with Solver() as running:
        yield running


@pytest.mark.parametrize(
    ("read", "name", "optimum"),
    [
        (or_library.facility_location, "cap71", 932615.750),
        (or_library.facility_location, "cap72", 977799.400),
        (or_library.facility_location, "cap73", 1010641.450),
        (or_library.facility_location, "cap74", 1034976.975),
        (or_library.facility_location, "cap101", 796648.4375),
        (or_library.facility_location, "cap103", 893782.1125),
        (or_library.facility_location, "cap131", 793439.5625),
        (or_library.facility_location, "cap134", 928941.750),
        (or_library.set_cover, "scp41", 429.0),
        (or_library.set_cover, "scpe1", 5.0),
        (or_library.p_median, "pmed1", 5819.0),
    ],
)
def test_published_optimum(
    read: Callable[[str], Programme], name: str, optimum: float, solver: Solver
) -> None:
    plan = solve(read(name), most_runners_up=0, solver=solver)
    assert plan.verdict == "proven"
    assert plan.cost == pytest.approx(optimum, rel=1e-9)
    assert plan.bound <= plan.cost


def test_open_sites_of_published_instances(solver: Solver) -> None:
    # SOURCES.md: found apart from this code. Site 11 of cap71 to cap74 costs nothing.
    plans = [solve(or_library.facility_location(n), solver=solver) for n in ("cap71", "cap73", "cap74")]
    assert [[int(name) for name in plan.opened] for plan in plans] == [
        [1, 2, 3, 4, 6, 7, 8, 9, 11, 12, 13],
        [3, 7, 8, 11, 13],
        [3, 11, 12, 13],
    ]
    medians = solve(or_library.p_median("pmed1"), most_runners_up=0, solver=solver)
    assert [int(name) for name in medians.opened] == [7, 13, 65, 91, 99]


def cover(sets: dict[str, list[int]]) -> Programme:
    """Fewest of these sets that hold every number."""
    numbers = sorted({n for members in sets.values() for n in members})
    rows = tuple(
        Row(f"{n:02}", {0: 1.0}, (Mode({s: 0.0 for s, members in sets.items() if n in members}),))
        for n in numbers
    )
    return Programme(rows, tuple(map(Option, sets)), question=Question.FEWEST_DIES)


def test_six_towns(solver: Solver) -> None:
    minutes = [
        [0, 10, 20, 30, 30, 20],
        [10, 0, 25, 35, 20, 10],
        [20, 25, 0, 15, 30, 20],
        [30, 35, 15, 0, 15, 25],
        [30, 20, 30, 15, 0, 14],
        [20, 10, 20, 25, 14, 0],
    ]
    plan = solve(
        cover({f"{i + 1}": [j for j in range(6) if row[j] <= 15] for i, row in enumerate(minutes)}),
        solver=solver,
    )
    assert (plan.verdict, plan.dies, plan.opened) == ("proven", 2, ("2", "4"))


def test_greedy_trap(solver: Solver) -> None:
    sets = {
        "a": list(range(1, 8)),
        "b": list(range(8, 15)),
        "c": [1, 8],
        "d": [2, 3, 9, 10],
        "e": [4, 5, 6, 7, 11, 12, 13, 14],
    }
    plan = solve(cover(sets), solver=solver)
    assert (plan.verdict, plan.dies, plan.opened) == ("proven", 2, ("a", "b"))


def ladder(die: float) -> Programme:
    """LADDER-7: a wheel is cut from any blank at least as wide, 25 a wheel and inch of excess, five years."""
    widths = {8.5: 120.0, 9.0: 300.0, 9.5: 200.0, 10.0: 260.0, 10.5: 150.0, 11.0: 90.0, 12.0: 40.0}
    rows = tuple(
        Row(
            f"{w:g}",
            dict.fromkeys(range(2030, 2035), v),
            (Mode({f"{b:g}": 25.0 * (b - w) for b in widths if b >= w}),),
        )
        for w, v in widths.items()
    )
    return Programme(rows, tuple(Option(f"{w:g}", fixed=die) for w in widths))


@pytest.mark.parametrize(
    ("die", "cost", "sets"),
    [
        (100_000.0, 311_875.0, [{"10", "12"}]),
        (30_000.0, 149_375.0, [{"9", "10", "11", "12"}, {"9", "10", "12"}]),
        (10_000.0, 66_875.0, [{"9", "9.5", "10", "11", "12"}]),
        (3_000.0, 21_000.0, [{"8.5", "9", "9.5", "10", "10.5", "11", "12"}]),
    ],
)
def test_ladder(die: float, cost: float, sets: list[set[str]], solver: Solver) -> None:
    plan = solve(ladder(die), solver=solver)
    assert plan.verdict == "proven"
    assert plan.cost == pytest.approx(cost, rel=1e-12)
    ties = [set(r.opened) for r in plan.runners_up if r.is_tie]
    assert [set(plan.opened), *ties] == sets


def dies(years: int, without: tuple[str, ...] = (), fixed_only: bool = False) -> Programme:
    """DIES-6, undiscounted."""
    volumes = {"F1": 60.0, "F2": 120.0, "F3": 200.0, "F4": 150.0, "F5": 90.0, "F6": 50.0}
    table = {
        "D1": ("F1 F2", 100_000.0, 300.0),
        "D2": ("F2 F3", 100_000.0, 310.0),
        "D3": ("F3 F4 F5", 110_000.0, 340.0),
        "D4": ("F5 F6", 100_000.0, 360.0),
        "D5": ("F1 F2 F3 F4", 130_000.0, 345.0),
        "X1": ("F1 F2 F3", 0.0, 420.0),
        "X2": ("F4 F5", 0.0, 520.0),
        "X3": ("F6", 0.0, 900.0),
    }
    there = {n: t for n, t in table.items() if n not in without and (n[0] == "D" or not fixed_only)}
    rows = tuple(
        Row(
            f,
            dict.fromkeys(range(2030, 2030 + years), v),
            (Mode({n: 0.0 for n, t in there.items() if f in t[0]}),),
        )
        for f, v in volumes.items()
    )
    options = tuple(
        Option(n, Kind.OWN_DIE if n[0] == "D" else Kind.BOUGHT, price=unit, fixed=fixed)
        for n, (_, fixed, unit) in there.items()
    )
    return Programme(rows, options)


@pytest.mark.parametrize(
    ("years", "cost", "used"),
    [
        (2, 650_400.0, {"D3", "X1", "X3"}),
        (5, 1_396_250.0, {"D4", "D5"}),
        (10, 2_526_000.0, {"D1", "D3", "D4"}),
    ],
)
def test_dies(years: int, cost: float, used: set[str], solver: Solver) -> None:
    plan = solve(dies(years), solver=solver)
    assert plan.verdict == "proven"
    assert plan.cost == pytest.approx(cost, rel=1e-12)
    assert {s.option for s in plan.served} == used


def test_fewest_own_dies(solver: Solver) -> None:
    programme = dies(5, fixed_only=True)
    plan = solve(Programme(programme.rows, programme.options, question=Question.FEWEST_DIES), solver=solver)
    assert (plan.dies, plan.opened) == (2, ("D4", "D5"))


def test_what_nothing_covers_is_named_and_the_rest_is_planned(solver: Solver) -> None:
    plan = solve(dies(2, without=("D4", "X3")), solver=solver)
    assert [(u.row, u.is_must, u.why) for u in plan.uncovered] == [("F6", True, "no blank serves it")]
    assert plan.verdict == "proven"
    # DIES-6 over two years less 50 x 900 x 2 of F6 from X3.
    assert plan.cost == pytest.approx(650_400.0 - 90_000.0)
    assert {s.row for s in plan.served} == {"F1", "F2", "F3", "F4", "F5"}
