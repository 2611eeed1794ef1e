"""What a row of a screening says: over, under, not known, not exercised; never a clear that nobody found."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.reports.strength_tables import lives_beside
from app.reports.strength_words import Verdict, kept, life_words, marked, use_words, verdict
from app.studies.strength.compare import Compared
from app.studies.strength.zones import Level, ZoneStress
from geometry.shape.section import Zone
from geometry.strength.life import Life, cycles_words
from geometry.strength.loads import TestLoad, Tyre, bending, inflation

MOMENT = bending("R124 bending", 690.0, Tyre(317.08, 305.0, 653.2), 35.0)


def row(use: float | None = 0.5, **changes: object) -> ZoneStress:
    level = Level(0.75, 2e5, Life(1e6, 3e5, 100.0))
    start = ZoneStress(
        Zone.WELL, "case", 100.0, (0.0, 200.0), 100.0, True, True, 90.0, -1.0, (level,), use, ""
    )
    return replace(start, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("found", "case", "says"),
    [
        (row(0.5), MOMENT, Verdict.UNDER),
        (row(1.0), MOMENT, Verdict.UNDER),
        (row(1.0001), MOMENT, Verdict.OVER),
        (row(None, exercised=False), MOMENT, Verdict.NOT_EXERCISED),
        # Low in a zone that the test does not exercise is no strength.
        (row(0.01, exercised=False), MOMENT, Verdict.NOT_EXERCISED),
        (row(None), MOMENT, Verdict.NOT_KNOWN),
        # Data that do not reach one level hide neither a stress over yield nor a life that is too short.
        (row(None, above_yield=True), MOMENT, Verdict.OVER),
        (row(None, levels=(Level(0.75, 2e5, Life(4e4, None, 100.0)),)), MOMENT, Verdict.OVER),
        (row(None, levels=()), MOMENT, Verdict.NOT_KNOWN),
        (row(0.5, levels=()), MOMENT, Verdict.NOT_KNOWN),
        (row(0.5, levels=()), inflation(), Verdict.UNDER),
        (row(0.5, levels=(Level(0.75, 2e5, Life(None, None, 100.0, "outside")),)), MOMENT, Verdict.NOT_KNOWN),
        # Data that end before the cycles asked say nothing of them; a mean life that is shorter does.
        (
            row(0.5, levels=(Level(0.5, 1.8e6, Life(1e6, None, 100.0, "beyond the data")),)),
            MOMENT,
            Verdict.NOT_KNOWN,
        ),
        (row(0.5, levels=(Level(0.5, 1.8e6, Life(9e5, None, 100.0)),)), MOMENT, Verdict.OVER),
        # 100 MPa from 70: by the same share twice more it is 204, and 0.5 becomes 1.02.
        (row(0.5, converged=False, before_mpa=70.0), MOMENT, Verdict.NOT_KNOWN),
        (row(0.4, converged=False, before_mpa=70.0), MOMENT, Verdict.UNDER),
        (row(1.2, converged=False, before_mpa=70.0), MOMENT, Verdict.OVER),
        (row(0.5, converged=False, before_mpa=0.0), MOMENT, Verdict.NOT_KNOWN),
        # 0.99 x (100 / 99)2 is over 1, though 1 % is converged; 0.97 times it is not.
        (row(0.99, before_mpa=99.0), MOMENT, Verdict.NOT_KNOWN),
        (row(0.97, before_mpa=99.0), MOMENT, Verdict.UNDER),
    ],
)
def test_verdicts(found: ZoneStress, case: TestLoad, says: Verdict) -> None:
    assert verdict(found, case)[0] is says


def test_why_is_said_where_it_is_not_known() -> None:
    for found in (row(None), row(0.5, levels=()), row(0.9, converged=False, before_mpa=70.0)):
        said, why = verdict(found, MOMENT)
        assert said is Verdict.NOT_KNOWN
        assert why


def test_figures_as_they_are_said() -> None:
    assert cycles_words(2e5) == "2.0e5"
    assert use_words(0.5) == "0.50"
    # Two decimals would hide on which side of 1 these lie.
    assert use_words(1.0004) == "1.0004"
    assert use_words(0.9975) == "0.9975"
    assert marked("1.35", row(converged=False)) == "≈ 1.35"
    assert life_words(Level(1.0, 1e5, Life(1e8, 1e8, 50.0, "beyond the data: at least 1.0e8"))) == ">1.0e8"
    assert (
        life_words(Level(1.0, 1e5, Life(None, None, 400.0, "shorter than the data (1e+03 cycles)")))
        == "< data"
    )


def test_figures_are_kept_with_mark_and_unit() -> None:
    assert kept("greatest moment, 5271 N m") == "greatest moment, 5271\u00a0N\u00a0m"
    assert kept("≈ 12 MPa at 75 % of 3 mm") == "≈\u00a012\u00a0MPa at 75\u00a0% of 3\u00a0mm"
    assert kept("18 x 10 J in 2 insets, 3 more") == "18 x 10\u00a0J in 2 insets, 3 more"


class Other:
    """A screening of which the name alone is read."""

    class ready:  # noqa: N801
        class wheel:  # noqa: N801
            name = "Passed"


def test_lives_that_the_data_only_bound_have_no_ratio() -> None:
    """1.0e8 beside 1.0e8, where both curves end, says nothing of 1.00."""
    both = Compared("a, bore, life", "cycles", 1e8, 1e8, True, True, (True, True))
    one = Compared("a, well, life", "cycles", 1e8, 3e6, True, False, (True, False))
    known = Compared("a, spoke back, life", "cycles", 4e5, 2e5, True)
    assert both.ratio is None
    assert one.ratio is None
    assert known.ratio == 2.0
    table = lives_beside(Other, (both, one, known))  # type: ignore[arg-type]
    assert [row.cells for row in table.rows] == [
        ("a, well", "≈ >1.0e8", "≈ 3.0e6", ""),
        ("a, spoke back", "4.0e5", "2.0e5", "2.00 of the reference"),
    ]
    assert "1 more lie beyond the data for both wheels" in table.notes[1]
