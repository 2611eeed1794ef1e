"""What the notes of a drawing say of its scale: one drawn at half size is half as large as the part.

Only what stands beside the drawing counts: the scale of a sheet in paper space is that of its window.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from app.files.readers.answer import plain

#: Of a longer note only so many characters are looked at, and so many are quoted on each side of its scale.
_CHARACTERS = 20_000
_BESIDE = 12

#: Notes quoted in a warning.
_NAMED = 3

_NUMBER = r"[0-9]{1,4}(?:[.,][0-9]{1,3})?"

#: What says nothing of this drawing's own scale.
_HARMLESS = re.compile(
    r"\b(do not|don'?t|never) scale( (from )?(this |the )?(drawing|print|dwg))?|\bfull[ -]?(size|scale)\b|"
    r"(?<![0-9.,:])1(?:[.,]0+)? ?: ?1(?:[.,]0+)?(?![0-9.,:])",
    re.IGNORECASE,
)

#: A ratio with one on either side; a size in words; the word itself with something behind it.
_SCALE = re.compile(
    rf"(?<![0-9.,:])(?:1(?:[.,]0+)? ?: ?{_NUMBER}|{_NUMBER} ?: ?1(?:[.,]0+)?)(?![0-9:])|"
    r"\b(?:1/[0-9]{1,3}|half|quarter|third|double|twice|reduced|enlarged)(?: the)?[ -]?(?:size|scale)\b|"
    r"\bnot (?:drawn )?(?:to|in) scale\b|\bn\.? ?t\.? ?s\b\.?|\bout of scale\b|"
    r"\b(?:scale|ma(?:ß|ss)stab|[ée]chelle)\b[ :=]*"
    rf"(?:(?!1(?![0-9.,:/])){_NUMBER}|none\b|varies\b|various\b|as )",
    re.IGNORECASE,
)

#: Codes that format a text: what they show is left, a new paragraph becomes a blank.
_PARAGRAPH = re.compile(r"\\[PX~]")
_FORMAT = re.compile(r"\\S([^;]*);|\\[ACFHQTWacfhqtwp][^;\\]{0,80};|\\[LOKlok]|[{}]|%%[oukOUK]")


def shown(text: str) -> str:
    """Return what a text with formatting codes shows, on one line."""
    text = _FORMAT.sub(_stacked, _PARAGRAPH.sub(" ", text[:_CHARACTERS]))
    return " ".join(text.split())


def _stacked(code: re.Match[str]) -> str:
    """Return a stacked fraction as numbers with a stroke; nothing for other codes."""
    return (code[1] or "").replace("#", "/").replace("^", " ")


def scale_in(text: str) -> str:
    """Return the words of a note that state a scale other than full size, empty where there are none."""
    text = _HARMLESS.sub(lambda m: "\0" * len(m[0]), text[:_CHARACTERS])
    match = _SCALE.search(text)
    if match is None:
        return ""
    low, high = max(match.start() - _BESIDE, 0), match.end() + _BESIDE
    quoted = text[low:high].replace("\0", "").strip()
    return plain(f"{'…' if low else ''}{quoted}{'…' if high < len(text) else ''}")


def warning(quoted: Iterable[str]) -> str:
    """Return what is said of notes that state a scale."""
    found = sorted(set(quoted))
    words = ", ".join(f"'{text}'" for text in found[:_NAMED])
    more = f" and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    says = "notes say" if len(found) > 1 else "a note says"
    return (
        f"{says} {words}{more}: the outline may not be drawn at full size and its size is doubtful; hold a "
        "length that is known against it"
    )
