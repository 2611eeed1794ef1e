"""Hub fit after coating, worked by hand.

A coating takes its growth from both sides of a diameter. That it is 0.05 to 0.15 a side, and that hard
anodising grows half its thickness, is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.project.coating import Coat, Coating
from app.project.wheel import Wheel
from app.studies.fit import measure_wheel
from app.studies.road import on_the_road
from geometry.readings.conditions import Conditions
from geometry.readings.hub import hub_readings
from geometry.readings.places import CoatingGeometry, FixingGeometry, HubGeometry
from geometry.readings.rows import NamedReading
from geometry.readings.rules import State
from geometry.shape.curve import Path
from tests.support import example

HUB = Path.closed([(0, 36.05), (40, 36.05), (40, 74), (0, 74)]).counterclockwise()
BOLTS = FixingGeometry(5, 114.3, 14.2, 13.0)


def fit(
    coating: CoatingGeometry | None, spigot_mm: float = 71.97, ring: bool = False
) -> tuple[dict[str, NamedReading], tuple[str, ...]]:
    """Bore 72.10, thread 14 in holes of 14.2."""
    geometry = HubGeometry(
        72.1, 148.0, 1.6, spigot_mm, 9.5, 0.8, 152.0, stud_length_mm=38.5, thread_mm=14.0, hub_ring=ring
    )
    rows, asked = hub_readings(
        HUB, BOLTS, geometry, spacer_mm=0.0, seat_land_rule_mm=10.0, drawn_bore_mm=72.1, coating=coating
    )
    return {row.key: row for row in rows}, asked


def of(kind: Coat, thickness_mm: float | None, bore: bool | None = True) -> CoatingGeometry:
    found = Coating(kind, thickness_mm, bore, False).geometry
    assert found is not None
    return found


def test_a_bore_that_clears_bare_and_not_coated_is_short() -> None:
    """72.10 over 71.97 is 0.13; 0.08 of paint a side takes 0.16 of it."""
    rows, asked = fit(of(Coat.PAINT, 0.08))
    bare, coated = rows["bore_over_spigot"], rows["bore_over_spigot_coated"]
    assert bare.value == pytest.approx(0.13)
    assert bare.state is None  # what is judged is the coated one
    assert coated.value == pytest.approx(0.13 - 0.16)
    assert coated.state is State.SHORT
    assert asked == ()


def test_hard_anodising_grows_half_its_thickness() -> None:
    """0.08 of film stands out by 0.04: 0.13 - 0.08 = 0.05 are left, and 0.2 - 0.08 over the thread."""
    rows, _ = fit(of(Coat.HARD, 0.08))
    assert rows["bore_over_spigot_coated"].value == pytest.approx(0.05)
    assert rows["bore_over_spigot_coated"].state is State.CLEAR
    assert rows["hole_over_thread_coated"].value == pytest.approx(0.12)
    assert rows["hole_over_thread_coated"].state is State.CLEAR


def test_holes_close_too() -> None:
    rows, _ = fit(of(Coat.POWDER, 0.12, bore=False))
    assert rows["hole_over_thread"].state is State.CLEAR
    assert rows["hole_over_thread_coated"].state is State.SHORT  # 0.2 - 0.24
    assert "bore_over_spigot_coated" not in rows
    assert rows["bore_over_spigot"].state is State.CLEAR


def test_a_bore_made_wider_for_its_coating_centres() -> None:
    """72.10 over 71.80 would not centre bare (0.30); with 0.10 a side 0.10 is left."""
    rows, _ = fit(of(Coat.PAINT, 0.10), spigot_mm=71.80)
    assert rows["bore_over_spigot"].state is None
    assert rows["bore_over_spigot_coated"].state is State.CLEAR
    loose, _ = fit(of(Coat.PAINT, 0.02), spigot_mm=71.80)
    assert loose["bore_over_spigot_coated"].state is State.SHORT
    ringed, _ = fit(of(Coat.PAINT, 0.02), spigot_mm=71.80, ring=True)
    assert ringed["bore_over_spigot_coated"].state is State.CLEAR


def test_unsaid_it_does_not_read_clear_without_a_word() -> None:
    rows, asked = fit(None)
    assert rows["bore_over_spigot"].state is State.CLEAR
    assert "no coating is stated, and 0.15 mm a side would leave -0.17 mm" in rows["bore_over_spigot"].note
    assert rows["bore_over_spigot"].name == "Bore over spigot, if not coated"
    assert asked == ()
    assert fit(None, spigot_mm=71.7, ring=True)[0]["bore_over_spigot"].note == "Centred by a hub ring."
    none, _ = fit(Coating(Coat.NONE).geometry)
    assert none["bore_over_spigot"].note == ""
    assert "bore_over_spigot_coated" not in none


def test_what_is_not_known_of_a_coating_is_asked() -> None:
    rows, asked = fit(of(Coat.POWDER, None, bore=None))
    assert asked == (
        "How thick is the coating (powder), a side?",
        "Is the bore coated (powder), or kept bare?",
    )
    assert "bore_over_spigot_coated" not in rows
    rows, asked = fit(of(Coat.POWDER, 0.1, bore=None))
    assert asked == ("Is the bore coated (powder), or kept bare?",)
    assert rows["bore_over_spigot_coated"].state is None
    assert rows["bore_over_spigot_coated"].value == pytest.approx(-0.07)


def test_coated_seats_are_short() -> None:
    rows, _ = fit(CoatingGeometry("powder", 0.1, False, True))
    assert rows["coating_on_seats"].state is State.SHORT
    assert "bolts" in rows["coating_on_seats"].note
    assert "coating_on_seats" not in fit(CoatingGeometry("powder", 0.1, False, False))[0]


def with_coating(coating: Coating) -> Wheel:
    return replace(example.project().wheels[0], coating=coating, hub=replace(HUB_OF_EXAMPLE, spigot_mm=71.9))


HUB_OF_EXAMPLE = example.project().wheels[0].hub


def test_a_wheel_is_measured_with_its_coating() -> None:
    """The example's bore is 72.0: 0.1 over the spigot, and 0.1 a side leave -0.1."""
    project, wheel = example.project(), with_coating(Coating(Coat.PAINT, 0.1, True, False))
    found = measure_wheel(replace(project, wheels=(wheel,)), wheel).measurements
    assert found is not None
    rows = {row.key: row for row in found.hub}
    assert rows["bore_over_spigot_coated"].value == pytest.approx(-0.1)
    assert found.state in (State.SHORT, State.TOUCHING)


def test_a_coating_thicker_than_its_conditions_hold_is_asked_about() -> None:
    conditions = Conditions("road", coating_mm=0.1)
    for growth, thickness, kind in ((0.15, 0.15, Coat.POWDER), (0.1, 0.2, Coat.HARD)):
        wheel = replace(with_coating(Coating(kind, thickness, False, False)), conditions=conditions.name)
        project = replace(example.project(), conditions=(conditions,), wheels=(wheel,))
        road = on_the_road(project, wheel, measure_wheel(project, wheel))
        assert road is not None
        said = any("coating" in q for q in road.questions)
        assert said is (growth > conditions.coating_mm)
        assert (road.state is State.NOT_KNOWN) >= said
