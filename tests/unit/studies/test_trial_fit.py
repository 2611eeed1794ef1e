"""Measured gaps beside computed ones, and when they prove a shape; the true gaps follow from plain boxes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.edits import EditError
from app.project.project import Material, MeasuredGap, Project, TrialFit
from app.project.wheel import RingBody, SizeCode, Wheel
from app.studies.trial_fit import COARSE_MM, Compared, compared, raised
from geometry.shape.outline import Corner, Grade, NamedOutline, SourceCard, StayOut
from geometry.shape.section import Vertex, Zone

ROWS = (
    (90.0, 206.0, Zone.WELL),
    (-100.0, 206.0, Zone.INNER_LIP),
    (-100.0, 200.0, Zone.BARREL),
    (60.0, 200.0, Zone.SPOKE_BACK),
    (60.0, 80.0, Zone.SPOKE_BACK),
    (0.0, 80.0, Zone.HUB_PAD),
    (0.0, 40.0, Zone.BORE),
    (90.0, 40.0, Zone.SPOKE_FACE),
)


def box(z0: float, z1: float, r0: float, r1: float) -> tuple[Corner, ...]:
    return (Corner(z0, r0), Corner(z1, r0), Corner(z1, r1), Corner(z0, r1))


WHEEL = Wheel("W", SizeCode(16, 6), 20.0, tuple(Vertex(z, r, zone=zone) for z, r, zone in ROWS))
CARD = SourceCard(source="A drawing.", grade=Grade.TRACING, error_mm=0.3)
#: Barrel at r 200 and spoke back at z 60 round a box that ends at r 195 and z 56: gaps of 5 and 4.
SHAPE = StayOut("S", (NamedOutline("straight", box(-60.0, 56.0, 120.0, 195.0)),), card=CARD)
PROJECT = Project("P", wheels=(WHEEL,), shapes=(SHAPE,), materials=(Material("6061-T6"),))
TRIAL = TrialFit(
    "T1",
    wheel="W",
    shape="S",
    on="2026-03-09",
    by="K",
    error_mm=0.2,
    turned=True,
    measured=(MeasuredGap(Zone.BARREL, 5.4), MeasuredGap(Zone.SPOKE_BACK, 3.9)),
)


def seen(trial: TrialFit = TRIAL, project: Project = PROJECT) -> Compared:
    return compared(project, trial)


def with_gaps(*gaps: MeasuredGap) -> TrialFit:
    return replace(TRIAL, measured=gaps)


def with_wheel(**changes: object) -> Project:
    return replace(PROJECT, wheels=(replace(WHEEL, **changes),))  # type: ignore[arg-type]


def with_shape(shape: StayOut) -> Project:
    return replace(PROJECT, shapes=(shape,))


# Beside each other


def test_a_zone_is_compared_with_its_least_gap() -> None:
    barrel, back = seen().gaps
    assert [barrel.computed_mm, back.computed_mm] == pytest.approx([5.0, 4.0])
    assert [barrel.difference_mm, back.difference_mm] == pytest.approx([0.4, -0.1])
    assert barrel.allowed_mm == pytest.approx(0.5)  # 0.2 of the measuring and 0.3 of the outline
    assert barrel.agrees
    assert back.agrees


@pytest.mark.parametrize(
    ("gap", "agrees"), [(4.49, False), (4.5, True), (5.0, True), (5.5, True), (5.51, False)]
)
def test_the_errors_of_both_are_the_limit_either_way(gap: float, agrees: bool) -> None:
    (found,) = seen(with_gaps(MeasuredGap(Zone.BARREL, gap))).gaps
    assert found.agrees is agrees


def test_a_place_is_compared_with_the_skin_nearest_to_it() -> None:
    """From the barrel at z -80 the box's corner (-60, 195) is sqrt(20^2 + 5^2) away."""
    (found,) = seen(with_gaps(MeasuredGap(Zone.BARREL, 20.6, -80.0, 198.0))).gaps
    assert found.at_wheel == pytest.approx((-80.0, 200.0))
    assert found.computed_mm == pytest.approx(425.0**0.5)
    (back,) = seen(with_gaps(MeasuredGap(Zone.SPOKE_BACK, 4.0, 58.0, 150.0))).gaps
    assert back.at_wheel == pytest.approx((60.0, 150.0))
    assert back.computed_mm == pytest.approx(4.0)


def test_a_place_far_from_its_zone_is_asked_about() -> None:
    (found,) = seen(with_gaps(MeasuredGap(Zone.BARREL, 5.0, 0.0, 150.0))).gaps
    assert found.computed_mm is None
    assert not found.agrees
    assert "50.0 mm from the barrel: is it in the hub's frame?" in found.note


def test_a_zone_without_a_gap_says_so() -> None:
    (found,) = seen(with_gaps(MeasuredGap(Zone.SPOKE_FACE, 5.0))).gaps
    assert found.computed_mm is None
    assert "does not look at S" in found.note
    (absent,) = seen(with_gaps(MeasuredGap(Zone.SHOULDER, 5.0, 0.0, 200.0))).gaps
    assert absent.note == "The wheel has no shoulder."


def test_a_gap_that_the_outline_holds_is_air_on_the_car() -> None:
    held = SHAPE.with_card(included_gap_mm=2.0)
    barrel, _ = seen(project=with_shape(held)).gaps
    assert barrel.computed_mm == pytest.approx(7.0)
    (place,) = seen(with_gaps(MeasuredGap(Zone.BARREL, 7.0, 0.0, 198.0)), with_shape(held)).gaps
    assert place.computed_mm == pytest.approx(7.0)


def test_the_spacer_is_there_and_the_weights_are_not() -> None:
    """A spacer of 2 moves the wheel outboard, the spoke back away; a bare wheel has no weight band."""
    band = RingBody("weights", -40.0, -20.0, 196.0, 200.0)
    barrel, back = seen(project=with_wheel(spacer_mm=2.0, rings=(band,))).gaps
    assert back.computed_mm == pytest.approx(6.0)
    assert barrel.computed_mm == pytest.approx(5.0)


def test_an_overlap_on_paper_does_not_agree_with_air_on_the_car() -> None:
    deep = replace(SHAPE, outlines=(NamedOutline("straight", box(-60.0, 56.0, 120.0, 201.0)),))
    barrel, _ = seen(project=with_shape(deep)).gaps
    assert barrel.computed_mm == pytest.approx(-1.0, abs=0.01)
    assert not barrel.agrees


# The grade


def test_one_that_agrees_raises_the_grade_and_nothing_else() -> None:
    assert seen().hindrance == ""
    made = raised(PROJECT, TRIAL)
    (shape,) = made.shapes
    assert shape.card.grade is Grade.PROVED
    assert shape.card.source == "A drawing. Proved by trial fit T1 on 2026-03-09."
    assert shape.with_card(grade=Grade.TRACING, source="A drawing.") == SHAPE
    assert replace(made, shapes=PROJECT.shapes) == PROJECT


@pytest.mark.parametrize(
    ("trial", "words"),
    [
        (replace(TRIAL, wheel=None), "not said which wheel was fitted"),
        (replace(TRIAL, shape="gone"), "not said which brake"),
        (replace(TRIAL, turned=None), "Nobody has said whether the wheel was turned"),
        (replace(TRIAL, turned=False), "was not turned a whole turn without touching"),
        (with_gaps(), "No place was measured: a proof needs 2 or more"),
        (with_gaps(MeasuredGap(Zone.BARREL, 5.0)), "1 place was measured"),
        (with_gaps(*[MeasuredGap(Zone.BARREL, 5.0)] * 3), "1 place was measured"),
        (
            with_gaps(MeasuredGap(Zone.BARREL, 5.0), MeasuredGap(Zone.SPOKE_BACK, 3.4)),
            "1 of 2 gaps do not agree with what is computed: spoke back",
        ),
        (
            with_gaps(MeasuredGap(Zone.BARREL, 5.0), MeasuredGap(Zone.SPOKE_FACE, 4.0)),
            "1 of 2 gaps do not agree with what is computed: spoke face",
        ),
        (replace(TRIAL, error_mm=COARSE_MM + 0.1), "measured to 0.6 mm only"),
        (replace(TRIAL, on=""), "on which day"),
        (replace(TRIAL, by=" "), "by whom"),
    ],
)
def test_what_proves_nothing_is_refused_with_the_reason(trial: TrialFit, words: str) -> None:
    assert words in seen(trial).hindrance
    with pytest.raises(EditError) as error:
        raised(PROJECT, trial)
    assert words in str(error.value)


def test_a_proved_shape_is_not_raised_twice() -> None:
    once = raised(PROJECT, TRIAL)
    with pytest.raises(EditError, match="S is proved already"):
        raised(once, TRIAL)


def test_a_wheel_with_a_fault_is_not_compared() -> None:
    crossed = with_wheel(
        vertices=tuple(replace(v, r=300.0) if k == 3 else v for k, v in enumerate(WHEEL.vertices[::-1]))
    )
    found = seen(project=crossed)
    assert found.gaps == ()
    assert found.hindrance.startswith("The wheel W cannot be read:")
