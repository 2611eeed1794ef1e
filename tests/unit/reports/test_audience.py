"""A customer's copy: what it must not hold is nowhere in the file, and what it must say is there."""

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pypdf
import pytest

from app.project.demo import conditions
from app.project.project import Fitment, Project, TrialFit
from app.project.wheel import Hub, Wheel
from app.reports.audience import INTERNAL, Audience, NameShownError, shown_to
from app.reports.chance import LEAST, interval, words
from app.reports.closing import CAUTIONS, TRIAL_FIT
from app.reports.content import ReportContent, build_content
from app.reports.gauge import GaugeOf
from app.reports.outputs import gauge, input_sha256, report
from app.studies.fit import measure_wheel
from geometry.readings.chance import Chance
from geometry.readings.rules import State
from geometry.shape.outline import Answer, Brake, Grade, Known, StayOut
from tests.support import example

CUSTOMER = "Orion Team"
#: A hub of which everything is known: nothing is left open by it.
HUB = Hub(72.0, 148.0, 1.5, 71.9, 12.0, 1.0, 160.0, 60.0, 14.0)

#: All that the project below holds and a copy for Orion Team must not say; invented.
OTHER_NAMES = (
    "Rallye 17", "Own die K-21", "C99 forging", "Zeta four-pot", "Zeta Motorsport", "Zeta GT entry",
    "zeta-caliper.dxf", "Zeta family", "Customer Omega", "Omega enquiry", "race, secret", "winter conditions",
    "fit at Zeta",
)  # fmt: skip
#: Internal words that stand in reasons, notes and cards.
INTERNAL_WORDS = (
    "cracked in service", "do not tell", "house-scan-7.stl", "stock", "blank", "chips", "chance of",
)  # fmt: skip


def project() -> Project:
    """Return a project that holds much beside the one wheel; wheel held against three shapes."""
    made = example.project()
    caliper = made.shapes[0].with_card(file_name="house-scan-7.stl", file_sha256="ab" * 32)
    caliper = replace(caliper, notes={"memo": "do not tell"})
    own = replace(made.shapes[0], name="Orion two-piece", owner=CUSTOMER)
    zeta = made.shapes[0].with_card(file_name="zeta-caliper.dxf", source="by Zeta Motorsport")
    zeta = replace(zeta, name="Zeta four-pot", owner="Zeta Motorsport", brake=Brake("Zeta family"))
    road = conditions()[0]
    wheel = replace(
        made.wheels[0],
        clears=(example.CALIPER, "Orion two-piece", "Zeta four-pot"),
        hub=HUB,
        conditions=road.name,
        blank="Own die K-21",
        notes={"memo": "do not tell"},
    )
    rules = made.rule_sets[0]
    rules = replace(rules, gap=tuple(replace(g, reason="cracked in service at 2.1") for g in rules.gap))
    return replace(
        made,
        wheels=(wheel, replace(wheel, name="Rallye 17")),
        blanks=tuple(replace(made.blanks[0], name=name) for name in ("Own die K-21", "C99 forging")),
        shapes=(caliper, own, zeta),
        rule_sets=(rules, replace(rules, name="race, secret")),
        conditions=(road, replace(road, name="winter conditions")),
        fitments=(
            Fitment("Zeta GT entry", customer="Zeta Motorsport", wheel=wheel.name),
            Fitment("Omega enquiry", customer="Customer Omega"),
        ),
        trial_fits=(TrialFit("fit at Zeta", wheel=wheel.name, shape="Zeta four-pot"),),
        notes={"memo": "do not tell"},
    )


def content_of(made: Project, audience: Audience, names: tuple[str, ...] | None = None) -> ReportContent:
    wheel = made.wheels[0]
    return build_content(made, wheel, measure_wheel(made, wheel), names, audience)


def everything_in(pdf: bytes) -> str:
    """Return all that can be read in a PDF: its bytes, every stream opened, its text and metadata."""
    found = [pdf.decode("latin-1"), pdf.decode("utf-16-be", "ignore"), *_opened(pdf)]
    reader = pypdf.PdfReader(io.BytesIO(pdf), strict=True)
    found += [page.extract_text() for page in reader.pages]
    found += [str(value) for value in (reader.metadata or {}).values()]
    assert reader.xmp_metadata is None
    assert not reader.attachments
    assert not reader.outline
    root: Any = reader.trailer["/Root"]
    # No layers, no form, no attachments, no further metadata stream.
    assert set(root) <= {"/Type", "/Pages", "/PageMode", "/Lang", "/Outlines", "/ViewerPreferences"}
    for page in reader.pages:
        resources: Any = page["/Resources"]
        assert set(resources) <= {"/Font", "/ProcSet", "/XObject", "/ExtGState"}
        assert "/Annots" not in page
    return "".join("".join(text.split()) for text in found)


def _opened(pdf: bytes) -> Iterator[str]:
    """Yield every stream of the file as text, whatever it belongs to."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    trailer: Any = reader.trailer
    for number in range(1, int(trailer["/Size"])):
        value = reader.get_object(number)
        if isinstance(value, pypdf.generic.StreamObject):
            data = value.get_data()
            yield data.decode("latin-1")
            yield data.decode("utf-16-be", "ignore")


def squeezed(text: str) -> str:
    return "".join(text.split())


def test_streams_can_be_opened_at_all() -> None:
    pdf, _ = report(project(), project().wheels[0])
    assert sum(len(text) for text in _opened(pdf)) > 100_000
    # Beside the library, by hand: as many streams as the bytes hold (ISO 32000-1, 7.3.8).
    assert len([*_opened(pdf)]) == 2 * len(re.findall(rb"endstream\s+endobj", pdf))


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_other_name_of_the_project_is_in_a_customers_copy(paper: str, unit: str) -> None:
    made = replace(project(), paper=paper, display_unit=unit)
    wheel = made.wheels[0]
    inside = everything_in(report(made, wheel)[0])
    for_customer = everything_in(report(made, wheel, None, Audience(CUSTOMER))[0])
    for_customer = for_customer.replace("Blankwright", "")  # the program's own name
    # The search finds what is there in the house's own copy.
    for name in (
        "Own die K-21",
        "Zeta four-pot",
        "Zeta Motorsport",
        "zeta-caliper.dxf",
        "cracked in service",
    ):
        assert squeezed(name) in inside
    for name in (*OTHER_NAMES, *INTERNAL_WORDS):
        assert squeezed(name).casefold() not in for_customer.casefold(), name
    for name in (CUSTOMER, wheel.name, example.CALIPER, "Orion two-piece"):
        assert squeezed(name) in for_customer


@pytest.mark.parametrize("of", GaugeOf)
def test_no_other_name_is_in_a_customers_gauge(of: GaugeOf) -> None:
    made = project()
    pdf, _ = gauge(made, made.wheels[0], of, audience=Audience(CUSTOMER))
    found = everything_in(pdf)
    for name in (*OTHER_NAMES, *INTERNAL_WORDS[:3]):
        assert squeezed(name).casefold() not in found.casefold(), name


def test_a_shape_belongs_to_the_house_or_to_somebody() -> None:
    house = example.project().shapes[0]
    theirs = replace(house, owner=" orion team")
    for audience, sees in (
        (INTERNAL, (True, True)),
        (Audience(CUSTOMER), (True, True)),
        (Audience("Zeta Motorsport"), (True, False)),
        (Audience(""), (True, False)),
    ):
        assert (audience.may_see(house), audience.may_see(theirs)) == sees


def test_what_is_left_out_does_not_decide() -> None:
    made = project()
    moved = replace(made.shapes[2], outlines=(_moved(made.shapes[2], 6.0),))  # touches the spoke back
    made = replace(made, shapes=(*made.shapes[:2], moved))
    assert content_of(made, INTERNAL).state is State.TOUCHING
    copy = content_of(made, Audience(CUSTOMER))
    assert copy.state is content_of(made, Audience(CUSTOMER), (example.CALIPER, "Orion two-piece")).state
    assert copy.state is not State.TOUCHING
    # A shape is left out, and then the first lines say what was judged instead.
    assert copy.shapes_judged == f"Stay-out shapes judged: {example.CALIPER}, Orion two-piece"
    nobody = content_of(made, Audience(CUSTOMER), ("Zeta four-pot",))
    assert nobody.judged.startswith("No gap judged")
    assert nobody.state is State.NOT_KNOWN
    assert nobody.hold_back


def _moved(shape: StayOut, dz: float) -> Any:
    outline = shape.outlines[0]
    return replace(outline, corners=tuple(replace(c, z=c.z + dz) for c in outline.corners))


def test_a_shape_that_nobody_has_stays_a_fault() -> None:
    made = project()
    wheel = replace(made.wheels[0], clears=(*made.wheels[0].clears, "Gone"))
    copy = content_of(replace(made, wheels=(wheel,)), Audience(CUSTOMER))
    assert copy.faults == ("The stay-out shape 'Gone' is not in the project; choose another.",)
    assert copy.state is State.NOT_KNOWN
    assert copy.hold_back


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda p: replace(p, name="Wheels for Zeta Motorsport"), "Zeta Motorsport"),
        (lambda p: replace(p, author="own die k-21"), "own die k-21"),
        (lambda p: _with_card(p, source="as the Zeta four-pot, measured again"), "Zeta four-pot"),
        (lambda p: _with_card(p, left_out="see RALLYE 17"), "RALLYE 17"),
        (
            lambda p: _with_card(p, unit=Answer(Known.ANSWERED, "mm, says Customer Omega", "us")),
            "Customer Omega",
        ),
    ],
)
def test_a_typed_text_that_names_another_is_refused(change: Any, named: str) -> None:
    made = change(project())
    with pytest.raises(NameShownError, match=re.escape(f"would say '{named}'")):
        content_of(made, Audience(CUSTOMER))
    assert content_of(made, INTERNAL).wheel == made.wheels[0].name


def _with_card(made: Project, **changes: Any) -> Project:
    return replace(made, shapes=(made.shapes[0].with_card(**changes), *made.shapes[1:]))


def test_parts_of_longer_words_and_own_names_are_no_leak() -> None:
    made = project()
    # 'Track' is another wheel, and stands in this one's name; 'Rallye 17' stands within a longer word.
    made = replace(made, wheels=(*made.wheels, replace(made.wheels[0], name="Track")), author="XRallye 175")
    assert content_of(made, Audience(CUSTOMER)).author == "XRallye 175"
    own = Fitment("Orion 2026", customer="orion team", wheel=made.wheels[0].name)
    made = replace(made, fitments=(*made.fitments, own), name="Orion 2026")
    assert content_of(made, Audience(CUSTOMER)).project == "Orion 2026"


def test_a_customers_project_holds_nothing_else() -> None:
    made = project()
    part, wheel = shown_to(made, made.wheels[0], Audience(CUSTOMER))
    assert (part.blanks, part.fitments, part.trial_fits, part.notes) == ((), (), (), {})
    assert part.wheels == (wheel,)
    assert [s.name for s in part.shapes] == [example.CALIPER, "Orion two-piece"]
    (rules,) = part.rule_sets
    assert rules.stock == ()
    assert {rule.reason for rule in rules.gap} | {rule.reason for rule in rules.wall} == {""}
    assert [rule.paper_mm for rule in rules.gap] == [rule.paper_mm for rule in made.rule_sets[0].gap]
    assert wheel.section == made.wheels[0].section
    assert shown_to(made, made.wheels[0], INTERNAL) == (made, made.wheels[0])


def test_a_customers_copy_says_what_the_handbook_asks_for() -> None:
    made = replace(project(), author="A. Example")
    pdf, reason = report(made, made.wheels[0], None, Audience(CUSTOMER))
    pages = [p.extract_text() for p in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    text = squeezed(" ".join(pages))
    assert reason == ""
    assert "NOT FOR RELEASE" not in " ".join(pages)
    assert "Brake only. Tyre to body and suspension not judged." in pages[0].strip().splitlines()[:2]
    for told in (*TRIAL_FIT, *CAUTIONS, "Sign-off", "Drawn by A. Example", f"For {CUSTOMER}", "Signature"):
        assert squeezed(told) in text
    # Handbook, brakes and gaps, 5: the words that a customer must find.
    for told in ("new brake pads can be the worst", "polish marks", "on loose ground use the larger rule",
                 "one bare wheel", "not a strength, fatigue, impact or approval statement", "status checked",
                 "50 to 100 km", f"sha256 of the input {input_sha256(made, made.wheels[0])}"):  # fmt: skip
        assert squeezed(told).casefold() in text.casefold()
    titles = [table.title for table in content_of(made, Audience(CUSTOMER)).tables]
    assert "Gap to stay-out shapes" in titles
    assert "Gap in the worst state" in titles
    assert "Wall" in titles
    assert "Mass and inertia" in titles
    assert not [t for t in titles if "Stock" in t or "Chance" in t]


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda p: _with_card(p, datum_checked_by=" "), "Who checked the zero face"),
        (lambda p: replace(p, wheels=(replace(p.wheels[0], rules=None),)), "rule set"),
        (lambda p: replace(p, wheels=(replace(p.wheels[0], conditions=None),)), "conditions"),
        (lambda p: replace(p, wheels=(replace(p.wheels[0], clears=()),)), "stay-out shape"),
    ],
)
def test_only_a_checked_datum_and_a_named_rule_set_are_released(change: Any, reason: str) -> None:
    made = change(project())
    pdf, held_back = report(made, made.wheels[0], None, Audience(CUSTOMER))
    assert reason.casefold() in held_back.casefold()
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        assert "NOT FOR RELEASE" in page.extract_text()
    assert dict(content_of(made, Audience(CUSTOMER)).facts)["Status"] == "draft"


def test_questions_to_the_customer_come_from_what_is_missing() -> None:
    made = project()
    asked = content_of(made, Audience(CUSTOMER)).questions
    assert not [q for q in asked if "spigot" in q or "load" in q or "Which tyre" in q]
    made = _with_card(made, unit=Answer(), datum_checked_by="", left_out="")
    assumed = Answer(Known.ASSUMED, "new pads", "us")
    made = _with_card(made, disc_and_pads=assumed)
    wheel = replace(made.wheels[0], hub=Hub(), load_kg=None, tyre="", fixing=None)
    asked = content_of(replace(made, wheels=(wheel,)), Audience(CUSTOMER)).questions
    for words_of in (
        f"{example.CALIPER}: Which unit is the outline in?",
        f"{example.CALIPER}: Please confirm the outline's zero face and axle line.",
        "We assumed: new pads. Is that so?",
        "bleed screws",
        "Hub of the car: spigot diameter, spigot length",
        "Which load must the wheel carry?",
        "Which tyre will be on it?",
        "Bolt circle",
    ):
        assert any(words_of in question for question in asked), words_of


def test_proved_shapes_make_a_proved_copy() -> None:
    made = project()
    shapes = tuple(s.with_card(grade=Grade.PROVED) for s in made.shapes)
    copy = content_of(replace(made, shapes=shapes), Audience(CUSTOMER))
    assert dict(copy.facts)["Status"] == "proved by trial fit"


def test_chance_of_contact_is_for_the_house_only() -> None:
    inside = content_of(project(), INTERNAL)
    (table,) = [t for t in inside.tables if t.title.startswith("Chance of contact")]
    assert [row.cells[0] for row in table.rows] == [example.CALIPER, "Orion two-piece", "Zeta four-pot"]
    assert "sampling error only" in table.notes[0]
    assert all("run-out" in row.cells[-1] for row in table.rows)  # the guessed inputs, by name
    assert inside.head.endswith("internal copy")


def wilson(contacts: int, samples: int) -> tuple[float, float]:
    """Wilson's score interval at 95 % (E. B. Wilson, 1927; z = 1.96)."""
    z, p, n = 1.959963984540054, contacts / samples, samples
    middle, spread = p + z * z / (2 * n), z * (p * (1 - p) / n + z * z / (4 * n * n)) ** 0.5
    return (middle - spread) / (1 + z * z / n), (middle + spread) / (1 + z * z / n)


@pytest.mark.parametrize(
    ("contacts", "samples", "said", "between"),
    [
        (0, 4000, LEAST, LEAST),
        (0, 1000, "up to 0.4 %", f"{LEAST} to 0.4 %"),
        (2, 4000, "up to 0.2 %", f"{LEAST} to 0.2 %"),
        (100, 4000, "about 2.5 %", "2.1 % to 3.0 %"),
        (2000, 4000, "about 50 %", "48.5 % to 51.5 %"),
    ],
)
def test_a_chance_is_never_said_to_be_less_than_1_in_1000(
    contacts: int, samples: int, said: str, between: str
) -> None:
    chance = Chance(samples, contacts, *wilson(contacts, samples), ("tilt",))
    assert words(chance) == said
    assert interval(chance) == between


def test_the_digest_is_that_of_what_the_report_rests_on() -> None:
    made = project()
    wheel: Wheel = made.wheels[0]
    digest = input_sha256(made, wheel)
    other = replace(made, wheels=(wheel, replace(made.wheels[1], inset_mm=30.0)), fitments=())
    assert input_sha256(other, wheel) == digest
    changed = replace(made.shapes[0], outlines=(_moved(made.shapes[0], 0.01),))
    for again in (
        replace(made, shapes=(changed, *made.shapes[1:])),
        replace(made, revision="9"),
        replace(made, rule_sets=(replace(made.rule_sets[0], revision="2"), *made.rule_sets[1:])),
    ):
        assert input_sha256(again, wheel) != digest
    assert input_sha256(made, replace(wheel, inset_mm=38.01)) != digest


def test_same_bytes_twice_for_a_customer() -> None:
    made = project()
    first = report(made, made.wheels[0], None, Audience(CUSTOMER))
    assert report(made, made.wheels[0], None, Audience(CUSTOMER)) == first
