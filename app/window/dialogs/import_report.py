"""What was found in a file, in plain words: what hinders its use first, then what it is, then every count."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from dataclasses import dataclass

from app.files.readers.answer import NOT_KNOWN, UNITS, ReadOutline
from app.files.readers.imported import findings, unit_words
from app.files.readers.outlines import size_doubt
from app.language import spoken, tr
from app.views.readings_text import minus
from app.views.theme import Colours
from app.window.dialogs.import_ticks import UnitReading

#: What the commands' options are called on this window's pages.
_FIELDS = {
    "unit": tr("'Unit of the file'"),
    "join": tr("'Join ends within'"),
    "layer": tr("'Layers'"),
    "colour": tr("'Colours'"),
    "only": tr("'Kinds'"),
    "close": tr("'close an open outline'"),
    "mirror": tr("'complete a half'"),
    "drop-open": tr("'leave open chains out'"),
    "inner": tr("'take inner outlines too'"),
    "loop": tr("'Take'"),
    "turn": tr("'Turned'"),
    "flip": tr("'flip'"),
    "origin": tr("'Place'"),
    "axle": tr("'Axle line'"),
    "axle-at": tr("'Axle line passes through'"),
    "body": tr("'Bodies'"),
    "points": tr("'Rows follow each other'"),
    "columns": tr("'Columns'"),
    "sheet": tr("'Sheet'"),
    "ball": tr("'Radius of the probe ball'"),
    "share": tr("'Share of points inside'"),
}
_OPTION = re.compile(r"--([a-z]+(?:-[a-z]+)*)")


@dataclass(frozen=True)
class Line:
    """One line of the report: what it is about, what is said, and its tone."""

    about: str
    said: str
    tone: str = ""


#: Tones: what cannot be used as it is; what is not known; what should be looked at.
TROUBLE, OPEN, LOOK = "trouble", "open", "look"
_SIGNS = {TROUBLE: "✕", OPEN: "?", LOOK: "!"}


def in_window_words(text: str) -> str:
    """Return a reader's message with the fields of this window in the place of the commands' options."""
    return _OPTION.sub(lambda option: _FIELDS.get(option[1], option[0]), text)


def lines(
    found: ReadOutline, taken: int, bounds: Sequence[float] | None, unit_said: str, trust: Sequence[Line]
) -> list[Line]:
    """Return the report.

    Args:
        found: what was read.
        taken: how many outlines are taken.
        bounds: of what is taken, as it lies, mm; None while the unit is open.
        unit_said: the unit and how it is known; empty while it is open.
        trust: what is said of its source.
    """
    said: list[Line] = []
    if found.hindrance:
        said.append(
            Line(tr("Cannot be used"), minus(capital(in_window_words(spoken(found.hindrance)))), TROUBLE)
        )
    count, vertices = len(found.loops), sum(map(len, found.loops))
    outlines = tr("1 closed outline") if count == 1 else tr("{count} closed outlines", count=count)
    some = tr(", {taken} taken", taken=taken) if count > 1 else ""
    chains = tr(", {open} open", open=len(found.open)) if found.open else ""
    said.append(
        Line(
            tr("File"),
            tr(
                "{kind}; {outlines}{some}, {vertices} vertices{chains}",
                kind=found.kind,
                outlines=outlines,
                some=some,
                vertices=vertices,
                chains=chains,
            ),
        )
    )
    if unit_said:
        said.append(Line(tr("Unit"), unit_said))
    else:
        said.append(
            Line(
                tr("Unit"),
                tr("{unit_doubt}: choose it", unit_doubt=capital(found.unit_doubt or unit_words(found))),
                OPEN,
            )
        )
    if bounds is not None:
        z0, z1, r0, r1 = bounds
        said.append(
            Line(
                tr("Size"),
                minus(
                    tr(
                        "z {z0:.2f} to {z1:.2f}, r {r0:.2f} to {r1:.2f} mm, as it lies",
                        z0=z0,
                        z1=z1,
                        r0=r0,
                        r1=r1,
                    )
                ),
            )
        )
    said += trust
    warned = set(found.warnings)
    # What should be looked at stands before what was counted, where it is seen without scrolling.
    for text in sorted(findings(found), key=lambda text: text not in warned):
        line = minus(capital(in_window_words(spoken(text))).rstrip("."))
        said.append(Line(tr("Look"), line, LOOK) if text in warned else Line(tr("Found"), line))
    return said


def unit_readings(found: ReadOutline, is_stated: bool) -> list[UnitReading]:
    """Return the ways to read the file's unit, with what the outline then measures."""
    in_file = 1.0 / UNITS.get(found.unit, 1.0)
    z0, z1, r0, r1 = (x * in_file for x in found.bounds)
    if not any(found.bounds):
        # Nothing was drawn: there is no size to tell units apart by.
        kept = [unit for unit in UNITS if unit in ("mm", "in", found.unit)]
        return [
            UnitReading(u, "", tr("as the file states") if is_stated and u == found.unit else "")
            for u in kept
        ]
    readings = []
    for unit, mm in UNITS.items():
        box = (z0 * mm, z1 * mm, r0 * mm, r1 * mm)
        is_plausible = not size_doubt(box, unit)
        stated = is_stated and unit == found.unit
        if unit not in ("mm", "in") and not is_plausible and not stated:
            continue
        note = tr("as the file states") if stated else "" if is_plausible else tr("hardly a brake's size")
        readings.append(
            UnitReading(
                unit, tr("{box} × {box_2} mm", box=_size(box[1] - box[0]), box_2=_size(box[3] - box[2])), note
            )
        )
    return readings


def _size(mm: float) -> str:
    return f"{mm:.1f}" if mm < 10_000.0 else f"{mm:.3g}"


def is_unit_open(found: ReadOutline, is_chosen: bool) -> bool:
    """Return True where nobody has said the unit, or what the file says of it is doubtful."""
    return found.unit == NOT_KNOWN or (bool(found.unit_doubt) and not is_chosen)


def unit_said(found: ReadOutline, is_chosen: bool) -> str:
    """Return the unit and how it is known; nothing while it is open."""
    if is_unit_open(found, is_chosen):
        return ""
    return f"{found.unit}, {tr('chosen at import') if is_chosen else tr('stated in the file')}"


def as_html(said: Sequence[Line], colours: Colours) -> str:
    """Return the report as a table; text out of the file stays text."""
    inks = {TROUBLE: colours.short, OPEN: colours.not_known, LOOK: colours.tight}
    rows = []
    about = ""
    for line in said:
        ink = inks.get(line.tone, colours.ink)
        sign = f"{_SIGNS[line.tone]} " if line.tone else ""
        head = "" if line.about == about else html.escape(line.about)
        about = line.about
        rows.append(
            tr(
                "<tr><td style='color:{quiet}; padding-right:10px'>{head}</td><td "
                "style='color:{ink}'>{sign}{said}</td></tr>",
                quiet=colours.quiet,
                head=head,
                ink=ink,
                sign=sign,
                said=html.escape(line.said),
            )
        )
    return tr("<table cellspacing='0' cellpadding='1'>{rows}</table>", rows="".join(rows))


def capital(text: str) -> str:
    """Return the words with a capital at their start."""
    return text[:1].upper() + text[1:]
