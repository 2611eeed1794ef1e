"""How a customer's copy ends: its status, open questions, trial fit, cautions and who signs."""

from __future__ import annotations

from collections.abc import Iterator

from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.audience import Audience
from app.reports.tables import Pairs
from geometry.shape.outline import (
    AGAINST_KINDS,
    QUESTIONS,
    Grade,
    Known,
    Reach,
    ShapeKind,
    SourceCard,
    StayOut,
    ZeroFace,
)

TRIAL_FIT = (
    "1. Fit one bare wheel to the car before any tyre is mounted, on a clean hub.",
    "2. Turn it a whole turn by hand, then tighten it to torque and turn it again; steer from lock to lock.",
    "3. Measure the gap where this report says it is least, and note place and measure.",
    "4. Check again after 50 to 100 km, or the first session, with marking paste; look for polish marks in "
    "both steer directions (common practice).",
)
CAUTIONS = (
    "The check is geometric and covers only the shapes listed. It is not a strength, fatigue, impact or "
    "approval statement. The load rating is separate.",
    "Outlines may lack pipes, screws and hoses: measure the car.",
    "Gaps are for the stated brake pads, disc and spacer, and for a wheel without its tyre. New brake pads "
    "can be the worst case.",
    "Balance weights only where marked.",
    "Stones: on loose ground use the larger rule.",
    "Do not scale from a print unless its bars measure 100.00 mm both ways.",
    "A fit found on one car does not cover another disc size, side or model year.",
)


def facts(shapes: tuple[StayOut, ...], hold_back: str, audience: Audience) -> Pairs:
    """Return a customer's copy's status and addressee; nothing for the house's own copy."""
    if not audience.is_customer:
        return ()
    proved = bool(shapes) and all(shape.card.grade is Grade.PROVED for shape in shapes)
    status = "draft" if hold_back else "proved by trial fit" if proved else "checked"
    customer = (audience.customer or "").strip()
    return (("Status", status), *((("For", customer),) if customer else ()))


def paragraphs() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the titled paragraphs that stand after the cards."""
    return (("Trial fit", TRIAL_FIT), ("Cautions", CAUTIONS))


def sign_off(project: Project, audience: Audience) -> tuple[str, ...]:
    """Return who signs, a box each."""
    customer = (audience.customer or "").strip()
    drawn = f"Drawn by {project.author}" if project.author else "Drawn by"
    return (drawn, "Checked by (another person)", f"For {customer}" if customer else "For the customer")


def questions(wheel: Wheel, shapes: tuple[StayOut, ...]) -> tuple[str, ...]:
    """Return what the customer is asked: what is missing of the shapes, the hub, the load and the tyre."""
    asked = [f"{shape.name}: {question}" for shape in shapes for question in _of_shape(shape)]
    if not shapes:
        asked.append("Which brake must the wheel clear? Please send its outline, with unit and zero face.")
    elif not any(shape.kind in AGAINST_KINDS for shape in shapes):
        asked.append("Is a tie rod, arm, damper or hose near the wheel? None was given, and none was judged.")
    asked += _of_wheel(wheel)
    return tuple(asked)


def _of_shape(shape: StayOut) -> Iterator[str]:
    card = shape.card
    for key, question in QUESTIONS.items():
        answer = getattr(card, key)
        if answer.is_open:
            yield question
        elif answer.state is Known.ASSUMED:
            yield f"{question} We assumed: {answer.text or 'as drawn'}. Is that so?"
    if not card.whole_body.is_open and card.r_over is Reach.ONE_PLANE:
        yield "r was taken at one plane only: how large is it over the whole body?"
    if card.zero_at is ZeroFace.HUB_FLANGE and card.hat_mm is None:
        yield "How thick is the disc hat on the hub flange (0 for none)?"
    if not card.datum_checked_by.strip():
        yield "Please confirm the outline's zero face and axle line."
    if not shape.extent.confirmed_by.strip():
        yield "Where does the part end, inboard and outboard? Does it go on beyond the outline?"
    if shape.kind in AGAINST_KINDS and shape.swept is not True:
        yield "Does the outline cover steering from lock to lock and full travel?"
    yield from _left_out(shape.kind, card)


def _left_out(kind: ShapeKind, card: SourceCard) -> Iterator[str]:
    if kind is ShapeKind.CALIPER and not card.left_out.strip():
        yield "Which pipes, bleed screws and hoses does the outline leave out?"


def _of_wheel(wheel: Wheel) -> Iterator[str]:
    hub = wheel.hub
    missing = {
        "spigot diameter": hub.spigot_mm,
        "spigot length": hub.spigot_length_mm,
        "flat diameter that the hub pad bears on": hub.flange_mm,
        "stud length": hub.stud_length_mm,
        "thread": hub.thread_mm,
    }
    words = [what for what, value in missing.items() if value is None]
    if words:
        yield f"Hub of the car: {', '.join(words)}?"
    if wheel.fixing is None:
        yield "Bolt circle, number of bolts, and their seat?"
    if wheel.load_kg is None:
        yield "Which load must the wheel carry?"
    if not wheel.tyre.strip():
        yield "Which tyre will be on it?"
