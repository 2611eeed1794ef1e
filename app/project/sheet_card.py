"""What a typed sheet becomes: a stay-out shape that is open wherever the sheet is."""

from __future__ import annotations

from app.project.brake_sheet import BrakeSheet
from app.project.sheet_outline import outline
from geometry.shape.outline import (
    Answer,
    Brake,
    CarSide,
    Extent,
    Known,
    NamedOutline,
    Reach,
    SourceCard,
    StayOut,
    ZeroFace,
)

#: Who answered what was typed without a name.
TYPED = "whoever typed the sheet"


def stay_out(sheet: BrakeSheet, name: str) -> StayOut:
    """Return the stay-out shape of a sheet: what was not typed stays open, the datum is not checked.

    Raises:
        SheetError: as `outline`.
    """
    grown = outline(sheet)
    return StayOut(
        name,
        (NamedOutline("as typed", grown.corners),),
        card=_card(sheet),
        extent=Extent(
            ends_inboard=sheet.inboard_seen and sheet.inboard_z_mm is not None,
            ends_outboard=True,  # the outboard side is what a sheet is about
            cut_r_low=min(p.r for p in sheet.points) if sheet.lower_r_mm is None else None,
        ),
        brake=Brake(
            family=sheet.family,
            disc_mm=sheet.disc_mm,
            hat_height_mm=sheet.hat_height_mm,
            side=sheet.side,
            end=sheet.end,
        ),
        notes={"grown": list(grown.said)} if grown.said else {},
    )


def _card(sheet: BrakeSheet) -> SourceCard:
    hat = 0.0 if sheet.hat_between is False else sheet.hat_mm
    return SourceCard(
        source=sheet.source,
        grade=sheet.grade,
        error_mm=sheet.error_mm,
        included_gap_mm=sheet.included_gap_mm or 0.0,
        zero_at=sheet.zero_at or ZeroFace.BEARING,
        hat_mm=hat,
        r_over=sheet.r_over or Reach.WHOLE,
        unit=_answer(sheet, sheet.unit),
        zero_face=_answer(sheet, _zero_words(sheet), is_whole=_is_zero_settled(sheet)),
        whole_body=_answer(sheet, "" if sheet.r_over is None else f"r is the largest {sheet.r_over}"),
        gap_included=_answer(sheet, _gap_words(sheet)),
        disc_and_pads=_answer(sheet, _disc_words(sheet), is_whole=_is_disc_settled(sheet)),
        left_out=sheet.left_out,
    )


def _answer(sheet: BrakeSheet, words: str, is_whole: bool = True) -> Answer:
    """Return the answer that was typed; open where nothing or only a part of it was."""
    if not words or not is_whole:
        return Answer(Known.OPEN, words)
    if sheet.said_by:
        return Answer(Known.ANSWERED, words, sheet.said_by)
    return Answer(Known.ASSUMED, words, TYPED)


def _is_zero_settled(sheet: BrakeSheet) -> bool:
    """Without a hat between hub and wheel both faces are one; the flange is settled with its hat."""
    if sheet.zero_at is ZeroFace.HUB_FLANGE:
        return sheet.hat_between is not None
    return sheet.zero_at is not None


def _zero_words(sheet: BrakeSheet) -> str:
    hat = "" if sheet.hat_mm is None else f"disc hat {sheet.hat_mm:.2f} thick"
    if sheet.hat_between is False:
        hat = "no disc hat between hub and wheel"
    elif sheet.hat_between:
        hat = f"{hat or 'disc hat'} between hub and wheel"
    return ", ".join(word for word in (str(sheet.zero_at or ""), hat) if word)


def _gap_words(sheet: BrakeSheet) -> str:
    if sheet.included_gap_mm is None:
        return ""
    return f"{sheet.included_gap_mm:.2f} included" if sheet.included_gap_mm else "no gap included"


def _is_disc_settled(sheet: BrakeSheet) -> bool:
    return bool(sheet.disc_mm is not None and sheet.pads and sheet.side and sheet.end)


def _disc_words(sheet: BrakeSheet) -> str:
    disc = "" if sheet.disc_mm is None else f"disc {sheet.disc_mm:.2f}"
    pads = f"{sheet.pads} brake pads" if sheet.pads else ""
    sides = f"{sheet.side} sides" if sheet.side is CarSide.BOTH else str(sheet.side)
    return ", ".join(word for word in (disc, pads, str(sheet.end), sides) if word)
