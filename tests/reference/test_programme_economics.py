"""Money over time against published and closed values: checks.md 51-58, practice.md 23."""

import pytest

from app.studies.programme import economics as money


def test_capital_recovery() -> None:
    # 51: formula tables.
    assert money.capital_recovery(0.10, 5) == pytest.approx(0.263797, abs=1e-6)
    assert money.capital_recovery(0.10, 10) == pytest.approx(0.162745, abs=1e-6)
    assert money.present_worth(0.10, 5) == pytest.approx(3.790787, abs=1e-6)
    assert money.present_worth(0.10, 10) == pytest.approx(6.144567, abs=1e-6)


def test_net_present_value() -> None:
    # 52: documentation of a numerical library; the second from memory and calculated (handbook 5).
    assert money.net_present_value(0.281, [-100, 39, 59, 55, 20]) == pytest.approx(-0.00847859, abs=1e-7)
    assert money.net_present_value(0.08, [-40000, 5000, 8000, 12000, 30000]) == pytest.approx(
        3065.22, abs=0.01
    )


def test_two_toolings() -> None:
    # 53: published worked example.
    soft_hard = money.tooling_break_even((600.0, 7500.0), (100.0, 60.0), (3.40, 0.80), 500.0)
    assert soft_hard == pytest.approx(2574.63, abs=0.01)
    # 54: fixture of 128, 0.24 against 0.10 a part, 1500 parts: saving printed.
    assert money.tooling_break_even((0.0, 128.0), (0.0, 0.0), (0.24, 0.10)) == pytest.approx(914.3, abs=0.05)
    assert money.net_present_value(0.0, [-128.0, 1500 * (0.24 - 0.10)]) == pytest.approx(82.00, abs=0.01)
    # 55: (55 + 784.12) / 7000, printed as 0.12.
    assert money.cost_per_wheel(55.0 + 784.12, 0.0, 1, 7000.0) == pytest.approx(0.1199, abs=0.0005)
    assert money.tooling_break_even((0.0, 1.0), (0.0, 0.0), (1.0, 1.0)) is None


def test_learning() -> None:
    # 56: formula; 57: table excerpt; cumulative factor of the handbook 5.
    found = [money.learning_factor(0.8, n) for n in (2, 4, 8, 100)]
    assert found == pytest.approx([0.8, 0.64, 0.512, 0.2271], abs=1e-4)
    assert money.learning_factor(0.9, 20) == pytest.approx(0.634, abs=0.001)
    assert money.learning_sum(0.8, 10) == pytest.approx(6.3154, abs=1e-4)


def test_own_against_bought() -> None:
    # 58 and the table of the handbook 5.
    assert money.break_even(1e5, 0.10, 5, 80.0, 0.0).wheels == pytest.approx(329.7, rel=5e-4)
    assert money.break_even(1e5, 0.10, 5, 40.0, 0.0).wheels == pytest.approx(659.5, rel=5e-4)
    assert money.break_even(1e5, 0.10, 10, 120.0, 0.0).wheels == pytest.approx(135.6, rel=5e-4)
    flows = [-1e5, *[400 * 80.0] * 5]
    assert money.net_present_value(0.10, flows) == pytest.approx(21_305.18, rel=5e-4)


def test_own_wheels_pay_where_cheaper_blanks_do_not() -> None:
    # practice 23: 191.34 a wheel; own blanks 37 dearer than bought ones.
    found = money.break_even(100_000.0, 0.10, 6, -37.0, 120.0)
    assert found.wheels is None
    assert found.contribution == pytest.approx(191.34, abs=0.005)
    assert found.words == (
        "this die is not paid by cheaper blanks; "
        "pays by its own wheels from 191.34 of contribution a wheel at 120 a year"
    )


def test_payback() -> None:
    # By hand: 100 is back after 2 of 40 and half of the third.
    assert money.payback_year([-100.0, 40.0, 40.0, 40.0]) == pytest.approx(2.5)
    assert money.payback_year([-100.0, 40.0, 40.0]) is None
    assert money.payback_year([10.0, 5.0]) == 0.0
    # Discounted at 100 %: 100 against 50 + 25 + 25.
    assert money.payback_year([-100.0, 100.0, 100.0, 200.0], rate=1.0) == pytest.approx(3.0)
    # Back above 0 only for a while does not count.
    assert money.payback_year([-100.0, 120.0, -40.0, 40.0]) == pytest.approx(2.5)
