"""What only the house's copy holds, and trial fits beside what is computed."""

import io
from dataclasses import replace

import pypdf
import pytest

from app.project import edits
from app.project.demo import BRAKE_380, TIE_ROD_410
from app.project.project import MeasuredGap, Project, TrialFit
from app.project.tyres import overall_diameter_mm, parse_tyre
from app.project.wheel import Wheel
from app.project.wheel_edits import with_inset
from app.reports import house
from app.reports.audience import INTERNAL, Audience
from app.reports.content import ReportContent, build_content
from app.reports.house import NEAR_MM, die_share
from app.reports.outputs import input_sha256, report
from app.reports.tables import Table
from app.studies.fit import measure_wheel
from app.studies.misfits import past_misfits
from app.studies.offers import offers
from geometry.readings.measure import Measurements
from geometry.readings.rules import State
from geometry.shape.blank import Blank, Cause, Tolerance
from geometry.shape.section import Zone
from tests.support.kept import Kept
from tests.support.make_samples import samples

CUSTOMER = Audience("Orion Team")
OFFERS = Kept(offers)


@pytest.fixture(autouse=True)
def looked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Look once for what would make the same wheel fit: several pages of it are made here."""
    monkeypatch.setattr(house, "offers", OFFERS)


def sample(number: int) -> Project:
    return tuple(samples().values())[number - 1]


def content(project: Project, wheel: Wheel, audience: Audience = INTERNAL) -> ReportContent:
    return build_content(project, wheel, measure_wheel(project, wheel), None, audience)


def table(found: ReportContent, title: str) -> Table:
    return next(t for t in found.tables if t.title == title)


def titles(found: ReportContent) -> list[str]:
    return [t.title for t in found.tables]


def measurements(project: Project, wheel: Wheel) -> Measurements:
    found = measure_wheel(project, wheel).measurements
    assert found is not None
    return found


def fitted(name: str, wheel: Wheel, less_mm: float, **more: object) -> TrialFit:
    """Return a trial fit on the wheel's brake whose barrel gap was less than computed by so much."""
    project = sample(1)
    row = next(r for r in measurements(project, wheel).gap if r.zone == "barrel")
    gap = MeasuredGap(Zone.BARREL, round(row.least_mm - less_mm, 2))
    trial = TrialFit(name, wheel.name, BRAKE_380, "2026-03-02", "J. Invented", 0.2, True, (gap,))
    return replace(trial, **more)  # type: ignore[arg-type]


def test_a_recorded_trial_fit_stands_beside_what_is_computed_for_house_and_customer() -> None:
    project = sample(1)
    wheel = project.wheels[0]
    project = replace(project, trial_fits=(fitted("first fit", wheel, 0.1),))
    inside, outside = content(project, wheel), content(project, wheel, CUSTOMER)
    for found in (inside, outside):
        made = table(found, f"Trial fit first fit: {BRAKE_380}")
        (row,) = made.rows
        assert row.cells[0] == "barrel"
        assert float(row.cells[2]) == pytest.approx(float(row.cells[3]) - 0.1, abs=0.011)
        assert row.cells[6] == "yes"
    assert "by J. Invented" in table(inside, f"Trial fit first fit: {BRAKE_380}").notes[0]
    data, _ = report(project, wheel, None, CUSTOMER)
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    assert "first fit" in text
    assert "Invented" not in text.replace("Invented for a sample", "")


def test_past_misfits_of_the_brake_and_of_its_family_are_listed_for_the_house_alone() -> None:
    project = sample(1)
    wheel = project.wheels[0]
    other = replace(with_inset(wheel, wheel.inset_mm - 0.5), name="Other wheel")
    brake = project.shapes[0]
    outline = brake.outlines[0]
    first = replace(outline.corners[0], r=outline.corners[0].r - 1.0)
    family = replace(
        brake,
        name="Brake of the family",
        brake=replace(brake.brake, family="380"),
        outlines=(replace(outline, corners=(first, *outline.corners[1:])),),
    )
    shapes = (replace(brake, brake=replace(brake.brake, family="380")), family)
    cousin = replace(wheel, name="Cousin", clears=(family.name,))
    project = replace(
        project,
        wheels=(wheel, other, cousin),
        shapes=shapes,
        trial_fits=(
            fitted("touched", other, 0.0, turned=False),
            fitted("less room", other, 1.5),
            fitted("more room", other, -1.5),
            fitted("as computed", other, 0.0),
            replace(fitted("in the family", wheel, 2.0), wheel="Cousin", shape=family.name),
        ),
    )
    found = {m.name: m for m in past_misfits(project, wheel)}
    assert set(found) == {"touched", "less room", "in the family"}
    assert found["touched"].state is State.TOUCHING
    assert found["touched"].related == "same brake"
    assert found["in the family"].related == "same family of brakes"
    ((zone, measured, computed),) = found["less room"].short
    assert zone == "barrel"
    assert computed - measured == pytest.approx(1.5, abs=0.01)
    title = "Related past misfits (internal)"
    assert len(table(content(project, wheel), title).rows) == 3
    assert title not in titles(content(project, wheel, CUSTOMER))


def test_a_report_goes_stale_when_another_wheel_misfits_on_the_same_brake() -> None:
    project = sample(1)
    wheel = project.wheels[0]
    project = replace(project, wheels=(wheel, replace(wheel, name="Other wheel")))
    before = input_sha256(project, wheel)
    other = project.wheels[1]
    good = replace(project, trial_fits=(fitted("good", other, 0.0),))
    bad = replace(project, trial_fits=(fitted("bad", other, 2.0),))
    assert input_sha256(good, wheel) == before
    assert input_sha256(bad, wheel) != before


def test_near_misses_are_all_that_meets_or_misses_its_rule_by_less_than_a_millimetre() -> None:
    project = sample(2)
    wheel = project.wheels[0]
    made = table(content(project, wheel), "Near misses (internal)")
    found = measurements(project, wheel)
    spares = [row.spare_mm for row in found.gap] + [row.spare_mm for row in found.stock]
    near = [spare for spare in spares if spare is not None and abs(spare) < NEAR_MM]
    assert near
    assert all(abs(float(row.cells[1].replace("−", "-"))) <= NEAR_MM for row in made.rows)
    assert len(made.rows) >= len(near)
    assert "Near misses (internal)" not in titles(content(project, wheel, CUSTOMER))


def test_offers_stand_in_the_house_copy_of_a_wheel_that_misses_a_gap() -> None:
    project = sample(3)
    wheel = project.wheels[0]
    made = table(content(project, wheel), "What would make it fit (internal)")
    assert [row.cells[0] for row in made.rows] == [offer.words for offer in offers(project, wheel)]
    assert {row.cells[2] for row in made.rows} <= {"yes", "no"}
    clear = sample(1)
    assert "What would make it fit (internal)" not in titles(content(clear, clear.wheels[0]))
    assert "What would make it fit (internal)" not in titles(content(project, wheel, CUSTOMER))


def test_offers_are_told_in_inches_and_pounds_in_a_project_of_inches() -> None:
    project = replace(sample(3), display_unit="in")
    wheel = project.wheels[0]
    made = table(content(project, wheel), "What would make it fit (internal)")
    found = offers(project, wheel)
    assert [c.head for c in made.columns][1] == "Mass, lb"
    assert "every gap, in inches." in made.notes[0]
    for row, offer in zip(made.rows, found, strict=True):
        assert row.cells[0] == offer.words
        assert float(row.cells[1]) == pytest.approx(offer.mass_kg / 0.45359237, abs=0.006)


def test_sequence_and_blank_are_told_to_the_house_alone() -> None:
    project = sample(1)
    wheel = replace(project.wheels[0], sequence="first side outside and lip, then face")
    blank: Blank = replace(
        project.blanks[0],
        tolerances=(Tolerance(Cause.CLOSURE, 0.0, 2.6, "the forge"),),
        die_cost=96000.0,
        die_shared_by=1200,
        lead_weeks=14.0,
    )
    project = replace(project, currency="EUR", wheels=(wheel,), blanks=(blank,))
    inside, outside = content(project, wheel), content(project, wheel, CUSTOMER)
    assert inside.closing == (("Machining sequence (internal)", (wheel.sequence,)),)
    assert all("sequence" not in title.lower() for title, _ in outside.closing)
    card = dict(next(c for c in inside.cards if c.title == f"Blank {blank.name}").lines)
    assert card["Die closure"] == "−0.00 / +2.60 (the forge)"
    # Dies 96,000 over 1,200 wheels.
    assert card["Share of the dies"].endswith("80.00 EUR a wheel")
    assert card["Lead time"] == "14 weeks"
    assert all(not c.title.startswith("Blank") for c in outside.cards)


def test_a_die_that_nobody_shares_says_what_is_missing() -> None:
    blank = Blank("B", ())
    assert "no price" in die_share(blank, "EUR")
    assert "is not stated" in die_share(replace(blank, die_cost=1000.0), "EUR")


def test_the_tyre_is_drawn_where_it_was_judged() -> None:
    project = sample(3)
    wheel = edits.find(project, edits.WHEEL, project.wheels[0].name)
    assert TIE_ROD_410 in wheel.clears
    ring = content(project, wheel).figure.tyre
    assert ring is not None
    growth = 1.0 + wheel.tyre_growth_percent / 100.0
    assert ring.bounds[3] == pytest.approx(
        overall_diameter_mm(parse_tyre(wheel.tyre), growth) / 2.0, abs=1e-6
    )
    alone = replace(wheel, clears=tuple(n for n in wheel.clears if n != TIE_ROD_410))
    assert content(project, alone).figure.tyre is None
    data, _ = report(project, wheel)
    text = pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert "tyre as a ring" in text
