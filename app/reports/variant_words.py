"""What a set of tools says of a variant, in words and as plain values."""

from __future__ import annotations

from typing import Any

from app.reports.numbers import Numbers
from app.reports.tables import Column, Row, Table
from app.studies.blank_variant import Answer, ToolCheck, VariantCheck

#: How a blank that was found is held against tools.
ABOUT_TOOLS = (
    "Judged is the outline to draw: the usable one with all that may be missing added, by the tolerances of "
    "the tools' own blank, or by starting values where it states none."
)
#: What to do about each thing that the tools cannot make.
_MEND = {
    "charge": "change the height of its ring",
    "closing height": "bring its disc nearer to the tools' own",
    "disc": "make the disc thicker or thinner",
    "inserts": "draw bore and dish as the tools have them, or give it inserts of its own",
    "outside wall": "draw the outside wall as the tools have it, or give it dies of its own",
}


def variant_head(found: VariantCheck) -> str:
    """Return in one line whether the tools make the blank."""
    said = {
        Answer.OUTSIDE: f"cannot be made with the tools of {found.of}",
        Answer.ASKED: f"may be made with the tools of {found.of}: limits are still asked of the forge",
        Answer.WITHIN: f"is within what the tools of {found.of} make",
    }[found.answer]
    return f"{found.blank} {said}"


def variant_lines(found: VariantCheck, numbers: Numbers) -> list[str]:
    """Return a line for each thing asked of the tools: value, limits, by how much, where, how to mend."""
    return [": ".join(check_words(c, numbers)) for c in found.checks]


def variant_table(found: VariantCheck, numbers: Numbers, notes: tuple[str, ...] = ()) -> Table:
    """Return the check as a table of a report."""
    rows = [
        Row((check_words(c, numbers)[0], str(c.answer), check_words(c, numbers)[1])) for c in found.checks
    ]
    columns = (Column("Asked of them", 2.0), Column("Answer", 1.5), Column("", 8.5))
    title = f"Tools we have: {variant_head(found)}"
    return Table(title, columns, tuple(rows), notes)


def check_words(check: ToolCheck, numbers: Numbers) -> tuple[str, str]:
    """Return what is asked of the tools, and what they say."""
    is_kg = check.what == "charge"

    def number(x: float, signed: bool = False) -> str:
        text = numbers.mass(x) if is_kg else numbers.length(x, with_unit=True)
        return f"+{text}" if signed and x > 0.0 else text

    value = number(check.value, signed=check.what == "closing height")
    at = "" if check.at is None else f" at z {numbers.length(check.at[0])}, r {numbers.length(check.at[1])}"
    if check.what in ("inserts", "outside wall"):
        if check.value <= 0.1:
            return check.what, "as the tools have it"
        off = f"{value} off the tools{at}"
        if check.answer is Answer.WITHIN:
            return check.what, f"{off}: punch or face insert of its own needed, which the forge exchanges"
        if check.answer is Answer.ASKED:
            return check.what, f"{off}: asked, the forge has not said whether inserts can be exchanged"
        return check.what, f"{off}: not with these tools; {_MEND[check.what]}"
    if check.answer is Answer.ASKED and check.low is None and check.high is None:
        return check.what, f"{value}: the forge has not given its limits, ask"
    limits = " to ".join("asked" if x is None else number(x) for x in (check.low, check.high))
    if check.answer is Answer.OUTSIDE:
        side = "under" if check.low is not None and check.value < check.low else "over"
        return check.what, (
            f"{value}{at}, {number(check.beyond)} {side} what the tools make ({limits}); {_MEND[check.what]}"
        )
    if check.what == "closing height" and abs(check.value) <= 0.1:
        return check.what, f"{value}: the tools' own"
    return check.what, f"{value}, {check.answer}: limits {limits}"


def variant_json(found: VariantCheck) -> dict[str, Any]:
    """Return the check as plain values, keys as in DEVELOPERS.md; kg of the charge, else mm."""
    return {
        "of": found.of,
        "answer": str(found.answer),
        "ring_longer_mm": found.ring_mm,
        "checks": [
            {
                "what": c.what,
                "answer": str(c.answer),
                "value": c.value,
                "low": c.low,
                "high": c.high,
                "beyond": c.beyond,
                "at": None if c.at is None else list(c.at),
            }
            for c in found.checks
        ],
    }
