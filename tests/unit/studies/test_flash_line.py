"""The flash line against finished skin that must not show end grain."""

from dataclasses import replace

from app.cli.check import as_text, check
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.flash_line import BAND_MM, flash_line_finding
from geometry.shape.section import Zone
from tests.support.make_samples import samples


def parted(at: float | None) -> Project:
    project = samples()["1-track-18-own-blank"]
    return replace(project, blanks=(replace(project.blanks[0], parting_mm=at),))


def said_of(project: Project, wheel: Wheel) -> str:
    found = flash_line_finding(project, wheel)
    return "" if found is None else found.words(lambda mm: f"{mm:.1f}")


def test_a_parting_line_over_a_seat_is_warned_of_and_over_the_well_is_not() -> None:
    """The flange faces lie half of 254 mm either side of z -38, seats next to them; the well between."""
    outer_face = -38.0 + 127.0
    inner_face = -38.0 - 127.0
    for at, words in (
        (outer_face - 8.0, "outer seat"),
        (inner_face + 8.0, "inner seat"),
        (outer_face + 12.0, "outer lip"),
        (-38.0 - 20.0, ""),
        (None, ""),
    ):
        project = parted(None if at is None else at - samples()["1-track-18-own-blank"].wheels[0].seat_mm)
        said = said_of(project, project.wheels[0])
        assert (words in said) if words else said == ""
    assert BAND_MM == 10.0


def test_the_band_moves_with_the_wheels_seat() -> None:
    project = parted(81.0)
    wheel = replace(project.wheels[0], seat_mm=0.0)
    assert "outer seat" in said_of(project, wheel)
    assert said_of(project, replace(wheel, seat_mm=-100.0)) == ""


def test_the_spokes_root_is_watched_and_the_rest_of_the_spoke_is_not() -> None:
    """Practice 21: a spoke root; it is where the street side's spoke face is farthest from the axle."""
    project = samples()["1-track-18-own-blank"]
    wheel = project.wheels[0]
    face = [v for v in wheel.section.vertices if v.zone is Zone.SPOKE_FACE]
    root = max(face, key=lambda v: v.r)
    held = parted(root.z - wheel.seat_mm)
    assert "spoke root" in said_of(held, wheel)
    assert "± 10.0" in said_of(held, wheel)


def test_check_notes_it_and_leaves_the_state_as_it_is() -> None:
    still = parted(None)
    wheel = replace(still.wheels[0], spacer_mm=5.0)
    at = -38.0 + 127.0 - 8.0
    noted = parted(at - wheel.seat_mm)
    (before,) = check(still, (wheel,))["wheels"]
    (after,) = check(noted, (wheel,))["wheels"]
    assert before["notes"] == []
    # The check's frame is the hub's: a spacer moves all of the wheel.
    assert after["notes"][0].startswith(f"flash line at z {at + 5.0:.2f}")
    assert "outer seat" in after["notes"][0]
    assert after["state"] == before["state"]
    said = as_text(noted, (wheel,))
    assert f"\n  note: {after['notes'][0]}" in said
    assert "note:" not in as_text(still, (wheel,))
