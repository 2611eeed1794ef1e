"""Where numbers come from: the rule set with its reasons, and the source card of each stay-out shape."""

from __future__ import annotations

from collections.abc import Iterator

from app.reports.numbers import Numbers
from app.reports.sentences import capital
from app.reports.tables import Card, Column, Row, Table
from geometry.readings.rules import RuleSet
from geometry.shape.outline import Answer, Extent, SourceCard, StayOut, ZeroFace

#: The five answers of a source card, in short.
_ANSWERS = {
    "unit": "Answer: unit",
    "zero_face": "Answer: zero face and hat",
    "whole_body": "Answer: r over the whole body",
    "gap_included": "Answer: gap included",
    "disc_and_pads": "Answer: disc, brake pads, side",
}


def rules_name(rules: RuleSet) -> str:
    """Return the rule set by name and revision, marked while it is the shipped one."""
    mark = " (starting values)" if rules.starting_values else ""
    return f"{rules.name}, revision {rules.revision}{mark}"


def rules(rule_set: RuleSet, numbers: Numbers, with_reasons: bool = True) -> Iterator[Table]:
    """Yield the rule set, with the reasons for its values or without."""
    columns = (
        Column("For", 1.2),
        Column("Shape", 1.6),
        Column("Zone", 1.8),
        Column("Needs", 1.2, True),
        Column("Worst state", 1.4, True),
        Column("Reserve", 1.2, True),
        Column("Reason" if with_reasons else "", 8.0),
    )
    length = numbers.length
    rows = [
        Row(
            (
                "gap",
                g.kind or "any",
                f"{g.zone or 'any'}{', ring bodies' if g.rings else ''}",
                length(g.paper_mm),
                length(g.worst_mm),
                length(g.reserve_mm),
                g.reason if with_reasons else "",
            )
        )
        for g in rule_set.gap
    ]
    rows += [
        Row(
            (
                "wall",
                "",
                w.zone,
                length(w.required_mm),
                "",
                length(w.reserve_mm),
                w.reason if with_reasons else "",
            )
        )
        for w in rule_set.wall
    ]
    rows += [
        Row(
            (
                "stock",
                "",
                s.zone or "any",
                length(s.required_mm),
                "",
                length(s.reserve_mm),
                s.reason if with_reasons else "",
            )
        )
        for s in rule_set.stock
    ]
    if rule_set.seat_land_mm is not None:
        rows.append(
            Row(
                (
                    "seat land",
                    "",
                    "",
                    length(rule_set.seat_land_mm),
                    "",
                    "",
                    "metal from bolt seat to mounting face",
                )
            )
        )
    notes = ["Met by less than the reserve reads 'tight'."]
    if rule_set.starting_values:
        notes.insert(0, "These are starting values, not a standard: set your own before you rely on them.")
    yield Table(f"Rules: {rules_name(rule_set)}", columns, tuple(rows), tuple(notes))


def source_card(shape: StayOut, numbers: Numbers) -> Card:
    """Return where a shape comes from, how far it goes, and what is open."""
    card = shape.card
    checked = f"{card.datum_checked_by}, {card.datum_checked_on or 'no date'}"
    lines = [
        ("Source", card.source or "not stated"),
        ("Grade", f"{card.grade}, error ±{numbers.length(card.error_mm, with_unit=True)}"),
        ("Zero face", _zero(card, numbers)),
        ("r is the largest", str(card.r_over)),
        ("Datum checked", checked if card.datum_checked_by else "not checked"),
        (
            "Gap included",
            numbers.length(card.included_gap_mm, with_unit=True) if card.included_gap_mm else "none",
        ),
        ("Moves", shape.motion + _swept(shape)),
        ("Known", _extent(shape.extent, numbers)),
        ("Leaves out", card.left_out or "not stated"),
    ]
    if card.file_name:
        digest = f", sha256 {card.file_sha256}" if card.file_sha256 else ""
        lines.append(("File", f"{card.file_name}, unit {card.file_unit or 'not stated'}{digest}"))
    lines += [(label, _answer(getattr(card, key))) for key, label in _ANSWERS.items()]
    if shape.owner:
        lines.insert(0, ("Owner", shape.owner))
    asked = shape.open_questions()
    lines.append(("Open questions", " ".join(asked) if asked else "none"))
    return Card(f"{shape.name} ({shape.kind})", tuple(lines))


def _zero(card: SourceCard, numbers: Numbers) -> str:
    """Return the face that is the outline's zero, the disc hat, and whether the outline is moved by it."""
    on_flange = card.zero_at is ZeroFace.HUB_FLANGE
    if card.hat_mm is None:
        return f"{card.zero_at}; thickness of the hat not known" if on_flange else str(card.zero_at)
    moved = "; the outline is moved inboard by it" if on_flange else ""
    return f"{card.zero_at}; disc hat {numbers.length(card.hat_mm, with_unit=True)}{moved}"


def _swept(shape: StayOut) -> str:
    if shape.swept is None:
        return ""
    return ", swept over lock and travel" if shape.swept else ", not swept over lock and travel"


def _extent(extent: Extent, numbers: Numbers) -> str:
    low = "its own points" if extent.z_low is None else f"z {numbers.length(extent.z_low)}"
    high = "its own points" if extent.z_high is None else f"z {numbers.length(extent.z_high)}"
    parts = [
        "over its own points" if extent.z_low is None and extent.z_high is None else f"from {low} to {high}"
    ]
    parts.append(f"the body {'ends' if extent.ends_inboard else 'may go on'} inboard")
    parts.append(f"{'ends' if extent.ends_outboard else 'may go on'} outboard")
    for words, cut in (("below", extent.cut_r_low), ("above", extent.cut_r_high)):
        if cut is not None:
            parts.append(f"cut off {words} r {numbers.length(cut)}")
    parts.append(f"confirmed by {extent.confirmed_by}" if extent.confirmed_by else "not confirmed")
    return "; ".join(parts)


def _answer(answer: Answer) -> str:
    said = f": {answer.text}" if answer.text else ""
    by = f" ({answer.by})" if answer.by else ""
    return capital(f"{answer.state}{said}{by}")
