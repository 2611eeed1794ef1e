"""Offers are applied and read again: each clears, a cure breaks nothing, and the order is as promised."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from app.project.project import Project
from app.project.wheel import Wheel
from app.project.wheel_edits import with_inset
from app.studies.fit import measure_wheel
from app.studies.offers import MOST_OFFERS, Offer, offers
from app.studies.road import on_the_road
from app.studies.tyre import tyre_findings
from geometry.readings.rules import State
from tests.support.make_samples import samples

SAMPLES = samples()
TOUCHING = SAMPLES["3-gt-19-touching"]
OWN = SAMPLES["1-track-18-own-blank"]
#: An inset at which the clear sample no longer clears, with and without its blank.
MOVED = with_inset(OWN.wheels[0], 42.0)


def cases() -> list[tuple[Project, Wheel]]:
    bare = replace(MOVED, blank=None)
    return [
        (TOUCHING, TOUCHING.wheels[0]),
        (OWN, MOVED),
        (OWN, bare),
        (OWN, with_inset(bare, 39.5)),
    ]


def least_gap(project: Project, wheel: Wheel) -> float:
    measured = measure_wheel(project, wheel)
    road = on_the_road(project, wheel, measured)
    assert measured.measurements is not None
    assert road is not None
    spares = [row.spare_mm for row in measured.measurements.gap] + [row.spare_mm for row in road.rows]
    return min(spare for spare in spares if spare is not None)


@pytest.fixture(scope="module", params=range(4), ids=["touching", "blank", "no blank", "a little short"])
def case(request: pytest.FixtureRequest) -> tuple[Project, Wheel, tuple[Offer, ...]]:
    project, wheel = cases()[request.param]
    return project, wheel, offers(project, wheel)


def test_each_is_applied_and_clears(case: tuple[Project, Wheel, tuple[Offer, ...]]) -> None:
    project, wheel, found = case
    assert least_gap(project, wheel) < 0.0
    assert found
    assert len(found) <= MOST_OFFERS
    for offer in found:
        assert least_gap(project, offer.wheel) >= 0.0, offer.words


def test_a_cure_breaks_no_rule_and_others_say_what(case: tuple[Project, Wheel, tuple[Offer, ...]]) -> None:
    project, wheel, found = case
    for offer in found:
        measured = measure_wheel(project, offer.wheel).measurements
        assert measured is not None
        states = [row.state for row in measured.wall] + [row.state for row in measured.stock]
        states += [row.state for row in measured.hub]
        missed = any(state in (State.SHORT, State.TOUCHING) for state in states)
        missed |= any(finding.decides for finding in tyre_findings(offer.wheel))
        # A tyre that has to be chosen anew is not judged, so that the offer is no cure yet.
        missed |= bool(wheel.tyre) and not offer.wheel.tyre
        assert offer.is_cure is not missed, offer


def test_cures_come_first_then_the_least_change_of_mass(
    case: tuple[Project, Wheel, tuple[Offer, ...]],
) -> None:
    _, _, found = case
    keys = [(not o.is_cure, round(abs(o.mass_kg), 3), o.by_mm) for o in found]
    assert keys == sorted(keys)


def test_a_change_a_step_smaller_does_not_clear() -> None:
    """The offered inset is the least: a tenth less still misses."""
    wheel = with_inset(replace(MOVED, blank=None), 39.5)
    (offer,) = (o for o in offers(OWN, wheel) if o.words.startswith("inset"))
    less = offer.wheel.inset_mm + (0.1 if offer.wheel.inset_mm < 39.5 else -0.1)
    assert least_gap(OWN, with_inset(wheel, less)) < 0.0


def test_only_spacers_on_hand_are_offered() -> None:
    """Practice 4: spacers only with a stated thickness on hand."""
    wheel = replace(MOVED, blank=None)
    now = wheel.spacer_mm
    on_hand = replace(OWN, spacers_mm=(now + 17.0,))
    some, none = offers(on_hand, wheel), offers(OWN, wheel)
    assert {o.wheel.spacer_mm for o in some} == {now, now + 17.0}
    assert {o.wheel.spacer_mm for o in none} == {now}


def test_relief_leaves_what_bears_on_the_hub() -> None:
    (relief,) = (o for o in offers(OWN, MOVED) if o.words.startswith("spoke back"))
    assert not any("seat land" in effect or "spigot" in effect for effect in relief.effects)


def test_a_wheel_that_clears_needs_none() -> None:
    assert offers(OWN, OWN.wheels[0]) == ()


def test_an_offer_for_a_wheel_that_is_not_known_is_no_cure(
    case: tuple[Project, Wheel, tuple[Offer, ...]],
) -> None:
    """With a question open about the brake no rule can be said to hold, whatever the numbers."""
    project, wheel, found = case
    shapes = tuple(s.with_card(datum_checked_by="") if s.name in wheel.clears else s for s in project.shapes)
    unknown = offers(replace(project, shapes=shapes), wheel)
    assert unknown
    assert not any(offer.is_cure for offer in unknown)
    cured = {offer.words for offer in found if offer.is_cure}
    for offer in unknown:
        if offer.words in cured:
            assert offer.breaks[0].startswith("not known until settled: "), offer.words


def test_changes_of_size_state_their_millimetres_and_the_tyre(
    case: tuple[Project, Wheel, tuple[Offer, ...]],
) -> None:
    _, wheel, found = case
    for offer in found:
        if offer.wheel.size.width_code != wheel.size.width_code:
            assert offer.by_mm == pytest.approx(25.4 * (offer.wheel.size.width_code - wheel.size.width_code))
        if offer.wheel.size.diameter_code != wheel.size.diameter_code:
            assert offer.by_mm == 25.4
            assert any("choose another tyre" in words or "other tyres" in words for words in offer.effects)


#: A number with its sign, in words: codes, insets, lengths, masses.
_NUMBER = re.compile(r"[-+]?\d+\.\d+|[-+]?\d+")


def test_a_project_in_inches_is_told_the_same_in_inches_and_pounds() -> None:
    """What differs between the two tellings is a length by 25.4 or a mass by 0.45359237."""
    lengths = masses = 0
    for project, wheel in ((TOUCHING, TOUCHING.wheels[0]), (OWN, MOVED)):
        in_mm, in_inches = (offers(replace(project, display_unit=unit), wheel) for unit in ("mm", "in"))
        assert [o.wheel for o in in_mm] == [o.wheel for o in in_inches]
        for mm, inch in zip(in_mm, in_inches, strict=True):
            told = [(o.words, *o.effects, *o.breaks) for o in (mm, inch)]
            for one, other in zip(*told, strict=True):
                assert _NUMBER.sub("#", one).replace("# kg", "# lb") == _NUMBER.sub("#", other)
                for a, b in zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True):
                    if a == b:
                        continue
                    per = 0.45359237 if one.startswith("mass") else 25.4
                    masses, lengths = masses + (per < 1.0), lengths + (per > 1.0)
                    assert float(a) == pytest.approx(float(b) * per, abs=(0.06 if per > 1.0 else 0.01))
    assert lengths > 20
    assert masses > 3
